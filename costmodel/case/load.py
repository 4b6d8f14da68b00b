"""Reads a case folder into a `Case`: the tables, the sections of case.yaml, then the checks between tables."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from ..faults import Fault, InputFaults, nearest
from .consistency import check_consistency
from .files import read_table, read_yaml
from .records import YEAR, Case, Constants, tables
from .rows import Rows, read_rows, read_section

# molar masses: check value M04; see the docstring of Constants
CONSTANTS = Constants(year=YEAR, rating_irradiance=1000.0, molar_mass_silicon=28.085e-3, molar_mass_silane=32.117e-3,
                      modules_per_plate=1.0)


class _CaseDocument(BaseModel):
    """The shape of case.yaml; its sections are read by their schema in records.py."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    currency: str
    product: dict[str, Any]
    site: dict[str, Any]
    target: dict[str, Any]


_WANTED = {"dict_type": "a mapping", "model_type": "a mapping", "string_type": "a text"}


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


def load_case(folder: str | Path) -> Case:
    """Read and check a case folder.

    Raises InputFaults with every fault of every table, and computes nothing then.

    >>> load_case("inputs_demo/facade").steps["lamination"].tool
    'laminator'
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise InputFaults([Fault(str(folder), None, None, "no such folder", "a folder with case.yaml and the tables of a case")])
    faults: list[Fault] = []
    document = _read_document(folder, faults)
    read: dict[str, Rows] = {}
    for name, table in tables().items():
        if table.section:
            read[name] = read_section(name, table, document[name]) if document else Rows()
        else:
            found, problems = read_table(folder / table.file)
            faults.extend(problems)
            read[name] = read_rows(name, table, found) if found.units and not problems else Rows()
        faults.extend(read[name].faults)
    faults.extend(_stray_files(folder))
    if faults:
        raise InputFaults(faults)
    case = _assemble(folder.resolve().name, document, read)
    faults = check_consistency(case, {name: rows.row_numbers for name, rows in read.items()})
    if faults:
        raise InputFaults(faults)
    return case


def _read_document(folder: Path, faults: list[Fault]) -> dict[str, Any]:
    try:
        content = read_yaml(folder / "case.yaml")
        return _CaseDocument.model_validate(content).model_dump()
    except ValidationError as problem:
        faults.extend(document_faults("case.yaml", problem, _CaseDocument.model_fields))
    except InputFaults as problem:
        faults.extend(problem.faults)
    return {}


def _stray_files(folder: Path) -> list[Fault]:
    """Tables under a name that the case does not know: most often a slip of the pen."""
    known = {table.file for table in tables().values()}
    return [Fault(path.name, None, None, "an unknown file", f"{', '.join(sorted(known))}{nearest(path.name, known)}")
            for path in sorted(folder.iterdir())
            if path.suffix in (".csv", ".yaml", ".yml") and path.name not in known]


def _assemble(name: str, document: Mapping[str, Any], read: Mapping[str, Rows]) -> Case:
    sections = {n: read[n].records[n] for n, table in tables().items() if table.section}
    rows = {n: read[n].records for n, table in tables().items() if not table.section}
    evidence = {place: shown for part in read.values() for place, shown in part.evidence.items()}
    units = {address: unit for part in read.values() for address, unit in part.units.items()}
    return Case(name=name, title=document["title"], story=document["story"], currency=document["currency"],
                constants=CONSTANTS, evidence=evidence, entry_units=units, **sections, **rows)
