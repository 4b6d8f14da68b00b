"""The formula of a figure in the notation of spreadsheets. Each operation of the model has one definition here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from ...core.operations import DECIMALS
from ...model.readings.cells import Cell, Sheet, is_nothing

LONGEST = 4000  # characters; Excel takes 8,192
MOST_ARGUMENTS = 200  # Excel takes 255
DEEPEST = 40  # functions in one another; Excel takes 64
_TWICE = 60  # an operand that stands twice in a formula gets a cell of its own if it is longer than this
_SHARED = 200  # and so does one that several formulas use

_SIGNS = {"<": ("<", 0), "<=": ("<=", 0), ">": (">", 0), ">=": (">=", 0), "==": ("=", 0), "!=": ("<>", 0)}
_SIGNS |= {"+": ("+", 1), "-": ("-", 1), "*": ("*", 2), "/": ("/", 2), "**": ("^", 3)}
_WHOLE = 9  # binds more strongly than any sign

FUNCTIONS: Mapping[str, Callable[..., str]] = {
    "whole_up": lambda x: f"-INT(-ROUND({x},{DECIMALS}))",  # ROUNDUP goes away from zero, so it would differ below zero
    "larger": lambda a, b: f"MAX({a},{b})",
    "smaller": lambda a, b: f"MIN({a},{b})",
    "choose": lambda condition, a, b: f"IF({condition},{a},{b})",
    "valid_if": lambda condition, a: f"IF({condition},{a},NA())",
    "safe_divide": lambda a, b: f"IF({b}=0,0,{a}/{b})",
    "sum_of": lambda *values: f"SUM({','.join(values)})",
    "exp": lambda x: f"EXP({x})",
    "log": lambda x: f"LN({x})",
    "normal_cdf": lambda x: f"_xlfn.NORM.S.DIST({x},TRUE)",
    "normal_quantile": lambda share: f"_xlfn.NORM.S.INV({share})",
    "student_t_quantile": lambda share, freedom: f"_xlfn.T.INV({share},MAX(INT(ROUND({freedom},{DECIMALS})),1))",
}
RATES = ("irr", "irr_count")  # found on a sheet of their own, see rates.py


class NoFormula(ValueError):
    """An operation of the model that has no spreadsheet formula yet; the message names the place for one."""


@dataclass(slots=True)
class _Text:
    """A formula without its sign `=`, how strongly it binds, and how many functions stand in one another; never changed."""

    text: str
    binds: int = _WHOLE
    depth: int = 0


@dataclass(frozen=True, slots=True)
class Helper:
    """A cell that holds a part of a formula which is too long, or is used several times."""

    cell: str
    formula: str
    value: float
    used_by: str


@dataclass(frozen=True, slots=True)
class Flows:
    """Cash flows of an internal rate of return, as formulas and as values."""

    formulas: tuple[str, ...]
    values: tuple[float, ...]
    used_by: str


class Formulas:
    """Writes formulas of a sheet in the names of its cells, with helper cells where a formula would be too long.

    Attributes: `helpers`, in the order in which they must stand from `helper_cell(0)` on; `flows`, whose rates and their number
    must stand at `rate_cell(0, "irr")` and `rate_cell(0, "irr_count")` and so on.
    """

    def __init__(
        self, sheet: Sheet, names: Mapping[str, str], helper_cell: Callable[[int], str], rate_cell: Callable[[int, str], str]
    ):
        self.sheet, self.names, self.helper_cell, self.rate_cell = sheet, names, helper_cell, rate_cell
        self.helpers: list[Helper] = []
        self.flows: list[Flows] = []
        self._flows_made: dict[tuple[int, ...], int] = {}
        self._made: dict[int, _Text] = {}
        self._uses = _uses(sheet)
        self._current = ""

    def of(self, address: str) -> str | None:
        """The formula of a figure with its sign `=`, or None where the figure is a plain number.

        Raises NoFormula.
        """
        cell = self.sheet.figures[address]
        if not isinstance(cell, Cell) or not (cell.operation or address != self.sheet.names[id(cell)]):
            return None
        self._current = address
        name = self.sheet.names[id(cell)]
        return f"={self.names[name] if name != address else self._operation(cell).text}"

    def _operation(self, cell: Cell) -> _Text:
        """A cell's own operation."""
        if cell.operation == "negative":
            (value,) = cell.arguments
            inner = self._operand(value)
            return _Text(f"-{_bracketed(inner, _WHOLE)}", 1, inner.depth)
        if cell.operation in _SIGNS:
            sign, binds = _SIGNS[cell.operation]
            left, right = map(self._operand, cell.arguments)
            left_text = _bracketed(left, binds + (sign == "^"))
            return self._short(_Text(f"{left_text}{sign}{_bracketed(right, binds + 1)}", binds, max(left.depth, right.depth)), cell)
        if cell.operation in RATES:
            return self._rate(cell)
        if cell.operation not in FUNCTIONS:
            raise NoFormula(
                f"operation '{cell.operation}' has no spreadsheet formula; allowed: {', '.join((*FUNCTIONS, *RATES))}; "
                "add one to FUNCTIONS of costmodel/documents/workbook/formulas.py"
            )
        parts = list(map(self._operand, cell.arguments))
        if cell.operation == "sum_of":
            return self._sum(parts, cell.arguments)
        if cell.operation == "safe_divide":
            divisor = parts[1] if len(parts[1].text) <= _TWICE else self._helper(parts[1], cell.arguments[1].value)
            parts = [_Text(_bracketed(parts[0], 2), depth=parts[0].depth), _Text(_bracketed(divisor, 3), depth=divisor.depth)]
        text = FUNCTIONS[cell.operation](*(part.text for part in parts))
        binds = 1 if text.startswith("-") else _WHOLE
        return self._short(_Text(text, binds, 1 + max(part.depth for part in parts)), cell)

    def _rate(self, cell: Cell) -> _Text:
        """The cell that holds an internal rate of return, or how many there are."""
        key = tuple(id(value) for value in cell.arguments)
        if key not in self._flows_made:
            self._flows_made[key] = len(self.flows)
            parts, values = (self._operand(value).text for value in cell.arguments), (_number(value) for value in cell.arguments)
            self.flows.append(Flows(tuple(parts), tuple(values), self._current))
        return _Text(self.rate_cell(self._flows_made[key], cell.operation))

    def _sum(self, parts: list[_Text], values: tuple) -> _Text:
        """A sum; where it is long, partial sums in helper cells."""
        while len(parts) > MOST_ARGUMENTS or sum(len(part.text) + 1 for part in parts) > LONGEST:
            groups: list[list[int]] = [[]]
            length = 0
            for number, part in enumerate(parts):
                length += len(part.text) + 1
                if groups[-1] and (length > LONGEST or len(groups[-1]) >= MOST_ARGUMENTS):
                    groups.append([])
                    length = len(part.text) + 1
                groups[-1].append(number)
            totals = [sum(_number(values[number]) for number in group) for group in groups]
            sums = [_Text(FUNCTIONS["sum_of"](*(parts[number].text for number in group))) for group in groups]
            parts, values = [self._helper(text, total) for text, total in zip(sums, totals)], tuple(totals)
        return _Text(FUNCTIONS["sum_of"](*(part.text for part in parts)), _WHOLE, 1 + max(part.depth for part in parts))

    def _operand(self, value: Any) -> _Text:
        if not isinstance(value, Cell):
            return _Text(_literal(value), _WHOLE if value >= 0 else 1)
        made = self._made.get(id(value))
        if made is None:
            made = self._made[id(value)] = self._first_made(value)
        return made

    def _first_made(self, value: Cell) -> _Text:
        """What stands for a cell in the formulas that use it: its name, its own formula, or the helper cell that holds this."""
        if id(value) in self.sheet.names:
            return _Text(self.names[self.sheet.names[id(value)]])
        if is_nothing(value):
            return _Text("0")
        made = self._operation(value)
        return self._helper(made, value.value) if self._uses[id(value)] > 1 and len(made.text) > _SHARED else made

    def _short(self, made: _Text, cell: Cell) -> _Text:
        """The formula itself, or the name of a helper cell that holds it, where it would not fit into another."""
        if len(made.text) <= LONGEST and made.depth <= DEEPEST:
            return made
        return self._helper(made, cell.value)

    def _helper(self, made: _Text, value: float) -> _Text:
        cell = self.helper_cell(len(self.helpers))
        self.helpers.append(Helper(cell, f"={made.text}", value, self._current))
        return _Text(cell)


def _bracketed(part: _Text, at_least: int) -> str:
    return f"({part.text})" if part.binds < at_least else part.text


def _number(value: Any) -> Any:
    return value.value if isinstance(value, Cell) else value


def _literal(value: float | bool) -> str:
    """A number as spreadsheets take it.

    >>> _literal(3.0), _literal(1e-9), _literal(True)
    ('3', '1E-09', 'TRUE')
    """
    if isinstance(value, bool):
        return str(value).upper()
    return repr(float(value)).removesuffix(".0").upper()


def _uses(sheet: Sheet) -> dict[int, int]:
    """How many operations and figures use each cell."""
    uses: dict[int, int] = {}
    waiting: list[Any] = list(sheet.figures.values())
    while waiting:
        value = waiting.pop()
        if isinstance(value, Cell):
            uses[id(value)] = count = uses.get(id(value), 0) + 1
            if count == 1:
                waiting += value.arguments
    return uses
