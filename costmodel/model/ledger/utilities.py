"""Energy and media that tools draw, and charges for the peak of it."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.cost_records import ToolUtility
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, sum_of
from ..line.line_figures import Line, ToolUse
from .entries import Account, entry, step_shares
from .facilities import system_draw
from .landed_prices import in_money_of_the_case, in_reporting_currency
from .ledger_figures import PLANT, LedgerLine


def drawn_at_work(row: ToolUtility, use: ToolUse) -> Value:
    """What work adds to what the tools draw in any case.

        added = (row.when_processing - row.when_idle) * use.busy_time    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Use
    >>> drawn_at_work(ToolUtility("press", "electricity", 60.0, 10.0, "kW"), Use(busy_time=2.0))
    100.0
    """
    return (row.when_processing - row.when_idle) * use.busy_time


def drawn(row: ToolUtility, use: ToolUse, scheduled_time: Value) -> Value:
    """What the tools of one kind draw in the year: while they work, and while they stand in scheduled time.

        idle time = use.tools * scheduled_time - use.busy_time    [tool_hour]
        drawn = row.when_processing * use.busy_time + row.when_idle * idle_time    [any]

    Takes: scheduled_time [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Use
    >>> drawn(ToolUtility("press", "electricity", 60.0, 10.0, "kW"), Use(tools=2.0, busy_time=2.0), 4.0)
    180.0
    """
    idle_time = use.tools * scheduled_time - use.busy_time
    return row.when_processing * use.busy_time + row.when_idle * idle_time


def utility_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines of utilities by row of tool_utilities.csv, shared by the steps of the tool.

        rows = list(case.tool_utilities.values())    [any]
        quantity = [drawn(row, line.tools[row.tool], case.site.scheduled_time) * share for row in rows for share in
            step_shares(case, line, row.tool).values()]
        price = [in_money_of_the_case(case, "utilities", case.utilities[row.utility]) for row in rows for share in
            step_shares(case, line, row.tool).values()]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> address, found = next(utility_entries(case, line))
    >>> found.price == in_money_of_the_case(case, "utilities", case.utilities[found.item])
    True
    """
    for name, row in case.tool_utilities.items():
        tariff = case.utilities[row.utility]
        price = in_money_of_the_case(case, "utilities", tariff)
        use = line.tools[row.tool]
        amount = drawn(row, use, case.site.scheduled_time)
        for step, share in step_shares(case, line, row.tool).items():
            yield (
                f"tool_utilities.{name}.{step}",
                entry(
                    line,
                    Account(
                        step=step,
                        category="utilities",
                        item=row.utility,
                        group=row.utility,
                        unit=tariff.unit,
                        driver=f"tool {row.tool}",
                    ),
                    quantity=amount * share,
                    price=price,
                    variable_share=safe_divide(drawn_at_work(row, use), amount),
                ),
            )


def demand_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines of charges for the peak of a draw: what tools and systems are connected for, as far as they draw at the same time.

        at tools = {n: [(step, larger(draw.when_processing, draw.when_idle) * line.tools[draw.tool].tools * share) for draw in
            case.tool_utilities.values() if draw.utility == row.utility for step, share in step_shares(case, line,
            draw.tool).items()] for n, row in case.demand_charges.items()}    [any]
        at systems = {n: [(PLANT, system_draw(line, each)) for each in case.facility_utilities.values() if each.utility ==
            row.utility] for n, row in case.demand_charges.items()}    [any]
        connected = {n: at_tools[n] + at_systems[n] for n in case.demand_charges}    [any]
        quantity = [sum_of([draw for other, draw in connected[n] if other == step]) * row.coincidence_factor for n, row in
            case.demand_charges.items() for step in dict(connected[n])]
        price = [in_reporting_currency(row.charge, row.currency, case.money) * case.constants.year for n, row in
            case.demand_charges.items() for step in dict(connected[n])]

    Source: common practice, coincidence factor of power supply.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> found = dict(demand_entries(case, line))["demand_charges.peak.lamination"]
    >>> row, tools = case.demand_charges["peak"], line.tools["laminator"].tools
    >>> draw = next(each for each in case.tool_utilities.values() if (each.tool, each.utility) == ("laminator", "electricity"))
    >>> found.quantity == draw.when_processing * tools * row.coincidence_factor
    True
    """
    for name, row in case.demand_charges.items():
        charge = in_reporting_currency(row.charge, row.currency, case.money) * case.constants.year
        connected: dict[str, list[Value]] = {}
        for drawing in case.tool_utilities.values():
            if drawing.utility == row.utility:
                most = larger(drawing.when_processing, drawing.when_idle) * line.tools[drawing.tool].tools
                for step, share in step_shares(case, line, drawing.tool).items():
                    connected.setdefault(step, []).append(most * share)
        for system in case.facility_utilities.values():
            if system.utility == row.utility:
                connected.setdefault(PLANT, []).append(system_draw(line, system))
        for step, draws in connected.items():
            yield (
                f"demand_charges.{name}.{step}",
                entry(
                    line,
                    Account(
                        step=step,
                        category="facilities" if step == PLANT else "utilities",
                        item=name,
                        group=row.utility,
                        unit=row.unit,
                        driver="draw at the peak",
                    ),
                    quantity=sum_of(draws) * row.coincidence_factor,
                    price=charge,
                ),
            )
