"""Two cases compared, as data for programs."""

from __future__ import annotations

from typing import Any

from ..case.differences import Difference
from ..core.units import to_base
from ..studies.factory.comparison import Comparison, Effect
from .comparison_report import EVIDENCE, both_results, origins


def as_data(shown: Comparison) -> dict[str, Any]:
    """The comparison for programs: every value in the unit beside it, effects in the unit of the figure that is compared."""
    effect_of = {address: effect for effect in shown.effects for address in effect.addresses}
    before, after = both_results(shown)
    shown_in = shown.was.shown
    return {
        "inputs": {d.address: _input(d) | _alone(shown, effect_of[d.address], d) for d in shown.found.inputs},
        "rows": [
            {"row": place, "in": side, **{name: getattr(evidence, name) for name in EVIDENCE}}
            for place, side, evidence in origins(shown)
        ],
        "steps_in_another_order": shown.found.reordered,
        "choices": {group: {"before": old, "after": new} for group, (old, new) in shown.found.choices.items()},
        "results": {
            address: {
                "before": before[address][1] if address in before else None,
                "after": after[address][1] if address in after else None,
                "unit": (before.get(address) or after[address])[2],
            }
            for address in {**before, **after}
        },
        "moved": {
            "figure": shown.was.address,
            "unit": shown.was.unit,
            "all": shown_in(shown.moved),
            "together": None if shown.together is None else shown_in(shown.together),
            "rows_and_order": shown_in(shown.elsewhere),
        },
    }


def _input(difference: Difference) -> dict[str, Any]:
    if difference.is_text:
        return {"before": difference.before, "after": difference.after}
    return {
        "before": difference.before / to_base(difference.unit),
        "unit": difference.unit,
        "after": difference.after / to_base(difference.unit_after),
        "unit_after": difference.unit_after,
        "change": difference.change,
    }


def _alone(shown: Comparison, effect: Effect, difference: Difference) -> dict[str, Any]:
    """What a change moves alone; a change of several inputs names the others, and has its effect once, not for each."""
    others = [address for address in effect.addresses if address != difference.address]
    moved = None if effect.moved is None else shown.was.shown(effect.moved)
    return {"moved_alone": moved} | ({"changed_with": others} if others else {})
