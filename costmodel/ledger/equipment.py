"""Equipment: depreciation, maintenance and floor of tools, and carriers, shared by the steps they serve."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Carrier, Case, Tool
from ..line.records import Line
from ..operations import Value
from .entries import carrier_shares, entry, step_shares
from .prices import in_money_of_the_case, in_reporting_currency
from .records import LedgerLine

CAPACITY = ("depreciation", "building")  # costs of having a tool, whether it works or not


def installed_price(case: Case, tool: Tool) -> Value:
    """Price of one tool standing in the plant: price x exchange rate x (1 + freight and duty + installation)."""
    return in_money_of_the_case(case, "tools", tool) * (1 + tool.freight_and_duty + tool.installation)


def straight_line(price: Value, life: Value, year: Value) -> Value:
    """Depreciation of a year, straight line without salvage value.

    13,000 with a salvage value of 1,000 over 10 years gives 1,200 a year (check value D14):

    >>> straight_line(13000.0 - 1000.0, 10.0, 1.0)
    1200.0
    """
    return price * year / life


def equipment_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Depreciation and maintenance by tool and step; the quantity is the tools that work for the step."""
    for name, tool in case.tools.items():
        price = installed_price(case, tool)
        area = case.areas[tool.area]
        floor = tool.footprint * in_reporting_currency(area.charge, area.currency, case.money)
        charges = {
            "depreciation": straight_line(price, tool.life, case.constants.year),
            "maintenance": price * tool.maintenance * case.constants.year,
            "building": floor * case.constants.year,
        }
        for step, share in step_shares(case, line, name).items():
            for category, charge in charges.items():
                yield (
                    f"{category}.{step}",
                    entry(
                        case,
                        line,
                        step=step,
                        category=category,
                        item=name,
                        unit="tool",
                        group="building" if category == "building" else "equipment",
                        driver=f"tool {name}",
                        quantity=line.tools[name].tools * share,
                        price=charge,
                        idle_share=1 - line.tools[name].loading if category in CAPACITY else 0.0,
                    ),
                )


def delivered_price(case: Case, carrier: Carrier) -> Value:
    """Price of one carrier in the plant: price x exchange rate x (1 + freight and duty)."""
    return in_money_of_the_case(case, "carriers", carrier) * (1 + carrier.freight_and_duty)


def carrier_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Depreciation and maintenance of carriers, shared by the steps they go through."""
    for name, carrier in case.carriers.items():
        price = delivered_price(case, carrier)
        charges = {
            "depreciation": straight_line(price, carrier.life, case.constants.year),
            "maintenance": price * carrier.maintenance * case.constants.year,
        }
        for step, share in carrier_shares(case, line, name).items():
            for category, charge in charges.items():
                yield (
                    f"carriers.{name}.{category}.{step}",
                    entry(
                        case,
                        line,
                        step=step,
                        category=category,
                        item=name,
                        group="equipment",
                        unit="tool",
                        driver=f"carrier {name}",
                        quantity=line.carriers[name].tools * share,
                        price=charge,
                        idle_share=1 - line.carriers[name].loading if category in CAPACITY else 0.0,
                    ),
                )
