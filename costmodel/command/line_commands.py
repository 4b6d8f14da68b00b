"""The line: plates and tools, bottlenecks, cycles, times, yield, light soaking."""

from __future__ import annotations

from pathlib import Path

import click

from .answering import View
from .opening import Asked, refuse
from .subjects import CHART, SubjectCommand, option

line = SubjectCommand("line", stage="line")


@line.answer()
def tools(asked: Asked) -> View:
    """Output, tools needed and in the plant, loading, the bottleneck; by subject what lies behind it."""
    from ..present import cost_report, line_report

    case, results = asked.case, asked.results
    said = [cost_report.volume(results), line_report.bottleneck(case, results), line_report.counts(case, results)]
    return View(case.title, said, [line_report.tool_table(case, results)])


@line.subject("flow")
def flow(asked: Asked) -> View:
    """Plates through each step in a year, and what is lost."""
    from ..present import cost_report, line_report

    return View(asked.case.title, [cost_report.volume(asked.results)], [line_report.flow_table(asked.case, asked.results.line)])


@line.subject("power")
def power(asked: Asked) -> View:
    """Power of a module: active area, efficiency, loss by thickness, stabilisation."""
    from ..present import line_report

    case, results = asked.case, asked.results
    return View(case.title, [line_report.module_power(results)], [line_report.power_table(case, results)])


@line.subject("classes", CHART, option("--limits", is_flag=True, help="Try other limits of the classes, by what modules sell for."))
def classes(asked: Asked, chart: Path | None, limits: bool) -> View:
    """Power classes: labels, what is given away above them, what is not sold; where limits should lie."""
    from ..present import charts, power_report
    from ..studies.factory.class_limits import class_limits
    from ..studies.factory.power_bins import power_bins
    from .printing import save_chart

    case, results = asked.case, asked.results
    said = [power_report.classes(case, results)]
    if not case.power_classes:
        return View(case.title, said)
    save_chart(chart, case, "Good modules by rated power", lambda: (charts.class_bars(case, power_bins(case, results)), said))
    tables = [power_report.classes_table(case, results)]
    found = class_limits(case, results) if limits else None
    if found:
        said = [power_report.limits(case, results, found), *said]
        tables = [power_report.limits_table(case, results, found), *tables]
    return View(case.title, said, tables)


@line.subject("bottlenecks", option("--rungs", default=6, type=click.IntRange(1, 50), help="How many bottlenecks to relieve."))
def bottlenecks(asked: Asked, rungs: int) -> View:
    """Which tool limits the plant, which comes next, and what relief costs."""
    from ..present import line_report
    from ..studies.factory.full_use import ladder

    case, results = asked.case, asked.results
    climbed = ladder(case, rungs)
    said = [line_report.bottleneck(case, results), line_report.relief(case, results, climbed)]
    return View(case.title, said, [line_report.ladder_table(case, results, climbed), line_report.tool_table(case, results)])


@line.subject(
    "cycle",
    option("--step", help="The step to look at; without it, every step that has phases or films."),
    option("--faster", default=20.0, type=click.FloatRange(0, min_open=True), help="How much faster films grow, in %."),
    option(
        "--less",
        type=click.FloatRange(0, min_open=True),
        help="Minutes less overhead; without it 20, or half of the overhead where it has not that much.",
    ),
)
def cycle(asked: Asked, step: str | None, faster: float, less: float | None) -> list[View]:
    """Minutes of a batch, zones of in-line coaters, and what less time is worth."""
    from ..studies.factory.minutes import batch_steps

    known = batch_steps(asked.case)
    if step is not None and step not in known:
        refuse(f"--step: found '{step}'; allowed: a step with phases or films: {', '.join(known) or 'there is none'}")
    if not known:
        return [View(asked.case.title, ["No step has phases or films, so no cycle has parts."])]
    return [_cycle_of(asked, name, faster, less) for name in ([step] if step else known)]


