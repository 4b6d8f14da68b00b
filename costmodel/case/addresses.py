"""One address system: `tools.laminator.price` is the same input in tables, ranges, scenarios, commands and charts."""
from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from ..faults import Fault, InputFaults, nearest
from ..fields import Number, Text, declared, unit_of, walk
from ..operations import Value
from ..units import same_kind
from .records import Case, Constants, tables
from .values import BadValue, check_number, check_text, parse_value


class BadAddress(ValueError):
    """An address that no input of the case has; `allowed` names what may stand there."""

    def __init__(self, address: str, allowed: str):
        self.address, self.allowed = address, allowed
        super().__init__(f"no input has the address '{address}'; allowed: {allowed}")


def input_at(case: Case, address: str) -> tuple[Number | Text, Any]:
    """The declaration of the input at an address, and the record that holds it.

    Raises BadAddress.
    """
    parts = address.split(".")
    known = tables()
    if parts[0] not in known:
        raise BadAddress(address, f"an address that begins with {', '.join(known)}{nearest(parts[0], known)}")
    record = getattr(case, parts[0])
    if not known[parts[0]].section:
        if len(parts) < 2 or parts[1] not in record:
            tried = parts[1] if len(parts) > 1 else ""
            raise BadAddress(address, f"an id of {known[parts[0]].file} after '{parts[0]}.'{nearest(tried, record)}")
        record, parts = record[parts[1]], parts[1:]
    fields = declared(type(record))
    if len(parts) != 2 or parts[1] not in fields:
        tried = parts[1] if len(parts) > 1 else ""
        raise BadAddress(address, f"one field: {', '.join(fields)}{nearest(tried, fields)}")
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


def with_values(case: Case, values: Mapping[str, Value]) -> Case:
    """A copy of the case with other values at some addresses; numbers in base units, arrays of draws allowed.

    Raises InputFaults naming every address that does not exist and every value out of range.
    """
    faults: list[Fault] = []
    for address, value in values.items():
        try:
            declaration, _ = input_at(case, address)
            if isinstance(declaration, Number):
                check_number(declaration, value, case.entry_units[address])
            else:
                check_text(declaration, value)
        except BadAddress as problem:
            faults.append(Fault("changes", None, address, "an unknown address", problem.allowed))
        except BadValue as problem:
            faults.append(Fault("changes", None, address, problem.found, problem.allowed))
    if faults:
        raise InputFaults(faults)
    return _replaced(case, values)


def _replaced(case: Case, values: Mapping[str, Value]) -> Case:
    by_record: dict[tuple[str, ...], dict[str, Value]] = {}
    for address, value in values.items():
        *place, name = address.split(".")
        by_record.setdefault(tuple(place), {})[name] = value
    new: dict[str, Any] = {}
    for place, changed in by_record.items():
        table = place[0]
        if len(place) == 1:
            new[table] = dataclasses.replace(getattr(case, table), **changed)
        else:
            rows = new.setdefault(table, dict(getattr(case, table)))
            rows[place[1]] = dataclasses.replace(rows[place[1]], **changed)
    return dataclasses.replace(case, **new)


def _refuse_another_unit(record: Any, name: str, value: str, money: str) -> None:
    """Refuse a text that would leave a number of its row standing in a unit of another kind, as 9 MW turned into m2."""
    changed = dataclasses.replace(record, **{name: value})
    for column, declaration in declared(type(record)).items():
        if isinstance(declaration, Number):
            old, new = (unit_of(each, declaration.unit, money) for each in (record, changed))
            if not same_kind(old, new):
                raise BadValue(f"'{value}', which would turn '{column}' from {old} into {new}",
                               "a text that keeps that unit; for another one, change the table")


def parse_changes(case: Case, written: Mapping[str, Any], origin: str) -> dict[str, Value]:
    """The values of changes such as `{"tools.saw.price": "400000 EUR"}`; a bare number is in the table's own unit.

    Raises InputFaults with `origin` as the place of every fault.
    """
    faults: list[Fault] = []
    values: dict[str, Value] = {}
    for address, value in written.items():
        try:
            declaration, record = input_at(case, address)
            if isinstance(declaration, Text):
                check_text(declaration, str(value))
                _refuse_another_unit(record, address.split(".")[-1], str(value), case.currency)
                values[address] = str(value)
            else:
                values[address] = parse_value(declaration, str(value), case.entry_units[address],
                                              allowed_units(declaration, record, case.currency))
        except BadAddress as problem:
            faults.append(Fault(origin, None, address, "an unknown address", problem.allowed))
        except BadValue as problem:
            faults.append(Fault(origin, None, address, problem.found, problem.allowed))
    if faults:
        raise InputFaults(faults)
    return values


def numeric_inputs(case: Case) -> Iterator[tuple[str, Value, str, str]]:
    """Every number the model reads: address, value in base units, unit, meaning; the constants among them."""
    yield from walk(case.constants, "constants", Number, case.currency)
    for name, table in tables().items():
        if not table.in_model:
            continue
        rows = {"": getattr(case, name)} if table.section else getattr(case, name)
        for identity, record in rows.items():
            yield from walk(record, f"{name}.{identity}" if identity else name, Number, case.currency)


def map_inputs(case: Case, change: Callable[[str, Value, str], Value]) -> Case:
    """A copy of the case with every number the model reads replaced by `change(address, value, unit)`."""
    values = {address: change(address, value, unit) for address, value, unit, _ in numeric_inputs(case)}
    constants = {a.split(".")[1]: v for a, v in values.items() if a.startswith("constants.")}
    rest = {a: v for a, v in values.items() if not a.startswith("constants.")}
    return dataclasses.replace(_replaced(case, rest), constants=Constants(**constants))
