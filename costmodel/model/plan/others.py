"""Another line that the same money could buy: a card of a few figures under the same tax and required return."""

from __future__ import annotations

from ...case.plan_records import OtherLine
from ...case.whole_case import Case
from ...core.operations import Value, larger, smaller
from ...core.series import Row
from ..ledger.depreciation import straight_line_shares
from ..ledger.prices import in_reporting_currency
from .finance import in_holiday, taxes
from .plan_figures import Other, OtherQuarter
from .timing import QUARTERS, quarter_names, risen, running
from .worth import discounted, worth
from .years_of_use import by_quarter


def other_line(case: Case, row: OtherLine, money: Value, quarters: int, rate: Value) -> Other:
    """The flows of a line as large as the money buys.

    It is paid and built evenly over its building time, then makes half of its output while it ramps up, then all of it. Nothing is
    owed, held in stock or left at the end.
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
    taxed = taxes(case, operating - written_off, in_holiday(case, use, build))
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
