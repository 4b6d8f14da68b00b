"""Rounds of a negotiation: versions of the deal, each a small YAML file with what it changes of the round before.

`set` changes single inputs, `add` puts in rows of the tables of terms, `drop` takes rows out. An amount may be stated in any
currency of money.csv: its row then is in that currency, so its other amounts are stated anew too, but for those that are 0.
Which round is our offer on a day: the newest of ours that is neither withdrawn, rejected nor expired.
"""

from __future__ import annotations

import dataclasses
import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from ..core.faults import Fault, InputFaults, nearest
from ..core.fields import Number, declared, unit_of
from .addresses import BadAddress, input_at, value_at
from .changes import changes_at_fault, stated_in, supposing
from .checks.frame_checks import Unread
from .files import document_faults, read_yaml
from .read_once import once
from .rows import IDENTIFIER, read_section
from .whole_case import Case, Evidence, held_at, tables, with_held

FOLDER = "rounds"
DRAFT = "draft"  # the terms of deal.yaml, which no round has changed
US = "licensor"
OPEN: Final = "open"
TABLES_OF_TERMS = (
    *("fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies", "guarantees"),
    *("laboratory_tests", "supplied_materials"),
    *("performance_guarantees", "acceptance_dates", "damages_caps"),
)
_AMOUNT = re.compile(r"\S+ +([A-Z]{3})\b")


