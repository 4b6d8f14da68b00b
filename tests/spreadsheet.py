"""Workbooks of cases, made once, and with other inputs; `second_engine` recalculates them."""
from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache

from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.documents.workbook.inputs_sheet import stated
from costmodel.documents.workbook.layout import INPUTS, VALUE, input_rows
from costmodel.documents.workbook.second_engine import packed, parts_of, sheet_files
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.readings.cells import read_as_cells


@lru_cache(maxsize=8)
def written(case: Callable[[], Case]) -> bytes:
    """The workbook of a case that a function gives, made once."""
    return workbook_bytes(case())


def with_inputs(case: Case, content: bytes, changes: Mapping[str, float | None]) -> bytes:
    """The file with other numbers in input cells, given in base units; None empties a cell."""
    parts = parts_of(content)
    file = sheet_files(parts)[INPUTS]
    rows = {address: row for address, row, _ in input_rows(case, read_as_cells(case).inputs)}
    text = parts[file].decode()
    for address, value in changes.items():
        stored = "" if value is None else f"<v>{stated(value, to_base(case.entry_units[address]))!r}</v>"
        cell = f'(<c r="{chr(ord("A") + VALUE)}{rows[address] + 1}"[^>]*>)<v>[^<]*</v>'
        text, count = re.subn(cell, rf"\g<1>{stored}", text)
        if count != 1:
            raise ValueError(f"{count} cells for {address}; allowed: one")
    return packed({**parts, file: text.encode()})
