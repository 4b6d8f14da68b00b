"""The zone of a deal as SVG: the plane of two terms, where both sides gain, and words that keep off lines and each other."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from ..present.palette import COLOURS, FAINT, INK, legible
from . import svg
from .svg import Point

SHORT = {
    "the licensor has just its floor": "licensor's floor",
    "the licensee has just its best alternative": "licensee's alternative",
    "both gain alike": "alike",
}  # what the lines are called, and where there is little room
LEFT, TOP, RIGHT, BOTTOM = 62.0, 12.0, svg.WIDTH - 12.0, 372.0

Heights = Sequence[float | None]
Box = tuple[float, float, float, float]  # left, top, right, bottom
Curve = tuple[str, str, Heights, str]  # name, colour, heights, dashes


class Plane:
    """Where values stand in the picture."""

    def __init__(self, along: Sequence[float], most: float):
        self.along = along
        self.rows, self.up = svg.scale(0.0, 1.05 * most, BOTTOM, TOP)

    def at(self, value: float) -> float:
        """How far to the right a value along the first axis stands."""
        return LEFT + value / self.along[-1] * (RIGHT - LEFT)

    def points(self, heights: Heights) -> list[Point]:
        """Where the points of a curve stand, those that there are."""
        return [(self.at(x), self.up(y)) for x, y in zip(self.along, heights) if y is not None]

    def height(self, heights: Heights, right: float) -> float | None:
        """Where a curve stands so far to the right; None where it is not."""
        x = (right - LEFT) / (RIGHT - LEFT) * self.along[-1]
        for k, (first, last) in enumerate(itertools.pairwise(self.along)):
            if first <= x <= last:
                a, b = heights[k], heights[k + 1]
                return None if a is None or b is None else self.up(a + (b - a) * (x - first) / ((last - first) or 1.0))
        return None

    def axes(self, titles: tuple[str, str]) -> list[str]:
        """Both axes."""
        upright = svg.upright_axis(self.rows, self.up, LEFT, titles[1])
        return [*upright, *svg.plain_axis(self.along[-1], self.at, LEFT, RIGHT, BOTTOM, titles[0])]


class Words:
    """Words that are put where they cover nothing; those of a point may cross a line, others that find no place are left out."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.lines: list[Box] = []
        self.marks: list[Box] = []  # points, and words that were put

    def say(self, words: str, spots: Iterable[Point], size: int = svg.SIZE, colour: str = INK, weight: int = 400,
            point: bool = False) -> bool:  # fmt: skip
        """Put words at the first spot for their left end that is free; whether there was one."""
        tried = list(spots)
        spot = self._free(words, tried, size, [*self.lines, *self.marks])
        if spot is None and point:
            spot = self._free(words, tried, size, self.marks)
        if spot:
            self.marks.append(_around(words, spot, size))
            self.parts.append(svg.text(*spot, words, "start", size, colour, weight))
        return spot is not None

    def _free(self, words: str, spots: Iterable[Point], size: int, kept: Sequence[Box]) -> Point | None:
        return next((spot for spot in spots if _fits(_around(words, spot, size), kept)), None)


def _width(words: str, size: int = svg.SIZE) -> float:
    return svg.LETTER * size / svg.SIZE * len(words)


def _around(words: str, spot: Point, size: int) -> Box:
    x, y = spot
    return x - 3, y - size, x + _width(words, size) + 3, y + 5


def _fits(box: Box, kept: Sequence[Box]) -> bool:
    inside = box[0] >= LEFT + 2 and box[1] >= TOP and box[2] <= RIGHT and box[3] <= BOTTOM - 2
    return inside and not any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in kept)


def zone(lines: Mapping[str, Any]) -> str:
    """The plane of royalty and fee: floor and ceiling limit it for either side, in bands both gain; the offer, rounds as a path.

    The lines are those of `deal_facts.zone`.
    """
    along, low, high, alike = (lines[name] for name in ("royalty", "floor", "ceiling", "alike"))
    known = [y for heights in (low, high, alike) for y in heights if y is not None]
    points = [lines["offer"], *lines["rounds"]]
    plane, words = Plane(along, max([*known, *(y for _, y in points)])), Words()
    floor, best, equal = SHORT
    curves: list[Curve] = [(floor, COLOURS["licensor"], low, ""), (best, COLOURS["licensee"], high, ""), (equal, INK, alike, "3 4")]
    here, *path = [(plane.at(x), plane.up(y)) for x, y in points]
    shaded = [svg.area(edge, COLOURS["both_gain"], "both gain") for band in lines["bands"] if (edge := _edge(plane, *band))]
    axes = plane.axes(("royalty, % of net sales", f"upfront fee, million {lines['currency']}"))
    parts = [*axes, *shaded, *_curves(plane, curves, words), *_marks(here, path, words)]
    _say_points(here, path, words)
    _say_curves(plane, curves, words)
    _say_regions(plane, low, high, bool(shaded), words)
    return svg.whole(BOTTOM + 46, [*parts, *words.parts], lines["says"])


