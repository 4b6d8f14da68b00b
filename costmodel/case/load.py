"""Reads a case folder into a `Case`: the tables, the sections of YAML files, then the checks between tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from ..core.faults import Fault, InputFaults, nearest
from ..core.fields import YEAR, declared, or_else
from ..core.units import CURRENCY
from .alternatives import Choice, apply_choice, chosen, ids_in_choices, use_in
from .changes import apply_written, changes_at_fault, supposing
from .checks.references_checks import referring
from .consistency import check_consistency
from .files import document_faults, is_like_a_table, make_table, read_table, read_yaml
from .line_records import Constants
from .measurements import FOLDER, read_measurements
from .read_once import once
from .rows import Rows, read_rows, read_section, record_of
from .tables_xlsx import WORKBOOK, Grid, read_workbook, sheet_place
from .whole_case import Case, DealSections, PlanSections, Table, tables

# molar masses: check value M04; see the docstring of Constants
CONSTANTS = Constants(
    year=YEAR,
    rating_irradiance=1000.0,
    molar_mass_silicon=28.085e-3,
    molar_mass_silane=32.117e-3,
    plate=1.0,
    loads_per_tool=1.0,
    modules_per_plate=1.0,
    watts_alike=1.0,
    person=1.0,
)


class _CaseDocument(BaseModel):
    """The shape of case.yaml; its sections are read by the schema of their records."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    public_title: str = ""
    public_story: str = ""
    currency: str
    use: dict[str, str] = {}
    product: dict[str, Any]
    site: dict[str, Any]
    target: dict[str, Any]


@dataclass(frozen=True)
class Read:
    """What could be read of a case, with every fault found; `unread` names the tables of which rows are not known.

    Records of `case` lack the fields at fault.
    """

    case: Case
    choices: tuple[Choice, ...]
    unread: frozenset[str]
    faults: tuple[Fault, ...]


def load_case(folder: str | Path, use: Mapping[str, str] | None = None) -> Case:
    """Read and check a case folder; `use` overrides the choices that case.yaml names, group by group.

    Raises InputFaults with every fault of every table and between tables, and computes nothing then.

    >>> load_case("inputs_demo/facade").steps["lamination"].tool
    'laminator'
    """
    return once(("case", Path(folder), *(use or {}).items()), lambda: _load_case(folder, use))


def _load_case(folder: str | Path, use: Mapping[str, str] | None) -> Case:
    read = read_case(folder, use)
    if read.faults:
        raise InputFaults(read.faults)
    case = read.case
    for choice in read.choices:
        if choice.changes:  # ranges.csv speaks of the choices of case.yaml, so what another one sets is not drawn
            change = supposing if choice.group in (use or {}) else apply_written
            case = change(case, choice.changes, f"{choice.place}/choice.yaml", f"choice {choice.group}: {choice.name}")
    return case


def read_case(folder: str | Path, use: Mapping[str, str] | None = None) -> Read:
    """Read a case folder as far as it can be read, before the single figures that choices set are put in.

    Raises InputFaults only where there is no such folder.
    """
    return once(("read", Path(folder), *(use or {}).items()), lambda: _read_case(Path(folder), use))


def _read_case(folder: Path, use: Mapping[str, str] | None) -> Read:
    if not folder.is_dir():
        raise InputFaults([Fault(str(folder), None, None, "no such folder", "a folder with case.yaml and the tables of a case")])
    faults: list[Fault] = []
    document = _read_document(folder, faults)
    document |= {name: section for file in _OTHER_FILES for name, section in _read_sections(folder, file, faults).items()}
    sheets = _read_sheets(folder, faults)
    parts = {name: _read_part(folder, name, table, document, sheets) for name, table in tables().items()}
    faults.extend(fault for rows in parts.values() for fault in rows.faults)
    read = {name: rows.copy() for name, rows in parts.items()}  # to which choices add theirs
    faults.extend(_stray_files(folder))
    used, touched, problems = chosen(folder, {**document["use"], **(use or {})} if "use" in document else None)
    faults.extend(use_in(problems, document.get("use", {}), use or {}, "case.yaml"))
    faults.extend(_faults_of_rows_left_out(folder, read, used))
    for choice in used:
        faults.extend(choice.faults)
        faults.extend(apply_choice(read, choice))
    unread = touched | {name for name, rows in read.items() if not rows.ids_known}
    case = _assemble(folder, document, read, used)
    faults.extend(check_consistency(case, {name: rows.places for name, rows in read.items()}, unread))
    measured, problems = read_measurements(case, folder)
    faults.extend(problems)
    case = dataclasses.replace(case, measurements=measured)
    for choice in used if faults else ():  # without faults, changes are applied and checked one after the other
        faults.extend(changes_at_fault(case, choice.changes, f"{choice.place}/choice.yaml", unread))
    return Read(case, tuple(used), unread, tuple(faults))


