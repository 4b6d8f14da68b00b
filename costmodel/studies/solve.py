"""The values of an input at which a figure has a target value: all of them in a range, none, or a jump across it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from ..case.whole_case import Case
from ..core import at_work
from ..core.faults import Fault, InputFaults
from ..core.roots import JUMP, narrow
from .axes import number_at, range_of
from .many import Wanted, figures_of, sound, wanted_figures, why_without

POINTS = 1001  # of the scan
WIDE = 1e-9  # relative width from which values of the input are an interval

Figure = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True, slots=True)
class Answer:
    """A value of the input (base units) and the figure there; `residual` is that less the target value.

    `kind`: `root`; `jump`, where the figure jumps past the target value as the input rises from `value` to its neighbour
    `beyond`, with the figure `figure_beyond` there; or `interval`, where it has that value all the way from `value` to `beyond`.
    """

    kind: str
    value: float
    figure: float
    residual: float
    beyond: float
    figure_beyond: float


@dataclass(frozen=True, slots=True)
class Edge:
    """Where the figure begins or ceases to have a value: its last value there, at an input that has a neighbour without one.

    `ceases` as the input rises, else it begins; `reason` is why it has none beyond.
    """

    value: float
    figure: float
    ceases: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Solution:
    """All answers between `low` and `high`, and what the figure was at least and most there; base units.

    `edges` are where it begins or ceases to have a value. `without` is the share of the
    looked-at values at which the figure has no value, `refused` the share that the case refuses.
    """

    address: str
    figure: str
    target: float
    present: float
    low: float
    high: float
    bracket: str
    answers: tuple[Answer, ...]
    least: float
    greatest: float
    without: float
    refused: float
    edges: tuple[Edge, ...] = ()


def bracket_of(case: Case, address: str) -> tuple[float, float, str]:
    """Where to look: the range of ranges.csv, else all that the input allows, else a tenth to ten times its present value."""
    declaration, present, _ = number_at(case, address, "--input")
    row = range_of(case, address)
    if row is not None and row.low < row.high:
        return row.low, row.high, "the range of ranges.csv"
    low = declaration.low if declaration.above is None else declaration.above
    if low is not None and declaration.high is not None:
        least = low if declaration.above is None else low + 1e-6 * (declaration.high - low)
        return least, declaration.high, "all that the input allows"
    if present == 0.0:
        allowed = "--from and --to, since the input is 0 and has no range in ranges.csv"
        raise InputFaults([Fault("--input", None, address, "no range to look in", allowed)])
    least, most = sorted((0.1 * present, 10.0 * present))
    most = most if declaration.high is None else min(most, declaration.high)
    return least, most, "a tenth to ten times its present value"


def solve(
    case: Case, address: str, figure: str, target: float, low: float | None = None, high: float | None = None, points: int = POINTS
) -> Solution:
    """All values of an input between two ends at which a figure is `target`, in base units; the case is taken as it is.

    The range is scanned in one array evaluation, then every bracket and both ends of every interval are narrowed, all of them at
    once. Two roots between neighbouring points of the scan, or one that only touches, are not seen. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> found = solve(load_case("inputs_demo/facade"), "product.length", "line.output.plate_area", 0.9, 1.0, 2.0)
    >>> [(answer.kind, round(answer.value, 9)) for answer in found.answers]
    [('root', 1.5)]
    """
    _, present, _ = number_at(case, address, "--input")
    wanted = wanted_figures(case, [figure])[figure]
    least, greatest, bracket = (low, high, "the ends given") if low is not None and high is not None else bracket_of(case, address)
    low, high = least if low is None else low, greatest if high is None else high
    if not low < high:
        raise InputFaults([Fault("--from and --to", None, address, f"{low:.6g} and {high:.6g}", "a low end below the high end")])
    at_work.at("values of the input")
    grid = np.linspace(low, high, points)
    fine = sound(case, address, grid)
    if not fine.any():
        sound_faults = "no value that the case takes together with its other inputs"
        raise InputFaults([Fault("--from and --to", None, address, sound_faults, "ends within what the case takes")])

    def at(points: np.ndarray) -> np.ndarray:
        """The figure for values of the input, of any shape."""
        return figures_of(case, {address: points.ravel()}, [figure])[figure].reshape(points.shape)

    values = np.full(points, np.nan)
    values[fine] = at(grid[fine])
    there = np.isfinite(values)
    answers = answers_of(at, target, grid, values, fine)
    ends = (float(np.min(values[there])), float(np.max(values[there]))) if there.any() else (float("nan"), float("nan"))
    without, refused = float(np.mean(~there[fine])), float(np.mean(~fine))
    edges = tuple(_edges(case, at, wanted, address, grid, values, fine))
    return Solution(address, figure, target, present, low, high, bracket, answers, *ends, without, refused, edges)


def answers_of(at: Figure, target: float, grid: np.ndarray, values: np.ndarray, fine: np.ndarray) -> tuple[Answer, ...]:
    """Where a figure, with `values` over a scan, has a target value or jumps past it, from low to high.

    `fine` are the points that the case takes.
    """
    there, exact = np.isfinite(values), _has(values, target)
    spread = float(np.ptp(values[there])) if there.any() else 0.0
    scale = max(spread, abs(target) * 1e-9)
    found = [*_intervals(at, target, grid, values, exact & fine, fine), *_narrowed(at, target, grid, values, exact, scale)]
    return tuple(sorted(found, key=lambda answer: answer.value))


def _has(values: np.ndarray, target: float) -> np.ndarray:
    """Where a figure has the target value, but for what rounding leaves."""
    return np.abs(values - target) <= 1e-13 * abs(target)


def _intervals(
    at: Figure, target: float, grid: np.ndarray, values: np.ndarray, exact: np.ndarray, fine: np.ndarray
) -> list[Answer]:
    """Where the figure has the target value: neighbours of the scan are one interval to its true ends, a lone value is a root."""
    starts = np.flatnonzero(exact & ~np.append(False, exact[:-1]))
    stops = np.flatnonzero(exact & ~np.append(exact[1:], False))
    inside = np.concatenate([starts, stops])
    outside = np.clip(np.concatenate([starts - 1, stops + 1]), 0, len(grid) - 1)
    outside = np.where(fine[outside], outside, inside)  # at what the case refuses, the interval ends at the point of the scan
    brackets = grid[inside], values[inside], grid[outside], values[outside]
    within, found, *_ = narrow(lambda points, _: at(points), lambda made, _: ~_has(made, target), brackets)
    answers = []
    for k in range(len(starts)):
        low, high = float(within[k]), float(within[len(starts) + k])
        first, last = float(found[k]), float(found[len(starts) + k])
        if high - low <= WIDE * max(abs(low), abs(high)):  # what rounding makes of a root that the scan has hit
            low, first = float(grid[starts[k]]), float(values[starts[k]])
            answers.append(Answer("root", low, first, first - target, low, first))
        else:
            answers.append(Answer("interval", low, first, first - target, high, last))
    return answers


def _narrowed(at: Figure, target: float, grid: np.ndarray, values: np.ndarray, exact: np.ndarray, scale: float) -> list[Answer]:
    """Brackets of the scan, each looked at more finely until it is as close as numbers go."""
    off = values - target
    crossing = (off[:-1] * off[1:] < 0) & ~exact[:-1] & ~exact[1:]  # of a NaN, never
    k = np.flatnonzero(crossing)
    sign = np.sign(off[k])[:, None]
    brackets = grid[k], values[k], grid[k + 1], values[k + 1]
    found = narrow(lambda points, _: at(points), lambda made, rows: (made - target) * sign[rows] <= 0, brackets, target=target)
    answers = []
    for a, at_a, b, at_b in zip(*(each.tolist() for each in found)):
        if not abs(at_b - at_a) <= JUMP * scale:  # or where one of the two has no value
            answers.append(Answer("jump", a, at_a, at_a - target, b, at_b))
            continue
        near = abs(at_a - target) <= abs(at_b - target)
        value, there, beyond, at_beyond = (a, at_a, b, at_b) if near else (b, at_b, a, at_a)
        answers.append(Answer("root", value, there, there - target, beyond, at_beyond))
    return answers


def _edges(
    case: Case, at: Figure, figure: Wanted, address: str, grid: np.ndarray, values: np.ndarray, fine: np.ndarray
) -> Iterator[Edge]:
    """Where the figure begins or ceases to have a value, in rising order of the input."""
    without = np.isnan(values)
    left = np.flatnonzero((without[:-1] != without[1:]) & fine[:-1] & fine[1:])
    ceases = without[left + 1]
    last, gone = np.where(ceases, left, left + 1), np.where(ceases, left + 1, left)
    brackets = grid[last], values[last], grid[gone], values[gone]
    found, there, beyond, _ = narrow(lambda points, _: at(points), lambda made, _: np.isnan(made), brackets)
    why = why_without(case, {address: beyond}, figure, np.full(len(beyond), np.nan)) if len(beyond) else []
    for value, made, each, reason in zip(found.tolist(), there.tolist(), ceases.tolist(), why):
        yield Edge(value, made, each, reason)
