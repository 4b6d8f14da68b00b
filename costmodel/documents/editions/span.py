"""What follows from rounded numbers by linear algebra on their slopes: whether a closed one is fixed by them, and how closely.

A closed number follows from disclosed ones by structure where its slopes are a combination of theirs at points drawn at random:
a rank test. How closely is a linear program: the least sum of their rounding, each times its weight, over all combinations.
Source: auditing in statistical disclosure control (Willenborg and de Waal, Elements of Statistical Disclosure Control), and local
identifiability by rank, both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RANK = 1e-9  # of the longest row: what is left of a row less those before it and is shorter is no direction
RESIDUE = 1e-6  # of the length of a closed number's slopes: what is less is nothing
WEIGHT = 1e-7  # of the largest share of a combination: what is less has no part in it


@dataclass(frozen=True, slots=True)
class Combination:
    """Disclosed numbers, by place, that fix a closed one, and how closely as rounded: a half width, as a part of its value."""

    places: tuple[int, ...]
    half_width: float


class Span:
    """The directions that disclosed numbers fix: `rows` are their slopes in each input, in parts of it, `halves` their rounding.

    Two shares and their total, in three digits:

    >>> span = Span(np.array([[1.0, 0.0, 0.0], [1.0, 2.0, 0.0]]), np.array([0.005, 0.005]))
    >>> follows = span.combination(np.array([0.0, 2.0, 0.0]), 2.0)
    >>> follows.places, round(follows.half_width, 6), span.combination(np.array([0.0, 0.0, 1.0]), 1.0)
    ((0, 1), 0.005, None)
    """

    def __init__(self, rows: np.ndarray, halves: np.ndarray):
        lengths = np.linalg.norm(rows, axis=1)
        self.places = np.flatnonzero((lengths > 0) & np.isfinite(lengths))
        self._rows = rows[self.places] / lengths[self.places, None]
        self._lengths, self._halves = lengths[self.places], halves[self.places]
        self.basis = _directions(self._rows)

    def fixed(self, slopes: np.ndarray) -> np.ndarray:
        """Which closed numbers, one a row of slopes, are combinations of the disclosed ones."""
        lengths = np.linalg.norm(slopes, axis=1)
        left = np.linalg.norm(slopes - (slopes @ self.basis.T) @ self.basis, axis=1)
        return (lengths > 0) & (left <= RESIDUE * lengths)

    def combination(self, slopes: np.ndarray, value: float) -> Combination | None:
        """The disclosed numbers that fix a closed one most closely; None where they do not fix it."""
        if value == 0 or not np.isfinite(value) or not self.fixed(slopes[None])[0]:
            return None
        alone = self._alone(slopes, value)
        if alone is not None:
            return alone
        from scipy.optimize import linprog

        wanted = self.basis @ slopes / np.linalg.norm(slopes)
        system = self.basis @ self._rows.T
        # a share is the weight of a row of length 1; a row counts a little besides its rounding, so that few do
        cost = self._halves / self._lengths * np.linalg.norm(slopes) / abs(value) + 1e-6
        for presolve in (True, False):
            found = linprog(
                np.concatenate([cost, cost]), A_eq=np.hstack([system, -system]), b_eq=wanted, options={"presolve": presolve}
            )
            if found.x is not None:
                shares = found.x[: len(cost)] - found.x[len(cost) :]
                break
        else:  # the solver gives up: of all combinations the one with the least squares, which is near the closest
            shares = np.linalg.lstsq(system / cost, wanted, rcond=None)[0] / cost
        used = np.flatnonzero(np.abs(shares) > WEIGHT * np.abs(shares).max())
        return Combination(tuple(int(self.places[k]) for k in used), float(np.abs(shares[used]) @ (cost[used] - 1e-6)))

    def _alone(self, slopes: np.ndarray, value: float) -> Combination | None:
        """The one disclosed number that fixes a closed one by itself, most closely; None where none does."""
        length = np.linalg.norm(slopes)
        along = self._rows @ slopes / length
        hits = np.flatnonzero(np.abs(np.abs(along) - 1.0) < RESIDUE)
        hits = hits[[np.linalg.norm(slopes / length - along[k] * self._rows[k]) < RESIDUE for k in hits]] if len(hits) else hits
        if len(hits) == 0:
            return None
        widths = self._halves[hits] / self._lengths[hits] * length / abs(value)
        best = int(np.argmin(widths))
        return Combination((int(self.places[hits[best]]),), float(widths[best]))


def _directions(rows: np.ndarray) -> np.ndarray:
    """An orthonormal basis of what rows span, by a triangular form that takes the longest rest first: a tenth of an SVD's time.

    >>> abs(_directions(np.array([[3.0, 0.0], [6.0, 0.0]]))).tolist()
    [[1.0, 0.0]]
    """
    if 0 in rows.shape:
        return np.zeros((0, rows.shape[1]))
    from scipy.linalg import qr

    directions, triangle, _ = qr(rows.T, mode="economic", pivoting=True, check_finite=False)
    sizes = np.abs(np.diag(triangle))
    return directions[:, : int(np.sum(sizes > RANK * sizes[0]))].T


def least_and_greatest(
    rows: np.ndarray, halves: np.ndarray, slopes: np.ndarray, value: float, inputs: np.ndarray
) -> tuple[float, float]:
    """The least and the greatest value of a closed number where each disclosed one may be anywhere within its rounding.

    Linear around the point; an input may be anything from 0 to twice what it is, as a reader knows no more of it.

    >>> total = np.array([[1.0, 1.0]])
    >>> [round(float(x), 6) for x in least_and_greatest(total, np.array([0.5]), np.array([1.0, 0.0]), 40.0, np.array([40.0, 2.0]))]
    [37.5, 42.5]
    """
    from scipy.optimize import linprog

    scaled, bounds = rows * inputs, [(-1.0, 1.0)] * len(inputs)
    some = np.linalg.norm(scaled, axis=1) > 0
    system = scaled[some] / np.maximum(halves[some], 1e-300)[:, None]
    size = np.maximum(np.abs(system).max(axis=1, initial=0.0), 1e-300)
    limits = 1.0 / size
    system = system / size[:, None]
    wanted = slopes * inputs
    ends: list[float] = []
    for sign in (1.0, -1.0):
        found = linprog(sign * wanted / abs(value), A_ub=np.vstack([system, -system]), b_ub=np.concatenate([limits, limits]),
                        bounds=bounds, method="highs")  # fmt: skip
        ends.append(value + sign * found.fun * abs(value) if found.x is not None else sign * -np.inf)
    return ends[0], ends[1]
