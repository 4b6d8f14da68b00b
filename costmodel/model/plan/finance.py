"""The loan: what is drawn, repaid and paid in interest, and debt service coverage."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.plan_records import Loan
from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, safe_divide, smaller, sum_of, valid_if
from ...core.series import Row
from .plan_figures import Quarter, Year


def repaid_share(time: Value, term: Value, interest: Value, form: str) -> Value:
    """The share of a loan that is repaid after a time of its term; `interest` is for one unit of time.

        elapsed = smaller(term, larger(time, 0.0))    [1]
        growth = (1 + interest) ** elapsed - 1    [1]
        annuity = choose(interest > 0, safe_divide(growth, (1 + interest) ** term - 1), elapsed / term)    [1]
        share = elapsed / term if form == "linear" else annuity    [1]

    Takes: time [1], term [1], interest [1].
    Source: common practice.

    An annuity pays back ((1 + i)^t - 1) / ((1 + i)^n - 1), as equal payments do at whole times.

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


def drawn(loan: Loan, spent: Row) -> Row:
    """What is drawn from the loan: a part of the capital, as it is paid.

        amount = loan.part * spent    [money]

    Takes: spent [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> drawn(Some(part=0.6), Row([100.0, 50.0]))
    [60.0, 30.0]
    """
    return loan.part * spent


def repaid_with_rest(repaid: Row, rest: Row, forgiven: Row) -> Row:
    """What is repaid, with what is left of the loan at the end of use, as far as the bank does not lose it.

        amount = repaid + rest - forgiven    [money]

    Takes: repaid [money], rest [money], forgiven [money].
    Source: common practice.

    >>> repaid_with_rest(Row([10.0, 10.0]), Row([0.0, 30.0]), Row([0.0, 5.0]))
    [10.0, 35.0]
    """
    return repaid + rest - forgiven


def loan_balances(loan: Loan, drawn: Row, quarter: Value) -> tuple[Row, Row, Row]:
    """Repayment and interest of each quarter, and what is owed at its end; interest is on what was owed before.

        rate = loan.interest * quarter    [1]
        share = [repaid_share(number - loan.grace / quarter, loan.term / quarter, rate, loan.form) for number in
            range(len(drawn))]    [1]
        back = drawn.running_sum()[-1] * Row(share)    [money]
        owed = drawn.running_sum() - back    [money]
        repaid, interest, debt = back.gains(), owed.earlier(0.0 * owed[0]) * rate, owed    [money, money, money]

    Takes: drawn [money], quarter [s].
    Source: common practice.

    100 at 4 % a year, repaid in two quarters:

    >>> loan_balances(Loan(1.0, 0.04, 0.0, 0.5, "linear", 1.3), Row([100.0, 0.0, 0.0]), 0.25)
    ([0.0, 50.0, 50.0], [0.0, 1.0, 0.5], [100.0, 50.0, 0.0])
    """
    rate, drawn_so_far, grace, term = loan.interest * quarter, drawn.running_sum(), loan.grace / quarter, loan.term / quarter
    back = Row(drawn_so_far[-1] * repaid_share(number - grace, term, rate, loan.form) for number in range(len(drawn)))
    owed = drawn_so_far - back
    return back.gains(), owed.earlier(0.0 * owed[0]) * rate, owed


def debt_year(case: Case, found: Sequence[Quarter]) -> Year:
    """What the bank looks at in a year: cash that is there for it, over interest and repayment; in years of repayment only.

        cash_for_debt = sum_of([each.free_cash + each.capital + each.licence_fee + each.tax_without_loan - each.tax for each
            in found])
        fell_due = sum_of([each.repaid for each in found]) + sum_of([each.forgiven for each in found])    [money]
        debt_service = sum_of([each.interest for each in found]) + fell_due
        dscr = valid_if(fell_due > 0, safe_divide(cash_for_debt, debt_service))
        dscr_status = choose(fell_due > 0, 1.0, 0.0)
        below_minimum_dscr = choose(fell_due > 0, choose(dscr < case.plan.loan.minimum_dscr, 1.0, 0.0), 0.0)

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> names = ("free_cash", "capital", "licence_fee", "tax_without_loan", "tax", "repaid", "forgiven", "interest")
    >>> quarter = Some(**dict(zip(names, (60.0, 0.0, 0.0, 10.0, 8.0, 25.0, 0.0, 6.0))))
    >>> debt_year(Some(plan=Some(loan=Some(minimum_dscr=1.3))), [quarter])
    Year(cash_for_debt=62.0, debt_service=31.0, dscr=2.0, dscr_status=1.0, below_minimum_dscr=0.0)
    """
    cash = sum_of([each.free_cash + each.capital + each.licence_fee + each.tax_without_loan - each.tax for each in found])
    repaid = sum_of([each.repaid for each in found])
    fell_due = repaid + sum_of([each.forgiven for each in found])  # at an early closing all debt falls due, paid or not
    service = sum_of([each.interest for each in found]) + fell_due
    cover = valid_if(fell_due > 0, safe_divide(cash, service))
    return Year(
        cash_for_debt=cash,
        debt_service=service,
        dscr=cover,
        dscr_status=choose(fell_due > 0, 1.0, 0.0),
        below_minimum_dscr=choose(fell_due > 0, choose(cover < case.plan.loan.minimum_dscr, 1.0, 0.0), 0.0),
    )
