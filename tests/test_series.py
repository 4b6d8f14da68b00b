"""Rows of columns: each operator and operation acts column by column, in all four readings, whatever stands on the left."""

import operator

import numpy as np
import pytest

from costmodel.core import operations, units
from costmodel.core.series import Row, constant
from costmodel.model.readings.cells import Cell, NotAnOperation
from costmodel.model.readings.quantities import WrongUnit, evaluate_with_units

from .cases import tiny

SYMBOLS = {
    "+": (operator.add, [5.0, 10.0], [5.0, 10.0]),
    "-": (operator.sub, [1.0, -4.0], [-1.0, 4.0]),
    "*": (operator.mul, [6.0, 21.0], [6.0, 21.0]),
    "/": (operator.truediv, [1.5, 3 / 7], [2 / 3, 7 / 3]),
}  # with 3 on the left of 2 and 7, and on their right
READINGS = {
    "number": (float, float),
    "array": (lambda x: np.array([x, x]), lambda x: x[1]),
    "quantity": (lambda x: units.quantity(x, "1"), lambda x: x.magnitude),
    "cell": (Cell, lambda x: x.value),
}


@pytest.fixture(scope="module", autouse=True)
def quantities_know_rows():
    evaluate_with_units(tiny())


@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("symbol", SYMBOLS)
def test_a_value_and_a_row_may_stand_on_either_side_in_every_reading(symbol, reading):
    apply, on_left, on_right = SYMBOLS[symbol]
    made, number = READINGS[reading]
    row, value = Row([made(2.0), made(7.0)]), made(3.0)
    assert [number(x) for x in apply(value, row)] == pytest.approx(on_left)
    assert [number(x) for x in apply(row, value)] == pytest.approx(on_right)
    assert isinstance(apply(value, row), Row)
    assert type(apply(value, row)[0]) is type(value)


@pytest.mark.parametrize("reading", READINGS)
def test_comparison_powers_and_signs_act_column_by_column_in_every_reading(reading):
    made, number = READINGS[reading]
    row, value = Row([made(2.0), made(7.0)]), made(3.0)
    larger = [operations.choose(each, made(1.0), made(0.0)) for each in row > value]
    assert [number(x) for x in larger] == [0.0, 1.0]
    assert [number(x) for x in operations.choose(value >= row, made(1.0), made(0.0))] == [1.0, 0.0]
    assert [number(x) for x in -row] == [-2.0, -7.0]
    assert [number(x) for x in row**2] == [4.0, 49.0]
    assert [number(x) for x in value ** Row([0, 1, 2])] == [1.0, 3.0, 9.0]


@pytest.mark.parametrize("reading", READINGS)
def test_operations_take_rows_beside_values_in_every_reading(reading):
    made, number = READINGS[reading]
    row, value = Row([made(2.0), made(7.0)]), made(3.0)

    def numbers(found):
        return [number(x) for x in found]

    assert numbers(operations.larger(value, row)) == numbers(operations.larger(row, value)) == [3.0, 7.0]
    assert numbers(operations.smaller(value, row)) == [2.0, 3.0]
    assert numbers(operations.safe_divide(row, value)) == pytest.approx([2 / 3, 7 / 3])
    assert numbers(operations.choose(row > value, row, value)) == [3.0, 7.0]
    assert numbers(operations.sum_of([row, row, value * row])) == [10.0, 35.0]
    assert number(operations.sum_of(row)) == 9.0
    assert number(operations.largest_of(row)) == 7.0
    assert numbers(row.running_sum()) == [2.0, 9.0]
    assert numbers(row.gains()) == [2.0, 5.0]


def test_rows_of_other_lengths_are_refused():
    for apply in (operator.add, operator.mul, operator.gt, operations.larger):
        with pytest.raises(ValueError, match=r"one length|shorter|longer"):
            apply(constant(1.0, 3), constant(1.0, 2))


def test_units_are_checked_in_each_column():
    metres, seconds = (Row([units.quantity(1.0, unit)] * 2) for unit in ("m", "s"))
    assert (metres / seconds)[1].units == units.unit("m/s")
    with pytest.raises(WrongUnit):
        operations.larger(metres, seconds)
    with pytest.raises(Exception, match="Cannot convert"):
        metres + seconds


def test_a_row_of_cells_remembers_each_column_and_takes_no_array():
    price, made = Cell(2.0), Row([Cell(3.0), Cell(4.0)])
    earned = price * made
    assert [(each.operation, each.arguments) for each in earned] == [("*", (price, made[0])), ("*", (price, made[1]))]
    with pytest.raises(NotAnOperation):
        made * np.array([1.0, 2.0])


def test_a_row_is_equal_to_a_list_of_its_values_and_gives_rows_of_its_parts():
    row = Row([1.0, 2.0, 3.0])
    assert row == [1.0, 2.0, 3.0] == list(row)
    assert row != (1.0, 2.0, 3.0)
    assert isinstance(row[1:], Row)
    assert (row[1:], row[-1], repr(row)) == ([2.0, 3.0], 3.0, "[1.0, 2.0, 3.0]")
    assert (row.earlier(0.0), row.later(9.0)) == ([0.0, 1.0, 2.0], [2.0, 3.0, 9.0])
