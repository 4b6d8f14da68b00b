"""The line: plates, tools, bottlenecks, cycles and time, in sentences and tables."""

from __future__ import annotations

from ..case.cost_records import GrowthExponent, GrowthStep
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.line.line_figures import Line, ToolUse
from ..studies.factory.full_use import Rung, cheapest_relief, title_of, with_one_less
from ..studies.factory.minutes import Gain, Part
from .numbers import amount, duration, in_unit, label, many, money, people, percent
from .palette import STATES
from .table import Table, table_of

ENOUGH = 0.0005  # of the output: a plant that could make no more than this beyond it makes just that


def equipment(results: Results) -> list[tuple[str, ToolUse]]:
    """Tools and carriers by `tools.ID` or `carriers.ID`, the fullest first."""
    line = results.line
    both = {f"tools.{n}": use for n, use in line.tools.items()} | {f"carriers.{n}": use for n, use in line.carriers.items()}
    return sorted(both.items(), key=lambda item: -item[1].peak_loading)


def bottleneck(case: Case, results: Results) -> str:
    """What is fullest, and what the plant could make."""
    place, use = equipment(results)[0]
    output = results.line.output
    text = f"The bottleneck is “{title_of(case, place)}”, utilisation {percent(use.peak_loading)}."
    spare = output.capacity / output.good_modules - 1
    if case.target.mode == "frozen" or (case.target.mode == "as_bought" and spare < ENOUGH):
        return f"{text} It sets the output: {people(output.good_modules)} good modules a year."
    if spare < ENOUGH:
        return f"{text} The plant can make just the planned output."
    most = people(output.capacity)
    return f"{text} With whole tools the plant can make {most} modules a year, {percent(spare, 2)} more than planned."


def counts(case: Case, results: Results) -> str:
    """How many of each tool and carrier there are, the most first; those of which there is one are counted."""
    found = sorted(equipment(results), key=lambda item: -item[1].tools)
    several = [f"{use.tools:.4g} of “{title_of(case, place)}”" for place, use in found if use.tools > 1]
    if not several:
        return f"It takes one each of {many(len(found), 'kind')} of tools."
    return f"It takes more than one of these: {', '.join(several)}; one each of {many(len(found) - len(several), 'other')}."


def relief(case: Case, results: Results, climbed: list[Rung]) -> str:
    """What it takes to make more, and the cheapest way."""
    best = cheapest_relief(climbed)
    if best is None:
        return "None of the steps listed makes the plant larger by itself."
    power = results.line.output.stabilised_power / to_base("MWp_stabilised")
    gained = (best.capacity_after - climbed[0].capacity) * power
    count = climbed.index(best) + 1
    what = f"one more “{best.title}”" if count == 1 else f"the first {count} bottlenecks, up to one more “{best.title}”"
    return (
        f"The cheapest relief is {what}: {amount(best.spent_so_far, case.currency)}. It adds {people(gained)} MW a year, at "
        f"{money(best.spent_so_far / gained / to_base('MWp_stabilised'), case.currency)} per watt a year."
    )


def slowest_layer(case: Case, results: Results, step: str) -> list[str]:
    """Which of the layers grown in a step takes longest, its purge counted; nothing where none grows."""
    times = {
        name: results.line.layers[name].growth_time + row.purge_time for name, row in case.layers.items() if row.step == step
    }
    if not times:
        return []
    name, cycle = max(times, key=times.__getitem__), results.line.steps[step].cycle.time
    return [
        f"Of {many(len(times), 'layer')} “{case.layers[name].title}” takes longest: {in_unit(times[name], 'min')} with its purge, "
        f"{percent(times[name] / cycle, 2)} of the cycle of {in_unit(cycle, 'min')}."
    ]


