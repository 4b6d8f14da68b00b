"""Internal rates of return as live formulas: the sheet on which each is found by halving, as `rates_of_return.py` finds it.

IRR of spreadsheet programs starts from a guess, and says neither that there is no rate nor that there are several. So the sheet
counts how often the running sums of the flows, and their sums from the end, change sign; where that leaves a doubt, how often the
present value does over the same grid of rates; and halves the bracket of the only one until its last digit. The rate is #N/A unless
there is just one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from ..rates_of_return import FARTHEST, POINTS

HALVINGS = 60
BLOCK = 5  # columns for each row of flows: the flow, its running sum and last sign, its sum from the end and last sign
_ROWS = ("rate for one period", "how many: 0, 1, 2 for several", "changes of sign of running sums and of sums from the end")
_ROWS += ("1 where the grid is looked at", "changes of sign over the grid", "low end of the bracket", "high end of the bracket")
_ROWS += ("sign at the low end", "value left at the rate, over all flows")
RATE, COUNT, CHANGES, DOUBT, CROSSINGS, LOW, HIGH, SIGN, LEFT = range(len(_ROWS))
_STEPS = np.linspace(0.0, FARTHEST, POINTS)
GRID = np.concatenate([-_STEPS[:0:-1], _STEPS])  # of -ln(1 + rate)

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
        return self.first + len(_ROWS) + 1

    @property
    def halvings(self) -> int:
        return self.flows + self.periods + 1

    @property
    def grid(self) -> int:
        return self.halvings + HALVINGS + 2

    def labels(self) -> Iterator[tuple[int, str | float]]:
        """What stands in the first column, by row."""
        yield from enumerate(_ROWS, start=self.first)
        yield self.flows - 1, "period: flow; running sum and its last sign; sum from the end and its last sign"
        yield from enumerate(range(self.periods), start=self.flows)
        yield self.halvings - 1, "halving: low and high end of -ln(1 + rate)"
        yield from enumerate(range(HALVINGS + 1), start=self.halvings)
        yield self.grid - 1, "grid of -ln(1 + rate): sign of the value"
        yield from enumerate(map(float, GRID), start=self.grid)

    def written(self, number: int, flows: Sequence[str], values: Sequence[float]) -> Iterator[Written]:
        """Every formula of one row of flows, with its value."""
        found = _searched(values)
        column, last, first = 1 + BLOCK * number, len(flows) - 1, self.first
        end = self.grid + len(GRID) - 1

        def at(row: int, place: int = 0) -> str:
            return rate_cell(number, row, place)

        def area(first: int, end: int, place: int = 0) -> str:
            return xl_range_abs(first, column + place, end, column + place)

        cash, counted = area(self.flows, self.flows + last), xl_range_abs(self.flows, 0, self.flows + last, 0)

        def worth(exponent: str) -> str:
            return f"SUMPRODUCT({cash},EXP({counted}*{exponent}-MAX({exponent},0)*{last}))"

        for row, (flow, amount) in enumerate(zip(flows, values), start=self.flows):
            yield row, column, f"={flow}", amount
        for place, way, sums in ((1, 1, found.sums), (3, -1, found.sums_from_the_end)):
            order = range(self.flows, self.flows + last + 1)[::way]
            for row, (total, sign) in zip(order, sums):
                before = row - way
                held = "0" if row == order[0] else at(before, place + 1)
                yield row, column + place, f"={at(row)}" + ("" if row == order[0] else f"+{at(before, place)}"), total
                yield row, column + place + 1, f"=IF({at(row, place)}=0,{held},SIGN({at(row, place)}))", sign
        for row, sign in enumerate(found.signs, start=self.grid):
            yield row, column, f"=IF({at(first + DOUBT)}=1,SIGN({worth(f'$A${row + 1}')}),0)", sign

        halved = f"({at(self.halvings + HALVINGS)}+{at(self.halvings + HALVINGS, 1)})/2"
        turned = f"({area(self.grid, end - 1)}*{area(self.grid + 1, end)}<0)"
        at_zero = f"IF({at(self.grid + POINTS - 1)}=0,{at(first + DOUBT)}*SIGN(SUMPRODUCT(ABS({cash}))),0)"
        rows = [(area(self.flows, self.flows + last - 1, k), area(self.flows + 1, self.flows + last, k)) for k in (2, 4)]
        changed = "+".join(f"SUMPRODUCT(1*({before}*{after}<0))" for before, after in rows)
        is_one, in_doubt = f"{at(first + COUNT)}=1", f"{at(first + DOUBT)}=1"
        low_end, high_end = (f"SUMPRODUCT({turned}*{xl_range_abs(self.grid + k, 0, end - 1 + k, 0)})" for k in (0, 1))
        low, high = found.brackets[0]
        for row, formula, value in (
            (RATE, f"IF({is_one},EXP(-{halved})-1,NA())", found.rate),
            (COUNT, f"IF({in_doubt},MIN({at(first + CROSSINGS)},2),{at(first + CHANGES)})", found.count),
            (CHANGES, changed, found.changes),
            (DOUBT, f"IF(OR({at(first + CHANGES)}>1,SUM({cash})=0),1,0)", found.doubt),
            (CROSSINGS, f"SUMPRODUCT(1*{turned})+{at_zero}", found.crossings),
            (LOW, f"IF({in_doubt},{low_end},{-FARTHEST:g})", low),
            (HIGH, f"IF({in_doubt},{high_end},{FARTHEST:g})", high),
            (SIGN, f"SIGN({worth(at(first + LOW))})", found.sign_below),
            (LEFT, f"IF({is_one},{worth(halved)}/SUMPRODUCT(ABS({cash})),0)", found.left),
        ):
            yield first + row, column, f"={formula}", value
        yield self.halvings, column, f"={at(first + LOW)}", low
        yield self.halvings, column + 1, f"={at(first + HIGH)}", high
        for above, (low, high) in enumerate(found.brackets[1:], start=self.halvings):
            middle = f"({at(above)}+{at(above, 1)})/2"
            same = f"SIGN({worth(middle)})={at(first + SIGN)}"
            yield above + 1, column, f"=IF({same},{middle},{at(above)})", low
            yield above + 1, column + 1, f"=IF({same},{at(above, 1)},{middle})", high


@dataclass(frozen=True, slots=True)
class _Searched:
    """What is found on the way to the rate of one row of flows, cell by cell."""

    sums: list[tuple[float, float]]  # running sums, each with the last sign that one had
    sums_from_the_end: list[tuple[float, float]]
    changes: int
    doubt: int
    signs: list[float]  # over the grid, where it is looked at
    crossings: int
    count: int
    brackets: list[tuple[float, float]]  # the first, then by halving
    sign_below: float
    rate: float
    left: float


def _searched(values: Sequence[float]) -> _Searched:
    """The search for the rate of flows, as the formulas make it."""
    money, steps, last = np.array(values, dtype=float), np.arange(len(values)), len(values) - 1

    def worth_at(exponent: float) -> float:
        return float((money * np.exp(steps * exponent - max(exponent, 0.0) * last)).sum())

    sums, sums_from_the_end = _running_sums(values), _running_sums(values[::-1])
    changes = sum(int(a * b < 0) for found in (sums, sums_from_the_end) for (_, a), (_, b) in pairwise(found))
    doubt = int(changes > 1 or money.sum() == 0)
    signs = np.array([np.sign(worth_at(x)) if doubt else 0.0 for x in GRID])
    turns = np.flatnonzero(signs[1:] * signs[:-1] < 0)
    crossings = len(turns) + int(signs[POINTS - 1] == 0 and doubt and bool(money.any()))
    count = min(crossings, 2) if doubt else min(changes, 1)
    brackets = [(float(GRID[turns].sum()), float(GRID[turns + 1].sum())) if doubt else (-FARTHEST, FARTHEST)]
    below = float(np.sign(worth_at(brackets[0][0])))
    for _ in range(HALVINGS):
        (low, high), middle = brackets[-1], sum(brackets[-1]) / 2
        brackets.append((middle, high) if np.sign(worth_at(middle)) == below else (low, middle))
    found = sum(brackets[-1]) / 2
    return _Searched(
        sums=sums,
        sums_from_the_end=sums_from_the_end,
        changes=changes,
        doubt=doubt,
        signs=[float(sign) for sign in signs],
        crossings=crossings,
        count=count,
        brackets=brackets,
        sign_below=below,
        rate=float(np.exp(-found)) - 1 if count == 1 else np.nan,
        left=worth_at(found) / float(np.abs(money).sum()) if count == 1 else 0.0,
    )


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
