"""Checks between tables, one named check per rule: ids that are referred to, units that must fit, shares that must add up."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np

from ..faults import Fault, nearest
from ..fields import Number, Text, declared, unit_of
from ..units import CURRENCY, same_kind
from .addresses import BadAddress, allowed_units, input_at
from .records import YEAR, Case, rows_of, tables
from .rows import IDENTIFIER
from .uncertain import cannot_hold_together
from .values import BadValue, check_number

Unread = frozenset[str]  # tables of which rows could not be read: in them no id can be called unknown


def check_consistency(case: Case, places: Mapping[str, Mapping[str, tuple[str, int]]], unread: Unread = frozenset()) -> list[Fault]:
    """All faults between the tables of a case; `places` gives the file and line of each row by table and id.

    Records may lack fields that could not be read (`rows.record_of`), and tables named in `unread` may lack rows: what hangs
    on them is not judged.
    """
    faults: list[Fault] = []
    for check in CHECKS:
        for name, identity, column, found, allowed in check(case, unread):
            table = tables()[name]
            file, row = places.get(name, {}).get(identity, (table.file, None))
            at = f"{name}.{column}" if table.section else column if row else f"{identity}.{column}"
            faults.append(Fault(file, row, at, found, allowed))
    return faults


Found = Iterator[tuple[str, str, str, str, str]]  # table, id, column, found, allowed


@contextmanager
def where_read() -> Iterator[None]:
    """Leaves a judgement when it meets a field that could not be read; any other missing attribute is an error as ever."""
    try:
        yield
    except AttributeError as problem:
        kind = type(problem.obj)
        if not (dataclasses.is_dataclass(kind) and problem.name in declared(kind)):
            raise


def _rows(case: Case) -> Iterator[tuple[str, str, Any]]:
    for name, table in tables().items():
        for identity, record in rows_of(case, name).items():
            yield name, name if table.section else identity, record


def _references(case: Case, unread: Unread) -> Found:
    """Every id that a row refers to stands in the other table."""
    for name, identity, record in _rows(case):
        for column, declaration in declared(type(record)).items():
            if isinstance(declaration, Text) and declaration.refers_to and declaration.refers_to not in unread:
                with where_read():
                    known, value = getattr(case, declaration.refers_to), getattr(record, column)
                    if value not in known:
                        file = tables()[declaration.refers_to].file
                        yield name, identity, column, f"'{value}'", f"an id of {file}{nearest(value, known)}"


def _tools_have_steps(case: Case, unread: Unread) -> Found:
    """Every tool does at least one step; a row left over is most often a slip. Not judged while a step names no known tool."""
    if "steps" in unread:
        return
    with where_read():
        used = {step.tool for step in case.steps.values()}
        for identity in case.tools if used <= case.tools.keys() else ():
            if identity not in used:
                yield (
                    "tools",
                    identity,
                    "id",
                    f"'{identity}', which no step of steps.csv uses",
                    f"a tool of the route: {', '.join(sorted(used))}",
                )


def _plant_is_no_id(case: Case, unread: Unread) -> Found:
    """Costs of no step, and people at no tool, stand under `plant`."""
    for name in ("steps", "tools"):
        if "plant" in getattr(case, name):
            yield name, "plant", "id", "'plant', which stands for costs of no step", "any other id"


def _currencies(case: Case, unread: Unread) -> Found:
    """Every currency has an exchange rate; that of the reporting currency is 1."""
    codes, all_read = set(), "money" not in unread
    for identity, record in case.money.items():
        codes.add(getattr(record, "code", identity.upper()))
        with where_read():
            if not CURRENCY.fullmatch(record.code) or record.code.lower() != identity:
                yield "money", identity, "code", f"'{record.code}'", f"three capitals whose small letters are the id '{identity}'"
    with where_read():
        if case.currency and case.currency not in codes and all_read:
            allowed = f"a row with the code {case.currency}"
            yield "money", case.currency.lower(), "code", "no row for the reporting currency", allowed
        elif case.currency.lower() in case.money and np.any(case.money[case.currency.lower()].exchange_rate != 1.0):
            rate = case.money[case.currency.lower()].exchange_rate
            yield "money", case.currency.lower(), "exchange_rate", f"{rate}", "1 for the reporting currency"
    for name, identity, record in _rows(case) if all_read else ():
        with where_read():
            if "currency" in declared(type(record)) and record.currency not in codes:
                yield name, identity, "currency", f"'{record.currency}'", f"a code of money.csv{nearest(record.currency, codes)}"


def _indices_cover_every_price_year(case: Case, unread: Unread) -> Found:
    """A table that an index covers has each of its price years in indices.csv, once."""
    years: dict[str, list[str]] = {}
    all_read = "indices" not in unread
    for identity, row in case.indices.items():
        all_read = all_read and hasattr(row, "covers") and hasattr(row, "year")
        with where_read():
            known = years.setdefault(row.covers, [])
            if row.year in known:
                yield "indices", identity, "year", f"{row.year} twice for {row.covers}", "each year once for each table"
            known.append(row.year)
    for covers, known in years.items() if all_read else ():
        for identity, row in getattr(case, covers).items():
            with where_read():
                if row.price_year not in known:
                    allowed = f"a year that indices.csv has for {covers}: {', '.join(known)}"
                    yield covers, identity, "price_year", row.price_year, allowed


def _units_fit(case: Case, unread: Unread) -> Found:
    """What is used of an item is counted in a unit that its price can be applied to."""

    def misfit(name: str, column: str, sold: Mapping[str, Any], unit: str = "{unit}") -> Found:
        for identity, row in getattr(case, name).items():
            with where_read():
                item, used = getattr(row, column), unit_of(row, unit)
                if item in sold and not same_kind(used, sold[item].unit):
                    allowed = f"an item sold by a unit like {used}"
                    yield name, identity, column, f"'{item}', which is sold by {sold[item].unit}", allowed

    yield from misfit("materials", "item", case.prices)
    yield from misfit("phase_materials", "item", case.prices)
    yield from misfit("gases", "item", case.prices, "mol")
    yield from misfit("layers", "precursor", case.prices, "kg")
    yield from misfit("coatings", "item", case.prices, "kg")
    for name in ("price_breaks", "buying", "containers"):
        yield from misfit(name, "item", case.prices)
    for name in ("tool_utilities", "facility_utilities", "demand_charges"):
        yield from misfit(name, "utility", case.utilities, "{unit}*s")


def _discounts_rise_with_quantity(case: Case, unread: Unread) -> Found:
    """A larger quantity of the year never gets a smaller discount, so that prices fall only."""
    for identity, row in case.price_breaks.items():
        for other, less in case.price_breaks.items():
            with where_read():
                smaller = less.item == row.item and other != identity and np.all(less.from_quantity <= row.from_quantity)
                if smaller and np.any(less.discount > row.discount):
                    found = f"less than '{other}' gives from no larger a quantity"
                    yield "price_breaks", identity, "discount", found, "discounts that rise with the quantity"


def _each_once(case: Case, unread: Unread) -> Found:
    """One row for an item's terms, and one for how a kind of equipment is written off."""
    for name, column in (("buying", "item"), ("book_depreciation", "covers"), ("tax_depreciation", "covers")):
        seen: dict[str, str] = {}
        for identity, row in getattr(case, name).items():
            with where_read():
                value = getattr(row, column)
                if value in seen:
                    yield name, identity, column, f"'{value}', which '{seen[value]}' has too", "each once"
                seen[value] = identity


