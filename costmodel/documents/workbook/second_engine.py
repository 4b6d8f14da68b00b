"""A second engine for the workbook: LibreOffice, without a window, on a file whose stored values were spoiled first.

It does not recalculate by itself, so values that we stored could pass for its own: hence a profile that says that it must, and the
spoiled values, each of which has to be gone. It ends with code 0 even where it wrote nothing, so the outcome is looked at.
"""

from __future__ import annotations

import io
import math
import re
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from xml.etree import ElementTree

from ...case.addresses import numeric_inputs
from ...case.whole_case import Case
from ...core.faults import Fault, InputFaults
from ...model.evaluate import evaluate, figures
from ...studies.verification.agreement import Agreement
from .names import cell_names
from .write import workbook_bytes

PROGRAMS = ("soffice", "libreoffice")
ENGINE = "another spreadsheet"
CLOSE = 1e-9  # of a figure, or of the capital where cash is a difference of larger sums
POISON = 1e99
SECONDS = 900
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def agreements(case: Case) -> list[Agreement]:
    """Every figure of the workbook of a case, as another spreadsheet computes it, by part of the model. Raises InputFaults."""
    book = workbook_bytes(case)
    (saved,) = recalculated([poisoned(book)])
    made = {address: (float(value), unit) for address, value, unit, _ in figures(evaluate(case), case.currency)}
    values, names = named_values(book, saved), cell_names([*(address for address, *_ in numeric_inputs(case)), *made])
    sizes = _sizes(case, made)
    rows: dict[str, list[tuple[float, float, float]]] = {}
    for address, (value, _) in made.items():
        found = values[names[address]]
        if not (math.isnan(value) and found == "#N/A"):
            number = found if isinstance(found, float) else math.nan
            within = CLOSE * sizes[address]
            wanted = value if abs(value) > within else 0.0  # what rounding leaves of a difference
            rows.setdefault(address.partition(".")[0], []).append((wanted, number, within))
    return [_of_part(part, own) for part, own in rows.items()]


def _of_part(part: str, rows: Sequence[tuple[float, float, float]]) -> Agreement:
    expected, found, within = (tuple(each) for each in zip(*rows))
    return Agreement("workbook", f"{len(rows):,} figures of the {part}", ENGINE, expected, found, within)


def _sizes(case: Case, made: Mapping[str, tuple[float, str]]) -> dict[str, float]:
    """What each figure is small against, as it may be a difference: the largest of its record in its unit.

    Cash is small against the capital, parts of the hours against the year, checks of the ledger against its total.
    """
    largest: dict[tuple[str, str], float] = {}
    for address, (value, unit) in made.items():
        of = address.rpartition(".")[0], unit
        largest[of] = max(largest.get(of, 0.0), 0.0 if math.isnan(value) else abs(value))
    capital, total = made.get("plan.capital", (0.0, ""))[0], made["ledger.total.cost"][0]
    found = {}
    for address, (_, unit) in made.items():
        cash = capital if address.startswith(("plan.", "deal.")) and unit == case.currency else 0.0
        hours = case.constants.year if address.startswith("line.states.") else 0.0
        check = total if address.startswith("ledger.checks.") else 0.0
        found[address] = max(largest[address.rpartition(".")[0], unit], cash, hours, check)
    return found


def parts_of(content: bytes) -> dict[str, bytes]:
    """The files in an .xlsx file."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed_file:
        return {name: packed_file.read(name) for name in packed_file.namelist()}


def packed(parts: Mapping[str, bytes]) -> bytes:
    """An .xlsx file of these files."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return made.getvalue()


def sheet_files(parts: Mapping[str, bytes]) -> dict[str, str]:
    """The file of each sheet, by its title."""
    links = {link.get("Id"): link.get("Target", "") for link in ElementTree.fromstring(parts["xl/_rels/workbook.xml.rels"])}
    sheets = ElementTree.fromstring(parts["xl/workbook.xml"]).iterfind(f"{_MAIN}sheets/{_MAIN}sheet")
    return {sheet.get("name", ""): "xl/" + links[sheet.get(_LINK)].removeprefix("/xl/") for sheet in sheets}


def poisoned(content: bytes) -> bytes:
    """The file with every stored value of a formula replaced by a number that no figure has."""
    parts = parts_of(content)
    for file in sheet_files(parts).values():
        spoiled, count = re.subn(rb"(</f><v>)[^<]*(</v>)", rb"\g<1>%s\g<2>" % repr(POISON).encode(), parts[file])
        if count != parts[file].count(b"</f>"):
            raise ValueError(f"{parts[file].count(b'</f>')} formulas in {file}, {count} of them with a value; allowed: all")
        parts[file] = spoiled
    return packed(parts)


def program_of_this_machine() -> str:
    """The path of LibreOffice. Raises InputFaults where there is none."""
    program = next((found for name in PROGRAMS if (found := shutil.which(name))), None)
    if program is None:
        found = "no LibreOffice Calc on this machine"
        raise InputFaults([Fault("--workbook", None, None, found, "one, as soffice or libreoffice")])
    return program


def recalculated(contents: Iterable[bytes]) -> list[bytes]:
    """Each file as LibreOffice saves it after recalculating it. Raises InputFaults where there is none."""
    program = program_of_this_machine()
    with tempfile.TemporaryDirectory() as folder:
        profile, out = Path(folder) / "profile", Path(folder) / "out"
        (profile / "user").mkdir(parents=True)
        (profile / "user" / "registrymodifications.xcu").write_text(_SETTINGS, encoding="utf-8")
        files = []
        for number, content in enumerate(contents):
            files.append(Path(folder) / f"book_{number}.xlsx")
            files[-1].write_bytes(content)
        subprocess.run(
            [program, f"-env:UserInstallation=file://{profile}", "--headless", "--norestore", "--convert-to",
             "xlsx:Calc MS Excel 2007 XML", "--outdir", str(out), *map(str, files)],
            check=True, capture_output=True, timeout=SECONDS,
        )  # fmt: skip
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
                cells[cell.get("r", "")] = float(value.text) if plain and value.text else (value.text or "")
    return found


def named_cells(content: bytes) -> dict[str, tuple[str, str]]:
    """The sheet and place of every named cell."""
    found = {}
    for name in ElementTree.fromstring(parts_of(content)["xl/workbook.xml"]).iterfind(f"{_MAIN}definedNames/{_MAIN}definedName"):
        if not name.get("name", "").startswith("_xlnm."):
            sheet, place = (name.text or "").split("!")
            found[name.get("name", "")] = (sheet.strip("'"), place.replace("$", ""))
    return found


def named_values(
    written: bytes, saved: bytes, values: Mapping[str, Mapping[str, float | str]] | None = None
) -> dict[str, float | str]:
    """The value of every named cell of a file as it was written, in the file as another engine saved it."""
    values = values or cell_values(saved)
    return {name: values[sheet].get(place, "nothing") for name, (sheet, place) in named_cells(written).items()}
