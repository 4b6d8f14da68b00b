"""Laws of the negotiation, each with an answer that is worked by hand: where gains turn and jump, how they split, guarantees."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

import numpy as np

from costmodel.case.addresses import replaced
from costmodel.case.deal_records import Guarantee
from costmodel.case.guarantee_records import AcceptanceDate, PerformanceGuarantee
from costmodel.case.power_class_records import MeasuredPower, PowerSpread
from costmodel.case.range_records import AFTER, Range
from costmodel.case.whole_case import Case
from costmodel.core.roots import jumps, profile
from costmodel.model.deal.power_guarantee import exposure
from costmodel.model.evaluate import evaluate
from costmodel.studies.negotiation.guarantee_set import Promise, payments, retests_of, signable_levels
from costmodel.studies.negotiation.limits import interval
from costmodel.studies.negotiation.power_guarantees import guaranteed
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
    term = Guarantee("power", power, 0.0, 0.02, 0.0, 1.0, 0.0, 0.0, 1e6, 1e9, case.currency, 0.0, *UNTESTED)
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


UNTESTED = ("both", 0.0, 0.0, 1e-6, 0.0, 0.0, 0.0)  # who measures; no cost of tests, no rejection, no retest


def damages_are_due_at_the_acceptance_test(case: Case) -> Broken:
    """An acceptance test a year later: damages are a year's rate of the licensor less, and no other date moves them."""
    power = evaluate(case).line.output.stabilised_power
    year = case.constants.year
    term = Guarantee("power", power, 0.0, 0.02, 0.0, 1.0, 0.0, 0.0, 1e6, 1e9, case.currency, year, *UNTESTED)
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


def promise(measure: str, of: str, level: float, **terms: object) -> PerformanceGuarantee:
    """A guaranteed rate: 3 % from transfer to transfer, 8 % from day to day over 4 tests of 4 days, so 2 %; no cap, no limit."""
    usual: dict[str, object] = {
        "transfer_loss": 0.0, "transfer_spread": 0.03, "day_spread": 0.08, "measurement": 0.0, "days": 4.0, "tests": 4.0,
        "measured_by": "both", "test_cost": 0.0, "test_share": 0.25, "damages": 1e6, "cap": 1e12, "minimum": 1e-6, "rejection": 0.0,
        "retest_cost": 0.0, "retest_passed": 0.0, "counted_under": "alone", "currency": "EUR", "time": 0.0,
    }  # fmt: skip
    return PerformanceGuarantee("it", measure, of, "1", level, **{**usual, **terms})  # type: ignore[arg-type]


