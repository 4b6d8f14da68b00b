"""Pictures of documents as plain SVG: they need no script, print sharp, and hold their figures as text.

Each takes plain numbers and gives the SVG; what a mark stands for is its `<title>`, which a browser shows under the pointer.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from ..present.numbers import people
from ..present.palette import COLOURS, FAINT, GRID, INK
from . import svg

ROW = 26  # px
PALETTE = ("materials", "yield_loss", "labour", "maintenance", "building", "utilities", "depreciation", "overheads")

Series = tuple[str, str, Sequence[float]]  # name, colour, values


def colour_of(name: str, number: int = 0) -> str:
    """The colour of a kind of cost by its name; of anything else by its number."""
    return COLOURS.get(name.replace(" ", "_")) or COLOURS[PALETTE[number % len(PALETTE)]]


def _legend(names: Sequence[tuple[str, str]], y: float = 16) -> tuple[list[str], float]:
    """Coloured squares with names, in rows; and where they end."""
    parts, x = [], 0.0
    for name, colour in names:
        wide = 22 + svg.LETTER * len(name) + 16
        if x + wide > svg.WIDTH:
            x, y = 0.0, y + 20
        parts += [f'<rect x="{x:.1f}" y="{y - 10:.1f}" width="12" height="12" fill="{colour}"/>', svg.text(x + 18, y, name)]
        x += wide
    return parts, y + 14


def _left(names: Sequence[str]) -> float:
    return min(300.0, 12 + svg.LETTER * max((len(name) for name in names), default=0))


def _short(name: str, room: float) -> str:
    most = int(room / svg.LETTER)
    return name if len(name) <= most else name[: most - 1].rstrip(" ,:") + "…"


def _across(marks: Sequence[float], at, top: float, bottom: float, title: str) -> list[str]:
    """Upright grid lines with numbers and the axis title below."""
    step = marks[1] - marks[0]
    parts = [svg.line(at(mark), top, at(mark), bottom, INK if mark == 0 else GRID) for mark in marks]
    parts += [svg.text(at(mark), bottom + 17, svg.number(mark, step), "middle", 12, FAINT) for mark in marks]
    return [*parts, svg.text((at(marks[0]) + at(marks[-1])) / 2, bottom + 37, title, "middle")]


def bars(names: Sequence[str], series: Sequence[Series], unit: str, says: str, legend: bool = True) -> str:
    """Lying bars, stacked where there are several series, negative parts to the left of nothing; the sum stands at the end."""
    keys, top = _legend([(name, colour) for name, colour, _ in series]) if legend and len(series) > 1 else ([], 6.0)
    left, bottom = _left(names), top + ROW * len(names) + 4
    ups = [sum(max(values[k], 0) for _, _, values in series) for k in range(len(names))]
    downs = [sum(min(values[k], 0) for _, _, values in series) for k in range(len(names))]
    marks, at = svg.scale(min(0.0, *downs), max(0.0, *ups), left, svg.WIDTH - 70)
    parts = [*keys, *_across(marks, at, top, bottom, unit)]
    for k, name in enumerate(names):
        y, right, below = top + ROW * k + 4, 0.0, 0.0
        parts.append(svg.text(left - 8, y + 14, _short(name, left - 8), "end"))
        for what, colour, values in series:
            value = values[k]
            start = right if value >= 0 else below + value
            right, below = (right + value, below) if value >= 0 else (right, below + value)
            if value:
                said = f"{name}, {what}: {people(value)} {unit}" if what else f"{name}: {people(value)} {unit}"
                parts.append(svg.box(at(start), y, at(start + abs(value)) - at(start), ROW - 8, colour, said))
        parts.append(svg.text(at(ups[k]) + 5, y + 14, people(ups[k] + downs[k]).replace("-", "−")))
    return svg.whole(bottom + 46, parts, says)


def spans(names: Sequence[str], ends: Sequence[tuple[float, float]], words: Sequence[tuple[str, str]], unit: str, says: str) -> str:
    """What each input moves a figure by, to both sides of nothing: at its low end and at its high end, with these in words."""
    legend, top = _legend([("input at its low end", COLOURS["maintenance"]), ("input at its high end", COLOURS["yield_loss"])])
    left, bottom = _left(names), top + ROW * len(names) + 4
    every = [value for pair in ends for value in pair]
    room = 10 + max(len(said) for pair in words for said in pair) * svg.LETTER * 11 / svg.SIZE  # for the words at the ends
    marks, at = svg.scale(min(0.0, *every), max(0.0, *every), left + room, svg.WIDTH - room)
    parts = [*legend, *_across(marks, at, top, bottom, unit)]
    for k, (name, pair) in enumerate(zip(names, ends)):
        y = top + ROW * k + 4
        parts.append(svg.text(left - 8, y + 14, _short(name, left - 8), "end"))
        for value, said, colour in zip(pair, words[k], (COLOURS["maintenance"], COLOURS["yield_loss"])):
            parts.append(
                svg.box(at(min(0.0, value)), y, abs(at(value) - at(0)), ROW - 8, colour, f"{name} at {said}: {people(value)}")
            )
        low, high = sorted(zip(pair, words[k]))
        parts.append(svg.text(at(min(0.0, low[0])) - 5, y + 13, low[1], "end", 11, FAINT))
        parts.append(svg.text(at(max(0.0, high[0])) + 5, y + 13, high[1], "start", 11, FAINT))
    return svg.whole(bottom + 46, parts, says)


def columns(names: Sequence[str], series: Sequence[Series], unit: str, below: str, says: str, height: float = 300) -> str:
    """Upright bars, stacked, negative parts below nothing."""
    legend, top = _legend([(name, colour) for name, colour, _ in series]) if len(series) > 1 else ([], 10.0)
    bottom, left = top + height - 70, 62.0
    ups = [sum(max(values[k], 0) for _, _, values in series) for k in range(len(names))]
    downs = [sum(min(values[k], 0) for _, _, values in series) for k in range(len(names))]
    marks, at = svg.scale(min(0.0, *downs), max(0.0, *ups), bottom, top)
    parts = [*legend, *svg.upright_axis(marks, at, left, unit, top)]
    wide = (svg.WIDTH - left - 10) / len(names)
    for k, name in enumerate(names):
        x, up, down = left + wide * k + wide * 0.15, 0.0, 0.0
        parts.append(svg.text(x + wide * 0.35, bottom + 16, name, "middle", 12, FAINT))
        for what, colour, values in series:
            value = values[k]
            foot = up if value >= 0 else down + value
            up, down = (up + value, down) if value >= 0 else (up, down + value)
            if value:
                said = f"{below} {name}, {what}: {people(value)} {unit}"
                parts.append(svg.box(x, at(foot + abs(value)), wide * 0.7, at(foot) - at(foot + abs(value)), colour, said))
    return svg.whole(bottom + 42, [*parts, svg.text((left + svg.WIDTH) / 2, bottom + 36, below, "middle")], says)


Curve = tuple[str, str, Sequence[float], bool]  # name, colour, heights, whether it is dashed


def curves(
    along: Sequence[float], drawn: Sequence[Curve], marks: Sequence[tuple[float, float, str]], axes: tuple[str, str], says: str
) -> str:
    """Curves over one axis, with marked points: where along, how high, and the words beside; axes are titled."""
    legend, top = _legend([(name, colour) for name, colour, *_ in drawn]) if len(drawn) > 1 else ([], 10.0)
    left, bottom = 62.0, top + 240
    every = [value for _, _, heights, _ in drawn for value in heights]
    rows, high = svg.scale(min(0.0, *every), max(0.0, *every), bottom, top)
    across = svg.ticks(along[0], along[-1], 8)
    right = svg.WIDTH - 24

    def at(value: float) -> float:
        """How far to the right a value stands."""
        return left + (value - along[0]) / (along[-1] - along[0]) * (right - left)

    step = across[1] - across[0]
    parts = [*legend, *svg.upright_axis(rows, high, left, axes[1], top)]
    parts += [svg.text(at(mark), bottom + 16, svg.number(mark, step), "middle", 12, FAINT) for mark in across if mark <= along[-1]]
    parts.append(svg.text((left + right) / 2, bottom + 36, axes[0], "middle"))
    for name, colour, heights, dashed in drawn:
        points = " ".join(f"{at(x):.1f},{high(y):.1f}" for x, y in zip(along, heights))
        dash = ' stroke-dasharray="6 4"' if dashed else ""
        drawn_as = f'fill="none" stroke="{colour}" stroke-width="2.5"{dash}'
        parts.append(f'<polyline points="{points}" {drawn_as}><title>{escape(name)}</title></polyline>')
    for x, y, words in marks:
        anchor = "end" if at(x) > svg.WIDTH * 0.6 else "start"
        shift = -9 if anchor == "end" else 9
        parts.append(f'<circle cx="{at(x):.1f}" cy="{high(y):.1f}" r="4.5" fill="{INK}"><title>{escape(words)}</title></circle>')
        down = 16 if y < 0 or anchor == "start" else -8  # off a curve that rises to the right
        parts.append(svg.text(at(x) + shift, high(y) + down, words, anchor, svg.SIZE, INK, 600))
    return svg.whole(bottom + 42, parts, says)


def timeline(rows: Sequence[tuple[str, float, float, str]], unit: str, says: str) -> str:
    """What happens when: a bar from a start to an end for each row, with words behind; one without length is a diamond."""
    names = [name for name, *_ in rows]
    left, top = _left(names), 6.0
    bottom = top + ROW * len(rows) + 4
    marks, at = svg.scale(0.0, max(end for _, _, end, _ in rows), left, svg.WIDTH - 130)
    parts = _across(marks, at, top, bottom, unit)
    for k, (name, start, end, words) in enumerate(rows):
        y = top + ROW * k + 4
        parts.append(svg.text(left - 8, y + 14, _short(name, left - 8), "end"))
        if end > start:
            parts.append(svg.box(at(start), y, at(end) - at(start), ROW - 8, colour_of("", k), f"{name}: {words}"))
        else:
            x, middle = at(start), y + 9
            parts.append(f'<path d="M{x - 7:.1f} {middle} l7 -7 l7 7 l-7 7 z" fill="{INK}"><title>{escape(words)}</title></path>')
        parts.append(svg.text(at(end) + (5 if end > start else 11), y + 14, words, "start", 11, FAINT))
    return svg.whole(bottom + 46, parts, says)
