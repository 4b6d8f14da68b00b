"""One check and one conversion for every input value, whether it comes from a table, a scenario, a slider or a draw."""

from __future__ import annotations

import contextlib
import math
import re
from datetime import date

import numpy as np

from ..core.faults import HIDDEN, nearest
from ..core.fields import LEAST_SENSE, Number, Text, most_of_sense
from ..core.operations import Value
from ..core.units import UnitError, same_kind, to_base, unit
from .dialects import without_digit_groups

_YEAR = re.compile(r"(19[89]|20[0-9])[0-9]")
_DATE = re.compile(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?")
COUNTS = "a whole number from 1 to 60"
DATES = "a date as YYYY-MM-DD, YYYY-MM or YYYY"
_COUNT = re.compile(r"[1-9]|[1-5][0-9]|60")
_PLAIN_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:(?: [0-9]{3})+|(?:\.[0-9]{3}){2,})(?:[.,][0-9]+)?")  # as 1 480 000 and 1.480.000
_JOINED_UNIT = re.compile(r"([-+]?\d+(?:\.\d+)?)((?![xX]\d)[A-Za-z]\w*(?:/\w+)*)")  # as 2MWp


LONGEST_TEXT = 4_000  # characters of a cell


class BadValue(ValueError):
    """A value that an input refuses: `found` says what it was, `allowed` what may stand there."""

    def __init__(self, found: str, allowed: str):
        self.found, self.allowed = found, allowed
        super().__init__(f"found {found}; allowed: {allowed}")


def parse_number(written: str, decimal: str = ".") -> float:
    """The number that a text states with the given decimal sign; thin or no-break spaces may part its thousands.

    Raises BadValue for anything else, `nan` and `inf` among them.

    >>> parse_number("1.5e3"), parse_number("12,5", ",")
    (1500.0, 12.5)
    """
    if not written.strip():
        raise BadValue("nothing", "a number (a missing value is not zero)")
    figures = without_digit_groups(written.strip())
    if decimal == ",":
        figures = figures.replace(".", "?").replace(",", ".")
    if not _PLAIN_NUMBER.fullmatch(figures) or not math.isfinite(float(figures)):
        commas = ", without commas" if decimal == "." and "," in written else ""
        joined = _JOINED_UNIT.fullmatch(figures)
        marks = ", without spaces or points between thousands" if _GROUPED.fullmatch(written.strip()) else ""
        space = f"; a space is missing: '{joined[1]} {joined[2]}'" if joined else ""
        raise BadValue(f"'{written}'", f"a number, as 12{decimal}5{commas}{marks}{space}")
    return float(figures)


def parse_cell(written: str, decimal: str, unit_text: str) -> tuple[float, str]:
    """The number in a cell of a column in `unit_text`, and its unit: `97 %` may stand in a column in % or in 1.

    Raises BadValue.

    >>> parse_cell("97 %", ".", "1"), parse_cell("97,5", ",", "%")
    ((97.0, '%'), (97.5, '%'))
    """
    if written.endswith("%") and unit_text in ("%", "1"):
        try:
            return parse_number(written[:-1].rstrip(), decimal), "%"
        except BadValue as problem:
            raise BadValue(f"'{written}'", problem.allowed) from None
    try:
        return parse_number(written, decimal), unit_text
    except BadValue as problem:
        if not written.endswith("%"):
            raise
        raise BadValue(problem.found, f"{problem.allowed}, without %: the column is in {unit_text}") from None


def check_number(declared: Number, value: Value, shown_in: str) -> None:
    """Refuse a value in base units, or an array with any such value, that is not finite or out of range.

    Arrays are checked by their least and greatest value. `shown_in` is the unit in which the message speaks.
    Raises BadValue.
    """
    edges = (value,) if type(value) is float else (float(np.min(value)), float(np.max(value)))
    for edge in edges:
        fine = math.isfinite(edge)
        fine = fine and (declared.low is None or edge >= declared.low - 1e-12 * abs(declared.low))
        fine = fine and (declared.high is None or edge <= declared.high + 1e-12 * abs(declared.high))
        fine = fine and (declared.above is None or edge > declared.above)
        if not fine:
            raise BadValue(f"{edge / to_base(shown_in):.6g} {shown_in}", allowed_range(declared, shown_in))
        if abs(edge) > most_of_sense(declared.unit) or 0.0 < abs(edge) < LEAST_SENSE:
            raise BadValue(f"{edge / to_base(shown_in):.6g} {shown_in}", _range_of_sense(declared, shown_in))


def check_whole(declared: Number, value: float, shown_in: str) -> None:
    """Refuse a stated value that is no whole number where one is wanted. Raises BadValue.

    >>> from costmodel.case.line_records import Cells
    >>> from costmodel.core.fields import declared
    >>> check_whole(declared(Cells)["cell_count"], 44.0, "1")
    """
    if declared.whole and value != round(value):
        raise BadValue(f"{value:.9g}", allowed_range(declared, shown_in))


