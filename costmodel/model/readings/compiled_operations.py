"""Recorded operations on plain numbers and on registers, compiled by numba; to be imported where numba is there.

Powers, exponentials, logarithms and distributions of arrays are
left to the loops of NumPy and SciPy themselves, so that the last bit is theirs.
"""

import hashlib
import math
from pathlib import Path
from typing import Any, NamedTuple

import numba
import numpy as np
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

from ...core import rates_of_one, rates_of_return
from ...core.whole_files import user_cache
from . import step_tables
from .step_tables import CODES, NAMES

LOAD, SUM, RATES, POWER = CODES["load"], CODES["sum_of"], CODES["irr_with_count"], CODES["**"]
ADD, SUBTRACT, TIMES, DIVIDE = (CODES[name] for name in "+-*/")
LESS, LESS_EQUAL, MORE, MORE_EQUAL, EQUAL, UNEQUAL = (CODES[name] for name in ("<", "<=", ">", ">=", "==", "!="))
NEGATIVE, WHOLE_UP, LARGER, SMALLER = (CODES[name] for name in ("negative", "whole_up", "larger", "smaller"))
CHOOSE, VALID_IF, SAFE_DIVIDE, EXP = (CODES[name] for name in ("choose", "valid_if", "safe_divide", "exp"))
STUDENT = CODES["student_t_quantile"]
UNSURE = rates_of_one.UNSURE
TENS = 10.0**9  # whole_up rounds to 9 decimals
assert len(NAMES) == STUDENT + 1


def _place_to_keep() -> Path:
    """Where compiled code is kept: in the user's cache, under a name that changes with the code; numba looks at a part of it."""
    sources = [Path(__file__), Path(rates_of_one.__file__), Path(rates_of_return.__file__)]
    sources += [Path(step_tables.__file__), Path(__file__).with_name("interpreter.py")]
    name = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()[:16]
    return user_cache() / name


def compiled(function: Any) -> Any:
    """A function compiled, and kept on disk where there is a place that may be written."""
    config: Any = numba.config
    before, config.CACHE_DIR = config.CACHE_DIR, str(_place_to_keep())
    try:
        return numba.njit(cache=True, error_model="numpy", nogil=True)(function)
    except (RuntimeError, OSError):  # no such place: compiled anew in each process
        return numba.njit(error_model="numpy", nogil=True)(function)
    finally:
        config.CACHE_DIR = before


class Code(NamedTuple):
    """A program as tables: for each step its code, the three places that it takes (or for a list its start and length), and gives.

    `lists` holds the places of lists, `slots` the register of each place, `loops` the addresses of loops by code.
    """

    table: np.ndarray
    lists: np.ndarray
    slots: np.ndarray
    loops: np.ndarray


class Values(NamedTuple):
    """The plain numbers by place, which places hold arrays, the registers of a block (the last three spare), what is given.

    What moves and what stands have a row for each value. `columns`, where not empty, says which draws of what stands are taken.
    """

    numbers: np.ndarray
    moved: np.ndarray
    rows: np.ndarray
    moving: np.ndarray
    standing: np.ndarray
    columns: np.ndarray


@intrinsic
def _call(typing, address, arguments, sizes, strides, data):
    """Call the loop of a ufunc at an address: void (char **, npy_intp *, npy_intp *, void *)."""

    def generate(context, builder, signature, values):
        """The call in LLVM's words."""
        word = context.get_value_type(types.intp)
        kind = cgutils.ir.FunctionType(cgutils.ir.VoidType(), [word] * 4)
        builder.call(builder.inttoptr(values[0], kind.as_pointer()), values[1:])
        return context.get_dummy_value()

    return types.void(*[types.intp] * 5), generate


_value = compiled(rates_of_one.present_value)
_half_lost = compiled(rates_of_one._half_lost)
_root = compiled(rates_of_one._root_of_one)
_alone = compiled(rates_of_one._is_alone)
_changes = compiled(rates_of_one._sums_change)


def _with_names(function):
    """A function with the compiled form of what it calls."""
    names = {
        "present_value": _value,
        "_half_lost": _half_lost,
        "_root_of_one": _root,
        "_is_alone": _alone,
        "_sums_change": _changes,
    }
    return type(function)(function.__code__, {**function.__globals__, **names}, function.__name__)


rate_of_one = compiled(_with_names(rates_of_one.rate_of_one))


@compiled
def _loop(loops, code, ins, strides, out, count, words):
    """A ufunc's own loop over one or two arguments into `out`; addresses of memory, and strides in bytes; `words` is room."""
    words[0], words[1], words[2], words[3] = ins[0], ins[1], out, count
    words[4], words[5], words[6] = strides[0], strides[1], 8
    if code not in (POWER, STUDENT):
        words[1], words[5] = out, 8
    base = words.ctypes.data
    _call(loops[code, 0], base, base + 24, base + 32, loops[code, 1])  # type: ignore[call-arg]


