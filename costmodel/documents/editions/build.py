"""Builds a release: from the view of a case that holds nothing closed, by the allow-list, rounded to what is told."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

from ... import __version__
from ...case.addresses import BadAddress, allowed_units, input_at
from ...case.whole_case import Case, kept, rows_of, tables
from ...core.faults import Fault, InputFaults, nearest
from ...core.fields import STATUS, Number, declared
from ...core.units import to_base
from ...model.evaluate import Results, evaluate, figures
from ...present.numbers import exact, label
from ..facts import PARTS, identity
from .allowed import FIGURES, INPUTS, MONEY, STATED_DIGITS, begins_an_allowed, is_stated, may_show_input, parts_of, unit_for
from .closed_marks import LICENSOR, LICENSOR_FIGURES, PILOT, is_below, is_closed, marks_of, outside_view
from .record import Release, Told, Widening, flat

Facts = dict[str, Any]
DIGITS, MILLION, STEP = 3, 1e6, -4  # money from a million on is told to 0.01 million
FIELDS = {
    "name": ("title",),
    "a_year": ("price", "amount"),
    "rate": ("withholding",),
    "on_top": ("gross_up",),
    "megawatts": ("volume",),
    "highest_price": ("highest_price_per_m2",),
    "highest_price_per_m2": ("highest_price",),
}  # what inputs are called that facts have another word for, and what is the same by watt and by area
FIGURES_OF = {"markets": "market.by_market", "other_lines": "plan.others"}  # where the figures of a row stand
LIST = {"licensee": "term_inputs", "investor": "plan_inputs"}


@dataclasses.dataclass(frozen=True, slots=True)
class Reviewed:
    """A release with what was held back of it: names, and the mark that closes each."""

    release: Release
    held_back: dict[str, str]


def build(case: Case, edition: str, made_on: str, widen: Sequence[Widening] = ()) -> Reviewed:
    """The release of a case for an edition, and what its marks held back. Raises InputFaults where one asks for what is closed.

    >>> from costmodel.case.load import load_case
    >>> release = build(load_case("inputs_demo/facade"), "licensee", "2026-11-02").release
    >>> [(each.value, each.unit) for each in release.figures if each.name == "licence.royalty"]
    [(0.022, '1')]
    """
    view = kept(case, "outside view", lambda: outside_view(case))
    results = evaluate(view)
    check_marks(case, results)
    marks = marks_of(case, edition)
    held: dict[str, str] = {}
    told = told_figures(view, edition, collect(view, results, edition, marks, held), marks, held)
    asked = [Widening(row.address, None, "", shown.by, shown.date, row.why) for row, shown in _widened(case, edition)]
    return Reviewed(
        Release(case.title, edition, case.currency, __version__, made_on, told, _widen(case, results, edition, marks,
                                                                                      [*asked, *widen])),
        held,
    )  # fmt: skip


def check_marks(case: Case, results: Results) -> None:
    """Refuse a mark that names no input, no figure and nothing that is told: it would close nothing. Raises InputFaults.

    Marks of inputs are looked up as a case is read; `results` are those of the case, or of its view.
    """
    known = [address for address, *_ in figures(results, case.currency)]
    told = [name for names in FIGURES.values() for name in names]
    faults = []
    for identity_, row in case.confidential.items():
        if row.address.partition(".")[0] in tables() or any(is_below(address, row.address) for address in known):
            continue
        if not any(is_below(row.address, name) or is_below(name, row.address) for name in told):
            near = nearest(row.address, [*known, *told])
            allowed = f"the address of an input or figure, or the name of what a release tells{near}"
            faults.append(Fault("confidential.csv", None, f"{identity_}.address", f"'{row.address}'", allowed))
    if faults:
        raise InputFaults(faults)


def _widened(case: Case, edition: str) -> list[tuple[Any, Any]]:
    rows = case.widened.items()
    return [(row, case.evidence[f"widened.{name}"]) for name, row in rows if row.edition == edition]


def collect(view: Case, results: Results, edition: str, marks: Sequence[str], held: dict[str, str]) -> Facts:
    """The facts that the allow-list picks from, folded to what may be told; inputs that marks close are left out and noted."""
    own = {"process": lambda: process(view, results), "evidence": lambda: evidence(view),
           "identity": lambda: identity(view, ""), "npv_moved_by": lambda: moved_by(view, results, edition, marks, held),
           LIST[edition]: lambda: inputs(view, edition, marks, held)}  # fmt: skip
    return {part: own[part]() if part in own else PARTS[part](view, results) for part in parts_of(edition)}


def process(view: Case, results: Results) -> Facts:
    """What the plant takes, in place of the recipe: cost by group of steps, gases as one, cycle times and consumption."""
    ledger, line = results.ledger, results.line
    groups: dict[str, list[str]] = {}
    for step, row in view.steps.items():
        groups.setdefault(row.stage, []).append(step)
    cycles = [step.cycle.time for step in line.steps.values() if step.cycle.growth_time > 0]
    drawn: dict[tuple[str, str], float] = {}
    for each in ledger.lines.values():
        if each.category == "utilities" and each.item in view.utilities:
            drawn[each.item, each.unit] = drawn.get((each.item, each.unit), 0.0) + each.quantity
    return {
        "groups": [
            {
                "name": group,
                "per_watt": sum(ledger.by_step[step].cost_per_stabilised_watt for step in steps if step in ledger.by_step),
                "per_m2": sum(ledger.by_step[step].cost_per_m2 for step in steps if step in ledger.by_step),
            }
            for group, steps in groups.items()
        ],
        "gases_per_m2": ledger.by_group["gases"].cost_per_m2 if "gases" in ledger.by_group else None,
        "takt": line.output.takt,
        "film_cycle": max(cycles) / to_base("min") if cycles else None,
        "consumption": [
            {"name": label(item), "per_m2": amount / to_base(unit) / line.output.good_area, "unit": f"{unit}/m2"}
            for (item, unit), amount in sorted(drawn.items())
            if amount
        ],
    }


def evidence(view: Case) -> Facts:
    """How well the inputs are known that an outside edition counts: not those of the licensor's own tables."""
    rows: dict[str, int] = {}
    invented: dict[str, list[int]] = {}
    for place, shown in view.evidence.items():
        file = tables()[place.partition(".")[0]].file.replace(".", ":")
        rows[shown.kind] = rows.get(shown.kind, 0) + 1
        found = invented.setdefault(file, [0, 0])
        invented[file] = [found[0] + (shown.kind == "invented"), found[1] + 1]
    dates = [shown.date for shown in view.evidence.values()]
    return {"rows": rows, "invented": invented, "oldest": min(dates), "newest": max(dates)}


