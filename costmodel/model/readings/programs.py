"""Recorded operations as a program: numbers that two evaluators follow, NumPy's and the compiled one, to the same last bit.

A value has a place, once for all. While it is an array of draws it also has a slot, which another value takes over when nothing
needs it any more. What no array enters stays a number.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from ...core.operations import Value
from .step_tables import RATES, Step, Table, slots_of, steps_of, truths_of, with_loads


@dataclass(frozen=True)
class Program:
    """Steps in the order of the model, which values are given at a run, which are wanted, and the plain numbers in between.

    `numbers` are the plain numbers by place, of `places` places in all.
    """

    table: Table
    given: tuple[int, ...]
    wanted: tuple[int, ...]
    numbers: Mapping[int, float]
    places: int
    memory: dict[Any, Any] = field(default_factory=dict, compare=False)  # what an evaluator makes of the program

    def __len__(self) -> int:
        """How many operations a run does."""
        return len(self.table.codes)

    @property
    def steps(self) -> list[Step]:
        """The steps one by one."""
        return list(steps_of(self.table))

    @cached_property
    def ordered(self) -> Table:
        """The steps with a `load` before the first use of each given value; none of what is not used."""
        used = np.zeros(self.places, dtype=np.bool_)
        used[self.table.takes] = True
        used[list(self.wanted)] = True
        return with_loads(self.table, [place for place in self.given if used[place]], self.places)

    @cached_property
    def slots(self) -> tuple[np.ndarray, int]:
        """The slot of each place while it is an array, -1 for none, and how many slots there are; no step gives what it takes."""
        return slots_of(self.ordered, self.wanted, self.places)

    @cached_property
    def truths(self) -> np.ndarray:
        """Whether the value of a place is the truth of a comparison."""
        return truths_of(self.table, self.places)


def results(name: str, gives: int) -> tuple[int, ...]:
    """The places that a step gives.

    >>> results("+", 3), results("irr_with_count", 3)
    ((3,), (3, 4))
    """
    return (gives, gives + 1) if name == RATES else (gives,)


def is_array(value: Value) -> bool:
    """Whether a value holds several; far quicker than `np.ndim`.

    >>> is_array(np.zeros(2)), is_array(np.float64(1.0)), is_array(1.0), is_array(np.array(1.0))
    (True, False, False, False)
    """
    return isinstance(value, np.ndarray) and value.ndim > 0


def length_of(values: Sequence[Value], beside: int | None = None) -> int | None:
    """How long the arrays among some values are; None where all are plain numbers. Raises ValueError for arrays of two lengths.

    `beside` is the length of other arrays that stand beside them.

    >>> length_of([1.0, np.zeros(3)]), length_of([1.0]), length_of([1.0], beside=3)
    (3, None, 3)
    """
    lengths = {len(value) for value in values if is_array(value)} | ({beside} if beside is not None else set())
    if len(lengths) > 1:
        raise ValueError(f"arrays of {' and '.join(map(str, sorted(lengths)))} values; allowed: one length")
    return lengths.pop() if lengths else None


class Standing:
    """Values that stand from run to run, the same each time; how long the arrays among them are, and these as rows of a matrix."""

    def __init__(self, values: Sequence[Value] = (), rows: np.ndarray | None = None):
        self.values = tuple(values)
        self.count = length_of(self.values)
        self._rows = rows

    @property
    def rows(self) -> np.ndarray:
        """The arrays among the values as rows."""
        if self._rows is None:
            arrays = [value for value in self.values if is_array(value)]
            self._rows = np.array(arrays, dtype=float).reshape(len(arrays), self.count or 1)
        return self._rows


NOTHING = Standing()


def spread(values: Sequence[Value], rows: np.ndarray) -> list[Value]:
    """Some rows of the arrays among some values, in any order.

    >>> [each.tolist() for each in spread([np.array([5.0, 7.0])], np.array([1, 1, 0]))]
    [[7.0, 7.0, 5.0]]
    """
    return [value[rows] if is_array(value) else value for value in values]
