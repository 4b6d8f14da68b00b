"""Recorded operations as a program: numbers that two evaluators follow, NumPy's and the compiled one, to the same last bit.

A value has a place, once for all. While it is an array of draws it also has a slot, which another value takes over when nothing
needs it any more. What no array enters stays a number.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from ...core.operations import Value

RATES = "irr_with_count"  # gives two places, the second behind the first
NAMES = (
    *("load", "sum_of", RATES, "+", "-", "*", "/", "**", "<", "<=", ">", ">=", "==", "!=", "negative"),
    *("whole_up", "larger", "smaller", "choose", "valid_if", "safe_divide", "exp", "log"),
    *("normal_cdf", "normal_quantile", "student_t_quantile"),
)
CODES = {name: code for code, name in enumerate(NAMES)}
TRUTHS = frozenset(("<", "<=", ">", ">=", "==", "!="))
LISTS = frozenset(("sum_of", RATES))  # these take any number of values

Step = tuple[str, tuple[int, ...], int]  # the name of an operation, the places that it takes, the place that it gives


@dataclass(frozen=True)
class Program:
    """Steps in the order of the model, which values are given at a run, which are wanted, and the plain numbers in between.

    `numbers` are the plain numbers by place, of `places` places in all.
    """

    steps: tuple[Step, ...]
    given: tuple[int, ...]
    wanted: tuple[int, ...]
    numbers: Mapping[int, float]
    places: int
    memory: dict[Any, Any] = field(default_factory=dict, compare=False)  # what an evaluator makes of the program

    @cached_property
    def ordered(self) -> list[Step]:
        """The steps with a `load` before the first use of each given value; its place it takes and gives."""
        left = set(self.given)
        found: list[Step] = []
        for step in self.steps:
            for place in step[1]:
                if place in left:
                    left.remove(place)
                    found.append(("load", (place,), place))
            found.append(step)
        return [*found, *(("load", (place,), place) for place in self.given if place in left)]

    @cached_property
    def slots(self) -> tuple[list[int], int]:
        """The slot of each place while it is an array, -1 for none, and how many slots there are; no step gives what it takes."""
        last = self._last_uses()
        slots, count = [-1] * self.places, 0
        free: tuple[list[int], list[int]] = ([], [])  # of numbers, of truths
        truths = self.truths
        for number, (name, takes, gives) in enumerate(self.ordered):
            own = free[name in TRUTHS]
            for place in results(name, gives):
                if own:
                    slots[place] = own.pop()
                else:
                    slots[place], count = count, count + 1
                if last[place] < number:  # nothing needs it
                    free[truths[place]].append(slots[place])
            for place in takes:
                if last[place] == number and slots[place] >= 0:
                    last[place] = -1  # so that what is taken twice is free once
                    free[truths[place]].append(slots[place])
        return slots, count

    @cached_property
    def truths(self) -> list[bool]:
        """Whether the value of a place is the truth of a comparison."""
        found = [False] * self.places
        for name, _, gives in self.steps:
            found[gives] = name in TRUTHS
        return found

    def _last_uses(self) -> list[int]:
        """The number of the last step that takes each place; of what is wanted, one behind all, and -1 for what nothing takes."""
        last = [-1] * self.places
        for number, (_, takes, _) in enumerate(self.ordered):
            for place in takes:
                last[place] = number
        for place in self.wanted:
            last[place] = len(self.ordered)
        return last


def results(name: str, gives: int) -> tuple[int, ...]:
    """The places that a step gives.

    >>> results("+", 3), results("irr_with_count", 3)
    ((3,), (3, 4))
    """
    return (gives, gives + 1) if name == RATES else (gives,)


def moved_by(steps: Sequence[Step], places: Sequence[int]) -> Iterator[Step]:
    """The steps that the values of some places move, in their order.

    >>> list(moved_by([("+", (0, 1), 2), ("exp", (0,), 3), ("*", (2, 0), 4)], [1]))
    [('+', (0, 1), 2), ('*', (2, 0), 4)]
    """
    moved = set(places)
    for step in steps:
        if not moved.isdisjoint(step[1]):
            moved.update(results(step[0], step[2]))
            yield step


def is_array(value: Value) -> bool:
    """Whether a value holds several; far quicker than `np.ndim`.

    >>> is_array(np.zeros(2)), is_array(np.float64(1.0)), is_array(1.0), is_array(np.array(1.0))
    (True, False, False, False)
    """
    return isinstance(value, np.ndarray) and value.ndim > 0


def length_of(values: Sequence[Value]) -> int | None:
    """How long the arrays among some values are; None where all are plain numbers. Raises ValueError for arrays of two lengths.

    >>> length_of([1.0, np.zeros(3)]), length_of([1.0])
    (3, None)
    """
    lengths = {len(value) for value in values if is_array(value)}
    if len(lengths) > 1:
        raise ValueError(f"arrays of {' and '.join(map(str, sorted(lengths)))} values; allowed: one length")
    return lengths.pop() if lengths else None
