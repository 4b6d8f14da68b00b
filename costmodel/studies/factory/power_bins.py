"""How the power of modules is spread, in narrow steps of rated power; the classes cut it."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.whole_case import Case
from ...model.evaluate import Results
from ...model.line.power_classes import rated_above

STEPS = 40  # across all that is drawn


@dataclass(frozen=True)
class PowerBin:
    """Modules rated from one power to the next, W, as a part of all good modules."""

    low: float
    high: float
    share: float


def power_bins(case: Case, results: Results) -> list[PowerBin]:
    """The good modules by rated power, weakest first; nothing without classes.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> abs(sum(each.share for each in power_bins(case, evaluate(case))) - 1.0) < 1e-3
    True
    """
    if not case.power_classes:
        return []
    mean = results.line.output.stabilised_power
    limits = [row.least_power for row in case.power_classes.values()]
    if case.measured_powers:
        powers = [row.power for row in case.measured_powers.values()]
        moved = mean * len(powers) / sum(powers)
        low, high = min(powers) * moved, max(powers) * moved
    else:
        spread = next(iter(case.power_spread.values()))
        reach = 4 * mean * (spread.module_spread**2 + spread.repeatability**2) ** 0.5
        low, high = mean - reach, mean + reach
    step = (high - low) / STEPS or 1e-3 * mean
    places = [limits[0] + number * step for number in range(int((low - limits[0]) // step), int((high - limits[0]) // step) + 2)]
    shares = [rated_above(case, mean, place).share for place in places]
    return [PowerBin(low, high, more - less) for low, high, more, less in zip(places, places[1:], shares, shares[1:])]
