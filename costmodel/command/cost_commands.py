"""Cost: by step and kind, of ownership, what is bought, by size of the plant, of choices; and what it depends on."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from .answering import View
from .opening import Asked, refuse, refusing
from .subjects import SubjectCommand, option

if TYPE_CHECKING:
    from ..studies.factory.choices import Outcome

cost = SubjectCommand("cost", stage="ledger")


@cost.answer()
def answer(asked: Asked) -> View:
    """Cost of a module on every basis; by subject where it comes from and what it depends on."""
    from ..present import cost_report

    case, results = asked.case, asked.results
    said = [
        cost_report.headline(case, results),
        cost_report.dearest(case, results),
        cost_report.not_in_it(case),
        cost_report.losses(case, results),
        cost_report.idle(case, results),
    ]
    return View(case.title, said, [cost_report.basis_table(case, results)])


@cost.subject("steps")
def steps(asked: Asked) -> View:
    """Cost of a stabilised watt by step and kind."""
    from ..present import cost_report

    case, results = asked.case, asked.results
    said = [cost_report.headline(case, results), cost_report.dearest(case, results), cost_report.losses(case, results)]
    return View(case.title, said, [cost_report.matrix_table(case, results, "stabilised_watt")])


@cost.subject("spending")
def spending(asked: Asked) -> View:
    """What the money is spent on in a year."""
    from ..present import cost_report

    case, results = asked.case, asked.results
    return View(case.title, [cost_report.spent_most_on(case, results)], [cost_report.group_table(case, results)])


@cost.subject("people")
def people(asked: Asked) -> View:
    """People by role, and what they cost."""
    from ..present import cost_report

    case, results = asked.case, asked.results
    return View(case.title, [cost_report.payroll(case, results)], [cost_report.people_table(case, results)])


@cost.subject("ownership")
def ownership(asked: Asked) -> View:
    """Cost of ownership of each tool (SEMI E35), and what unused capacity costs."""
    from ..present import cost_report

    case, results = asked.case, asked.results
    said = [cost_report.owned(case, results), cost_report.idle(case, results)]
    return View(case.title, said, [cost_report.ownership_table(case, results)])


@cost.subject("buying")
def buying(asked: Asked) -> View:
    """What is bought: used and paid for, discount, landed price, stock; metals at their quote."""
    from ..present import buying_report

    case, results = asked.case, asked.results
    tables = [buying_report.landed_table(case, results), buying_report.metals_table(case, results)]
    return View(case.title, [buying_report.stock(case, results)], tables)


@cost.subject("depreciation")
def depreciation(asked: Asked) -> View:
    """How equipment is written off year by year, in the books and for tax."""
    from ..present import buying_report
    from ..studies.factory.depreciation_years import years

    found = years(asked.case)
    return View(
        asked.case.title, [buying_report.written_off(asked.case, found)], [buying_report.written_off_table(asked.case, found)]
    )


_FIGURE = option(
    "--figure",
    metavar="ADDRESS",
    help="The figure, by its address as `line --json` and `cost --json` show it. Of evidence, the cost per stabilised watt without "
    "it. With --group of choices: the probability that it is higher with one choice than with another, on the same draws.",
)


@cost.subject("evidence", _FIGURE)
def evidence(asked: Asked, figure: str | None) -> View:
    """What the cost, or another figure, depends on, and how well that is known."""
    from ..present import inputs_report
    from ..studies.sensitivities import COST_OF_A_WATT, elasticities

    case = asked.case
    figure = figure or COST_OF_A_WATT
    try:
        found = elasticities(case, figure)
    except ValueError as problem:
        refuse(f"--figure: found {problem}")
    what = "the cost of a watt" if figure == COST_OF_A_WATT else figure
    said = [inputs_report.evidence(case), inputs_report.elasticity(found, what)]
    return View(case.title, said, [inputs_report.evidence_table(case, found, what)])


@cost.subject(
    "size",
    option("--low", default="0.2", metavar="SIZE", help="Smallest size: a multiple of the case's output, or as '5 MW' a year."),
    option("--high", default="3", metavar="SIZE", help="Largest size, stated alike."),
    option("--at", multiple=True, metavar="SIZE", help="A size to show by itself, as '25 MW'; may be given again."),
)
def size(asked: Asked, low: str, high: str, at: tuple[str, ...]) -> View:
    """Cost against the size of the plant, and the sizes at which tools are full."""
    from ..present import choice_report
    from ..studies.factory.plant_size import parse_size, sizes

    case = asked.case
    with refusing():
        least, most = parse_size(case, low, "--low"), parse_size(case, high, "--high")
        marks = [parse_size(case, written, "--at") for written in at]
    if not least < most:
        refuse(f"--low and --high: found {low} and {high}; allowed: low below high")
    found = sizes(case, min([least, *marks]), max([most, *marks]), marks=marks)
    added = [choice_report.added_units_table(case, found)] if case.growth_steps else []
    stated = [choice_report.stated_sizes_table(case, found, marks)] if marks else []
    return View(case.title, [choice_report.size(case, found, marks)], [*stated, choice_report.size_table(case, found), *added])


@cost.subject(
    "choices",
    option("--group", help="The group of alternatives to compare; without it, each of them."),
    option(
        "--break-even",
        "address",
        metavar="ADDRESS",
        help="Find the value of an input at which two choices of --group cost the same.",
    ),
    _FIGURE,
    option("--draws", default=1_000, type=click.IntRange(0, 10_000_000), help="With --group: draws for the probabilities."),
    option("--seed", default=0, type=click.IntRange(0), help="The seed of the draws, a whole number from 0."),
)
def choices(asked: Asked, group: str | None, address: str | None, figure: str | None, draws: int, seed: int) -> View | list[View]:
    """Structural choices side by side, as silver or aluminium; the price at which two cost the same, the probability of each."""
    from ..case.addresses import BadAddress
    from ..case.alternatives import groups
    from ..case.read_once import files_read_once

    known = groups(asked.folder)
    for name, given in (("--break-even", address), ("--figure", figure)):
        if given and not group:
            refuse(f"{name}: found no --group; allowed: with --group, one of {', '.join(known)}")
    if figure and not draws:
        refuse("--figure: found 0 draws; allowed: --draws from 1")
    try:
        with refusing(), files_read_once():
            if group:
                return _choices_of(asked, group, address, figure, draws, seed)
            return _all_choices(asked, known) if known else _none_known(asked)
    except (BadAddress, ValueError) as problem:
        refuse(f"--break-even: {problem}")


def _none_known(asked: Asked) -> View:
    """What is said of a case without alternatives."""
    from ..present import choice_report

    return View(asked.case.title, [choice_report.choices_in_use(asked.case)])


def _all_choices(asked: Asked, names: Iterable[str]) -> list[View]:
    """The choices of all groups in one table, then group by group."""
    from ..present import choice_report
    from ..studies.factory.choices import side_by_side

    case = asked.case
    beside = {name: side_by_side(asked.folder, name, asked.scenario, asked.changes, asked.use, asked.terms) for name in names}
    found = {name: outcomes for name, (outcomes, _) in beside.items() if outcomes}
    left_out = [line for _, left in beside.values() for line in choice_report.left_out_words(left)]
    said = [choice_report.saving(found, case.use), choice_report.choices_in_use(case), *left_out]
    first = View(case.title, said, [choice_report.all_choices_table(found, case.use)])
    return [first, *(_choices_of(asked, name, beside=beside[name]) for name in names)]


def _choices_of(
    asked: Asked,
    group: str,
    address: str | None = None,
    figure: str | None = None,
    draws: int = 0,
    seed: int = 0,
    beside: tuple[list[Outcome], dict[str, str]] | None = None,
) -> View:
    """The choices of one group, where two of them cost the same, and how likely each costs the least or is higher."""
    from ..present import choice_report
    from ..studies.factory.choices import break_even, differences, probabilities_higher, side_by_side
    from ..studies.many import wanted_figures

    case = asked.case
    found, left_out = beside or side_by_side(asked.folder, group, asked.scenario, asked.changes, asked.use, asked.terms)
    why = differences(found, case.use[group])
    crossings = [(a, b, break_even(a.case, b.case, address)) for a, b in itertools.combinations(found, 2)] if address else []
    higher = probabilities_higher(found, figure, draws, seed) if figure else []
    wanted = wanted_figures(case, [figure])[figure] if figure else None
    said = [
        *(choice_report.likely_higher(higher, wanted, case.use[group]) if wanted else []),
        *(choice_report.break_even(case, (a.title, b.title), crossing) for a, b, crossing in crossings),
        choice_report.cheapest(found, group),
        *choice_report.likely_cheapest(found, case.use[group], draws, seed),
        *choice_report.left_out_words(left_out),
        *(choice_report.equipment_words(why) if why else []),
    ]
    tables = [choice_report.higher_table(higher, wanted)] if wanted and higher else []
    tables.append(choice_report.choices_table(found, group))
    if why:
        tables.append(choice_report.differences_table(why, group, case.currency))
    return View(case.title, said, tables)
