"""Commands for the line: plates and tools, bottlenecks, cycles, times."""

from __future__ import annotations

import click

from .opening import Asked, as_program, for_a_case, refuse


def add_line_commands(main: click.Group) -> None:
    """Give the program the commands of this file."""
    for command in (line, bottlenecks, cycle, times):
        main.add_command(command)


@click.command()
@for_a_case
@as_program
def line(asked: Asked, style: str) -> None:
    """Plates through each step, tools needed and in the plant, the bottleneck."""
    from ..present import cost_report, line_report
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "line", style)
        return
    show_lines([case.title, cost_report.volume(results), line_report.bottleneck(case, results)])
    show_table(line_report.power_table(case, results))
    show_table(line_report.flow_table(case, results.line))
    show_table(line_report.tool_table(case, results))
    if case.heatings:
        show_table(line_report.heat_table(case, results.line))
    if results.line.growth:
        show_table(line_report.growth_table(case, results.line))


@click.command()
@for_a_case
@click.option("--rungs", default=6, show_default=True, type=click.IntRange(1, 50), help="How many bottlenecks to relieve.")
def bottlenecks(asked: Asked, rungs: int) -> None:
    """Which tool limits the plant, which comes next, and what relief costs."""
    from ..present import line_report
    from ..studies.factory.full_use import ladder
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    climbed = ladder(case, rungs)
    show_lines([case.title, line_report.bottleneck(case, results), line_report.relief(case, results, climbed)])
    show_table(line_report.ladder_table(case, results, climbed))
    show_table(line_report.tool_table(case, results))


@click.command()
@for_a_case
@click.option("--step", help="The step to look at; without it, every step that has phases or films.")
@click.option(
    "--faster", default=20.0, show_default=True, type=click.FloatRange(0, min_open=True), help="How much faster films grow, in %."
)
@click.option(
    "--less",
    type=click.FloatRange(0, min_open=True),
    help="Minutes less overhead; without it 20, or half of the overhead where it has not that much.",
)
def cycle(asked: Asked, step: str | None, faster: float, less: float | None) -> None:
    """Where the minutes of a batch go, and what a minute less is worth."""
    from ..core.units import to_base
    from ..present import line_report
    from ..studies.factory.minutes import batch_steps, cycle_parts, gains
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    known = batch_steps(case)
    if step is not None and step not in known:
        refuse(f"--step: found '{step}'; allowed: a step with phases or films: {', '.join(known) or 'there is none'}")
    if not known:
        show_lines([case.title, "No step has phases or films, so no cycle has parts."])
    for name in [step] if step else known:
        try:
            found = gains(case, name, faster * to_base("%"), None if less is None else less * to_base("min"))
        except ValueError as problem:
            refuse(f"--less: found {problem}")
        show_lines([f"{case.title}: {case.steps[name].title}", line_report.minutes(case, found)])
        show_table(line_report.cycle_table(case, name, cycle_parts(case, name)))
        if any(row.step == name for row in case.coatings.values()):
            show_table(line_report.zones_table(case, results, name))
        show_table(line_report.gains_table(case, found))


@click.command()
@for_a_case
def times(asked: Asked) -> None:
    """How the year of each tool is spent, and how effective tools are."""
    from ..present import line_report
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title])
    show_table(line_report.states_table(case, results.line))
    if case.phases:
        show_table(line_report.phases_table(case, results.line))
    show_table(line_report.effectiveness_table(case, results.line))
