"""Where limits of power classes should lie: each is tried by itself, then all in turn, by what a year's modules sell for.

A limit and its label move together, in their present ratio, so that a label promises what it did of the least power. The price of a
class over that in sales.csv stays, and so do the modules.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.changes import with_values
from ...case.whole_case import Case
from ...model.evaluate import Results, evaluate_costs
from ...model.ledger.landed_prices import in_reporting_currency
from ..many import in_chunks, recorded

POINTS, ROUNDS = 61, 12  # tried between two neighbours; turns over all classes
REACH = 4.0  # standard deviations from the mean beyond which no limit is tried
SAME = 1e-6  # of the revenue: less is no gain


@dataclass(frozen=True, slots=True)
class BestLimit:
    """A class: its limit, the best one while the others stay, the best one where all are chosen; what the second sells for more."""

    name: str
    now: float
    alone: float
    gain: float  # per module made, in the reporting currency, or in watts paid for without sales.csv
    together: float


@dataclass(frozen=True, slots=True)
class ClassLimits:
    """All classes; what a module made sells for now and with all limits at their best; watts given away and modules unsold then."""

    limits: tuple[BestLimit, ...]
    now: float
    best: float
    give_away: float
    unsold_share: float


def class_limits(case: Case, results: Results) -> ClassLimits | None:
    """The limits that sell a year's modules for the most; none without classes.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> found = class_limits(case, evaluate(case))
    >>> bool(found.best >= found.now)
    True
    """
    if not case.power_classes:
        return None
    rows = case.power_classes
    now = _sold_for(case, results, {name: np.array([row.least_power]) for name, row in rows.items()})[0]
    limits = {name: float(row.least_power) for name, row in rows.items()}
    alone = {name: _best(case, results, limits, name) for name in rows}
    together, reached = dict(limits), now
    for _ in range(ROUNDS):
        before = reached
        for name in rows:
            place, value = _best(case, results, together, name)
            if value > reached * (1 + SAME):
                together[name], reached = place, value
        if reached <= before * (1 + SAME):
            break
    best = {address: float(value[0]) for address, value in _moved(case, {n: np.array([x]) for n, x in together.items()}).items()}
    chosen = evaluate_costs(with_values(case, best)).line.power
    found = [
        BestLimit(name, limits[name], place if value > now * (1 + SAME) else limits[name], max(value - now, 0.0), together[name])
        for name, (place, value) in alone.items()
    ]
    return ClassLimits(tuple(found), now, reached, float(chosen.give_away), float(chosen.unsold_share))


def _best(case: Case, results: Results, limits: dict[str, float], name: str) -> tuple[float, float]:
    """The best limit of a class between its neighbours, and what a module made then sells for."""
    names, mean = list(limits), float(results.line.output.stabilised_power)
    number = names.index(name)
    spread = next((row.module_spread**2 + row.repeatability**2 for row in case.power_spread.values()), 0.0) ** 0.5
    reach = REACH * mean * spread or 0.3 * mean  # of measured powers: as far as any module is likely to lie
    low = limits[names[number - 1]] if number else max(0.0, min(mean - reach, limits[name]))
    high = limits[names[number + 1]] if number + 1 < len(names) else max(mean + reach, limits[name])
    places = np.append(np.linspace(low, high, POINTS + 2)[1:-1], limits[name])
    values = _sold_for(case, results, {each: places if each == name else np.full(len(places), limits[each]) for each in names})
    best = int(np.argmax(values))
    return float(places[best]), float(values[best])


def _moved(case: Case, limits: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Limits and labels by address."""
    rows = case.power_classes
    labels = {f"power_classes.{name}.label": each * rows[name].label / rows[name].least_power for name, each in limits.items()}
    return {f"power_classes.{name}.least_power": each for name, each in limits.items()} | labels


def _sold_for(case: Case, results: Results, limits: dict[str, np.ndarray]) -> np.ndarray:
    """What a module made sells for with each set of limits, at the prices of sales.csv; without these, the watts paid for."""
    wanted = ("line.power.paid_share_of_power", "line.power.paid_share_of_modules")
    moved = _moved(case, limits)
    power, modules = in_chunks(recorded(case, list(moved), wanted), moved, wanted).values()  # between neighbours all is allowed
    output = results.line.output
    if not case.sales:
        return power * float(output.stabilised_power)
    made = {unit: float(amount) / float(output.good_modules) for unit, amount in output.by_unit().items()}
    worth = np.zeros(len(power))
    for row in case.sales.values():
        paid = power if row.per == "Wp_stabilised" else modules
        worth = worth + row.output_share * in_reporting_currency(row.price, row.currency, case.money) * made[row.per] * paid
    return worth
