"""Why choices of a group cost more or less than the one in use: parts of the difference by kind of cost, and equipment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..model.ledger.ledger_figures import KINDS_OF_COST
from ..studies.factory.choices import SHORT, Difference
from .numbers import label
from .table import Table

PLACES = {"Wp_stabilised": 4, "m2": 2, "module": 2}  # decimals of a cost; less than half of the last one is not shown


def _signed(value: float, places: int) -> str:
    return "–" if abs(value) < 0.5 * 10**-places else f"{'+' if value > 0 else '−'}{abs(value):.{places}f}"


def differences_table(found: Sequence[Difference], group: str, currency: str) -> Table:
    """What each choice costs more than the one in use, by kind of cost; the kinds add up to the total."""
    basis = found[0].in_use.case.target.basis
    places = PLACES[basis]
    rows = [[label(kind), *(_signed(each.by_kind[kind], places) for each in found)] for kind in KINDS_OF_COST
            if any(abs(each.by_kind[kind]) >= 0.5 * 10**-places for each in found)]  # fmt: skip
    rows.append(["total", *(_signed(each.total, places) for each in found)])
    return Table(
        f"Why: {currency} per {SHORT[basis]} more than {found[0].in_use.title}",
        ["", *(each.outcome.title for each in found)],
        rows,
        total=True,
        note="Yield loss is shown apart: the other kinds hold what ends in good modules.",
    )


def equipment_words(found: Sequence[Difference]) -> list[str]:
    """What stands in the plant more or less than with the choice in use, choice by choice."""
    lines = []
    for each in found:
        changes = [f"{_title(each, place)} {before:g} → {after:g}" for place, (before, after) in each.equipment.items()]
        if changes:
            lines.append(f"“{each.outcome.title}” instead of “{each.in_use.title}” changes the equipment: {', '.join(changes)}.")
    return lines or ["The same equipment is in the plant with each choice."]


def _title(difference: Difference, place: str) -> str:
    """The title of a row of equipment, in whichever of the two cases has it; where they call it otherwise, both."""
    table, _, name = place.partition(".")
    titles = [getattr(each.case, table)[name].title for each in (difference.in_use, difference.outcome)
              if name in getattr(each.case, table)]  # fmt: skip
    return " / ".join(dict.fromkeys(titles))


def left_out_words(left_out: Mapping[str, str]) -> list[str]:
    """Which choices cannot be combined with those in use, and why."""
    return [f"“{label(choice)}” is left out: {reason}." for choice, reason in left_out.items()]
