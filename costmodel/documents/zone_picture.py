"""The zone of a deal as SVG: the plane of two terms, where both sides gain, and words that keep off lines and each other."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence

from ..present.palette import COLOURS, FAINT, INK
from . import svg

LEFT, TOP, RIGHT, BOTTOM = 62.0, 12.0, svg.WIDTH - 12.0, 372.0

Heights = Sequence[float | None]
Point = tuple[float, float]
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
        across = svg.ticks(0.0, self.along[-1], 8)
        parts = svg.upright_axis(self.rows, self.up, LEFT, titles[1], TOP)
        parts += [
            svg.text(self.at(mark), BOTTOM + 16, svg.number(mark, across[1]), "middle", 12, FAINT)
            for mark in across
            if mark <= self.along[-1]
        ]
        return [*parts, svg.text((LEFT + RIGHT) / 2, BOTTOM + 36, titles[0], "middle")]


class Words:
    """Words that are put where they cover nothing; those of a point may cross a line, others that find no place are left out."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.lines: list[Box] = []
        self.marks: list[Box] = []  # points, and words that were put

    def say(self, words: str, spots: Iterable[Point], size: int = svg.SIZE, colour: str = INK, weight: int = 400,
            point: bool = False) -> None:  # fmt: skip
        """Put words at the first spot for their left end that is free."""
        tried = list(spots)
        spot = self._free(words, tried, size, [*self.lines, *self.marks])
        if spot is None and point:
            spot = self._free(words, tried, size, self.marks)
        if spot:
            self.marks.append(_around(words, spot, size))
            self.parts.append(svg.text(*spot, words, "start", size, colour, weight))

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


def zone(
    along: Sequence[float],
    low: Heights,
    high: Heights,
    alike: Heights,
    bands: Sequence[tuple[Heights, Heights]],
    offer: Point,
    rounds: Sequence[Point],
    axes: tuple[str, str],
    says: str,
) -> str:
    """The plane of two terms: `low` and `high` limit it for either side, in `bands` both gain; the offer, and rounds as a path."""
    known = [y for heights in (low, high, alike) for y in heights if y is not None]
    plane, words = Plane(along, max([*known, offer[1], *(y for _, y in rounds)])), Words()
    areas = [[(x, lo, hi) for x, lo, hi in zip(along, *band) if lo is not None and hi is not None] for band in bands]
    curves: list[Curve] = [
        ("the licensor has just its floor", COLOURS["licensor"], low, ""),
        ("the licensee has just its best alternative", COLOURS["licensee"], high, ""),
        ("both gain alike", INK, alike, "3 4"),
    ]
    here = plane.at(offer[0]), plane.up(offer[1])
    path = [(plane.at(x), plane.up(y)) for x, y in rounds]
    shaded = [part for area in areas for part in _band(plane, area)]
    parts = [*plane.axes(axes), *shaded, *_curves(plane, curves, words), *_marks(here, path, words)]
    _say_points(here, path, words)
    _say_curves(plane, curves, words)
    _say_regions(plane, low, high, any(areas), words)
    return svg.whole(BOTTOM + 46, [*parts, *words.parts], says)


def _band(plane: Plane, band: Sequence[tuple[float, float, float]]) -> list[str]:
    if not band:
        return []
    edge = [(x, hi) for x, _, hi in band] + [(x, lo) for x, lo, _ in reversed(band)]
    points = " ".join(f"{plane.at(x):.1f},{plane.up(y):.1f}" for x, y in edge)
    return [f'<polygon points="{points}" fill="{COLOURS["both_gain"]}" fill-opacity="0.18"><title>both gain</title></polygon>']


def _curves(plane: Plane, curves: Sequence[Curve], words: Words) -> list[str]:
    parts = []
    for name, colour, heights, dash in curves:
        points = plane.points(heights)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        shape = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        if points:
            drawn_as = f'fill="none" stroke="{colour}" stroke-width="2.5"{dashed}'
            parts.append(f'<polyline points="{shape}" {drawn_as}><title>{name}</title></polyline>')
        words.lines += [(x - 2, y - 2, x + 2, y + 2) for a, b in itertools.pairwise(points) for x, y in _between(a, b, 6)]
    return parts


def _between(a: Point, b: Point, count: int) -> list[Point]:
    return [(a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count) for k in range(count)]


def _marks(offer: Point, path: Sequence[Point], words: Words) -> list[str]:
    """The rounds as points on a path, and the offer as a diamond."""
    parts = []
    for a, b in itertools.pairwise(path):
        parts.append(svg.line(*a, *b, INK, 1, "5 4"))
        words.lines += [(x, y, x, y) for x, y in _between(a, b, 20)]
    for x, y in path:
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="white" stroke="{INK}" stroke-width="1.5"/>')
        words.marks.append((x - 7, y - 7, x + 7, y + 7))
    x, y = offer
    parts.append(f'<path d="M{x - 8:.1f} {y:.1f} l8 -8 l8 8 l-8 8 z" fill="{INK}"><title>the offer</title></path>')
    words.marks.append((x - 9, y - 9, x + 9, y + 9))
    return parts


def _say_points(offer: Point, path: Sequence[Point], words: Words) -> None:
    named = [(offer, "offer", 600), *((spot, f"round {k}", 400) for k, spot in enumerate(path, start=1))]
    for (x, y), name, weight in named:
        left = x - _width(name)
        beside = [(x + 12, y + 5), (left - 12, y + 5), (x + 8, y - 12), (x + 8, y + 22), (left - 8, y - 12), (left - 8, y + 22)]
        words.say(name, beside, weight=weight, point=True)


def _say_curves(plane: Plane, curves: Sequence[Curve], words: Words) -> None:
    for name, colour, heights, _ in curves:
        spots = [(x + 6, y + shift) for shift in (-6, -14, 16, 24) for x, y in plane.points(heights)]
        words.say(name, spots, colour=colour, weight=600)


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
        never = all(height is None for height in high)
        why = (
            "even with nothing paid the licensee would rather do something else"
            if never
            else "no mix of fee and royalty suits both"
        )
        words.say(why, [(LEFT + 12, TOP + 24), (LEFT + 12, BOTTOM - 12)], 15, weight=600)
    rather, short = "the licensee would rather do something else", "the licensor is below its floor"
    if any(height is not None for height in high):
        words.say(rather, sorted(_room(rather, 14, above), key=lambda spot: (spot[0], -spot[1]), reverse=True), 14, FAINT)
    words.say(short, sorted(_room(short, 14, below), key=lambda spot: (spot[0], -spot[1])), 14, FAINT)


def _room(words: str, size: int, fits: Callable[[float, float], bool]) -> list[Point]:
    """Spots over the plane at which all of the words lie where they belong."""
    grid = [(LEFT + 8 + 12 * k, TOP + 18 + 12 * n) for n in range(29) for k in range(52)]
    wide = _width(words, size)
    return [(x, y) for x, y in grid if all(fits(x + wide * part, edge) for part in (0.0, 0.5, 1.0) for edge in (y - size, y + 5))]