class Round(BaseModel):
    """A round as its file states it: who offers what, on which day, until when it holds, and what became of it."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    by: Literal["licensor", "licensee"]
    date: str
    valid_until: str
    story: str
    status: Literal["open", "withdrawn", "rejected"] = OPEN
    changes: dict[str, str | int | float] = Field(alias="set", default={})
    add: dict[str, dict[str, str | int | float]] = {}
    drop: list[str] = []

    @field_validator("add", mode="before")
    @classmethod
    def _rows_by_table(cls, stated: Any) -> Any:
        """Rows that stand below the name of their table, by their address: `fees: {second: {...}}` is `fees.second: {...}`."""
        if not isinstance(stated, dict):
            return stated
        found: dict[Any, Any] = {}
        for name, rows in stated.items():
            nested = (
                isinstance(rows, dict) and rows and "." not in str(name) and all(isinstance(row, dict) for row in rows.values())
            )
            found |= {f"{name}.{row}": columns for row, columns in rows.items()} if nested else {name: rows}
        return found

    def holds_on(self, day: str) -> bool:
        """Whether the offer stands on a day, as 2026-11-25: it is made, and neither withdrawn, rejected nor expired."""
        return self.status == OPEN and self.date <= day <= self.valid_until


@dataclass(frozen=True)
class Version:
    """Which round the terms of a case are of; `number` counts the rounds from 1, and `draft` is the case with no round."""

    name: str
    number: int
    round: Round
    draft: Case


def round_names(folder: str | Path) -> list[str]:
    """The names of the rounds of a case folder, in their order: that of their file names.

    >>> round_names("inputs_demo/facade")
    ['1_offer', '2_answer', '3_offer']
    """
    return sorted(path.stem for path in (Path(folder) / FOLDER).glob("*.yaml"))


def read_round(folder: str | Path, name: str) -> Round:
    """Read a round by its name. Raises InputFaults."""
    shown, found, faults = _file(name), None, list[Fault]()
    path = Path(folder) / FOLDER / f"{name}.yaml"
    content = once(path, lambda: read_yaml(path, shown))
    try:
        found = Round.model_validate(content)
    except ValidationError as problem:
        allowed = ("title", "by", "date", "valid_until", "story", "status", "set", "add", "drop")
        faults = document_faults(shown, problem, dict.fromkeys(allowed))
    stated = content if isinstance(content, dict) else {}
    days = {column: stated[column] for column in ("date", "valid_until") if isinstance(stated.get(column), str)}
    wrong = {column: day for column, day in days.items() if not _is_a_day(day)}
    faults += [Fault(shown, None, column, f"'{day}'", "a day, as 2026-11-25") for column, day in wrong.items()]
    if found and not wrong and found.valid_until < found.date:
        faults.append(Fault(shown, None, "valid_until", found.valid_until, f"a day from {found.date} on"))
    if found is None or faults:
        raise InputFaults(faults)
    return found


def _file(name: str) -> str:
    return f"{FOLDER}/{name}.yaml"


def _is_a_day(text: str) -> bool:
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def cases_by_round(folder: str | Path, case: Case) -> Iterator[tuple[str, Round, Case]]:
    """Each round with the case as it then stands; changes add up from round to round. Raises InputFaults."""
    draft = case
    for number, name in enumerate(round_names(folder), 1):
        found = read_round(folder, name)
        case = dataclasses.replace(_after(case, found, name), version=Version(name, number, found, draft))
        yield name, found, case


def at_round(folder: str | Path, case: Case, name: str) -> Case:
    """The case with the terms of a round, those of the rounds before it included. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> at_round("inputs_demo/facade", case, "3_offer").deal.licence.upfront
    1250000.0
    """
    known = round_names(folder)
    if name == DRAFT:
        return case
    if name not in known:
        allowed = f"one of {', '.join([DRAFT, *known])}{nearest(name, known)}"
        raise InputFaults([Fault("--round", None, None, f"'{name}'", allowed)])
    return next(after for each, _, after in cases_by_round(folder, case) if each == name)


def offer_on(folder: str | Path, day: str) -> str:
    """The name of our newest round that holds on a day; `draft` where there is none. Raises InputFaults.

    >>> offer_on("inputs_demo/facade", "2026-11-25"), offer_on("inputs_demo/facade", "2026-11-01")
    ('3_offer', 'draft')
    """
    read = {name: read_round(folder, name) for name in round_names(folder)}
    return next((name for name in reversed(read) if read[name].by == US and read[name].holds_on(day)), DRAFT)


def round_faults(folder: str | Path, case: Case, unread: Unread, whole: bool) -> Iterator[tuple[str, list[Fault]]]:
    """The faults of each round by its file, as far as they can be judged; `whole` says that the case itself has none."""
    for name in round_names(folder):
        shown, faults = _file(name), list[Fault]()
        try:
            found = read_round(folder, name)
        except InputFaults as problem:
            yield shown, list(problem.faults)
            continue
        case, faults = _with_rows(case, found, shown, unread)
        faults += changes_at_fault(case, _completed(case, found.changes), shown, unread)
        if whole and not faults:
            try:
                case = supposing(case, _completed(case, found.changes), shown, shown)
            except InputFaults as problem:
                faults = list(problem.faults)
        yield shown, faults


def _after(case: Case, found: Round, name: str) -> Case:
    """The case after a round. Raises InputFaults."""
    shown = _file(name)
    case, faults = _with_rows(case, found, shown, frozenset())
    faults += changes_at_fault(case, _completed(case, found.changes), shown, frozenset())
    if faults:
        raise InputFaults(faults)
    return supposing(case, _completed(case, found.changes), shown, shown)


def _completed(case: Case, changes: Mapping[str, Any]) -> dict[str, Any]:
    """The changes with what an amount in another currency brings along: the currency of its row, and its amounts that are 0."""
    made = dict(changes)
    for address, value in changes.items():
        place, amount = address.rpartition(".")[0], _AMOUNT.match(str(value).strip())
        try:
            present = value_at(case, f"{place}.currency") if amount else None
        except (BadAddress, AttributeError):  # a wrong address is refused with the others
            continue
        if amount and present != amount[1]:
            made.setdefault(f"{place}.currency", amount[1])
    for address, value in list(made.items()):
        place, _, name = address.rpartition(".")
        if name != "currency":
            continue
        try:
            _, record = input_at(case, address)
            renewed = dataclasses.replace(record, **{name: str(value)})
        except (BadAddress, AttributeError):
            continue
        for column in stated_in(type(record), name) if value != record.currency else ():
            declaration = declared(type(record))[column]
            if isinstance(declaration, Number) and getattr(record, column) == 0:
                made.setdefault(f"{place}.{column}", f"0 {unit_of(renewed, declaration.entry)}")
    return made


def _with_rows(case: Case, found: Round, shown: str, unread: Unread) -> tuple[Case, list[Fault]]:
    """The case with the rows that a round drops and adds, not yet held against the others, and the faults of these rows."""
    faults: list[Fault] = []
    held, evidence, units = dict[str, dict[str, Any]](), dict(case.evidence), dict(case.entry_units)
    for column, place in [*(("drop", each) for each in found.drop), *(("add", each) for each in found.add)]:
        table, _, identity = place.partition(".")
        if table not in TABLES_OF_TERMS:
            allowed = f"a row as table.id, of {', '.join(TABLES_OF_TERMS)}{nearest(table, TABLES_OF_TERMS)}"
            faults.append(Fault(shown, None, f"{column}.{place}", f"'{place}'", allowed))
            continue
        rows = held.setdefault(table, dict(held_at(case, table)))
        if column == "drop":
            if identity not in rows and table not in unread:
                allowed = f"a row that there is: {', '.join(rows) or 'none'}{nearest(identity, rows)}"
                faults.append(Fault(shown, None, f"{column}.{place}", f"'{place}'", allowed))
            rows.pop(identity, None)
            evidence.pop(place, None)
            units = {address: unit for address, unit in units.items() if not address.startswith(f"{place}.")}
            continue
        problem = _identity_problem(identity, rows)
        made = read_section(place, dataclasses.replace(tables()[table], file=shown), _stated(case, found, found.add[place]))
        problems = [*([Fault(shown, None, f"add.{place}", *problem)] if problem else []), *made.faults]
        faults += problems
        if not problems:
            rows[identity] = made.records[place]
            evidence |= made.evidence
            units |= made.units
    return dataclasses.replace(with_held(case, held), evidence=evidence, entry_units=units), faults


def _identity_problem(identity: str, rows: Mapping[str, Any]) -> tuple[str, str] | None:
    """Why a row cannot be added under a name."""
    if not IDENTIFIER.fullmatch(identity):
        return f"'{identity}'", "a row as table.id, its id of small letters, digits and _"
    return (f"'{identity}', which is there", "a new id; a row that there is changes by set") if identity in rows else None


def _stated(case: Case, found: Round, columns: Mapping[str, Any]) -> dict[str, Any]:
    """The columns of a row that a round adds, with the round itself as evidence where it names no other."""
    kind = "invented" if case.deal_sections is None or case.evidence["licence"].kind == "invented" else "quote"
    own = Evidence(kind=kind, source=f"round of the deal, {found.title}", date=found.date, by=found.by)
    return {**dataclasses.asdict(own), **columns}
