"""Where no mix suits both: the smallest single changes after which one would."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import numeric_inputs, value_at
from ...case.whole_case import Case
from ...core.roots import narrow
from ..axes import declared
from .sides import ROYALTY, UPFRONT, Sides, at_the_floor

MIXES = 21  # royalties at which a fee is looked for
ENOUGH = 1e-6  # of a factor: how closely the smallest change is found
FINER = 9  # points by which a change is looked at again
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75)
BELIEFS = (
    *("product.initial_efficiency", "product.stabilisation_ratio", "site.scheduled_time", "schedule.build_time"),
    *("outlay.contingency", "outlay.grant", "tax.rate", "returns.required_return"),
    *("licensor.discount_rate", "licensor.contribution", "licence.exclusive_time"),
)
PLACES = ("sales", "deliveries", "yearly_services", "payment_kinds", "other_ways", "other_lines")
FIELDS = ("price", "change", "days", "cost", "withholding", "value_share", "probability", "cash_cost")


@dataclass(frozen=True, slots=True)
class Opening:
    """An input that opens the zone by itself: from its present value to another, both in base units; `change` relative."""

    address: str
    present: float
    wanted: float

    @property
    def change(self) -> float:
        """The change over the present value."""
        return self.wanted / self.present - 1


def candidates(case: Case) -> list[str]:
    """Inputs that are tried: what is uncertain, terms of trade, and what both sides believe and ask; those that are not nothing."""
    listed = {row.address for row in case.ranges.values()} | set(BELIEFS)
    found = []
    for address, value, *_ in numeric_inputs(case):
        table, *_, field = address.split(".")
        if (address in listed or (table in PLACES and field in FIELDS)) and value != 0:
            found.append(address)
    return found


class _Gaps:
    """How far the two sides are from meeting, with one input at a time at another value."""

    def __init__(self, case: Case, addresses: Sequence[str]):
        self.addresses = addresses
        self.present = np.array([float(value_at(case, address)) for address in addresses])
        self.royalties = np.linspace(0.0, float(value_at(case, "licence.royalty_cap")), MIXES)
        self.sides = Sides(case, [UPFRONT, ROYALTY, *addresses])

    def met(self, rows: np.ndarray, factors: np.ndarray) -> np.ndarray:
        """Whether some mix suits both, for inputs by number, each times a factor."""
        count = len(rows)
        values = {ROYALTY: np.tile(self.royalties, count)}
        for row in np.unique(rows):
            changed = np.where(rows == row, self.present[row] * factors, self.present[row])
            values[self.addresses[row]] = np.repeat(changed, MIXES)
        left = self._left_at_the_floor(values, count * MIXES)
        return left.reshape(count, MIXES).max(axis=1) >= 0

    def met_without(self, addresses: Sequence[str]) -> bool:
        """Whether some mix suits both with some of the inputs at nothing."""
        values = {ROYALTY: self.royalties, **{address: np.zeros(MIXES) for address in addresses}}
        return bool(self._left_at_the_floor(values, MIXES).max() >= 0)

    def _left_at_the_floor(self, values: Mapping[str, np.ndarray], count: int) -> np.ndarray:
        """What the licensee gains where a fee leaves the licensor just its floor."""
        scale = max(1.0, float(self.sides.present[UPFRONT]))
        along = self.sides.settled(values, (UPFRONT,))
        there, found = at_the_floor(lambda upfront, numbers: along.spread(numbers).gains({UPFRONT: upfront}), count, scale)
        return np.where(there, found.licensee, -np.inf)


@dataclass(frozen=True, slots=True)
class GivenUp:
    """The licensor's other terms, by what they are called; those that open a zone if given up; whether giving up all does."""

    held: tuple[str, ...]
    alone: tuple[str, ...]
    together: bool


def held_terms(case: Case) -> dict[str, list[str]]:
    """What the licensor asks besides fee and royalty and could give up, by what it is called: addresses that are not nothing."""
    terms = {
        "the shares": ["licence.equity_share"],
        "the royalty per watt": ["licence.royalty_per_watt"],
        "its part of sublicences": ["licence.sublicence_share"],
        "the minimum royalty": [f"minimum_royalties.{name}.amount" for name in case.minimum_royalties],
        "the other fees": [f"fees.{name}.amount" for name in case.fees],
    }
    asked = {name: [address for address in rows if value_at(case, address) != 0] for name, rows in terms.items()}
    return {name: rows for name, rows in asked.items() if rows}


def given_up(case: Case) -> GivenUp:
    """Whether some mix of fee and royalty suits both without other terms that the licensor asks: without each, and all of them."""
    held = held_terms(case)
    every = [address for rows in held.values() for address in rows]
    gaps = _Gaps(case, every)
    alone = tuple(name for name, rows in held.items() if gaps.met_without(rows))
    return GivenUp(tuple(held), alone, gaps.met_without(every))


def openings(case: Case) -> list[Opening]:
    """The smallest change of each candidate after which some mix of fee and royalty suits both; the smallest first.

    None where a mix does already, and none where no change up to the last of STEPS does it.
    Fees from nothing on, and some royalties up to the cap, are looked at. Tools are sized anew where an input asks for it.
    """
    addresses = candidates(case)
    gaps = _Gaps(case, addresses)
    if gaps.met(np.array([0]), np.array([1.0]))[0]:
        return []
    rows, good = _nearest_that_meet(gaps, [_limits(case, address) for address in addresses])

    def suits(factors: np.ndarray, open_ones: np.ndarray) -> np.ndarray:
        """1 where some mix suits both, else 0; a row for each of these inputs."""
        return gaps.met(np.repeat(rows[open_ones], factors.shape[1]), factors.ravel()).reshape(factors.shape).astype(float)

    shut, open_, as_it_is = np.zeros_like(good), np.ones_like(good), np.ones_like(good)
    good = narrow(suits, lambda made, _: made > 0, (as_it_is, shut, good, open_), finer=FINER, close=ENOUGH)[2]
    found = [Opening(addresses[k], float(gaps.present[k]), float(gaps.present[k] * factor)) for k, factor in zip(rows, good)]
    return sorted(found, key=lambda each: abs(each.change))


def _nearest_that_meet(gaps: _Gaps, limits: Sequence[tuple[float, float]]) -> tuple[np.ndarray, np.ndarray]:
    """Inputs that can do it, by number, each with the nearest of the tried factors at which they do."""
    tried = [
        (row, factor)
        for row, (low, high) in enumerate(limits)
        for factor in (1 + sign * step for step in STEPS for sign in (-1, 1))
        if low <= gaps.present[row] * factor <= high
    ]
    rows, factors = np.array([row for row, _ in tried]), np.array([factor for _, factor in tried])
    met = gaps.met(rows, factors)
    nearest: dict[int, float] = {}
    for row, factor in zip(rows[met], factors[met]):  # steps grow, so that the first is the nearest
        nearest.setdefault(int(row), float(factor))
    return np.array(list(nearest), dtype=int), np.array(list(nearest.values()))


def _limits(case: Case, address: str) -> tuple[float, float]:
    declaration = declared(case, address)
    low, high = declaration.low, declaration.high
    return -np.inf if low is None else low, np.inf if high is None else high
