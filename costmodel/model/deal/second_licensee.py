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
from ..line.line_figures import Line
from ..plan import licence, royalty
from ..plan.closing_time import time_of_use
from ..plan.plan_figures import Plan
from ..plan.sales import watts_labelled
from ..plan.timing import in_quarters, quarter_names
from ..plan.worth import each_quarter, npv
from .deal_figures import SecondLicensee, Taken
from .licensor_value import left_of, own_npv


def rivals(case: Case) -> dict[str, Prospect]:
    """The prospects in territories of the licence; others do not compete, and exclusivity does not close them out."""
    return {name: row for name, row in case.prospects.items() if row.territory != OUTSIDE}


def signed_before(time: Value, window: Value) -> Value:
    """The time integral of the share of an even window that is past, from the first day to a time.

        inside = smaller(larger(time, 0.0), window)    [1]
        integral = inside**2 / (2 * window) + larger(time - window, 0.0)    [1]

    Takes: time [1], window [1].
    Source: from memory.

    >>> signed_before(-1.0, 4.0), signed_before(2.0, 4.0), signed_before(6.0, 4.0)
    (0.0, 0.5, 4.0)
    """
    inside = smaller(larger(time, 0.0), window)
    return inside**2 / (2 * window) + larger(time - window, 0.0)


def selling(case: Case, row: Prospect, exclusive: Value, end: int) -> Value:
    """The probability that a prospect sells, averaged over the quarter that ends then; `exclusive` is the time of exclusivity.

        window = in_quarters(case, row.window)    [1]
        entry = in_quarters(case, row.entry_time)    [1]
        closed = in_quarters(case, exclusive)    [1]
        begin = larger(end - 1.0, smaller(1.0 * end, entry + closed))    [1]
        signed = signed_before(end - entry, window) - signed_before(begin - entry, window)    [1]
        elsewhere = row.lost * smaller(closed, window) / window    [1]
        probability = row.probability * (signed - elsewhere * (end - begin))    [1]

    Takes: exclusive [s].
    Source: from memory.

    A window of four quarters, at odds of a half, without exclusivity; in the second quarter three eighths have signed on average:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(window=4.0, entry_time=0.0, lost=0.0, probability=0.5)
    >>> selling(Some(constants=Some(year=4.0)), row, 0.0, 2)
    0.1875
    """
    window, entry, closed = (in_quarters(case, time) for time in (row.window, row.entry_time, exclusive))
    begin = larger(end - 1.0, smaller(end, entry + closed))  # before that, no one may sell
    signed = signed_before(end - entry, window) - signed_before(begin - entry, window)
    elsewhere = row.lost * smaller(closed, window) / window
    return row.probability * (signed - elsewhere * (end - begin))


def second_licensees(case: Case, count: int) -> dict[str, SecondLicensee]:
    """The probability that each sells, by quarter: under the exclusivity of the offer, and without any.

        columns = range(count)    [any]
        rows = rivals(case).values()    [any]
        selling_if_open = [[selling(case, row, 0.0 * row.window, column) for column in columns] for row in rows]
        selling = [[selling(case, row, case.deal.licence.exclusive_time, column) for column in columns] for row in rows]

    Source: common practice.

    No prospect in the territory, no second licensee:

    >>> from types import SimpleNamespace as Some
    >>> second_licensees(Some(prospects={}), 3)
    {}
    """
    names = quarter_names(count)
    return {
        name: SecondLicensee(
            selling=dict(zip(names, [selling(case, row, case.deal.licence.exclusive_time, k) for k in range(count)])),
            selling_if_open=dict(zip(names, [selling(case, row, 0.0 * row.window, k) for k in range(count)])),
        )
        for name, row in rivals(case).items()
    }


def effect_on_sales(row: Prospect) -> Value:
    """The part of net sales that a second licensee takes: of the price, and of the volume at what is left of the price.

        effect = row.price_effect + row.volume_effect - row.price_effect * row.volume_effect    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> effect_on_sales(Some(price_effect=0.5, volume_effect=0.2))
    0.6
    """
    return row.price_effect + row.volume_effect - row.price_effect * row.volume_effect


def left_after(left: Row, probability: Row, effect: Value) -> Row:
    """What is left after one more prospect, which takes a part once it sells; each is independent of the others.

        share = left * (1 - probability * effect)    [1]

    Takes: left [1], probability [1], effect [1].
    Source: common practice.

    >>> left_after(Row([1.0, 1.0]), Row([0.0, 0.5]), 0.5)
    [1.0, 0.75]
    """
    return left * (1 - probability * effect)


