"""A program run by the compiled interpreter, where numba is installed: the figures of `array_runs.py`, to the last bit."""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np

from ...core.operations import Value, irr_with_count
from ...core.rates_of_one import UNSURE
from .programs import Program, is_array, length_of, results
from .step_tables import CODES, LISTS, LOAD, NAMES, RATES

BLOCK = 256  # draws at a time, of which most registers of a long program fit the cache
_LISTED = [CODES[name] for name in LISTS]


class _Ufunc(ctypes.Structure):
    """The begin of a ufunc in memory, as NumPy's public header has it (numpy/ufuncobject.h), behind Python's own head."""

    _fields_ = [
        *((name, ctypes.c_int) for name in ("nin", "nout", "nargs", "identity")),
        ("functions", ctypes.POINTER(ctypes.c_void_p)),
        ("data", ctypes.POINTER(ctypes.c_void_p)),
        ("ntypes", ctypes.c_int),
    ]


def loop_of(ufunc: np.ufunc) -> tuple[int, int]:
    """The addresses of a ufunc's loop over doubles, and of the data that it wants."""
    found = _Ufunc.from_address(id(ufunc) + object.__basicsize__)
    if (found.nin, found.nout, found.nargs, found.ntypes) != (ufunc.nin, ufunc.nout, ufunc.nargs, ufunc.ntypes):
        raise RuntimeError(f"NumPy {np.__version__} keeps ufuncs in another way; COSTMODEL_EVALUATOR=numpy does without them")
    place = ufunc.types.index(f"{'d' * ufunc.nin}->d")
    return found.functions[place] or 0, found.data[place] or 0


@cache
def _loops(distributions: bool) -> np.ndarray:
    """The loops behind operations by their codes, those of distributions where they are needed: their library is slow to import."""
    ufuncs = {"**": np.power, "exp": np.exp, "log": np.log}
    if distributions:
        from scipy.special import ndtr, ndtri, stdtrit

        ufuncs |= {"normal_cdf": ndtr, "normal_quantile": ndtri, "student_t_quantile": stdtrit}
    loops = np.zeros((len(NAMES), 2), dtype=np.intp)
    for name, ufunc in ufuncs.items():
        loops[CODES[name]] = loop_of(ufunc)
    return loops


class _Tables:
    """A program as the interpreter reads it."""

    def __init__(self, program: Program):
        from .compiled_operations import Code

        codes, starts, lists, gives = program.ordered
        first, last = starts[:-1], starts[1:] - 1
        lists = lists if len(lists) else np.zeros(1, dtype=np.int64)
        table = np.empty((len(codes), 5), dtype=np.int64)
        table[:, 0], table[:, 4] = codes, gives
        for k in range(3):  # what is not taken stands for something that is
            table[:, 1 + k] = lists[np.minimum(first + k, last)]
        listed, loads = np.isin(codes, _LISTED), codes == LOAD
        table[listed, 1], table[listed, 2] = first[listed], last[listed] + 1 - first[listed]
        sources = np.zeros(program.places, dtype=np.int64)
        sources[list(program.given)] = range(len(program.given))
        table[loads, 1] = sources[gives[loads]]
        self.numbers = np.full(program.places, np.nan)
        self.numbers[list(program.numbers)] = list(program.numbers.values())
        slots, self.registers = program.slots
        loops = _loops(bool((codes > CODES["log"]).any()))
        self.code = Code(table, lists, slots, loops)
        self.wanted = np.array(program.wanted, dtype=np.int64)
        self.standing: tuple[tuple[Value, ...] | None, bool, np.ndarray] = None, True, np.empty((0, 0, 0))  # see `_sources`


