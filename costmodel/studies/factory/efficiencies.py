"""What buyers could pay against the efficiency of our module, beside what it would cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...case.changes import with_values
from ...case.whole_case import Case
from ...model.evaluate import Results, evaluate_costs


@dataclass(frozen=True, slots=True)
class PriceCurve:
    """Highest price in every market, and cost, per square metre, by stabilised efficiency on the whole area.

    Per square metre the highest price is a straight line in efficiency, whatever limits the market. A square metre costs at
    every efficiency what it costs in the case.
    """

    efficiency: tuple[float, ...]
    highest_price_per_m2: dict[str, tuple[float, ...]]
    cost_per_m2: float


def price_curve(case: Case, results: Results, points: int = 60) -> PriceCurve:
    """From half the efficiency of the module up to that of the best reference, or to double its own.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> curve = price_curve(case, evaluate(case))
    >>> curve.highest_price_per_m2["open_field"][0] < curve.highest_price_per_m2["open_field"][-1]
    True
    """
    found = results.market.by_market
    own = next(iter(found.values())).ours.efficiency
    per_initial = own / case.product.initial_efficiency
    top = min(max(2 * own, *(each.reference.efficiency for each in found.values())), per_initial)
    efficiency = np.linspace(0.5 * own, top, points)
    at_each = evaluate_costs(with_values(case, {"product.initial_efficiency": efficiency / per_initial})).market.by_market
    return PriceCurve(
        efficiency=tuple(efficiency.tolist()),
        highest_price_per_m2={name: tuple(each.highest_price_per_m2.tolist()) for name, each in at_each.items()},
        cost_per_m2=results.ledger.total.cost_per_m2,
    )
