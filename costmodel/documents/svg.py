"""The shapes that pictures of documents are made of, as SVG: texts, lines, boxes, marks, legends, axes with round numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from html import escape

from ..present.palette import FAINT, FONT, GRID, INK

WIDTH, SIZE, LETTER = 720, 13, 6.8  # px; LETTER is what a letter takes at most on average

Point = tuple[float, float]


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round numbers that span a range.

    >>> ticks(-3.1, 8.2), ticks(0.0, 0.9)
    ([-4.0, -2.0, 0.0, 2.0, 4.0, 6.0, 8.0, 10.0], [0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
    """
    span = (high - low) or abs(high) or 1.0
    rough = span / (most - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(times * power for times in (1, 2, 5, 10) if times * power >= rough * 0.85)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(number * step, 12) for number in range(first, last + 1)]


def number(value: float, step: float) -> str:
    """A number at an axis, with as many decimals as its steps need."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value:,.{decimals}f}".replace("-", "−")


def text(x: float, y: float, words: str, anchor: str = "start", size: int = SIZE, colour: str = INK, weight: int = 400) -> str:
    """Words; `y` is where their letters stand."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" fill="{colour}" '
        f'font-weight="{weight}">{escape(words)}</text>'
    )


def on_white(x: float, y: float, words: str, anchor: str = "start", size: int = SIZE, colour: str = INK) -> str:
    """Words on white, so that no grid line crosses them.

    >>> on_white(10, 20, "a").index('stroke="white"') < on_white(10, 20, "a").index("<text")
    True
    """
    wide, middle = LETTER * size / SIZE * len(words) + 4, y - 0.35 * size
    left = {"start": x - 2, "middle": x - wide / 2, "end": x + 2 - wide}[anchor]
    return line(left, middle, left + wide, middle, "white", size + 2) + text(x, y, words, anchor, size, colour)


def line(x1: float, y1: float, x2: float, y2: float, colour: str = GRID, width: float = 1, dash: str = "") -> str:
    """A straight line."""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" stroke-width="{width}"{_dashed(dash)}/>'
    )


def curve(points: Sequence[Point], colour: str, name: str, dash: str = "") -> str:
    """A curve through points; its name is shown under the pointer, as what every mark below stands for."""
    drawn = f'fill="none" stroke="{colour}" stroke-width="2.5"{_dashed(dash)}'
    return f'<polyline points="{_places(points)}" {drawn}>{_says(name)}</polyline>'


def area(points: Sequence[Point], colour: str, name: str) -> str:
    """A shaded area."""
    return f'<polygon points="{_places(points)}" fill="{colour}" fill-opacity="0.18">{_says(name)}</polygon>'


def box(x: float, y: float, width: float, height: float, colour: str, says: str) -> str:
    """A filled box."""
    shape = f'x="{x:.2f}" y="{y:.2f}" width="{max(width, 0):.2f}" height="{height:.2f}"'
    return f'<rect {shape} fill="{colour}" stroke="white" stroke-width="0.5">{_says(says)}</rect>'


def dot(x: float, y: float, says: str) -> str:
    """A filled point."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{INK}">{_says(says)}</circle>'


def ring(x: float, y: float) -> str:
    """A point that is not filled."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="white" stroke="{INK}" stroke-width="1.5"/>'


def diamond(x: float, y: float, reach: int, says: str) -> str:
    """A diamond around a point."""
    sides = f"l{reach} -{reach} l{reach} {reach} l-{reach} {reach} z"
    return f'<path d="M{x - reach:.1f} {y:.1f} {sides}" fill="{INK}">{_says(says)}</path>'


def _dashed(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""


def _places(points: Sequence[Point]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _says(words: str) -> str:
    return f"<title>{escape(words)}</title>"


def legend(names: Sequence[tuple[str, str]]) -> tuple[list[str], float]:
    """Coloured squares with names, in rows; and where they end."""
    parts: list[str] = []
    x, y = 0.0, 16.0
    for name, colour in names:
        wide = 22 + LETTER * len(name) + 16
        if x + wide > WIDTH:
            x, y = 0.0, y + 20
        parts += [f'<rect x="{x:.1f}" y="{y - 10:.1f}" width="12" height="12" fill="{colour}"/>', text(x + 18, y, name)]
        x += wide
    return parts, y + 14


def whole(height: float, parts: Iterable[str], says: str) -> str:
    """A picture of its pieces, with words for those who cannot see it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" width="{WIDTH}" height="{height:.0f}" '
        f'role="img" aria-label="{escape(says)}" font-family="{FONT}"><title>{escape(says)}</title>'
        f'<rect width="{WIDTH}" height="{height:.0f}" fill="white"/>{"".join(parts)}</svg>'
    )


def scale(low: float, high: float, start: float, end: float) -> tuple[list[float], Callable[[float], float]]:
    """Round numbers that span a range, and where a value stands between a start and an end; of one number, the range above it.

    >>> marks, at = scale(0.0, 0.0, 10.0, 20.0)
    >>> marks[0], marks[-1], at(0.0)
    (0.0, 1.0, 10.0)
    """
    marks = ticks(low, high if high > low else low + 1.0)
    low, high = marks[0], marks[-1]
    return marks, lambda value: start + (value - low) / (high - low) * (end - start)


def upright_axis(marks: Sequence[float], at: Callable[[float], float], left: float, unit: str) -> list[str]:
    """Lying grid lines with numbers at the left, and the unit turned beside them."""
    step, middle = marks[1] - marks[0], (at(marks[0]) + at(marks[-1])) / 2
    parts = [line(left, at(mark), WIDTH - 10, at(mark), INK if mark == 0 else GRID) for mark in marks]
    parts += [text(left - 6, at(mark) + 4, number(mark, step), "end", 12, FAINT) for mark in marks]
    turned = text(0, 0, unit, "middle")
    return [*parts, f'<g transform="translate(13 {middle:.1f}) rotate(-90)">{turned}</g>']


def lying_axis(marks: Sequence[float], at: Callable[[float], float], top: float, bottom: float, title: str) -> list[str]:
    """Upright grid lines with numbers and the title below."""
    step = marks[1] - marks[0]
    parts = [line(at(mark), top, at(mark), bottom, INK if mark == 0 else GRID) for mark in marks]
    parts += [text(at(mark), bottom + 17, number(mark, step), "middle", 12, FAINT) for mark in marks]
    return [*parts, text((at(marks[0]) + at(marks[-1])) / 2, bottom + 37, title, "middle")]


def plain_axis(last: float, at: Callable[[float], float], left: float, right: float, bottom: float, title: str) -> list[str]:
    """Numbers from 0 to the last and a title below, without lines."""
    marks = ticks(0.0, last, 8)
    parts = [text(at(mark), bottom + 16, number(mark, marks[1]), "middle", 12, FAINT) for mark in marks if mark <= last]
    return [*parts, text((left + right) / 2, bottom + 36, title, "middle")]
