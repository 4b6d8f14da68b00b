"""What is wrong with a case: every fault says where it is, what was found, what is allowed and the nearest valid name."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from .renamed import new_name

# control characters but for the end of a line and a tab; marks of direction; halves of characters; what shows as nothing
HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ud800-\udfff\ufeff]")
LONGEST = 400  # characters of what was found that a message shows


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


def visible(text: str) -> str:
    """A text whose control characters, and marks that turn the direction of writing, are shown and do nothing.

    >>> print(visible("a \x1b[2J\u202e b"))
    a \\x1b[2J\\u202e b
    """
    return HIDDEN.sub(lambda found: ascii(found.group())[1:-1], text)


def shortened(text: str) -> str:
    """A text of which no more than its beginning and its end is shown.

    >>> shortened("'" + 40_000 * "x" + "'")[-32:]
    "xxxxx' (40002 characters in all)"
    """
    if len(text) <= LONGEST:
        return text
    return f"{text[: LONGEST // 2]} ... {text[-LONGEST // 4 :]} ({len(text)} characters in all)"


@dataclass(frozen=True, slots=True)
class Fault:
    """One mistake in the inputs: its place, what was found there and what is allowed."""

    file: str
    row: int | None
    column: str | None
    found: str
    allowed: str

    def __str__(self) -> str:
        place = shortened(self.file)
        if self.row is not None:
            place += f", row {self.row}"
        if self.column is not None:
            of_table = self.file.endswith(".csv") or ".xlsx, sheet " in self.file
            place += f", {'column ' if of_table else ''}'{shortened(self.column)}'"
        return f"{visible(place)}: found {visible(shortened(self.found))}; allowed: {visible(self.allowed)}"


class InputFaults(Exception):
    """All the faults of a case at once; nothing is computed and nothing is written."""

    def __init__(self, faults: Iterable[Fault]):
        self.faults = tuple(faults)
        many = len(self.faults)
        super().__init__(f"{many} fault{'s' if many != 1 else ''} in the inputs\n" + "\n".join(str(f) for f in self.faults))

    def __reduce__(self) -> tuple[type[InputFaults], tuple[tuple[Fault, ...]]]:
        return InputFaults, (self.faults,)  # a process may raise it for another


class DividesByNought(ZeroDivisionError):
    """Inputs that leave a divisor of nought: a plant that needs less than a billionth of a tool has none, and nothing for each.

    `case` is the case; `model.readings.noughts` names the inputs behind the divisor.
    """

    def __init__(self, case: Any) -> None:
        super().__init__("inputs for which the model divides by nought")
        self.case = case
