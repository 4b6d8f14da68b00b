"""The running royalty under the licence, and what is missing to its minimum, by column."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.deal_records import MinimumRoyalty
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.prices import in_reporting_currency
from .exchange import converted, moved
from .time_of_use import Use
from .timing import QUARTERS, between, by_year, in_quarters, in_term, risen, running


@dataclass(frozen=True, slots=True)
class Trade:
    """What payments go by: start of production; net sales, watts and materials used by column; how long the plant is in use."""

    start: Value
    sales: Row
    watts: Row
    materials: Row
    use: Use


def royalty_time(case: Case) -> Value:
    """How long after the start of production royalty is paid: its term, or until it is bought out."""
    time = case.deal.licence.term
    for row in case.buy_outs.values():
        time = smaller(time, row.time)
    return time


def royalty(case: Case, trade: Trade) -> Row:
    """Running royalty earned: on net sales and on watts, as steps change it, not above the cap.

    All sales of the quarter in which production starts are of its part after the start.
    """
    row, count = case.deal.licence, len(trade.sales)
    ran = running(count, trade.start)
    per_watt = in_reporting_currency(row.royalty_per_watt, row.currency, case.money)
    change, paid = row.per_watt_change * case.constants.year, in_term(case, count, trade.start, royalty_time(case))
    factors = [1.0, *(x.factor for x in case.royalty_steps.values())]
    moves = [now - before for now, before in zip(factors[1:], factors)]
    after = [running(count, trade.start + in_quarters(case, x.time)) for x in case.royalty_steps.values()]
    factor = 1.0 + sum_of([move * safe_divide(share, ran) for move, share in zip(moves, after)])
    prices = Row(risen(change, number) for number in range(count))
    rates = Row(moved(case, row.currency, number) for number in range(count))
    base = row.net_sales * trade.sales
    wanted = factor * (row.royalty * base + per_watt * trade.watts * prices * rates)
    return safe_divide(paid, ran) * smaller(wanted, row.royalty_cap * base)


def least_royalty(case: Case, row: MinimumRoyalty, count: int) -> Row:
    """The least royalty of a row, by column, in its currency."""
    return row.amount * case.constants.year / QUARTERS * between(case, count, row.begin, row.end)


def until_bought_out(case: Case, trade: Trade, owed: Row) -> Row:
    """Minimums end with a buy-out."""
    return owed * (1 - sum_of([running(len(owed), trade.start + in_quarters(case, x.time)) for x in case.buy_outs.values()]))


def minimum(case: Case, trade: Trade) -> Row:
    """The least royalty of each quarter while the plant is in use; none once it is bought out."""
    owed = 0.0 * trade.sales
    for row in case.minimum_royalties.values():
        owed = owed + converted(case, least_royalty(case, row, len(owed)), row.currency)
    return trade.use.while_open(until_bought_out(case, trade, owed))


def missing_to_minimum(owed: Row, earned: Row, use: Use) -> Row:
    """What is missing to the least royalty of each year, paid in its last quarter, or in the quarter in which the plant closes.

    >>> owed, earned = Row([0.0] + [10.0] * 4 + [0.0] * 4), Row([0.0, 0.0, 5.0, 5.0, 6.0, 9.0, 9.0, 9.0, 9.0])
    >>> missing_to_minimum(owed, earned, Use(constant(1.0, 9), True, Row([])))[4:]
    [24.0, 0.0, 0.0, 0.0, 0.0]
    >>> closed = Use(Row([1.0] * 3 + [0.0] * 6), False, Row([]))
    >>> missing_to_minimum(closed.while_open(owed), closed.while_open(earned), closed)[:5]
    [0.0, 0.0, 15.0, 0.0, 0.0]
    """
    missing: list[Value] = []
    ends = use.early(constant(1.0, len(owed)))
    for least, got, ended, still in zip(by_year(owed), by_year(earned), by_year(ends), by_year(use.open)):
        short = larger(sum_of(least) - sum_of(got), 0.0)
        missing += [*(short * end for end in ended[:-1]), short * still[-1]]
    return Row(missing)
