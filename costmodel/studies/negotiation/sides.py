"""The gains of both sides for any values of the terms: licensor above its floor, licensee above its best alternative."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import numeric_inputs, value_at
from ...case.whole_case import Case, kept
from ...core.faults import Fault, InputFaults, nearest
from ...core.operations import Value
from ...core.roots import CLOSEST, rising_zero
from ...model.readings.recording import Recording

LICENSOR, LICENSEE = "deal.licensor.gain", "deal.licensee.gain"
UPFRONT, ROYALTY = "licence.upfront", "licence.royalty"
TABLES = (
    *("licence", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "laboratory_tests"),
    *("supplies", "supplied_materials"),
)
NOT_AGREED = (
    *("probability", "days", "day_cost", "overrun", "travel", "pilot_time", "pilot_cost", "cost", "change", "per_watt_change"),
    *("consumables", "samples", "own_cost"),
)


@dataclass(frozen=True, slots=True)
class Gains:
    """What both sides have above what they could have without the deal, each at its own rate, in the reporting currency."""

    licensor: Value
    licensee: Value


def terms(case: Case) -> list[str]:
    """The addresses of all that can be agreed: fees, royalties, times, prices, margins, and who bears withholding tax.

    >>> from costmodel.case.load import load_case
    >>> "licence.royalty" in terms(load_case("inputs_demo/facade"))
    True
    """
    parts = [(address, *address.split(".")) for address, *_ in numeric_inputs(case, (*TABLES, "payment_kinds"))]
    return [
        address for address, table, *_, field in parts
        if (field == "gross_up" if table == "payment_kinds" else field not in NOT_AGREED)
    ]  # fmt: skip


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

    def __init__(self, case: Case, varied: Sequence[str], also: Sequence[str] = ()):
        self.case = case
        self.present = {address: value_at(case, address) for address in varied}
        self._recording = Recording(case, varied, list(dict.fromkeys([LICENSOR, LICENSEE, *also])))

    def values_of(self, case: Case) -> dict[str, Value]:
        """What the varied inputs are in another case."""
        return {address: value_at(case, address) for address in self.present}

    def settled(self, values: Mapping[str, Value], moving: Sequence[str]) -> Sides:
        """The same with its inputs set, except some that stay variable: their gains are found several times as fast."""
        made = copy.copy(self)
        now = {**self.present, **values}
        made.present = {address: now[address] for address in moving}
        made._recording = self._recording.settled(now, moving)
        return made

    def spread(self, rows: np.ndarray) -> Sides:
        """Settled sides of which each value goes with one of the rows that they were settled at; see `Recording.spread`."""
        made = copy.copy(self)
        made._recording = self._recording.spread(rows)
        return made

    def figures(self) -> dict[str, Value]:
        """The figures of settled sides, with the values that they were settled at."""
        return self._recording.figures()

    def gains(self, values: Mapping[str, Value]) -> Gains:
        """The gains with other values, unchecked, in base units; what is not named stays as it is."""
        found = self.run(values)
        return Gains(found[LICENSOR], found[LICENSEE])

    def run(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """The gains and the further figures, by address."""
        return self._recording.run({**self.present, **values})


def sides_of(case: Case) -> Sides:
    """The sides of a case with all its terms varied, made once for each case."""
    return kept(case, "sides", lambda: Sides(case, terms(case)))


def sides_of_two(case: Case) -> Sides:
    """The sides of a case with fee and royalty varied, made once for each case: what a zone needs."""
    return kept(case, "sides of two", lambda: Sides(case, (UPFRONT, ROYALTY)))


class AtTerms:
    """Both gains for fees and royalties, all else as it is; each royalty is settled once for all its fees, which move less.

    >>> from costmodel.case.load import load_case
    >>> sides = sides_of(load_case("inputs_demo/facade"))
    >>> royalties, gains = np.array([0.01, 0.02]), AtTerms(sides)
    >>> [bool((gains(fee, royalties).licensor == gains(fee, royalties).licensor).all()) for fee in (np.zeros(2), np.full(2, 1e6))]
    [True, True]
    """

    def __init__(self, sides: Sides):
        self._both = sides if sides.present.keys() == {UPFRONT, ROYALTY} else sides.settled({}, (UPFRONT, ROYALTY))
        self._royalties: np.ndarray | None = None  # those that were settled last
        self._along = self._both

    def __call__(self, fee: Value, royalty: Value) -> Gains:
        if np.ndim(royalty) == 0:
            return self._both.gains({UPFRONT: fee, ROYALTY: royalty})
        each, rows = np.unique(royalty, return_inverse=True)
        if self._royalties is None or not np.array_equal(self._royalties, each):
            self._royalties, self._along = each, self._both.settled({ROYALTY: each}, (UPFRONT,))
        return self._along.spread(rows).gains({UPFRONT: fee})


def at_the_floor(gains: Callable[[np.ndarray, np.ndarray], Gains], count: int, scale: float) -> tuple[np.ndarray, Gains]:
    """Where some fee from 0 on gives the licensor its floor, and both gains with the least such fee; for `count` other terms.

    `gains` takes fees, and the numbers of the terms that they go with; `scale` is a fee to begin with. A fee costs the licensee
    something, so that the least one leaves it the most.
    """
    fee = rising_zero(lambda upfront, numbers: np.asarray(gains(upfront, numbers).licensor), np.zeros(count), scale)
    found = gains(np.where(np.isnan(fee), 0.0, fee), np.arange(count))
    return ~np.isnan(fee) & (found.licensor >= -CLOSEST * scale), found
