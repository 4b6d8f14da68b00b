"""Plain facts of the plan for documents: what it is worth, year by year, and what could change it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from ..case.addresses import value_at
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.operations import Value
from ..core.units import to_base
from ..model.as_bought import as_bought
from ..model.evaluate import Results
from ..model.plan.plan_figures import Quarter
from ..present.cash_report import by_year
from ..present.inputs_report import input_name
from ..present.numbers import exact, people
from ..present.plain_plan import plain_plan
from ..studies.factory.least_price import least_price, price_of_a_watt
from ..studies.many import figures_of, wanted_figures
from ..studies.negotiation.probabilities import BELOW, DRAWS, EARLY, NPV, SEED
from ..studies.risk import run_risk
from ..studies.sensitivities import Bar, tornado
from ..studies.spread import spread

Facts = dict[str, Any]

OWNERS_NPV, LOW_POINT = "plan.owners.npv", "plan.project.low_point"

YEARS: Mapping[str, Callable[[Quarter], float]] = {
    "megawatts": lambda q: q.stabilised_watts,
    "revenue": lambda q: q.revenue,
    "running cost": lambda q: -q.variable_cost - q.fixed_cost - q.start_up - q.warranty_paid,
    "royalty": lambda q: -q.royalty,
    "work and supplies": lambda q: -q.licence_services,
    "sublicences": lambda q: q.sublicences,
    "tax, as if no loan": lambda q: -q.tax_without_loan,
    "capital and licence fee": lambda q: -q.capital - q.licence_fee,
    "replacement and expansion": lambda q: -q.replacement,
    "sale of assets": lambda q: q.end_value,
    "cost of closing": lambda q: -q.closing_cost,
    "cash of the project": lambda q: q.free_cash,
    "cash of the owners": lambda q: q.owners_cash,
}  # figures of quarters that are added up by year


def plan(case: Case, results: Results) -> Facts | None:
    """The plant as an investment, from the licensee's side."""
    if not results.has_plan:
        return None
    least = least_price(case).times
    return plan_with(case, results, least)


def plan_with(case: Case, results: Results, least: float | None) -> Facts:
    """The same with the least price given, as a multiple of the present one."""
    quarters, now = results.plan.quarters.values(), price_of_a_watt(case, results)
    years = {name: [sum(map(take, year)) for year in by_year(results)] for name, take in YEARS.items()}
    return {
        **plain_plan(case, results),
        "price_now": now,
        "least_price": None if least is None else now * least,
        "cumulative": [each.cumulative_free_cash for each in quarters],
        "cumulative_owners": [each.cumulative_owners_cash for each in quarters],
        "by_year": years | {"megawatts": [watts / to_base("MWp_stabilised") for watts in years["megawatts"]]},
    }


def deal_changes(case: Case) -> dict[str, dict[str, Value]]:
    """The changes of terms or plan that are looked at one at a time: what each sets, by its name."""
    row, year = case.deal.licence, to_base("year")
    return {
        "royalty one point higher": {"licence.royalty": min(1.0, row.royalty + 0.01)},
        "fee a tenth higher": {"licence.upfront": row.upfront * 1.1},
        "royalty for two years more": {"licence.term": row.term + 2 * year},
        "modules sold a tenth cheaper": {f"sales.{name}.price": sale.price * 0.9 for name, sale in case.sales.items()},
        "production a year later": {"schedule.delay": case.plan.schedule.delay + year},
    }


def _deal_moves(case: Case, results: Results, sides: Mapping[str, str]) -> list[Facts] | None:
    """What one change at a time of terms or plan does to the figures of the deal that are named, by side."""
    if not results.has_deal:
        return None
    changes = deal_changes(case)
    moved = {address: np.full(len(changes), value_at(case, address)) for change in changes.values() for address in change}
    for number, change in enumerate(changes.values()):
        for address, value in change.items():
            moved[address][number] = value
    addresses = {side: f"deal.{side}.{field}" for side, field in sides.items()}
    made = figures_of(case, moved, list(addresses.values()))
    now = {side: getattr(getattr(results.deal, side), field) for side, field in sides.items()}
    return [
        {"name": name} | {side: float(made[addresses[side]][number]) - now[side] for side in sides}
        for number, name in enumerate(changes)
    ]


def deal_moves(case: Case, results: Results) -> list[Facts] | None:
    """What one change at a time of terms or plan does to each side: confidential to the licensor."""
    return _deal_moves(case, results, {"licensor": "npv", "licensee": "npv"})


def licensee_moves(case: Case, results: Results) -> list[Facts] | None:
    """The same for the licensee alone, without second licensees, of whom only the licensor knows."""
    return _deal_moves(case, results, {"licensee": "npv_undisturbed"})


def _moved_by(case: Case, figure: str) -> Facts | None:
    """What each uncertain input does to a figure by itself, the plant as bought."""
    if not uncertain(case):
        return None
    plant = as_bought(case)
    present, bars = tornado(plant, figure)
    return {"present": present, "bars": [_bar(case, plant, bar, present) for bar in bars if not math.isnan(bar.width)]}


def _bar(case: Case, plant: Case, bar: Bar, present: float) -> Facts:
    unit, shown = case.ranges[bar.range].unit, case.evidence[bar.address.rsplit(".", 1)[0]]
    return {
        "row": bar.address,
        "input": input_name(plant, bar.address),
        "now": exact(value_at(case, bar.address), unit),
        "low": people(bar.low / to_base(unit)),
        "high": people(bar.high / to_base(unit)),
        "unit": unit,
        "at_low": bar.at_low - present,
        "at_high": bar.at_high - present,
        "kind": shown.kind,
        "source": shown.source,
    }


def npv_moved_by(case: Case, results: Results) -> Facts | None:
    """What each uncertain input does to the net present value of the project."""
    return _moved_by(case, "plan.project.npv") if results.has_plan else None


def licensor_moved_by(case: Case, results: Results) -> Facts | None:
    """What each uncertain input does to what is left to the licensor."""
    return _moved_by(case, "deal.licensor.npv") if results.has_deal else None


def npv_spread(case: Case, results: Results) -> Facts | None:
    """How net present value and peak funding need are spread over draws of all uncertain inputs, the plant as bought.

    With the probabilities of an early closing, none where the plant runs to the end, and of a year below the required DSCR.
    """
    if not results.has_plan or not uncertain(case):
        return None
    plant = as_bought(case)
    figure, owners = wanted_figures(plant, [NPV, OWNERS_NPV]).values()
    drawn = run_risk(plant, [figure.address, owners.address, LOW_POINT, EARLY, BELOW], DRAWS, SEED).figures
    values = drawn[figure.address]
    found = spread(values, (0.1, 0.5, 0.9))
    low, middle, high = (quantile.value for quantile in found.quantiles)
    above, owners_above, closes, below = (_above(drawn[each]) for each in (figure.address, owners.address, EARLY, BELOW))
    peak = [quantile.value for quantile in spread(-drawn[LOW_POINT], (0.1, 0.5, 0.9)).quantiles]
    return {
        "present": figure.present, "p10": low, "p50": middle, "p90": high, "above": above, "owners_above": owners_above,
        "closes": closes if case.plan.closing.rule != "never" else None, "below_dscr": below if case.plan.loan.part else None,
        "peak_p10": peak[0], "peak_p50": peak[1], "peak_p90": peak[2], "draws": DRAWS, "seed": SEED,
        "correlated": bool(case.correlations),
    }  # fmt: skip


def _above(values: np.ndarray) -> float:
    """The share of draws above 0."""
    return float((values > 0).mean())
