"""Checks of the line: route, tools, carriers, and what is used where."""

from __future__ import annotations

import numpy as np

from ...core.units import same_kind
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read


def tools_have_steps(case: Case, unread: Unread) -> Found:
    """Every tool does at least one step; a row left over is most often a slip. Not judged while a step names no known tool."""
    if "steps" in unread:
        return
    with where_read():
        used = {step.tool for step in case.steps.values()}
        for identity in case.tools if used <= case.tools.keys() else ():
            if identity not in used:
                yield (
                    "tools",
                    identity,
                    "id",
                    f"'{identity}', which no step of steps.csv uses",
                    f"a tool of the route: {', '.join(sorted(used))}",
                )


def downtime_leaves_time(case: Case, unread: Unread) -> Found:
    """The states of a tool that take scheduled time leave some for production."""
    for identity, tool in case.tools.items():
        with where_read():
            taken = float(np.max(tool.planned_downtime + tool.unplanned_downtime + tool.engineering_time))
            if taken >= 1.0:
                yield (
                    "tools",
                    identity,
                    "planned_downtime",
                    f"{taken * 100:.4g} % with unplanned downtime and engineering time",
                    "together below 100 % of the scheduled time",
                )


def each_load_stays_on_its_carrier(case: Case, unread: Unread) -> Found:
    """The steps of a carrier follow each other on the route, take loads of one size, and belong to one carrier only."""
    if "steps" in unread:
        return
    order = list(case.steps)
    taken: dict[str, str] = {}
    for identity, row in case.carriers.items():
        with where_read():
            if row.first_step not in order or row.last_step not in order:
                continue
            first, last = order.index(row.first_step), order.index(row.last_step)
            if first > last:
                yield (
                    "carriers",
                    identity,
                    "last_step",
                    f"'{row.last_step}', before '{row.first_step}'",
                    "a later step of the route",
                )
            for step in order[first : last + 1]:
                if step in taken:
                    found = f"'{step}', a step of carrier '{taken[step]}' too"
                    yield "carriers", identity, "first_step", found, "steps of one carrier"
                taken[step] = identity
                yield from _step_suits_a_carrier(case, identity, step)


def _step_suits_a_carrier(case: Case, identity: str, step: str) -> Found:
    first, last = case.carriers[identity].first_step, case.carriers[identity].last_step
    named = f"'{last}'" if step == last else f"'{last}' after '{step}'"  # the cell, and the step that does not suit
    with where_read():
        if np.any(case.steps[step].processed_share != 1.0):
            yield "carriers", identity, "last_step", f"{named}, which some plates pass by", "steps that all plates go through"
    with where_read():
        if np.any(case.steps[step].rework_share != 0.0):
            yield "carriers", identity, "last_step", f"{named}, in which plates are reworked", "steps without rework"
    with where_read():
        sizes = [case.tools[case.steps[name].tool].load_size for name in (first, step) if case.steps[name].tool in case.tools]
        if len(sizes) == 2 and np.any(sizes[0] != sizes[1]):
            found = f"{named} with loads of another size than '{first}'"
            yield "carriers", identity, "last_step", found, "steps whose tools take loads of one size"


def loads_inside_are_at_work(case: Case, unread: Unread) -> Found:
    """A load inside a tool is processed: the time of such a phase is productive (SEMI E10, from memory).

    Planned stops wait until the load is out, and trials with it would be steps of their own.
    """
    for identity, row in case.phases.items():
        with where_read():
            if row.load_inside == "yes" and row.state != "productive":
                found = f"'{row.state}' with the load inside"
                yield "phases", identity, "state", found, "'productive', or load_inside 'no'"


def heat_comes_from_energy(case: Case, unread: Unread) -> Found:
    """What heats a load is sold as energy, and the tool of the step draws it."""
    for identity, row in case.heatings.items():
        with where_read():
            if row.utility in case.utilities and not same_kind(case.utilities[row.utility].unit, "J"):
                found = f"'{row.utility}', which is sold by {case.utilities[row.utility].unit}"
                yield "heatings", identity, "utility", found, "a utility sold as energy, as by kWh"
        with where_read():
            if unread & {"steps", "tool_utilities"} or row.step not in case.steps or row.utility not in case.utilities:
                continue
            tool = case.steps[row.step].tool
            if not any((each.tool, each.utility) == (tool, row.utility) for each in case.tool_utilities.values()):
                found = f"'{row.utility}', which tool '{tool}' does not draw"
                yield "heatings", identity, "utility", found, f"a utility of '{tool}' in tool_utilities.csv"


def module_materials_at_the_end(case: Case, unread: Unread) -> Found:
    """What is counted by good modules is used where modules are good: in the last step."""
    last = next(reversed(case.steps), "")
    for identity, row in case.materials.items() if "steps" not in unread else ():
        with where_read():
            if row.per == "module" and row.step in case.steps and row.step != last:
                yield "materials", identity, "per", f"'module' in step '{row.step}'", f"'module' in the last step, '{last}', only"
