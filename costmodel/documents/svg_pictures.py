"""Pictures of documents as plain SVG: they need no script, print sharp, and hold their figures as text.

Each takes plain numbers and gives the SVG; what a mark stands for is its `<title>`, which a browser shows under the pointer.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from ..present.numbers import people
from ..present.palette import COLOURS, FAINT, INK
from . import svg

TRACE = 1e-9  # of the widest: what rounding may leave of nothing
NAMES = 220.0  # px, at most, for the names of lying rows, so that bars begin on a narrow screen
ROW, SMALL = 26, 11  # px: a row, and the letters of a name on two lines
PALETTE = ("materials", "yield_loss", "labour", "maintenance", "building", "utilities", "depreciation", "overheads")
LOW, HIGH = COLOURS["maintenance"], COLOURS["yield_loss"]  # an input at an end of its range

Series = tuple[str, str, Sequence[float]]  # name, colour, values
Curve = tuple[str, str, Sequence[float], bool]  # name, colour, heights, whether it is dashed


def colour_of(name: str, number: int = 0) -> str:
    """The colour of a kind of cost by its name; of anything else by its number."""
    return COLOURS.get(name.replace(" ", "_")) or COLOURS[PALETTE[number % len(PALETTE)]]


def _keys(drawn: Sequence[tuple], top: float) -> tuple[list[str], float]:
    """A legend where there are several, and where it ends; else the top."""
    return svg.legend([(name, colour) for name, colour, *_ in drawn]) if len(drawn) > 1 else ([], top)


def _rows(names: Sequence[str], top: float) -> tuple[list[str], float, float]:
    """The names of lying rows, a long one smaller and on two lines; where the rows begin at the left and end below."""
    left = min(NAMES, 12 + svg.LETTER * max((len(name) for name in names), default=0))
    most = int((left - 8) / svg.LETTER)
    parts = []
    for k, name in enumerate(names):
        if len(name) <= most:
            parts.append(svg.text(left - 8, top + ROW * k + 18, name, "end"))
            continue
        lines = textwrap.wrap(name, int(most * svg.SIZE / SMALL), max_lines=2, placeholder=" …")
        first = top + ROW * k + (11 if len(lines) > 1 else 17)
        parts += [svg.text(left - 8, first + 12 * n, line, "end", SMALL) for n, line in enumerate(lines)]
    return parts, left, top + ROW * len(names) + 4


def _stacked(series: Sequence[Series], k: int) -> Iterator[tuple[str, str, float, float]]:
    """The parts of a stack that are not 0: name, colour, value, and where it starts; negative ones on the other side of nothing."""
    up = down = 0.0
    for name, colour, values in series:
        value = values[k]
        start = up if value >= 0 else down + value
        up, down = (up + value, down) if value >= 0 else (up, down + value)
        if value:
            yield name, colour, value, start


def _heights(series: Sequence[Series], count: int) -> tuple[list[float], list[float]]:
    """How far each stack goes to both sides of nothing."""
    columns = [[values[k] for _, _, values in series] for k in range(count)]
    return [sum(min(v, 0) for v in values) for values in columns], [sum(max(v, 0) for v in values) for values in columns]


def bars(names: Sequence[str], series: Sequence[Series], unit: str, says: str, legend: bool = True) -> str:
    """Lying bars, stacked where there are several series, negative parts to the left of nothing; the sum stands at the end."""
    keys, top = _keys(series if legend else [], 6.0)
    titles, left, bottom = _rows(names, top)
    downs, ups = _heights(series, len(names))
    marks, at = svg.scale(min(0.0, *downs), max(0.0, *ups), left, svg.WIDTH - 70)
    parts = [*keys, *svg.lying_axis(marks, at, top, bottom, unit), *titles]
    for k, name in enumerate(names):
        y = top + ROW * k + 4
        for what, colour, value, start in _stacked(series, k):
            said = f"{name}, {what}: {people(value)} {unit}" if what else f"{name}: {people(value)} {unit}"
            parts.append(svg.box(at(start), y, at(start + abs(value)) - at(start), ROW - 8, colour, said))
        parts.append(svg.on_white(at(ups[k]) + 5, y + 14, people(ups[k] + downs[k])))
    return svg.whole(bottom + 46, parts, says)


def near_nothing(value: float, beside: Sequence[float]) -> float:
    """A value, or 0 where it is only what rounding left beside much larger ones.

    >>> near_nothing(-1.5e-14, [-1.5e-14, 276.3]), near_nothing(0.02, [0.02, 276.3])
    (0.0, 0.02)
    """
    return 0.0 if abs(value) <= TRACE * max(map(abs, beside)) else value


def spans(names: Sequence[str], ends: Sequence[svg.Point], words: Sequence[tuple[str, str]], unit: str, says: str) -> str:
    """What each input moves a figure by, to both sides of nothing: at its low end and at its high end, with these in words."""
    keys, top = svg.legend([("input at its low end", LOW), ("input at its high end", HIGH)])
    titles, left, bottom = _rows(names, top)
    every = [value for pair in ends for value in pair]
    room = 10 + max(len(said) for pair in words for said in pair) * svg.LETTER * 11 / svg.SIZE  # for the words at the ends
    marks, at = svg.scale(min(0.0, *every), max(0.0, *every), left + room, svg.WIDTH - room)
    parts = [*keys, *svg.lying_axis(marks, at, top, bottom, unit), *titles]
    for k, (name, pair) in enumerate(zip(names, ends)):
        y = top + ROW * k + 4
        for value, said, colour in zip((near_nothing(value, every) for value in pair), words[k], (LOW, HIGH)):
            wide = abs(at(value) - at(0))
            parts.append(svg.box(at(min(0.0, value)), y, wide, ROW - 8, colour, f"{name} at {said}: {people(value)}"))
        low, high = sorted(zip(pair, words[k]))
        parts.append(svg.on_white(at(min(0.0, low[0])) - 5, y + 13, low[1], "end", 11, FAINT))
        parts.append(svg.on_white(at(max(0.0, high[0])) + 5, y + 13, high[1], "start", 11, FAINT))
    return svg.whole(bottom + 46, parts, says)


def columns(names: Sequence[str], series: Sequence[Series], unit: str, below: str, says: str) -> str:
    """Upright bars, stacked, negative parts below nothing."""
    keys, top = _keys(series, 10.0)
    bottom, left = top + 230, 62.0
    downs, ups = _heights(series, len(names))
    marks, at = svg.scale(min(0.0, *downs), max(0.0, *ups), bottom, top)
    parts = [*keys, *svg.upright_axis(marks, at, left, unit)]
    wide = (svg.WIDTH - left - 10) / len(names)
    for k, name in enumerate(names):
        x = left + wide * k + wide * 0.15
        parts.append(svg.text(x + wide * 0.35, bottom + 16, name, "middle", 12, FAINT))
        for what, colour, value, start in _stacked(series, k):
            head, foot = at(start + abs(value)), at(start)
            parts.append(svg.box(x, head, wide * 0.7, foot - head, colour, f"{below} {name}, {what}: {people(value)} {unit}"))
    return svg.whole(bottom + 42, [*parts, svg.text((left + svg.WIDTH) / 2, bottom + 36, below, "middle")], says)


def curves(
    along: Sequence[float], drawn: Sequence[Curve], marks: Sequence[tuple[float, float, str]], axes: tuple[str, str], says: str
) -> str:
    """Curves from 0 on, with marked points: where along, how high, and the words beside; axes are titled."""
    keys, top = _keys(drawn, 10.0)
    left, bottom, right = 62.0, top + 240, svg.WIDTH - 24
    every = [value for _, _, heights, _ in drawn for value in heights]
    rows, high = svg.scale(min(0.0, *every), max(0.0, *every), bottom, top)

    def at(value: float) -> float:
        """How far to the right a value stands."""
        return left + value / along[-1] * (right - left)

    parts = [*keys, *svg.upright_axis(rows, high, left, axes[1]), *svg.plain_axis(along[-1], at, left, right, bottom, axes[0])]
    for name, colour, heights, dashed in drawn:
        parts.append(svg.curve([(at(x), high(y)) for x, y in zip(along, heights)], colour, name, "6 4" if dashed else ""))
    for x, y, words in marks:
        anchor, shift = ("end", -9) if at(x) > svg.WIDTH * 0.6 else ("start", 9)
        down = 16 if y < 0 or anchor == "start" else -8  # off a curve that rises to the right
        parts += [svg.dot(at(x), high(y), words), svg.text(at(x) + shift, high(y) + down, words, anchor, svg.SIZE, INK, 600)]
    return svg.whole(bottom + 42, parts, says)


def timeline(rows: Sequence[tuple[str, float, float, str, str]], unit: str, says: str) -> str:
    """What happens when: a bar from a start to an end for each row, with words and a colour; one without length is a diamond."""
    titles, left, bottom = _rows([name for name, *_ in rows], 6.0)
    marks, at = svg.scale(0.0, max(end for _, _, end, *_ in rows), left, svg.WIDTH - 130)
    parts = [*svg.lying_axis(marks, at, 6.0, bottom, unit), *titles]
    for k, (name, start, end, words, colour) in enumerate(rows):
        y = 10.0 + ROW * k
        if end > start:
            parts.append(svg.box(at(start), y, at(end) - at(start), ROW - 8, colour, f"{name}: {words}"))
        else:
            parts.append(svg.diamond(at(start), y + 9, 7, words))
        parts.append(svg.on_white(at(end) + (5 if end > start else 11), y + 14, words, "start", 11, FAINT))
    return svg.whole(bottom + 46, parts, says)
