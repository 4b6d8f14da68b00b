"""Internal rates of return as live formulas: the sheet on which each is found by halving, as `rates_of_return.py` finds it.

IRR of spreadsheet programs starts from a guess, and says neither that there is no rate nor that there are several. So the sheet
counts how often the running sums of the flows, and their sums from the end, change sign; where that leaves a doubt, how often the
present value does over the same grid of rates; and halves the bracket of the only one until its last digit. The rate is #N/A unless
there is just one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

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
        column, last = 1 + BLOCK * number, len(flows) - 1
        money, steps = np.array(values, dtype=float), np.arange(len(flows))

        def at(row: int, place: int = 0) -> str:
            return rate_cell(number, row, place)

        def area(first: int, end: int, place: int = 0) -> str:
            return xl_range_abs(first, column + place, end, column + place)

        cash, counted = area(self.flows, self.flows + last), xl_range_abs(self.flows, 0, self.flows + last, 0)

        def worth(exponent: str) -> str:
            return f"SUMPRODUCT({cash},EXP({counted}*{exponent}-MAX({exponent},0)*{last}))"

        def worth_at(exponent: float) -> float:
            return float((money * np.exp(steps * exponent - max(exponent, 0.0) * last)).sum())

        for row, (flow, amount) in enumerate(zip(flows, values), start=self.flows):
            yield row, column, f"={flow}", amount
        changes = 0
        for place, way in ((1, 1), (3, -1)):
            total = sign = 0.0
            order = range(self.flows, self.flows + last + 1)[::way]
            for row in order:
                total += values[row - self.flows]
                before = row - way
                held = "0" if row == order[0] else at(before, place + 1)
                changes += int(np.sign(total) * sign < 0)
                sign = float(np.sign(total)) or sign
                yield row, column + place, f"={at(row)}" + ("" if row == order[0] else f"+{at(before, place)}"), total
                yield row, column + place + 1, f"=IF({at(row, place)}=0,{held},SIGN({at(row, place)}))", sign
        doubt = int(changes > 1 or money.sum() == 0)
        signs = np.array([np.sign(worth_at(x)) if doubt else 0.0 for x in GRID])
        first, end = self.first, self.grid + len(GRID) - 1
        for row, sign in enumerate(signs, start=self.grid):
            yield row, column, f"=IF({at(first + DOUBT)}=1,SIGN({worth(f'$A${row + 1}')}),0)", float(sign)
        turns = np.flatnonzero(signs[1:] * signs[:-1] < 0)
        crossings = len(turns) + int(signs[POINTS - 1] == 0 and doubt and bool(money.any()))
        count = min(crossings, 2) if doubt else min(changes, 1)
        bracket = (float(GRID[turns].sum()), float(GRID[turns + 1].sum())) if doubt else (-FARTHEST, FARTHEST)
        below = float(np.sign(worth_at(bracket[0])))
        ends = [bracket]
        for _ in range(HALVINGS):
            (low, high), middle = ends[-1], sum(ends[-1]) / 2
            ends.append((middle, high) if np.sign(worth_at(middle)) == below else (low, middle))
        found = sum(ends[-1]) / 2

        halved = f"({at(self.halvings + HALVINGS)}+{at(self.halvings + HALVINGS, 1)})/2"
        turned = f"({area(self.grid, end - 1)}*{area(self.grid + 1, end)}<0)"
        at_zero = f"IF({at(self.grid + POINTS - 1)}=0,{at(first + DOUBT)}*SIGN(SUMPRODUCT(ABS({cash}))),0)"
        rows = [(area(self.flows, self.flows + last - 1, k), area(self.flows + 1, self.flows + last, k)) for k in (2, 4)]
        changed = "+".join(f"SUMPRODUCT(1*({before}*{after}<0))" for before, after in rows)
        is_one, in_doubt = f"{at(first + COUNT)}=1", f"{at(first + DOUBT)}=1"
        low_end, high_end = (f"SUMPRODUCT({turned}*{xl_range_abs(self.grid + k, 0, end - 1 + k, 0)})" for k in (0, 1))
        left = worth_at(found) / float(np.abs(money).sum()) if count == 1 else 0.0
        for row, formula, value in (
            (RATE, f"IF({is_one},EXP(-{halved})-1,NA())", float(np.exp(-found)) - 1 if count == 1 else np.nan),
            (COUNT, f"IF({in_doubt},MIN({at(first + CROSSINGS)},2),{at(first + CHANGES)})", count),
            (CHANGES, changed, changes),
            (DOUBT, f"IF(OR({at(first + CHANGES)}>1,SUM({cash})=0),1,0)", doubt),
            (CROSSINGS, f"SUMPRODUCT(1*{turned})+{at_zero}", crossings),
            (LOW, f"IF({in_doubt},{low_end},{-FARTHEST:g})", bracket[0]),
            (HIGH, f"IF({in_doubt},{high_end},{FARTHEST:g})", bracket[1]),
            (SIGN, f"SIGN({worth(at(first + LOW))})", below),
            (LEFT, f"IF({is_one},{worth(halved)}/SUMPRODUCT(ABS({cash})),0)", left),
        ):
            yield first + row, column, f"={formula}", value
        yield self.halvings, column, f"={at(first + LOW)}", bracket[0]
        yield self.halvings, column + 1, f"={at(first + HIGH)}", bracket[1]
        for above, (low, high) in enumerate(ends[1:], start=self.halvings):
            middle = f"({at(above)}+{at(above, 1)})/2"
            same = f"SIGN({worth(middle)})={at(first + SIGN)}"
            yield above + 1, column, f"=IF({same},{middle},{at(above)})", low
            yield above + 1, column + 1, f"=IF({same},{at(above, 1)},{middle})", high
