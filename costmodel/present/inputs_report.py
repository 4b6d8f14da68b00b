"""The inputs: what they are, where they come from, and how much depends on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, cast

from ..case.addresses import input_at
from ..case.summary import invented_rows
from ..case.whole_case import Case, rows_of, tables
from ..core.fields import Number, declared, unit_of
from .numbers import exact, label, percent, signed
from .table import Table, table_of

if TYPE_CHECKING:
    from ..studies.sensitivities import Elasticity

COLUMNS = ["", "entered", "kind", "source", "date", "by"]


def input_name(case: Case, address: str) -> str:
    """What an input is called: the title of its row, and the field.

    >>> from costmodel.case.load import load_case
    >>> input_name(load_case("inputs_demo/facade"), "prices.silane.price")
    'silane: price'
    """
    *place, field = address.split(".")
    _, record = input_at(case, address)
    title = getattr(record, "title", " ".join(label(part) for part in place))
    return f"{title}: {label(field)}"


def input_unit(case: Case, address: str) -> str:
    """The unit in which a number is declared, for people: a plain number in %.

    >>> from costmodel.case.load import load_case
    >>> [input_unit(load_case("inputs_demo/facade"), each) for each in ("licence.royalty", "licence.upfront")]
    ['%', 'EUR']
    """
    declaration, record = input_at(case, address)
    unit = unit_of(record, cast(Number, declaration).entry)  # a text is no term and moves no figure
    return "%" if unit == "1" else unit.replace("1/year", "%/year")


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
            shown = case.evidence[place]
            rows.append([title, "; ".join(entered), shown.kind, shown.source, shown.date, shown.by])
        if rows:
            title = f"{table.file}{', ' + label(name) if table.section else ''}: {table.meaning}"
            yield Table(title, COLUMNS, rows, texts=tuple(range(len(COLUMNS))), style="inputs")


def evidence_counts(case: Case) -> dict[str, int]:
    """How many rows of inputs are of each kind."""
    return dict(Counter(shown.kind for shown in case.evidence.values()))


def evidence(case: Case) -> str:
    """How many rows of inputs are of each kind, in a sentence."""
    counts = evidence_counts(case)
    if len(counts) == 1:
        return f"All {sum(counts.values())} rows of inputs are of one kind: {next(iter(counts))}."
    parts = ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items(), key=lambda item: -item[1]))
    return f"Of {sum(counts.values())} rows of inputs: {parts}."


def still_invented(case: Case) -> str:
    """How many rows are invented still, table by table: how far a person has come with figures of their own."""
    counts = invented_rows(case)
    left = {file: (invented, rows) for file, (invented, rows) in counts.items() if invented}
    if not left:
        return "Still invented: no row."
    parts = ", ".join(f"{file} {invented} of {rows}" for file, (invented, rows) in left.items())
    done = [file for file in counts if file not in left]
    rest = f"; none in {', '.join(done)}" if done else ""
    return f"Still invented: {sum(n for n, _ in left.values())} of {len(case.evidence)} rows: {parts}{rest}."


def elasticity(found: list[Elasticity], what: str = "the cost of a watt") -> str:
    """How much of a figure rests on inputs of each kind."""
    from ..studies.sensitivities import share_by_kind

    shares = sorted(share_by_kind(found).items(), key=lambda item: -item[1])
    parts = ", ".join(f"{percent(share, 2)} {kind}" for kind, share in shares)
    return f"Inputs by kind, weighted by the elasticity of {what}: {parts}."


def evidence_table(case: Case, found: list[Elasticity], what: str = "the cost of a watt", most: int = 12) -> Table:
    """The inputs on which a figure depends most."""
    columns = {
        "input": lambda x: x.address,
        "for 1 % more": lambda x: f"{signed(x.elasticity, 2)} %",
        "kind": lambda x: x.kind,
        "source": lambda x: case.evidence[x.address.rsplit(".", 1)[0]].source,
    }
    note = "The plant is as bought while each input moves by itself."
    return table_of(f"What {what} depends on most", ((x,) for x in found[:most]), columns, texts=(0, 2, 3), note=note)
