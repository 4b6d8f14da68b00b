"""Equipment: depreciation, maintenance and floor of tools, service, spare parts, carriers, shared by the steps they serve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...case.line_records import Carrier, Tool
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..line.growth import grown
from ..line.line_figures import Line
from .depreciation import average_charge, idle_part
from .entries import carrier_shares, entry, step_shares
from .ledger_figures import LedgerLine
from .prices import in_money_of_the_case, in_reporting_currency


def installed_price(case: Case, tool: Tool) -> Value:
    """Price of one tool standing in the plant: price x exchange rate x (1 + freight and duty + installation)."""
    return in_money_of_the_case(case, "tools", tool) * (1 + tool.freight_and_duty + tool.installation)


@dataclass(frozen=True, slots=True)
class Piece:
    """One row of equipment: its table, cost standing in the plant, price without freight and installation, and two lives."""

    table: str
    name: str
    cost: Value
    price: Value
    life: Value
    technical_life: Value


def pieces(case: Case, line: Line) -> list[Piece]:
    """All equipment: tools, carriers, parts in store, facility systems."""
    costs = {
        "tools": {n: installed_price(case, row) * line.tools[n].tools for n, row in case.tools.items()},
        "carriers": {n: delivered_price(case, row) * line.carriers[n].tools for n, row in case.carriers.items()},
        "spares": {n: spares_value(case, line, n) for n in case.spares},
        "facilities": {n: systems_value(case, line, n) for n in case.facilities},
    }
    counts = {"tools": line.tools, "carriers": line.carriers}
    bare = {
        (table, name): in_money_of_the_case(case, table, row) * used[name].tools
        for table, used in counts.items()
        for name, row in getattr(case, table).items()
    }
    return [
        Piece(
            table,
            name,
            cost,
            bare.get((table, name), cost),
            getattr(case, table)[name].life,
            getattr(case, table)[name].technical_life,
        )
        for table, of_table in costs.items()
        for name, cost in of_table.items()
    ]


def equipment_value(case: Case, line: Line) -> Value:
    """What all equipment has cost."""
    return sum_of([piece.cost for piece in pieces(case, line)])


def equipment_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Depreciation, maintenance and floor by tool and step; the quantity is the tools that work for the step."""
    for name, tool in case.tools.items():
        price = installed_price(case, tool)
        loading = line.tools[name].loading
        area = case.areas[tool.area]
        floor = tool.footprint * in_reporting_currency(area.charge, area.currency, case.money)
        idle = {"depreciation": idle_part(case, "tools", loading), "building": 1 - loading}
        charges = {
            "depreciation": average_charge(case, "tools", price, tool.life, loading),
            "maintenance": price * tool.maintenance * case.constants.year,
            "building": floor * case.constants.year,
        }
        for step, share in step_shares(case, line, name).items():
            for category, charge in charges.items():
                yield (
                    f"{category}.{step}",
                    entry(
                        line,
                        step=step,
                        category=category,
                        item=name,
                        unit="tool",
                        group="building" if category == "building" else "equipment",
                        driver=f"tool {name}",
                        quantity=line.tools[name].tools * share,
                        price=charge,
                        idle_share=idle.get(category, 0.0),
                    ),
                )


def service_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Service that comes due by the calendar or by time at work: tools or hours / interval, in a year."""
    for name, row in case.services.items():
        use = line.tools[row.tool]
        times = {"calendar": use.tools * case.constants.year, "work": use.busy_time}
        for step, share in step_shares(case, line, row.tool).items():
            yield (
                f"services.{name}.{step}",
                entry(line, step=step, category="maintenance", item=name, group="equipment", unit="tool",
                      driver=f"{row.clock} of tool {row.tool}", quantity=times[row.clock] / row.interval * share,
                      price=in_money_of_the_case(case, "services", row), variable_share=1.0 if row.clock == "work" else 0.0),
            )  # fmt: skip


def spares_value(case: Case, line: Line, name: str) -> Value:
    """What the parts kept in store have cost."""
    row = case.spares[name]
    sets = {"tool": line.tools[row.tool].tools, "plant": 1.0}
    return grown(line, "spares", name, in_money_of_the_case(case, "spares", row) * sets[row.per])


def systems_value(case: Case, line: Line, name: str) -> Value:
    """What the units of a facility system in the plant have cost."""
    return grown(line, "facilities", name, in_money_of_the_case(case, "facilities", case.facilities[name]))


def spares_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Depreciation of the parts kept in store, shared by the steps of the tool that they are for."""
    for name, row in case.spares.items():
        charge = average_charge(case, "spares", spares_value(case, line, name), row.life)
        for step, share in step_shares(case, line, row.tool).items():
            yield (
                f"spares.{name}.{step}",
                entry(line, step=step, category="depreciation", item=name, group="equipment", unit="1",
                      driver=f"parts for tool {row.tool}", quantity=share, price=charge),
            )  # fmt: skip


def delivered_price(case: Case, carrier: Carrier) -> Value:
    """Price of one carrier in the plant: price x exchange rate x (1 + freight and duty)."""
    return in_money_of_the_case(case, "carriers", carrier) * (1 + carrier.freight_and_duty)


def carrier_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Depreciation and maintenance of carriers, shared by the steps they go through."""
    for name, carrier in case.carriers.items():
        price = delivered_price(case, carrier)
        loading = line.carriers[name].loading
        charges = {
            "depreciation": average_charge(case, "carriers", price, carrier.life, loading),
            "maintenance": in_money_of_the_case(case, "carriers", carrier) * carrier.maintenance * case.constants.year,
        }
        for step, share in carrier_shares(case, line, name).items():
            for category, charge in charges.items():
                yield (
                    f"carriers.{name}.{category}.{step}",
                    entry(
                        line,
                        step=step,
                        category=category,
                        item=name,
                        group="equipment",
                        unit="tool",
                        driver=f"carrier {name}",
                        quantity=line.carriers[name].tools * share,
                        price=charge,
                        idle_share=idle_part(case, "carriers", loading) if category == "depreciation" else 0.0,
                    ),
                )