def _no_plate_is_sold_twice(case: Case, unread: Unread) -> Found:
    """What becomes of the plates lost in a step adds up to all of them at most."""
    with where_read():
        for step in case.steps:
            rows = {identity: row for identity, row in case.scrap.items() if row.step == step}
            together = float(np.max(sum((row.lost_share for row in rows.values()), start=np.zeros(1))))
            if together > 1.0 + 1e-9:
                found = f"{together * 100:.4g} % in step '{step}'"
                yield "scrap", list(rows)[-1], "lost_share", found, "together at most 100 %"


def _depreciation_can_be_reckoned(case: Case, unread: Unread) -> Found:
    """What follows production is loaded; a table of rates belongs to a schedule that takes it, and adds up to 100 %."""
    for identity, row in case.book_depreciation.items():
        with where_read():
            if row.method == "production" and row.covers not in ("tools", "carriers"):
                found = f"'production' for {row.covers}, whose loading is not known"
                yield "book_depreciation", identity, "method", found, "straight_line, declining_balance, sum_of_years"
    for identity, row in case.tax_depreciation.items() if "tax_rates" not in unread else ():
        with where_read():
            rates = {name: rate.rate for name, rate in case.tax_rates.items() if rate.schedule == identity}
            if row.method != "rates" and rates:
                found = f"'{identity}', whose method is {row.method}"
                yield "tax_rates", next(iter(rates)), "schedule", found, "a row with method rates"
            total = sum(rates.values())
            whole = all(rate.schedule in case.tax_depreciation for rate in case.tax_rates.values())
            if row.method == "rates" and whole and np.any(np.abs(total - 1.0) > 1e-9):
                found = f"rates that add up to {float(np.max(total)) * 100:.6g} %"
                yield "tax_depreciation", identity, "method", found, "rates of 100 %"


