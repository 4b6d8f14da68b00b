"""The least price, and the least volume, at which the project earns its required return."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import replaced
from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..model import Results
from ..operations import Value, safe_divide, sum_of
from ..plan.plan import compute_plan
from ..plan.sales import sold_shares
from ..roots import Function, profile

LEAST, MOST = 1e-3, 50.0  # times the present prices that are looked at
POINTS = 401  # of the scan, in equal ratios


@dataclass(frozen=True, slots=True)
class Least:
    """Where the net present value is nothing; `times` the present value, and what is left of the net present value there.

    None for `times` where no value looked at will do.
    """

    times: float | None
    residual: float


def price_of_a_watt(case: Case, results: Results) -> Value:
    """Average price of a stabilised watt that the plan sells, in money of the case before any change of prices."""
    output = results.line.output
    amounts, cut = output.by_unit(), _cut(case, results)
    sold = [
        (row.output_share - cut[name]) * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money)
        for name, row in case.sales.items()
    ]
    return safe_divide(sum_of(sold), output.stabilised_watts * (1 - sum_of(list(cut.values()))))


def _cut(case: Case, results: Results) -> dict[str, Value]:
    """The part of all output planned that each row of sales.csv plans and its market does not take."""
    if results.plan is None:
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
    return replaced(case, {"schedule.volume_share": case.schedule.volume_share * times})


def least_price(case: Case, results: Results) -> Least:
    """All prices of sales.csv times one factor, so that the project earns its required return and no more."""

    return _least(lambda times: _npv(with_prices(case, times), results), MOST)


def least_volume(case: Case, results: Results) -> Least:
    """The share of the output that must be planned for the required return; markets take of it what they take.

    The costs of the plant stay. Where a market takes no more, a larger share earns no more.
    """
    return _least(lambda times: _npv(with_volume(case, times), results), 1 / case.schedule.volume_share)


def _npv(case: Case, results: Results) -> Value:
    return compute_plan(case, results.line, results.ledger).project.npv


def _least(at: Function, most: float) -> Least:
    """The first value at which what is left is not negative: just there, or behind a jump past it."""
    found = profile(at, np.geomspace(LEAST, most, POINTS))
    if not found.stretches:
        return Least(None, float(found.values[-1]))
    if found.values[0] >= 0:
        return Least(LEAST, float(found.values[0]))
    change = found.changes[0]
    return Least(change.high, change.at_high) if change.jump else Least(change.nearest, change.residual)