def inputs(view: Case, edition: str, marks: Sequence[str], held: dict[str, str]) -> list[Facts]:
    """The inputs that an edition shows, a table for each file; what a mark closes is left out and noted."""
    found = []
    for name, allowed in INPUTS[edition].items():
        table, rows = tables()[name], []
        for identity_, record in rows_of(view, name).items():
            place = f"{name}.{identity_}" if identity_ else name
            shown = []
            for field, kind in declared(table.record).items():
                value, address = getattr(record, field), f"{place}.{field}"
                if field not in allowed or value in ("", None):
                    continue
                closed = next((mark for mark in marks if is_closed(address, [mark])), None)
                if closed:
                    held[address] = closed
                elif field != "title":
                    entered = exact(value, view.entry_units[address]) if isinstance(kind, Number) else value
                    shown.append(f"{label(field)} {entered}")
            if not shown:
                continue
            title = label(identity_ or name) if f"{place}.title" in held else getattr(record, "title", label(identity_ or name))
            rows.append([title, "; ".join(shown), *dataclasses.astuple(view.evidence[place])])
        if rows:
            found.append({"title": f"{table.file}{', ' + label(name) if table.section else ''}: {table.meaning}", "rows": rows})
    return found


def moved_by(view: Case, results: Results, edition: str, marks: Sequence[str], held: dict[str, str]) -> Facts | None:
    """What uncertain inputs do to the net present value; inputs that may not be shown are told as one, the widest of them."""
    found = PARTS["npv_moved_by"](view, results)
    if found is None:
        return None
    kept, folded = [], []
    for bar in found["bars"]:
        address = bar["row"]
        closed = next((mark for mark in marks if is_closed(address, [mark])), None)
        if closed:
            held[address] = closed
        (kept if may_show_input(edition, address) and not closed else folded).append(bar)
    if folded:
        words = {"now": "not told", "low": "low", "high": "high", "unit": "end", "kind": "", "source": ""}
        widest = folded[0] | words | {"input": f"process and equipment: widest of {len(folded)}"}
        kept = sorted([*kept, widest], key=lambda bar: -abs(bar["at_high"] - bar["at_low"]))
    return {"present": found["present"], "bars": kept}


