"""How closely a reader of an edition can narrow closed numbers that do not follow from it.

Each stated number may be anywhere within its rounding, each other input within what a reader knows of it. Source: bounds of
suppressed cells by linear programs, as in statistical disclosure control (Willenborg and de Waal), from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .span import Combination, narrowed, surely_wider
from .stated_numbers import Stated

TAKEN = 0.5  # of what a reader knows anyway: an edition that leaves more of it open narrows nothing


class Narrowing:
    """What numbers that are stated leave open of closed ones, at a point; `rows` are theirs and those of what a reader knows.

    Slopes, one row a number, are in parts of how far a reader knows each input to reach.

    >>> known = Narrowing([], np.array([[1.0, 0.0]]), np.array([0.2]), np.array([[1.0, 0.0], [1.0, 1.0]]), np.array([1.0, 1.0]))
    >>> known.anyway(0), known.left_open(1).half_width, known.narrow(0, 0.5)
    (0.2, 1.2, None)
    """

    def __init__(self, stated: Sequence[Stated], rows: np.ndarray, halves: np.ndarray, slopes: np.ndarray, values: np.ndarray):
        self.stated, self._slopes, self._values = stated, slopes, values
        self._finite = np.flatnonzero(np.isfinite(rows).all(axis=1))
        self._rows, self._halves = rows[self._finite], halves[self._finite]

    def may_be_narrow(self, share: float) -> np.ndarray:
        """Which numbers may be known to a share of their value, without a linear program; none of those that are 0 or that stay."""
        some = np.isfinite(self._values) & (self._values != 0) & np.isfinite(self._slopes).all(axis=1) & self._slopes.any(axis=1)
        if some.any():
            some[some] = surely_wider(self._rows, self._slopes[some]) < share * np.abs(self._values[some])
        return some

    def left_open(self, number: int) -> Combination:
        """What is left open of a number, in parts of its value, and the stated numbers that narrow it."""
        found = self._by(number, np.arange(len(self._finite)))
        return replace(found, places=tuple(place for place in found.places if place < len(self.stated)))

    def _by(self, number: int, kept: np.ndarray) -> Combination:
        found = narrowed(self._rows[kept], self._halves[kept], self._slopes[number], self._values[number])
        return replace(found, places=tuple(int(self._finite[kept[k]]) for k in found.places))

    def anyway(self, number: int) -> float:
        """The half width to which a reader knows a number without what is stated, as a part of its value."""
        return self._by(number, np.flatnonzero(self._finite >= len(self.stated))).half_width

    def narrow(self, number: int, share: float) -> Combination | None:
        """What narrows a number to a share of its value and to half of what is known anyway; None where nothing does."""
        found = self.left_open(number)
        if (found.closest and found.half_width > share) or found.half_width > TAKEN * self.anyway(number):
            return None
        return found
