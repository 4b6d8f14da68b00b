"""Internal rates of return as live formulas: the sheet on which each is found by halving, as `rates_of_return.py` finds it.

IRR of spreadsheet programs starts from a guess, and reports neither no rate nor several. So the sheet
counts how often the running sums of the flows, and their sums from the end, change sign; where that leaves a doubt, how many roots
the present value has over the same grid of rates; and halves the bracket of the only one until its last digit. The rate is #N/A
unless there is one between the lowest and the highest rate that count, the value falls through it, and half of the outlay returns.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from ...core.rates_of_return import (
    COST_OF_FINANCE,
    HALF_LOST,
    LEAST_RECOVERED,
    NONE,
    ONE,
    SEVERAL,
    TOUCHES,
    grid_of_rates,
    roots_by_cell,
)

HALVINGS = 60
BLOCK = 5  # columns for each row of flows
_ROWS = (
    "rate for one period", "status: 1 a rate of return, 0 none, 2 several, 3 cost of finance, 4 less than half recovered",
    "changes of sign of running sums and of sums from the end", "1 where the grid is used", "rates that count",
    "share of the outlay recovered", "low end of the bracket", "high end of the bracket",
    "1 where the value at the low end is not negative", "value left at the rate, over all flows",
)  # fmt: skip
RATE, COUNT, _CHANGES, DOUBT, _ROOTS, _RECOVERED, LOW, HIGH, SIGN, LEFT = range(len(_ROWS))
GRID = grid_of_rates()  # of ln(1 + rate)
STEP = float(GRID[1] - GRID[0])

Written = tuple[int, int, str, float]  # row, column (on the sheet or in the block), formula, value


def rate_cell(number: int, row: int, column: int = 0) -> str:
    """A cell in the block of columns that the flows of this number have.

    >>> rate_cell(1, 4)
    '$G$5'
    """
    return xl_rowcol_to_cell(row, 1 + BLOCK * number + column, row_abs=True, col_abs=True)


@dataclass(frozen=True, slots=True)
class RateSheet:
    """Where things stand on the sheet of rates: the results first, then flows, halvings and grid; rows counted from 0."""

    first: int
    periods: int  # of the longest row of flows

    @property
    def flows(self) -> int:
        """The row of the first flow."""
        return self.first + len(_ROWS) + 1

    @property
    def halvings(self) -> int:
        """The row of the first halving of an interval."""
        return self.flows + self.periods + 1

    @property
    def grid(self) -> int:
        """The row of the first rate of the grid."""
        return self.halvings + HALVINGS + 2

    def labels(self) -> Iterator[tuple[int, str | float]]:
        """What stands in the first column, by row."""
        yield from enumerate(_ROWS, start=self.first)
        yield self.flows - 1, "period: flow; running sum and its last sign; sum from the end and its last sign"
        yield from enumerate(range(self.periods), start=self.flows)
        yield self.halvings - 1, "halving: low and high end of ln(1 + rate)"
        yield from enumerate(range(HALVINGS + 1), start=self.halvings)
        yield self.grid - 1, "ln(1 + rate): value; slope times step; value of absolute flows; where it turns; roots up to the next"
        yield from enumerate(map(float, GRID), start=self.grid)

    def written(self, number: int, flows: Sequence[str], values: Sequence[float]) -> Iterator[Written]:
        """Every formula of one row of flows, with its value."""
        block, found = _Block(self, number, len(flows)), _searched(values)
        for part in (block.sums(flows, values, found), block.grid(found), block.results(found), block.halvings(found)):
            for row, place, formula, value in part:
                yield row, 1 + BLOCK * number + place, f"={formula}", value


class _Block:
    """The columns of one row of flows: formulas with their values, by row and place in the block."""

    def __init__(self, sheet: RateSheet, number: int, periods: int):
        self.sheet, self.number = sheet, number
        self.last = sheet.flows + periods - 1
        self.cash, self.counted = self.area(sheet.flows, self.last), xl_range_abs(sheet.flows, 0, self.last, 0)

    def at(self, row: int, place: int = 0) -> str:
        """A cell of the block."""
        return rate_cell(self.number, row, place)

    def area(self, first: int, end: int, place: int = 0) -> str:
        """Cells of a column of the block."""
        column = 1 + BLOCK * self.number + place
        return xl_range_abs(first, column, end, column)

    def value(self, growth: str) -> str:
        """The present value at a cell of ln(1 + rate)."""
        return f"SUMPRODUCT({self.cash},EXP(-{self.counted}*{growth}))"

    def sums(self, flows: Sequence[str], values: Sequence[float], found: _Searched) -> Iterator[Written]:
        """The flows, and their sums so far from both ends."""
        for row, (flow, amount) in enumerate(zip(flows, values), start=self.sheet.flows):
            yield row, 0, flow, amount
        for place, way, sums in ((1, 1, found.sums), (3, -1, found.sums_from_the_end)):
            order = range(self.sheet.flows, self.last + 1)[::way]
            for row, (total, sign) in zip(order, sums):
                first, at = row == order[0], self.at(row, place)
                yield row, place, self.at(row) + ("" if first else f"+{self.at(row - way, place)}"), total
                yield row, place + 1, f"IF({at}=0,{'0' if first else self.at(row - way, place + 1)},SIGN({at}))", sign

    def grid(self, found: _Searched) -> Iterator[Written]:
        """Value, slope and the value of absolute flows at each point; where the value turns before the next, and roots there."""
        doubt = f"{self.at(self.sheet.first + DOUBT)}=1"
        for row, values in enumerate(found.grid, start=self.sheet.grid):
            powers = f"EXP(-{self.counted}*$A${row + 1})"
            yield row, 0, f"IF({doubt},SUMPRODUCT({self.cash},{powers}),0)", values[0]
            yield row, 1, f"IF({doubt},-SUMPRODUCT({self.cash},{self.counted},{powers})*{STEP!r},0)", values[1]
            yield row, 2, f"IF({doubt},SUMPRODUCT(ABS({self.cash}),{powers}),0)", values[2]
            if row == self.sheet.grid + len(GRID) - 1:
                return
            (a, m, near), (b, n) = (tuple(self.at(row + k, place) for place in range(3 - k)) for k in (0, 1))
            sign, alike = f"IF({a}<0,-1,1)", f"({a}<0)=({b}<0)"
            square, cube = f"(3*({b}-{a})-2*{m}-{n})*{sign}", f"(2*({a}-{b})+{m}+{n})*{sign}"
            turn = f"-{m}*{sign}/({square}+SQRT(MAX(({square})^2-3*{cube}*{m}*{sign},0)))"
            turns = f"AND({doubt},{alike},{m}*{sign}<=0,{n}*{sign}>0)"
            yield row, 3, f"IF({turns},IFERROR({turn},0),0)", values[3]
            t = self.at(row, 3)
            least = f"{a}*{sign}+{t}*({m}*{sign}+{t}*({square}+{t}*{cube}))"
            roots = f"IF({alike},IF({turns},IF({least}<={TOUCHES!r}*{near},2,0),0),1)"
            yield row, 4, f"IF({doubt},{roots},0)", values[4]

    def results(self, found: _Searched) -> Iterator[Written]:
        """The rows at the head."""
        sheet, cash, end = self.sheet, self.cash, self.sheet.grid + len(GRID) - 1
        _, count, changes, doubt, root, recovered, low, _, sign, _ = (self.at(sheet.first + row) for row in range(len(_ROWS)))
        halved = f"({self.at(sheet.halvings + HALVINGS)}+{self.at(sheet.halvings + HALVINGS, 1)})/2"
        rows = [(self.area(sheet.flows, self.last - 1, k), self.area(sheet.flows + 1, self.last, k)) for k in (2, 4)]
        roots = self.area(sheet.grid, end - 1, 4)
        ends = [f"SUMPRODUCT(({roots}=1)*{xl_range_abs(sheet.grid + k, 0, end - 1 + k, 0)})" for k in (0, 1)]
        first, last = repr(float(GRID[0])), repr(float(GRID[-1]))
        crossed = f"({self.value(first)}<0)<>({self.value(last)}<0)"
        status = f"IF({root}=0,{NONE:g},IF({root}>1,{SEVERAL:g},IF({sign}=1,{ONE:g},{COST_OF_FINANCE:g})))"
        spent = f'SUMIF({cash},"<0")'
        written = (
            (f"IF({count}=1,EXP({halved})-1,NA())", found.rate),
            (f"IF({recovered}<{LEAST_RECOVERED!r},{HALF_LOST:g},{status})", found.status),
            ("+".join(f"SUMPRODUCT(1*({before}*{after}<0))" for before, after in rows), found.changes),
            (f"IF(OR({changes}>1,SUM({cash})=0),1,0)", found.doubt),
            (f"IF({doubt}=1,SUM({roots}),IF(AND({changes}=1,{crossed}),1,0))", found.roots),
            (f'IF({spent}<0,SUMIF({cash},">0")/-{spent},1)', found.recovered),
            (f"IF({doubt}=1,{ends[0]},{first})", found.brackets[0][0]),
            (f"IF({doubt}=1,{ends[1]},{last})", found.brackets[0][1]),
            (f"IF({self.value(low)}<0,0,1)", found.sign_below),
            (f"IF({count}=1,{self.value(halved)}/SUMPRODUCT(ABS({cash})),0)", found.left),
        )
        yield from ((sheet.first + row, 0, formula, value) for row, (formula, value) in enumerate(written))

    def halvings(self, found: _Searched) -> Iterator[Written]:
        """The ends of the bracket, halved again and again."""
        sheet = self.sheet
        for row, (low, high) in enumerate(found.brackets, start=sheet.halvings):
            ends = [self.at(sheet.first + LOW), self.at(sheet.first + HIGH)]
            if row > sheet.halvings:
                before, after = self.at(row - 1), self.at(row - 1, 1)
                middle = f"({before}+{after})/2"
                same = f"({self.value(middle)}<0)=({self.at(sheet.first + SIGN)}=0)"
                ends = [f"IF({same},{middle},{before})", f"IF({same},{after},{middle})"]
            yield row, 0, ends[0], low
            yield row, 1, ends[1], high


@dataclass(frozen=True, slots=True)
class _Searched:
    """What is found on the way to the rate of one row of flows, cell by cell."""

    sums: list[tuple[float, float]]  # running sums, each with the last sign that one had
    sums_from_the_end: list[tuple[float, float]]
    changes: int
    doubt: int
    grid: list[tuple[float, ...]]  # value, slope times step, absolute value, turn, roots
    roots: float
    recovered: float
    status: float
    brackets: list[tuple[float, float]]  # the first, then by halving
    sign_below: float
    rate: float
    left: float


def _searched(values: Sequence[float]) -> _Searched:
    """The search for the rate of flows, as the formulas make it."""
    money, steps = np.array(values, dtype=float), np.arange(len(values))

    def value_at(growth: float) -> float:
        """The present value at a growth of each period."""
        return float((money * np.exp(-steps * growth)).sum())

    sums, sums_from_the_end = _running_sums(values), _running_sums(values[::-1])
    changes = sum(int(a * b < 0) for found in (sums, sums_from_the_end) for (_, a), (_, b) in pairwise(found))
    doubt = int(changes > 1 or money.sum() == 0)
    nothing: list[tuple[float, ...]] = [(0.0,) * BLOCK] * len(GRID)
    cells, grid = _cells(money) if doubt else (np.zeros(len(GRID) - 1), nothing)
    crossed = (value_at(float(GRID[0])) < 0) != (value_at(float(GRID[-1])) < 0)
    roots = float(cells.sum()) if doubt else float(changes == 1 and crossed)
    spent = -float(np.minimum(money, 0.0).sum())
    recovered = float(np.maximum(money, 0.0).sum()) / spent if spent > 0 else 1.0
    single = cells == 1
    brackets = [(float(GRID[:-1][single].sum()), float(GRID[1:][single].sum())) if doubt else (float(GRID[0]), float(GRID[-1]))]
    positive = value_at(brackets[0][0]) >= 0
    for _ in range(HALVINGS):
        (low, high), middle = brackets[-1], sum(brackets[-1]) / 2
        brackets.append((middle, high) if (value_at(middle) >= 0) == positive else (low, middle))
    status = NONE if roots == 0 else SEVERAL if roots > 1 else ONE if positive else COST_OF_FINANCE
    status = HALF_LOST if recovered < LEAST_RECOVERED else status
    found = sum(brackets[-1]) / 2
    return _Searched(
        sums=sums,
        sums_from_the_end=sums_from_the_end,
        changes=changes,
        doubt=doubt,
        grid=grid,
        roots=roots,
        recovered=recovered,
        status=status,
        brackets=brackets,
        sign_below=float(positive),
        rate=float(np.exp(found)) - 1 if status == ONE else np.nan,
        left=value_at(found) / float(np.abs(money).sum()) if status == ONE else 0.0,
    )


def _cells(money: np.ndarray) -> tuple[np.ndarray, list[tuple[float, ...]]]:
    """Roots of every cell of the grid, and what the sheet shows of each point."""
    number = np.arange(len(money), dtype=float)
    powers = np.exp(-np.outer(GRID, number))
    roots, turn = (found[:, 0] for found in roots_by_cell(money[:, None], GRID))
    columns = (powers @ money, -(powers * number) @ money * STEP, powers @ np.abs(money), [*turn, 0.0], [*roots, 0.0])
    return roots, [tuple(map(float, row)) for row in zip(*columns)]


def _running_sums(values: Sequence[float]) -> list[tuple[float, float]]:
    """The sums so far, each with the sign of the last one that is not 0.

    >>> _running_sums([-2.0, 2.0, 1.0])
    [(-2.0, -1.0), (0.0, -1.0), (1.0, 1.0)]
    """
    found = []
    total = sign = 0.0
    for value in values:
        total += value
        sign = float(np.sign(total)) or sign
        found.append((total, sign))
    return found
