"""What is wrong with a case: every fault says where it is, what was found, what is allowed and the nearest valid name."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from .renamed import new_name


def nearest(name: str, valid: Iterable[str]) -> str:
    """The words `; did you mean 'x'?` for the valid name nearest to `name`, or nothing; of an old name, what it is called now.

    >>> nearest("silan", ["silane", "silver"]), nearest("own_time", ["title", "process_time"])
    ("; did you mean 'silane'?", "; 'own_time' is now called 'process_time'")
    """
    known = list(valid)
    if new := new_name(str(name), known):
        return f"; '{name}' is now called '{new}'"
    found = difflib.get_close_matches(str(name), known, n=1, cutoff=0.6)
    return f"; did you mean '{found[0]}'?" if found else ""


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in the inputs: its place, what was found there and what is allowed."""

    file: str
    row: int | None
    column: str | None
    found: str
    allowed: str

    def __str__(self) -> str:
        place = self.file
        if self.row is not None:
            place += f", row {self.row}"
        if self.column is not None:
            place += f", {'column ' if self.file.endswith('.csv') or '.xlsx, sheet ' in self.file else ''}'{self.column}'"
        return f"{place}: found {self.found}; allowed: {self.allowed}"


class InputFaults(Exception):
    """All the faults of a case at once; nothing is computed and nothing is written."""

    def __init__(self, faults: Iterable[Fault]):
        self.faults = tuple(faults)
        many = len(self.faults)
        super().__init__(f"{many} fault{'s' if many != 1 else ''} in the inputs\n" + "\n".join(str(f) for f in self.faults))