def guaranteed_rates_cost_what_the_normal_distribution_says(case: Case) -> Broken:
    """At the level that is made: half of all transfers fall short, by the root of 13 % of 1 over the root of 2 pi; and tests."""
    tool = next(iter(case.tools))
    bare = {"guarantees": {}, "acceptance_dates": {}, "damages_caps": {}}
    item = next(iter(evaluate(case).ledger.landed))
    rows = {"throughput": "line", "line_yield": "line", "uptime": tool, "consumption": item}
    known = {name: promise(name, of, 1.0, currency=case.currency) for name, of in rows.items()}
    made = evaluate(dataclasses.replace(case, **bare, performance_guarantees=known))
    states = made.line.states[tool]
    up = states.productive + states.standby + states.engineering
    wanted = {
        "throughput": made.line.output.capacity / case.site.scheduled_time,
        "line_yield": made.line.output.good_plates / made.line.output.plates_started,
        "uptime": up / (up + states.scheduled_down + states.unscheduled_down),
        "consumption": made.ledger.landed[item].used / made.line.output.good_modules,
    }
    spread = math.hypot(0.03, 0.02)
    for name, rate in wanted.items():
        yield from off(name, made.deal.performance_guarantees[name].planned / rate, 1.0, 1e-9)
        row = dataclasses.replace(known[name], level=rate, test_cost=1000.0)
        found = evaluate(dataclasses.replace(case, **bare, performance_guarantees={"it": row})).deal.performance_guarantees["it"]
        yield from off(f"{name}: probability", found.probability, 0.5, 1e-9)
        yield from off(f"{name}: damages", found.damages, 1e6 * spread / math.sqrt(2 * math.pi), 1e-3)
        yield from off(f"{name}: tests of the licensor", found.licensor_tests, 1000.0, 1e-9)  # a quarter of four
        yield from off(f"{name}: tests of the licensee", found.licensee_tests, 3000.0, 1e-9)
        sign = -1 if name == "consumption" else 1
        row = dataclasses.replace(row, minimum=1 / (1 + spread) if sign < 0 else 1 - spread, rejection=1e9, cap=0.0)
        found = evaluate(dataclasses.replace(case, **bare, performance_guarantees={"it": row})).deal.performance_guarantees["it"]
        below = 0.15865525393145707  # of a normal distribution, farther than one standard deviation below the mean (any table)
        yield from off(f"{name}: rejection", found.rejection_probability, below, 1e-9)
        yield from off(f"{name}: paid at rejection", found.damages / 1e9, below, 1e-9)
        row = dataclasses.replace(row, rejection=0.0, cap=1e12)  # nothing beyond one standard deviation: 0.398942 - 0.241971 of it
        found = evaluate(dataclasses.replace(case, **bare, performance_guarantees={"it": row})).deal.performance_guarantees["it"]
        wanted_then = 1e6 * spread * (1 - math.exp(-0.5)) / math.sqrt(2 * math.pi)
        yield from off(f"{name}: nothing at rejection", found.damages, wanted_then, 1e-3)
        row = dataclasses.replace(known[name], level=rate * (1 - sign * spread), transfer_loss=0.0)
        found = evaluate(dataclasses.replace(case, **bare, performance_guarantees={"it": row})).deal.performance_guarantees["it"]
        if not found.probability < 0.2:
            yield f"{name}: an easier level is missed with {found.probability}"


def a_guaranteed_date_costs_what_the_normal_distribution_says(case: Case) -> Broken:
    """Expected at the end of the grace, spread of 8 weeks: half are late, by 8 weeks over the root of 2 pi."""
    week = 7 * 86_400.0
    row = AcceptanceDate("it", 100 * week, 102 * week, 8 * week, 2 * week, 5000.0 / week, 1e12, 1e6 * week, 0.0, case.currency)
    found = evaluate(dataclasses.replace(case, acceptance_dates={"it": row})).deal.acceptance_dates["it"]
    yield from off("probability", found.probability, 0.5, 1e-9)
    yield from off("damages", found.damages, 5000 * 8 / math.sqrt(2 * math.pi), 1e-3)
    row = dataclasses.replace(row, latest=8 * week, rejection=1e6, cap=0.0)
    found = evaluate(dataclasses.replace(case, acceptance_dates={"it": row})).deal.acceptance_dates["it"]
    yield from off("withdrawn", found.damages, 1e6 * 0.15865525393145707, 1e-3)


def tests_of_guarantees_are_paid_by_both_sides(case: Case) -> Broken:
    """A test that nothing is paid for costs the licensor its part today, and the licensee the rest after tax."""
    row = promise("line_yield", "line", 1e-3, test_cost=1000.0, currency=case.currency)
    bare = dataclasses.replace(replaced(case, {"licensor.damages": 0.0}), guarantees={}, acceptance_dates={}, damages_caps={})
    found = evaluate(dataclasses.replace(bare, performance_guarantees={"it": row})).deal
    yield from off("licensor", found.licensor.damages, 1000.0, 1e-6)
    yield from off("licensee", found.licensee.damages, -3000.0 * (1 - case.plan.tax.rate), 1e-6)
    gained = found.licensee.gain - evaluate(dataclasses.replace(bare, performance_guarantees={})).deal.licensee.gain
    yield from off("gain of the licensee", gained, found.licensee.damages, 1e-3)


