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
    """Loads of each step per good plate at the end of the line.

        before = dict([pair for row in case.carriers.values() for pair in zip(steps_of_round(case, row)[1:],
            steps_of_round(case, row))])    [any]
        loads = {name: loads[before[name]] * (1 - case.steps[before[name]].load_loss) if name in before else starts[name] *
            passes_per_start(step) / case.tools[step.tool].load_size for name, step in route.items()}    [load/plate]

    Takes: starts [1].
    Source: common practice.

    Loads are full where they are put together. On a carrier a load stays together: plates that are lost leave gaps, and only
    loads lost whole make fewer of them.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> found = loads_per_good(case, case.steps, dict.fromkeys(case.steps, 1.0))
    >>> found["lamination"] == passes_per_start(case.steps["lamination"]) / case.tools["laminator"].load_size
    True
    """
    before: dict[str, str] = {}
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
    """Stay of a load in a tool that may fail under it, over its stay in one that does not.

        downtime factor = (1 - tool.planned_downtime) / (1 - tool.planned_downtime - tool.unplanned_downtime)    [1]

    Source: common practice.

    Failures take a share of the scheduled time and come while the tool is up; planned stops and trials wait until the load is
    out. Half of the uptime lost to failures doubles the stay:

    >>> from costmodel.case.line_records import Tool
    >>> downtime_factor(Tool("t", 1.0, "EUR", "2026", 0.0, 0.0, 1.0, 1.0, 1.0, 0.2, 0.4, 0.0, 0.0, 0.0, "r", 1.0, 0.0, "a", "yes"))
    2.0
    """
    return (1 - tool.planned_downtime) / (1 - tool.planned_downtime - tool.unplanned_downtime)


def carrier_time_per_good(case: Case, row: Carrier, loads: dict[str, Value], cycles: dict[str, Cycle]) -> Value:
    """Carrier time per good plate: its stay in the tools of the round, failures included, and waiting between them.

        stays = [loads[name] * cycles[name].load_time * downtime_factor(case.tools[case.steps[name].tool]) for name in
            steps_of_round(case, row)]    [s*tool/plate]
        carrier time = sum_of(stays) + loads[row.first_step] * row.waiting_time    [s*tool/plate]

    Takes: loads [load/plate].
    Source: Little's law.

    >>> from types import SimpleNamespace as Some
    >>> tool = Some(planned_downtime=0.0, unplanned_downtime=0.5)
    >>> line = Some(steps={"a": Some(tool="t")}, tools={"t": tool})
    >>> carrier_time_per_good(line, Some(first_step="a", last_step="a", waiting_time=30.0), {"a": 0.5}, {"a": Some(load_time=10.0)})
    25.0
    """
    stays = [
        loads[name] * cycles[name].load_time * downtime_factor(case.tools[case.steps[name].tool])
        for name in steps_of_round(case, row)
    ]
    return sum_of(stays) + loads[row.first_step] * row.waiting_time
