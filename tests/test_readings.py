"""The model read as numbers, arrays, quantities and cells gives the same figures, and each reading refuses misuse."""
from __future__ import annotations

import dataclasses
import functools
import math
import re
from collections.abc import Callable

import numpy as np
import pint
import pytest

from costmodel.case.addresses import input_at, numeric_inputs
from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case
from costmodel.core import operations, units
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.ledger import ledger
from costmodel.model.readings.cells import Cell, NotAnOperation, Sheet, read_as_cells
from costmodel.model.readings.quantities import WrongUnit, evaluate_with_units, wrong_units

from .batch import batch
from .cases import demo, tiny
from .deal_money_laws import dealt
from .evaluator import evaluated, names, recalculated
from .foreign import foreign
from .growing import growing
from .identities import frozen
from .scaling_laws import steps_on_carriers, tools_with_loads_of_one_size, with_target
from .terms import terms
from .test_closing import early

DRAWS = 7
LARGE = pytest.param(demo, marks=pytest.mark.slow)  # the demo takes as long as all others several times over
CASES = pytest.mark.parametrize("case", [LARGE, dealt, early, tiny, batch, foreign, terms, growing], ids=lambda case: case.__name__)


def numbers(case: Case) -> dict[str, float]:
    """Every figure of a case by address."""
    return {address: value for address, value, _, _ in figures(evaluate(case), case.currency)}


@functools.lru_cache(maxsize=32)
def in_mode(case: Callable[[], Case], mode: int) -> Case:
    """A case sized (0) or frozen (1), sized for a target in area (2) or in modules (3), or as bought (4)."""
    output = evaluate(case()).line.output
    made = (case, lambda: frozen(case()), lambda: with_target(case(), "m2", output.good_area),
            lambda: with_target(case(), "module", output.good_modules), lambda: as_bought(case()))
    return made[mode]()


def in_modes(*cases: Callable[[], Case]) -> pytest.MarkDecorator:
    """Cases in every mode; the demo only as bought, as it takes longest and the others meet all modes."""
    names = ("sized", "frozen", "area", "modules", "as_bought")
    pairs = [
        pytest.param(case, mode, id=f"{case.__name__}-{name}", marks=[pytest.mark.slow] if mode or case is demo else [])
        for case in cases
        for mode, name in enumerate(names)
        if case is not demo or name == "as_bought"
    ]
    return pytest.mark.parametrize(("case", "mode"), pairs)


IN_MODES = in_modes(demo, dealt, early, tiny, batch, foreign, terms, growing)


def nearly(found: float, wanted: float, scale: float = 0.0) -> bool:
    return abs(found - wanted) <= 1e-12 * max(abs(wanted), scale) or (found != found and wanted != wanted)


def scale_of(address: str, case_numbers: dict[str, float]) -> float:
    """What a figure is small against: a check is a difference of large figures, any other stands for itself."""
    if address.endswith(".levelised_less_reference"):
        return case_numbers[address.replace("levelised_less_reference", "reference_levelised_cost")]
    if address.endswith(".area.annual_worth_less_best"):
        place = address.removesuffix("area.annual_worth_less_best")
        ours = case_numbers[f"{place}area.present_value_before_price"] / case_numbers[f"{place}ours.discounted_life"]
        return abs(case_numbers[f"{place}area.best_annual_worth"]) + abs(ours)
    if address.startswith(("plan.", "deal.")):  # cash is a difference of larger cash; times and rates stand for themselves
        scales = {"irr": 1e3, "mirr": 1e3, "dscr": 1e3, "payback": 1e9, "discounted_payback": 1e9, "licensor_share": 1e3}
        return scales.get(address.rsplit(".", 1)[1], 100 * case_numbers.get("plan.capital", 0.0))
    if not address.startswith("ledger.checks."):
        return 0.0
    return case_numbers["ledger.total.cost"] if "less" in address else case_numbers["line.output.plates_started"]


