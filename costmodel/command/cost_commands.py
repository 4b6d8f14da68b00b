"""Commands for cost: by step and kind, of ownership, by size of the plant, of choices; and what it depends on."""

from __future__ import annotations

import itertools

import click

from .opening import Asked, as_program, for_a_case, refuse


def add_cost_commands(main: click.Group) -> None:
    """Give the program the commands of this file."""
    for command in (cost, ownership, size, evidence, depreciation, buying, yield_, choices, soaking):
        main.add_command(command)


@click.command()
@for_a_case
@as_program
def cost(asked: Asked, style: str) -> None:
    """What a module costs, by step and by kind."""
    from ..present import cost_report
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "ledger", style)
        return
    show_lines(
        [
            case.title,
            cost_report.headline(case, results),
            cost_report.dearest(case, results),
            cost_report.losses(case, results),
            cost_report.idle(case, results),
            cost_report.not_in_it(case),
        ]
    )
    show_table(cost_report.basis_table(case, results))
    show_table(cost_report.matrix_table(case, results, "stabilised_watt"))
    show_table(cost_report.group_table(case, results))
    show_table(cost_report.people_table(case, results))


@click.command()
@for_a_case
def ownership(asked: Asked) -> None:
    """Cost of ownership of each tool, by its parts."""
    from ..present import cost_report
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title, cost_report.owned(case, results), cost_report.idle(case, results)])
    show_table(cost_report.ownership_table(case, results))


@click.command()
@for_a_case
@click.option(
    "--low", default=0.2, show_default=True, type=click.FloatRange(0, min_open=True), help="Smallest size, over that of the case."
)
@click.option(
    "--high", default=3.0, show_default=True, type=click.FloatRange(0, min_open=True), help="Largest size, over that of the case."
)
def size(asked: Asked, low: float, high: float) -> None:
    """Cost against the size of the plant, and where tools are full."""
    from ..present import choice_report
    from ..studies.factory.plant_size import sizes
    from .printing import show_lines, show_table

    if not low < high:
        refuse(f"--low and --high: found {low:.4g} and {high:.4g}; allowed: low below high")
    case = asked.open()
    found = sizes(case, low, high)
    show_lines([case.title, choice_report.size(case, found)])
    show_table(choice_report.size_table(case, found))
    if case.growth_steps:
        show_table(choice_report.added_units_table(case, found))


@click.command()
@for_a_case
@click.option(
    "--figure",
    default="ledger.total.cost_per_stabilised_watt",
    show_default=True,
    metavar="ADDRESS",
    help="The figure to ask about, by its address as `line --json` and `cost --json` show it.",
)
def evidence(asked: Asked, figure: str) -> None:
    """What the cost, or another figure, depends on, and how well that is known."""
    from ..present import inputs_report
    from ..studies.sensitivities import COST_OF_A_WATT, elasticities
    from .printing import show_lines, show_table

    case = asked.open()
    try:
        found = elasticities(case, figure)
    except ValueError as problem:
        refuse(f"--figure: found {problem}")
    what = "the cost of a watt" if figure == COST_OF_A_WATT else figure
    show_lines([case.title, inputs_report.evidence(case), inputs_report.elasticity(found, what)])
    show_table(inputs_report.evidence_table(case, found, what))


@click.command()
@for_a_case
def depreciation(asked: Asked) -> None:
    """How equipment is written off year by year, in the books and for tax."""
    from ..present import buying_report
    from ..studies.factory.written_off import years
    from .printing import show_lines, show_table

    case, _ = asked.evaluate()
    found = years(case)
    show_lines([case.title, buying_report.written_off(case, found)])
    show_table(buying_report.written_off_table(case, found))


@click.command()
@for_a_case
def buying(asked: Asked) -> None:
    """What is bought: used and paid for, discount, landed price, stock; metals at their quote."""
    from ..present import buying_report
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title, buying_report.stock(case, results)])
    show_table(buying_report.landed_table(case, results))
    metals = buying_report.metals_table(case, results)
    if metals.rows:
        show_table(metals)


@click.command("yield")
@for_a_case
def yield_(asked: Asked) -> None:
    """What a point of yield is worth, step by step."""
    from ..present import cost_report
    from ..studies.factory.full_use import yield_points
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    found = yield_points(case)
    show_lines([case.title, cost_report.losses(case, results), cost_report.points(case, found)])
    show_table(cost_report.points_table(case, found))
    show_table(cost_report.route_table(case, results))


@click.command()
@for_a_case
@click.option("--group", help="The group of alternatives to compare; without it, each of them.")
@click.option(
    "--break-even", "address", metavar="ADDRESS", help="Find the value of an input at which two choices of --group cost the same."
)
def choices(asked: Asked, group: str | None, address: str | None) -> None:
    """Structural choices side by side, as silver or aluminium."""
    from ..case.addresses import BadAddress
    from ..case.alternatives import groups
    from ..core.faults import InputFaults
    from ..present import choice_report
    from ..studies.factory.choices import break_even, differences, side_by_side
    from .printing import show_lines, show_table

    case = asked.open()
    if address and not group:
        refuse("--break-even: found no --group; allowed: with --group, one of " + ", ".join(groups(asked.folder)))
    show_lines([case.title, choice_report.choices_in_use(case)])
    try:
        for name in [group] if group else groups(asked.folder):
            found, left_out = side_by_side(asked.folder, name, asked.scenario, asked.changes, asked.use)
            why = differences(found, case.use[name])
            show_lines([choice_report.cheapest(found, name), *choice_report.left_out_words(left_out)])
            show_table(choice_report.choices_table(found, name))
            if why:
                show_table(choice_report.differences_table(why, name, case.currency))
                for line in choice_report.equipment_words(why):
                    click.echo(line)
        if address:
            for first, second in itertools.combinations(found, 2):
                crossing = break_even(first.case, second.case, address)
                click.echo(choice_report.break_even(case, (first.title, second.title), crossing))
    except InputFaults as faults:
        refuse(str(faults))
    except (BadAddress, ValueError) as problem:
        refuse(f"--break-even: {problem}")


@click.command()
@for_a_case
def soaking(asked: Asked) -> None:
    """What light soaking measures, costs and risks; then the plans side by side."""
    from ..case.alternatives import groups
    from ..present import choice_report, soaking_report
    from ..studies.factory.averaging import running_means
    from ..studies.factory.choices import outcomes
    from .printing import show_lines, show_table

    case, results = asked.evaluate()
    show_lines([case.title, soaking_report.precision(case, results), soaking_report.days(case, results)])
    if not case.soaking:
        return
    show_table(soaking_report.rating_table(case, results))
    show_table(soaking_report.averages_table(case, {name: running_means(case, name) for name in case.soaking}))
    show_table(soaking_report.days_table(case, results))
    show_table(soaking_report.soaking_cost_table(case, results))
    if "soaking" in groups(asked.folder):
        found = outcomes(asked.folder, "soaking", asked.scenario, asked.changes, asked.use)
        show_lines([soaking_report.plans(found)])
        show_table(soaking_report.plans_table(found))
        show_table(choice_report.choices_table(found, "soaking"))