def a_retest_is_paid_after_a_miss_and_ends_it_with_its_probability(case: Case) -> Broken:
    """At the level that is made half of all fall short: half of 1,000 for retests, and of each four misses one is still paid."""
    output = evaluate(case).line.output
    terms = {"retest_cost": 1000.0, "retest_passed": 0.75, "currency": case.currency}
    rate = promise("line_yield", "line", output.line_yield, **terms)
    power = Guarantee(
        "power", output.stabilised_power, 0.0, 0.03, 0.16, 64.0, 0.0, 0.0, 1e6, 1e9, case.currency, 0.0, "both", 800.0, 0.25, 1e-6,
        0.0, 1000.0, 0.75,
    )  # fmt: skip
    bare = dataclasses.replace(case, acceptance_dates={}, damages_caps={}, power_spread={}, measured_powers={})
    deal = evaluate(dataclasses.replace(bare, guarantees={"it": power}, performance_guarantees={"it": rate})).deal
    spread = math.hypot(0.03, 0.02)
    for name, found in (("power", deal.guarantees["it"]), ("yield", deal.performance_guarantees["it"])):
        yield from off(f"{name}: missed", found.miss_probability, 0.5, 1e-9)
        yield from off(f"{name}: paid", found.probability, 0.125, 1e-9)
        yield from off(f"{name}: retests", found.retests, 500.0, 1e-6)
        yield from off(f"{name}: damages", found.damages, 0.25 * 1e6 * spread / math.sqrt(2 * math.pi), 1e-3)
    yield from off("test of power", deal.guarantees["it"].licensor_tests, 200.0, 1e-9)
    yield from off("rest of it", deal.guarantees["it"].licensee_tests, 600.0, 1e-9)
    none = evaluate(dataclasses.replace(bare, guarantees={}, performance_guarantees={})).deal
    owed = sum(each.damages for each in (deal.guarantees["it"], deal.performance_guarantees["it"])) + 200.0 + 2 * 500.0
    yield from off("owed on the first day", deal.licensor.damages - none.licensor.damages, owed, 1e-3)
    got = sum(each.damages for each in (deal.guarantees["it"], deal.performance_guarantees["it"])) - 600.0
    yield from off("due to the licensee", deal.licensee.damages - none.licensee.damages, got * (1 - case.plan.tax.rate), 1e-3)
    strict = dataclasses.replace(power, minimum=1 - math.hypot(0.03, 0.02), rejection=1e9, cap=0.0)
    found = evaluate(dataclasses.replace(bare, guarantees={"it": strict}, performance_guarantees={})).deal.guarantees["it"]
    below = 0.15865525393145707  # of a normal distribution, farther than one standard deviation below the mean (any table)
    yield from off("rejected", found.rejection_probability, 0.25 * below, 1e-9)
    yield from off("paid at rejection", found.damages / 1e9, 0.25 * below, 1e-9)
    yield from off("cap of nothing", found.cap_probability, 0.25 * (0.5 - below), 1e-9)


def the_spread_of_modules_stands_once(case: Case) -> Broken:
    """Of 16 modules with 12 % each and nothing else, the mean spreads by 3 %, stated, by power_spread.csv or by measured powers."""
    power = evaluate(case).line.output.stabilised_power
    row = Guarantee("power", power, 0.0, 1e-9, 0.12, 16.0, 0.0, 0.0, 1e6, 1e9, case.currency, 0.0, *UNTESTED)
    spread = PowerSpread("it", 0.12, 0.0)
    # about a mean of 50: differences -6, 0, 6 have 72 in squares, over 2 the square of 6, which is 12 % of 50
    powers = {name: MeasuredPower(name, each) for name, each in (("a", 44.0), ("b", 50.0), ("c", 56.0))}
    bare, without = dataclasses.replace(case, power_spread={}, measured_powers={}), dataclasses.replace(row, module_spread=None)
    for changed in (
        dataclasses.replace(bare, guarantees={"it": row}),
        dataclasses.replace(bare, guarantees={"it": without}, power_spread={"it": spread}),
        dataclasses.replace(bare, guarantees={"it": without}, measured_powers=powers),
    ):
        found = {name: exposure(changed, each, power) for name, each in changed.guarantees.items()}["it"]
        yield from off("spread of the mean", found.spread / power, 0.03, 1e-6)


