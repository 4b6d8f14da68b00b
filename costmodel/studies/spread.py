"""How a figure is spread over draws: quantiles and tails, the probability of a target, the exceedance curve."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from operator import eq, ge, le
from typing import Any, Literal

import numpy as np

from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..model.as_bought import as_bought
from .kept_draws import Values, parts_of
from .many import Wanted
from .ordered_draws import Ordered, between, ordered
from .risk import Run, run_risk

QUANTILES = (0.05, 0.1, 0.5, 0.9, 0.95)
QuantileMethod = Literal["linear", "inverted_cdf"]  # between two draws, or a draw that so many lie at or below
LOW_MIDDLE_HIGH = (0.1, 0.5, 0.9)
TWO_SIDED = 1.959963984540054  # standard deviations of a 95 % interval


@dataclass(frozen=True, slots=True)
class Quantile:
    """The value that a share of the draws lies below, and the 95 % interval that sampling leaves it."""

    share: float
    value: float
    low: float
    high: float

    @property
    def reach(self) -> float:
        """How far the interval reaches from the value, to the farther side."""
        return max(self.high - self.value, self.value - self.low)


def left_open(found: Sequence[Quantile]) -> float:
    """How far sampling leaves the least sure of some quantiles open, either way.

    >>> left_open([Quantile(0.1, 2.0, 1.5, 2.5), Quantile(0.9, 8.0, 6.0, 9.0)])
    1.5
    """
    return max((each.high - each.low) / 2 for each in found)


@dataclass(frozen=True, slots=True)
class Spread:
    """How a figure is spread over the draws, in its base unit; `without` is the share of draws in which it has no value.

    Everything but `without` is over the draws with a value; NaN where there are none. The tenths are means of the lowest and of
    the highest tenth: the worst tenth is the one or the other.
    """

    draws: int
    without: float
    mean: float
    mean_error: float
    deviation: float
    quantiles: tuple[Quantile, ...]
    lowest_tenth: float
    highest_tenth: float


def spread(values: Values, shares: Sequence[float] = QUANTILES) -> Spread:
    """How values are spread. Intervals are those of independent draws; Sobol points are nearer as a rule.

    >>> spread(np.arange(101.0)).quantiles[2].value, spread(np.array([1.0, np.nan])).without
    (50.0, 0.5)
    """
    there = ordered(values)
    count, without = there.count, 1.0 - there.count / len(values)
    if not count:
        nothing = tuple(Quantile(share, math.nan, math.nan, math.nan) for share in shares)
        return Spread(len(values), without, math.nan, math.nan, math.nan, nothing, math.nan, math.nan)
    tenth, deviation = max(1, round(count / 10)), there.deviation
    quantiles, tails = _quantiles(there, shares), (there.mean_of(0, tenth), there.mean_of(count - tenth, count))
    return Spread(len(values), without, there.mean, deviation / math.sqrt(count), deviation, quantiles, *tails)


def _quantiles(there: Ordered, shares: Sequence[float]) -> tuple[Quantile, ...]:
    """Quantiles with the interval that sampling leaves each."""
    ends = there.at(np.array([_ranks(there.count, share) for share in shares]).ravel()).reshape(-1, 2)
    found = zip(shares, between(there, shares), ends)
    return tuple(Quantile(share, float(value), float(low), float(high)) for share, value, (low, high) in found)


def _ranks(count: int, share: float) -> tuple[int, int]:
    """The ranks that a quantile lies between with 95 %: by the binomial distribution, how many draws lie below it."""
    reach = TWO_SIDED * math.sqrt(count * share * (1 - share))
    return max(0, math.floor(count * share - reach) - 1), min(count - 1, math.ceil(count * share + reach))


def quantiles_of(case: Case, wanted: Sequence[str], draws: int, seed: int) -> dict[str, tuple[Quantile, ...]]:
    """P10, P50 and P90 of figures over draws of all uncertain inputs, the plant as bought; none without draws or ranges.

    Raises InputFaults, also for a draw that the case refuses.

    >>> from costmodel.case.load import load_case
    >>> cost = "ledger.total.cost_per_m2"
    >>> low, middle, high = quantiles_of(load_case("inputs_demo/facade"), [cost], 100, 0)[cost]
    >>> low.value < middle.value < high.value
    True
    """
    if not draws or not uncertain(case):
        return {}
    found = run_risk(as_bought(case), wanted, draws, seed).figures
    return {address: spread(values, LOW_MIDDLE_HIGH).quantiles for address, values in found.items()}


def quantile_of(ordered: np.ndarray, share: float, method: QuantileMethod = "linear") -> Quantile:
    """A quantile with the interval between those draws whose ranks the binomial distribution bounds (95 %).

    >>> found = quantile_of(np.arange(10_001.0), 0.5)  # the ranks of 10,001 coins: 5,000.5 and 1.96 times 50 of them
    >>> found.value, found.low, found.high
    (5000.0, 4901.0, 5099.0)
    """
    low, high = (float(ordered[rank]) for rank in _ranks(len(ordered), share))
    return Quantile(share, float(np.quantile(ordered, share, method=method)), low, high)


def reasons_of(run: Run[Any], figure: Wanted) -> dict[str, float]:
    """The share of draws in which a figure has no value, for each reason; nothing where its status was not drawn with it."""
    status = run.figures.get(figure.status)
    found = {} if status is None else {reason: _share_of(status, partial(eq, code)) for code, reason in figure.reasons.items()}
    return {reason: share for reason, share in found.items() if share}


@dataclass(frozen=True, slots=True)
class Probability:
    """The share of independent draws in which something holds."""

    share: float
    draws: int

    @property
    def error(self) -> float:
        """Its standard error, sqrt(p (1 - p) / n): the standard deviation of a share of n independent draws (binomial).

        >>> Probability(0.2, 400).error
        0.02
        """
        return math.sqrt(self.share * (1 - self.share) / self.draws)

    @property
    def low(self) -> float:
        """The low end of its 95 % interval (Wilson); exactly 0 where rounding would leave a trace."""
        return 0.0 if self.share == 0.0 else max(0.0, self._middle - self._reach)

    @property
    def high(self) -> float:
        """The high end of its 95 % interval."""
        return 1.0 if self.share == 1.0 else min(1.0, self._middle + self._reach)

    @property
    def _middle(self) -> float:
        return (self.share + TWO_SIDED**2 / (2 * self.draws)) / (1 + TWO_SIDED**2 / self.draws)

    @property
    def _reach(self) -> float:
        spread = math.sqrt(self.share * (1 - self.share) / self.draws + TWO_SIDED**2 / (4 * self.draws**2))
        return TWO_SIDED * spread / (1 + TWO_SIDED**2 / self.draws)


def probability(values: Values, sign: str, target: float) -> Probability:
    """The probability that a figure is `>=` or `<=` a target; a draw in which the figure has no value does not meet it.

    >>> probability(np.array([1.0, 2.0, 3.0, np.nan]), ">=", 2.0).share
    0.5
    """
    with np.errstate(invalid="ignore"):
        return Probability(_share_of(values, partial(le if sign == ">=" else ge, target)), len(values))


def _share_of(values: Values, holds: Callable[[np.ndarray], np.ndarray]) -> float:
    """The share of values of which something holds."""
    return sum(int(np.count_nonzero(holds(part))) for part in parts_of(values)) / len(values)


@dataclass(frozen=True, slots=True)
class Target:
    """A figure that is to be `>=` or `<=` a value, which is still a text as people write it."""

    figure: str
    sign: str
    value: str


def parse_target(written: str) -> Target:
    """A target from `FIGURE>=VALUE UNIT` or `FIGURE<=VALUE UNIT`. Raises InputFaults.

    >>> parse_target("ledger.total.cost_per_m2<=150 EUR/m2")
    Target(figure='ledger.total.cost_per_m2', sign='<=', value='150 EUR/m2')
    """
    for sign in (">=", "<="):
        figure, found, value = (part.strip() for part in written.partition(sign))
        if found and figure and value:
            return Target(figure, sign, value)
    raise InputFaults([Fault("--target", None, None, f"'{written}'", "FIGURE>=VALUE UNIT or FIGURE<=VALUE UNIT")])


def probability_of_more(case: Case, one: str, other: str, draws: int, seed: int) -> Probability | None:
    """The probability that one figure is above another on the same draws, the plant as bought; none without draws or ranges.

    A draw in which either has no value does not count as more. Raises InputFaults, also for a draw that the case refuses.

    >>> from costmodel.case.load import load_case
    >>> case, total = load_case("inputs_demo/facade"), "ledger.total.cost_per_"
    >>> probability_of_more(case, total + "stabilised_watt", total + "initial_watt", 10, 0).share
    1.0
    """
    if not draws or not uncertain(case):
        return None
    found = run_risk(as_bought(case), [one, other], draws, seed).figures
    return Probability(float(np.mean(found[one] > found[other])), draws)


def exceedance(values: Values, points: int = 200) -> tuple[np.ndarray, np.ndarray]:
    """The exceedance curve: values of a figure, and the share of all draws in which it is greater; draws without one are not.

    >>> exceedance(np.array([1.0, 2.0, 3.0]), points=3)[0].tolist()
    [1.0, 2.0, 3.0]
    """
    there = ordered(values)
    if not there.count:
        return np.array([]), np.array([])
    at = between(there, np.linspace(0.0, 1.0, points))
    return at, there.above(at) / len(values)
