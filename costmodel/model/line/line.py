"""Puts the line together: yields backwards, busy times, tools or output, flows."""

from __future__ import annotations

from ...case.line_records import Step
from ...case.whole_case import Case
from ...core.operations import Value, least_of, safe_divide, sum_of
from . import capacity
from .ageing import ageing
from .coating import coating_paces
from .cycle import cycle, layer_growth, time_per_load
from .heating import heat_balance
from .line_figures import Cycle, Line, Output, PhaseUse, StepFlow, TimeStates, ToolUse
from .loads import carrier_time_per_good, loads_per_good
from .plant_growth import growth_of_plant
from .power_classes import power_sold
from .soaking import route, stabilisation
from .states import effectiveness, time_states, times_of_phases
from .yields import good_share, passes_per_start, starts_per_good


def compute_line(case: Case) -> Line:
    """The line of a case: flows of every step, use of every tool and carrier, states and effectiveness, output.

    >>> from costmodel.case.load import load_case
    >>> line = compute_line(load_case("inputs_demo/facade"))
    >>> line.tools["deposition"].tools >= line.tools["deposition"].tools_needed
    True
    """
    steps_taken = route(case)
    plate_area = case.product.length * case.product.width
    growth = {name: layer_growth(layer) for name, layer in case.layers.items()}
    shares = capacity.active_area_share(case.product, case.constants, case.cells.values())
    uniform = capacity.uniformity([film.spread_loss for film in growth.values()])
    active_area = plate_area * shares / case.constants.modules_per_plate
    powers = capacity.module_power(case.product, case.constants, active_area, uniform)
    paces, coatings = coating_paces(case)
    soaking = {name: stabilisation(case, name) for name in case.soaking}
    cycles = {name: cycle(case, name, growth, paces.get(name, 0.0), soaking) for name in case.steps}
    starts = dict(zip(case.steps, starts_per_good(list(steps_taken.values()))))
    loads = loads_per_good(case, steps_taken, starts)
    busy = {n: tool_time_per_good(case, n, loads, {s: each.time for s, each in cycles.items()}) for n in case.tools}
    peak = {n: tool_time_per_good(case, n, loads, {s: each.peak_time for s, each in cycles.items()}) for n in case.tools}
    busy_of_carriers = {name: carrier_time_per_good(case, row, loads, cycles) for name, row in case.carriers.items()}
    time_of_tools = {name: capacity.available_time(case.site, tool) for name, tool in case.tools.items()}
    time_of_carriers = {name: capacity.carrier_time(case.site, row) for name, row in case.carriers.items()}
    wanted = capacity.wanted_plates(case.target, case.constants, plate_area, powers[1])
    good = good_plates_of_year(case, wanted, (time_of_tools, peak), (time_of_carriers, busy_of_carriers))
    tools = {n: tool_use(case, good, time_of_tools[n], (busy[n], peak[n]), t.installed) for n, t in case.tools.items()}
    carriers = {
        n: tool_use(case, good, time_of_carriers[n], (busy_of_carriers[n],) * 2, c.installed) for n, c in case.carriers.items()
    }
    steps = {name: step_flow(step, good, starts[name], loads[name], cycles[name]) for name, step in steps_taken.items()}
    phases = {
        name: PhaseUse(time_per_load=time_per_load(row), occurrences=steps[row.step].loads / row.loads_between)
        for name, row in case.phases.items()
    }
    states = {name: _states(case, name, use, steps, phases) for name, use in tools.items()}
    output = output_of_year(case, good, (plate_area, shares, uniform), powers, steps, [*tools.values(), *carriers.values()])
    return Line(
        output=output,
        power=power_sold(case, output),
        steps=steps,
        phases=phases,
        heatings={name: heat_balance(case, row, plate_area, steps[row.step]) for name, row in case.heatings.items()},
        layers=growth,
        coatings=coatings,
        soaking=soaking,
        tools=tools,
        carriers=carriers,
        states=states,
        effectiveness={
            name: effectiveness(states[name], tool, [(step, steps[s]) for s, step in case.steps.items() if step.tool == name])
            for name, tool in case.tools.items()
        },
        growth=growth_of_plant(case, tools, output),
        ageing=ageing(case),
    )


