"""What differs between two cases, or between the case and its scenarios; what moved a figure, in parts."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .answering import View, answers, records
from .opening import Asked, as_record, for_a_case, refuse, refusing
from .study_options import (
    COST,
    chart_option,
    figure_option,
    figures_option,
    plant,
    resize_option,
    scenario_cases,
    seed_option,
    whole,
)

if TYPE_CHECKING:
    from ..case.whole_case import Case

KEY_FIGURES = (
    COST,
    "ledger.total.cost_per_m2",
    "ledger.total.cost_per_module",
    "ledger.total.cost",
    "line.output.stabilised_watts",
    "line.output.good_modules",
)
PLAN_FIGURES = (
    "plan.project.npv",
    "plan.project.irr",
    "plan.project.recovered",
    "plan.owners.irr",
    "plan.project.low_point",
    "plan.project.payback",
    "plan.minimum_dscr",
    "plan.years_below_minimum_dscr",
)
ONE_CASE = "found one case only; allowed: another case folder, or a change by --scenario, --set, --use or --round"


@dataclass(frozen=True)
class Scenarios:
    """Which figures of all scenarios are compared, and on which plant."""

    all_scenarios: bool
    figures: tuple[str, ...]
    frozen: bool


@click.command()
@for_a_case
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--from-scenario", metavar="NAME", help="Apply a scenario of CASE to the case before.")
@click.option("--all-scenarios", is_flag=True, help="The case and each of its scenarios side by side, in place of two cases.")
@figures_option()
@click.option("--frozen", is_flag=True, help="With --all-scenarios: every scenario hits the plant as bought, designs too.")
@as_record(Scenarios)
@answers
def compare(asked: Asked, other: Path | None, from_scenario: str | None, options: Scenarios) -> View:
    """What changed between two cases, or what scenarios do, side by side.

    CASE is the case before; after is OTHER, or CASE itself. --scenario, --set, --use and --round change the case after.
    It states what moved --figure. Without it, that is the first that moved: the cost of a watt, the value of the plant, or
    where terms differ what each side gains by the deal.

    With --all-scenarios: key figures, or those of --figure, of the case and of each scenario. Each scenario states its plant:
    designed, with tools sized for it, or as bought, where it hits the plant of the case.
    """
    if options.all_scenarios:
        if other or from_scenario:
            refuse("--all-scenarios: found OTHER or --from-scenario beside it; allowed: one case with its scenarios")
        return _scenarios(asked, options)
    if options.frozen:
        refuse("--frozen: found without --all-scenarios; allowed: with it")
    if len(options.figures) > 1:
        refuse("--figure: found several without --all-scenarios; allowed: one, or several with it")
    if other is None and not (asked.scenario or asked.changes or asked.use or asked.round_name or from_scenario):
        refuse(f"compare: {ONE_CASE}")
    return _two_cases(asked, other, from_scenario, next(iter(options.figures), None))


def _two_cases(asked: Asked, other: Path | None, from_scenario: str | None, figure: str | None) -> View:
    """What differs between two cases, and what that moves."""
    from ..case.fingerprint import fingerprint
    from ..present import comparison_records, comparison_report
    from ..studies.factory.comparison import compare as side_by_side

    before = Asked(asked.folder, from_scenario, {}, {}).case
    after = Asked(other or asked.folder, asked.scenario, asked.changes, asked.use, asked.round_name).case
    try:
        with refusing():
            found = side_by_side(before, after, figure)
    except ValueError as problem:
        refuse(f"compare: {problem}")
    sides = [f"{when}: {case.title} ({case.name}, {fingerprint(case)})" for when, case in (("Before", before), ("After", after))]
    choices = [line for line in [comparison_report.choices_that_differ(found)] if line]
    differs = found.found
    tables = [] if differs.none else [comparison_report.inputs_table(found)]
    tables.append(comparison_report.results_table(found))
    if differs.inputs or differs.added or differs.dropped or differs.evidence:
        tables.append(comparison_report.origins_table(found))
    stayed = comparison_report.sources_that_stayed(found, asked.changes)
    said = [*comparison_report.compared(found), *choices, *stayed, *sides]
    shared = [] if differs.none else ["What moved together is shared out between the inputs by `costmodel waterfall`."]
    title = before.title if before.title == after.title else f"{before.title} → {after.title}"
    view = View(title, [*said, *shared], tables)
    return dataclasses.replace(view, program=lambda style: _print_comparison(comparison_records.as_data(found), view, style))


def _print_comparison(data: dict[str, Any], view: View, style: str) -> None:
    """Every value as JSON; as CSV the tables."""
    from .printing import show_json, show_tables

    if style == "csv":
        show_tables(view.title, view.sentences, view.tables, style)
    else:
        show_json(data)


def _scenarios(asked: Asked, options: Scenarios) -> View:
    """Figures of the case and of each of its scenarios side by side."""
    from ..present import study_records, study_report
    from ..studies.many import wanted_figures, with_statuses

    with refusing():
        cases = scenario_cases(asked, True, None, options.frozen)
        planned = next(iter(cases.values())).has_plan
        figures = options.figures or (KEY_FIGURES + PLAN_FIGURES if planned else KEY_FIGURES)
        found = {name: wanted_figures(case, with_statuses(case, figures)) for name, case in cases.items()}
    first = next(iter(found.values()))
    values = {name: {a: float(w.present) for a, w in known.items()} for name, known in found.items()}
    table = study_report.scenarios_table(values, list(first.values()))
    title = next(iter(cases.values())).title
    said = [*study_report.scenarios_said(values, list(first.values())), *study_report.plants(cases)]
    return View(title, said, [table], records(study_records.of_scenarios(found)))


@dataclass(frozen=True)
class Parts:
    """Which figure is taken apart, and how."""

    figure: str
    by: str
    orders: int
    seed: int
    resize: bool
    chart: Path | None


@click.command()
@for_a_case
@click.argument("other", required=False, type=click.Path(path_type=Path))
@click.option("--from-scenario", metavar="NAME", help="Apply a scenario of CASE to the case before.")
@figure_option
@click.option("--by", type=click.Choice(["input", "row", "table"]), default="row", show_default=True, help="What is one change.")
@click.option("--orders", default=512, show_default=True, type=click.IntRange(2), help="Orders to sample beyond ten changes.")
@seed_option
@resize_option
@chart_option
@as_record(Parts)
@answers
def waterfall(asked: Asked, other: Path | None, from_scenario: str | None, options: Parts) -> View:
    """What moved a figure between two cases, in parts that add up.

    CASE is the case before; after is OTHER, or CASE itself. --scenario, --set and --use change the case after. Each part is
    an average over the orders in which the changes could have come (Shapley values).

    Changes by --set meet the plant as bought for the case before. A scenario that is designed, --use and OTHER have a plant of
    their own, sized for each order of changes.
    """
    from ..present import study_charts, study_records, study_report
    from ..present.inputs_report import input_name
    from ..studies.many import wanted_figures
    from ..studies.waterfall import waterfall as parts_of
    from .printing import save_chart

    if other is None and not (asked.scenario or asked.changes or asked.use or asked.round_name or from_scenario):
        refuse(f"waterfall: {ONE_CASE}")
    before, after = _both(asked, other, from_scenario, options.resize)
    with refusing():
        found = parts_of(before, after, options.figure, options.by, options.orders, whole(options.seed))
        wanted = wanted_figures(before, [options.figure])[options.figure]
        moved = study_report.moved(found, wanted)
        title = f"What moved it, from before to after: {study_report.figure_label(wanted)}"
        single = {player: addresses[0] for player, addresses in found.inputs.items() if len(addresses) == 1}
        names = {player: input_name(after, address) for player, address in single.items()}
        save_chart(options.chart, after, title, lambda: (study_charts.waterfall_bars(found, names_of=names), [moved]))
    sampled = [] if found.exact else [f"{2 * options.orders:,} orders, seed {options.seed}."]
    rows, about = study_records.of_waterfall(found)
    return View(
        f"{before.title} → {study_report.titled(after)}",
        [moved, *sampled, study_report.plant(after, [])],
        [study_report.waterfall_table(found)] if found.parts else [],
        records(rows, about | {"seed": options.seed, "exact": found.exact}),
    )


def _both(asked: Asked, other: Path | None, from_scenario: str | None, resize: bool) -> tuple[Case, Case]:
    """The case before and the case after of a waterfall, on one plant as bought where only numbers move."""
    from ..model.as_bought import as_bought, on_one_plant
    from ..model.scenarios import AS_BOUGHT, open_case, text_changes

    before = Asked(asked.folder, from_scenario, {}, {}).case
    after = Asked(other or asked.folder, asked.scenario, asked.changes, asked.use, asked.round_name).case
    if resize:
        return plant(before, True), plant(after, True)
    if other or asked.use or asked.scenario or asked.round_name or from_scenario or text_changes(before, asked.changes, "--set"):
        return on_one_plant(before, after)
    with refusing():
        return as_bought(before), open_case(asked.folder, None, asked.changes, plant=AS_BOUGHT)
