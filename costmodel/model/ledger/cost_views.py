"""Views of the ledger: sums over groups of lines, each total in one place, and what losses cost."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

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
    """A cost of the year per plate started, good module, square metre, initial and stabilised watt.

        cost_per_plate_started = cost / output.plates_started
        cost_per_module = cost / output.good_modules
        cost_per_m2 = cost / output.good_area
        cost_per_initial_watt = cost / output.initial_watts
        cost_per_stabilised_watt = cost / output.stabilised_watts

    Takes: cost [money].
    Source: common practice.

    >>> from types import SimpleNamespace as Made
    >>> made = Made(plates_started=8.0, good_modules=4.0, good_area=2.0, initial_watts=20.0, stabilised_watts=16.0)
    >>> found = on_every_basis(16.0, made)
    >>> found.cost_per_plate_started, found.cost_per_module, found.cost_per_m2
    (2.0, 4.0, 8.0)
    >>> found.cost_per_initial_watt, found.cost_per_stabilised_watt
    (0.8, 1.0)
    """
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
    """Cost of the year, or another amount, of each named group of lines.

        grouped = {name: sum_of([amount(each) for each in lines.values() if group(each) == name]) for name in names}    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> lines = {"a": Some(step="cut", cost=1.0), "b": Some(step="cut", cost=2.0), "c": Some(step="pack", cost=4.0)}
    >>> grouped(lines, lambda line: line.step, ("cut", "pack"))
    {'cut': 3.0, 'pack': 4.0}
    """
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
    """Cost by step and kind on a basis: each category less what was lost, and all that was lost as a kind of its own.

        left = {step: {category: (spent[step][category] - lost[step][category]) / basis for category in CATEGORIES} for step in
            spent}    [any]
        matrix = {step: left[step] | {YIELD_LOSS: sum_of(list(lost[step].values())) / basis} for step in spent}    [any]

    Takes: spent [money], lost [money], basis [any].
    Source: common practice.

    >>> spent, lost = dict.fromkeys(CATEGORIES, 3.0), dict.fromkeys(CATEGORIES, 1.0)
    >>> found = matrix_on_basis({"cut": spent}, {"cut": lost}, 2.0)["cut"]
    >>> found["labour"], found["yield_loss"] == len(CATEGORIES) / 2
    (1.0, True)
    """
    return {
        step: {category: (spent[step][category] - lost[step][category]) / basis for category in CATEGORIES}
        | {YIELD_LOSS: sum_of(list(lost[step].values())) / basis}
        for step in spent
    }


def route_values(case: Case, line: Line, lines: Lines) -> dict[str, StepValue]:
    """Cost added along the route: each step's cost over the plates entering it, and what its lost plates had cost.

        spent = {step: sum_of([x.cost for x in lines.values() if x.loss == SHARE_LOST and x.step == step]) for step in
            case.steps}    [money]
        earned = {step: -sum_of([x.cost for x in lines.values() if x.loss == ALL_LOST and x.step == step]) for step in
            case.steps}    [money]
        cost_added = [safe_divide(spent[step], line.steps[step].starts) for step in case.steps]
        cost_so_far = [sum_of(cost_added[: k + 1]) for k in range(len(cost_added))]
        scrap_revenue = [earned[step] for step in case.steps]
        lost = [line.steps[step].lost * so_far - earned[step] for step, so_far in zip(case.steps, cost_so_far)]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = list(evaluate(demo_case()).ledger.route.values())
    >>> found[1].cost_so_far == found[0].cost_added + found[1].cost_added
    True
    """
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
    """Why a good module costs more than a plate that went through all steps.

        modules = line.output.good_modules    [module]
        through_all_steps = list(route.values())[-1].cost_so_far * line.output.good_plates / modules
        lost_plates = sum_of([value.lost for value in route.values()]) / modules
        no_step = sum_of([x.cost for x in lines.values() if x.loss == NO_LOSS]) / modules

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(output=Some(good_modules=4.0, good_plates=4.0))
    >>> from_plate_to_module(line, {"rent": Some(cost=2.0, loss=NO_LOSS)}, {"cut": Some(cost_so_far=10.0, lost=8.0)})
    FromPlateToModule(through_all_steps=10.0, lost_plates=2.0, no_step=0.5)
    """
    modules = line.output.good_modules
    last = list(route.values())[-1]
    return FromPlateToModule(
        through_all_steps=last.cost_so_far * line.output.good_plates / modules,
        lost_plates=sum_of([value.lost for value in route.values()]) / modules,
        no_step=sum_of([x.cost for x in lines.values() if x.loss == NO_LOSS]) / modules,
    )


@dataclass(frozen=True, slots=True)
class Views:
    """The views of a ledger that must agree with each other."""

    total: Value
    step_costs: Mapping[str, Value]
    category_costs: Mapping[str, Value]
    route: Mapping[str, StepValue]
    module: FromPlateToModule


def checks(
    line: Line, lines: Lines, views: Views, films: Mapping[str, FilmBalance], coatings: Mapping[str, CoatingBalance]
) -> Checks:
    """Differences that must be zero but for rounding."""
    total, module = views.total, views.module
    per_module = total / line.output.good_modules - module.through_all_steps - module.lost_plates - module.no_step
    return Checks(
        by_step_less_total=sum_of(views.step_costs.values()) - total,
        by_category_less_total=sum_of(views.category_costs.values()) - total,
        loss_by_step_less_by_line=sum_of([v.lost for v in views.route.values()]) - sum_of([x.lost for x in lines.values()]),
        silicon_unaccounted=sum_of([f.silicon_fed - f.silicon_in_film - f.silicon_lost for f in films.values()]),
        coating_unaccounted=sum_of([c.bought - c.on_plates - c.recovered - c.lost for c in coatings.values()]),
        plates_unaccounted=line.output.plates_started
        - line.output.good_plates
        - sum_of([flow.lost for flow in line.steps.values()]),
        module_cost_unaccounted=per_module,
    )
