"""Equipment: depreciation, maintenance and floor of tools, service, spare parts, carriers, shared by the steps they serve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...case.line_records import Carrier, Tool
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..line.line_figures import Line
from ..line.plant_growth import grown
from .depreciation import average_charge, idle_part
from .entries import Account, carrier_shares, entry, step_shares
from .landed_prices import in_money_of_the_case, in_reporting_currency
from .ledger_figures import LedgerLine


def installed_price(case: Case, tool: Tool) -> Value:
    """Price of one tool standing in the plant.

        installed price = in_money_of_the_case(case, "tools", tool) * (1 + tool.freight_and_duty + tool.installation)
            [money/tool]

    Source: accounting practice.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> tool = replace(case.tools["laminator"], freight_and_duty=0.25, installation=0.25)
    >>> installed_price(case, tool) == 1.5 * in_money_of_the_case(case, "tools", tool)
    True
    """
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
    """All equipment: tools, carriers, parts in store, facility systems, each with its cost in the plant and its bare price.

        cost = [installed_price(case, row) * line.tools[n].tools for n, row in case.tools.items()] + [delivered_price(case, row)
            * line.carriers[n].tools for n, row in case.carriers.items()] + [spares_value(case, line, n) for n in case.spares] +
            [systems_value(case, line, n) for n in case.facilities]    [money]
        moving = [in_money_of_the_case(case, "tools", row) * line.tools[n].tools for n, row in case.tools.items()] +
            [in_money_of_the_case(case, "carriers", row) * line.carriers[n].tools for n, row in case.carriers.items()]
            [money]
        price = moving + cost[len(moving) :]    [money]
        rows = [*case.tools.values(), *case.carriers.values(), *case.spares.values(), *case.facilities.values()]    [any]
        life = [row.life for row in rows]    [s]
        technical_life = [row.technical_life for row in rows]    [s]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> first = pieces(demo_case(), evaluate(demo_case()).line)[0]
    >>> first.name, first.cost > first.price
    ('glass_bench', True)
    """
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
    """What all equipment has cost.

        value = sum_of([piece.cost for piece in pieces(case, line)])    [money]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case())
    >>> equipment_value(demo_case(), found.line) == found.ledger.equipment_value
    True
    """
    return sum_of([piece.cost for piece in pieces(case, line)])


def equipment_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for depreciation, maintenance and floor by tool and step; the quantity is the tools that work for the step.

        tools = [(n, row, share) for n, row in case.tools.items() for share in step_shares(case, line, n).values()]    [any]
        quantity = [line.tools[n].tools * share for n, row, share in tools for k in range(3)]
        written off = {n: average_charge(case, "tools", installed_price(case, row), row.life, line.tools[n].loading) for n, row
            in case.tools.items()}    [money/tool]
        upkeep = {n: installed_price(case, row) * row.maintenance * case.constants.year for n, row in case.tools.items()}
            [money/tool]
        floor = {n: row.footprint * in_reporting_currency(case.areas[row.area].charge, case.areas[row.area].currency,
            case.money) * case.constants.year for n, row in case.tools.items()}    [money/tool]
        price = [charge for n, row, share in tools for charge in (written_off[n], upkeep[n], floor[n])]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> found = dict(equipment_entries(case, line))["maintenance.lamination"]
    >>> tool = case.tools["laminator"]
    >>> found.price == installed_price(case, tool) * tool.maintenance * case.constants.year
    True
    """
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
                        Account(
                            step=step,
                            category=category,
                            item=name,
                            group="building" if category == "building" else "equipment",
                            unit="tool",
                            driver=f"tool {name}",
                        ),
                        quantity=line.tools[name].tools * share,
                        price=charge,
                        idle_share=idle.get(category, 0.0),
                    ),
                )


