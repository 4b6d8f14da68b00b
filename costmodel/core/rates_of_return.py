"""Internal rates of return of many rows of cash flows at once, judged on a stated interval of rates.

Only rates from -90 % to +1,000 % a year count: a root of the present value outside of them says nothing of an investment. One
root there, through which the present value falls, is the rate of return. One through which it rises is a cost of finance: money
comes first. Of several roots none is called the return. Flows that bring back less than half of what is paid out have none.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

NONE, ONE, SEVERAL, COST_OF_FINANCE, HALF_LOST = 0.0, 1.0, 2.0, 3.0, 4.0
LOWEST, HIGHEST = -0.9, 10.0  # rates of a year that count; chosen by us
PERIODS = 4.0  # in a year: the model counts quarters
LEAST_RECOVERED = 0.5  # of what is paid out, without interest; chosen by us
POINTS = 600  # of the grid over the interval, even in log(1 + rate)
TOUCHES = 1e-6  # of the flows' absolute present value: a least value that near 0 counts as a double root
BLOCK = 512  # rows that are looked at together, so that they stay in cache
ROUNDING = 1e-12  # of the flows' absolute present value: what rounding may make of one
NEAR = 1e-12  # of a discount factor: a step of Newton's that is as short is the last, as the next would be far shorter
STEPS = 200  # at most: halving alone takes some 60


def rates_of_return(
    flows: np.ndarray, periods: float = PERIODS, least_recovered: float = LEAST_RECOVERED
) -> tuple[np.ndarray, np.ndarray]:
    """Rate for one period, and status, of flows of shape (times, rows), `periods` to a year; NaN unless the status is ONE.

    The present value is a polynomial of the discount factor. Its root between factors where its sign differs is the only one
    above 0 if, at that factor, what is still to come is worth more than nothing at each time (an investment that is never paid
    back before its end: Soper 1959, from memory). Else the rule of signs: no more roots with positive rates than the running
    sums of the flows change sign, and with rates below 0 no more than the sums from the end do, and fewer only by an even number
    (Descartes; Norstrom 1972 for the running sums, from memory). Where that leaves a doubt, the present value is looked at over a
    grid: its changes of sign, and where it turns between two points, whether it passes 0 there.

    >>> rate, status = rates_of_return(np.array([[-100.0], [39.0], [59.0], [55.0], [20.0]]))
    >>> round(float(rate[0]), 5), float(status[0])
    (0.28095, 1.0)
    """
    grid = grid_of_rates(periods)
    found = [_rates(flows[:, k : k + BLOCK], grid, least_recovered) for k in range(0, flows.shape[1], BLOCK)]
    return np.concatenate([rate for rate, _ in found]), np.concatenate([status for _, status in found])


def rates_inside(flows: Sequence[float], periods: float = PERIODS) -> list[float]:
    """All rates for one period, in rising order, at which the present value of one row is 0; a double one stands twice.

    >>> [round(rate, 9) for rate in rates_inside([-100.0, 230.0, -132.0])]
    [0.1, 0.2]
    """
    row, grid = np.asarray(flows, dtype=float)[:, None], grid_of_rates(periods)
    ends = _brackets(row, grid)
    if not ends:
        return []
    low, high = np.array(ends).T
    return sorted(float(rate) for rate in 1 / _root(np.repeat(row, len(ends), axis=1), np.exp(-high), np.exp(-low)) - 1)


def grid_of_rates(periods: float = PERIODS) -> np.ndarray:
    """The points of log(1 + rate for one period) that are looked at, from the lowest rate that counts to the highest."""
    return np.linspace(np.log1p(LOWEST) / periods, np.log1p(HIGHEST) / periods, POINTS)


def _rates(flows: np.ndarray, grid: np.ndarray, least_recovered: float) -> tuple[np.ndarray, np.ndarray]:
    count, factors = flows.shape[1], np.exp(-grid[::-1])
    low, high = np.full(count, factors[0]), np.full(count, factors[-1])
    falls = _value(flows, high) >= 0  # as the rate rises
    roots, found = np.zeros(count), np.full(count, np.nan)
    passes = np.flatnonzero(falls != (_value(flows, low) >= 0))
    if passes.size:
        found[passes] = _root(flows[:, passes], low[passes], high[passes])
        roots[passes] = _alone(flows[:, passes], found[passes], falls[passes])
    unsure = np.flatnonzero(roots == 0)
    if unsure.size:
        changes = sign_changes(flows[:, unsure])
        roots[unsure] = (changes == 1) & ~np.isnan(found[unsure])
        doubtful = unsure[(changes > 1) | (flows[:, unsure].sum(axis=0) == 0)]
        if doubtful.size:
            roots[doubtful], cell = _counted(flows[:, doubtful], grid)
            ends = np.exp(-grid[cell + 1]), np.exp(-grid[cell])
            falls[doubtful] = _value(flows[:, doubtful], ends[1]) >= 0
            found[doubtful] = _root(flows[:, doubtful], *ends)
    status = np.where(roots == 0, NONE, np.where(roots > 1, SEVERAL, np.where(falls, ONE, COST_OF_FINANCE)))
    status[_recovered(flows) < least_recovered] = HALF_LOST
    return np.where(status == ONE, 1 / found - 1, np.nan), status


def _alone(flows: np.ndarray, factor: np.ndarray, falls: np.ndarray) -> np.ndarray:
    """Where what is still to come is, at the factors of roots and at each time, worth more than nothing beyond rounding.

    Less than nothing where the present value rises with the rate. Such a root is the only one above 0: the present value over its
    distance from the root has coefficients of one sign (synthetic division).
    """
    sign = np.where(falls, 1.0, -1.0)
    worth, size = np.zeros_like(factor), np.zeros_like(factor)
    sure = np.ones(len(factor), dtype=bool)
    for flow in flows[:0:-1]:
        worth, size = flow + worth * factor, np.abs(flow) + size * factor
        sure &= sign * worth >= ROUNDING * size
    return sure


def _recovered(flows: np.ndarray) -> np.ndarray:
    """What comes in over what is paid out, without interest; 1 where nothing is paid out."""
    spent = -np.minimum(flows, 0.0).sum(axis=0)
    return np.divide(np.maximum(flows, 0.0).sum(axis=0), spent, out=np.ones(flows.shape[1]), where=spent > 0)


def sign_changes(flows: np.ndarray) -> np.ndarray:
    """How often the running sums of each column change sign, from the first on and from the last on together; zeros left out."""
    return _changes(np.cumsum(flows, axis=0)) + _changes(np.cumsum(flows[::-1], axis=0))


def _changes(values: np.ndarray) -> np.ndarray:
    signs = np.sign(values)
    last = np.where(signs != 0, np.arange(len(signs))[:, None], 0)  # the row of the last sign so far
    signs = np.take_along_axis(signs, np.maximum.accumulate(last, axis=0), axis=0)
    return (signs[1:] * signs[:-1] < 0).sum(axis=0).astype(float)


def _value(flows: np.ndarray, factor: np.ndarray) -> np.ndarray:
    """Present value at discount factors above 0 (Horner)."""
    value = np.zeros_like(factor)
    for flow in flows[::-1]:
        value = flow + value * factor
    return value


def _value_and_slope(flows: np.ndarray, factor: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Present value at discount factors, and its derivative by them (Horner)."""
    value, slope = np.zeros_like(factor), np.zeros_like(factor)
    for flow in flows[::-1]:
        slope *= factor
        slope += value
        value *= factor
        value += flow
    return value, slope