def drawn(case: Case) -> dict[str, np.ndarray]:
    """Draws within 4 % of every numeric input, cut to its range.

    The reporting currency keeps its rate of 1, shares that add up to 100 % stay, and power classes their order.
    On a carrier, loads have one size and all plates go through each step.
    """
    random = np.random.default_rng(20261102)
    whole = {f"steps.{step}.processed_share" for step in steps_on_carriers(case)} | {f"money.{case.currency.lower()}.exchange_rate"}
    draws, adding_up = {}, ("constants.", "tax_rates.", "payments.")
    bound = (".output_share", ".part_of_year", ".least_power")
    for address, value, _, _ in numeric_inputs(case):
        if address.startswith(adding_up) or address.endswith(bound) or address in whole:
            continue
        declaration, _ = input_at(case, address)
        low = -math.inf if declaration.low is None else declaration.low
        high = math.inf if declaration.high is None else declaration.high
        draws[address] = np.clip(value * random.uniform(0.96, 1.04, DRAWS), low, high)
    for tools in tools_with_loads_of_one_size(case):
        first, *others = sorted(tools)
        draws |= {f"tools.{tool}.load_size": draws[f"tools.{first}.load_size"] for tool in others}
    return draws


# arrays


@pytest.mark.parametrize("mode", range(2), ids=["sized", "frozen"])
@CASES
def test_every_figure_of_an_array_is_the_number_draw_by_draw(case, mode):
    case = in_mode(case, mode)
    draws = drawn(case)
    assert len(draws) > 0.9 * len([a for a, *_ in numeric_inputs(case) if not a.startswith("constants.")])
    arrays = numbers(with_values(case, draws))
    off = []
    for draw in range(DRAWS):
        each = numbers(with_values(case, {address: float(values[draw]) for address, values in draws.items()}))
        assert list(each) == list(arrays)
        off += [(draw, address) for address, wanted in each.items()
                if not nearly(float(np.broadcast_to(arrays[address], DRAWS)[draw]), wanted, scale_of(address, each))]
    assert off == []


def test_draws_differ_in_the_number_of_tools():
    arrays = evaluate(with_values(demo(), drawn(demo()))).line.tools
    assert [name for name, use in arrays.items() if len(set(use.tools)) > 1]


def test_inputs_that_do_not_vary_stay_numbers():
    found = numbers(with_values(demo(), {"prices.silane.price": np.array([50.0, 60.0])}))
    assert isinstance(found["line.output.good_modules"], float)
    assert found["ledger.total.cost"].shape == (2,)


@pytest.mark.parametrize(("address", "draws", "message"), [
    ("steps.deposition.first_pass_yield", [0.9, 1.2], "found 120 %; allowed: a number above 0 to 100 [%]"),
    ("steps.deposition.first_pass_yield", [-0.1, 0.9], "found -10 %; allowed: a number above 0 to 100 [%]"),
    ("tools.coater.life", [3e7, 0.0], "found 0 year; allowed: a number above 0 [year]"),
    ("prices.silane.price", [50.0, math.inf], "found inf USD/kg; allowed: a number from 0 [USD/kg]"),
    ("prices.silane.price", [50.0, math.nan], "found nan USD/kg; allowed: a number from 0 [USD/kg]"),
])
def test_a_draw_out_of_range_is_refused(address, draws, message):
    with pytest.raises(InputFaults) as problem:
        with_values(demo(), {address: np.array(draws)})
    assert [str(fault) for fault in problem.value.faults] == [f"changes, '{address}': {message}"]


# quantities


@IN_MODES
def test_quantities_have_the_declared_units_and_the_magnitudes_of_the_numbers(case, mode):
    case = in_mode(case, mode)
    assert wrong_units(case) == []
    found = {address: getattr(value, "magnitude", value)
             for address, value, _, _ in figures(evaluate_with_units(case), case.currency)}
    wanted = numbers(case)
    assert list(found) == list(wanted)
    assert [a for a, value in wanted.items() if not nearly(found[a], value, scale_of(a, wanted))] == []


