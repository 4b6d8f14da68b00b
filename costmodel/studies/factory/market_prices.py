"""What buyers could pay: against the efficiency of our module, and beside the prices that the plan asks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...case.changes import with_values
from ...case.plan_records import UNLIMITED
from ...case.summary import NEWCOMER
from ...case.whole_case import Case
from ...model.evaluate import Results, evaluate_costs
from ...model.ledger.landed_prices import in_reporting_currency

A_LITTLE = 0.05  # difference between the price asked and the price of a sale that is still rounding; common practice


@dataclass(frozen=True, slots=True)
class PriceCurve:
    """Highest price in every market, and cost, per square metre, by stabilised efficiency on the whole area.

    Per square metre the highest price is a straight line in efficiency, whatever limits the market. A square metre costs at
    every efficiency what it costs in the case.
    """

    efficiency: tuple[float, ...]
    highest_price_per_m2: dict[str, tuple[float, ...]]
    cost_per_m2: float


def price_curve(case: Case, points: int = 60) -> PriceCurve:
    """From half the efficiency of the module up to that of the best reference, or to double its own.

    >>> from costmodel.case.load import load_case
    >>> curve = price_curve(load_case("inputs_demo/facade"))
    >>> curve.highest_price_per_m2["open_field"][0] < curve.highest_price_per_m2["open_field"][-1]
    True
    """
    results = evaluate_costs(case)
    found = results.market.by_market
    own = next(iter(found.values())).ours.efficiency
    per_initial = own / case.product.initial_efficiency
    top = min(max(2 * own, *(each.reference.efficiency for each in found.values())), per_initial)
    efficiency = np.linspace(0.5 * own, top, points)
    at_each = evaluate_costs(with_values(case, {"product.initial_efficiency": efficiency / per_initial})).market.by_market
    highest = {name: tuple(each.highest_price_per_m2.tolist()) for name, each in at_each.items()}
    return PriceCurve(tuple(efficiency.tolist()), highest, results.ledger.total.cost_per_m2)


@dataclass(frozen=True, slots=True)
class SalePrice:
    """The price of a row of sales.csv beside two of its market, all per unit of the row in the reporting currency."""

    sale: str
    market: str
    per: str
    price: float
    highest: float
    asked: float

    @property
    def too_high(self) -> bool:
        """Whether a buyer is better off with the best alternative at this price."""
        return self.price > self.highest * (1 + 1e-9)

    @property
    def not_as_asked(self) -> bool:
        """Whether the price asked in markets.csv is another one."""
        return abs(self.price - self.asked) > A_LITTLE * self.asked


def sale_prices(case: Case, results: Results) -> list[SalePrice]:
    """Each row of sales.csv that names a market, with the highest price there and the price asked, in the unit of the row.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> [(each.sale, each.too_high) for each in sale_prices(case, evaluate(case))]
    [('facade', False), ('glaziers', False)]
    """
    found, power = [], results.line.output.stabilised_power
    for name, row in case.sales.items():
        if row.market == UNLIMITED:
            continue
        market = results.market.by_market[row.market]
        watts = {"Wp_stabilised": 1.0, "m2": market.ours.watts_per_m2, "module": power}[row.per]
        price = in_reporting_currency(row.price, row.currency, case.money)
        found.append(SalePrice(name, row.market, row.per, price, market.highest_price * watts, market.asked_price * watts))
    return found


def odd_prices(case: Case, results: Results) -> Iterator[str]:
    """Rows of sales.csv at a price that the market cannot pay, or that is not the price asked there, in words for `check`."""
    for each in sale_prices(case, results):
        place, unit = f"sales.{each.sale}.price", f"{case.currency} per {each.per}"
        if each.too_high:
            yield f"{place} is {each.price:.4g} {unit}, above the highest price of markets.{each.market}, {each.highest:.4g}"
        if each.not_as_asked:
            yield f"{place} is {each.price:.4g} {unit}, markets.{each.market}.asked_price is {each.asked:.4g}"


def large_plans(case: Case, results: Results) -> Iterator[str]:
    """Markets of which the plan would sell more than a third in a year, in words for `check`."""
    for name, found in (results.plan.markets if results.has_plan else {}).items():
        share = max(found.planned_by_year.values()) / case.markets[name].volume
        if share > NEWCOMER:
            yield f"sales plan {100 * share:.3g} % of markets.{name}.volume in a year, much for a newcomer"
