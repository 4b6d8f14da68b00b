"""A program run by the compiled interpreter, where numba is installed: the figures of `array_runs.py`, to the last bit."""

from __future__ import annotations

import ctypes
import os
from collections.abc import Sequence
from functools import cache
from importlib.util import find_spec
from typing import Any

import numpy as np

from ...core.operations import Value, irr_with_count
from ...core.rates_of_one import UNSURE
from .programs import CODES, LISTS, NAMES, RATES, Program, is_array, results

BLOCK = 256  # draws at a time, of which most registers of a long program fit the cache
LOADING = 1_000_000  # what it takes to load the interpreter, in operations of NumPy on numbers
ON_ARRAYS, DRAWS = 2, 1500  # of these, what an operation on arrays takes, and how many draws take one more
_LISTED = [CODES[name] for name in LISTS]
_done = [0.0]  # of these, by NumPy in this process so far


@cache
def is_there() -> bool:
    """Whether the compiled interpreter is there; the variable COSTMODEL_EVALUATOR=numpy does without it."""
    return os.environ.get("COSTMODEL_EVALUATOR") != "numpy" and find_spec("numba") is not None


def pays(program: Program, count: int | None) -> bool:
    """Whether the interpreter is there and its loading pays: NumPy has done, or with this run would have done, as much.

    So no process takes more than twice the shorter way. `count` is the length of the arrays; None for plain numbers.
    """
    if not is_there():
        return False
    if _done[0] <= LOADING:
        _done[0] += len(program.steps) * (1 if count is None else ON_ARRAYS + count / DRAWS)
    return _done[0] > LOADING


def load() -> None:
    """Load the interpreter now, where it is there: so does what will run one point again and again."""
    _done[0] = LOADING + 1.0


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

        ordered = program.ordered
        lengths = np.array([len(takes) for _, takes, _ in ordered], dtype=np.int64)
        lists = np.array([place for _, takes, _ in ordered for place in takes] or [0], dtype=np.int64)
        first, last = np.cumsum(lengths) - lengths, np.cumsum(lengths) - 1
        table = np.empty((len(ordered), 5), dtype=np.int64)
        table[:, 0] = [CODES[name] for name, *_ in ordered]
        for k in range(3):  # what is not taken stands for something that is
            table[:, 1 + k] = lists[np.minimum(first + k, last)]
        table[:, 4] = [gives for *_, gives in ordered]
        listed, loads = np.isin(table[:, 0], _LISTED), table[:, 0] == CODES["load"]
        table[listed, 1], table[listed, 2] = first[listed], lengths[listed]
        sources = np.zeros(program.places, dtype=np.int64)
        sources[list(program.given)] = range(len(program.given))
        table[loads, 1] = sources[table[loads, 4]]
        self.numbers = np.full(program.places, np.nan)
        for place, number in program.numbers.items():
            self.numbers[place] = number
        slots, self.registers = program.slots
        loops = _loops(any(CODES[name] > CODES["log"] for name, *_ in program.steps))
        self.code = Code(table, lists, np.array(slots, dtype=np.int64), loops)
        self.wanted = np.array(program.wanted, dtype=np.int64)
        self.standing: tuple[tuple[Value, ...] | None, np.ndarray] = None, np.empty((0, 0))  # see `_sources`


def run(program: Program, moving: Sequence[Value], standing: tuple[Value, ...] = ()) -> list[Value]:
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
        rows = iter(_on_blocks(tables, numbers, moved, active[: state[1]], _sources(tables, moving, standing)))
        found = [next(rows) if moved[place] else value for place, value in zip(program.wanted, found)]
    return found


def _sources(tables: _Tables, moving: Sequence[Value], standing: tuple[Value, ...]) -> np.ndarray:
    """What is given, a row for each value; the rows of what stands, which may be thousands, are kept for the next run."""
    count = next(len(value) for value in (*moving, *standing) if is_array(value))
    last, sources = tables.standing
    if last is not standing or sources.shape[1] != count:
        sources = np.empty((len(moving) + len(standing), count))
        for row, value in zip(sources[len(moving) :], standing):
            row[:] = value
        tables.standing = (standing or None), sources
    for row, value in zip(sources, moving):
        row[:] = value
    return sources


def _on_blocks(tables: _Tables, numbers: np.ndarray, moved: np.ndarray, active: np.ndarray, sources: np.ndarray) -> np.ndarray:
    """The wanted values that arrays move, a row for each."""
    from . import interpreter
    from .compiled_operations import Values

    count = sources.shape[1]
    values = Values(numbers, moved, np.zeros((tables.registers + 3, min(BLOCK, count))), sources)
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
