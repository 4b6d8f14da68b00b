"""Commands for folders of tables: check one, save changes, begin anew; and what tables may hold."""

from __future__ import annotations

from pathlib import Path

import click

from ..documents.guide import PAGES, as_markdown
from .answering import View, answers, records
from .opening import Asked, for_a_case, refuse
from .screen import show_line


@click.command()
@for_a_case
@answers
def check(asked: Asked) -> View:
    """What is wrong with the tables of a case, or what they hold."""
    from datetime import date

    from ..case.alternatives import groups
    from ..case.fingerprint import fingerprint
    from ..case.read_once import files_read_once
    from ..case.summary import oddities, old_rows, without_range
    from ..case.whole_case import tables
    from ..model.checking import numbers_without_unit
    from ..model.evaluate import evaluate
    from ..model.scenarios import read_scenario, scenario_names
    from ..present import choice_report, inputs_report
    from ..present.table import Table
    from ..studies.factory.odd_causes import all_odd_figures, following, with_number

    with files_read_once():
        case = asked.check()
        unmarked = list(numbers_without_unit(asked.folder, case))
    counts = [f"{len(getattr(case, name))} {name.replace('_', ' ')}" for name, t in tables().items() if not t.section]
    old, bare = old_rows(case, date.today()), without_range(case)
    inputs, figures = list(oddities(case)), list(all_odd_figures(case, evaluate(case)))
    follow = following(case, inputs, figures)
    gone = [each for lines in follow.values() for each in lines]
    odd = [with_number(each, follow) for each in (*inputs, *figures) if each not in gone]
    odd += unmarked
    plants = [f"{name} ({read_scenario(asked.folder, name).plant})" for name in scenario_names(asked.folder)]
    kinds = [f"{group} ({', '.join(names)})" for group, names in groups(asked.folder).items()]
    said = [
        f"Looks odd: {len(odd) or 'nothing'}.",
        inputs_report.evidence(case),
        f"Numbers without a range in ranges.csv: {len(bare)}.",
        f"Rows with figures older than a year: {len(old)}{': ' + ', '.join(old[:8]) if old else ''}.",
        f"Scenarios: {', '.join(plants) or 'none'}.",
        f"Alternatives: {', '.join(kinds) or 'none'}.",
        choice_report.choices_in_use(case),
        ", ".join(counts) + ".",
        inputs_report.still_invented(case),
        f"Fingerprint: {fingerprint(case)}",
    ]
    listed = {"odd": odd, **{f"odd, follows from {cause}": lines for cause, lines in follow.items()}}
    listed |= {"without a range": bare, "older than a year": old}
    rows = [{"what": what, "found": each} for what, found in listed.items() for each in found]
    rows += [{"what": f"rows of {name}", "found": str(len(getattr(case, name)))} for name, t in tables().items() if not t.section]
    program = records(rows, {"fingerprint": fingerprint(case), "use": dict(case.use)})
    table = Table("What looks odd", ["address", "allowed, but seldom meant"], [each.split(" ", 1) for each in odd], texts=(0, 1))
    return View(f"{case.title}: no faults found.", said, [table] if odd else [], program=program)


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

    if asked.round_name:
        refuse(f"--round: found '{asked.round_name}'; allowed: --set, --use and --scenario, as a scenario holds no round")
    try:
        path = save_scenario(asked.folder, Words(name, title, story), asked.changes, asked.use, asked.scenario, plant=plant)
    except InputFaults as faults:
        refuse(str(faults))
    case = open_case(asked.folder, name)
    show_line(f"Saved: {path}")
    kept = read_scenario(asked.folder, name).plant
    show_line(f"Plant: {kept} ({PLANTS[kept]}){'' if plant else ', as --plant was not given'}.")
    show_line(cost_report.headline(case, evaluate(case)))
    show_line(f"Use it with --scenario {name}, as in: costmodel compare {asked.folder} --scenario {name}")


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
        refuse(f"{folder} cannot be made ({problem.strerror}); name a place that can be written to, outside of any case")
    show_line(
        f"{folder} now holds {'a line of one step' if bare else 'a copy of the demo'}, all of it invented. Your own figures next:"
    )
    for number, (what, minutes, command) in enumerate(_FIRST_STEPS, start=1):
        show_line(f"{number}. {what} (about {minutes} minutes); then: costmodel {command.format(folder)}")
    if not bare:
        show_line("The copy holds more of the demo, and all of it counts until it is yours; what you do not need you may delete:")
        for what, command in _MORE:
            show_line(f"- {what}; then: costmodel {command.format(folder)}")
    show_line(
        "For every row that you make your own, also say kind, source, date and by: `check` counts what is still invented, and "
        "names each mistake with its file, row and column. What a column may hold: costmodel guide dictionary"
    )


class _Guide(click.Command):
    """A command that lists its pages in its help."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The pages, each with what it answers."""
        with formatter.section("Pages"):
            formatter.write_dl(list(PAGES.items()))


@click.command(cls=_Guide)
@click.argument("page", required=False)
def guide(page: str | None) -> None:
    """How to begin, what tables hold, what terms mean, how each figure is computed."""
    from ..core.faults import nearest

    if page is None:
        for name, says in PAGES.items():
            show_line(f"costmodel guide {name:<12} {says}")
    elif page not in PAGES:
        refuse(f"guide: found '{page}'; allowed: {', '.join(PAGES)}{nearest(page, PAGES)}")
    else:
        click.echo(as_markdown(page), nl=False)


_MORE = (
    ("markets.csv, coverings.csv: who could buy, and what else would do", "market {}"),
    ("power_classes.csv, power_spread.csv, warranty.csv: by which power modules are sold, and what is promised of them",
     "line {} classes"),
    ("plan.yaml, sales.csv, capital.csv, ramp.csv: the plant as an investment", "plan {}"),
    ("rounds/*.yaml: versions of the demo's deal, the newest of which counts instead of deal.yaml; delete them to begin",
     "deal {} rounds"),
    ("deal.yaml, fees.csv, guarantees.csv, performance_guarantees.csv, the price list: terms and promises", "deal {}"),
    ("transfer_tasks.csv and the tables beside it, commitments.csv: the work of the transfer", "transfer {}"),
)  # fmt: skip
_FIRST_STEPS = (
    ("case.yaml: title, story, currency, the module, the hours, the output", 5, "check {}"),
    ("steps.csv: the route with times and yields of your pilot line", 10, "line {}"),
    ("tools.csv, areas.csv: what does the steps, its price, load and downtime", 10, "line {} bottlenecks"),
    ("layers.csv, gases.csv, coaters.csv, coatings.csv, phases.csv: the films and the batch, if you have any", 10, "line {} cycle"),
    ("materials.csv, prices.csv, money.csv: what each step uses up, and what that costs", 10, "cost {}"),
    ("crew.csv, utilities.csv, tool_utilities.csv: people, tariffs, what tools draw", 10, "cost {}"),
    ("ranges.csv: what is uncertain; these become the sliders", 5, "cost {} evidence"),
)
