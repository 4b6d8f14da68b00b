"""How likely a claim is over draws of what is uncertain: a net present value above zero, gains of both sides, a zone.

A zone of fee and royalty is looked for along a few royalties up to the cap. At each, the fee that gives the licensor just its floor
leaves the licensee the most, as each unit of fee costs it something. Common practice: the least fee one side takes is tried on
the other.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from ...case.addresses import value_at
from ...case.uncertain import uncertain
from ...case.whole_case import Case, kept
from ...core import at_work
from ...core.roots import CLOSEST, rising_zero
from ...model.as_bought import as_bought
from ...model.readings.loading import load
from ...model.readings.recording import Recording
from ..draws import Draws, check_together
from ..many import FEW, bought_in
from ..spread import LOW_MIDDLE_HIGH, Probability, Quantile, spread
from .sides import LICENSEE, LICENSOR, ROYALTY, UPFRONT, Gains, at_the_floor

DRAWS, SEED = 1_000, 0
NPV = "plan.project.npv"
EARLY, BELOW = "plan.ending.early", "plan.years_below_minimum_dscr"
FLOOR, CEILING = "deal.licensor.floor", "deal.licensee.ceiling"
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
    service coverage that the bank requires, none without a loan; `mean_npv` the mean over the draws. `minimums` holds for each
    year of the plan the share of the draws in which the minimum royalty binds. `floor` and `ceiling` are P10, P50 and P90 of the
    least that the licensor must have and of the most that the licensee can pay.
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
    minimums: Mapping[str, float] = field(default_factory=dict)
    floor: tuple[Quantile, ...] = ()
    ceiling: tuple[Quantile, ...] = ()


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
    deal = deal and case.has_deal
    return kept(case, f"probabilities: {draws} {seed} {deal}", lambda: _probabilities(case, draws, seed, deal))


def _probabilities(case: Case, draws: int, seed: int, deal: bool) -> Probabilities:
    at_work.at(f"probabilities over {draws:,} draws")
    if deal and draws > FEW:
        load()  # a search along the fee takes some twenty runs of all draws at each royalty
    plant = as_bought(case)
    values = Draws(plant, seed).values(0, draws)
    check_together(plant, values)
    values |= bought_in(plant, values)
    terms = (UPFRONT, ROYALTY) if deal else ()
    values |= {term: np.full(draws, value_at(plant, term)) for term in terms if term not in values}
    binding = _minimums(plant) if deal else {}
    of_sides = [LICENSOR, LICENSEE, FLOOR, CEILING] if deal else []
    recording = Recording(plant, list(values), [NPV, EARLY, BELOW, *of_sides, *binding.values()])
    offer = (float(value_at(plant, UPFRONT)), float(value_at(plant, ROYALTY))) if deal else (0.0, 0.0)
    present = {address: np.broadcast_to(value, draws) for address, value in recording.run(values).items()}
    npv = _share(present[NPV] > 0, draws)
    below = _share(present[BELOW] > 0, draws) if float(plant.plan.loan.part) > 0 else None
    closes, mean = _share(present[EARLY] > 0, draws), float(np.mean(present[NPV]))
    of_plan = Probabilities(draws, seed, npv, mean_npv=mean, closes=closes, below_dscr=below)
    if not deal:
        return of_plan
    along = _AlongFee(recording, values, _royalties(offer[1], float(value_at(plant, CAP))))
    both = [present[side] >= 0 for side in (LICENSOR, LICENSEE)]
    there, means = both[0] & both[1] | _some_fee(along, offer[0]), _mean_zone(along, offer)
    own, other, each_side, zone = (_share(each, draws) for each in (*both, both[0] & both[1], there))
    binds = {name: float(present[address].mean()) for name, address in binding.items()}
    floor, ceiling = (spread(present[each], LOW_MIDDLE_HIGH).quantiles for each in (FLOOR, CEILING))
    found = replace(of_plan, licensor=own, licensee=other, both=each_side, zone=zone, mean_zone=means)
    return replace(found, royalties=along.royalties, minimums=binds, floor=floor, ceiling=ceiling)


def probabilities_of_minimums(case: Case, draws: int, seed: int) -> dict[str, float]:
    """The share of draws of all uncertain inputs in which the minimum of each year of the plan binds, the plant as bought.

    >>> from costmodel.case.load import load_case
    >>> probabilities_of_minimums(load_case("inputs_demo/facade"), draws=16, seed=0)["y01"]  # nothing is due yet
    0.0
    """
    found = probabilities(case, draws, seed)
    return dict(found.minimums) if found else {}


def _minimums(case: Case) -> dict[str, str]:
    """By year of the plan, the figure that says whether the minimum royalty binds; none without one."""
    years = range(1, int(case.plan.schedule.horizon) + 1) if case.minimum_royalties else ()
    return {f"y{year:02d}": f"deal.years.y{year:02d}.minimum_binds" for year in years}


def _share(holds: np.ndarray | bool, draws: int) -> Probability:
    return Probability(float(np.mean(holds)), draws)


def _royalties(offered: float, cap: float) -> tuple[float, ...]:
    """The royalties along which a zone is looked for: none, the one offered, the cap, and halfway between these."""
    most = max(offered, cap)
    return tuple(sorted({0.0, 0.5 * offered, offered, 0.5 * (offered + most), most}))


class _AlongFee:
    """Both gains in all draws along the fee, a row for each royalty, whatever terms a draw has of its own."""

    def __init__(self, recording: Recording, values: Mapping[str, np.ndarray], royalties: tuple[float, ...]):
        draws = len(values[ROYALTY])
        self.royalties, self.shape = royalties, (len(royalties), draws)
        drawn = recording.only([LICENSOR, LICENSEE]).settled(values, (ROYALTY, UPFRONT))
        in_rows = {ROYALTY: np.repeat(royalties, draws), UPFRONT: np.tile(values[UPFRONT], len(royalties))}
        self._settled = drawn.spread(np.tile(np.arange(draws), len(royalties))).settled(in_rows, (UPFRONT,))

    def at(self, upfront: np.ndarray, numbers: np.ndarray) -> Gains:
        """The gains with fees of some draws, these counted through all rows."""
        found = self._settled.spread(numbers).run({UPFRONT: upfront})
        return Gains(*(np.broadcast_to(found[side], upfront.shape) for side in (LICENSOR, LICENSEE)))

    def means(self, upfront: np.ndarray, rows: np.ndarray) -> Gains:
        """The means over the draws of some rows, with one fee for each of these royalties."""
        draws = self.shape[1]
        found = self.at(np.repeat(upfront, draws), (rows[:, None] * draws + np.arange(draws)).ravel())
        return Gains(*(np.array([np.mean(row) for row in gain.reshape(-1, draws)]) for gain in (found.licensor, found.licensee)))


def _some_fee(gains: _AlongFee, offered: float) -> np.ndarray:
    """In which draws a fee suits both at one of the royalties."""
    scale = max(offered, 1.0)
    there, found = at_the_floor(gains.at, math.prod(gains.shape), scale)
    return (there & (found.licensee >= -CLOSEST * scale)).reshape(gains.shape).any(axis=0)


def _mean_zone(gains: _AlongFee, offer: tuple[float, float]) -> MeanZone:
    """The ends of the fees that suit both on the mean of all draws at the royalty offered; whether any does at a royalty."""
    scale, every, offered = max(offer[0], 1.0), np.arange(len(gains.royalties)), np.array([gains.royalties.index(offer[1])])
    floor = rising_zero(lambda upfront, rows: gains.means(upfront, rows).licensor, np.zeros(len(every)), scale)
    left = gains.means(np.where(np.isnan(floor), 0.0, floor), every).licensee
    is_open = bool((~np.isnan(floor) & (left >= -CLOSEST * scale)).any())
    ceiling = math.nan
    if gains.means(np.zeros(1), offered).licensee[0] >= 0:
        ceiling = float(rising_zero(lambda upfront, _: -gains.means(upfront, offered).licensee, np.zeros(1), scale)[0])
    return MeanZone(float(floor[offered[0]]), ceiling, is_open)
