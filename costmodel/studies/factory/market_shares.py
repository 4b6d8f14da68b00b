"""Which planned sales ask for a large share of a market, or for a price that it does not pay."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...case.plan_records import UNLIMITED
from ...case.summary import NEWCOMER
from ...case.whole_case import Case
from ...model.evaluate import Results
from ...model.ledger.prices import in_reporting_currency

A_LITTLE = 0.05  # difference between the price asked and the price of a sale that is still rounding; common practice


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
    """Markets of which the plan would sell more than a third in a year, in words for `check`.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> any("home_market" in words for words in large_plans(case, evaluate(case)))
    False
    """
    for name, found in (results.plan.markets if results.has_plan else {}).items():
        share = max(found.planned_by_year.values()) / case.markets[name].volume
        if share > NEWCOMER:
            yield f"sales plan {100 * share:.3g} % of markets.{name}.volume in a year, much for a newcomer"