def test_a_figure_in_another_unit_than_declared_is_named(monkeypatch):
    right = ledger.on_every_basis

    def per_plate(cost, output):
        return dataclasses.replace(right(cost, output), cost_per_module=cost / output.good_plates)

    monkeypatch.setattr(ledger, "on_every_basis", per_plate)
    wrong = wrong_units(dataclasses.replace(tiny()))  # a copy, as what was evaluated of a case is kept with it
    assert wrong[0] == "ledger.total.cost_per_module is in EUR / plate; declared: EUR/module"
    assert {message.split(" is in ")[0].rsplit(".", 1)[1] for message in wrong} == {"cost_per_module"}


def test_quantities_refuse_a_ceiling_of_a_time():
    evaluate_with_units(tiny())
    with pytest.raises(WrongUnit, match=r"whole_up of a value in second; allowed: a count, tool, load, person, "):
        operations.whole_up(units.quantity(5.0, "s"))


@pytest.mark.parametrize("name", ["exp", "normal_cdf", "normal_quantile"])
def test_quantities_refuse_a_function_of_plain_numbers_on_a_time(name):
    evaluate_with_units(tiny())
    with pytest.raises(WrongUnit, match=rf"{name} of a value in second; allowed: a plain number"):
        getattr(operations, name)(units.quantity(5.0, "s"))
    assert getattr(operations, name)(units.quantity(0.5, "%")).units == units.registry().dimensionless


@pytest.mark.parametrize("name", ["larger", "smaller"])
def test_quantities_refuse_to_compare_euro_with_seconds(name):
    evaluate_with_units(tiny())
    with pytest.raises(WrongUnit, match=rf"{name} of values in EUR and second; allowed: one unit"):
        getattr(operations, name)(units.quantity(5.0, "EUR"), units.quantity(5.0, "s"))


def test_quantities_refuse_to_add_euro_to_seconds():
    evaluate_with_units(tiny())
    euro, time = units.quantity(5.0, "EUR"), units.quantity(5.0, "s")
    with pytest.raises(pint.DimensionalityError, match=r"Cannot convert from 'EUR' .* to 'second'"):
        euro + time
    with pytest.raises(WrongUnit, match=r"sum_of of values in EUR and second; allowed: one unit"):
        operations.sum_of([euro, time])
    with pytest.raises(WrongUnit, match=r"choose of values in EUR and second; allowed: one unit"):
        operations.choose(True, euro, time)


def test_plates_do_not_pass_for_modules_nor_initial_for_stabilised_watts():
    for one, other in (("plate", "module"), ("Wp_initial", "Wp_stabilised"), ("W", "Wp_initial"), ("EUR", "USD")):
        with pytest.raises(pint.DimensionalityError, match=f"Cannot convert from .* to '{other}'"):
            units.quantity(1.0, one) + units.quantity(1.0, other)


# cells


@in_modes(dealt, early, tiny, batch, foreign, terms, growing)  # a spreadsheet recalculates those of the demo
@pytest.mark.slow
def test_formulas_evaluated_by_another_evaluator_give_the_numbers(case, mode):
    case = in_mode(case, mode)
    sheet = read_as_cells(case)
    formulas = {address: sheet.formula(address) for address in sheet.figures}
    found = recalculated(formulas, {address: value for address, value, _, _ in numeric_inputs(case)})
    wanted = numbers(case)
    assert list(found) == list(wanted)
    assert [a for a, value in wanted.items() if not nearly(found[a], value, scale_of(a, wanted))] == []


