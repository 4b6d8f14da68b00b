"""Writes the tables of a case folder as spreadsheets save them: other separators, decimal signs, encodings, one workbook."""
from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable
from pathlib import Path

from costmodel.case.whole_case import tables

Rows = list[list[str]]
NUMBER = re.compile(r"-?[0-9.]+(e-?[0-9]+)?")


def cells_of(path: Path) -> Rows:
    """The cells of a table of a demo, which is in UTF-8 with commas."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def written(rows: Rows, separator: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    """The text of a table."""
    from io import StringIO

    text = StringIO()
    csv.writer(text, delimiter=separator, quoting=quoting, lineterminator="\r\n").writerows(rows)
    return text.getvalue()


def is_number_column(header: str) -> bool:
    """Whether the cells of a column are numbers: those have a unit."""
    return "[" in header


def with_decimal_comma(rows: Rows) -> Rows:
    """The same numbers with commas."""
    header, *body = rows
    return [header, *([cell.replace(".", ",") if is_number_column(name) else cell for name, cell in zip(header, row)]
                      for row in body)]


def table_files(folder: Path) -> list[Path]:
    """The tables of a case and of its choices."""
    return sorted(folder.rglob("*.csv"))


def copied(folder: Path, target: Path, change: Callable[[Rows], bytes]) -> Path:
    """A copy of a case folder with every table written anew."""
    shutil.copytree(folder, target)
    for path in table_files(target):
        path.write_bytes(change(cells_of(path)))
    return target


def with_workbook(folder: Path, target: Path, number: Callable[[str], object] = float) -> Path:
    """A copy of a case folder whose tables, those of choices apart, are sheets of one workbook; numbers are stored as numbers."""
    from openpyxl import Workbook

    shutil.copytree(folder, target)
    book = Workbook()
    book.remove(book.active)
    for name, table in tables().items():
        path = target / table.file
        if table.section or not path.exists():
            continue
        sheet = book.create_sheet(name)
        header, *body = cells_of(path)
        sheet.append(header)
        for row in body:
            sheet.append([number(cell) if is_number_column(column) or column == "price_year" else cell
                          for column, cell in zip(header, row)])
        path.unlink()
    book.save(target / "tables.xlsx")
    return target
