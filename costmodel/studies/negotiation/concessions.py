"""What one unit of each term is worth to either side, what one term is in another, and what exclusivity costs and is worth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import input_at, value_at
from ...case.whole_case import Case
from ...core.fields import unit_of
from ...core.operations import Value
from ...core.roots import JUMP, Change, jumps, profile
from ...core.units import to_base
from ...model.deal.second_licensee import rivals
from ...model.readings.recording import Recording
from ..axes import declared
from .sides import LICENSEE, LICENSOR, Sides, sides_of, terms

WITHIN, STANDS_OUT = 9, 3.0  # points of a step; how much more than any other part one does that may hold a jump
POINT = 0.01
MONEY = 100_000.0
MONEY_A_YEAR = 10_000.0
MONEY_A_WATT = 0.001
YEARS = (0.0, 3.0, 5.0, 10.0)  # of exclusivity
TIME = "licence.exclusive_time"


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
    _, record = input_at(case, address)
    unit = unit_of(record, declared(case, address).entry)
    currency = getattr(record, "currency", case.currency)
    if unit == "1":
        return POINT, "1 point"
    if unit == "month":
        return 3 * to_base("month"), "3 months"
    if unit == "year":
        return to_base("year"), "1 year"
    amount = {currency: MONEY, f"{currency}/year": MONEY_A_YEAR}.get(unit, MONEY_A_WATT)
    return amount * to_base(unit), f"{amount:,.6g} {unit.replace('Wp_stabilised', 'W')}"


def concessions(case: Case, sides: Sides | None = None) -> list[Concession]:
    """Every term moved by one unit upwards, alone; the greatest effect on the licensor first. Steps out of range are left out.

    `sides`, where given, are those of another state of the case, with all terms varied; a panel has one for all of its moves.
    """
    sides = sides or sides_of(case)
    addresses = terms(case)
    steps = {address: step_of(case, address) for address in addresses}
    highest = {a: declared(case, a).high for a in addresses}
    allowed = [a for a in addresses if highest[a] is None or value_at(case, a) + steps[a][0] <= highest[a]]
    present: dict[str, Value] = sides.values_of(case)
    values, shape = dict(present), (len(allowed), WITHIN)
    for row, address in enumerate(allowed):
        values[address] = np.full(shape, float(value_at(case, address)))
        values[address][row] += steps[address][0] * np.linspace(0.0, 1.0, WITHIN)
    found = sides.gains({address: np.ravel(value) if np.ndim(value) else value for address, value in values.items()})
    licensor, licensee = (np.broadcast_to(gain, len(allowed) * WITHIN).reshape(shape) for gain in (found.licensor, found.licensee))
    moved = []
    for address, own, other in zip(allowed, licensor, licensee):
        step, words = steps[address]
        within = tuple(_jumps_within(sides, present, address, step, {"licensor": own, "licensee": other}))
        moved.append(Concession(address, step, words, float(own[-1] - own[0]), float(other[-1] - other[0]), within))
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
class Exclusivity:
    """What exclusivity of so many years takes from the licensor, by prospect, and what it is in all to either side.

    `cost` is what the licensor has less than without exclusivity: licences lost, less royalty that no one else takes, after its
    own tax. `worth` is what the licensee has more. Each at its own rate, in the reporting currency.
    """

    years: tuple[float, ...]
    lost: dict[str, np.ndarray]
    cost: np.ndarray
    worth: np.ndarray


def exclusivity(case: Case, years: tuple[float, ...] = YEARS) -> Exclusivity:
    """Each prospect in the territories of the licence, and both sides, under exclusivity of several lengths.

    >>> from costmodel.case.load import load_case
    >>> found = exclusivity(load_case("inputs_demo/facade"))
    >>> [bool(row[0] == 0 and (row[1:] >= row[:-1]).all()) for row in found.lost.values()]
    [True, True]
    """
    figures = {name: f"deal.prospects.{name}.lost" for name in rivals(case)}
    times = np.array((0.0, *years)) * to_base("year")
    found = Recording(case, [TIME], [*figures.values(), LICENSOR, LICENSEE]).run({TIME: times})
    rows = {address: np.broadcast_to(values, times.shape) for address, values in found.items()}
    return Exclusivity(
        years,
        {name: rows[address][1:] for name, address in figures.items()},
        rows[LICENSOR][0] - rows[LICENSOR][1:],
        rows[LICENSEE][1:] - rows[LICENSEE][0],
    )
