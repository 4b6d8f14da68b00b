"""Declared fields: the unit, meaning and allowed range of every input and every figure stand at the record that holds it.

The loader, its messages, the data dictionary, the unit test and the labels of reports all read these declarations.
A unit text may hold names in braces, filled from text fields of the same record: a price has the unit `{currency}/{unit}`.
`money` stands for the reporting currency of the case.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from .operations import Value

Reasons = Mapping[int, str] | Mapping[float, str]  # what the numbers of a status stand for

_DECLARED = "declared"
STATUS = "_status"  # ends the address of the figure that says whether the figure before it has a value
YEAR = 31_536_000.0  # s, the year of core/units.txt, in which ranges of yearly rates are stated


# What no input of this trade comes near, in base units, by the unit or the first unit of a quotient; from memory
SENSE = {
    "1": 1e9, "s": 1e11, "1/s": 1e3, "m": 1e5, "m2": 1e9, "K": 1e5, "crew": 1e6, "person": 1e9, "tool": 1e6, "plate": 1e9,
    "load": 1e9, "kg": 1e9, "mol": 1e9, "W": 1e9, "money": 1e9,
    "{unit}": 1e20, "{basis}": 1e20, "{per}": 1e20,  # may be joules
}  # fmt: skip
OTHER_SENSE = 1e15  # money, power and energy
LEAST_SENSE = 1e-25  # nearer to nought than that is a slip of the exponent


@cache
def most_of_sense(unit: str) -> float:
    """The amount in base units above which, or below the same with a minus sign, an input in this unit makes no sense.

    >>> most_of_sense("s"), most_of_sense("plate/load"), most_of_sense("{currency}/tool")
    (100000000000.0, 1000000000.0, 1000000000000000.0)
    """
    return SENSE.get(unit, SENSE.get(re.split(r"[*/]", unit)[0], OTHER_SENSE))


@dataclass(frozen=True, slots=True)
class Number:
    """A numeric input: `unit` inside the model, `entry` as tables state it, range in base units."""

    unit: str
    meaning: str
    entry: str
    low: float | None
    high: float | None
    above: float | None
    example: str
    optional: bool = False  # a section or a table may leave it out; then it is None, and no input of the case
    whole: bool = False  # stated as a whole number; a study may still try what lies between


@dataclass(frozen=True, slots=True)
class Text:
    """A text input: free (`title`), one of `options`, or the id of a row in the table `refers_to`, or the word `or_else`."""

    meaning: str
    example: str
    options: tuple[str, ...] = ()
    refers_to: str = ""
    or_else: str = ""
    is_unit: bool = False
    is_year: bool = False
    is_count: bool = False
    is_date: bool = False
    optional: bool = False  # a table or row may leave it out; then it is no text


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure the model returns: its unit and meaning. A status has `reasons` why the figure before it has no value, by number."""

    unit: str
    meaning: str
    reasons: tuple[tuple[float, str], ...] = ()


def number(
    unit: str,
    meaning: str,
    *,
    example: str,
    entry: str = "",
    low: float | None = 0.0,
    high: float | None = None,
    above: float | None = None,
) -> Any:
    """Declare a numeric input. `low <= value <= high` and `value > above`, all in base units; `entry` defaults to `unit`."""
    declared = Number(unit, meaning, entry or unit, low, high, above, example)
    return dataclasses.field(metadata={_DECLARED: declared})


def whole_number(meaning: str, *, example: str, low: float) -> Any:
    """Declare a numeric input that is stated as a whole number, as what is counted in pieces."""
    return dataclasses.field(metadata={_DECLARED: Number("1", meaning, "1", low, None, None, example, whole=True)})


def share(meaning: str, *, example: str, unit: str = "1", above: float | None = None, optional: bool = False) -> Any:
    """Declare a numeric input between 0 and 1, which tables usually state in %; one of a section may be optional."""
    declared = Number(unit, meaning, "1", 0.0, 1.0, above, example, optional)
    return dataclasses.field(metadata={_DECLARED: declared})


def text(meaning: str, *, example: str) -> Any:
    """Declare a free text."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, example)})


def optional_text(meaning: str, *, example: str) -> Any:
    """Declare a free text that a table or a row may leave out."""
    return dataclasses.field(default="", metadata={_DECLARED: Text(meaning, example, optional=True)})


def choice(meaning: str, *options: str, is_unit: bool = False) -> Any:
    """Declare a text that is one of the given options."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, options[0], options=options, is_unit=is_unit)})


def reference(meaning: str, table: str, *, example: str, or_else: str = "") -> Any:
    """Declare a text that is the id of a row of another table, or the word `or_else` where a row refers to none."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, example, refers_to=table, or_else=or_else)})


def optional_reference(meaning: str, table: str, *, example: str, or_else: str) -> Any:
    """Declare a reference whose column a table may leave out; then each row has the word `or_else`."""
    declared = Text(meaning, example, refers_to=table, or_else=or_else, optional=True)
    return dataclasses.field(default=or_else, metadata={_DECLARED: declared})


def or_else(declaration: Text) -> str:
    """The word that may stand in place of an id, as a message names it.

    >>> or_else(Text("market", "roof", refers_to="markets", or_else="unlimited")), or_else(Text("tool", "saw", refers_to="tools"))
    (", or 'unlimited'", '')
    """
    return f", or '{declaration.or_else}'" if declaration.or_else else ""


def unit_text(meaning: str, *, example: str) -> Any:
    """Declare a text that is a unit, or a currency, in which figures of the same row stand."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, example, is_unit=True)})