def first_day(written: str) -> date | None:
    """The day that a date as ISO 8601 writes it states, of a month or a year its first; None for any other text.

    >>> first_day("2026-11-02"), first_day("2026-11"), first_day("11/02/2026")
    (datetime.date(2026, 11, 2), datetime.date(2026, 11, 1), None)
    """
    if not _DATE.fullmatch(written):
        return None
    with contextlib.suppress(ValueError):
        return date.fromisoformat(f"{written}-01-01"[:10])
    return None


def allowed_range(declared: Number, shown_in: str) -> str:
    """The range of an input in words, in the given unit.

    >>> from costmodel.case.line_records import Step
    >>> from costmodel.core.fields import declared
    >>> allowed_range(declared(Step)["rework_share"], "%")
    'a number from 0 to 100 [%]'
    """

    def show(bound: float) -> str:
        """A bound in the unit in which it is shown."""
        return f"{bound / to_base(shown_in):.6g}"

    words = []
    if declared.above is not None:
        words.append(f"above {show(declared.above)}")
    elif declared.low is not None:
        words.append(f"from {show(declared.low)}")
    if declared.high is not None:
        words.append(f"to {show(declared.high)}")
    kind = "a whole number" if declared.whole else "a number"
    return f"{kind} {' '.join(words)} [{shown_in}]".replace("number  [", "number [")


def _range_of_sense(declared: Number, shown_in: str) -> str:
    """The amounts that an input may have in this trade at all, in words."""
    least, most = (amount / to_base(shown_in) for amount in (LEAST_SENSE, most_of_sense(declared.unit)))
    return f"nought, or an amount from {least:.3g} to {most:.3g} [{shown_in}]; any other is a slip"


def parse_value(declared: Number, written: str, default_unit: str, allowed_units: tuple[str, ...]) -> float:
    """The value in base units of a text such as `12 min`; a bare number is in the default unit.

    The unit must convert into one of `allowed_units`: an input for each tool may be stated in EUR or in EUR/tool.
    Raises BadValue.
    """
    number, _, unit_text = written.strip().partition(" ")
    if number.endswith("%") and not unit_text:
        number, unit_text = number[:-1], "%"
    unit_text = unit_text.strip() or default_unit
    try:
        if not unit_text:
            raise UnitError("no unit")
        if not any(same_kind(unit_text, wanted) for wanted in allowed_units):
            raise UnitError(f"unit '{unit_text}' does not convert into '{allowed_units[0]}'")
    except UnitError as problem:
        allowed = f"a number in a unit such as {default_unit or allowed_units[0]}"
        raise BadValue(f"'{written}' ({problem})", allowed + _hint(number, unit_text, allowed_units)) from None
    value = parse_number(number) * to_base(unit_text)
    check_number(declared, value, unit_text)
    check_whole(declared, value, unit_text)
    return value


def _hint(number: str, unit_text: str, allowed_units: tuple[str, ...]) -> str:
    """What may have been meant by a number in a unit that does not fit."""
    if any(character.isdigit() for character in unit_text.partition(" ")[0]) or "million" in unit_text:
        return "; the number in one piece, as 1500000"
    with contextlib.suppress(UnitError):
        yearly = f"{unit_text}/year"
        if any(same_kind(yearly, wanted) for wanted in allowed_units):
            return f"; did you mean '{number} {yearly}'?"
    return ""


def check_text(declared: Text, written: str) -> None:
    """Refuse a text that is empty, is none of the options, or is no unit, year or date where one is wanted. Raises BadValue."""
    if not written:
        if declared.optional and not declared.refers_to:
            return
        raise BadValue("nothing", declared.meaning)
    if hidden := [each for each in HIDDEN.findall(written) if each not in "\x85\u2028\u2029"]:
        raise BadValue(f"'{written}'", f"a text without characters that do not show, as {hidden[0]!a}")
    if len(written) > LONGEST_TEXT:
        raise BadValue(f"'{written}'", f"a text of at most {LONGEST_TEXT} characters")
    if declared.options and written not in declared.options:
        raise BadValue(f"'{written}'", "one of " + ", ".join(declared.options) + nearest(written, declared.options))
    if declared.is_year and not _YEAR.fullmatch(written):
        raise BadValue(f"'{written}'", "a year, as 2026")
    if declared.is_date and first_day(written) is None:
        raise BadValue(f"'{written}'", f"{DATES}, as {declared.example}")
    if declared.is_count and not _COUNT.fullmatch(written):
        raise BadValue(f"'{written}'", COUNTS)
    if declared.is_unit and not declared.options:
        try:
            unit(written)
        except UnitError as problem:
            raise BadValue(f"'{written}' ({problem})", f"{declared.meaning}, as {declared.example}") from None
