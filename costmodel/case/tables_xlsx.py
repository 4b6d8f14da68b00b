"""Tables as the sheets of one workbook, tables.xlsx: a sheet bears the name of its table and is read as a CSV file would be."""

from __future__ import annotations

import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

from ..core.faults import Fault, InputFaults
from .files import MOST_ROWS, Plain, Refused, read_bytes

WORKBOOK = "tables.xlsx"
_LARGEST = 10_000_000  # bytes, of the file and of what it unpacks to
_ENTITY = tuple("<!ENTITY".encode(code) for code in ("ascii", "utf-16-le", "utf-16-be"))

Grid = list[tuple[int, list[str]]]


def sheet_place(name: str) -> str:
    """How faults name a sheet."""
    return f"{WORKBOOK}, sheet {name}"


def read_workbook(path: Path) -> dict[str, Grid]:
    """The cells of every sheet of a workbook by its name, with row numbers, ready for `files.make_table`.

    Stored values are read, not formulas. Cells that can be no value are `Refused`: an error, a truth value, a date outside the
    column `date`, a formula without a stored value. A number formatted as a percentage is read with its percent sign.
    Raises InputFaults for a file that is no workbook, or that unpacks to more than ten million bytes.
    """
    content = _checked(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and extensions, which hold no value
            values, formulas = _cells(content, data_only=True), _cells(content, data_only=False)
    except InputFaults:
        raise
    except Exception as problem:  # a damaged workbook makes its reader raise anything
        raise _refusal(f"an unreadable workbook ({type(problem).__name__}: {str(problem)[:80]})", "an .xlsx workbook") from None
    return {name: _grid(rows, formulas[name]) for name, rows in values.items()}


def _refusal(found: str, allowed: str) -> InputFaults:
    return InputFaults([Fault(WORKBOOK, None, None, found, allowed)])


def _checked(path: Path) -> bytes:
    """The bytes of a workbook that is safe to unpack."""
    try:
        content = read_bytes(path, _LARGEST)
    except OSError as problem:
        raise _refusal(f"unreadable: {problem.strerror}", "a readable file") from None
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            size = sum(part.file_size for part in packed.infolist())
            if size > _LARGEST:
                raise _refusal(f"{size} bytes when unpacked", f"at most {_LARGEST} bytes")
            if any(mark in packed.read(part) for part in packed.infolist() for mark in _ENTITY):
                raise _refusal("an XML entity", "plain values")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, zlib.error) as problem:
        raise _refusal(f"no workbook ({problem})", "an .xlsx workbook without a password") from None
    return content


def _cells(content: bytes, data_only: bool) -> dict[str, list[tuple[Any, ...]]]:
    """The rows of cells of every sheet."""
    from openpyxl import load_workbook

    book = load_workbook(BytesIO(content), read_only=True, data_only=data_only, keep_links=False)
    found: dict[str, list[tuple[Any, ...]]] = {}
    for sheet in book.worksheets:
        sheet.reset_dimensions()  # what a file says of its size may be wrong
        rows = found.setdefault(sheet.title, [])
        for row in sheet.iter_rows():
            if len(rows) == MOST_ROWS:
                raise InputFaults(
                    [Fault(sheet_place(sheet.title), None, None, f"more than {MOST_ROWS} rows", f"at most {MOST_ROWS}")]
                )
            rows.append(row)
    book.close()
    return found


def _grid(values: list[tuple[Any, ...]], formulas: list[tuple[Any, ...]]) -> Grid:
    texts = [[_text(cell, formula) for cell, formula in zip(row, written)] for row, written in zip(values, formulas)]
    header = next((row for row in texts if any(cell.strip() for cell in row)), [])
    dates = {at for at, name in enumerate(header) if name.strip() == "date"}
    return [(number, list(_dated(row, dates))) for number, row in enumerate(texts, start=1)]


def _dated(row: list[str], dates: set[int]) -> Iterator[str]:
    """The cells of a row with dates written out in the columns of dates, and refused elsewhere."""
    for at, cell in enumerate(row):
        if isinstance(cell, _Date):
            yield str(cell) if at in dates else Refused(f"the date {cell}", "a number or a text; a date in the column 'date' only")
        else:
            yield cell


class _Date(str):
    """A date as text."""

    __slots__ = ()


def _text(cell: Any, formula: Any) -> str:
    """The text of a cell, as a person would put it into a CSV file."""
    value = cell.value
    if value is None and formula.data_type == "f":
        return Refused("a formula without a stored value", "a value; calculate and save the workbook in a spreadsheet program")
    if value is None:
        return ""
    if cell.data_type == "e":
        return Refused(f"'{value}', an error of the spreadsheet", "a value")
    if isinstance(value, bool):
        return Refused(f"the truth value {str(value).upper()}", "a number or a text")
    if isinstance(value, (datetime, date)):
        timed = isinstance(value, datetime) and value.time() != time()
        return _Date(str(value) if timed else value.isoformat()[:10])
    if isinstance(value, (time, timedelta)):
        return _Date(str(value))
    if isinstance(value, (int, float)):
        return Plain(_number(value, cell.number_format or ""))
    return str(value)


def _number(value: float, shown_as: str) -> str:
    """A stored number in figures; a hundredfold with its sign where the cell shows a percentage."""
    if "%" in re.sub(r'"[^"]*"|\\.|_.', "", shown_as):
        return f"{(Decimal(repr(value)) * 100).normalize():f} %"
    return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(value)
