"""The model read with units: every input a pint quantity, so that a wrong dimension is found where it arises."""

from __future__ import annotations

from typing import Any, cast

from ...case.addresses import map_inputs
from ...case.whole_case import Case, kept
from ...core import operations, units
from ...core.operations import Value
from ...core.series import Row
from ..evaluate import Results, evaluate, figures

PLAIN = ("exp", "log", "normal_cdf", "normal_quantile", "student_t_quantile")  # operations on plain numbers only
COUNTS = ("tool", "load", "person", "person/crew", "plate", "module", "1")


class WrongUnit(ValueError):
    """A figure, or an operand, whose unit is not the one declared; the message names it."""


def _plain(value: Any) -> float:
    return value.magnitude if hasattr(value, "magnitude") else value


def _unit(value: Any):
    return value.units if hasattr(value, "magnitude") else units.registry().dimensionless


def _same_unit(name: str, values: tuple) -> Any:
    """The unit that all values share; a plain zero fits any unit."""
    wanted = next((_unit(v) for v in values if hasattr(v, "magnitude")), units.registry().dimensionless)
    for value in values:
        if _unit(value).dimensionality != wanted.dimensionality and not (not hasattr(value, "magnitude") and value == 0):
            raise WrongUnit(f"{name} of values in {wanted} and {_unit(value)}; allowed: one unit")
    return wanted


def perform(name: str, arguments: tuple) -> Value:
    """An operation of the closed list on quantities in base units.

    Raises WrongUnit, or pint's DimensionalityError.
    """
    made = units.registry().Quantity
    if name == "safe_divide":
        a, b = arguments
        return made(operations.safe_divide(_plain(a), _plain(b)), _unit(a) / _unit(b))
    if name == "whole_up":
        (x,) = arguments
        if not any(_unit(x).dimensionality == units.unit(count).dimensionality for count in COUNTS):
            raise WrongUnit(f"whole_up of a value in {_unit(x)}; allowed: a count, {', '.join(COUNTS)}")
        return made(operations.whole_up(_plain(x)), _unit(x))
    if name == "valid_if":
        condition, value = arguments
        return made(operations.valid_if(_plain(condition), _plain(value)), _unit(value))
    if name == "choose":
        condition, *rest = arguments
        wanted = _same_unit(name, tuple(rest))
        return made(operations.choose(_plain(condition), *map(_plain, rest)), wanted)
    wanted = _same_unit(name, arguments)
    if name in PLAIN and wanted.dimensionality != units.unit("1").dimensionality:
        raise WrongUnit(f"{name} of a value in {wanted}; allowed: a plain number")
    if name in ("irr", "irr_count"):
        return made(getattr(operations, name)([_plain(v) for v in arguments]), "1")
    if name == "sum_of":
        return made(operations.sum_of([_plain(v) for v in arguments]), wanted)
    return made(getattr(operations, name)(*map(_plain, arguments)), wanted)


def evaluate_with_units(case: Case) -> Results:
    """The figures of a case as quantities, once for each case. Raises pint's DimensionalityError where units do not fit."""
    from pint.compat import upcast_type_map  # late, as in units.registry

    operations.PERFORMERS[units.registry().Quantity] = perform
    known = cast(dict, upcast_type_map)  # declared as not to be changed, but meant for types of others
    known[f"{Row.__module__}.{Row.__qualname__}"] = Row  # a quantity on the left leaves the operation to the row
    return kept(case, "quantities", lambda: evaluate(map_inputs(case, lambda _address, value, unit: units.quantity(value, unit))))


def wrong_units(case: Case) -> list[str]:
    """Every figure of a case whose unit is not the one that its record declares; an empty list is right.

    A figure that is exactly zero passes: the sum over no lines has no unit.

    >>> from costmodel.case.load import load_case
    >>> wrong_units(load_case("costmodel/studies/verification/published_cases/thin_film"))
    []
    """
    wrong = []
    for address, value, unit, _ in figures(evaluate_with_units(case), case.currency):
        found = _unit(value)
        if found.dimensionality != units.unit(unit).dimensionality and _plain(value) != 0:
            wrong.append(f"{address} is in {found}; declared: {unit}")
    return wrong
