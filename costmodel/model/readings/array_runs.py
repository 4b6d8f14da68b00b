"""A program run by NumPy, the reference: each operation on a whole array, into registers that are used again."""

from __future__ import annotations

import operator
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from ...core import operations
from ...core.operations import DECIMALS, Value
from .cells import INFIX, UFUNCS
from .programs import Program, is_array, results
from .step_tables import LISTS, RATES, steps_of

_BOTH = {**UFUNCS, "larger": np.maximum, "smaller": np.minimum, "exp": np.exp, "log": np.log}
_BOTH.pop("**")  # the operator has a way of its own with squares and roots


def _added_up(*values: Value) -> Value:
    """`operations.sum_of` of plain numbers and arrays."""
    total: Value = 0.0
    for value in values:
        total = total + value
    return total


def on_numbers(name: str) -> Callable[..., Value]:
    """The function behind the name of an operation; it takes values one by one."""
    if name == "sum_of":
        return _added_up
    if name == RATES:
        return lambda *flows: operations.irr_with_count(flows)
    return _ON_NUMBERS.get(name) or INFIX.get(name) or getattr(operations, name)


_ON_NUMBERS: dict[str, Callable[..., Value]] = {  # as in `operations`, without a look at the type: all are plain numbers here
    "larger": lambda a, b: a if a >= b or a != a else b,
    "smaller": lambda a, b: a if a <= b or a != a else b,
    "choose": lambda condition, a, b: a if condition else b,
    "safe_divide": lambda a, b: a / b if b != 0 else 0.0,
}


def _sum_into(out: np.ndarray, *values: Value) -> None:
    total: Value = 0.0
    for value in values:
        total = total + value if not (is_array(total) or is_array(value)) else np.add(total, value, out=out)


def _choose_into(out: np.ndarray, condition: Value, a: Value, b: Value) -> None:
    if np.ndim(condition) == 0:
        out[...] = a if condition else b
        return
    out[...] = b
    np.copyto(out, a, where=condition if condition.dtype == bool else condition != 0)


def _valid_into(out: np.ndarray, condition: Value, a: Value) -> None:
    _choose_into(out, condition, a, np.nan)


def _divide_into(out: np.ndarray, a: Value, b: Value) -> None:
    zero = np.equal(b, 0)
    np.divide(a, np.where(zero, 1.0, b), out=out)
    np.copyto(out, 0.0, where=zero)


def _whole_up_into(out: np.ndarray, x: Value) -> None:
    np.round(x, DECIMALS, out=out)
    np.ceil(out, out=out)


_INTO = {
    "sum_of": _sum_into,
    "choose": _choose_into,
    "valid_if": _valid_into,
    "safe_divide": _divide_into,
    "whole_up": _whole_up_into,
}


def writer(name: str) -> Callable[..., Any]:
    """A function that writes an operation into its first argument.

    >>> out = np.empty(2)
    >>> writer("larger")(out, np.array([1.0, 3.0]), 2.0).tolist()
    [2.0, 3.0]
    """
    if name in _INTO:
        return _INTO[name]
    if name in _BOTH:
        ufunc = _BOTH[name]
        return lambda out, *values: ufunc(*values, out=out)
    function = operator.pow if name == "**" else on_numbers(name)

    def write(out: np.ndarray, *values: Value) -> None:
        """The operation into `out`."""
        out[...] = function(*values)

    return write


def run(program: Program, given: Sequence[Value]) -> list[Value]:
    """The wanted values of a program for its given values: plain numbers, or arrays of one length."""
    arrays = tuple(is_array(value) for value in given)
    on_plain, on_arrays = kept_plan(program, arrays)
    values: list[Any] = [None] * program.places
    for places, known in ((program.numbers.keys(), program.numbers.values()), (program.given, given)):
        for place, value in zip(places, known):
            values[place] = value
    _run_numbers(on_plain, values)
    if not any(arrays):
        return [values[place] for place in program.wanted]
    count = next(len(value) for value, array in zip(given, arrays) if array)
    registers: dict[tuple[int, bool], np.ndarray] = {}
    for write, takes, gives, register in on_arrays:
        if register is None:
            values[gives], values[gives + 1] = operations.irr_with_count([values[place] for place in takes])
            continue
        if register not in registers:
            registers[register] = np.empty(count, dtype=bool if register[1] else float)
        out = registers[register]
        write(out, *[values[place] for place in takes])
        values[gives] = out
    return [values[place] for place in program.wanted]


def _run_numbers(steps: Sequence[tuple], values: list[Any]) -> None:
    for name, function, takes, gives in steps:
        if len(takes) == 2 and name not in LISTS:
            values[gives] = function(values[takes[0]], values[takes[1]])
        elif name == RATES:
            values[gives], values[gives + 1] = function(*[values[place] for place in takes])
        else:
            values[gives] = function(*[values[place] for place in takes])


def kept_plan(program: Program, arrays: tuple[bool, ...]) -> tuple[list[tuple], list[tuple]]:
    """The steps on plain numbers and those on arrays, where some of the given values are arrays; made once."""
    name = ("plan", arrays)
    if name not in program.memory:
        program.memory[name] = _plan(program, arrays)
    return program.memory[name]


def _plan(program: Program, arrays: tuple[bool, ...]) -> tuple[list[tuple], list[tuple]]:
    moved = {place for place, array in zip(program.given, arrays) if array}
    slots = program.slots[0].tolist() if moved else []
    truths = program.truths.tolist()
    on_plain, on_arrays = [], []
    functions: dict[str, Callable] = {}
    for name, takes, gives in steps_of(program.table):
        if moved.isdisjoint(takes):
            function = functions.setdefault(name, on_numbers(name))
            on_plain.append((name, function, takes, gives))
            continue
        moved.update(results(name, gives))
        write = None if name == RATES else functions.setdefault(f"{name} into", writer(name))
        on_arrays.append((write, takes, gives, None if name == RATES else (slots[gives], truths[gives])))
    return on_plain, on_arrays
