"""Tables of the inputs with their sources."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case, rows_of, tables
from ..fields import Number, Text, declared
from .numbers import exact, label
from .table import Table


def input_tables(case: Case) -> Iterator[Table]:
    """Every input with its unit, kind, source, date and person, one table for each file or section."""
    for name, table in tables().items():
        fields = declared(table.record)
        held = rows_of(case, name)
        if table.section and not held:
            continue
        columns = ["", *(label(field_name) for field_name in fields), "kind", "source", "date", "by"]
        rows = []
        for identity, record in held.items():
            place = f"{name}.{identity}" if identity else name
            shown = case.evidence[place]
            values = [
                exact(getattr(record, f), case.entry_units[f"{place}.{f}"]) if isinstance(d, Number) else getattr(record, f)
                for f, d in fields.items()
            ]
            rows.append([identity or name, *values, shown.kind, shown.source, shown.date, shown.by])
        texts = tuple(i for i, d in enumerate(fields.values(), start=1) if isinstance(d, Text))
        yield Table(
            f"{table.file}{', ' + name if table.section else ''}: {table.meaning}",
            columns,
            rows,
            texts=(0, *texts, *range(len(fields) + 1, len(fields) + 5)),
        )


def evidence_counts(case: Case) -> dict[str, int]:
    """How many rows of inputs are of each kind."""
    counts: dict[str, int] = {}
    for shown in case.evidence.values():
        counts[shown.kind] = counts.get(shown.kind, 0) + 1
    return counts
