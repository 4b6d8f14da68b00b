"""A program run by the compiled interpreter, where numba is installed: the figures of `array_runs.py`, to the last bit."""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from ...core.operations import Value, irr_with_count
from ...core.rates_of_one import UNSURE
from .programs import NOTHING, Program, Standing, is_array, length_of, results
from .step_tables import CODES, LISTS, LOAD, NAMES, RATES

BLOCK = 512  # draws at a time: fewer take longer to tell what is next, of more the registers of a long program fit no cache
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
        self.begun: _Begun | None = None  # the last run, where the next most likely begins alike


class _Begun(NamedTuple):
    """A run up to its arrays: what stands, plain numbers and arrays by place, the steps that arrays enter.

    Where all that moves are arrays, each run with the same standing begins alike.
    """

    standing: Standing
    numbers: np.ndarray
    moved: np.ndarray
    active: np.ndarray


def settle(
    program: Program, moving: Sequence[Value], standing: Standing = NOTHING, rows: np.ndarray | None = None
) -> Standing:
    """The wanted values of a program for its given values: plain numbers, or arrays of one length; see `runs.py`."""
    tables: _Tables = program.memory.get("tables") or program.memory.setdefault("tables", _Tables(program))
    begun, all_arrays = tables.begun, all(map(is_array, moving))
    if begun is None or begun.standing is not standing or not all_arrays:
        begun = _begin(program, tables, moving, standing)
        tables.begun = begun if all_arrays and standing.values else None
    found: list[Any] = begun.numbers[tables.wanted].tolist()
    if not len(begun.active):
        return Standing(found)
    made = _on_blocks(tables, begun, moving, rows)
    arrays, moved = iter(made), begun.moved[tables.wanted].tolist()
    return Standing([next(arrays) if array else value for array, value in zip(moved, found)], made)


def _begin(program: Program, tables: _Tables, moving: Sequence[Value], standing: Standing) -> _Begun:
    """Do what no array enters."""
    from . import interpreter

    numbers, moved = tables.numbers.copy(), np.zeros(program.places, dtype=np.bool_)
    given = [*moving, *standing.values]
    arrays = np.array([is_array(value) for value in given], dtype=np.bool_)
    for place, value, array in zip(program.given, given, arrays.tolist()):
        if array:
            moved[place] = True
        else:
            numbers[place] = value
    code, active = tables.code, np.empty((len(tables.code.table) * bool(arrays.any()), 6), dtype=np.int64)
    state = np.zeros(2, dtype=np.int64)
    while state[0] < len(code.table):
        interpreter.numbers_pass(code, numbers, moved, active, state)
        if state[0] < len(code.table):
            _, start, length, _, gives = code.table[state[0]]
            numbers[gives], numbers[gives + 1] = irr_with_count(numbers[code.lists[start : start + length]].tolist())
            state[0] += 1
    active = active[: state[1]]
    loads, many = active[:, 0] == LOAD, len(moving)
    source = np.concatenate([np.arange(many), many - 1 + np.cumsum(arrays[many:])])  # the row of each given array
    active[loads, 2] = source[active[loads, 2]]
    return _Begun(standing, numbers, moved, active)


def _on_blocks(tables: _Tables, begun: _Begun, moving: Sequence[Value], rows: np.ndarray | None) -> np.ndarray:
    """The wanted values that arrays move, a row for each."""
    from . import interpreter
    from .compiled_operations import Values

    count = length_of(moving, beside=begun.standing.count if rows is None else len(rows)) or 1
    moves = np.empty((len(moving), count))
    for row, value in zip(moves, moving):
        row[:] = value
    registers = np.empty((tables.registers + 3, min(BLOCK, count)))
    columns = np.empty(0, dtype=np.int64) if rows is None else rows
    values = Values(begun.numbers, begun.moved, registers, moves, begun.standing.rows, columns)
    slots = tables.code.slots[tables.wanted[begun.moved[tables.wanted]]]
    made = np.empty((len(slots), count))
    for start in range(0, count, BLOCK):
        size = min(BLOCK, count - start)
        state = np.array([0, len(begun.active)], dtype=np.int64)
        while state[0] < len(begun.active):
            interpreter.block_pass(tables.code, values, begun.active, start, size, state)
            if state[0] < len(begun.active):
                _look_over(tables, values, int(begun.active[state[0], 5]), size)
                state[0] += 1
        interpreter.keep(registers, slots, made, start, size)
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
