"""Prices in money of the case: exchange rate, cost index from the price year, freight and duty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ...case.cost_records import Currency, Facility, Index, Metal, Price, Service, SparePart, Utility
from ...case.line_records import Carrier, Tool
from ...case.whole_case import Case
from ...core.operations import Value


def in_reporting_currency(price: Value, currency: str, money: Mapping[str, Currency]) -> Value:
    """A price in the reporting currency, at the exchange rate of the case."""
    return price * money[currency.lower()].exchange_rate


def index_factor(indices: Iterable[Index], covers: str, price_year: str) -> Value:
    """What money of a price year is multiplied by to be money of the case; 1 where no index covers the table.

    A table that is covered has a row for each of its price years: that is checked when a case is read.

    >>> from costmodel.case.cost_records import Index
    >>> index_factor([Index("tools", "2024", 1.06), Index("tools", "2026", 1.0)], "tools", "2024")
    1.06
    """
    return next((row.factor for row in indices if row.covers == covers and row.year == price_year), 1.0)


def in_money_of_the_case(case: Case, covers: str, row: Tool | Carrier | Facility | Price | Service | SparePart | Utility) -> Value:
    """The price of a row with price, currency and price year, in the reporting currency and money of the case."""
    factor = index_factor(case.indices.values(), covers, row.price_year)
    return in_reporting_currency(row.price, row.currency, case.money) * factor


def landed(price: Value, row: Price) -> Value:
    """What a price in money of the case is at the gate: price x (1 + freight + duty). Duty is on the price without freight."""
    return price * (1 + row.freight + row.duty)


def metal_quote(case: Case, row: Metal) -> Value:
    """The quote of a metal in the reporting currency; a quote is of today, so that no cost index is on it."""
    return in_reporting_currency(row.quote, row.currency, case.money)


def metal_credit(case: Case, row: Metal) -> Value:
    """What recovered metal is credited at: the quote less what the refiner keeps. Common practice."""
    return metal_quote(case, row) * (1 - row.refining_share)
