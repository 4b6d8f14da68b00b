"""What a running mean over several lots does to the rating of a lot, and to the sample that it takes."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.changes import with_values
from ...case.whole_case import Case
from ...model.evaluate import evaluate_costs
from ...model.ledger.ledger_figures import SoakingPlan

COUNTS = (1.0, 2.0, 4.0, 8.0)  # lots averaged


@dataclass(frozen=True, slots=True)
class Averaged:
    """A soaking plan with the mean of this many lots as the rating of the last one."""

    lots: float
    plan: SoakingPlan


def running_means(case: Case, name: str) -> list[Averaged]:
    """A plan with the mean of one, two, four and eight lots as the rating, and of as many as the case states.

    >>> from costmodel.case.load import load_case
    >>> found = running_means(load_case("inputs_demo/facade"), "rating")
    >>> [each.lots for each in found], found[3].plan.rating.sample_for_random < found[0].plan.rating.sample_for_random
    ([1.0, 2.0, 4.0, 8.0], True)
    """
    address = f"soaking.{name}.lots_averaged"
    counts = sorted({*COUNTS, case.soaking[name].lots_averaged})
    return [Averaged(count, evaluate_costs(with_values(case, {address: count})).ledger.soaking[name]) for count in counts]