def minutes(case: Case, gains: list[Gain]) -> str:
    """Whether the film most worth growing faster, or less overhead, is worth more."""
    films = [gain for gain in gains if gain.film]
    overhead = [gain for gain in gains if not gain.film]
    if not films or not overhead:
        return f"Most worth: {gains[0].title}."
    first, second = sorted((films[0], max(overhead, key=lambda gain: gain.time)), key=lambda gain: -gain.worth)
    return (
        f"Worth more: {first.title}, which frees tool time of {amount(first.worth, case.currency)} a year. Worth less: "
        f"{second.title}, {amount(second.worth, case.currency)}."
    )


def tool_table(case: Case, results: Results) -> Table:
    """Tools and carriers, the fullest first, and what one less would leave."""
    less = with_one_less(results)
    power = results.line.output.stabilised_power / to_base("MWp_stabilised")
    columns = {
        "": lambda place, use: title_of(case, place),
        "needed": lambda _, use: people(use.tools_needed),
        "in the plant": lambda _, use: f"{use.tools:.4g}",
        "loading": lambda _, use: percent(use.peak_loading),
        "available, each": lambda _, use: in_unit(use.available_time, "h"),
        "modules a year possible": lambda _, use: people(use.capacity),
        "MW a year possible": lambda _, use: people(use.capacity * power),
        "MW with one less": lambda place, _: people(less[place] * power),
    }
    note = "Possible is what these tools allow; MW are stabilised. With one less: what the whole plant could make."
    return table_of("Tools and their loading", equipment(results), columns, note=note)


def growing(case: Case) -> list[GrowthStep | GrowthExponent]:
    """The rows that state what grows with the plant."""
    return [*case.growth_steps.values(), *case.growth_exponents.values()]


def growth_table(case: Case, line: Line) -> Table:
    """What grows with the plant: what with, how large that is, and how much of the row there is."""
    titles = {n: row.title for table in (case.tools, case.areas) for n, row in table.items()}
    rows = []
    for row in growing(case):
        kind, name = row.grows.split(".")
        grown = line.growth[kind][name]
        driver = titles.get(row.driver, label(row.driver))
        rows.append([getattr(case, kind)[name].title, driver, in_unit(grown.size, row.unit), f"{grown.units:.4g}"])
    return Table(
        "Facility systems, people and other costs that grow with the plant",
        ["", "grows with", "size", "units or multiple"],
        rows,
        texts=(0, 1),
        note="What is not in this table is fixed, except tools, operators at tools and what depends on the output.",
    )


def what_grows(case: Case, results: Results) -> list[str]:
    """How many rows grow with the plant."""
    count = len(growing(case))
    return [f"{many(count, 'row')} grow with the plant." if count > 1 else "1 row grows with the plant."] if count else []


def flow_table(case: Case, line: Line) -> Table:
    """What passes through each step."""
    columns = {
        "": lambda name, flow: case.steps[name].title,
        "entering": lambda _, flow: people(flow.starts),
        "processed": lambda _, flow: people(flow.passes),
        "lost": lambda _, flow: people(flow.lost),
        "good": lambda _, flow: percent(flow.good / flow.starts),
        "cycle": lambda _, flow: duration(flow.cycle.time),
        "plates per load": lambda name, _: f"{case.tools[case.steps[name].tool].load_size:.4g}",
        "cumulative yield to finished module": lambda _, flow: percent(flow.good_end_share),
    }
    return table_of("Plates through the route in a year", line.steps.items(), columns)


def ladder_table(case: Case, results: Results, climbed: list[Rung]) -> Table:
    """The bottlenecks one after the other."""
    output = results.line.output
    power, area = output.stabilised_power / to_base("MWp_stabilised"), output.good_area / output.good_modules
    columns = {
        "tightest": lambda rung: rung.title,
        "in the plant": lambda rung: f"{rung.tools:.4g}",
        "modules a year": lambda rung: people(rung.capacity),
        "m² a year": lambda rung: people(rung.capacity * area),
        "MW a year": lambda rung: people(rung.capacity * power),
        "one more costs": lambda rung: people(rung.price),
        "then MW a year": lambda rung: people(rung.capacity_after * power),
        "spent so far": lambda rung: people(rung.spent_so_far),
    }
    note = "Each row adds one of what is tightest in the plant as the rows above have left it."
    return table_of(f"Bottlenecks one after the other, {case.currency}", ((rung,) for rung in climbed), columns, note=note)


