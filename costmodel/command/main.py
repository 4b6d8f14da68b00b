"""The command `costmodel`: check a case, show its line, cost and choices, write its report, begin a new case."""

from __future__ import annotations

import itertools
from pathlib import Path

import click

from .. import __version__
from .opening import Asked, as_program, for_a_case


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="costmodel")
def main() -> None:
    """What a thin-film module costs to make, and why, from a folder of tables.

    CASE is a folder with case.yaml and the tables beside it, such as inputs_demo/facade. Begin with a copy of the
    demo: costmodel new my_case
    """


@main.command()
@for_a_case
def check(asked: Asked) -> None:
    """Read a case, say what is wrong with it, or what it holds."""
    from datetime import date

    from ..case.alternatives import groups
    from ..case.fingerprint import fingerprint
    from ..case.records import tables
    from ..case.scenarios import scenario_names
    from ..case.summary import oddities, old_rows, without_range
    from ..report import sentences
    from .printing import show_lines

    case = asked.check()
    counts = [f"{len(getattr(case, name))} {name.replace('_', ' ')}" for name, t in tables().items() if not t.section]
    old, bare, odd = old_rows(case, date.today()), without_range(case), list(oddities(case))
    kinds = [f"{group} ({', '.join(names)})" for group, names in groups(asked.folder).items()]
    show_lines(
        [
            f"{case.title}: no faults found.",
            ", ".join(counts) + ".",
            sentences.evidence(case),
            f"Scenarios: {', '.join(scenario_names(asked.folder)) or 'none'}.",
            f"Alternatives: {', '.join(kinds) or 'none'}.",
            sentences.choices_in_use(case),
            f"Rows with figures older than a year: {len(old)}{': ' + ', '.join(old[:8]) if old else ''}.",
            f"Numbers without a range in ranges.csv: {len(bare)}.",
            f"Looks odd: {'; '.join(odd) or 'nothing'}.",
            f"Fingerprint: {fingerprint(case)}",
        ]
    )


@main.command()
@for_a_case
@as_program
def line(asked: Asked, style: str) -> None:
    """Plates through each step, tools needed and in the plant, the bottleneck."""
    from ..report import line_tables, sentences
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "line", style)
        return
    show_lines([case.title, sentences.volume(case, results), sentences.bottleneck(case, results)])
    show_table(line_tables.flow_table(case, results.line))
    show_table(line_tables.tool_table(case, results))


@main.command()
@for_a_case
@as_program
def cost(asked: Asked, style: str) -> None:
    """What a module costs, by step and by kind."""
    from ..report import cost_tables, sentences
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "ledger", style)
        return
    show_lines(
        [
            case.title,
            sentences.headline(case, results),
            sentences.dearest(case, results),
            sentences.losses(case, results),
            sentences.idle(case, results),
            sentences.not_in_it(case),
        ]
    )
    show_table(cost_tables.basis_table(case, results))
    show_table(cost_tables.matrix_table(case, results, "stabilised_watt"))
    show_table(cost_tables.group_table(case, results))


@main.command()
@for_a_case
@click.option("--rungs", default=6, show_default=True, type=click.IntRange(1, 50), help="How many bottlenecks to relieve.")
def bottlenecks(asked: Asked, rungs: int) -> None:
    """Which tool limits the plant, which comes next, and what relief costs."""
    from ..answers.bottlenecks import ladder
    from ..report import line_tables, sentences
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    climbed = ladder(case, results, rungs)
    show_lines([case.title, sentences.bottleneck(case, results), sentences.relief(case, results, climbed)])
    show_table(line_tables.ladder_table(case, results, climbed))
    show_table(line_tables.tool_table(case, results))


@main.command()
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
    from ..answers.minutes import batch_steps, cycle_parts, gains
    from ..report import line_tables, sentences
    from ..units import to_base
    from .opening import refuse
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
        show_lines([f"{case.title}: {case.steps[name].title}", sentences.minutes(case, found)])
        show_table(line_tables.cycle_table(case, name, cycle_parts(case, results, name)))
        show_table(line_tables.gains_table(case, found))


@main.command()
@for_a_case
def times(asked: Asked) -> None:
    """How the year of each tool is spent, and how effective tools are."""
    from ..report import line_tables
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title])
    show_table(line_tables.states_table(case, results.line))
    show_table(line_tables.effectiveness_table(case, results.line))


@main.command()
@for_a_case
def ownership(asked: Asked) -> None:
    """Cost of ownership of each tool, by its parts."""
    from ..report import cost_tables, sentences
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title, sentences.owned(case, results), sentences.idle(case, results)])
    show_table(cost_tables.ownership_table(case, results))


