"""The model read as a tape of operations: each value that a varied input moves knows its place, and no number is computed.

What no varied input moves is a plain number all along, so that a tape is as short as what moves, and takes little more time than
the numbers take. A value on a tape takes part in what a cell takes part in (`cells.py`); anything else is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ...core import operations
from .cells import NotAnOperation
from .step_tables import RATES, TRUTHS, Table, table_of

Operation = tuple[str, tuple[int, ...]]
_PLAIN = (float, int, bool)
_RATE = {"irr": 0, "irr_count": 1}  # rate of return and status are found together
_ALLOWED = "allowed: numbers, + - * / **, comparison and costmodel.core.operations"


class Tape:
    """Operations in the order of the model, each once, by name and places that it takes; `numbers` are plain numbers by place."""

    def __init__(self) -> None:
        self.done: dict[Operation, Moved] = {}
        self.numbers: dict[int, Any] = {}
        self.count = 0  # of places
        self._constants: dict[Any, int] = {}

    def new(self) -> Moved:
        """A value of its own, as an input has."""
        self.count += 1
        return Moved(self.count - 1, self)

    def place(self, value: Any) -> int:
        """Where a value stands, moved or plain."""
        if type(value) is Moved:
            return value.place
        value = value if type(value) in _PLAIN else value.item()  # a number of NumPy as Python has it
        key = value if type(value) is float and value else repr(value)  # -0.0 is not 0.0
        place = self._constants.get(key)
        if place is None:
            self._constants[key] = place = self.count
            self.numbers[place] = value
            self.count += 1
        return place

    def moved(self, operation: Operation) -> Moved:
        """What an operation gives; an equal one may have been done before."""
        found = self.done.get(operation)
        if found is None:
            name, place = operation[0], self.count
            self.done[operation] = found = Moved(place, self, name in TRUTHS)
            self.count = place + (2 if name == RATES else 1)
        return found

    def close(self) -> Table:
        """The operations as a table; their values are forgotten, of which most are no figures."""
        table = table_of([(name, takes, value.place) for (name, takes), value in self.done.items()])
        self.done.clear()
        return table


def _between(symbol: str) -> tuple[Callable, Callable]:
    """An operator between a value on a tape and another value, and the same with it on the right.

    A number times or by 1 is itself to the last bit, and needs no step.
    """
    by_one, times_one = symbol in "*/", symbol == "*"

    def forward(self: Moved, other: Any) -> Any:
        """The operation with the value on the left; a row does it itself."""
        if type(other) is Moved:
            return self.tape.moved((symbol, (self.place, other.place)))
        if not isinstance(other, _PLAIN):
            return NotImplemented
        as_it_is = by_one and other == 1 and not self.truth
        return self if as_it_is else self.tape.moved((symbol, (self.place, self.tape.place(other))))

    def backward(self: Moved, other: Any) -> Any:
        """The operation with the value on the right."""
        if not isinstance(other, _PLAIN):
            return NotImplemented
        as_it_is = times_one and other == 1 and not self.truth
        return self if as_it_is else self.tape.moved((symbol, (self.tape.place(other), self.place)))

    return forward, backward


class Moved:
    """A value that a varied input moves, by its place on a tape."""

    __slots__ = ("place", "tape", "truth")
    __array_ufunc__ = None  # NumPy leaves its numbers beside it to it

    def __init__(self, place: int, tape: Tape, truth: bool = False):
        self.place, self.tape, self.truth = place, tape, truth

    __add__, __radd__ = _between("+")
    __sub__, __rsub__ = _between("-")
    __mul__, __rmul__ = _between("*")
    __truediv__, __rtruediv__ = _between("/")
    __pow__, __rpow__ = _between("**")
    __lt__, __gt__, __le__, __ge__ = (_between(symbol)[0] for symbol in ("<", ">", "<=", ">="))
    __eq__, __ne__ = (_between(symbol)[0] for symbol in ("==", "!="))  # type: ignore[assignment]
    __hash__ = object.__hash__

    def __neg__(self) -> Moved:
        return self.tape.moved(("negative", (self.place,)))

    def _refuse(self, *_: Any) -> Any:
        raise NotAnOperation(f"a value of a tape where Python wants a plain value, as in `if`, max() or float(); {_ALLOWED}")

    __bool__ = __float__ = __int__ = __index__ = __round__ = __ceil__ = __floor__ = __trunc__ = __array__ = _refuse
    __len__ = __iter__ = _refuse


def perform(name: str, arguments: Sequence[Any]) -> Moved:
    """An operation of the closed list on values of which some are on a tape."""
    tape = next(value.tape for value in arguments if type(value) is Moved)
    takes = tuple([value.place if type(value) is Moved else tape.place(value) for value in arguments])
    if name not in _RATE:
        return tape.moved((name, takes))
    return Moved(tape.moved((RATES, takes)).place + _RATE[name], tape)


operations.PERFORMERS[Moved] = perform
