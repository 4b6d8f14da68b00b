"""What a point of yield is worth, step by step."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ...case.changes import with_values
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.evaluate import Results, evaluate_costs
from ...model.line.yields import good_share
from .frozen import frozen, sized

POINT = to_base("%")


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


def yield_points(case: Case, results: Results) -> list[Point]:
    """One point less in each step, in the order of the route.

    Less, not more, since many steps are nearer to 100 % than a point; where there is not a point to lose, less is scaled up.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> points = {point.step: point for point in yield_points(case, evaluate(case))}
    >>> points["lamination"].plates > points["scribe_1"].plates
    True
    """
    plant, twin = frozen(case), sized(case, results)
    before, same = evaluate_costs(plant), evaluate_costs(twin)
    found = []
    for name, step in case.steps.items():
        less = min(POINT, 0.5 * step.first_pass_yield)
        changed = {f"steps.{name}.first_pass_yield": step.first_pass_yield - less}
        resized, after = evaluate_costs(with_values(twin, changed)), evaluate_costs(with_values(plant, changed))
        worse = replace(step, first_pass_yield=step.first_pass_yield - less)
        lost = results.line.steps[name].starts * (good_share(step) - good_share(worse)) * POINT / less
        rise = after.ledger.total.cost_per_module - before.ledger.total.cost_per_module
        found.append(
            Point(
                step=name,
                plates=lost * results.ledger.route[name].cost_so_far,
                resized=(resized.ledger.total.cost - same.ledger.total.cost) * POINT / less,
                as_bought=rise * before.line.output.good_modules * POINT / less,
            )
        )
    return found
