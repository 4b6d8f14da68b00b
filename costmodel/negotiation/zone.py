"""The zone in the plane of upfront fee and royalty in which both sides gain, and lines in it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..case.addresses import value_at
from ..case.records import Case
from ..deal.yardsticks import nash_split
from ..model import evaluate
from ..operations import Value
from .sides import ROYALTY, UPFRONT, Gains, Sides, solve

POINTS = 41
JUST_INSIDE = 1 - 1e-9  # of a corner, where rounding leaves no doubt on which side of a line it lies
CAP = "licence.royalty_cap"
SHARES = (0.25, 0.5, 0.75)
GRID = 31  # fees, and royalties, of the picture that follows sliders
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)  # times a power of ten: where its axes may end
FEES = np.array([step * 10.0**k for k in range(4, 13) for step in STEPS])
RATES = np.array([step * 10.0**k for k in range(-2, 0) for step in STEPS] + [1.0])
ROOM = 1.1  # how far beyond a limit they go at least
WIDER = 1.15  # how far beyond the last corner the plane is looked at


@dataclass(frozen=True, slots=True)
class Trace:
    """Upfront fees along the royalties of a zone, and what is left of the equation there; NaN where no fee from 0 on will do."""

    upfront: np.ndarray
    residual: np.ndarray


@dataclass(frozen=True, slots=True)
class Outline:
    """What a picture of a zone needs, in the currency of the licence: lines over royalties (NaN: none), up to a fee `top`.

    `alike` is the fee with which both gain the same, `offer` the fee and royalty offered.
    """

    royalty: np.ndarray
    floor: np.ndarray
    ceiling: np.ndarray
    alike: np.ndarray
    offer: tuple[float, float]
    top: float

    @property
    def open(self) -> np.ndarray:
        """At which royalties there is a fee that suits both."""
        return ~np.isnan(self.ceiling) & (self.ceiling >= self.floor)


@dataclass(frozen=True, slots=True)
class Zone:
    """The lines of a zone, in the currency of the licence; gains in the reporting currency.

    `floor`: the least fee with which the licensor has its floor, 0 where the royalty alone does it. `ceiling`: the most with which
    the licensee has its best alternative. `shares`: where the licensor has a part of what both gain. `as_good`: where the licensee
    is as well off as with the offer, and `licensor_there` what the licensor gains along it.
    """

    royalty: np.ndarray
    floor: Trace
    ceiling: Trace
    shares: dict[float, Trace]
    as_good: Trace
    licensor_there: np.ndarray
    offer: tuple[float, float]
    offer_gains: Gains
    corners: dict[str, tuple[float, float]]
    nash: float
    nash_gains: Gains

    @property
    def outline(self) -> Outline:
        """What a picture of it needs."""
        floor, ceiling = self.floor.upfront, self.ceiling.upfront
        top = 1.1 * float(np.nanmax([*floor, *ceiling, self.offer[0]]))
        return Outline(self.royalty, floor, ceiling, self.shares[0.5].upfront, self.offer, top)

    @property
    def open(self) -> np.ndarray:
        """At which royalties there is a fee that suits both."""
        return self.outline.open

    @property
    def empty(self) -> bool:
        """Whether no mix at all suits both."""
        return not bool(self.open.any())

    @property
    def offer_is_inside(self) -> bool:
        """Whether both gain by the offer."""
        return self.offer_gains.licensor >= 0 and self.offer_gains.licensee >= 0

    @property
    def better(self) -> tuple[float, float, float]:
        """Of the mixes as good as the offer for the licensee, the one best for the licensor: royalty, fee, what it gains by it."""
        there = np.where(np.isnan(self.as_good.upfront), -np.inf, self.licensor_there)
        best = int(np.argmax(there))
        return float(self.royalty[best]), float(self.as_good.upfront[best]), float(there[best] - self.offer_gains.licensor)


def trace_zone(case: Case, sides: Sides | None = None, values: Mapping[str, Value] | None = None) -> Zone:
    """The zone of a case with a deal; `sides` must vary fee and royalty, `values` may hold other values of what else it varies.

    >>> from costmodel.case.load import load_case
    >>> zone = trace_zone(load_case("inputs_demo/facade"))
    >>> zone.empty, bool(np.nanmax(np.abs(zone.floor.residual)) < 1e-6 * abs(zone.offer_gains.licensor))
    (False, True)
    """
    sides = sides or Sides(case, (UPFRONT, ROYALTY))
    values = {**sides.present, **(values or {})}
    sides = sides.settled(values, (UPFRONT, ROYALTY))
    offer = float(values[UPFRONT]), float(values[ROYALTY])
    at_offer = sides.gains(values)
    most = _most_upfront(sides, values)

    def balance(upfront, royalty, own, other, wanted):
        """Rises with the fee: `own` of what the licensor gains less `other` of what the licensee gains, less what is wanted."""
        found = sides.gains({**values, UPFRONT: upfront, ROYALTY: royalty})
        return own * found.licensor - other * found.licensee - wanted

    corners = _corners(balance, most)
    reaches = [x for _, x in corners.values()]
    if "ceiling_royalty" not in corners:  # more than the cap lets royalties take
        reaches.append(float(values.get(CAP, value_at(case, CAP))))
    last = min(1.0, WIDER * max(offer[1], 0.01, *reaches))
    royalty = np.unique([*np.linspace(0.0, last, POINTS), offer[1], *(x * JUST_INSIDE for _, x in corners.values())])
    count = len(royalty)
    lines = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), *((1 - s, s, 0.0) for s in SHARES), (0.0, 1.0, -at_offer.licensee)]
    weights = [np.repeat([line[k] for line in lines], count) for k in range(3)]
    royalties = np.tile(royalty, len(lines))
    found = solve(balance, np.zeros(len(royalties)), np.full(len(royalties), most), royalties, *weights)
    enough = balance(np.zeros(len(royalties)), royalties, *weights) > 0
    found[:count][enough[:count]] = 0.0  # the royalty alone covers the floor
    known = ~np.isnan(found)
    residual = np.full(len(found), np.nan)
    residual[known] = balance(found[known], royalties[known], *(w[known] for w in weights))
    residual[:count][enough[:count]] = 0.0
    traces = [Trace(found[k * count :][:count], residual[k * count :][:count]) for k in range(len(lines))]
    weight = float(case.negotiation.licensor_weight)
    nash = solve(
        balance, np.zeros(1), np.full(1, most), np.full(1, offer[1]), np.full(1, 1 - weight), np.full(1, weight), np.zeros(1)
    )
    there = np.where(np.isnan(traces[-1].upfront), 0.0, traces[-1].upfront)
    return Zone(
        royalty=royalty,
        floor=traces[0],
        ceiling=traces[1],
        shares=dict(zip(SHARES, traces[2:-1])),
        as_good=traces[-1],
        licensor_there=np.asarray(sides.gains({**values, UPFRONT: there, ROYALTY: royalty}).licensor) + 0.0 * royalty,
        offer=offer,
        offer_gains=at_offer,
        corners=corners,
        nash=float(nash[0]),
        nash_gains=sides.gains({**values, UPFRONT: nash[0], ROYALTY: offer[1]}),
    )


def quick_outline(
    case: Case, sides: Sides, values: Mapping[str, Value], before: Outline | None = None, points: int = GRID
) -> Outline:
    """The outline of a zone as a grid of fees and royalties shows it; corners are read off between its points.

    `sides` vary fee and royalty and have all else settled, `values` are those of all that they varied before. It takes one run if
    the axes are those of the outline `before`, and two if not; the outline is the same.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> sides = Sides(case, (UPFRONT, ROYALTY))
    >>> bool(quick_outline(case, sides, sides.present).open.any())
    True
    """
    offer = float(values[UPFRONT]), float(values[ROYALTY])
    cap = float(values.get(CAP, value_at(case, CAP)))
    axes = (before.top, float(before.royalty[-1])) if before else (FEES[0], RATES[0])
    while True:
        upfront, royalty = (np.linspace(0.0, end, points) for end in axes)
        licensor, licensee, reached = _plane(sides, values, upfront, royalty, offer, cap)
        if reached == axes:
            break
        axes = reached
    top = axes[0]
    lines = [_crossing(rising, upfront) for rising in (licensor, -licensee, licensor - licensee)]
    floor, ceiling, _ = lines
    ends = [_zeros(line, royalty) for line in (floor, ceiling, ceiling - np.maximum(floor, 0.0))]
    finer = np.unique(np.concatenate([royalty, *ends]))
    floor, ceiling, alike = (np.interp(finer, royalty, line) for line in lines)
    least = -1e-9 * top  # where lines meet, rounding puts them on either side
    floor = np.maximum(floor, 0.0)
    ceiling, alike = (np.where(line < least, np.nan, np.maximum(line, 0.0)) for line in (ceiling, alike))
    ceiling = np.where(np.abs(ceiling - floor) <= -least, floor, ceiling)
    return Outline(finer, floor, ceiling, alike, offer, top)


def _plane(
    sides: Sides, values: Mapping[str, Value], upfront: np.ndarray, royalty: np.ndarray, offer: tuple[float, float], cap: float
) -> tuple[np.ndarray, np.ndarray, tuple[float, float]]:
    """The gains of both sides over a grid, royalties along a row; and how far fees and royalties should be looked at.

    That is to where both limits have been passed, in steps, so that a picture seldom jumps. All of it is found in one run.
    """
    fees, rates = (each.ravel() for each in np.meshgrid(upfront, royalty, indexing="ij"))
    tried_fees = np.concatenate([fees, FEES / ROOM, np.zeros(len(RATES))])
    tried_rates = np.concatenate([rates, np.zeros(len(FEES)), RATES / ROOM])
    found = sides.gains({**values, UPFRONT: tried_fees, ROYALTY: tried_rates})
    licensor, licensee = (np.broadcast_to(gain, tried_fees.shape) for gain in (found.licensor, found.licensee))
    passed = ((licensor >= 0) & (licensee <= 0))[len(fees) :]
    shape = (len(upfront), len(royalty))
    reached = (
        _reach(FEES, passed[: len(FEES)], offer[0], math.inf),
        _reach(RATES, passed[len(FEES) :], offer[1], max(cap, offer[1])),  # beyond the cap a royalty is worth no more
    )
    return licensor[: len(fees)].reshape(shape), licensee[: len(fees)].reshape(shape), reached


def _reach(steps: np.ndarray, passed: np.ndarray, offered: float, limit: float) -> float:
    """The first of the steps beyond which limit and offer lie with some room, and at which both sides' limits are passed."""
    enough = (passed | (steps >= ROOM * limit)) & (steps >= ROOM * offered)
    return float(steps[np.argmax(enough)] if enough.any() else steps[-1])


