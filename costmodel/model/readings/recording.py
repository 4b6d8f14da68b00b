"""The model's own operations on arrays, once recorded: only those that wanted figures need and varied inputs move.

A case is read as cells once. What the wanted figures need of it is then done again on arrays, operation by operation and in the
order of the model, so that the figures are those of the array reading to the last bit. What no varied input moves stays the
number it was, and an array is let go when nothing needs it any more: a run fits the cache, and leaves out most of the model.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any

from ...case.whole_case import Case
from ...core import operations
from ...core.operations import Value
from .cells import INFIX, Cell, Sheet, no_collecting, read_as_cells

_MADE = (Cell, tuple, list)  # what is made of other values


SHORT = 512  # arrays up to this long may all be held at once


def _gathered(*values: Value) -> tuple:
    return values


def _added_up(*values: Value) -> Value:
    """`operations.sum_of` of plain numbers and arrays."""
    total: Value = 0.0
    for value in values:
        total = total + value
    return total


@cache
def operation(name: str) -> Callable[..., Value]:
    """The function behind the name that a cell bears; it takes values one by one."""
    if name == "sum_of":
        return _added_up
    if name in operations.SEQUENCES:
        of_row = getattr(operations, name)
        return lambda *values: of_row(values)
    return INFIX.get(name) or getattr(operations, name)


class Recording:
    """What figures need of the model, ready to be done again with other values of some inputs.

    `steps` holds for each operation its function, the registers that it takes and gives, and those that are let go behind it;
    `registers` what they hold before a run, `inputs` where the varied inputs stand.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> recording = Recording(case, ["product.length"], ["line.output.plate_area"])
    >>> recording.run({"product.length": 2.0})["line.output.plate_area"]
    1.2
    """

    def __init__(self, case: Case, varied: Sequence[str], wanted: Sequence[str], sheet: Sheet | None = None):
        sheet = sheet or read_as_cells(case)
        self.registers: list[Any] = []
        self.steps: list[tuple[Callable[..., Value], tuple[int, ...], int, tuple[int, ...]]] = []
        self._places: dict[int, int | None] = {}  # where a cell's value stands; None for a cell that nothing moves
        self._done: dict[tuple, int] = {}
        self._parts: dict[tuple[str, ...], list] = {}  # the steps that some inputs move
        self._constants: dict[str, int] = {}  # by what Python writes, so that -0.0 is not 0.0
        self.inputs = {address: self._new(None) for address in varied}
        self._places |= {id(sheet.inputs[address]): place for address, place in self.inputs.items()}
        with no_collecting():
            self._figures = {address: self._place(sheet.figures[address]) for address in wanted}
            self._let_go()
        self._places.clear()  # holds for as long as the sheet's cells are there

    def __len__(self) -> int:
        """How many operations a run does."""
        return len(self.steps)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers."""
        return self._figures_of(self._run(values))

    @property
    def places(self) -> Mapping[str, int]:
        """Where each wanted figure stands after a run."""
        return self._figures

    def figures(self) -> dict[str, Value]:
        """The wanted figures of a settled recording, with the values that it was settled at."""
        return self._figures_of(self.registers)

    def _figures_of(self, registers: Sequence[Any]) -> dict[str, Value]:
        return {address: registers[place] for address, place in self._figures.items()}

    def settled(self, values: Mapping[str, Value], moving: Sequence[str]) -> Recording:
        """The recording with its inputs set, but for some that go on moving: what hangs on none of these is done, once.

        >>> from costmodel.case.load import load_case
        >>> case, area = load_case("inputs_demo/facade"), "line.output.plate_area"
        >>> both = Recording(case, ["product.length", "product.width"], [area])
        >>> long = both.settled({"product.length": 2.0, "product.width": 0.5}, ["product.width"])
        >>> long.figures()[area], long.run({"product.width": 0.75})[area]
        (1.0, 1.5)
        """
        made = copy.copy(self)
        made.registers = self._run(values, keep=True)
        made.inputs = {address: self.inputs[address] for address in moving}
        made.steps = self._hanging_on(tuple(moving))
        return made

    def _hanging_on(self, moving: tuple[str, ...]) -> list:
        """The steps that some inputs move; looked for once."""
        if moving not in self._parts:
            moved, steps = {self.inputs[address] for address in moving}, []
            for step in self.steps:
                if not moved.isdisjoint(step[1]):
                    moved.add(step[2])
                    steps.append(step)
            self._parts[moving] = steps
        return self._parts[moving]

    def _run(self, values: Mapping[str, Value], keep: bool = False) -> list[Any]:
        """The registers after a run; long arrays that nothing needs any more are let go, unless they are to be kept."""
        registers = list(self.registers)
        for address, place in self.inputs.items():
            registers[place] = values[address]
        if keep or all(getattr(value, "size", 1) <= SHORT for value in values.values()):
            for function, takes, gives, _ in self.steps:
                registers[gives] = function(*[registers[place] for place in takes])
        else:
            for function, takes, gives, gone in self.steps:
                registers[gives] = function(*[registers[place] for place in takes])
                for place in gone:
                    registers[place] = None
        return registers

    def _new(self, value: Any) -> int:
        self.registers.append(value)
        return len(self.registers) - 1

    def _constant(self, value: Any) -> int:
        """Where a plain value stands."""
        if repr(value) not in self._constants:
            self._constants[repr(value)] = self._new(value)
        return self._constants[repr(value)]

    def _place(self, wanted: Value) -> int:
        """Where a value stands after a run; records all that it takes, without recursion since formulas are deep."""
        stack, places = [wanted], self._places
        while stack:
            cell = stack[-1]
            if type(cell) not in _MADE or id(cell) in places:
                stack.pop()
                continue
            arguments = cell.arguments if type(cell) is Cell else cell
            missing = [a for a in arguments if type(a) in _MADE and id(a) not in places]
            if missing:
                stack += missing
                continue
            self._places[id(cell)] = self._record(cell, arguments)
            stack.pop()
        return self._standing(wanted)

    def _standing(self, value: Any) -> int:
        place = self._places.get(id(value)) if type(value) in _MADE else None
        return self._constant(_plain(value)) if place is None else place

    def _record(self, cell: Cell | Sequence, arguments: Sequence) -> int | None:
        """Record one operation; nothing where none of its arguments moves, and the place of an equal one where there is one."""
        if all(type(a) not in _MADE or self._places[id(a)] is None for a in arguments):
            return None
        takes = tuple(self._standing(a) for a in arguments)
        name = cell.operation if isinstance(cell, Cell) else "gathered"
        if (name, takes) not in self._done:
            self._done[name, takes] = gives = self._new(None)
            self.steps.append((_gathered if name == "gathered" else operation(name), takes, gives, ()))
        return self._done[name, takes]

    def _let_go(self) -> None:
        """Note behind which operation each value is needed no more."""
        kept = set(self._figures.values()) | set(self._constants.values())
        for number in range(len(self.steps) - 1, -1, -1):
            function, takes, gives, _ = self.steps[number]
            gone = tuple({place for place in (*takes, gives) if place not in kept})
            kept.update(gone)
            self.steps[number] = (function, takes, gives, gone)


def _plain(value: Any) -> Any:
    """A value that nothing moves, as numbers."""
    if isinstance(value, (tuple, list)):
        return tuple(_plain(each) for each in value)
    return value.value if isinstance(value, Cell) else value