def _plan_is_whole(case: Case, unread: Unread) -> Found:
    """A plan sells its output and pays its capital, all of both, and a deal is one on a plan."""
    if case.schedule is None:
        if case.licence is not None:
            yield "licence", "licence", "upfront", "deal.yaml without plan.yaml", "both, or neither"
        return
    kinds = {"equipment"} | ({"systems"} if case.facilities else set()) | ({"other"} if case.capital else set())
    parts = [("sales", "output_share", case.sales)] if "sales" not in unread else []
    if "payments" not in unread:
        with where_read():
            parts += [
                ("payments", "part", {n: row for n, row in case.payments.items() if row.covers == kind}) for kind in sorted(kinds)
            ]
    for name, column, rows in parts:
        with where_read():
            total = sum((getattr(row, column) for row in rows.values()), start=np.zeros(1))
            if np.any(np.abs(total - 1.0) > 1e-9):
                kind = f" for {next(iter(rows.values())).covers}" if name == "payments" and rows else ""
                yield name, next(reversed(rows), name), column, f"{float(np.max(total)) * 100:.6g} % in all{kind}", "100 % in all"


def _plan_ends_in_time(case: Case, unread: Unread) -> Found:
    """Building, payments and the loan end before the plan does, and the loan is drawn before it is paid back."""
    if case.schedule is None:
        return
    with where_read():
        end = float(case.schedule.horizon) * YEAR
        start = float(np.max(case.schedule.build_time + case.schedule.delay))
        if start >= end:
            found = f"production from year {start / YEAR:.4g} on"
            yield "schedule", "schedule", "build_time", found, f"before the end of the plan, year {case.schedule.horizon}"
        last = max((float(np.max(row.time)) for row in case.payments.values()), default=0.0)
        for identity, row in case.payments.items():
            if np.any(row.time >= end):
                yield "payments", identity, "time", f"{float(np.max(row.time)) / YEAR:.4g} years", "before the end of the plan"
        if np.any(case.loan.grace + case.loan.term > end):
            found = f"{float(np.max(case.loan.grace + case.loan.term)) / YEAR:.4g} years with the time of grace"
            yield "loan", "loan", "term", found, f"at most the {case.schedule.horizon} years of the plan"
        if np.any(case.loan.part * (last - case.loan.grace) > 0.0):
            found = f"{float(np.min(case.loan.grace)) / YEAR:.4g} years, before the last payment of capital"
            yield "loan", "loan", "grace", found, f"at least {last / YEAR:.4g} years"


DEAL_TABLES = (
    "payment_kinds", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies",
    "sublicences", "prospects", "other_ways",
)  # fmt: skip


