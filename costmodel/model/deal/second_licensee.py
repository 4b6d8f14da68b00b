"""What second licensees in the territory may be expected to take from the first: of its sales, and of its royalties.

A prospect would sign at any time of its window alike. Exclusivity makes it wait: it goes elsewhere, or signs as exclusivity ends.
Some time after that it sells, and the licensee's prices and volume are lower. Each is independent of the others. Common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from ...case.deal_records import OUTSIDE, Prospect
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller, sum_of
from ..plan import licence
from ..plan.plan_figures import Plan
from ..plan.time_of_use import time_of_use
from ..plan.timing import in_quarters, quarter_names
from ..plan.worth import each_quarter, npv
from .deal_figures import SecondLicensee, Taken
from .licensor import left_of, own_npv


def rivals(case: Case) -> dict[str, Prospect]:
    """The prospects in territories of the licence; others do not compete, and exclusivity does not close them out."""
    return {name: row for name, row in case.prospects.items() if row.territory != OUTSIDE}


def _signed_before(time: Value, window: Value) -> Value:
    """The time integral of the share of an even window that is past, from the first day to a time.

    >>> _signed_before(-1.0, 4.0), _signed_before(2.0, 4.0), _signed_before(6.0, 4.0)
    (0.0, 0.5, 4.0)
    """
    inside = smaller(larger(time, 0.0), window)
    return inside**2 / (2 * window) + larger(time - window, 0.0)


def selling(case: Case, row: Prospect, exclusive: Value, end: int) -> Value:
    """The probability that a prospect sells, averaged over the quarter that ends then; `exclusive` is the time of exclusivity."""
    window, entry, closed = (in_quarters(case, time) for time in (row.window, row.entry_time, exclusive))
    begin = larger(end - 1.0, smaller(end, entry + closed))  # before that, no one may sell
    signed = _signed_before(end - entry, window) - _signed_before(begin - entry, window)
    elsewhere = row.lost * smaller(closed, window) / window
    return row.probability * (signed - elsewhere * (end - begin))


def second_licensees(case: Case, count: int) -> dict[str, SecondLicensee]:
    """The probability that each sells, by quarter: under the exclusivity of the offer, and without any."""
    names = quarter_names(count)
    return {
        name: SecondLicensee(
            selling=dict(zip(names, [selling(case, row, case.deal.licence.exclusive_time, k) for k in range(count)])),
            selling_if_open=dict(zip(names, [selling(case, row, 0.0 * row.window, k) for k in range(count)])),
        )
        for name, row in rivals(case).items()
    }


def kept(case: Case, probabilities: Sequence[Sequence[Value]], count: int) -> tuple[list[Value], list[Value]]:
    """What is left of sales, and of volume, by quarter; `probabilities` by prospect of the territory and quarter."""
    sales, volume = [1.0] * count, [1.0] * count
    for row, by_quarter in zip(rivals(case).values(), probabilities):
        effect = row.price_effect + row.volume_effect - row.price_effect * row.volume_effect
        sales = [left * (1 - probability * effect) for left, probability in zip(sales, by_quarter)]
        volume = [left * (1 - probability * row.volume_effect) for left, probability in zip(volume, by_quarter)]
    return sales, volume


def taken(case: Case, plan: Plan, probabilities: Sequence[Sequence[Value]], own: Value) -> Taken:
    """What second licensees take from both sides, to be expected; `own` is the licensor's rate for a quarter."""
    quarters, theirs = list(plan.quarters.values()), each_quarter(plan.required_return)
    sales, volume = kept(case, probabilities, len(quarters))
    use = time_of_use(case, quarters)
    before = licence.Trade(plan.start, [x.revenue for x in quarters], [x.stabilised_watts for x in quarters], [], use)
    after = licence.Trade(
        plan.start,
        [amount * left for amount, left in zip(before.sales, sales)],
        [amount * left for amount, left in zip(before.watts, volume)],
        [],
        use,
    )
    royalty = [a - b for a, b in zip(running_royalty(case, before), running_royalty(case, after))]
    margin = [x.revenue * (1 - s) - x.variable_cost * (1 - v) for x, s, v in zip(quarters, sales, volume)]
    after_tax = 1 - case.plan.tax.rate
    cash = [after_tax * (lost - spared) for lost, spared in zip(margin, royalty)]
    names = quarter_names(len(quarters))
    return Taken(
        licensee_cash=dict(zip(names, cash)),
        royalty=dict(zip(names, royalty)),
        licensee=npv(cash, theirs),
        licensee_free=npv([after_tax * lost for lost in margin], theirs),
        licensor_gross=own_npv(case, royalty, own),
        licensor=left_of(case, royalty, "licence", own),
    )


def running_royalty(case: Case, trade: licence.Trade) -> list[Value]:
    """Running royalty with what is missing to its minimum, as it is paid, by quarter."""
    earned = licence.royalty(case, trade)
    missing = licence.missing_to_minimum(licence.minimum(case, trade), earned, trade.use)
    kind = case.payment_kinds["licence"]
    factor = licence.gross_up(kind.withholding, kind.gross_up)
    return [sum_of([a, b]) * factor for a, b in zip(earned, missing)]
