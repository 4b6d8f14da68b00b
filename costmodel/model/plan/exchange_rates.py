"""Exchange rates over the plan: each changes evenly from that of day one, and a flow is at the rate of when it counts."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.series import Row, constant
from ..ledger.landed_prices import in_reporting_currency
from .timing import QUARTERS


def moved(case: Case, currency: str, column: float) -> Value:
    """What an exchange rate into the reporting currency has become when a column counts, over that of day one.

        factor = 1.0 if currency == case.currency else (1 + case.money[currency.lower()].change * case.constants.year) **
            (column / QUARTERS)    [1]

    Source: common practice.

    A rate that rises by 21 % a year, after half a year:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", money={"usd": Some(change=0.21)}, constants=Some(year=1.0))
    >>> round(moved(case, "USD", 2), 12), moved(case, "EUR", 2)
    (1.1, 1.0)
    """
    if currency == case.currency:
        return 1.0
    return (1 + case.money[currency.lower()].change * case.constants.year) ** (column / QUARTERS)


def moved_against(case: Case, currency: str, other: str, count: int) -> Row:
    """The same of a rate into another currency, column by column.

        factors = [1.0 if currency == other else moved(case, currency, column) / moved(case, other, column) for column in
            range(count)]    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", money={"usd": Some(change=0.21)}, constants=Some(year=1.0))
    >>> moved_against(case, "EUR", "USD", 1), moved_against(case, "USD", "USD", 2)
    ([1.0], [1.0, 1.0])
    """
    if currency == other:
        return constant(1.0, count)
    return Row(moved(case, currency, k) / moved(case, other, k) for k in range(count))


def converted(case: Case, amounts: Sequence[Value], currency: str) -> Row:
    """Amounts or prices by column in the reporting currency, each at the exchange rate of when it counts.

        reported = [in_reporting_currency(amount, currency, case.money) * moved(case, currency, column) for column, amount in
            enumerate(amounts)]    [any]

    Takes: amounts [any].
    Source: common practice.

    10 dollars on the first day and a year later, at 0.8 EUR, rising by a quarter a year:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", money={"usd": Some(exchange_rate=0.8, change=0.25)}, constants=Some(year=1.0))
    >>> converted(case, [10.0, 0.0, 0.0, 0.0, 10.0], "USD")
    [8.0, 0.0, 0.0, 0.0, 10.0]
    """
    return Row(in_reporting_currency(amount, currency, case.money) * moved(case, currency, k) for k, amount in enumerate(amounts))