@in_modes(dealt)
def test_every_name_in_a_formula_is_an_input_or_a_figure(case, mode):
    case = in_mode(case, mode)
    sheet = read_as_cells(case)
    known = {address for address, *_ in numeric_inputs(case)} | set(numbers(case))
    for address in sheet.figures:
        if re.search(r"\.q\d", address) and not re.search(r"\.q0(00|01|02|30|60)\b", address):
            continue  # formulas of other quarters are like these, and another evaluator takes them all
        named = names(sheet.formula(address))
        assert named <= known, address
        assert named == set(sheet.needs(address)), address


@pytest.mark.slow
def test_formulas_follow_the_inputs_when_these_change():
    sheet = read_as_cells(dealt())
    formulas = {address: sheet.formula(address) for address in sheet.figures}
    changed = with_values(dealt(), {"steps.coat.first_pass_yield": 0.8, "prices.silane.price": 90.0, "site.crews": 5.0})
    found = recalculated(formulas, {address: value for address, value, _, _ in numeric_inputs(changed)})
    wanted = numbers(changed)
    assert [a for a, value in wanted.items() if not nearly(found[a], value, scale_of(a, wanted))] == []


A, B, C = 7.25, 2.5, -1.5
EXPRESSIONS = {
    "difference of a difference": (lambda a, b, c: a - (b - c), A - (B - C)),
    "quotient of a quotient": (lambda a, b, c: a / (b / c), A / (B / C)),
    "power of a power": (lambda a, b, c: (a ** b) ** 2, (A ** B) ** 2),
    "power in an exponent": (lambda a, b, c: a ** (b ** 2), A ** (B ** 2)),
    "power of a negative": (lambda a, b, c: (-a) ** 2, 52.5625),
    "negative of a power": (lambda a, b, c: -(a ** 2), -52.5625),
    "negative number": (lambda a, b, c: a * -3.0 - -2.0, -19.75),
    "number on the left": (lambda a, b, c: 1 - a / (1 + b), 1 - 7.25 / 3.5),
    "larger": (lambda a, b, c: operations.larger(a - b, c), 4.75),
    "smaller": (lambda a, b, c: operations.smaller(a - b, c) * 2, -3.0),
    "least": (lambda a, b, c: operations.least_of([a, b, c]), -1.5),
    "sum": (lambda a, b, c: operations.sum_of([a, b, c, 1.0]), 9.25),
    "choose the first": (lambda a, b, c: operations.choose(a > b, a * 2, b), 14.5),
    "choose the second": (lambda a, b, c: operations.choose(a <= b, a, b + c), 1.0),
    "value where it holds": (lambda a, b, c: operations.valid_if(a > b, a * 2), 14.5),
    "no value elsewhere": (lambda a, b, c: operations.choose(a > b, a, operations.valid_if(a < b, b)), A),
    "division by zero": (lambda a, b, c: operations.safe_divide(a, b - 2.5), 0.0),
    "division": (lambda a, b, c: operations.safe_divide(a, b), 2.9),
    "rounding up": (lambda a, b, c: operations.whole_up(a / b), 3.0),
    "exponential": (lambda a, b, c: operations.exp(-(c ** 2) / 2) * a, A * math.exp(-1.125)),
    "normal distribution": (lambda a, b, c: 1 - operations.normal_cdf(b - 2.5), 0.5),
    "normal quantile": (lambda a, b, c: operations.normal_quantile(b - 2.0), 0.0),
    # of one degree of freedom, tan(pi / 4) = 1
    "Student's quantile": (lambda a, b, c: operations.whole_up(operations.student_t_quantile(b - 1.75, a - 5.5) + 0.25), 2.0),
}


@pytest.mark.parametrize("name", EXPRESSIONS)
def test_formula_of_every_operation_keeps_its_meaning(name):
    made, wanted = EXPRESSIONS[name]
    inputs = {"x.a": Cell(A), "x.b": Cell(B), "x.c": Cell(C)}
    cell = made(*inputs.values())
    sheet = Sheet(inputs, {"y": cell}, {id(cell): "y"} | {id(value): address for address, value in inputs.items()})
    assert cell.value == pytest.approx(wanted, rel=1e-15)
    assert evaluated(sheet.formula("y"), sheet.value) == cell.value
    assert made(A, B, C) == cell.value


