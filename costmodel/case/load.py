"""Reads a case folder into a `Case`: the tables, the sections of case.yaml, then the checks between tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from ..faults import Fault, InputFaults, nearest
from .alternatives import Choice, apply_choice, chosen
from .changes import apply_written
from .consistency import check_consistency
from .files import document_faults, read_table, read_yaml
from .records import YEAR, Case, Constants, Table, tables
from .rows import Rows, read_rows, read_section

# molar masses: check value M04; see the docstring of Constants
CONSTANTS = Constants(
    year=YEAR,
    rating_irradiance=1000.0,
    molar_mass_silicon=28.085e-3,
    molar_mass_silane=32.117e-3,
    loads_per_tool=1.0,
    modules_per_plate=1.0,
)


class _CaseDocument(BaseModel):
    """The shape of case.yaml; its sections are read by their schema in records.py."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    currency: str
    use: dict[str, str] = {}
    product: dict[str, Any]
    site: dict[str, Any]
    target: dict[str, Any]


def load_case(folder: str | Path, use: Mapping[str, str] | None = None) -> Case:
    """Read and check a case folder; `use` overrides the choices that case.yaml names, group by group.

    Raises InputFaults with every fault of every table, and computes nothing then.

    >>> load_case("inputs_demo/facade").steps["lamination"].tool
    'laminator'
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise InputFaults([Fault(str(folder), None, None, "no such folder", "a folder with case.yaml and the tables of a case")])
    faults: list[Fault] = []
    document = _read_document(folder, faults)
    read = {name: _read_part(folder, name, table, document, faults) for name, table in tables().items()}
    faults.extend(_stray_files(folder))
    choices: list[Choice] = []
    try:
        choices = chosen(folder, {**document.get("use", {}), **(use or {})}) if document else []
    except InputFaults as problem:
        faults.extend(problem.faults)
    if faults:
        raise InputFaults(faults)
    for choice in choices:
        faults.extend(apply_choice(read, choice))
    if faults:
        raise InputFaults(faults)
    case = _assemble(folder.resolve().name, document, read, choices)
    faults = check_consistency(case, {name: rows.places for name, rows in read.items()})
    if faults:
        raise InputFaults(faults)
    return _with_figures_set(case, choices)


def _read_document(folder: Path, faults: list[Fault]) -> dict[str, Any]:
    try:
        content = read_yaml(folder / "case.yaml")
        return _CaseDocument.model_validate(content).model_dump()
    except ValidationError as problem:
        faults.extend(document_faults("case.yaml", problem, _CaseDocument.model_fields))
    except InputFaults as problem:
        faults.extend(problem.faults)
    return {}


def _read_part(folder: Path, name: str, table: Table, document: Mapping[str, Any], faults: list[Fault]) -> Rows:
    """One table, or one section of case.yaml; an optional table that is not there has no rows."""
    if table.section:
        rows = read_section(name, table, document[name]) if document else Rows()
    elif table.optional and not (folder / table.file).exists():
        return Rows()
    else:
        found, problems = read_table(folder / table.file)
        faults.extend(problems)
        rows = read_rows(name, table, found) if found.rows else Rows()
    faults.extend(rows.faults)
    return rows


def _stray_files(folder: Path) -> list[Fault]:
    """Tables under a name that the case does not know: most often a slip of the pen."""
    known = {table.file for table in tables().values()}
    return [
        Fault(path.name, None, None, "an unknown file", f"{', '.join(sorted(known))}{nearest(path.name, known)}")
        for path in sorted(folder.iterdir())
        if path.suffix in (".csv", ".yaml", ".yml") and path.name not in known
    ]


def _assemble(name: str, document: Mapping[str, Any], read: Mapping[str, Rows], choices: Sequence[Choice]) -> Case:
    sections = {n: read[n].records[n] for n, table in tables().items() if table.section}
    rows = {n: read[n].records for n, table in tables().items() if not table.section}
    evidence = {place: shown for part in read.values() for place, shown in part.evidence.items()}
    units = {address: unit for part in read.values() for address, unit in part.units.items()}
    return Case(
        name=name,
        title=document["title"],
        story=document["story"],
        currency=document["currency"],
        use={choice.group: choice.title for choice in choices},
        constants=CONSTANTS,
        evidence=evidence,
        entry_units=units,
        **sections,
        **rows,
    )


def _with_figures_set(case: Case, choices: Sequence[Choice]) -> Case:
    """The case with the single figures changed that the choices set."""
    for choice in choices:
        if choice.changes:
            case = apply_written(case, choice.changes, f"{choice.place}/choice.yaml", f"choice {choice.group}: {choice.name}")
    return case
