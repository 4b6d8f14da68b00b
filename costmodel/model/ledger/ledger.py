"""Puts the ledger together: all lines, then the views."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.whole_case import Case
from ...core.operations import Value, choose, safe_divide, sum_of, valid_if
from ..line.line_figures import Line
from .buying import Use, bought_line, container_entries, landed_prices, not_used_entries
from .cost_views import (
    Views,
    by_step_and_category,
    checks,
    from_plate_to_module,
    grouped,
    matrix_on_basis,
    on_every_basis,
    route_values,
)
from .emissions import emission, emission_entries
from .equipment import carrier_entries, equipment_entries, equipment_value, service_entries, spares_entries
from .facilities import facility_entries, facility_utility_entries
from .films import area_of_loads, coated_area, coating_balance, film_balance, gas_uses, silane_uses, target_utilisations
from .labour import labour_entries
from .ledger_figures import (
    CATEGORIES,
    PLANT,
    CoatingBalance,
    FilmBalance,
    Landed,
    Ledger,
    LedgerLine,
    Rating,
    SoakingPlan,
    StepValue,
    WaitingStock,
    WarrantyCost,
)
from .materials import material_uses, phase_uses
from .overheads import overhead_entries
from .ownership import ownership
from .scrap import scrap_entries
from .soaking_costs import rating, soaking_entries, soaking_plan, waiting_stock
from .utilities import demand_entries, utility_entries
from .warranty_costs import warranty_cost, warranty_entries


def compute_ledger(case: Case, line: Line) -> Ledger:
    """Every cost of a year of steady operation, and its views.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.line.line import compute_line
    >>> case = demo_case()
    >>> ledger = compute_ledger(case, compute_line(case))
    >>> abs(ledger.checks.by_step_less_total) < 1e-6
    True
    """
    films = {
        name: film_balance(row, coated_area(line, row.step), area_of_loads(case, line, row.step), case.constants)
        for name, row in case.layers.items()
    }
    coatings = {name: coating_balance(row, coated_area(line, row.step)) for name, row in case.coatings.items()}
    value, uses = equipment_value(case, line), _all_uses(case, line, films, coatings)
    landed = landed_prices(case, uses)
    warranty = {name: warranty_cost(case, line, row) for name, row in case.warranty.items()}
    lines = _all_lines(case, line, uses, landed, value, warranty)
    route = route_values(case, line, lines)
    ratings = {name: rating(case, plan) for name, plan in case.soaking.items()}
    stocks = {name: waiting_stock(case, line, plan, route, lines) for name, plan in case.soaking.items()}
    lines |= soaking_entries(case, line, ratings, stocks)  # these move no figure of the route, as they bear no yield loss
    views = _views(case, line, lines, route)
    groups = grouped(lines, lambda x: x.group, dict.fromkeys(x.group for x in lines.values()))
    loss, idle = sum_of([x.lost for x in lines.values()]), sum_of([x.idle for x in lines.values()])
    spent, lost = by_step_and_category(case, lines), by_step_and_category(case, lines, lambda x: x.lost)
    labelled = line.output.good_modules * line.power.labelled_power
    return Ledger(
        landed=landed,
        lines=lines,
        films=films,
        coatings=coatings,
        total=on_every_basis(views.total, line.output),
        by_step={name: on_every_basis(cost, line.output) for name, cost in views.step_costs.items()},
        by_category={name: on_every_basis(cost, line.output) for name, cost in views.category_costs.items()},
        by_group={name: on_every_basis(cost, line.output) for name, cost in groups.items()},
        by_step_and_category=spent,
        matrix_per_m2=matrix_on_basis(spent, lost, line.output.good_area),
        matrix_per_stabilised_watt=matrix_on_basis(spent, lost, line.output.stabilised_watts),
        route=route,
        module=views.module,
        soaking=_soaking_plans(case, line, lines, ratings, stocks, views.step_costs),
        emissions={name: emission(name, lines, line) for name in case.emissions},
        warranty=warranty,
        ownership={name: ownership(case, line, name, lines, route) for name in case.tools},
        checks=checks(line, lines, views, films, coatings),
        equipment_value=value,
        cost_per_labelled_watt=valid_if(labelled > 0.0, safe_divide(views.total, labelled)),
        cost_per_labelled_watt_status=choose(labelled > 0.0, 1.0, 0.0),
        stock=sum_of([0.0 * views.total, *[item.stock for item in landed.values()]]),  # of no stock at all, money still
        scrap_revenue=sum_of([value.scrap_revenue for value in route.values()]),
        idle=idle,
        idle_per_stabilised_watt=idle / line.output.stabilised_watts,
        yield_loss=loss,
        yield_loss_per_stabilised_watt=loss / line.output.stabilised_watts,
    )


def _views(case: Case, line: Line, lines: dict[str, LedgerLine], route: dict[str, StepValue]) -> Views:
    """The sums of the ledger that must agree, each in one place."""
    return Views(
        total=sum_of([x.cost for x in lines.values()]),
        step_costs=grouped(lines, lambda x: x.step, (*case.steps, PLANT)),
        category_costs=grouped(lines, lambda x: x.category, CATEGORIES),
        route=route,
        module=from_plate_to_module(line, lines, route),
    )


def _soaking_plans(
    case: Case,
    line: Line,
    lines: dict[str, LedgerLine],
    ratings: dict[str, Rating],
    stocks: dict[str, WaitingStock],
    step_costs: Mapping[str, Value],
) -> dict[str, SoakingPlan]:
    """Each soaking plan with its rating, its stock and what it costs."""
    own = {name: (lines[f"soaking.{name}.claims"], lines[f"soaking.{name}.holding"]) for name in case.soaking}
    return {
        name: soaking_plan(line, plan, (ratings[name], stocks[name]), own[name], step_costs) for name, plan in case.soaking.items()
    }


def _all_uses(case: Case, line: Line, films: dict[str, FilmBalance], coatings: dict[str, CoatingBalance]) -> dict[str, Use]:
    """What is used of every item of the price book, step by step."""
    return dict(
        [
            *material_uses(case, line),
            *phase_uses(case, line),
            *silane_uses(case, films),
            *gas_uses(case, line),
            *target_utilisations(case, coatings),
        ]
    )


def _all_lines(
    case: Case,
    line: Line,
    uses: dict[str, Use],
    landed: dict[str, Landed],
    value: Value,
    warranty: Mapping[str, WarrantyCost],
) -> dict[str, LedgerLine]:
    """Every line of the ledger by its address."""
    bought = {address: bought_line(case, line, landed, use) for address, use in uses.items()}
    drawn = dict([*utility_entries(case, line), *facility_utility_entries(case, line)])
    used_up = {address: x for address, x in bought.items() if not uses[address].credit} | drawn
    return dict(
        [
            *bought.items(),
            *not_used_entries(case, line, landed),
            *container_entries(case, line, uses),
            *scrap_entries(case, line),
            *drawn.items(),
            *demand_entries(case, line),
            *labour_entries(case, line),
            *equipment_entries(case, line),
            *service_entries(case, line),
            *spares_entries(case, line),
            *carrier_entries(case, line),
            *facility_entries(case, line),
            *overhead_entries(case, line, value),
            *warranty_entries(line, warranty),
            *emission_entries(case, line, used_up),
        ]
    )