@compiled
def _far_one(code, x, y, loops):
    """An operation on plain numbers by the loop of its ufunc."""
    room, words = np.empty(3), np.empty(11, np.intp)
    room[0], room[1] = x, y
    if code == STUDENT:
        room[0], room[1] = max(np.floor(np.rint(y * TENS) / TENS), 1.0), x
    at = room.ctypes.data
    words[7], words[8], words[9], words[10] = at, at + 8, 0, 0
    _loop(loops, code, words[7:9], words[9:11], at + 16, 1, words)
    return room[2]


@compiled
def _holds(code, x, y):
    """Whether a comparison of plain numbers holds."""
    if code == LESS:
        return x < y
    if code == LESS_EQUAL:
        return x <= y
    if code == MORE:
        return x > y
    if code == MORE_EQUAL:
        return x >= y
    return x == y if code == EQUAL else x != y


@compiled
def one_operation(code, x, y, z, loops):
    """One operation on plain numbers."""
    if code == TIMES:
        return x * y
    if code == ADD:
        return x + y
    if code == SUBTRACT:
        return x - y
    if code == DIVIDE:
        return x / y
    if code == POWER:
        return x**y
    if code <= UNEQUAL:
        return 1.0 if _holds(code, x, y) else 0.0
    if code == NEGATIVE:
        return -x
    if code == WHOLE_UP:
        return np.ceil(np.rint(x * TENS) / TENS)
    if code == LARGER:
        return x if x >= y or x != x else y
    if code == SMALLER:
        return x if x <= y or x != x else y
    if code == CHOOSE:
        return y if x != 0.0 else z
    if code == VALID_IF:
        return y if x != 0.0 else np.nan
    if code == SAFE_DIVIDE:
        return x / y if y != 0.0 else 0.0
    return _far_one(code, x, y, loops)


@compiled
def list_of_numbers(code, start, length, lists, numbers, gives):
    """A sum, or a rate of return, of plain numbers; whether it is sure."""
    if code == SUM:
        total = 0.0
        for j in range(start, start + length):
            total += numbers[lists[j]]
        numbers[gives] = total
        return True
    flows = np.empty(length)
    for j in range(length):
        flows[j] = numbers[lists[start + j]]
    numbers[gives], numbers[gives + 1] = rate_of_one(flows)
    return numbers[gives + 1] != UNSURE


@compiled
def load(values, out, source, start, count):
    """A given value into a register: first come those that move, then the arrays that stand."""
    rows, moving, stands, columns = values.rows, values.moving, source - len(values.moving), values.columns
    if stands < 0:
        for i in range(count):
            rows[out, i] = moving[source, start + i]
    elif len(columns) == 0:
        for i in range(count):
            rows[out, i] = values.standing[stands, start + i]
    else:
        for i in range(count):
            rows[out, i] = values.standing[stands, columns[start + i]]


@compiled
def arithmetic(name, rows, out, x, y, count):
    """Arithmetic on two registers; whether it was one of these."""
    if name == TIMES:
        for i in range(count):
            rows[out, i] = rows[x, i] * rows[y, i]
    elif name == ADD:
        for i in range(count):
            rows[out, i] = rows[x, i] + rows[y, i]
    elif name == SUBTRACT:
        for i in range(count):
            rows[out, i] = rows[x, i] - rows[y, i]
    elif name == DIVIDE:
        for i in range(count):
            rows[out, i] = rows[x, i] / rows[y, i]
    else:
        return False
    return True


@compiled
def with_number(name, rows, out, x, number, swapped, count):
    """Arithmetic between a register and a number, which comes first where it is `swapped`."""
    if name == TIMES:
        for i in range(count):
            rows[out, i] = rows[x, i] * number
    elif name == ADD:
        for i in range(count):
            rows[out, i] = rows[x, i] + number
    elif name == SUBTRACT and not swapped:
        for i in range(count):
            rows[out, i] = rows[x, i] - number
    elif name == SUBTRACT:
        for i in range(count):
            rows[out, i] = number - rows[x, i]
    elif not swapped:
        for i in range(count):
            rows[out, i] = rows[x, i] / number
    else:
        for i in range(count):
            rows[out, i] = number / rows[x, i]