def _deal_is_whole(case: Case, unread: Unread) -> Found:
    """Terms belong to a licence; what is taxed at source is known; what has a beginning ends after it, within the plan."""
    if case.licence is None:
        for name in DEAL_TABLES:
            for identity in getattr(case, name):
                yield name, identity, "id", f"{tables()[name].file} without deal.yaml", "both, or neither"
        return
    for kind in ("licence", "dividends") if "payment_kinds" not in unread else ():
        if kind not in case.payment_kinds:
            yield "payment_kinds", "payment_kinds", "id", f"no row '{kind}'", "a row for fees and royalties, and one for dividends"
    for identity in list(case.buy_outs)[1:]:
        yield "buy_outs", identity, "id", "a second row", "one buy-out at most"
    for name in ("minimum_royalties", "deliveries", "yearly_services", "sublicences"):
        for identity, row in getattr(case, name).items():
            with where_read():
                if np.any(row.end <= row.begin):
                    found = f"an end {float(np.max(row.begin - row.end)) / YEAR:.4g} years before or at the beginning"
                    yield name, identity, "end", found, "a time after the beginning"
    earlier = None
    for identity, row in case.royalty_steps.items():
        with where_read():
            if earlier is not None and np.any(row.time <= earlier):
                yield (
                    "royalty_steps",
                    identity,
                    "time",
                    "a time before or at that of the row above",
                    "rows in the order of their times",
                )
            earlier = row.time
    if case.schedule is None:
        return
    with where_read():
        end = float(case.schedule.horizon) * YEAR
        for name, identity, column, time in [
            ("licence", "licence", "upfront_time", case.licence.upfront_time),
            *(("fees", n, "time", x.time) for n, x in case.fees.items()),
            *(("deliveries", n, "end", x.end) for n, x in case.deliveries.items()),
        ]:
            if np.any(time >= end):
                yield name, identity, column, f"{float(np.max(time)) / YEAR:.4g} years", "before the end of the plan"


def _emissions_have_a_source(case: Case, unread: Unread) -> Found:
    """Greenhouse gas comes from an item of the price book or from a utility, by a unit that its use is counted in."""
    sold = {**case.prices, **case.utilities}
    for identity, row in case.emissions.items():
        with where_read():
            if row.emitter not in sold:
                if not unread & {"prices", "utilities"}:
                    allowed = f"an id of prices.csv or utilities.csv{nearest(row.emitter, sold)}"
                    yield "emissions", identity, "emitter", f"'{row.emitter}'", allowed
            elif not same_kind(row.unit, sold[row.emitter].unit):
                allowed = f"a unit like {sold[row.emitter].unit}, by which '{row.emitter}' is sold"
                yield "emissions", identity, "unit", f"'{row.unit}'", allowed


def _downtime_leaves_time(case: Case, unread: Unread) -> Found:
    """The states of a tool that take scheduled time leave some for production."""
    for identity, tool in case.tools.items():
        with where_read():
            taken = float(np.max(tool.planned_downtime + tool.unplanned_downtime + tool.engineering_time))
            if taken >= 1.0:
                yield (
                    "tools",
                    identity,
                    "planned_downtime",
                    f"{taken * 100:.4g} % with unplanned downtime and engineering time",
                    "together below 100 % of the scheduled time",
                )


def _each_load_stays_on_its_carrier(case: Case, unread: Unread) -> Found:
    """The steps of a carrier follow each other on the route, take loads of one size, and belong to one carrier only."""
    if "steps" in unread:
        return
    order, taken = list(case.steps), {}
    for identity, row in case.carriers.items():
        with where_read():
            if row.first_step not in order or row.last_step not in order:
                continue
            first, last = order.index(row.first_step), order.index(row.last_step)
            if first > last:
                yield (
                    "carriers",
                    identity,
                    "last_step",
                    f"'{row.last_step}', before '{row.first_step}'",
                    "a later step of the route",
                )
            for step in order[first : last + 1]:
                if step in taken:
                    found = f"'{step}', a step of carrier '{taken[step]}' too"
                    yield "carriers", identity, "first_step", found, "steps of one carrier"
                taken[step] = identity
                yield from _step_suits_a_carrier(case, identity, row.first_step, step)


def _step_suits_a_carrier(case: Case, identity: str, first: str, step: str) -> Found:
    with where_read():
        if np.any(case.steps[step].processed_share != 1.0):
            yield "carriers", identity, "last_step", f"'{step}', which some plates pass by", "steps that all plates go through"
    with where_read():
        if np.any(case.steps[step].rework_share != 0.0):
            yield "carriers", identity, "last_step", f"'{step}', in which plates are reworked", "steps without rework"
    with where_read():
        sizes = [case.tools[case.steps[name].tool].load_size for name in (first, step) if case.steps[name].tool in case.tools]
        if len(sizes) == 2 and np.any(sizes[0] != sizes[1]):
            found = f"'{step}' with loads of another size than '{first}'"
            yield "carriers", identity, "last_step", found, "steps whose tools take loads of one size"


