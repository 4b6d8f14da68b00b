"""The uncertainty of a figure by the law of propagation, input by input, and whether draws agree with it.

Sources: JCGM 100:2008 (GUM), clause 5 and annex H; JCGM 101:2008, clause 8. Both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..case.uncertain import normal_correlations, rank_correlations
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from .distributions import Quantile
from .draws import Draws
from .many import figures_of, wanted_figures
from .spread import TWO_SIDED, Spread, spread

ENDS = (0.025, 0.975)  # of a coverage interval of 95 %
SHARES = (np.arange(20_000) + 0.5) / 20_000  # midpoints, for moments of one driver
DIGITS = 1  # significant digits of the standard uncertainty that matter; JCGM 101, 7.9.2, allows one or two
LEAST_DRAWS = 1_000  # below which ranks do not bound what sampling leaves the ends
LEAST_SHARE = 0.2  # of the tolerance, that sampling may take (JCGM 101, 7.9, asks for a fifth)


@dataclass(frozen=True, slots=True)
class Contribution:
    """One input: its mean, standard uncertainty and sensitivity, what that contributes, and its share of the variance.

    The share counts its covariances with others, so shares add up to 1, and one may be negative.
    """

    name: str
    mean: float
    uncertainty: float
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True)
class Budget:
    """A figure at the means of all inputs, its standard uncertainty, and what each input contributes, the largest share first."""

    value: float
    uncertainty: float
    rows: tuple[Contribution, ...]

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % interval of a normal distribution."""
        reach = TWO_SIDED * self.uncertainty
        return self.value - reach, self.value + reach


def linear_budget(
    function: Callable[[np.ndarray], np.ndarray], names: Sequence[str], means: np.ndarray, covariances: np.ndarray
) -> Budget:
    """The budget of a function of rows of inputs; a sensitivity is half the change between the mean less and plus its uncertainty.

    That step follows JCGM 100, 5.1.3, note 2. Covariances stand by JCGM 100, 5.2.2.

    >>> found = linear_budget(lambda x: 2 * x[:, 0] + x[:, 1], ["a", "b"], np.array([1.0, 1.0]), np.diag([4.0, 9.0]))
    >>> found.value, found.uncertainty, [row.contribution for row in found.rows], [row.share for row in found.rows]
    (3.0, 5.0, [4.0, 3.0], [0.64, 0.36])
    """
    steps = np.sqrt(np.diag(covariances))
    moved = np.diag(steps)
    made = function(np.concatenate([means[None, :], means + moved, means - moved]))
    up, down = made[1 : len(names) + 1], made[len(names) + 1 :]
    sensitivities = np.where(steps > 0, (up - down) / (2 * np.where(steps > 0, steps, 1.0)), 0.0)
    parts = sensitivities * (covariances @ sensitivities)
    variance = float(np.sum(parts))
    shares = parts / variance if variance > 0 else 0.0 * parts
    rows = [Contribution(*each) for each in zip(
        names, means.tolist(), steps.tolist(), sensitivities.tolist(), (sensitivities * steps).tolist(), shares.tolist()
    )]  # fmt: skip
    return Budget(float(made[0]), math.sqrt(max(variance, 0.0)), tuple(sorted(rows, key=lambda row: -row.share)))


@dataclass(frozen=True, slots=True)
class Check:
    """A budget beside draws: the ends of both 95 % intervals, how far they are apart, and how far they may be.

    `sampling` is half of what sampling leaves an end of the draws at most; `without` the share of draws without a value;
    `verdict` one of AGREES, DIFFERS, OPEN.
    """

    linear: tuple[float, float]
    drawn: tuple[float, float]
    apart: tuple[float, float]
    tolerance: float
    sampling: float
    without: float
    verdict: str


AGREES, DIFFERS, OPEN = "agrees", "differs", "open"


def tolerance(uncertainty: float, digits: int = DIGITS) -> float:
    """The numerical tolerance of a standard uncertainty: half a unit of its last significant digit (JCGM 101, 7.9.2).

    >>> tolerance(2.0), tolerance(2.0, 2), tolerance(10.1, 2), tolerance(0.35)
    (0.5, 0.05, 0.5, 0.05)
    """
    if not uncertainty > 0:
        return 0.0
    power = math.floor(math.log10(float(f"{uncertainty:.{digits - 1}e}")))
    return 0.5 * 10.0 ** (power - digits + 1)


