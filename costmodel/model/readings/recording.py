"""The model's own operations on arrays, once recorded: only those that wanted figures need and varied inputs move.

A case is read with its varied inputs on a tape (`tape.py`). What the wanted figures need of it is then done again on arrays,
operation by operation and in the order of the model, so that the figures are those of the array reading to the last bit. What no
varied input moves stays the number it was, and a register is used again when nothing needs it any more: a run fits the cache, and
leaves out most of the model.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence

from ...case.whole_case import Case
from ...core.collecting import no_collecting
from ...core.operations import Value
from . import array_runs, compiled_runs
from .programs import Program, Step, length_of, moved_by, results
from .taped import taped


def evaluator() -> str:
    """What runs recordings here: `compiled` where numba is installed, else `numpy`; their figures are the same to the last bit.

    >>> evaluator() in ("compiled", "numpy")
    True
    """
    return "compiled" if compiled_runs.is_there() else "numpy"


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
        part = taped(case, varied, wanted).part(varied, wanted)
        self.steps, self.inputs = part.steps, part.inputs
        self._numbers, self._count, self._figures = part.numbers, part.count, part.figures  # numbers: what no input moves
        self._parts: dict[tuple, tuple[Program, Program]] = {}  # what some inputs move, and what comes before it
        self._at_settling: dict[int, Value] = {}
        self._settled: tuple[Value, ...] = ()  # values that stand since a run that settled them, in the order of the program
        self.program = self._program(self.steps, tuple(self.inputs.values()), tuple(dict.fromkeys(self._figures.values())))

    def __len__(self) -> int:
        """How many operations a run does."""
        return len(self.program.steps)

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The wanted figures with other values of the varied inputs, unchecked; those that nothing moves are plain numbers.

        Raises ValueError for arrays of two lengths.
        """
        given = [values[address] for address in self.inputs]
        found = run_program(self.program, given, self._settled)
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
        found = dict(zip(before.wanted, run_program(before, given, self._settled)))
        made = copy.copy(self)
        made.inputs = {address: self.inputs[address] for address in moving}
        made._settled = tuple([found[place] for place in after.given[len(moving) :]])
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


def run_program(program: Program, moving: Sequence[Value], standing: tuple[Value, ...] = ()) -> list[Value]:
    """The wanted values of a program, by the evaluator that is there. Raises ValueError for arrays of two lengths.

    What is given is first what moves from run to run, then what stands: the same tuple again.
    """
    if compiled_runs.pays(program, length_of([*moving, *standing])):
        return compiled_runs.run(program, moving, standing)
    return array_runs.run(program, [*moving, *standing])
