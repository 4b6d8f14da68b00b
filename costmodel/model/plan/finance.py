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


def holiday_to_date(holidays: Sequence[Value]) -> list[Value]:
    """The part of the year to date that is in the tax holiday, by column: each quarter counts alike. From memory.

    >>> holiday_to_date([0.0, 1.0, 1.0, 0.0, 0.0, 0.5])
    [0.0, 1.0, 1.0, 0.6666666666666666, 0.5, 0.5]
    """
    found = []
    for number in range(len(holidays)):
        first = max(1, year_begin(number))
        past = holidays[first : number + 1]
        found.append(sum_of(past) / len(past) if past else holidays[number])
    return found


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
class Settled:
    """What was settled, by column: taxable income, tax paid, the running sums; and the part of the year to date in the holiday."""

    taxable: list[Value]
    paid: list[Value]
    pools: Pools
    holidays: list[Value]


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
    """Tax of each column: what the year to date owes, less what was paid in it before; so a quarter may give tax back.

    Income is settled by tax years, which are those of the plan, with instalments by quarter. Tax is on profit of the year, less
    losses of earlier years as far as they may be used; none in a holiday. By the choice of the case, a loss of a year is carried
    forward until it expires, carried back first, or set against other income. Common practice.

    Four years of one quarter that counts; then a loss late in a year, which takes back the tax of its first quarter:

    >>> from types import SimpleNamespace
    >>> def taxed(relief, years="60"):
    ...     row = SimpleNamespace(rate=0.25, loss_use=1.0, loss_relief=relief, loss_years=years, holiday_losses="used")
    ...     years = [0.0, -100.0, *[0.0] * 3, 60.0, *[0.0] * 3, 100.0, *[0.0] * 3, -40.0, *[0.0] * 3]
    ...     found = taxes(SimpleNamespace(plan=SimpleNamespace(tax=row)), years, [0.0] * 17)
    ...     return [sum(found.paid[k : k + 4]) for k in (1, 5, 9, 13)], found.carried[4::4]
    >>> taxed("carried_forward")
    ([0.0, 0.0, 15.0, 0.0], [100.0, 40.0, 0.0, 40.0])
    >>> taxed("carried_back_one_year"), taxed("other_income")[0]
    (([0.0, 0.0, 15.0, -10.0], [100.0, 40.0, 0.0, 0.0]), [-25.0, 15.0, 25.0, -10.0])
    """
    paid, carried, pools = [], [], Pools([], [], [], [])
    for number, income in enumerate(taxable):
        begin = year_begin(number)
        so_far, gone, taxed, taken = _usable(case, pools, begin)
        to_date = sum_of([*taxable[begin:number], income])
        tax, loss, used, profit, back = _settled(case, pools, begin, to_date, holidays[number])
        paid.append(tax - sum_of(paid[begin:number]))
        pools.losses.append(so_far + loss)
        pools.losses_gone.append(gone + used)
        pools.profits.append(taxed + profit)
        pools.profits_gone.append(taken + back)
        carried.append(pools.losses[-1] - _expired(case, pools, number, year_end(number)))
    return Taxes(paid, carried, pools)


def year_begin(number: int) -> int:
    """The first column of the year that a column is in; the first day is in the first year.

    >>> [year_begin(number) for number in (0, 4, 5, 8, 9)]
    [0, 0, 5, 5, 9]
    """
    return 0 if number <= QUARTERS else QUARTERS * ((number - 1) // QUARTERS) + 1


def year_end(number: int) -> int:
    """The last column of the year that a column is in.

    >>> [year_end(number) for number in (0, 4, 5, 8, 9)]
    [4, 4, 8, 8, 12]
    """
    return QUARTERS * max(1, -(-number // QUARTERS))


def tax_instead(case: Case, ahead: Settled, number: int, income: Value) -> Value:
    """The tax of one column if its income were another, all before it as it was."""
    begin = year_begin(number)
    to_date = sum_of([*ahead.taxable[begin:number], income])
    return _settled(case, ahead.pools, begin, to_date, ahead.holidays[number])[0] - sum_of(ahead.paid[begin:number])


def _settled(case: Case, pools: Pools, number: int, income: Value, holiday: Value) -> tuple[Value, Value, Value, Value, Value]:
    """Of a year that begins with a column, to date: tax, loss carried forward, losses used, profit taxed, loss carried back."""
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
    """Before a year that begins with a column: losses so far, of these what is gone; profits taxed so far, of these what no loss
    can be carried back to.
    """
    if number == 0:
        return 0.0, 0.0, 0.0, 0.0
    taken = pools.profits_gone[number - 1]
    first = number - 1 - QUARTERS * BACK.get(case.plan.tax.loss_relief, 0)  # the end of the last year that lies too far back
    if first > 0 and case.plan.tax.loss_relief in BACK:
        taken = larger(taken, pools.profits[first])
    return pools.losses[number - 1], _expired(case, pools, number - 1, number - 1), pools.profits[number - 1], taken


def _expired(case: Case, pools: Pools, number: int, end: int) -> Value:
    """Losses used up to a column, or expired at the end of its year: those of years that lie too far back then."""
    gone, first = pools.losses_gone[number], end - QUARTERS * int(case.plan.tax.loss_years)
    return larger(gone, pools.losses[first]) if first > 0 else gone


def debt_year(case: Case, found: Sequence[Quarter]) -> Year:
    """What the bank looks at in a year: cash that is there for it, over interest and repayment; in years of repayment only."""
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
