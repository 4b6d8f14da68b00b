"""Tables of the inputs with their sources."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from ..case.whole_case import Case, rows_of, tables
from ..core.fields import Number, declared
from .numbers import exact, label
from .table import Table

COLUMNS = ["", "entered", "kind", "source", "date", "by"]


def input_tables(case: Case, names: Sequence[str] | None = None) -> Iterator[Table]:
    """Inputs with unit, kind, source, date and person: a table for each file or section, of those named or of all, a line a row."""
    for name in names or tables():
        table, fields = tables()[name], declared(tables()[name].record)
        rows = []
        for identity, record in rows_of(case, name).items():
            place = f"{name}.{identity}" if identity else name
            entered = [
                f"{label(field)} {exact(value, case.entry_units[f'{place}.{field}']) if isinstance(kind, Number) else value}"
                for field, kind in fields.items()
                if field != "title" and (value := getattr(record, field)) not in ("", None)
            ]
            title = getattr(record, "title", label(identity or name))
            rows.append([title, "; ".join(entered), *dataclasses.astuple(case.evidence[place])])
        if rows:
            title = f"{table.file}{', ' + label(name) if table.section else ''}: {table.meaning}"
            yield Table(title, COLUMNS, rows, texts=tuple(range(len(COLUMNS))), style="inputs")


def evidence_counts(case: Case) -> dict[str, int]:
    """How many rows of inputs are of each kind."""
    counts: dict[str, int] = {}
    for shown in case.evidence.values():
        counts[shown.kind] = counts.get(shown.kind, 0) + 1
    return counts
