"""How likely a claim is over draws of what is uncertain: a net present value above zero, gains of both sides, a zone.

A zone of fee and royalty is looked for along a few royalties up to the cap. At each, the fee that gives the licensor just its floor
leaves the licensee the most, as each unit of fee costs it something. Common practice: the least fee one side takes is tried on
the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ...case.addresses import value_at
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.roots import CLOSEST, rising_zero
from ...model.as_bought import as_bought
from ...model.readings.recording import Recording
from ..draws import Draws
from ..many import bought_in
from ..risk import check_together, run_risk
from ..spread import Probability
from .sides import LICENSEE, LICENSOR, ROYALTY, UPFRONT, Gains, at_the_floor

DRAWS, SEED = 1_000, 0
NPV = "plan.project.npv"
EARLY, BELOW = "plan.ending.early", "plan.years_below_minimum_dscr"
CAP = "licence.royalty_cap"


@dataclass(frozen=True, slots=True)
class MeanZone:
    """At the royalty offered, fees by which both gain on the mean of all draws, in the currency of the licence.

    NaN where no fee from 0 on does it. `open` says whether there is such a fee at any of the royalties that were tried.
    """

    floor: float
    ceiling: float
    open: bool


@dataclass(frozen=True, slots=True)
class Probabilities:
    """How likely each claim of a case is; those of the deal are none for a case without one.

    `royalties` are those along which a zone was looked for. `closes` is an early end of use, `below_dscr` a year below the debt
    service coverage that the bank requires, none without a loan; `mean_npv` the mean over the draws.
    """

    draws: int
    seed: int
    npv: Probability
    licensor: Probability | None = None
    licensee: Probability | None = None
    both: Probability | None = None
    zone: Probability | None = None
    mean_zone: MeanZone | None = None
    royalties: tuple[float, ...] = ()
    mean_npv: float | None = None
    closes: Probability | None = None
    below_dscr: Probability | None = None


def probabilities(case: Case, draws: int = DRAWS, seed: int = SEED, deal: bool = True) -> Probabilities | None:
    """How likely the claims of a case with a plan are, on the plant behind its figures; none for a case without ranges or plan.

    Without `deal`, the net present value alone. Raises InputFaults, also for a draw that the case refuses.

    >>> from costmodel.case.load import load_case
    >>> found = probabilities(load_case("inputs_demo/facade"), draws=16)
    >>> found.both.share <= min(found.licensor.share, found.licensee.share) <= found.zone.share
    True
    """
    if not case.has_plan or not uncertain(case):
        return None
    plant, deal = as_bought(case), deal and case.has_deal
    values = Draws(plant, seed).values(0, draws)
    check_together(plant, values)
    values |= bought_in(plant, values)
    terms = (UPFRONT, ROYALTY) if deal else ()
    values |= {term: np.full(draws, value_at(plant, term)) for term in terms if term not in values}
    recording = Recording(plant, list(values), [NPV, EARLY, BELOW, *([LICENSOR, LICENSEE] if deal else [])])
    found = recording.settled(values, terms)
    present = found.figures()
    npv = _share(present[NPV] > 0, draws)
    below = _share(present[BELOW] > 0, draws) if float(plant.plan.loan.part) > 0 else None
    closes, mean = _share(present[EARLY] > 0, draws), float(np.mean(present[NPV]))
    of_plan = Probabilities(draws, seed, npv, mean_npv=mean, closes=closes, below_dscr=below)
    if not deal:
        return of_plan
    settled = _Settled(found, draws)
    offer = float(value_at(plant, UPFRONT)), float(value_at(plant, ROYALTY))
    both = [present[side] >= 0 for side in (LICENSOR, LICENSEE)]
    royalties = _royalties(offer[1], float(value_at(plant, CAP)))
    there, mean_open = both[0] & both[1], False
    for royalty in royalties:
        along = _along(settled, royalty, offer[0])
        there, mean_open = there | along[0], mean_open or along[1]
    own, other, each_side, zone = (_share(each, draws) for each in (*both, both[0] & both[1], there))
    means = _mean_zone(settled, offer, mean_open)
    return replace(
        of_plan, licensor=own, licensee=other, both=each_side, zone=zone, mean_zone=means, royalties=royalties
    )


def probabilities_of_minimums(case: Case, draws: int, seed: int) -> dict[str, float]:
    """The share of draws of all uncertain inputs in which the minimum of each year of the plan binds, the plant as bought.

    >>> from costmodel.case.load import load_case
    >>> probabilities_of_minimums(load_case("inputs_demo/facade"), draws=16, seed=0)["y01"]  # nothing is due yet
    0.0
    """
    figures = {f"y{year:02d}": f"deal.years.y{year:02d}.minimum_binds" for year in range(1, int(case.plan.schedule.horizon) + 1)}
    found = run_risk(as_bought(case), list(figures.values()), draws, seed).figures
    return {name: float(found[address].mean()) for name, address in figures.items()}


def _share(holds: np.ndarray | bool, draws: int) -> Probability:
    return Probability(float(np.mean(holds)), draws)


def _royalties(offered: float, cap: float) -> tuple[float, ...]:
    """The royalties along which a zone is looked for: none, the one offered, the cap, and halfway between these."""
    most = max(offered, cap)
    return tuple(sorted({0.0, 0.5 * offered, offered, 0.5 * (offered + most), most}))


@dataclass(frozen=True, slots=True)
class _Settled:
    """The gains of all draws, with all but fee and royalty settled."""

    recording: Recording
    draws: int

    def at(self, upfront: np.ndarray | float, royalty: float) -> Gains:
        """The gains of both sides in each draw; a draw that has terms of its own takes these instead."""
        found = self.recording.run({UPFRONT: upfront + np.zeros(self.draws), ROYALTY: np.full(self.draws, royalty)})
        return Gains(*(np.broadcast_to(found[side], self.draws) for side in (LICENSOR, LICENSEE)))


def _along(settled: _Settled, royalty: float, offered: float) -> tuple[np.ndarray, bool]:
    """In which draws a fee suits both at a royalty, and whether one does on the mean of all draws."""
    scale = max(offered, 1.0)
    there, gains = at_the_floor(lambda upfront: settled.at(upfront, royalty), settled.draws, scale)
    there = there & (gains.licensee >= -CLOSEST * scale)
    mean = rising_zero(lambda upfront: _mean(settled.at(upfront[0], royalty).licensor), np.zeros(1), scale)
    return there, not math.isnan(mean[0]) and float(np.mean(settled.at(mean[0], royalty).licensee)) >= -CLOSEST * scale


def _mean(gains: np.ndarray) -> np.ndarray:
    return np.array([np.mean(gains)])


def _mean_zone(settled: _Settled, offer: tuple[float, float], is_open: bool) -> MeanZone:
    """The ends of the fees that suit both on the mean of all draws at the royalty offered."""
    scale = max(offer[0], 1.0)
    floor = rising_zero(lambda upfront: _mean(settled.at(upfront[0], offer[1]).licensor), np.zeros(1), scale)
    at_nothing = float(np.mean(settled.at(0.0, offer[1]).licensee))
    falling = rising_zero(lambda upfront: -_mean(settled.at(upfront[0], offer[1]).licensee), np.zeros(1), scale)
    return MeanZone(float(floor[0]), float(falling[0]) if at_nothing >= 0 else math.nan, is_open)