@main.command()
@for_a_case
@click.option(
    "--low", default=0.2, show_default=True, type=click.FloatRange(0, min_open=True), help="Smallest size, over that of the case."
)
@click.option(
    "--high", default=3.0, show_default=True, type=click.FloatRange(0, min_open=True), help="Largest size, over that of the case."
)
def size(asked: Asked, low: float, high: float) -> None:
    """Cost against the size of the plant, and where tools are full."""
    from ..answers.plant_size import sizes
    from ..report import cost_tables, sentences
    from .opening import refuse
    from .printing import show_lines, show_table

    if not low < high:
        refuse(f"--low and --high: found {low:.4g} and {high:.4g}; allowed: low below high")
    case = asked.open()
    found = sizes(case, low, high)
    show_lines([case.title, sentences.size(case, found)])
    show_table(cost_tables.size_table(case, found))


@main.command()
@for_a_case
def evidence(asked: Asked) -> None:
    """What the cost leans on, and how well that is known."""
    from ..answers.evidence import leanings
    from ..report import cost_tables, sentences
    from .printing import show_lines, show_table

    case = asked.open()
    found = leanings(case)
    show_lines([case.title, sentences.evidence(case), sentences.leaning(case, found)])
    show_table(cost_tables.evidence_table(case, found))


@main.command("yield")
@for_a_case
def yield_(asked: Asked) -> None:
    """What a point of yield is worth, step by step."""
    from ..answers.yield_points import yield_points
    from ..report import cost_tables, sentences
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    found = yield_points(case, results)
    show_lines([case.title, sentences.losses(case, results), sentences.points(case, found)])
    show_table(cost_tables.points_table(case, found))
    show_table(cost_tables.route_table(case, results))


@main.command()
@for_a_case
@click.option("--group", help="The group of alternatives to compare; without it, each of them.")
@click.option(
    "--break-even", "address", metavar="ADDRESS", help="Find the value of an input at which two choices of --group cost the same."
)
def choices(asked: Asked, group: str | None, address: str | None) -> None:
    """Structural choices side by side, as silver or aluminium."""
    from ..answers.break_even import break_even
    from ..answers.choices import outcomes
    from ..case.addresses import BadAddress
    from ..case.alternatives import groups
    from ..faults import InputFaults
    from ..report import cost_tables, sentences
    from .opening import refuse
    from .printing import show_lines, show_table

    case = asked.open()
    if address and not group:
        refuse("--break-even: found no --group; allowed: with --group, one of " + ", ".join(groups(asked.folder)))
    show_lines([case.title, sentences.choices_in_use(case)])
    try:
        for name in [group] if group else groups(asked.folder):
            found = outcomes(asked.folder, name, asked.scenario, asked.changes, asked.use)
            show_table(cost_tables.choices_table(found, name))
        if address:
            for first, second in itertools.combinations(found, 2):
                crossing = break_even(first.case, second.case, address)
                click.echo(sentences.break_even(case, (first.title, second.title), crossing))
    except InputFaults as faults:
        refuse(str(faults))
    except (BadAddress, ValueError) as problem:
        refuse(f"--break-even: {problem}")


@main.command()
@for_a_case
def soaking(asked: Asked) -> None:
    """What light soaking measures, costs and risks; then the plans side by side."""
    from ..answers.choices import outcomes
    from ..case.alternatives import groups
    from ..report import cost_tables
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    if not case.soaking:
        show_lines([case.title, "The case has no soaking.csv, so nothing is known of how lots are sampled."])
        return
    show_lines([case.title])
    show_table(cost_tables.soaking_table(case, results))
    if "soaking" in groups(asked.folder):
        found = outcomes(asked.folder, "soaking", asked.scenario, asked.changes, asked.use)
        show_table(cost_tables.choices_table(found, "soaking"))


@main.command()
@for_a_case
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("reports"),
    show_default=True,
    help="Folder for the report.",
)
def report(asked: Asked, out: Path) -> None:
    """Write the report of a case: one HTML file that opens offline."""
    from datetime import date

    from ..case.fingerprint import fingerprint
    from ..report.page import write_report
    from ..report.sentences import headline
    from .opening import refuse

    case, results = asked.evaluate()
    click.echo(headline(case, results))
    click.echo("Writing the report, a few seconds ...")
    changed = fingerprint(case) if asked.changes or asked.use else ""
    name = "_".join(part for part in (case.name, asked.scenario, changed) if part)
    try:
        path = write_report(case, results, out / f"{name}_cost.html", date.today().isoformat())
    except OSError as problem:
        refuse(f"--out: found '{out}', where nothing can be written ({problem.strerror}); allowed: a folder to write into")
    click.echo(f"Report: {path}")


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Begin a case: copy the demo into FOLDER, to be changed table by table."""
    import shutil

    from ..case.demo import demo_folder
    from .opening import refuse

    if folder.exists():
        refuse(f"{folder} is there already; name a folder that is not, nothing was written")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(demo_folder(), folder)
    except OSError as problem:
        refuse(f"{folder} cannot be made ({problem.strerror}); name a folder in a place that can be written to")
    click.echo(f"{folder} now holds a copy of the demo. Put your own figures into its tables, then: costmodel check {folder}")


@main.command()
def dictionary() -> None:
    """What every table may hold: columns, units, ranges, meanings, examples."""
    from ..case.dictionary import as_markdown

    click.echo(as_markdown(), nl=False)
