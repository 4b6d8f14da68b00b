"""The model read as formulas: each value a cell that remembers how it came about.

A cell takes part in `+ - * / **`, comparison and the operations of `operations.py`. Anything else, `if cell:`, `max()`,
`float()` or another NumPy function, is refused, so that a step outside the closed list is found at once.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...case.addresses import map_inputs
from ...case.whole_case import Case, kept
from ...core import operations
from ...core.collecting import no_collecting
from ...core.operations import Value
from ..evaluate import STAGES, Results, figures, results_up_to

INFIX: dict[str, Callable[..., Value]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "**": operator.pow,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
    "negative": operator.neg,
}
UFUNCS = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
    "**": np.power,
    "<": np.less,
    "<=": np.less_equal,
    ">": np.greater,
    ">=": np.greater_equal,
    "==": np.equal,
    "!=": np.not_equal,
    "negative": np.negative,
}
_SYMBOLS = {ufunc: symbol for symbol, ufunc in UFUNCS.items()}
_PLAIN = (float, int, bool)
_BINDING = {"<": 0, "<=": 0, ">": 0, ">=": 0, "==": 0, "!=": 0, "+": 1, "-": 1, "*": 2, "/": 2, "**": 4}
_NEGATIVE = 3
_SUMS = ("sum_of", "+", "-", "negative")


class NotAnOperation(TypeError):
    """Something outside the closed list of operations touched a cell."""


class NoughtDivisor(ZeroDivisionError):
    """A division by a cell that is nought, or by a number that is; `divisor` is what was divided by."""

    def __init__(self, divisor: Any) -> None:
        super().__init__("division by nought")
        self.divisor = divisor


def _between(symbol: str) -> tuple[Callable, Callable]:
    """An operator between a cell and another cell or a plain number, and the same with the cell on the right."""
    operation = INFIX[symbol]

    def apply(left: Any, right: Any, cells: tuple[Any, Any]) -> Any:
        """The number that the operation gives."""
        try:
            return operation(left, right)
        except ZeroDivisionError:
            raise NoughtDivisor(cells[symbol == "/"]) from None  # of a power, its base

    def ask(a: Any, b: Any) -> Any:
        """What NumPy makes of both, unless one wants to do the operation itself, as a row does."""
        left_to_it = any(getattr(each, "__array_ufunc__", ()) is None for each in (a, b))
        return NotImplemented if left_to_it else UFUNCS[symbol](a, b)

    def forward(self: Cell, other: Any) -> Cell:
        """The operation with the cell on the left."""
        if isinstance(other, Cell):
            return Cell(apply(self.value, other.value, (self, other)), symbol, (self, other))
        return Cell(apply(self.value, other, (self, other)), symbol, (self, other)) if type(other) in _PLAIN else ask(self, other)

    def backward(self: Cell, other: Any) -> Cell:
        """The operation with the cell on the right."""
        return Cell(apply(other, self.value, (other, self)), symbol, (other, self)) if type(other) in _PLAIN else ask(other, self)

    return forward, backward


class Cell(np.lib.mixins.NDArrayOperatorsMixin):
    """A value with the operation and the arguments that made it; an input has neither.

    Operators between cells and plain numbers stand in the class, as a case has some hundred thousand of them; NumPy is asked about
    all else, so that its numbers take part and its arrays and functions are refused.
    """

    __slots__ = ("arguments", "nothing", "operation", "value")

    def __init__(self, value: float | bool, operation: str = "", arguments: tuple = ()):
        self.value, self.operation, self.arguments = value, operation, arguments
        self.nothing = operation == "*" and not (value > 0 or value < 0) and any(map(_is_nought, arguments))  # see `is_nothing`

    def __array_ufunc__(self, ufunc, method, *inputs, **keywords):
        if method != "__call__" or keywords or ufunc not in _SYMBOLS:
            raise NotAnOperation(f"numpy.{ufunc.__name__} on a cell; allowed: + - * / **, comparison and costmodel.core.operations")
        for value in inputs:
            if not isinstance(value, (Cell, np.number, np.bool_, *_PLAIN)):
                found = "an array" if isinstance(value, np.ndarray) else f"{value!r}"
                raise NotAnOperation(f"{found} and a cell in one operation; allowed: numbers and cells")
        symbol = _SYMBOLS[ufunc]
        return Cell(INFIX[symbol](*[_plain(value) for value in inputs]), symbol, inputs)

    __add__, __radd__ = _between("+")
    __sub__, __rsub__ = _between("-")
    __mul__, __rmul__ = _between("*")
    __truediv__, __rtruediv__ = _between("/")
    __pow__, __rpow__ = _between("**")
    __lt__, __gt__, __le__, __ge__ = (_between(symbol)[0] for symbol in ("<", ">", "<=", ">="))
    __eq__, __ne__ = (_between(symbol)[0] for symbol in ("==", "!="))

    def __neg__(self) -> Cell:
        return Cell(-self.value, "negative", (self,))

    def __array_function__(self, function, types, arguments, keywords):
        raise NotAnOperation(f"numpy.{function.__name__} on a cell; allowed: the functions of core.operations")

    def _refuse(self, *_):
        raise NotAnOperation(
            "a cell where Python wants a plain value, as in `if`, max() or float(); allowed: the functions of core.operations"
        )

    __bool__ = __float__ = __int__ = __index__ = __round__ = __ceil__ = __floor__ = __trunc__ = __array__ = _refuse
    __len__ = __iter__ = _refuse
    __hash__ = object.__hash__


def _number(value: Any) -> Any:
    return value.value if isinstance(value, Cell) else value


def _plain(value: Any) -> Any:
    """The number of a cell, or of NumPy, as Python has it."""
    number = _number(value)
    return number.item() if isinstance(number, np.generic) else number


def is_nothing(value: Any) -> bool:
    """Whether a value is a product with a plain 0, which gives an empty sum its unit: 0, and depends on nothing.

    >>> is_nothing(0.0 * Cell(3.0) * Cell(2.0)), is_nothing(Cell(0.0) * 2.0)
    (True, False)
    """
    return isinstance(value, Cell) and value.nothing


def _is_nought(value: Any) -> bool:
    """Whether a factor is a plain 0, or nothing itself."""
    return value.nothing if isinstance(value, Cell) else value == 0


def perform(name: str, arguments: tuple) -> Cell:
    """An operation of the closed list on cells: the value as a number gives it, and the record of how it came about."""
    numbers = [_number(value) for value in arguments]
    operation = getattr(operations, name)
    result = operation(numbers) if name in operations.SEQUENCES else operation(*numbers)
    return Cell(result, name, arguments)


operations.PERFORMERS[Cell] = perform


@dataclass(frozen=True, slots=True)
class Term:
    """A part of a sum: its text in names, its value, its address where it has one, and the names in it where it has none."""

    text: str
    value: float
    address: str
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """Every input and figure of a case by address, as a cell or a plain number, and its formula in other addresses.

    `case` and `results` are the records that hold these cells.
    """

    inputs: Mapping[str, Cell]
    figures: Mapping[str, Value]
    names: Mapping[int, str]
    case: Case | None = None
    results: Results | None = None

    def value(self, address: str) -> float:
        """The number at an address."""
        return _number(self.inputs[address] if address in self.inputs else self.figures[address])

    def formula(self, address: str) -> str:
        """How a figure follows from named figures and inputs, in the notation of Python; of a plain number, the number.

        >>> from costmodel.case.load import load_case
        >>> sheet = read_as_cells(load_case("inputs_demo/facade"))
        >>> sheet.formula("line.output.plate_area")
        'product.length * product.width'
        """
        cell = self.figures[address]
        if not isinstance(cell, Cell):
            return repr(cell)
        if not cell.operation and self.names[id(cell)] == address:
            return repr(cell.value)
        if self.names[id(cell)] != address:
            return self.names[id(cell)]
        return self._operation(cell)[0]

    def _operation(self, cell: Cell) -> tuple[str, int]:
        """A cell's own operation as text, and how strongly it binds."""
        if cell.operation == "negative":
            return "-" + self._operand(cell.arguments[0], _NEGATIVE), _NEGATIVE
        if cell.operation in _BINDING:
            binds = _BINDING[cell.operation]
            left, right = cell.arguments
            inner_left = binds + (cell.operation == "**")
            return f"{self._operand(left, inner_left)} {cell.operation} {self._operand(right, binds + 1)}", binds
        arguments = [value for value in cell.arguments if cell.operation != "sum_of" or not self._left_out(value)] or [0.0]
        return f"{cell.operation}({', '.join(self._operand(value, 0) for value in arguments)})", 9

    def _operand(self, value: Any, at_least: int) -> str:
        if not isinstance(value, Cell):
            text, binds = repr(value), 9 if value >= 0 else _NEGATIVE
        elif id(value) in self.names:
            return self.names[id(value)]
        elif is_nothing(value):
            return "0.0"
        else:
            text, binds = self._operation(value)
        return f"({text})" if binds < at_least else text

    def _left_out(self, value: Any) -> bool:
        return id(value) not in self.names and is_nothing(value)

    def needs(self, address: str) -> Iterator[str]:
        """The addresses that the formula of a figure names, in the order of the formula."""
        cell = self.figures.get(address)
        if isinstance(cell, Cell):
            if self.names[id(cell)] != address:
                yield self.names[id(cell)]
            else:
                yield from dict.fromkeys(self._named_below(cell))

    def used_inputs(self) -> set[str]:
        """The inputs on which any figure depends; each cell is met once.

        >>> from costmodel.case.load import load_case
        >>> sheet = read_as_cells(load_case("inputs_demo/facade"))
        >>> "prices.silane.price" in sheet.used_inputs(), sheet.used_inputs() <= set(sheet.inputs)
        (True, True)
        """
        waiting = [cell for cell in self.figures.values() if isinstance(cell, Cell)]
        seen = set(map(id, waiting))
        while waiting:
            for value in waiting.pop().arguments:
                if isinstance(value, Cell) and id(value) not in seen:
                    seen.add(id(value))
                    if not is_nothing(value):
                        waiting.append(value)
        return {address for address, cell in self.inputs.items() if id(cell) in seen}

    def terms(self, address: str) -> list[Term]:
        """The parts that a figure is the sum of, those to subtract as negative values; none where it is no sum.

        >>> from costmodel.case.load import load_case
        >>> sheet = read_as_cells(load_case("inputs_demo/facade"))
        >>> sheet.terms("line.output.plate_area")
        []
        >>> len(sheet.terms("ledger.total.cost")) == len([a for a in sheet.figures if a.endswith(".cost") and ".lines." in a])
        True
        """
        cell = self.figures.get(address)
        if not isinstance(cell, Cell) or self.names[id(cell)] != address or cell.operation not in _SUMS:
            return []
        return [
            Term(("-" if sign < 0 else "") + self._operand(value, 2), sign * _number(value), self._name(value), self._inside(value))
            for sign, value in self._terms_below(cell, 1)
        ]

    def _terms_below(self, cell: Cell, sign: int) -> Iterator[tuple[int, Any]]:
        signs = {"-": (sign, -sign), "negative": (-sign,)}.get(cell.operation, (sign,) * len(cell.arguments))
        for below, value in zip(signs, cell.arguments):
            if isinstance(value, Cell) and id(value) not in self.names and value.operation in _SUMS:
                yield from self._terms_below(value, below)
            elif not self._left_out(value):
                yield below, value

    def _name(self, value: Any) -> str:
        return self.names.get(id(value), "") if isinstance(value, Cell) else ""

    def _inside(self, value: Any) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self._named_below(value))) if isinstance(value, Cell) and not self._name(value) else ()

    def _named_below(self, cell: Cell) -> Iterator[str]:
        """Every name in the formula of a cell, in the order of the formula; what stands in it twice is opened once."""
        waiting, seen = list(reversed(cell.arguments)), set()
        while waiting:
            value = waiting.pop()
            if isinstance(value, Cell) and id(value) not in seen:
                seen.add(id(value))
                if id(value) in self.names:
                    yield self.names[id(value)]
                elif not is_nothing(value):
                    waiting += reversed(value.arguments)


def read_as_cells(case: Case, stage: str = STAGES[-1]) -> Sheet:
    """A case evaluated with cells up to a stage, once for each case; each cell is named by the first address at which it stands."""
    return kept(case, f"cells up to the {stage}", lambda: _read_as_cells(case, stage))


def _read_as_cells(case: Case, stage: str) -> Sheet:
    inputs: dict[str, Cell] = {}

    def as_cell(address: str, value: Value, _unit: str) -> Cell:
        """The cell of an input, kept under its address."""
        inputs[address] = Cell(value)
        return inputs[address]

    case_of_cells = map_inputs(case, as_cell)
    with no_collecting():
        results = results_up_to(case_of_cells, stage)
    found = {address: value for address, value, _, _ in figures(results, case.currency)}
    names: dict[int, str] = {}
    for address, value in {**inputs, **found}.items():
        if isinstance(value, Cell):
            names.setdefault(id(value), address)
    return Sheet(inputs, found, names, case_of_cells, results)
