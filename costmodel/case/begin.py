"""The folder of a first case: a copy of the demo, or a line of one step made from the examples of the schema."""

from __future__ import annotations

import csv
import errno
import shutil
import uuid
from datetime import date
from pathlib import Path

import yaml

from ..core.whole_files import WrongPlace, case_around
from .demo import demo_folder
from .dictionary import Entry, entries
from .whole_case import tables

# the one row of each table of a bare case, named as the examples of other tables name it
FIRST_ROWS = {
    "money": "eur",
    "steps": "lamination",
    "tools": "laminator",
    "areas": "clean",
    "materials": "lamination_foil",
    "prices": "encapsulant",
    "utilities": "electricity",
    "tool_utilities": "laminator_electricity",
    "crew": "operator",
}
_STORY = (
    "Each figure is the example that the data dictionary gives for its column. Put your own in its place, then add rows and tables."
)


def begin_case(folder: Path, bare: bool = False) -> None:
    """Make a case in a new folder, whole or not at all: a copy of the demo, or with `bare` a line of one step.

    Raises FileExistsError where the folder is there already, and OSError where none can be made.
    """
    if folder.exists():
        raise FileExistsError(f"{folder} is there already")
    if (case := case_around(folder)) is not None:
        raise WrongPlace(errno.EACCES, f"it would be in the folder of the case {case.name}", str(folder))
    folder.parent.mkdir(parents=True, exist_ok=True)
    draft = folder.parent / f".{folder.name}_{uuid.uuid4().hex}.part"
    try:
        if bare:
            draft.mkdir()
            _write_bare(draft)
        else:
            shutil.copytree(demo_folder(), draft)
        draft.rename(folder)
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def _write_bare(folder: Path) -> None:
    """Write the tables of `FIRST_ROWS` and case.yaml, every value the example of the schema but the rate of the one currency."""
    origin = {
        "kind": "invented",
        "source": "example of the data dictionary",
        "date": date.today().isoformat(),
        "by": "costmodel new --bare",
    }
    by_file: dict[str, list[Entry]] = {}
    for entry in entries():
        by_file.setdefault(entry.file, []).append(entry)
    document: dict[str, object] = {"title": "A line of one step", "story": _STORY, "currency": FIRST_ROWS["money"].upper()}
    for name, table in tables().items():
        if table.section and table.optional:
            continue
        columns = by_file[f"{table.file}, {table.section}" if table.section else table.file]
        values = {entry.column: entry.example for entry in columns} | origin
        if name == "money":
            values |= {"exchange_rate": "1", "change": "0"}  # of the reporting currency into itself
        if table.section:
            document[name] = {e.column: values[e.column] + (f" {e.unit}" if e.unit not in ("", "1") else "") for e in columns}
        elif name in FIRST_ROWS:
            with open(folder / table.file, "x", encoding="utf-8", newline="") as file:
                writer = csv.writer(file, lineterminator="\n")
                writer.writerow([f"{entry.column} [{entry.unit}]" if entry.unit else entry.column for entry in columns])
                writer.writerow([(values | {"id": FIRST_ROWS[name]})[entry.column] for entry in columns])
    text = yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=110)
    (folder / "case.yaml").write_text(text, encoding="utf-8")
