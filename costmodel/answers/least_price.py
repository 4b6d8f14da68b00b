"""The least price, and the least volume, at which the project earns its required return."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..case.addresses import replaced
from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..model import Results
from ..operations import Value, sum_of
from ..plan.plan import compute_plan

MOST = 50.0  # times the present prices that are looked at


@dataclass(frozen=True, slots=True)
class Least:
    """Where the net present value is nothing; `times` the present value, and what is left of the net present value there.

    None for `times` where no value looked at will do.
    """

    times: float | None
    residual: float


def price_of_a_watt(case: Case, results: Results) -> Value:
    """What a stabilised watt fetches on average, in money of the case before any change of prices."""
    output = results.line.output
    amounts = output.by_unit()
    sold = [
        row.output_share * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money)
        for row in case.sales.values()
    ]
    return sum_of(sold) / output.stabilised_watts


def with_prices(case: Case, times: Value) -> Case:
    """The case with all prices of sales.csv times a factor."""
    return replaced(case, {f"sales.{name}.price": row.price * times for name, row in case.sales.items()})


def with_volume(case: Case, times: Value) -> Case:
    """The case with the share of the output that is made and sold times a factor."""
    return replaced(case, {"schedule.volume_share": case.schedule.volume_share * times})


def least_price(case: Case, results: Results) -> Least:
    """All prices of sales.csv times one factor, so that the project earns its required return and no more."""

    return _least(lambda times: _npv(with_prices(case, times), results), MOST)


def least_volume(case: Case, results: Results) -> Least:
    """The share of the output that must be made and sold, costs of the plant standing, for the required return."""
    return _least(lambda times: _npv(with_volume(case, times), results), 1 / case.schedule.volume_share)


def _npv(case: Case, results: Results) -> float:
    return compute_plan(case, results.line, results.ledger).project.npv


def _least(at: Callable[[float], float], most: float) -> Least:
    from scipy.optimize import brentq

    low, high = 1e-3, most
    if at(high) < 0:
        return Least(None, at(high))
    if at(low) > 0:
        return Least(low, at(low))
    root = brentq(at, low, high, xtol=1e-12, rtol=1e-12)
    return Least(float(root), at(root))
