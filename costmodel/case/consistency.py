"""Checks between tables, one named check per rule: ids that are referred to, units that must fit, shares that must add up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from ..faults import Fault, nearest
from ..fields import Number, Text, declared, unit_of
from ..units import CURRENCY, same_kind
from .addresses import BadAddress, allowed_units, input_at
from .records import Case, tables
from .rows import IDENTIFIER
from .values import BadValue, check_number


def check_consistency(case: Case, places: Mapping[str, Mapping[str, tuple[str, int]]]) -> list[Fault]:
    """All faults between the tables of a case; `places` gives the file and line of each row by table and id."""
    faults: list[Fault] = []
    for check in CHECKS:
        for name, identity, column, found, allowed in check(case):
            table = tables()[name]
            file, row = places.get(name, {}).get(identity, (table.file, None))
            at = f"{name}.{column}" if table.section else column if row else f"{identity}.{column}"
            faults.append(Fault(file, row, at, found, allowed))
    return faults


Found = Iterator[tuple[str, str, str, str, str]]  # table, id, column, found, allowed


def _rows(case: Case) -> Iterator[tuple[str, str, Any]]:
    for name, table in tables().items():
        if table.section:
            yield name, name, getattr(case, name)
        else:
            for identity, record in getattr(case, name).items():
                yield name, identity, record


def _references(case: Case) -> Found:
    """Every id that a row refers to stands in the other table."""
    for name, identity, record in _rows(case):
        for column, declaration in declared(type(record)).items():
            if isinstance(declaration, Text) and declaration.refers_to:
                known, value = getattr(case, declaration.refers_to), getattr(record, column)
                if value not in known:
                    file = tables()[declaration.refers_to].file
                    yield name, identity, column, f"'{value}'", f"an id of {file}{nearest(value, known)}"


def _tools_have_steps(case: Case) -> Found:
    """Every tool does at least one step; a row left over is most often a slip."""
    used = {step.tool for step in case.steps.values()}
    for identity in case.tools:
        if identity not in used:
            yield (
                "tools",
                identity,
                "id",
                f"'{identity}', which no step of steps.csv uses",
                f"a tool of the route: {', '.join(sorted(used))}",
            )


def _plant_is_no_id(case: Case) -> Found:
    """Costs of no step, and people at no tool, stand under `plant`."""
    for name in ("steps", "tools"):
        if "plant" in getattr(case, name):
            yield name, "plant", "id", "'plant', which stands for costs of no step", "any other id"


def _currencies(case: Case) -> Found:
    """Every currency has an exchange rate; that of the reporting currency is 1."""
    codes = {record.code for record in case.money.values()}
    for identity, record in case.money.items():
        if not CURRENCY.fullmatch(record.code) or record.code.lower() != identity:
            yield "money", identity, "code", f"'{record.code}'", f"three capitals whose small letters are the id '{identity}'"
    if case.currency not in codes:
        yield "money", case.currency.lower(), "code", "no row for the reporting currency", f"a row with the code {case.currency}"
    elif case.currency.lower() in case.money and np.any(case.money[case.currency.lower()].exchange_rate != 1.0):
        rate = case.money[case.currency.lower()].exchange_rate
        yield "money", case.currency.lower(), "exchange_rate", f"{rate}", "1 for the reporting currency"
    for name, identity, record in _rows(case):
        if "currency" in declared(type(record)) and record.currency not in codes:
            yield name, identity, "currency", f"'{record.currency}'", f"a code of money.csv{nearest(record.currency, codes)}"


def _indices_cover_every_price_year(case: Case) -> Found:
    """A table that an index covers has each of its price years in indices.csv, once."""
    years: dict[str, list[str]] = {}
    for identity, row in case.indices.items():
        known = years.setdefault(row.covers, [])
        if row.year in known:
            yield "indices", identity, "year", f"{row.year} twice for {row.covers}", "each year once for each table"
        known.append(row.year)
    for covers, known in years.items():
        for identity, row in getattr(case, covers).items():
            if row.price_year not in known:
                allowed = f"a year that indices.csv has for {covers}: {', '.join(known)}"
                yield covers, identity, "price_year", row.price_year, allowed


def _units_fit(case: Case) -> Found:
    """What is used of an item is counted in a unit that its price can be applied to."""

    def misfit(table: str, identity: str, column: str, used: str, priced: str, item: str) -> Found:
        if not same_kind(used, priced):
            yield table, identity, column, f"'{item}', which is sold by {priced}", f"an item sold by a unit like {used}"

    prices = case.prices
    for identity, row in case.materials.items():
        if row.item in prices:
            yield from misfit("materials", identity, "item", row.unit, prices[row.item].unit, row.item)
    for identity, row in case.phase_materials.items():
        if row.item in prices:
            yield from misfit("phase_materials", identity, "item", row.unit, prices[row.item].unit, row.item)
    for identity, row in case.gases.items():
        if row.item in prices:
            yield from misfit("gases", identity, "item", "mol", prices[row.item].unit, row.item)
    for identity, row in case.layers.items():
        if row.precursor in prices:
            yield from misfit("layers", identity, "precursor", "kg", prices[row.precursor].unit, row.precursor)
    for identity, row in case.coatings.items():
        if row.item in prices:
            yield from misfit("coatings", identity, "item", "kg", prices[row.item].unit, row.item)
    for name in ("price_breaks", "buying", "containers"):
        for identity, row in getattr(case, name).items():
            if row.item in prices:
                yield from misfit(name, identity, "item", row.unit, prices[row.item].unit, row.item)
    for name in ("tool_utilities", "facility_utilities", "demand_charges"):
        for identity, row in getattr(case, name).items():
            if row.utility in case.utilities:
                yield from misfit(name, identity, "utility", f"{row.unit}*s", case.utilities[row.utility].unit, row.utility)


def _discounts_rise_with_quantity(case: Case) -> Found:
    """A larger quantity of the year never gets a smaller discount, so that prices fall only."""
    for identity, row in case.price_breaks.items():
        for other, less in case.price_breaks.items():
            smaller = less.item == row.item and other != identity and np.all(less.from_quantity <= row.from_quantity)
            if smaller and np.any(less.discount > row.discount):
                yield (
                    "price_breaks",
                    identity,
                    "discount",
                    f"less than '{other}' gives from no larger a quantity",
                    "discounts that rise with the quantity",
                )


def _each_once(case: Case) -> Found:
    """One row for an item's terms, and one for how a kind of equipment is written off."""
    for name, column in (("buying", "item"), ("book_depreciation", "covers"), ("tax_depreciation", "covers")):
        seen: dict[str, str] = {}
        for identity, row in getattr(case, name).items():
            value = getattr(row, column)
            if value in seen:
                yield name, identity, column, f"'{value}', which '{seen[value]}' has too", "each once"
            seen[value] = identity


