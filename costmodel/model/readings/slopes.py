"""Derivatives of figures in all inputs at once, taken along the operations of a recording by the chain rule.

Counts are taken as smooth here: `whole_up` has the slope 1, so that a figure keeps to its formula between two whole tools.
Where two branches meet, the slope is that of the branch taken. Source: forward and reverse mode of automatic differentiation
(Griewank and Walther, Evaluating Derivatives), from memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from ...core import operations
from ...core.operations import Value
from .cells import INFIX
from .recording import Recording
from .step_tables import RATES, steps_of

STEP = 1e-6  # for operations without a rule
STEEP = ("/", "**", "safe_divide", "log", "irr", "normal_quantile")  # whose slopes may be infinite
COMPARED = ("<", "<=", ">", ">=", "==", "!=")


def _power(base: Value, exponent: Value, made: Value) -> tuple[Value, Value]:
    logarithm = np.log(np.where(np.asarray(base) > 0, base, 1.0))
    return exponent * np.asarray(base, dtype=float) ** (np.asarray(exponent) - 1.0), made * logarithm


def _quotient(a: Value, b: Value, made: Value) -> tuple[Value, Value]:
    some = np.where(np.asarray(b) == 0, np.inf, b)
    return 1.0 / some, -made / some


def _rate(*flows_and_rate: Value) -> tuple[Value, ...]:
    """How an internal rate of return moves with each flow: by the implicit function of its present value."""
    *flows, rate = flows_and_rate
    growth = 1.0 + np.asarray(rate, dtype=float)
    falls = sum(-k * flow * growth ** (-k - 1.0) for k, flow in enumerate(flows))
    return tuple(-(growth**-k) / falls for k in range(len(flows)))


def _bell(x: Value) -> Value:
    return np.exp(-0.5 * np.square(x)) / np.sqrt(2 * np.pi)


RULES: dict[str, Callable[..., tuple[Value, ...]]] = {
    "+": lambda a, b, r: (1.0, 1.0),
    "-": lambda a, b, r: (1.0, -1.0),
    "*": lambda a, b, r: (b, a),
    "/": lambda a, b, r: (1.0 / b, -r / b),
    "**": _power,
    "negative": lambda a, r: (-1.0,),
    **{name: lambda a, b, r: (0.0, 0.0) for name in COMPARED},
    "whole_up": lambda a, r: (1.0,),
    "larger": lambda a, b, r: (np.where(np.asarray(a) >= b, 1.0, 0.0), np.where(np.asarray(a) >= b, 0.0, 1.0)),
    "smaller": lambda a, b, r: (np.where(np.asarray(a) <= b, 1.0, 0.0), np.where(np.asarray(a) <= b, 0.0, 1.0)),
    "choose": lambda c, a, b, r: (0.0, np.where(c, 1.0, 0.0), np.where(c, 0.0, 1.0)),
    "valid_if": lambda c, a, r: (0.0, np.where(c, 1.0, 0.0)),
    "safe_divide": _quotient,
    "sum_of": lambda *a: (1.0,) * (len(a) - 1),
    "exp": lambda a, r: (r,),
    "log": lambda a, r: (1.0 / a,),
    "irr": _rate,
    "irr_count": lambda *a: (0.0,) * (len(a) - 1),
    "normal_cdf": lambda a, r: (_bell(a),),
    "normal_quantile": lambda a, r: (1.0 / _bell(r),),
}


def operation(name: str) -> Callable[..., Value]:
    """The function behind the name of an operation, on numbers or arrays; it takes values one by one."""
    if name in operations.SEQUENCES:
        of_row = getattr(operations, name)
        return lambda *values: of_row(values)
    return INFIX.get(name) or getattr(operations, name)


def slopes_of(name: str, values: Sequence[Value], made: Value) -> tuple[Value, ...]:
    """The slope of an operation in each of its arguments, by its rule, or by a central difference where it has none.

    >>> slopes_of("*", (2.0, 5.0), 10.0), slopes_of("whole_up", (2.5,), 3.0)
    ((5.0, 2.0), (1.0,))
    """
    if name in RULES:
        return RULES[name](*values, made)
    perform, found = operation(name), []
    for k, value in enumerate(values):
        step = STEP * np.maximum(np.abs(value), 1e-12)
        ends = [perform(*values[:k], value + sign * step, *values[k + 1 :]) for sign in (1, -1)]
        found.append((ends[0] - ends[1]) / (2 * step))
    return tuple(found)


class Slopes:
    """The operations that figures need, with the names of their rules, ready for derivatives at any point.

    >>> from costmodel.case.load import load_case
    >>> case, area = load_case("inputs_demo/facade"), "line.output.plate_area"
    >>> sides = {"product.length": 2.0, "product.width": 0.5}
    >>> slopes = Slopes(Recording(case, list(sides), [area]))
    >>> slopes.forward(sides, [area])[area].tolist()
    [0.5, 2.0]
    >>> slopes.backward({side: np.array([value]) for side, value in sides.items()}, area)[1].tolist()
    [[0.5], [2.0]]
    """

    def __init__(self, recording: Recording):
        self.recording = recording
        self.inputs = list(recording.inputs)
        self._named = []
        for name, takes, gives in steps_of(recording.table):
            parts = (("irr", gives), ("irr_count", gives + 1)) if name == RATES else ((name, gives),)
            self._named += [(each, operation(each), takes, place) for each, place in parts]
        self._parts: dict[frozenset[int], list] = {}

    def _needed(self, wanted: Sequence[str]) -> list:
        """The steps that some figures need, in order; looked for once."""
        places = frozenset(self.recording.places[address] for address in wanted)
        if places not in self._parts:
            needed, steps = set(places), []
            for step in reversed(self._named):
                if step[3] in needed:
                    needed.update(step[2])
                    steps.append(step)
            self._parts[places] = steps[::-1]
        return self._parts[places]

    def _begin(self, values: Mapping[str, Value]) -> list[Any]:
        registers = self.recording.registers()
        for address, place in self.recording.inputs.items():
            registers[place] = values[address]
        return registers

    def values(self, values: Mapping[str, Value], wanted: Sequence[str]) -> dict[str, Value]:
        """The figures themselves, in base units."""
        registers = self._begin(values)
        with np.errstate(all="ignore"):
            for _, function, takes, gives in self._needed(wanted):
                registers[gives] = function(*[registers[place] for place in takes])
        return {address: registers[self.recording.places[address]] for address in wanted}

    def forward(self, values: Mapping[str, float], wanted: Sequence[str]) -> dict[str, np.ndarray]:
        """The slope of each figure in every input, in their order, at one point: one sweep for all figures."""
        registers, steps = self._begin(values), self._needed(wanted)
        last = {place: k for k, (_, _, takes, _) in enumerate(steps) for place in takes}
        kept = {self.recording.places[address] for address in wanted}
        tangents: dict[int, np.ndarray] = dict(zip(self.recording.inputs.values(), np.eye(len(self.inputs))))
        with np.errstate(all="ignore"):
            for k, (name, function, takes, gives) in enumerate(steps):
                arguments = [registers[place] for place in takes]
                registers[gives] = made = function(*arguments)
                moving = [(n, place) for n, place in enumerate(takes) if place in tangents]
                if moving and name not in COMPARED:
                    parts = slopes_of(name, arguments, made)
                    rows = [tangents[place] * float(parts[n]) for n, place in moving if parts[n] != 0.0]
                    if rows:
                        total = rows[0]
                        for row in rows[1:]:
                            total += row
                        tangents[gives] = total
                for _, place in moving:
                    if last[place] == k and place not in kept:
                        tangents.pop(place, None)
        nothing = np.zeros(len(self.inputs))
        return {address: tangents.get(self.recording.places[address], nothing) for address in wanted}

    def backward(self, values: Mapping[str, np.ndarray], wanted: str) -> tuple[np.ndarray, np.ndarray]:
        """One figure at several points, and its slope in each input (rows) at each of them (columns): one sweep back."""
        registers, steps, place = self._begin(values), self._needed([wanted]), self.recording.places[wanted]
        count = max(np.size(value) for value in values.values())
        with np.errstate(all="ignore"):
            for _, function, takes, gives in steps:
                registers[gives] = function(*[registers[each] for each in takes])
            weights: dict[int, Any] = {place: np.ones(count)}
            for name, _, takes, gives in reversed(steps):
                if gives not in weights or name in COMPARED:
                    continue
                weight = weights.pop(gives)
                for argument, part in zip(takes, slopes_of(name, [registers[each] for each in takes], registers[gives])):
                    if type(part) is not float or part != 0.0:
                        share = weight * part
                        if name in STEEP:  # 0 times a slope that is infinite is no influence
                            share = np.where(weight == 0.0, 0.0, share)
                        weights[argument] = weights[argument] + share if argument in weights else share
        slopes = [np.broadcast_to(weights.get(at, 0.0), count) for at in self.recording.inputs.values()]
        return np.broadcast_to(registers[place], count).astype(float), np.array(slopes)
