"""Every rule of the model has an entry in the handbook, and the equation that is printed there is what the function computes.

Equations are evaluated in two ways: on records and rows of random numbers where a rule takes nothing else, and on what the rules
are called with while whole cases with random inputs are evaluated, as numbers and as quantities with units.
"""
from __future__ import annotations

import dataclasses
import inspect
import re
import sys
import typing
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest

from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core import units
from costmodel.core.fields import Figure, declared
from costmodel.core.series import Row
from costmodel.model.evaluate import evaluate
from costmodel.model.readings.quantities import evaluate_with_units
from costmodel.present import handbook
from costmodel.present.handbook import ASSEMBLY, Rule, computes, model_functions, rule

from . import second_cases
from .batch import batch
from .cases import FIELD, Inputs, demo
from .foreign import foreign
from .growing import growing
from .handbook_equations import FUNCTIONS, Watched, checked, evaluated, random_case, randomly_called
from .laboratories import with_laboratory
from .plans import enlarged
from .terms import terms

RULES = {address: rule(address, function) for address, function in FUNCTIONS.items()}
EACH = pytest.mark.parametrize("address", FUNCTIONS)
TIMES = 25  # random inputs of a rule that takes only numbers, rows and records


CASES: dict[str, Callable[[], Case]] = {
    "facade": demo, "field": lambda: load_case(FIELD), "batch": batch, "foreign": foreign, "terms": terms, "growing": growing,
    "enlarged": enlarged, "laboratory": with_laboratory,
}  # fmt: skip
AS_THEY_ARE: dict[str, Callable[[], Inputs]] = second_cases.CASES  # random numbers would undo what each is for


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
    cases = [random_case(made(), seed) for seed, made in enumerate(CASES.values())]
    for case in (*cases, *(made().load() for made in AS_THEY_ARE.values())):
        with Watched(look) as watching:
            evaluate(case)
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


NOT_PUBLIC = {
    "ledger.depreciation._to_length": "fills a list with zeros, of which no value follows",
    "ledger.depreciation._tax_formula": "picks the rule of a method; years over which it is written off are years of the year",
    "ledger.ledger._views": "adds up lines, each total once",
}


@pytest.mark.parametrize("room", ["line", "ledger", "market"])
def test_no_rule_hides_in_a_private_function(room):
    package = f"costmodel.model.{room}."
    private = {
        f"{name.removeprefix('costmodel.model.')}.{function.__name__}"
        for name, module in sys.modules.items()
        if name.startswith(package)
        for function in vars(module).values()
        if inspect.isfunction(function) and function.__module__ == name and function.__name__.startswith("_") and computes(function)
    }
    assert private == {address for address in NOT_PUBLIC if address.startswith(f"{room}.")}


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
def test_the_equation_of_a_rule_is_what_it_computes_of_random_numbers(address):
    for number in range(TIMES):
        random_call_is_checked(address, number)


def random_call_is_checked(address: str, number: int) -> bool:
    """Hold a rule against its equation on random numbers; whether it takes any."""
    arguments = randomly_called(FUNCTIONS[address], number)
    if arguments is None:
        return False
    try:
        result = FUNCTIONS[address](**arguments)
    except ValueError:  # refused, as the least of none: an area that only our module may cover
        return False
    checked(RULES[address], FUNCTIONS[address], arguments, list(result) if isinstance(result, Iterator) else result)
    return True


@pytest.mark.slow
@EACH
def test_the_equation_of_a_rule_is_what_it_computes_in_whole_cases(address, looked_at):
    seen, wrong = looked_at
    assert not wrong.get(address), f"{address}: {wrong[address][0]}"
    assert seen[address] or any(random_call_is_checked(address, number) for number in range(TIMES)), f"no input reaches {address}"


@pytest.mark.slow
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
