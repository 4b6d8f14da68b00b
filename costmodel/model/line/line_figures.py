"""Figures of the line, all for one year of steady operation."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, status
from ...core.operations import Value


@dataclass(frozen=True, slots=True)
class Cycle:
    """The cycle of one load in a step, by parts; each minute stands in one of them."""

    process_time: Value = figure("s*tool/load", "the step's own time: loading, processing, unloading")
    phase_time: Value = figure("s*tool/load", "phases, those done once in several loads in proportion")
    growth_time: Value = figure("s*tool/load", "growth of films")
    purge_time: Value = figure("s*tool/load", "purging before films")
    settling_time: Value = figure("s*tool/load", "settling of gases that is added to purging")
    coating_time: Value = figure("s*tool/load", "pace of the in-line coater: its slowest zone, or lock")
    soaking_time: Value = figure("s*tool/load", "light soaking, in scheduled time")
    load_time: Value = figure("s*tool/load", "the part of it that the load is in the tool for")
    time: Value = figure("s*tool/load", "all of it: what one load takes of the tool")
    peak_time: Value = figure("s*tool/load", "the same when soaking outdoors takes longest; by it tools are counted")


@dataclass(frozen=True, slots=True)
class StepFlow:
    """What passes through one step."""

    cycle: Cycle
    starts_per_good: Value = figure("1", "plates entering the step for one plate that ends as a good module")
    starts: Value = figure("plate", "plates entering the step")
    passes: Value = figure("plate", "plates processed, reworked plates counted again")
    good: Value = figure("plate", "plates leaving the step for the next")
    lost: Value = figure("plate", "plates lost in the step")
    good_end_share: Value = figure("%", "share of the plates entering the step that end as good modules")
    loads: Value = figure("load", "loads processed")
    busy_time_per_good: Value = figure("s*tool/plate", "tool time for one good plate at the end of the line")
    busy_time: Value = figure("tool_hour", "time that tools work for the step")


@dataclass(frozen=True, slots=True)
class PhaseUse:
    """One phase of a cycle."""

    time_per_load: Value = figure("s*tool/load", "what the phase takes of the cycle of each load")
    occurrences: Value = figure("occurrence", "times it is done")


@dataclass(frozen=True, slots=True)
class HeatBalance:
    """The heat that one load of a step takes up, and what its tool draws."""

    glass_mass: Value = figure("kg/load", "mass of the glass of a full load")
    glass_heat: Value = figure("J/load", "heat that the glass takes up")
    carrier_heat: Value = figure("J/load", "heat that the carrier takes up")
    least_energy: Value = figure("J/load", "least energy per load: glass and carrier, without losses of the tool")
    least_energy_per_plate: Value = figure("J/plate", "least energy per plate of a full load")
    drawn_energy: Value = figure("J/load", "energy that the tool draws while it works on a load")
    least_over_drawn: Value = figure("%", "least energy over the energy drawn; above 100 % the draw is too low")
    least_over_drawn_status: Value = status({1: "the tool draws energy"}, {0: "the tool draws no such energy"})


@dataclass(frozen=True, slots=True)
class LayerGrowth:
    """One silicon film in the cycle of its step."""

    growth_time: Value = figure("s*tool/load", "time in which the film grows: thickness over rate")
    flow_time: Value = figure("s*tool/load", "time in which its gases flow: settling and growth")
    time: Value = figure("s*tool/load", "growth, the purge before it, and settling that is added")
    spread_loss: Value = figure("%", "share of the power lost to the spread of its thickness")


@dataclass(frozen=True, slots=True)
class CoatingPace:
    """One sputtered film in the in-line coater of its step."""

    time: Value = figure("s*tool/load", "time that its zone takes for each load")
    share_of_pace: Value = figure("%", "that time over the pace of the coater; 100 % for the slowest zone")


@dataclass(frozen=True, slots=True)
class Stabilisation:
    """How much light a soaking plan gives until modules are stable, and how long that takes."""

    intervals: Value = figure("1", "intervals of dose until three measurements in a row are within the limit")
    dose: Value = figure("J/m2", "dose of all intervals")
    residual: Value = figure("%", "loss of power still to come when the rule is met, over stabilised power")
    times: dict[str, Value] = figure(
        "h", "time that the dose takes from the first day of a season on, or under lamps in the time for which they are on"
    )
    time: Value = figure("h", "mean over the year of all days on which modules are put out, or over the lamps")
    shortest: Value = figure("h", "shortest of these times")
    longest: Value = figure("h", "longest of these times")
    calendar_time: Value = figure("h", "the mean by the calendar, day and night, all year")
    scheduled_time: Value = figure("h", "the mean in scheduled time, in which tools are counted")
    scheduled_time_at_peak: Value = figure(
        "h", "the longest time outdoors in scheduled time: racks hold the most then and are counted by it; of lamps the mean"
    )


@dataclass(frozen=True, slots=True)
class TimeStates:
    """The year of all tools of a kind by the states of SEMI E10."""

    non_scheduled: Value = figure("tool_hour", "time for which no production is scheduled")
    scheduled_down: Value = figure("tool_hour", "planned maintenance, and phases that are scheduled downtime")
    unscheduled_down: Value = figure("tool_hour", "failure and repair")
    engineering: Value = figure("tool_hour", "trials and engineering, phases among them")
    standby: Value = figure("tool_hour", "available, but not busy")
    productive: Value = figure("tool_hour", "busy with the recipe")


@dataclass(frozen=True, slots=True)
class Effectiveness:
    """The factors of overall equipment effectiveness after SEMI E79."""

    availability: Value = figure("%", "uptime (productive, standby, engineering) over the year")
    operational: Value = figure("%", "productive time over uptime")
    operational_status: Value = status({1: "uptime"}, {0: "no uptime"})
    rate: Value = figure("%", "ideal time in the tool of what was processed over productive time")
    rate_status: Value = status({1: "productive time"}, {0: "no productive time"})
    quality: Value = figure("%", "ideal time of what became good over that of what was processed")
    quality_status: Value = status({1: "ideal time"}, {0: "no ideal time"})
    overall: Value = figure("%", "the product of the four: ideal time of what became good over the year")
    overall_when_scheduled: Value = figure("%", "ideal time of what became good over the scheduled time")


@dataclass(frozen=True, slots=True)
class ToolUse:
    """One kind of tool, all its steps together; or one kind of carrier, which counts as a tool."""

    available_time: Value = figure("h", "scheduled time less downtime and engineering, for one tool")
    busy_time_per_good: Value = figure("s*tool/plate", "tool time for one good plate at the end of the line")
    peak_time_per_good: Value = figure("s*tool/plate", "the same when soaking outdoors takes longest; by it tools are counted")
    busy_time: Value = figure("tool_hour", "time that tools of this kind work")
    tools_needed: Value = figure("tool", "tools needed before rounding up")
    tools: Value = figure("tool", "tools in the plant")
    loading: Value = figure("%", "share of the available time that is worked, over the year")
    peak_loading: Value = figure("%", "the same when soaking outdoors takes longest; of other tools the same")
    capacity: Value = figure("module", "good modules a year that these tools allow")
    capacity_of_one: Value = figure("module/tool", "good modules a year that one such tool allows")


@dataclass(frozen=True, slots=True)
class Output:
    """What the plant makes."""

    plate_area: Value = figure("m2/plate", "area of a plate")
    active_area_share: Value = figure("%", "share of the plate area that generates power")
    uniformity: Value = figure("%", "power over that of films with uniform thickness")
    initial_power: Value = figure("Wp_initial/module", "power of a module before light soaking")
    stabilised_power: Value = figure("Wp_stabilised/module", "power of a module after light soaking")
    good_plates: Value = figure("plate", "plates that end as good modules")
    good_modules: Value = figure("module", "good modules")
    good_area: Value = figure("m2", "area of the good modules")
    initial_watts: Value = figure("Wp_initial", "initial power of the good modules")
    stabilised_watts: Value = figure("Wp_stabilised", "stabilised power of the good modules")
    plates_started: Value = figure("plate", "plates entering the first step")
    line_yield: Value = figure("%", "good plates over plates started")
    takt: Value = figure("s/plate", "scheduled time for each plate started")
    hours_per_crew: Value = figure("h/crew", "scheduled time for each crew")
    capacity: Value = figure("module", "good modules a year that the tools in the plant allow")

    def by_unit(self) -> dict[str, Value]:
        """The good output in each unit in which a target is set, and modules are sold."""
        return {"Wp_stabilised": self.stabilised_watts, "m2": self.good_area, "module": self.good_modules}


@dataclass(frozen=True, slots=True)
class ClassUse:
    """The modules that are sold in one power class."""

    module_share: Value = figure("%", "part of the good modules that is rated in this class")
    modules: Value = figure("module", "good modules of this class")
    mean_power: Value = figure("Wp_stabilised/module", "mean power of the modules of this class")
    mean_power_status: Value = status({1: "modules in the class"}, {0: "no module in the class"})
    power: Value = figure("Wp_stabilised/module", "power of the modules of this class, over all good modules")
    labelled_power: Value = figure("Wp_stabilised/module", "power on their labels, over all good modules")
    give_away: Value = figure("Wp_stabilised/module", "power that they have above their labels, over all good modules")


@dataclass(frozen=True, slots=True)
class PowerSold:
    """What customers pay for of the power made; without classes all of it."""

    classes: dict[str, ClassUse]
    unsold_share: Value = figure("%", "part of the good modules that is rated below the first class and not sold")
    unsold_power: Value = figure("Wp_stabilised/module", "power of modules not sold, over all good modules")
    labelled_power: Value = figure("Wp_stabilised/module", "power on all labels, over all good modules")
    give_away: Value = figure("Wp_stabilised/module", "power of sold modules above their labels, over all good modules")
    paid_power: Value = figure("Wp_stabilised/module", "labelled power, each class by its price, over all good modules")
    paid_share_of_power: Value = figure("%", "paid power over power made")
    paid_share_of_modules: Value = figure("%", "modules sold, each class by its price, over good modules")


@dataclass(frozen=True, slots=True)
class YearOfAge:
    """A year of the life of the modules sold, counted over their number at sale."""

    product_covered: Value = figure("%", "part of the year in which a module that fails is replaced")
    power_covered: Value = figure("%", "part of the year in which a module below the promised power is replaced")
    promised_power: Value = figure("%", "power promised at the end of the year, over that on the label")
    below_share: Value = figure("%", "modules whose power at the end of the year is below the promise")
    below_so_far: Value = figure("%", "the largest such share up to then")
    in_service: Value = figure("%", "modules in service at the start of the year")
    failures: Value = figure("%", "modules that fail in the year")
    product_claims: Value = figure("%", "modules that fail in the year and are replaced under warranty")
    power_claims: Value = figure("%", "modules replaced because their power first fell below the promise")
    claims: Value = figure("%", "modules replaced in all")
    energy: Value = figure("%", "energy of the year, over a year of all modules at their power at sale")


@dataclass(frozen=True, slots=True)
class Growth:
    """How much of a row of facility systems, people, overheads or parts in store the plant has."""

    unit: str
    size: Value = figure("{unit}", "size of what it grows with; by an exponent in a frozen plant, what it was built for")
    units: Value = figure("1", "units of what the row states, or the multiple of it")


@dataclass(frozen=True, slots=True)
class Line:
    """All figures of the line."""

    output: Output
    power: PowerSold
    steps: dict[str, StepFlow]
    phases: dict[str, PhaseUse]
    heatings: dict[str, HeatBalance]
    layers: dict[str, LayerGrowth]
    coatings: dict[str, CoatingPace]
    soaking: dict[str, Stabilisation]
    tools: dict[str, ToolUse]
    carriers: dict[str, ToolUse]
    states: dict[str, TimeStates]
    effectiveness: dict[str, Effectiveness]
    growth: dict[str, dict[str, Growth]]
    ageing: dict[str, YearOfAge]

    def paid_by_unit(self) -> dict[str, Value]:
        """What customers pay for at the full price, in each unit in which modules are sold."""
        output, power = self.output, self.power
        return {
            "Wp_stabilised": output.stabilised_watts * power.paid_share_of_power,
            "m2": output.good_area * power.paid_share_of_modules,
            "module": output.good_modules * power.paid_share_of_modules,
        }
