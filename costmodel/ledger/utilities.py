"""Energy and media that tools draw."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case, ToolUtility
from ..line.records import Line, ToolUse
from ..operations import Value
from .entries import entry, step_shares
from .prices import in_money_of_the_case
from .records import LedgerLine


def drawn(row: ToolUtility, use: ToolUse, scheduled_time: Value) -> Value:
    """What the tools of one kind draw in the year: while they work, and while they stand in scheduled time."""
    idle_time = use.tools * scheduled_time - use.busy_time
    return row.when_processing * use.busy_time + row.when_idle * idle_time


def utility_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Utilities by row of tool_utilities.csv, shared by the steps of the tool."""
    for name, row in case.tool_utilities.items():
        tariff = case.utilities[row.utility]
        price = in_money_of_the_case(case, "utilities", tariff)
        amount = drawn(row, line.tools[row.tool], case.site.scheduled_time)
        for step, share in step_shares(case, line, row.tool).items():
            yield (
                f"tool_utilities.{name}.{step}",
                entry(
                    case,
                    line,
                    step=step,
                    category="utilities",
                    item=row.utility,
                    group=row.utility,
                    unit=tariff.unit,
                    driver=f"tool {row.tool}",
                    quantity=amount * share,
                    price=price,
                ),
            )