def _edge(plane: Plane, low: Heights, high: Heights) -> list[Point]:
    """The edge of a band: along its top and back along its bottom; nothing where it has no points."""
    held = [(x, lo, hi) for x, lo, hi in zip(plane.along, low, high) if lo is not None and hi is not None]
    edge = [(x, hi) for x, _, hi in held] + [(x, lo) for x, lo, _ in reversed(held)]
    return [(plane.at(x), plane.up(y)) for x, y in edge]


def _curves(plane: Plane, curves: Sequence[Curve], words: Words) -> list[str]:
    parts = []
    for name, colour, heights, dash in curves:
        points = plane.points(_where_just(heights))
        parts += [svg.curve(points, colour, name, dash)] if points else []
        words.lines += [_near(x, y, 2) for a, b in itertools.pairwise(points) for x, y in _between(a, b, 6)]
    return parts


def _where_just(heights: Heights) -> Heights:
    """A curve without its part along the axis, where a side has more than just that with no fee at all; its foot stays."""
    rising = [y is not None and y > 0 for y in heights]
    beside = [any(rising[max(0, k - 1) : k + 2]) for k in range(len(heights))]
    return [y if kept else None for y, kept in zip(heights, beside)]


def _between(a: Point, b: Point, count: int) -> list[Point]:
    return [(a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count) for k in range(count)]


def _marks(offer: Point, path: Sequence[Point], words: Words) -> list[str]:
    """The rounds as points on a path, and the offer as a diamond."""
    lines = list(itertools.pairwise(path))
    words.lines += [_near(x, y, 0) for a, b in lines for x, y in _between(a, b, 20)]
    words.marks += [_near(x, y, reach) for (x, y), reach in (*((spot, 7) for spot in path), (offer, 9))]
    return [*(svg.line(*a, *b, INK, 1, "5 4") for a, b in lines), *(svg.ring(x, y) for x, y in path),
            svg.diamond(*offer, 8, "the offer")]  # fmt: skip


def _near(x: float, y: float, reach: float) -> Box:
    return x - reach, y - reach, x + reach, y + reach


def _say_points(offer: Point, path: Sequence[Point], words: Words) -> None:
    named = [(offer, "offer", 600), *((spot, f"round {k}", 400) for k, spot in enumerate(path, start=1))]
    for (x, y), name, weight in named:
        left = x - _width(name)
        beside = [
            spot
            for more in range(0, 60, 8)
            for spot in ((x + 12 + more, y + 5), (left - 12 - more, y + 5), (x + 8, y - 12 - more), (x + 8, y + 22 + more),
                         (left - 8, y - 12 - more), (left - 8, y + 22 + more))
        ]  # fmt: skip
        words.say(name, beside, weight=weight, point=True)


def _say_curves(plane: Plane, curves: Sequence[Curve], words: Words) -> None:
    for name, colour, heights, _ in curves:
        spots = [(x + 6, y + shift) for shift in (-6, -14, 16, 24) for x, y in plane.points(_where_just(heights))]
        if not words.say(name, spots, colour=legible(colour), weight=600):
            words.say(SHORT[name], spots, colour=legible(colour), weight=600)


def _say_regions(plane: Plane, low: Heights, high: Heights, both_gain: bool, words: Words) -> None:
    """What each part of the plane is, in words; where no mix suits both, that."""

    def above(x: float, y: float) -> bool:
        """Whether a spot lies where the licensee pays too much."""
        height = plane.height(high, x)
        return height is None or y < height

    def below(x: float, y: float) -> bool:
        """Whether a spot lies where the licensor has too little."""
        height = plane.height(low, x)
        return height is not None and y > height

    if both_gain:
        spots = _room("both gain", 17, lambda x, y: not above(x, y) and not below(x, y))
        words.say("both gain", sorted(spots, key=lambda spot: abs(spot[0] - (LEFT + RIGHT) / 3)), 17, weight=600)
    else:
        why = "no combination of fee and royalty suits both"
        if all(height is None for height in high):
            why = "even with nothing paid the licensee has a better alternative"
        words.say(why, [(LEFT + 12, TOP + 24), (LEFT + 12, BOTTOM - 12)], 15, weight=600)
    rather, short = "the licensee has a better alternative", "the licensor is below its floor"
    if any(height is not None for height in high):
        words.say(rather, sorted(_room(rather, 14, above), key=lambda spot: (spot[0], -spot[1]), reverse=True), 14, FAINT)
    words.say(short, sorted(_room(short, 14, below), key=lambda spot: (spot[0], -spot[1])), 14, FAINT)


def _room(words: str, size: int, fits: Callable[[float, float], bool]) -> list[Point]:
    """Spots over the plane at which all of the words lie where they belong."""
    grid = [(LEFT + 8 + 12 * k, TOP + 18 + 12 * n) for n in range(29) for k in range(52)]
    wide = _width(words, size)
    return [(x, y) for x, y in grid if all(fits(x + wide * part, edge) for part in (0.0, 0.5, 1.0) for edge in (y - size, y + 5))]