@compiled
def compare(name, rows, out, x, y, count):
    """A comparison of two registers."""
    if name == LESS:
        for i in range(count):
            rows[out, i] = 1.0 if rows[x, i] < rows[y, i] else 0.0
    elif name == LESS_EQUAL:
        for i in range(count):
            rows[out, i] = 1.0 if rows[x, i] <= rows[y, i] else 0.0
    elif name == MORE:
        for i in range(count):
            rows[out, i] = 1.0 if rows[x, i] > rows[y, i] else 0.0
    elif name == MORE_EQUAL:
        for i in range(count):
            rows[out, i] = 1.0 if rows[x, i] >= rows[y, i] else 0.0
    else:
        for i in range(count):
            rows[out, i] = 1.0 if (rows[x, i] == rows[y, i]) == (name == EQUAL) else 0.0


@compiled
def select(name, rows, out, x, y, count):
    """What depends on how values compare, or is done with one alone."""
    if name == LARGER:
        for i in range(count):
            rows[out, i] = rows[x, i] if rows[x, i] >= rows[y, i] or rows[x, i] != rows[x, i] else rows[y, i]
    elif name == SMALLER:
        for i in range(count):
            rows[out, i] = rows[x, i] if rows[x, i] <= rows[y, i] or rows[x, i] != rows[x, i] else rows[y, i]
    elif name == VALID_IF:
        for i in range(count):
            rows[out, i] = rows[y, i] if rows[x, i] != 0.0 else np.nan
    elif name == SAFE_DIVIDE:
        for i in range(count):
            rows[out, i] = rows[x, i] / rows[y, i] if rows[y, i] != 0.0 else 0.0
    elif name == NEGATIVE:
        for i in range(count):
            rows[out, i] = -rows[x, i]
    else:
        for i in range(count):
            rows[out, i] = np.ceil(np.rint(rows[x, i] * TENS) / TENS)


@compiled
def choose(rows, out, holds, x, y, count):
    """One register where a third is true, and another elsewhere."""
    for i in range(count):
        rows[out, i] = rows[x, i] if rows[holds, i] != 0.0 else rows[y, i]


@compiled
def add_up(code, values, out, start, length, count):
    """The sum of registers and numbers in their order."""
    rows = values.rows
    for i in range(count):
        rows[out, i] = 0.0
    for j in range(start, start + length):
        place = code.lists[j]
        row, number = code.slots[place], values.numbers[place]
        if values.moved[place]:
            for i in range(count):
                rows[out, i] += rows[row, i]
        else:
            for i in range(count):
                rows[out, i] += number


@compiled
def rates(code, values, step, count):
    """The rate of each draw and its status; whether all are sure."""
    start, length, gives = code.table[step, 1], code.table[step, 2], code.table[step, 4]
    flows, sure = np.empty((count, length)), True
    out, status = values.rows[code.slots[gives]], values.rows[code.slots[gives + 1]]
    for j in range(length):
        place = code.lists[start + j]
        for i in range(count):
            flows[i, j] = values.rows[code.slots[place], i] if values.moved[place] else values.numbers[place]
    for i in range(count):
        out[i], status[i] = rate_of_one(flows[i])
        sure = sure and status[i] != UNSURE
    return sure


@compiled
def power(rows, out, x, y, plain, count, loops):
    """Registers to powers, as the operator of NumPy has it: squares, roots, inverses, its own loop for all else.

    `plain` says which of both is a number.
    """
    power = rows[y, 0]
    if plain[1] and power in (2.0, 1.0, 0.5, -1.0, 0.0):
        for i in range(count):
            if power == 2.0:
                rows[out, i] = rows[x, i] * rows[x, i]
            elif power == 0.5:
                rows[out, i] = math.sqrt(rows[x, i])
            else:
                rows[out, i] = rows[x, i] if power == 1.0 else 1.0 / rows[x, i] if power == -1.0 else 1.0
        return
    words = np.empty(11, np.intp)
    words[7], words[8] = rows[x].ctypes.data, rows[y].ctypes.data
    words[9], words[10] = 0 if plain[0] else 8, 0 if plain[1] else 8
    _loop(loops, POWER, words[7:9], words[9:11], rows[out].ctypes.data, count, words)


@compiled
def far(name, rows, out, x, y, count, loops):
    """Exponentials, logarithms and distributions, by the loops of NumPy and SciPy."""
    words, whole = np.empty(11, np.intp), len(rows) - 1
    words[7], words[8], words[9], words[10] = rows[x].ctypes.data, rows[x].ctypes.data, 8, 8
    if name == STUDENT:
        for i in range(count):
            rows[whole, i] = max(np.floor(np.rint(rows[y, i] * TENS) / TENS), 1.0)
        words[7] = rows[whole].ctypes.data
    _loop(loops, name, words[7:9], words[9:11], rows[out].ctypes.data, count, words)
