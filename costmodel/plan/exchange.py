"""Exchange rates over the plan: each changes evenly, year by year, from that of the first day."""

from __future__ import annotations

from ..case.records import Case
from ..operations import Value
from .timing import risen


def moved(case: Case, currency: str, quarter: int) -> Value:
    """What an exchange rate into the reporting currency has become in a quarter, over that of the first day."""
    if currency == case.currency:
        return 1.0
    return risen(case.money[currency.lower()].change * case.constants.year, quarter)


def moved_against(case: Case, currency: str, other: str, count: int) -> list[Value]:
    """The same of a rate into another currency, by quarter."""
    if currency == other:
        return [1.0] * count
    return [moved(case, currency, k) / moved(case, other, k) for k in range(count)]
