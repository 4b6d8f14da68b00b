"""How the year of the tools is spent, after SEMI E10, and how effective they are, after SEMI E79."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...case.line_records import Constants, Site, Step, Tool
from ...case.whole_case import Case
from ...core.operations import Value, choose, safe_divide, sum_of, valid_if
from .capacity import available_share
from .line_figures import Effectiveness, PhaseUse, StepFlow, TimeStates
from .yields import good_per_pass

PRODUCTIVE, SCHEDULED_DOWNTIME, ENGINEERING = "productive", "scheduled_downtime", "engineering"


def time_states(
    site: Site, constants: Constants, tool: Tool, tools: Value, busy: Value, phases: Mapping[str, Sequence[Value]]
) -> TimeStates:
    """The six states of SEMI E10 for all tools of a kind in the year; they add up to the year times the tools.

        scheduled = tools * site.scheduled_time    [tool_hour]
        down = sum_of(phases.get(SCHEDULED_DOWNTIME, []))    [tool_hour]
        trials = sum_of(phases.get(ENGINEERING, []))    [tool_hour]
        non_scheduled = tools * (constants.year - site.scheduled_time)
        scheduled_down = scheduled * tool.planned_downtime + down
        unscheduled_down = scheduled * tool.unplanned_downtime
        engineering = scheduled * tool.engineering_time + trials
        standby = scheduled * available_share(tool) - busy
        productive = busy - down - trials

    Takes: tools [tool], busy [tool_hour], phases [tool_hour].
    Source: SEMI E10 (from memory).

    Shares of downtime and engineering are of the scheduled time. `phases` holds times of phases by their state: what is not
    productive of them is taken out of the busy time. Standby is what is left: available and not busy. Scheduled downtime of
    SEMI E10 covers preventive maintenance, change of consumables, and the runs that bring a tool back into specification, so a
    seasoning run after an exchange of parts belongs to it.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> found = time_states(case.site, case.constants, case.tools["laminator"], 2.0, 0.0, {"engineering": [5.0]})
    >>> found.non_scheduled == 2 * (case.constants.year - case.site.scheduled_time), found.productive
    (True, -5.0)
    """
    scheduled = tools * site.scheduled_time
    down, trials = phases.get(SCHEDULED_DOWNTIME, ()), phases.get(ENGINEERING, ())
    return TimeStates(
        non_scheduled=tools * (constants.year - site.scheduled_time),
        scheduled_down=sum_of([scheduled * tool.planned_downtime, *down]),
        unscheduled_down=scheduled * tool.unplanned_downtime,
        engineering=sum_of([scheduled * tool.engineering_time, *trials]),
        standby=scheduled * available_share(tool) - busy,
        productive=busy - sum_of([*down, *trials]) if down or trials else busy,
    )


def times_of_phases(case: Case, tool: str, steps: Mapping[str, StepFlow], phases: Mapping[str, PhaseUse]) -> dict[str, list[Value]]:
    """Time of the year that the phases of a tool take, by their state.

        own = [(row.state, phases[name].time_per_load * steps[row.step].loads) for name, row in case.phases.items() if
            case.steps[row.step].tool == tool]    [any]
        times = {state: [time for other, time in own if other == state] for state, _ in own}    [tool_hour]

    Source: SEMI E10 (from memory).

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> line = evaluate(demo_case()).line
    >>> list(times_of_phases(demo_case(), "deposition", line.steps, line.phases))
    ['productive', 'scheduled_downtime']
    """
    times: dict[str, list[Value]] = {}
    for name, row in case.phases.items():
        if case.steps[row.step].tool == tool:
            times.setdefault(row.state, []).append(phases[name].time_per_load * steps[row.step].loads)
    return times


def effectiveness(states: TimeStates, tool: Tool, steps: Sequence[tuple[Step, StepFlow]]) -> Effectiveness:
    """The factors of overall equipment effectiveness after SEMI E79, each with its base.

        uptime = states.productive + states.standby + states.engineering    [tool_hour]
        year = uptime + states.non_scheduled + states.scheduled_down + states.unscheduled_down    [tool_hour]
        times = [flow.passes / tool.load_size * flow.cycle.load_time * step.rate_efficiency for step, flow in steps]
            [tool_hour]
        ideal = sum_of(times)    [tool_hour]
        good = sum_of([time * good_per_pass(step) for time, (step, flow) in zip(times, steps)])    [tool_hour]
        availability = uptime / year
        operational = valid_if(uptime > 0, safe_divide(states.productive, uptime))
        operational_status = choose(uptime > 0, 1.0, 0.0)
        rate = valid_if(states.productive > 0, safe_divide(ideal, states.productive))
        rate_status = choose(states.productive > 0, 1.0, 0.0)
        quality = valid_if(ideal > 0, safe_divide(good, ideal))
        quality_status = choose(ideal > 0, 1.0, 0.0)
        overall = good / year
        overall_when_scheduled = good / (year - states.non_scheduled)

    Source: SEMI E79 (structure from memory).

    Availability is uptime over the year; operational efficiency, productive time over uptime; rate efficiency, the ideal
    time of what was processed, in full loads, over productive time; quality, the ideal time of what became good over that.
    The ideal time is that of a load in the tool. What is done between loads is in none, whatever its state: so the overall
    effectiveness does not depend on the state in which such time is booked.

    >>> from costmodel.case.demo import demo_case
    >>> found = effectiveness(TimeStates(2.0, 1.0, 1.0, 0.0, 2.0, 2.0), demo_case().tools["laminator"], [])
    >>> found.availability, found.operational, found.overall
    (0.5, 0.5, 0.0)
    """
    uptime = states.productive + states.standby + states.engineering
    year = uptime + states.non_scheduled + states.scheduled_down + states.unscheduled_down
    times = [flow.passes / tool.load_size * flow.cycle.load_time * step.rate_efficiency for step, flow in steps]
    ideal = sum_of(times)
    good = sum_of([time * good_per_pass(step) for time, (step, _) in zip(times, steps)])
    return Effectiveness(
        availability=uptime / year,
        operational=valid_if(uptime > 0, safe_divide(states.productive, uptime)),
        operational_status=choose(uptime > 0, 1.0, 0.0),
        rate=valid_if(states.productive > 0, safe_divide(ideal, states.productive)),
        rate_status=choose(states.productive > 0, 1.0, 0.0),
        quality=valid_if(ideal > 0, safe_divide(good, ideal)),
        quality_status=choose(ideal > 0, 1.0, 0.0),
        overall=good / year,
        overall_when_scheduled=good / (year - states.non_scheduled),
    )
