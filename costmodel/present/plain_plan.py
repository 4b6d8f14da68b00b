"""The worth of a plan from plain figures: the same sentences and rows for tables, sentences, and documents made of facts alone.

`plan` holds the facts of a plan, as `documents/plan_facts.py` has them; `worth` is its worth to the project or to its owners. Times
are in years; a figure without a value is None.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..core.rates_of_return import ONE
from ..core.units import to_base
from ..model.plan.plan_figures import Valuation
from .numbers import money, people, percent, short_return, stated
from .plan_report import return_clause
from .table import Table

NOT_PAID_BACK = "not within the plan"
_QUARTERS = ("", "¼", "½", "¾")

Plain = Mapping[str, Any]


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


def in_years(time: float | None) -> str:
    """A time in a table, or that it does not come within the plan.

    >>> in_years(7.25), in_years(None)
    ('7.25 years', 'not within the plan')
    """
    return NOT_PAID_BACK if time is None else f"{people(time)} years"


def after(time: float) -> str:
    """A time in a sentence, to the nearest quarter of a year.

    >>> after(7.54), after(1.0), after(0.2)
    ('7½ years', '1 year', '¼ year')
    """
    quarters = round(4 * time)
    shown = f"{quarters // 4 or ''}{_QUARTERS[quarters % 4]}" or "0"
    return f"{shown} year{'' if 0 < quarters <= 4 else 's'}"


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
    note = "After tax, with inflation, at day one; flows over a quarter count at its end, payments when they are due."
    return Table("Net present value and returns", ["", "project, no loan", "owners, with loan"], rows, note)


def capital_table(plan: Plain, currency: str) -> Table:
    """Capital by kind of asset, in all and per watt a year."""
    watts = plan["capital"] / plan["capital_per_annual_watt"]
    kinds = {name: value for name, value in plan["capital_by_kind"].items() if value}
    kinds["total"] = plan["capital"]
    rows = [[name, f"{value / 1e6:,.2f}", people(value / watts)] for name, value in kinds.items()]
    note = "With reserve, less grant. Licence fee, expenses paid once, working capital and VAT at the border come on top."
    return Table(f"Capital, million {currency}", ["", "million", f"{currency} per stabilised W a year"], rows, note, total=True)


def bank(plan: Plain) -> str:
    """Whether the loan is covered."""
    if not plan["loan_part"]:
        return "The plan has no loan."
    loan, below = f"The loan pays {stated(100 * plan['loan_part'])} % of the capital.", plan["years_below_minimum_dscr"]
    if plan["minimum_dscr"] is None:
        return f"{loan} Nothing of it is repaid within the plan."
    count = {0: "No year falls", 1: "One year falls"}.get(below, f"{below} years fall")
    return (
        f"{loan} The lowest debt service coverage ratio (DSCR) of a year is {people(plan['minimum_dscr'])}; the bank requires "
        f"{stated(plan['required_dscr'])}. {count} below it."
    )


def best_other(plan: Plain, currency: str) -> str:
    """Whether another line would be better for the same money."""
    if not plan["others"]:
        return "The case names no other line."
    best, own = max(plan["others"], key=lambda other: other["npv"]), plan["project"]["npv"]
    rate = "" if best["irr"] is None else f" and its internal rate of return {percent(best['irr'])} a year"
    return (
        f"For the same money, “{best['name']}” is the best other line. Its net present value is {money(best['npv'], currency)}"
        f"{rate}; the plan has {money(own, currency)}."
    )
