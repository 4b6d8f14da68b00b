"""What a longer term or a higher promise would cost, each by itself, and how the cost is spread over draws."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.changes import with_values
from ...case.uncertain import uncertain
from ...case.warranty_records import LONGEST
from ...case.whole_case import Case
from ...core.fields import YEAR
from ...model.as_bought import as_bought
from ...model.evaluate import evaluate_costs, results_up_to
from ..risk import run_risk
from ..spread import LOW_MIDDLE_HIGH, Probability, Quantile, spread

LONGER, HIGHER = 5 * YEAR, 0.02  # how far a term and a promise are moved


@dataclass(frozen=True, slots=True)
class DearerTerm:
    """One change of the promises, the cost of the warranty with it per watt, and what it does to the net present value."""

    title: str
    cost_per_watt: float
    npv_change: float | None  # none without a plan


@dataclass(frozen=True, slots=True)
class CostSpread:
    """The cost per watt over draws: P10, P50 and P90, and how probable it is above that of the case."""

    quantiles: tuple[Quantile, ...]
    above: Probability


def dearer_terms(case: Case) -> list[DearerTerm]:
    """The cost per watt with each promise moved by itself, as far as its limit allows; the end of a longer term is as promised now.

    >>> from costmodel.case.load import load_case
    >>> [each.title for each in dearer_terms(load_case("inputs_demo/facade"))]
    ['product term 5 years longer', 'power term 5 years longer', 'promised end power 2 points higher']
    """
    found = []
    for name, row in case.warranty.items():
        moves = {
            "product term 5 years longer": ("product_term", row.product_term + LONGER, LONGEST * YEAR),
            "power term 5 years longer": ("power_term", row.power_term + LONGER, LONGEST * YEAR),
            "promised end power 2 points higher": ("end_power", row.end_power + HIGHER, row.start_power),
        }
        for title, (field, value, most) in moves.items():
            if value <= most:
                found.append(_moved(case, name, title, {f"warranty.{name}.{field}": value}))
    return found


def _moved(case: Case, name: str, title: str, change: dict[str, float]) -> DearerTerm:
    changed = with_values(case, change)
    if not case.has_plan:
        return DearerTerm(title, evaluate_costs(changed).ledger.warranty[name].cost_per_stabilised_watt, None)
    before, after = results_up_to(case, "plan"), results_up_to(changed, "plan")
    return DearerTerm(
        title, after.ledger.warranty[name].cost_per_stabilised_watt, after.plan.project.npv - before.plan.project.npv
    )


def cost_spread(case: Case, draws: int, seed: int) -> CostSpread | None:
    """The cost per watt over draws of all uncertain inputs, the plant as bought; none without ranges or a warranty.

    >>> from costmodel.case.load import load_case
    >>> found = cost_spread(load_case("inputs_demo/facade"), 100, 0)
    >>> low, middle, high = (each.value for each in found.quantiles)
    >>> low <= middle <= high
    True
    """
    if not draws or not uncertain(case) or not case.warranty:
        return None
    address = f"ledger.warranty.{next(iter(case.warranty))}.cost_per_stabilised_watt"
    present = evaluate_costs(case).ledger.warranty[next(iter(case.warranty))].cost_per_stabilised_watt
    values = run_risk(as_bought(case), [address], draws, seed).figures[address]
    return CostSpread(spread(values, LOW_MIDDLE_HIGH).quantiles, Probability(float((values > present).mean()), draws))
