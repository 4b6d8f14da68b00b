"""Yardsticks of licence payments: shares of profit, of gain and of sales."""

from __future__ import annotations

from ...core.operations import Value, choose, safe_divide, valid_if


def share_of(part: Value, whole: Value) -> tuple[Value, Value]:
    """A part over what it is part of, and its status: a share of what is not above 0 has no value.

        share, status = valid_if(whole > 0, safe_divide(part, whole)), choose(whole > 0, 1.0, 0.0)    [1, 1]

    Takes: part [any], whole [any].
    Source: common practice.

    The licensor's part of what both sides gain, and payments over sales. A licensor that gains 3 where both gain 4; one that gains
    what the other loses:

    >>> share_of(3.0, 4.0), share_of(3.0, 0.0), share_of(3.0, -1.0)
    ((0.75, 1.0), (nan, 0.0), (nan, 0.0))
    """
    return valid_if(whole > 0, safe_divide(part, whole)), choose(whole > 0, 1.0, 0.0)


def profit_share(payments: Value, profit: Value) -> tuple[Value, Value]:
    """Licensor's share of enterprise profit: payments over payments and what profit the licensee keeps; and its status.

        together = payments + profit    [any]
        share, status = valid_if(together > 0, safe_divide(payments, together)), choose(together > 0, 1.0, 0.0)    [1, 1]

    Takes: payments [any], profit [any].
    Source: UNIDO, Manual on Technology Transfer Negotiation, 1996.

    A share of what is not above 0 has no value. A royalty of 4 for 5 years beside 56 of other profit (UNIDO, Manual on
    Technology Transfer Negotiation, 1996, p. 256):

    >>> round(profit_share(5 * 4.0, 5 * 56.0)[0], 5), profit_share(20.0, -30.0)
    (0.06667, (nan, 0.0))
    """
    return share_of(payments, payments + profit)


def turnover_factor(payments: Value, profit: Value) -> tuple[Value, Value]:
    """Technology turnover factor: the licensee's profit for each unit paid; the share of profit is 1 over 1 and this.

        factor, status = valid_if(payments > 0, safe_divide(profit, payments)), choose(payments > 0, 1.0, 0.0)    [1, 1]

    Takes: payments [any], profit [any].
    Source: UNIDO, Manual on Technology Transfer Negotiation, 1996.

    With its status; without payments it has no value.

    >>> turnover_factor(5 * 4.0, 5 * 56.0), turnover_factor(0.0, 280.0)
    ((14.0, 1.0), (nan, 0.0))
    """
    return valid_if(payments > 0, safe_divide(profit, payments)), choose(payments > 0, 1.0, 0.0)
