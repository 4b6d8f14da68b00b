"""The licensee: its alternatives, and what the payments leave to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...case.whole_case import Case
from ...core.operations import Value, larger, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..plan.closing_time import Use
from ..plan.exchange_rates import moved
from ..plan.plan_figures import Plan, Quarter
from ..plan.timing import due, in_quarters
from ..plan.worth import each_quarter, npv
from .deal_figures import Alternative, Licensee, Taken
from .performance_guarantees import Owed


def dividends(case: Case, quarters: Sequence[Quarter], lost: Row) -> Row:
    """What the licensor's shares are paid: its part of the cash of the project, where there is any; `lost` is taken by others.

        paid = case.deal.licence.equity_share * larger(Row([each.free_cash for each in quarters]) - lost, 0.0)    [money]

    Takes: lost [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(deal=Some(licence=Some(equity_share=0.1)))
    >>> dividends(case, [Some(free_cash=-50.0), Some(free_cash=100.0)], Row([0.0, 20.0]))
    [0.0, 8.0]
    """
    return case.deal.licence.equity_share * larger(Row(each.free_cash for each in quarters) - lost, 0.0)


def alternatives(case: Case, plan: Plan, free: Value, sales: Value) -> dict[str, Alternative]:
    """Doing nothing, another line for the same money, and the same plant by another way; at the licensee's rate and tax.

        rate = plan.required_return    [1]
        years = [row.delay / case.constants.year for row in case.other_ways.values()]    [1]
        royalty = [row.royalty * sales * (1 - case.plan.tax.rate) for row in case.other_ways.values()]    [money]
        costs = [in_reporting_currency(row.cost, row.currency, case.money) / (1 + rate) ** (time / 2) for row, time in
            zip(case.other_ways.values(), years)]    [money]
        ways = [row.probability * (row.value_share * free - paid) / (1 + rate) ** time - cost for row, time, paid, cost in
            zip(case.other_ways.values(), years, royalty, costs)]    [money]
        npv = [0.0 * free, *[each.worth.npv for each in plan.others.values()], *ways]

    Takes: free [money], sales [money].
    Source: common practice.

    `free` and `sales` are of the plant with nothing paid for the licence and, where a delay of ours is stated, without it.

    Another way takes a year and costs 10, at 21 % a year; it would bring half of the value, at odds of 80 %:

    >>> from types import SimpleNamespace as Some
    >>> way = Some(delay=1.0, cost=11.0, currency="EUR", royalty=0.0, probability=0.8, value_share=0.5)
    >>> case = Some(other_ways={"own": way}, constants=Some(year=1.0), money={"eur": Some(exchange_rate=1.0)})
    >>> case.plan = Some(tax=Some(rate=0.25))
    >>> found = alternatives(case, Some(required_return=0.21, others={}), 242.0, 0.0)
    >>> {name: round(each.npv, 9) for name, each in found.items()}
    {'nothing': 0.0, 'way_own': 70.0}
    """
    found = {"nothing": Alternative(npv=0.0 * free)}
    found |= {f"line_{name}": Alternative(npv=each.worth.npv) for name, each in plan.others.items()}
    for name, row in case.other_ways.items():
        years = row.delay / case.constants.year
        later = (1 + plan.required_return) ** years
        cost = in_reporting_currency(row.cost, row.currency, case.money) / (1 + plan.required_return) ** (years / 2)
        royalty = row.royalty * sales * (1 - case.plan.tax.rate)
        found[f"way_{name}"] = Alternative(npv=row.probability * (row.value_share * free - royalty) / later - cost)
    return found


def damages_received(case: Case, use: Use, promised: Owed, rate: Value) -> Value:
    """Expected damages from the licensor, after tax, at the licensee's rate: due while the plant is in use. Common practice.

        row = case.deal.licensor    [any]
        amounts = [*[amount for amount, time, currency in promised], in_reporting_currency(row.damages, row.currency,
            case.money)]    [money]
        times = [*[time for amount, time, currency in promised], row.damages_time]    [s]
        currencies = [*[currency for amount, time, currency in promised], row.currency]    [any]
        shares = [use.while_open(due(len(use.open), in_quarters(case, time))) for time in times]    [1]
        rates = [Row([moved(case, currency, column) for column in range(len(use.open))]) for currency in currencies]    [1]
        found = [npv(amount * share * each, each_quarter(rate)) for amount, share, each in zip(amounts, shares, rates)]
            [money]
        damages = sum_of(found) * (1 - case.plan.tax.rate)    [money]

    Takes: rate [1].
    Source: common practice.

    `promised` are damages under each guarantee less the licensee's part of its tests: amount, time, currency.
    100 on the first day, taxed at 25 %:

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> seller = Some(damages=100.0, damages_time=0.0, currency="EUR")
    >>> case = Some(currency="EUR", money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=4.0))
    >>> case.deal, case.plan = Some(licensor=seller), Some(tax=Some(rate=0.25))
    >>> damages_received(case, to_the_end(3), [], 0.1)
    75.0
    """
    row = case.deal.licensor
    owed = [*promised, (in_reporting_currency(row.damages, row.currency, case.money), row.damages_time, row.currency)]
    found = []
    for amount, time, currency in owed:
        shares = use.while_open(due(len(use.open), in_quarters(case, time)))
        rates = Row(moved(case, currency, column) for column in range(len(shares)))
        found.append(npv(amount * shares * rates, each_quarter(rate)))
    return sum_of(found) * (1 - case.plan.tax.rate)


def licensee(
    plan: Plan, ways: Mapping[str, Alternative], free: Value, sales: Value, given: Sequence[Value], rivals: Taken, damages: Value
) -> Licensee:
    """The licensee at its required return; its shares in the licensor's hands are a payment too, damages one that comes back.

        shares = npv(given, each_quarter(plan.required_return))    [money]
        best_alternative = largest_of([ways["nothing"].npv, *[each.npv for each in ways.values()]])
        npv_undisturbed = plan.project.npv - shares
        npv_free = free - rivals.licensee_free
        ceiling = npv_free - best_alternative
        sales_now = sales
        dividends = shares
        value = npv_undisturbed - rivals.licensee + damages    [money]
        cost = npv_free - value
        gain = value - best_alternative
        npv = value

    Takes: free [money], sales [money], given [money], damages [money].
    Source: common practice.

    `free` is the plant if nothing were paid and no one else were licensed in the territory.

    >>> from types import SimpleNamespace as Some
    >>> plan = Some(required_return=0.1, project=Some(npv=80.0))
    >>> found = licensee(plan, {"nothing": Alternative(0.0)}, 100.0, 500.0, [5.0], Some(licensee=3.0, licensee_free=4.0), 1.0)
    >>> found.npv, found.ceiling, found.cost, found.gain
    (73.0, 96.0, 23.0, 73.0)
    """
    shares = npv(given, each_quarter(plan.required_return))
    best = ways["nothing"].npv
    for each in ways.values():
        best = larger(best, each.npv)
    undisturbed = plan.project.npv - shares
    left, unpaid = undisturbed - rivals.licensee + damages, free - rivals.licensee_free
    return Licensee(
        npv=left,
        npv_undisturbed=undisturbed,
        npv_free=unpaid,
        best_alternative=best,
        ceiling=unpaid - best,
        cost=unpaid - left,
        gain=left - best,
        sales_now=sales,
        dividends=shares,
        damages=damages,
    )
