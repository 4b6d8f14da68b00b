"""The split of payments over their kinds that leaves the licensor most for the same cost to the licensee, within stated bounds.

Each kind of payment is scaled as a whole and keeps its times. The best split is that of a linear programme whose coefficients are
what a small step of each kind costs the licensee after its tax. All kinds are then scaled alike until the model gives the licensee
the same gain as the offer, and what is shown is what the model gives there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.whole_case import Case
from ...core.roots import first, reach, scan_of
from .sides import LICENSEE, LICENSOR, Sides

STEP = 0.1  # by how much a kind is lowered to find what it costs the licensee
BEYOND = 2.0  # times the split by small steps: how far all kinds together are scaled at first
LICENCE_TERMS = ("upfront", "royalty", "royalty_per_watt", "expansion_fee", "sublicence_share")
PRICED = {"fees": "amount", "deliveries": "price", "yearly_services": "price", "supplies": "margin"}
FIGURES = ("paid", "paid_now", "withheld", "inventors", "net")
SHARES_APART = "dividends"  # shares of the plant are no part of the split


@dataclass(frozen=True, slots=True)
class KindShare:
    """Payments of one kind now and by the best split: as they come, their share of all, and what is left to the licensor."""

    kind: str
    paid: tuple[float, float]
    share: tuple[float, float]
    net: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PaymentSplit:
    """The best split: by kind, with the licensor's gain now and then; `licensee` is how far its gain is from the present one.

    `factors` are what each kind is multiplied by. Without a split within the bounds there are no rows.
    """

    rows: tuple[KindShare, ...]
    licensor: tuple[float, float]
    licensee: float
    factors: dict[str, float]


def scaled_by_kind(case: Case) -> dict[str, list[str]]:
    """The inputs that scale each kind of payment, dividends apart."""
    found: dict[str, list[str]] = {kind: [] for kind in case.payment_kinds if kind != SHARES_APART}
    found["licence"] += [f"licence.{name}" for name in LICENCE_TERMS]
    found["licence"] += [f"{table}.{row}.amount" for table in ("minimum_royalties", "buy_outs") for row in getattr(case, table)]
    for table, field in PRICED.items():
        for row, record in getattr(case, table).items():
            if record.paid_as != SHARES_APART:
                found[record.paid_as].append(f"{table}.{row}.{field}")
    for row, test in case.laboratory_tests.items():
        found[case.yearly_services[test.service].paid_as].append(f"laboratory_tests.{row}.price")
    return found


def payment_split(case: Case) -> PaymentSplit:
    """The best split of a case with a deal.

    >>> from costmodel.case.load import load_case
    >>> found = payment_split(load_case("inputs_demo/facade"))
    >>> found.licensor[1] > found.licensor[0], abs(found.licensee) < 1.0, round(sum(row.share[1] for row in found.rows), 9)
    (True, True, 1.0)
    """
    return _Split(case).best()


class _Split:
    """The model with each kind of payment scaled by a factor."""

    def __init__(self, case: Case):
        self.case, self.inputs = case, scaled_by_kind(case)
        figures = [f"deal.by_kind.{kind}.{name}" for kind in self.inputs for name in FIGURES]
        addresses = [address for kind in self.inputs.values() for address in kind]
        self.sides = Sides(case, addresses, also=[*figures, "deal.licensor.taxable"])
        self.now = self.at({})
        self.kinds = [kind for kind in self.inputs if self.of(self.now, "paid", kind)]

    def at(self, factors: Mapping[str, np.ndarray | float]) -> dict:
        """Figures with kinds scaled."""
        values = {
            address: float(value_at(self.case, address)) * factor
            for kind, factor in factors.items()
            for address in self.inputs[kind]
        }
        return self.sides.run(values)

    @staticmethod
    def of(found: Mapping, name: str, kind: str) -> float:
        """A figure of a kind."""
        return float(np.max(found[f"deal.by_kind.{kind}.{name}"]))

    def column(self, name: str) -> np.ndarray:
        """A figure of all kinds, as they are now."""
        return np.array([self.of(self.now, name, kind) for kind in self.kinds])

    def costs(self) -> np.ndarray:
        """What each kind costs the licensee after its tax, by a small step of it."""
        lower = [float(self.at({kind: 1 - STEP})[LICENSEE]) for kind in self.kinds]
        return (np.array(lower) - float(self.now[LICENSEE])) / STEP

    def best(self) -> PaymentSplit:
        """The best split, by the model."""
        shares = best_shares(self.case, self)
        own = float(self.now[LICENSOR])
        if shares is None:
            return PaymentSplit((), (own, own), 0.0, {})
        factors = dict(zip(self.kinds, shares))

        def left(scale):
            """What the licensee has more than now, with all kinds scaled alike besides."""
            return self.at({kind: factor * scale for kind, factor in factors.items()})[LICENSEE] - float(self.now[LICENSEE])

        scale = first(left, scan_of(0.0, reach(left, 0.0, BEYOND)))  # from nothing paid on, as far as it takes
        factors = {kind: float(factor) * scale for kind, factor in factors.items()}
        then = self.at(factors)
        totals = [sum(self.of(found, "paid", kind) for kind in self.kinds) for found in (self.now, then)]
        rows = []
        for kind in self.inputs:
            paid, net = ((self.of(self.now, name, kind), self.of(then, name, kind)) for name in ("paid", "net"))
            rows.append(KindShare(kind, paid, (paid[0] / totals[0], paid[1] / totals[1]), net))  # something is paid, now and then
        return PaymentSplit(tuple(rows), (own, float(then[LICENSOR])), float(then[LICENSEE]) - float(self.now[LICENSEE]), factors)


def best_shares(case: Case, split: _Split) -> np.ndarray | None:
    """The factor of each kind by a linear programme; None where no split is within the bounds.

    The last variable is the greater of the tax withheld and the own tax where a credit joins them, else the own tax alone.
    """
    from scipy.optimize import linprog

    kinds, count = split.kinds, len(split.kinds)
    if not count:
        return None
    paid, withheld, cost = split.column("paid"), split.column("withheld"), split.costs()
    income = split.column("paid_now") - split.column("inventors")
    rate, relief = float(case.deal.licensor.tax_rate), case.deal.licensor.tax_relief
    deducted = float(income.sum()) - float(split.now["deal.licensor.taxable"])
    taxed = relief != "exempt"
    kept = income if relief == "credit" else income - withheld
    rows, limits = [np.append(rate * income, -1.0)] if taxed else [], [rate * deducted] if taxed else []
    if relief == "credit":
        rows.append(np.append(withheld, -1.0))
        limits.append(0.0)
    for number, kind in enumerate(kinds):
        own, row = np.eye(count)[number] * paid, case.payment_kinds[kind]
        rows += [np.append(own - float(row.most_share) * paid, 0.0), np.append(float(row.least_share) * paid - own, 0.0)]
        limits += [0.0, 0.0]
    unpaid_least = sum(float(case.payment_kinds[kind].least_share) for kind in split.inputs if kind not in kinds)
    if unpaid_least > 0:
        return None  # a kind that nothing is paid for cannot have its least share
    found = linprog(
        np.append(-kept, 1.0), A_ub=np.array(rows), b_ub=np.array(limits), A_eq=[np.append(cost, 0.0)], b_eq=[cost.sum()],
        bounds=[(0.0, None)] * (count + 1), method="highs",
    )  # fmt: skip
    return found.x[:count] if found.success else None
