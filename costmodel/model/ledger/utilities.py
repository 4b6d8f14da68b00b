"""Energy and media that tools draw, and charges for the peak of it."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.cost_records import ToolUtility
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide, sum_of
from ..line.line_figures import Line, ToolUse
from .entries import entry, step_shares
from .facilities import system_draw
from .ledger_figures import PLANT, LedgerLine
from .prices import in_money_of_the_case, in_reporting_currency


def drawn_at_work(row: ToolUtility, use: ToolUse) -> Value:
    """What work adds to what the tools draw anyway."""
    return (row.when_processing - row.when_idle) * use.busy_time


def drawn(row: ToolUtility, use: ToolUse, scheduled_time: Value) -> Value:
    """What the tools of one kind draw in the year: while they work, and while they stand in scheduled time."""
    idle_time = use.tools * scheduled_time - use.busy_time
    return row.when_processing * use.busy_time + row.when_idle * idle_time


def utility_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Utilities by row of tool_utilities.csv, shared by the steps of the tool."""
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
                    step=step,
                    category="utilities",
                    item=row.utility,
                    group=row.utility,
                    unit=tariff.unit,
                    driver=f"tool {row.tool}",
                    quantity=amount * share,
                    price=price,
                    variable_share=safe_divide(drawn_at_work(row, use), amount),
                ),
            )


def demand_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Charges for the peak of a draw: what tools and systems are connected for, as far as they draw at once."""
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
                entry(line, step=step, category="facilities" if step == PLANT else "utilities", item=name,
                      group=row.utility, unit=row.unit, driver="draw at the peak", quantity=sum_of(draws) * row.coincidence_factor,
                      price=charge),
            )  # fmt: skip
