"""What one unit of each term is worth to either side, what one term is in another, and what one side must or may ask of a term."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import input_at, value_at
from ...case.whole_case import Case
from ...core.fields import Number, unit_of
from ...core.operations import Value
from ...core.roots import JUMP, Change, Function, Stretches, common, jumps, profile, reach, scan_of
from ...core.units import to_base
from .sides import Sides, terms

WITHIN, STANDS_OUT = 9, 3.0  # points of a step; how much more than any other part one does that may hold a jump
AROUND = 201  # points up to four times the present value of a term, in a scan that may go much farther
POINT = 0.01
MONEY = 100_000.0
MONEY_A_YEAR = 10_000.0
MONEY_A_WATT = 0.001


@dataclass(frozen=True, slots=True)
class Concession:
    """A step of a term, in base units and in words, and what it does to the gains of both sides, in the reporting currency.

    `taken` is what the licensor has for each unit that the step costs the licensee; NaN where it costs it nothing. `jumps` are
    those of a gain within the step, by side.
    """

    address: str
    step: float
    words: str
    licensor: float
    licensee: float
    jumps: tuple[tuple[str, Change], ...] = ()

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
    present: dict[str, Value] = sides.values_of(case)
    values, shape = dict(present), (len(allowed), WITHIN)
    for row, address in enumerate(allowed):
        values[address] = np.full(shape, float(value_at(case, address)))
        values[address][row] += steps[address][0] * np.linspace(0.0, 1.0, WITHIN)
    found = sides.gains({address: np.ravel(value) if np.ndim(value) else value for address, value in values.items()})
    licensor, licensee = (np.broadcast_to(gain, len(allowed) * WITHIN).reshape(shape) for gain in (found.licensor, found.licensee))
    moved = [
        Concession(
            a,
            steps[a][0],
            steps[a][1],
            float(licensor[k, -1] - licensor[k, 0]),
            float(licensee[k, -1] - licensee[k, 0]),
            tuple(_jumps_within(sides, present, a, steps[a][0], {"licensor": licensor[k], "licensee": licensee[k]})),
        )
        for k, a in enumerate(allowed)
    ]
    return sorted(moved, key=lambda each: -abs(each.licensor) - 1e-6 * abs(each.licensee))


def _jumps_within(
    sides: Sides, present: Mapping[str, Value], address: str, step: float, gains: Mapping[str, np.ndarray]
) -> Iterator[tuple[str, Change]]:
    """The jumps of each side's gain within a step of a term, looked for where one part of it stands out."""
    for side, values in gains.items():
        parts = np.diff(values)
        parts = np.sort(np.abs(parts - np.median(parts)))
        if parts[-1] <= STANDS_OUT * parts[-2] + JUMP * np.abs(values).max():
            continue
        alone = sides.settled(present, [address])

        def gain(value, side: str = side, alone: Sides = alone):
            """What the side gains at a value of the term."""
            return getattr(alone.gains({address: value}), side)

        grid = np.linspace(present[address], present[address] + step, WITHIN)
        yield from ((side, jump) for jump in jumps(gain, profile(gain, grid)))


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
class Along:
    """One side along a term: from which values to which it has what it could have without the deal, and where its gain jumps."""

    stretches: Stretches
    jumps: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Interval:
    """What one term may be from `low` to `high`, all others as offered: where the licensor has its floor, and the licensee its
    best alternative."""

    address: str
    low: float
    high: float
    licensor: Along
    licensee: Along

    @property
    def both(self) -> Stretches:
        """Where both are no worse off than without the deal."""
        return common(self.licensor.stretches, self.licensee.stretches)


def interval(case: Case, address: str, sides: Sides | None = None) -> Interval:
    """Both sides along a term, from nothing to the most that the input allows, or as far as it takes.

    >>> from costmodel.case.load import load_case
    >>> found = interval(load_case("inputs_demo/facade"), "licence.royalty")
    >>> (low, high), = found.both
    >>> low == 0.0 and 0.03 < high < 0.05
    True
    """
    declaration, _ = input_at(case, address)
    present = float(value_at(case, address))
    low, high = declaration.low or 0.0, declaration.high
    sides = (sides or Sides(case, [address])).settled({}, [address])

    def licensor(value):
        """What the licensor gains."""
        return sides.gains({address: value}).licensor

    def licensee(value):
        """What the licensee gains."""
        return sides.gains({address: value}).licensee

    if high is None:
        far = max(50 * present, 100 * step_of(case, address)[0])
        high = max(reach(gain, low, far) for gain in (licensor, licensee))
    grid = scan_of(low, high, present, *np.linspace(low, min(high, 4 * present), AROUND).tolist())
    return Interval(address, low, high, *(_along(gain, grid) for gain in (licensor, licensee)))


def _along(gain: Function, grid: np.ndarray) -> Along:
    found = profile(gain, grid)
    return Along(found.stretches, jumps(gain, found))
