"""The closed list of operations of the model, besides `+ - * / **` and comparison. Nothing else touches a value.

Numbers and arrays are computed here with NumPy. Another reading (cells, quantities) enters the type of its values in
`PERFORMERS` with a function `perform(name, arguments)`, so that each operation has one definition per reading.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

# A float, a NumPy array of draws, a quantity or a cell: see readings. A protocol of the arithmetic in its place finds some 540 more
# errors of mypy, nearly all where studies and documents hand a value that is a number there to what takes a float: casts all over.
Value = Any

DECIMALS = 9  # whole_up rounds to this many decimals first, in every reading and in the spreadsheet


SEQUENCES = ("sum_of", "irr", "irr_count")  # operations that take a row of values

PERFORMERS: dict[type, Callable[[str, tuple], Value]] = {}


def _performer(values: Sequence[Value]) -> Callable[[str, tuple], Value] | None:
    """The `perform` of values that belong to another reading or are rows, which come first; None for plain numbers and arrays."""
    kinds = {kind for kind in map(type, values) if kind in PERFORMERS}
    if len(kinds) > 1:
        return next(perform for kind, perform in PERFORMERS.items() if kind in kinds)
    return PERFORMERS[kinds.pop()] if kinds else None


def _plain(result: Value) -> Value:
    """A NumPy scalar as the Python float it holds, arrays as they are: Python floats are the faster number reading."""
    return result.item() if isinstance(result, np.generic) else result


def whole_up(x: Value) -> Value:
    """The least whole number not below `x`, after rounding `x` to 9 decimals. Keeps the unit of `x`, a count.

    >>> whole_up(3.0000000001), whole_up(3.001)
    (3.0, 4.0)
    """
    if type(x) is float and abs(x) < 1e6:  # as np.round does it, in a tenth of the time
        return float(math.ceil(round(x * 10**DECIMALS) / 10**DECIMALS))
    other = _performer((x,))
    return other("whole_up", (x,)) if other else _plain(np.ceil(np.round(x, DECIMALS)))


def larger(a: Value, b: Value) -> Value:
    """The larger of two values, draw by draw.

    >>> larger(2.0, 3.0)
    3.0
    """
    if type(a) is float and type(b) is float:
        return a if a >= b or a != a else b
    other = _performer((a, b))
    return other("larger", (a, b)) if other else _plain(np.maximum(a, b))


def smaller(a: Value, b: Value) -> Value:
    """The smaller of two values, draw by draw.

    >>> smaller(2.0, 3.0)
    2.0
    """
    if type(a) is float and type(b) is float:
        return a if a <= b or a != a else b
    other = _performer((a, b))
    return other("smaller", (a, b)) if other else _plain(np.minimum(a, b))


def choose(condition: Value, a: Value, b: Value) -> Value:
    """`a` where the condition holds and `b` elsewhere; both are always computed.

    >>> choose(1 < 2, 10.0, 20.0)
    10.0
    """
    if type(condition) is bool and type(a) is float and type(b) is float:
        return a if condition else b
    other = _performer((condition, a, b))
    if other:
        return other("choose", (condition, a, b))
    if isinstance(condition, (bool, np.bool_)):
        return a if condition else b
    return np.where(condition, a, b)


def valid_if(condition: Value, a: Value) -> Value:
    """`a` where the condition holds, and no value elsewhere: NaN here, #N/A in a spreadsheet. A status beside it says why.

    >>> valid_if(1 < 2, 10.0), valid_if(1 > 2, 10.0)
    (10.0, nan)
    """
    other = _performer((condition, a))
    if other:
        return other("valid_if", (condition, a))
    if isinstance(condition, (bool, np.bool_)):
        return a if condition else np.nan * a
    return np.where(condition, a, np.nan)


def safe_divide(a: Value, b: Value) -> Value:
    """`a / b`, and 0 where `b` is 0.

    >>> safe_divide(1.0, 4.0), safe_divide(1.0, 0.0)
    (0.25, 0.0)
    """
    if type(a) is float and type(b) is float:
        return a / b if b != 0 else 0.0
    other = _performer((a, b))
    if other:
        return other("safe_divide", (a, b))
    if isinstance(a, np.ndarray) or isinstance(b, np.ndarray):
        zero = np.equal(b, 0)
        return np.where(zero, 0.0, np.divide(a, np.where(zero, 1.0, b)))
    return a / b if b != 0 else 0.0


def sum_of(values: Iterable[Value]) -> Value:
    """The sum of the values in their order; 0 for none.

    >>> sum_of([1.0, 2.0, 3.5])
    6.5
    """
    values = tuple(values)
    other = _performer(values)
    if other:
        return other("sum_of", values)
    total: Value = 0.0
    for value in values:
        total = total + value
    return total


def least_of(values: Iterable[Value]) -> Value:
    """The least of several values, draw by draw; of none, a ValueError.

    >>> least_of([4.0, 2.0, 3.0])
    2.0
    """
    values = tuple(values)
    if not values:
        raise ValueError("least_of needs at least one value; found none")
    least = values[0]
    for value in values[1:]:
        least = smaller(least, value)
    return least


def largest_of(values: Iterable[Value]) -> Value:
    """The largest of several values, draw by draw; of none, a ValueError.

    >>> largest_of([4.0, 2.0, 3.0])
    4.0
    """
    values = tuple(values)
    if not values:
        raise ValueError("largest_of needs at least one value; found none")
    largest = values[0]
    for value in values[1:]:
        largest = larger(largest, value)
    return largest


def exp(x: Value) -> Value:
    """The exponential of a plain number.

    >>> exp(0.0)
    1.0
    """
    other = _performer((x,))
    return other("exp", (x,)) if other else _plain(np.exp(x))


def log(x: Value) -> Value:
    """The natural logarithm of a plain number above 0.

    >>> log(1.0)
    0.0
    """
    other = _performer((x,))
    return other("log", (x,)) if other else _plain(np.log(x))


def irr_with_count(flows: Sequence[Value]) -> tuple[Value, Value]:
    """The internal rate of return of quarterly flows, for a quarter, and its status.
    Status 1: one rate between -90 and +1,000 % a year, through which the present value falls: the return. 0: none there;
    2: several; 3: one through which the value rises, a cost of finance; 4: less than half of the outlay comes back. The rate is
    NaN unless the status is 1.

    >>> rate, count = irr_with_count([-250000.0, 100000.0, 150000.0, 200000.0, 250000.0, 300000.0])
    >>> round(rate, 10), count
    (0.5672303344, 1.0)
    >>> irr_with_count([1.0, 2.0]), irr_with_count([-100.0, 230.0, -132.0]), irr_with_count([-100.0, 30.0])
    ((nan, 0.0), (nan, 2.0), (nan, 4.0))
    """
    flows = tuple(flows)
    other = _performer(flows)
    return (other("irr", flows), other("irr_count", flows)) if other else _rates(flows)


def irr(flows: Sequence[Value]) -> Value:
    """Internal rate of return of flows, for one period; see `irr_with_count`.

    >>> round(irr([-10.0, 12.0]), 10)
    0.2
    """
    return irr_with_count(flows)[0]


def irr_count(flows: Sequence[Value]) -> Value:
    """The status of the internal rate of return of flows; see `irr_with_count`.

    >>> irr_count([-10.0, 12.0])
    1.0
    """
    return irr_with_count(flows)[1]


def _rates(flows: tuple) -> tuple[Value, Value]:
    from .rates_of_one import UNSURE, rate_of_one
    from .rates_of_return import rates_of_return

    single = all(np.ndim(flow) == 0 for flow in flows)
    if single:
        found = rate_of_one([float(flow) for flow in flows])
        if found[1] != UNSURE:
            return found
    rows = np.stack(np.broadcast_arrays(*[np.atleast_1d(np.asarray(flow, dtype=float)) for flow in flows]))
    rate, status = rates_of_return(rows)
    return (float(rate[0]), float(status[0])) if single else (rate, status)


def normal_cdf(x: Value) -> Value:
    """The share of a standard normal distribution below `x`.

    >>> normal_cdf(0.0)
    0.5
    """
    from scipy.special import ndtr  # late: it takes a while, and few cases need it

    other = _performer((x,))
    return other("normal_cdf", (x,)) if other else _plain(ndtr(x))


def normal_quantile(share: Value) -> Value:
    """The value that this share of a standard normal distribution lies below; the inverse of `normal_cdf`.

    >>> round(normal_quantile(0.975), 6)
    1.959964
    """
    from scipy.special import ndtri  # late: see normal_cdf

    other = _performer((share,))
    return other("normal_quantile", (share,)) if other else _plain(ndtri(share))


def student_t_quantile(share: Value, freedom: Value) -> Value:
    """The value that this share of Student's t distribution lies below, by its degrees of freedom.

    They are taken down to whole ones, at least 1, after rounding to 9 decimals: spreadsheets do so, and the GUM allows it (G.4.2).

    >>> round(student_t_quantile(0.975, 9.0), 3), round(student_t_quantile(0.975, 19.9), 3)
    (2.262, 2.093)
    """
    from scipy.special import stdtrit  # late: see normal_cdf

    other = _performer((share, freedom))
    if other:
        return other("student_t_quantile", (share, freedom))
    return _plain(stdtrit(np.maximum(np.floor(np.round(freedom, DECIMALS)), 1.0), share))
