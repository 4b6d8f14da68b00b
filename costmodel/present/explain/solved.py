"""Roots found outside of the model, as figures of a sheet: each a value, and beside it the formula of what is left at it.

The formula is the model once more with the root put in. What that has in common with the model as it stands is found and named,
so that only what the root moves is written twice.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import Any, cast

from ...case.whole_case import Case
from ...core.fields import STATUS, Figure, status_meaning, walk
from ...core.operations import Value
from ...model.evaluate import Results
from ...model.plan.plan import compute_plan
from ...model.readings.cells import Cell, Sheet
from ...studies.factory.least_price import WITH_VALUE, WITHOUT, least_price, least_volume, price_of_a_watt, with_prices, with_volume

_ROOTS = {
    "least_price": (least_price, with_prices, "factor on all prices at which the project earns what is required"),
    "least_volume": (least_volume, with_volume, "factor on what is made and sold for the same, costs standing"),
}
_PRICE = "average price of a stabilised watt there, in money of the case"


def is_solved(address: str) -> bool:
    """Whether a figure is a root or is made of one."""
    return address.startswith("solved.")


def in_plan(address: str) -> str:
    """The figure of the plan that one with a root put in stands for.

    >>> in_plan("solved.least_price.project.npv")
    'plan.project.npv'
    """
    return f"plan.{address.split('.', 2)[2]}" if is_solved(address) else address


def with_roots(case: Case, results: Results, sheet: Sheet) -> tuple[Sheet, dict[str, tuple[str, str]], dict[str, dict[float, str]]]:
    """The sheet of a case with its solved roots, their units and meanings, and why one has no value; without a plan there are none.

    A root that is not there is NaN; its status says why.
    """
    figures, names, common = dict(sheet.figures), dict(sheet.names), _Common(sheet)
    declared: dict[str, tuple[str, str]] = {}
    why: dict[str, dict[float, str]] = {}
    if sheet.case is None or sheet.results is None or not results.has_plan:
        return sheet, declared, why

    def add(address: str, cell: Cell, unit: str, meaning: str) -> None:
        """Note a figure with its cell, unit and meaning; a cell keeps the first name it has."""
        figures[address], declared[address] = cell, (unit, meaning)
        names.setdefault(id(cell), address)

    for name, (solve, change, meaning) in _ROOTS.items():
        found = solve(case)
        root = Cell(math.nan if found.times is None else found.times)
        add(f"solved.{name}.times", root, "1", meaning)
        add(f"solved.{name}.times{STATUS}", Cell(found.status), "1", status_meaning(WITH_VALUE, WITHOUT))
        why[f"solved.{name}.times"] = WITHOUT
        if found.times is None:
            continue
        if change is with_prices:
            price = cast(Cell, price_of_a_watt(sheet.case, sheet.results) * root)
            add(f"solved.{name}.price", common.shared(price), f"{case.currency}/Wp_stabilised", _PRICE)
        plan = compute_plan(change(sheet.case, root), sheet.results.line, sheet.results.ledger)
        if plan is None:
            continue
        common.shared(cast(Cell, plan.project.npv))  # of a case of cells all figures are cells
        for address, value, unit, says in walk(plan, f"solved.{name}", Figure, case.currency):
            cell = common.met(value)
            if cell is not None and id(cell) not in sheet.names:
                add(address, cell, unit, says)
    return dataclasses.replace(sheet, figures=figures, names=names), declared, why


class _Common:
    """Cells that come about in the same way, numbered, with one to stand for each number: a named one where there is one."""

    def __init__(self, sheet: Sheet):
        self._names = sheet.names
        self._numbers: dict[Any, int] = {}
        self._cells: list[Cell] = []  # by number
        self._of: dict[int, int] = {}
        self._alive: list[Cell] = []  # what is known by its id must not be thrown away
        cells, names = self._cells, self._names
        for cell in sheet.figures.values():
            for each in self._below(cell):
                number = self._number(each)
                if number == len(cells):
                    cells.append(each)
                elif id(each) in names and id(cells[number]) not in names:
                    cells[number] = each

    def shared(self, cell: Cell) -> Cell:
        """The cell made of the cells of the sheet as far as these go."""
        of, cells = self._of, self._cells
        for each in self._below(cell):
            self._alive.append(each)
            if self._number(each) == len(cells):
                arguments = tuple([cells[of[id(a)]] if isinstance(a, Cell) else a for a in each.arguments])
                cells.append(Cell(each.value, each.operation, arguments) if arguments else each)
        return cells[of[id(cell)]]

    def met(self, cell: Value) -> Cell | None:
        """The cell that stands for one which what was shared so far is made of."""
        number = self._of.get(id(cell))
        return None if number is None else self._cells[number]

    def _number(self, cell: Cell) -> int:
        """The number of a cell whose parts have theirs; a new one is that of the next place among the cells."""
        of = self._of
        parts = [of[id(a)] if isinstance(a, Cell) else repr(a) for a in cell.arguments]
        number = of[id(cell)] = self._numbers.setdefault((cell.operation, *parts) if parts else id(cell), len(self._cells))
        return number

    def _below(self, cell: Value) -> Iterator[Cell]:
        """A cell and all that it is made of, those not met yet, each behind its parts; without recursion, as formulas are deep."""
        stack, met = [cell] if isinstance(cell, Cell) and id(cell) not in self._of else [], self._of
        while stack:
            top, height = stack[-1], len(stack)
            for value in top.arguments:
                if isinstance(value, Cell) and id(value) not in met:
                    stack.append(value)
            if len(stack) == height:
                stack.pop()
                if id(top) not in met:
                    yield top
