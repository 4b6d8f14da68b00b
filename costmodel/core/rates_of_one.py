"""The internal rate of return of one row of cash flows, on plain numbers: operation by operation that of `rates_of_return.py`.

Its figures are those of an array to the last bit. Where the rule of signs leaves a doubt, the array form has to look over its
grid. The functions hold loops over plain numbers alone, so that Python runs them as they stand and numba compiles them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .rates_of_return import COST_OF_FINANCE, HALF_LOST, LEAST_RECOVERED, NEAR, NONE, ONE, ROUNDING, STEPS, factors_of_grid

UNSURE = -1.0  # a status: the grid has to be looked over
LOW, HIGH = (float(factors_of_grid()[end]) for end in (0, -1))  # the least and the greatest discount factor that counts
Flows = Sequence[float]


def rate_of_one(flows: Flows) -> tuple[float, float]:
    """Rate for a quarter, and status, of quarterly flows; NaN unless the status is ONE. UNSURE where the grid has to tell.

    >>> rate, status = rate_of_one([-250000.0, 100000.0, 150000.0, 200000.0, 250000.0, 300000.0])
    >>> round(rate, 10), status
    (0.5672303344, 1.0)
    """
    if _half_lost(flows):
        return math.nan, HALF_LOST
    falls = present_value(flows, HIGH) >= 0.0
    passes = falls != (present_value(flows, LOW) >= 0.0)
    found = math.nan
    if passes:
        found = _root_of_one(flows, LOW, HIGH, not falls)
    if not passes or not _is_alone(flows, found, falls):
        changes, total = _sums_change(flows)
        if changes > 1 or total == 0.0:
            return math.nan, UNSURE
        if changes == 0 or not passes:
            return math.nan, NONE
    if falls:
        return 1.0 / found - 1.0, ONE
    return math.nan, COST_OF_FINANCE


def present_value(flows: Flows, factor: float) -> float:
    """The present value at a discount factor.

    >>> present_value([-10.0, 12.0, 4.0], 0.5)
    -3.0
    """
    value = 0.0
    for k in range(len(flows) - 1, -1, -1):
        value = flows[k] + value * factor
    return value


def _half_lost(flows: Flows) -> bool:
    spent, gained = 0.0, 0.0
    for k in range(len(flows)):
        if flows[k] < 0.0:
            spent -= flows[k]
        else:
            gained += flows[k]
    return spent > 0.0 and gained / spent < LEAST_RECOVERED


def _root_of_one(flows: Flows, low: float, high: float, at_low: bool) -> float:
    found = 1.0 if low < 1.0 and high > 1.0 else (low + high) / 2
    for _ in range(STEPS):
        value, slope = 0.0, 0.0
        for k in range(len(flows) - 1, -1, -1):
            slope = slope * found + value
            value = value * found + flows[k]
        if (value >= 0.0) == at_low:
            low = found
        else:
            high = found
        further = found - value / slope if slope != 0.0 else math.inf
        if not low <= further <= high:
            further = (low + high) / 2
        near = abs(further - found) <= NEAR * found
        found = further
        if near:
            break
    return found


def _is_alone(flows: Flows, factor: float, falls: bool) -> bool:
    """Whether what is still to come is worth more than nothing at each time; less where the value rises with the rate."""
    sign = 1.0 if falls else -1.0
    worth, size, sure = 0.0, 0.0, True
    for k in range(len(flows) - 1, 0, -1):
        worth, size = flows[k] + worth * factor, abs(flows[k]) + size * factor
        sure = sure and sign * worth >= ROUNDING * size
    return sure


def _sums_change(flows: Flows) -> tuple[int, float]:
    """How often the running sums change sign, from the first on and from the last on together; and the sum of all."""
    changes, total = 0, 0.0
    for turn in range(2):
        so_far, last = 0.0, 0.0
        for k in range(len(flows)):
            so_far += flows[k] if turn == 0 else flows[len(flows) - 1 - k]
            if so_far * last < 0.0:
                changes += 1
            if so_far != 0.0:
                last = 1.0 if so_far > 0.0 else -1.0
        total = so_far if turn == 0 else total
    return changes, total