def _module_materials_at_the_end(case: Case, unread: Unread) -> Found:
    """What is counted by good modules is used where modules are good: in the last step."""
    last = next(reversed(case.steps), "")
    for identity, row in case.materials.items() if "steps" not in unread else ():
        with where_read():
            if row.per == "module" and row.step in case.steps and row.step != last:
                yield "materials", identity, "per", f"'module' in step '{row.step}'", f"'module' in the last step, '{last}', only"


def _groups_of_prices_are_names(case: Case, unread: Unread) -> Found:
    """Groups of the price book become parts of addresses, beside utilities, labour, equipment and building."""
    taken = {"labour", "equipment", "building", "facilities", "overheads", "emissions", "scrap", *case.utilities}
    for identity, row in case.prices.items():
        with where_read():
            if not IDENTIFIER.fullmatch(row.group) or row.group in taken:
                yield (
                    "prices",
                    identity,
                    "group",
                    f"'{row.group}'",
                    f"small letters, digits and _, and none of {', '.join(sorted(taken))}",
                )


def _ranges_point_at_inputs(case: Case, unread: Unread) -> Found:
    """Each range names a numeric input, in a unit it converts to, with low <= mode <= high."""
    seen: dict[str, str] = {}
    for identity, row in case.ranges.items():
        with where_read():
            if row.address in seen:
                yield "ranges", identity, "address", f"'{row.address}', which '{seen[row.address]}' has too", "each address once"
            seen[row.address] = identity
            yield from _range_fits(case, unread, identity, row)
        with where_read():
            if not row.low <= row.mode <= row.high:
                yield "ranges", identity, "mode", "low, mode and high out of order", "low <= mode <= high"
        with where_read():
            if row.distribution == "lognormal" and row.low <= 0.0:
                yield "ranges", identity, "low", f"{row.low:.6g} with the distribution lognormal", "a value above 0"
            if row.distribution in ("normal", "lognormal") and not row.low < row.high:
                yield "ranges", identity, "high", f"low and high alike with the distribution {row.distribution}", "low below high"


def _range_fits(case: Case, unread: Unread, identity: str, row: Any) -> Found:
    """The address of a range, and its ends held against the range of that input."""
    try:
        declaration, record = input_at(case, row.address)
    except BadAddress as problem:
        if problem.table not in unread:
            yield "ranges", identity, "address", f"'{row.address}'", problem.allowed
        return
    if not isinstance(declaration, Number):
        yield "ranges", identity, "address", f"'{row.address}', a text", "the address of a number"
        return
    if not case.currency:
        return  # case.yaml could not be read
    with where_read():
        if not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
            wanted = unit_of(record, declaration.entry, case.currency)
            yield "ranges", identity, "unit", f"'{row.unit}'", f"a unit that converts to {wanted}"
            return
    for column in ("low", "high"):
        with where_read():
            try:
                check_number(declaration, getattr(row, column), row.unit)
            except BadValue as problem:
                yield "ranges", identity, column, problem.found, problem.allowed


def _values_of_ranges(case: Case, unread: Unread) -> Found:
    """A discrete range has outcomes whose probabilities add up to 100 %, an empirical one a sample; the others have neither."""
    for table, wanted in (("outcomes", "discrete"), ("samples", "empirical")):
        rows, of_range = getattr(case, table), {}
        for identity, row in rows.items():
            with where_read():
                of_range.setdefault(row.range, []).append(identity)
                if row.range in case.ranges and case.ranges[row.range].distribution != wanted:
                    found = f"'{row.range}', a range that is {case.ranges[row.range].distribution}"
                    yield table, identity, "range", found, f"a range that is {wanted}"
        if table in unread or sum(map(len, of_range.values())) < len(rows):
            continue  # rows that could not be read may belong to any range
        for identity, row in case.ranges.items():
            own = of_range.get(identity, [])
            with where_read():
                if row.distribution == wanted and not own:
                    yield "ranges", identity, "distribution", f"'{wanted}' without a row in {table}.csv", f"'{wanted}' with one"
                if wanted == "empirical" and len(own) > 1:
                    yield "samples", own[-1], "range", f"'{identity}', which '{own[0]}' has too", "each range once"
                if wanted == "discrete" and own:
                    total = sum(rows[other].probability for other in own)
                    if abs(total - 1.0) > 1e-9:
                        yield "outcomes", own[-1], "probability", f"{100 * total:.9g} % in all for '{identity}'", "100 % in all"
    for identity, row in case.outcomes.items():
        with where_read():
            if row.range in case.ranges and case.currency:
                yield from _outcome_fits(case, identity, row)


