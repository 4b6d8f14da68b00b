"""Tax on income by tax years, with holidays and relief of losses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, smaller, sum_of
from ...core.series import Row
from .timing import QUARTERS, in_quarters, running


def in_holiday(case: Case, run: Row, start: Value) -> Row:
    """The part of each quarter's profit that is made in the tax holiday; `run` is the running share from the start.

        over = running(len(run), start + in_quarters(case, case.plan.tax.holiday))    [1]
        part = safe_divide(run - over, run)    [1]

    Takes: run [1], start [1].
    Source: common practice.

    All profit of the quarter in which production starts is made after the start.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(tax=Some(holiday=1.5)), constants=Some(year=4.0))
    >>> in_holiday(case, running(4, 0.5), 0.5)
    [0.0, 1.0, 1.0, 0.0]
    """
    over = running(len(run), start + in_quarters(case, case.plan.tax.holiday))
    return safe_divide(run - over, run)


def holiday_to_date(holidays: Row, run: Row) -> Row:
    """The part of the year to date that is in the tax holiday, by column: of its time after the start of production. From memory.

        first = [year_begin(number) for number in range(len(run))]    [1]
        inside = holidays * run    [1]
        part = [safe_divide(sum_of(inside[begin : number + 1]), sum_of(run[begin : number + 1])) for number, begin in
            enumerate(first)]    [1]

    Takes: holidays [1], run [1].
    Source: from memory.

    Time before the start of production earns nothing and counts for neither. A year is settled as a whole: its profit counts as
    earned evenly over its time of production. Production starts after the third quarter, the holiday ends three quarters later:

    >>> holiday_to_date(Row([0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0, 0.0]), Row([0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 1.0]))
    [0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.6666666666666666, 0.5]
    """
    inside, begins = holidays * run, [year_begin(number) for number in range(len(run))]
    return Row(
        safe_divide(sum_of(inside[begin : number + 1]), sum_of(run[begin : number + 1])) for number, begin in enumerate(begins)
    )


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

    taxable: Row
    paid: Row
    pools: Pools
    holidays: Row


@dataclass(frozen=True, slots=True)
class Taxes:
    """By column: tax, losses carried forward at its end, and the running sums behind both."""

    paid: Row
    carried: Row
    pools: Pools

    def columns(self, suffix: str = "") -> dict[str, Row]:
        """The columns by the names that a quarter has for them."""
        found = {
            "tax": self.paid,
            "losses_carried": self.carried,
            "losses_made": Row(self.pools.losses),
            "losses_gone": Row(self.pools.losses_gone),
            "profits_taxed": Row(self.pools.profits),
            "profits_gone": Row(self.pools.profits_gone),
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
    paid: list[Value] = []
    carried: list[Value] = []
    pools = Pools([], [], [], [])
    for number, income in enumerate(taxable):
        begin = year_begin(number)
        so_far, gone, taxed, taken = usable(case, pools, begin)
        to_date = sum_of([*taxable[begin:number], income])
        tax, loss, used, profit, back = tax_of_year(case, pools, begin, to_date, holidays[number])
        paid.append(tax - sum_of(paid[begin:number]))
        pools.losses.append(so_far + loss)
        pools.losses_gone.append(gone + used)
        pools.profits.append(taxed + profit)
        pools.profits_gone.append(taken + back)
        carried.append(pools.losses[-1] - gone_by(case, pools, number, year_end(number)))
    return Taxes(Row(paid), Row(carried), pools)


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
    """The tax of one column if its income were another, all before it as it was.

        begin = year_begin(number)    [1]
        to_date = sum_of([*ahead.taxable[begin:number], income])    [money]
        tax = tax_of_year(case, ahead.pools, begin, to_date, ahead.holidays[number])[0] - sum_of(ahead.paid[begin:number])
            [money]

    Takes: income [money].
    Source: common practice.

    20 on the first day paid 5; 100 in the quarter after make 120 in the year, less those 5:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(rate=0.25, loss_use=1.0, loss_relief="carried_forward", loss_years="60", holiday_losses="used")
    >>> ahead = Settled(Row([20.0, 0.0]), Row([5.0, 0.0]), Pools([], [], [], []), Row([0.0, 0.0]))
    >>> tax_instead(Some(plan=Some(tax=row)), ahead, 1, 100.0)
    25.0
    """
    begin = year_begin(number)
    to_date = sum_of([*ahead.taxable[begin:number], income])
    return tax_of_year(case, ahead.pools, begin, to_date, ahead.holidays[number])[0] - sum_of(ahead.paid[begin:number])


def tax_of_year(case: Case, pools: Pools, number: int, income: Value, holiday: Value) -> tuple[Value, Value, Value, Value, Value]:
    """Of a year that begins with a column, to date: tax, loss carried forward, losses used, profit taxed, loss carried back.

        row = case.plan.tax    [any]
        profit = larger(income, 0.0)    [money]
        loss = larger(-income, 0.0)    [money]
        before = usable(case, pools, number)    [money]
        used = smaller(profit * row.loss_use, before[0] - before[1]) * (1 - holiday if row.holiday_losses == "kept" else 1.0)
            [money]
        left = (profit - used) * (1 - holiday)    [money]
        back = smaller(loss, before[2] - before[3]) if row.loss_relief in BACK else 0.0 * loss    [money]
        settled = [(left - back) * row.rate, loss - back, used, left, back]    [money]
        other = [(profit * (1 - holiday) - loss) * row.rate, 0.0 * loss, 0.0 * loss, 0.0 * loss, 0.0 * loss]    [money]
        tax, loss carried, loss used, profit taxed, loss carried back = other if row.loss_relief == "other_income" else
            settled    [money, money, money, money, money]

    Takes: income [money], holiday [1].
    Source: common practice.

    A profit of 100 at 25 %, of which losses of 40 from earlier years take a part:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(rate=0.25, loss_use=1.0, loss_relief="carried_forward", loss_years="60", holiday_losses="used")
    >>> tax_of_year(Some(plan=Some(tax=row)), Pools([40.0] * 5, [0.0] * 5, [0.0] * 5, [0.0] * 5), 5, 100.0, 0.0)
    (15.0, 0.0, 40.0, 60.0, 0.0)
    """
    row, profit, loss = case.plan.tax, larger(income, 0.0), larger(-income, 0.0)
    if row.loss_relief == "other_income":
        nothing = 0.0 * income
        return (profit * (1 - holiday) - loss) * row.rate, nothing, nothing, nothing, nothing
    so_far, gone, taxed, taken = usable(case, pools, number)
    used = smaller(profit * row.loss_use, so_far - gone)
    if row.holiday_losses == "kept":
        used = used * (1 - holiday)
    left = (profit - used) * (1 - holiday)
    back = smaller(loss, taxed - taken) if row.loss_relief in BACK else 0.0 * loss
    return (left - back) * row.rate, loss - back, used, left, back


def usable(case: Case, pools: Pools, number: int) -> tuple[Value, Value, Value, Value]:
    """Before a year that begins with a column: losses so far, of these what is gone; profits taxed so far, of these what no loss
    can be carried back to.

        back = BACK.get(case.plan.tax.loss_relief, 0)    [1]
        first = number - 1 - QUARTERS * back    [1]
        losses = pools.losses[number - 1] if number else 0.0    [money]
        gone = gone_by(case, pools, number - 1, number - 1) if number else 0.0    [money]
        taxed = pools.profits[number - 1] if number else 0.0    [money]
        taken = pools.profits_gone[number - 1] if number else 0.0    [money]
        losses so far, losses used, profits so far, profits used = losses, gone, taxed, larger(taken, pools.profits[first]) if
            first > 0 and back else taken    [money, money, money, money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(tax=Some(loss_relief="carried_forward", loss_years="60")))
    >>> pools = Pools([100.0] * 5, [40.0] * 5, [70.0] * 5, [0.0] * 5)
    >>> usable(case, pools, 5), usable(case, pools, 0)
    ((100.0, 40.0, 70.0, 0.0), (0.0, 0.0, 0.0, 0.0))
    """
    if number == 0:
        return 0.0, 0.0, 0.0, 0.0
    taken = pools.profits_gone[number - 1]
    first = number - 1 - QUARTERS * BACK.get(case.plan.tax.loss_relief, 0)  # the end of the last year that lies too far back
    if first > 0 and case.plan.tax.loss_relief in BACK:
        taken = larger(taken, pools.profits[first])
    return pools.losses[number - 1], gone_by(case, pools, number - 1, number - 1), pools.profits[number - 1], taken


def gone_by(case: Case, pools: Pools, number: int, end: int) -> Value:
    """Losses used up to a column, or expired at the end of its year: those of years that lie too far back then.

        years = int(case.plan.tax.loss_years)    [1]
        first = end - QUARTERS * years    [1]
        gone = larger(pools.losses_gone[number], pools.losses[first]) if first > 0 else pools.losses_gone[number]    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(tax=Some(loss_years="1")))
    >>> pools = Pools([100.0] * 5 + [130.0] * 4, [40.0] * 9, [], [])
    >>> gone_by(case, pools, 8, 8), gone_by(case, pools, 4, 4)
    (100.0, 40.0)
    """
    gone, first = pools.losses_gone[number], end - QUARTERS * int(case.plan.tax.loss_years)
    return larger(gone, pools.losses[first]) if first > 0 else gone
