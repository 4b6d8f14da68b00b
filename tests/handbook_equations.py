"""How an equation of the handbook is evaluated, compared, and met by random inputs and by the calls in whole cases."""
from __future__ import annotations

import dataclasses
import inspect
import random
import sys
import types
import typing
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from costmodel.case.addresses import map_inputs
from costmodel.case.whole_case import Case
from costmodel.core import operations
from costmodel.core.fields import Number, Text, declared
from costmodel.core.series import Row
from costmodel.present.handbook import OPERATIONS, Rule, rule_functions

FUNCTIONS = rule_functions()
BUILTINS = {f.__name__: f for f in (zip, range, len, list, dict, tuple, reversed, enumerate, next, iter, int)}
FURTHER = 2  # a call of a rule in a whole case is looked at, then one after a half as many more: first calls are alike
LEDGER_LINE = ("quantity", "price")  # what the equations of a ledger line say; `entry` has the rest


# How an equation is evaluated and compared


def meanings(function: Callable, arguments: Mapping[str, Any]) -> dict[str, Any]:
    """What the names of an equation may stand for: operations, other rules, constants, records, arguments."""
    known = {name: value for name, value in function.__globals__.items() if not name.startswith("_")}
    known |= {name: getattr(operations, name) for name in OPERATIONS}
    known.pop(function.__name__, None)
    return known | {"__builtins__": BUILTINS} | dict(arguments)


def evaluated(entry: Rule, function: Callable, arguments: Mapping[str, Any], result: Any) -> dict[str, Any]:
    """The value of each equation of an entry, by its symbol.

    A rule that walks along a row may use what it found at other places of the row: there its result stands for itself, and the
    equation holds if it gives the same again.
    """
    known = meanings(function, arguments)
    found: dict[str, Any] = {}
    if rows_of(result) is None and isinstance(result, (list, dict, Row)):
        known.setdefault(entry.equations[-1].symbol, result)
    for equation in entry.equations:
        value = eval(equation.expression, known)
        names = [each.strip().replace(" ", "_") for each in equation.name.split(",")]
        parts = dict(zip(names, value, strict=True)) if len(names) > 1 else {names[0]: value}
        known |= parts
        found |= parts
        found["last"] = value
    return found


def same(found: Any, wanted: Any) -> bool:
    """Whether both are the same to 12 digits, whatever holds them; texts are not compared."""
    if isinstance(wanted, (str, type(None))):
        return True
    if dataclasses.is_dataclass(wanted):
        return all(same(getattr(found, f.name), getattr(wanted, f.name)) for f in dataclasses.fields(wanted))
    if isinstance(wanted, Mapping):
        values = found.values() if isinstance(found, Mapping) else found
        return same(list(values), list(wanted.values())) and (not isinstance(found, Mapping) or list(found) == list(wanted))
    if isinstance(wanted, (list, tuple, Row)):
        return len(found) == len(wanted) and all(map(same, found, wanted))
    a, b = (getattr(each, "magnitude", each) for each in (found, wanted))
    if hasattr(found, "magnitude") and hasattr(wanted, "magnitude") and a and b:
        assert found.units.dimensionality == wanted.units.dimensionality, (found, wanted)
    return bool(np.all(np.isclose(a, b, rtol=1e-12, atol=1e-300, equal_nan=True)))


def holds_numbers(record: type) -> list[str]:
    """The fields of a record that hold values or records of them."""
    hints = typing.get_type_hints(record)
    fields = [f.name for f in dataclasses.fields(record) if hints[f.name] not in (str, bool)]
    return [name for name in fields if not isinstance(declared(record).get(name), Text)]


def rows_of(result: Any) -> list[Any] | None:
    """The records of a result that is a record, rows of them by name, or pairs of a name and one; None where it holds values."""
    if dataclasses.is_dataclass(result):
        return [result]
    values = list(result.values()) if isinstance(result, Mapping) else list(result) if isinstance(result, (list, tuple)) else []
    if values and all(isinstance(each, tuple) and len(each) == 2 and isinstance(each[0], str) for each in values):
        values = [row for _, row in values]
    return values if values and all(map(dataclasses.is_dataclass, values)) else None


def fields_to_state(record: type) -> list[str]:
    """The fields that an entry must have an equation for."""
    return list(LEDGER_LINE) if record.__name__ == "LedgerLine" else holds_numbers(record)


def checked(entry: Rule, function: Callable, arguments: Mapping[str, Any], result: Any) -> None:
    """Fails unless the equations of an entry give what the function gave."""
    found = dict(arguments) | evaluated(entry, function, arguments, result)
    rows = rows_of(result)
    if rows is None or [each.name for each in entry.equations[-1:]] == ["result"]:
        assert same(found["last"], result), f"{entry.address}: the equation gives {found['last']}, the function {result}"
        return
    single = dataclasses.is_dataclass(result)
    wanted = fields_to_state(type(rows[0])) if function.__name__ != "entry" else holds_numbers(type(rows[0]))
    missing = [name for name in wanted if name not in found]
    assert not missing, f"{entry.address} has no equation for {missing}"
    for name in set(found) & set(holds_numbers(type(rows[0]))):
        value = found[name]
        values = [value] if single else list(value.values()) if isinstance(value, Mapping) else list(value)
        of_function = [getattr(row, name) for row in rows]
        assert same(values, of_function), f"{entry.address}: {name} by the equation is {values}, by the function {of_function}"


