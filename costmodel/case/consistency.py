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


def check_consistency(case: Case, row_numbers: Mapping[str, Mapping[str, int]]) -> list[Fault]:
    """All faults between the tables of a case; `row_numbers` gives each row's line by table and id."""
    faults: list[Fault] = []
    for check in (_references, _tools_have_steps, _plant_is_no_id, _currencies, _units_fit, _downtime_leaves_time,
                  _ranges_point_at_inputs):
        for name, identity, column, found, allowed in check(case):
            table = tables()[name]
            row = row_numbers.get(name, {}).get(identity)
            place = f"{identity}.{column}" if row is None and not table.section else column
            faults.append(Fault(table.file, row, place if not table.section else f"{name}.{column}", found, allowed))
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
            yield "tools", identity, "id", f"'{identity}', which no step of steps.csv uses", f"a tool of the route: {', '.join(sorted(used))}"


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


def _units_fit(case: Case) -> Found:
    """What is used of an item is counted in a unit that its price can be applied to."""
    def misfit(table: str, identity: str, column: str, used: str, priced: str, item: str) -> Found:
        if not same_kind(used, priced):
            yield table, identity, column, f"'{item}', which is sold by {priced}", f"an item sold by a unit like {used}"

    prices = case.prices
    for identity, row in case.materials.items():
        if row.item in prices:
            yield from misfit("materials", identity, "item", row.unit, prices[row.item].unit, row.item)
    for identity, row in case.gases.items():
        if row.item in prices:
            yield from misfit("gases", identity, "item", "mol", prices[row.item].unit, row.item)
    for identity, row in case.layers.items():
        if row.precursor in prices:
            yield from misfit("layers", identity, "precursor", "kg", prices[row.precursor].unit, row.precursor)
    for identity, row in case.coatings.items():
        if row.item in prices:
            yield from misfit("coatings", identity, "item", "kg", prices[row.item].unit, row.item)
    for identity, row in case.tool_utilities.items():
        if row.utility in case.utilities:
            yield from misfit("tool_utilities", identity, "utility", f"{row.unit}*s",
                              case.utilities[row.utility].unit, row.utility)


def _downtime_leaves_time(case: Case) -> Found:
    """The states of a tool that take scheduled time leave some for production."""
    for identity, tool in case.tools.items():
        taken = float(np.max(tool.planned_downtime + tool.unplanned_downtime + tool.engineering_time))
        if taken >= 1.0:
            yield ("tools", identity, "planned_downtime", f"{taken * 100:.4g} % with unplanned downtime and engineering time",
                   "together below 100 % of the scheduled time")


def _ranges_point_at_inputs(case: Case) -> Found:
    """Each range names a numeric input, in a unit it converts to, with low <= mode <= high."""
    for identity, row in case.ranges.items():
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
        if not row.low <= row.mode <= row.high:
            yield "ranges", identity, "mode", "low, mode and high out of order", "low <= mode <= high"
