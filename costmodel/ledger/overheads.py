"""Costs of the firm: amounts for a year, a module or a watt, and shares of the value of equipment."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case
from ..line.records import Line
from ..operations import Value, sum_of
from .entries import entry
from .equipment import delivered_price, installed_price, spares_value
from .prices import in_money_of_the_case, in_reporting_currency
from .records import PLANT, LedgerLine


def equipment_value(case: Case, line: Line) -> Value:
    """What tools, carriers, facility systems and parts in store have cost, standing in the plant."""
    tools = [installed_price(case, tool) * line.tools[name].tools for name, tool in case.tools.items()]
    carriers = [delivered_price(case, row) * line.carriers[name].tools for name, row in case.carriers.items()]
    systems = [in_money_of_the_case(case, "facilities", row) for row in case.facilities.values()]
    spares = [spares_value(case, line, name) for name in case.spares]
    return sum_of([*tools, *carriers, *systems, *spares])


def overhead_entries(case: Case, line: Line, value: Value) -> Iterator[tuple[str, LedgerLine]]:
    """Overheads by row; levies on the value of equipment. None bears yield loss: they are for good modules, or for no plate."""
    output = line.output
    amounts = {"year": case.constants.year, "module": output.good_modules, "m2": output.good_area,
               "Wp_stabilised": output.stabilised_watts}  # fmt: skip
    for name, row in case.overheads.items():
        yield (
            f"overheads.{name}",
            entry(case, line, step=PLANT, category="overheads", item=name, group="overheads", unit=row.per, driver=row.per,
                  quantity=amounts[row.per], price=in_reporting_currency(row.amount, row.currency, case.money),
                  variable_share=0.0 if row.per == "year" else 1.0),
        )  # fmt: skip
    for name, row in case.levies.items():
        yield (
            f"levies.{name}",
            entry(case, line, step=PLANT, category="overheads", item=name, group="overheads", unit="year",
                  driver="value of equipment", quantity=case.constants.year, price=value * row.rate),
        )  # fmt: skip
