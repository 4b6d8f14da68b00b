"""Turns the texts of a table, or of a section of case.yaml, into records: units converted, every cell checked."""

from __future__ import annotations

import keyword
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..core.faults import Fault, nearest
from ..core.fields import Number, Text, declared, unit_of
from ..core.units import UnitError, to_base
from .files import Plain, TextTable
from .values import BadValue, check_number, check_text, check_whole, parse_cell, parse_value
from .whole_case import Evidence, Table

IDENTIFIER = re.compile(r"[a-z][a-z0-9_]*")

LONGEST_ID = 100


@dataclass
class Rows:
    """What one table gives: records and evidence by id, the unit each figure was stated in, file and line, the faults.

    A row with faults has a record that lacks the fields at fault, so that the others can be held against other tables.
    `ids_known` is False when there may be rows whose id could not be read: then nothing can be called unknown.
    """

    records: dict[str, Any] = field(default_factory=dict)
    evidence: dict[str, Evidence] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    places: dict[str, tuple[str, int]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    ids_known: bool = True

    def copy(self) -> Rows:
        """The same rows, to which a choice may add."""
        return Rows(dict(self.records), dict(self.evidence), dict(self.units), dict(self.places), list(self.faults), self.ids_known)


def record_of(kind: type, values: Mapping[str, Any]) -> Any:
    """A record with these values; when some are missing, one whose other fields raise AttributeError."""
    left_out = {name: each.or_else for name, each in declared(kind).items() if isinstance(each, Text) and each.optional}
    values = left_out | dict(values)
    if values.keys() == declared(kind).keys():
        return kind(**values)
    made: Any = object.__new__(kind)
    for name, value in values.items():
        object.__setattr__(made, name, value)
    return made


class _Filled:
    """The text fields of a row as attributes, for unit texts with names in braces."""

    def __init__(self, texts: Mapping[str, str]):
        self.__dict__.update(texts)


def _header_faults(table: Table, found: TextTable) -> list[Fault]:
    """Faults of the header: unknown, missing, or without the unit that the column needs."""
    wanted = {"id": None} | declared(table.record) | declared(Evidence)
    at = found.header_row
    faults = [
        Fault(found.file, at, name, "an unknown column", f"columns {', '.join(wanted)}{nearest(name, wanted)}")
        for name in found.units
        if name not in wanted
    ]
    for name, declaration in wanted.items():
        if name not in found.units:
            may_lack = declaration is not None and declaration.optional
            if found.columns_read and not may_lack:  # else it may be the one that could not be read
                faults.append(Fault(found.file, at, name, "no such column", f"a column {_column_example(name, declaration)}"))
        elif isinstance(declaration, Number) and found.units[name] is None:
            faults.append(Fault(found.file, at, name, "a column without a unit", f"'{name} [{_header_example(declaration)}]'"))
        elif not isinstance(declaration, Number) and found.units[name] is not None:
            faults.append(Fault(found.file, at, name, f"the unit [{found.units[name]}]", f"'{name}' without a unit"))
    return faults


def _column_example(name: str, declaration: Any) -> str:
    """How the header writes a column, and what it holds."""
    if declaration is None:
        return f"'{name}'"
    unit = f" [{_header_example(declaration)}]" if isinstance(declaration, Number) else ""
    return f"'{name}{unit}' ({declaration.meaning})"


def _header_example(declaration: Number) -> str:
    """The unit in which a column is usually stated, as the dictionary has it."""
    return (declaration.example.partition(" ")[2] or declaration.entry).replace("{", "").replace("}", "")


def _row_unit(header_unit: str, texts: Mapping[str, str]) -> str:
    """The unit of a cell: names of other columns in the header's unit stand for what the row says there."""
    return "".join(texts.get(part, part) for part in re.split(r"(\s*[*/]\s*)", header_unit))


def read_rows(name: str, table: Table, found: TextTable) -> Rows:
    """Read the rows of one table into records.

    `name` is the first part of the addresses of the table. All faults of the table are gathered.
    """
    rows = Rows(ids_known=found.rows_read and "id" in found.units)
    if not found.units:
        return rows
    rows.faults.extend(_header_faults(table, found))
    first: dict[str, tuple[int, Mapping[str, str]]] = {}
    optional = [name for name, each in declared(table.record).items() if isinstance(each, Number) and each.optional]
    left_out = dict.fromkeys([name for name in optional if name not in found.units] if found.columns_read else [])
    for number, cells in found.rows:
        identity = cells.get("id", "")
        problem = found.refused.get((number, "id")) or _identity_problem(identity, first)
        if problem and "id" in cells:
            rows.faults.append(Fault(found.file, number, "id", *problem))
            if cells != first.get(identity.lower(), (0, {}))[1]:
                rows.ids_known = False  # what the row should be called, others may refer to
        values, units = _read_cells(table.record, found, number, cells, rows.faults)
        shown, _ = _read_cells(Evidence, found, number, cells, rows.faults)
        if problem:
            continue
        first[identity.lower()] = (number, cells)
        rows.records[identity] = record_of(table.record, {**left_out, **values})
        rows.evidence[f"{name}.{identity}"] = record_of(Evidence, shown)
        rows.places[identity] = (found.file, number)
        rows.units.update({f"{name}.{identity}.{column}": unit for column, unit in units.items()})
    rows.faults = list({(f.row, f.column) if f.row == found.header_row else f: f for f in reversed(rows.faults)}.values())[::-1]
    rows.faults.sort(key=lambda fault: fault.row or 0)  # a fault of a header, met in every row, is told once
    return rows


def _identity_problem(identity: str, taken: Mapping[str, tuple[int, Any]]) -> tuple[str, str] | None:
    if not IDENTIFIER.fullmatch(identity) or keyword.iskeyword(identity):
        return f"'{identity}'", "a name of small letters, digits and _ that begins with a letter and is no word of Python"
    if len(identity) > LONGEST_ID:
        return f"'{identity}'", f"a name of at most {LONGEST_ID} characters"
    if identity.lower() in taken:
        return f"'{identity}', which row {taken[identity.lower()][0]} has too", "an id that no other row has"
    return None


def _read_cells(
    record: type, found: TextTable, row: int, cells: Mapping[str, str], faults: list[Fault]
) -> tuple[dict[str, Any], dict[str, str]]:
    """The values of one record, without those at fault, and the units that its numbers were stated in."""
    values: dict[str, Any] = {}
    units: dict[str, str] = {}
    there = {name: declaration for name, declaration in declared(record).items() if name in cells}
    for name, declaration in sorted(there.items(), key=lambda item: isinstance(item[1], Number)):
        try:
            if (row, name) in found.refused:
                raise BadValue(*found.refused[row, name])
            if isinstance(declaration, Text):
                check_text(declaration, cells[name])
                values[name] = cells[name]
            else:
                value = _read_number(declaration, found, name, cells[name], values, record)
                if value is not None:
                    values[name], units[name] = value
        except UnitError as problem:
            allowed = f"a unit such as [{_header_example(declaration)}]"
            faults.append(Fault(found.file, found.header_row, name, f"[{found.units[name]}] ({problem})", allowed))
        except BadValue as problem:
            faults.append(Fault(found.file, row, name, problem.found, problem.allowed))
    return values, units


def _read_number(
    declaration: Number, found: TextTable, name: str, written: str, texts: Mapping[str, Any], record: type
) -> tuple[float, str] | None:
    """The number of a cell in base units and the unit of its column; nothing where a text that the unit needs is at fault.

    Raises BadValue and UnitError.
    """
    header_unit = found.units[name]
    needed = {*re.findall(r"\{(\w+)\}", declaration.entry), *re.split(r"\s*[*/]\s*", header_unit or "")}
    texts_of_record = {column for column, declared_as in declared(record).items() if isinstance(declared_as, Text)}
    judged = header_unit is not None and (needed & texts_of_record) <= texts.keys()
    stated = _row_unit(header_unit or "", texts) if judged else "1"
    number, own_unit = parse_cell(written, "." if isinstance(written, Plain) else found.decimal, stated)
    if not judged:
        return None
    value = number * to_base(stated, like=_entry(declaration, texts))
    if own_unit != stated:  # a percent sign in a column of plain numbers
        value = number * to_base(own_unit)
    check_number(declaration, value, stated)
    check_whole(declaration, value, stated)
    return value, stated


def _entry(declaration: Number, texts: Mapping[str, str]) -> str:
    """The unit that a number is stated in; an exchange rate is a plain number, so no `money` is left here."""
    return unit_of(_Filled(texts), declaration.entry)


def read_section(name: str, table: Table, content: Any) -> Rows:
    """Read a section of case.yaml, a mapping such as `length: 1.2 m`, into one record under the id of the section."""
    rows = Rows()
    wanted = declared(table.record) | declared(Evidence)
    if not isinstance(content, Mapping):
        rows.faults.append(Fault(table.file, None, name, f"{content!r}", f"a mapping with {', '.join(wanted)}"))
        return rows
    for key in content:
        if key not in wanted:
            rows.faults.append(
                Fault(table.file, None, f"{name}.{key}", "an unknown name", f"{', '.join(wanted)}{nearest(key, wanted)}")
            )
    texts = {key: "" if value is None else str(value) for key, value in content.items()}
    values: dict[str, Any] = {}
    for key, declaration in sorted(wanted.items(), key=lambda item: isinstance(item[1], Number)):
        try:
            if key not in content:
                if declaration.optional:
                    if isinstance(declaration, Number):
                        values[key] = None
                    continue
                raise BadValue("nothing", declaration.meaning)
            if isinstance(declaration, Text):
                check_text(declaration, texts[key])
                values[key] = texts[key]
            elif not rows.faults or all(d in values for d in re.findall(r"\{(\w+)\}", declaration.entry)):
                entry = _entry(declaration, texts)
                values[key] = parse_value(declaration, texts[key], entry if entry == "1" else "", (entry,))
                rows.units[f"{name}.{key}"] = _stated_unit(texts[key], entry)
        except (BadValue, UnitError) as problem:
            found, allowed = (problem.found, problem.allowed) if isinstance(problem, BadValue) else (str(problem), "a unit")
            rows.faults.append(Fault(table.file, None, f"{name}.{key}", found, allowed))
    shown = {key: values.pop(key) for key in declared(Evidence) if key in values}
    rows.evidence[name] = record_of(Evidence, shown)
    rows.records[name] = record_of(table.record, values)
    return rows


def _stated_unit(written: str, entry: str) -> str:
    """The unit in a text such as `1.2 m`."""
    if written.endswith("%"):
        return "%"
    return written.partition(" ")[2].strip() or entry
