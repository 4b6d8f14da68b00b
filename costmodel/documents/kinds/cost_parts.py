"""Pictures and tables of cost, which several kinds share."""

from __future__ import annotations

from typing import Any

from ...present.numbers import money, people, percent
from .. import svg_pictures
from .blocks import Block, picture, table

Facts = dict[str, Any]


def stage_picture(cost: Facts, currency: str) -> Block:
    """Cost of a watt by part of the route, stacked by kind."""
    order = [each["name"] for each in cost["by_kind"]]
    known = sorted(cost["by_stage"][0]["kinds"], key=lambda kind: order.index(kind) if kind in order else len(order))
    kinds = [kind for kind in known if any(stage["kinds"][kind] for stage in cost["by_stage"])]
    unit = f"{currency} per stabilised watt"
    dearest = max(cost["by_stage"], key=lambda stage: sum(stage["kinds"].values()))
    says = (
        f"Cost of a stabilised watt by part of the route and kind, {currency}. Most expensive: {dearest['name']}, "
        f"{money(sum(dearest['kinds'].values()), currency)} of {money(cost['per_watt'], currency)}."
    )
    series = [
        (kind, svg_pictures.colour_of(kind, k), [stage["kinds"][kind] for stage in cost["by_stage"]])
        for k, kind in enumerate(kinds)
    ]
    return picture("cost_by_part", svg_pictures.bars([stage["name"] for stage in cost["by_stage"]], series, unit, says), says)


def kind_table(cost: Facts, currency: str) -> Block:
    """Cost by kind."""
    rows = [
        [
            each["name"],
            people(each["per_watt"]),
            people(each["per_m2"]),
            people(each["a_year"]),
            percent(each["a_year"] / cost["a_year"]),
        ]
        for each in cost["by_kind"]
        if each["a_year"]
    ]
    rows.append(["total", people(cost["per_watt"]), people(cost["per_m2"]), people(cost["a_year"]), "100 %"])
    columns = ["", "per stabilised watt", "per m2", "a year", "share"]
    return table(f"Cost of the modules by kind, {currency}", columns, rows, cost["not_in_it"], total=True)


def market_table(found: list[Facts], currency: str) -> Block:
    """What buyers could pay, market by market."""
    rows = [
        [
            each["name"],
            f"{each['limited_by']}: {each['against']['name']}",
            people(each["highest_price"]) if each["highest_price"] > 0 else "none",
            people(each["highest_price_per_m2"]).replace("-", "−"),
            people(each["asked_price"]),
            people(each["margin"]).replace("-", "−"),
            people(each["megawatts"]),
        ]
        for each in found
    ]
    columns = [
        "market",
        "limited by, and held against",
        "most a buyer could pay",
        "the same per m2",
        "asked",
        "most less cost to make",
        "MW a year in the market",
    ]
    note = (
        "Limited by energy: the most at which energy costs the buyer no more than with the reference module, balance of system "
        "included. Limited by area: the most at which the owner of an area is as well off as with the best other covering. None: "
        "not even a module for nothing would do."
    )
    return table(f"Markets, {currency} per stabilised watt at our gate", columns, rows, note, texts=(0, 1))