def year_text(meaning: str) -> Any:
    """Declare a year. It is structure, chosen before the model runs, as which index applies follows from it."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, "2026", is_year=True)})


def date_text(meaning: str, *, example: str) -> Any:
    """Declare a date as ISO 8601 writes it: a day, a month or a year."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, example, is_date=True)})


def count_text(meaning: str, *, example: str) -> Any:
    """Declare a whole number above 0 that is structure: how many records the model makes follows from it."""
    return dataclasses.field(metadata={_DECLARED: Text(meaning, example, is_count=True)})


def figure(unit: str, meaning: str) -> Any:
    """Declare a result; of a dictionary, every value has the unit."""
    return dataclasses.field(metadata={_DECLARED: Figure(unit, meaning)})


def status(with_value: Reasons, without: Reasons) -> Any:
    """Declare the status of a figure that may have no value: what each number stands for, and in which cases there is no value.

    The status of `payback` is the field `payback_status`; where it is one of `without`, the figure is NaN, for that reason.
    """
    return dataclasses.field(metadata={_DECLARED: Figure("1", status_meaning(with_value, without), tuple(without.items()))})


def status_meaning(with_value: Reasons, without: Reasons) -> str:
    """What the numbers of a status stand for.

    >>> status_meaning({1: "paid back within the plan"}, {0: "not paid back within the plan"})
    '1: paid back within the plan; no value: 0: not paid back within the plan'
    """
    parts = ["; ".join(f"{number:g}: {words}" for number, words in each.items()) for each in (with_value, without)]
    return "; no value: ".join(parts)


def declared(record_type: type) -> dict[str, Any]:
    """The declarations of a record by field name, in order; fields without one hold other records.

    >>> from costmodel.case.line_records import Product
    >>> declared(Product)["length"].unit
    'm'
    """
    return _declared(record_type)  # type: ignore[arg-type]  # mypy takes classes of records for unhashable


@cache
def _declared(record_type: type) -> dict[str, Any]:
    return {f.name: f.metadata[_DECLARED] for f in dataclasses.fields(record_type) if _DECLARED in f.metadata}


def unit_of(record: Any, unit: str, money: str = "") -> str:
    """The unit text with names in braces filled from the record, and `money` by the reporting currency."""
    filled = re.sub(r"\{(\w+)\}", lambda found: getattr(record, found.group(1)), unit) if "{" in unit else unit
    return _in_money(filled, money) if money else filled


@cache
def _in_money(unit: str, money: str) -> str:
    return re.sub(r"\bmoney\b", money, unit)


def walk(record: Any, path: str, kind: type[Number] | type[Figure], money: str = "") -> Iterator[tuple[str, Value, str, str]]:
    """Every declared value of one kind (`Number` or `Figure`) below a record: its address, value, unit and meaning.

    Names come from field names and dictionary keys, so that an address says where the value stands.
    """
    for address, value, unit, declaration in walk_declared(record, path, kind, money):
        yield address, value, unit, declaration.meaning


def walk_declared(
    record: Any, path: str, kind: type[Number] | type[Figure], money: str = ""
) -> list[tuple[str, Value, str, Any]]:
    """The same with the declaration in place of its meaning."""
    found: list[tuple[str, Value, str, Any]] = []
    _walk_below(record, path, (kind, money), found)
    return found


def _walk_below(value: Any, path: str, wanted: tuple[type, str], found: list[tuple[str, Value, str, Any]]) -> None:
    """Add what stands below a record, or below records by name."""
    if isinstance(value, dict):
        for key, below in value.items():
            _walk_below(below, f"{path}.{key}", wanted, found)
        return
    own, others = _parts(type(value), wanted[0])  # type: ignore[arg-type]  # see `declared`
    for name, declaration in own:
        unit = unit_of(value, declaration.unit, wanted[1])
        for address, leaf in _leaves(getattr(value, name), f"{path}.{name}"):
            if leaf is not None:  # an optional input that the case leaves out
                found.append((address, leaf, unit, declaration))
    for name in others:
        _walk_below(getattr(value, name), f"{path}.{name}", wanted, found)


@cache
def _parts(record_type: type, kind: type) -> tuple[list[tuple[str, Any]], list[str]]:
    """The declarations of one kind in a record, and its fields that may hold other records; none of what is no record."""
    if not dataclasses.is_dataclass(record_type):
        return [], []
    own = [(name, declaration) for name, declaration in declared(record_type).items() if isinstance(declaration, kind)]
    return own, [field.name for field in dataclasses.fields(record_type) if _DECLARED not in field.metadata]


def _leaves(value: Value, path: str) -> Iterable[tuple[str, Value]]:
    if not isinstance(value, dict):
        return ((path, value),)
    return [leaf for key, below in value.items() for leaf in _leaves(below, f"{path}.{key}")]


def value_below(record: Any, path: str) -> Value:
    """What stands below a record at an address; a name in it may hold dots.

    >>> value_below({"silane.price": {"low": 1.0}}, "silane.price.low")
    1.0
    """
    if not path:
        return record
    if not isinstance(record, dict):
        name, _, rest = path.partition(".")
        return value_below(getattr(record, name), rest)
    ends = (place for place in (*(k for k, letter in enumerate(path) if letter == "."), len(path)) if path[:place] in record)
    end = next(ends)
    return value_below(record[path[:end]], path[end + 1 :])
