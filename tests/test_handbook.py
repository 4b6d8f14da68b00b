"""Every rule of the model has an entry in the handbook, and the equation that is printed there is what the function computes.

Equations are evaluated in two ways: on records and rows of random numbers where a rule takes nothing else, and on what the rules
are called with while whole cases with random inputs are evaluated, as numbers and as quantities with units.
"""
from __future__ import annotations

import dataclasses
import inspect
import random
import re
import sys
import types
import typing
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np
import pytest

from costmodel.case.addresses import map_inputs
from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core import operations, units
from costmodel.core.fields import Figure, Number, Text, declared
from costmodel.core.series import Row
from costmodel.model.evaluate import evaluate
from costmodel.model.readings.quantities import evaluate_with_units
from costmodel.present import handbook
from costmodel.present.handbook import ASSEMBLY, Rule, computes, model_functions, rule, rule_functions

from .batch import batch
from .cases import FIELD, demo
from .foreign import foreign
from .growing import growing
from .terms import terms

FUNCTIONS = rule_functions()
RULES = {address: rule(address, function) for address, function in FUNCTIONS.items()}
EACH = pytest.mark.parametrize("address", FUNCTIONS)
BUILTINS = {f.__name__: f for f in (zip, range, len, list, dict, tuple, reversed, enumerate, next, iter, int)}
TIMES = 25  # random inputs of a rule that takes only numbers, rows and records
CALLS = 6  # calls of a rule that are looked at in each whole case
LEDGER_LINE = ("quantity", "price")  # what the equations of a ledger line say; `entry` has the rest


# How an equation is evaluated and compared


def meanings(function: Callable, arguments: Mapping[str, Any]) -> dict[str, Any]:
    """What the names of an equation may stand for: operations, other rules, constants, records, arguments."""
    known = {name: value for name, value in function.__globals__.items() if not name.startswith("_")}
    known |= {name: getattr(operations, name) for name in handbook.OPERATIONS}
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
        self.look, self.seen, self.inside, self.kept = look, dict.fromkeys(FUNCTIONS, 0), False, []

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
            if not self.inside and self.seen[address] < CALLS:
                self.inside, bound = True, signature.bind(*given, **named)
                bound.apply_defaults()
                try:
                    self.look(address, function, bound.arguments, kept)
                    self.seen[address] += 1
                finally:
                    self.inside = False
            return iter(kept) if once else kept

        return watched


CASES: dict[str, Callable[[], Case]] = {
    "facade": demo, "field": lambda: load_case(FIELD), "batch": batch, "foreign": foreign, "terms": terms, "growing": growing,
}  # fmt: skip


@pytest.fixture(scope="module")
def looked_at() -> tuple[dict[str, int], dict[str, list[str]]]:
    """How often each rule was called in whole cases with random inputs, and where an equation and its function differ."""
    wrong: dict[str, list[str]] = {}

    def look(address: str, function: Callable, arguments: dict[str, Any], result: Any) -> None:
        try:
            checked(RULES[address], function, arguments, result)
        except Exception as fault:
            wrong.setdefault(address, []).append(f"{type(fault).__name__}: {fault}")

    seen = dict.fromkeys(FUNCTIONS, 0)
    for seed, made in enumerate(CASES.values()):
        with Watched(look) as watching:
            evaluate(random_case(made(), seed))
        seen = {address: times + watching.seen[address] for address, times in seen.items()}
    return seen, wrong


@pytest.fixture(scope="module")
def units_found() -> dict[str, list[str]]:
    """By rule, what is wrong with the units of its entry when whole cases are evaluated as quantities."""
    wrong: dict[str, list[str]] = {}
    money = ""

    def look(address: str, function: Callable, arguments: dict[str, Any], result: Any) -> None:
        try:
            for name, stated, value in stated_units(RULES[address], function, arguments, result):
                faults = [f"{name} is in {found}; stated: {stated}" for found in other_units(value, stated, money)]
                wrong.setdefault(address, []).extend(faults)
        except Exception as fault:
            wrong.setdefault(address, []).append(f"{type(fault).__name__}: {fault}")

    for made in (demo, foreign):
        case = made()
        money = case.currency
        with Watched(look):
            evaluate_with_units(case)
    return {address: faults for address, faults in wrong.items() if faults}


def stated_units(entry: Rule, function: Callable, arguments: Mapping[str, Any], result: Any) -> Iterator[tuple[str, str, Any]]:
    """Each argument and equation with a stated unit, and its value."""
    for name, unit in entry.takes.items():
        yield name, unit, arguments[name]
    found = evaluated(entry, function, arguments, result)
    for equation in entry.equations:
        if equation.unit:
            stated = equation.unit.split(", ")
            symbols = [each.strip().replace(" ", "_") for each in equation.name.split(",")]
            for symbol, unit in zip(symbols, stated * len(symbols) if len(stated) == 1 else stated):
                yield symbol, unit, found[symbol]


def other_units(value: Any, stated: str, money: str) -> list[str]:
    """The units of values that are not the stated one; `any` fits all, and an exact zero has none."""
    if stated == "any" or re.search(r"\bany\b", stated):
        return []
    if isinstance(value, Mapping):
        return [each for below in value.values() for each in other_units(below, stated, money)]
    if isinstance(value, (list, tuple, Row)):
        return [each for below in value for each in other_units(below, stated, money)]
    if value is None or getattr(value, "magnitude", value) == 0:
        return []
    unit = getattr(value, "units", units.registry().dimensionless)
    wanted = units.unit(re.sub(r"\bmoney\b", money, stated))
    return [] if unit.dimensionality == wanted.dimensionality else [str(unit)]


