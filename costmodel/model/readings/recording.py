"""The model's own operations on arrays, once recorded: only those that wanted figures need and varied inputs move.

A case is read with its varied inputs on a tape (`tape.py`). What the wanted figures need of it is then done again on arrays,
operation by operation and in the order of the model, so that the figures are those of the array reading to the last bit. What no
varied input moves stays the number it was, and a register is used again when nothing needs it any more: a run fits the cache, and
leaves out most of the model.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence

import numpy as np

from ...case.whole_case import Case
from ...core.collecting import no_collecting
from ...core.operations import Value
from .loading import is_there
from .programs import NOTHING, Program
from .runs import run_program, settle
from .step_tables import Table, chosen, moved_by, needed_for
from .taped import taped


def evaluator() -> str:
    """What runs recordings here: `compiled` where numba is installed, else `numpy`; their figures are the same to the last bit.

    >>> evaluator() in ("compiled", "numpy")
    True
    """
    return "compiled" if is_there() else "numpy"


class Recording:
    """What figures need of the model, ready to be done again with other values of some inputs.

    `table` holds its operations, `inputs` the places where the varied inputs stand.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> recording = Recording(case, ["product.length"], ["line.output.plate_area"])
    >>> recording.run({"product.length": 2.0})["line.output.plate_area"]
    1.2
    """

    def __init__(self, case: Case, varied: Sequence[str], wanted: Sequence[str]):
        part = taped(case, varied, wanted).part(varied, wanted)
        self.table, self.inputs = part.table, part.inputs
        self._numbers, self._count, self._figures = part.numbers, part.count, part.figures  # numbers: what no input moves
        self._parts: dict[tuple, tuple[Program, Program]] = {}  # what some inputs move, and what comes before it
        self._settled_at: dict[str, Value] = {}  # the values of what moves at that run
        self._settled = NOTHING  # values that stand since a run that settled them, in the order of the program
        self._rows: np.ndarray | None = None  # which of these each value of a run goes with, where it is not the one beside it
        self.program = self._program(self.table, tuple(self.inputs.values()), tuple(dict.fromkeys(self._figures.values())))

    def __len__(self) -> int:
        """How many operations a run does."""
        return len(self.program)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers.

        Raises ValueError for arrays of two lengths.
        """
        given = [values[address] for address in self.inputs]
        found = run_program(self.program, given, self._settled, self._rows)
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
        return self.run(self._settled_at)

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
        made = copy.copy(self)
        made.inputs = {address: self.inputs[address] for address in moving}
        made._settled_at = {address: values[address] for address in moving}
        made._settled, made._rows = settle(before, given, self._settled, self._rows), None
        made.program, made._parts = after, {}
        return made

    def spread(self, rows: np.ndarray) -> Recording:
        """A settled recording whose runs take what stands from some rows of the arrays that it was settled at, in any order.

        So what few values move is done for these alone, and not for each pair that they make with others.

        >>> from costmodel.case.load import load_case
        >>> case, area = load_case("inputs_demo/facade"), "line.output.plate_area"
        >>> both, sides = Recording(case, ["product.length", "product.width"], [area]), np.array([1.0, 2.0])
        >>> long = both.settled({"product.length": sides, "product.width": 1.0}, ["product.width"])
        >>> long.spread(np.array([1, 0, 1])).run({"product.width": np.array([0.5, 0.5, 0.75])})[area].tolist()
        [1.0, 0.5, 1.5]
        """
        made = copy.copy(self)
        made._rows = rows
        return made

    def only(self, wanted: Sequence[str]) -> Recording:
        """The recording for some of its figures, without the operations that others alone need."""
        made = copy.copy(self)
        made._figures = {address: self._figures[address] for address in wanted}
        made.program, made._parts = self._needed(tuple(dict.fromkeys(made._figures.values()))), {}
        return made

    def _parted(self, moving: tuple[str, ...]) -> tuple[Program, Program]:
        """The program that settles all but some inputs, and the one of what these move; made once."""
        if moving not in self._parts:
            inputs = [self.inputs[address] for address in moving]
            figures = tuple(dict.fromkeys(self._figures.values()))
            mask, moved = moved_by(self.program.table, inputs, self._count)
            table = chosen(self.program.table, mask)
            needed = np.zeros(self._count, dtype=np.bool_)
            needed[table.takes] = True
            needed[list(figures)] = True
            needed[[*self._numbers, *np.flatnonzero(moved).tolist()]] = False
            edge = tuple(np.flatnonzero(needed).tolist())
            self._parts[moving] = self._needed(edge), self._program(table, (*inputs, *edge), figures)
        return self._parts[moving]

    def _needed(self, places: tuple[int, ...]) -> Program:
        """The program of what some places need, made once."""
        made = self.program.memory
        if ("needed", places) not in made:
            steps, _ = needed_for(self.program.table, places, np.ones(self._count, dtype=np.bool_))
            made["needed", places] = self._program(chosen(self.program.table, steps), self.program.given, places)
        return made["needed", places]

    def _program(self, table: Table, given: tuple[int, ...], wanted: tuple[int, ...]) -> Program:
        return Program(table, given, wanted, self._numbers, self._count)