def _outcome_fits(case: Case, identity: str, row: Any) -> Found:
    """A value that an input may take is in a unit that converts to that of the input, and in its range."""
    try:
        declaration, record = input_at(case, case.ranges[row.range].address)
    except BadAddress:
        return  # told of in ranges.csv
    if not isinstance(declaration, Number):
        return
    if not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
        wanted = unit_of(record, declaration.entry, case.currency)
        yield "outcomes", identity, "unit", f"'{row.unit}'", f"a unit that converts to {wanted}"
        return
    try:
        check_number(declaration, row.value, row.unit)
    except BadValue as problem:
        yield "outcomes", identity, "value", problem.found, problem.allowed


def _correlations_can_hold(case: Case, unread: Unread) -> Found:
    """Each pair of groups of ranges.csv stands once, and some draws have all the correlations."""
    groups = {getattr(row, "group", "") for row in case.ranges.values()}
    seen: dict[frozenset[str], str] = {}
    for identity, row in case.correlations.items():
        for column in ("group", "other") if "ranges" not in unread and "" not in groups else ():
            with where_read():
                name = getattr(row, column)
                if name not in groups:
                    yield "correlations", identity, column, f"'{name}'", f"a group of ranges.csv{nearest(name, groups)}"
        with where_read():
            pair = frozenset((row.group, row.other))
            if pair in seen:
                yield "correlations", identity, "other", f"'{row.other}', as '{seen[pair]}' has too", "each pair of groups once"
            seen[pair] = identity
    with where_read():
        reason = cannot_hold_together(case)
        if reason:
            yield "correlations", next(iter(case.correlations)), "rank_correlation", reason, "correlations nearer to 0"


def _marks_are_known(case: Case, unread: Unread) -> Found:
    """What is marked as confidential is there: a slip of the pen would leave it open. Figures are looked up when they are known."""
    for identity, row in case.confidential.items():
        table, *rest = row.address.split(".")
        if table in FIGURES:
            continue
        if table not in tables():
            allowed = f"an address that begins with {', '.join((*FIGURES, *tables()))}{nearest(table, (*FIGURES, *tables()))}"
            yield "confidential", identity, "address", f"'{row.address}'", allowed
            continue
        known = declared(tables()[table].record)
        if rest and not tables()[table].section and table not in unread:
            held = getattr(case, table)
            if rest[0] not in held:
                yield "confidential", identity, "address", f"'{row.address}'", f"a row of {table}{nearest(rest[0], held)}"
                continue
        fields = rest if tables()[table].section else rest[1:]
        if fields and (len(fields) > 1 or fields[0] not in known):
            allowed = f"one field: {', '.join(known)}{nearest(fields[0], known)}"
            yield "confidential", identity, "address", f"'{row.address}'", allowed


FIGURES = ("line", "ledger", "market", "plan", "deal")  # what addresses of figures begin with
CHECKS = (
    _marks_are_known,
    _references,
    _tools_have_steps,
    _plant_is_no_id,
    _currencies,
    _indices_cover_every_price_year,
    _units_fit,
    _discounts_rise_with_quantity,
    _each_once,
    _no_plate_is_sold_twice,
    _depreciation_can_be_reckoned,
    _plan_is_whole,
    _plan_ends_in_time,
    _deal_is_whole,
    _emissions_have_a_source,
    _downtime_leaves_time,
    _each_load_stays_on_its_carrier,
    _module_materials_at_the_end,
    _groups_of_prices_are_names,
    _ranges_point_at_inputs,
    _values_of_ranges,
    _correlations_can_hold,
)