# The tests


def test_an_assembly_is_a_function_of_the_model_that_computes():
    functions = dict(model_functions())
    for address in ASSEMBLY:
        assert computes(functions[address]), f"{address} need not be excepted"


def test_what_computes_is_told_by_its_body():
    assert computes(FUNCTIONS["line.yields.good_per_pass"])
    assert not computes(dict(model_functions())["ledger.facilities.system_draw"])


@EACH
def test_the_entry_of_a_rule_has_each_part(address):
    entry = RULES[address]
    assert re.fullmatch(r"[^.]*[^.\s].*[.:]", entry.sentence), f"{address} begins with no sentence"
    assert entry.equations, f"{address} has no equation"
    assert entry.source, f"{address} has no source; allowed: a source, 'common practice' or 'from memory'"
    assert ">>>" in entry.example, f"{address} has no example that runs"
    for equation in entry.equations:
        assert not re.search(r"\b_\w", equation.expression), f"{address}: an equation may not call what is private"
        assert equation.expression != equation.symbol, f"{address}: that is no equation"


@EACH
def test_the_entry_of_a_rule_states_the_unit_of_every_plain_value(address):
    entry, function = RULES[address], FUNCTIONS[address]
    plain = [n for n, p in inspect.signature(function).parameters.items() if is_plain(str(p.annotation))]
    assert set(plain) <= set(entry.takes), f"{address}: no unit of {sorted(set(plain) - set(entry.takes))}"
    assert set(entry.takes) <= set(inspect.signature(function).parameters), f"{address}: a unit of what it does not take"
    at_fields = [n for record in records_returned(function) for n, each in declared(record).items() if isinstance(each, Figure)]
    for equation in entry.equations:
        has_unit = equation.unit or equation.symbol in at_fields or is_record(equation, function)
        assert has_unit, f"{address}: no unit of {equation.name}"


def is_plain(annotation: str) -> bool:
    """Whether an argument holds plain values: a value, or a row or mapping of values."""
    return re.search(r"\b(Value|Matrix|Row)\b", annotation) is not None and "Callable" not in annotation


def records_returned(function: Callable) -> list[type]:
    """The records that a function returns, alone or in a row."""

    def below(hint: Any) -> Iterator[type]:
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            yield hint
        for part in typing.get_args(hint):
            yield from below(part)

    return list(below(typing.get_type_hints(function)["return"]))


def is_record(equation: handbook.Equation, function: Callable) -> bool:
    """Whether an equation gives a field that is a record, or a whole record; those have units of their own."""
    for record in records_returned(function):
        hints = typing.get_type_hints(record)
        hint = hints.get(equation.symbol)
        if any(map(dataclasses.is_dataclass, (hint, *typing.get_args(hint)))):
            return True
    return equation.name == "result" and bool(records_returned(function))


@EACH
def test_the_equation_of_a_rule_is_what_it_computes(address, looked_at):
    seen, wrong = looked_at
    assert not wrong.get(address), f"{address}: {wrong[address][0]}"
    times = seen[address]
    for number in range(TIMES):
        arguments = randomly_called(FUNCTIONS[address], number)
        if arguments is not None:
            result = FUNCTIONS[address](**arguments)
            checked(RULES[address], FUNCTIONS[address], arguments, list(result) if isinstance(result, Iterator) else result)
            times += 1
    assert times, f"no random input reaches {address}"


@EACH
def test_the_units_of_an_entry_are_those_of_the_quantities(address, units_found):
    assert not units_found.get(address), f"{address}: {'; '.join(dict.fromkeys(units_found[address]))}"


def test_a_wrong_equation_is_found():
    entry, function = RULES["line.cycle.time_per_load"], FUNCTIONS["line.cycle.time_per_load"]
    wrong = dataclasses.replace(entry.equations[0], expression="phase.time * phase.loads_between")
    arguments = randomly_called(function, 0)
    checked(entry, function, arguments, function(**arguments))
    with pytest.raises(AssertionError, match="the equation gives"):
        checked(dataclasses.replace(entry, equations=(wrong,)), function, arguments, function(**arguments))


def test_a_wrong_unit_is_found():
    value = units.quantity(2.0, "s*tool/load")
    assert other_units(value, "s*tool/load", "EUR") == []
    assert len(other_units(value, "s", "EUR")) == 1


def test_a_record_needs_an_equation_for_each_of_its_figures():
    function = FUNCTIONS["line.cycle.layer_growth"]
    entry = dataclasses.replace(RULES["line.cycle.layer_growth"], equations=RULES["line.cycle.layer_growth"].equations[:1])
    arguments = randomly_called(function, 0)
    with pytest.raises(AssertionError, match="no equation for"):
        checked(entry, function, arguments, function(**arguments))


def test_the_handbook_prints_every_rule_with_equation_and_source():
    page = handbook.as_markdown()
    for address in RULES:
        assert f"### {address}\n" in page
    assert "time per load = phase.time / phase.loads_between [s*tool/load]" in page


@pytest.mark.parametrize("text", ["no equals sign    [s]", "= 3 [s]"])
def test_a_line_that_is_no_equation_is_refused(text):
    def wrong() -> None:
        pass

    wrong.__doc__ = f"One sentence.\n\n        {text}\n\n    Source: none.\n    "
    with pytest.raises(ValueError, match="is no equation"):
        rule("line.x.wrong", wrong)
