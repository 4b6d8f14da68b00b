"""Laws of the negotiation, each with an answer that is worked by hand: where gains turn and jump, how they split, guarantees."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

import numpy as np

from costmodel.case.addresses import replaced
from costmodel.case.deal_records import Guarantee
from costmodel.case.range_records import AFTER, Range
from costmodel.case.whole_case import Case
from costmodel.core.roots import jumps, profile
from costmodel.model.evaluate import evaluate
from costmodel.studies.negotiation.guarantees import guaranteed
from costmodel.studies.negotiation.limits import interval
from costmodel.studies.negotiation.sides import ROYALTY, Gains
from costmodel.studies.negotiation.split import equal_split, nash_point
from costmodel.studies.negotiation.zone import zone_of

Broken = Iterator[str]
NORMAL_95 = 1.6448536269514722  # 5 % of a normal distribution lie farther above its mean, in standard deviations (any table)


def off(what: str, found: float, wanted: float, within: float) -> Broken:
    """A message where a number is not as near to what is wanted as it must be."""
    if not abs(found - wanted) <= within:
        yield f"{what}: found {found!r}; wanted {wanted!r} within {within:.3g}"


def stretches_end_at_roots_and_jumps(case: Case) -> Broken:
    """A saw from -1 to 1 over each 3: not negative from 1.5 to 3 and from 4.5 to 6, and it jumps at 3 and 6, which are no roots."""

    def saw(x):
        return 2.0 * (np.asarray(x) % 3.0) / 3.0 - 1.0

    found = profile(saw, np.linspace(0.1, 6.5, 44))
    if len(found.stretches) != 2:
        yield f"stretches: found {found.stretches}"
        return
    for (low, high), wanted in zip(found.stretches, ((1.5, 3.0), (4.5, 6.0))):
        yield from off("from", low, wanted[0], 1e-9)
        yield from off("to", high, wanted[1], 1e-9)
    if [change.jump for change in found.changes] != [False, True, False, True]:
        yield "jumps are not told from roots"
    if len(jumps(saw, found)) != 2:
        yield f"jumps: found {jumps(saw, found)}"
    if saw(found.stretches[0][1]) < 0:
        yield "a stretch ends behind its jump"


def both_gain_where_each_does(case: Case) -> Broken:
    """The licensor gains from 1 to 2.5 and from 3 million on, the licensee up to 4, whatever the royalty: two ranges of fees."""

    def gains(fee, royalty):
        return Gains(fee - 1e6 - np.where(fee >= 2.5e6, 2e6, 0.0) + 0 * royalty, 4e6 - fee + 0 * royalty)

    zone = zone_of(gains, (2e6, 0.01), 0.05)
    wanted = ((1e6, 2.5e6), (3e6, 4e6))
    for fees in zone.fees:
        if len(fees) != 2:
            yield f"ranges of fees: found {fees}"
            return
        for found, (low, high) in zip(fees, wanted):
            yield from off("from a fee", found[0], low, 1.0)
            yield from off("to a fee", found[1], high, 1.0)


def a_term_is_limited_by_both_sides(case: Case) -> Broken:
    """A side for which the term is worth 100 x - 10, and one to which it leaves 50 - 100 x: from 0.1 to 0.5."""

    class Straight:
        """Sides of one term."""

        def settled(self, values, moving):
            return self

        def gains(self, values):
            (value,) = values.values()
            return Gains(100 * np.asarray(value) - 10, 50 - 100 * np.asarray(value))

    found = interval(case, ROYALTY, Straight())
    for name, stretches, (low, high) in (
        ("licensor", found.licensor.stretches, (0.1, 1.0)), ("licensee", found.licensee.stretches, (0.0, 0.5)),
        ("both", found.both, (0.1, 0.5)),
    ):  # fmt: skip
        yield from off(f"{name} from", stretches[0][0], low, 1e-9)
        yield from off(f"{name} to", stretches[-1][1], high, 1e-9)


def the_product_of_gains_is_greatest_at_the_nash_point(case: Case) -> Broken:
    """Gains f + r and 3 - f^2 - r^2: with a weight w of the first the best is f = r, their square 3 w / (4 - 2 w)."""

    def gains(fee, royalty):
        return Gains(fee + royalty, 3.0 - fee**2 - royalty**2)

    for weight in (0.25, 0.5):
        found, wanted = nash_point(gains, 1.7, (0.0, 1.5), weight), math.sqrt(3 * weight / (4 - 2 * weight))
        yield from off("fee", found.upfront, wanted, 1e-6)
        yield from off("royalty", found.royalty, wanted, 1e-6)
    capped = nash_point(gains, 1.7, (0.0, 0.5), 0.5)
    if capped.royalty_bound != "most":
        yield f"a cap that binds is said to be '{capped.royalty_bound}'"
    equal = equal_split(lambda fee, royalty: Gains(fee - 1.0, 4.0 - fee), 4.0, 0.02)
    yield from off("equal split", equal.upfront, 2.5, 1e-9)


def what_the_pilot_line_leaves_uncertain_counts_once(case: Case) -> Broken:
    """Efficiency normal by 3 % of its mean, transfer 2 %: both together the root of 13, by draws and by formula."""
    stated = case.product.initial_efficiency
    ends = [stated * (1 + sign * NORMAL_95 * 0.03) for sign in (-1, 1)]
    row = Range("product.initial_efficiency", "normal", ends[0], stated, ends[1], "1", "product", AFTER)
    power = 0.95 * evaluate(case).line.output.stabilised_power
    term = Guarantee("power", power, 0.0, 0.02, 0.0, 1.0, 0.0, 0.0, 1e6, 1e9, case.currency, 0.0)
    apart = {"correlations": {}, "outcomes": {}, "samples": {}}
    drawn = dataclasses.replace(case, guarantees={"power": term}, ranges={"efficiency": row}, **apart)
    found = guaranteed(drawn, "power", draws=20_000, seed=3)
    closed = 0.5 * math.erfc(0.05 / math.hypot(0.03, 0.02) / math.sqrt(2))
    yield from off("by draws", found.present.probability, closed, 3 * found.present.error)
    yield from off("by formula", found.present.formula, closed, 0.004)
    yield from off("as stated", found.present.stated, 0.5 * math.erfc(0.05 / 0.02 / math.sqrt(2)), 1e-9)
    if not 0 < found.present.error < 0.003:
        yield f"standard error {found.present.error}"
    yield from off("signable", found.signable.probability, 0.1, 1e-9)


def damages_are_due_at_the_acceptance_test(case: Case) -> Broken:
    """An acceptance test a year later: damages are a year's rate of the licensor less, and no other date moves them."""
    power = evaluate(case).line.output.stabilised_power
    year = case.constants.year
    term = Guarantee("power", power, 0.0, 0.02, 0.0, 1.0, 0.0, 0.0, 1e6, 1e9, case.currency, year)
    now = dataclasses.replace(replaced(case, {"licensor.damages": 0.0}), guarantees={"power": term})
    found = [evaluate(replaced(now, {"guarantees.power.time": time})) for time in (year, 2 * year)]
    early, late = (each.deal.licensor.damages for each in found)
    yield from off("a year later", early / late, 1 + case.deal.licensor.discount_rate * year, 1e-9)
    early, late = (each.deal.licensee.damages for each in found)
    yield from off("a year later to the licensee", early / late, 1 + found[0].plan.required_return, 1e-9)
    kept = (1 - case.plan.tax.rate) / (1 + found[0].plan.required_return)  # after tax, after a year
    yield from off("to the licensee", early, kept * 1e6 * 0.02 / math.sqrt(2 * math.pi), 1e-3)
    moved = found[0].deal.licensee.gain - evaluate(dataclasses.replace(now, guarantees={})).deal.licensee.gain
    yield from off("gain of the licensee", moved, early, 1e-3)


DEAL_LAWS = (
    stretches_end_at_roots_and_jumps, both_gain_where_each_does, a_term_is_limited_by_both_sides,
    the_product_of_gains_is_greatest_at_the_nash_point, what_the_pilot_line_leaves_uncertain_counts_once,
    damages_are_due_at_the_acceptance_test,
)  # fmt: skip


def violated_by_deal(case: Case) -> Iterator[str]:
    """What the laws find; a law that cannot be put is broken."""
    for law in DEAL_LAWS:
        try:
            yield from (f"{law.__name__}: {message}" for message in law(case))
        except (ArithmeticError, LookupError, ValueError, AttributeError) as problem:
            yield f"{law.__name__}: {type(problem).__name__}: {problem}"
