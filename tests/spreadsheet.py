"""A second engine for the workbook: LibreOffice, without a window, on files whose stored values were spoiled first.

It does not recalculate by itself, so that a test could pass on values that we stored: hence its own profile that says it
must, and the spoiled values, each of which has to be gone. It ends with code 0 even where it wrote nothing, so the outcome is
looked at.
"""
from __future__ import annotations

import io
import re
import subprocess
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree

from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.documents.workbook.inputs_sheet import stated
from costmodel.documents.workbook.layout import INPUTS, VALUE, input_rows
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.readings.cells import read_as_cells

from .conftest import tool_path

POISON = 1e99
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


@lru_cache(maxsize=8)
def written(case: Callable[[], Case]) -> bytes:
    """The workbook of a case that a function gives, made once."""
    return workbook_bytes(case())


def parts_of(content: bytes) -> dict[str, bytes]:
    """The files in an .xlsx file."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def packed(parts: Mapping[str, bytes]) -> bytes:
    """An .xlsx file of these files."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return made.getvalue()


def sheet_files(parts: Mapping[str, bytes]) -> dict[str, str]:
    """The file of each sheet, by its title."""
    links = {link.get("Id"): link.get("Target") for link in ElementTree.fromstring(parts["xl/_rels/workbook.xml.rels"])}
    sheets = ElementTree.fromstring(parts["xl/workbook.xml"]).find(f"{_MAIN}sheets")
    return {sheet.get("name"): "xl/" + links[sheet.get(_LINK)].removeprefix("/xl/") for sheet in sheets}


def poisoned(content: bytes) -> bytes:
    """The file with every stored value of a formula replaced by a number that no figure has."""
    parts = parts_of(content)
    for file in sheet_files(parts).values():
        spoiled, count = re.subn(rb"(</f><v>)[^<]*(</v>)", rb"\g<1>%s\g<2>" % repr(POISON).encode(), parts[file])
        if count != parts[file].count(b"</f>"):
            raise ValueError(f"{parts[file].count(b'</f>')} formulas in {file}, {count} of them with a value; allowed: all")
        parts[file] = spoiled
    return packed(parts)


def with_inputs(case: Case, content: bytes, changes: Mapping[str, float | None]) -> bytes:
    """The file with other numbers in input cells, given in base units; None empties a cell."""
    parts = parts_of(content)
    file = sheet_files(parts)[INPUTS]
    rows = {address: row for address, row, _ in input_rows(read_as_cells(case).inputs)}
    text = parts[file].decode()
    for address, value in changes.items():
        stored = "" if value is None else f"<v>{stated(value, to_base(case.entry_units[address]))!r}</v>"
        cell = f'(<c r="{chr(ord("A") + VALUE)}{rows[address] + 1}"[^>]*>)<v>[^<]*</v>'
        text, count = re.subn(cell, rf"\g<1>{stored}", text)
        if count != 1:
            raise ValueError(f"{count} cells for {address}; allowed: one")
    return packed({**parts, file: text.encode()})


def recalculated(contents: Iterable[bytes]) -> list[bytes]:
    """Each file as LibreOffice saves it after recalculating it."""
    with tempfile.TemporaryDirectory() as folder:
        profile, out = Path(folder) / "profile", Path(folder) / "out"
        (profile / "user").mkdir(parents=True)
        (profile / "user" / "registrymodifications.xcu").write_text(_SETTINGS, encoding="utf-8")
        files = []
        for number, content in enumerate(contents):
            files.append(Path(folder) / f"book_{number}.xlsx")
            files[-1].write_bytes(content)
        subprocess.run(
            [tool_path("soffice"), f"-env:UserInstallation=file://{profile}", "--headless", "--norestore", "--convert-to",
             "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out), *map(str, files)],
            check=True, capture_output=True, timeout=900,
        )
        missing = [file.name for file in files if not (out / file.name).exists()]
        if missing:
            raise ValueError(f"LibreOffice wrote no {', '.join(missing)}; allowed: all")
        return [(out / file.name).read_bytes() for file in files]


def cell_values(content: bytes) -> dict[str, dict[str, float | str]]:
    """The stored value of every cell, by sheet and place: numbers, and texts of formulas and of errors as they are."""
    parts = parts_of(content)
    found: dict[str, dict[str, float | str]] = {}
    for title, file in sheet_files(parts).items():
        cells = found.setdefault(title, {})
        for cell in ElementTree.fromstring(parts[file]).iter(f"{_MAIN}c"):
            value = cell.find(f"{_MAIN}v")
            if value is not None and cell.get("t") != "s":
                plain = cell.get("t") in (None, "n", "b")
                cells[cell.get("r")] = float(value.text) if plain and value.text else (value.text or "")
    return found


def named_cells(content: bytes) -> dict[str, tuple[str, str]]:
    """The sheet and place of every named cell."""
    names = ElementTree.fromstring(parts_of(content)["xl/workbook.xml"]).find(f"{_MAIN}definedNames")
    found = {}
    for name in names:
        if not name.get("name").startswith("_xlnm."):
            sheet, place = name.text.split("!")
            found[name.get("name")] = (sheet.strip("'"), place.replace("$", ""))
    return found


def named_values(written: bytes, saved: bytes, values: Mapping | None = None) -> dict[str, float | str]:
    """The value of every named cell of a file as it was written, in the file as another engine saved it."""
    values = values or cell_values(saved)
    return {name: values[sheet].get(place, "nothing") for name, (sheet, place) in named_cells(written).items()}