def cycle_table(case: Case, step: str, parts: list[Part]) -> Table:
    """Where the minutes of a cycle go."""
    rows = [[part.title, in_unit(part.time, "min"), percent(part.share)] for part in parts]
    rows.append(["All", in_unit(sum(part.time for part in parts), "min"), percent(1.0)])
    note = "What is done once in several loads counts with its part per load."
    return Table(f"The cycle of “{case.steps[step].title}”, minutes per load", ["", "time", "share"], rows, note=note, total=True)


def heat_table(case: Case, line: Line) -> Table:
    """What heated loads take up, and what their tools draw."""
    columns = {
        "": lambda name, found: case.steps[case.heatings[name].step].title,
        "glass": lambda _, found: in_unit(found.glass_heat, "kWh"),
        "carrier": lambda _, found: in_unit(found.carrier_heat, "kWh"),
        "minimum heat": lambda _, found: in_unit(found.least_energy, "kWh"),
        "per plate": lambda _, found: in_unit(found.least_energy_per_plate, "kWh"),
        "drawn": lambda _, found: in_unit(found.drawn_energy, "kWh"),
        "minimum of drawn": lambda _, found: percent(found.least_over_drawn),
    }
    note = "The minimum heat warms glass and carrier. Losses of the tool come on top. Above 100 % the draw is too low."
    return table_of("Heat balance per load", line.heatings.items(), columns, note=note)


def heat_drawn(case: Case, results: Results) -> list[str]:
    """What the heat of a load is against what its tool draws, for the load that draws most; nothing where none is heated."""
    found = results.line.heatings
    if not found:
        return []
    most = max(found, key=lambda name: found[name].drawn_energy)
    each = found[most]
    return [
        f"“{case.steps[case.heatings[most].step].title}” draws most: {in_unit(each.drawn_energy, 'kWh')} per load. To warm glass "
        f"and carrier takes {in_unit(each.least_energy, 'kWh')} of that, {percent(each.least_over_drawn)}."
    ]


def zones_table(case: Case, results: Results, step: str = "") -> Table:
    """The zones of the in-line coaters, or of that of a step, the slowest first."""
    films = {name: x for name, x in results.line.coatings.items() if case.coatings[name].step == step or not step}
    columns = {
        "": lambda row, pace: row.title,
        "step": lambda row, pace: case.steps[row.step].title,
        "thickness": lambda row, pace: in_unit(row.thickness, "nm"),
        "dynamic rate": lambda row, pace: in_unit(row.dynamic_rate, "nm*m/min"),
        "cathodes": lambda row, pace: people(row.cathodes),
        "time of a load": lambda row, pace: duration(pace.time),
        "share of the pace": lambda row, pace: percent(pace.share_of_pace),
    }
    order = sorted(films.items(), key=lambda item: -item[1].time)
    note = "Transport speed of a zone: dynamic rate times cathodes over thickness. The slowest zone, or lock, sets the pace."
    rows = ((case.coatings[name], pace) for name, pace in order)
    return table_of("Zones of in-line coaters", rows, columns, texts=(0, 1), note=note)


