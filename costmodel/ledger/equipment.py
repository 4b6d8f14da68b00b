"""Equipment: depreciation and maintenance of tools, shared by the steps they serve."""
from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case, Tool
from ..line.records import Line
from ..operations import Value
from .entries import entry, in_reporting_currency, step_shares
from .records import LedgerLine


def installed_price(case: Case, tool: Tool) -> Value:
    """Price of one tool standing in the plant: price x exchange rate x (1 + freight and duty + installation)."""
    return in_reporting_currency(tool.price, tool.currency, case.money) * (1 + tool.freight_and_duty + tool.installation)


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
        charges = {"depreciation": straight_line(price, tool.life, case.constants.year),
                   "maintenance": price * tool.maintenance * case.constants.year}
        for step, share in step_shares(case, line, name).items():
            for category, charge in charges.items():
                yield f"{category}.{step}", entry(
                    case, line, step=step, category=category, item=name, group="equipment", unit="tool",
                    driver=f"tool {name}", quantity=line.tools[name].tools * share, price=charge)
