"""The gains of both sides for any values of the terms: licensor above its floor, licensee above its best alternative."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..case.addresses import numeric_inputs, value_at
from ..case.records import Case
from ..faults import Fault, InputFaults, nearest
from ..operations import Value
from ..readings.cells import Sheet
from ..readings.recording import Recording

LICENSOR, LICENSEE = "deal.licensor.gain", "deal.licensee.gain"
UPFRONT, ROYALTY = "licence.upfront", "licence.royalty"
TABLES = ("licence", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies")
NOT_AGREED = ("chance", "days", "day_cost", "overrun", "travel", "pilot_time", "pilot_cost", "cost", "change", "per_watt_change")


@dataclass(frozen=True, slots=True)
class Gains:
    """What both sides have above what they could have without the deal, each at its own rate, in the reporting currency."""

    licensor: Value
    licensee: Value


def terms(case: Case) -> list[str]:
    """The addresses of all that can be agreed: fees, royalties, times, prices, margins, and who bears tax at source.

    >>> from costmodel.case.load import load_case
    >>> "licence.royalty" in terms(load_case("inputs_demo/facade"))
    True
    """
    found = []
    for address, *_ in numeric_inputs(case, (*TABLES, "payment_kinds")):
        table, *_, field = address.split(".")
        agreed = field == "gross_up" if table == "payment_kinds" else field not in NOT_AGREED
        if agreed:
            found.append(address)
    return found


def check_term(case: Case, address: str, origin: str) -> None:
    """Refuse an address that is none of a term. Raises InputFaults."""
    known = terms(case)
    if address not in known:
        raise InputFaults([Fault(origin, None, None, f"'{address}'", f"a term of the deal{nearest(address, known)}")])


class Sides:
    """The gains of both sides, ready to be found for other values of some inputs; see `Recording`.

    `also` are further figures, which `figures` gives beside the gains.

    >>> from costmodel.case.load import load_case
    >>> sides = Sides(load_case("inputs_demo/facade"), [UPFRONT])
    >>> dear, cheap = (sides.gains({UPFRONT: upfront}) for upfront in (3e6, 1e6))
    >>> dear.licensor > cheap.licensor and dear.licensee < cheap.licensee
    True
    """

    def __init__(self, case: Case, varied: Sequence[str], sheet: Sheet | None = None, also: Sequence[str] = ()):
        self.case = case
        self.present = {address: value_at(case, address) for address in varied}
        self._recording = Recording(case, varied, dict.fromkeys([LICENSOR, LICENSEE, *also]), sheet)

    def values_of(self, case: Case) -> dict[str, Value]:
        """What the varied inputs are in another case."""
        return {address: value_at(case, address) for address in self.present}

    def settled(self, values: Mapping[str, Value], moving: Sequence[str]) -> Sides:
        """The same with its inputs set, but for some that go on moving: their gains are found several times as fast."""
        made = copy.copy(self)
        now = {**self.present, **values}
        made.present = {address: now[address] for address in moving}
        made._recording = self._recording.settled(now, moving)
        return made

    def figures(self) -> dict[str, Value]:
        """The figures of settled sides, with the values that they were settled at."""
        return self._recording.figures()

    def gains(self, values: Mapping[str, Value]) -> Gains:
        """The gains with other values, unchecked, in base units; what is not named stays as it is."""
        found = self.run(values)
        return Gains(found[LICENSOR], found[LICENSEE])

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The same with the further figures, by address."""
        return self._recording.run({**self.present, **values})


FURTHER, TIMES = 10.0, 12  # how a bound is moved out: in any currency a sum is reached


def reach(function, low: float, high: float) -> float:
    """A bound far enough for a function of one value to have passed zero: `high`, or that ten times as large, again and again.

    `high` itself where it never does.

    >>> reach(lambda x: x - 5e6, 0.0, 1e5), reach(lambda x: x + 1.0, 0.0, 1e5)
    (10000000.0, 100000.0)
    """
    at_low, bound = np.sign(function(low)), high
    for _ in range(TIMES):
        if np.sign(function(bound)) != at_low:
            return bound
        bound *= FURTHER
    return high


def solve(function, low: np.ndarray, high: np.ndarray, *arguments: np.ndarray) -> np.ndarray:
    """Where a function that rises, or falls, along each row is zero; NaN for rows in which it is not between the bounds.

    `function` takes values and the arguments, all arrays of one shape.

    >>> solve(lambda x, c: x - c, np.zeros(2), np.ones(2), np.array([0.25, 7.0])).tolist()
    [0.25, nan]
    """
    from scipy.optimize import elementwise

    low, high, *arguments = np.broadcast_arrays(np.asarray(low, float), np.asarray(high, float), *arguments)
    at_low, at_high = function(low, *arguments), function(high, *arguments)
    within = np.sign(at_low) * np.sign(at_high) <= 0
    found = np.full(low.shape, np.nan)
    found[within & (at_low == 0)] = low[within & (at_low == 0)]
    found[within & (at_high == 0)] = high[within & (at_high == 0)]
    open_rows = within & (at_low != 0) & (at_high != 0)
    if open_rows.any():
        rows = [argument[open_rows] for argument in arguments]
        found[open_rows] = elementwise.find_root(function, (low[open_rows], high[open_rows]), args=tuple(rows)).x
    return found
