"""Commands for folders of tables: check one, compare two, save changes, begin anew; and what tables may hold."""

from __future__ import annotations

from pathlib import Path

import click

from .opening import Asked, for_a_case, refuse


def add_folder_commands(main: click.Group) -> None:
    """Give the program the commands of this file."""
    for command in (check, compare, save, new, dictionary):
        main.add_command(command)


@click.command()
@for_a_case
def check(asked: Asked) -> None:
    """Read a case, say what is wrong with it, or what it holds."""
    from datetime import date

    from ..case.alternatives import groups
    from ..case.fingerprint import fingerprint
    from ..case.summary import oddities, old_rows, without_range
    from ..case.whole_case import tables
    from ..model.evaluate import evaluate
    from ..model.scenarios import read_scenario, scenario_names
    from ..present import choice_report, inputs_report
    from ..studies.factory.market_prices import large_plans, odd_prices
    from ..studies.factory.odd_figures import odd_figures
    from .printing import show_lines

    case = asked.check()
    counts = [f"{len(getattr(case, name))} {name.replace('_', ' ')}" for name, t in tables().items() if not t.section]
    old, bare = old_rows(case, date.today()), without_range(case)
    results = evaluate(case)
    odd = [*oddities(case), *odd_figures(case, results), *large_plans(case, results), *odd_prices(case, results)]
    plants = [f"{name} ({read_scenario(asked.folder, name).plant})" for name in scenario_names(asked.folder)]
    kinds = [f"{group} ({', '.join(names)})" for group, names in groups(asked.folder).items()]
    show_lines(
        [
            f"{case.title}: no faults found.",
            ", ".join(counts) + ".",
            inputs_report.evidence(case),
            inputs_report.still_invented(case),
            f"Scenarios: {', '.join(plants) or 'none'}.",
            f"Alternatives: {', '.join(kinds) or 'none'}.",
            choice_report.choices_in_use(case),
            f"Rows with figures older than a year: {len(old)}{': ' + ', '.join(old[:8]) if old else ''}.",
            f"Numbers without a range in ranges.csv: {len(bare)}.",
            f"Looks odd: {'; '.join(odd) or 'nothing'}.",
            f"Fingerprint: {fingerprint(case)}",
        ]
    )


@click.command()
@for_a_case
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--from-scenario", metavar="NAME", help="Apply a scenario of CASE to the case before.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def compare(asked: Asked, other: Path | None, from_scenario: str | None, as_json: bool) -> None:
    """What changed between two cases, and what moved the cost.

    CASE is the case before; after is OTHER, or CASE itself. --scenario, --set and --use change the case after.
    """
    import json

    from ..case.fingerprint import fingerprint
    from ..present import comparison_report
    from ..studies.factory.comparison import compare as side_by_side
    from .printing import show_lines, show_table

    if other is None and not (asked.scenario or asked.changes or asked.use or from_scenario):
        refuse("compare: found one case only; allowed: another case folder, or a change by --scenario, --set or --use")
    before = Asked(asked.folder, from_scenario, {}, {}).open()
    after = Asked(other or asked.folder, asked.scenario, asked.changes, asked.use).open()
    try:
        found = side_by_side(before, after)
    except ValueError as problem:
        refuse(f"compare: {problem}")
    if as_json:
        click.echo(json.dumps(comparison_report.as_data(found), indent=1))
        return
    sides = [f"{when}: {case.title} ({case.name}, {fingerprint(case)})" for when, case in (("Before", before), ("After", after))]
    show_lines([comparison_report.compared(found), *sides, *filter(None, [comparison_report.choices_that_differ(found)])])
    if not found.found.none:
        show_table(comparison_report.inputs_table(found))
    if found.found.inputs or found.found.added or found.found.dropped or found.found.evidence:
        show_table(comparison_report.origins_table(found))
    show_table(comparison_report.results_table(found))
    if not found.found.none:
        show_lines(["What moved together is shared out between the inputs by `costmodel waterfall`."])


@click.command()
@for_a_case
@click.argument("name")
@click.option("--title", required=True, help="What the scenario is called.")
@click.option("--story", required=True, help="What it supposes, in a sentence or two.")
@click.option(
    "--plant",
    type=click.Choice(["designed", "as_bought"]),
    help="designed: tools are sized for it; as_bought: an event, tools stay as the case has them.  "
    "[default: that of --scenario, else designed]",
)
def save(asked: Asked, name: str, title: str, story: str, plant: str | None) -> None:
    """Keep changes under a name, as a scenario beside the tables.

    Writes scenarios/NAME.yaml of CASE with all that --set and --use change, on top of --scenario where that is given.
    """
    from ..core.faults import InputFaults
    from ..model.evaluate import evaluate
    from ..model.scenario_saving import Words, save_scenario
    from ..model.scenarios import PLANTS, open_case, read_scenario
    from ..present import cost_report

    try:
        path = save_scenario(asked.folder, Words(name, title, story), asked.changes, asked.use, asked.scenario, plant=plant)
    except InputFaults as faults:
        refuse(str(faults))
    case = open_case(asked.folder, name)
    click.echo(f"Saved: {path}")
    kept = read_scenario(asked.folder, name).plant
    click.echo(f"Plant: {kept} ({PLANTS[kept]}){'' if plant else ', as --plant was not given'}.")
    click.echo(cost_report.headline(case, evaluate(case)))
    click.echo(f"Use it with --scenario {name}, as in: costmodel compare {asked.folder} --scenario {name}")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--bare", is_flag=True, help="Begin with a line of one step, made of the examples of the data dictionary.")
def new(folder: Path, bare: bool) -> None:
    """Begin a case: a copy of the demo in FOLDER, and where to start."""
    from ..case.begin import begin_case

    if folder.exists():
        refuse(f"{folder} is there already; name a folder that is not, nothing was written")
    try:
        begin_case(folder, bare)
    except OSError as problem:
        refuse(f"{folder} cannot be made ({problem.strerror}); name a folder in a place that can be written to")
    click.echo(
        f"{folder} now holds {'a line of one step' if bare else 'a copy of the demo'}, all of it invented. Your own figures next:"
    )
    for number, (what, minutes, command) in enumerate(_FIRST_STEPS, start=1):
        click.echo(f"{number}. {what} (about {minutes} minutes); then: costmodel {command} {folder}")
    click.echo(
        "For every row that you make your own, also say kind, source, date and by: `check` counts what is still invented, and "
        "names each mistake with its file, row and column. What a column may hold: costmodel dictionary"
    )


_FIRST_STEPS = (
    ("case.yaml: title, story, currency, the module, the hours, the output", 5, "check"),
    ("steps.csv: the route with times and yields of your pilot line", 10, "line"),
    ("tools.csv, areas.csv: what does the steps, its price, load and downtime", 10, "bottlenecks"),
    ("layers.csv, gases.csv, coaters.csv, coatings.csv, phases.csv: the films and the batch, if you have any", 10, "cycle"),
    ("materials.csv, prices.csv, money.csv: what each step uses up, and what that costs", 10, "cost"),
    ("crew.csv, utilities.csv, tool_utilities.csv: people, tariffs, what tools draw", 10, "cost"),
    ("ranges.csv: what is uncertain; these become the sliders", 5, "evidence"),
)


@click.command()
def dictionary() -> None:
    """What every table may hold: columns, units, ranges, meanings, examples."""
    from ..case.dictionary import as_markdown

    click.echo(as_markdown(), nl=False)
