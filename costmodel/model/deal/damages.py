"""Damages for what falls short of a guarantee by a normal spread: probability, expected payment, what a retest leaves of both."""

from __future__ import annotations

from ...case.deal_records import Guarantee
from ...case.guarantee_records import PerformanceGuarantee
from ...case.whole_case import Case
from ...core.operations import Value, normal_cdf, safe_divide, smaller
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.soaking_costs import expected_shortfall


def falls_short(error: Value, spare: Value) -> Value:
    """The probability that what is measured falls short: its standard deviation and its mean above the limit, as parts of it.

        probability = normal_cdf(-safe_divide(spare, error))    [1]

    Takes: error [1], spare [1].
    Source: the normal distribution.

    >>> falls_short(0.05, 0.0)
    0.5
    """
    return normal_cdf(-safe_divide(spare, error))


def expected_payment(error: Value, spare: Value, terms: tuple[Value, Value, Value, Value]) -> Value:
    """Damages to be expected for a normal shortfall: by the shortfall up to a cap, and another sum from a shortfall on.

        each = terms[0]    [any]
        cap = terms[1]    [any]
        limit = terms[2]    [any]
        instead = terms[3]    [any]
        most = smaller(cap / each, limit)    [any]
        short = expected_shortfall(error, spare) - expected_shortfall(error, spare + most)    [any]
        payment = each * short + (instead - each * most) * falls_short(error, spare + limit)    [any]

    Takes: error [any], spare [any], terms [any].
    Source: the loss function of the normal distribution.

    `terms` are damages for a shortfall of 1, their cap, the shortfall from which the licensee may reject, and what is paid then.
    Up to that limit damages grow by the shortfall, not above the cap. Beyond it the other sum takes their place. Damages of D up
    to a cap c are those without a cap less those beyond c / D: both are loss functions of the normal distribution.

    Without a spare, by damages of 1 without cap and limit, half of the mean absolute deviation, 1 / (2 pi)^0.5:

    >>> round(expected_payment(1.0, 0.0, (1.0, 50.0, 50.0, 7.0)), 6)
    0.398942
    """
    each, cap, limit, instead = terms
    most = smaller(cap / each, limit)
    short = expected_shortfall(error, spare) - expected_shortfall(error, spare + most)
    return each * short + (instead - each * most) * falls_short(error, spare + limit)


def of_retests(case: Case, row: Guarantee | PerformanceGuarantee, miss: Value) -> tuple[Value, Value]:
    """What is left to pay of each miss after a retest, and the cost of retests to be expected: one after each miss.

        left = 1 - row.retest_passed    [1]
        cost = in_reporting_currency(miss * row.retest_cost, row.currency, case.money)    [money]
        share_left, expected_cost = left, cost    [1, money]

    Takes: miss [1].
    Source: common practice.

    A retest passes with one probability, whatever the shortfall; if it does not, what the first tests found is paid.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(retest_passed=0.75, retest_cost=8000.0, currency="EUR")
    >>> of_retests(Some(money={"eur": Some(exchange_rate=1.0)}), row, 0.1)
    (0.25, 800.0)
    """
    return 1 - row.retest_passed, in_reporting_currency(miss * row.retest_cost, row.currency, case.money)
