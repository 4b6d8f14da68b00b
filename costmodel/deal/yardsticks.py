"""Yardsticks of licence payments: shares of profit."""

from __future__ import annotations

from ..operations import Value, safe_divide


def profit_share(payments: Value, profit: Value) -> Value:
    """Licensor's share of enterprise profit: payments over payments and what profit the licensee keeps.

    A royalty of 4 for 5 years beside 56 of other profit (UNIDO, Manual on Technology Transfer Negotiation, 1996, p. 256):

    >>> round(profit_share(5 * 4.0, 5 * 56.0), 5)
    0.06667
    """
    return safe_divide(payments, payments + profit)


def turnover_factor(payments: Value, profit: Value) -> Value:
    """Technology turnover factor: the licensee's profit for each unit paid; the share of profit is 1 over 1 and this.

    >>> turnover_factor(5 * 4.0, 5 * 56.0)
    14.0
    """
    return safe_divide(profit, payments)
