"""Puts the line together: yields backwards, busy times, tools or output, flows."""
from __future__ import annotations

from ..case.records import Case
from ..operations import Value, least_of, sum_of
from .capacity import available_time, module_power, possible_plates, tools_needed, wanted_plates
from .cycle import cycle_time, layer_growth
from .records import Line, Output, StepFlow, ToolUse
from .yields import good_share, passes_per_start, starts_per_good


def compute_line(case: Case) -> Line:
    """The line of a case: flows of every step, use of every tool, output.

    >>> from costmodel.case.load import load_case
    >>> line = compute_line(load_case("inputs_demo/facade"))
    >>> line.tools["deposition"].tools >= line.tools["deposition"].tools_needed
    True
    """
    plate_area = case.product.length * case.product.width
    powers = module_power(case.product, case.constants, plate_area)
    growth = {name: layer_growth(layer) for name, layer in case.layers.items()}
    cycles = {name: cycle_time(name, step, case.layers, growth) for name, step in case.steps.items()}
    starts = dict(zip(case.steps, starts_per_good(list(case.steps.values()))))
    busy_per_good = _busy_per_good(case, starts, cycles)
    available = {name: available_time(case.site, tool) for name, tool in case.tools.items()}
    if case.target.mode == "sized":
        good = wanted_plates(case.target, case.constants, plate_area, powers[1])
    else:
        good = least_of([possible_plates(available[name], tool.installed, busy_per_good[name])
                         for name, tool in case.tools.items()])
    tools = {name: _tool_use(case, name, good, available[name], busy_per_good[name]) for name in case.tools}
    steps = {name: _step_flow(case, name, good, starts[name], cycles[name]) for name in case.steps}
    return Line(output=_output(case, good, plate_area, powers, steps, tools), steps=steps, layers=growth, tools=tools)


def _busy_per_good(case: Case, starts: dict[str, Value], cycles: dict[str, Value]) -> dict[str, Value]:
    """Tool time for one good plate at the end of the line, by tool, over all steps that it serves."""
    times: dict[str, list[Value]] = {name: [] for name in case.tools}
    for name, step in case.steps.items():
        per_pass = cycles[name] / case.tools[step.tool].load_size
        times[step.tool].append(starts[name] * passes_per_start(step) * per_pass)
    return {name: sum_of(parts) for name, parts in times.items()}


def _tool_use(case: Case, name: str, good: Value, available: Value, busy_per_good: Value) -> ToolUse:
    needed, rounded = tools_needed(good, busy_per_good, available)
    tools = rounded if case.target.mode == "sized" else case.tools[name].installed
    busy = good * busy_per_good
    possible = possible_plates(available, tools, busy_per_good)
    return ToolUse(available_time=available, busy_time_per_good=busy_per_good, busy_time=busy, tools_needed=needed,
                   tools=tools, loading=busy / (tools * available), capacity=possible * case.constants.modules_per_plate)


def _step_flow(case: Case, name: str, good: Value, starts_for_one: Value, cycle: Value) -> StepFlow:
    step = case.steps[name]
    starts = good * starts_for_one
    passes = starts * passes_per_start(step)
    leaving = starts * good_share(step)
    loads = passes / case.tools[step.tool].load_size
    return StepFlow(starts_per_good=starts_for_one, starts=starts, passes=passes, good=leaving, lost=starts - leaving,
                    good_end_share=1 / starts_for_one, loads=loads, cycle_time=cycle, busy_time=loads * cycle)


def _output(case: Case, good: Value, plate_area: Value, powers: tuple[Value, Value], steps: dict[str, StepFlow],
            tools: dict[str, ToolUse]) -> Output:
    first = next(iter(steps.values()))
    modules = good * case.constants.modules_per_plate
    return Output(plate_area=plate_area, initial_power=powers[0], stabilised_power=powers[1], good_plates=good,
                  good_modules=modules, good_area=good * plate_area, initial_watts=modules * powers[0],
                  stabilised_watts=modules * powers[1], plates_started=first.starts,
                  line_yield=good / first.starts, takt=case.site.scheduled_time / first.starts,
                  capacity=least_of([tool.capacity for tool in tools.values()]))
