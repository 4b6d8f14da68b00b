"""Numbers that remember how they move with figures and inputs, so that facts made of them say what they give away.

The code that makes facts (`../facts.py`) runs on them as on floats: a sum of figures becomes a sum of slopes. What would lose the
slopes, `float()`, is refused.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any

from ...core import operations
from ...model.readings.slopes import slopes_of

Slopes = Mapping[str, float]


class Traced(float):
    """A number with its slope in each figure and input that it is made of, by address.

    >>> price, area = Traced(4.0, {"price": 1.0}), Traced(0.5, {"area": 1.0})
    >>> made = 2.0 * price / area - price
    >>> float.__repr__(made), made.slopes
    ('12.0', {'price': 3.0, 'area': -32.0})
    """

    slopes: Slopes

    def __new__(cls, value: float, slopes: Slopes) -> Traced:
        made = super().__new__(cls, value)
        made.slopes = slopes
        return made

    def __float__(self) -> float:
        raise TypeError("float() of a traced number, which would lose its slopes; allowed: the number as it is")

    def __neg__(self) -> Traced:
        return _made("negative", self)

    def __add__(self, other: Any) -> Any:
        return _made("+", self, other)

    def __radd__(self, other: Any) -> Any:
        return _made("+", other, self)

    def __sub__(self, other: Any) -> Any:
        return _made("-", self, other)

    def __rsub__(self, other: Any) -> Any:
        return _made("-", other, self)

    def __mul__(self, other: Any) -> Any:
        return _made("*", self, other)

    def __rmul__(self, other: Any) -> Any:
        return _made("*", other, self)

    def __truediv__(self, other: Any) -> Any:
        return _made("/", self, other)

    def __rtruediv__(self, other: Any) -> Any:
        return _made("/", other, self)

    def __pow__(self, other: Any, _modulus: None = None) -> Any:
        return _made("**", self, other)

    def __abs__(self) -> Traced:
        return self if self >= 0 else -self


def plain(value: Any) -> Any:
    """A traced number without its slopes; anything else as it is."""
    return float.__add__(value, 0.0) if isinstance(value, Traced) else value


def _made(name: str, *arguments: Any) -> Any:
    """An operation on traced and plain numbers, with the slopes of what it gives; other kinds of value do it themselves."""
    if not all(isinstance(each, (int, float)) for each in arguments):
        return NotImplemented
    return _perform(name, arguments)


def _perform(name: str, arguments: tuple) -> Traced:
    values = [plain(each) for each in arguments]
    result = _operation(name)(*values)
    slopes: dict[str, float] = {}
    for argument, part in zip(arguments, slopes_of(name, values, result)):
        if isinstance(argument, Traced) and part != 0.0:
            for address, slope in argument.slopes.items():
                slopes[address] = slopes.get(address, 0.0) + slope * plain(part)
    return Traced(result, slopes)


def _operation(name: str) -> Callable[..., Any]:
    from ...model.readings.slopes import operation

    return operation(name)


operations.PERFORMERS[Traced] = _perform


def traced(record: Any, path: str) -> Any:
    """A record of figures with each number traced by its address, the path through the records as `core.fields.walk` has it.

    >>> traced({"a": {"b": 2.0}}, "top")["a"]["b"].slopes
    {'top.a.b': 1.0}
    """
    if isinstance(record, bool) or record is None:
        return record
    if isinstance(record, float):
        return Traced(record, {path: 1.0})
    if isinstance(record, Mapping):
        return {key: traced(each, f"{path}.{key}") for key, each in record.items()}
    if dataclasses.is_dataclass(record) and not isinstance(record, type):
        fields = {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}
        return dataclasses.replace(record, **{name: traced(each, f"{path}.{name}") for name, each in fields.items()})
    return record
