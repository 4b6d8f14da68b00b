"""Exchange rates over the plan: each changes evenly from that of day one, and a flow is at the rate of when it counts."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.series import Row, constant
from ..ledger.prices import in_reporting_currency
from .timing import QUARTERS


def moved(case: Case, currency: str, column: float) -> Value:
    """What an exchange rate into the reporting currency has become when a column counts, over that of day one."""
    if currency == case.currency:
        return 1.0
    return (1 + case.money[currency.lower()].change * case.constants.year) ** (column / QUARTERS)


def moved_against(case: Case, currency: str, other: str, count: int) -> Row:
    """The same of a rate into another currency, column by column."""
    if currency == other:
        return constant(1.0, count)
    return Row(moved(case, currency, k) / moved(case, other, k) for k in range(count))


def converted(case: Case, amounts: Sequence[Value], currency: str) -> Row:
    """Amounts by column in the reporting currency, each at the exchange rate of when it counts."""
    return Row(in_reporting_currency(amount, currency, case.money) * moved(case, currency, k) for k, amount in enumerate(amounts))
