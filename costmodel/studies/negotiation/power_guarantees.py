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
from ...model.deal.damages import falls_short
from ...model.deal.power_guarantee import exposure, measured, spread_of_modules
from ...model.evaluate import evaluate
from ...model.ledger.landed_prices import in_reporting_currency
from ..draws import Draws
from ..many import figures_of
from ..spread import TWO_SIDED
from .sides import UPFRONT, Sides

RISK = 0.1  # the probability of damages that can be signed
STEPS = (-0.06, -0.04, -0.02, 0.0, 0.02)  # from the guaranteed power, as parts of it
REACH, POINTS = 4.0, 81  # of the curve: standard deviations to both sides
STEP = 1e-4  # of a power, by which the slope of the curve is taken
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

    `signable_reach` is half the 95 % interval that the draws leave it: that of its probability over the slope of the curve.
    `signable_by_formula` is that power by the normal formula, `signable_as_stated` with efficiency and stabilisation as stated.
    `drawn` are the inputs that are drawn, none where ranges.csv has no row for them. `powers`, `probabilities` and `formulas` are
    points of the curves of the probability of damages.
    """

    row: str
    present: Level
    signable: Level
    signable_reach: float
    signable_by_formula: float
    signable_as_stated: float
    levels: tuple[Level, ...]
    drawn: tuple[str, ...]
    draws: int
    seed: int
    powers: np.ndarray
    probabilities: np.ndarray
    formulas: np.ndarray


def pilot_powers(case: Case, draws: int = DRAWS, seed: int = SEED) -> tuple[tuple[str, ...], np.ndarray]:
    """The inputs of the pilot line that ranges.csv holds uncertain, and the stabilised power of a module in each draw of them.

    They are the draws that a risk run has with the same seed. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> drawn, powers = pilot_powers(load_case("inputs_demo/facade"), draws=100)
    >>> drawn, len(powers)
    (('product.initial_efficiency', 'product.stabilisation_ratio'), 100)
    """
    drawn = tuple(address for address in PILOT if address in {row.address for row in uncertain(case).values()})
    if not drawn:
        return drawn, np.array([_stated(case)])
    values = Draws(case, seed).values(0, draws)
    return drawn, figures_of(case, {address: values[address] for address in drawn}, [POWER])[POWER]


def _stated(case: Case) -> float:
    """The stabilised power of a module as the case states it."""
    return float(evaluate(case).line.output.stabilised_power)


def guaranteed(case: Case, row: str, draws: int = DRAWS, seed: int = SEED) -> Guaranteed:
    """What a guarantee of another power would mean.

    >>> from costmodel.case.load import load_case
    >>> found = guaranteed(load_case("inputs_demo/facade"), "power")
    >>> round(found.signable.probability, 9), found.signable.reserve
    (0.1, 0.0)
    """
    from scipy.special import ndtri  # late: it takes a while

    term, stated = case.guarantees[row], _stated(case)
    drawn, made = pilot_powers(case, draws, seed)
    modules, left = spread_of_modules(case, term), 1 - float(term.retest_passed)
    means, spreads = measured(term, made, modules)  # in each draw, of what is held to the guaranteed power
    mean, spread = float(np.mean(means)), float(np.sqrt(np.mean(spreads**2) + np.var(means)))
    mean_stated, spread_stated = measured(term, stated, modules)

    def in_draws(powers: np.ndarray) -> np.ndarray:
        """The probability of damages at each power, a row for each, in each draw."""
        return left * falls_short(spreads / powers[:, None], means / powers[:, None] - 1)

    curve = np.linspace(mean - REACH * spread, mean + REACH * spread, POINTS)
    signable = first(lambda powers: in_draws(powers).mean(axis=1) - RISK, curve)
    signable = curve[-1] if np.isnan(signable) else signable  # a retest passes so often that no level pays with that probability
    powers = np.array([term.power, signable, *(term.power * (1 + step) for step in STEPS)])
    found = in_draws(powers)
    errors = np.std(found, axis=1, ddof=1) / found.shape[1] ** 0.5 if found.shape[1] > 1 else np.zeros(len(powers))
    due = [exposure(case, replace(term, power=float(power)), made) for power in powers]
    damages = [float(np.mean(each.damages)) for each in due]
    costs = [float(np.mean(each.damages + each.retests)) for each in due]
    reserves = [_reserve(term, 1 - signable / power) for power in powers]
    worth = _fee_for_damages(case, row, stated)
    levels = [
        Level(
            power=float(power),
            probability=float(found[k].mean()),
            error=float(errors[k]),
            formula=left * float(falls_short(spread / power, mean / power - 1)),
            stated=left * float(falls_short(spread_stated / power, mean_stated / power - 1)),
            cap_probability=float(np.mean(due[k].cap_probability)),
            damages=damages[k],
            reserve=float(in_reporting_currency(reserves[k], term.currency, case.money)),
            fee=worth * (costs[0] - costs[k]),
        )
        for k, power in enumerate(powers)
    ]
    quantile = float(ndtri(RISK / left)) if left > RISK else REACH
    below, above = in_draws(signable * np.array([1 - STEP, 1 + STEP])).mean(axis=1)
    reach = float(TWO_SIDED * errors[1] * 2 * STEP * signable / (above - below))
    by_formula, as_stated = mean + spread * quantile, float(mean_stated + spread_stated * quantile)
    of_curve = curve, in_draws(curve).mean(axis=1), left * falls_short(spread / curve, mean / curve - 1)
    return Guaranteed(
        row, levels[0], levels[1], reach, by_formula, as_stated, tuple(levels[2:]), drawn, len(made), seed, *of_curve
    )  # fmt: skip


def _reserve(term: Guarantee, short: float) -> float:
    """What is paid for a shortfall, in the currency of the row."""
    if short <= 0:
        return 0.0
    return float(term.rejection if short >= 1 - term.minimum else min(term.cap, term.damages * short))


def _fee_for_damages(case: Case, row: str, stated: float) -> float:
    """The upfront fee that is worth as much to the licensor as a unit of damages or retests less; they are due at the test."""
    address, term, fee = f"guarantees.{row}.power", case.guarantees[row], case.deal.licence.upfront
    sides = Sides(case, [UPFRONT, address])
    due = [exposure(case, replace(term, power=power), stated) for power in (term.power, FAR * term.power)]
    little, much = (each.damages + each.retests for each in due)
    if much == little:  # a cap of nothing
        return 0.0
    now = sides.gains({}).licensor
    lost = now - sides.gains({address: FAR * term.power}).licensor
    more = (sides.gains({UPFRONT: fee + MILLION}).licensor - now) / MILLION
    return float(lost / (much - little) / more)
