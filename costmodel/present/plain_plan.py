"""The worth of a plan from plain figures: the same sentences and rows for tables, sentences, and documents made of facts alone.

`plan` holds the facts of a plan, as `documents/plan_facts.py` has them; `worth` is its worth to the project or to its owners. Times
are in years; a figure without a value is None.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..case.whole_case import Case
from ..core.rates_of_return import COST_OF_FINANCE, HALF_LOST, ONE, SEVERAL
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.plan_figures import Valuation
from ..studies.spread import TWO_SIDED, Probability
from .numbers import MILLION, amount, as_float, fixed, money, people, percent, short_return, stated, years
from .table import Table

RULE_OF_THREE = 3.0  # over the draws: 95 % bound of a share that no draw has met (common practice)
NOT_PAID_BACK = "not within the plan"
KINDS_OF_ASSETS = {
    "tools": "tools_", "carriers": "carriers_", "parts in store": "spares_", "facility systems": "facilities_",
    "other assets": "capital_", "land": "land_",
}  # fmt: skip

Plain = Mapping[str, Any]


def sampling(draws: int) -> str:
    """How far so many draws leave open what lies outside eight in ten, and above the middle: 95 % of a binomial distribution.

    >>> sampling(2_500)
    'So many draws leave these parts open by ± 1.2 points at the ends and by ± 2.0 points in the middle (95 %).'
    """
    end, middle = (people(100 * TWO_SIDED * (part * (1 - part) / draws) ** 0.5, 2) for part in (0.1, 0.5))
    return f"So many draws leave these parts open by ± {end} points at the ends and by ± {middle} points in the middle (95 %)."


def likely_share(share: float, draws: int) -> str:
    """A probability over so many draws, with its sampling error.

    >>> likely_share(0.2, 400), likely_share(0.0, 1000)
    ('20 % (standard error 2.0 %)', '0 % (no draw, so at most 0.3 %)')
    """
    bound = RULE_OF_THREE / draws
    if share in (0.0, 1.0):
        ends = f"every draw, so at least {percent(1 - bound)}" if share else f"no draw, so at most {percent(bound, 1)}"
        return f"{'100' if share else '0'} % ({ends})"
    return f"{percent(share, 2)} (standard error {percent(Probability(share, draws).error, 2)})"


def plain_worth(found: Valuation) -> dict[str, Any]:
    """What the plan is worth to one side, as plain figures."""
    year = to_base("year")
    return {
        "npv": found.npv,
        "irr": found.irr if found.irr_status == ONE else None,
        "irr_status": int(found.irr_status),
        "recovered": found.recovered if found.recovered_status else None,
        "mirr": found.mirr if found.mirr_status else None,
        "payback": found.payback / year if found.payback_status else None,
        "discounted_payback": found.discounted_payback / year if found.discounted_payback_status else None,
        "low_point": found.low_point,
        "low_point_time": found.low_point_time / year,
    }


def plain_plan(case: Case, results: Results) -> dict[str, Any]:
    """The worth of a plan, its capital, its loan and other lines, as plain figures."""
    found, loan = results.plan, case.plan.loan
    return {
        **{field: getattr(found, field) for field in ("required_return", "equity_return", "capital", "capital_per_annual_watt")},
        "project": plain_worth(found.project),
        "owners": plain_worth(found.owners),
        "capital_by_kind": {
            name: sum(x.cost for asset, x in found.assets.items() if asset.startswith(start))
            for name, start in KINDS_OF_ASSETS.items()
        },
        "loan_part": as_float(loan.part),
        "minimum_dscr": found.minimum_dscr if found.minimum_dscr_status else None,
        "required_dscr": as_float(loan.minimum_dscr),
        "years_below_minimum_dscr": int(found.years_below_minimum_dscr),
        "given": shares_given(case, results),
        "closes_after": found.ending.time / to_base("year") if found.ending.early else None,
        "closing_shortfall": found.ending.shortfall if found.ending.early else None,
        "others": [
            {"row": f"other_lines.{name}", "name": case.other_lines[name].title, "npv": each.worth.npv}
            | {"irr": plain_worth(each.worth)["irr"]}
            for name, each in found.others.items()
        ],
    }


def shares_given(case: Case, results: Results) -> dict[str, Any] | None:
    """The part of the shares that the licensor is given, and the present value of their dividends; none without a deal."""
    if not results.has_deal:
        return None
    share = as_float(case.deal.licence.equity_share)
    return {"row": "licence", "equity_share": share, "dividends": results.deal.licensee.dividends}


def in_years(time: float | None) -> str:
    """A time in a table, or that it does not come within the plan.

    >>> in_years(7.25), in_years(None)
    ('7.25 years', 'not within the plan')
    """
    return NOT_PAID_BACK if time is None else f"{people(time)} years"


def after(time: float) -> str:
    """A time in a sentence, to the nearest quarter of a year.

    >>> after(7.54), after(1.0)
    ('7½ years', '1 year')
    """
    return years(time * to_base("year"))


def return_clause(rate: float | None, status: float, recovered: float) -> str:
    """The return of a plan in a sentence.

    >>> return_clause(0.1234, 1.0, 2.0), return_clause(None, 4.0, 0.38)
    ('an internal rate of return of 12.3 % a year', 'no internal rate of return: 38.0 % of the outlay is recovered')
    """
    if status == ONE and rate is not None:
        return f"an internal rate of return of {percent(rate)} a year"
    if status == HALF_LOST:
        return f"no internal rate of return: {percent(recovered)} of the outlay is recovered"
    return {
        SEVERAL: "several rates at which its value is 0, none of which is the return",
        COST_OF_FINANCE: "no internal rate of return: money comes first, and the rate is a cost of finance",
    }.get(status, "no internal rate of return between −90 and +1,000 % a year")


def payback(worth: Plain) -> str:
    """When payback is, or that there is none."""
    return "there is no payback within the plan" if worth["payback"] is None else f"payback is after {after(worth['payback'])}"


def returns(worth: Plain) -> str:
    """The return in a sentence: `has` an internal rate of return, or why there is none."""
    return return_clause(worth["irr"], worth["irr_status"], worth["recovered"] or 0.0)


def return_a_year(worth: Plain) -> str:
    """The return in a table."""
    words = short_return(worth["irr"], worth["irr_status"], worth["recovered"] or 0.0)
    return words if worth["irr"] is None else f"{words} a year"


def worth_table(plan: Plain, currency: str, rates: Sequence[str] = ()) -> Table:
    """What the plan is worth to the project and to its owners; rates of return may be given in words of their own."""
    both = (plan["project"], plan["owners"])
    rows = [
        ["Required return", *(f"{stated(100 * plan[name])} %" for name in ("required_return", "equity_return"))],
        ["Net present value at it", *(money(each["npv"], currency) for each in both)],
        ["Internal rate of return", *(rates or map(return_a_year, both))],
        ["Modified internal rate of return", *("none" if each["mirr"] is None else percent(each["mirr"]) for each in both)],
        ["Payback after", *(in_years(each["payback"]) for each in both)],
        ["Discounted payback after", *(in_years(each["discounted_payback"]) for each in both)],
        ["Peak funding need", *(money(-each["low_point"] or 0.0, currency) for each in both)],
        ["Reached after", *(in_years(each["low_point_time"]) for each in both)],
    ]
    note = (
        "After tax, with inflation, at day one; flows over a quarter count at its end, payments when they are due. "
        "Payback runs from day one."
    )
    return Table("Net present value and returns", ["", "project, no loan", "owners, with loan"], rows, note)


def capital_table(plan: Plain, currency: str) -> Table:
    """Capital by kind of asset, in all and per watt a year."""
    per_capital = plan["capital_per_annual_watt"] / plan["capital"] if plan["capital"] else 0.0
    kinds = {name: value for name, value in plan["capital_by_kind"].items() if value} | {"total": plan["capital"]}
    rows = [[name, fixed(value / MILLION, 2), people(value * per_capital)] for name, value in kinds.items()]
    note = "With reserve, less grant. Licence fee, expenses paid once, working capital and VAT at the border come on top."
    columns = ["", "million", f"{currency} per stabilised W a year"]
    return Table(f"Capital, million {currency}", columns, rows, note, total=True)


def bank(plan: Plain) -> str:
    """Whether the loan is covered."""
    if not plan["loan_part"]:
        return "The plan has no loan."
    loan, below = f"The loan pays {stated(100 * plan['loan_part'])} % of the capital.", plan["years_below_minimum_dscr"]
    if plan["minimum_dscr"] is None:
        return f"{loan} Nothing of it is repaid within the plan."
    count = {0: "No year falls", 1: "One year falls"}.get(below, f"{below} years fall")
    return (
        f"{loan} At the stated inputs the lowest debt service coverage ratio (DSCR) of a year is {people(plan['minimum_dscr'])}; "
        f"the bank requires {stated(plan['required_dscr'])}. {count} below it."
    )


def best_other(plan: Plain, currency: str) -> str:
    """Whether another line would be better for the same money."""
    if not plan["others"]:
        return "The case names no other line."
    best, own = max(plan["others"], key=lambda other: other["npv"]), plan["project"]["npv"]
    rate = "" if best["irr"] is None else f" Its internal rate of return is {percent(best['irr'])} a year."
    return (
        f"For the same money, “{best['name']}” is the best other line. Its net present value is {amount(best['npv'], currency)}, "
        f"{'more' if best['npv'] > own else 'less'} than the {amount(own, currency)} of this plan.{rate}"
    )
