"""Words, pictures and tables of a plan, which several kinds share."""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent, short_return, spoken, stated
from ...present.palette import COLOURS
from .. import svg_pictures
from .blocks import Block, picture, table
from .end_matter import millions, signed_millions

Facts = dict[str, Any]


def product_words(facts: Facts) -> str:
    """What is made, for a reader who has not seen such a module."""
    made = facts["product"]
    return (
        f"The plant makes {people(made['modules'], words=True)} modules a year, panes of glass of {stated(made['length'])} m by "
        f"{stated(made['width'])} m with a thin film of silicon that makes power, {people(made['stabilised_power'])} W each: "
        f"{people(made['megawatts'])} MW a year."
    )


def years(time: float | None) -> str:
    """A time in words, or that it does not come within the plan.

    >>> years(7.25), years(None)
    ('7.25 years', 'not within the plan')
    """
    return "not within the plan" if time is None else f"{people(time)} years"


def return_words(worth: Facts) -> str:
    """An internal rate of return, or why there is none."""
    words = short_return(worth["irr"], worth["irr_status"], worth["recovered"])
    return words if worth["irr"] is None else f"{words} a year"


def returns_clause(worth: Facts) -> str:
    """What a sentence says that a plant returns.

    >>> returns_clause({"irr": None, "irr_status": 4, "recovered": 0.38})
    'recovers 38.0 % of the outlay'
    >>> returns_clause({"irr": 0.12, "irr_status": 1, "recovered": 2.0})
    'returns 12.0 % a year'
    """
    words = return_words(worth)
    if worth["irr"] is not None:
        return f"returns {words}"
    return words if words.startswith("recovers") else "has no internal rate of return" if words == "none" else f"has {words}"


def paid_back(worth: Facts) -> str:
    """When it is paid back, or that it never is."""
    return "not paid back within the plan" if worth["payback"] is None else f"paid back after {years(worth['payback'])}"


def cash_picture(plan: Facts, currency: str) -> Block:
    """Cash so far over the years, with the low point and payback."""
    worth, heights = plan["project"], [value / 1e6 for value in plan["cumulative"]]
    along = [quarter / 4 for quarter in range(len(heights))]
    marks = []
    if worth["low_point"] < 0:
        low = worth["low_point"] / 1e6
        marks.append(
            (worth["low_point_time"], low, f"{people(low).replace('-', '−')} million after {years(worth['low_point_time'])}")
        )
    if worth["payback"] is not None:
        marks.append((worth["payback"], 0.0, f"paid back after {years(worth['payback'])}"))
    owners = [value / 1e6 for value in plan["cumulative_owners"]]
    drawn = [("project, as if there were no loan", COLOURS["project"], heights, False)]
    if plan["loan_part"]:
        drawn.append(("owners, with the loan", COLOURS["owners"], owners, True))
    says = (
        f"Cash paid in and earned so far, in million {currency}, over the years of the plan: lowest at "
        f"{people(worth['low_point'] / 1e6).replace('-', '−')} million after {years(worth['low_point_time'])}, {paid_back(worth)}, "
        f"{people(heights[-1]).replace('-', '−')} million at the end."
    )
    svg = svg_pictures.curves(along, drawn, marks, ("years from the first day of spending", f"million {currency}, so far"), says)
    return picture("cash_so_far", svg, says)


def moved_picture(name: str, found: Facts, what: str, currency: str, most: int = 8) -> Block:
    """What each uncertain input moves a figure by."""
    bars = found["bars"][:most]
    first = bars[0]
    says = (
        f"What each uncertain input does to {what} by itself, in million {currency}. Widest: {first['input']}, from "
        f"{signed_millions(min(first['at_low'], first['at_high']))} to {signed_millions(max(first['at_low'], first['at_high']))}."
    )
    svg = svg_pictures.spans(
        [bar["input"] for bar in bars],
        [(bar["at_low"] / 1e6, bar["at_high"] / 1e6) for bar in bars],
        [tuple(_in_words(bar[end], bar["unit"]) for end in ("low", "high")) for bar in bars],
        f"change of {what}, million {currency}",
        says,
    )
    return picture(name, svg, says)


def _in_words(value: str, unit: str) -> str:
    return value if unit == "1" else f"{value} {spoken(unit)}"


def year_table(plan: Facts, currency: str) -> Block:
    """Cash of the project, year by year, a row for each year."""
    found = plan["by_year"]
    names = [name for name in found if any(found[name])]
    rows = [
        [str(k + 1), *(people(found[name][k]) if name == "megawatts" else millions(found[name][k]) for name in names)]
        for k in range(len(found["revenue"]))
    ]
    columns = ["year", *("MW sold" if name == "megawatts" else name for name in names)]
    note = (
        "With inflation. Cash of the project is after tax, as if there were no loan, and after changes of working capital and VAT, "
    )
    return table(f"Year by year, million {currency}", columns, rows, note + "which are not shown.", texts=(0,))


def worth_table(plan: Facts, currency: str) -> Block:
    """What the plan is worth to the project and to its owners."""
    both = (plan["project"], plan["owners"])
    rows = [
        ["Return that is asked, a year", *(f"{stated(100 * plan[name])} %" for name in ("required_return", "equity_return"))],
        ["Net present value at it", *(money(each["npv"], currency) for each in both)],
        ["Internal rate of return", *(return_words(each) for each in both)],
        ["Modified internal rate of return, a year", *("none" if each["mirr"] is None else percent(each["mirr"]) for each in both)],
        ["Paid back after", *(years(each["payback"]) for each in both)],
        ["Paid back with the return asked after", *(years(each["discounted_payback"]) for each in both)],
        ["Lowest cash so far", *(money(each["low_point"], currency) for each in both)],
        ["Reached after", *(years(each["low_point_time"]) for each in both)],
    ]
    note = "After tax, with inflation, at day one; a flow over a quarter counts at its end, a payment due at a time when it is due."
    return table("What the plan is worth", ["", "project, no loan", "owners, with loan"], rows, note)


def capital_table(plan: Facts, currency: str) -> Block:
    """Capital by kind of asset."""
    rows = [[name, millions(value)] for name, value in plan["capital_by_kind"].items() if value]
    rows.append(["total", millions(plan["capital"])])
    note = "With reserve, grant taken off. Licence fee, start-up expenses, working capital and VAT at the border come on top."
    return table(f"Capital, million {currency}", ["", "million"], rows, note, total=True)
