"""A case read on a tape, and the part of it that some figures need of some inputs.

A tape that several studies share has all inputs that any of them varies. Of a study's own part, what its inputs do not move is a
plain number, as the tape has it with every input as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ...case.addresses import map_inputs, value_at
from ...case.whole_case import Case, kept
from ...core.collecting import no_collecting
from ...core.fields import value_below
from ...core.operations import Value
from ..evaluate import last_stage, results_up_to
from .programs import Program
from .runs import run_program
from .step_tables import Table, chosen, given_by, moved_by, needed_for
from .tape import Tape

SHARED = "inputs of a tape that is shared"


@dataclass(frozen=True)
class Part:
    """Steps with places numbered from 0, how many places, where inputs and figures stand, and the plain numbers by place."""

    table: Table
    count: int
    inputs: dict[str, int]
    figures: dict[str, int]
    numbers: dict[int, Any]


class Taped:
    """A case with some inputs on a tape, all others numbers, up to a stage of the model."""

    def __init__(self, case: Case, varied: Sequence[str], stage: str):
        self.case, self.tape = case, Tape()
        self.inputs = {address: self.tape.new() for address in varied}
        with no_collecting():  # the collector would look through all of it again and again
            moved = map_inputs(case, self._on_tape)
            self._stages = results_up_to(moved, stage).stages()
            self._table = self.tape.close()

    def _on_tape(self, address: str, value: Value, _unit: str) -> Value:
        """The place of a varied input; any other value as it is, a plain number."""
        if address in self.inputs:
            return self.inputs[address]
        return value.item() if getattr(value, "shape", None) == () else value

    def part(self, varied: Sequence[str], wanted: Sequence[str]) -> Part:
        """What some figures need of some of the inputs, in the order of the model."""
        inputs = [self.inputs[address].place for address in varied]
        figures = [self.tape.place(value_below(self._stages, address)) for address in wanted]  # or plain numbers
        count = self.tape.count
        _, moved = moved_by(self._table, inputs, count)
        steps, needed = needed_for(self._table, figures, moved)
        needed[inputs] = True
        table = chosen(self._table, steps)
        plain = needed.copy()
        plain[inputs] = False
        plain[given_by(table)] = False
        of = np.cumsum(needed) - 1
        return Part(
            Table(table.codes, table.starts, of[table.takes], of[table.gives]),
            int(needed.sum()),
            dict(zip(varied, of[inputs].tolist())),
            dict(zip(wanted, of[figures].tolist())),
            {int(of[place]): self._number(place) for place in np.flatnonzero(plain).tolist()},
        )

    def _number(self, place: int) -> Any:
        """The plain number at a place that no input asked for moves."""
        return self.tape.numbers[place] if place in self.tape.numbers else self._present[place]

    @cached_property
    def _present(self) -> tuple[Any, ...]:
        """What stands at each place with every input as it is."""
        inputs = tuple(value.place for value in self.inputs.values())
        program = Program(self._table, inputs, tuple(range(self.tape.count)), self.tape.numbers, self.tape.count)
        return run_program(program, [float(value_at(self.case, address)) for address in self.inputs])


def share_tape(case: Case, varied: Sequence[str], of: Case | None = None) -> None:
    """Let all studies of a case that vary none but these inputs share one tape, its own or that of another case.

    The other must vary these inputs too, and have the same figures whatever their values.
    """
    kept(case, SHARED, lambda: (frozenset(varied), of or case))


def is_shared(case: Case, varied: Sequence[str]) -> bool:
    """Whether studies of a case share a tape that has these inputs."""
    return SHARED in case.memory and case.memory[SHARED][0].issuperset(varied)


def taped(case: Case, varied: Sequence[str], wanted: Sequence[str]) -> Taped:
    """The tape of a case for some inputs and figures: the one that studies share, where it has these inputs; else its own."""
    stage = last_stage(wanted)
    if stage in ("plan", "deal") and is_shared(case, varied):
        _, holder = case.memory[SHARED]
        return kept(holder, "tape", lambda: Taped(holder, sorted(holder.memory[SHARED][0]), "deal"))
    return Taped(case, varied, stage)

