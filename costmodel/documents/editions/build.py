"""Builds a release: from the view of a case that holds nothing closed, by the allow-list, rounded as it is disclosed."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

from ... import __version__
from ...case.addresses import BadAddress, allowed_units, input_at
from ...case.checks.marks_checks import BOTH
from ...case.whole_case import Case, kept, rows_of, tables
from ...core.faults import Fault, InputFaults, nearest
from ...core.fields import STATUS, Number, declared
from ...core.units import to_base
from ...model.evaluate import Results, evaluate, figures, known_figures
from ...model.ledger.ledger_figures import Cost
from ...present.deal_report import money_of_terms
from ...present.numbers import exact, label
from ..deal_facts import OFFERED
from ..facts import PARTS, identity, stages
from ..transfer_facts import transfer
from .allowed import FIGURES, INPUTS, MONEY, STATED_DIGITS, begins_an_allowed, is_stated, may_show_input, parts_of, unit_for
from .closed_marks import LICENSOR, LICENSOR_FIGURES, MARGINS, PILOT, RECIPE, UNCOUNTED, is_below, is_closed, marks_of, shared_view
from .record import Disclosed, Release, Widening, flat

Facts = dict[str, Any]
DIGITS, MILLION, STEP = 3, 1e6, -4  # money from a million on is disclosed to 0.01 million
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
DAY = re.compile(r"\d{4}-\d{2}(-\d{2})?")
LIST = {"licensee": "term_inputs", "investor": "plan_inputs"}


@dataclasses.dataclass(frozen=True, slots=True)
class Reviewed:
    """A release with what was held back of it: names, and the mark that closes each."""

    release: Release
    held_back: dict[str, str]


def build(case: Case, edition: str, made_on: str, widen: Sequence[Widening] = ()) -> Reviewed:
    """The release of a case for an edition, and what its marks held back. Raises InputFaults where what is closed is widened.

    >>> from costmodel.case.load import load_case
    >>> release = build(load_case("inputs_demo/facade"), "licensee", "2026-11-02").release
    >>> [(each.value, each.unit) for each in release.figures if each.name == "licence.royalty"]
    [(0.022, '1')]
    """
    if not case.public_title.strip():
        allowed = "a title that may go out, as public_title: ...; title and story of the case stay inside"
        raise InputFaults([Fault("case.yaml", None, "public_title", "nothing", allowed)])
    view = shared_view(case)
    results = evaluate(view)
    check_marks(case, results)
    marks = marks_of(case, edition)
    held: dict[str, str] = {}
    facts = collect(view, results, edition, marks, held)
    for part in OFFERED:  # their terms are offered to the other side; the view has no row of them, so that no figure does
        if part.__name__ in facts:
            facts[part.__name__] = part(case)
    if "guaranteed" in facts:
        facts["identity"]["money"] = money_of_terms(case) if case.has_deal else ""
        if _is_held("identity.first_month", ["schedule.first_month"], marks, held):
            facts["identity"]["first_month"] = ""
    if "transfer" in facts:  # so is the schedule, as long as no mark closes an order or a duration: dates would tell of it
        facts["transfer"] = open_schedule(case, marks, held)
    figures_ = disclosed_figures(view, edition, facts, marks, held)
    stated = [
        Widening(row.address, None, "", shown.by, shown.date, row.why)
        for name, row in case.widened.items()
        if row.edition == edition and (shown := case.evidence[f"widened.{name}"])
    ]
    widened = _widen(case, results, edition, marks, [*stated, *widen])
    return Reviewed(Release(case.public_title, edition, case.currency, __version__, made_on, figures_, widened), held)


def open_schedule(case: Case, marks: Sequence[str], held: dict[str, str]) -> Facts:
    """The schedule of the transfer; none where a mark closes what its dates follow from."""
    for name in case.transfer_tasks:
        if _is_held("transfer.tasks", [f"transfer_tasks.{name}.{field}" for field in ("most_likely", "after")], marks, held):
            return {"tasks": [], "gates": []}
    return transfer(case)


def check_marks(case: Case, results: Results) -> None:
    """Refuse a mark that names no input, no figure and no name of a release: it would close nothing. Raises InputFaults.

    Marks of inputs are looked up as a case is read; `results` are those of the case, or of its view.
    """
    known = [address for address, *_ in figures(results, case.currency)]
    known += [address for table in BOTH for address in _addresses(case, table)]
    names = [name for allowed in FIGURES.values() for name in allowed]
    faults = [
        Fault("confidential.csv", None, f"{identity_}.address", f"'{row.address}'",
              f"the address of an input or figure, or a name in a release{nearest(row.address, [*known, *names])}")
        for identity_, row in case.confidential.items()
        if row.address.partition(".")[0] not in tables().keys() - set(BOTH)
        and not any(is_below(address, row.address) for address in known)
        and not any(_is_row_of(row.address, name) or is_below(name, row.address) for name in names)
    ]  # fmt: skip
    if faults:
        raise InputFaults(faults)


def _is_row_of(address: str, name: str) -> bool:
    """Whether an address is a name of a release or names a row of a list there, by its number."""
    below = address.split(".")[len(name.split(".")) :]
    return is_below(address, name) and (not below or below[0].isdigit() or below[0] == "*")


def _addresses(case: Case, table: str) -> Iterator[str]:
    """The addresses of every field of a table."""
    for identity_ in rows_of(case, table):
        yield from (
            f"{table}.{identity_}.{field}" if identity_ else f"{table}.{field}" for field in declared(tables()[table].record)
        )


def collect(view: Case, results: Results, edition: str, marks: Sequence[str], held: dict[str, str]) -> Facts:
    """The facts that the allow-list picks from, folded to what may be disclosed; inputs that marks close are noted as held."""
    own: dict[str, Callable[[], Any]] = {
           "process": lambda: process(view, results), "evidence": lambda: evidence(view),
           **{part.__name__: partial(part, view) for part in OFFERED},
           "identity": lambda: identity(view, ""), "npv_moved_by": lambda: moved_by(view, results, edition, marks, held),
           LIST[edition]: lambda: inputs(view, edition, marks, held)}  # fmt: skip
    return {
        part: own[part]() if part in own else kept(view, f"part {part}", partial(PARTS[part], view, results))
        for part in parts_of(edition)
    }


def process(view: Case, results: Results) -> Facts:
    """What the plant takes, in place of the recipe: cost by group of steps, gases as one, cycle times and consumption."""
    ledger, output = results.ledger, results.line.output
    groups: dict[str, list[Cost]] = {stage: [] for stage in stages(view)}
    for step, row in view.steps.items():
        groups[row.stage] += [ledger.by_step[step]] if step in ledger.by_step else []
    cycles = [step.cycle.time for step in results.line.steps.values() if step.cycle.growth_time > 0]
    drawn: dict[tuple[str, str], float] = {}
    for each in ledger.lines.values():
        if each.category == "utilities" and each.item in view.utilities:
            drawn[each.item, each.unit] = drawn.get((each.item, each.unit), 0.0) + each.quantity
    return {
        "groups": [
            {"name": group, "per_watt": sum(x.cost_per_stabilised_watt for x in costs), "per_m2": sum(x.cost_per_m2 for x in costs)}
            for group, costs in groups.items()
        ],
        "gases_per_m2": ledger.by_group["gases"].cost_per_m2 if "gases" in ledger.by_group else None,
        "takt": output.takt,
        "film_cycle": max(cycles) / to_base("min") if cycles else None,
        "consumption": [
            {"name": label(item), "per_m2": amount / to_base(unit) / output.good_area, "unit": f"{unit}/m2"}
            for (item, unit), amount in sorted(drawn.items())
            if amount
        ],
    }


def evidence(view: Case) -> Facts:
    """How well the inputs are known that an external edition counts: not those of the licensor's own tables, nor of the recipe."""
    rows: dict[str, int] = {}
    invented: dict[str, list[int]] = {}
    for place, shown in view.evidence.items():
        if is_closed(place, RECIPE) or place.partition(".")[0] in UNCOUNTED:
            continue
        file = tables()[place.partition(".")[0]].file.replace(".", ":")
        rows[shown.kind] = rows.get(shown.kind, 0) + 1
        found = invented.setdefault(file, [0, 0])
        invented[file] = [found[0] + (shown.kind == "invented"), found[1] + 1]
    counted = [shown for place, shown in view.evidence.items() if place.partition(".")[0] not in UNCOUNTED]
    dates = [shown.date for shown in counted if DAY.fullmatch(shown.date)]  # a date may be any words
    return {"rows": rows, "invented": invented, "oldest": min(dates, default=None), "newest": max(dates, default=None)}


