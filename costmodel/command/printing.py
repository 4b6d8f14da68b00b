"""Prints tables for people, and figures for programs."""

from __future__ import annotations

import csv
import json
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..model import Results, figures
from ..report.table import Table
from ..units import to_base

if TYPE_CHECKING:
    import plotly.graph_objects as go


def show_lines(lines: list[str]) -> None:
    """Print sentences, the first as a title."""
    click.secho(lines[0], bold=True)
    for line in lines[1:]:
        click.echo(line)


def show_table(table: Table) -> None:
    """Print a table; where output is no terminal it is as wide as it needs."""
    from rich import box
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table as RichTable

    shown = RichTable(
        title=f"\n{escape(table.title)}", title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False
    )
    for index, column in enumerate(table.columns):
        shown.add_column(escape(column), justify="left" if index in table.texts else "right", no_wrap=index not in table.texts)
    for number, row in enumerate(table.rows):
        last = table.total and number == len(table.rows) - 1
        shown.add_row(*map(escape, row), style="bold" if last else None, end_section=table.total and number == len(table.rows) - 2)
    console = Console(highlight=False, width=None if sys.stdout.isatty() else 160)
    console.print(shown)
    if table.note:
        console.print(table.note, markup=False)


def show_records(records: list[dict[str, Any]], style: str, about: dict[str, Any] | None = None) -> None:
    """Print records for programs: as JSON under `rows` beside what is said about them, or as CSV; no number is null, or empty."""
    plain = [{key: None if isinstance(v, float) and math.isnan(v) else v for key, v in record.items()} for record in records]
    if style == "json":
        click.echo(json.dumps({**(about or {}), "rows": plain}, indent=1, allow_nan=False))
        return
    writer = csv.DictWriter(sys.stdout, list(plain[0]) if plain else [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(plain)


def write_chart(figure: go.Figure, path: Path) -> None:
    """Write a chart as one HTML file that opens offline; the file is put in its place whole."""
    partial = path.with_name(path.name + ".partial")
    partial.write_text(figure.to_html(include_plotlyjs=True, full_html=True), encoding="utf-8")
    partial.replace(path)


def save_chart(path: Path | None, make: Callable[[], go.Figure]) -> None:
    if path:
        write_chart(make(), path)
        click.echo(f"Chart: {path}", err=True)


def show_figures(results: Results, currency: str, stage: str, style: str) -> None:
    """Print every figure of one stage in the unit that stands beside it: as JSON by address, or as CSV."""
    found = [
        (address, value / to_base(unit), unit, meaning)
        for address, value, unit, meaning in figures(results, currency)
        if address.startswith(f"{stage}.")
    ]
    if style == "json":
        told = {a: {"value": None if math.isnan(value) else value, "unit": unit} for a, value, unit, _ in found}  # see its status
        click.echo(json.dumps(told, indent=1))
        return
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["address", "value", "unit", "meaning"])
    writer.writerows(found)
