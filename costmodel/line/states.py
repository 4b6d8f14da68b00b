"""How the year of the tools is spent, after SEMI E10, and how effective they are, after SEMI E79."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.line_records import Constants, Site, Step, Tool
from ..operations import Value, safe_divide, sum_of
from .capacity import available_share
from .records import Effectiveness, StepFlow, TimeStates
from .yields import good_per_pass


def time_states(site: Site, constants: Constants, tool: Tool, tools: Value, busy: Value) -> TimeStates:
    """The six states of SEMI E10 for all tools of a kind in the year; they add up to the year times the tools.

    Shares of downtime and engineering are of the scheduled time. Standby is what is left: available but not at work.
    """
    scheduled = tools * site.scheduled_time
    available = scheduled * available_share(tool)
    return TimeStates(
        non_scheduled=tools * (constants.year - site.scheduled_time),
        scheduled_down=scheduled * tool.planned_downtime,
        unscheduled_down=scheduled * tool.unplanned_downtime,
        engineering=scheduled * tool.engineering_time,
        standby=available - busy,
        productive=busy,
    )


def effectiveness(states: TimeStates, tool: Tool, steps: Sequence[tuple[Step, StepFlow]]) -> Effectiveness:
    """The factors of overall equipment effectiveness after SEMI E79 (structure from memory), each with its base.

    Availability is uptime over the year; operational efficiency, productive time over uptime; rate efficiency, the ideal
    time of what was processed, in full loads, over productive time; quality, the ideal time of what became good over that.
    """
    uptime = states.productive + states.standby + states.engineering
    year = uptime + states.non_scheduled + states.scheduled_down + states.unscheduled_down
    times = [flow.passes / tool.load_size * flow.cycle.time * step.rate_efficiency for step, flow in steps]
    ideal = sum_of(times)
    good = sum_of([time * good_per_pass(step) for time, (step, _) in zip(times, steps)])
    return Effectiveness(
        availability=uptime / year,
        operational=safe_divide(states.productive, uptime),
        rate=safe_divide(ideal, states.productive),
        quality=safe_divide(good, ideal),
        overall=good / year,
        overall_when_scheduled=good / (year - states.non_scheduled),
    )