def rounded(value: Any, unit: str, stated: bool = False) -> Any:
    """A value as it is told: money to 0.01 million, other numbers in three digits, what is stated as stated.

    >>> rounded(6770907.2, "{currency}"), rounded(1.59149, "{currency}/W"), rounded(0.022000000000000002, "1", stated=True)
    (6770000.0, 1.59, 0.022)
    """
    if isinstance(value, list):
        return [rounded(each, unit, stated) for each in value]
    if not isinstance(value, float):
        return value
    if not math.isfinite(value):
        return None
    if stated:
        return float(f"{value:.{STATED_DIGITS}g}")
    if unit.startswith(MONEY) and abs(value) >= MILLION:
        return round(value, STEP)
    return float(f"{value:.{DIGITS}g}") + 0.0


def shown_by(facts: Facts, name: str) -> list[str]:
    """The addresses that a mark may close a fact by: its name, and the input that it shows where it stands in a row of a table.

    >>> shown_by({"markets": [{"row": "markets.roof", "asked_price": 2.0}]}, "markets.00.asked_price")
    ['markets.00.asked_price', 'markets.roof.asked_price', 'market.by_market.roof.asked_price']
    """
    *path, field = name.split(".")
    holder: Any = facts
    for part in path:
        holder = holder[int(part)] if isinstance(holder, list) else holder.get(part, {}) if isinstance(holder, dict) else {}
    row = holder.get("row", "") if isinstance(holder, dict) else ""
    if not row:
        return [name]
    table, _, identity = row.partition(".")
    fields = (field, *FIELDS.get(field, ()))
    figures_of_row = [f"{FIGURES_OF[table]}.{identity}.{each}" for each in fields] if table in FIGURES_OF else []
    return [name, *(f"{row}.{each}" for each in fields), *figures_of_row]


def told_figures(view: Case, edition: str, facts: Facts, marks: Sequence[str], held: dict[str, str]) -> tuple[Told, ...]:
    """The facts that the allow-list names, rounded as they are told; what a mark closes is left out and noted."""
    told = []
    for name, value in flat(facts).items():
        unit = unit_for(edition, name)
        if unit is None:
            if value not in (None, [], {}) or not begins_an_allowed(edition, name):
                continue
            unit = ""
        closed = next((mark for mark in marks for address in shown_by(facts, name) if is_closed(address, [mark])), None)
        if closed:
            held[name] = closed
            continue
        shown = rounded(float(value) if isinstance(value, float) else value, unit, is_stated(name))
        told.append(Told(name, shown, unit.replace(MONEY, view.currency)))
    return tuple(sorted(told, key=lambda each: each.name))


def _widen(case: Case, results: Results, edition: str, marks: Sequence[str], asked: Sequence[Widening]) -> tuple[Widening, ...]:
    """The values of what is told beyond the allow-list; what is closed by a mark, or hangs on what is, is refused."""
    if not asked:
        return ()
    outside = {a: (v, unit) for a, v, unit, _ in figures(results, case.currency)}
    inside = {a: v for a, v, *_ in figures(evaluate(case), case.currency)}
    found, faults = [], []
    for each in asked:
        place = Fault("--widen or widened.csv", None, None, f"'{each.figure}'", "")
        if is_closed(each.figure, [*LICENSOR, *LICENSOR_FIGURES, *PILOT]):
            faults.append(dataclasses.replace(place, allowed="nothing of the licensor's own figures or of pilot measurements"))
        elif is_closed(each.figure, marks):
            allowed = f"what confidential.csv does not close to the {edition}; take its mark away first"
            faults.append(dataclasses.replace(place, allowed=allowed))
        elif each.figure in outside:
            value, unit = outside[each.figure]
            alike = value == inside[each.figure] or (math.isnan(value) and math.isnan(inside[each.figure]))
            if not alike or each.figure.endswith(STATUS):
                faults.append(dataclasses.replace(place, allowed="a figure that does not hang on what is closed"))
            else:
                found.append(dataclasses.replace(each, value=rounded(float(value) / to_base(unit), unit), unit=unit))
        else:
            try:
                declaration, record = input_at(case, each.figure)
                value = getattr(record, each.figure.rpartition(".")[2])
                unit = allowed_units(declaration, record, case.currency)[0] if isinstance(declaration, Number) else ""
                shown = float(f"{value / to_base(unit):.{STATED_DIGITS}g}") if unit else value
                found.append(dataclasses.replace(each, value=shown, unit=unit))
            except BadAddress:
                allowed = f"the address of a figure or of an input{nearest(each.figure, outside)}"
                faults.append(dataclasses.replace(place, allowed=allowed))
    if faults:
        raise InputFaults(faults)
    return tuple(sorted(found, key=lambda each: each.figure))
