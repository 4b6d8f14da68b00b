"""Two cases compared: sentences, tables, and the same as data for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..case.differences import Difference
from ..case.whole_case import Case, Evidence
from ..core.units import to_base
from ..model.evaluate import Results, figures
from ..studies.factory.comparison import Comparison, Effect
from .numbers import NOT_APPLICABLE, exact, in_unit, label, many, money, percent, signed, spoken
from .table import Table

EVIDENCE = ("kind", "source", "date", "by")

_KEY = {
    "ledger.total.cost_per_stabilised_watt": "Cost per stabilised W",
    "ledger.total.cost_per_m2": "Cost per m²",
    "ledger.total.cost_per_module": "Cost per module",
    "ledger.total.cost": "Cost a year",
    "line.output.stabilised_watts": "Stabilised power a year",
    "line.output.good_modules": "Good modules a year",
    "line.output.stabilised_power": "Stabilised power of a module",
    "line.output.line_yield": "Yield of the line",
    "line.output.plates_started": "Plates started a year",
    "line.output.capacity": "Modules a year that the tools allow",
    "ledger.equipment_value": "Equipment, standing in the plant",
}
_SHOWN_IN = {"line.output.stabilised_watts": "MWp_stabilised", "line.output.line_yield": "%"}


def compared(shown: Comparison) -> str:
    """What differs between two cases, how the cost of a watt moved, and what moved it most by itself."""
    found, currency = shown.found, shown.before.currency
    was, now = (r.ledger.total.cost_per_stabilised_watt for r in (shown.results_before, shown.results_after))
    if found.none:
        named = f" {many(len(found.evidence), 'row')} name another kind, source, date or person." if found.evidence else ""
        return f"No difference: both have the same inputs, and a stabilised watt costs {money(was, currency)} in both.{named}"
    count = len(found.inputs)
    differ = ["1 input differs" if count == 1 else f"{count or 'no'} inputs differ"]
    differ += [f"{many(len(found.added), 'row')} added"] if found.added else []
    differ += [f"{many(len(found.dropped), 'row')} dropped"] if found.dropped else []
    differ += ["the steps are in another order"] if found.reordered else []
    moved = f"{money(was, currency)} before and {money(now, currency)} after"
    share = f", {signed(100 * (now / was - 1))} %" if was and abs(now / was - 1) > 1e-12 else ""
    alone = [effect for effect in shown.effects if effect.cost]
    most = max(alone, key=lambda effect: abs(effect.cost or 0.0), default=None)
    largest = (
        f" By itself {most.addresses[0]} moves it most: by {currency} {signed(most.cost or 0.0)}."
        if most and len(shown.effects) > 1
        else ""
    )
    return f"{', '.join(differ).capitalize()}. A stabilised watt costs {moved}{share}.{largest}"


def choices_that_differ(found: Comparison) -> str:
    """Which alternatives the two cases take in a group that they decide otherwise."""
    return "; ".join(
        f"{label(group)}: {old or 'no such group'} before, {new or 'no such group'} after"
        for group, (old, new) in found.found.choices.items()
    )


def key_results(case: Case, results: Results) -> dict[str, tuple[str, float, str]]:
    """The figures that two cases are compared by: title, value and unit, by address; tools and carriers among them."""
    found = {}
    for address, value, unit, _ in figures(results, case.currency):
        kind, _, name = address.removeprefix("line.").removesuffix(".tools").partition(".")
        if address in _KEY:
            shown = _SHOWN_IN.get(address, unit)
            found[address] = (_KEY[address], value / to_base(shown), shown)
        elif address == f"line.{kind}.{name}.tools" and kind in ("tools", "carriers"):
            found[address] = (f"In the plant: {getattr(case, kind)[name].title}", value, unit)
    return {address: found[address] for address in (*_KEY, *(a for a in found if a not in _KEY))}


def results_table(shown: Comparison) -> Table:
    """The key figures of both cases; tools only where their number differs."""
    before, after = key_results(shown.before, shown.results_before), key_results(shown.after, shown.results_after)
    rows = []
    for address in {**before, **after}:
        title, _, unit = before.get(address) or after[address]
        was, now = (side[address][1] if address in side else None for side in (before, after))
        if address not in _KEY and was == now:
            continue
        cells = [NOT_APPLICABLE if value is None else _plain(value, unit) for value in (was, now)]
        if was is None or now is None:
            moved = [NOT_APPLICABLE, NOT_APPLICABLE]
        else:
            moved = [signed(now - was, 4 if unit == "tool" else 3), _change(now / was - 1) if was else NOT_APPLICABLE]
        rows.append([title, *cells, *moved])
    return Table("The two side by side", ["", "before", "after", "difference", "change"], rows)


def _plain(value: float, unit: str) -> str:
    """A figure with its unit in the words of the trade: `EUR/Wp_stabilised` stands beside a title that says so."""
    if unit == "tool":
        return f"{value:.4g}"
    shown = spoken(unit.partition("/")[0])
    shown = "" if shown in ("module", "plate", "1") else shown
    return f"{in_unit(value, '1', 4)} {shown}".strip()


def _change(share: float) -> str:
    """A relative change; of a figure that passes 0, the words, as no share says how far."""
    if share < -1.0:
        return "other sign"
    return "0 %" if abs(share) < 1e-12 else f"{'+' if share > 0 else ''}{percent(share)}"


def inputs_table(shown: Comparison) -> Table:
    """Every input that differs, what each change does alone, and how these add up; the largest effect first."""
    by_address = {difference.address: difference for difference in shown.found.inputs}
    rows = []
    for effect in sorted(shown.effects, key=lambda e: (e.cost is None, -abs(e.cost or 0.0))):
        lead, *others = _listed(effect, by_address)
        rows.append(
            [lead.address, *_values(lead), "not by itself" if effect.cost is None else signed(_settled(shown, effect.cost))]
        )
        rows += [[other.address, *_values(other), f"with {label(lead.address.rsplit('.', 1)[1])}"] for other in others]
    if shown.together is not None and len(shown.effects) > 1:
        rows.append(["together, on top of each alone", "", "", "", signed(_settled(shown, shown.together))])
    if shown.found.added or shown.found.dropped or shown.found.reordered or shown.together is None:
        what = "rows added or dropped, order of steps" + (", and all together" if shown.together is None else "")
        rows.append([what, "", "", "", signed(_settled(shown, shown.elsewhere))])
    was, now = (r.ledger.total.cost_per_stabilised_watt for r in (shown.results_before, shown.results_after))
    change = _change(now / was - 1) if was else ""
    rows.append(["cost per stabilised W", in_unit(was, "1", 4), in_unit(now, "1", 4), change, signed(_settled(shown, shown.moved))])
    tools = "with the tools bought anew for it" if shown.before.target.mode == "sized" else "with the plant as it stands"
    return Table(
        "Inputs that differ, and what moved the cost",
        ["", "before", "after", "change", f"{shown.before.currency} per stabilised W"],
        rows,
        total=True,
        note=f"Each effect is that of one change made alone to the case before, {tools}. What the changes "
        "do together, on top of that, is a line of its own.",
    )


def _settled(shown: Comparison, moved: float) -> float:
    """A movement, or zero where it is but the rounding of the last digits."""
    cost = shown.results_before.ledger.total.cost_per_stabilised_watt
    return 0.0 if abs(moved) <= 1e-12 * abs(cost) else moved


def _listed(effect: Effect, by_address: dict[str, Difference]) -> list[Difference]:
    """The inputs of a change that differ, a figure first."""
    found = [by_address[address] for address in effect.addresses if address in by_address]
    return sorted(found, key=lambda difference: difference.is_text)


def _values(difference: Difference) -> list[str]:
    """An input before and after, and its change in %."""
    if difference.is_text:
        return [str(difference.before), str(difference.after), ""]
    change = difference.change
    return [
        exact(difference.before, difference.unit),
        exact(difference.after, difference.unit_after),
        "" if change is None else _change(change),
    ]


def _origins(shown: Comparison) -> Iterator[tuple[str, str, Evidence]]:
    """Where the figures come from in every row that differs: the row, in which case, the evidence."""
    found, old, new = shown.found, shown.before.evidence, shown.after.evidence
    changed = {difference.place for difference in found.inputs}
    for place in old:
        if place in found.dropped:
            yield place, "dropped", old[place]
        elif place in found.evidence:
            yield place, "before", old[place]
            yield place, "after", new[place]
        elif place in changed:
            yield place, "both", old[place]
    yield from ((place, "added", new[place]) for place in found.added)


def origins_table(shown: Comparison) -> Table:
    """Kind, source, date and person of every row that differs, of both cases; rows that came or went among them."""
    rows = [[place, side, *(getattr(evidence, name) for name in EVIDENCE)] for place, side, evidence in _origins(shown)]
    return Table("Rows that differ, and their sources", ["", "", *EVIDENCE], rows, texts=tuple(range(6)))


def as_data(shown: Comparison) -> dict[str, Any]:
    """The comparison for programs: every value in the unit beside it, effects in money of the cases per stabilised watt."""
    effect_of = {address: effect for effect in shown.effects for address in effect.addresses}
    before, after = key_results(shown.before, shown.results_before), key_results(shown.after, shown.results_after)
    return {
        "inputs": {d.address: _input(d) | _alone(effect_of[d.address], d) for d in shown.found.inputs},
        "rows": [
            {"row": place, "in": side, **{name: getattr(evidence, name) for name in EVIDENCE}}
            for place, side, evidence in _origins(shown)
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
            "unit": f"{shown.before.currency}/Wp_stabilised",
            "all": shown.moved,
            "together": shown.together,
            "rows_and_order": shown.elsewhere,
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


def _alone(effect: Effect, difference: Difference) -> dict[str, Any]:
    """What a change moves alone; a change of several inputs names the others, and has its effect once, not for each."""
    others = [address for address in effect.addresses if address != difference.address]
    return {"moved_alone": effect.cost} | ({"changed_with": others} if others else {})
