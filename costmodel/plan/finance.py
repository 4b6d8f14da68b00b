"""Loan, tax on income with losses carried forward, and debt cover."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.plan_records import Loan
from ..case.records import Case
from ..operations import Value, choose, larger, safe_divide, smaller, sum_of, valid_if
from .records import Quarter, Year
from .timing import cumulative, in_quarters, running, steps


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
    over = running(len(run), start + in_quarters(case, case.tax.holiday))
    return [safe_divide(now - after, now) for now, after in zip(run, over)]


def taxes(case: Case, taxable: Sequence[Value], holidays: Sequence[Value]) -> tuple[list[Value], list[Value]]:
    """Tax of each quarter, and losses carried forward at its end.

    On profit, less losses of before as far as they may be used; none in a holiday, never less than none.

    >>> from costmodel.case.plan_records import Tax
    >>> class Paid:
    ...     tax = Tax(0.25, 0.0, 1.0)
    >>> taxes(Paid, [-100.0, 60.0, 100.0], [0.0, 0.0, 0.0])
    ([0.0, 0.0, 15.0], [100.0, 40.0, 0.0])
    """
    paid: list[Value] = []
    carried: list[Value] = []
    for income, holiday in zip(taxable, holidays):
        before = carried[-1] if carried else 0.0
        profit = larger(income, 0.0)
        used = smaller(profit * case.tax.loss_use, before)
        carried.append(before + larger(-income, 0.0) - used)
        paid.append((profit - used) * case.tax.rate * (1 - holiday))
    return paid, carried


def debt_year(case: Case, found: Sequence[Quarter]) -> Year:
    """What the bank looks at in a year: cash that is there for it, over interest and repayment; in years of repayment only."""
    cash = sum_of([each.free_cash + each.capital + each.licence_fee + each.tax_without_loan - each.tax for each in found])
    repaid = sum_of([each.repaid for each in found])
    service = sum_of([each.interest for each in found]) + repaid
    cover = valid_if(repaid > 0, safe_divide(cash, service))
    return Year(
        cash_for_debt=cash,
        debt_service=service,
        debt_cover=cover,
        debt_cover_status=choose(repaid > 0, 1.0, 0.0),
        below_cover=choose(repaid > 0, choose(cover < case.loan.least_cover, 1.0, 0.0), 0.0),
    )
