"""Pictures and tables of cost, which several kinds share."""

from __future__ import annotations

from ...present.numbers import money, people, percent
from .. import svg_pictures
from .blocks import Block, Facts, picture, table


def stage_picture(cost: Facts, currency: str) -> Block:
    """Cost of a watt by part of the route, stacked by kind."""
    stages = cost["by_stage"]
    order = [each["name"] for each in cost["by_kind"]]
    known = sorted(stages[0]["kinds"], key=lambda kind: order.index(kind) if kind in order else len(order))
    kinds = [kind for kind in known if any(stage["kinds"][kind] for stage in stages)]
    sums = {stage["name"]: sum(stage["kinds"].values()) for stage in stages}
    dearest = max(sums, key=lambda name: sums[name])
    says = (
        f"Cost of a stabilised watt by part of the route and kind, {currency}. Most expensive: {dearest}, "
        f"{money(sums[dearest], currency)} of {money(cost['per_watt'], currency)}."
    )
    series = [(kind, svg_pictures.colour_of(kind, k), [stage["kinds"][kind] for stage in stages]) for k, kind in enumerate(kinds)]
    return picture("cost_by_part", svg_pictures.bars(list(sums), series, f"{currency} per stabilised watt", says), says)


def kind_table(cost: Facts, currency: str) -> Block:
    """Cost by kind."""
    parts = [*(each for each in cost["by_kind"] if each["a_year"]), {"name": "total"} | cost]
    rows = [
        [x["name"], people(x["per_watt"]), people(x["per_m2"]), people(x["a_year"]), percent(x["a_year"] / cost["a_year"])]
        for x in parts
    ]
    columns = ["", "per stabilised watt", "per m²", "a year", "share"]
    return table(f"Cost of the modules by kind, {currency}", columns, rows, cost["not_in_it"], total=True)


def market_table(found: list[Facts], currency: str) -> Block:
    """What buyers could pay, market by market."""
    rows = [
        [
            each["name"],
            f"{each['limited_by']}: {each['against']['name']}",
            people(each["highest_price"]) if each["highest_price"] > 0 else "none",
            *(people(each[name]) for name in ("highest_price_per_m2", "asked_price", "margin", "megawatts")),
        ]
        for each in found
    ]
    columns = ["market", "limited by, compared with", "highest price", "highest price per m²", "asking price",
               "highest price less cost", "market volume, MW a year"]  # fmt: skip
    note = (
        "Limited by energy: at the highest price, energy costs the buyer as much as with the reference module, balance of system "
        "included. Limited by area: the owner is as well off as with the best other covering. None: no positive price exists."
    )
    return table(f"Markets, {currency} per stabilised watt at our gate", columns, rows, note, texts=(0, 1))
