"""Steps as tables of whole numbers, and the walks over them.

A walk is a loop of plain Python over tables. Where the interpreter is loaded, numba compiles it; else it runs on lists.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cache
from itertools import chain
from typing import Any, NamedTuple

import numpy as np

from .loading import is_loaded

RATES = "irr_with_count"  # gives two places, the second behind the first
NAMES = (
    *("load", "sum_of", RATES, "+", "-", "*", "/", "**", "<", "<=", ">", ">=", "==", "!=", "negative"),
    *("whole_up", "larger", "smaller", "choose", "valid_if", "safe_divide", "exp", "log"),
    *("normal_cdf", "normal_quantile", "student_t_quantile"),
)
CODES = {name: code for code, name in enumerate(NAMES)}
TRUTHS = frozenset(("<", "<=", ">", ">=", "==", "!="))
LISTS = frozenset(("sum_of", RATES))  # these take any number of values
LOAD, TWICE = CODES["load"], CODES[RATES]

Step = tuple[str, tuple[int, ...], int]  # the name of an operation, the places that it takes, the place that it gives


class Table(NamedTuple):
    """Steps in their order: code, and place given, of each; step `k` takes `takes[starts[k] : starts[k + 1]]`."""

    codes: np.ndarray
    starts: np.ndarray
    takes: np.ndarray
    gives: np.ndarray


def table_of(steps: Sequence[Step]) -> Table:
    """Steps as a table.

    >>> table = table_of([("+", (0, 1), 2), ("exp", (2,), 3)])
    >>> table.starts.tolist(), list(steps_of(table))
    ([0, 2, 3], [('+', (0, 1), 2), ('exp', (2,), 3)])
    """
    names, takes, gives = zip(*steps) if steps else ((), (), ())
    return Table(
        np.array([CODES[name] for name in names], dtype=np.int64),
        np.cumsum([0, *map(len, takes)], dtype=np.int64),
        np.array(list(chain.from_iterable(takes)), dtype=np.int64),
        np.array(gives, dtype=np.int64),
    )


def steps_of(table: Table) -> Iterator[Step]:
    """The steps of a table, one by one."""
    codes, starts, takes, gives = (each.tolist() for each in table)
    for code, begin, end, given in zip(codes, starts, starts[1:], gives):
        yield NAMES[code], tuple(takes[begin:end]), given


def chosen(table: Table, mask: np.ndarray) -> Table:
    """Some of the steps, in their order.

    >>> list(steps_of(chosen(table_of([("+", (0, 1), 2), ("exp", (2,), 3)]), np.array([False, True]))))
    [('exp', (2,), 3)]
    """
    lengths = np.diff(table.starts)
    starts = np.concatenate([[0], np.cumsum(lengths[mask])])
    return Table(table.codes[mask], starts, table.takes[np.repeat(mask, lengths)], table.gives[mask])


def given_by(table: Table) -> np.ndarray:
    """All places that the steps give."""
    return np.concatenate([table.gives, table.gives[table.codes == TWICE] + 1])


def moved_by(table: Table, places: Sequence[int], count: int) -> tuple[np.ndarray, np.ndarray]:
    """Which steps, and which of so many places, the values of some places move.

    >>> steps = [("+", (0, 1), 2), ("exp", (0,), 3), ("*", (2, 0), 4)]
    >>> [each.tolist() for each in moved_by(table_of(steps), [1], 5)]
    [[True, False, True], [False, True, True, False, True]]
    """
    steps, moved = np.zeros(len(table.codes), dtype=np.bool_), np.zeros(count, dtype=np.bool_)
    moved[list(places)] = True
    _walk(_move, table, steps, moved)
    return steps, moved


def needed_for(table: Table, places: Sequence[int], moved: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which of the steps whose results are moved some places need, and all places that these need.

    >>> steps = [("+", (0, 1), 2), ("exp", (0,), 3), ("*", (2, 0), 4)]
    >>> [each.tolist() for each in needed_for(table_of(steps), [3], np.ones(5, dtype=bool))]
    [[False, True, False], [True, False, False, True, False]]
    """
    steps, needed = np.zeros(len(table.codes), dtype=np.bool_), np.zeros(len(moved), dtype=np.bool_)
    needed[list(places)] = True
    _walk(_need, table, moved, steps, needed)
    return steps, needed


def with_loads(table: Table, given: Sequence[int], count: int) -> Table:
    """The steps with a `load` before the first use of each given value; its place it takes and gives.

    >>> list(steps_of(with_loads(table_of([("exp", (1,), 2)]), [0, 1], 3)))
    [('load', (1,), 1), ('exp', (1,), 2), ('load', (0,), 0)]
    """
    left = np.zeros(count, dtype=np.bool_)
    left[list(given)] = True
    more = int(left.sum())
    found = Table(*(np.zeros(len(each) + more, dtype=np.int64) for each in table))
    _walk(_load, table, np.array(given, dtype=np.int64), left, *found)
    return found