def inputs(view: Case, edition: str, marks: Sequence[str], held: dict[str, str]) -> list[Facts]:
    """The inputs that an edition shows, a table for each file; what a mark closes is left out and noted."""
    found = []
    for name, allowed in INPUTS[edition].items():
        table, rows = tables()[name], []
        for identity_, record in rows_of(view, name).items():
            place = f"{name}.{identity_}" if identity_ else name
            shown = list(_shown_fields(view, place, record, allowed, marks, held))
            if shown:
                own = label(identity_ or name)
                title = own if f"{place}.title" in held else getattr(record, "title", own)
                rows.append([title, "; ".join(shown), view.evidence[place].kind, view.evidence[place].source])
        if rows:
            found.append({"title": f"{table.file}{', ' + label(name) if table.section else ''}: {table.meaning}", "rows": rows})
    return found


def _shown_fields(
    view: Case, place: str, record: Any, allowed: Sequence[str], marks: Sequence[str], held: dict[str, str]
) -> Iterator[str]:
    """The fields of a row that may be shown, each as it was entered."""
    for field, kind in declared(tables()[place.partition(".")[0]].record).items():
        value, address = getattr(record, field), f"{place}.{field}"
        if field in allowed and value not in ("", None) and not _is_held(address, [address], marks, held) and field != "title":
            yield f"{label(field)} {exact(value, view.entry_units[address]) if isinstance(kind, Number) else value}"


