"""Structural choices of a case: `alternatives/GROUP/CHOICE/` holds rows that replace, add or drop rows of the tables.

A choice is a folder with a `choice.yaml` (title, story, and where wanted `set`, `drop`, `after`) and tables under their usual
names, with the usual columns. A row whose id the base table has replaces it; another one is added. `drop` lists rows as
`steps.soak_sample`; `after` says behind which step a new step comes; `set` changes single figures by address.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from ..faults import Fault, InputFaults, nearest
from .files import document_faults, read_table, read_yaml
from .records import tables
from .rows import Rows, read_rows

FOLDER = "alternatives"


class _ChoiceDocument(BaseModel):
    """The shape of choice.yaml."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    set: dict[str, str | int | float] = {}
    drop: list[str] = []
    after: dict[str, str] = {}


@dataclass(frozen=True)
class Choice:
    """One way of a group: what it is called, and what it does to the tables."""

    group: str
    name: str
    title: str
    story: str
    changes: Mapping[str, Any] = field(default_factory=dict)
    drop: tuple[str, ...] = ()
    after: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, Rows] = field(default_factory=dict)

    @property
    def place(self) -> str:
        """Where the choice stands below the case folder."""
        return f"{FOLDER}/{self.group}/{self.name}"


def groups(folder: Path) -> dict[str, list[str]]:
    """The groups of choices of a case folder, each with its choices.

    >>> groups(Path("inputs_demo/facade"))["back_contact"]
    ['aluminium', 'silver']
    """
    below = folder / FOLDER
    return {path.name: [choice.name for choice in _folders(path)] for path in _folders(below)} if below.is_dir() else {}


def _folders(folder: Path) -> list[Path]:
    """The folders in a folder in order, without those that programs hide, as .ipynb_checkpoints."""
    return sorted(path for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))


def chosen(folder: Path, use: Mapping[str, str]) -> list[Choice]:
    """Read the choices that a case uses: one for every group.

    Raises InputFaults for a group without a choice, an unknown group or choice, and every fault within.
    """
    known, faults, read = groups(folder), [], []
    for group in use:
        if group not in known:
            allowed = f"a group of {FOLDER}: {', '.join(known) or 'there is none'}{nearest(group, known)}"
            faults.append(Fault("use", None, group, "an unknown group", allowed))
    for group, names in known.items():
        if group not in use:
            faults.append(Fault("case.yaml", None, f"use.{group}", "nothing", f"one of {', '.join(names)}"))
        elif use[group] not in names:
            faults.append(Fault("use", None, group, f"'{use[group]}'", f"one of {', '.join(names)}{nearest(use[group], names)}"))
        else:
            try:
                read.append(read_choice(folder, group, use[group]))
            except InputFaults as problem:
                faults.extend(problem.faults)
    if faults:
        raise InputFaults(faults)
    return read


def read_choice(folder: Path, group: str, name: str) -> Choice:
    """Read one choice. Raises InputFaults."""
    place = folder / FOLDER / group / name
    shown = f"{FOLDER}/{group}/{name}"
    faults: list[Fault] = []
    document = _ChoiceDocument(title="", story="")
    try:
        document = _ChoiceDocument.model_validate(read_yaml(place / "choice.yaml", f"{shown}/choice.yaml"))
    except ValidationError as problem:
        faults.extend(document_faults(f"{shown}/choice.yaml", problem, _ChoiceDocument.model_fields))
    except InputFaults as problem:
        faults.extend(problem.faults)
    by_file = {table.file: key for key, table in tables().items() if not table.section}
    rows: dict[str, Rows] = {}
    for path in sorted(place.iterdir()):
        if path.name in by_file:
            found, problems = read_table(path, f"{shown}/{path.name}")
            faults.extend(problems)
            name_of_table = by_file[path.name]
            rows[name_of_table] = read_rows(name_of_table, tables()[name_of_table], found) if found.rows else Rows()
            faults.extend(rows[name_of_table].faults)
        elif path.suffix in (".csv", ".yaml", ".yml") and path.name != "choice.yaml":
            faults.append(
                Fault(
                    f"{shown}/{path.name}",
                    None,
                    None,
                    "an unknown file",
                    f"choice.yaml, {', '.join(by_file)}{nearest(path.name, by_file)}",
                )
            )
    if faults:
        raise InputFaults(faults)
    return Choice(group, name, document.title, document.story, document.set, tuple(document.drop), document.after, rows)


def apply_choice(read: dict[str, Rows], choice: Choice) -> list[Fault]:
    """Put the rows of a choice into the rows of the case, in place; returns the faults found."""
    faults = _drop(read, choice)
    new_steps = [step for step in choice.rows.get("steps", Rows()).records if step not in read["steps"].records]
    for name, rows in choice.rows.items():
        base = read[name]
        base.records.update(rows.records)
        base.evidence.update(rows.evidence)
        base.places.update(rows.places)
        base.units.update(rows.units)
        if name == "steps":
            faults.extend(_put_after(base, new_steps, choice))
    for step in choice.after:
        if step not in new_steps:
            faults.append(Fault(f"{choice.place}/choice.yaml", None, f"after.{step}", f"'{step}'", "a step that the choice adds"))
    return faults


def _drop(read: dict[str, Rows], choice: Choice) -> list[Fault]:
    faults = []
    for address in choice.drop:
        name, _, identity = address.partition(".")
        rows = read[name] if name in read and not tables()[name].section else Rows()
        if identity not in rows.records:
            faults.append(
                Fault(
                    f"{choice.place}/choice.yaml",
                    None,
                    "drop",
                    f"'{address}'",
                    f"a row as table.id{nearest(identity, rows.records)}",
                )
            )
            continue
        del rows.records[identity], rows.places[identity], rows.evidence[address]
        for figure in [unit for unit in rows.units if re.fullmatch(rf"{name}\.{identity}\.\w+", unit)]:
            del rows.units[figure]
    return faults


def _put_after(base: Rows, added: list[str], choice: Choice) -> list[Fault]:
    """Move added steps to their place in the route, one by one in the order of their table."""
    faults = []
    records = {step: base.records.pop(step) for step in added}
    for step, record in records.items():
        behind = choice.after.get(step)
        if behind not in base.records:
            faults.append(
                Fault(
                    f"{choice.place}/choice.yaml",
                    None,
                    f"after.{step}",
                    f"'{behind}'" if behind else "nothing",
                    f"the step behind which '{step}' comes{nearest(behind or '', base.records)}",
                )
            )
            continue
        order = list(base.records.items())
        at = [identity for identity, _ in order].index(behind) + 1
        base.records = dict([*order[:at], (step, record), *order[at:]])
    return faults
