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
RATE, COUNT, CHANGES, DOUBT, ROOTS, RECOVERED, LOW, HIGH, SIGN, LEFT = range(len(_ROWS))
GRID = grid_of_rates()  # of ln(1 + rate)
STEP = float(GRID[1] - GRID[0])

Written = tuple[int, int, str, float]  # row, column, formula, value


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
        found = _searched(values)
        yield from self._flows(number, flows, values, found)
        yield from self._grid(number, len(flows), found)
        yield from self._results(number, len(flows), found)
        yield from self._halvings(number, len(flows), found)

    def _at(self, number: int, row: int, place: int = 0) -> str:
        return rate_cell(number, row, place)

    def _area(self, number: int, first: int, end: int, place: int = 0) -> str:
        column = 1 + BLOCK * number + place
        return xl_range_abs(first, column, end, column)

    def _value(self, number: int, periods: int, growth: str) -> str:
        """The present value at a cell of ln(1 + rate)."""
        cash, counted = self._area(number, self.flows, self.flows + periods - 1), self._periods(periods)
        return f"SUMPRODUCT({cash},EXP(-{counted}*{growth}))"

    def _periods(self, periods: int) -> str:
        return xl_range_abs(self.flows, 0, self.flows + periods - 1, 0)

    def _flows(self, number: int, flows: Sequence[str], values: Sequence[float], found: _Searched) -> Iterator[Written]:
        column, last = 1 + BLOCK * number, len(flows) - 1
        for row, (flow, amount) in enumerate(zip(flows, values), start=self.flows):
            yield row, column, f"={flow}", amount
        for place, way, sums in ((1, 1, found.sums), (3, -1, found.sums_from_the_end)):
            order = range(self.flows, self.flows + last + 1)[::way]
            for row, (total, sign) in zip(order, sums):
                at, before = self._at(number, row, place), self._at(number, row - way, place)
                held = "0" if row == order[0] else self._at(number, row - way, place + 1)
                yield row, column + place, f"={self._at(number, row)}" + ("" if row == order[0] else f"+{before}"), total
                yield row, column + place + 1, f"=IF({at}=0,{held},SIGN({at}))", sign

    def _grid(self, number: int, periods: int, found: _Searched) -> Iterator[Written]:
        """Value, slope and the value of absolute flows at each point; where the value turns before the next, and roots there."""
        column, doubt = 1 + BLOCK * number, f"{self._at(number, self.first + DOUBT)}=1"
        cash, counted = self._area(number, self.flows, self.flows + periods - 1), self._periods(periods)
        for row, values in enumerate(found.grid, start=self.grid):
            powers = f"EXP(-{counted}*$A${row + 1})"
            yield row, column, f"=IF({doubt},SUMPRODUCT({cash},{powers}),0)", values[0]
            yield row, column + 1, f"=IF({doubt},-SUMPRODUCT({cash},{counted},{powers})*{STEP!r},0)", values[1]
            yield row, column + 2, f"=IF({doubt},SUMPRODUCT(ABS({cash}),{powers}),0)", values[2]
            if row == self.grid + len(GRID) - 1:
                return
            (a, m, near), (b, n) = (tuple(self._at(number, row + k, place) for place in range(3 - k)) for k in (0, 1))
            sign, alike = f"IF({a}<0,-1,1)", f"({a}<0)=({b}<0)"
            square, cube = f"(3*({b}-{a})-2*{m}-{n})*{sign}", f"(2*({a}-{b})+{m}+{n})*{sign}"
            turn = f"-{m}*{sign}/({square}+SQRT(MAX(({square})^2-3*{cube}*{m}*{sign},0)))"
            turns = f"AND({doubt},{alike},{m}*{sign}<=0,{n}*{sign}>0)"
            yield row, column + 3, f"=IF({turns},IFERROR({turn},0),0)", values[3]
            t = self._at(number, row, 3)
            least = f"{a}*{sign}+{t}*({m}*{sign}+{t}*({square}+{t}*{cube}))"
            roots = f"IF({alike},IF({turns},IF({least}<={TOUCHES!r}*{near},2,0),0),1)"
            yield row, column + 4, f"=IF({doubt},{roots},0)", values[4]

    def _results(self, number: int, periods: int, found: _Searched) -> Iterator[Written]:
        first, end = self.first, self.grid + len(GRID) - 1

        def at(row: int) -> str:
            """The cell of a row of the head."""
            return self._at(number, first + row)

        cash = self._area(number, self.flows, self.flows + periods - 1)
        halved = f"({self._at(number, self.halvings + HALVINGS)}+{self._at(number, self.halvings + HALVINGS, 1)})/2"
        rows = [
            (
                self._area(number, self.flows, self.flows + periods - 2, k),
                self._area(number, self.flows + 1, self.flows + periods - 1, k),
            )
            for k in (2, 4)
        ]
        changed = "+".join(f"SUMPRODUCT(1*({before}*{after}<0))" for before, after in rows)
        roots = self._area(number, self.grid, end - 1, 4)
        low, high = found.brackets[0]
        low_end, high_end = (f"SUMPRODUCT(({roots}=1)*{xl_range_abs(self.grid + k, 0, end - 1 + k, 0)})" for k in (0, 1))
        crossed = (
            f"({self._value(number, periods, repr(float(GRID[0])))}<0)<>({self._value(number, periods, repr(float(GRID[-1])))}<0)"
        )
        status = f"IF({at(ROOTS)}=0,{NONE:g},IF({at(ROOTS)}>1,{SEVERAL:g},IF({at(SIGN)}=1,{ONE:g},{COST_OF_FINANCE:g})))"
        spent = f'SUMIF({cash},"<0")'
        is_one, in_doubt = f"{at(COUNT)}=1", f"{at(DOUBT)}=1"
        for row, formula, value in (
            (RATE, f"IF({is_one},EXP({halved})-1,NA())", found.rate),
            (COUNT, f"IF({at(RECOVERED)}<{LEAST_RECOVERED!r},{HALF_LOST:g},{status})", found.status),
            (CHANGES, changed, found.changes),
            (DOUBT, f"IF(OR({at(CHANGES)}>1,SUM({cash})=0),1,0)", found.doubt),
            (ROOTS, f"IF({in_doubt},SUM({roots}),IF(AND({at(CHANGES)}=1,{crossed}),1,0))", found.roots),
            (RECOVERED, f'IF({spent}<0,SUMIF({cash},">0")/-{spent},1)', found.recovered),
            (LOW, f"IF({in_doubt},{low_end},{float(GRID[0])!r})", low),
            (HIGH, f"IF({in_doubt},{high_end},{float(GRID[-1])!r})", high),
            (SIGN, f"IF({self._value(number, periods, at(LOW))}<0,0,1)", found.sign_below),
            (LEFT, f"IF({is_one},{self._value(number, periods, halved)}/SUMPRODUCT(ABS({cash})),0)", found.left),
        ):
            yield first + row, 1 + BLOCK * number, f"={formula}", value

    def _halvings(self, number: int, periods: int, found: _Searched) -> Iterator[Written]:
        column, (low, high) = 1 + BLOCK * number, found.brackets[0]
        yield self.halvings, column, f"={self._at(number, self.first + LOW)}", low
        yield self.halvings, column + 1, f"={self._at(number, self.first + HIGH)}", high
        for above, (low, high) in enumerate(found.brackets[1:], start=self.halvings):
            middle = f"({self._at(number, above)}+{self._at(number, above, 1)})/2"
            same = f"({self._value(number, periods, middle)}<0)=({self._at(number, self.first + SIGN)}=0)"
            yield above + 1, column, f"=IF({same},{middle},{self._at(number, above)})", low
            yield above + 1, column + 1, f"=IF({same},{self._at(number, above, 1)},{middle})", high


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
