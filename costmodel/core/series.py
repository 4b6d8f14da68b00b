"""A row of values over the columns of time: day zero, then the quarters.

Arithmetic, comparison and the operations of `operations.py` act column by column, between rows of one length or a row and a value.
Nothing else touches a value, so that a row holds numbers, arrays, quantities or cells alike.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, overload

from . import operations
from .operations import PERFORMERS, Value


class Row(Sequence):
    """Values of successive columns.

    >>> sold, spent = Row([0.0, 10.0, 12.0]), Row([4.0, 6.0, 6.0])
    >>> sold - spent, 2 * sold, sold > spent
    ([-4.0, 4.0, 6.0], [0.0, 20.0, 24.0], [False, True, True])
    >>> operations.larger(sold - spent, 0.0), operations.sum_of([sold, spent]), operations.sum_of(sold)
    ([0.0, 4.0, 6.0], [4.0, 16.0, 18.0], 22.0)
    """

    __slots__ = ("_values",)
    __array_ufunc__ = None  # NumPy leaves an array beside a row to the row
    __hash__ = None  # type: ignore[assignment]  # equal to a list of the same values, which has no hash either

    def __init__(self, values: Iterable[Value]):
        self._values = tuple(values)

    def __len__(self) -> int:
        return len(self._values)

    def __iter__(self) -> Iterator[Value]:
        return iter(self._values)

    @overload
    def __getitem__(self, place: int) -> Value: ...
    @overload
    def __getitem__(self, place: slice) -> Row: ...
    def __getitem__(self, place: int | slice) -> Value | Row:
        return Row(self._values[place]) if isinstance(place, slice) else self._values[place]

    def __repr__(self) -> str:
        return repr(list(self._values))

    def __eq__(self, other: object) -> bool:
        """Whether another row, or list, holds the same values."""
        return isinstance(other, (Row, list)) and list(self._values) == list(other)

    def __neg__(self) -> Row:
        return Row([-value for value in self._values])

    def __add__(self, other: Any) -> Row:
        return self._with(operator.add, other)

    def __radd__(self, other: Value) -> Row:
        return Row([other + value for value in self._values])

    def __sub__(self, other: Any) -> Row:
        return self._with(operator.sub, other)

    def __rsub__(self, other: Value) -> Row:
        return Row([other - value for value in self._values])

    def __mul__(self, other: Any) -> Row:
        return self._with(operator.mul, other)

    def __rmul__(self, other: Value) -> Row:
        return Row([other * value for value in self._values])

    def __truediv__(self, other: Any) -> Row:
        return self._with(operator.truediv, other)

    def __rtruediv__(self, other: Value) -> Row:
        return Row([other / value for value in self._values])

    def __pow__(self, other: Any) -> Row:
        return self._with(operator.pow, other)

    def __rpow__(self, other: Value) -> Row:
        return Row([other**value for value in self._values])

    def __lt__(self, other: Any) -> Row:
        return self._with(operator.lt, other)

    def __le__(self, other: Any) -> Row:
        return self._with(operator.le, other)

    def __gt__(self, other: Any) -> Row:
        return self._with(operator.gt, other)

    def __ge__(self, other: Any) -> Row:
        return self._with(operator.ge, other)

    def _with(self, apply: Callable[[Value, Value], Value], other: Any) -> Row:
        """An operator with another row, column by column, or with one value for all columns."""
        if not isinstance(other, Row):
            return Row([apply(value, other) for value in self._values])
        if len(self) != len(other):
            raise ValueError(f"rows of {len(self)} and {len(other)} columns; allowed: rows of one length")
        return Row(map(apply, self._values, other._values))

    def earlier(self, first: Value) -> Row:
        """The value of the column before, in each column; `first` stands in the first.

        >>> Row([1.0, 2.0, 3.0]).earlier(0.0)
        [0.0, 1.0, 2.0]
        """
        return Row([first, *self._values[:-1]])

    def later(self, last: Value) -> Row:
        """The value of the column after, in each column; `last` stands in the last.

        >>> Row([1.0, 2.0, 3.0]).later(0.0)
        [2.0, 3.0, 0.0]
        """
        return Row([*self._values[1:], last])

    def running_sum(self) -> Row:
        """What all columns up to each add up to.

        >>> Row([-2.0, 1.0, 3.0]).running_sum()
        [-2.0, -1.0, 2.0]
        """
        sums, so_far = [], 0.0
        for value in self._values:
            so_far = so_far + value
            sums.append(so_far)
        return Row(sums)

    def gains(self) -> Row:
        """What each column has above the one before; of the first, all.

        >>> Row([0.0, 0.75, 1.0]).gains()
        [0.0, 0.75, 0.25]
        """
        return Row([now - before for now, before in zip(self._values, (0.0, *self._values))])


def constant(value: Value, count: int) -> Row:
    """One value in every column.

    >>> constant(1.0, 3)
    [1.0, 1.0, 1.0]
    """
    return Row([value] * count)


def perform(name: str, arguments: tuple) -> Row:
    """An operation of the closed list column by column; what is no row stands in every column.

    >>> perform("smaller", (Row([1.0, 5.0]), 3.0))
    [1.0, 3.0]
    """
    operation = getattr(operations, name)
    count = next(len(each) for each in arguments if isinstance(each, Row))
    columns = zip(*[each if isinstance(each, Row) else [each] * count for each in arguments], strict=True)
    return Row([operation(values) if name in operations.SEQUENCES else operation(*values) for values in columns])


PERFORMERS[Row] = perform
