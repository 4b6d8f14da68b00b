"""What a picture of the zone needs, and the quick way to it from a grid, for pictures that follow sliders.

Why this is not the zone of `zone.py` on a coarser scan: each run of the recorded gains takes some 20 ms however few the points,
and a redraw as a whole some 120 ms. This takes one run or two; the zone takes six before anything is narrowed. Measured for the
facade on one slow processor: 37 ms here, 169 ms for the zone with 21 fees and royalties and no narrowing, 1.6 s in full.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.whole_case import Case
from ...core.operations import Value
from .sides import ROYALTY, UPFRONT, Sides

CAP = "licence.royalty_cap"
GRID = 31  # fees, and royalties, of the picture that follows sliders
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)  # times a power of ten: where its axes may end
FEES = np.array([step * 10.0**k for k in range(4, 13) for step in STEPS])
RATES = np.array([step * 10.0**k for k in range(-2, 0) for step in STEPS] + [1.0])
ROOM = 1.1  # how far beyond a limit they go at least


@dataclass(frozen=True, slots=True)
class Outline:
    """What a picture of a zone needs, in the currency of the licence: lines over royalties (NaN: none), up to a fee `top`.

    `alike` is the fee with which both gain the same, `offer` the fee and royalty offered. `bands` are where both gain, each from
    a fee to a fee (NaN: none there): one band, or several where a gain jumps or turns along the fee.
    """

    royalty: np.ndarray
    floor: np.ndarray
    ceiling: np.ndarray
    alike: np.ndarray
    offer: tuple[float, float]
    top: float
    bands: tuple[tuple[np.ndarray, np.ndarray], ...]

    @property
    def open(self) -> np.ndarray:
        """At which royalties there is a fee that suits both."""
        return np.any([~np.isnan(low) for low, _ in self.bands], axis=0)


def quick_outline(
    case: Case, sides: Sides, values: Mapping[str, Value], before: Outline | None = None, points: int = GRID
) -> Outline:
    """The outline of a zone as a grid of fees and royalties shows it; corners are read off between its points.

    From the first fee with which the licensor has its floor to the last with which the licensee has its best alternative: a range
    of fees between in which a side loses is seen by `trace_zone` alone.

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
    lines = [_crossing(licensor, upfront), _crossing(-licensee, upfront, last=True), _crossing(licensor - licensee, upfront)]
    floor, ceiling, _ = lines
    ends = [_zeros(line, royalty) for line in (floor, ceiling, ceiling - np.maximum(floor, 0.0))]
    finer = np.unique(np.concatenate([royalty, *ends]))
    floor, ceiling, alike = (np.interp(finer, royalty, line) for line in lines)
    least = -1e-9 * top  # where lines meet, rounding puts them on either side
    floor = np.maximum(floor, 0.0)
    ceiling, alike = (np.where(line < least, np.nan, np.maximum(line, 0.0)) for line in (ceiling, alike))
    ceiling = np.where(np.abs(ceiling - floor) <= -least, floor, ceiling)
    both = ~np.isnan(ceiling) & (ceiling >= floor)
    band = np.where(both, floor, np.nan), np.where(both, ceiling, np.nan)
    return Outline(finer, floor, ceiling, alike, offer, top, (band,))


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


def _crossing(rising: np.ndarray, upfront: np.ndarray, last: bool = False) -> np.ndarray:
    """For each royalty the first, or last, fee at which something passes zero upwards, straight on between fees and beyond them."""
    below = rising < 0
    count = len(upfront)
    above = count - np.argmax(below[::-1], axis=0) if last else np.argmax(~below, axis=0)
    above = np.where(below.all(axis=0), count - 1, np.where(below.any(axis=0), above, 1))
    above, columns = np.clip(above, 1, count - 1), np.arange(rising.shape[1])
    low, high = rising[above - 1, columns], rising[above, columns]
    with np.errstate(divide="ignore", invalid="ignore"):  # a fee of which nothing arrives
        fee = upfront[above - 1] - low * (upfront[above] - upfront[above - 1]) / (high - low)
    return np.where(np.isfinite(fee), fee, np.nan)


def _zeros(line: np.ndarray, royalty: np.ndarray) -> np.ndarray:
    """The royalties at which a line crosses zero, straight on between its points."""
    k = np.flatnonzero(line[:-1] * line[1:] < 0)
    return royalty[k] - line[k] * (royalty[k + 1] - royalty[k]) / (line[k + 1] - line[k])