def kept(case: Case, probabilities: Sequence[Row], count: int) -> tuple[Row, Row]:
    """What is left of sales, and of volume, by quarter; `probabilities` by prospect of the territory and quarter."""
    sales, volume = constant(1.0, count), constant(1.0, count)
    for row, by_quarter in zip(rivals(case).values(), probabilities):
        sales = left_after(sales, by_quarter, effect_on_sales(row))
        volume = left_after(volume, by_quarter, row.volume_effect)
    return sales, volume


def taken(case: Case, line: Line, plan: Plan, probabilities: Sequence[Row], own: Value) -> Taken:
    """What second licensees take from both sides, to be expected; `own` is the licensor's rate for a quarter.

        theirs = each_quarter(plan.required_return)    [1]
        quarters = list(plan.quarters.values())    [any]
        use = time_of_use(case, quarters)    [any]
        left = kept(case, probabilities, len(quarters))    [1]
        revenue = Row([each.revenue for each in quarters])    [money]
        variable = Row([each.variable_cost for each in quarters])    [money]
        watts = watts_labelled(line, Row([each.stabilised_watts for each in quarters]))    [Wp_stabilised]
        before = running_royalty(case, royalty.Trade(plan.start, revenue, watts, Row([]), use))    [money]
        after = running_royalty(case, royalty.Trade(plan.start, revenue * left[0], watts * left[1], Row([]), use))    [money]
        margin = revenue * (1 - left[0]) - variable * (1 - left[1])    [money]
        after_tax = 1 - case.plan.tax.rate    [1]
        licensee_cash = after_tax * (margin - (before - after))
        licensee = npv(licensee_cash, theirs)
        licensee_free = npv(after_tax * margin, theirs)
        licensor_gross = own_npv(case, before - after, own)
        licensor = left_of(case, before - after, "licence", own)
        royalty = before - after

    Takes: probabilities [1], own [1].
    Source: common practice.

    Where no prospect is listed, nothing is taken:

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> results = evaluate(case)
    >>> found = taken(case, results.line, results.plan, [], 0.01)
    >>> found.licensee, found.licensor
    (0.0, 0.0)
    """
    quarters, theirs = list(plan.quarters.values()), each_quarter(plan.required_return)
    sales, volume = kept(case, probabilities, len(quarters))
    use = time_of_use(case, quarters)
    revenue, made, variable = (
        Row(getattr(each, name) for each in quarters) for name in ("revenue", "stabilised_watts", "variable_cost")
    )
    watts = watts_labelled(line, made)
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
    """Running royalty with what is missing to its minimum, as it is paid, by quarter.

        earned = royalty.royalty(case, trade)    [money]
        missing = royalty.missing_to_minimum(royalty.minimum(case, trade), earned, trade.use)    [money]
        kind = case.payment_kinds["licence"]    [any]
        paid = sum_of([earned, missing]) * licence.gross_up(kind.withholding, kind.gross_up)    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> from costmodel.model.plan.closing_time import to_the_end
    >>> terms = Some(term=9.0, royalty=0.04, royalty_per_watt=0.0, per_watt_change=0.0, royalty_cap=0.1)
    >>> terms.net_sales, terms.currency = 1.0, "EUR"
    >>> case = Some(deal=Some(licence=terms), buy_outs={}, royalty_steps={}, minimum_royalties={}, currency="EUR")
    >>> case.constants, case.money = Some(year=4.0), {"eur": Some(exchange_rate=1.0)}
    >>> case.payment_kinds = {"licence": Some(withholding=0.0, gross_up=0.0)}
    >>> none = constant(0.0, 5)
    >>> running_royalty(case, royalty.Trade(0.0, Row([0.0, 100.0, 50.0, 0.0, 0.0]), none, none, to_the_end(5)))
    [0.0, 4.0, 2.0, 0.0, 0.0]
    """
    earned = royalty.royalty(case, trade)
    missing = royalty.missing_to_minimum(royalty.minimum(case, trade), earned, trade.use)
    kind = case.payment_kinds["licence"]
    factor = licence.gross_up(kind.withholding, kind.gross_up)
    return sum_of([earned, missing]) * factor
