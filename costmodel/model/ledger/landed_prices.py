"""Prices in money of the case: exchange rate, cost index from the price year, freight and duty."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ...case.cost_records import Currency, Facility, Index, Metal, Price, Service, SparePart, Utility
from ...case.line_records import Carrier, Tool
from ...case.whole_case import Case
from ...core.operations import Value


def in_reporting_currency(price: Value, currency: str, money: Mapping[str, Currency]) -> Value:
    """A price in the reporting currency, at the exchange rate of the case.

        price in money of the case = price * money[currency.lower()].exchange_rate    [any]

    Takes: price [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Row
    >>> in_reporting_currency(10.0, "USD", {"usd": Row(exchange_rate=0.75)})
    7.5
    """
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
    """The price of a row with price, currency and price year, in the reporting currency and money of the case.

        price in money of the case = in_reporting_currency(row.price, row.currency, case.money) *
            index_factor(case.indices.values(), covers, row.price_year)    [any]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> row = case.spares["coater_parts"]
    >>> factor = index_factor(case.indices.values(), "spares", row.price_year)
    >>> row.currency, in_money_of_the_case(case, "spares", row) == row.price * factor
    ('EUR', True)
    """
    factor = index_factor(case.indices.values(), covers, row.price_year)
    return in_reporting_currency(row.price, row.currency, case.money) * factor


def landed(price: Value, row: Price) -> Value:
    """A price in money of the case at the gate, with freight and duty.

        landed price = price * (1 + row.freight + row.duty)    [any]

    Takes: price [any].
    Source: common practice.

    Duty is on the price without freight.

    >>> from types import SimpleNamespace as Row
    >>> landed(100.0, Row(freight=0.25, duty=0.5))
    175.0
    """
    return price * (1 + row.freight + row.duty)


def metal_quote(case: Case, row: Metal) -> Value:
    """The quote of a metal in the reporting currency; a quote is of today, so that no cost index is on it."""
    return in_reporting_currency(row.quote, row.currency, case.money)


def metal_credit(case: Case, row: Metal) -> Value:
    """Credit for recovered metal: the quote less what the refiner keeps.

        credit = metal_quote(case, row) * (1 - row.refining_share)    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Case
    >>> silver = Metal("silver", "target", 1000.0, "EUR", "kg", 0.25)
    >>> metal_credit(Case(money={"eur": Case(exchange_rate=1.0)}), silver)
    750.0
    """
    return metal_quote(case, row) * (1 - row.refining_share)
