"""Which power can be guaranteed: probability and cost of damages at several levels, and the fee that makes up for each.

When the licence is signed, initial efficiency and stabilisation are known only as far as ranges.csv says: by a range, or by what
was measured on the pilot line. They are drawn; transfer, sample and measurement are not, and stay in the closed form that holds for
each draw. So nothing is counted twice, and the mean over the draws is the probability (law of total probability).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...case.deal_records import Guarantee
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.roots import first
from ...model.deal.guarantee import exposure, falls_short, measured
from ...model.evaluate import Results
from ...model.ledger.prices import in_reporting_currency
from ...model.readings.cells import Sheet
from ..draws import Draws
from ..many import figures_of
from .sides import UPFRONT, Sides

RISK = 0.1  # the probability of damages that can be signed
STEPS = (-0.06, -0.04, -0.02, 0.0, 0.02)  # from the guaranteed power, as parts of it
REACH, POINTS = 4.0, 81  # of the curve: standard deviations to both sides
DRAWS, SEED = 20_000, 0
PILOT = ("product.initial_efficiency", "product.stabilisation_ratio")  # what the pilot line leaves uncertain of the power
POWER = "line.output.stabilised_power"
FAR = 1.5  # times the power of the row: a guarantee with much in damages
MILLION = 1e6


@dataclass(frozen=True, slots=True)
class Level:
    """A guaranteed power in W and what it means; damages as they are paid, in the reporting currency, the mean over the draws.

    `error` is the standard error of `probability`; `formula` takes the spread of the pilot line for normal; `stated` leaves it
    out. `reserve` covers the damages in all but a part `RISK` of the cases. `fee`, added to the upfront fee in the
    currency of the licence, would be worth as much to the licensor as guaranteeing this and not the power of the row.
    """

    power: float
    probability: float
    error: float
    formula: float
    stated: float
    cap_probability: float
    damages: float
    reserve: float
    fee: float


@dataclass(frozen=True, slots=True)
class Guaranteed:
    """One row of guarantees.csv: what it says, the most power that can be signed with a probability of `RISK`, levels around it.

    `signable_by_formula` is that power by the normal formula, `signable_as_stated` with efficiency and stabilisation as stated.
    `drawn` are the inputs that are drawn, none where ranges.csv has no row for them. `powers`, `probabilities` and `formulas` are
    points of the curves of the probability of damages.
    """

    row: str
    present: Level
    signable: Level
    signable_by_formula: float
    signable_as_stated: float
    levels: tuple[Level, ...]
    drawn: tuple[str, ...]
    draws: int
    seed: int
    powers: np.ndarray
    probabilities: np.ndarray
    formulas: np.ndarray


class _Measured:
    """What is held to the guaranteed power: mean and standard deviation in each draw, all together, and as the case states it."""

    def __init__(self, term: Guarantee, made: np.ndarray, stated: float):
        self.means, self.spreads = measured(term, made)
        self.mean = float(np.mean(self.means))
        self.spread = float(np.sqrt(np.mean(self.spreads**2) + np.var(self.means)))
        self.stated = measured(term, stated)

    def probabilities(self, powers: np.ndarray) -> np.ndarray:
        """The probability of damages at each power in each draw."""
        columns = powers[:, None]
        return falls_short(self.spreads / columns, self.means / columns - 1)

    def probability(self, powers: np.ndarray) -> np.ndarray:
        """The probability of damages at each power."""
        return self.probabilities(powers).mean(axis=1)

    def formula(self, powers: np.ndarray) -> np.ndarray:
        """The same if all spreads were normal."""
        return falls_short(self.spread / powers, self.mean / powers - 1)

    def as_stated(self, powers: np.ndarray) -> np.ndarray:
        """The same with efficiency and stabilisation as the case states them."""
        mean, spread = self.stated
        return falls_short(spread / powers, mean / powers - 1)


def pilot_powers(case: Case, results: Results, draws: int = DRAWS, seed: int = SEED) -> tuple[tuple[str, ...], np.ndarray]:
    """The inputs of the pilot line that ranges.csv holds uncertain, and the stabilised power of a module in each draw of them.

    They are the draws that a risk run has with the same seed. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> drawn, powers = pilot_powers(case, evaluate(case), draws=100)
    >>> drawn, len(powers)
    (('product.initial_efficiency', 'product.stabilisation_ratio'), 100)
    """
    drawn = tuple(address for address in PILOT if address in {row.address for row in uncertain(case).values()})
    if not drawn:
        return drawn, np.array([float(results.line.output.stabilised_power)])
    values = Draws(case, seed).values(0, draws)
    return drawn, figures_of(case, {address: values[address] for address in drawn}, [POWER])[POWER]


def guaranteed(
    case: Case, results: Results, row: str, draws: int = DRAWS, seed: int = SEED, sheet: Sheet | None = None
) -> Guaranteed:
    """What a guarantee of another power would mean.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> found = guaranteed(case, evaluate(case), "power")
    >>> round(found.signable.probability, 9), found.signable.reserve
    (0.1, 0.0)
    """
    term, stated = case.guarantees[row], float(results.line.output.stabilised_power)
    drawn, made = pilot_powers(case, results, draws, seed)
    held = _Measured(term, made, stated)
    curve = np.linspace(held.mean - REACH * held.spread, held.mean + REACH * held.spread, POINTS)
    signable = first(lambda powers: held.probability(powers) - RISK, curve)
    powers = [term.power, signable, *(term.power * (1 + step) for step in STEPS)]
    damages = [float(np.mean(exposure(case, replace(term, power=power), made).damages)) for power in powers]
    worth = _fee_for_damages(case, row, stated, sheet)
    levels = [
        _level(case, term, held, made, power, paid, signable, worth * (damages[0] - paid)) for power, paid in zip(powers, damages)
    ]
    quantile = _normal_quantile(RISK)
    return Guaranteed(
        row,
        levels[0],
        levels[1],
        held.mean + held.spread * quantile,
        float(held.stated[0] + held.stated[1] * quantile),
        tuple(levels[2:]),
        drawn,
        len(made),
        seed,
        curve,
        held.probability(curve),
        held.formula(curve),
    )


def _level(
    case: Case, term: Guarantee, held: _Measured, made: np.ndarray, power: float, damages: float, signable: float, fee: float
) -> Level:
    probabilities = held.probabilities(np.array([power]))[0]
    error = float(np.std(probabilities, ddof=1)) / len(probabilities) ** 0.5 if len(probabilities) > 1 else 0.0
    reserve = min(term.cap, term.damages * max(0.0, 1 - signable / power))
    return Level(
        power=power,
        probability=float(probabilities.mean()),
        error=error,
        formula=float(held.formula(np.array([power]))[0]),
        stated=float(held.as_stated(np.array([power]))[0]),
        cap_probability=float(np.mean(exposure(case, replace(term, power=power), made).cap_probability)),
        damages=damages,
        reserve=float(in_reporting_currency(reserve, term.currency, case.money)),
        fee=fee,
    )


def _fee_for_damages(case: Case, row: str, stated: float, sheet: Sheet | None) -> float:
    """The upfront fee that is worth as much to the licensor as a unit of damages less; damages are due at the acceptance test."""
    address, term, fee = f"guarantees.{row}.power", case.guarantees[row], case.deal.licence.upfront
    sides = Sides(case, [UPFRONT, address], sheet)
    little, much = (exposure(case, replace(term, power=power), stated).damages for power in (term.power, FAR * term.power))
    if much == little:  # a cap of nothing
        return 0.0
    now = sides.gains({}).licensor
    lost = now - sides.gains({address: FAR * term.power}).licensor
    more = (sides.gains({UPFRONT: fee + MILLION}).licensor - now) / MILLION
    return float(lost / (much - little) / more)


def _normal_quantile(share: float) -> float:
    from scipy.special import ndtri  # late: it takes a while

    return float(ndtri(share))
