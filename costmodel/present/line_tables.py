"""Tables of the line: plates, tools, time."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.line.line_figures import Line
from ..studies.factory.full_use import Rung, title_of, with_one_less
from ..studies.factory.minutes import Gain, Part
from .numbers import duration, in_unit, label, people, percent
from .table import Table


def equipment(results: Results) -> list[tuple[str, object]]:
    """Tools and carriers by `tools.ID` or `carriers.ID`, the fullest first."""
    line = results.line
    both = {f"tools.{n}": use for n, use in line.tools.items()} | {f"carriers.{n}": use for n, use in line.carriers.items()}
    return sorted(both.items(), key=lambda item: -item[1].peak_loading)


def tool_table(case: Case, results: Results) -> Table:
    """Tools and carriers, the fullest first, and what one less would leave."""
    less = with_one_less(results)
    power = results.line.output.stabilised_power / to_base("MWp_stabilised")
    rows = [
        [
            title_of(case, place),
            people(use.tools_needed),
            f"{use.tools:.4g}",
            percent(use.peak_loading),
            in_unit(use.available_time, "h"),
            people(use.capacity),
            people(use.capacity * power),
            people(less[place] * power),
        ]
        for place, use in equipment(results)
    ]
    return Table(
        "Tools and their loading",
        [
            "",
            "needed",
            "in the plant",
            "loading",
            "available, each",
            "modules a year possible",
            "MW a year possible",
            "MW with one less",
        ],
        rows,
        note="Possible is what these tools allow; MW are stabilised. With one less: what the whole plant could make.",
    )


def growth_table(case: Case, line: Line) -> Table:
    """What grows with the plant: what with, how large that is, and how much of the row there is."""
    rows = []
    for row in [*case.growth_steps.values(), *case.growth_exponents.values()]:
        kind, name = row.grows.split(".")
        grown = line.growth[kind][name]
        titles = {**{n: tool.title for n, tool in case.tools.items()}, **{n: area.title for n, area in case.areas.items()}}
        driver = titles.get(row.driver, row.driver.replace("_", " "))
        rows.append([getattr(case, kind)[name].title, driver, in_unit(grown.size, row.unit), f"{grown.units:.4g}"])
    return Table(
        "Facility systems, people and other costs that grow with the plant",
        ["", "grows with", "size", "units or multiple"],
        rows,
        texts=(0, 1),
        note="What is not in this table is fixed, except tools, operators at tools and what depends on the output.",
    )


def flow_table(case: Case, line: Line) -> Table:
    """What passes through each step."""
    rows = [
        [
            case.steps[name].title,
            people(flow.starts),
            people(flow.passes),
            people(flow.lost),
            percent(flow.good / flow.starts),
            duration(flow.cycle.time),
            f"{case.tools[case.steps[name].tool].load_size:.4g}",
            percent(flow.good_end_share),
        ]
        for name, flow in line.steps.items()
    ]
    return Table(
        "Plates through the route in a year",
        ["", "entering", "processed", "lost", "good", "cycle", "plates a load", "cumulative yield to finished module"],
        rows,
    )


def ladder_table(case: Case, results: Results, climbed: list[Rung]) -> Table:
    """The bottlenecks one after the other."""
    output = results.line.output
    power, area = output.stabilised_power / to_base("MWp_stabilised"), output.good_area / output.good_modules
    rows = [
        [
            rung.title,
            f"{rung.tools:.4g}",
            people(rung.capacity),
            people(rung.capacity * area),
            people(rung.capacity * power),
            people(rung.price),
            people(rung.capacity_after * power),
            people(rung.spent_so_far),
        ]
        for rung in climbed
    ]
    return Table(
        f"Bottlenecks one after the other, money in {case.currency}",
        ["tightest", "there are", "modules a year", "m2 a year", "MW a year", "one more costs", "then MW a year", "spent so far"],
        rows,
        note="Each row adds one of what is tightest in the plant as the rows above have left it.",
    )


def cycle_table(case: Case, step: str, parts: list[Part]) -> Table:
    """Where the minutes of a cycle go."""
    rows = [[part.title, in_unit(part.time, "min"), percent(part.share)] for part in parts]
    rows.append(["All", in_unit(sum(part.time for part in parts), "min"), percent(1.0)])
    return Table(
        f"The cycle of “{case.steps[step].title}”, minutes for each load",
        ["", "time", "share"],
        rows,
        total=True,
        note="What is done once in several loads stands with its part of each load.",
    )


def heat_table(case: Case, line: Line) -> Table:
    """What heated loads take up, and what their tools draw."""
    rows = [
        [
            case.steps[case.heatings[name].step].title,
            in_unit(found.glass_heat, "kWh"),
            in_unit(found.carrier_heat, "kWh"),
            in_unit(found.least_energy, "kWh"),
            in_unit(found.least_energy_per_plate, "kWh"),
            in_unit(found.drawn_energy, "kWh"),
            percent(found.least_over_drawn),
        ]
        for name, found in line.heatings.items()
    ]
    return Table(
        "Heat balance per load",
        ["", "glass", "carrier", "minimum heat", "per plate", "drawn", "minimum of drawn"],
        rows,
        note="The minimum heat warms glass and carrier. Losses of the tool come on top. Above 100 % the draw is too low.",
    )


def zones_table(case: Case, results: Results, step: str = "") -> Table:
    """The zones of the in-line coaters, or of that of a step, the slowest first."""
    films = {name: x for name, x in results.line.coatings.items() if case.coatings[name].step == step or not step}
    rows = [
        [
            case.coatings[name].title,
            case.steps[case.coatings[name].step].title,
            in_unit(case.coatings[name].thickness, "nm"),
            in_unit(case.coatings[name].dynamic_rate, "nm*m/min"),
            people(case.coatings[name].cathodes),
            duration(pace.time),
            percent(pace.share_of_pace),
        ]
        for name, pace in sorted(films.items(), key=lambda item: -item[1].time)
    ]
    return Table(
        "Zones of in-line coaters",
        ["", "step", "thickness", "dynamic rate", "cathodes", "time of a load", "share of the pace"],
        rows,
        texts=(0, 1),
        note="Transport speed of a zone: dynamic rate times cathodes over thickness. The slowest zone, or lock, sets the pace.",
    )


def power_table(case: Case, results: Results) -> Table:
    """From the area of the plate to the power of a module."""
    output, product = results.line.output, case.product
    rows = [
        ["Area of the plate", f"{people(output.plate_area)} m²"],
        ["Active area, share of it", percent(output.active_area_share)],
        ["Initial efficiency of the active area, at uniform thickness", percent(product.initial_efficiency)],
        ["Power factor, thickness non-uniformity", percent(output.uniformity)],
        ["Initial power of a module", f"{people(output.initial_power)} W"],
        ["Stabilised power of a module", f"{people(output.stabilised_power)} W"],
    ]
    return Table("Power of a module", ["", ""], rows, texts=(0, 1))


def gains_table(case: Case, gains: list[Gain]) -> Table:
    """What less time in a cycle is worth."""
    rows = [
        [
            g.title,
            in_unit(g.time, "min"),
            people(g.tools_needed),
            people(g.worth),
            people(g.tool_capacity),
            people(g.line_capacity),
            people(g.saving),
            people(g.saving_at_full_load),
        ]
        for g in gains
    ]
    return Table(
        f"What less time is worth, {case.currency} a year",
        [
            "",
            "saved a load",
            "tools needed then",
            "tool time freed",
            "modules, this tool",
            "modules, the plant",
            "saving at planned output",
            "saving if all sells",
        ],
        rows,
        note="Tool time freed is valued at what the tool's time costs: depreciation, maintenance, floor, operators. Modules are "
        "what the plant as bought could make more a year, by this tool alone and with all other limits. At the planned output, "
        "tools and people stay. The last column is the fall of a module's cost times all "
        "modules that the plant can make, if it sells them.",
    )


def states_table(case: Case, line: Line) -> Table:
    """How the year of the tools is spent."""
    rows = []
    for name, states in line.states.items():
        times = [
            states.productive,
            states.standby,
            states.engineering,
            states.scheduled_down,
            states.unscheduled_down,
            states.non_scheduled,
        ]
        year = sum(times)
        rows.append([case.tools[name].title, *(percent(time / year) for time in times)])
    return Table(
        "How the year of each kind of tool is spent (states of SEMI E10)",
        ["", "productive", "standby", "engineering", "scheduled down", "unscheduled down", "non-scheduled"],
        rows,
        note="Shares of the 8,760 hours of the year; each hour stands in one state.",
    )


def phases_table(case: Case, line: Line) -> Table:
    """In which state of SEMI E10 the time of each phase counts."""
    rows = [
        [
            f"{row.title} ({case.tools[case.steps[row.step].tool].title})",
            duration(row.time),
            people(row.loads_between),
            in_unit(line.phases[name].time_per_load, "min"),
            label(row.state),
        ]
        for name, row in case.phases.items()
    ]
    return Table(
        "The state of SEMI E10 in which each phase counts",
        ["", "each time", "once in loads", "per load", "state"],
        rows,
        texts=(0, 4),
        note="The recipe is productive. An exchange of parts, and the runs that follow it, are scheduled downtime.",
    )


def effectiveness_table(case: Case, line: Line) -> Table:
    """The factors of equipment effectiveness."""
    rows = [
        [
            case.tools[name].title,
            *(percent(x) for x in (e.availability, e.operational, e.rate, e.quality, e.overall, e.overall_when_scheduled)),
        ]
        for name, e in line.effectiveness.items()
    ]
    return Table(
        "Effectiveness of the tools (factors of SEMI E79)",
        ["", "availability", "operational", "rate", "quality", "overall, of the year", "overall, of scheduled time"],
        rows,
        note="Availability: uptime over the year. Operational: productive time over uptime. Rate: ideal over productive "
        "time; the ideal is the time of full loads in the tool. Quality: ideal time of what became good over that of what was "
        "processed.",
    )