@cache
def _powers_on(ends: tuple[float, float], count: int) -> np.ndarray:
    """The powers of the discount factors of a grid with these ends: a row for each point, a column for each time."""
    return np.exp(-np.outer(np.linspace(*ends, POINTS), np.arange(count, dtype=float)))


def roots_by_cell(flows: np.ndarray, grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How many roots lie between each two points of the grid, for all rows, and where between them the value turns.

    One where it changes sign. Two where it keeps its sign and, by the cubic through values and slopes (Hermite), turns at or
    beyond 0 in between.
    """
    number = np.arange(len(flows), dtype=float)
    powers = _powers_on((float(grid[0]), float(grid[-1])), len(flows))
    value, slope = powers @ flows, -(powers * number) @ flows * (grid[1] - grid[0])
    near = TOUCHES * (powers[:-1] @ np.abs(flows))
    sign = np.where(value >= 0, 1.0, -1.0)
    a, b, m, n = sign[:-1] * value[:-1], sign[:-1] * value[1:], sign[:-1] * slope[:-1], sign[:-1] * slope[1:]
    square, cube = 3 * (b - a) - 2 * m - n, 2 * (a - b) + m + n
    turns = (sign[:-1] == sign[1:]) & (m <= 0) & (n > 0)
    below = square + np.sqrt(np.maximum(square**2 - 3 * cube * m, 0.0))
    at = np.where(turns, np.divide(-m, below, out=np.zeros_like(m), where=turns & (below != 0)), 0.0)
    least = a + at * (m + at * (square + at * cube))
    return np.where(sign[:-1] != sign[1:], 1.0, np.where(turns & (least <= near), 2.0, 0.0)), at


def _counted(flows: np.ndarray, grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How many roots each row has on the grid, and the first cell of it that has any."""
    roots, _ = roots_by_cell(flows, grid)
    return roots.sum(axis=0), np.argmax(roots > 0, axis=0)


def _brackets(flows: np.ndarray, grid: np.ndarray) -> list[tuple[float, float]]:
    """Ends between which each root of one row lies; both the same for a double one, where the value turns without passing 0."""
    roots, at = roots_by_cell(flows, grid)
    found = []
    for k in np.flatnonzero(roots[:, 0]):
        low, high = float(grid[k]), float(grid[k + 1])
        turn = low + float(at[k, 0]) * (high - low)
        positive = _value(np.repeat(flows, 2, axis=1), np.exp(-np.array([low, turn]))) >= 0
        passes = bool(positive[0] != positive[1])
        found += [(low, high)] if roots[k, 0] == 1 else [(low, turn), (turn, high)] if passes else [(turn, turn)] * 2
    return found


def _root(flows: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """The discount factor between two bounds at which the present value is 0: Newton's steps from 1, halving where one leads out.

    A row that is found moves no more, so that its last digits do not depend on its neighbours and an array gives the figures of
    a number; `compiled_rates.py` does the same operations in the same order. Not by `roots.narrow` for that reason.
    """
    at_low = _value(flows, low) >= 0
    found = np.where((low < 1) & (high > 1), 1.0, (low + high) / 2)
    moving = np.ones(len(found), dtype=bool)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(STEPS):
            value, slope = _value_and_slope(flows, found)
            same = (value >= 0) == at_low
            low, high = np.where(same, found, low), np.where(same, high, found)
            further = found - value / slope
            further = np.where((further >= low) & (further <= high), further, (low + high) / 2)
            near = np.abs(further - found) <= NEAR * found
            found = np.where(moving, further, found)
            moving &= ~near
            if not moving.any():
                break
    return found