def _no_plate_is_sold_twice(case: Case) -> Found:
    """What becomes of the plates lost in a step adds up to all of them at most."""
    for step in case.steps:
        rows = {identity: row for identity, row in case.scrap.items() if row.step == step}
        together = float(np.max(sum((row.lost_share for row in rows.values()), start=np.zeros(1))))
        if together > 1.0 + 1e-9:
            yield "scrap", list(rows)[-1], "lost_share", f"{together * 100:.4g} % in step '{step}'", "together at most 100 %"


def _depreciation_can_be_reckoned(case: Case) -> Found:
    """What follows production is loaded; a table of rates belongs to a schedule that takes it, and adds up to 100 %."""
    for identity, row in case.book_depreciation.items():
        if row.method == "production" and row.covers not in ("tools", "carriers"):
            yield (
                "book_depreciation",
                identity,
                "method",
                f"'production' for {row.covers}, whose loading is not known",
                "straight_line, declining_balance, sum_of_years",
            )
    for identity, row in case.tax_depreciation.items():
        rates = {name: rate.rate for name, rate in case.tax_rates.items() if rate.schedule == identity}
        if row.method != "rates" and rates:
            yield (
                "tax_rates",
                next(iter(rates)),
                "schedule",
                f"'{identity}', whose method is {row.method}",
                "a row with method rates",
            )
        total = sum(rates.values())
        if row.method == "rates" and np.any(np.abs(total - 1.0) > 1e-9):
            yield (
                "tax_depreciation",
                identity,
                "method",
                f"rates that add up to {float(np.max(total)) * 100:.6g} %",
                "rates of 100 %",
            )


def _emissions_have_a_source(case: Case) -> Found:
    """Greenhouse gas comes from an item of the price book or from a utility, by a unit that its use is counted in."""
    units = {name: row.unit for name, row in case.prices.items()} | {name: row.unit for name, row in case.utilities.items()}
    for identity, row in case.emissions.items():
        if row.emitter not in units:
            yield (
                "emissions",
                identity,
                "emitter",
                f"'{row.emitter}'",
                f"an id of prices.csv or utilities.csv{nearest(row.emitter, units)}",
            )
        elif not same_kind(row.unit, units[row.emitter]):
            yield (
                "emissions",
                identity,
                "unit",
                f"'{row.unit}'",
                f"a unit like {units[row.emitter]}, by which '{row.emitter}' is sold",
            )


