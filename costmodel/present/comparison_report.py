"""Two cases compared: sentences and tables."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from ..case.differences import Difference
from ..case.whole_case import Case, Evidence
from ..core.units import to_base
from ..model.evaluate import Results, figures
from ..studies.factory.comparison import SAME, Comparison, Effect
from ..studies.many import Wanted
from .inputs_report import input_name
from .numbers import NOT_APPLICABLE, exact, in_unit, label, many, money, people, percent, signed, spoken
from .study_report import name_of
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
    "plan.project.npv": "Net present value of the plant",
    "plan.project.irr": "Return of the plant",
    "plan.owners.irr": "Return of the owners",
    "deal.licensor.gain": "Licensor's gain above its floor",
    "deal.licensee.gain": "Licensee's gain above its best alternative",
}
_TOTAL = {
    "ledger.total.cost_per_stabilised_watt": "cost per stabilised W",
    "plan.project.npv": "net present value",
    "plan.project.irr": "return of the plant",
    "plan.owners.irr": "return of the owners",
    "deal.licensor.gain": "licensor's gain",
    "deal.licensee.gain": "licensee's gain",
}
_SAID = {
    "ledger.total.cost_per_stabilised_watt": "the cost of a stabilised watt",
    "plan.project.npv": "the net present value of the plant",
    "plan.project.irr": "the return of the plant",
    "plan.owners.irr": "the return of the owners",
    "deal.licensor.gain": "the licensor's gain above its floor",
    "deal.licensee.gain": "the licensee's gain above its best alternative",
}
_SHOWN_IN = {"line.output.stabilised_watts": "MWp_stabilised", "line.output.line_yield": "%"}


def compared(shown: Comparison) -> list[str]:
    """How much differs between two cases, how the figure moved, what moved it most by itself, and which others moved."""
    found = shown.found
    if found.none:
        named = [f"{many(len(found.evidence), 'row')} name another kind, source, date or person."] if found.evidence else []
        return [f"No difference: both have the same inputs, and {_named(shown)} is {_value(shown.was)} in both.", *named]
    count = len(found.inputs)
    differ = ["1 input differs" if count == 1 else f"{count or 'no'} inputs differ"]
    differ += [f"{many(len(found.added), 'row')} added"] if found.added else []
    differ += [f"{many(len(found.dropped), 'row')} dropped"] if found.dropped else []
    differ += ["the steps are in another order"] if found.reordered else []
    alone = [effect for effect in shown.effects if effect.moved and math.isfinite(effect.moved)]
    most = max(alone, key=lambda effect: abs(effect.moved or 0.0), default=None)
    largest = (
        [f"By itself {_input(shown, most.addresses[0])} moves it most: by {_difference(most.moved or 0.0, shown.was)}."]
        if most and len(shown.effects) > 1
        else []
    )
    others = [_went(*pair) for pair in shown.others]
    return [f"{', '.join(differ).capitalize()}.", _went(shown.was, shown.now), *largest, *others]


def _input(shown: Comparison, address: str) -> str:
    """What an input is called, which a case may have only before or after."""
    place = address.rpartition(".")[0]
    return input_name(shown.after if place in shown.after.evidence else shown.before, address)


def _named(shown: Comparison) -> str:
    """The figure in a sentence."""
    return _SAID.get(shown.was.address, name_of(shown.was))


def _value(figure: Wanted) -> str:
    """A figure as a sentence has it; or why it has no value."""
    value = float(figure.present)
    if math.isnan(value):
        return f"without a value ({figure.reason})" if figure.reason else "without a value"
    head, _, rest = figure.unit.partition("/")
    if len(head) == 3 and head.isupper():
        return f"{money(figure.shown(value), head)}{_per(rest)}"
    return in_unit(value, figure.unit)


def _per(unit: str) -> str:
    return "" if unit in ("", "Wp_stabilised") else f"/{spoken(unit)}"


def _went(was: Wanted, now: Wanted) -> str:
    """How a figure moved, in a sentence: from what to what, and by which share."""
    before, after = float(was.present), float(now.present)
    name = _SAID.get(was.address, name_of(was))
    share = ""
    if before and math.isfinite(before) and math.isfinite(after) and not was.unit.startswith("%"):
        share = "" if before * after < 0 or abs(after / before - 1) < SAME else f", {_change(after / before - 1)}"
    return f"{name[0].upper()}{name[1:]} is {_value(was)} before and {_value(now)} after{share}."


def _difference(moved: float, figure: Wanted) -> str:
    """A movement with its sign and unit."""
    head, _, rest = figure.unit.partition("/")
    if len(head) == 3 and head.isupper():
        return f"{head} {signed(figure.shown(moved))}{_per(rest)}"
    unit = "points" if figure.unit == "%" else spoken(figure.unit)
    return f"{signed(figure.shown(moved))} {unit}".removesuffix(" 1")


def sources_that_stayed(shown: Comparison, supposed: Collection[str] = ()) -> list[str]:
    """Which rows have changed values and the source, date and person of before; not what is `supposed` by its address."""
    changed = {d.place: None for d in shown.found.inputs if d.address not in supposed and d.place in shown.before.evidence}
    places = [place for place in changed if place not in shown.found.evidence]
    if not places:
        return []
    more = f" and {many(len(places) - 3, 'more row')}" if len(places) > 3 else ""
    return [f"Values changed, but source, date and person stayed: {', '.join(places[:3])}{more}."]


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
    keys = [address for address in _KEY if address in found]
    return {address: found[address] for address in (*keys, *(a for a in found if a not in _KEY))}


def both_results(shown: Comparison) -> tuple[dict[str, tuple[str, float, str]], dict[str, tuple[str, float, str]]]:
    """The key figures of both cases, and the figure that is compared where it is none of them."""
    sides = []
    for case, results, own in ((shown.before, shown.results_before, shown.was), (shown.after, shown.results_after, shown.now)):
        named = {} if own.address in _KEY else {own.address: (name_of(own), float(own.shown(own.present)), own.unit)}
        sides.append(named | key_results(case, results))
    return sides[0], sides[1]


def results_table(shown: Comparison) -> Table:
    """The key figures of both cases; tools only where their number differs."""
    before, after = both_results(shown)
    rows = []
    for address in {**before, **after}:
        title, _, unit = before.get(address) or after[address]
        was, now = (side[address][1] if address in side else math.nan for side in (before, after))
        if was == now and address.endswith(".tools") and address != shown.was.address:
            continue
        cells = [NOT_APPLICABLE if math.isnan(value) else _plain(value, unit) for value in (was, now)]
        if math.isnan(was) or math.isnan(now):
            moved = [NOT_APPLICABLE, NOT_APPLICABLE]
        else:
            share = _change(now / was - 1) if was and unit != "%" else NOT_APPLICABLE
            moved = [signed(now - was, 4 if unit == "tool" else 3) + (" points" if unit == "%" else ""), share]
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
        return "changes sign"
    return "0 %" if abs(share) < 1e-12 else f"{'+' if share > 0 else ''}{percent(share)}"


def inputs_table(shown: Comparison) -> Table:
    """Every input that differs, what each change does alone, and how these add up; the largest effect first."""
    by_address = {difference.address: difference for difference in shown.found.inputs}
    rows = []
    for effect in sorted(shown.effects, key=lambda e: (e.moved is None, -abs(e.moved or 0.0))):
        lead, *others = _listed(effect, by_address)
        rows.append([lead.address, *_values(lead), "not by itself" if effect.moved is None else _settled(shown, effect.moved)])
        rows += [[other.address, *_values(other), f"with {label(lead.address.rsplit('.', 1)[1])}"] for other in others]
    if shown.together is not None and len(shown.effects) > 1:
        rows.append(["together, on top of each alone", "", "", "", _settled(shown, shown.together)])
    if shown.found.added or shown.found.dropped or shown.found.reordered or shown.together is None:
        what = "rows added or dropped, order of steps" + (", and all together" if shown.together is None else "")
        rows.append([what, "", "", "", _settled(shown, shown.elsewhere)])
    was, now = (float(each.shown(each.present)) for each in (shown.was, shown.now))
    change = _change(now / was - 1) if was and math.isfinite(now / was) and shown.was.unit != "%" else ""
    title = _TOTAL.get(shown.was.address, name_of(shown.was))
    rows.append([title, people(was, 4), people(now, 4), change, _settled(shown, shown.moved)])
    tools = "with the tools bought anew for it" if shown.before.target.mode == "sized" else "with the plant as it stands"
    return Table(
        f"Inputs that differ, and what moved {_TOTAL.get(shown.was.address, 'the figure')}",
        ["", "before", "after", "change", f"effect, {spoken_in_full(shown.was.unit)}"],
        rows,
        total=True,
        note=f"Each effect is that of one change made alone to the case before, {tools}. What the changes "
        "do together, on top of that, is a line of its own.",
    )


def spoken_in_full(unit: str) -> str:
    """A unit in a heading, where a watt is stated to be a stabilised one.

    >>> spoken_in_full("EUR/Wp_stabilised"), spoken_in_full("%")
    ('EUR per stabilised W', 'points')
    """
    return "points" if unit == "%" else spoken(unit.replace("/Wp_stabilised", " per stabilised W"))


def _settled(shown: Comparison, moved: float) -> str:
    """A movement, or zero where it is but the rounding of the last digits."""
    start = float(shown.was.present)
    return signed(0.0 if abs(moved) <= SAME * abs(start) else float(shown.was.shown(moved)))


def _listed(effect: Effect, by_address: dict[str, Difference]) -> list[Difference]:
    """The inputs of a change that differ, a figure first."""
    found = [by_address[address] for address in effect.addresses if address in by_address]
    return sorted(found, key=lambda difference: difference.is_text)


def _values(difference: Difference) -> list[str]:
    """An input before and after, and its change: in percentage points where it is stated in %, else in %."""
    if difference.is_text:
        return [str(difference.before), str(difference.after), ""]
    before, after = exact(difference.before, difference.unit), exact(difference.after, difference.unit_after)
    if difference.before * difference.after < 0:  # no share says how far
        return [before if difference.before < 0 else f"+{before}", after if difference.after < 0 else f"+{after}", "changes sign"]
    if difference.unit == difference.unit_after and difference.unit.split("/")[0] == "%":
        return [before, after, f"{signed((difference.after - difference.before) / to_base(difference.unit))} points"]
    return [before, after, "" if difference.change is None else _change(difference.change)]


def origins(shown: Comparison) -> Iterator[tuple[str, str, Evidence]]:
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
    """Kind, source, date and person of every row that differs, `unchanged` where they stayed; rows that came or went among them."""
    sides = {"both": "unchanged"}
    rows = [
        [place, sides.get(side, side), *(getattr(evidence, name) for name in EVIDENCE)] for place, side, evidence in origins(shown)
    ]
    return Table("Rows that differ, and their sources", ["", "", *EVIDENCE], rows, texts=tuple(range(6)))
