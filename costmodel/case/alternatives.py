"""Structural choices of a case: `alternatives/GROUP/CHOICE/` holds rows that replace, add or drop rows of the tables.

A choice is a folder with a `choice.yaml` (title, story, and where wanted `set`, `drop`, `after`, `excludes`) and tables under
their usual names, with the usual columns. A row whose id the base table has replaces it; another one is added. `drop` lists rows
as `steps.soak_sample`; `after` says behind which step a new step comes; `set` changes single figures by address; `excludes` gives,
by `group.choice`, the reason for which a choice of another group cannot be combined with this one.
"""

from __future__ import annotations

import dataclasses
import itertools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from ..core.faults import Fault, InputFaults, nearest
from .files import document_faults, is_like_a_table, read_table, read_yaml
from .read_once import once
from .rows import Rows, read_rows
from .whole_case import tables

FOLDER = "alternatives"


class _ChoiceDocument(BaseModel):
    """The shape of choice.yaml."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    set: dict[str, str | int | float] = {}
    drop: list[str] = []
    after: dict[str, str] = {}
    excludes: dict[str, str] = {}


@dataclass(frozen=True)
class Choice:
    """One way of a group: what it is called, what it does to the tables, and the faults found in its files."""

    group: str
    name: str
    title: str
    story: str
    changes: Mapping[str, Any] = field(default_factory=dict)
    drop: tuple[str, ...] = ()
    after: Mapping[str, str] = field(default_factory=dict)
    excludes: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, Rows] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    document_read: bool = True

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


def chosen(folder: Path, use: Mapping[str, str] | None) -> tuple[list[Choice], frozenset[str], list[Fault]]:
    """Read the choices that a case uses: one for every group; `use` is None where it could not be read.

    Returns the choices; the tables of which rows are unknown, since a group has no choice that is there, or one that another
    excludes; and the faults of `use`: a group without a choice, an unknown group or choice, choices that exclude each other.
    """
    known, faults, read, touched = groups(folder), [], [], set()
    for group in use or ():
        if group not in known:
            allowed = f"a group of {FOLDER}: {', '.join(known) or 'there is none'}{nearest(group, known)}"
            faults.append(Fault("use", None, group, "an unknown group", allowed))
    for group, names in known.items():
        if use is not None and use.get(group) in names:
            read.append(read_choice(folder, group, use[group]))
            continue
        for other in names:
            touched |= _tables_of(read_choice(folder, group, other))
        if use is not None and group not in use:
            faults.append(Fault("case.yaml", None, f"use.{group}", "nothing", f"one of {', '.join(names)}"))
        elif use is not None:
            faults.append(Fault("use", None, group, f"'{use[group]}'", f"one of {', '.join(names)}{nearest(use[group], names)}"))
    for group, refused in _exclusions(folder, read).items():
        faults.extend(refused)
        touched |= _tables_of(next(choice for choice in read if choice.group == group))
        read = [choice for choice in read if choice.group != group]
    return read, frozenset(touched), faults


def ids_in_choices(folder: Path) -> dict[str, set[str]]:
    """The ids of rows that any choice of a case folder brings, by table.

    >>> sorted(ids_in_choices(Path("inputs_demo/facade"))["coatings"])
    ['mirror']
    """
    found: dict[str, set[str]] = {}
    for group, names in groups(folder).items():
        for name in names:
            for table, rows in read_choice(folder, group, name).rows.items():
                found.setdefault(table, set()).update(rows.records)
    return found


def _tables_of(choice: Choice) -> set[str]:
    """The tables whose rows a choice brings or drops."""
    return {*choice.rows, *(address.partition(".")[0] for address in choice.drop)}


def use_in(faults: Iterable[Fault], written: Mapping[str, str], over: Mapping[str, str], file: str) -> list[Fault]:
    """The faults with those of `use` placed in the file that wrote the choice, unless `over` has chosen over it."""
    return [
        dataclasses.replace(fault, file=file, column=f"use.{fault.column}")
        if fault.file == "use" and fault.column in written and fault.column not in over
        else fault
        for fault in faults
    ]


def read_choice(folder: Path, group: str, name: str) -> Choice:
    """Read one choice as far as it can be read; it bears the faults of its files."""
    return once((folder, group, name), lambda: _read_choice(folder, group, name))


def _read_choice(folder: Path, group: str, name: str) -> Choice:
    place = folder / FOLDER / group / name
    shown = f"{FOLDER}/{group}/{name}"
    faults: list[Fault] = []
    document = None
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
            name_of_table = by_file[path.name]
            rows[name_of_table] = read_rows(name_of_table, tables()[name_of_table], found)
            faults.extend([*problems, *rows[name_of_table].faults])
        elif is_like_a_table(path) and path.name != "choice.yaml":
            allowed = f"choice.yaml, {', '.join(by_file)}{nearest(path.name, by_file)}"
            faults.append(Fault(f"{shown}/{path.name}", None, None, "an unknown file", allowed))
    if document is None:
        return Choice(group, name, "", "", rows=rows, faults=tuple(faults), document_read=False)
    faults.extend(_unknown_exclusions(folder, group, shown, document.excludes))
    return Choice(
        group,
        name,
        document.title,
        document.story,
        document.set,
        tuple(document.drop),
        document.after,
        document.excludes,
        rows,
        tuple(faults),
    )


EXCLUDES = "excludes"  # the column of a fault by which a combination of choices is refused


def _unknown_exclusions(folder: Path, group: str, shown: str, excludes: Mapping[str, str]) -> list[Fault]:
    """Faults for exclusions of what is no choice of another group."""
    known = [f"{other}.{name}" for other, names in groups(folder).items() if other != group for name in names]
    return [
        Fault(
            f"{shown}/choice.yaml", None, EXCLUDES, f"'{pair}'", f"a choice of another group as group.choice{nearest(pair, known)}"
        )
        for pair in excludes
        if pair not in known
    ]


def _exclusions(folder: Path, read: list[Choice]) -> dict[str, list[Fault]]:
    """By group, why its choice cannot be combined with the others that are in use."""
    found: dict[str, list[Fault]] = {}
    for choice, other in itertools.permutations(read, 2):
        if reason := choice.excludes.get(f"{other.group}.{other.name}"):
            rest = [name for name in groups(folder)[other.group] if f"{other.group}.{name}" not in choice.excludes]
            allowed = f"{other.group}: {' or '.join(rest) or 'none of its choices'}, or another choice of {choice.group}"
            column = f"{EXCLUDES}.{other.group}.{other.name}"
            fault = Fault(f"{choice.place}/choice.yaml", None, column, f"both in use; {reason}", allowed)
            found.setdefault(choice.group, []).append(fault)
    return found


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
        base.ids_known = base.ids_known and rows.ids_known
        if name == "steps":
            faults.extend(_put_after(base, new_steps, choice))
    for name in () if choice.document_read else ("steps", *choice.rows):
        read[name].ids_known = False  # nor where new steps stand, nor which rows it drops
    for step in choice.after:
        if step not in new_steps and choice.rows.get("steps", Rows()).ids_known:
            faults.append(Fault(f"{choice.place}/choice.yaml", None, f"after.{step}", f"'{step}'", "a step that the choice adds"))
    return faults


def _drop(read: dict[str, Rows], choice: Choice) -> list[Fault]:
    faults = []
    for address in choice.drop:
        name, _, identity = address.partition(".")
        rows = read[name] if name in read and not tables()[name].section else Rows()
        if identity not in rows.records and not rows.ids_known:
            continue
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
        if behind not in base.records and (not choice.document_read or (behind and not base.ids_known)):
            base.records[step] = record
            base.ids_known = False  # for the order is not known
            continue
        if behind not in base.records:
            base.ids_known = False
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
