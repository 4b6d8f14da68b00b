"""The end of use: what closing costs and brings, who bears what it does not pay, and what closing at the best time is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, largest_of, least_of, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..ledger.prices import in_reporting_currency
from . import operation
from .finance import Settled, tax_instead
from .plan_figures import Ending, YearCost
from .time_of_use import Use
from .timing import QUARTERS, in_quarters, quarter_names


@dataclass(frozen=True, slots=True)
class Proceeds:
    """What closing early at the end of each column would bring and cost, by column; the plant in use until then."""

    sale: Row
    set_free: Row
    cost: Row
    dismantling: Row
    unpaid: Row


def available_if_closed(parts: Proceeds) -> Row:
    """What is there for the bank, then for what the licence leaves due."""
    return parts.sale + parts.set_free - parts.cost - parts.dismantling - parts.unpaid


def due_at_closing(claims: Row, paid: Row, missing: Row) -> Row:
    """Licence payments that closing makes due and that are paid, with what is missing to the minimum of the year so far."""
    return claims * paid + missing


def lost_in_books(replaced: Row, left: Row, sold_for: Row) -> Row:
    """Book value lost: of what is replaced, and at the end of use what is left above what assets sell for."""
    return replaced + left - sold_for


def closing_cost(case: Case, costs: Mapping[str, YearCost], fixed: Row, stock: Row, grant: Value, start: Value) -> Row:
    """Severance, loss on stock and grant to be paid back, if the plant closes early at the end of each column."""
    row, columns = case.plan.closing, range(len(fixed))
    bound = in_quarters(case, row.grant_time)
    wages = Row(operation.wages(case, costs, column) for column in columns)
    severance = wages * (row.severance_time / case.constants.year) * fixed
    back = grant * Row(smaller(1.0, safe_divide(larger(start + bound - column, 0.0), bound)) for column in columns)
    return severance + stock * (1 - row.stock_recovered) + back


def dismantling(case: Case, count: int) -> Row:
    """What the end of use costs at the end of each column with inflation."""
    amount = in_reporting_currency(case.plan.closing.dismantling, case.plan.closing.currency, case.money)
    inflation = case.plan.returns.inflation * case.constants.year
    return Row(amount * (1 + inflation) ** (column / QUARTERS) for column in range(count))


def paid_of_claims(case: Case, available: Row, debt: Row, due: Row) -> Row:
    """The share of licence payments due at closing that is paid: all where owners bear a shortfall, else what the bank leaves.

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
    """What the bank loses if the plant closes early: nothing where owners bear a shortfall."""
    if case.plan.closing.shortfall == "owners":
        return 0.0 * debt
    return larger(debt - larger(available, 0.0), 0.0)


def unpaid_claims(debt: Row, due: Row, available: Row) -> Row:
    """What is not there for debt and licence payments due at an early closing, by column; what closing costs beyond, owners pay.

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

    Before a whole quarter ran, the net present value is that of never closing.
    """
    parts, never = plan.proceeds, plan.discounted[-1]
    gain = parts.sale - plan.unwritten - parts.unpaid - (parts.cost + parts.dismantling + plan.due)
    incomes = plan.settled.taxable + gain
    found = []
    for column, available in enumerate(plan.available[:-1]):
        tax = tax_instead(case, plan.settled, column, incomes[column])
        more = available - plan.due[column] - (tax - plan.settled.paid[column])
        worth = plan.discounted[column] + more / (1 + plan.each) ** column
        found.append(choose(plan.run[column] >= 1, worth, never))
    return Row([*found, never]), incomes


def ending(case: Case, use: Use, plan: Ahead, shortfall: Row) -> Ending:
    """The end of use by the rule and at the best time; `plan` is the one that never closes."""
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