def service_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for service due by the calendar or by time at work: tools or their time at work over the interval, in a year.

        due = [(row, line.tools[row.tool].busy_time if row.clock == "work" else line.tools[row.tool].tools *
            case.constants.year) for row in case.services.values()]    [any]
        quantity = [time / row.interval * share for row, time in due for share in step_shares(case, line, row.tool).values()]
        price = [in_money_of_the_case(case, "services", row) for row, time in due for share in step_shares(case, line,
            row.tool).values()]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> found = dict(service_entries(case, line))["services.laminator_pump.lamination"]
    >>> row = case.services["laminator_pump"]
    >>> row.clock, found.quantity == line.tools["laminator"].tools * case.constants.year / row.interval
    ('calendar', True)
    """
    for name, row in case.services.items():
        use = line.tools[row.tool]
        times = {"calendar": use.tools * case.constants.year, "work": use.busy_time}
        for step, share in step_shares(case, line, row.tool).items():
            yield (
                f"services.{name}.{step}",
                entry(
                    line,
                    Account(
                        step=step,
                        category="maintenance",
                        item=name,
                        group="equipment",
                        unit="tool",
                        driver=f"{row.clock} of tool {row.tool}",
                    ),
                    quantity=times[row.clock] / row.interval * share,
                    price=in_money_of_the_case(case, "services", row),
                    variable_share=1.0 if row.clock == "work" else 0.0,
                ),
            )


def spares_value(case: Case, line: Line, name: str) -> Value:
    """What the parts kept in store have cost: for each tool, or once for all of a kind.

        sets = line.tools[case.spares[name].tool].tools if case.spares[name].per == "tool" else 1.0    [any]
        value = grown(line, "spares", name, in_money_of_the_case(case, "spares", case.spares[name]) * sets)    [money]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> row = case.spares["coater_parts"]
    >>> row.per, spares_value(case, line, "coater_parts") == in_money_of_the_case(case, "spares", row)
    ('plant', True)
    """
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
                entry(
                    line,
                    Account(
                        step=step,
                        category="depreciation",
                        item=name,
                        group="equipment",
                        unit="1",
                        driver=f"parts for tool {row.tool}",
                    ),
                    quantity=share,
                    price=charge,
                ),
            )


def delivered_price(case: Case, carrier: Carrier) -> Value:
    """Price of one carrier in the plant.

        delivered price = in_money_of_the_case(case, "carriers", carrier) * (1 + carrier.freight_and_duty)    [money/tool]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> tray = Carrier("tray", "a", "b", 0.0, 0.0, 100.0, "EUR", "2026", 0.25, 1.0, 1.0, 0.0, 1.0)
    >>> delivered_price(demo_case(), tray)
    125.0
    """
    return in_money_of_the_case(case, "carriers", carrier) * (1 + carrier.freight_and_duty)


def carrier_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines for depreciation and maintenance of carriers, shared by the steps they go through.

        carriers = [(n, row, share) for n, row in case.carriers.items() for share in carrier_shares(case, line, n).values()]
            [any]
        quantity = [line.carriers[n].tools * share for n, row, share in carriers for k in range(2)]
        written off = {n: average_charge(case, "carriers", delivered_price(case, row), row.life, line.carriers[n].loading) for
            n, row in case.carriers.items()}    [money/tool]
        upkeep = {n: in_money_of_the_case(case, "carriers", row) * row.maintenance * case.constants.year for n, row in
            case.carriers.items()}    [money/tool]
        price = [charge for n, row, share in carriers for charge in (written_off[n], upkeep[n])]

    Source: accounting practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> found = dict(carrier_entries(case, line))["carriers.batch_carrier.maintenance.deposition"]
    >>> row = case.carriers["batch_carrier"]
    >>> found.price == in_money_of_the_case(case, "carriers", row) * row.maintenance * case.constants.year
    True
    """
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
                        Account(step=step, category=category, item=name, group="equipment", unit="tool", driver=f"carrier {name}"),
                        quantity=line.carriers[name].tools * share,
                        price=charge,
                        idle_share=idle_part(case, "carriers", loading) if category == "depreciation" else 0.0,
                    ),
                )
