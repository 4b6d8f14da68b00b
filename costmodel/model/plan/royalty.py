"""The running royalty under the licence, and what is missing to its minimum, by column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ...case.deal_records import MinimumRoyalty
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.landed_prices import in_reporting_currency
from .closing_time import Use
from .exchange_rates import converted, moved
from .supplied import Supply
from .timing import QUARTERS, between, by_year, in_quarters, in_term, risen, running


@dataclass(frozen=True, slots=True)
class Trade:
    """What payments go by: start of production; net sales, watts on labels, materials used by column; how long use lasts.

    `supplied` are materials that the licensor supplies item by item.
    """

    start: Value
    sales: Row
    watts: Row
    materials: Row
    use: Use
    supplied: Mapping[str, Supply] = field(default_factory=dict)


def royalty_time(case: Case) -> Value:
    """How long after the start of production royalty is paid: its term, or until it is bought out.

        time = least_of([case.deal.licence.term, *[row.time for row in case.buy_outs.values()]])    [s]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> royalty_time(Some(deal=Some(licence=Some(term=10.0)), buy_outs={"early": Some(time=6.0)}))
    6.0
    """
    time = case.deal.licence.term
    for row in case.buy_outs.values():
        time = smaller(time, row.time)
    return time


def royalty(case: Case, trade: Trade) -> Row:
    """Running royalty earned: on net sales and on watts, as steps change it, not above the cap.

        row = case.deal.licence    [any]
        count = len(trade.sales)    [1]
        ran = running(count, trade.start)    [1]
        paid = in_term(case, count, trade.start, royalty_time(case))    [1]
        factors = [1.0, *[step.factor for step in case.royalty_steps.values()]]    [1]
        after = [safe_divide(running(count, trade.start + in_quarters(case, step.time)), ran) for step in
            case.royalty_steps.values()]    [1]
        factor = 1.0 + sum_of([(now - before) * share for now, before, share in zip(factors[1:], factors, after)])    [1]
        base = row.net_sales * trade.sales    [money]
        prices = [risen(row.per_watt_change * case.constants.year, k) * moved(case, row.currency, k) for k in range(count)]
            [1]
        by_watts = in_reporting_currency(row.royalty_per_watt, row.currency, case.money) * trade.watts * Row(prices)
            [money]
        earned = safe_divide(paid, ran) * smaller(factor * (row.royalty * base + by_watts), row.royalty_cap * base)    [money]

    Source: common practice.

    All sales of the quarter in which production starts are of its part after the start.

    4 % of net sales, which are nine tenths of sales, in the term of two quarters:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(term=2.0, royalty=0.04, royalty_per_watt=0.0, per_watt_change=0.0, royalty_cap=0.1)
    >>> row.net_sales, row.currency = 0.9, "EUR"
    >>> case = Some(deal=Some(licence=row), buy_outs={}, royalty_steps={}, currency="EUR")
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> use = Use(constant(1.0, 4), True, Row([]))
    >>> trade = Trade(0.0, Row([0.0, 100.0, 100.0, 100.0]), constant(0.0, 4), Row([]), use)
    >>> [round(each, 9) for each in royalty(case, trade)]
    [0.0, 3.6, 3.6, 0.0]
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
    """The least royalty of a row, by column, in its currency.

        least = row.amount * case.constants.year / QUARTERS * between(case, count, row.begin, row.end)    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(amount=10.0, begin=1.0, end=2.5)
    >>> least_royalty(Some(constants=Some(year=4.0)), row, 5)
    [0.0, 0.0, 10.0, 5.0, 0.0]
    """
    return row.amount * case.constants.year / QUARTERS * between(case, count, row.begin, row.end)


def until_bought_out(case: Case, trade: Trade, owed: Row) -> Row:
    """Minimums end with a buy-out.

        ended = sum_of([running(len(owed), trade.start + in_quarters(case, row.time)) for row in case.buy_outs.values()])
            [1]
        amounts = owed * (1 - ended)    [any]

    Takes: owed [any].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(buy_outs={"early": Some(time=1.5)}, constants=Some(year=4.0))
    >>> until_bought_out(case, Some(start=0.0), Row([0.0, 10.0, 10.0, 10.0]))
    [0.0, 10.0, 5.0, 0.0]
    """
    return owed * (1 - sum_of([running(len(owed), trade.start + in_quarters(case, x.time)) for x in case.buy_outs.values()]))


def minimum(case: Case, trade: Trade) -> Row:
    """The least royalty of each quarter while the plant is in use; none once it is bought out.

        rows = [converted(case, least_royalty(case, row, len(trade.sales)), row.currency) for row in
            case.minimum_royalties.values()]    [money]
        least = trade.use.while_open(until_bought_out(case, trade, sum_of([0.0 * trade.sales, *rows])))    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(amount=10.0, begin=0.0, end=2.0, currency="EUR")
    >>> case = Some(minimum_royalties={"a": row}, buy_outs={}, currency="EUR")
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> use = Use(constant(1.0, 4), True, Row([]))
    >>> minimum(case, Trade(0.0, constant(0.0, 4), constant(0.0, 4), Row([]), use))
    [0.0, 10.0, 10.0, 0.0]
    """
    owed = 0.0 * trade.sales
    for row in case.minimum_royalties.values():
        owed = owed + converted(case, least_royalty(case, row, len(owed)), row.currency)
    return trade.use.while_open(until_bought_out(case, trade, owed))


def missing_to_minimum(owed: Row, earned: Row, use: Use) -> Row:
    """What is missing to the least royalty of each year, paid in its last quarter, or in the quarter in which the plant closes.

        short = [larger(sum_of(least) - sum_of(got), 0.0) for least, got in zip(by_year(owed), by_year(earned))]    [money]
        closed = [[*year[:-1], 0.0] for year in by_year(use.early(constant(1.0, len(owed))))]    [1]
        whole = [[*[0.0 * still for still in year[:-1]], year[-1]] for year in by_year(use.open)]    [1]
        years = [short[k] * (Row(closed[k]) + Row(whole[k])) for k in range(len(short))]    [money]
        missing = [amount for year in years for amount in year]    [money]

    Takes: owed [money], earned [money].
    Source: common practice.

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