def _crossing(rising: np.ndarray, upfront: np.ndarray) -> np.ndarray:
    """For each royalty the fee at which what rises with it is zero, straight on between fees and beyond them."""
    above = np.clip((rising < 0).sum(axis=0), 1, len(upfront) - 1)
    columns = np.arange(rising.shape[1])
    low, high = rising[above - 1, columns], rising[above, columns]
    with np.errstate(divide="ignore", invalid="ignore"):  # a fee of which nothing arrives
        fee = upfront[above - 1] - low * (upfront[above] - upfront[above - 1]) / (high - low)
    return np.where(np.isfinite(fee), fee, np.nan)


def _zeros(line: np.ndarray, royalty: np.ndarray) -> np.ndarray:
    """The royalties at which a line crosses zero, straight on between its points."""
    k = np.flatnonzero(line[:-1] * line[1:] < 0)
    return royalty[k] - line[k] * (royalty[k + 1] - royalty[k]) / (line[k + 1] - line[k])


def nash_values(case: Case, zone: Zone) -> tuple[float, float]:
    """Net present values of licensor and licensee where the fee splits what both gain by their bargaining positions (Nash)."""
    deal, weight = evaluate(case).deal, float(case.negotiation.licensor_weight)
    own, other = float(deal.licensor.contribution), float(deal.licensee.best_alternative)
    together = own + other + zone.nash_gains.licensor + zone.nash_gains.licensee
    licensor = nash_split(own, other, together, weight)
    return licensor, together - licensor


