"""Where no mix suits both: the smallest single changes after which one would."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..case.addresses import input_at, numeric_inputs, value_at
from ..case.records import Case
from ..readings.cells import Sheet
from .sides import ROYALTY, UPFRONT, Sides

MIXES = 21  # royalties at which a fee is looked for
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75)
BELIEFS = (
    "product.initial_efficiency",
    "product.stabilisation_ratio",
    "site.scheduled_time",
    "schedule.build_time",
    "outlay.contingency",
    "outlay.grant",
    "tax.rate",
    "returns.required_return",
    "licensor.discount_rate",
    "licensor.contribution",
    "licence.exclusive_time",
)
PLACES = ("sales", "deliveries", "yearly_services", "payment_kinds", "other_ways", "other_lines")
FIELDS = ("price", "change", "days", "cost", "withholding", "value_share", "chance", "cash_cost")


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


def openings(case: Case, sheet: Sheet | None = None) -> list[Opening]:
    """The smallest change of each candidate after which some mix of fee and royalty suits both; the smallest first.

    None where a mix does already, and none where no change up to three quarters of a value does it.
    Fees from nothing on, and some royalties up to the cap, are looked at. Tools are sized anew where an input asks for it.
    """
    addresses = candidates(case)
    sides = Sides(case, [UPFRONT, ROYALTY, *addresses], sheet)
    present = np.array([float(value_at(case, address)) for address in addresses])
    royalties = np.linspace(0.0, float(value_at(case, "licence.royalty_cap")), MIXES)

    def gap(rows: np.ndarray, factors: np.ndarray) -> np.ndarray:
        """For candidates times factors: the most that the licensee gains in any mix that leaves the licensor its floor."""
        count = len(rows)
        values = {ROYALTY: np.tile(royalties, count)}
        for row in np.unique(rows):
            changed = np.where(rows == row, present[row] * factors, present[row])
            values[addresses[row]] = np.repeat(changed, MIXES)
        with np.errstate(invalid="ignore"):
            none = sides.gains({**values, UPFRONT: np.zeros(count * MIXES)})
            much = 1e6 * max(1.0, abs(float(sides.present[UPFRONT])) / 1e6)
            some = sides.gains({**values, UPFRONT: np.full(count * MIXES, much)})
            slope = (some.licensor - none.licensor) / much  # the licensor's gain goes in proportion to the fee
            fee = np.maximum(0.0, -none.licensor / slope)
            for _ in range(2):  # fees that are credited bend it at the start
                there = sides.gains({**values, UPFRONT: fee})
                fee = np.maximum(0.0, fee - there.licensor / slope)
            left = np.where(there.licensor >= -1e-6 * abs(much), there.licensee, -np.inf)
        return np.broadcast_to(left, count * MIXES).reshape(count, MIXES).max(axis=1)

    if gap(np.zeros(1, dtype=int), np.ones(1))[0] >= 0:
        return []
    limits = [_limits(case, address) for address in addresses]
    found = []
    rows, factors = [], []
    for row in range(len(addresses)):
        for step in STEPS:
            for factor in (1 - step, 1 + step):
                if limits[row][0] <= present[row] * factor <= limits[row][1]:
                    rows.append(row)
                    factors.append(factor)
    rows, factors = np.array(rows), np.array(factors)
    open_there = gap(rows, factors) >= 0
    for row in range(len(addresses)):
        good = factors[(rows == row) & open_there]
        if len(good):
            found.append((row, float(good[np.argmin(np.abs(good - 1))])))
    if not found:
        return []
    index = np.array([row for row, _ in found])
    good = np.array([factor for _, factor in found])
    bad = np.ones(len(found))
    for _ in range(20):
        middle = (good + bad) / 2
        suits = gap(index, middle) >= 0
        good, bad = np.where(suits, middle, good), np.where(suits, bad, middle)
    openings = [Opening(addresses[row], float(present[row]), float(present[row] * g)) for row, g in zip(index, good)]
    return sorted(openings, key=lambda each: abs(each.change))


def _limits(case: Case, address: str) -> tuple[float, float]:
    declaration, _ = input_at(case, address)
    low = -np.inf if declaration.low is None else declaration.low
    high = np.inf if declaration.high is None else declaration.high
    return (max(low, declaration.above) if declaration.above is not None else low), high