def checked(budget: Budget, drawn: Spread, digits: int = DIGITS) -> Check:
    """Whether draws agree with a budget, by JCGM 101, clause 8; open where sampling leaves too much to tell.

    Draws without a value, or none at the means, differ. `drawn` has the quantiles of ENDS.
    """
    quantiles = drawn.quantiles
    ends = (quantiles[0].value, quantiles[1].value)
    apart = (abs(budget.interval[0] - ends[0]), abs(budget.interval[1] - ends[1]))
    allowed = tolerance(drawn.deviation, digits)
    sampling = max((each.high - each.low) / 2 for each in quantiles)
    spare = 0.0 if sampling <= LEAST_SHARE * allowed else sampling
    if drawn.without or not all(map(math.isfinite, (*apart, budget.uncertainty))):
        verdict = DIFFERS
    elif drawn.draws < LEAST_DRAWS or allowed - spare < max(apart) <= allowed + spare:
        verdict = OPEN
    else:
        verdict = AGREES if max(apart) <= allowed else DIFFERS
    return Check(budget.interval, ends, apart, allowed, sampling, drawn.without, verdict)


def covariances_of(case: Case, draws: Draws) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Addresses of the uncertain inputs, their means, and their covariances as ranges.csv and correlations.csv have them."""
    columns = [(row, number) for number, driver in enumerate(draws.drivers) for row in driver.ranges]
    values = np.array([draws.quantile(row)(SHARES) for row, _ in columns])
    means = values.mean(axis=1)
    tied = normal_correlations(rank_correlations(case, draws.drivers))
    found = np.zeros((len(columns), len(columns)))
    for one, (row, driver) in enumerate(columns):
        for two, (other, second) in enumerate(columns[: one + 1]):
            if driver == second:
                found[one, two] = float(np.mean((values[one] - means[one]) * (values[two] - means[two])))
            elif tied[driver, second]:
                found[one, two] = _covariance(draws.quantile(row), draws.quantile(other), float(tied[driver, second]))
            found[two, one] = found[one, two]
    return [draws.rows[row].address for row, _ in columns], means, found


def _covariance(one: Quantile, two: Quantile, correlation: float, points: int = 64) -> float:
    """Covariance of two inputs that a Gaussian copula ties, by Gauss's quadrature on both normal numbers."""
    from scipy.special import ndtr

    at, weights = np.polynomial.hermite_e.hermegauss(points)
    weights = weights / weights.sum()
    first = one(np.clip(ndtr(at), 1e-16, 1 - 1e-16))
    second_at = correlation * at[:, None] + math.sqrt(1 - correlation**2) * at[None, :]
    second = two(np.clip(ndtr(second_at), 1e-16, 1 - 1e-16)) @ weights
    return float(weights @ (first * second) - (weights @ first) * (weights @ second))


def budget_of(case: Case, figure: str, draws: int, seed: int) -> tuple[Budget, Check]:
    """The budget of a figure of a case, and that budget beside draws. Raises InputFaults.

    >>> from costmodel.case.demo import demo_case
    >>> found, check = budget_of(demo_case(), "ledger.total.cost_per_m2", draws=2000, seed=0)
    >>> round(sum(row.share for row in found.rows), 9), check.verdict in (AGREES, DIFFERS, OPEN)
    (1.0, True)
    """
    if draws < 1:
        raise InputFaults([Fault("--draws", None, None, f"{draws}", "a whole number from 1")])
    wanted_figures(case, [figure])
    source = Draws(case, seed)
    addresses, means, covariances = covariances_of(case, source)

    def values(rows: np.ndarray) -> np.ndarray:
        """The figure for rows of inputs."""
        return figures_of(case, dict(zip(addresses, rows.T)), [figure])[figure]

    found = linear_budget(values, addresses, means, covariances)
    drawn = figures_of(case, source.values(0, draws), [figure])[figure]
    return found, checked(found, spread(drawn, ENDS))
