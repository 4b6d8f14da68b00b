"""The least price, and the least volume, at which the project earns its required return."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import replaced, value_at
from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, sum_of
from ...core.roots import profile
from ...model.evaluate import Results, evaluate
from ...model.ledger.landed_prices import in_reporting_currency
from ...model.plan.sales import sold_shares
from ...model.readings.recording import Recording

NPV = "plan.project.npv"
LEAST, MOST = 1e-3, 50.0  # times the present prices that are looked at
POINTS = 100  # of the scan, even in the logarithm
ZERO = 1e-9  # of the capital: what is left of the net present value of a root, at most
NONE, FOUND, ANY, JUMP = 0.0, 1.0, 2.0, 3.0
WITH_VALUE = {FOUND: "the net present value is 0 there", JUMP: "the net present value jumps past 0 there"}
WITHOUT = {NONE: "none that is looked at earns what is required", ANY: "all that are looked at earn what is required"}


@dataclass(frozen=True, slots=True)
class Least:
    """The least multiple of the present value that earns what is required, its status, and the net present value there.

    FOUND: that is 0. JUMP: it jumps there, from `below` to `residual`. NONE and ANY: `times` is None; none or all of the multiples
    looked at, from `low` to `high`, earn it, and `residual` is the greatest or the least net present value among them.
    """

    times: float | None
    status: float
    residual: float
    below: float
    low: float
    high: float


def price_of_a_watt(case: Case, results: Results) -> Value:
    """Average price of a stabilised watt that the plan sells, in money of the case before any change of prices."""
    output = results.line.output
    amounts, cut = results.line.paid_by_unit(), _cut(case, results)
    sold = [
        (row.output_share - cut[name]) * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money)
        for name, row in case.sales.items()
    ]
    return safe_divide(sum_of(sold), output.stabilised_watts * (1 - sum_of(list(cut.values()))))


def _cut(case: Case, results: Results) -> dict[str, Value]:
    """The part of all output planned that each row of sales.csv plans and its market does not take."""
    if not results.has_plan:
        return dict.fromkeys(case.sales, 0.0)
    planned = [quarter.planned_share for quarter in results.plan.quarters.values()]
    sold = sold_shares(case, results.plan.markets, len(planned))
    whole = sum_of(planned)
    return {
        name: row.output_share * safe_divide(sum_of([made * (1 - part) for made, part in zip(planned, sold[name])]), whole)
        for name, row in case.sales.items()
    }


def with_prices(case: Case, times: Value) -> Case:
    """The case with all prices of sales.csv times a factor."""
    return replaced(case, {f"sales.{name}.price": row.price * times for name, row in case.sales.items()})


def with_volume(case: Case, times: Value) -> Case:
    """The case with the share of the output that is planned, and sold as far as markets take it, times a factor."""
    return replaced(case, {"schedule.volume_share": case.plan.schedule.volume_share * times})


def least_price(case: Case) -> Least:
    """All prices of sales.csv times one factor, so that the project earns its required return and no more."""
    prices = [f"sales.{name}.price" for name in case.sales]
    capital = evaluate(case).plan.capital
    return _least(_worth(case, prices), MOST, capital)


def least_volume(case: Case) -> Least:
    """The share of the output that must be planned for the required return; markets take of it what they take.

    The costs of the plant stay. Where a market takes no more, a larger share earns no more.
    """
    capital, share = evaluate(case).plan.capital, "schedule.volume_share"
    return _least(_worth(case, [share]), 1 / value_at(case, share), capital)


def _worth(case: Case, addresses: Sequence[str]) -> Callable[[np.ndarray], np.ndarray]:
    """The net present value of the project with some inputs times a factor."""
    present = {address: value_at(case, address) for address in addresses}
    recording = Recording(case, addresses, [NPV])
    return lambda times: recording.run({address: value * times for address, value in present.items()})[NPV]


def _least(at: Callable[[np.ndarray], np.ndarray], most: float, capital: float) -> Least:
    """Where a net present value first ceases to be negative; `capital` is what a jump is large against.

    >>> found = _least(lambda x: 4 * x - 10, 50.0, 100.0)
    >>> round(found.times, 9), found.status, abs(found.residual) < 1e-9
    (2.5, 1.0, True)
    >>> found = _least(lambda x: np.where(x < 2.5, -10.0, 3.0), 50.0, 100.0)
    >>> round(found.times, 9), found.status, found.below, found.residual
    (2.5, 3.0, -10.0, 3.0)
    >>> _least(lambda x: x - 60, 50.0, 100.0).status, _least(lambda x: x + 60, 50.0, 100.0).status
    (0.0, 2.0)
    """
    found = profile(at, np.geomspace(LEAST, most, POINTS))
    if found.values[0] >= 0:
        least = float(found.values.min())
        return Least(None, ANY, least, least, LEAST, most)
    if not found.changes:
        greatest = float(found.values.max())
        return Least(None, NONE, greatest, greatest, LEAST, most)
    first = found.changes[0]  # from below 0, as the scan begins there
    status = FOUND if first.at_high <= ZERO * abs(capital) else JUMP
    return Least(first.high, status, first.at_high, first.at_low, LEAST, most)
