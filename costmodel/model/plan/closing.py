"""The end of use: what closing costs and brings, who bears what it does not pay, and what closing at the best time is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, largest_of, least_of, safe_divide, smaller, sum_of
from ..ledger.prices import in_reporting_currency
from . import operation
from .finance import Settled, tax_instead
from .plan_figures import Ending, YearCost
from .time_of_use import Use
from .timing import QUARTERS, in_quarters, quarter_names


@dataclass(frozen=True, slots=True)
class Proceeds:
    """What closing early at the end of each column would bring and cost, by column; the plant in use until then."""

    sale: list[Value]
    set_free: list[Value]
    cost: list[Value]
    dismantling: list[Value]
    unpaid: list[Value]

    def available(self) -> list[Value]:
        """What is there for the bank, then for what the licence leaves due."""
        rows = zip(self.sale, self.set_free, self.cost, self.dismantling, self.unpaid)
        return [sale + free - cost - site - unpaid for sale, free, cost, site, unpaid in rows]


def closing_cost(
    case: Case, costs: Mapping[str, YearCost], fixed: Sequence[Value], stock: Sequence[Value], grant: Value, start: Value
) -> list[Value]:
    """Severance, loss on stock and grant to be paid back, if the plant closes early at the end of each column."""
    row, found = case.plan.closing, []
    bound = in_quarters(case, row.grant_time)
    for column, (staffed, held) in enumerate(zip(fixed, stock)):
        severance = operation.wages(case, costs, column) * (row.severance_time / case.constants.year) * staffed
        back = grant * smaller(1.0, safe_divide(larger(start + bound - column, 0.0), bound))
        found.append(severance + held * (1 - row.stock_recovered) + back)
    return found


def dismantling(case: Case, count: int) -> list[Value]:
    """What the end of use costs at the end of each column with inflation."""
    amount = in_reporting_currency(case.plan.closing.dismantling, case.plan.closing.currency, case.money)
    inflation = case.plan.returns.inflation * case.constants.year
    return [amount * (1 + inflation) ** (column / QUARTERS) for column in range(count)]


def paid_of_claims(case: Case, available: Sequence[Value], debt: Sequence[Value], due: Sequence[Value]) -> list[Value]:
    """The share of licence payments due at closing that is paid: all where owners bear a shortfall, else what the bank leaves.

    >>> from types import SimpleNamespace
    >>> case = SimpleNamespace(plan=SimpleNamespace(closing=SimpleNamespace(shortfall="creditors")))
    >>> paid_of_claims(case, [100.0, 100.0, 20.0], [60.0, 90.0, 30.0], [40.0, 40.0, 40.0])
    [1.0, 0.25, 0.0]
    """
    if case.plan.closing.shortfall == "owners":
        return [1.0] * len(due)
    rest = [larger(there - owed, 0.0) for there, owed in zip(available, debt)]
    return [choose(claim > left, safe_divide(left, claim), 1.0) for claim, left in zip(due, rest)]


def forgiven(case: Case, available: Sequence[Value], debt: Sequence[Value]) -> list[Value]:
    """What the bank loses if the plant closes early: nothing where owners bear a shortfall."""
    if case.plan.closing.shortfall == "owners":
        return [0.0 * owed for owed in debt]
    return [larger(owed - larger(there, 0.0), 0.0) for owed, there in zip(debt, available)]


def unpaid_claims(debt: Sequence[Value], due: Sequence[Value], available: Sequence[Value]) -> list[Value]:
    """What is not there for debt and licence payments due at an early closing, by column; what closing costs beyond, owners pay.

    >>> unpaid_claims([60.0, 60.0], [10.0, 10.0], [50.0, -30.0])
    [20.0, 70.0]
    """
    return [larger(owed + claim - larger(there, 0.0), 0.0) for owed, claim, there in zip(debt, due, available)]


@dataclass(frozen=True, slots=True)
class Ahead:
    """Columns of a plan, from which the worth of closing at each time follows if it never closes early."""

    discounted: list[Value]
    settled: Settled
    unwritten: list[Value]  # bought and not yet written off for tax
    due: list[Value]  # licence payments that fall due with closing and are paid
    proceeds: Proceeds
    available: list[Value]
    run: list[Value]
    each: Value  # the required return for a quarter


def if_closed(case: Case, plan: Ahead) -> tuple[list[Value], list[Value]]:
    """Net present value of the project if it closes at the end of each column, and its taxable income of that column then.

    Before a whole quarter ran, the net present value is that of never closing.
    """
    parts, never = plan.proceeds, plan.discounted[-1]
    expenses = [cost + site + due for cost, site, due in zip(parts.cost, parts.dismantling, plan.due)]
    books = zip(parts.sale, plan.unwritten, parts.unpaid, expenses)
    gain = [sale - left - unpaid - cost for sale, left, unpaid, cost in books]
    incomes = [a + b for a, b in zip(plan.settled.taxable, gain)]
    found = []
    for column, available in enumerate(plan.available[:-1]):
        tax = tax_instead(case, plan.settled, column, incomes[column])
        more = available - plan.due[column] - (tax - plan.settled.paid[column])
        worth = plan.discounted[column] + more / (1 + plan.each) ** column
        found.append(choose(plan.run[column] >= 1, worth, never))
    return [*found, never], incomes


def ending(case: Case, use: Use, plan: Ahead, shortfall: Sequence[Value]) -> Ending:
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
