"""How fee and royalty split what both sides gain: where the product of their gains is greatest (Nash), and the equal split.

Nash (1950): of all pairs of gains that are feasible, that with the greatest product; with weights (Harsanyi and Selten 1972) each
gain to the power of its side's weight. Both gains are above what a side could have without the deal, each at its own rate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.roots import first, scan_of
from .sides import AtTerms, Gains, sides_of_two
from .zone import Zone

FEES, ROYALTIES = 129, 65  # of the first scan
FINER = 17  # points between the neighbours of the best one, again and again
ROUNDS_OF_FEES, ROUNDS_OF_ROYALTIES = 8, 6  # each leaves an eighth of the width

GainsAt = Callable[[Value, Value], Gains]  # of a fee and a royalty


@dataclass(frozen=True, slots=True)
class Split:
    """A fee and a royalty and both gains there; `fee_bound` and `royalty_bound` say `least` or `most` where it lies on a bound."""

    upfront: float
    royalty: float
    gains: Gains
    fee_bound: str = ""
    royalty_bound: str = ""

    @property
    def licensor_share(self) -> float:
        """The licensor's part of what both gain."""
        return self.gains.licensor / (self.gains.licensor + self.gains.licensee)


@dataclass(frozen=True, slots=True)
class Splits:
    """The Nash point over all fees up to `most_fee` and royalties up to `most_royalty`; the same along the fee at the royalty of
    the offer; and the equal split there. None where no such pair leaves both a gain."""

    most_fee: float
    most_royalty: float
    nash: Split | None
    nash_along_fee: Split | None
    equal: Split | None


def splits(case: Case, zone: Zone) -> Splits:
    """The splits of a case in its zone: fees from nothing to the highest of the zone, royalties from nothing to the cap.

    >>> from costmodel.case.load import load_case
    >>> from .zone import trace_zone
    >>> case = load_case("inputs_demo/facade")
    >>> found = splits(case, trace_zone(case))
    >>> round(found.equal.licensor_share, 9)
    0.5
    """
    cap, weight = float(case.deal.licence.royalty_cap), float(case.deal.negotiation.licensor_weight)
    if zone.empty:
        return Splits(float("nan"), cap, None, None, None)
    gains = AtTerms(sides_of_two(case))
    most, offered = zone.most_fee, zone.offer[1]
    return Splits(
        most,
        cap,
        nash_point(gains, most, (0.0, cap), weight),
        nash_point(gains, most, (offered, offered), weight),
        equal_split(gains, most, offered),
    )


def nash_point(gains: GainsAt, most_fee: float, royalties: tuple[float, float], weight: float) -> Split | None:
    """The fee and royalty, of all between their bounds, at which the product of both gains is greatest, by weights.

    A scan of both, then the neighbourhood of the best again and again, the best fee anew for each royalty. Of several that are
    alike the lowest royalty; None where nowhere both gain.

    >>> found = nash_point(lambda fee, royalty: Gains(fee + royalty, 3.0 - fee - royalty**2), 3.0, (0.0, 1.0), 0.5)
    >>> round(found.royalty, 4), round(found.upfront, 4)
    (0.5, 1.125)
    """

    def product(fee: np.ndarray, royalty: np.ndarray) -> np.ndarray:
        """The weighted product; less than nothing where a side loses."""
        found = gains(fee, royalty)
        own, other = np.broadcast_to(found.licensor, fee.shape), np.broadcast_to(found.licensee, fee.shape)
        both = (own >= 0) & (other >= 0)
        return np.where(both, np.maximum(own, 0.0) ** weight * np.maximum(other, 0.0) ** (1 - weight), -1.0)

    low, high = royalties
    points = np.linspace(low, high, ROYALTIES) if high > low else np.array([low])
    for _ in range(ROUNDS_OF_ROYALTIES + 1 if high > low else 1):
        fees, made = _best_fees(product, points, most_fee)
        best = int(np.argmax(made))
        fee, royalty = float(fees[best]), float(points[best])
        points = np.linspace(points[max(0, best - 1)], points[min(len(points) - 1, best + 1)], FINER)
    if made[best] <= 0:
        return None
    found = gains(fee, royalty)
    at = Gains(float(found.licensor), float(found.licensee))
    return Split(fee, royalty, at, _bound(fee, 0.0, most_fee), _bound(royalty, low, high) if high > low else "")


def equal_split(gains: GainsAt, most_fee: float, royalty: float) -> Split | None:
    """The fee with which both gain the same at a royalty; None where there is none, or both would lose.

    >>> equal_split(lambda fee, royalty: Gains(fee - 1.0, 4.0 - fee), 4.0, 0.02).gains
    Gains(licensor=1.5, licensee=1.5)
    """

    def more(fee: np.ndarray) -> np.ndarray:
        """What the licensor gains more than the licensee."""
        found = gains(fee, np.full(len(fee), royalty))
        return found.licensor - found.licensee

    fee = first(more, scan_of(0.0, most_fee))
    if np.isnan(fee):
        return None
    at = gains(fee, royalty)
    return Split(fee, royalty, Gains(float(at.licensor), float(at.licensee))) if at.licensor >= 0 else None


def _best_fees(product: Callable[..., np.ndarray], royalties: np.ndarray, most: float) -> tuple[np.ndarray, np.ndarray]:
    """For each royalty the fee with the greatest product, and that."""
    rows = np.arange(len(royalties))
    fees = np.tile(np.linspace(0.0, most, FEES), (len(royalties), 1))
    for _ in range(ROUNDS_OF_FEES + 1):
        made = product(fees.ravel(), np.repeat(royalties, fees.shape[1])).reshape(fees.shape)
        best = np.argmax(made, axis=1)
        found = fees[rows, best], made[rows, best]
        low, high = fees[rows, np.maximum(best - 1, 0)], fees[rows, np.minimum(best + 1, fees.shape[1] - 1)]
        fees = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, FINER)
        fees[:, -1] = high
    return found


def _bound(value: float, low: float, high: float) -> str:
    return "least" if value == low else "most" if value == high else ""