def _faults_of_rows_left_out(folder: Path, read: Mapping[str, Rows], used: Sequence[Choice]) -> list[Fault]:
    """Faults of rows of the tables that a choice in use replaces or drops, so that no check of the whole case sees them.

    What such a row refers to has to stand in the tables, or in those of any choice.
    """
    faults, in_choices = [], None
    for name, rows in read.items():
        gone = {identity for choice in used for identity in choice.rows.get(name, Rows()).records}
        gone |= {address.partition(".")[2] for choice in used for address in choice.drop if address.startswith(f"{name}.")}
        for identity in gone & rows.records.keys():
            for column, declaration in referring(type(rows.records[identity])):
                value, other = getattr(rows.records[identity], column, None), read[declaration.refers_to]
                if value is None or value in other.records or value == (declaration.or_else or None) or not other.ids_known:
                    continue
                in_choices = ids_in_choices(folder) if in_choices is None else in_choices
                if value not in in_choices.get(declaration.refers_to, ()):
                    allowed = f"an id of {tables()[declaration.refers_to].file}{or_else(declaration)}"
                    file, row = rows.places[identity]
                    faults.append(Fault(file, row, column, f"'{value}'", f"{allowed}{nearest(value, other.records)}"))
    return faults


def _yaml(path: Path) -> Any:
    return once(path, lambda: read_yaml(path))


def _read_document(folder: Path, faults: list[Fault]) -> dict[str, Any]:
    """What case.yaml says, without what is at fault."""
    try:
        content = _yaml(folder / "case.yaml")
    except InputFaults as problem:
        faults.extend(problem.faults)
        return {}
    try:
        document = _CaseDocument.model_validate(content).model_dump()
    except ValidationError as problem:
        faults.extend(document_faults("case.yaml", problem, _CaseDocument.model_fields))
        if not isinstance(content, dict):
            return {}
        wrong = {error["loc"][0] for error in problem.errors()}
        document = {"use": {}} | {name: value for name, value in content.items() if name in _CaseDocument.model_fields}
        document = {name: value for name, value in document.items() if name not in wrong}
    if "currency" in document and not CURRENCY.fullmatch(document["currency"]):
        faults.append(Fault("case.yaml", None, "currency", f"'{document.pop('currency')}'", "three capitals, as EUR"))
    return document


_OTHER_FILES = ("plan.yaml", "deal.yaml")  # files of sections, there as a whole or not at all


def _read_sections(folder: Path, file: str, faults: list[Fault]) -> dict[str, Any]:
    """The sections of another YAML file, all of which it has to have; none where it is not there."""
    if not (folder / file).exists():
        return {}
    wanted = [name for name, table in tables().items() if table.section and table.file == file]
    try:
        content = _yaml(folder / file)
    except InputFaults as problem:
        faults.extend(problem.faults)
        return {}
    if not isinstance(content, dict):
        faults.append(Fault(file, None, "the document", f"{content!r}", f"a mapping with {', '.join(wanted)}"))
        return {}
    for name in content:
        if name not in wanted:
            faults.append(Fault(file, None, str(name), "an unknown name", f"{', '.join(wanted)}{nearest(str(name), wanted)}"))
    for name in wanted:
        if name not in content:
            keys = ", ".join(declared(tables()[name].record))
            faults.append(Fault(file, None, name, "no such section", f"all sections of {file}; '{name}' holds {keys}"))
    return {name: content[name] for name in wanted if name in content}