def _most_upfront(sides: Sides, values: Mapping[str, Value]) -> float:
    """A fee that is too much for the licensee and enough for the licensor without any royalty."""
    most = max(float(values[UPFRONT]), 1.0)
    for _ in range(60):
        found = sides.gains({**values, UPFRONT: most, ROYALTY: 0.0})
        if found.licensor > max(0.0, float(found.licensee)) and found.licensee < 0:
            break
        most *= 2.0
    return most * 2.0


def _corners(balance, most: float) -> dict[str, tuple[float, float]]:
    """Where floor and ceiling meet the axes, as (fee, royalty); those that there are."""
    weights = np.array([1.0, 0.0]), np.array([0.0, 1.0]), np.zeros(2)
    fees = solve(balance, np.zeros(2), np.full(2, most), np.zeros(2), *weights)
    royalties = solve(lambda royalty, *rest: balance(np.zeros(len(royalty)), royalty, *rest), np.zeros(2), np.ones(2), *weights)
    found = {}
    for name, fee, royalty in zip(("floor", "ceiling"), fees, royalties):
        if not np.isnan(fee):
            found[f"{name}_fee"] = (float(fee), 0.0)
        if not np.isnan(royalty):
            found[f"{name}_royalty"] = (0.0, float(royalty))
    return found
