"""Internal rates of return of many rows of cash flows at once, with how many there are: none, one, several."""

from __future__ import annotations

import numpy as np

NONE, ONE, SEVERAL = 0.0, 1.0, 2.0
FARTHEST = 9.0  # the greatest log(1 + r), of either sign, that is looked at
POINTS = 600  # on each side of a rate of 0
BLOCK = 512  # rows that are looked at together, so that they stay in cache


def rates_of_return(flows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rate for one period, and status, of flows of shape (periods, rows); NaN unless there is just one.

    The present value is a polynomial of the discount factor. By the rule of signs it has no more roots with positive rates than
    the running sums of the flows change sign, and with rates below 0 no more than the sums from the end do, and fewer only by an
    even number. Where that leaves a doubt, the present value is looked at over a fine grid of rates and its changes of sign are
    counted; two rates closer than the grid count as none.

    >>> rate, status = rates_of_return(np.array([[-100.0], [39.0], [59.0], [55.0], [20.0]]))
    >>> round(float(rate[0]), 5), float(status[0])
    (0.28095, 1.0)
    """
    found = [_rates(flows[:, first : first + BLOCK]) for first in range(0, flows.shape[1], BLOCK)]
    return np.concatenate([rate for rate, _ in found]), np.concatenate([status for _, status in found])


def _rates(flows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    if flows.shape[1] == 1:  # one column would be summed in another order than many
        rate, status = _rates(np.repeat(flows, 2, axis=1))
        return rate[:1], status[:1]
    total = flows.sum(axis=0)
    above = _sign_changes(np.cumsum(flows, axis=0))
    below = _sign_changes(np.cumsum(flows[::-1], axis=0))
    status = np.where(above + below == 0, NONE, ONE)
    backwards = (below > 0) & (above == 0)
    far, near = np.full(flows.shape[1], FARTHEST), np.zeros(flows.shape[1])
    for row in np.flatnonzero((above + below > 1) | (total == 0)):
        brackets = _brackets(flows[:, row])
        status[row] = NONE if not brackets else ONE if len(brackets) == 1 else SEVERAL
        if len(brackets) == 1:
            backwards[row], near[row], far[row] = brackets[0]
    one = np.flatnonzero(status == ONE)
    rate = np.full(flows.shape[1], np.nan)
    if one.size:
        log_growth = _root(np.where(backwards, flows[::-1], flows)[:, one], near[one], far[one])
        rate[one] = np.expm1(np.where(backwards[one], -log_growth, log_growth))
    return rate, status


def _sign_changes(values: np.ndarray) -> np.ndarray:
    """How often each column changes sign, zeros left out."""
    signs = np.sign(values)
    last = np.where(signs != 0, np.arange(len(signs))[:, None], 0)  # the row of the last sign so far
    signs = np.take_along_axis(signs, np.maximum.accumulate(last, axis=0), axis=0)
    return (signs[1:] * signs[:-1] < 0).sum(axis=0).astype(float)


def _value(flows: np.ndarray, factor: np.ndarray) -> np.ndarray:
    """Present value at discount factors from 0 to 1."""
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


def _brackets(flows: np.ndarray) -> list[tuple[bool, float, float]]:
    """The steps of a grid over which the present value of one row changes sign: whether below a rate of 0, and their ends."""
    steps = np.linspace(0.0, FARTHEST, POINTS)
    factors = np.exp(-steps)
    grid = np.concatenate([-steps[:0:-1], steps])
    signs = np.sign(np.concatenate([_value(flows[::-1, None], factors[:0:-1]), _value(flows[:, None], factors)]))
    found = [(False, 0.0, 0.0)] if signs[POINTS - 1] == 0 and flows.any() else []
    grid, signs = grid[signs != 0], signs[signs != 0]
    for k in np.flatnonzero(signs[1:] != signs[:-1]):
        low, high = float(grid[k]), float(grid[k + 1])
        if low < 0 < high:
            continue
        found.append((high <= 0, min(abs(low), abs(high)), max(abs(low), abs(high))))
    return found


def _root(flows: np.ndarray, near: np.ndarray, far: np.ndarray) -> np.ndarray:
    """The log(1 + r) between bounds, from 0 on, at which the present value is 0: halving, then Newton's steps."""
    sign = np.sign(_value(flows, np.exp(-far)))
    for _ in range(24):
        middle = (near + far) / 2
        beyond = np.sign(_value(flows, np.exp(-middle))) == sign
        near, far = np.where(beyond, near, middle), np.where(beyond, middle, far)
    found = (near + far) / 2
    number = np.arange(len(flows))[:, None]
    for _ in range(4):
        parts = flows * _powers(np.exp(-found), len(flows))
        slope = -(parts * number).sum(axis=0)
        step = np.divide(parts.sum(axis=0), slope, out=np.zeros_like(found), where=slope != 0)
        found = np.clip(found - step, near, far)
    return found
