"""Where a function of one value passes zero, and where it jumps: a scan, then each bracket narrowed, all of them at once.

The one search for roots on arrays. Two roots between neighbouring points of a scan, or one that only touches, are not seen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

FINER = 33  # points by which each bracket is looked at again
APART = np.array([1e-2, 1e-3, 1e-4, 1e-6, 1e-8, 1e-10])  # of its width: how far from a secant's zero it is looked at besides
CLOSE = 1e-13  # relative width of a bracket at which the search ends
NOTHING = 1e-3  # of the width of a bracket: the value to which widths are held near zero
JUMP = 1e-6  # of the spread of a function: what is left between two neighbours that are as close as numbers go
EVEN, SMALL = 401, 100  # points of a scan: evenly spaced, and the rest in equal ratios from its low end
SECANTS, CLOSEST = 12, 1e-9  # of a search by secants: how many at most, and what counts as zero
SMALLEST = 1e-7  # of the width of a scan: its first step

Function = Callable[..., np.ndarray]
At = Callable[[np.ndarray, np.ndarray], np.ndarray]
Holds = Callable[[np.ndarray, np.ndarray], np.ndarray]
Brackets = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]  # low, the function there, high, the function there


@dataclass(frozen=True, slots=True)
class Change:
    """Two neighbours, as close as numbers go, between which a function passes zero or jumps, and its values there."""

    low: float
    high: float
    at_low: float
    at_high: float
    jump: bool

    @property
    def nearest(self) -> float:
        """The neighbour at which the function is closer to zero."""
        return self.low if abs(self.at_low) <= abs(self.at_high) else self.high

    @property
    def residual(self) -> float:
        """What is left of the function there."""
        return self.at_low if abs(self.at_low) <= abs(self.at_high) else self.at_high

    @property
    def rises(self) -> bool:
        """Whether the function is greater behind it than before it."""
        return self.at_high > self.at_low


Stretches = tuple[tuple[float, float], ...]


def common(one: Stretches, other: Stretches) -> Stretches:
    """Where both of two rows of stretches are.

    >>> common(((0.0, 3.0), (5.0, 9.0)), ((2.0, 6.0),))
    ((2.0, 3.0), (5.0, 6.0))
    """
    both = [(max(a, c), min(b, d)) for a, b in one for c, d in other]
    return tuple(sorted((low, high) for low, high in both if low <= high))


@dataclass(frozen=True)
class Profile:
    """A function along a scan of one value, and all places at which it changes from negative to not negative or back."""

    grid: np.ndarray
    values: np.ndarray
    changes: tuple[Change, ...]

    @cached_property
    def stretches(self) -> Stretches:
        """Where the function is not negative: from, to; the ends are those of the scan, or just inside of a change."""
        starts = [float(self.grid[0])] if self.values[0] >= 0 else []
        starts += [change.high for change in self.changes if change.at_high >= 0]
        stops = [change.low for change in self.changes if change.at_low >= 0]
        stops += [float(self.grid[-1])] if self.values[-1] >= 0 else []
        return tuple(zip(starts, stops))

    @property
    def roots(self) -> tuple[Change, ...]:
        """The changes that are no jumps."""
        return tuple(change for change in self.changes if not change.jump)


def scan_of(low: float, high: float, *also: float, points: int = EVEN) -> np.ndarray:
    """Points from low to high: even ones, finer ones near the low end, where a wide scan hides most, and some values within.

    >>> found = scan_of(0.0, 1e6, 250.5)
    >>> float(found[0]), float(found[-1]), 250.5 in found, round(float(found[1]), 9)
    (0.0, 1000000.0, True, 0.1)
    """
    small = low + (high - low) * np.geomspace(SMALLEST, 1.0 / points, SMALL)
    within = [value for value in also if low <= value <= high]
    return np.unique(np.concatenate([np.linspace(low, high, points), small, within]))


def profiles(function: Function, grid: np.ndarray, arguments: Sequence[np.ndarray] = (), values: np.ndarray | None = None):
    """One profile for each row of arguments: `function` takes points and the arguments, all arrays of one shape.

    `values` are those over the grid, a row for each of the arguments, where they are known.

    >>> [found.stretches for found in profiles(lambda x, c: x - c, np.linspace(0.0, 1.0, 5), [np.array([0.5, 7.0])])]
    [((0.5, 1.0),), ()]
    """
    rows = len(arguments[0]) if arguments else 1
    if values is None:
        flat = [np.repeat(argument, len(grid)) for argument in arguments]
        values = _values(function, np.tile(grid, rows), *flat).reshape(rows, len(grid))
    inside = values >= 0
    row, cell = np.nonzero(inside[:, :-1] != inside[:, 1:])
    at = _at(function, [argument[row] for argument in arguments])
    was = inside[row, cell][:, None]
    brackets = grid[cell], values[row, cell], grid[cell + 1], values[row, cell + 1]
    found = narrow(at, lambda made, rows: (made >= 0) != was[rows], brackets, target=0.0)
    scale = JUMP * _spread(values)
    made: list[list[Change]] = [[] for _ in range(rows)]
    for r, low, at_low, high, at_high in zip(row.tolist(), *(each.tolist() for each in found)):
        made[r].append(Change(low, high, at_low, at_high, not abs(at_high - at_low) <= scale[r]))
    return [Profile(grid, values[r], tuple(changes)) for r, changes in enumerate(made)]


def profile(function: Function, grid: np.ndarray) -> Profile:
    """The profile of a function of one value.

    >>> profile(lambda x: np.where(x < 0.3, -1.0, x), np.linspace(0.0, 1.0, 5)).changes[0].jump
    True
    """
    return profiles(function, grid)[0]


def first(function: Function, grid: np.ndarray, jumps: bool = False) -> float:
    """The first root of a function on a scan, its low end included, or with `jumps` the first change; NaN for none.

    >>> first(lambda x: x**2 - 0.25, np.linspace(-1.0, 1.0, 8)), first(lambda x: x + 2.0, np.linspace(-1.0, 1.0, 8))
    (-0.5, nan)
    """
    found = profile(function, grid)
    if found.values[0] == 0:
        return float(grid[0])
    there = found.changes if jumps else found.roots
    return there[0].nearest if there else float("nan")


def jumps(function: Function, found: Profile) -> tuple[Change, ...]:
    """All jumps of a function that its scan shows, past zero or not, from low to high.

    A cell is looked at where the function is steeper than in both cells beside it, and narrowed to where it changes most.

    >>> stairs = lambda x: 5.0 + x + np.where(x > 0.3, 2.0, 0.0)
    >>> found = jumps(stairs, profile(stairs, np.linspace(0.0, 1.0, 9)))
    >>> [(round(jump.low, 9), round(jump.at_high - jump.at_low, 9)) for jump in found]
    [(0.3, 2.0)]
    """
    grid, values, scale = found.grid, found.values, JUMP * _spread(found.values[None, :])[0]
    width = np.diff(grid)
    slope = np.diff(values) / width
    before, behind = np.append(slope[1:2], slope[:-1]), np.append(slope[1:], slope[-2:-1])
    over = np.maximum(slope - np.maximum(before, behind), np.minimum(before, behind) - slope)
    cell = np.flatnonzero(over * width > scale)
    low, high, at_low, at_high = grid[cell], grid[cell + 1], values[cell], values[cell + 1]
    rows, least = np.arange(len(cell)), NOTHING * (high - low)
    while not _closed(low, high, least).all():
        finer = _between(low, high, FINER)
        made = _values(function, finer.ravel()).reshape(finer.shape)
        made[:, 0], made[:, -1] = at_low, at_high
        most = np.argmax(np.abs(np.diff(made)), axis=1)
        if np.array_equal(finer[rows, most], low) and np.array_equal(finer[rows, most + 1], high):
            break  # no number lies between
        low, high, at_low, at_high = finer[rows, most], finer[rows, most + 1], made[rows, most], made[rows, most + 1]
    ends = zip(low.tolist(), high.tolist(), at_low.tolist(), at_high.tolist())
    return tuple(Change(*end, True) for end in ends if abs(end[3] - end[2]) > scale)


def narrow(
    at: At, holds: Holds, brackets: Brackets, finer: int = FINER, close: float = CLOSE, target: float | None = None
) -> Brackets:
    """Neighbours between which something begins to hold on the way from each `low` of brackets to its `high`.

    `at` takes points, a row for each bracket that is still open, and the numbers of these; `holds` takes the function there, and
    the numbers. Where it holds from a `target` of the function on, the brackets close around secants as well.
    """
    low, at_low, high, at_high = (np.array(each, dtype=float) for each in brackets)
    least = NOTHING * np.abs(high - low)
    rows = np.flatnonzero(~_closed(low, high, least, close))
    while rows.size:
        ends = low[rows], high[rows]
        points = _between(*ends, finer)
        if target is not None:
            points = _with_secants(points, at_low[rows] - target, at_high[rows] - target, close, least[rows])
        made = at(points, rows)
        beyond = holds(made, rows)
        any_beyond, last = beyond.any(axis=1), points.shape[1] - 1
        first_of = np.where(any_beyond, np.maximum(np.argmax(beyond, axis=1), 1), last)
        before, each = np.where(any_beyond, first_of - 1, last), np.arange(rows.size)  # it may never hold, at an end of the scan
        now = points[each, before], points[each, first_of]
        moved = (now[0] != ends[0]) | (now[1] != ends[1])  # else no number lies between
        low[rows], high[rows], at_low[rows], at_high[rows] = *now, made[each, before], made[each, first_of]
        rows = rows[moved & ~_closed(low[rows], high[rows], least[rows], close)]
    return low, at_low, high, at_high


def _with_secants(points: np.ndarray, at_first: np.ndarray, at_last: np.ndarray, close: float, least: np.ndarray) -> np.ndarray:
    """Rising points of brackets, and further ones on both sides of where a straight line passes zero, ever closer to it."""
    first, last = points[:, :1], points[:, -1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        zero = first - at_first[:, None] * (last - first) / (at_last - at_first)[:, None]
    closest = close * np.maximum(np.abs(zero), least[:, None]) / 4
    apart = np.concatenate([(last - first) * APART, closest], axis=1)
    around = np.where(np.isfinite(zero), np.concatenate([zero - apart, zero + apart], axis=1), first)
    return np.sort(np.concatenate([points, np.clip(around, first, last)], axis=1), axis=1)


def reach(function: Function, low: float, high: float, further: float = 10.0, times: int = 12) -> float:
    """A bound far enough for a function of one value to have passed zero: `high`, or that ten times as large, again and again.

    `high` itself where it never does.

    >>> reach(lambda x: x - 5e6, 0.0, 1e5), reach(lambda x: x + 1.0, 0.0, 1e5)
    (10000000.0, 100000.0)
    """
    bounds = high * further ** np.arange(times)
    found = _values(function, np.append(low, bounds))
    passed = np.sign(found[1:]) != np.sign(found[0])
    return float(bounds[np.argmax(passed)]) if passed.any() else high


def rising_zero(rising: At, low: np.ndarray, scale: float) -> np.ndarray:
    """The least values from `low` on at which functions that rise, one for each value, are not below zero; NaN for never.

    `rising` takes values, and the numbers of their functions: those that are still looked for. By secants, the first as long as
    `scale`: they find the zero of a straight line at once, and of thousands of lines with far fewer calls than a scan. What is
    flat at first is looked at twice as far each time. A function within CLOSEST of `scale` counts as zero.

    >>> rising_zero(lambda x, numbers: 2 * x - np.array([3.0, -1.0])[numbers], np.zeros(2), 1.0).tolist()
    [1.5, 0.0]
    >>> rising_zero(lambda x, _: np.maximum(x, 5.0) - 6.0, np.zeros(1), 1.0).tolist()  # a fee to which 5 are credited
    [6.0]
    """
    at_low = rising(low, np.arange(len(low)))
    found = np.where(at_low >= 0, low, np.nan)
    numbers = np.flatnonzero(np.isnan(found))
    before, at_before, now = low[numbers], at_low[numbers], low[numbers] + scale
    for _ in range(SECANTS + 1):
        if not numbers.size:
            break
        at_now = rising(now, numbers)
        near = np.abs(at_now) <= CLOSEST * scale
        found[numbers[near]] = now[near]
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = (at_now - at_before) / (now - before)
            step = np.where(slope > 0, -at_now / slope, now - low[numbers])  # where nothing has risen yet, as far again
        left = ~near & (slope >= 0)
        before, at_before, now = now[left], at_now[left], np.maximum(low[numbers], now + step)[left]
        numbers = numbers[left]
    return found


def _between(low: np.ndarray, high: np.ndarray, count: int) -> np.ndarray:
    points = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, count)
    points[:, -1] = high
    return points


def _closed(low: np.ndarray, high: np.ndarray, least: np.ndarray, close: float = CLOSE) -> np.ndarray:
    """Which brackets are narrow enough, `least` standing for a value where it is closer to zero."""
    return np.abs(high - low) <= close * np.maximum(np.maximum(abs(low), abs(high)), least)


def _at(function: Function, arguments: Sequence[np.ndarray]) -> At:
    """The function of points with a row for some of the arguments, by number."""

    def at(points: np.ndarray, rows: np.ndarray) -> np.ndarray:
        """The values at points, a row for each of these numbers."""
        flat = [np.repeat(argument[rows], points.shape[1]) for argument in arguments]
        return _values(function, points.ravel(), *flat).reshape(points.shape)

    return at


def _values(function: Function, points: np.ndarray, *arguments: np.ndarray) -> np.ndarray:
    """What a function gives, one number for all where nothing moves it."""
    return np.array(np.broadcast_to(np.asarray(function(points, *arguments), float), points.shape))


def _spread(values: np.ndarray) -> np.ndarray:
    """How far apart the values of each row lie, those without a value left out."""
    known = np.isfinite(values)
    apart = np.where(known, values, -np.inf).max(axis=1) - np.where(known, values, np.inf).min(axis=1)
    return np.maximum(apart, 0.0)  # of none, less than nothing
