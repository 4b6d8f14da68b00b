"""Turns the texts of a table, or of a section of case.yaml, into records: units converted, every cell checked."""

from __future__ import annotations

import keyword
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ..faults import Fault, nearest
from ..fields import Number, Text, declared, unit_of
from ..units import UnitError, to_base
from .files import TextTable
from .records import Evidence, Table
from .values import BadValue, check_number, check_text, parse_number, parse_value

IDENTIFIER = re.compile(r"[a-z][a-z0-9_]*")


@dataclass
class Rows:
    """What one table gives: records and evidence by id, the unit each figure was stated in, file and line, the faults."""

    records: dict[str, Any] = field(default_factory=dict)
    evidence: dict[str, Evidence] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    places: dict[str, tuple[str, int]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


class _Filled:
    """The text fields of a row as attributes, for unit texts with names in braces."""

    def __init__(self, texts: Mapping[str, str]):
        self.__dict__.update(texts)


def _header_faults(table: Table, found: TextTable) -> list[Fault]:
    """Faults of the header: unknown, missing, or without the unit that the column needs."""
    wanted = {"id": None} | declared(table.record) | declared(Evidence)
    faults = [
        Fault(found.file, 1, name, "an unknown column", f"columns {', '.join(wanted)}{nearest(name, wanted)}")
        for name in found.units
        if name not in wanted
    ]
    for name, declaration in wanted.items():
        if name not in found.units:
            faults.append(Fault(found.file, 1, name, "no such column", f"a column '{name}'"))
        elif isinstance(declaration, Number) and found.units[name] is None:
            faults.append(Fault(found.file, 1, name, "a column without a unit", f"'{name} [{_header_example(declaration)}]'"))
        elif not isinstance(declaration, Number) and found.units[name] is not None:
            faults.append(Fault(found.file, 1, name, f"the unit [{found.units[name]}]", f"'{name}' without a unit"))
    return faults


def _header_example(declaration: Number) -> str:
    return declaration.entry.replace("{", "").replace("}", "")


def _row_unit(header_unit: str, texts: Mapping[str, str]) -> str:
    """The unit of a cell: names of other columns in the header's unit stand for what the row says there."""
    return "".join(texts.get(part, part) for part in re.split(r"(\s*[*/]\s*)", header_unit))


def read_rows(name: str, table: Table, found: TextTable) -> Rows:
    """Read the rows of one table into records.

    `name` is the first part of the addresses of the table. All faults of the table are gathered.
    """
    rows = Rows(faults=_header_faults(table, found))
    if rows.faults:
        return rows
    lower: dict[str, int] = {}
    for number, cells in found.rows:
        identity = cells["id"]
        problem = _identity_problem(identity, lower)
        if problem:
            rows.faults.append(Fault(found.file, number, "id", *problem))
        lower.setdefault(identity.lower(), number)
        values, units = _read_cells(table.record, found, number, cells, rows.faults)
        shown, _ = _read_cells(Evidence, found, number, cells, rows.faults)
        if problem or values is None or shown is None:
            continue
        rows.records[identity] = table.record(**values)
        rows.evidence[f"{name}.{identity}"] = Evidence(**shown)
        rows.places[identity] = (found.file, number)
        rows.units.update({f"{name}.{identity}.{column}": unit for column, unit in units.items()})
    rows.faults = list(dict.fromkeys(rows.faults))  # a fault of a header is met again in every row
    return rows


def _identity_problem(identity: str, taken: Mapping[str, int]) -> tuple[str, str] | None:
    if not IDENTIFIER.fullmatch(identity) or keyword.iskeyword(identity):
        return f"'{identity}'", "a name of small letters, digits and _ that begins with a letter and is no word of Python"
    if identity.lower() in taken:
        return f"'{identity}', which row {taken[identity.lower()]} has too", "an id that no other row has"
    return None


def _read_cells(record: type, found: TextTable, row: int, cells: Mapping[str, str], faults: list[Fault]):
    """The values of one record and the units they were stated in; (None, {}) when a cell is at fault."""
    before = len(faults)
    values: dict[str, Any] = {}
    units: dict[str, str] = {}
    texts = {name: cells[name] for name, d in declared(record).items() if isinstance(d, Text)}
    for name, declaration in declared(record).items():
        try:
            if isinstance(declaration, Text):
                check_text(declaration, cells[name])
                values[name] = cells[name]
        except BadValue as problem:
            faults.append(Fault(found.file, row, name, problem.found, problem.allowed))
    if len(faults) > before:
        return None, {}
    for name, declaration in declared(record).items():
        if isinstance(declaration, Number):
            stated = _row_unit(found.units[name] or "", texts)
            try:
                ratio = to_base(stated, like=_entry(declaration, texts))
                values[name] = parse_number(cells[name]) * ratio
                check_number(declaration, values[name], stated)
                units[name] = stated
            except UnitError as problem:
                faults.append(
                    Fault(
                        found.file,
                        1,
                        name,
                        f"[{found.units[name]}] ({problem})",
                        f"a unit such as [{_header_example(declaration)}]",
                    )
                )
            except BadValue as problem:
                faults.append(Fault(found.file, row, name, problem.found, problem.allowed))
    return (None, {}) if len(faults) > before else (values, units)


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
    texts = {key: str(value) for key, value in content.items()}
    values: dict[str, Any] = {}
    for key, declaration in sorted(wanted.items(), key=lambda item: isinstance(item[1], Number)):
        try:
            if key not in content:
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
    if not rows.faults:
        rows.evidence[name] = Evidence(**{key: values.pop(key) for key in declared(Evidence)})
        rows.records[name] = table.record(**values)
    return rows


def _stated_unit(written: str, entry: str) -> str:
    """The unit in a text such as `1.2 m`."""
    if written.endswith("%"):
        return "%"
    return written.partition(" ")[2].strip() or entry
