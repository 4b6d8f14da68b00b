"""Another line that the same money could buy: a card of a few figures under the same tax and required return."""

from __future__ import annotations

from ...case.plan_records import OtherLine
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller
from ...core.series import Row
from ..ledger.depreciation import straight_line_shares
from ..ledger.landed_prices import in_reporting_currency
from .plan_depreciation import by_quarter
from .plan_figures import Other, OtherQuarter
from .tax import holiday_to_date, in_holiday, taxes
from .timing import QUARTERS, quarter_names, risen, running
from .worth import discounted, worth


def other_line(case: Case, row: OtherLine, money: Value, quarters: int, rate: Value) -> Other:
    """The flows of a line as large as the money buys.

        year = case.constants.year    [s]
        use = running(quarters, row.build_time / (year / QUARTERS))    [1]
        full = running(quarters, (row.build_time + row.ramp_time) / (year / QUARTERS))    [1]
        stabilised_watts = money / in_reporting_currency(row.capital, row.currency, case.money)
        margin = in_reporting_currency(row.price - row.cash_cost, row.currency, case.money) / QUARTERS    [any]
        rises = Row([risen(row.change * year, number) for number in range(quarters)])    [1]
        operating = stabilised_watts * (0.5 * larger(use - full, 0.0) + full) * margin * rises    [money]
        shares = straight_line_shares(row.life / year, quarters // QUARTERS)    [1]
        written_off = by_quarter([money * share for share in shares], use)    [money]
        built = Row([smaller(1.0, number / (row.build_time / (year / QUARTERS))) for number in range(quarters)])    [1]
        holiday = holiday_to_date(in_holiday(case, use, row.build_time / (year / QUARTERS)), use)    [1]
        taxed = taxes(case, operating - written_off, holiday)    [any]
        free = operating - taxed.paid - money * built.gains()    [money]
        so_far = discounted(free, rate)    [money]
        worth = worth(free, free.running_sum(), so_far, rate, year / QUARTERS)
        pools = taxed.pools    [any]
        quarters = [OtherQuarter(free[k], taxed.carried[k], pools.losses[k], pools.losses_gone[k], pools.profits[k],
            pools.profits_gone[k], free.running_sum()[k], so_far[k]) for k in range(quarters)]

    Takes: money [money], rate [1].
    Source: common practice.

    It is paid and built evenly over its building time, then makes half of its output while it ramps up, then all of it. Nothing is
    owed, held in stock or left at the end.

    A line as large as a million buys:

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> name, row = next(iter(case.other_lines.items()))
    >>> found = other_line(case, row, 1e6, 9, 0.1)
    >>> abs(found.stabilised_watts * in_reporting_currency(row.capital, row.currency, case.money) - 1e6) < 1e-6
    True
    """
    year, quarter = case.constants.year, case.constants.year / QUARTERS
    watts = money / in_reporting_currency(row.capital, row.currency, case.money)
    margin = in_reporting_currency(row.price - row.cash_cost, row.currency, case.money) / QUARTERS
    build, ramp = row.build_time / quarter, row.ramp_time / quarter
    built = Row(smaller(1.0, number / build) for number in range(quarters))
    use = running(quarters, build)
    written_off = by_quarter([money * x for x in straight_line_shares(row.life / year, quarters // QUARTERS)], use)
    full = running(quarters, build + ramp)
    made = watts * (0.5 * larger(use - full, 0.0) + full)
    operating = made * margin * Row(risen(row.change * year, number) for number in range(quarters))
    taxed = taxes(case, operating - written_off, holiday_to_date(in_holiday(case, use, build), use))
    free = operating - taxed.paid - money * built.gains()
    so_far, discounted_so_far = free.running_sum(), discounted(free, rate)
    return Other(
        worth=worth(free, so_far, discounted_so_far, rate, quarter),
        quarters={
            name: OtherQuarter(
                free_cash=free[k],
                **{name: amounts[k] for name, amounts in taxed.columns().items() if name != "tax"},
                cumulative_free_cash=so_far[k],
                discounted_free_cash=discounted_so_far[k],
            )
            for k, name in enumerate(quarter_names(quarters))
        },
        stabilised_watts=watts,
    )
