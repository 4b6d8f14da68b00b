"""Values over draws as if they stood in order: in memory while they are few, else counted from their parts, equally exact."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Protocol

import numpy as np

from .kept_draws import Values, parts_of

IN_MEMORY = 2**20  # values that are put in order as a whole
DIGIT, WORD = 11, 64  # bits that one pass decides, of the bits of a double


class Ordered(Protocol):
    """Values in order, the least first, without those that are none; means are NaN where there are no values."""

    count: int

    @property
    def mean(self) -> float:
        """Their mean."""

    @property
    def deviation(self) -> float:
        """Their standard deviation, of a sample."""

    def at(self, ranks: np.ndarray) -> np.ndarray:
        """The values at ranks, counted from 0."""

    def mean_of(self, first: int, stop: int) -> float:
        """The mean of those at the ranks from `first` to before `stop`, which begin or end the whole."""

    def above(self, limits: np.ndarray) -> np.ndarray:
        """How many are greater than each of some limits, themselves in order."""


class InMemory:
    """Values in order, as an array."""

    def __init__(self, values: np.ndarray):
        self._values = values[~np.isnan(values)]
        self._values.sort()
        self.count = len(self._values)

    @cached_property
    def mean(self) -> float:
        """Their mean."""
        return float(np.mean(self._values)) if self.count else math.nan

    @cached_property
    def deviation(self) -> float:
        """Their standard deviation, of a sample."""
        return float(np.std(self._values, ddof=1)) if self.count > 1 else 0.0

    def at(self, ranks: np.ndarray) -> np.ndarray:
        """The values at ranks."""
        return self._values[ranks]

    def mean_of(self, first: int, stop: int) -> float:
        """The mean of those at some ranks."""
        return float(np.mean(self._values[first:stop]))

    def above(self, limits: np.ndarray) -> np.ndarray:
        """How many are greater than each limit."""
        return self.count - np.searchsorted(self._values, limits, side="right")


class InParts:
    """Values that are gone through part by part, once for each question."""

    def __init__(self, parts: Iterable[np.ndarray]):
        self._parts = parts
        self.count = sum(len(part) for part in self._there())

    def _there(self) -> Iterable[np.ndarray]:
        return (part[~np.isnan(part)] for part in self._parts)

    @cached_property
    def mean(self) -> float:
        """Their mean."""
        return math.fsum(float(np.sum(part)) for part in self._there()) / self.count if self.count else math.nan

    @cached_property
    def deviation(self) -> float:
        """Their standard deviation, of a sample."""
        if self.count < 2:
            return 0.0
        return math.sqrt(math.fsum(float(np.sum((part - self.mean) ** 2)) for part in self._there()) / (self.count - 1))

    def at(self, ranks: np.ndarray) -> np.ndarray:
        """The values at ranks: pass by pass, the next bits of each are those below which so many values lie.

        Doubles as whole numbers (`_keys`) have the order of the values, so each pass counts, for each beginning of bits found so
        far, the values by their next bits.
        """
        begins, left = np.zeros(len(ranks), dtype=np.uint64), np.asarray(ranks, dtype=np.int64)
        for done in range(0, WORD, DIGIT):
            bits = min(DIGIT, WORD - done)
            rest = np.uint64(WORD - done - bits)
            known, which = np.unique(begins, return_inverse=True)
            counts = np.zeros((len(known), 1 << bits), dtype=np.int64)
            for part in self._there():
                keys = _keys(part) >> rest
                begun = keys >> np.uint64(bits)
                place = np.minimum(np.searchsorted(known, begun), len(known) - 1)
                its = known[place] == begun
                digits = (keys[its] & np.uint64((1 << bits) - 1)).astype(np.int64)
                counts += np.bincount((place[its] << bits) + digits, minlength=counts.size).reshape(counts.shape)
            below = np.cumsum(counts, axis=1)[which]
            digit = (below <= left[:, None]).sum(axis=1)
            left = left - np.where(digit > 0, below[np.arange(len(digit)), digit - 1], 0)
            begins = (begins << np.uint64(bits)) + digit.astype(np.uint64)
        return _doubles(begins)

    def mean_of(self, first: int, stop: int) -> float:
        """The mean of those at some ranks, which begin or end the whole: all beyond the last of them, and as many of its like."""
        (edge,) = self.at(np.array([stop - 1 if first == 0 else first]))
        beyond = [part[part < edge] if first == 0 else part[part > edge] for part in self._there()]
        sums, count = math.fsum(float(np.sum(part)) for part in beyond), sum(len(part) for part in beyond)
        return (sums + (stop - first - count) * float(edge)) / (stop - first)

    def above(self, limits: np.ndarray) -> np.ndarray:
        """How many are greater than each limit."""
        found = np.zeros(len(limits), dtype=np.int64)
        for part in self._there():
            found += len(part) - np.searchsorted(np.sort(part), limits, side="right")
        return found


def _keys(values: np.ndarray) -> np.ndarray:
    """Doubles as whole numbers of the same order (IEEE 754: by sign and magnitude).

    >>> bool(np.all(np.diff(_keys(np.array([-2.0, -1.0, 0.0, 1e-300, 1.0])).astype(float)) > 0))
    True
    """
    bits = (values + 0.0).view(np.uint64)  # adding makes -0.0 a 0.0
    return np.where(bits >> np.uint64(63), ~bits, bits | np.uint64(1 << 63))


def _doubles(keys: np.ndarray) -> np.ndarray:
    """Back from whole numbers.

    >>> _doubles(_keys(np.array([-2.5, 0.0, 3.0]))).tolist()
    [-2.5, 0.0, 3.0]
    """
    return np.where(keys >> np.uint64(63), keys & np.uint64((1 << 63) - 1), ~keys).view(np.float64)


def ordered(values: Values) -> Ordered:
    """Values in order, without those that are none (NaN).

    >>> found = ordered(np.array([3.0, np.nan, 1.0]))
    >>> found.count, found.mean, found.at(np.array([0, 1])).tolist()
    (2, 2.0, [1.0, 3.0])
    """
    return InMemory(np.asarray(values)) if len(values) <= IN_MEMORY else InParts(parts_of(values))


def between(there: Ordered, shares: Sequence[float] | np.ndarray) -> np.ndarray:
    """Quantiles, linear between two values: at rank (n - 1) times the share (NumPy's default; Hyndman and Fan 1996, type 7).

    >>> between(ordered(np.array([1.0, 2.0, 4.0])), [0.0, 0.75]).tolist()
    [1.0, 3.0]
    """
    at = (there.count - 1) * np.asarray(shares)
    low = np.floor(at).astype(np.int64)
    one, other = there.at(np.concatenate([low, np.minimum(low + 1, there.count - 1)])).reshape(2, -1)
    part, apart = at - low, np.where(one == other, 0.0, other - one)
    return np.where(part < 0.5, one + apart * part, other - apart * (1 - part))