def good_plates_of_year(
    case: Case, wanted: Value, of_tools: tuple[dict[str, Value], ...], of_carriers: tuple[dict[str, Value], ...]
) -> Value:
    """Good plates per year: what is wanted, or what the installed tools and carriers allow of it by their times.

        by tools = [capacity.possible_plates(of_tools[0][n], tool.installed, of_tools[1][n]) for n, tool in case.tools.items()]
            [plate]
        by carriers = [capacity.possible_plates(of_carriers[0][n], each.installed, of_carriers[1][n]) for n, each in
            case.carriers.items()]    [plate]
        allowed = least_of([*by_tools, *by_carriers])    [plate]
        good plates = {"sized": wanted, "as_bought": smaller(wanted, allowed), "frozen": allowed}[case.target.mode]    [plate]

    Takes: wanted [plate], of_tools [any], of_carriers [any].
    Source: common practice, the slowest tool limits the line.

    `of_tools` and `of_carriers` hold the available time of one and the time that a good plate takes, each by name.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(target=Some(mode="as_bought"), tools={"saw": Some(installed=2.0)}, carriers={})
    >>> good_plates_of_year(case, 9.0, ({"saw": 100.0}, {"saw": 50.0}), ({}, {}))
    4.0
    """
    if case.target.mode == "sized":
        return wanted
    (available, peak), (out, busy) = of_tools, of_carriers
    by_tools = [capacity.possible_plates(available[n], tool.installed, peak[n]) for n, tool in case.tools.items()]
    by_carriers = [capacity.possible_plates(out[n], carrier.installed, busy[n]) for n, carrier in case.carriers.items()]
    planned = [wanted] if case.target.mode == "as_bought" else []
    return least_of([*planned, *by_tools, *by_carriers])


def tool_time_per_good(case: Case, tool: str, loads: dict[str, Value], times: dict[str, Value]) -> Value:
    """Time of a tool per good plate, all its steps together.

        time = sum_of([loads[name] * times[name] for name, step in case.steps.items() if step.tool == tool])    [s*tool/plate]

    Takes: loads [load/plate], times [s*tool/load].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(steps={"a": Some(tool="saw"), "b": Some(tool="press"), "c": Some(tool="saw")})
    >>> tool_time_per_good(case, "saw", {"a": 0.5, "b": 1.0, "c": 0.25}, {"a": 10.0, "b": 99.0, "c": 8.0})
    7.0
    """
    return sum_of([loads[name] * times[name] for name, step in case.steps.items() if step.tool == tool])


def tool_use(case: Case, good: Value, available: Value, per_good: tuple[Value, Value], installed: Value) -> ToolUse:
    """Use of one kind of tool or carrier from its time per good plate, on average over the year and at the peak.

        available_time = available
        busy_time_per_good = per_good[0]
        peak_time_per_good = per_good[1]
        busy_time = good * busy_time_per_good
        tools_needed = good * peak_time_per_good / available
        tools = whole_up(tools_needed) if case.target.mode == "sized" else installed
        loading = safe_divide(busy_time, tools * available)
        peak_loading = safe_divide(good * peak_time_per_good, tools * available)
        capacity_of_one = safe_divide(available, peak_time_per_good) * case.constants.modules_per_plate
        capacity = tools * capacity_of_one

    Takes: good [plate], available [s], per_good [s*tool/plate], installed [tool].
    Source: Little's law.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(target=Some(mode="sized"), constants=Some(modules_per_plate=1.0))
    >>> found = tool_use(case, 100.0, 3600.0, (60.0, 60.0), 9.0)
    >>> found.tools, round(found.loading, 4), found.capacity
    (2.0, 0.8333, 120.0)
    """
    busy_per_good, at_peak = per_good
    needed, rounded = capacity.tools_needed(good, at_peak, available)
    tools = rounded if case.target.mode == "sized" else installed
    busy = good * busy_per_good
    of_one = safe_divide(available, at_peak) * case.constants.modules_per_plate
    return ToolUse(
        available_time=available,
        busy_time_per_good=busy_per_good,
        peak_time_per_good=at_peak,
        busy_time=busy,
        tools_needed=needed,
        tools=tools,
        loading=safe_divide(busy, tools * available),
        peak_loading=safe_divide(good * at_peak, tools * available),
        capacity=tools * of_one,
        capacity_of_one=of_one,
    )


