"""The plant at full use: which tool limits it and what relief costs, and what a point of yield is worth in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.changes import with_values
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.as_bought import as_bought
from ...model.evaluate import Costs, Results, evaluate_costs
from ...model.ledger.equipment import delivered_price, installed_price

POINT = to_base("%")


def frozen(case: Case) -> Case:
    """The case with the tools, carriers and all that grows with them as it has them now; the output follows from the tools.

    >>> from costmodel.case.load import load_case
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> plant.target.mode, plant.tools["deposition"].installed
    ('frozen', 3.0)
    """
    return with_values(as_bought(case), {"target.mode": "frozen"})


def sized(case: Case) -> Case:
    """The case sized for the output that it has now; a case that is sized already is that.

    >>> from costmodel.case.load import load_case
    >>> sized(frozen(load_case("inputs_demo/facade"))).target.mode
    'sized'
    """
    if case.target.mode == "sized":
        return case
    output = evaluate_costs(case).line.output.by_unit()[case.target.basis]
    return with_values(case, {"target.mode": "sized", "target.output": output})


@dataclass(frozen=True, slots=True)
class Rung:
    """One step up the ladder: the equipment that limits, and the plant when one more of it is there.

    Capacities are in good modules a year, prices in the reporting currency.
    """

    title: str
    tools: float
    capacity: float
    price: float
    capacity_after: float
    spent_so_far: float


def prices_of_one(case: Case) -> dict[str, float]:
    """Price of one more tool or carrier, standing in the plant, by `tools.ID` or `carriers.ID`."""
    return {f"tools.{name}": installed_price(case, tool) for name, tool in case.tools.items()} | {
        f"carriers.{name}": delivered_price(case, row) for name, row in case.carriers.items()
    }


def capacities_of_one(results: Costs | Results) -> dict[str, tuple[float, float]]:
    """Good modules a year that one tool or carrier allows, and how many there are, by `tools.ID` or `carriers.ID`."""
    line = results.line
    return {
        f"{kind}.{name}": (use.capacity_of_one, use.tools)
        for kind in ("tools", "carriers")
        for name, use in getattr(line, kind).items()
    }


def title_of(case: Case, place: str) -> str:
    """The title of a tool or carrier."""
    kind, name = place.split(".")
    return getattr(case, kind)[name].title


def with_one_less(results: Costs | Results) -> dict[str, float]:
    """Good modules a year that the plant could make with one less of each tool or carrier."""
    return {
        place: min(results.line.output.capacity, (count - 1) * of_one)
        for place, (of_one, count) in capacities_of_one(results).items()
    }


def ladder(case: Case, rungs: int = 6) -> list[Rung]:
    """The bottlenecks one after the other: each rung adds one tool or carrier where the plant is tightest.

    >>> from costmodel.case.load import load_case
    >>> steps = ladder(load_case("inputs_demo/facade"))
    >>> all(a.capacity_after == b.capacity for a, b in zip(steps, steps[1:]))
    True
    """
    found = capacities_of_one(evaluate_costs(case))
    counts = {place: count for place, (_, count) in found.items()}
    prices, spent, climbed = prices_of_one(case), 0.0, []
    for _ in range(rungs):
        possible = {place: counts[place] * of_one for place, (of_one, _) in found.items()}
        tightest = min(possible, key=possible.__getitem__)
        counts[tightest] += 1
        spent += prices[tightest]
        after = min(counts[place] * of_one for place, (of_one, _) in found.items())
        title, price = title_of(case, tightest), prices[tightest]
        climbed.append(Rung(title, counts[tightest] - 1, possible[tightest], price, after, spent))
    return climbed


def cheapest_relief(climbed: list[Rung]) -> Rung | None:
    """The rung at which the least money is spent for each module gained over today's plant; None if nothing is gained."""
    gains = [rung for rung in climbed if rung.capacity_after > climbed[0].capacity * (1 + 1e-9)]
    return min(gains, key=lambda r: r.spent_so_far / (r.capacity_after - climbed[0].capacity)) if gains else None


@dataclass(frozen=True, slots=True)
class Point:
    """What one point less of first-pass yield in a step costs in a year, in the reporting currency.

    `plates`: what the plates lost by it had cost so far. `resized`: the same output, tools and people found anew. `as_bought`:
    the plant as bought, which makes less; the rise of a module's cost times the modules that it made before.
    """

    step: str
    plates: float
    resized: float
    as_bought: float


def yield_points(case: Case) -> list[Point]:
    """One point less in each step, in the order of the route; all at once, as an array with a place for each step.

    Less, not more, since many steps are nearer to 100 % than a point; where there is not a point to lose, less is scaled up.

    >>> from costmodel.case.load import load_case
    >>> points = {point.step: point for point in yield_points(load_case("inputs_demo/facade"))}
    >>> points["lamination"].plates > points["scribe_1"].plates
    True
    """
    results, plant, twin = evaluate_costs(case), frozen(case), sized(case)
    before, same = evaluate_costs(plant), evaluate_costs(twin)
    yields = np.array([float(step.first_pass_yield) for step in case.steps.values()])
    less = np.minimum(POINT, 0.5 * yields)
    changed = {f"steps.{name}.first_pass_yield": row for name, row in zip(case.steps, yields[:, None] - np.diag(less))}
    resized, after = evaluate_costs(with_values(twin, changed)), evaluate_costs(with_values(plant, changed))
    rise = after.ledger.total.cost_per_module - before.ledger.total.cost_per_module
    more = resized.ledger.total.cost - same.ledger.total.cost
    found = []
    for k, name in enumerate(case.steps):
        now, then = results.line.steps[name], resized.line.steps[name]
        lost = now.starts * (now.good / now.starts - (then.good / then.starts)[k]) * POINT / less[k]
        costs = lost * results.ledger.route[name].cost_so_far, more[k] * POINT / less[k]
        found.append(Point(name, *map(float, (*costs, rise[k] * before.line.output.good_modules * POINT / less[k]))))
    return found
