"""The zone in the plane of upfront fee and royalty in which both sides gain, and lines in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.whole_case import Case
from ...core import at_work
from ...core.operations import Value
from ...core.roots import CLOSEST, Profile, Stretches, common, profiles, scan_of
from ...model.readings.loading import load
from .outline import CAP, Outline
from .sides import ROYALTY, UPFRONT, AtTerms, Gains, Sides, sides_of_two

POINTS = 41
FEES = 201  # of the scan at each royalty
ROYALTIES, BEYOND = 401, 101  # of the scan without a fee: up to twice the cap or offer, and up to all of net sales
JUST_INSIDE = 1 - 1e-9  # of a corner, where rounding leaves no doubt on which side of a line it lies
SHARES = (0.25, 0.5, 0.75)
FINER, ROUNDS = 17, 8  # royalties and fees between the neighbours of the best one, again and again
WIDER = 1.15  # how far beyond the last corner the plane is looked at

Balance = Callable[..., np.ndarray]
GainsAt = Callable[[Value, Value], Gains]  # of a fee and a royalty
NONE = (float("nan"), float("nan"), False)


@dataclass(frozen=True, slots=True)
class Trace:
    """Upfront fees along the royalties of a zone, and what is left of the equation there; NaN where no fee from 0 on will do.

    `jumps`: where the gain jumps past what is wanted, so that more is left of the equation than rounding.
    """

    upfront: np.ndarray
    residual: np.ndarray
    jumps: np.ndarray


@dataclass(frozen=True, slots=True)
class Zone:
    """The lines of a zone, in the currency of the licence; gains in the reporting currency.

    `floor`: the least fee with which the licensor has its floor, 0 where the royalty alone does it. `ceiling`: the most with which
    the licensee has its best alternative. `fees`: at each royalty, from which fee to which both gain, once or several times.
    `no_royalty` and `no_fee` are the same along the axes. `shares`: where the licensor has a part of what both gain. `as_good`:
    where the licensee is as well off as with the offer, and `licensor_there` what the licensor gains along it. `better`: of all
    mixes that good for the licensee the one best for the licensor, as royalty, fee, what it gains by it.
    """

    royalty: np.ndarray
    floor: Trace
    ceiling: Trace
    fees: tuple[Stretches, ...]
    no_royalty: Stretches
    no_fee: Stretches
    shares: dict[float, Trace]
    as_good: Trace
    licensor_there: np.ndarray
    offer: tuple[float, float]
    offer_gains: Gains
    corners: dict[str, tuple[float, float]]
    better: tuple[float, float, float]

    @property
    def outline(self) -> Outline:
        """What a picture of it needs."""
        floor, ceiling = self.floor.upfront, self.ceiling.upfront
        top = 1.1 * float(np.nanmax([*floor, *ceiling, self.offer[0]]))
        return Outline(self.royalty, floor, ceiling, self.shares[0.5].upfront, self.offer, top, self.bands)

    @property
    def bands(self) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
        """Where both gain: the first range of fees at each royalty, the second, and so on; NaN where there is none."""
        none = (float("nan"), float("nan"))
        rows = [np.array([row[k] if k < len(row) else none for row in self.fees]).T for k in range(max(1, *map(len, self.fees)))]
        return tuple((low, high) for low, high in rows)

    @property
    def open(self) -> np.ndarray:
        """At which royalties there is a fee that suits both."""
        return np.array([bool(row) for row in self.fees])

    @property
    def empty(self) -> bool:
        """Whether no mix at all suits both."""
        return not bool(self.open.any())

    @property
    def several(self) -> tuple[float, float] | None:
        """The lowest and highest royalty at which both gain in more than one range of fees."""
        return _ends(self.royalty[[len(row) > 1 for row in self.fees]])

    @property
    def jumps(self) -> dict[str, tuple[float, float]]:
        """By side, the lowest and highest royalty at which its gain jumps past zero at the edge of the zone."""
        found = {side: _ends(self.royalty[trace.jumps]) for side, trace in (("licensor", self.floor), ("licensee", self.ceiling))}
        return {side: ends for side, ends in found.items() if ends}

    @property
    def most_fee(self) -> float:
        """The highest fee in it; NaN for an empty zone."""
        return max((high for row in self.fees for _, high in row), default=float("nan"))

    @property
    def offer_is_inside(self) -> bool:
        """Whether both gain by the offer."""
        return self.offer_gains.licensor >= 0 and self.offer_gains.licensee >= 0


def trace_zone(case: Case, sides: Sides | None = None) -> Zone:
    """The zone of a case with a deal; `sides`, where given, hold other values of what they vary.

    At each royalty both gains are scanned over the fees, and each change of sign is narrowed: a gain may jump or turn.

    >>> from costmodel.case.load import load_case
    >>> zone = trace_zone(load_case("inputs_demo/facade"))
    >>> zone.empty, bool(np.nanmax(np.abs(zone.floor.residual)) < 1e-6 * abs(zone.offer_gains.licensor))
    (False, True)
    """
    at_work.at("the zone of fee and royalty")
    load()  # it takes some eighty runs
    sides = sides or sides_of_two(case)
    offer = float(sides.present[UPFRONT]), float(sides.present[ROYALTY])
    cap = float(sides.present[CAP] if CAP in sides.present else value_at(case, CAP))
    return zone_of(AtTerms(sides), offer, cap)


def zone_of(gains: GainsAt, offer: tuple[float, float], cap: float) -> Zone:
    """The zone of any two gains, functions of fee and royalty, around an offer; royalties above the cap are worth no more."""
    at_offer = gains(*offer)

    def balance(upfront, royalty, own, other, wanted):
        """Rises with the fee: `own` of what the licensor gains less `other` of what the licensee gains, less what is wanted."""
        found = gains(upfront, royalty)
        return own * found.licensor - other * found.licensee - wanted

    most = _most_upfront(gains, offer[0])
    no_royalty, no_fee = _along_axes(balance, most, offer, cap)
    corners = _corners(no_royalty, no_fee)
    reaches = [x for _, x in corners.values()]
    if "ceiling_royalty" not in corners:  # more than the cap lets royalties take
        reaches.append(cap)
    last = min(1.0, WIDER * max(offer[1], 0.01, *reaches))
    royalty = np.unique([*np.linspace(0.0, last, POINTS), offer[1], *(x * JUST_INSIDE for _, x in corners.values())])
    rising = [(1.0, 0.0, 0.0), *((1 - s, s, 0.0) for s in SHARES), (0.0, 1.0, -float(at_offer.licensee))]
    licensor, *shares, as_good, falling = _lines(gains, balance, [*rising, (0.0, -1.0, 0.0)], royalty, most)
    traces = [_least(licensor), _most(falling), *(_crossing(row, 0) for row in shares), _crossing(as_good, -1)]
    there = np.where(np.isnan(traces[-1].upfront), 0.0, traces[-1].upfront)
    licensor_there = np.asarray(gains(there, royalty).licensor) + 0.0 * royalty
    return Zone(
        royalty=royalty,
        floor=traces[0],
        ceiling=traces[1],
        fees=tuple(common(one.stretches, other.stretches) for one, other in zip(licensor, falling)),
        no_royalty=common(*(each.stretches for each in no_royalty)),
        no_fee=common(*(each.stretches for each in no_fee)),
        shares=dict(zip(SHARES, traces[2:-1])),
        as_good=traces[-1],
        licensor_there=licensor_there,
        offer=offer,
        offer_gains=at_offer,
        corners=corners,
        better=_best_as_good(gains, (offer, at_offer), (royalty, traces[-1], licensor_there)),
    )


def _best_as_good(
    gains: GainsAt, offered: tuple[tuple[float, float], Gains], traced: tuple[np.ndarray, Trace, np.ndarray]
) -> tuple[float, float, float]:
    """Of the mixes as good as the offer for the licensee, the one best for the licensor: royalty, fee, what it gains by it.

    The best one of those traced, then its neighbourhood again and again: gains have kinks in between, as where a fee is credited.
    """
    (offer, at_offer), (royalty, trace, licensor) = offered, traced
    made = np.where(np.isnan(trace.upfront) | trace.jumps, -np.inf, licensor)
    k, most = int(np.argmax(made)), max(1.0, 2 * offer[0], float(np.nanmax(np.where(np.isnan(made), 0.0, trace.upfront))))
    best = float(royalty[k]), float(trace.upfront[k]), float(made[k])
    low, high = royalty[max(0, k - 1)], royalty[min(len(royalty) - 1, k + 1)]
    for _ in range(ROUNDS):
        points = np.linspace(low, high, FINER)
        fees = _most_as_good(gains, points, most, float(at_offer.licensee))
        made = np.where(np.isnan(fees), -np.inf, gains(np.nan_to_num(fees), points).licensor)
        k = int(np.argmax(made))
        if made[k] > best[2] + CLOSEST * most:
            best = float(points[k]), float(fees[k]), float(made[k])
        low, high = points[max(0, k - 1)], points[min(FINER - 1, k + 1)]
    return best[0], best[1], best[2] - float(at_offer.licensor)


def _most_as_good(gains: GainsAt, royalties: np.ndarray, most: float, wanted: float) -> np.ndarray:
    """For each royalty the most fee up to which the licensee gains what is wanted; NaN where it does not even without a fee.

    >>> _most_as_good(lambda fee, r: Gains(fee, 3.0 - np.maximum(fee - 1.0, 0.0) - r), np.array([1.0, 3.5]), 8.0, 0.0).round(9)
    array([ 3., nan])
    """
    low, high = np.zeros(len(royalties)), np.full(len(royalties), most)
    rows, every = np.arange(len(royalties)), np.repeat(royalties, FINER)
    for _ in range(ROUNDS):
        fees = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, FINER)
        enough = np.asarray(gains(fees.ravel(), every).licensee >= wanted).reshape(fees.shape)
        last = np.cumprod(enough, axis=1).sum(axis=1) - 1  # of those from the first on
        low, high = fees[rows, np.maximum(last, 0)], fees[rows, np.minimum(last + 1, FINER - 1)]
    return np.where(last >= 0, low, np.nan)


def _lines(
    gains: GainsAt, balance: Balance, lines: Sequence[tuple[float, float, float]], royalty: np.ndarray, most: float
) -> list[list[Profile]]:
    """For each line its profiles along the fee, one for each royalty; the grid of both gains is found once."""
    grid, count = scan_of(0.0, most, points=FEES), len(royalty)
    over = gains(np.tile(grid, count), np.repeat(royalty, len(grid)))
    licensor, licensee = (np.broadcast_to(gain, count * len(grid)).reshape(count, -1) for gain in (over.licensor, over.licensee))
    known = np.concatenate([own * licensor - other * licensee - wanted for own, other, wanted in lines])
    weights = [np.repeat([line[k] for line in lines], count) for k in range(3)]
    found = profiles(balance, grid, [np.tile(royalty, len(lines)), *weights], known)
    return [found[k * count :][:count] for k in range(len(lines))]


def _ends(royalties: np.ndarray) -> tuple[float, float] | None:
    return (float(royalties[0]), float(royalties[-1])) if royalties.size else None


def _least(rows: Sequence[Profile]) -> Trace:
    """The least fee with which what rises is not negative."""
    return _trace([_end(row, row.stretches[0][0]) if row.stretches else NONE for row in rows])


def _most(rows: Sequence[Profile]) -> Trace:
    """The most fee with which what falls is not negative."""
    return _trace([_end(row, row.stretches[-1][1]) if row.stretches else NONE for row in rows])


def _crossing(rows: Sequence[Profile], number: int) -> Trace:
    """The first or last fee at which something is zero, or at which it jumps past zero."""
    changes = [row.changes[number] if row.changes else None for row in rows]
    return _trace([(each.nearest, each.residual, each.jump) if each else NONE for each in changes])


def _end(row: Profile, fee: float) -> tuple[float, float, bool]:
    """An end of a stretch: the fee, what is left of the equation, and whether it jumps; nothing is left at an end of the scan."""
    for change in row.changes:
        if fee == change.low or fee == change.high:
            return fee, change.at_low if fee == change.low else change.at_high, change.jump
    return fee, 0.0, False


def _trace(ends: Sequence[tuple[float, float, bool]]) -> Trace:
    fees, left, jumps = zip(*ends)
    return Trace(np.array(fees), np.array(left), np.array(jumps, dtype=bool))


def _most_upfront(gains: GainsAt, offered: float) -> float:
    """A fee that is too much for the licensee and enough for the licensor without any royalty."""
    fees = max(offered, 1.0) * 2.0 ** np.arange(60)
    found = gains(fees, np.zeros(len(fees)))
    passed = np.broadcast_to((found.licensor > np.maximum(0.0, found.licensee)) & (found.licensee < 0), len(fees))
    return 2.0 * float(fees[np.argmax(passed)] if passed.any() else fees[-1])


def _along_axes(balance: Balance, most: float, offer: tuple[float, float], cap: float) -> tuple[list[Profile], list[Profile]]:
    """Licensor and licensee along the fee without a royalty, and along the royalty without a fee."""
    sides = np.array([1.0, 0.0]), np.array([0.0, -1.0]), np.zeros(2)
    royalties = np.unique([*np.linspace(0.0, min(1.0, 2 * max(cap, offer[1])), ROYALTIES), *np.linspace(0.0, 1.0, BEYOND)])
    along_fee = profiles(balance, scan_of(0.0, most, points=FEES), [np.zeros(2), *sides])
    return along_fee, profiles(lambda royalty, *rest: balance(np.zeros(len(royalty)), royalty, *rest), royalties, sides)


def _corners(no_royalty: Sequence[Profile], no_fee: Sequence[Profile]) -> dict[str, tuple[float, float]]:
    """Where floor and ceiling meet the axes, as (fee, royalty); those that there are."""
    found = {}
    for axis, rows in (("fee", no_royalty), ("royalty", no_fee)):
        for name, number, row in zip(("floor", "ceiling"), (0, -1), rows):
            if row.changes:
                value = row.changes[number].nearest
                found[f"{name}_{axis}"] = (value, 0.0) if axis == "fee" else (0.0, value)
    return found