# Records and rows of random numbers


def random_number(draw: random.Random, declaration: Number) -> float:
    """A number that the declaration allows."""
    low = max(x for x in (declaration.low, declaration.above, -1e6) if x is not None)
    high = declaration.high if declaration.high is not None else low + 10
    margin = 0.05 * (high - low)
    return draw.uniform(-0.5, 0.5) if declaration.low is None else draw.uniform(low + margin, high - margin)


def random_record(draw: random.Random, record: type) -> Any:
    """A record filled at random, as its fields are declared."""
    hints, said, made = typing.get_type_hints(record), declared(record), {}
    for field in dataclasses.fields(record):
        declaration = said.get(field.name)
        if isinstance(declaration, Number):
            made[field.name] = random_number(draw, declaration)
        elif isinstance(declaration, Text):
            made[field.name] = draw.choice(declaration.options) if declaration.options else declaration.example
        else:
            made[field.name] = random_value(draw, hints[field.name])
    return record(**made)


def random_value(draw: random.Random, hint: Any) -> Any:
    """A random argument of a type; raises TypeError where only a whole case can give one."""
    origin, parts = typing.get_origin(hint), typing.get_args(hint)
    if hint is Any or hint is float:
        return draw.uniform(0.05, 0.95)
    if hint is Row:
        return Row([draw.uniform(0.05, 0.95) for _ in range(5)])
    if hint is int:
        return draw.randint(3, 7)
    if origin is not None and issubclass(origin, Mapping):
        named = parts[0] is str and not typing.get_args(parts[1])
        return {name: random_value(draw, parts[1]) for name in ("a", "b", "c")} if named else _no_value(hint)
    if origin is tuple:
        return tuple(random_value(draw, part) for part in parts)
    if parts == (int,):
        return draw.sample(range(5), 5)
    if origin is not None and isinstance(origin, type) and issubclass(list, origin):
        return [random_value(draw, parts[0]) for _ in range(5)]
    if hint is Case or not dataclasses.is_dataclass(hint):
        return _no_value(hint)
    return random_record(draw, hint)


def _no_value(hint: Any) -> Any:
    raise TypeError(f"no random value of {hint}")


def randomly_called(function: Callable, number: int) -> dict[str, Any] | None:
    """Random arguments of a function, or None where it takes a case, a whole record of it or a name in it."""
    draw = random.Random(f"{function.__module__}.{function.__name__} {number}")
    hints = typing.get_type_hints(function)
    try:
        return {name: random_value(draw, hints[name]) for name in inspect.signature(function).parameters}
    except TypeError:
        return None


# Whole cases, in which every call of a rule is looked at


def random_case(case: Case, seed: int) -> Case:
    """The case with every number moved at random: shares a little down, all else up or down."""
    draw = random.Random(seed)

    def moved(address: str, value: float, unit: str) -> float:
        return value * draw.uniform(0.9, 1.0) if unit in ("1", "%") else value * draw.uniform(0.95, 1.1)

    return map_inputs(case, moved)


class Watched:
    """Rules replaced, in all modules of the model, by ones that hold each call against the equation."""

    def __init__(self, look: Callable[[str, Callable, dict[str, Any], Any], None]) -> None:
        self.look, self.inside, self.kept = look, False, []
        self.seen, self.calls, self.next = (dict.fromkeys(FUNCTIONS, first) for first in (0, 0, 1))

    def __enter__(self) -> Watched:
        wrapped = {id(function): self._wrap(address, function) for address, function in FUNCTIONS.items()}
        for module in [m for n, m in sys.modules.items() if n.startswith("costmodel.") and isinstance(m, types.ModuleType)]:
            for name, value in list(vars(module).items()):
                if id(value) in wrapped:
                    self.kept.append((module, name, value))
                    setattr(module, name, wrapped[id(value)])
        return self

    def __exit__(self, *_: object) -> None:
        for module, name, value in self.kept:
            setattr(module, name, value)

    def _wrap(self, address: str, function: Callable) -> Callable:
        signature = inspect.signature(function)

        def watched(*given: Any, **named: Any) -> Any:
            result = function(*given, **named)
            once = isinstance(result, Iterator)
            kept = list(result) if once else result
            if self.inside:
                return iter(kept) if once else kept
            self.calls[address] += 1
            if self.calls[address] >= self.next[address]:
                self.next[address] += max(1, self.calls[address] // FURTHER)
                self.inside, bound = True, signature.bind(*given, **named)
                bound.apply_defaults()
                try:
                    self.look(address, function, bound.arguments, kept)
                    self.seen[address] += 1
                finally:
                    self.inside = False
            return iter(kept) if once else kept

        return watched
