"""Pictures of documents as plain SVG: they need no script, print sharp, and hold their figures as text.

Each takes plain numbers and gives the SVG; what a mark stands for is its `<title>`, which a browser shows under the pointer.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from html import escape

from .numbers import people
from .palette import COLOURS, FAINT, FONT, GRID, INK

WIDTH, SIZE, ROW, LETTER = 720, 13, 26, 6.4  # px; LETTER is what a letter takes at most on average
PALETTE = ("materials", "yield_loss", "labour", "maintenance", "building", "utilities", "depreciation", "overheads")

Series = tuple[str, str, Sequence[float]]  # name, colour, values


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


def _number(value: float, step: float) -> str:
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value:,.{decimals}f}".replace("-", "−")


def _text(x: float, y: float, words: str, anchor: str = "start", size: int = SIZE, colour: str = INK, weight: int = 400) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" fill="{colour}" '
        f'font-weight="{weight}">{escape(words)}</text>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, colour: str = GRID, width: float = 1, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" stroke-width="{width}"{dashed}/>'


def _box(x: float, y: float, width: float, height: float, colour: str, says: str) -> str:
    return (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{max(width, 0):.2f}" height="{height:.2f}" fill="{colour}" '
        f'stroke="white" stroke-width="0.5"><title>{escape(says)}</title></rect>'
    )


def _whole(height: float, parts: Iterable[str], says: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" width="{WIDTH}" height="{height:.0f}" '
        f'role="img" aria-label="{escape(says)}" font-family="{FONT}"><title>{escape(says)}</title>'
        f'<rect width="{WIDTH}" height="{height:.0f}" fill="white"/>{"".join(parts)}</svg>'
    )


def colour_of(name: str, number: int = 0) -> str:
    """The colour of a kind of cost by its name; of anything else by its number."""
    return COLOURS.get(name.replace(" ", "_")) or COLOURS[PALETTE[number % len(PALETTE)]]


def _legend(names: Sequence[tuple[str, str]], y: float = 16) -> tuple[list[str], float]:
    """Coloured squares with names, in rows; and where they end."""
    parts, x = [], 0.0
    for name, colour in names:
        wide = 22 + LETTER * len(name) + 16
        if x + wide > WIDTH:
            x, y = 0.0, y + 20
        parts += [f'<rect x="{x:.1f}" y="{y - 10:.1f}" width="12" height="12" fill="{colour}"/>', _text(x + 18, y, name)]
        x += wide
    return parts, y + 14


def _left(names: Sequence[str]) -> float:
    return min(300.0, 12 + LETTER * max((len(name) for name in names), default=0))


def _short(name: str, room: float) -> str:
    most = int(room / LETTER)
    return name if len(name) <= most else name[: most - 1].rstrip(" ,:") + "…"


def _scale(low: float, high: float, start: float, end: float):
    marks = ticks(low, high)
    low, high = marks[0], marks[-1]
    return marks, lambda value: start + (value - low) / (high - low) * (end - start)


def _across(marks: Sequence[float], at, top: float, bottom: float, title: str) -> list[str]:
    """Upright grid lines with numbers and the axis title below."""
    step = marks[1] - marks[0]
    parts = [_line(at(mark), top, at(mark), bottom, INK if mark == 0 else GRID) for mark in marks]
    parts += [_text(at(mark), bottom + 17, _number(mark, step), "middle", 12, FAINT) for mark in marks]
    return [*parts, _text((at(marks[0]) + at(marks[-1])) / 2, bottom + 37, title, "middle")]


def bars(names: Sequence[str], series: Sequence[Series], unit: str, says: str, legend: bool = True) -> str:
    """Lying bars, stacked where there are several series, negative parts to the left of nothing; the sum stands at the end."""
    keys, top = _legend([(name, colour) for name, colour, _ in series]) if legend and len(series) > 1 else ([], 6.0)
    left, bottom = _left(names), top + ROW * len(names) + 4
    ups = [sum(max(values[k], 0) for _, _, values in series) for k in range(len(names))]
    downs = [sum(min(values[k], 0) for _, _, values in series) for k in range(len(names))]
    marks, at = _scale(min(0.0, *downs), max(0.0, *ups), left, WIDTH - 70)
    parts = [*keys, *_across(marks, at, top, bottom, unit)]
    for k, name in enumerate(names):
        y, right, below = top + ROW * k + 4, 0.0, 0.0
        parts.append(_text(left - 8, y + 14, _short(name, left - 8), "end"))
        for what, colour, values in series:
            value = values[k]
            start = right if value >= 0 else below + value
            right, below = (right + value, below) if value >= 0 else (right, below + value)
            if value:
                said = f"{name}, {what}: {people(value)} {unit}" if what else f"{name}: {people(value)} {unit}"
                parts.append(_box(at(start), y, at(start + abs(value)) - at(start), ROW - 8, colour, said))
        parts.append(_text(at(ups[k]) + 5, y + 14, people(ups[k] + downs[k]).replace("-", "−")))
    return _whole(bottom + 46, parts, says)


def spans(names: Sequence[str], ends: Sequence[tuple[float, float]], words: Sequence[tuple[str, str]], unit: str, says: str) -> str:
    """What each input moves a figure by, to both sides of nothing: at its low end and at its high end, with these in words."""
    legend, top = _legend([("input at its low end", COLOURS["maintenance"]), ("input at its high end", COLOURS["yield_loss"])])
    left, bottom = _left(names), top + ROW * len(names) + 4
    every = [value for pair in ends for value in pair]
    marks, at = _scale(min(0.0, *every), max(0.0, *every), left + 84, WIDTH - 90)
    parts = [*legend, *_across(marks, at, top, bottom, unit)]
    for k, (name, pair) in enumerate(zip(names, ends)):
        y = top + ROW * k + 4
        parts.append(_text(left - 8, y + 14, _short(name, left - 8), "end"))
        for value, said, colour in zip(pair, words[k], (COLOURS["maintenance"], COLOURS["yield_loss"])):
            parts.append(
                _box(at(min(0.0, value)), y, abs(at(value) - at(0)), ROW - 8, colour, f"{name} at {said}: {people(value)}")
            )
        low, high = sorted(zip(pair, words[k]))
        parts.append(_text(at(min(0.0, low[0])) - 5, y + 13, low[1], "end", 11, FAINT))
        parts.append(_text(at(max(0.0, high[0])) + 5, y + 13, high[1], "start", 11, FAINT))
    return _whole(bottom + 46, parts, says)


def columns(names: Sequence[str], series: Sequence[Series], unit: str, below: str, says: str, height: float = 300) -> str:
    """Upright bars, stacked, negative parts below nothing."""
    legend, top = _legend([(name, colour) for name, colour, _ in series]) if len(series) > 1 else ([], 10.0)
    bottom, left = top + height - 70, 62.0
    ups = [sum(max(values[k], 0) for _, _, values in series) for k in range(len(names))]
    downs = [sum(min(values[k], 0) for _, _, values in series) for k in range(len(names))]
    marks, at = _scale(min(0.0, *downs), max(0.0, *ups), bottom, top)
    parts = [*legend, *_up(marks, at, left, unit, top)]
    wide = (WIDTH - left - 10) / len(names)
    for k, name in enumerate(names):
        x, up, down = left + wide * k + wide * 0.15, 0.0, 0.0
        parts.append(_text(x + wide * 0.35, bottom + 16, name, "middle", 12, FAINT))
        for what, colour, values in series:
            value = values[k]
            foot = up if value >= 0 else down + value
            up, down = (up + value, down) if value >= 0 else (up, down + value)
            if value:
                said = f"{below} {name}, {what}: {people(value)} {unit}"
                parts.append(_box(x, at(foot + abs(value)), wide * 0.7, at(foot) - at(foot + abs(value)), colour, said))
    return _whole(bottom + 42, [*parts, _text((left + WIDTH) / 2, bottom + 36, below, "middle")], says)


def _up(marks: Sequence[float], at, left: float, unit: str, top: float) -> list[str]:
    """Lying grid lines with numbers at the left, and the unit turned beside them."""
    step, middle = marks[1] - marks[0], (at(marks[0]) + at(marks[-1])) / 2
    parts = [_line(left, at(mark), WIDTH - 10, at(mark), INK if mark == 0 else GRID) for mark in marks]
    parts += [_text(left - 6, at(mark) + 4, _number(mark, step), "end", 12, FAINT) for mark in marks]
    turned = _text(0, 0, unit, "middle")
    return [*parts, f'<g transform="translate(13 {middle:.1f}) rotate(-90)">{turned}</g>']


Curve = tuple[str, str, Sequence[float], bool]  # name, colour, heights, whether it is dashed


def curves(
    along: Sequence[float], drawn: Sequence[Curve], marks: Sequence[tuple[float, float, str]], axes: tuple[str, str], says: str
) -> str:
    """Curves over one axis, with marked points: where along, how high, and the words beside; axes are titled."""
    legend, top = _legend([(name, colour) for name, colour, *_ in drawn]) if len(drawn) > 1 else ([], 10.0)
    left, bottom = 62.0, top + 240
    every = [value for _, _, heights, _ in drawn for value in heights]
    rows, high = _scale(min(0.0, *every), max(0.0, *every), bottom, top)
    across = ticks(along[0], along[-1], 8)
    right = WIDTH - 24

    def at(value: float) -> float:
        return left + (value - along[0]) / (along[-1] - along[0]) * (right - left)

    step = across[1] - across[0]
    parts = [*legend, *_up(rows, high, left, axes[1], top)]
    parts += [_text(at(mark), bottom + 16, _number(mark, step), "middle", 12, FAINT) for mark in across if mark <= along[-1]]
    parts.append(_text((left + right) / 2, bottom + 36, axes[0], "middle"))
    for name, colour, heights, dashed in drawn:
        points = " ".join(f"{at(x):.1f},{high(y):.1f}" for x, y in zip(along, heights))
        dash = ' stroke-dasharray="6 4"' if dashed else ""
        drawn_as = f'fill="none" stroke="{colour}" stroke-width="2.5"{dash}'
        parts.append(f'<polyline points="{points}" {drawn_as}><title>{escape(name)}</title></polyline>')
    for x, y, words in marks:
        anchor = "end" if at(x) > WIDTH * 0.6 else "start"
        shift = -9 if anchor == "end" else 9
        parts.append(f'<circle cx="{at(x):.1f}" cy="{high(y):.1f}" r="4.5" fill="{INK}"><title>{escape(words)}</title></circle>')
        parts.append(_text(at(x) + shift, high(y) + (16 if y < 0 else -8), words, anchor, SIZE, INK, 600))
    return _whole(bottom + 42, parts, says)


def _height(along: Sequence[float], heights: Sequence[float | None], x: float) -> float | None:
    """How high a line is at a place between its points; None where it is not."""
    for k in range(len(along) - 1):
        if along[k] <= x <= along[k + 1]:
            a, b = heights[k], heights[k + 1]
            return None if a is None or b is None else a + (b - a) * (x - along[k]) / ((along[k + 1] - along[k]) or 1.0)
    return None


Box = tuple[float, float, float, float]  # left, top, right, bottom


def _place(words: str, spots: Iterable[tuple[float, float]], size: int, kept: list[Box], frame: Box) -> tuple[float, float] | None:
    """The first spot for the left end of words at which they cover nothing that is kept, which they then are, too; else None."""
    wide = LETTER * size / SIZE * len(words)
    for x, y in spots:
        box = (x - 3, y - size, x + wide + 3, y + 5)
        inside = frame[0] <= box[0] and frame[1] <= box[1] and box[2] <= frame[2] and box[3] <= frame[3]
        if inside and not any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in kept):
            kept.append(box)
            return x, y
    return None


def zone(
    along: Sequence[float],
    low: Sequence[float | None],
    high: Sequence[float | None],
    alike: Sequence[float | None],
    inside: Sequence[bool],
    offer: tuple[float, float],
    rounds: Sequence[tuple[float, float]],
    axes: tuple[str, str],
    says: str,
) -> str:
    """The plane of two terms: between `low` and `high`, where `inside`, both sides gain; the offer, rounds as a path, and words.

    Words stand where they cover no line, no point and no other words; those of a point may cross a line, others that
    find no place are left out.
    """
    left, top, right, bottom = 62.0, 12.0, WIDTH - 12.0, 372.0
    frame = (left + 2, top, right, bottom - 2)
    known = [y for line in (low, high, alike) for y in line if y is not None]
    rows, up = _scale(0.0, 1.05 * max([*known, offer[1], *(y for _, y in rounds)]), bottom, top)
    across = ticks(0.0, along[-1], 8)

    def at(value: float) -> float:
        return left + value / along[-1] * (right - left)

    parts = _up(rows, up, left, axes[1], top)
    parts += [_text(at(mark), bottom + 16, _number(mark, across[1]), "middle", 12, FAINT) for mark in across if mark <= along[-1]]
    parts.append(_text((left + right) / 2, bottom + 36, axes[0], "middle"))
    band = [(x, lo, hi) for x, lo, hi, both in zip(along, low, high, inside) if both and lo is not None and hi is not None]
    if band:
        edge = [(x, hi) for x, _, hi in band] + [(x, lo) for x, lo, _ in reversed(band)]
        points = " ".join(f"{at(x):.1f},{up(y):.1f}" for x, y in edge)
        parts.append(
            f'<polygon points="{points}" fill="{COLOURS["labour"]}" fill-opacity="0.18"><title>both gain</title></polygon>'
        )
    kept: list[Box] = []
    drawn = (
        ("the licensor has just its floor", COLOURS["licensor"], low, ""),
        ("the licensee has just its best alternative", COLOURS["licensee"], high, ""),
        ("both gain alike", INK, alike, "3 4"),
    )
    for name, colour, heights, dash in drawn:
        points = [(at(x), up(y)) for x, y in zip(along, heights) if y is not None]
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        shape = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        if points:
            drawn_as = f'fill="none" stroke="{colour}" stroke-width="2.5"{dashed}'
            parts.append(f'<polyline points="{shape}" {drawn_as}><title>{name}</title></polyline>')
        for (x1, y1), (x2, y2) in itertools.pairwise(points):
            for part in range(6):
                x, y = x1 + (x2 - x1) * part / 6, y1 + (y2 - y1) * part / 6
                kept.append((x - 2, y - 2, x + 2, y + 2))
    path = [(at(x), up(y)) for x, y in rounds]
    for (x1, y1), (x2, y2) in itertools.pairwise(path):
        parts.append(_line(x1, y1, x2, y2, INK, 1, "5 4"))
        kept += [(x1 + (x2 - x1) * k / 20, y1 + (y2 - y1) * k / 20) * 2 for k in range(21)]
    for x, y in path:
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="white" stroke="{INK}" stroke-width="1.5"/>')
    x, y = at(offer[0]), up(offer[1])
    parts.append(f'<path d="M{x - 8:.1f} {y:.1f} l8 -8 l8 8 l-8 8 z" fill="{INK}"><title>the offer</title></path>')
    marked: list[Box] = [(x - 9, y - 9, x + 9, y + 9), *((a - 7, b - 7, a + 7, b + 7) for a, b in path)]
    kept += marked

    def beside(x: float, y: float, words: str) -> list[tuple[float, float]]:
        wide = LETTER * len(words)
        return [
            (x + 12, y + 5),
            (x - wide - 12, y + 5),
            (x + 8, y - 12),
            (x + 8, y + 22),
            (x - wide - 8, y - 12),
            (x - wide - 8, y + 22),
        ]

    def said(
        words: str,
        spots: Iterable[tuple[float, float]],
        size: int = SIZE,
        colour: str = INK,
        weight: int = 400,
        point: bool = False,
    ) -> None:
        """Words at the first spot that is free; those of a point may cross a line where none is."""
        tried = list(spots)
        spot = _place(words, tried, size, kept, frame)
        if spot:
            marked.append(kept[-1])
        elif point:
            spot = _place(words, tried, size, marked, frame)
            kept.append(marked[-1])
        if spot:
            parts.append(_text(*spot, words, "start", size, colour, weight))

    said("offer", beside(x, y, "offer"), weight=600, point=True)
    for number, (a, b) in enumerate(path, start=1):
        said(f"round {number}", beside(a, b, f"round {number}"), point=True)
    for name, colour, heights, _ in drawn:
        points = [(at(x), up(y)) for x, y in zip(along, heights) if y is not None]
        said(name, [(a + 6, b + shift) for shift in (-6, -14, 16, 24) for a, b in points], colour=colour, weight=600)
    grid = [(left + 8 + 12 * k, top + 18 + 12 * n) for n in range(29) for k in range(52)]

    def room(words: str, size: int, fits) -> list[tuple[float, float]]:
        wide = LETTER * size / SIZE * len(words)
        corners = [(x, y, [(x + wide * part, edge) for part in (0.0, 0.5, 1.0) for edge in (y - size, y + 5)]) for x, y in grid]
        return [(x, y) for x, y, spots in corners if all(fits((a - left) / (right - left) * along[-1], b) for a, b in spots)]

    def above(x: float, y: float) -> bool:
        height = _height(along, high, x)
        return height is None or y < up(height)

    def below(x: float, y: float) -> bool:
        height = _height(along, low, x)
        return height is not None and y > up(height)

    if band:
        both = room("both gain", 17, lambda x, y: not above(x, y) and not below(x, y))
        said("both gain", sorted(both, key=lambda spot: abs(spot[0] - (left + right) / 3)), 17, weight=600)
    else:
        never = all(height is None for height in high)
        why = "even with nothing paid the licensee would rather do something else"
        said(
            why if never else "no mix of fee and royalty suits both",
            [(left + 12, top + 24), (left + 12, bottom - 12)],
            15,
            weight=600,
        )
    else_ = "the licensee would rather do something else"
    if any(height is not None for height in high):
        said(else_, sorted(room(else_, 14, above), key=lambda spot: (spot[0], -spot[1]), reverse=True), 14, FAINT)
    short = "the licensor is below its floor"
    said(short, sorted(room(short, 14, below), key=lambda spot: (spot[0], -spot[1])), 14, FAINT)
    return _whole(bottom + 46, parts, says)


def timeline(rows: Sequence[tuple[str, float, float, str]], unit: str, says: str) -> str:
    """What happens when: a bar from a start to an end for each row, with words behind; one without length is a diamond."""
    names = [name for name, *_ in rows]
    left, top = _left(names), 6.0
    bottom = top + ROW * len(rows) + 4
    marks, at = _scale(0.0, max(end for _, _, end, _ in rows), left, WIDTH - 130)
    parts = _across(marks, at, top, bottom, unit)
    for k, (name, start, end, words) in enumerate(rows):
        y = top + ROW * k + 4
        parts.append(_text(left - 8, y + 14, _short(name, left - 8), "end"))
        if end > start:
            parts.append(_box(at(start), y, at(end) - at(start), ROW - 8, colour_of("", k), f"{name}: {words}"))
        else:
            x, middle = at(start), y + 9
            parts.append(f'<path d="M{x - 7:.1f} {middle} l7 -7 l7 7 l-7 7 z" fill="{INK}"><title>{escape(words)}</title></path>')
        parts.append(_text(at(end) + (5 if end > start else 11), y + 14, words, "start", 11, FAINT))
    return _whole(bottom + 46, parts, says)
