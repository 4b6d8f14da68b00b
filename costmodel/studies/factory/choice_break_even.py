"""The value of an input at which two choices cost the same."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from ...case.addresses import value_at
from ...case.changes import with_values
from ...case.whole_case import Case
from ...core.faults import InputFaults
from ...model.evaluate import evaluate_costs
from .basis import cost_on_basis

REACH = 100.0  # how many times the present value is looked at


@dataclass(frozen=True, slots=True)
class BreakEven:
    """Where two cases cost the same on the basis of the second one's target, in base units of the input.

    `values` holds every crossing found, each with the difference of cost that is left there; none is an answer, too.
    """

    address: str
    present: float
    values: tuple[float, ...]
    residuals: tuple[float, ...]
    looked_to: float
    tried: int


def difference(first: Case, second: Case, address: str, value: float) -> float:
    """Cost of the first case less that of the second, on the basis of the target, with an input at some value in both."""
    totals = [evaluate_costs(with_values(case, {address: value})).ledger.total for case in (first, second)]
    return cost_on_basis(second, totals[0]) - cost_on_basis(second, totals[1])


def break_even(first: Case, second: Case, address: str, points: int = 60) -> BreakEven:
    """Look for crossings from zero to a hundred times the present value; tools are sized anew at each value.

    Raises InputFaults when the address is no input of both.
    """
    from scipy.optimize import brentq

    present = value_at(second, address)
    if not isinstance(present, float) or present == 0.0:
        raise ValueError(f"{address} is {present!r}; allowed: a number other than 0, from which to look")
    value_at(first, address)
    grid = [present * REACH * (k / points) ** 3 for k in range(points + 1)]
    tried: list[tuple[float, float]] = []
    for value in grid:
        try:
            tried.append((value, difference(first, second, address, value)))
        except InputFaults:  # out of the range that the input allows
            continue
    roots = []
    for (low, below), (high, above) in itertools.pairwise(tried):
        if below == 0.0:
            roots.append(low)
        elif below * above < 0:
            roots.append(brentq(lambda x: difference(first, second, address, x), low, high, xtol=1e-12 * abs(present), rtol=1e-12))
    if tried and tried[-1][1] == 0.0:
        roots.append(tried[-1][0])
    left = tuple(difference(first, second, address, root) for root in roots)
    return BreakEven(address, present, tuple(roots), left, tried[-1][0] if tried else 0.0, len(tried))
