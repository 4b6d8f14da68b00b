"""Rounds of a negotiation: versions of the deal, each a small YAML file with what it changes of the round before."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..core.faults import Fault, InputFaults
from .changes import supposing
from .files import document_faults, read_yaml
from .whole_case import Case

FOLDER = "rounds"


class Round(BaseModel):
    """A round as its file states it: who offers what, on which day, until when it holds."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    by: Literal["licensor", "licensee"]
    date: str
    valid_until: str
    story: str
    changes: dict[str, str | int | float] = Field(alias="set", default={})

    def holds_on(self, day: str) -> bool:
        """Whether the offer is still valid on a day, as 2026-11-25."""
        return self.valid_until >= day


def round_names(folder: str | Path) -> list[str]:
    """The names of the rounds of a case folder, in their order: that of their file names.

    >>> round_names("inputs_demo/facade")
    ['1_offer', '2_answer', '3_offer']
    """
    return sorted(path.stem for path in (Path(folder) / FOLDER).glob("*.yaml"))


def read_round(folder: str | Path, name: str) -> Round:
    """Read a round by its name. Raises InputFaults."""
    shown = f"{FOLDER}/{name}.yaml"
    try:
        found = Round.model_validate(read_yaml(Path(folder) / FOLDER / f"{name}.yaml", shown))
    except ValidationError as problem:
        allowed = ("title", "by", "date", "valid_until", "story", "set")
        raise InputFaults(document_faults(shown, problem, dict.fromkeys(allowed))) from None
    faults = [
        Fault(shown, None, column, f"'{day}'", "a day, as 2026-11-25")
        for column, day in (("date", found.date), ("valid_until", found.valid_until))
        if not _is_a_day(day)
    ]
    if not faults and found.valid_until < found.date:
        faults.append(Fault(shown, None, "valid_until", found.valid_until, f"a day from {found.date} on"))
    if faults:
        raise InputFaults(faults)
    return found


def _is_a_day(text: str) -> bool:
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def cases_by_round(folder: str | Path, case: Case) -> Iterator[tuple[str, Round, Case]]:
    """Each round with the case as it then stands; changes add up from round to round. Raises InputFaults."""
    for name in round_names(folder):
        found = read_round(folder, name)
        shown = f"{FOLDER}/{name}.yaml"
        case = supposing(case, found.changes, shown, shown)
        yield name, found, case
