"""Which uncertain inputs carry the variance of a figure: first-order and total-effect indices."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from .draws import Draws
from .many import figures_of, wanted_figures

RESAMPLES = 200
COVERAGE = 0.95


@dataclass(frozen=True, slots=True)
class Share:
    """What one block of inputs carries: alone (`first`) and with all that it does together with others (`total`), of the variance.

    The errors are half-widths of 95 % intervals by bootstrap.
    """

    name: str
    first: float
    first_error: float
    total: float
    total_error: float


@dataclass(frozen=True)
class Shares:
    """The shares of all blocks, the largest total first; `without` is the share of points left out as they have no value."""

    found: tuple[Share, ...]
    variance: float
    without: float
    runs: int

    def carrying(self, part: float) -> list[Share]:
        """The fewest blocks whose total effects make up a part of the sum of all total effects."""
        whole, taken, found = sum(share.total for share in self.found), 0.0, []
        for share in self.found:
            if whole <= 0 or taken >= part * whole * (1 - 1e-12):
                break
            found.append(share)
            taken += share.total
        return found


@dataclass(frozen=True, slots=True)
class Pair:
    """What two blocks carry together of the variance, beyond what each carries alone, with the half-width of its 95 % interval."""

    one: str
    two: str
    share: float
    error: float


@dataclass(frozen=True)
class Pairs:
    """The shares of all pairs, the largest first; `without` is the share of points left out as they have no value."""

    found: tuple[Pair, ...]
    variance: float
    without: float
    runs: int


def variance_shares(
    function: Callable[[np.ndarray], np.ndarray], blocks: Mapping[str, Sequence[int]], points: int, seed: int
) -> Shares:
    """Indices of a function of independent shares of probability: a row for each point, a column for each dimension.

    `blocks` names groups of columns; `points` is a power of two; the function is called once, with `points * (blocks + 2)` rows.
    Total effects by Jansen's estimator, first order by Saltelli's (2010), as SALib has them, on scrambled Sobol points.
    Points where any of these values is NaN are left out.

    >>> twice = variance_shares(lambda x: 2 * x[:, 0] + x[:, 1], {"a": [0], "b": [1]}, points=1024, seed=0)
    >>> [(share.name, round(share.total, 1)) for share in twice.found]
    [('a', 0.8), ('b', 0.2)]
    """
    sampled, names = _sampled(function, blocks, points, seed, second=False)
    variance, without, runs = sampled.variance, sampled.without, sampled.runs
    if not variance:
        return Shares(tuple(Share(name, 0.0, 0.0, 0.0, 0.0) for name in names), 0.0, without, runs)
    found = sampled.analysed(seed)
    shares = [Share(*each) for each in zip(names, *(map(float, found[key]) for key in ("S1", "S1_conf", "ST", "ST_conf")))]
    return Shares(tuple(sorted(shares, key=lambda s: -s.total)), variance, without, runs)


def pair_shares(function: Callable[[np.ndarray], np.ndarray], blocks: Mapping[str, Sequence[int]], points: int, seed: int) -> Pairs:
    """Second-order indices, as `variance_shares` has its own; the function is called with `points * (2 * blocks + 2)` rows.

    Source: Saltelli 2002, as SALib has it.

    >>> product = pair_shares(lambda x: (x[:, 0] - 0.5) * (x[:, 1] - 0.5), {"a": [0], "b": [1]}, points=1024, seed=0)
    >>> [(pair.one, pair.two, round(pair.share, 1)) for pair in product.found]
    [('a', 'b', 1.0)]
    """
    sampled, names = _sampled(function, blocks, points, seed, second=True)
    places = [(one, two) for one in range(len(names)) for two in range(one + 1, len(names))]
    if not sampled.variance:
        found = [Pair(names[one], names[two], 0.0, 0.0) for one, two in places]
    else:
        made = sampled.analysed(seed)
        found = [Pair(names[i], names[j], float(made["S2"][i, j]), float(made["S2_conf"][i, j])) for i, j in places]
    return Pairs(tuple(sorted(found, key=lambda pair: -pair.share)), sampled.variance, sampled.without, sampled.runs)


@dataclass(frozen=True)
class _Sampled:
    """The values of a function at the points of an estimator: a row for each base point that has all of them."""

    problem: dict
    left: np.ndarray
    variance: float
    without: float
    runs: int
    second: bool

    def analysed(self, seed: int) -> Mapping[str, np.ndarray]:
        """The indices; SALib takes a seed of 0 for none."""
        from SALib.analyze import sobol as analysis

        return analysis.analyze(
            self.problem, self.left.ravel(), calc_second_order=self.second, num_resamples=RESAMPLES, conf_level=COVERAGE,
            seed=seed + 1,
        )  # fmt: skip


def _sampled(
    function: Callable[[np.ndarray], np.ndarray], blocks: Mapping[str, Sequence[int]], points: int, seed: int, second: bool
) -> tuple[_Sampled, list[str]]:
    """The values of a function at all points, and the names of the blocks. Raises InputFaults."""
    from SALib.sample import sobol as sample

    if points < 2 or points & (points - 1):
        raise InputFaults([Fault("--points", None, None, f"{points}", "a power of two from 2")])
    columns = sorted((column, name) for name, held in blocks.items() for column in held)
    groups = [name for _, name in columns]
    names = list(dict.fromkeys(groups))
    problem = {"num_vars": len(columns), "names": [f"x{column}" for column, _ in columns], "groups": groups}
    problem["bounds"] = [[0.0, 1.0]] * len(columns)
    values = function(sample.sample(problem, points, calc_second_order=second, seed=seed))
    sets = values.reshape(points, (2 * len(names) if second else len(names)) + 2)
    there = ~np.isnan(sets).any(axis=1)
    left = sets[there]
    variance = float(np.var(left[:, [0, -1]])) if len(left) > 1 else 0.0
    if variance <= 1e-24 * (float(np.max(np.abs(left))) if len(left) else 0.0) ** 2 or len(left) < 2:
        variance = 0.0
    return _Sampled(problem, left, variance, float(np.mean(~there)), len(values), second), names


def rank(case: Case, figure: str, points: int, seed: int) -> tuple[Shares, dict[str, tuple[str, ...]]]:
    """The shares of what is uncertain in a case, and the rows of ranges.csv in each block; the case is taken as it is.

    A block is a group of ranges.csv, since its inputs move together; groups that are correlated are one block.

    Raises InputFaults.
    """
    wanted_figures(case, [figure])
    draws = Draws(case, seed)
    shares = variance_shares(lambda at: figures_of(case, draws.values_of(at), [figure])[figure], draws.blocks, points, seed)
    held = {name: tuple(row for k in block for row in draws.drivers[k].ranges) for name, block in draws.blocks.items()}
    return shares, held


def rank_pairs(case: Case, figure: str, points: int, seed: int) -> Pairs:
    """The shares of pairs of blocks of what is uncertain in a case; blocks as in `rank`. Raises InputFaults."""
    wanted_figures(case, [figure])
    draws = Draws(case, seed)
    return pair_shares(lambda at: figures_of(case, draws.values_of(at), [figure])[figure], draws.blocks, points, seed)
