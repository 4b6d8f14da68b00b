"""What follows from rounded numbers by linear algebra on their slopes: whether a closed one is fixed by them, and how closely.

A closed number follows from disclosed ones by structure where its slopes are a combination of theirs at points drawn at random:
a rank test. How closely is a linear program: the least sum of their rounding, each times its weight, over all combinations. One
factorisation bounds it for all closed numbers from both sides, by least squares and by duality, so that the program is solved only
where the bounds leave open on which side of a share it is, and where the numbers that give one away are to be named.
Source: auditing in statistical disclosure control (Willenborg and de Waal, Elements of Statistical Disclosure Control), and local
identifiability by rank, both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

RANK = 1e-9  # of the longest row: what is left of a row less those before it and is shorter is no direction
NOISE = 1e-13  # of the same: where rows are only turned, so that what is smaller than a direction is kept
RESIDUE = 1e-6  # of the length of a closed number's slopes: what is less is nothing
SLACK = 1e-7  # of the same length: how exactly a combination need meet the slopes, as for the solver of linear programs
RIDGE = 1e-5  # weight of what is missed of the slopes, where widths are bounded: directions that are hardly any do not matter
ROUNDS, LEAST = 40, 1e-12  # of least squares that come near the closest combination; of a share, so that none is left out for good
FLOOR = 1e-9  # least cost of a row of length 1, where widths are bounded
WEIGHT = 1e-7  # of the largest share of a combination: what is less has no part in it


@dataclass(frozen=True, slots=True)
class Combination:
    """Disclosed numbers, by place, that fix a closed one, and how closely as rounded: a half width, as a part of its value.

    `closest` says whether no combination fixes it more closely; not so where the solver gave up. Where the closed one does not
    `follow`, they only narrow it.
    """

    places: tuple[int, ...]
    half_width: float
    closest: bool = True
    follows: bool = True


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

    @cached_property
    def _system(self) -> np.ndarray:
        """The disclosed rows, one a column, in the directions that they span."""
        return self.basis @ self._rows.T

    @cached_property
    def _costs(self) -> np.ndarray:
        """What a share of 1 of each row costs: its rounding, and hardly anything besides."""
        return self._halves / self._lengths + FLOOR

    def _bounds(self, wanted: np.ndarray, weights: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Bounds of what wanted directions, one a column, cost, from below and above, by least squares with weights; the shares.

        Above: the combination of least squares is one of all. Below: what moves along a direction by no more than the rounding of
        each disclosed number is seen by nobody, however far it moves the closed one.
        """
        from scipy.linalg import qr, solve_triangular

        weighed = np.vstack([(self._system * weights).T, RIDGE * np.eye(len(self.basis))])
        triangle = qr(weighed, mode="r", check_finite=False)[0][: len(self.basis)]
        ways = solve_triangular(triangle, solve_triangular(triangle, wanted, trans="T"))
        moved = self._system.T @ ways
        shares = (weights**2)[:, None] * moved
        ways = ways / (np.abs(moved) / self._costs[:, None]).max(axis=0)
        least = (ways * wanted).sum(axis=0) - SLACK * np.abs(ways).sum(axis=0)
        met = np.linalg.norm(self._system @ shares - wanted, axis=0) <= RESIDUE
        return least, np.where(met, (self._costs - FLOOR) @ np.abs(shares), np.inf), shares

    def widths(self, slopes: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Bounds, from below and above, of how closely disclosed ones fix closed ones, one a row, that are fixed, as half widths.

        >>> span = Span(np.array([[1.0, 0.0], [1.0, 2.0]]), np.array([0.005, 0.005]))
        >>> [round(float(each[0]), 5) for each in span.widths(np.array([[0.0, 2.0]]), np.array([2.0]))]
        [0.005, 0.005]
        """
        lengths = np.linalg.norm(slopes, axis=1)
        least, most, _ = self._bounds(self.basis @ (slopes / lengths[:, None]).T, 1.0 / self._costs)
        return least * lengths / np.abs(values), most * lengths / np.abs(values)

    def is_closer(self, slopes: np.ndarray, value: float, share: float) -> bool | None:
        """Whether a closed number that is fixed is known to a share of its value or closer; None where the bounds leave it open.

        Shares that cost more count for less in the next least squares, so that these come near the closest combination.
        """
        length = np.linalg.norm(slopes)
        wanted, weights = (self.basis @ slopes / length)[:, None], 1.0 / self._costs
        for _ in range(ROUNDS):
            least, most, shares = self._bounds(wanted, weights)
            if least[0] * length > share * abs(value):
                return False
            if most[0] * length <= share * abs(value):
                return True
            weights = np.sqrt((np.abs(shares[:, 0]) + LEAST) / self._costs)
        return None

    def combination(self, slopes: np.ndarray, value: float) -> Combination | None:
        """The disclosed numbers that fix a closed one most closely; None where they do not fix it."""
        if value == 0 or not np.isfinite(value) or not self.fixed(slopes[None])[0]:
            return None
        from scipy.optimize import linprog

        wanted = self.basis @ slopes / np.linalg.norm(slopes)
        system, closest = self._system, True
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
            closest = False
            shares = np.linalg.lstsq(system / cost, wanted, rcond=None)[0] / cost
        used = np.flatnonzero(np.abs(shares) > WEIGHT * np.abs(shares).max())
        return Combination(tuple(int(self.places[k]) for k in used), float(np.abs(shares[used]) @ (cost[used] - 1e-6)), closest)

    def alone(self, slopes: np.ndarray, value: float) -> Combination | None:
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


def _directions(rows: np.ndarray, least: float = RANK) -> np.ndarray:
    """An orthonormal basis of what rows span, by a triangular form that takes the longest rest first: a tenth of an SVD's time.

    >>> abs(_directions(np.array([[3.0, 0.0], [6.0, 0.0]]))).tolist()
    [[1.0, 0.0]]
    """
    if 0 in rows.shape:
        return np.zeros((0, rows.shape[1]))
    from scipy.linalg import qr

    directions, triangle, _ = qr(rows.T, mode="economic", pivoting=True, check_finite=False)
    sizes = np.abs(np.diag(triangle))
    return directions[:, : int(np.sum(sizes > least * sizes[0]))].T


def turned(rows: np.ndarray, others: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows in the directions that they span, and others in these with the length of what is left of each as one number more.

    So few columns say of any choice of the rows what follows from it. Rows that are not finite are NaN.

    >>> [abs(each).round(9).tolist() for each in turned(np.array([[3.0, 4.0, 0.0]]), np.array([[0.0, 0.0, 2.0], [6.0, 8.0, 0.0]]))]
    [[[5.0, 0.0]], [[0.0, 2.0], [10.0, 0.0]]]
    """
    lengths = np.linalg.norm(rows, axis=1)
    some = (lengths > 0) & np.isfinite(lengths)
    directions = _directions(rows[some] / lengths[some, None], NOISE)
    found = []
    for each in (rows, others):
        lengths = np.linalg.norm(each, axis=1)
        finite = np.isfinite(lengths)
        unit = each[finite] / np.where(lengths[finite] > 0, lengths[finite], 1.0)[:, None]
        along = unit @ directions.T
        rest = np.linalg.norm(unit - along @ directions, axis=1) if each is others else np.zeros(len(unit))
        made = np.full((len(each), len(directions) + 1), np.nan)
        made[finite] = np.column_stack([along, rest]) * lengths[finite, None]
        found.append(made)
    return found[0], found[1]


def surely_wider(rows: np.ndarray, slopes: np.ndarray) -> np.ndarray:
    """How far each closed number can be moved, one a row of slopes, by inputs within reach that move no disclosed number.

    >>> surely_wider(np.array([[1.0, 1.0]]), np.array([[1.0, 0.0], [2.0, 2.0]])).round(9).tolist()
    [1.0, 0.0]
    """
    basis = Span(rows, np.ones(len(rows))).basis
    rest = slopes - (slopes @ basis.T) @ basis
    most = np.abs(rest).max(axis=1, initial=0.0)
    some = most > RESIDUE * np.linalg.norm(slopes, axis=1)  # what is less is noise of the arithmetic
    return np.where(some, np.einsum("ij,ij->i", slopes, rest) / np.maximum(most, 1e-300), 0.0)


def narrowed(rows: np.ndarray, halves: np.ndarray, slopes: np.ndarray, value: float) -> Combination:
    """The disclosed numbers that narrow a closed one most, each anywhere within its rounding and each input within its reach.

    Slopes are in parts of the reach of each input, and linear around the point: so the greatest value is as far off as the least.
    The numbers come in the order of how much of what is open they take away.

    >>> total = np.array([[40.0, 2.0]])
    >>> found = narrowed(total, np.array([0.5]), np.array([40.0, 0.0]), 40.0)
    >>> found.places, round(40.0 * found.half_width, 6)
    ((0,), 2.5)
    """
    from scipy.optimize import linprog

    places = np.flatnonzero(np.abs(rows).sum(axis=1) > halves)  # what is stated more coarsely than it can move tells nothing
    system = rows[places] / np.maximum(halves[places], 1e-300)[:, None]
    limits = 1.0 / np.maximum(np.abs(system).max(axis=1, initial=0.0), 1e-300)
    system = system * limits[:, None]
    both, wanted = np.vstack([system, -system]), slopes / abs(value)
    for presolve in (True, False):
        found = linprog(-wanted, A_ub=both, b_ub=np.tile(limits, 2), bounds=(-1.0, 1.0), options={"presolve": presolve})
        if found.x is not None:
            shares, half = np.abs(found.ineqlin.marginals).reshape(2, -1).sum(axis=0), -float(found.fun)
            break
    else:  # the solver gives up: the combination of least squares, which is no closer than the closest
        weighed = np.vstack([system.T, np.diag(limits)])
        made = np.linalg.lstsq(weighed, np.concatenate([wanted, np.zeros(len(places))]), rcond=None)[0]
        shares, half = np.abs(made), float(np.abs(made) @ limits + np.abs(wanted - made @ system).sum())
    weights = shares * np.abs(system).sum(axis=1)
    used = [k for k in np.argsort(-weights, kind="stable") if weights[k] > WEIGHT * weights.max(initial=0.0)]
    return Combination(tuple(int(places[k]) for k in used), half, found.x is not None, False)
