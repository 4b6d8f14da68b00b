"""Cost against the size of the plant: where whole tools fill, and where savings stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.changes import with_values
from ..case.records import Case
from ..model import evaluate_costs
from .frozen import sized


@dataclass(frozen=True, slots=True)
class Size:
    """A plant sized for an output: how many times that of the case, and the output in its own base unit; cost; tools in all.

    `cheapest` marks a size at which the next smaller and the next larger one looked at cost more.
    """

    times: float
    output: float
    stabilised_watts: float
    cost_per_stabilised_watt: float
    cost_per_module: float
    tools: float
    cheapest: bool


def sizes(case: Case, low: float = 0.2, high: float = 3.0, points: int = 141) -> list[Size]:
    """Plants from `low` to `high` times the output of the case, itself and its double among them; tools are sized for each.

    All are found in one array evaluation. Of a frozen plant, the output that it has now is scaled.

    >>> from costmodel.case.load import load_case
    >>> curve = sizes(load_case("inputs_demo/facade"))
    >>> curve[0].cost_per_stabilised_watt > curve[-1].cost_per_stabilised_watt
    True
    """
    twin = sized(case, evaluate_costs(case))
    marks = [mark for mark in (1.0, 2.0) if low <= mark <= high]
    times = np.unique(np.round(np.append(np.geomspace(low, high, points), marks), 9))
    outputs, points = twin.target.output * times, len(times)
    results = evaluate_costs(with_values(twin, {"target.output": outputs}))
    watt = results.ledger.total.cost_per_stabilised_watt
    tools = sum(use.tools for use in results.line.tools.values()) * np.ones(points)
    least = [0 < k < points - 1 and watt[k] < watt[k - 1] and watt[k] < watt[k + 1] for k in range(points)]
    return [
        Size(float(times[k]), float(outputs[k]), float(results.line.output.stabilised_watts[k]), float(watt[k]),
             float(results.ledger.total.cost_per_module[k]), float(tools[k]), bool(least[k]))
        for k in range(points)
    ]  # fmt: skip
