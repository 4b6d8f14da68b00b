"""What one unit of each term is worth to either side, what one term is in another, and what one side must or may ask of a term."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..case.addresses import input_at, value_at
from ..case.records import Case
from ..fields import Number, unit_of
from ..operations import Value
from ..units import to_base
from .sides import Sides, reach, solve, terms

POINT = 0.01
MONEY = 100_000.0
MONEY_A_YEAR = 10_000.0
MONEY_A_WATT = 0.001


@dataclass(frozen=True, slots=True)
class Concession:
    """A step of a term, in base units and in words, and what it does to the gains of both sides, in the reporting currency.

    `taken` is what the licensor has for each unit that the step costs the licensee; NaN where it costs it nothing.
    """

    address: str
    step: float
    words: str
    licensor: float
    licensee: float

    @property
    def taken(self) -> float:
        """What the licensor has for each unit that it costs the licensee."""
        return -self.licensor / self.licensee if self.licensee else float("nan")


def step_of(case: Case, address: str) -> tuple[float, str]:
    """One unit of a term, as people trade it: a point, 100,000 of the currency, a quarter or a year; in base units, and in words.

    >>> from costmodel.case.load import load_case
    >>> step_of(load_case("inputs_demo/facade"), "licence.royalty")
    (0.01, '1 point')
    """
    declaration, record = input_at(case, address)
    assert isinstance(declaration, Number)
    unit = unit_of(record, declaration.entry)
    currency = getattr(record, "currency", case.currency)
    if unit == "1":
        return POINT, "1 point"
    if unit == "month":
        return 3 * to_base("month"), "3 months"
    if unit == "year":
        return to_base("year"), "1 year"
    amount = {currency: MONEY, f"{currency}/year": MONEY_A_YEAR}.get(unit, MONEY_A_WATT)
    return amount * to_base(unit), f"{amount:,.6g} {unit.replace('Wp_stabilised', 'W')}"


def concessions(case: Case, sides: Sides) -> list[Concession]:
    """Every term moved by one unit upwards, alone; the greatest effect on the licensor first. Steps out of range are left out.

    `sides` must vary all terms; what else it varies stands as `case` has it.
    """
    addresses = terms(case)
    steps = {address: step_of(case, address) for address in addresses}
    allowed = [a for a in addresses if _within(case, a, value_at(case, a) + steps[a][0])]
    values: dict[str, Value] = sides.values_of(case)
    for row, address in enumerate(allowed):
        values[address] = np.full(len(allowed) + 1, float(value_at(case, address)))
        values[address][row + 1] += steps[address][0]
    found = sides.gains(values)
    licensor, licensee = (np.broadcast_to(gain, len(allowed) + 1) for gain in (found.licensor, found.licensee))
    moved = [
        Concession(a, steps[a][0], steps[a][1], float(licensor[k + 1] - licensor[0]), float(licensee[k + 1] - licensee[0]))
        for k, a in enumerate(allowed)
    ]
    return sorted(moved, key=lambda each: -abs(each.licensor) - 1e-6 * abs(each.licensee))


def _within(case: Case, address: str, value: float) -> bool:
    declaration, _ = input_at(case, address)
    return declaration.high is None or value <= declaration.high


def exchange(rows: Sequence[Concession], first: str, second: str) -> tuple[float, float]:
    """How many steps of one term are worth a step of another: to the licensor, and to the licensee.

    >>> rows = [Concession("a", 1.0, "", 200.0, -100.0), Concession("b", 1.0, "", 50.0, -50.0)]
    >>> exchange(rows, "b", "a")
    (4.0, 2.0)
    """
    known = {each.address: each for each in rows}
    one, other = known[first], known[second]
    return other.licensor / one.licensor, other.licensee / one.licensee


@dataclass(frozen=True, slots=True)
class Interval:
    """What one term may be, all others as offered: where the licensor has its floor, and the licensee its best alternative.

    NaN where no value from `low` to `high` does it; residuals are what is left of each gain there.
    """

    address: str
    licensor: float
    licensee: float
    residuals: tuple[float, float]
    low: float
    high: float
    gains_at_low: tuple[float, float]


def interval(case: Case, address: str, sides: Sides | None = None) -> Interval:
    """Solve a term for both sides' limits, from nothing to the most that the input allows, or as far as it takes.

    >>> from costmodel.case.load import load_case
    >>> found = interval(load_case("inputs_demo/facade"), "licence.royalty")
    >>> 0.02 < found.licensee < 0.05
    True
    """
    declaration, _ = input_at(case, address)
    present = float(value_at(case, address))
    low = declaration.low or 0.0
    sides = (sides or Sides(case, [address])).settled({}, [address])
    high = declaration.high
    if high is None:
        first = max(50 * present, 100 * step_of(case, address)[0])
        high = max(
            reach(lambda value: float(sides.gains({address: value}).licensor), low, first),
            reach(lambda value: float(sides.gains({address: value}).licensee), low, first),
        )
    found = solve(
        lambda value, own: np.where(own > 0, sides.gains({address: value}).licensor, sides.gains({address: value}).licensee),
        np.full(2, low),
        np.full(2, high),
        np.array([1.0, 0.0]),
    )
    at_low = sides.gains({address: low})
    left = [sides.gains({address: value}) if not np.isnan(value) else None for value in found]
    return Interval(
        address,
        float(found[0]),
        float(found[1]),
        (
            float(left[0].licensor) if left[0] else float("nan"),
            float(left[1].licensee) if left[1] else float("nan"),
        ),
        low,
        high,
        (float(at_low.licensor), float(at_low.licensee)),
    )
