"""Prints tables for people, and figures for programs."""

from __future__ import annotations

import csv
import json
import math
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..core.fields import STATUS
from ..core.units import to_base
from ..core.whole_files import write_whole
from ..model.evaluate import Results, figures, reasons
from ..present.explain.explanation_page import more_like_it, origin, shown_value
from ..present.explain.tree import FIGURE, Node, alike
from ..present.numbers import finite, percent, read_back
from .opening import writing
from .screen import PAPER, screen_width, show_line

if TYPE_CHECKING:
    from ..case.whole_case import Case
    from ..present.drawing import Chart
    from ..present.table import Table


NO_NUMBER = "beyond the numbers that a computer holds"


def show_records(
    records: list[dict[str, Any]], style: str, about: dict[str, Any] | None = None, without: dict[str, Any] | None = None
) -> None:
    """Print records for programs: as JSON under `rows` beside what is stated of them, or as CSV; no number is null, or empty.

    `without` is the row of a CSV that has no other, so that its columns stand there.
    """
    found = records or ([without] if without and style == "csv" else [])
    plain = [finite(record) for record in found]
    if style == "json":
        show_json({**(about or {}), "rows": plain})
        return
    writer = csv.DictWriter(sys.stdout, list(plain[0]) if plain else [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(plain)


def show_json(data: Any) -> None:
    """Print data as JSON that any reader takes: what is no finite number is null."""
    click.echo(json.dumps(finite(data), indent=1, allow_nan=False))


def show_tables(title: str, said: Sequence[str], tables: Sequence[Table], style: str) -> None:
    """Print tables for programs, with the digits that people see: as JSON by heading, or as CSV with a row for each cell.

    A cell that is a number is a number, one that does not apply is null, or empty. A unit that stands in the cell stands beside
    it; others stand in titles and headings.
    """
    if style == "json":
        shown = [
            {"title": table.title, "rows": [_by_heading(table, row) for row in table.rows], "note": table.note} for table in tables
        ]
        click.echo(json.dumps(finite({"title": title, "sentences": list(said), "tables": shown}), indent=1, ensure_ascii=False))
        return
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["table", "row", "column", "value", "unit"])
    for table in tables:
        for row in table.rows:
            writer.writerows([table.title, row[0], head, *read_back(cell)] for head, cell in zip(table.columns[1:], row[1:]))


def _by_heading(table: Table, row: Sequence[str]) -> dict[str, Any]:
    """The cells of a row by heading; the first is its name."""
    found: dict[str, Any] = {"row": row[0]}
    for head, cell in zip(table.columns[1:], row[1:]):
        value, unit = read_back(cell)
        found[head or "value"] = {"value": value, "unit": unit} if unit else value
    return found


def save_chart(path: Path | None, case: Case, title: str, make: Callable[[], tuple[Chart, list[str]]]) -> None:
    """Write a chart, with the sentences that go with it, as a page where a file is asked for, and say where it is."""
    if path:
        from datetime import date

        from ..documents.chart_page import chart_page

        chart, said = make()
        with writing("--chart"):
            write_whole(path, chart_page(case, chart, title, said, date.today().isoformat()))
        show_line(f"Chart: {path}", err=True)


def show_figures(results: Results, currency: str, stage: str, style: str) -> None:
    """Print every figure of one stage in the unit that stands beside it, or why it has no value: as JSON by address, or as CSV."""
    known = {address: (value, unit, meaning) for address, value, unit, meaning in figures(results, currency)}
    why = reasons(results)
    found = []
    for address, (value, unit, meaning) in known.items():
        if address.startswith(f"{stage}."):
            reason = "" if math.isfinite(value) else _why(address, known, why)
            found.append((address, None if reason else value / to_base(unit), unit, meaning, reason))
    if style == "json":
        shown = {a: {"value": value, "unit": unit} | ({"reason": reason} if reason else {}) for a, value, unit, _, reason in found}
        show_json(shown)
        return
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["address", "value", "unit", "meaning", "reason"])
    writer.writerows(found)


def _why(address: str, known: Mapping[str, tuple[Any, str, str]], why: Mapping[str, Mapping[float, str]]) -> str:
    """Why a figure has no value: what its status says, else that it is beyond what numbers hold."""
    status = known.get(address + STATUS)
    return why.get(address, {}).get(float(status[0]), NO_NUMBER) if status else NO_NUMBER


_SMALL = 0.01  # branches of less than this share of a sum are one line
_LONGEST_FORMULA = 160
_REST = (
    "For a formula cut with '...', or the parts of a figure shown without them, give its address as FIGURE; --depth goes deeper. "
    "Without FIGURE, --find TEXT lists addresses."
)


def show_tree(node: Node) -> None:
    """Print a tree of a figure, its own formula whole; small parts of a long sum are one line, and long formulas below are cut."""
    from rich.console import Console
    from rich.tree import Tree

    made = Tree(_label(node, asked=True), guide_style="dim")
    _grow(made, node)
    console = Console(highlight=False, width=screen_width() or PAPER)
    console.print(made)
    if node.kind == FIGURE:
        console.print(f"[dim]{_REST}[/dim]")


def _label(node: Node, asked: bool = False) -> str:
    """What a node shows in a terminal; of the figure that was asked for, the whole formula."""
    from rich.markup import escape

    text = f"[bold]{escape(node.address)}[/bold] = {escape(shown_value(node))}"
    text += f" [yellow]({percent(node.share)})[/yellow]" if node.share is not None else ""
    title = f"{node.title}: " if node.title else ""
    text += f" [dim]{escape(title + node.meaning)}[/dim]"
    if node.kind != FIGURE:
        return f"{text}\n[blue]{escape(origin(node))}[/blue]"
    if node.shown == "above":
        return f"{text}, shown above"
    formula = node.formula
    if len(formula) > _LONGEST_FORMULA:
        is_sum = len(node.children) > 3 and all(child.share is not None for child in node.children) and not node.terms
        formula = f"the sum of {len(node.children)} parts" if is_sum else formula if asked else f"{formula[:_LONGEST_FORMULA]} ..."
    return f"{text}\n= {escape(formula)}"


def _together(nodes: Sequence[Node]) -> str:
    """The share of several branches of a sum."""
    if any(node.share is None for node in nodes):
        return ""
    return f", together {percent(sum(node.share or 0.0 for node in nodes))}"


def _grow(made: Any, node: Node) -> None:
    """Put the branches of a node below it."""
    small = [child for child in node.children if child.share is not None and abs(child.share) < _SMALL]
    small = small if 3 < len(small) < len(node.children) else []
    for child, *more in alike([child for child in node.children if child not in small]):
        _grow(made.add(_label(child)), child)
        if more:
            made.add(f"[dim]{more_like_it(more)}{_together(more)}; each by its address[/dim]")
    if small:
        together = percent(sum(child.share or 0.0 for child in small))
        made.add(
            f"[dim]{len(small)} more of less than {percent(_SMALL, 1)} each, together {together}; --json and --html show them[/dim]"
        )