def _read_sheets(folder: Path, faults: list[Fault]) -> dict[str, Grid] | None:
    """The sheets of the workbook beside case.yaml by name; None where there is one that cannot be read."""
    if not (folder / WORKBOOK).exists():
        return {}
    try:
        sheets = once(folder / WORKBOOK, lambda: read_workbook(folder / WORKBOOK))
    except InputFaults as problem:
        faults.extend(problem.faults)
        return None
    known = [name for name, table in tables().items() if not table.section]
    for sheet in sheets:
        if sheet not in known:
            faults.append(Fault(sheet_place(sheet), None, None, "an unknown sheet", f"{', '.join(known)}{nearest(sheet, known)}"))
    return sheets


def _read_part(
    folder: Path,
    name: str,
    table: Table,
    document: Mapping[str, Any],
    sheets: Mapping[str, Grid] | None,
) -> Rows:
    """One table, or one section of case.yaml, with all its faults; an optional table that is not there has no rows."""
    there = (folder / table.file).exists()
    if table.section:
        return read_section(name, table, document[name]) if name in document else Rows()
    elif sheets is None and not there:
        return Rows(ids_known=False)  # it may stand in the workbook that could not be read
    elif sheets and name in sheets:
        beside = Fault(sheet_place(name), None, None, f"a sheet beside {table.file}", "the table in one place only")
        found, problems = make_table(sheet_place(name), sheets[name])
        return _with_faults(read_rows(name, table, found), [*([beside] if there else []), *problems])
    elif table.optional and not there:
        return Rows()
    return once(folder / table.file, lambda: _read_file(folder, name, table))


def _read_file(folder: Path, name: str, table: Table) -> Rows:
    """The table in a file of its own."""
    found, problems = read_table(folder / table.file)
    problems = [_or_delete(problem) if table.optional and problem.found == "no rows" else problem for problem in problems]
    return _with_faults(read_rows(name, table, found), problems)


def _with_faults(rows: Rows, faults: Sequence[Fault]) -> Rows:
    """The rows, with faults of their table before their own."""
    return dataclasses.replace(rows, faults=[*faults, *rows.faults])


def _or_delete(fault: Fault) -> Fault:
    """The fault of a table without rows that a case may also leave out."""
    return dataclasses.replace(fault, allowed=f"{fault.allowed}; or delete the file")


_FOLDERS = ("alternatives", "scenarios", "rounds", FOLDER)


def _stray_files(folder: Path) -> list[Fault]:
    """Tables, and folders of changes, under a name that the case does not know: most often a slip of the pen."""
    known = {WORKBOOK, *(table.file for table in tables().values())}
    faults = []
    for path in sorted(folder.iterdir()):
        if path.name in known or path.name in _FOLDERS:
            continue
        if is_like_a_table(path):
            allowed = f"{', '.join(sorted(known))}{nearest(path.name, known)}"
            faults.append(Fault(path.name, None, None, "an unknown file", allowed))
        elif path.is_dir() and nearest(path.name.lower(), _FOLDERS):
            allowed = f"{', '.join(_FOLDERS)}{nearest(path.name.lower(), _FOLDERS)}"
            faults.append(Fault(path.name, None, None, "an unknown folder", allowed))
    return faults


def _assemble(folder: Path, document: Mapping[str, Any], read: Mapping[str, Rows], choices: Sequence[Choice]) -> Case:
    """The case of what was read; a section that was not read lacks all fields."""
    sections = {n: read[n].records.get(n, record_of(t.record, {})) for n, t in tables().items() if t.section}
    own: dict[str, Any] = {n: sections[n] for n, t in tables().items() if t.section and not t.optional}
    plan = PlanSections(**{n: sections[n] for n in PlanSections.__dataclass_fields__}) if (folder / "plan.yaml").exists() else None
    deal = DealSections(**{n: sections[n] for n in DealSections.__dataclass_fields__}) if (folder / "deal.yaml").exists() else None
    rows: dict[str, Any] = {n: read[n].records for n, table in tables().items() if not table.section}
    evidence = {place: shown for part in read.values() for place, shown in part.evidence.items()}
    units = {address: unit for part in read.values() for address, unit in part.units.items()}
    return Case(
        name=folder.resolve().name,
        title=document.get("title", ""),
        story=document.get("story", ""),
        public_title=document.get("public_title", ""),
        public_story=document.get("public_story", ""),
        currency=document.get("currency", ""),
        use={choice.group: choice.title for choice in choices},
        constants=CONSTANTS,
        evidence=evidence,
        entry_units=units,
        plan_sections=plan,
        deal_sections=deal,
        **own,
        **rows,
    )
