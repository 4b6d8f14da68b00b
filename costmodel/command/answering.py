"""What a command answers: sentences and tables, of which the first come first; the rest is printed where it is wanted."""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from .opening import Asked, refuse
from .screen import sentences, show_line, show_table, show_title

if TYPE_CHECKING:
    from ..present.table import Table

PLAIN = "plain"

SENTENCES = 5  # of an answer
NOTHING = "The case has nothing of this kind."


@dataclass(frozen=True)
class View:
    """Sentences and tables on one question, in the order in which they matter.

    `program` prints exact records as JSON or CSV; without it, the tables are printed so, with the digits that people see.
    """

    title: str
    sentences: Sequence[str] = ()
    tables: Sequence[Table] = ()
    program: Callable[[str], None] | None = None
    exit_code: int = 0


def records(
    rows: list[dict[str, Any]], about: dict[str, Any] | None = None, without: dict[str, Any] | None = None
) -> Callable[[str], None]:
    """Print these rows for programs, beside what is said about them; as CSV, `without` where there is none."""
    from .printing import show_records

    return lambda style: show_records(rows, style, about, without)


def style_of(as_json: bool, as_csv: bool, as_plain: bool) -> str:
    """The form of the output as a word, or an empty text for people at a screen."""
    found = [name for name, given in (("json", as_json), ("csv", as_csv), (PLAIN, as_plain)) if given]
    if len(found) > 1:
        refuse(f"{' and '.join(f'--{name}' for name in found)}: found together; allowed: one of them")
    return found[0] if found else ""


STYLES = (
    click.Option(["--json", "as_json"], is_flag=True, help="Print for programs, as JSON; its keys: costmodel guide commands."),
    click.Option(["--csv", "as_csv"], is_flag=True, help="Print for programs, as CSV."),
    click.Option(
        ["--plain", "as_plain"],
        is_flag=True,
        help="Print for other text tools: a line per sentence and row, cells separated by tabs, whatever the screen.",
    ),
)
EVERYTHING = click.Option(["--all", "everything"], is_flag=True, help="Print all sentences and tables, not the first ones alone.")


def answers(command: Callable[..., View]) -> Callable[..., None]:
    """Give a command --all, --json, --csv and --plain, and print the view that it returns."""

    @functools.wraps(command)
    def answered(asked: Asked, as_json: bool, as_csv: bool, as_plain: bool, everything: bool, **rest: Any) -> None:
        """The command, with its answer printed."""
        style = style_of(as_json, as_csv, as_plain)
        view = command(asked, **rest)
        show_views([view], style, everything)
        if view.exit_code:
            sys.exit(view.exit_code)

    answered.__click_params__ = [*reversed((EVERYTHING, *STYLES)), *getattr(command, "__click_params__", [])]  # type: ignore[attr-defined]  # as click's own decorators keep them
    return answered


def show_views(views: Sequence[View], style: str, everything: bool, subjects: Sequence[str] = ()) -> None:
    """Print views: for programs their records, for people all of it or what comes first, and where the rest is."""
    if style == PLAIN:
        _show_plain(views, everything)
    elif style and views[0].program is not None:
        views[0].program(style)
    elif style:
        from .printing import show_tables

        show_tables(views[0].title, [line for view in views for line in _lines(view)], _tables(views), style)
    elif everything:
        _show_all(views)
    else:
        _show_first(views, subjects)


def _lines(view: View) -> list[str]:
    """The sentences of a view, one by one."""
    found = [each for text in view.sentences for each in sentences(text)]
    return found or ([] if any(table.rows for table in view.tables) else [NOTHING])


def _tables(views: Sequence[View]) -> list[Table]:
    """The tables of views that have rows, each once."""
    found: list[Table] = []
    for view in views:
        found += [table for table in view.tables if table.rows and table not in found]
    return found


def _show_plain(views: Sequence[View], everything: bool) -> None:
    """The same sentences and tables as on a screen, one line each, cells separated by tabs."""
    lines, tables = [line for view in views for line in _lines(view)], _tables(views)
    for line in [views[0].title, *(lines if everything else lines[:SENTENCES])]:
        click.echo(line)
    for table in tables if everything else tables[:1]:
        click.echo()
        for cells in ([table.title], table.columns, *table.rows):
            click.echo("\t".join(cells))


def _show_all(views: Sequence[View]) -> None:
    """Each sentence and each table, once."""
    seen: list[Table] = []
    title = ""
    for view in views:
        if view.title != title:
            show_title(view.title)
        title = view.title
        for text in view.sentences or _lines(view):
            show_line(text)
        for table in view.tables:
            if table.rows and table not in seen:
                show_table(table)
                seen.append(table)


def _show_first(views: Sequence[View], subjects: Sequence[str]) -> None:
    """The first sentences and the first table, and what else there is."""
    lines = [line for view in views for line in _lines(view)]
    tables = _tables(views)
    show_title(views[0].title)
    for line in lines[:SENTENCES]:
        show_line(line)
    for table in tables[:1]:
        show_table(table)
    rest = f"By subject: {', '.join(subjects)}. All of it: --all." if subjects else _rest(lines[SENTENCES:], tables[1:])
    if rest:
        click.echo()
        show_line(rest, dim=True)


def _rest(lines: Sequence[str], tables: Sequence[Table]) -> str:
    """What is not shown, and how it is."""
    rest = []
    if lines:
        rest.append(f"{len(lines)} more sentence{'s' if len(lines) > 1 else ''}")
    if tables:
        titles = "; ".join(dict.fromkeys(table.title for table in tables))
        rest.append(f"{len(tables)} more table{'s' if len(tables) > 1 else ''} ({titles})")
    return f"With --all: {' and '.join(rest)}." if rest else ""
