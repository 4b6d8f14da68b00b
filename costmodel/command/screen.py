"""How sentences and tables are set on a screen of any width: nothing is cut, no number is broken, no row loses its name."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap

import click

from ..present.table import Table

GAP = "  "
HANGING = "  "  # before the further lines of a message
PAPER = 160  # columns of a table that is piped or written to a file
SHORT = 14  # a heading up to this length stays on one line where there is room
NARROW = 16  # a column of texts is not narrower, unless its texts are
OVER_TIME = 8  # a table of more columns than this, as of years, goes on below itself
_SENTENCE_ENDS = re.compile(r"(?<=[.!?])(?<!\b[A-Z]\.)\s+(?=[A-Z“])")
_GLUED = re.compile(r"(?<=\d) (?=%|°|million\b|EUR\b)|(?<=[±→]) (?=\d)|(?<=\b[A-Z]{3}) (?=[\d−-])")


def screen_width(err: bool = False) -> int | None:
    """The columns of the terminal, or nothing where output, or with `err` what is said beside it, goes to a file or a pipe."""
    return shutil.get_terminal_size().columns if (sys.stderr if err else sys.stdout).isatty() else None


def sentences(text: str) -> list[str]:
    """The sentences of a text.

    >>> sentences("The plant pays. By 2.5 years, as R. Roe says, it is paid back. “Roofs” cost more.")
    ['The plant pays.', 'By 2.5 years, as R. Roe says, it is paid back.', '“Roofs” cost more.']
    """
    return [part for part in _SENTENCE_ENDS.split(text.strip()) if part]


def wrapped(text: str, width: int | None, indent: str = "") -> list[str]:
    """A text as lines of at most `width`; a number keeps its unit, lines after the first are indented.

    >>> wrapped("The plant earns EUR 3.42 million at 12.9 % a year.", 23)
    ['The plant earns', 'EUR 3.42 million at', '12.9 % a year.']
    """
    if width is None or len(text) <= width:
        return [text]
    lines = textwrap.wrap(_GLUED.sub("\xa0", text), width, subsequent_indent=indent, break_on_hyphens=False)
    return [line.replace("\xa0", " ") for line in lines] or [""]


def lay_out(table: Table, width: int | None) -> list[str]:
    """A table below its title as lines: as columns where they fit; else over time as bands of columns, or row by row.

    >>> tools = Table("Tools", ["", "needed", "in the plant"], [["oven", "2.81", "3"], ["laser scriber", "0.691", "1"]])
    >>> print(*lay_out(tools, 40), sep="\\n")
                   needed  in the plant
    ───────────────────────────────────
    oven             2.81             3
    laser scriber   0.691             1
    >>> print(*lay_out(tools, 22), sep="\\n")
    oven
      needed        2.81
      in the plant  3
    laser scriber
      needed        0.691
      in the plant  1
    """
    body = _in_columns(table, range(len(table.columns)), width) or _in_bands(table, width) or _row_by_row(table, width or PAPER)
    return [*body, *(wrapped(table.note, width or PAPER) if table.note else [])]


def _longest_word(text: str) -> int:
    return max(map(len, _GLUED.sub("\xa0", text).split(" ")), default=0)


def _on_two_lines(text: str) -> int:
    """The least width in which a heading that is long takes two lines."""
    if len(text) <= SHORT:
        return len(text)
    least = _longest_word(text)
    return next((w for w in range(least, len(text)) if len(textwrap.wrap(text, w, break_on_hyphens=False)) <= 2), len(text))


def _span(table: Table, column: int) -> tuple[int, int]:
    """The least and the best width of a column."""
    cells, head = [row[column] for row in table.rows], table.columns[column]
    whole = max(map(len, cells), default=0)
    if column not in table.texts:
        return max(whole, _longest_word(head)), max(whole, _on_two_lines(head))
    words = max(map(_longest_word, [*cells, head]))
    best = max(whole, len(head))
    return min(best, max(words, NARROW)), best


def _widths(table: Table, columns: range | list[int], width: int | None) -> list[int] | None:
    """How wide each column is, the widest wishes met last; nothing where they do not fit."""
    spans = [_span(table, column) for column in columns]
    found = [least for least, _ in spans]
    left = (PAPER if width is None else width) - sum(found) - len(GAP) * (len(found) - 1)
    if left < 0:
        return found if width is None else None
    for _ in range(left):
        wish, which = max((best - now, -k) for k, ((_, best), now) in enumerate(zip(spans, found)))
        if wish <= 0:
            break
        found[-which] += 1
    return found


def _in_columns(table: Table, columns: range | list[int], width: int | None) -> list[str]:
    """The table with these columns side by side; nothing where they do not fit."""
    widths = _widths(table, columns, width)
    if widths is None:
        return []
    head = [textwrap.wrap(table.columns[c], w, break_on_hyphens=False) for c, w in zip(columns, widths)]
    height = max(map(len, head))
    lines = _row(table, columns, widths, [[""] * (height - len(cell)) + cell for cell in head]) if height else []
    lines.append("─" * (sum(widths) + len(GAP) * (len(widths) - 1)))
    for number, row in enumerate(table.rows):
        if table.total and number == len(table.rows) - 1:
            lines.append("")
        lines += _row(
            table, columns, widths, [wrapped(row[c], w) if c in table.texts else [row[c]] for c, w in zip(columns, widths)]
        )
    return lines


def _row(table: Table, columns: range | list[int], widths: list[int], cells: list[list[str]]) -> list[str]:
    """One row of a table, of as many lines as its longest cell."""
    lines = []
    for line in range(max(1, *map(len, cells))):
        parts = [cell[line] if line < len(cell) else "" for cell in cells]
        set_ = [part.ljust(w) if c in table.texts else part.rjust(w) for c, w, part in zip(columns, widths, parts)]
        lines.append(GAP.join(set_).rstrip())
    return lines


def _in_bands(table: Table, width: int | None) -> list[str]:
    """A table over time as bands of columns, one below the other, each with the names of the rows; else nothing."""
    if len(table.columns) <= OVER_TIME or len(table.texts) > 1:
        return []
    lines: list[str] = []
    first = 1
    while first < len(table.columns):
        last = next((k for k in range(len(table.columns), first, -1) if _in_columns(table, [0, *range(first, k)], width)), first)
        if last == first:
            return []
        lines += [*([""] if lines else []), *_in_columns(table, [0, *range(first, last)], width)]
        first = last
    return lines


def _row_by_row(table: Table, width: int) -> list[str]:
    """A table as one block per row: its name, then each column with its heading."""
    heads = table.columns
    room = max(map(len, heads[1:]), default=0)
    if max((len(cell) for row in table.rows for cell in row[1:]), default=0) > width - room - 4:
        room = min(room, width // 2)
    lines: list[str] = []
    for row in table.rows:
        lines += wrapped(f"{heads[0]}: {row[0]}" if heads[0] else row[0], width)
        for column, cell in list(enumerate(row))[1:]:
            if cell:
                lines += _pair(heads[column], cell, room, width)
    return lines


def _pair(head: str, cell: str, room: int, width: int) -> list[str]:
    """A heading and what stands under it, on one line where that fits."""
    shown = wrapped(cell, width - room - 4)
    titles = wrapped(head, room)
    count = max(len(shown), len(titles))
    titles, shown = [*titles, *[""] * (count - len(titles))], [*shown, *[""] * (count - len(shown))]
    return [f"  {title.ljust(room)}{GAP}{part}".rstrip() for title, part in zip(titles, shown)]


def show_title(text: str) -> None:
    """Print a title."""
    click.secho("\n".join(wrapped(text, screen_width())), bold=True)


def show_line(text: str, dim: bool = False, err: bool = False) -> None:
    """Print a sentence, or several of one thought, wrapped at the width of the terminal; with `err`, beside the output."""
    click.secho("\n".join(wrapped(text, screen_width(err), HANGING if err else "")), dim=dim, err=err)


def show_lines(lines: list[str]) -> None:
    """Print sentences, the first as a title."""
    show_title(lines[0])
    for line in lines[1:]:
        show_line(line)


def show_table(table: Table) -> None:
    """Print a table, its title set off from what stands before it."""
    width = screen_width()
    click.echo()
    show_title(table.title)
    click.echo("\n".join(lay_out(table, width)))
