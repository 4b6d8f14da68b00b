"""Words, pictures and tables of a plan, which several kinds share."""

from __future__ import annotations

from ...present.numbers import people, spoken, stated
from ...present.palette import COLOURS
from ...present.plain_plan import after, payback
from .. import svg_pictures
from .blocks import Block, Facts, picture, table
from .end_matter import millions

SEEN = 1e-3  # of the widest bar: one that is shorter cannot be seen


def product_words(facts: Facts) -> str:
    """What is made, for a reader who has not seen such a module."""
    made = facts["product"]
    return (
        f"The plant makes {people(made['modules'], words=True)} modules a year, {people(made['megawatts'])} MW. Each is a pane of "
        f"glass of {stated(made['length'])} m by {stated(made['width'])} m with a thin film of silicon that "
        f"generates {people(made['stabilised_power'])} W."
    )


def cash_picture(plan: Facts, currency: str) -> Block:
    """Cash so far over the years, with the low point and payback."""
    worth = plan["project"]
    project, owners = ([value / 1e6 for value in plan[name]] for name in ("cumulative", "cumulative_owners"))
    low, reached = worth["low_point"] / 1e6, after(worth["low_point_time"])
    marks = [(worth["low_point_time"], low, f"{people(low)} million after {reached}")] if low < 0 else []
    marks += [] if worth["payback"] is None else [(worth["payback"], 0.0, f"payback after {after(worth['payback'])}")]
    drawn = [("project, as if there were no loan", COLOURS["project"], project, False)]
    drawn += [("owners, with the loan", COLOURS["owners"], owners, True)] if plan["loan_part"] else []
    says = (
        f"Cash paid in and earned so far, in million {currency}, over the years of the plan: lowest at {people(low)} million after "
        f"{reached}; {payback(worth)}; {people(project[-1])} million at the end."
    )
    axes = ("years from the first day of spending", f"million {currency}, so far")
    along = [quarter / 4 for quarter in range(len(project))]
    return picture("cash_so_far", svg_pictures.curves(along, drawn, marks, axes, says), says)


def moved_picture(name: str, found: Facts, what: str, currency: str, most: int = 8) -> Block:
    """What each uncertain input moves a figure by."""
    widest = max(abs(end) for end in (found["bars"][0]["at_low"], found["bars"][0]["at_high"]))
    seen = [bar for bar in found["bars"][:most] if max(abs(bar["at_low"]), abs(bar["at_high"])) >= SEEN * widest]
    bars = seen or found["bars"][:1]
    low, high = (f"{'+' if value > 0 else ''}{people(value / 1e6)}" for value in sorted((bars[0]["at_low"], bars[0]["at_high"])))
    says = (
        f"What each uncertain input does to {what} by itself, in million {currency}. Widest: {bars[0]['input']}, from "
        f"{low} to {high}."
    )
    svg = svg_pictures.spans(
        [bar["input"] for bar in bars],
        [(bar["at_low"] / 1e6, bar["at_high"] / 1e6) for bar in bars],
        [(_in_words(bar["low"], bar["unit"]), _in_words(bar["high"], bar["unit"])) for bar in bars],
        f"change of {what}, million {currency}",
        says,
    )
    return picture(name, svg, says)


def _in_words(value: str, unit: str) -> str:
    return value if unit == "1" else f"{value} {spoken(unit)}"


def year_table(plan: Facts, currency: str) -> Block:
    """Cash of the project, year by year, a row for each year."""
    found = {name: values for name, values in plan["by_year"].items() if any(values)}
    shown = {name: [people(v) if name == "megawatts" else millions(v) for v in values] for name, values in found.items()}
    rows = [[str(k), *cells] for k, cells in enumerate(zip(*shown.values()), start=1)]
    while rows and all(cell == "0" for cell in rows[-1][1:]):
        rows.pop()
    columns = ["year", *("MW sold" if name == "megawatts" else name for name in found)]
    note = (
        "With inflation. Running cost includes start-up and warranty claims paid. Cash of the project is after tax, without "
        "the loan. It includes changes of working capital, VAT, the sale of assets and what closing costs."
    )
    if plan["closes_after"] is not None:
        note += f" The plant closes after {after(plan['closes_after'])}; nothing is paid or received in years that are not shown."
    return table(f"Year by year, million {currency}", columns, rows, note)
