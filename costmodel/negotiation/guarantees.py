"""Which power can be guaranteed: chance and cost of damages at several levels, and the fee that makes up for each."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..case.deal_records import Guarantee
from ..case.records import Case
from ..deal.guarantee import exposure, measured
from ..ledger.prices import in_reporting_currency
from ..model import Results
from .sides import UPFRONT, Sides

RISK = 0.1  # the chance of damages that can be signed
STEPS = (-0.06, -0.04, -0.02, 0.0, 0.02)  # from the guaranteed power, as parts of it
REACH, POINTS = 3.0, 61  # of the curve: standard deviations to both sides


@dataclass(frozen=True, slots=True)
class Level:
    """A guaranteed power in W and what it means: chances; damages as they are paid, in the reporting currency.

    `reserve` covers the damages in all but a part `RISK` of the cases. `fee` is what would have to be added to the upfront fee, in
    the currency of the licence, to be worth as much to the licensor as guaranteeing this and not the power of the row.
    """

    power: float
    chance: float
    cap_chance: float
    damages: float
    reserve: float
    fee: float


@dataclass(frozen=True, slots=True)
class Guaranteed:
    """One row of guarantees.csv: what it says, the most power that can be signed with a chance of `RISK`, and levels around it.

    `powers` and `chances` are points of the curve of the chance of damages.
    """

    row: str
    present: Level
    signable: Level
    levels: tuple[Level, ...]
    powers: np.ndarray
    chances: np.ndarray


def guaranteed(case: Case, results: Results, row: str) -> Guaranteed:
    """What a guarantee of another power would mean.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> found = guaranteed(case, evaluate(case), "power")
    >>> round(found.signable.chance, 9), found.signable.reserve
    (0.1, 0.0)
    """
    address, term, made = f"guarantees.{row}.power", case.guarantees[row], results.line.output.stabilised_power
    sides = Sides(case, [UPFRONT, address])
    mean, spread = measured(term, made)
    signable = mean + spread * _normal_quantile(RISK)
    powers = np.array([term.power, signable, *(term.power * (1 + step) for step in STEPS)])
    fee = case.licence.upfront
    gains = sides.gains({address: powers, UPFRONT: fee}).licensor
    more = sides.gains({UPFRONT: fee + 1.0}).licensor - sides.gains({}).licensor
    levels = [
        _level(case, term, made, float(power), float((gain - gains[0]) / more)) for power, gain in zip(powers, gains + 0.0 * powers)
    ]
    curve = np.linspace(mean - REACH * spread, mean + REACH * spread, POINTS)
    return Guaranteed(
        row, levels[0], levels[1], tuple(levels[2:]), curve, np.asarray(exposure(case, replace(term, power=curve), made).chance)
    )


def _level(case: Case, term: Guarantee, made: float, power: float, fee: float) -> Level:
    at = replace(term, power=power)
    found = exposure(case, at, made)
    mean, spread = measured(at, made)
    short = max(0.0, 1 - (mean + spread * _normal_quantile(RISK)) / power)
    reserve = in_reporting_currency(min(term.cap, term.damages * short), term.currency, case.money)
    return Level(power, float(found.chance), float(found.cap_chance), float(found.damages), float(reserve), fee)


def _normal_quantile(share: float) -> float:
    from scipy.special import ndtri  # late: it takes a while

    return float(ndtri(share))