def _cycle_of(asked: Asked, step: str, faster: float, less: float | None) -> View:
    """The cycle of one step."""
    from ..core.units import to_base
    from ..present import line_report
    from ..studies.factory.minutes import cycle_parts, gains

    case, results = asked.case, asked.results
    try:
        found = gains(case, step, faster * to_base("%"), None if less is None else less * to_base("min"))
    except ValueError as problem:
        refuse(f"--less: found {problem}")
    tables = [line_report.cycle_table(case, step, cycle_parts(case, step))]
    if any(row.step == step for row in case.coatings.values()):
        tables.append(line_report.zones_table(case, results, step))
    tables.append(line_report.gains_table(case, found))
    said = [*line_report.slowest_layer(case, results, step), line_report.minutes(case, found)]
    return View(f"{case.title}: {case.steps[step].title}", said, tables)


@line.subject("times")
def times(asked: Asked) -> View:
    """How the year of each tool is spent (states of SEMI E10)."""
    from ..present import line_report

    case, results = asked.case, asked.results
    phases = [line_report.phases_table(case, results.line)] if case.phases else []
    return View(case.title, [line_report.most_downtime(case, results)], [line_report.states_table(case, results.line), *phases])


@line.subject("effectiveness")
def effectiveness(asked: Asked) -> View:
    """How effective the tools are (factors of SEMI E79)."""
    from ..present import line_report

    case, results = asked.case, asked.results
    return View(case.title, [line_report.least_effective(case, results)], [line_report.effectiveness_table(case, results.line)])


@line.subject("heat")
def heat(asked: Asked) -> View:
    """Heat balance of heated loads: the minimum against what the tool draws."""
    from ..present import line_report

    case, results = asked.case, asked.results
    if not case.heatings:
        return View(case.title, ["The case has no heatings.csv, so the minimum heat of loads is not computed."])
    return View(case.title, line_report.heat_drawn(case, results), [line_report.heat_table(case, results.line)])


@line.subject("growth")
def growth(asked: Asked) -> View:
    """Facility systems, people and other costs that grow with the plant."""
    from ..present import line_report

    case, results = asked.case, asked.results
    grown = [line_report.growth_table(case, results.line)] if results.line.growth else []
    none = ["The case has no growth_steps.csv and no growth_exponents.csv: only tools and the people at them grow with the plant."]
    return View(case.title, line_report.what_grows(case, results) or none, grown)


@line.subject("yield")
def yield_points(asked: Asked) -> View:
    """What a point of yield is worth in each step, and what is lost along the route."""
    from ..present import cost_report
    from ..studies.factory.full_use import yield_points as points_of

    case, results = asked.case, asked.results
    found = points_of(case)
    said = [cost_report.points(case, found), cost_report.losses(case, results)]
    return View(case.title, said, [cost_report.points_table(case, found), cost_report.route_table(case, results)])


@line.subject("soaking")
def soaking(asked: Asked) -> list[View]:
    """Light soaking: all plans side by side in money a year; sample, measurement error, days, cost and claims of the one in use."""
    from ..case.alternatives import groups
    from ..present import choice_report, soaking_report
    from ..studies.factory.averaging import running_means
    from ..studies.factory.choices import outcomes

    case, results = asked.case, asked.results
    said = [soaking_report.precision(case, results), soaking_report.days(case, results)]
    views = []
    if "soaking" in groups(asked.folder):
        found = outcomes(asked.folder, "soaking", asked.scenario, asked.changes, asked.use, asked.terms)
        plans = [soaking_report.plans_table(found), choice_report.choices_table(found, "soaking")]
        views.append(View(case.title, [soaking_report.plans(found)], plans))
    if not case.soaking:
        return [*views, View(case.title, said)]
    tables = [
        soaking_report.rating_table(case, results),
        soaking_report.averages_table(case, {name: running_means(case, name) for name in case.soaking}),
        soaking_report.days_table(case, results),
        soaking_report.soaking_cost_table(case, results),
    ]
    return [*views, View(case.title, said, tables)]
