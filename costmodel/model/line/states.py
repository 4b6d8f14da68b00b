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

    Shares of downtime and engineering are of the scheduled time. `phases` holds times of phases by their state: what is not
    productive of them is taken out of the busy time. Standby is what is left: available and not busy. The states are those of
    SEMI E10 (from memory). Scheduled downtime there covers preventive maintenance, change of consumables, and the runs that
    bring a tool back into specification, so a seasoning run after an exchange of parts belongs to it.
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
    """The time of the year that the phases of a tool take, by their state."""
    times: dict[str, list[Value]] = {}
    for name, row in case.phases.items():
        if case.steps[row.step].tool == tool:
            times.setdefault(row.state, []).append(phases[name].time_per_load * steps[row.step].loads)
    return times


def effectiveness(states: TimeStates, tool: Tool, steps: Sequence[tuple[Step, StepFlow]]) -> Effectiveness:
    """The factors of overall equipment effectiveness after SEMI E79 (structure from memory), each with its base.

    Availability is uptime over the year; operational efficiency, productive time over uptime; rate efficiency, the ideal
    time of what was processed, in full loads, over productive time; quality, the ideal time of what became good over that.
    The ideal time is that of a load in the tool. What is done between loads is in none, whatever its state: so the overall
    effectiveness does not depend on the state in which such time is booked.
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