def one_shortfall_pays_once(case: Case) -> Broken:
    """Yield 10 % short and throughput 12 %: the yield pays for 10 points, the throughput for 2; the common cap binds over both."""
    made = np.array([0.9, 1.0, 0.4])
    first = Promise("good", "", "1", 1.0, 1.0, 0.0, 100.0, 50.0, 0.5, 70.0, "", False, 0.0, made > 9, made)
    second = dataclasses.replace(first, address="rate", under="good", results=np.array([0.88, 0.95, 1.0]))
    wanted, capped = [[10.0, 0.0, 70.0], [2.0, 5.0, 0.0]], [[5.0, 0.0, 6.0], [1.0, 5.0, 0.0]]
    for what, cap, amounts in (("paid", 1e9, wanted), ("capped", 6.0, capped)):
        found = payments([first, second], [1.0, 1.0], cap)
        yield from off(what, float(np.abs(found - np.array(amounts)).max()), 0.0, 1e-9)
    by_eleven = np.array([9.0, 13.0])
    day = Promise("day", "", "month", -1.0, 10.0, 1.0, 100.0, 1e9, 1e9, 0.0, "", True, 0.0, by_eleven > 99, by_eleven)
    yield from off("late", float(np.abs(payments([day], [10.0], 1e9) - np.array([[0.0, 200.0]])).max()), 0.0, 1e-9)


def a_mended_miss_is_not_paid(case: Case) -> Broken:
    """Ten draws from 1 to 10, mended at 1 and 4; promised 5.5: five misses, three paid, two retests of ten at 30 to be expected."""
    made, mended = np.arange(1.0, 11.0), np.isin(np.arange(1, 11), (1, 4))
    row = Promise("it", "", "1", 1.0, 5.5, 0.0, 11.0, 1e9, 1e9, 0.0, "", False, 30.0, mended, made)
    paid = payments([row], [5.5], 1e9)[0]  # 11 for a shortfall of all 5.5: 2 for each point
    yield from off("paid", float(np.abs(paid - np.array([0.0, 7.0, 5.0, 0.0, 1.0, 0, 0, 0, 0, 0])).max()), 0.0, 1e-9)
    yield from off("retests", retests_of([row], [5.5])[0], 15.0, 1e-9)
    yield from off("retests of a lower level", retests_of([row], [4.5])[0], 12.0, 1e-9)  # four misses
    share, levels = signable_levels([row], 0.2)  # 2 and 3 pay below a level of 5, and nothing else does
    yield from off("signable", levels[0] + share, 5.2, 1e-9)


def independent_promises_share_the_probability(case: Case) -> Broken:
    """Two promises that do not depend on each other, 19 % for any: each 10 %, as 0.9 squared is 0.81; a date is the other way."""
    dice, never = np.random.default_rng(7).standard_normal((2, 200_000)), np.zeros(200_000, bool)
    first = Promise("a", "", "1", 1.0, 1.0, 0.0, 1.0, 1.0, 9.0, 0.0, "", False, 0.0, never, dice[0])
    second = Promise("b", "", "month", -1.0, 1.0, 0.5, 1.0, 1.0, 9.0, 0.0, "", True, 0.0, never, dice[1])
    share, levels = signable_levels([first, second], 0.19)
    yield from off("each", share, 0.1, 0.002)
    yield from off("the least", levels[0], -1.2815515655446004, 0.01)  # 10 % of a normal distribution lie below (any table)
    yield from off("the latest", levels[1] + 0.5, 1.2815515655446004, 0.01)


DEAL_LAWS = (
    guaranteed_rates_cost_what_the_normal_distribution_says, a_guaranteed_date_costs_what_the_normal_distribution_says,
    tests_of_guarantees_are_paid_by_both_sides, a_retest_is_paid_after_a_miss_and_ends_it_with_its_probability,
    the_spread_of_modules_stands_once, a_mended_miss_is_not_paid, one_shortfall_pays_once,
    independent_promises_share_the_probability,
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
