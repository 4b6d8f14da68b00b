"""Changed inputs: the one door by which scenarios, `--set`, sliders and draws put other values into a case."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from ..core.faults import Fault, InputFaults
from ..core.fields import Number, Text, declared, unit_of
from ..core.operations import Value
from .addresses import BadAddress, allowed_units, input_at, replaced
from .checks.frame_checks import Unread, where_read
from .consistency import check_consistency
from .values import BadValue, check_number, check_text, parse_value
from .whole_case import Case, Evidence, tables


def with_values(case: Case, values: Mapping[str, Value], origin: str = "changes") -> Case:
    """A copy of the case with other values at some addresses: numbers in base units, or arrays of draws of one length.

    Checked like any input, one by one and together. A text that numbers of its row stand in, as a currency, changes only
    together with those numbers. Raises InputFaults naming every fault, with `origin` as its place.
    """
    faults: list[Fault] = []
    lengths: dict[int, str] = {}
    for address in values:
        try:
            _check(case, address, values, lengths)
        except BadAddress as problem:
            faults.append(Fault(origin, None, address, "an unknown address", problem.allowed))
        except BadValue as problem:
            faults.append(Fault(origin, None, address, problem.found, problem.allowed))
    if faults:
        raise InputFaults(faults)
    changed = replaced(case, values)
    units = {address: unit for address in values if (unit := _new_entry_unit(case, changed, address))}
    changed = dataclasses.replace(changed, entry_units=case.entry_units | units) if units else changed
    faults = check_consistency(changed, {})
    if faults:
        raise InputFaults(faults)
    return changed


def _new_entry_unit(case: Case, changed: Case, address: str) -> str:
    """The unit in which a number now stands, when a text of its row has changed it; nothing where it has not."""
    declaration, old = input_at(case, address)
    _, new = input_at(changed, address)
    if isinstance(declaration, Text) or unit_of(old, declaration.entry) == unit_of(new, declaration.entry):
        return ""
    return unit_of(new, declaration.entry)


def _check(case: Case, address: str, values: Mapping[str, Value], lengths: dict[int, str]) -> None:
    """Refuse a value of the wrong kind, length or range."""
    declaration, record = input_at(case, address)
    value = values[address]
    if isinstance(declaration, Text):
        if not isinstance(value, str):
            raise BadValue(repr(value), "a text")
        check_text(declaration, value)
        _refuse_lone_unit(record, address, values)
        return
    if isinstance(value, np.ndarray):
        if not tables()[address.split(".")[0]].in_model:
            raise BadValue("an array", "a number: the model reads no draws from this table")
        if value.ndim != 1 or not len(value) or value.dtype.kind != "f":
            raise BadValue(f"an array of {value.dtype} with shape {value.shape}", "one row of floating-point numbers")
        lengths.setdefault(len(value), address)
        length, other = next(iter(lengths.items()))
        if len(value) != length:
            raise BadValue(f"{len(value)} values", f"{length} values, as '{other}' has")
    elif isinstance(value, bool) or not isinstance(value, (int, float)):
        raise BadValue(repr(value), "a number in base units")
    check_number(declaration, value, case.entry_units[address])


def _refuse_lone_unit(record: Any, address: str, values: Mapping[str, Value]) -> None:
    """Refuse a text that numbers of its row stand in, as a currency, unless these numbers are stated anew as well."""
    place, name = address.rsplit(".", 1)
    if values[address] == getattr(record, name):
        return
    left = [column for column in stated_in(type(record), name) if f"{place}.{column}" not in values]
    if left:
        raise BadValue(
            f"'{values[address]}' without {', '.join(left)}",
            f"'{values[address]}' together with {', '.join(f'{place}.{column}' for column in left)}, stated anew",
        )


def stated_in(record: type, text: str) -> list[str]:
    """The numbers of a row in whose units a text of the row stands, as `price` with `currency`.

    >>> from costmodel.case.line_records import Material
    >>> stated_in(Material, "per"), stated_in(Material, "step")
    (['amount'], [])
    """
    return [
        column
        for column, declaration in declared(record).items()
        if isinstance(declaration, Number) and f"{{{text}}}" in declaration.unit + declaration.entry
    ]


def parse_changes(case: Case, written: Mapping[str, Any], origin: str) -> dict[str, Value]:
    """The values of changes such as `{"tools.saw.price": "400000 EUR"}`; a bare number is in the table's own unit.

    Raises InputFaults with `origin` as the place of every fault.
    """
    values, faults = _parsed(case, written, origin, frozenset())
    if faults:
        raise InputFaults(faults)
    return values


def changes_at_fault(case: Case, written: Mapping[str, Any], origin: str, unread: Unread) -> list[Fault]:
    """The faults of written changes to a case that has faults itself, as far as they can be judged by themselves."""
    values, faults = _parsed(case, written, origin, unread)
    for address, value in values.items():
        with where_read():
            try:
                if isinstance(value, str):
                    _check(case, address, {**written, **values}, {})
            except BadValue as problem:
                faults.append(Fault(origin, None, address, problem.found, problem.allowed))
    return faults


def _parsed(case: Case, written: Mapping[str, Any], origin: str, unread: Unread) -> tuple[dict[str, Value], list[Fault]]:
    faults: list[Fault] = []
    values: dict[str, Value] = {}
    for address, value in written.items():
        try:
            with where_read():
                values[address] = _parse_change(case, written, address, value)
        except BadAddress as problem:
            if problem.table not in unread:
                faults.append(Fault(origin, None, address, "an unknown address", problem.allowed))
        except BadValue as problem:
            faults.append(Fault(origin, None, address, problem.found, problem.allowed))
    return values, faults


def _parse_change(case: Case, written: Mapping[str, Any], address: str, value: Any) -> Value:
    """The value of one change. Raises BadAddress and BadValue."""
    declaration, _ = input_at(case, address)
    if isinstance(declaration, Text):
        return str(value)
    default, allowed = _units_for(case, address, written)
    return parse_value(declaration, str(value), default, allowed)


def _units_for(case: Case, address: str, written: Mapping[str, Any]) -> tuple[str, tuple[str, ...]]:
    """The unit of a bare number, nothing where changed texts of its row leave it open; and the units that it may be stated in."""
    declaration, record = input_at(case, address)
    if not isinstance(declaration, Number):
        raise TypeError(f"'{address}' is a text, which has no unit")
    place = address.rsplit(".", 1)[0]
    texts = {
        name: str(written[f"{place}.{name}"])
        for name, d in declared(type(record)).items()
        if isinstance(d, Text) and f"{place}.{name}" in written
    }
    renewed = dataclasses.replace(record, **texts) if texts else record
    same = unit_of(record, declaration.entry) == unit_of(renewed, declaration.entry)
    return case.entry_units.get(address, "") if same else "", allowed_units(declaration, renewed, case.currency)


def without_unit(case: Case, written: Mapping[str, Any], origin: str) -> Iterator[str]:
    """The changes whose number has no unit, though the input has one: each with the unit in which it is read.

    >>> from costmodel.case.load import load_case
    >>> list(without_unit(load_case("inputs_demo/facade"), {"tools.laminator.life": 9, "site.crews": 4}, "scenarios/a.yaml"))
    ["tools.laminator.life is set to '9' by scenarios/a.yaml without a unit; it is read as '9 year'"]
    """
    for address, value in written.items():
        text = str(value).strip()
        with contextlib.suppress(BadAddress, TypeError):
            unit = _units_for(case, address, written)[0]
            if unit not in ("", "1") and " " not in text and not text.endswith("%"):
                yield f"{address} is set to '{text}' by {origin} without a unit; it is read as '{text} {unit}'"


def with_units(case: Case, written: Mapping[str, Any]) -> dict[str, str]:
    """The same changes with a unit behind every number, so that they mean the same whatever unit a table comes to have.

    The changes must be ones that `parse_changes` takes.

    >>> from costmodel.case.load import load_case
    >>> with_units(load_case("inputs_demo/facade"), {"tools.laminator.life": 9, "site.crews": "4"})
    {'tools.laminator.life': '9 year', 'site.crews': '4 1'}
    """
    stated = {}
    for address, value in written.items():
        text = str(value)
        if isinstance(input_at(case, address)[0], Number):
            text = text.strip()
            text = text if " " in text or text.endswith("%") else f"{text} {_units_for(case, address, written)[0]}"
        stated[address] = text
    return stated


def apply_written(case: Case, written: Mapping[str, Any], origin: str, source: str) -> Case:
    """The case with written changes applied, and noted in the evidence of the rows that they touch. Raises InputFaults."""
    values = parse_changes(case, written, origin)
    return _note_source(with_values(case, values, origin), values, source)


def supposing(case: Case, written: Mapping[str, Any], origin: str, source: str) -> Case:
    """The same, where what is written is supposed to be so: these inputs are no longer uncertain, whatever ranges.csv says.

    >>> from costmodel.case.load import load_case
    >>> case = supposing(load_case("inputs_demo/facade"), {"prices.silane.price": "80 USD/kg"}, "--set", "--set")
    >>> sorted(case.held)
    ['prices.silane.price']
    """
    changed = apply_written(case, written, origin, source)
    return dataclasses.replace(changed, held=case.held | frozenset(written))


SET_BY = " set by "


def told_source(public_source: str, source: str) -> str:
    """What an outsider is told of a row's source: the words that may go out, and what was changed since, not by whom or what.

    >>> told_source("a published table", "offer of May; price set by scenario last_stand; life set by choice finish: best")
    'a published table; price and life as supposed here'
    >>> told_source("", "upfront set by round a; free_from set by round a; upfront set by round b")
    'upfront and free from as supposed here'
    """
    changed = list(dict.fromkeys(part.partition(SET_BY)[0].replace("_", " ") for part in source.split("; ") if SET_BY in part))
    names = " and ".join(filter(None, [", ".join(changed[:-1]), *changed[-1:]]))
    return "; ".join(filter(None, [public_source, f"{names} as supposed here" if names else ""]))


def _note_source(case: Case, addresses: Iterable[str], origin: str) -> Case:
    """The case with each changed row saying what was set and by whom; a changed figure is an estimate, if not invented."""
    evidence = dict(case.evidence)
    for address in addresses:
        place, name = address.rsplit(".", 1)
        old = evidence[place]
        evidence[place] = Evidence(
            kind="invented" if old.kind == "invented" else "estimate",
            source=f"{old.source}; {name}{SET_BY}{origin}",
            date=old.date,
            by=old.by,
            public_source=old.public_source,
        )
    return dataclasses.replace(case, evidence=evidence)
