"""What second licensees in the territory may be expected to take from the first: of its sales, and of its royalties.

A prospect would sign at any time of its window alike. Exclusivity makes it wait: it goes elsewhere, or signs as exclusivity ends.
Some time after that it sells, and the licensee's prices and volume are lower. Each is independent of the others. Common practice.
"""

from __future__ import annotations

from collections.abc import Sequence

from ...case.deal_records import OUTSIDE, Prospect
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller, sum_of
from ...core.series import Row, constant
from ..plan import licence, royalty
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


def kept(case: Case, probabilities: Sequence[Row], count: int) -> tuple[Row, Row]:
    """What is left of sales, and of volume, by quarter; `probabilities` by prospect of the territory and quarter."""
    sales, volume = constant(1.0, count), constant(1.0, count)
    for row, by_quarter in zip(rivals(case).values(), probabilities):
        effect = row.price_effect + row.volume_effect - row.price_effect * row.volume_effect
        sales = sales * (1 - by_quarter * effect)
        volume = volume * (1 - by_quarter * row.volume_effect)
    return sales, volume


def taken(case: Case, plan: Plan, probabilities: Sequence[Row], own: Value) -> Taken:
    """What second licensees take from both sides, to be expected; `own` is the licensor's rate for a quarter."""
    quarters, theirs = list(plan.quarters.values()), each_quarter(plan.required_return)
    sales, volume = kept(case, probabilities, len(quarters))
    use = time_of_use(case, quarters)
    revenue, watts, variable = (
        Row(getattr(each, name) for each in quarters) for name in ("revenue", "stabilised_watts", "variable_cost")
    )
    before = royalty.Trade(plan.start, revenue, watts, Row([]), use)
    after = royalty.Trade(plan.start, revenue * sales, watts * volume, Row([]), use)
    lost = running_royalty(case, before) - running_royalty(case, after)
    margin = revenue * (1 - sales) - variable * (1 - volume)
    after_tax = 1 - case.plan.tax.rate
    cash = after_tax * (margin - lost)
    names = quarter_names(len(quarters))
    return Taken(
        licensee_cash=dict(zip(names, cash)),
        royalty=dict(zip(names, lost)),
        licensee=npv(cash, theirs),
        licensee_free=npv(after_tax * margin, theirs),
        licensor_gross=own_npv(case, lost, own),
        licensor=left_of(case, lost, "licence", own),
    )


def running_royalty(case: Case, trade: royalty.Trade) -> Row:
    """Running royalty with what is missing to its minimum, as it is paid, by quarter."""
    earned = royalty.royalty(case, trade)
    missing = royalty.missing_to_minimum(royalty.minimum(case, trade), earned, trade.use)
    kind = case.payment_kinds["licence"]
    factor = licence.gross_up(kind.withholding, kind.gross_up)
    return sum_of([earned, missing]) * factor