def shown_inputs(view: Case, edition: str, marks: Sequence[str]) -> Iterator[str]:
    """The addresses of numbers that an edition shows as inputs.

    >>> from costmodel.case.load import load_case
    >>> "tax.rate" in shown_inputs(load_case("inputs_demo/facade"), "licensee", ["tax"])
    False
    """
    for name, allowed in INPUTS[edition].items():
        for identity_, record in rows_of(view, name).items():
            place = f"{name}.{identity_}" if identity_ else name
            for field, kind in declared(tables()[name].record).items():
                shown = field in allowed and isinstance(kind, Number) and getattr(record, field) is not None
                if shown and not is_closed(f"{place}.{field}", marks):
                    yield f"{place}.{field}"


def _is_held(name: str, addresses: Sequence[str], marks: Sequence[str], held: dict[str, str]) -> bool:
    """Whether a mark closes any of the addresses; it is then noted under the name."""
    closed = next((mark for mark in marks for address in addresses if is_closed(address, [mark])), None)
    if closed:
        held[name] = closed
    return closed is not None


def moved_by(view: Case, results: Results, edition: str, marks: Sequence[str], held: dict[str, str]) -> Facts | None:
    """What uncertain inputs do to the net present value; inputs that may not be shown appear as one, the widest of them."""
    found = kept(view, "part npv_moved_by", lambda: PARTS["npv_moved_by"](view, results))
    if found is None:
        return None
    shown: list[Facts] = []
    folded: list[Facts] = []
    for bar in found["bars"]:
        closed = _is_held(bar["row"], [bar["row"]], marks, held)
        (shown if may_show_input(edition, bar["row"]) and not closed else folded).append(bar)
    if folded:
        words = {"now": "not disclosed", "low": "low", "high": "high", "unit": "end", "kind": "", "source": ""}
        widest = folded[0] | words | {"input": "process and equipment: the widest"}
        shown = sorted([*shown, widest], key=lambda bar: -abs(bar["at_high"] - bar["at_low"]))
    return {"present": found["present"], "bars": shown}


def rounded(value: Any, unit: str, stated: bool = False) -> Any:
    """A value as it is disclosed: money to 0.01 million, other numbers in three digits, what is stated as stated.

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


def disclosed_figures(view: Case, edition: str, facts: Facts, marks: Sequence[str], held: dict[str, str]) -> tuple[Disclosed, ...]:
    """The facts that the allow-list names, rounded as they are disclosed; what a mark closes is left out and noted."""
    found = []
    for name, value in flat(facts).items():
        unit = unit_for(edition, name)
        if unit is None and value in (None, [], {}) and begins_an_allowed(edition, name):
            unit = ""
        if unit is not None and not _is_held(name, shown_by(facts, name), marks, held):
            shown = rounded(float(value) if isinstance(value, float) else value, unit, is_stated(name))
            found.append(Disclosed(name, shown, unit.replace(MONEY, view.currency)))
    return tuple(sorted(found, key=lambda each: each.name))


def _widen(case: Case, results: Results, edition: str, marks: Sequence[str], wanted: Sequence[Widening]) -> tuple[Widening, ...]:
    """The values of what is disclosed beyond the allow-list; what is closed by a mark, or depends on what is, is refused."""
    if not wanted:
        return ()
    outside = {a: (v, unit) for a, v, unit, _ in figures(results, case.currency)}
    inside = {address: known.value for address, known in known_figures(case).items()}
    found, faults = [], []
    for each in wanted:
        allowed = ""
        if is_closed(each.figure, [*LICENSOR, *LICENSOR_FIGURES, *MARGINS, *PILOT]):
            allowed = "nothing of the licensor's own figures or of pilot measurements"
        elif is_closed(each.figure, marks):
            allowed = f"what confidential.csv does not close to the {edition}; take its mark away first"
        elif each.figure in outside:
            value, unit = outside[each.figure]
            alike = value == inside[each.figure] or (math.isnan(value) and math.isnan(inside[each.figure]))
            if not alike or each.figure.endswith(STATUS):
                allowed = "a figure that does not depend on what is closed"
            shown = rounded(float(value) / to_base(unit), unit)
        else:
            try:
                shown, unit = _input(case, each.figure)
            except BadAddress:
                allowed = f"the address of a figure or of an input{nearest(each.figure, outside)}"
        if allowed:
            faults.append(Fault("--widen or widened.csv", None, None, f"'{each.figure}'", allowed))
        else:
            found.append(dataclasses.replace(each, value=shown, unit=unit))
    if faults:
        raise InputFaults(faults)
    return tuple(sorted(found, key=lambda each: each.figure))


def _input(case: Case, address: str) -> tuple[Any, str]:
    """An input as it is stated, and its unit. Raises BadAddress."""
    declaration, record = input_at(case, address)
    value = getattr(record, address.rpartition(".")[2])
    unit = allowed_units(declaration, record, case.currency)[0] if isinstance(declaration, Number) else ""
    return (float(f"{value / to_base(unit):.{STATED_DIGITS}g}") if unit else value), unit