def _states(case: Case, name: str, use: ToolUse, steps: dict[str, StepFlow], phases: dict[str, PhaseUse]) -> TimeStates:
    times = times_of_phases(case, name, steps, phases)
    return time_states(case.site, case.constants, case.tools[name], use.tools, use.busy_time, times)


def step_flow(step: Step, good: Value, starts_for_one: Value, loads: Value, cycle_of_step: Cycle) -> StepFlow:
    """What passes through one step in the year.

        starts_per_good = starts_for_one
        starts = good * starts_for_one
        passes = starts * passes_per_start(step)
        good = starts * good_share(step)
        lost = starts - good
        good_end_share = 1 / starts_for_one
        cycle = cycle_of_step
        busy_time_per_good = loads * cycle_of_step.time
        busy_time = starts / starts_for_one * busy_time_per_good
        loads = starts / starts_for_one * loads

    Takes: good [plate], starts_for_one [1], loads [load/plate].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> found = step_flow(Step("a", "front", "saw", 30.0, 1.0, 0.5, 0.0, 0.0, 0.0, 1.0), 8.0, 4.0, 1.0, Some(time=10.0))
    >>> found.starts, found.good, found.lost, found.loads, found.busy_time
    (32.0, 16.0, 16.0, 8.0, 80.0)
    """
    starts = good * starts_for_one
    passes = starts * passes_per_start(step)
    leaving = starts * good_share(step)
    return StepFlow(
        starts_per_good=starts_for_one,
        starts=starts,
        passes=passes,
        good=leaving,
        lost=starts - leaving,
        good_end_share=1 / starts_for_one,
        loads=good * loads,
        cycle=cycle_of_step,
        busy_time_per_good=loads * cycle_of_step.time,
        busy_time=good * loads * cycle_of_step.time,
    )


def output_of_year(
    case: Case,
    good: Value,
    plate: tuple[Value, Value, Value],
    powers: tuple[Value, Value],
    steps: dict[str, StepFlow],
    equipment: list[ToolUse],
) -> Output:
    """What the plant makes in the year.

        first = list(steps.values())[0]    [any]
        plate_area = plate[0]
        active_area_share = plate[1]
        uniformity = plate[2]
        initial_power = powers[0]
        stabilised_power = powers[1]
        good_plates = good
        good_modules = good * case.constants.modules_per_plate
        good_area = good * plate_area
        initial_watts = good_modules * initial_power
        stabilised_watts = good_modules * stabilised_power
        plates_started = first.starts
        line_yield = good / plates_started
        takt = case.site.scheduled_time / plates_started
        hours_per_crew = case.site.scheduled_time / case.site.crews
        capacity = least_of([use.capacity for use in equipment])

    Takes: good [plate], plate [any], powers [any].
    Source: common practice.

    `plate` holds the area of a plate, the share of it that generates power, and the uniformity; `powers` those of a module before
    and after light soaking.

    >>> from costmodel.case.demo import demo_case
    >>> line = compute_line(demo_case())
    >>> line.output.takt == demo_case().site.scheduled_time / line.steps["receive"].starts
    True
    """
    plate_area, active_share, uniform = plate
    first = next(iter(steps.values()))
    modules = good * case.constants.modules_per_plate
    return Output(
        plate_area=plate_area,
        active_area_share=active_share,
        uniformity=uniform,
        initial_power=powers[0],
        stabilised_power=powers[1],
        good_plates=good,
        good_modules=modules,
        good_area=good * plate_area,
        initial_watts=modules * powers[0],
        stabilised_watts=modules * powers[1],
        plates_started=first.starts,
        line_yield=good / first.starts,
        takt=case.site.scheduled_time / first.starts,
        hours_per_crew=case.site.scheduled_time / case.site.crews,
        capacity=least_of([use.capacity for use in equipment]),
    )
