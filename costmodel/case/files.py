"""The files of a case as texts: tables with a unit in brackets behind a column's name, and YAML documents."""

from __future__ import annotations

import csv
import dataclasses
import io
import itertools
import re
import stat
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from ..core.faults import Fault, InputFaults, nearest
from .dialects import NARROW_SPACES, SEPARATORS, Undecodable, decimal_sign, decoded, refused_number, separators_in

_HEADER = re.compile(r"\s*([^\[\]]+?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*")
_TABLE_LIKE = (".csv", ".yaml", ".yml", ".tsv", ".tab", ".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
_LARGEST_TABLE = 5_000_000  # bytes
MOST_ROWS = 10_000
_MOST_COLUMNS = 200
_LARGEST_YAML = 1_000_000
_MOST_BRACKETS = 500  # deep nesting takes the reader very long


@dataclass(frozen=True, slots=True)
class TextTable:
    """A table as it stands in its file: units by column name, and rows of texts with their numbers, as a spreadsheet counts rows.

    `refused` holds cells that can be no value, with what was found and what is allowed. `columns_read` and `rows_read` are
    False when the header, or a row as a whole, could not be read.
    """

    file: str
    units: dict[str, str | None]
    rows: list[tuple[int, dict[str, str]]]
    header_row: int = 1
    decimal: str = "."
    refused: Mapping[tuple[int, str], tuple[str, str]] = field(default_factory=dict)
    columns_read: bool = True
    rows_read: bool = True


class Plain(str):
    """A number as a workbook stores it: with a decimal point, whatever the decimal sign of texts beside it."""

    __slots__ = ()


class Refused(str):
    """A cell that can be no value, shown as it is found; `allowed` says what may stand there."""

    allowed: str

    def __new__(cls, found: str, allowed: str) -> Refused:
        made = super().__new__(cls, found)
        made.allowed = allowed
        return made


def _unread(file: str, found: str, allowed: str) -> tuple[TextTable, list[Fault]]:
    return TextTable(file, {}, [], columns_read=False, rows_read=False), [Fault(file, None, None, found, allowed)]


def is_like_a_table(path: Path) -> bool:
    """Whether a file is named as tables and documents are, so that a name that no case knows is most often a slip.

    >>> is_like_a_table(Path("STEPS.CSV")), is_like_a_table(Path("steps.csv.txt")), is_like_a_table(Path("notes.txt"))
    (True, True, False)
    """
    if path.name.startswith((".", "~$")):  # what programs hide, and the lock of an open workbook
        return False
    return path.suffix.lower() in _TABLE_LIKE or path.name.lower().endswith(tuple(f"{end}.txt" for end in _TABLE_LIKE))


def read_bytes(path: Path, most: int) -> bytes:
    """The content of a file. Raises OSError, and InputFaults for a file with more bytes than `most` or that is no plain file."""
    status = path.stat()
    if status.st_size > most:
        raise InputFaults([Fault(path.name, None, None, f"{status.st_size} bytes", f"at most {most} bytes")])
    if not (stat.S_ISREG(status.st_mode) or stat.S_ISDIR(status.st_mode)):
        raise InputFaults([Fault(path.name, None, None, "no plain file", "a readable file")])
    return path.read_bytes()


def read_table(path: Path, shown: str = "") -> tuple[TextTable, list[Fault]]:
    """Read a CSV table; blank rows and blank columns at the end are passed over. `shown` is the name that faults bear.

    Returns the table and the faults found: a missing file, an unreadable header, a row of another length. Encoding, separator
    and decimal sign may be those that spreadsheets use: see dialects.py.
    """
    file = shown or path.name
    try:
        content = decoded(read_bytes(path, _LARGEST_TABLE))
    except FileNotFoundError:
        return _unread(file, "no such file", f"a table {path.name} in {path.parent}")
    except OSError as problem:
        return _unread(file, f"unreadable: {problem.strerror}", "a readable file")
    except Undecodable as problem:
        return _unread(file, problem.found, "text in UTF-8, in UTF-16 with its mark, or in Windows-1252")
    except InputFaults as problem:
        return _unread(file, problem.faults[0].found, problem.faults[0].allowed)
    header = next((line for line in content.split("\n") if line.strip(f" \t;,{NARROW_SPACES}")), "")
    separators = separators_in(header)
    if len(separators) > 1:
        found = f"{' and '.join(SEPARATORS[sign] for sign in separators)} in the header"
        return _unread(file, found, "one of commas, semicolons or tabs between all cells")
    separator = separators[0] if separators else ","
    reader = csv.reader(io.StringIO(content, newline=""), delimiter=separator, strict=True)
    try:
        grid = list(enumerate(reader, start=1))
    except csv.Error as problem:
        return _unread(file, f"unreadable CSV in line {reader.line_num} ({problem})", f"cells parted by {SEPARATORS[separator]}")
    return make_table(file, grid, separator)


def make_table(file: str, grid: list[tuple[int, list[str]]], separator: str = "") -> tuple[TextTable, list[Fault]]:
    """A table from its cells row by row, the first that is not blank being the header; and the faults found.

    Without a separator the cells are those of a sheet, whose rows may end early and whose stored numbers are `Plain`.
    """
    grid = [(number, cells) for number, cells in grid if any(cell.strip() for cell in cells)]
    if not grid:
        return _unread(file, "no rows", "at least one row")
    (header_row, header), *body = grid
    header = _without_blank_end(header)
    if len(body) > MOST_ROWS or len(header) > _MOST_COLUMNS:
        return _unread(file, f"{len(body)} rows of {len(header)} cells", f"at most {MOST_ROWS} rows of {_MOST_COLUMNS} cells")
    names, units, faults = _parse_header(file, header_row, header)
    columns_read = not faults
    if not body:
        faults.append(Fault(file, None, None, "no rows", "at least one row"))
    rows: list[tuple[int, dict[str, str]]] = []
    refused: dict[tuple[int, str], tuple[str, str]] = {}
    for number, cells in body:
        cells = cells if separator else [*cells, *[""] * (len(header) - len(cells))]
        if len(cells) < len(header) or any(cell.strip() for cell in cells[len(header) :]):
            faults.append(_wrong_length(file, number, cells, len(header), separator))
            continue
        named = {name: cell for name, cell in zip(names, cells) if name}
        refused |= {(number, name): (str(cell), cell.allowed) for name, cell in named.items() if isinstance(cell, Refused)}
        rows.append((number, {name: cell if isinstance(cell, Plain) else cell.strip() for name, cell in named.items()}))
    decimal, in_numbers = _decimal_of(rows, [name for name in units if units[name] is not None], separator or ",")
    whole = bool(body) and len(rows) == len(body)
    return TextTable(file, units, rows, header_row, decimal, {**in_numbers, **refused}, columns_read, whole), faults


def _without_blank_end(cells: list[str]) -> list[str]:
    """The cells without blank ones behind the last that is not."""
    filled = max((at for at, cell in enumerate(cells) if cell.strip()), default=-1)
    return cells[: filled + 1]


def _decimal_of(rows: list[tuple[int, dict[str, str]]], columns: list[str], separator: str):
    """The decimal sign of a table, and the cells that do not have it."""
    written = {
        (number, name): cells[name]
        for number, cells in rows
        for name in columns
        if not isinstance(cells[name], (Plain, Refused)) and ("." in cells[name] or "," in cells[name])
    }
    sign, shown = decimal_sign(written.values(), separator)
    judged = {place: refused_number(cell, sign, shown) for place, cell in written.items()}
    return sign or ".", {place: problem for place, problem in judged.items() if problem}


def _wrong_length(file: str, number: int, cells: list[str], wanted: int, separator: str) -> Fault:
    """The fault of a row that is longer or shorter than the header."""
    cells = [*cells[:wanted], *_without_blank_end(cells[wanted:])]
    allowed = f"{wanted} cells, as in the header"
    if separator == "," and any(
        re.fullmatch(r"\s*[+-]?[0-9]+", first) and re.fullmatch(r"[0-9]+\s*%?\s*", second)
        for first, second in itertools.pairwise(cells)
    ):
        allowed += "; a decimal comma needs quotes round its cell, or semicolons between cells"
    return Fault(file, number, None, f"{len(cells)} cells", allowed)


def _parse_header(file: str, row: int, header: list[str]) -> tuple[list[str], dict[str, str | None], list[Fault]]:
    """The name of each column, empty where it cannot be read; the units by name; the faults."""
    names: list[str] = []
    units: dict[str, str | None] = {}
    faults = []
    for cell in header:
        match = _HEADER.fullmatch(cell)
        names.append("")
        if not match:
            allowed = "a name, or a name and a unit as in `life [year]`; commas, semicolons or tabs between columns"
            faults.append(Fault(file, row, None, f"header '{cell}'", allowed))
        elif match.group(1) in units:
            faults.append(Fault(file, row, match.group(1), "the column twice", "each column once"))
        else:
            names[-1] = match.group(1)
            units[match.group(1)] = match.group(2)
    return names, units, faults


_NULL = "tag:yaml.org,2002:null"
_INT, _FLOAT = "tag:yaml.org,2002:int", "tag:yaml.org,2002:float"


_REFERENCE = "an anchor or alias"


class _NotPlain(yaml.YAMLError):
    """A document says something that is no plain value."""

    def __init__(self, what: str, line: int):
        self.what, self.line = what, line


class _OnceLoader(yaml.SafeLoader):
    """PyYAML's safe loader without tags, anchors, aliases and keys that stand twice; plain decimal numbers and `null` only.

    Dates, `yes`, `010`, `0x1f`, `1_000`, `1:30` and `.inf` are texts, so that none is read as something else in silence.
    """

    yaml_implicit_resolvers = {
        first: [(tag, pattern) for tag, pattern in resolvers if tag == _NULL]
        for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }

    def construct_mapping(self, node, deep=False):
        """A mapping, refused where a key stands in it twice."""
        seen = set()
        for key_node, _ in node.value:
            key = self.construct_object(key_node, deep=True)
            if not isinstance(key, Hashable):
                continue  # refused by the safe loader itself
            if key in seen:
                raise yaml.constructor.ConstructorError(None, None, f"key '{key}' twice", key_node.start_mark)
            seen.add(key)
        return super().construct_mapping(node, deep)

    def fetch_tag(self):
        """Refused: no plain value needs one. Raises YAMLError, as do the next two."""
        self._refuse("a tag")

    def fetch_anchor(self):
        """Refused."""
        self._refuse(_REFERENCE)

    def fetch_alias(self):
        """Refused."""
        self._refuse(_REFERENCE)

    def _refuse(self, what):
        raise _NotPlain(what, self.line + 1)


_OnceLoader.add_implicit_resolver(_INT, re.compile(r"[-+]?(0|[1-9][0-9]*)\Z"), list("-+0123456789"))
_OnceLoader.add_implicit_resolver(
    _FLOAT, re.compile(r"[-+]?([0-9]+\.[0-9]*|\.[0-9]+|[0-9]+(?=[eE]))([eE][-+]?[0-9]{1,3})?\Z"), list("-+.0123456789")
)


def read_yaml(path: Path, shown: str = "") -> Any:
    """Read a YAML document with plain values only; anchors and aliases are refused. `shown` is the name that faults bear.

    Raises InputFaults for a missing, unreadable or overlarge file.
    """
    file = shown or path.name
    try:
        content = read_bytes(path, _LARGEST_YAML).decode("utf-8-sig").replace("\r\n", "\n")
        brackets = content.count("[") + content.count("{")
        if brackets > _MOST_BRACKETS:
            raise InputFaults([Fault(file, None, None, f"{brackets} brackets", f"at most {_MOST_BRACKETS}")])
        return yaml.load(content, _OnceLoader)
    except InputFaults as problem:
        raise InputFaults([dataclasses.replace(fault, file=file) for fault in problem.faults]) from None
    except FileNotFoundError:
        raise InputFaults([Fault(file, None, None, "no such file", f"a file {file} in {path.parent}")]) from None
    except UnicodeDecodeError as problem:
        raise InputFaults([Fault(file, None, None, f"byte {problem.start} is not UTF-8", "text in UTF-8")]) from None
    except OSError as problem:
        raise InputFaults([Fault(file, None, None, f"unreadable: {problem.strerror}", "a readable file")]) from None
    except (ValueError, RecursionError) as problem:
        raise InputFaults([Fault(file, None, None, f"unreadable YAML ({problem})", "a YAML mapping of plain values")]) from None
    except _NotPlain as problem:
        raise InputFaults([Fault(file, problem.line, None, problem.what, "plain values")]) from None
    except yaml.YAMLError as problem:
        mark = getattr(problem, "problem_mark", None)
        what = getattr(problem, "problem", None) or "unreadable YAML"
        raise InputFaults([Fault(file, mark.line + 1 if mark else None, None, str(what), "a YAML mapping")]) from None


_WANTED = {"dict_type": "a mapping", "model_type": "a mapping", "string_type": "a text", "list_type": "a list"}


def document_faults(file: str, problem: ValidationError, allowed: Mapping[str, Any]) -> list[Fault]:
    """The faults of a YAML document in our own words."""
    faults = []
    for error in problem.errors():
        name = ".".join(str(part) for part in error["loc"]) or "the document"
        if error["type"] == "extra_forbidden":
            faults.append(Fault(file, None, name, "an unknown name", f"{', '.join(allowed)}{nearest(name, allowed)}"))
        elif error["type"] == "missing":
            faults.append(Fault(file, None, name, "nothing", f"a value for '{name}'"))
        else:
            faults.append(Fault(file, None, name, f"{error['input']!r}", _WANTED.get(error["type"], error["msg"].lower())))
    return faults
