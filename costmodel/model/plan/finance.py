"""Loan, tax on income with relief of losses, and debt cover."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.plan_records import Loan
from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, safe_divide, smaller, sum_of, valid_if
from .plan_figures import Quarter, Year
from .timing import QUARTERS, cumulative, in_quarters, running, steps


def repaid_share(time: Value, term: Value, interest: Value, form: str) -> Value:
    """The share of a loan that is repaid after a time of its term; `interest` is for one unit of time.

    An annuity pays back ((1 + i)^t - 1) / ((1 + i)^n - 1), as equal payments do at whole times. Common practice.

    >>> repaid_share(3.0, 12.0, 0.01, "linear")
    0.25
    >>> round(2500 * repaid_share(1.0, 12.0, 0.0824 / 12, "annuity"), 2)
    200.58
    """
    elapsed = smaller(term, larger(time, 0.0))
    if form == "linear":
        return elapsed / term
    growth = (1 + interest) ** elapsed - 1
    return choose(interest > 0, safe_divide(growth, (1 + interest) ** term - 1), elapsed / term)


def loan_balances(loan: Loan, drawn: Sequence[Value], quarter: Value) -> tuple[list[Value], list[Value], list[Value]]:
    """Repayment and interest of each quarter, and what is owed at its end; interest is on what was owed before."""
    rate, drawn_so_far = loan.interest * quarter, cumulative(drawn)
    back = [
        drawn_so_far[-1] * repaid_share(number - loan.grace / quarter, loan.term / quarter, rate, loan.form)
        for number in range(len(drawn))
    ]
    owed = [so_far - returned for so_far, returned in zip(drawn_so_far, back)]
    return steps(back), [before * rate for before in [0.0 * owed[0], *owed[:-1]]], owed


def in_holiday(case: Case, run: Sequence[Value], start: Value) -> list[Value]:
    """The part of each quarter's profit that is made in the tax holiday; `run` is the running share from the start.

    All profit of the quarter in which production starts is made after the start.
    """
    over = running(len(run), start + in_quarters(case, case.plan.tax.holiday))
    return [safe_divide(now - after, now) for now, after in zip(run, over)]


BACK = {"carried_back_one_year": 1, "carried_back_two_years": 2, "carried_back_three_years": 3}  # years


@dataclass(frozen=True, slots=True)
class Pools:
    """Running sums by column: losses that came to be carried forward, and of these what is used or expired; profits taxed, and of
    these what losses carried back have used or what lies too far back."""

    losses: list[Value]
    losses_gone: list[Value]
    profits: list[Value]
    profits_gone: list[Value]


@dataclass(frozen=True, slots=True)
class Taxes:
    """By column: tax, losses carried forward at its end, and the running sums behind both."""

    paid: list[Value]
    carried: list[Value]
    pools: Pools

    def columns(self, suffix: str = "") -> dict[str, list[Value]]:
        """The columns by the names that a quarter has for them."""
        found = {
            "tax": self.paid,
            "losses_carried": self.carried,
            "losses_made": self.pools.losses,
            "losses_gone": self.pools.losses_gone,
            "profits_taxed": self.pools.profits,
            "profits_gone": self.pools.profits_gone,
        }
        return {name + suffix: amounts for name, amounts in found.items()}


def taxes(case: Case, taxable: Sequence[Value], holidays: Sequence[Value]) -> Taxes:
    """Tax of each column; a refund is a negative tax.

    On profit, less losses of before as far as they may be used; none in a holiday. By the choice of the case, a loss is carried
    forward until it expires, carried back first, or set against other income.

    >>> from types import SimpleNamespace
    >>> def taxed(relief, years="60"):
    ...     row = SimpleNamespace(rate=0.25, loss_use=1.0, loss_relief=relief, loss_years=years, holiday_losses="used")
    ...     found = taxes(SimpleNamespace(plan=SimpleNamespace(tax=row)), [-100.0, 60.0, 100.0, -40.0], [0.0] * 4)
    ...     return found.paid, found.carried
    >>> taxed("carried_forward")
    ([0.0, 0.0, 15.0, 0.0], [100.0, 40.0, 0.0, 40.0])
    >>> taxed("carried_back_one_year"), taxed("other_income")[0]
    (([0.0, 0.0, 15.0, -10.0], [100.0, 40.0, 0.0, 0.0]), [-25.0, 15.0, 25.0, -10.0])
    """
    paid, carried, pools = [], [], Pools([], [], [], [])
    for number, (income, holiday) in enumerate(zip(taxable, holidays)):
        so_far, gone, taxed, taken = _usable(case, pools, number)
        tax, loss, used, profit, back = _settled(case, pools, number, income, holiday)
        paid.append(tax)
        pools.losses.append(so_far + loss)
        pools.losses_gone.append(gone + used)
        pools.profits.append(taxed + profit)
        pools.profits_gone.append(taken + back)
        carried.append(pools.losses[-1] - _expired(case, pools, number + 1))
    return Taxes(paid, carried, pools)


def tax_instead(case: Case, pools: Pools, number: int, income: Value, holiday: Value) -> Value:
    """The tax of one column if its income were another, all before it as it was."""
    return _settled(case, pools, number, income, holiday)[0]


def _settled(case: Case, pools: Pools, number: int, income: Value, holiday: Value) -> tuple[Value, Value, Value, Value, Value]:
    """Tax of a column; loss carried forward, losses used, profit taxed, loss carried back."""
    row, profit, loss = case.plan.tax, larger(income, 0.0), larger(-income, 0.0)
    if row.loss_relief == "other_income":
        nothing = 0.0 * income
        return (profit * (1 - holiday) - loss) * row.rate, nothing, nothing, nothing, nothing
    so_far, gone, taxed, taken = _usable(case, pools, number)
    used = smaller(profit * row.loss_use, so_far - gone)
    if row.holiday_losses == "kept":
        used = used * (1 - holiday)
    left = (profit - used) * (1 - holiday)
    back = smaller(loss, taxed - taken) if row.loss_relief in BACK else 0.0 * loss
    return (left - back) * row.rate, loss - back, used, left, back


def _usable(case: Case, pools: Pools, number: int) -> tuple[Value, Value, Value, Value]:
    """Before a column: losses so far, of these what is gone; profits taxed so far, of these what no loss can be carried back to."""
    if number == 0:
        return 0.0, 0.0, 0.0, 0.0
    taken = pools.profits_gone[number - 1]
    first = number - 1 - QUARTERS * BACK.get(case.plan.tax.loss_relief, 0)  # the last column that lies too far back
    if first >= 0 and case.plan.tax.loss_relief in BACK:
        taken = larger(taken, pools.profits[first])
    return pools.losses[number - 1], _expired(case, pools, number), pools.profits[number - 1], taken


def _expired(case: Case, pools: Pools, number: int) -> Value:
    """Losses used or expired before a column: those of more than so many years ago have expired."""
    gone, first = pools.losses_gone[number - 1], number - 1 - QUARTERS * int(case.plan.tax.loss_years)
    return larger(gone, pools.losses[first]) if first >= 0 else gone


def debt_year(case: Case, found: Sequence[Quarter]) -> Year:
    """What the bank looks at in a year: cash that is there for it, over interest and repayment; in years of repayment only."""
    cash = sum_of([each.free_cash + each.capital + each.licence_fee + each.tax_without_loan - each.tax for each in found])
    repaid = sum_of([each.repaid for each in found])
    service = sum_of([each.interest for each in found]) + repaid
    cover = valid_if(repaid > 0, safe_divide(cash, service))
    return Year(
        cash_for_debt=cash,
        debt_service=service,
        dscr=cover,
        dscr_status=choose(repaid > 0, 1.0, 0.0),
        below_minimum_dscr=choose(repaid > 0, choose(cover < case.plan.loan.minimum_dscr, 1.0, 0.0), 0.0),
    )
