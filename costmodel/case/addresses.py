"""One address system: `tools.laminator.price` is the same input in tables, ranges, scenarios, commands and charts."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from ..core.faults import nearest
from ..core.fields import Number, Text, declared, unit_of, walk
from ..core.operations import Value
from .line_records import Constants
from .whole_case import Case, held_at, rows_of, tables, with_held

MOST_TOLD = 12  # names in a message, of tables or of the rows of one


class BadAddress(ValueError):
    """An address that no input of the case has; `allowed` names what may stand there, `table` where an id was looked for."""

    def __init__(self, address: str, allowed: str, table: str = ""):
        self.address, self.allowed, self.table = address, allowed, table
        super().__init__(f"no input has the address '{address}'; allowed: {allowed}")


def _without_table(parts: list[str], known: Mapping[str, object]) -> str:
    """What is allowed where an address begins with no table: without its first part, if a table follows; else the nearest one.

    >>> _without_table(["plan", "refurbishments", "coater"], {"refurbishments": 0, "loan": 0})
    "an address that begins with a table; did you mean 'refurbishments.coater'?"
    """
    for k, part in enumerate(parts[1:], start=1):
        if part in known:
            return f"an address that begins with a table; did you mean '{'.'.join(parts[k:])}'?"
    hint = nearest(parts[0], known) or f": {', '.join(list(known)[:MOST_TOLD])}, ..."
    return f"an address that begins with a table or section, as `guide dictionary` lists them{hint}"


def input_at(case: Case, address: str) -> tuple[Number | Text, Any]:
    """The declaration of the input at an address, and the record that holds it.

    Raises BadAddress.
    """
    parts = address.split(".")
    known = tables()
    if parts[0] not in known:
        raise BadAddress(address, _without_table(parts, known))
    record = held_at(case, parts[0])
    if record is None:
        raise BadAddress(address, f"an address of a case that has {known[parts[0]].file}", parts[0])
    if not known[parts[0]].section:
        if len(parts) < 2 or parts[1] not in record:
            tried = parts[1] if len(parts) > 1 else ""
            hint = nearest(tried, record) or f": {', '.join(list(record)[:MOST_TOLD])}{', ...' if len(record) > MOST_TOLD else ''}"
            raise BadAddress(address, f"an id of {known[parts[0]].file} after '{parts[0]}.'{hint}", parts[0])
        record, parts = record[parts[1]], parts[1:]
    fields = declared(type(record))
    if len(parts) != 2 or parts[1] not in fields:
        tried = parts[1] if len(parts) > 1 else ""
        raise BadAddress(address, f"one field: {', '.join(fields)}{nearest(tried, fields)}")
    if getattr(record, parts[1], "") is None:
        raise BadAddress(address, "an input that the case states; it leaves this one out")
    return fields[parts[1]], record


def allowed_units(declaration: Number, record: Any, money: str) -> tuple[str, str]:
    """The units that a number may be stated in: that of its table, and that of the model, as EUR and EUR/tool."""
    return unit_of(record, declaration.entry, money), unit_of(record, declaration.unit, money)


def value_at(case: Case, address: str) -> Value:
    """The value of an input, a number in base units or a text.

    >>> from costmodel.case.load import load_case
    >>> value_at(load_case("inputs_demo/facade"), "product.length")
    1.2
    """
    _, record = input_at(case, address)
    return getattr(record, address.split(".")[-1])


def replaced(case: Case, values: Mapping[str, Value]) -> Case:
    """A copy of the case with other values at some addresses, unchecked: `changes.with_values` is the door for users."""
    by_record: dict[tuple[str, ...], dict[str, Value]] = {}
    for address, value in values.items():
        *place, name = address.split(".")
        by_record.setdefault(tuple(place), {})[name] = value
    new: dict[str, Any] = {}
    for (table, *identity), changed in by_record.items():
        if not identity:
            new[table] = dataclasses.replace(held_at(case, table), **changed)
        else:
            rows = new.setdefault(table, dict(held_at(case, table)))
            rows[identity[0]] = dataclasses.replace(rows[identity[0]], **changed)
    return with_held(case, new)


def numeric_inputs(case: Case, of: Sequence[str] | None = None) -> Iterator[tuple[str, Value, str, str]]:
    """Every number the model reads: address, value in base units, unit, meaning; the constants among them.

    With `of`, those of some tables only.
    """
    if of is None:
        yield from walk(case.constants, "constants", Number, case.currency)
    for name, table in tables().items():
        if not table.in_model or (of is not None and name not in of):
            continue
        for identity, record in rows_of(case, name).items():
            yield from walk(record, f"{name}.{identity}" if identity else name, Number, case.currency)


def map_inputs(case: Case, change: Callable[[str, Value, str], Value]) -> Case:
    """A copy of the case with every number the model reads replaced by `change(address, value, unit)`."""
    values = {address: change(address, value, unit) for address, value, unit, _ in numeric_inputs(case)}
    constants = {a.split(".")[1]: v for a, v in values.items() if a.startswith("constants.")}
    rest = {a: v for a, v in values.items() if not a.startswith("constants.")}
    return dataclasses.replace(replaced(case, rest), constants=Constants(**constants))
