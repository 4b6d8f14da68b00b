"""Which tool limits the plant, which limits it next, and what it costs to relieve one after the other."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.whole_case import Case
from ...model.evaluate import Results
from ...model.ledger.equipment import delivered_price, installed_price


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


def capacities_of_one(results: Results) -> dict[str, tuple[float, float]]:
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


def with_one_less(results: Results) -> dict[str, float]:
    """Good modules a year that the plant could make with one less of each tool or carrier."""
    return {
        place: min(results.line.output.capacity, (count - 1) * of_one)
        for place, (of_one, count) in capacities_of_one(results).items()
    }


def ladder(case: Case, results: Results, rungs: int = 6) -> list[Rung]:
    """The bottlenecks one after the other: each rung adds one tool or carrier where the plant is tightest.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> steps = ladder(case, evaluate(case))
    >>> all(a.capacity_after == b.capacity for a, b in zip(steps, steps[1:]))
    True
    """
    found = capacities_of_one(results)
    counts = {place: count for place, (_, count) in found.items()}
    prices, spent, climbed = prices_of_one(case), 0.0, []
    for _ in range(rungs):
        possible = {place: counts[place] * of_one for place, (of_one, _) in found.items()}
        tightest = min(possible, key=possible.__getitem__)
        counts[tightest] += 1
        spent += prices[tightest]
        after = min(counts[place] * of_one for place, (of_one, _) in found.items())
        climbed.append(
            Rung(
                title=title_of(case, tightest),
                tools=counts[tightest] - 1,
                capacity=possible[tightest],
                price=prices[tightest],
                capacity_after=after,
                spent_so_far=spent,
            )
        )
    return climbed


def cheapest_relief(climbed: list[Rung]) -> Rung | None:
    """The rung at which the least money is spent for each module gained over today's plant; None if nothing is gained."""
    gains = [rung for rung in climbed if rung.capacity_after > climbed[0].capacity * (1 + 1e-9)]
    return min(gains, key=lambda r: r.spent_so_far / (r.capacity_after - climbed[0].capacity)) if gains else None
