"""What went out before to a recipient: a file for each edition, in a folder that the user names; without one nothing is kept.

A record holds what an edition was made of, since only that says what two editions give away together: the inputs of the external
view, and which addresses it closed or widened. So a record is as internal as the case: it says so, is closed to other users of the
machine, and is never written into a case. One recipient is checked against its own records alone.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from ...case.addresses import numeric_inputs
from ...case.whole_case import Case
from ...core.faults import Fault, InputFaults
from ...core.whole_files import check_place, write_whole
from .closed_marks import marks_of, shared_view
from .disclosed_slopes import shape_of
from .record import Release
from .stated_numbers import Earlier

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")
NOTE = "Internal. Holds inputs of the case that the edition does not state: keep it where the case is kept, and hand it to nobody."
OWN = 0o077  # of a file's rights: those of others


class Record(BaseModel):
    """An edition that went out to a recipient, and the inputs that it was made of, in base units."""

    model_config = ConfigDict(extra="forbid", strict=True)

    note: str
    recipient: str
    made_on: str
    edition: Literal["licensee", "investor"]
    release: str
    rows: str
    marks: list[str]
    widened: list[str]
    inputs: dict[str, float]


@dataclass(frozen=True)
class Recipient:
    """For whom an edition is made, and the folder in which the user keeps what went out."""

    name: str
    folder: Path

    def __post_init__(self):
        if not NAME.fullmatch(self.name):
            allowed = "letters, digits, - and _, at most 60, as partner_a; one recipient always under the same name"
            raise InputFaults([Fault("--recipient", None, None, f"'{self.name}'", allowed)])

    @property
    def place(self) -> Path:
        """Where the records of this recipient are."""
        return self.folder / self.name

    def records(self) -> dict[str, Record]:
        """The records by file name, oldest first. Raises InputFaults with every file that is none, OSError."""
        found, faults = {}, []
        for path in sorted(self.place.glob("*.json")) if self.place.exists() else ():
            try:
                record = Record.model_validate_json(path.read_bytes())
            except ValidationError as problem:
                first = problem.errors()[0]
                where = ".".join(str(part) for part in first["loc"]) or None
                allowed = "a record as `costmodel release --recipient` writes it, unchanged"
                faults.append(Fault(str(path), None, where, f"no record ({first['msg']})", allowed))
                continue
            if record.recipient != self.name:
                faults.append(Fault(str(path), None, "recipient", f"'{record.recipient}'", f"records of {self.name} alone"))
            found[path.name] = record
        if faults:
            raise InputFaults(faults)
        return found

    def earlier(self, case: Case) -> tuple[tuple[Earlier, ...], list[str]]:
        """The editions that went out before, against the case of today; and what cannot be compared, in words."""
        view = shared_view(case)
        now, rows = _inputs(view), shape_of(view)
        found: list[Earlier] = []
        notes: list[str] = []
        for file, record in self.records().items():
            then = record.inputs
            name = f"the edition of {record.made_on} ({record.release})"
            lost = sum(address not in now or (now[address] == 0.0 and value != 0.0) for address, value in then.items())
            if record.rows != rows or lost:
                notes.append(
                    f"{file}: made of other rows than the case has now; what it gave away of these is not counted ({lost} inputs)"
                )
            times = tuple((a, then[a] / value) for a, value in now.items() if value and a in then and then[a] != value)
            found.append(Earlier(name, record.edition, tuple(record.marks), tuple(record.widened), times))
        return tuple(dict.fromkeys(found)), notes

    @contextmanager
    def recorded(self, case: Case, release: Release, widened: tuple[str, ...] = ()) -> Iterator[Path]:
        """Keep the record of an edition before it is made; where making it fails the record is taken back. Raises OSError."""
        path = self.place / f"{release.made_on}_{release.edition}_{release.fingerprint}.json"
        new = not path.exists()
        if new:
            self._write(path, case, release, widened)
        try:
            yield path
        except BaseException:
            if new:
                path.unlink(missing_ok=True)
            raise

    def _write(self, path: Path, case: Case, release: Release, widened: tuple[str, ...]) -> None:
        view, edition = shared_view(case), release.edition
        own = [row.address for row in case.widened.values() if row.edition == edition]
        record = Record(
            note=NOTE, recipient=self.name, made_on=release.made_on, edition=edition,  # type: ignore[arg-type]
            release=release.fingerprint, rows=shape_of(view), marks=marks_of(case, edition), widened=[*own, *widened],
            inputs=_inputs(view),
        )  # fmt: skip
        check_place(path)
        before = os.umask(OWN)
        try:
            write_whole(path, (json.dumps(record.model_dump(), indent=1) + "\n").encode())
        finally:
            os.umask(before)


def _inputs(view: Case) -> dict[str, float]:
    return {address: float(value) for address, value, *_ in numeric_inputs(view) if not address.startswith("constants.")}