def module_power(results: Results) -> str:
    """The power of a module, and what light takes of it."""
    output = results.line.output
    lost = 1 - output.stabilised_power / output.initial_power
    return (
        f"A module has {people(output.initial_power)} W at first and {people(output.stabilised_power)} W after light soaking, "
        f"{percent(lost)} less."
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
    columns = {
        "": lambda g: g.title,
        "saved per load": lambda g: in_unit(g.time, "min"),
        "tools needed then": lambda g: people(g.tools_needed),
        "tool time freed": lambda g: people(g.worth),
        "modules, this tool": lambda g: people(g.tool_capacity),
        "modules, the plant": lambda g: people(g.line_capacity),
        "saving at planned output": lambda g: people(g.saving),
        "saving if all sells": lambda g: people(g.saving_at_full_load),
    }
    return table_of(
        f"What less time is worth, {case.currency} a year",
        ((g,) for g in gains),
        columns,
        note="Tool time freed is valued at the cost of the tool's time: depreciation, maintenance, floor, operators. Modules are "
        "what the plant as bought could make more a year, by this tool alone and with all other limits. At the planned output, "
        "tools and people stay. Saving if all sells: the fall of a module's cost times all modules that the plant can make.",
    )


def most_downtime(case: Case, results: Results) -> str:
    """Which kind of tool is down most, and which is productive most."""
    down, work = {}, {}
    for name, states in results.line.states.items():
        whole = sum(getattr(states, state) for state in STATES)
        down[name] = (states.scheduled_down + states.unscheduled_down) / whole
        work[name] = states.productive / whole
    most, least = max(work, key=work.__getitem__), max(down, key=down.__getitem__)
    return (
        f"“{case.tools[most].title}” is productive most: {percent(work[most])} of the year. “{case.tools[least].title}” is down "
        f"most: {percent(down[least])}."
    )


def states_table(case: Case, line: Line) -> Table:
    """How the year of the tools is spent."""
    rows = []
    for name, states in line.states.items():
        times = [getattr(states, state) for state in STATES]
        rows.append([case.tools[name].title, *(percent(time / sum(times)) for time in times)])
    return Table(
        "How the year of each kind of tool is spent (states of SEMI E10)",
        ["", *(state_label(state) for state in STATES)],
        rows,
        note="Shares of the 8,760 hours of the year; each hour is in one state.",
    )


def state_label(state: str) -> str:
    """A time state of SEMI E10 in words.

    >>> state_label("non_scheduled")
    'non-scheduled'
    """
    return label(state).replace("non ", "non-")


def phases_table(case: Case, line: Line) -> Table:
    """In which state of SEMI E10 the time of each phase counts."""
    columns = {
        "": lambda name, row: f"{row.title} ({case.tools[case.steps[row.step].tool].title})",
        "each time": lambda name, row: duration(row.time),
        "once in loads": lambda name, row: people(row.loads_between),
        "per load": lambda name, row: in_unit(line.phases[name].time_per_load, "min"),
        "state": lambda name, row: state_label(row.state),
    }
    note = "The recipe is productive. An exchange of parts, and the runs that follow it, are scheduled downtime."
    return table_of("The state of SEMI E10 in which each phase counts", case.phases.items(), columns, texts=(0, 4), note=note)


def least_effective(case: Case, results: Results) -> str:
    """Which tool is effective most and least, of the year."""
    found = results.line.effectiveness
    most, least = (best(found, key=lambda name: found[name].overall) for best in (max, min))
    return (
        f"“{case.tools[most].title}” has the highest overall effectiveness, {percent(found[most].overall)} of the year. "
        f"“{case.tools[least].title}” has the lowest, {percent(found[least].overall)}."
    )


def effectiveness_table(case: Case, line: Line) -> Table:
    """The factors of equipment effectiveness."""
    columns = {
        "": lambda name, e: case.tools[name].title,
        "availability": lambda _, e: percent(e.availability),
        "operational": lambda _, e: percent(e.operational),
        "rate": lambda _, e: percent(e.rate),
        "quality": lambda _, e: percent(e.quality),
        "overall, of the year": lambda _, e: percent(e.overall),
        "overall, of scheduled time": lambda _, e: percent(e.overall_when_scheduled),
    }
    return table_of(
        "Effectiveness of the tools (factors of SEMI E79)",
        line.effectiveness.items(),
        columns,
        note="Availability: uptime over the year. Operational: productive time over uptime. Rate: ideal over productive time, "
        "ideal being full loads in the tool. Quality: ideal time of good plates over that of plates processed.",
    )
