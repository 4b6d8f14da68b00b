"""What the markets take of what the plan would sell: a market takes no more than the most share of its volume.

Sales above it are cut, and the plates for them are not started: no stock is built, and no other market buys more. Demand is
even over the year, so that a quarter takes a quarter of it. Common practice.
"""

from __future__ import annotations

from collections.abc import Mapping

from ...case.plan_records import UNLIMITED
from ...case.whole_case import Case
from ...core.operations import choose, larger, safe_divide, smaller, sum_of
from ...core.series import Row, constant
from ..line.line_figures import Line
from .plan_figures import MarketSales
from .timing import QUARTERS, by_year, quarter_names, year_names


def market_sales(case: Case, line: Line, good: Row, run: Row) -> dict[str, MarketSales]:
    """Planned and sold in every market that a row of sales.csv names, in the unit of its volume.

        names = dict.fromkeys(row.market for row in case.sales.values() if row.market != UNLIMITED)    [any]
        markets = [case.markets[name] for name in names]    [any]
        full = [line.output.by_unit()[market.per] for market in markets]    [any]
        shares = [sum_of([row.output_share for row in case.sales.values() if row.market == name]) for name in names]    [1]
        cap = [market.volume * market.most_share for market in markets]
        planned = [whole / QUARTERS * share * good for whole, share in zip(full, shares)]
        caps = [most / QUARTERS * run for most in cap]    [any]
        sold = [smaller(wanted, most) for wanted, most in zip(planned, caps)]
        sold_share = [choose(wanted > most, safe_divide(most, wanted), 1.0) for wanted, most in zip(planned, caps)]
        planned_by_year = [Row([sum_of(year) for year in by_year(wanted)]) for wanted in planned]
        sold_by_year = [Row([sum_of(year) for year in by_year(made)]) for made in sold]
        cut_by_year = [larger(wanted - made, 0.0 * wanted) for wanted, made in zip(planned_by_year, sold_by_year)]
        market_share_by_year = [made / market.volume for made, market in zip(sold_by_year, markets)]

    Takes: good [1], run [1].
    Source: common practice.

    `good` are good modules planned, over those of the case in full swing; `run` is the running share of each quarter. Before the
    start of production a market takes nothing.

    A plant of 400 m2 a year, half of it for a market of 1,000 m2 a year, of which it may sell 10 %:

    >>> from types import SimpleNamespace as Some
    >>> roof = Some(per="m2", volume=1000.0, most_share=0.1)
    >>> case = Some(sales={"a": Some(market="roof", output_share=0.5)}, markets={"roof": roof})
    >>> line = Some(output=Some(by_unit=lambda: {"m2": 400.0}))
    >>> found = market_sales(case, line, Row([0.0, 0.4, 1.0, 1.0, 1.0]), Row([0.0, 1.0, 1.0, 1.0, 1.0]))["roof"]
    >>> found.cap, list(found.sold.values()), found.sold_by_year, found.cut_by_year
    (100.0, [0.0, 20.0, 25.0, 25.0, 25.0], {'y01': 95.0}, {'y01': 75.0})
    """
    found = {}
    for name in dict.fromkeys(row.market for row in case.sales.values() if row.market != UNLIMITED):
        market = case.markets[name]
        full = line.output.by_unit()[market.per]
        shares = sum_of([row.output_share for row in case.sales.values() if row.market == name])
        cap = market.volume * market.most_share
        planned = full / QUARTERS * shares * good
        caps = cap / QUARTERS * run
        sold = smaller(planned, caps)
        wanted, made = (Row(sum_of(quarters) for quarters in by_year(each)) for each in (planned, sold))
        names, years = quarter_names(len(run)), year_names(len(made))
        found[name] = MarketSales(
            per=market.per,
            cap=cap,
            planned=dict(zip(names, planned)),
            sold=dict(zip(names, sold)),
            sold_share=dict(zip(names, choose(planned > caps, safe_divide(caps, planned), 1.0))),
            planned_by_year=dict(zip(years, wanted)),
            sold_by_year=dict(zip(years, made)),
            cut_by_year=dict(zip(years, larger(wanted - made, 0.0 * wanted))),
            market_share_by_year=dict(zip(years, made / market.volume)),
        )
    return found


def watts_made(line: Line, good: Row) -> Row:
    """Stabilised watts made and sold in each quarter.

        watts = line.output.stabilised_watts / QUARTERS * good    [Wp_stabilised]

    Takes: good [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> watts_made(Some(output=Some(stabilised_watts=400.0)), Row([0.0, 0.5]))
    [0.0, 50.0]
    """
    return line.output.stabilised_watts / QUARTERS * good


def watts_labelled(line: Line, watts: Row) -> Row:
    """Watts on the labels of the modules sold, on which a royalty per watt is paid, whatever their class sells for.

        labelled = watts * (line.power.labelled_power / line.output.stabilised_power)    [Wp_stabilised]

    Takes: watts [Wp_stabilised].
    Source: common practice: a licence counts the rated power of what is sold.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(power=Some(labelled_power=36.0), output=Some(stabilised_power=40.0))
    >>> watts_labelled(line, Row([0.0, 100.0]))
    [0.0, 90.0]
    """
    return watts * (line.power.labelled_power / line.output.stabilised_power)


def sold_shares(case: Case, found: Mapping[str, MarketSales], quarters: int) -> dict[str, Row]:
    """What is sold of what each row of sales.csv plans, by quarter; all of it where no market limits it."""
    everything = constant(1.0, quarters)
    return {
        name: everything if row.market == UNLIMITED else Row(found[row.market].sold_share.values())
        for name, row in case.sales.items()
    }


def taken(case: Case, shares: Mapping[str, Row]) -> Row:
    """What the markets take of the output planned, by quarter: 1 less what is cut, so that it is 1 to the bit without a cut.

        share = 1.0 - sum_of([row.output_share * (1.0 - shares[name]) for name, row in case.sales.items()])    [1]

    Takes: shares [1].
    Source: common practice.

    Half of the output goes to a market that takes 80 % of it:

    >>> from types import SimpleNamespace as Some
    >>> case = Some(sales={"roof": Some(output_share=0.5), "rest": Some(output_share=0.5)})
    >>> taken(case, {"roof": Row([1.0, 0.8]), "rest": Row([1.0, 1.0])})
    [1.0, 0.9]
    """
    return 1.0 - sum_of([row.output_share * (1.0 - shares[name]) for name, row in case.sales.items()])
