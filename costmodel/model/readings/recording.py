"""The model's own operations on arrays, once recorded: only those that wanted figures need and varied inputs move.

A case is read with its varied inputs as cells. What the wanted figures need of it is then done again on arrays, operation by
operation and in the order of the model, so that the figures are those of the array reading to the last bit. What no varied input
moves stays the number it was, and a register is used again when nothing needs it any more: a run fits the cache, and leaves out
most of the model.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from ...case.addresses import map_inputs
from ...case.whole_case import Case
from ...core.fields import Figure, walk
from ...core.operations import Value
from ..evaluate import evaluate, results_of_costs
from . import array_runs, compiled_runs
from .cells import Cell, no_collecting
from .programs import RATES, Program, Step, length_of, moved_by, results

_RATE = {"irr": 0, "irr_count": 1}  # rate of return and status are found together


def evaluator() -> str:
    """What runs recordings here: `compiled` where numba is installed, else `numpy`; their figures are the same to the last bit.

    >>> evaluator() in ("compiled", "numpy")
    True
    """
    return "compiled" if compiled_runs.is_there() else "numpy"


def _read_moving(case: Case, varied: Sequence[str], wanted: Sequence[str]) -> tuple[dict[str, Cell], dict[str, Any]]:
    """Varied inputs as cells, all others numbers, and figures made of them: a cell is what an input moves.

    Plan and deal, which take most of the time, are left out where no figure of theirs is wanted.
    """
    moving, cells = set(varied), dict[str, Cell]()

    def as_cell(address: str, value: Value, _unit: str) -> Value:
        """The cell of a varied input, kept under its address; any other value as it is."""
        if address not in moving:
            return value.item() if getattr(value, "shape", None) == () else value  # a plain number, as beside a cell
        cells[address] = Cell(value)
        return cells[address]

    stages = {address.partition(".")[0] for address in wanted}
    moved = map_inputs(case, as_cell)
    results = evaluate(moved) if stages & {"plan", "deal"} else results_of_costs(moved)
    kept = [(stage, record) for stage, record in results.stages().items() if stage in stages]
    return cells, {a: value for stage, record in kept for a, value, *_ in walk(record, stage, Figure, case.currency)}


class Recording:
    """What figures need of the model, ready to be done again with other values of some inputs.

    `steps` are its operations, `inputs` the places where the varied inputs stand.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> recording = Recording(case, ["product.length"], ["line.output.plate_area"])
    >>> recording.run({"product.length": 2.0})["line.output.plate_area"]
    1.2
    """

    def __init__(self, case: Case, varied: Sequence[str], wanted: Sequence[str]):
        self.steps: list[Step] = []
        self._numbers: dict[int, float] = {}  # what no varied input moves, by place
        self._count = 0  # of places
        self._places: dict[int, int | None] = {}  # where a cell's value stands; None for a cell that nothing moves
        self._done: dict[tuple, int] = {}
        self._parts: dict[tuple, tuple[Program, Program]] = {}  # what some inputs move, and what comes before it
        self._constants: dict[str, int] = {}  # by what Python writes, so that -0.0 is not 0.0
        self._at_settling: dict[int, Value] = {}
        self._settled: dict[int, Value] = {}  # values that stand since a run that settled them, by place
        self.inputs = {address: self._new() for address in varied}
        with no_collecting():  # until the cells are gone: the collector would look through all of them
            self._figures = self._record_all(case, varied, wanted)
        self.program = self._program(self.steps, tuple(self.inputs.values()), tuple(dict.fromkeys(self._figures.values())))

    def __len__(self) -> int:
        """How many operations a run does."""
        return len(self.program.steps)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers.

        Raises ValueError for arrays of two lengths.
        """
        given = [values[address] for address in self.inputs]
        found = run_program(self.program, [*given, *self._settled.values()])
        return self._figures_of(dict(zip(self.program.wanted, found)))

    def registers(self) -> list[Value | None]:
        """A value for each place before a run: the plain numbers, and nothing where a step or an input gives one."""
        return [self._numbers.get(place) for place in range(self._count)]

    @property
    def places(self) -> Mapping[str, int]:
        """Where each wanted figure stands after a run."""
        return self._figures

    def figures(self) -> dict[str, Value]:
        """The wanted figures of a settled recording, with the values that it was settled at."""
        return self._figures_of(self._at_settling)

    def _figures_of(self, found: Mapping[int, Value]) -> dict[str, Value]:
        return {address: found[place] for address, place in self._figures.items()}

    def settled(self, values: Mapping[str, Value], moving: Sequence[str]) -> Recording:
        """The recording with its inputs set, but for some that go on moving: what depends on none of these is done, once.

        >>> from costmodel.case.load import load_case
        >>> case, area = load_case("inputs_demo/facade"), "line.output.plate_area"
        >>> both = Recording(case, ["product.length", "product.width"], [area])
        >>> long = both.settled({"product.length": 2.0, "product.width": 0.5}, ["product.width"])
        >>> long.figures()[area], long.run({"product.width": 0.75})[area]
        (1.0, 1.5)
        """
        with no_collecting():
            before, after = self._parted(tuple(moving))
        given = [values[address] for address in self.inputs]
        found = dict(zip(before.wanted, run_program(before, [*given, *self._settled.values()])))
        made = copy.copy(self)
        made.inputs = {address: self.inputs[address] for address in moving}
        made._settled = {place: found[place] for place in after.given[len(moving) :]}
        made._at_settling = {place: found[place] for place in self._figures.values()}
        made.program, made._parts = after, {}
        return made

    def _parted(self, moving: tuple[str, ...]) -> tuple[Program, Program]:
        """The program that settles all but some inputs, and the one of what these move; made once."""
        if moving not in self._parts:
            moved = [self.inputs[address] for address in moving]
            steps = list(moved_by(self.program.steps, moved))
            given = {*moved, *(place for name, _, gives in steps for place in results(name, gives))}
            needed = dict.fromkeys(place for _, takes, _ in steps for place in takes)
            needed |= dict.fromkeys(self._figures.values())
            edge = tuple(place for place in needed if place not in given and place not in self._numbers)
            figures = tuple(dict.fromkeys(self._figures.values()))
            before = self._program(self.program.steps, self.program.given, tuple(dict.fromkeys((*edge, *figures))))
            self._parts[moving] = before, self._program(steps, (*moved, *edge), figures)
        return self._parts[moving]

    def _program(self, steps: Sequence[Step], given: tuple[int, ...], wanted: tuple[int, ...]) -> Program:
        return Program(tuple(steps), given, wanted, self._numbers, self._count)

    def _new(self, count: int = 1) -> int:
        self._count += count
        return self._count - count

    def _constant(self, value: Any) -> int:
        """Where a plain value stands."""
        if repr(value) not in self._constants:
            self._constants[repr(value)] = place = self._new()
            self._numbers[place] = value
        return self._constants[repr(value)]

    def _record_all(self, case: Case, varied: Sequence[str], wanted: Sequence[str]) -> dict[str, int]:
        """Record what the wanted figures need, and where each stands. The cells are gone when it returns."""
        cells, found = _read_moving(case, varied, wanted)
        self._places = {id(cells[address]): place for address, place in self.inputs.items()}
        figures = {address: self._place(found[address]) for address in wanted}
        self._places.clear()  # holds for as long as the cells are there
        self._done.clear()
        return figures

    def _place(self, wanted: Value) -> int:
        """Where a value stands after a run; records all that it takes, without recursion since formulas are deep."""
        stack, places = [wanted], self._places
        while stack:
            cell = stack[-1]
            if type(cell) is not Cell or id(cell) in places:
                stack.pop()
                continue
            missing = [a for a in cell.arguments if type(a) is Cell and id(a) not in places]
            if missing:
                stack += missing
                continue
            self._places[id(cell)] = self._record(cell)
            stack.pop()
        return self._standing(wanted)

    def _standing(self, value: Any) -> int:
        if type(value) is not Cell:
            return self._constant(value)
        place = self._places.get(id(value))
        return self._constant(value.value) if place is None else place

    def _record(self, cell: Cell) -> int | None:
        """Record one operation; nothing where none of its arguments moves, and the place of an equal one where there is one."""
        places = self._places
        found = [places[id(a)] if type(a) is Cell else None for a in cell.arguments]
        if found.count(None) == len(found):
            return None
        takes = tuple([self._standing(a) if place is None else place for place, a in zip(found, cell.arguments)])
        name, behind = (RATES, _RATE[cell.operation]) if cell.operation in _RATE else (cell.operation, 0)
        key = (name, takes)
        gives = self._done.get(key)
        if gives is None:
            self._done[key] = gives = self._new(2 if name == RATES else 1)
            self.steps.append((name, takes, gives))
        return gives + behind


def run_program(program: Program, given: Sequence[Value]) -> list[Value]:
    """The wanted values of a program, by the evaluator that is there. Raises ValueError for arrays of two lengths."""
    if compiled_runs.pays(program, length_of(given)):
        return compiled_runs.run(program, given)
    return array_runs.run(program, given)