def slots_of(table: Table, wanted: Sequence[int], count: int) -> tuple[np.ndarray, int]:
    """The slot of each of so many places while it is an array, -1 for none, and how many slots there are.

    No step gives what it takes, and a truth has no slot that a number had.

    >>> slots, many = slots_of(with_loads(table_of([("exp", (0,), 1), ("exp", (1,), 2)]), [0], 3), [2], 3)
    >>> slots.tolist(), many
    ([0, 1, 0], 2)
    """
    size = len(table.codes)
    last = np.full(count, -1, dtype=np.int64)  # the last step that takes each place; of what is wanted, one behind all
    last[table.takes] = np.repeat(np.arange(size), np.diff(table.starts))
    last[list(wanted)] = size
    slots, many = np.full(count, -1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    free, held = np.zeros((2, count), dtype=np.int64), np.zeros(2, dtype=np.int64)
    truths = truths_of(table, count).astype(np.int64)
    _walk(_place, table, truths, last, slots, many, free, held)
    return slots, int(many[0])


def truths_of(table: Table, count: int) -> np.ndarray:
    """Whether the value of each of so many places is the truth of a comparison."""
    found = np.zeros(count, dtype=np.bool_)
    found[table.gives] = np.isin(table.codes, [CODES[name] for name in TRUTHS])
    return found


@cache
def _compiled(walk: Callable[..., None]) -> Callable[..., None]:
    from .compiled_operations import compiled

    return compiled(walk)


def _walk(walk: Callable[..., None], table: Table, *arrays: np.ndarray) -> None:
    """Walk over a table, and write into arrays."""
    if is_loaded():
        _compiled(walk)(table, *arrays)
        return
    lists: list[list[Any]] = [each.tolist() for each in arrays]
    walk(Table(*(each.tolist() for each in table)), *lists)  # type: ignore[arg-type]
    for array, each in zip(arrays, lists):
        array[:] = each


def _move(table, steps, moved):
    codes, starts, takes, gives = table
    for k in range(len(codes)):
        for j in range(starts[k], starts[k + 1]):
            if moved[takes[j]]:
                steps[k] = True
                moved[gives[k]] = True
                if codes[k] == TWICE:
                    moved[gives[k] + 1] = True
                break


def _need(table, moved, steps, needed):
    codes, starts, takes, gives = table
    for k in range(len(codes) - 1, -1, -1):
        place = gives[k]
        if moved[place] and (needed[place] or (codes[k] == TWICE and needed[place + 1])):
            steps[k] = True
            needed[place] = True
            if codes[k] == TWICE:
                needed[place + 1] = True
            for j in range(starts[k], starts[k + 1]):
                needed[takes[j]] = True


def _load(table, given, left, codes, starts, takes, gives):
    n, m = 0, 0
    for k in range(len(table.codes)):
        begin, end = table.starts[k], table.starts[k + 1]
        for j in range(begin, end):
            place = table.takes[j]
            if left[place]:
                left[place] = False
                codes[n], takes[m], gives[n] = LOAD, place, place
                n, m = n + 1, m + 1
                starts[n] = m
        for j in range(begin, end):
            takes[m] = table.takes[j]
            m += 1
        codes[n], gives[n] = table.codes[k], table.gives[k]
        n += 1
        starts[n] = m
    for j in range(len(given)):
        if left[given[j]]:
            codes[n], takes[m], gives[n] = LOAD, given[j], given[j]
            n, m = n + 1, m + 1
            starts[n] = m


def _place(table, truths, last, slots, many, free, held):
    """`free` holds the slots that are free, of numbers and of truths, `held` how many; `many` gets how many slots there are."""
    codes, starts, takes, gives = table
    for k in range(len(codes)):
        for place in range(gives[k], gives[k] + (2 if codes[k] == TWICE else 1)):
            own = truths[place]
            if held[own] > 0:
                held[own] -= 1
                slots[place] = free[own][held[own]]
            else:
                slots[place] = many[0]
                many[0] += 1
            if last[place] < k:  # nothing needs it
                free[own][held[own]] = slots[place]
                held[own] += 1
        for j in range(starts[k], starts[k + 1]):
            place = takes[j]
            if last[place] == k and slots[place] >= 0:
                last[place] = -1  # so that what is taken twice is free once
                own = truths[place]
                free[own][held[own]] = slots[place]
                held[own] += 1
