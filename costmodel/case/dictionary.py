"""The data dictionary: every file, column, unit, range, meaning and example, from the schema and docstrings of the records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..core.fields import Number, Text, declared, or_else
from ..core.units import CURRENCY
from .values import COUNTS, DATES, allowed_range
from .whole_case import Evidence, Table, tables


@dataclass(frozen=True, slots=True)
class Entry:
    """What one column of a table, or one name of a section, may hold."""

    file: str
    column: str
    unit: str
    allowed: str
    meaning: str
    example: str


def entries() -> Iterator[Entry]:
    """Every column of every table, in the order of the tables.

    >>> next(entries())
    Entry(file='case.yaml, product', column='length', unit='m', allowed='above 0', meaning='length of the plate', example='1.2')
    """
    for table in tables().values():
        file = f"{table.file}, {table.section}" if table.section else table.file
        if not table.section:
            yield Entry(file, "id", "", "small letters, digits, _", "name of the row in addresses", f"{table.file.split('.')[0]}_1")
        for name, declaration in (declared(table.record) | declared(Evidence)).items():
            yield _entry(file, name, declaration)


def _entry(file: str, name: str, declaration: Number | Text) -> Entry:
    if isinstance(declaration, Text):
        allowed = ", ".join(declaration.options)
        if declaration.refers_to:
            allowed = f"an id of {tables()[declaration.refers_to].file}{or_else(declaration)}"
        elif declaration.is_unit and not allowed:
            in_money = "three capitals" if file == "money.csv" else "a code of money.csv"
            allowed = in_money if CURRENCY.fullmatch(declaration.example) else "a unit"
        elif declaration.is_count:
            allowed = COUNTS
        allowed = DATES if declaration.is_date else allowed
        allowed = (allowed or "a text") + (", or left out" if declaration.optional else "")
        return Entry(file, name, "", allowed, declaration.meaning, declaration.example)
    usual = declaration.example.partition(" ")[2] or declaration.entry
    shown = allowed_range(declaration, "1" if "{" in usual else usual)
    allowed = shown.removeprefix("a number").removeprefix("a ").rpartition(" [")[0].strip() or "any number"
    unit = usual.replace("{", "").replace("}", "")
    allowed += ", or left out" if declaration.optional else ""
    return Entry(file, name, unit, allowed, declaration.meaning, declaration.example.partition(" ")[0])


def _absence(table: Table) -> str:
    """Whether a table may be absent: a section of plan.yaml or deal.yaml only with its whole file."""
    if not table.optional:
        return ""
    return f" Absent only where all of {table.file} is." if table.section else " May be absent."


def as_markdown() -> str:
    """The dictionary as a page: a section for each file, a table in it."""
    lines = [
        "# What the tables may hold",
        "",
        "Made by `costmodel guide dictionary` from the schema; a test keeps it in step. A column states its unit in its header, as "
        "in `life [year]`; any unit that converts to the one shown will do. Names such as `[currency/unit]` stand for what other "
        "columns of the row say. Ranges are in the unit shown. Every row also says `kind`, `source`, `date` and `by`.",
    ]
    meanings = {(f"{t.file}, {t.section}" if t.section else t.file): t for t in tables().values()}
    file = ""
    for entry in entries():
        if entry.column in declared(Evidence):
            continue
        if entry.file != file:
            file = entry.file
            table = meanings[file]
            lines += ["", f"## {file}", "", f"{table.meaning.capitalize()}.{_absence(table)}", "",
                      " ".join((table.record.__doc__ or "").split()), "",
                      "| column | unit | allowed | meaning | example |", "|---|---|---|---|---|"]  # fmt: skip
        lines.append(f"| {entry.column} | {entry.unit} | {entry.allowed} | {entry.meaning} | {entry.example} |")
    lines += ["", "## Of every row", "", "| column | allowed | meaning | example |", "|---|---|---|---|"]
    for name, declaration in declared(Evidence).items():
        shown = _entry("", name, declaration)
        lines.append(f"| {name} | {shown.allowed} | {shown.meaning} | {shown.example} |")
    return "\n".join(lines) + "\n"
