"""What an input is varied over, as people write it: `40..120 USD/kg`, `40, 60, 120 USD/kg`, or its row of ranges.csv."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import BadAddress, allowed_units, input_at, value_at
from ..case.range_records import Range
from ..case.values import BadValue, parse_value
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.fields import Number
from ..core.units import to_base


@dataclass(frozen=True, slots=True)
class Axis:
    """An input and its values in base units, in the order given; `unit` is the one to show them in."""

    address: str
    values: np.ndarray
    unit: str

    @property
    def shown(self) -> np.ndarray:
        """The values in the unit of the axis."""
        return self.values / to_base(self.unit)


def number_at(case: Case, address: str, origin: str) -> tuple[Number, float, str]:
    """The declaration of a numeric input, its value in base units and the unit of its table. Raises InputFaults."""
    try:
        declaration, _ = input_at(case, address)
    except BadAddress as problem:
        raise InputFaults([Fault(origin, None, address, "an unknown address", problem.allowed)]) from None
    if not isinstance(declaration, Number):
        allowed = "the address of a number; a choice between texts is a scenario or a group of alternatives"
        raise InputFaults([Fault(origin, None, address, "a text", allowed)])
    return declaration, value_at(case, address), case.entry_units[address]


def declared(case: Case, address: str) -> Number:
    """The declaration of an input that is known to be a number."""
    declaration, _ = input_at(case, address)
    assert isinstance(declaration, Number)
    return declaration


def range_of(case: Case, address: str) -> Range | None:
    """The row of ranges.csv for an input, if there is one."""
    return next((row for row in case.ranges.values() if row.address == address), None)


def parse_axis(case: Case, written: str, points: int = 21, origin: str = "--vary") -> Axis:
    """An axis from `ADDRESS=LOW..HIGH UNIT`, `ADDRESS=A, B, C UNIT`, or `ADDRESS` alone for the range of ranges.csv.

    Numbers without a unit are in the unit of the table. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> parse_axis(load_case("inputs_demo/facade"), "prices.silane.price=40..60 USD/kg", points=3).shown.tolist()
    [40.0, 50.0, 60.0]
    """
    address, sign, text = (part.strip() for part in written.partition("="))
    _, _, unit = number_at(case, address, origin)
    if not sign:
        row = range_of(case, address)
        if row is None:
            found, allowed = "no values and no row in ranges.csv", f"{address}=LOW..HIGH UNIT, or {address}=A, B, C UNIT"
            raise InputFaults([Fault(origin, None, address, found, allowed)])
        return Axis(address, np.linspace(row.low, row.high, points), row.unit)
    numbers, stated = _split_unit(text)
    ends = numbers.split("..")
    if len(ends) == 2:
        low, high = (parse_input(case, address, f"{end} {stated}".strip(), origin) for end in ends)
        if not low < high:
            raise InputFaults([Fault(origin, None, address, f"'{text}'", "a low end below the high end")])
        return Axis(address, np.linspace(low, high, points), stated or unit)
    values = [parse_input(case, address, f"{part.strip()} {stated}".strip(), origin) for part in numbers.split(",")]
    return Axis(address, np.array(values), stated or unit)


def _split_unit(text: str) -> tuple[str, str]:
    """The numbers and the unit behind them."""
    if text.endswith("%"):
        return text[:-1].strip(), "%"
    head, _, last = text.rpartition(" ")
    if head and not last[:1].isdigit() and last[:1] not in "+-.":
        return head.strip(), last
    return text, ""


def parse_input(case: Case, address: str, written: str, origin: str) -> float:
    """A value of an input in base units from a text such as `12 min`, within what the input allows. Raises InputFaults."""
    declaration, _, unit = number_at(case, address, origin)
    _, record = input_at(case, address)
    try:
        return parse_value(declaration, written, unit, allowed_units(declaration, record, case.currency))
    except BadValue as problem:
        raise InputFaults([Fault(origin, None, address, problem.found, problem.allowed)]) from None