PLAIN = r"a cell where Python wants a plain value, as in `if`, max\(\) or float\(\); allowed: the functions of "
ARRAY = "an array and a cell in one operation; allowed: numbers and cells"
ON_A_CELL = r"numpy\.{} on a cell; allowed: "
MISUSE = {
    "if": (lambda cell: 1 if cell else 2, PLAIN),
    "comparison in if": (lambda cell: 1 if cell > 2 else 2, PLAIN),
    "max": (lambda cell: max(cell, 2.0), PLAIN),
    "min": (lambda cell: min(cell, cell), PLAIN),
    "and": (lambda cell: cell and 2.0, PLAIN),
    "float": (lambda cell: float(cell), PLAIN),
    "int": (lambda cell: int(cell), PLAIN),
    "round": (lambda cell: round(cell), PLAIN),
    "math.ceil": (lambda cell: math.ceil(cell), PLAIN),
    "math.sqrt": (lambda cell: math.sqrt(cell), PLAIN),
    "list": (lambda cell: list(cell), PLAIN),
    "for": (lambda cell: [x for x in cell], PLAIN),  # noqa: C416  (the loop itself is tried)
    "len": (lambda cell: len(cell), PLAIN),
    "np.asarray": (lambda cell: np.asarray(cell), PLAIN),
    "np.ceil": (lambda cell: np.ceil(cell), ON_A_CELL.format("ceil")),
    "np.maximum": (lambda cell: np.maximum(cell, 2.0), ON_A_CELL.format("maximum")),
    "np.sqrt": (lambda cell: np.sqrt(cell), ON_A_CELL.format("sqrt")),
    "np.add.reduce": (lambda cell: np.add.reduce(cell), ON_A_CELL.format("add")),
    "np.round": (lambda cell: np.round(cell), ON_A_CELL.format("round")),
    "np.where": (lambda cell: np.where(cell > 2, 1.0, 2.0), ON_A_CELL.format("where")),
    "np.sum": (lambda cell: np.sum(cell), ON_A_CELL.format("sum")),
    "np.sum of a list": (lambda cell: np.sum([cell, cell]), PLAIN),
    "floor division": (lambda cell: cell // 2, ON_A_CELL.format("floor_divide")),
    "remainder": (lambda cell: cell % 2, ON_A_CELL.format("remainder")),
    "abs": (lambda cell: abs(cell), ON_A_CELL.format("absolute")),
    "array on the right": (lambda cell: cell * np.array([1.0, 2.0]), ARRAY),
    "array on the left": (lambda cell: np.array([1.0, 2.0]) * cell, ARRAY),
    "text": (lambda cell: cell == "sized", "'sized' and a cell in one operation; allowed: numbers and cells"),
    "text on the left": (lambda cell: "sized" + cell, "'sized' and a cell in one operation"),
    "nothing": (lambda cell: cell + None, "None and a cell in one operation"),
}


@pytest.mark.parametrize("name", MISUSE)
def test_a_cell_refuses_what_is_outside_the_closed_list(name):
    attempt, message = MISUSE[name]
    with pytest.raises(NotAnOperation, match=message):
        attempt(Cell(3.0))


# rounding up: 87,500 passes of the saw x 108 s = 2,625 h, exactly 3 times 875 h

EXACTLY_THREE = 108.0
BOUNDARY = {1.0: 3.0, 1 + 1e-6: 4.0, 1 - 1e-6: 3.0, 1 + 1e-10 / 3: 3.0}
CYCLE = "steps.cut.process_time"


@pytest.mark.parametrize(("factor", "tools"), BOUNDARY.items(),
                         ids=["exact", "millionth_more", "millionth_less", "3.0000000001"])
def test_three_tools_are_three_in_number_quantity_and_cell(factor, tools):
    case = with_values(tiny(), {CYCLE: EXACTLY_THREE * factor})
    assert evaluate(case).line.tools["saw"].tools == tools
    assert evaluate_with_units(case).line.tools["saw"].tools.magnitude == tools
    assert read_as_cells(case).value("line.tools.saw.tools") == tools


def test_three_tools_are_three_in_an_array():
    case = with_values(tiny(), {CYCLE: EXACTLY_THREE * np.array(list(BOUNDARY))})
    assert list(evaluate(case).line.tools["saw"].tools) == list(BOUNDARY.values())


@pytest.mark.parametrize(("needed", "tools"), [
    (3.0, 3.0), (3.0000000001, 3.0), (3.000001, 4.0), (2.999999, 3.0), (0.0, 0.0)])
def test_whole_up_is_the_same_in_every_reading(needed, tools):
    evaluate_with_units(tiny())
    assert operations.whole_up(needed) == tools
    assert list(operations.whole_up(np.array([needed, needed]))) == [tools, tools]
    assert operations.whole_up(units.quantity(needed, "tool")).magnitude == tools
    assert operations.whole_up(Cell(needed)).value == tools


def test_the_normal_distribution_is_that_of_tables_in_numbers_and_arrays():
    # standard normal table, from memory: 0.8413, 0.9332 and 0.9750 at 1, 1.5 and 1.96
    assert [round(operations.normal_cdf(x), 4) for x in (1.0, 1.5, 1.96)] == [0.8413, 0.9332, 0.975]
    assert list(operations.normal_cdf(np.array([-1.5, 1.5]))) == [operations.normal_cdf(x) for x in (-1.5, 1.5)]
    assert list(operations.exp(np.array([0.0, 1.0]))) == [1.0, math.e]


def test_safe_divide_by_zero_is_zero_draw_by_draw():
    assert list(operations.safe_divide(np.array([1.0, 2.0]), np.array([0.0, 4.0]))) == [0.0, 0.5]


def test_quantiles_are_those_of_tables_in_every_reading():
    # t tables: 2.262, 2.093 and 12.706 at 97.5 % for 9, 19 and 1 degrees of freedom, from memory; normal 1.960
    evaluate_with_units(tiny())
    table = {9.0: 2.262, 19.0: 2.093, 1.0: 12.706}
    for freedom, wanted in table.items():
        found = operations.student_t_quantile(0.975, freedom)
        assert round(found, 3) == wanted
        quantity = operations.student_t_quantile(units.quantity(0.975, "1"), units.quantity(freedom, "1"))
        assert (quantity.magnitude, quantity.units) == (found, units.registry().dimensionless)
        assert operations.student_t_quantile(Cell(0.975), Cell(freedom)).value == found
    assert [round(x, 3) for x in operations.student_t_quantile(0.975, np.array(list(table)))] == list(table.values())
    assert round(operations.normal_quantile(0.975), 3) == 1.96
    assert list(operations.normal_quantile(np.array([0.5, 0.975]))) == [0.0, operations.normal_quantile(0.975)]


@pytest.mark.parametrize(("freedom", "counted"), [(9.9, 9.0), (9.9999999999, 10.0), (10.0, 10.0), (0.4, 1.0)])
def test_degrees_of_freedom_count_whole_in_every_reading(freedom, counted):
    evaluate_with_units(tiny())
    wanted = operations.student_t_quantile(0.9, counted)
    assert operations.student_t_quantile(0.9, freedom) == wanted
    assert list(operations.student_t_quantile(0.9, np.array([freedom, counted]))) == [wanted, wanted]
    assert operations.student_t_quantile(0.9, units.quantity(freedom, "1")).magnitude == wanted
    assert operations.student_t_quantile(0.9, Cell(freedom)).value == wanted
