"""A case read on a tape, and the part of it that some figures need of some inputs.

A tape that several studies share has all inputs that any of them varies. Of a study's own part, what its inputs do not move is a
plain number, as the tape has it with every input as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import compress
from typing import Any

from ...case.addresses import map_inputs, value_at
from ...case.whole_case import Case, kept
from ...core.collecting import no_collecting
from ...core.fields import value_below
from ...core.operations import Value
from ..evaluate import evaluate, results_of_costs
from .array_runs import on_numbers
from .programs import RATES, Step, results
from .tape import Tape

SHARED = "inputs of a tape that is shared"


@dataclass(frozen=True)
class Part:
    """Steps with places numbered from 0, how many places, where inputs and figures stand, and the plain numbers by place."""

    steps: list[Step]
    count: int
    inputs: dict[str, int]
    figures: dict[str, int]
    numbers: dict[int, Any]


class Taped:
    """A case with some inputs on a tape, all others numbers. Without `plan`, plan and deal are left out, which take most time."""

    def __init__(self, case: Case, varied: Sequence[str], plan: bool):
        self.case, self.tape = case, Tape()
        self.inputs = {address: self.tape.new() for address in varied}
        with no_collecting():  # the collector would look through all of it again and again
            moved = map_inputs(case, self._on_tape)
            self._stages = (evaluate(moved) if plan else results_of_costs(moved)).stages()
        self.tape.close()

    def _on_tape(self, address: str, value: Value, _unit: str) -> Value:
        """The place of a varied input; any other value as it is, a plain number."""
        if address in self.inputs:
            return self.inputs[address]
        return value.item() if getattr(value, "shape", None) == () else value

    def part(self, varied: Sequence[str], wanted: Sequence[str]) -> Part:
        """What some figures need of some of the inputs, in the order of the model."""
        tape = self.tape
        inputs = {address: self.inputs[address].place for address in varied}
        figures = {address: tape.place(value_below(self._stages, address)) for address in wanted}
        needed, made, taken = bytearray(tape.count), bytearray(tape.count), bytearray(len(tape.steps))
        for place in inputs.values():
            needed[place] = made[place] = True
        moved, step_of, waiting = self._moved(varied), self._step_of, list(figures.values())
        while waiting:
            place = waiting.pop()
            if needed[place]:
                continue
            needed[place] = True
            step = step_of[place] if place < len(step_of) else -1  # a figure may be a number that no step takes
            if step >= 0 and (moved is None or moved[place]):
                taken[step] = True
                name, takes, gives = tape.steps[step]
                waiting += takes
                for each in results(name, gives):
                    needed[each] = made[each] = True
        of = dict(zip(compress(range(tape.count), needed), range(tape.count)))
        return Part(
            [(name, tuple([of[place] for place in takes]), of[gives]) for name, takes, gives in compress(tape.steps, taken)],
            len(of),
            {address: of[place] for address, place in inputs.items()},
            {address: of[place] for address, place in figures.items()},
            {new: self._number(old) for old, new in of.items() if not made[old]},
        )

    @cached_property
    def _step_of(self) -> list[int]:
        """The number of the step that gives each place; -1 for inputs and plain numbers."""
        found = [-1] * self.tape.count
        for number, (name, _, gives) in enumerate(self.tape.steps):
            for place in results(name, gives):
                found[place] = number
        return found

    def _moved(self, varied: Sequence[str]) -> list[int] | None:
        """Which places some of the inputs move; None for all of them, which move all."""
        if len(varied) == len(self.inputs):
            return None
        bits = dict(zip(self.inputs, range(len(self.inputs))))
        asked = sum(1 << bits[address] for address in varied)
        return [mask & asked for mask in self._masks]

    @cached_property
    def _masks(self) -> list[int]:
        """The inputs that move each place, a bit for each."""
        masks = [0] * self.tape.count
        for bit, value in enumerate(self.inputs.values()):
            masks[value.place] = 1 << bit
        for name, takes, gives in self.tape.steps:
            mask = 0
            for place in takes:
                mask |= masks[place]
            for place in results(name, gives):
                masks[place] = mask
        return masks

    def _number(self, place: int) -> Any:
        """The plain number at a place that no input asked for moves."""
        return self.tape.numbers[place] if place in self.tape.numbers else self._present[place]

    @cached_property
    def _present(self) -> list[Any]:
        """What stands at each place with every input as it is."""
        values: list[Any] = [None] * self.tape.count
        for place, number in self.tape.numbers.items():
            values[place] = number
        for address, value in self.inputs.items():
            values[value.place] = float(value_at(self.case, address))
        functions = {name: on_numbers(name) for name, *_ in self.tape.steps}
        for name, takes, gives in self.tape.steps:
            found = functions[name](*[values[place] for place in takes])
            if name == RATES:
                values[gives], values[gives + 1] = found
            else:
                values[gives] = found
        return values


def share_tape(case: Case, varied: Sequence[str]) -> None:
    """Let all studies of a case that vary none but these inputs share one tape."""
    kept(case, SHARED, lambda: frozenset(varied))


def is_shared(case: Case, varied: Sequence[str]) -> bool:
    """Whether studies of a case share a tape that has these inputs."""
    return SHARED in case.memory and case.memory[SHARED].issuperset(varied)


def taped(case: Case, varied: Sequence[str], wanted: Sequence[str]) -> Taped:
    """The tape of a case for some inputs and figures: the one that studies share, where it has these inputs; else its own."""
    plan = any(address.partition(".")[0] in ("plan", "deal") for address in wanted)
    if plan and is_shared(case, varied):
        return kept(case, "tape", lambda: Taped(case, sorted(case.memory[SHARED]), plan=True))
    return Taped(case, varied, plan)

