"""Views of the ledger: sums over groups of lines, each total in one place, and what losses cost."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, sum_of
from ..line.line_figures import Line, Output
from .ledger_figures import (
    ALL_LOST,
    CATEGORIES,
    NO_LOSS,
    PLANT,
    SHARE_LOST,
    YIELD_LOSS,
    Checks,
    CoatingBalance,
    Cost,
    FilmBalance,
    FromPlateToModule,
    LedgerLine,
    StepValue,
)

Lines = Mapping[str, LedgerLine]
Matrix = dict[str, dict[str, Value]]


def on_every_basis(cost: Value, output: Output) -> Cost:
    """A cost of the year per plate started, good module, square metre, initial and stabilised watt."""
    return Cost(
        cost=cost,
        cost_per_plate_started=cost / output.plates_started,
        cost_per_module=cost / output.good_modules,
        cost_per_m2=cost / output.good_area,
        cost_per_initial_watt=cost / output.initial_watts,
        cost_per_stabilised_watt=cost / output.stabilised_watts,
    )


def grouped(
    lines: Lines,
    group: Callable[[LedgerLine], str],
    names: Iterable[str],
    amount: Callable[[LedgerLine], Value] = lambda line: line.cost,
) -> dict[str, Value]:
    """Cost of the year, or another amount, of each named group of lines."""
    parts: dict[str, list[Value]] = {name: [] for name in names}
    for line in lines.values():
        parts[group(line)].append(amount(line))
    return {name: sum_of(amounts) for name, amounts in parts.items()}


def by_step_and_category(case: Case, lines: Lines, amount: Callable[[LedgerLine], Value] = lambda line: line.cost) -> Matrix:
    """Cost of the year, or another amount, of each step in each category; costs of no step stand under `plant`."""
    steps = (*case.steps, PLANT)
    keys = [f"{step} {category}" for step in steps for category in CATEGORIES]
    amounts = grouped(lines, lambda line: f"{line.step} {line.category}", keys, amount)
    return {step: {category: amounts[f"{step} {category}"] for category in CATEGORIES} for step in steps}


def matrix_on_basis(spent: Matrix, lost: Matrix, basis: Value) -> Matrix:
    """Cost by step and kind on a basis: each category less what was lost, and all that was lost as a kind of its own."""
    return {
        step: {category: (spent[step][category] - lost[step][category]) / basis for category in CATEGORIES}
        | {YIELD_LOSS: sum_of(list(lost[step].values())) / basis}
        for step in spent
    }


def route_values(case: Case, line: Line, lines: Lines) -> dict[str, StepValue]:
    """Cost added along the route: each step's cost over the plates entering it, and what its lost plates had cost."""
    step_costs = grouped({name: x for name, x in lines.items() if x.loss == SHARE_LOST}, lambda x: x.step, case.steps)
    scrap_costs = grouped({name: x for name, x in lines.items() if x.loss == ALL_LOST}, lambda x: x.step, case.steps)
    so_far: Value = 0.0
    values = {}
    for step in case.steps:
        added = safe_divide(step_costs[step], line.steps[step].starts)
        so_far = so_far + added
        values[step] = StepValue(
            cost_added=added,
            cost_so_far=so_far,
            scrap_revenue=-scrap_costs[step],
            lost=line.steps[step].lost * so_far + scrap_costs[step],
        )
    return values


def from_plate_to_module(line: Line, lines: Lines, route: Mapping[str, StepValue]) -> FromPlateToModule:
    """Why a good module costs more than a plate that went through all steps."""
    modules = line.output.good_modules
    last = list(route.values())[-1]
    return FromPlateToModule(
        through_all_steps=last.cost_so_far * line.output.good_plates / modules,
        lost_plates=sum_of([value.lost for value in route.values()]) / modules,
        no_step=sum_of([x.cost for x in lines.values() if x.loss == NO_LOSS]) / modules,
    )


def checks(
    line: Line,
    lines: Lines,
    total: Value,
    step_costs: Mapping[str, Value],
    category_costs: Mapping[str, Value],
    route: Mapping[str, StepValue],
    module: FromPlateToModule,
    films: Mapping[str, FilmBalance],
    coatings: Mapping[str, CoatingBalance],
) -> Checks:
    """Differences that must be zero but for rounding."""
    return Checks(
        by_step_less_total=sum_of(list(step_costs.values())) - total,
        by_category_less_total=sum_of(list(category_costs.values())) - total,
        loss_by_step_less_by_line=sum_of([v.lost for v in route.values()]) - sum_of([x.lost for x in lines.values()]),
        silicon_unaccounted=sum_of([f.silicon_fed - f.silicon_in_film - f.silicon_lost for f in films.values()]),
        coating_unaccounted=sum_of([c.bought - c.on_plates - c.recovered - c.lost for c in coatings.values()]),
        plates_unaccounted=line.output.plates_started
        - line.output.good_plates
        - sum_of([flow.lost for flow in line.steps.values()]),
        module_cost_unaccounted=total / line.output.good_modules - module.through_all_steps - module.lost_plates - module.no_step,
    )
