"""Tax on income in the second model: by year to date, with losses carried forward or back, tax holiday and expiry."""

from types import SimpleNamespace

from .second_time import part_after, year_of

YEARS_BACK = {"carried_back_one_year": 1, "carried_back_two_years": 2, "carried_back_three_years": 3}


def first_column(column):
    """The column with which the year of a column begins; the first year begins on the first day."""
    return 4 * year_of(column) + 1 if column > 4 else 0


def holiday_parts(case, count, start):
    """The part of the year to date that is in the tax holiday, of its time after the start of production."""
    run, over = part_after(count, start), part_after(count, start + 4 * case.tax.holiday)
    found = []
    for k in range(count):
        columns = range(first_column(k), k + 1)
        worked = sum(run[n] for n in columns)
        found.append(sum(run[n] - over[n] for n in columns) / worked if worked else 0.0)
    return found


class Pools:
    """Losses and taxed profits so far, by column, and what of both is gone."""

    def __init__(self, case):
        self.back, self.years = YEARS_BACK.get(case.tax.loss_relief, 0), int(case.tax.loss_years)
        self.losses, self.gone, self.profits, self.taken = [], [], [], []

    def gone_after(self, column, end):
        """Losses used up to a column or expired by the last column of a year."""
        oldest = end - 4 * self.years
        return max(self.gone[column], self.losses[oldest]) if oldest > 0 else self.gone[column]

    def before(self, begin):
        """Losses, gone of them, profits, gone of them, before a year."""
        if begin == 0:
            return 0.0, 0.0, 0.0, 0.0
        last = begin - 1
        oldest = last - 4 * self.back
        taken = max(self.taken[last], self.profits[oldest]) if self.back and oldest > 0 else self.taken[last]
        return self.losses[last], self.gone_after(last, last), self.profits[last], taken


def of_year(case, before, income, holiday):
    """Tax of a year to date, loss to be carried on, losses used, profit taxed, loss carried back."""
    row = case.tax
    profit, loss = max(income, 0.0), max(-income, 0.0)
    if row.loss_relief == "other_income":
        return (profit * (1 - holiday) - loss) * row.rate, 0.0, 0.0, 0.0, 0.0
    losses, gone, profits, taken = before
    used = min(profit * row.loss_use, losses - gone) * (1 - holiday if row.holiday_losses == "kept" else 1.0)
    taxed = (profit - used) * (1 - holiday)
    back = min(loss, profits - taken) if row.loss_relief in YEARS_BACK else 0.0
    return (taxed - back) * row.rate, loss - back, used, taxed, back


def taxes(case, income, holidays):
    """Tax paid by column, and the pools, of an income by column."""
    pools, paid, carried = Pools(case), [], []
    for k in range(len(income)):
        begin = first_column(k)
        before = pools.before(begin)
        tax, loss, used, taxed, back = of_year(case, before, sum(income[begin : k + 1]), holidays[k])
        paid.append(tax - sum(paid[begin:k]))
        pools.losses.append(before[0] + loss)
        pools.gone.append(before[1] + used)
        pools.profits.append(before[2] + taxed)
        pools.taken.append(before[3] + back)
        carried.append(pools.losses[k] - pools.gone_after(k, 4 * year_of(k) + 4))
    return SimpleNamespace(
        paid=paid, carried=carried, made=pools.losses, gone=pools.gone, taxed=pools.profits, taken=pools.taken, pools=pools,
        income=income, holidays=holidays,
    )  # fmt: skip


def tax_instead(case, settled, column, income):
    """The tax of one column if its income were another, all before it as it was."""
    begin = first_column(column)
    to_date = sum(settled.income[begin:column]) + income
    tax = of_year(case, settled.pools.before(begin), to_date, settled.holidays[column])[0]
    return tax - sum(settled.paid[begin:column])