def run(
    program: Program, moving: Sequence[Value], standing: tuple[Value, ...] = (), rows: np.ndarray | None = None
) -> list[Value]:
    """The wanted values of a program for its given values: plain numbers, or arrays of one length; see `run_program`."""
    from . import interpreter

    given = [*moving, *standing]
    tables: _Tables = program.memory.get("tables") or program.memory.setdefault("tables", _Tables(program))
    numbers, moved = tables.numbers.copy(), np.zeros(program.places, dtype=np.bool_)
    arrays = [is_array(value) for value in given]
    for place, value, array in zip(program.given, given, arrays):
        if array:
            moved[place] = True
        else:
            numbers[place] = value
    code, active = tables.code, np.empty((len(tables.code.table) * any(arrays), 6), dtype=np.int64)
    state = np.zeros(2, dtype=np.int64)
    while state[0] < len(code.table):
        interpreter.numbers_pass(code, numbers, moved, active, state)
        if state[0] < len(code.table):
            _, start, length, _, gives = code.table[state[0]]
            numbers[gives], numbers[gives + 1] = irr_with_count(numbers[code.lists[start : start + length]].tolist())
            state[0] += 1
    found: list[Any] = numbers[tables.wanted].tolist()
    if any(arrays):
        sources = _sources(tables, moving, standing, rows)
        made = iter(_on_blocks(tables, numbers, moved, active[: state[1]], sources))
        found = [next(made) if moved[place] else value for place, value in zip(program.wanted, found)]
    return found


Sources = tuple[np.ndarray, np.ndarray, np.ndarray]


def _sources(tables: _Tables, moving: Sequence[Value], standing: tuple[Value, ...], rows: np.ndarray | None) -> Sources:
    """What moves, a row for each value; what stands, the same block by block; which columns of that a run takes, none for all.

    What stands, which may be thousands of values, is kept for the next run. A run that takes any columns has one block of all.
    """
    count = length_of([*moving, *(standing if rows is None else (rows,))]) or 1
    moves = np.empty((len(moving), count))
    for row, value in zip(moves, moving):
        row[:] = value
    if tables.standing[0] is not standing or tables.standing[1] != (rows is None):
        tables.standing = standing, rows is None, _in_blocks(standing, BLOCK if rows is None else None)
    return moves, tables.standing[2], np.empty(0, dtype=np.int64) if rows is None else rows


def _in_blocks(values: Sequence[Value], size: int | None) -> np.ndarray:
    """Arrays among some values as blocks of columns with a row for each value."""
    count = length_of(values) or 1
    size = min(size or count, count)
    found = np.empty((-(-count // size), len(values), size))
    for k, value in enumerate(values):
        if is_array(value):
            whole = count // size
            found[:whole, k] = value[: whole * size].reshape(whole, size)
            found[whole:, k, : count - whole * size] = value[whole * size :]
    return found


def _on_blocks(tables: _Tables, numbers: np.ndarray, moved: np.ndarray, active: np.ndarray, sources: Sources) -> np.ndarray:
    """The wanted values that arrays move, a row for each."""
    from . import interpreter
    from .compiled_operations import Values

    count = sources[0].shape[1]
    values = Values(numbers, moved, np.zeros((tables.registers + 3, min(BLOCK, count))), *sources)
    slots = tables.code.slots[tables.wanted[moved[tables.wanted]]]
    made = np.empty((len(slots), count))
    for start in range(0, count, BLOCK):
        size = min(BLOCK, count - start)
        state = np.array([0, len(active)], dtype=np.int64)
        while state[0] < len(active):
            interpreter.block_pass(tables.code, values, active, start, size, state)
            if state[0] < len(active):
                _look_over(tables, values, int(active[state[0], 5]), size)
                state[0] += 1
        made[:, start : start + size] = values.rows[slots, :size]
    return made


def _look_over(tables: _Tables, values: Any, step: int, size: int) -> None:
    """Find the rates of return of which a draw needs the grid."""
    code, rows = tables.code, values.rows
    _, start, length, _, gives = code.table[step]
    rate, status = (rows[code.slots[place]] for place in results(RATES, int(gives)))
    unsure = np.flatnonzero(status[:size] == UNSURE)
    places = code.lists[start : start + length]
    flows = [rows[code.slots[p], unsure] if values.moved[p] else np.full(len(unsure), values.numbers[p]) for p in places]
    rate[unsure], status[unsure] = irr_with_count(flows)
