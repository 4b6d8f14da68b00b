"""Words, pictures and tables of the terms, which proposal and memo share."""

from __future__ import annotations

from typing import Any

from .. import pictures
from ..numbers import money, people, stated
from ..palette import COLOURS
from .blocks import Block, picture, table
from .closing import millions

Facts = dict[str, Any]

NO_DEAL = "The case has no plan.yaml or no deal.yaml, so there are no terms to show."


def months(years: float) -> str:
    """A time in months.

    >>> months(1 / 12), months(2.5)
    ('1 month', '30 months')
    """
    shown = stated(round(12 * years, 4))
    return f"{shown} month{'' if shown == '1' else 's'}"


def terms_words(licence: Facts, currency: str) -> str:
    """The terms in a few words."""
    parts = []
    if licence["upfront"]:
        parts.append(f"{money(licence['upfront'], currency)} once")
    if licence["royalty"]:
        parts.append(f"{stated(100 * licence['royalty'])} % of net sales")
    if licence["royalty_per_watt"]:
        parts.append(f"{money(licence['royalty_per_watt'], currency)} for each watt sold")
    if not parts:
        return "nothing"
    over = f" over {stated(licence['term'])} years of production" if len(parts) > bool(licence["upfront"]) else ""
    return " and ".join(parts) + over


def terms_table(licence: Facts, currency: str) -> Block:
    """The terms, one by one."""
    rows = [
        ["Fee, paid once", money(licence["upfront"], currency)],
        ["Paid", f"{months(licence['upfront_time'])} after the first day"],
        ["Running royalty", f"{stated(100 * licence['royalty'])} % of net sales"],
        ["Royalty for each watt sold", money(licence["royalty_per_watt"], currency)],
        ["For how long", f"{stated(licence['term'])} years from the start of production"],
        ["In all, by the plan", money(licence["paid"], currency)],
    ]
    return table("Terms", ["", ""], rows, "With inflation, as the plan has it. An indication, and no offer.", texts=(0, 1))


def payments_picture(licence: Facts, currency: str) -> Block:
    """What is paid in each year."""
    names = [str(k + 1) for k in range(licence["horizon"])]
    series = [
        ("fees", COLOURS["materials"], [value / 1e6 for value in licence["fee_by_year"]]),
        ("royalty", COLOURS["maintenance"], [value / 1e6 for value in licence["royalty_by_year"]]),
        ("work and supplies", COLOURS["labour"], [value / 1e6 for value in licence["services_by_year"]]),
    ]
    says = (
        f"Payments for the licence in each year of the plan, million {currency}: fees of {people(sum(series[0][2]))} million, "
        f"royalties of {people(sum(series[1][2]))} million, "
        f"{people(sum(series[2][2]))} million for work and supplies, {people(licence['paid'] / 1e6)} million in all."
    )
    return picture("payments", pictures.columns(names, series, f"million {currency} a year", "year", says), says)


def schedule_picture(licence: Facts) -> Block:
    """When things happen."""
    rows = schedule(licence)
    says = "Schedule in years from the first day: " + "; ".join(f"{name}: {said}" for name, *_, said in rows) + "."
    return picture("schedule", pictures.timeline(rows, "years from the first day", says), says)


def schedule(licence: Facts) -> list[tuple[str, float, float, str]]:
    """What happens when: name, start and end in years, words."""
    start, full = licence["start"], licence["full_swing"]
    royalty_end = min(start + licence["term"], licence["horizon"])

    def between(first: float, last: float) -> str:
        return f"{stated(first)} to {stated(last)} years" if first else f"to {stated(last)} years"

    rows = [
        ("Fee is paid", licence["upfront_time"], licence["upfront_time"], f"after {months(licence['upfront_time'])}"),
        ("Plant is built and started up", 0.0, start, between(0.0, start)),
        ("Know-how is handed over", 0.0, licence["transfer_time"], between(0.0, licence["transfer_time"])),
        ("Output rises to full swing", start, full, between(start, full)),
    ]
    if licence["royalty"] or licence["royalty_per_watt"]:
        rows.append(("Royalty runs", start, royalty_end, between(start, royalty_end)))
    return [row for row in rows if row[2] > row[1] or row[0] == "Fee is paid"]


def year_payments_table(licence: Facts, currency: str) -> Block:
    """What is paid, year by year."""
    parts = [licence[f"{name}_by_year"] for name in ("fee", "royalty", "services")]
    rows = [[str(k + 1), *map(millions, year), millions(sum(year))] for k, year in enumerate(zip(*parts))]
    rows.append(["all", *(millions(sum(part)) for part in parts), millions(licence["paid"])])
    columns = ["year", "fees", "royalty", "work and supplies", "all"]
    return table(f"Payments, million {currency}", columns, rows, total=True)