def _downtime_leaves_time(case: Case) -> Found:
    """The states of a tool that take scheduled time leave some for production."""
    for identity, tool in case.tools.items():
        taken = float(np.max(tool.planned_downtime + tool.unplanned_downtime + tool.engineering_time))
        if taken >= 1.0:
            yield (
                "tools",
                identity,
                "planned_downtime",
                f"{taken * 100:.4g} % with unplanned downtime and engineering time",
                "together below 100 % of the scheduled time",
            )


def _each_load_stays_on_its_carrier(case: Case) -> Found:
    """The steps of a carrier follow each other on the route, take loads of one size, and belong to one carrier only."""
    order, taken = list(case.steps), {}
    for identity, row in case.carriers.items():
        if row.first_step not in order or row.last_step not in order:
            continue
        first, last = order.index(row.first_step), order.index(row.last_step)
        if first > last:
            yield "carriers", identity, "last_step", f"'{row.last_step}', before '{row.first_step}'", "a later step of the route"
        for step in order[first : last + 1]:
            if step in taken:
                yield "carriers", identity, "first_step", f"'{step}', a step of carrier '{taken[step]}' too", "steps of one carrier"
            taken[step] = identity
            if np.any(case.steps[step].processed_share != 1.0):
                yield "carriers", identity, "last_step", f"'{step}', which some plates pass by", "steps that all plates go through"
            if np.any(case.steps[step].rework_share != 0.0):
                yield "carriers", identity, "last_step", f"'{step}', in which plates are reworked", "steps without rework"
            sizes = [
                case.tools[case.steps[name].tool].load_size
                for name in (row.first_step, step)
                if case.steps[name].tool in case.tools
            ]
            if len(sizes) == 2 and np.any(sizes[0] != sizes[1]):
                yield (
                    "carriers",
                    identity,
                    "last_step",
                    f"'{step}' with loads of another size than '{row.first_step}'",
                    "steps whose tools take loads of one size",
                )


def _module_materials_at_the_end(case: Case) -> Found:
    """What is counted by good modules is used where modules are good: in the last step."""
    last = next(reversed(case.steps), "")
    for identity, row in case.materials.items():
        if row.per == "module" and row.step != last:
            yield "materials", identity, "per", f"'module' in step '{row.step}'", f"'module' in the last step, '{last}', only"


def _groups_of_prices_are_names(case: Case) -> Found:
    """Groups of the price book become parts of addresses, beside utilities, labour, equipment and building."""
    taken = {"labour", "equipment", "building", "facilities", "overheads", "emissions", "scrap", *case.utilities}
    for identity, row in case.prices.items():
        if not IDENTIFIER.fullmatch(row.group) or row.group in taken:
            yield (
                "prices",
                identity,
                "group",
                f"'{row.group}'",
                f"small letters, digits and _, and none of {', '.join(sorted(taken))}",
            )


def _ranges_point_at_inputs(case: Case) -> Found:
    """Each range names a numeric input, in a unit it converts to, with low <= mode <= high."""
    seen: dict[str, str] = {}
    for identity, row in case.ranges.items():
        if row.address in seen:
            yield "ranges", identity, "address", f"'{row.address}', which '{seen[row.address]}' has too", "each address once"
        seen[row.address] = identity
        try:
            declaration, record = input_at(case, row.address)
        except BadAddress as problem:
            yield "ranges", identity, "address", f"'{row.address}'", problem.allowed
            continue
        if not isinstance(declaration, Number):
            yield "ranges", identity, "address", f"'{row.address}', a text", "the address of a number"
        elif not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
            wanted = unit_of(record, declaration.entry, case.currency)
            yield "ranges", identity, "unit", f"'{row.unit}'", f"a unit that converts to {wanted}"
        else:
            for column in ("low", "high"):
                try:
                    check_number(declaration, getattr(row, column), row.unit)
                except BadValue as problem:
                    yield "ranges", identity, column, problem.found, problem.allowed
        if not row.low <= row.mode <= row.high:
            yield "ranges", identity, "mode", "low, mode and high out of order", "low <= mode <= high"


CHECKS = (
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
    _emissions_have_a_source,
    _downtime_leaves_time,
    _each_load_stays_on_its_carrier,
    _module_materials_at_the_end,
    _groups_of_prices_are_names,
    _ranges_point_at_inputs,
)
