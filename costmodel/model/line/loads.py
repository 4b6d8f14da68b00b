"""Loads of each step, and the round of the carriers that loads go on."""

from __future__ import annotations

from ...case.line_records import Carrier, Step, Tool
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from .line_figures import Cycle
from .yields import passes_per_start


def steps_of_round(case: Case, row: Carrier) -> list[str]:
    """The steps of a carrier's round, in order."""
    order = list(case.steps)
    return order[order.index(row.first_step) : order.index(row.last_step) + 1]


def loads_per_good(case: Case, route: dict[str, Step], starts: dict[str, Value]) -> dict[str, Value]:
    """Loads of each step for one good plate at the end of the line.

    Loads are full where they are put together. On a carrier a load stays together: plates that are lost leave gaps, and only
    loads lost whole make fewer of them.
    """
    before = {}
    for row in case.carriers.values():
        steps = steps_of_round(case, row)
        before |= dict(zip(steps[1:], steps))
    loads: dict[str, Value] = {}
    for name, step in route.items():
        if name in before:
            loads[name] = loads[before[name]] * (1 - case.steps[before[name]].load_loss)
        else:
            loads[name] = starts[name] * passes_per_start(step) / case.tools[step.tool].load_size
    return loads


def downtime_factor(tool: Tool) -> Value:
    """How much longer a load sits in a tool because the tool fails under it: (1 - p) / (1 - p - u).

    Failures take the share u of the scheduled time and come while the tool is up; planned stops (share p) and trials wait
    until the load is out. Half of the uptime lost to failures doubles the stay:

    >>> from costmodel.case.line_records import Tool
    >>> downtime_factor(Tool("t", 1.0, "EUR", "2026", 0.0, 0.0, 1.0, 1.0, 1.0, 0.2, 0.4, 0.0, 0.0, 0.0, "r", 1.0, 0.0, "a", "yes"))
    2.0
    """
    return (1 - tool.planned_downtime) / (1 - tool.planned_downtime - tool.unplanned_downtime)


def carrier_time_per_good(case: Case, row: Carrier, loads: dict[str, Value], cycles: dict[str, Cycle]) -> Value:
    """Carrier time for one good plate: its stay in the tools of the round, failures included, and waiting between them."""
    stays = [
        loads[name] * cycles[name].load_time * downtime_factor(case.tools[case.steps[name].tool])
        for name in steps_of_round(case, row)
    ]
    return sum_of(stays) + loads[row.first_step] * row.waiting_time
