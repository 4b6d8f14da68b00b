"""The shapes of uncertainty: the value of an input for a share of probability below it. All functions take and give arrays."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from ..case.range_records import Range
from ..case.whole_case import Case
from .axes import declared

_FURTHEST_SCORE, _STEP = 8.5, 0.00425  # shares as near to 0 and 1 as draws come; between normal scores of a table
LOW_SCORE = -1.6448536269514722  # normal quantile of 5 %; of normal and lognormal, 5 % lie below low and above high

Quantile = Callable[[np.ndarray], np.ndarray]


def triangular(low: float, mode: float, high: float) -> Quantile:
    """Triangular between `low` and `high`.

    >>> triangular(27.0, 30.0, 33.0)(np.array([0.0, 0.5, 1.0])).tolist()
    [27.0, 30.0, 33.0]
    """
    width = high - low

    def quantile(share: np.ndarray) -> np.ndarray:
        """The values below which these shares lie."""
        if width == 0.0:
            return np.full(len(share), low)
        rising = low + np.sqrt(share * width * (mode - low))
        falling = high - np.sqrt((1.0 - share) * width * (high - mode))
        return np.where(share * width < mode - low, rising, falling)

    return quantile


@lru_cache(maxsize=64)  # a table takes 4 ms, and each study of a case takes the same ones
def pert(low: float, mode: float, high: float) -> Quantile:
    """Beta between `low` and `high` with weight 4 on the mode: shapes 1 + 4 (mode - low)/(high - low) and 1 + 4 (high - mode)/...

    Read off a fine table of the quantile, to 1e-12 of the width, as the inverse itself takes a hundred times as long.

    >>> pert(10.0, 30.0, 50.0)(np.array([0.5])).round(9).tolist()
    [30.0]
    """
    from scipy.special import ndtri

    if low == high:
        return lambda share: np.full(len(share), low)
    cubics = _cubics(1.0 + 4.0 * (mode - low) / (high - low), 1.0 + 4.0 * (high - mode) / (high - low))

    def quantile(share: np.ndarray) -> np.ndarray:
        """The values below which these shares lie."""
        place = np.clip((ndtri(share) + _FURTHEST_SCORE) / _STEP, 0.0, cubics.shape[1])
        cell = np.minimum(place.astype(np.int64), cubics.shape[1] - 1)
        part = place - cell
        constant, slope, square, cube = cubics.take(cell, axis=1)
        return np.clip(low + (high - low) * (((cube * part + square) * part + slope) * part + constant), low, high)

    return quantile


def _cubics(first: float, second: float) -> np.ndarray:
    """The quantile of a beta distribution between 0 and 1 over normal scores, where it is smooth, ends and all.

    A cubic in each cell between two scores, from values and slopes at both ends (Hermite's); a row for each power from 0 to 3. The
    slope is the density of the score over that of the value, as of any inverse.
    """
    from scipy.special import betaincinv, betaln, ndtr

    scores = np.linspace(-_FURTHEST_SCORE, 0.0, round(_FURTHEST_SCORE / _STEP) + 1)

    def up_to_the_middle(shape: float, other: float) -> tuple[np.ndarray, np.ndarray]:
        """Values and slopes for scores from the lowest to 0."""
        values = betaincinv(shape, other, ndtr(scores))
        logarithm = (shape - 1.0) * np.log(values) + (other - 1.0) * np.log1p(-values) - betaln(shape, other)
        return values, np.exp(-0.5 * scores**2 - logarithm) / np.sqrt(2.0 * np.pi)

    (values, slopes), (left, falling) = up_to_the_middle(first, second), up_to_the_middle(second, first)
    values, slopes = np.concatenate([values, 1.0 - left[-2::-1]]), _STEP * np.concatenate([slopes, falling[-2::-1]])
    gain, at_low, at_high = np.diff(values), slopes[:-1], slopes[1:]
    return np.stack([values[:-1], at_low, 3.0 * gain - 2.0 * at_low - at_high, at_low + at_high - 2.0 * gain])


def uniform(low: float, high: float) -> Quantile:
    """Uniform between `low` and `high`."""
    return lambda share: low + (high - low) * share


def normal(low: float, high: float, least: float = -np.inf, greatest: float = np.inf) -> Quantile:
    """Normal with 5 % below `low` and 5 % above `high`, cut off at `least` and `greatest`.

    >>> normal(-1.6448536269514722, 1.6448536269514722)(np.array([0.5, 0.975])).round(6).tolist()
    [0.0, 1.959964]
    """
    mean, deviation = 0.5 * (low + high), 0.5 * (high - low) / -LOW_SCORE

    def quantile(share: np.ndarray) -> np.ndarray:
        """The values below which these shares lie."""
        from scipy.special import ndtr, ndtri

        below, above = ndtr((least - mean) / deviation), ndtr((greatest - mean) / deviation)
        return np.clip(mean + deviation * ndtri(below + share * (above - below)), least, greatest)

    return quantile


def lognormal(low: float, high: float, least: float = 0.0, greatest: float = np.inf) -> Quantile:
    """Lognormal with 5 % below `low` and 5 % above `high`, cut off at `least` and `greatest`.

    >>> lognormal(1.0, 4.0)(np.array([0.05, 0.5])).round(9).tolist()
    [1.0, 2.0]
    """
    with np.errstate(divide="ignore"):
        cut = np.log(max(least, 0.0)), np.log(greatest)
    of_logarithm = normal(float(np.log(low)), float(np.log(high)), *cut)
    return lambda share: np.clip(np.exp(of_logarithm(share)), least, greatest)


def discrete(values: np.ndarray, probabilities: np.ndarray) -> Quantile:
    """One of a few values, each with its probability; the least first, so that correlations have a meaning.

    >>> discrete(np.array([3.0, 1.0]), np.array([0.25, 0.75]))(np.array([0.5, 0.8])).tolist()
    [1.0, 3.0]
    """
    order = np.argsort(values, kind="stable")
    ends = np.cumsum(probabilities[order])
    return lambda share: values[order][np.minimum(np.searchsorted(ends, share, side="right"), len(values) - 1)]


def empirical(values: np.ndarray) -> Quantile:
    """One of the measured values, each as likely as the next.

    >>> empirical(np.array([2.0, 1.0]))(np.array([0.1, 0.9])).tolist()
    [1.0, 2.0]
    """
    return discrete(values, np.full(len(values), 1.0 / len(values)))


def of_range(case: Case, identity: str) -> Quantile:
    """The distribution of a row of ranges.csv, in base units; normal and lognormal are cut off at what the input allows."""
    row: Range = case.ranges[identity]
    if row.distribution == "triangular":
        return triangular(row.low, row.mode, row.high)
    if row.distribution == "pert":
        return pert(row.low, row.mode, row.high)
    if row.distribution == "uniform":
        return uniform(row.low, row.high)
    if row.distribution == "discrete":
        own = [outcome for outcome in case.outcomes.values() if outcome.range == identity]
        return discrete(np.array([o.value for o in own]), np.array([o.probability for o in own]))
    if row.distribution == "empirical":
        return empirical(np.array(case.measurements[identity]))
    declaration = declared(case, row.address)
    least = -np.inf if declaration.low is None else declaration.low
    if declaration.above is not None:
        least = float(np.nextafter(max(least, declaration.above), np.inf))
    greatest = np.inf if declaration.high is None else declaration.high
    return (normal if row.distribution == "normal" else lognormal)(row.low, row.high, least, greatest)
