"""The end of use: what closing costs and brings, who bears what it does not pay, and what closing at the best time is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, largest_of, least_of, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.landed_prices import in_reporting_currency
from . import operation
from .closing_time import Use
from .plan_figures import Ending, YearCost
from .tax import Settled, tax_instead
from .timing import QUARTERS, in_quarters, quarter_names


@dataclass(frozen=True, slots=True)
class Proceeds:
    """What closing early at the end of each column would bring and cost, by column; the plant in use until then."""

    sale: Row
    set_free: Row
    cost: Row
    dismantling: Row
    unpaid: Row
    warranty: Row  # the provision that closing settles
    deducted: Row  # what tax deducts of that then


def available_if_closed(parts: Proceeds) -> Row:
    """What is there for the bank, then for what the licence leaves due.

        amount = parts.sale + parts.set_free - parts.cost - parts.dismantling - parts.unpaid - parts.warranty    [money]

    Source: common practice.

    >>> available_if_closed(Proceeds(*(Row([x]) for x in (100.0, 20.0, 30.0, 10.0, 5.0, 4.0, 4.0))))
    [71.0]
    """
    return parts.sale + parts.set_free - parts.cost - parts.dismantling - parts.unpaid - parts.warranty


def due_at_closing(claims: Row, paid: Row, missing: Row) -> Row:
    """Licence payments that closing makes due and that are paid, with what is missing to the minimum of the year so far.

        amount = claims * paid + missing    [money]

    Takes: claims [money], paid [1], missing [money].
    Source: common practice.

    >>> due_at_closing(Row([40.0]), Row([0.25]), Row([5.0]))
    [15.0]
    """
    return claims * paid + missing


def lost_in_books(replaced: Row, left: Row, sold_for: Row) -> Row:
    """Book value lost: of what is replaced, and at the end of use what is left above what assets sell for.

        lost = replaced + left - sold_for    [money]

    Takes: replaced [money], left [money], sold_for [money].
    Source: common practice.

    >>> lost_in_books(Row([5.0]), Row([60.0]), Row([20.0]))
    [45.0]
    """
    return replaced + left - sold_for


def closing_cost(case: Case, costs: Mapping[str, YearCost], fixed: Row, stock: Row, grant: Value, start: Value) -> Row:
    """Severance, loss on stock and grant to be paid back, if the plant closes early at the end of each column.

        row = case.plan.closing    [any]
        columns = range(len(fixed))    [any]
        bound = in_quarters(case, row.grant_time)    [1]
        wages = Row([operation.wages(case, costs, column) for column in columns])    [money]
        severance = wages * (row.severance_time / case.constants.year) * fixed    [money]
        back = grant * Row([smaller(1.0, safe_divide(larger(start + bound - column, 0.0), bound)) for column in columns])
            [money]
        cost = severance + stock * (1 - row.stock_recovered) + back    [money]

    Takes: fixed [1], stock [money], grant [money], start [1].
    Source: common practice.

    Severance of a quarter's wages, stock sold at three quarters of its cost, half of the grant paid back:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(severance_time=1.0, stock_recovered=0.75, grant_time=4.0)
    >>> plan = Some(closing=row, returns=Some(inflation=0.0))
    >>> case = Some(plan=plan, constants=Some(year=4.0), escalations={})
    >>> closing_cost(case, {"labour": YearCost(0.0, 0.0, 40.0)}, Row([1.0] * 3), Row([8.0] * 3), 20.0, 0.0)
    [32.0, 27.0, 22.0]
    """
    row, columns = case.plan.closing, range(len(fixed))
    bound = in_quarters(case, row.grant_time)
    wages = Row(operation.wages(case, costs, column) for column in columns)
    severance = wages * (row.severance_time / case.constants.year) * fixed
    back = grant * Row(smaller(1.0, safe_divide(larger(start + bound - column, 0.0), bound)) for column in columns)
    return severance + stock * (1 - row.stock_recovered) + back


def dismantling(case: Case, count: int) -> Row:
    """What the end of use costs at the end of each column with inflation.

        amount = in_reporting_currency(case.plan.closing.dismantling, case.plan.closing.currency, case.money)    [money]
        inflation = case.plan.returns.inflation * case.constants.year    [1]
        cost = [amount * (1 + inflation) ** (column / QUARTERS) for column in range(count)]    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> plan = Some(closing=Some(dismantling=100.0, currency="EUR"), returns=Some(inflation=0.21))
    >>> case = Some(plan=plan, money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=1.0))
    >>> [round(each, 9) for each in dismantling(case, 3)][::2]
    [100.0, 110.0]
    """
    amount = in_reporting_currency(case.plan.closing.dismantling, case.plan.closing.currency, case.money)
    inflation = case.plan.returns.inflation * case.constants.year
    return Row(amount * (1 + inflation) ** (column / QUARTERS) for column in range(count))


def paid_of_claims(case: Case, available: Row, debt: Row, due: Row) -> Row:
    """The share of licence payments due at closing that is paid: all where owners bear a shortfall, else what the bank leaves.

        rest = larger(available - debt, 0.0)    [money]
        paid = constant(1.0, len(due)) if case.plan.closing.shortfall == "owners" else choose(due > rest, safe_divide(rest,
            due), 1.0)    [1]

    Takes: available [money], debt [money], due [money].
    Source: common practice.

    >>> from types import SimpleNamespace
    >>> case = SimpleNamespace(plan=SimpleNamespace(closing=SimpleNamespace(shortfall="creditors")))
    >>> paid_of_claims(case, Row([100.0, 100.0, 20.0]), Row([60.0, 90.0, 30.0]), Row([40.0, 40.0, 40.0]))
    [1.0, 0.25, 0.0]
    """
    if case.plan.closing.shortfall == "owners":
        return constant(1.0, len(due))
    rest = larger(available - debt, 0.0)
    return choose(due > rest, safe_divide(rest, due), 1.0)


def forgiven(case: Case, available: Row, debt: Row) -> Row:
    """What the bank loses if the plant closes early: nothing where owners bear a shortfall.

        lost = 0.0 * debt if case.plan.closing.shortfall == "owners" else larger(debt - larger(available, 0.0), 0.0)
            [money]

    Takes: available [money], debt [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(closing=Some(shortfall="creditors")))
    >>> forgiven(case, Row([100.0, 20.0, -5.0]), Row([60.0, 60.0, 60.0]))
    [0.0, 40.0, 60.0]
    """
    if case.plan.closing.shortfall == "owners":
        return 0.0 * debt
    return larger(debt - larger(available, 0.0), 0.0)


def unpaid_claims(debt: Row, due: Row, available: Row) -> Row:
    """What is not there for debt and licence payments due at an early closing, by column; what closing costs beyond, owners pay.

        short = larger(debt + due - larger(available, 0.0), 0.0)    [money]

    Takes: debt [money], due [money], available [money].
    Source: common practice.

    >>> unpaid_claims(Row([60.0, 60.0]), Row([10.0, 10.0]), Row([50.0, -30.0]))
    [20.0, 70.0]
    """
    return larger(debt + due - larger(available, 0.0), 0.0)


@dataclass(frozen=True, slots=True)
class Ahead:
    """Columns of a plan, from which the worth of closing at each time follows if it never closes early."""

    discounted: Row
    settled: Settled
    unwritten: Row  # bought and not yet written off for tax
    due: Row  # licence payments that fall due with closing and are paid
    proceeds: Proceeds
    available: Row
    run: Row
    each: Value  # the required return for a quarter


def if_closed(case: Case, plan: Ahead) -> tuple[Row, Row]:
    """Net present value of the project if it closes at the end of each column, and its taxable income of that column then.

        parts = plan.proceeds    [any]
        expenses = parts.cost + parts.dismantling + plan.due + parts.deducted    [money]
        incomes = plan.settled.taxable + (parts.sale - plan.unwritten - parts.unpaid - expenses)    [money]
        taxes = [tax_instead(case, plan.settled, k, income) - plan.settled.paid[k] for k, income in enumerate(incomes[:-1])]
            [money]
        more = [(plan.available[k] - plan.due[k] - tax) / (1 + plan.each) ** k for k, tax in enumerate(taxes)]    [money]
        never = plan.discounted[-1]    [money]
        values = [choose(plan.run[k] >= 1, plan.discounted[k] + amount, never) for k, amount in enumerate(more)]    [money]
        value, income = [*values, never], incomes    [money, money]

    Source: from memory.

    Before a whole quarter ran, the net present value is that of never closing.

    A plant that would bring 50 at any time closes best after its first quarter, without tax:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(rate=0.0, loss_use=1.0, loss_relief="carried_forward", loss_years="60", holiday_losses="used")
    >>> case, none = Some(plan=Some(tax=row), constants=Some(year=4.0)), constant(0.0, 3)
    >>> from costmodel.model.plan.tax import Pools
    >>> settled = Settled(Row([0.0, 10.0, 10.0]), none, Pools([], [], [], []), none)
    >>> parts = Proceeds(constant(50.0, 3), *[none] * 6)
    >>> ahead = Ahead(Row([-100.0, -60.0, -30.0]), settled, none, none, parts, constant(50.0, 3), Row([0.0, 1.0, 1.0]), 0.0)
    >>> if_closed(case, ahead)
    ([-30.0, -10.0, -30.0], [50.0, 60.0, 60.0])
    """
    parts, never = plan.proceeds, plan.discounted[-1]
    gain = parts.sale - plan.unwritten - parts.unpaid - (parts.cost + parts.dismantling + plan.due + parts.deducted)
    incomes = plan.settled.taxable + gain
    found = []
    for column, available in enumerate(plan.available[:-1]):
        tax = tax_instead(case, plan.settled, column, incomes[column])
        more = available - plan.due[column] - (tax - plan.settled.paid[column])
        worth = plan.discounted[column] + more / (1 + plan.each) ** column
        found.append(choose(plan.run[column] >= 1, worth, never))
    return Row([*found, never]), incomes


def ending(case: Case, use: Use, plan: Ahead, shortfall: Row) -> Ending:
    """The end of use by the rule and at the best time; `plan` is the one that never closes.

        found = if_closed(case, plan)    [money]
        columns = range(len(found[0]))    [any]
        quarter = case.constants.year / QUARTERS    [s]
        last = columns[-1]    [1]
        early = 1.0 - use.open[-1]
        time = (sum_of(use.open) - 1.0) * quarter
        npv_never = found[0][-1]
        npv_best = largest_of(found[0])
        times = [choose(plan.run[k] >= 1, choose(found[0][k] >= npv_best, 1.0 * k, 1.0 * last), 1.0 * last) for k in columns]
            [1]
        best_time = least_of(times) * quarter
        npv_if_closed = found[0]
        taxable_if_closed = found[1]
        due_if_closed = plan.due
        shortage = use.early(shortfall)    [money]
        shortfall = sum_of(shortage)

    Takes: shortfall [money].
    Source: from memory.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(rate=0.0, loss_use=1.0, loss_relief="carried_forward", loss_years="60", holiday_losses="used")
    >>> case, none = Some(plan=Some(tax=row), constants=Some(year=4.0)), constant(0.0, 3)
    >>> from costmodel.model.plan.tax import Pools
    >>> settled = Settled(Row([0.0, 10.0, 10.0]), none, Pools([], [], [], []), none)
    >>> parts = Proceeds(constant(50.0, 3), *[none] * 6)
    >>> ahead = Ahead(Row([-100.0, -60.0, -30.0]), settled, none, none, parts, constant(50.0, 3), Row([0.0, 1.0, 1.0]), 0.0)
    >>> found = ending(case, Use(constant(1.0, 3), True, none), ahead, none)
    >>> found.npv_never, found.npv_best, found.best_time, found.time
    (-30.0, -10.0, 1.0, 2.0)
    """
    worths, incomes = if_closed(case, plan)
    names = quarter_names(len(worths))
    quarter, last = case.constants.year / QUARTERS, float(len(worths) - 1)
    best = largest_of(worths)
    times = [
        choose(run >= 1, choose(worth >= best, float(column), last), last)
        for column, (worth, run) in enumerate(zip(worths, plan.run))
    ]
    return Ending(
        early=1.0 - use.open[-1],
        time=(sum_of(use.open) - 1.0) * quarter,
        npv_never=worths[-1],
        npv_best=best,
        best_time=least_of(times) * quarter,
        shortfall=sum_of(use.early(shortfall)),
        npv_if_closed=dict(zip(names, worths)),
        taxable_if_closed=dict(zip(names, incomes)),
        due_if_closed=dict(zip(names, plan.due)),
    )
