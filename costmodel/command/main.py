"""The command `costmodel`: check a case, show its line, cost and choices, write its report, begin a new case."""

from __future__ import annotations

import itertools
from pathlib import Path

import click

from .. import __version__
from .deals import deal
from .explaining import explain
from .opening import Asked, as_program, for_a_case
from .releases import release
from .reports import report
from .studies import add_studies
from .workbooks import workbook


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
            sentences.still_invented(case),
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
@click.option(
    "--figure",
    default="ledger.total.cost_per_stabilised_watt",
    show_default=True,
    metavar="ADDRESS",
    help="The figure to ask about, by its address as `line --json` and `cost --json` show it.",
)
def evidence(asked: Asked, figure: str) -> None:
    """What the cost, or another figure, leans on, and how well that is known."""
    from ..answers.evidence import COST_OF_A_WATT, leanings
    from ..report import cost_tables, sentences
    from .opening import refuse
    from .printing import show_lines, show_table

    case = asked.open()
    try:
        found = leanings(case, figure)
    except ValueError as problem:
        refuse(f"--figure: found {problem}")
    what = "the cost of a watt" if figure == COST_OF_A_WATT else figure
    show_lines([case.title, sentences.evidence(case), sentences.leaning(case, found, what)])
    show_table(cost_tables.evidence_table(case, found, what))


@main.command()
@for_a_case
def depreciation(asked: Asked) -> None:
    """How equipment is written off year by year, in the books and for tax."""
    from ..answers.written_off import years
    from ..report import cost_tables, sentences
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    found = years(case, results)
    show_lines([case.title, sentences.written_off(case, found)])
    show_table(cost_tables.written_off_table(case, found))


@main.command()
@for_a_case
def buying(asked: Asked) -> None:
    """What is bought: used and paid for, discount, landed price, stock."""
    from ..report import cost_tables, sentences
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title, sentences.stock(case, results)])
    show_table(cost_tables.landed_table(case, results))


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
@as_program
def plan(asked: Asked, style: str) -> None:
    """The plant as an investment: what it earns, the cash it needs, the price it takes; and the licence."""
    from ..answers.least_price import least_price, least_volume
    from ..report import plan_tables, plan_words
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if results.plan is None:
        show_lines([case.title, plan_words.NO_PLAN])
        return
    if style:
        show_figures(results, case.currency, "plan", style)
        return
    show_lines(
        [
            case.title,
            plan_words.verdict(case, results),
            plan_words.cash_needed(case, results),
            plan_words.price_needed(case, results, least_price(case, results)),
            plan_words.volume_needed(case, results, least_volume(case, results)),
            plan_words.bank(case, results),
            plan_words.others(case, results),
        ]
    )
    for make in (plan_tables.worth_table, plan_tables.capital_table, plan_tables.cash_table, plan_tables.others_table):
        show_table(make(case, results))


@main.command()
@for_a_case
@as_program
def market(asked: Asked, style: str) -> None:
    """What buyers could pay in each market, held against a reference module, and the efficiency it takes."""
    from ..report import market_tables, market_words
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "market", style)
        return
    if not case.markets:
        show_lines([case.title, market_words.NO_MARKETS])
        return
    show_lines(
        [
            case.title,
            market_words.where_it_sells(case, results),
            market_words.volume_above_cost(case, results),
            *market_words.market_by_market(case, results),
        ]
    )
    show_table(market_tables.market_table(case, results))
    show_table(market_tables.market_details_table(case, results))


@main.command()
@for_a_case
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--from-scenario", metavar="NAME", help="Apply a scenario of CASE to the case before.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def compare(asked: Asked, other: Path | None, from_scenario: str | None, as_json: bool) -> None:
    """What changed between two cases, and what moved the cost.

    CASE is the case before; after is OTHER, or CASE itself. --scenario, --set and --use change the case after.
    """
    import json

    from ..answers.comparison import compare as side_by_side
    from ..case.fingerprint import fingerprint
    from ..report import comparison_tables, sentences
    from .opening import refuse
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
        click.echo(json.dumps(comparison_tables.as_data(found), indent=1))
        return
    sides = [f"{when}: {case.title} ({case.name}, {fingerprint(case)})" for when, case in (("Before", before), ("After", after))]
    show_lines([sentences.compared(found), *sides, *filter(None, [sentences.choices_that_differ(found)])])
    if not found.found.none:
        show_table(comparison_tables.inputs_table(found))
    if found.found.inputs or found.found.added or found.found.dropped or found.found.evidence:
        show_table(comparison_tables.origins_table(found))
    show_table(comparison_tables.results_table(found))


@main.command()
@for_a_case
@click.argument("name")
@click.option("--title", required=True, help="What the scenario is called.")
@click.option("--story", required=True, help="What it supposes, in a sentence or two.")
def save(asked: Asked, name: str, title: str, story: str) -> None:
    """Keep changes under a name, as a scenario beside the tables.

    Writes scenarios/NAME.yaml of CASE with all that --set and --use change, on top of --scenario where that is given.
    """
    from ..case.scenarios import open_case, save_scenario
    from ..faults import InputFaults
    from ..model import evaluate
    from ..report import sentences
    from .opening import refuse

    try:
        path = save_scenario(asked.folder, name, title, story, asked.changes, asked.use, asked.scenario)
    except InputFaults as faults:
        refuse(str(faults))
    case = open_case(asked.folder, name)
    click.echo(f"Saved: {path}")
    click.echo(sentences.headline(case, evaluate(case)))
    click.echo(f"Use it with --scenario {name}, as in: costmodel compare {asked.folder} --scenario {name}")


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--bare", is_flag=True, help="Begin with a line of one step, made of the examples of the data dictionary.")
def new(folder: Path, bare: bool) -> None:
    """Begin a case: a copy of the demo in FOLDER, and where to start."""
    from ..case.begin import begin_case
    from .opening import refuse

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
    ("layers.csv, gases.csv, coatings.csv, phases.csv: the films and the batch, if you have any", 10, "cycle"),
    ("materials.csv, prices.csv, money.csv: what each step uses up, and what that costs", 10, "cost"),
    ("crew.csv, utilities.csv, tool_utilities.csv: people, tariffs, what tools draw", 10, "cost"),
    ("ranges.csv: what is uncertain; these become the sliders", 5, "evidence"),
)


@main.command()
def dictionary() -> None:
    """What every table may hold: columns, units, ranges, meanings, examples."""
    from ..case.dictionary import as_markdown

    click.echo(as_markdown(), nl=False)


main.add_command(explain)
main.add_command(workbook)
main.add_command(release)
main.add_command(report)
add_studies(main)
main.add_command(deal)
