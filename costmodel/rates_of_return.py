"""Internal rates of return of many rows of cash flows at once, with how many there are: none, one, several."""

from __future__ import annotations

import numpy as np

NONE, ONE, SEVERAL = 0.0, 1.0, 2.0
LEAST, MOST = -9.0, 9.0  # bounds of -log(1 + r) that is looked at
POINTS = 1200


def rates_of_return(flows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rate for one period, and status, of flows of shape (periods, rows); NaN unless there is just one.

    Flows that change sign once have one rate. Where they change more often, the present value is looked at over a fine grid of
    rates, and its changes of sign are counted; two rates closer than the grid count as none.

    >>> rate, status = rates_of_return(np.array([[-100.0], [39.0], [59.0], [55.0], [20.0]]))
    >>> round(float(rate[0]), 5), float(status[0])
    (0.28095, 1.0)
    """
    changes = _sign_changes(flows)
    status = np.where(changes == 0, NONE, ONE)
    low = np.full(flows.shape[1], LEAST)
    high = np.full(flows.shape[1], MOST)
    for row in np.flatnonzero(changes > 1):
        brackets = _brackets(flows[:, row])
        status[row] = NONE if not brackets else ONE if len(brackets) == 1 else SEVERAL
        if len(brackets) == 1:
            low[row], high[row] = brackets[0]
    exponent = _root(flows, low, high)
    return np.where(status == ONE, np.exp(-exponent) - 1, np.nan), status


def _sign_changes(flows: np.ndarray) -> np.ndarray:
    last = np.zeros(flows.shape[1])
    changes = np.zeros(flows.shape[1])
    for signs in np.sign(flows):
        changes += (signs != 0) & (last != 0) & (signs != last)
        last = np.where(signs != 0, signs, last)
    return changes


def _value(flows: np.ndarray, exponent: np.ndarray) -> np.ndarray:
    """Present value at discount factors exp(exponent), in units that keep it finite: its sign and its zeros are what counts."""
    return (flows * _weights(len(flows), exponent)).sum(axis=0)


def _weights(periods: int, exponent: np.ndarray) -> np.ndarray:
    number = np.arange(periods)[:, None]
    return np.exp(number * exponent - np.maximum(exponent, 0.0) * (periods - 1))


def _brackets(flows: np.ndarray) -> list[tuple[float, float]]:
    """The steps of a grid of rates over which the present value of one row changes sign."""
    grid = np.linspace(LEAST, MOST, POINTS)
    signs = np.sign(_value(flows[:, None], grid))
    held = signs != 0
    grid, signs = grid[held], signs[held]
    crossing = np.flatnonzero(signs[1:] != signs[:-1])
    return [(float(grid[k]), float(grid[k + 1])) for k in crossing]


def _root(flows: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """The exponent between bounds at which the present value is zero: halving, then Newton's steps kept inside the bounds."""
    below = np.sign(_value(flows, low))
    for _ in range(24):
        middle = (low + high) / 2
        same = np.sign(_value(flows, middle)) == below
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    found = (low + high) / 2
    number = np.arange(len(flows))[:, None]
    for _ in range(4):
        parts = flows * _weights(len(flows), found)
        slope = (parts * number).sum(axis=0)
        step = np.divide(parts.sum(axis=0), slope, out=np.zeros_like(found), where=slope != 0)
        found = np.clip(found - step, low, high)
    return found
