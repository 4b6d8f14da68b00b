"""Internal rates of return of many rows of cash flows at once, judged on a stated interval of rates.

Only rates from -90 % to +1,000 % a year count: a root of the present value outside of them says nothing of an investment. One
root there, through which the present value falls, is the rate of return. One through which it rises is a cost of finance: money
comes first. Of several roots none is called the return. Flows that bring back less than half of what is paid out have none.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

NONE, ONE, SEVERAL, COST_OF_FINANCE, HALF_LOST = 0.0, 1.0, 2.0, 3.0, 4.0
LOWEST, HIGHEST = -0.9, 10.0  # rates of a year that count; chosen by us
PERIODS = 4.0  # in a year: the model counts quarters
LEAST_RECOVERED = 0.5  # of what is paid out, without interest; chosen by us
POINTS = 600  # of the grid over the interval, even in log(1 + rate)
TOUCHES = 1e-6  # of the flows' absolute present value: a least value that near 0 counts as a double root
BLOCK = 512  # rows that are looked at together, so that they stay in cache


def rates_of_return(
    flows: np.ndarray, periods: float = PERIODS, least_recovered: float = LEAST_RECOVERED
) -> tuple[np.ndarray, np.ndarray]:
    """Rate for one period, and status, of flows of shape (times, rows), `periods` to a year; NaN unless the status is ONE.

    The present value is a polynomial of the discount factor. By the rule of signs it has no more roots with positive rates than
    the running sums of the flows change sign, and with rates below 0 no more than the sums from the end do, and fewer only by an
    even number (Descartes; Norstrom 1972 for the running sums, from memory). Where that leaves a doubt, the present value is
    looked at over a grid: its changes of sign, and where it turns between two points, whether it passes 0 there.

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
    return [float(rate) for rate in np.expm1(_root(np.repeat(row, len(ends), axis=1), low, high))]


def grid_of_rates(periods: float = PERIODS) -> np.ndarray:
    """The points of log(1 + rate for one period) that are looked at, from the lowest rate that counts to the highest."""
    return np.linspace(np.log1p(LOWEST) / periods, np.log1p(HIGHEST) / periods, POINTS)


def _rates(flows: np.ndarray, grid: np.ndarray, least_recovered: float) -> tuple[np.ndarray, np.ndarray]:
    if flows.shape[1] == 1:  # one column would be summed in another order than many
        rate, status = _rates(np.repeat(flows, 2, axis=1), grid, least_recovered)
        return rate[:1], status[:1]
    count = flows.shape[1]
    changes = _sign_changes(np.cumsum(flows, axis=0)) + _sign_changes(np.cumsum(flows[::-1], axis=0))
    low, high = np.full(count, grid[0]), np.full(count, grid[-1])
    at_low = _value(flows, np.exp(-low)) >= 0
    roots = ((changes == 1) & (at_low != (_value(flows, np.exp(-high)) >= 0))).astype(float)
    doubtful = np.flatnonzero((changes > 1) | (flows.sum(axis=0) == 0))
    if doubtful.size:
        roots[doubtful], cell = _counted(flows[:, doubtful], grid)
        low[doubtful], high[doubtful] = grid[cell], grid[cell + 1]
        at_low[doubtful] = _value(flows[:, doubtful], np.exp(-low[doubtful])) >= 0
    status = np.where(roots == 0, NONE, np.where(roots > 1, SEVERAL, np.where(at_low, ONE, COST_OF_FINANCE)))
    status[_recovered(flows) < least_recovered] = HALF_LOST
    rate = np.full(count, np.nan)
    one = np.flatnonzero(status == ONE)
    if one.size:
        rate[one] = np.expm1(_root(flows[:, one], low[one], high[one]))
    return rate, status


def _recovered(flows: np.ndarray) -> np.ndarray:
    """What comes in over what is paid out, without interest; 1 where nothing is paid out."""
    spent = -np.minimum(flows, 0.0).sum(axis=0)
    return np.divide(np.maximum(flows, 0.0).sum(axis=0), spent, out=np.ones(flows.shape[1]), where=spent > 0)


def _sign_changes(values: np.ndarray) -> np.ndarray:
    """How often each column changes sign, zeros left out."""
    signs = np.sign(values)
    last = np.where(signs != 0, np.arange(len(signs))[:, None], 0)  # the row of the last sign so far
    signs = np.take_along_axis(signs, np.maximum.accumulate(last, axis=0), axis=0)
    return (signs[1:] * signs[:-1] < 0).sum(axis=0).astype(float)


def _value(flows: np.ndarray, factor: np.ndarray) -> np.ndarray:
    """Present value at discount factors above 0."""
    return (flows * _powers(factor, len(flows))).sum(axis=0)


def _powers(factor: np.ndarray, count: int) -> np.ndarray:
    """Powers of factors from 0 on, one row each: each turn doubles the rows."""
    powers = np.ones((count, len(factor)))
    done, next_power = 1, factor
    while done < count:
        more = min(done, count - done)
        np.multiply(powers[:more], next_power, out=powers[done : done + more])
        done, next_power = done + more, next_power * next_power
    return powers


def roots_by_cell(flows: np.ndarray, grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How many roots lie between each two points of the grid, for all rows, and where between them the value turns.

    One where it changes sign. Two where it keeps its sign and, by the cubic through values and slopes (Hermite), turns at or
    beyond 0 in between.
    """
    number = np.arange(len(flows), dtype=float)
    powers = np.exp(-np.outer(grid, number))
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
        positive = _value(flows, np.exp(-np.array([low, turn]))) >= 0
        passes = bool(positive[0] != positive[1])
        found += [(low, high)] if roots[k, 0] == 1 else [(low, turn), (turn, high)] if passes else [(turn, turn)] * 2
    return found


def _root(flows: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """The log(1 + rate) between two bounds at which the present value is 0: halving, then Newton's steps.

    Not by `roots.narrow`: that stops when all rows are narrow enough, so that a row's last digits would depend on its neighbours
    and an array would not give the figures of a number. It also takes 1.6 times as long at best (512 rows of 61 quarters).
    """
    at_low = _value(flows, np.exp(-low)) >= 0
    for _ in range(24):
        middle = (low + high) / 2
        same = (_value(flows, np.exp(-middle)) >= 0) == at_low
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    found = (low + high) / 2
    number = np.arange(len(flows))[:, None]
    for _ in range(4):
        parts = flows * _powers(np.exp(-found), len(flows))
        slope = -(parts * number).sum(axis=0)
        step = np.divide(parts.sum(axis=0), slope, out=np.zeros_like(found), where=slope != 0)
        found = np.clip(found - step, low, high)
    return found
