"""All guarantees together: probability and cost of each and of the set, what a point is worth, what can be signed together.

What ranges.csv holds uncertain is drawn, on the plant as bought: by it promises depend on each other. Transfer, days of the test,
sample and measurement are drawn for each promise apart, as its row states them. So nothing is counted twice. A date that is counted
from a gate is that of the gate in draws of the durations, the same draws as those of the transfer project. A shortfall pays
once: under the row that `counted_under` names, and under its own only beyond that. The common cap holds over the sum.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.guarantee_records import CONSUMPTION
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.as_bought import as_bought
from ...model.deal.performance_guarantees import of_tests
from ...model.deal.power_guarantee import measured, spread_of_modules
from ...model.ledger.landed_prices import in_reporting_currency
from ..draws import Draws
from ..many import figures_at, figures_of
from ..spread import Quantile, quantile_of
from .sides import LICENSEE, LICENSOR, Sides
from .transfer_spread import gate_draws

DRAWS, SEED = 20_000, 0
RISK = 0.1  # the probability of paying anything that can be signed
POWER = "line.output.stabilised_power"
POINT, WEEK = 0.01, to_base("week")  # by how much a promise is eased: a percent of its level, or a week
FAR = 1.2  # times the level: a promise with much in damages
QUANTILES = (0.5, 0.8, 0.9)


@dataclass(frozen=True, slots=True)
class Promise:
    """One guarantee: its terms in base units, damages in the reporting currency, and its result in each draw.

    `sign` is 1 where the result must reach the level and -1 where it must not exceed it. `whole` is the level for shortfalls as
    parts of it, 1 s for a date. `limit` is the shortfall from which `rejection` is paid in place of damages. After a miss a retest
    is paid for; where it is `mended`, nothing else is.
    """

    address: str
    title: str
    unit: str
    sign: float
    level: float
    grace: float
    damages: float
    cap: float
    limit: float
    rejection: float
    under: str
    is_date: bool
    retest: float
    mended: np.ndarray
    results: np.ndarray

    def shortfall(self, level: float) -> np.ndarray:
        """What is missing to a level in each draw, as a part of it or in s; below 0 where nothing is."""
        missing = self.sign * (level + self.grace - self.results)
        return missing if self.is_date else missing / level

    def eased(self, points: float) -> float:
        """The level, lower in what it asks by some percent, or later by some weeks."""
        return self.level + points * WEEK if self.is_date else self.level * (1 - self.sign * points * POINT)


@dataclass(frozen=True, slots=True)
class OfPromise:
    """One promise within a set: its level, the probability that it pays, what it may be expected to pay."""

    address: str
    level: float
    probability: float
    expected: float
    retests: float


@dataclass(frozen=True, slots=True)
class PromisedSet:
    """A set of levels: each promise, and all together under the common cap.

    `retests` is the expected cost of retests, which come on top of damages. `quantiles` are the reserves that cover the damages
    of 50, 80 and 90 % of such transfers, `deviation` the standard deviation of damages. `licensor` and `licensee` are what each
    has more than under the present set, at its rate and after its tax.
    """

    name: str
    promises: tuple[OfPromise, ...]
    probability: float
    error: float
    expected: float
    retests: float
    quantiles: tuple[Quantile, ...]
    deviation: float
    cap_probability: float
    licensor: float
    licensee: float

    @property
    def together(self) -> float:
        """What both have more together: above 0, some change of a fee leaves both better off."""
        return self.licensor + self.licensee


@dataclass(frozen=True, slots=True)
class PromiseSets:
    """The guarantees of a case as they stand and as they could be signed.

    `alone` is the probability of each by its closed form at the stated inputs. `points` are what the licensor gains and the
    licensee loses by a point less of each promise. `again` is the probability of the signable set over other draws.
    """

    present: PromisedSet
    signable: PromisedSet
    others: tuple[PromisedSet, ...]
    alone: tuple[float, ...]
    points: tuple[tuple[float, float], ...]
    again: float
    again_error: float
    share: float
    promises: tuple[Promise, ...]
    drawn: tuple[str, ...]
    draws: int
    seed: int

    @property
    def sets(self) -> tuple[PromisedSet, ...]:
        """All sets, the present one first."""
        return (self.present, self.signable, *self.others)


def _normal(seed: int, address: str, count: int) -> np.ndarray:
    """Standard normal numbers that belong to a promise, whatever other promises there are."""
    stream = np.random.SeedSequence([seed, *hashlib.sha256(address.encode()).digest()])
    return np.random.Generator(np.random.PCG64(stream)).standard_normal(count)


def _passed(seed: int, address: str, count: int, probability: float) -> np.ndarray:
    """The draws in which a retest under a promise passes."""
    stream = np.random.SeedSequence([seed, *hashlib.sha256(f"{address}.retest".encode()).digest()])
    return np.random.Generator(np.random.PCG64(stream)).random(count) < probability


def promises(case: Case, draws: int = DRAWS, seed: int = SEED) -> tuple[tuple[str, ...], list[Promise]]:
    """The inputs that are drawn, and every guarantee with its result in each draw. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> [each.address for each in promises(load_case("inputs_demo/facade"), draws=100)[1]][:2]
    ['guarantees.power', 'performance_guarantees.line_yield']
    """
    wanted = [POWER, *(f"deal.performance_guarantees.{name}.planned" for name in case.performance_guarantees)]
    drawn = tuple(row.address for row in uncertain(case).values())
    if drawn:
        plant = as_bought(case)
        made = figures_of(plant, Draws(plant, seed).values(0, draws), wanted)
    else:
        made = {address: np.full(draws, value) for address, value in figures_at(case, wanted).items()}

    def money(value: float, currency: str) -> float:
        """An amount in the reporting currency."""
        return float(in_reporting_currency(value, currency, case.money))

    found = []
    for name, row in case.guarantees.items():
        address = f"guarantees.{name}"
        mean, spread = measured(row, made[POWER], spread_of_modules(case, row))
        found.append(Promise(
            address, row.title, "Wp_stabilised/module", 1.0, row.power, 0.0, money(row.damages, row.currency),
            money(row.cap, row.currency), 1 - row.minimum, money(row.rejection, row.currency), "", False,
            money(row.retest_cost, row.currency), _passed(seed, address, draws, row.retest_passed),
            mean + spread * _normal(seed, address, draws),
        ))  # fmt: skip
    for name, term in case.performance_guarantees.items():
        address, sign = f"performance_guarantees.{name}", -1.0 if term.measure == CONSUMPTION else 1.0
        mean, part = of_tests(term, made[f"deal.{address}.planned"])
        under = f"performance_guarantees.{term.counted_under}" if term.counted_under in case.performance_guarantees else ""
        found.append(Promise(
            address, term.title, term.unit, sign, term.level, 0.0, money(term.damages, term.currency),
            money(term.cap, term.currency), 1 - term.minimum if sign > 0 else 1 / term.minimum - 1,
            money(term.rejection, term.currency), under, False,
            money(term.retest_cost, term.currency), _passed(seed, address, draws, term.retest_passed),
            mean * (1 + part * _normal(seed, address, draws)),
        ))  # fmt: skip
    for name, day in case.acceptance_dates.items():
        address = f"acceptance_dates.{name}"
        found.append(Promise(
            address, day.title, "month", -1.0, day.time, day.grace, money(day.damages, day.currency),
            money(day.cap, day.currency), day.latest, money(day.rejection, day.currency), "", True, 0.0, np.zeros(draws, bool),
            gate_draws(case, day.counted_from, draws, seed) + day.expected + day.spread * _normal(seed, address, draws),
        ))  # fmt: skip
    return drawn, found


def payments(found: Sequence[Promise], levels: Sequence[float], cap: float) -> np.ndarray:
    """What each promise pays in each draw, a row for each: one shortfall once, and all together up to the cap, in proportion.

    Of 10 % short under the first, 12 % under the second, which counts under it: 10 and 2 points, at 100 for the whole. What is
    mended after a miss is not paid; a shortfall that it explains under another row is not paid there either.

    >>> from dataclasses import replace
    >>> never = np.array([False, False])
    >>> row = Promise("a", "", "1", 1.0, 1.0, 0.0, 100.0, 50.0, 0.5, 70.0, "", False, 0.0, never, np.array([0.9, 0.4]))
    >>> late = replace(row, address="b", under="a", results=np.array([0.88, 1.2]))
    >>> payments([row, late], [1.0, 1.0], 1e9).round(9).tolist(), payments([row, late], [1.0, 1.0], 6.0).round(9)[:, 0].tolist()
    ([[10.0, 70.0], [2.0, 0.0]], [5.0, 1.0])
    """
    short = {each.address: np.maximum(each.shortfall(level), 0.0) for each, level in zip(found, levels)}
    paid = np.zeros((len(found), len(found[0].results)))
    for k, each in enumerate(found):
        own = short[each.address]
        beyond = np.maximum(own - short[each.under], 0.0) if each.under else own
        owed = np.where(own >= each.limit, each.rejection, np.minimum(each.damages * beyond, each.cap))
        paid[k] = np.where(each.mended, 0.0, owed)
    total = paid.sum(axis=0)
    return paid * np.where(total > cap, cap / np.where(total > 0, total, 1.0), 1.0)


def retests_of(found: Sequence[Promise], levels: Sequence[float]) -> list[float]:
    """The expected cost of the retests under each promise: one after each miss.

    >>> half = np.array([True, False])
    >>> row = Promise("a", "", "1", 1.0, 1.0, 0.0, 100.0, 50.0, 0.5, 70.0, "", False, 30.0, half, np.array([0.9, 1.2]))
    >>> retests_of([row], [1.0])
    [15.0]
    """
    return [each.retest * float((each.shortfall(level) > 0).mean()) for each, level in zip(found, levels)]


def signable_levels(found: Sequence[Promise], risk: float = RISK) -> tuple[float, list[float]]:
    """The level of each promise at which it pays with one probability, the same for all, and any of them with `risk`.

    That probability is found on the ranks of the results: the draws in which any rank is below it are `risk` of all draws. A draw
    in which a retest passes pays at no level.

    >>> from dataclasses import replace
    >>> never = np.zeros(100, bool)
    >>> row = Promise("a", "", "1", 1.0, 1.0, 0.0, 1.0, 1.0, 1.0, 0.0, "", False, 0.0, never, np.arange(100.0))
    >>> signable_levels([row, replace(row, address="b", results=np.arange(100.0)[::-1])])
    (0.05, [5.0, 5.0])
    """
    good = [np.where(each.mended, np.inf, each.sign * each.results) for each in found]  # more is better
    ranks = np.stack([np.argsort(np.argsort(each, kind="stable"), kind="stable") for each in good])
    count = len(good[0])
    place = int(np.sort(ranks.min(axis=0))[round(risk * count)])
    return place / count, [
        float(each.sign * np.sort(values)[place] - each.grace) for each, values in zip(found, good)
    ]  # fmt: skip


def common_cap(case: Case) -> float:
    """The most that all guarantees pay together, in the reporting currency; without a row there is none."""
    for row in case.damages_caps.values():
        return float(in_reporting_currency(row.amount, row.currency, case.money))
    return float("inf")


def worth_of_damages(case: Case, found: Sequence[Promise]) -> list[tuple[float, float]]:
    """What a unit of damages under each promise takes from the licensor, and brings the licensee: at its rate, after its tax.

    It is found at a level that is missed, against the same with nothing to pay.
    """
    terms = {each.address: _hard(case, each) for each in found}
    paid = {each.address: f"deal.{each.address}.damages" for each in found}
    sides = Sides(case, [f"{row}.{field}" for row, (hard, off) in terms.items() for field in {**hard, **off}], list(paid.values()))
    worth = []
    for row, (hard, off) in terms.items():
        much = sides.run({f"{row}.{field}": value for field, value in hard.items()})
        none = sides.run({f"{row}.{field}": value for field, value in {**hard, **off}.items()})
        due = float(much[paid[row]])
        lost, won = float(none[LICENSOR] - much[LICENSOR]), float(much[LICENSEE] - none[LICENSEE])
        worth.append((lost / due, won / due) if due > 0 else (0.0, 0.0))
    return worth


def _hard(case: Case, each: Promise) -> tuple[dict[str, float], dict[str, float]]:
    """The terms by which a promise is missed by far, or a date often, and those by which nothing is paid for it."""
    if each.is_date:  # expected so late that it is missed at even odds, and due when it is due now
        address = f"deal.{each.address}.expected"
        later = max(0.0, each.level + each.grace - figures_at(case, [address])[address])
        return {"expected": float(value_at(case, f"{each.address}.expected")) + later}, {"cap": 0.0, "rejection": 0.0}
    if each.address.startswith("guarantees."):
        return {"power": FAR * each.level}, {"cap": 0.0, "rejection": 0.0}
    return {"level": each.level * FAR**each.sign}, {"cap": 0.0, "rejection": 0.0}


def promise_sets(case: Case, draws: int = DRAWS, seed: int = SEED) -> PromiseSets | None:
    """The guarantees of a case together, and sets of other levels; None for a case without guarantees. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> found = promise_sets(load_case("inputs_demo/facade"), draws=1_000)
    >>> 0.09 < found.signable.probability <= 0.1, found.signable.expected < found.present.expected
    (True, True)
    """
    drawn, found = promises(case, draws, seed)
    if not found:
        return None
    cap, worth = common_cap(case), worth_of_damages(case, found)
    now = [each.level for each in found]
    base, tested = payments(found, now, cap).mean(axis=1), np.array(retests_of(found, now))

    def in_set(name: str, levels: Sequence[float]) -> PromisedSet:
        """The set at some levels, against the present one."""
        paid = payments(found, levels, cap)
        means, total, again = paid.mean(axis=1), paid.sum(axis=0), retests_of(found, levels)
        any_paid = float((total > 0).mean())
        each = zip((row.address for row in found), levels, (paid > 0).mean(axis=1), means, again)
        return PromisedSet(
            name=name,
            promises=tuple(OfPromise(address, *map(float, rest)) for address, *rest in each),
            probability=any_paid,
            error=(any_paid * (1 - any_paid) / draws) ** 0.5,
            expected=float(total.mean()),
            retests=float(sum(again)),
            quantiles=tuple(quantile_of(np.sort(total), share, "inverted_cdf") for share in QUANTILES),
            deviation=float(total.std()),
            cap_probability=float((total >= cap * (1 - 1e-12)).mean()),
            licensor=float(sum(ours * less for (ours, _), less in zip(worth, base - means + tested - again))),
            licensee=float(sum(theirs * more for (_, theirs), more in zip(worth, means - base))),
        )

    share, levels = signable_levels(found)
    again = payments(promises(case, draws, seed + 1)[1], levels, cap).sum(axis=0) > 0
    eased = [in_set("", [*now[:k], each.eased(1.0), *now[k + 1 :]]) for k, each in enumerate(found)]
    chance = float(again.mean())
    return PromiseSets(
        present=in_set("as stated", now),
        signable=in_set("equal odds, 10 % together", levels),
        others=(
            in_set("all a point or a week easier", [each.eased(1.0) for each in found]),
            in_set("all a point or a week harder", [each.eased(-1.0) for each in found]),
        ),
        alone=tuple(figures_at(case, [f"deal.{each.address}.probability" for each in found]).values()),
        points=tuple((each.licensor, -each.licensee) for each in eased),
        again=chance,
        again_error=(chance * (1 - chance) / draws) ** 0.5,
        share=share,
        promises=tuple(found),
        drawn=drawn,
        draws=draws,
        seed=seed,
    )


def better_for_both(found: PromiseSets) -> list[PromisedSet]:
    """Sets that leave both more together than the present one: with some change of a fee, both are better off."""
    return [each for each in found.sets[1:] if each.together > 0]


def charge_from_which_better(found: PromiseSets, other: PromisedSet) -> float | None:
    """The licensor's charge per unit of standard deviation of damages from which a set leaves both more together; None for none.

    A set with less spread is the better one at any higher charge. One that is better anyhow has 0.
    """
    if other.together > 0:
        return 0.0
    less = found.present.deviation - other.deviation
    return -other.together / less if less > 0 else None
