"""Cost: by step and kind, of ownership, what is bought, by size of the plant, of choices; and what it depends on."""

from __future__ import annotations

import itertools

import click

from .answering import View
from .opening import Asked, refuse
from .subjects import SubjectCommand, option

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
    return View(case.title, [cost_report.dearest(case, results)], [cost_report.matrix_table(case, results, "stabilised_watt")])


@cost.subject("spending")
def spending(asked: Asked) -> View:
    """What the money is spent on in a year."""
    from ..present import cost_report

    return View(asked.case.title, [], [cost_report.group_table(asked.case, asked.results)])


@cost.subject("people")
def people(asked: Asked) -> View:
    """People by role, and what they cost."""
    from ..present import cost_report

    return View(asked.case.title, [], [cost_report.people_table(asked.case, asked.results)])


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


@cost.subject(
    "evidence",
    option(
        "--figure",
        default="ledger.total.cost_per_stabilised_watt",
        metavar="ADDRESS",
        help="The figure, by its address as `line --json` and `cost --json` show it.",
    ),
)
def evidence(asked: Asked, figure: str) -> View:
    """What the cost, or another figure, depends on, and how well that is known."""
    from ..present import inputs_report
    from ..studies.sensitivities import COST_OF_A_WATT, elasticities

    case = asked.case
    try:
        found = elasticities(case, figure)
    except ValueError as problem:
        refuse(f"--figure: found {problem}")
    what = "the cost of a watt" if figure == COST_OF_A_WATT else figure
    said = [inputs_report.evidence(case), inputs_report.elasticity(found, what)]
    return View(case.title, said, [inputs_report.evidence_table(case, found, what)])


_RATIO = click.FloatRange(0, min_open=True)


@cost.subject(
    "size",
    option("--low", default=0.2, type=_RATIO, help="Smallest size, over that of the case."),
    option("--high", default=3.0, type=_RATIO, help="Largest size, over that of the case."),
)
def size(asked: Asked, low: float, high: float) -> View:
    """Cost against the size of the plant, and the sizes at which tools are full."""
    from ..present import choice_report
    from ..studies.factory.plant_size import sizes

    if not low < high:
        refuse(f"--low and --high: found {low:.4g} and {high:.4g}; allowed: low below high")
    case = asked.case
    found = sizes(case, low, high)
    added = [choice_report.added_units_table(case, found)] if case.growth_steps else []
    return View(case.title, [choice_report.size(case, found)], [choice_report.size_table(case, found), *added])


@cost.subject(
    "choices",
    option("--group", help="The group of alternatives to compare; without it, each of them."),
    option(
        "--break-even",
        "address",
        metavar="ADDRESS",
        help="Find the value of an input at which two choices of --group cost the same.",
    ),
    option("--draws", default=1_000, type=click.IntRange(0, 10_000_000), help="With --group: draws for the probabilities."),
    option("--seed", default=0, type=click.IntRange(0), help="The seed of the draws, a whole number from 0."),
)
def choices(asked: Asked, group: str | None, address: str | None, draws: int, seed: int) -> list[View]:
    """Structural choices side by side, as silver or aluminium; the price at which two cost the same, the probability of each."""
    from ..case.addresses import BadAddress
    from ..case.alternatives import groups
    from ..case.read_once import files_read_once
    from ..core.faults import InputFaults
    from ..present import choice_report

    case = asked.case
    if address and not group:
        refuse("--break-even: found no --group; allowed: with --group, one of " + ", ".join(groups(asked.folder)))
    try:
        several = [] if group else groups(asked.folder)
        with files_read_once():
            views = [_choices_of(asked, group, address, draws, seed)] if group else [_choices_of(asked, name) for name in several]
    except InputFaults as faults:
        refuse(str(faults))
    except (BadAddress, ValueError) as problem:
        refuse(f"--break-even: {problem}")
    return [*views, View(case.title, [choice_report.choices_in_use(case)])]


def _choices_of(asked: Asked, group: str, address: str | None = None, draws: int = 0, seed: int = 0) -> View:
    """The choices of one group, where two of them cost the same, and how likely each costs the least."""
    from ..present import choice_report
    from ..studies.factory.choices import break_even, differences, side_by_side

    case = asked.case
    found, left_out = side_by_side(asked.folder, group, asked.scenario, asked.changes, asked.use)
    why = differences(found, case.use[group])
    crossings = [(a, b, break_even(a.case, b.case, address)) for a, b in itertools.combinations(found, 2)] if address else []
    said = [
        *(choice_report.break_even(case, (a.title, b.title), crossing) for a, b, crossing in crossings),
        choice_report.cheapest(found, group),
        *choice_report.likely_cheapest(found, case.use[group], draws, seed),
        *choice_report.left_out_words(left_out),
        *(choice_report.equipment_words(why) if why else []),
    ]
    tables = [choice_report.choices_table(found, group)]
    if why:
        tables.append(choice_report.differences_table(why, group, case.currency))
    return View(case.title, said, tables)
