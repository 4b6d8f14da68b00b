"""Studies of the negotiation worked by hand: rounds, guarantees, limits, splits, zones, where all is a straight line or counted."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace as Some

import numpy as np
import pytest

from costmodel.case.addresses import replaced, value_at
from costmodel.case.changes import with_values
from costmodel.case.differences import Difference, Differences, differences
from costmodel.case.guarantee_records import DamagesCap
from costmodel.case.range_records import AFTER, Range
from costmodel.case.whole_case import with_held
from costmodel.core.units import to_base
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.studies.axes import declared
from costmodel.studies.negotiation import probabilities as probabilities_module
from costmodel.studies.negotiation import transfer_oddities
from costmodel.studies.negotiation.concessions import concessions, exchange, step_of
from costmodel.studies.negotiation.guarantee_set import (
    DRAWS,
    Promise,
    _hard,
    better_for_both,
    charge_from_which_better,
    common_cap,
    payments,
    promise_sets,
    promises,
    signable_levels,
    worth_of_damages,
)
from costmodel.studies.negotiation.laboratory_odds import odd_laboratory
from costmodel.studies.negotiation.likely_terms import likely_terms
from costmodel.studies.negotiation.limits import buy_out_price, minimum_range
from costmodel.studies.negotiation.outline import ROOM, _reach, _zeros, quick_outline
from costmodel.studies.negotiation.outline import _crossing as fee_at
from costmodel.studies.negotiation.overview import Overview
from costmodel.studies.negotiation.payment_split import PaymentSplit, _Split, payment_split
from costmodel.studies.negotiation.power_guarantees import _reserve, guaranteed, pilot_powers
from costmodel.studies.negotiation.price_paths import price_paths
from costmodel.studies.negotiation.probabilities import (
    BELOW,
    EARLY,
    NPV,
    _mean_zone,
    _royalties,
    _some_fee,
    probabilities,
    probabilities_of_minimums,
)
from costmodel.studies.negotiation.rounds_compared import ADDED, DROPPED, _partly, _places, _Player, _players, _touches, _values
from costmodel.studies.negotiation.sides import LICENSEE, LICENSOR, ROYALTY, UPFRONT, AtTerms, Gains, Sides, at_the_floor, terms
from costmodel.studies.negotiation.split import equal_split, splits
from costmodel.studies.negotiation.supplied_odds import odds_of_supply
from costmodel.studies.negotiation.transfer_delay import ALL, FEES, PRODUCTION, WORK, delayed_inputs, delays
from costmodel.studies.negotiation.transfer_oddities import _odd_dates, _odd_work, odd_transfer
from costmodel.studies.negotiation.transfer_spread import drawn_durations, gate_draws, transfer_spread
from costmodel.studies.negotiation.zone import _crossing, _ends, _most_as_good, _most_upfront, zone_of
from costmodel.studies.risk import run_risk

from .cases import table, tiny
from .laboratories import with_laboratory
from .second_cases import rich
from .test_deal import FLOOR, OWN, SALES, THEIRS, YEAR, flat_inputs, guarantee, near, now
from .test_deal_money import split_inputs
from .test_probabilities import at as along
from .test_probabilities import priced, three_prices
from .transfers import transferred

MONTH, WEEK, DAY, HOUR = to_base("month"), to_base("week"), to_base("day"), 3600.0


def below(deviations: float) -> float:
    """What part of a normal distribution lies below so many standard deviations."""
    return 0.5 * math.erfc(-deviations / math.sqrt(2))


def plain(**values: float):
    """The flat case without a minimum royalty, with other values at some addresses (with __ for a dot)."""
    inputs = flat_inputs()
    del inputs.tables["minimum_royalties.csv"]
    return replaced(inputs.load(), {address.replace("__", "."): value for address, value in values.items()})


# rounds


def two_versions():
    """A row in another currency with all its amounts, a row that comes, one that goes, numbers elsewhere, and a title."""
    before = rich().load()
    dollars = dataclasses.replace(before.deliveries["design"], currency="USD", day_cost=9.0, end=12 * MONTH, title="other")
    study = dataclasses.replace(before.yearly_services["study"], price=before.yearly_services["study"].price * 2)
    after = with_held(before, {
        "deliveries": {"design": dollars, "start_up": before.deliveries["start_up"]},
        "yearly_services": {**before.yearly_services, "study": study},
        "fees": {"proof": before.fees["proof"], "more": before.fees["look"]},
    })  # fmt: skip
    return before, after


def test_what_varies_as_a_number_and_what_comes_as_a_row():
    """A row in another currency moves with all its amounts; a number elsewhere moves alone; a title is not in the model."""
    before, after = two_versions()
    found = differences(before, after)
    places = {d.address: d for d in found.inputs}
    money = {f"deliveries.design.{column}" for column in ("currency", "day_cost", "travel", "pilot_cost", "price")}
    bound = tuple(d for d in found.inputs if d.address in money)
    alone = tuple(d for d in found.inputs if d not in bound)
    assert {d.address for d in alone} >= {"deliveries.design.end", "yearly_services.study.price"}
    wanted = [_Player("deliveries.design", "", bound, False)]
    wanted += [_Player(d.address, "", (d,), not d.is_text) for d in alone]
    wanted += [_Player("fees.more", ADDED, (), False), _Player("fees.look", DROPPED, (), False)]
    assert _players(before, found) == wanted
    assert [each.is_number for each in _players(before, found) if each.place.endswith((".end", ".price"))] == [True, True]
    assert _places(found) == {*places, "fees.more", "fees.look"}


def test_a_case_between_two_versions_has_what_was_taken_and_nothing_else():
    """Of a row in another currency the amounts and their units, not its end; of the licence one text, or two."""
    before, after = two_versions()
    licence = dataclasses.replace(before.deal.licence, currency="USD", upfront=7.0, territories="all", royalty=0.09)
    after = with_held(after, {"licence": licence})
    units = {"deliveries.design.price": "USD", "licence.upfront": "USD", "fees.more.amount": "EUR"}
    after = dataclasses.replace(after, entry_units={**after.entry_units, **units})
    players = {each.place: each for each in _players(before, differences(before, after))}

    def held(*places):
        return _partly(before, after, [players[place] for place in places])

    tables = ("deliveries", "yearly_services", "fees", "deal", "entry_units")
    assert {name: getattr(held(), name) for name in tables} == {name: getattr(before, name) for name in tables}
    one = held("deliveries.design")
    design = before.deliveries["design"]
    assert list(one.deliveries) == list(before.deliveries)
    assert one.deliveries["design"] == dataclasses.replace(after.deliveries["design"], end=design.end, title=design.title)
    assert (one.fees, one.deal, one.yearly_services) == (before.fees, before.deal, before.yearly_services)
    assert one.entry_units["deliveries.design.price"] == "USD"
    assert one.entry_units["licence.upfront"] == before.entry_units["licence.upfront"]
    assert held("fees.more").fees == {**before.fees, "more": after.fees["more"]}
    assert held("fees.more").entry_units["fees.more.amount"] == "EUR"
    assert held("fees.more", "fees.look").fees == after.fees
    assert held("fees.look").fees == {name: row for name, row in before.fees.items() if name != "look"}
    texts = ["licence.territories", "licence"]
    for count in (1, 2):
        changed = {"territories": "all"} if count == 1 else {"territories": "all", "currency": "USD", "upfront": 7.0}
        assert held(*texts[:count]).deal.licence == dataclasses.replace(before.deal.licence, **changed)


def test_gains_of_some_changes_are_those_of_a_case_evaluated_whole():
    """A row that goes, one in another currency, and a number: eight ways to take them, in any order of the players."""
    before, after = two_versions()
    players = {each.place: each for each in _players(before, differences(before, after))}
    number = "yearly_services.study.price"
    taken = [players[place] for place in ("fees.look", number, "deliveries.design")]
    there = np.array([[a, b, c] for a in (False, True) for b in (True, False) for c in (True, False)])
    values = _values(before, after, taken)
    for side, name in ((LICENSOR, "licensor"), (LICENSEE, "licensee")):
        for row, gain in zip(there, values(side)(there), strict=True):
            case = _partly(before, after, [each for each, now in zip(taken, row) if now and each.place != number])
            price = float(value_at(after if row[1] else before, number))
            whole = getattr(evaluate(replaced(case, {number: price})).deal, name).gain
            assert gain == pytest.approx(float(whole), abs=1e-6), (name, row)


def test_a_round_touches_a_row_by_any_of_its_inputs():
    row, number = _Player("fees.look", "", (), False), _Player("fees.look.amount", "", (), True)
    assert _touches(row, {"fees.look.amount"})
    assert _touches(row, {"fees.look"})
    assert _touches(row, {"fees.look.amount", "fees.proof.amount"})  # one of them is enough
    assert not _touches(row, {"fees.looking.amount", "fees.proof.amount"})
    assert _touches(number, {"fees.look.amount"})
    assert not _touches(number, {"fees.look.time"})
    assert _places(Differences([Difference("a.b", 1.0, 2.0, "1", "1")], ["c"], ["d"], False, {}, {})) == {"a.b", "c", "d"}


# guarantees


@pytest.fixture(scope="module")
def promised():
    """A case with guarantees of every kind, EUR 0.50 for a dollar; what is uncertain of it, a price, moves none of them."""
    return replaced(rich().load(), {"performance_guarantees.gas.level": 15.0})  # near what is used: missed now and then


@pytest.fixture(scope="module")
def rows(promised):
    return promises(promised, draws=4_000, seed=3)[1]


def test_each_promise_has_the_terms_of_its_row(promised, rows):
    """Damages for each percent are a hundredfold for the whole; of a consumption 1/80 % - 1 is a quarter more than the level."""
    terms = [
        ("guarantees.power", "Wp_stabilised/module", 1, 29.5, 0, 0.5 * 250_000, 0.5 * 9_000, 0.08, 0.5 * 11_000, "", 450),
        ("performance_guarantees.rate", "module/h", 1, 40 / HOUR, 0, 45_000, 3_500, 0.15, 6_000,
         "performance_guarantees.good", 400),
        ("performance_guarantees.good", "%", 1, 0.56, 0, 80_000, 9_000, 0.1, 15_000, "", 1_100),
        ("performance_guarantees.up", "%", 1, 0.8, 0, 25_000, 2_000, 0.2, 2_500, "", 0),
        ("performance_guarantees.gas", "Nm3/module", -1, 15.0, 0, 30_000, 2_500, 0.25, 4_000,
         "performance_guarantees.good", 250),
        ("acceptance_dates.acceptance", "month", -1, 33 * MONTH, 2 * WEEK, 0.5 * 700 / WEEK, 3_000, 5 * MONTH, 4_500, "", 0),
    ]  # fmt: skip
    assert [each.title for each in rows] == ["mean power", "throughput", "yield", "uptime", "consumption", "acceptance"]
    assert [each.is_date for each in rows] == [False] * 5 + [True]
    for each, wanted in zip(rows, terms, strict=True):
        shown = (each.address, each.unit, each.sign, each.level, each.grace, each.damages, each.cap, each.limit, each.rejection,
                 each.under, each.retest)  # fmt: skip
        assert shown[:2] == wanted[:2]
        assert shown[9] == wanted[9]
        assert shown[2:9] == pytest.approx(wanted[2:9], rel=1e-9), each.address
        assert shown[10] == pytest.approx(wanted[10])


def test_each_promise_spreads_as_its_row_says_and_by_itself(promised, rows):
    """Over 4,000 draws: mean and deviation of each, how many retests pass, and no correlation, each within four standard errors."""
    deal = evaluate(promised).deal
    four, passed = 4 / 4_000**0.5, [0.35, 0.3, 0.4, 0.0, 0.2, 0.0]
    drawn = []
    for each, chance in zip(rows, passed, strict=True):
        table, _, name = each.address.partition(".")
        row = getattr(deal, table)[name]
        if table == "guarantees":
            mean, spread = row.measured_power, row.spread
        elif table == "performance_guarantees":
            mean, spread = row.tested, row.tested * row.spread
        else:
            continue  # by its gate: tests/test_transfer.py
        drawn.append((each.results - mean) / spread)
        assert drawn[-1].mean() == pytest.approx(0.0, abs=four), name
        assert drawn[-1].std() == pytest.approx(1.0, abs=four), name
        assert each.mended.mean() == pytest.approx(chance, abs=four * (chance * (1 - chance)) ** 0.5), name
        drawn.append(each.mended - each.mended.mean())
    apart = np.corrcoef([each for each in drawn if each.std() > 0])
    assert np.abs(apart - np.eye(len(apart))).max() < 1.2 * four
    again, other = (promises(promised, draws=4_000, seed=seed)[1] for seed in (3, 4))
    assert all((one.results == two.results).all() and (one.mended == two.mended).all() for one, two in zip(rows, again))
    assert all((one.results != two.results).any() for one, two in zip(rows, other))


def test_twice_the_spread_is_twice_as_far_from_the_mean_in_each_draw(promised, rows):
    """Also of a date, beyond the draws of its gate and the time after it."""
    wide = {
        f"{kind}.{name}.{field}": 2 * getattr(row, field)
        for kind, apart in (("guarantees", "module_spread"), ("performance_guarantees", "day_spread"))
        for name, row in getattr(promised, kind).items() for field in ("transfer_spread", apart, "measurement")
    }  # fmt: skip
    wide |= {"guarantees.power.coverage": 0.25, "acceptance_dates.acceptance.spread": 3 * MONTH}
    deal = evaluate(promised).deal
    twice = promises(replaced(promised, wide), draws=4_000, seed=3)[1]
    gate = gate_draws(promised, "passed", 4_000, 3) + promised.acceptance_dates["acceptance"].expected
    means = [deal.guarantees["power"].measured_power, *(each.tested for each in deal.performance_guarantees.values()), gate]
    for one, other, mean in zip(rows, twice, means, strict=True):
        assert other.results - mean == pytest.approx(2 * (one.results - mean), rel=1e-6, abs=1e-9), one.address
    assert (rows[-1].results - gate).std() == pytest.approx(1.5 * MONTH, rel=0.05)


def test_what_is_drawn_is_named(promised):
    assert promises(promised, draws=2)[0] == ("tools.saw.price",)
    assert promises(dataclasses.replace(promised, ranges={}), draws=2)[0] == ()


def one_by_one(rows, levels, cap):
    """What each promise pays, draw by draw in plain arithmetic."""
    paid = []
    for k in range(len(rows[0].results)):
        short = {}
        for each, level in zip(rows, levels):
            missing = each.sign * (level + each.grace - each.results[k])
            short[each.address] = max(0.0, missing if each.is_date else missing / level)
        due = []
        for each in rows:
            own = short[each.address]
            beyond = max(0.0, own - short[each.under]) if each.under else own
            owed = each.rejection if own >= each.limit else min(each.cap, each.damages * beyond)
            due.append(0.0 if each.mended[k] else owed)
        total = sum(due)
        paid.append([each * cap / total if total > cap else each for each in due])
    return np.array(paid).T


@pytest.fixture(scope="module")
def sets(promised):
    capped = dataclasses.replace(promised, damages_caps={"all": DamagesCap("all", 24_000.0, "USD")})
    return capped, promise_sets(capped, draws=2_000, seed=1)


def test_a_set_of_promises_counted_draw_by_draw(sets):
    case, found = sets
    rows, cap = promises(case, 2_000, 1)[1], 12_000.0
    worth = worth_of_damages(case, rows)
    levels = [each.level for each in rows]
    base = one_by_one(rows, levels, cap).mean(axis=1)
    tests = [each.retest * np.mean([each.shortfall(level) > 0]) for each, level in zip(rows, levels)]
    assert [each.name for each in found.sets] == [
        "as stated", "equal odds, 10 % together", "all a point or a week easier", "all a point or a week harder"
    ]  # fmt: skip
    for shown in found.sets:
        levels = [each.level for each in shown.promises]
        paid = one_by_one(rows, levels, cap)
        total = paid.sum(axis=0)
        again = [each.retest * np.mean([each.shortfall(level) > 0]) for each, level in zip(rows, levels)]
        assert {each.address: each.level for each in shown.promises} == dict(zip([each.address for each in rows], levels))
        assert [each.probability for each in shown.promises] == pytest.approx([(row > 0).mean() for row in paid])
        assert [each.expected for each in shown.promises] == pytest.approx(list(paid.mean(axis=1)))
        assert [each.retests for each in shown.promises] == pytest.approx(again)
        chance = (total > 0).mean()
        assert (shown.probability, shown.error) == pytest.approx((chance, (chance * (1 - chance) / 2_000) ** 0.5))
        assert (shown.expected, shown.retests, shown.deviation) == pytest.approx((total.mean(), sum(again), total.std()))
        assert shown.cap_probability == pytest.approx((total > cap - 1e-6).mean())
        ordered = sorted(total)
        assert [each.value for each in shown.quantiles] == pytest.approx([ordered[999], ordered[1_599], ordered[1_799]])
        less = base - paid.mean(axis=1)
        gained = sum(w[0] * (a + b - c) for w, a, b, c in zip(worth, less, tests, again))
        lost = sum(w[1] * a for w, a in zip(worth, less))
        assert (shown.licensor, shown.licensee) == pytest.approx((gained, -lost), abs=1e-6)
        assert shown.together == pytest.approx(gained - lost, abs=1e-6)
    assert 0 < found.present.cap_probability < 1


def test_a_set_is_better_where_both_have_more_together_and_from_which_charge_on(sets):
    _, found = sets
    none = dataclasses.replace(found.present, licensor=5.0, licensee=-5.0)
    some, less = dataclasses.replace(none, licensor=6.0), dataclasses.replace(none, licensor=2.0, deviation=none.deviation - 12.0)
    changed = dataclasses.replace(found, signable=none, others=(some, less))
    assert better_for_both(changed) == [some]
    assert [charge_from_which_better(changed, each) for each in (some, less, none)] == [0.0, pytest.approx(3 / 12), None]


def test_levels_are_eased_and_hardened_by_a_point_or_a_week(sets):
    _, found = sets
    easier, harder = ([each.level for each in one.promises] for one in found.others)
    for k, each in enumerate(found.promises):
        step = WEEK if each.is_date else -each.sign * 0.01 * each.level
        assert (easier[k] - each.level, harder[k] - each.level) == (near(step), near(-step))


def test_a_point_of_one_promise_leaves_the_others_as_they_are(sets):
    case, found = sets
    rows, cap = promises(case, 2_000, 1)[1], 12_000.0
    worth, now_ = worth_of_damages(case, rows), [each.level for each in rows]
    base = one_by_one(rows, now_, cap).mean(axis=1)
    for k, (gained, lost) in enumerate(found.points):
        levels = [each.eased(1.0) if n == k else each.level for n, each in enumerate(rows)]
        less = base - one_by_one(rows, levels, cap).mean(axis=1)
        tests = rows[k].retest * float((rows[k].shortfall(now_[k]) > 0).mean() - (rows[k].shortfall(levels[k]) > 0).mean())
        assert gained == pytest.approx(sum(w[0] * x for w, x in zip(worth, less)) + worth[k][0] * tests, abs=1e-6)
        assert lost == pytest.approx(sum(w[1] * x for w, x in zip(worth, less)), abs=1e-6)


def test_the_signable_set_over_other_draws_and_what_each_is_alone(sets):
    case, found = sets
    deal = evaluate(case).deal
    share, levels = signable_levels(list(found.promises))
    assert (found.share, [each.level for each in found.signable.promises]) == (share, levels)
    chance = (payments(promises(case, 2_000, 2)[1], levels, 12_000.0).sum(axis=0) > 0).mean()
    assert (found.again, found.again_error) == pytest.approx((chance, (chance * (1 - chance) / 2_000) ** 0.5))
    known = [*deal.guarantees.values(), *deal.performance_guarantees.values(), *deal.acceptance_dates.values()]
    assert list(found.alone) == pytest.approx([float(each.probability) for each in known])
    assert (found.draws, found.seed, found.drawn) == (2_000, 1, ("tools.saw.price",))
    assert promise_sets(plain(), draws=10) is None
    assert DRAWS == 20_000


def test_damages_are_worth_what_the_model_makes_of_more_of_them(promised, rows):
    """What both sides lose and gain by damages of a row that are a thousandth higher, over what these damages are more."""
    before = evaluate(promised).deal
    unpaid = replaced(promised, {"guarantees.power.cap": 0.0, "guarantees.power.rejection": 0.0})
    assert worth_of_damages(unpaid, rows[:1]) == [(0.0, 0.0)]
    for each, (ours, theirs) in zip(rows, worth_of_damages(promised, rows), strict=True):
        table, _, name = each.address.partition(".")
        row = getattr(promised, table)[name]
        more = {f"{each.address}.{field}": 1.001 * getattr(row, field) for field in ("damages", "cap", "rejection")}
        after = evaluate(replaced(promised, more)).deal
        paid = float(getattr(after, table)[name].damages - getattr(before, table)[name].damages)
        assert paid > 0
        assert ours == pytest.approx(float(before.licensor.gain - after.licensor.gain) / paid, rel=1e-5), each.address
        assert theirs == pytest.approx(float(after.licensee.gain - before.licensee.gain) / paid, rel=1e-5), each.address


def test_terms_by_which_a_promise_is_missed_and_by_which_nothing_is_paid(promised, rows):
    """A power or a rate of 1.2 times the level, a consumption of the level over 1.2; a date expected at its date and its grace."""
    deal = evaluate(promised).deal
    missed = [_hard(promised, each)[0] for each in rows]
    levels = [29.5 * 1.2, 40 / HOUR * 1.2, 0.56 * 1.2, 0.8 * 1.2, 15 / 1.2]
    assert missed[:5] == [{name: near(level)} for name, level in zip(("power", *["level"] * 4), levels)]
    late = 33 * MONTH + 2 * WEEK - float(deal.acceptance_dates["acceptance"].expected)
    assert missed[5] == {"expected": near(19.5 * MONTH + max(0.0, late))}
    assert all(_hard(promised, each)[1] == {"cap": 0.0, "rejection": 0.0} for each in rows)
    later = dataclasses.replace(rows[5], level=1e6, grace=0.0)  # a date that is missed as it is stays
    assert _hard(promised, later)[0] == {"expected": near(19.5 * MONTH)}


def test_draws_at_their_limits():
    """Just the level is no shortfall, just the limit is rejected, and a promise counted under another pays beyond it only."""
    never = np.zeros(3, bool)
    one = Promise("a", "", "1", 1.0, 2.0, 0.0, 100.0, 9.0, 0.25, 70.0, "", False, 0.0, never, np.array([2.0, 1.5, 1.9]))
    other = dataclasses.replace(one, address="b", under="a", cap=3.0, results=np.array([2.0, 2.0, 1.6]))
    assert payments([one, other], [2.0, 2.0], math.inf).round(9).tolist() == [[0.0, 70.0, 5.0], [0.0, 0.0, 3.0]]
    assert payments([one, other], [2.0, 2.0], 4.0).round(9).tolist() == [[0.0, 4.0, 2.5], [0.0, 0.0, 1.5]]


# a guaranteed power


POWER = 30.0  # of the flat case
MEAN = POWER * 0.99 * (1 - 0.5 * 0.01)  # a transfer that loses 1 %, half of the uncertainty of 1 % taken off
SPREAD = POWER * 0.99 * math.sqrt(0.03**2 + 0.20**2 / 25 + 0.01**2)
EASY = {"transfer_loss": 0.01, "measurement": 0.01, "coverage": 0.5, "damages": 4e5, "cap": 3e4, "minimum": 0.9, "rejection": 5e4,
        "retest_cost": 2_000.0, "time": YEAR}  # fmt: skip


def with_guarantee(**terms):
    """The flat case, nothing drawn, with a guarantee of 29 W."""
    row = guarantee(**{"power": 29.0, "retest_passed": 0.5, **EASY, **terms})
    return dataclasses.replace(plain(), guarantees={"power": row}, ranges={})


@pytest.mark.parametrize(("passed", "deviations"), [(0.5, -0.8416212335729143), (0.0, -1.2815515655446004)])
def test_the_power_that_can_be_signed_is_a_quantile_of_the_normal_distribution(passed, deviations):
    """10 % of all pay: where half of the retests pass, 20 % may miss (normal table: -0.8416; 10 %: -1.2816)."""
    found = guaranteed(with_guarantee(retest_passed=passed), "power")
    signable = MEAN + SPREAD * deviations
    assert found.signable.power == near(signable)
    assert (found.signable_by_formula, found.signable_as_stated) == (near(signable), near(signable))
    assert (found.signable_reach, found.draws, found.drawn, found.row, found.seed) == (0.0, 1, (), "power", 0)
    levels = (found.present, found.signable, *found.levels)
    powers = [29.0, signable, *(29.0 * (1 + step) for step in (-0.06, -0.04, -0.02, 0.0, 0.02))]
    assert [each.power for each in levels] == [near(each) for each in powers]
    for each in levels:
        chance = (1 - passed) * below((each.power - MEAN) / SPREAD)
        assert (each.probability, each.formula, each.stated) == (near(chance), near(chance), near(chance))
        # rejected from 10 % short on, capped from 3 / 40 on
        rejected = (1 - passed) * below((0.9 * each.power - MEAN) / SPREAD)
        assert each.cap_probability == near((1 - passed) * below((0.925 * each.power - MEAN) / SPREAD) - rejected)
        short = 1 - signable / each.power
        assert each.reserve == near(0.0 if short <= 0 else min(3e4, 4e5 * short))
        assert each.error == 0.0
    assert found.powers[[0, 40, 80]] == pytest.approx([MEAN - 4 * SPREAD, MEAN, MEAN + 4 * SPREAD])
    assert len(found.powers) == 81
    for curve in (found.probabilities, found.formulas):
        assert curve[[0, 40, 80]] == pytest.approx([(1 - passed) * below(x) for x in (-4, 0, 4)])


def test_damages_at_a_level_by_sums_and_the_fee_that_makes_up_for_them():
    """Damages by adding up a million slices of the normal distribution, due after a year; of the fee, at once, 72 % are left."""
    found = guaranteed(with_guarantee(), "power")
    slices = np.array([(k + 0.5) / 1_000_000 for k in range(1_000_000)])
    from scipy.special import ndtri

    held = MEAN + SPREAD * ndtri(slices)
    cost = []
    for each in (found.present, *found.levels):
        short = 1 - held / each.power
        paid = np.where(short >= 0.1, 5e4, np.minimum(3e4, 4e5 * np.maximum(short, 0.0)))
        assert each.damages == pytest.approx(0.5 * paid.mean(), rel=1e-4)
        cost.append(0.5 * paid.mean() + 2_000.0 * (short > 0).mean())  # each miss is tested again
    for each, costs in zip((found.present, *found.levels), cost):
        assert each.fee == pytest.approx((cost[0] - costs) / OWN**4 / 0.72, rel=1e-3, abs=1e-3)


def test_a_guarantee_that_costs_nothing_moves_no_fee():
    found = guaranteed(with_guarantee(cap=0.0, rejection=0.0, retest_cost=0.0), "power")
    assert [each.fee for each in found.levels] == [0.0] * 5


def test_two_draws_leave_the_power_that_can_be_signed_open():
    """The standard error of two probabilities is half their difference; 1.96 of it over the slope is half the interval."""
    unknown = Range("product.initial_efficiency", "uniform", 0.099, 0.1, 0.101, "1", "power", AFTER)
    case = dataclasses.replace(with_guarantee(), ranges={"power": unknown})
    _, made = pilot_powers(case, 2, 3)
    found = guaranteed(case, "power", 2, 3)
    means, power = [float(x) / POWER * MEAN for x in made], found.signable.power
    spreads = [float(x) / POWER * SPREAD for x in made]
    chances = [0.5 * below((power - m) / s) for m, s in zip(means, spreads)]
    slope = sum(0.5 * math.exp(-0.5 * ((power - m) / s) ** 2) / s / math.sqrt(2 * math.pi) for m, s in zip(means, spreads)) / 2
    assert means[0] != means[1]
    assert sum(chances) / 2 == near(0.1)
    assert found.signable.error == near(abs(chances[0] - chances[1]) / 2)
    assert found.signable_reach == pytest.approx(1.959964 * abs(chances[0] - chances[1]) / 2 / slope, rel=1e-5)


def test_where_most_retests_pass_any_power_can_be_signed():
    """With 95 % of retests passed, at most 5 % pay: the scan ends four deviations above the mean."""
    found = guaranteed(with_guarantee(retest_passed=0.95), "power")
    assert found.signable.power == near(MEAN + 4 * SPREAD)
    assert (found.signable_by_formula, found.signable_as_stated) == (near(MEAN + 4 * SPREAD), near(MEAN + 4 * SPREAD))


def test_what_is_paid_for_a_shortfall():
    row = Some(minimum=0.9, rejection=700.0, cap=30.0, damages=400.0)
    found = [_reserve(row, short) for short in (-0.1, 0.0, 0.05, 0.08, 0.11)]
    assert found == [0.0, 0.0, near(20.0), 30.0, 700.0]
    assert _reserve(Some(minimum=0.75, rejection=700.0, cap=30.0, damages=400.0), 0.25) == 700.0  # at the limit itself


# limits and splits


@pytest.mark.parametrize("royalty", [0.04, 1e-6])
def test_the_price_of_what_is_left_of_a_royalty(royalty):
    """After a year and a half of production, at the end of quarter 14, two quarters of royalty are left; both are taxed alike."""
    case = plain(licence__royalty=royalty)
    found = buy_out_price(case, 1.5)
    for shown, each in ((found.licensor, OWN), (found.licensee, THEIRS)):
        assert shown == pytest.approx(sum(royalty * SALES[k] / each ** (k - 14) for k in (15, 16)), rel=1e-5)
    assert found.years == 1.5
    assert buy_out_price(case, 2.0) == dataclasses.replace(found, years=2.0, licensor=0.0, licensee=0.0)  # nothing is left


def test_a_split_whose_costs_bend_is_scaled_until_the_licensee_gains_the_same():
    """A royalty of 4 % that a cap holds at 3 %: a tenth less of it would cost the licensee nothing less.

    By small steps know-how costs just its fee of 50,000. Of what is paid it may be three tenths, so that the plan of small steps
    cuts it to x and raises work to y, where x paid = 3/7 y paid and 50,000 x + work y is as now. By the model the cut royalty
    falls below its cap, and all is scaled by what is then short.
    """
    inputs = split_inputs("0-30", "0-100")
    case = replaced(inputs.load(), {"licence.royalty_cap": 0.03})
    found = payment_split(case)
    work = now([0.0] + [7_500.0] * 4, THEIRS)
    know_how, paid = now(SALES, THEIRS), 50_000 + 0.03 * sum(SALES)
    x = (50_000 + work) / (50_000 + work * 7 / 3 * paid / 30_000)
    y = 7 / 3 * x * paid / 30_000
    scale = (50_000 + 0.03 * know_how + work) / (x * (50_000 + 0.04 * know_how) + y * work)
    assert scale > 2
    assert x * scale < 0.75  # the royalty is below its cap
    assert [found.factors["licence"], found.factors["services"]] == [near(x * scale, 1e-6), near(y * scale, 1e-6)]
    assert found.licensee == pytest.approx(0.0, abs=1e-5)
    rows = {row.kind: row for row in found.rows}
    then = x * scale * (50_000 + 0.04 * sum(SALES)), y * scale * 30_000
    paid_now = paid, 30_000
    for kind, number in (("licence", 0), ("services", 1)):
        assert rows[kind].paid == (near(paid_now[number]), near(then[number], 1e-6))
        assert rows[kind].share == (near(paid_now[number] / sum(paid_now)), near(then[number] / sum(then), 1e-6))
    assert rows["licence"].net == (near(0.72 * (50_000 + 0.03 * now(SALES, OWN))),
                                   near(0.72 * x * scale * (50_000 + 0.04 * now(SALES, OWN)), 1e-6))  # fmt: skip
    assert "dividends" not in rows


RELIEFS = [  # relief, own tax, withheld from licence and from services, share of the inventors, most of services
    ("exempt", 0.3, 0.1, 0.05, 0.2, "0-40"), ("exempt", 0.3, 0.0, 0.3, 0.0, "10-60"), ("none", 0.3, 0.1, 0.05, 0.2, "0-40"),
    ("none", 0.35, 0.0, 0.25, 0.1, "5-50"), ("credit", 0.12, 0.3, 0.0, 0.2, "0-60"), ("credit", 0.2, 0.02, 0.3, 0.0, "0-60"),
    ("credit", 0.25, 0.3, 0.2, 0.3, "0-50"),
    ("exempt", 0.3, 0.0, 0.1, 0.3, "10-60"),  # the inventors take more of know-how than is withheld from work
    ("credit", 0.2, 0.3, 0.0, 0.0, "0-60"),  # best where what is withheld from know-how is just the own tax
]  # fmt: skip


@pytest.mark.parametrize(("relief", "rate", "know_how", "work", "inventors", "bounds"), RELIEFS)
def test_no_other_split_within_the_bounds_leaves_the_licensor_more(relief, rate, know_how, work, inventors, bounds):
    """A thousand splits that cost the licensee the same, as money costs it what is paid, by the model: the best is that found."""
    inputs = split_inputs("0-100", bounds).other_yaml("deal.yaml", "tax_relief: exempt", f"tax_relief: {relief}")
    case = replaced(inputs.load(), {
        "licensor.tax_rate": rate, "payment_kinds.licence.withholding": know_how, "payment_kinds.services.withholding": work,
        "payment_kinds.licence.inventors_share": inventors,
    })  # fmt: skip
    found, split = payment_split(case), _Split(case)
    paid = np.array([50_000 + 0.04 * sum(SALES), 30_000.0])
    cost = np.array([50_000 + 0.04 * now(SALES, THEIRS), now([0.0] + [7_500.0] * 4, THEIRS)])
    least, most = (float(each) / 100 for each in bounds.split("-"))
    shares = np.linspace(least, most, 1_001)
    factors = np.array([1 - shares, shares]) / paid[:, None]
    factors *= cost.sum() / (factors * cost[:, None]).sum(axis=0)
    gains = split.at({"licence": factors[0], "services": factors[1]})
    assert gains[LICENSEE] == pytest.approx(np.full(1_001, float(split.now[LICENSEE])), abs=1e-4)
    best = int(np.argmax(gains[LICENSOR]))
    assert found.licensor[1] >= gains[LICENSOR][best] - 1e-3
    assert found.licensor[1] == pytest.approx(float(gains[LICENSOR][best]), abs=20.0)  # between two of the thousand at most
    assert least - 1e-9 <= next(row.share[1] for row in found.rows if row.kind == "services") <= most + 1e-9


def test_what_a_kind_costs_is_found_by_paying_a_tenth_less():
    """A royalty of 4 % below a cap of 4.1 %: a tenth more of it would cost a quarter of what a tenth less saves."""
    split = _Split(replaced(split_inputs("0-100", "0-100").load(), {"licence.royalty_cap": 0.041}))
    assert split.kinds == ["licence", "services"]
    assert split.costs() == pytest.approx([50_000 + 0.04 * now(SALES, THEIRS), now([0.0] + [7_500.0] * 4, THEIRS)])


def test_a_kind_that_nothing_is_paid_for_cannot_have_its_least_share():
    none = payment_split(split_inputs("0-100", "30-100", price="0").load())
    assert (none.rows, none.licensee, none.factors, none.licensor[0] == none.licensor[1]) == ((), 0.0, {}, True)
    assert payment_split(split_inputs("0-100", "0-100", price="0").load()).factors == {"licence": near(1.0)}


def test_nothing_is_split_where_nothing_is_paid_and_nowhere_without_a_zone():
    nothing = replaced(split_inputs("0-100", "0-100", price="0").load(), {UPFRONT: 0.0, ROYALTY: 0.0})
    own = float(evaluate(nothing).deal.licensor.gain)
    assert payment_split(nothing) == PaymentSplit((), (own, own), 0.0, {})
    case = plain()
    shut = splits(case, zone_of(plane(needs=1e6, bears=5e5), (1e6, 0.0), 0.05))
    assert (math.isnan(shut.most_fee), shut.nash, shut.nash_along_fee, shut.equal) == (True, None, None, None)
    assert shut.most_royalty == float(case.deal.licence.royalty_cap)
    assert equal_split(lambda fee, royalty: Gains(-1.0 + 0 * fee, 5.0 + 0 * fee), 4.0, 0.02) is None


def test_what_all_guarantees_pay_together_and_whether_there_are_more_than_of_power(promised):
    """3,000 dollars are EUR 1,500; without a row there is no cap. Rates or dates make guarantees of a case more than power."""
    assert common_cap(dataclasses.replace(promised, damages_caps={"all": DamagesCap("all", 3_000.0, "USD")})) == near(1_500)
    assert common_cap(dataclasses.replace(promised, damages_caps={})) == math.inf
    none = {"performance_guarantees": {}, "acceptance_dates": {}}
    for kind in none:
        some = with_held(promised, {**none, kind: getattr(promised, kind)})
        assert Overview(some, [])._promises_more
    only_power = with_held(promised, none)
    assert only_power.guarantees
    assert Overview(only_power, []).promises is None


# probabilities


def test_a_gain_of_exactly_nothing_is_a_gain():
    """Without any payment, cost or contribution the licensor has neither more nor less than its floor, in every draw."""
    none = {UPFRONT: 0.0, ROYALTY: 0.0, "licence.royalty_per_watt": 0.0, "licensor.contribution": 0.0,
            **{f"deliveries.work.{field}": 0.0 for field in ("days", "travel", "pilot_time", "price")}}  # fmt: skip
    case = replaced(three_prices().load(), none)
    assert float(evaluate(case).deal.licensor.gain) == 0.0
    found = probabilities(case, draws=40, seed=2)
    assert (found.licensor.share, found.both.share) == (1.0, found.licensee.share)


def test_royalties_along_which_a_zone_is_looked_for():
    assert _royalties(0.02, 0.06) == pytest.approx((0.0, 0.01, 0.02, 0.04, 0.06))
    assert _royalties(0.02, 0.01) == pytest.approx((0.0, 0.01, 0.02))  # an offer above its cap


# zones


def test_lines_of_a_zone_jump_where_their_gains_do():
    """From 2.5 million on the licensor loses 2 million: its line of a quarter jumps there, and passes nothing before."""
    straight = zone_of(lambda fee, r: Gains(fee - 1e6 + 0 * r, 5e6 - fee - 1e8 * r), (2e6, 0.01), 0.05)
    assert not straight.as_good.jumps.any()
    assert not any(trace.jumps.any() for trace in straight.shares.values())
    # what suits the licensee as well as the offer: of the changes along a fee the last
    turning = zone_of(
        lambda fee, r: Gains(fee - 1e6 + 0 * r, 5e6 - fee - 1e8 * r + np.where(fee > 3.2e6, 1e6, 0.0)), (2.5e6, 0.01), 0.05
    )
    first = int(np.argmin(np.abs(turning.royalty - 0.01)))
    assert turning.as_good.upfront[first] == near(3.5e6)
    assert straight.better[0] == near(0.0)
    assert straight.better[1] == near(3e6)  # a fee of 1 million more for a royalty of 1 point less
    assert straight.better[2] == near(1e6)


def test_the_best_mix_lies_where_a_credited_fee_leaves_nothing_of_the_upfront_fee():
    """30,000 are credited. A point of royalty costs 1 million and brings 0.9; fees cost what they are and bring 0.7 of it.

    All of the fee of 570,000 turned into royalty is 0.57 points, from 0.8 to 1.37 %; then the licensor has 0.2 of it more.
    """

    def gains(fee, royalty):
        left = np.maximum(fee - 3e4, 0.0)
        return Gains(0.7 * left + 9e7 * royalty, 9e6 - left - 1e8 * royalty)

    royalty, fee, more = zone_of(gains, (6e5, 0.008), 0.045).better
    assert royalty == near(0.0137)
    assert fee == pytest.approx(3e4, abs=1.0)
    assert more == pytest.approx(0.2 * 5.7e5, abs=1.0)
    grid = np.meshgrid(np.linspace(0.0, 7e5, 701), np.linspace(0.0, 0.045, 901))  # no mix of a fine grid is better
    found = gains(*grid)
    as_good = found.licensee >= 9e6 - 5.7e5 - 8e5 - 1e-3
    assert found.licensor[as_good].max() <= 0.7 * 5.7e5 + 9e7 * 0.008 + more + 1.0


def test_the_best_mix_lies_at_the_last_royalty_looked_at_where_royalties_cost_the_licensee_nothing():
    """The offer's fee of 2 million stays; 15 % beyond the cap of 30 %, the licensor has 50 million times 33.5 points more."""
    found = zone_of(plane(per_royalty=0.0, own=5e7), (2e6, 0.01), 0.3)
    assert found.better == (near(0.345), near(2e6), near(5e7 * 0.335))


def test_the_most_fee_that_leaves_the_licensee_what_is_wanted():
    """It has 3 less the royalty and what a fee takes beyond 1: for 0.2, a fee of 3.8 less the royalty, among fees up to 4.

    That is 3.7 at a royalty of 0.1, 2.9 at 0.9; 3.9, at -0.1, lies in the last sixteenth; at -2 all fees leave enough, at 3 none.
    """
    royalties = np.array([0.1, 0.9, -0.1, -2.0, 3.0])
    found = _most_as_good(lambda fee, r: Gains(fee, 3.0 - np.maximum(fee - 1.0, 0.0) - r), royalties, 4.0, 0.2)
    assert found[:4].tolist() == [pytest.approx(fee, abs=4 / 16**8) for fee in (3.7, 2.9, 3.9, 4.0)]
    assert math.isnan(found[4])


def plane(needs=1e6, bears=5e6, per_royalty=1e8, own=0.0):
    """The licensor needs a fee, the licensee bears one less what a royalty costs it."""
    return lambda fee, royalty: Gains(fee + own * royalty - needs, bears - fee - per_royalty * royalty)


def test_how_far_royalties_of_a_zone_are_looked_at():
    """15 % beyond its last corner; where no royalty is too much for the licensee, beyond the cap; never beyond all of the sales."""
    assert zone_of(plane(), (2e6, 0.01), 0.3).royalty[-1] == near(1.15 * 0.05)  # 5 % leave the licensee nothing
    assert zone_of(plane(own=5e7), (2e6, 0.01), 0.3).royalty[-1] == near(1.15 * 0.05)
    assert zone_of(plane(own=5e7), (2e6, 0.08), 0.3).royalty[-1] == near(1.15 * 0.08)  # the offer is farther out
    given = ((0.01, 0.3), (0.01, 0.95), (0.0, 0.002))
    free = [zone_of(plane(per_royalty=0.0), (2e6, offered), cap).royalty[-1] for offered, cap in given]
    assert free == [near(1.15 * 0.3), 1.0, near(0.0115)]  # at least to a bit above 1 %
    found = zone_of(plane(), (2e6, 0.0131), 0.3)
    assert 0.0131 in found.royalty
    assert found.royalty[[0, 1]].tolist() == [0.0, near(0.0575 / 40)]
    assert len(found.royalty) == 41 + 2  # with the offer, and just inside the one corner of a royalty


def test_corners_and_lines_of_a_straight_zone():
    """Floor 1 million less 50 million times the royalty, so 2 % without a fee; ceiling 5 less 100 million times it, so 5 %."""
    found = zone_of(plane(own=5e7), (2e6, 0.01), 0.3)
    assert {name: (near(fee), near(royalty)) for name, (fee, royalty) in found.corners.items()} == {
        "floor_fee": (1e6, 0.0), "ceiling_fee": (5e6, 0.0), "floor_royalty": (0.0, 0.02), "ceiling_royalty": (0.0, 0.05)
    }  # fmt: skip
    assert (found.no_royalty, found.no_fee) == (((near(1e6), near(5e6)),), ((near(0.02), near(0.05)),))
    r = found.royalty
    inside = r < 0.05
    assert found.floor.upfront == pytest.approx(np.maximum(0.0, 1e6 - 5e7 * r), abs=1e-3)
    assert found.ceiling.upfront[inside] == pytest.approx(5e6 - 1e8 * r[inside], abs=1e-3)
    # a part s: (1 - s) (f + 5e7 r - 1e6) = s (5e6 - f - 1e8 r), so f = 1e6 - 5e7 r + s (4e6 - 5e7 r)
    for share, trace in found.shares.items():
        line = 1e6 - 5e7 * r + share * (4e6 - 5e7 * r)
        there = line >= 1.0
        assert trace.upfront[there] == pytest.approx(line[there], abs=1e-3)
        assert np.abs(trace.residual[there]).max() < 1e-6
        assert np.isnan(trace.upfront[line < -1.0]).all()
    same = r <= 0.03 - 1e-9  # as good as the offer for the licensee, which has 2 million: f = 3e6 - 1e8 r
    assert found.as_good.upfront[same] == pytest.approx(3e6 - 1e8 * r[same], abs=1e-3)
    assert found.licensor_there[same] == pytest.approx(2e6 - 5e7 * r[same], abs=1e-3)
    assert (found.offer, found.offer_gains.licensor, found.offer_gains.licensee) == ((2e6, 0.01), near(1.5e6), near(2e6))
    assert (found.most_fee, found.empty, found.several, found.jumps) == (near(5e6), False, None, {})
    assert len(found.bands) == 1
    assert found.better == (0.0, near(3e6), near(5e5))  # a point of royalty against a million of fee
    assert found.offer_is_inside


def test_a_narrow_range_of_royalties_is_seen():
    """Only from 2.15 to 2.25 % the licensor has its floor, whatever the fee."""
    found = zone_of(lambda fee, r: Gains(1e6 - 2e9 * np.abs(r - 0.022) + 0.0 * fee, 5e6 - fee - 1e6 * r), (1e6, 0.022), 0.05)
    assert found.no_fee == ((near(0.0215), near(0.0225)),)
    assert found.no_royalty == ()
    far = zone_of(plane(needs=3e5, bears=4e5, per_royalty=1e6, own=1e6), (1e5, 0.01), 0.05)  # six to eight times the cap
    assert far.no_fee == ((near(0.3), near(0.4)),)


def test_a_jump_at_the_ceiling_is_the_licensees():
    """From a fee of 3 million on the plant closes, which takes 2.1 million from the licensee: it has a million before."""
    found = zone_of(lambda fee, r: Gains(fee - 1e6 + 0 * r, 4e6 - fee - np.where(fee > 3e6, 2.1e6, 0.0) + 0 * r), (2e6, 0.0), 0.3)
    assert found.jumps == {"licensee": (0.0, near(1.15 * 0.3))}
    assert found.ceiling.upfront == pytest.approx(np.full(len(found.royalty), 3e6))
    assert found.ceiling.residual == pytest.approx(np.full(len(found.royalty), 1e6), rel=1e-6)
    assert not found.floor.jumps.any()


def test_an_offer_at_the_very_edge_is_inside_and_a_zone_that_none_suits_is_empty():
    edge = [zone_of(plane(), (fee, 0.01), 0.3).offer_is_inside for fee in (1e6, 4e6, 999_999.0, 4_000_001.0)]
    assert edge == [True, True, False, False]
    none = zone_of(plane(needs=6e6), (2e6, 0.01), 0.3)
    assert none.empty
    assert math.isnan(none.most_fee)
    assert [np.isnan(each).all() for each in none.bands[0]] == [True, True]


def test_a_fee_that_is_too_much_for_one_and_enough_for_the_other():
    """From the offer on twice as much again and again, and twice that: 2, 4 and 8 million, so 16."""
    assert _most_upfront(plane(), 2e6) == near(16e6)
    assert _most_upfront(plane(needs=1e7), 2e6) == near(32e6)  # 8 million are not enough for the licensor
    assert _most_upfront(plane(needs=-9e6), 2e6) == near(16e6)
    assert _most_upfront(plane(), 0.0) == near(2.0 * 2**23)  # from 1 on: 2^23 is more than 5 million
    assert _most_upfront(lambda fee, royalty: Gains(fee, 1.0 + 0.0 * fee), 1.0) == near(2.0**60)  # never: as far as it looks


def test_the_first_or_last_change_and_the_ends_of_royalties():
    one, two = (Some(nearest=k, residual=k / 10, jump=k > 1) for k in (1.0, 2.0))
    rows = [Some(changes=(one, two)), Some(changes=())]
    first, last = (_crossing(rows, number) for number in (0, -1))
    assert (first.upfront[0], first.residual[0], first.jumps.tolist()) == (1.0, 0.1, [False, False])
    assert (last.upfront[0], last.residual[0], last.jumps.tolist()) == (2.0, 0.2, [True, False])
    assert math.isnan(first.upfront[1])
    assert math.isnan(first.residual[1])
    assert _ends(np.array([])) is None
    assert _ends(np.array([0.01, 0.02, 0.04])) == (0.01, 0.04)


def test_zeros_of_small_lines_and_marks_that_are_just_enough():
    assert _zeros(np.array([0.5, 0.25, -0.25]), np.array([0.0, 1.0, 2.0])).tolist() == [1.5]
    assert _reach(np.array([0.9, ROOM, 2.0]), np.ones(3, bool), 1.0, math.inf) == ROOM
    assert _reach(np.array([0.9, ROOM, 2.0]), np.zeros(3, bool), 0.1, 1.0) == ROOM


# the laboratory


def test_an_instrument_that_is_sold_beyond_its_hours_is_odd_by_how_much():
    results = evaluate(with_laboratory())
    row = Some(free=-1.0, load=1.25)
    laboratory = Some(equipment={"chamber": row, "other": Some(free=0.0, load=1.0)}, staff={"people": row})
    fake = Some(has_deal=True, deal=Some(laboratory=laboratory))
    assert list(odd_laboratory(None, fake)) == [
        "laboratory_equipment.chamber is promised and sold at 125 % of its hours",
        "laboratory_staff.people is promised and sold at 125 % of its hours",
    ]
    assert list(odd_laboratory(None, Some(has_deal=False))) == []
    assert results.has_deal


# the transfer


def odd_dates(**more):
    """Dates of the terms beside a schedule that ends in month 10, with a gate `passed` in month 8 after one in month 2."""
    tasks = {"a": Some(delivery="work", after=()), "b": Some(delivery="work", after=("a",))}
    times = {"a": (1, 2), "b": (3, 8)}
    done = {name: Some(earliest_begin=begin * MONTH, earliest_finish=end * MONTH) for name, (begin, end) in times.items()}
    usual = {
        "transfer_gates": {"early": Some(task="a", probability=0.9), "passed": Some(task="b", probability=0.8)},
        "guarantees": {}, "performance_guarantees": {}, "acceptance_dates": {}, "transfer_tasks": tasks,
        "deliveries": {"work": Some(begin=MONTH, end=8 * MONTH)},
    }  # fmt: skip
    found = Some(finish=10 * MONTH, tasks=done, gates={"early": Some(time=2 * MONTH), "passed": Some(time=8 * MONTH)})
    return list(_odd_dates(Some(**{**usual, **more}), found))


def test_dates_of_the_terms_that_contradict_the_schedule(monkeypatch):
    monkeypatch.setattr(transfer_oddities, "tasks_up_to", lambda tasks, task: {"a"} if task == "a" else {"a", "b"})
    assert odd_dates() == []
    for name in ("guarantees", "performance_guarantees"):
        said = [odd_dates(**{name: {"it": Some(time=month * MONTH, counted_from=origin)}})
                for month, origin in ((11.06, "first_day"), (8.94, "first_day"), (11.04, "first_day"), (4, "passed"))]  # fmt: skip
        end = "the transfer is planned to end in month 10; 'counted_from' may name a gate"
        assert said == [[f"{name}.it.time is month 11.06, {end}"], [f"{name}.it.time is month 8.94, {end}"], [], []]
    dated = {month: odd_dates(acceptance_dates={"day": Some(counted_from="passed", expected=month * MONTH)}) for month in (4, 4.1)}
    assert dated == {4: [], 4.1: ["acceptance_dates.day.expected is 4.1 months after its gate, not from the first day"]}
    assert odd_dates(acceptance_dates={"day": Some(counted_from="first_day", expected=30 * MONTH)}) == []
    gates = {"early": Some(task="a", probability=0.75), "passed": Some(task="b", probability=0.8)}
    assert odd_dates(transfer_gates=gates) == [
        "transfer_gates.passed.probability is 80 %, that of 'early', which comes before, is 75 %"
    ]
    assert odd_dates(transfer_gates={**gates, "early": Some(task="a", probability=0.8)}) == []
    same = {"one": Some(task="b", probability=0.8), "two": Some(task="b", probability=0.9)}
    assert odd_dates(transfer_gates=same) == []  # neither comes before the other
    said, planned = "deliveries.work runs in months", "its tasks are planned for months 1 to 8"
    assert odd_dates(deliveries={"work": Some(begin=MONTH, end=10 * MONTH)}) == [f"{said} 1 to 10, {planned}"]
    assert odd_dates(deliveries={"work": Some(begin=3 * MONTH, end=8 * MONTH)}) == [f"{said} 3 to 8, {planned}"]
    assert odd_dates(deliveries={"work": Some(begin=2 * MONTH, end=7 * MONTH)}) == []
    assert odd_dates(deliveries={"other": Some(begin=0.0, end=0.0)}) == ["deliveries.other has no task in transfer_tasks.csv"]


def odd_work(days=100.0, missing=0.0, pilot=10.0, pilot_missing=0.0, cost=40_000.0, delivery="work"):
    """A delivery of 100 days at 400 EUR beside tasks of so many days, which cost so much."""
    row = Some(days=100 * DAY, day_cost=400 / DAY, currency="EUR", pilot_time=pilot * DAY)
    work = Some(staff_days=days * DAY, staff_days_missing=missing * DAY, pilot_days=(pilot - pilot_missing) * DAY,
                pilot_days_missing=pilot_missing * DAY, staff_cost=cost)  # fmt: skip
    case = Some(deliveries={"it": row}, currency="EUR", money={"eur": Some(code="EUR", exchange_rate=1.0)},
                transfer_work={"runs": Some(task="a")}, transfer_tasks={"a": Some(delivery=delivery)})  # fmt: skip
    return list(_odd_work(case, Some(deliveries={"it": work})))


def test_work_of_the_terms_that_contradicts_that_of_the_tasks():
    """Off by more than half a percent of the days; of no days of the pilot line, by more than half a percent of a day."""
    assert odd_work(missing=0.5) == odd_work(pilot_missing=0.05) == []  # just half a percent
    assert odd_work() == odd_work(missing=0.4) == odd_work(missing=-0.4) == odd_work(pilot_missing=0.04) == []
    said = "deliveries.it.days is 100 days, the tasks of the delivery have {} in transfer_work.csv"
    assert odd_work(99.4, 0.6) == [said.format("99.4")]
    assert odd_work(100.6, -0.6) == [said.format("100.6")]
    assert odd_work(pilot_missing=0.06) == ["deliveries.it.pilot_time is 10 days, the tasks have 9.94 in transfer_work.csv"]
    said = "deliveries.it.pilot_time is 0 days, the tasks have 0.006 in transfer_work.csv"
    assert odd_work(pilot=0.0, pilot_missing=-0.006) == [said]
    assert odd_work(pilot=0.0, pilot_missing=-0.004) == []
    assert odd_work(cost=44_001.0) == [
        "deliveries.it: working days cost EUR 40,000 by their row, 44,001 by the resources of its tasks"
    ]
    assert odd_work(cost=35_999.0) != [] == odd_work(cost=36_001.0) == odd_work(cost=43_999.0)
    assert list(odd_transfer(None, evaluate(tiny()))) == []  # a case without a deal
    assert odd_work(delivery="licensee") == ["transfer_work.runs is for 'a', which no delivery pays for"]


def test_a_delay_by_parts_is_what_single_evaluations_say():
    """Each part moved by two months, alone and all together, evaluated whole."""
    case = transferred()
    found, before = delays(case, (1.0, 2.0)), evaluate(case).deal
    moved = {
        PRODUCTION: ("schedule.delay",), FEES: ("fees.first.time",),
        WORK: ("deliveries.work.end", "acceptance_dates.passed.expected", "licensor.damages_time"),
    }  # fmt: skip
    moved[ALL] = tuple(address for addresses in moved.values() for address in addresses)
    assert (found.months, list(found.moves)) == ((1.0, 2.0), list(moved))
    for name, addresses in moved.items():
        for k, months in enumerate(found.months):
            after = evaluate(replaced(case, {a: float(value_at(case, a)) + months * MONTH for a in addresses})).deal
            gains = found.moves[name]
            assert gains.licensor[k] == pytest.approx(float(after.licensor.gain - before.licensor.gain), abs=1e-4)
            assert gains.licensee[k] == pytest.approx(float(after.licensee.gain - before.licensee.gain), abs=1e-4)


def test_the_spread_of_a_finish_counted_over_few_draws():
    """Mean, deviation of a sample, how often each task has no float, and a gate by its date: draw by draw from the durations."""
    case = transferred()
    found, rows = transfer_spread(case, 4, 7, "beta"), case.transfer_tasks
    drawn = drawn_durations(rows, 4, 7, "beta")
    ends, critical = [], {"tools": 0, "hall": 0, "papers": 0, "test": 0}
    for k in range(4):
        of = {name: float(drawn[name][k]) for name in rows}
        by_tools, by_hall = of["drawings"] + of["tools"], of["hall"]
        line = max(by_tools, by_hall) + of["runs"] + of["test"]
        papers = of["drawings"] + of["papers"]
        ends.append(max(line, papers))
        critical["papers"] += papers > line
        critical["test"] += line > papers
        critical["tools"] += line > papers and by_tools > by_hall
        critical["hall"] += line > papers and by_hall > by_tools
    mean = sum(ends) / 4
    assert found.mean == near(mean)
    assert found.deviation == near((sum((end - mean) ** 2 for end in ends) / 3) ** 0.5)
    assert {name: found.criticality[name] for name in critical} == {name: count / 4 for name, count in critical.items()}
    assert found.gates["passed"].in_time == sum(end <= 9 * MONTH for end in ends) / 4
    assert (found.draws, found.seed, found.shape) == (4, 7, "beta")
    assert transfer_spread(case, 1, 7).deviation == 0.0
    assert gate_draws(case, "passed", 4, 7, "beta") == pytest.approx(ends)


def test_times_that_a_delay_moves_of_a_case_with_all_of_them(promised):
    assert delayed_inputs(promised) == {
        PRODUCTION: ("schedule.delay",),
        FEES: ("fees.proof.time",),  # the look is paid on the first day
        WORK: (
            "deliveries.design.end", "deliveries.start_up.end", "guarantees.power.time",
            *(f"performance_guarantees.{name}.time" for name in ("rate", "good", "up", "gas")),
            "acceptance_dates.acceptance.expected", "licensor.damages_time",
        ),
    }  # fmt: skip


# terms


def test_a_unit_of_each_kind_of_term(promised):
    units = {
        "licence.royalty": (0.01, "1 point"), "fees.look.amount": (100_000.0, "100,000 USD"),
        "fees.proof.time": (3 * MONTH, "3 months"), "licence.term": (YEAR, "1 year"),
        "minimum_royalties.late.amount": (10_000 / YEAR, "10,000 EUR/year"), "licence.expansion_fee": (0.001, "0.001 EUR/W"),
    }  # fmt: skip
    for address, (step, words) in units.items():
        assert step_of(promised, address) == (near(step), words), address


def test_what_a_unit_of_each_term_is_worth_by_hand():
    """Of a fee 72 % are left; of a point of royalty 1 % of the sales, at each side's rate; 95 % of what is paid for work."""
    case = plain(licence__net_sales=1.0)
    rows = concessions(case)
    by = {each.address: each for each in rows}
    point = [0.01 * x for x in SALES]
    spread = [0.0] + [25_000.0] * 4  # of 100,000 for work, over a year
    wanted = {
        UPFRONT: (0.72 * 100_000, -100_000.0, 100_000.0, "100,000 EUR"),
        ROYALTY: (0.72 * now(point, OWN), -now(point, THEIRS), 0.01, "1 point"),
        "deliveries.work.price": (0.95 * now(spread, OWN), -now(spread, THEIRS), 100_000.0, "100,000 EUR"),
        "licence.royalty_per_watt": (0.72 * now(SALES, OWN) / 3_000, -now(SALES, THEIRS) / 3_000, 0.001, "0.001 EUR/W"),
    }  # fmt: skip
    for address, (own, other, step, words) in wanted.items():
        each = by[address]
        assert (each.licensor, each.licensee) == (pytest.approx(own, abs=1e-4), pytest.approx(other, abs=1e-4)), address
        assert (each.step, each.words, each.taken, each.jumps) == (near(step), words, near(-own / other), ()), address
    assert not {"licence.net_sales", "licence.royalty_cap"} & by.keys()  # they are all of it already
    assert by["licence.exclusive_time"].licensor == by["licence.exclusive_time"].licensee == 0.0
    assert [abs(each.licensor) for each in rows] == sorted((abs(each.licensor) for each in rows), reverse=True)
    own, other = exchange(rows, ROYALTY, UPFRONT)
    assert (own, other) == (near(72_000 / wanted[ROYALTY][0], 1e-6), near(-100_000 / wanted[ROYALTY][1], 1e-6))


class OnlyLicensee:
    """Sides of which the licensor has nothing of any term, and the licensee pays the fee, and a billion times the royalty."""

    def values_of(self, case):
        return {address: float(value_at(case, address)) for address in terms(case)}

    def gains(self, values):
        return Gains(0.0 * values[UPFRONT], -1.0 * values[UPFRONT] - 1e9 * values[ROYALTY])


def test_terms_that_move_the_licensor_alike_are_in_the_order_of_the_licensee():
    rows = concessions(plain(licence__net_sales=1.0), OnlyLicensee())
    assert [(each.address, each.licensee) for each in rows[:2]] == [(ROYALTY, near(-1e7)), (UPFRONT, near(-1e5))]
    assert all(math.isnan(each.taken) for each in rows[2:])


class Straight:
    """Sides of which the licensor has the fee and 100 times the royalty less 10, the licensee 30 less these."""

    present = {UPFRONT: 5.0, ROYALTY: 0.02}

    def settled(self, values, moving):
        return self

    def gains(self, values):
        fee, royalty = (np.asarray({**self.present, **values}[address]) for address in (UPFRONT, ROYALTY))
        return Gains(fee + 100 * royalty - 10.0, 30.0 - fee - 100 * royalty)


class Royalties(Straight):
    """The same, but each settled at its royalties: what is settled stays as it was."""

    def settled(self, values, moving):
        made = Royalties()
        made.present = {**self.present, **values}
        return made

    def spread(self, rows):
        return self.settled({ROYALTY: self.present[ROYALTY][rows]}, (UPFRONT,))


def test_settled_sides_show_what_they_were_settled_at():
    """At a royalty of 5 %, only the fee stays variable."""
    sides = Sides(plain(), [UPFRONT, ROYALTY]).settled({ROYALTY: 0.05, UPFRONT: 60_000.0}, [UPFRONT])
    deal = evaluate(plain(licence__royalty=0.05, licence__upfront=60_000.0)).deal
    assert (sides.figures()[LICENSOR], sides.figures()[LICENSEE]) == (near(deal.licensor.gain), near(deal.licensee.gain))
    assert sides.gains({}).licensor == near(deal.licensor.gain)


class Counted(Royalties):
    """The same, which count how often royalties are settled."""

    times = 0

    def settled(self, values, moving):
        self.times += 1
        return super().settled(values, moving)


def test_settled_royalties_stay_until_others_come():
    """The ones, others, the ones again, others again: in any order and number they are settled once each time."""
    sides, ones, others = Counted(), np.array([0.01, 0.02]), np.array([0.03, 0.04])
    at = AtTerms(sides)
    for k, royalties in enumerate((ones, ones, ones[::-1], others, others, others, ones, others[[1, 0, 1, 1]])):
        fees = np.full(len(royalties), 3.0 + k)
        found = at(fees, royalties)
        assert found.licensor.tolist() == pytest.approx((fees + 100 * royalties - 10).tolist())
        assert found.licensee.tolist() == pytest.approx((30 - fees - 100 * royalties).tolist())
    assert float(at(7.0, 0.01).licensor) == -2.0
    assert sides.times == 4


def test_the_least_fee_with_the_floor_by_place():
    """The licensor needs 10 less the royalty, the licensee bears 30: a fee of 8 at 2 %, none at 12 %."""
    royalties = np.array([0.02, 0.12, 0.5])
    there, found = at_the_floor(lambda fee, each: Straight().gains({UPFRONT: fee, ROYALTY: royalties[each]}), 3, 1.0)
    assert there.tolist() == [True, True, True]
    assert found.licensee.tolist() == pytest.approx([20.0, 18.0, -20.0])
    there, found = at_the_floor(lambda fee, each: Gains(fee * np.array([1.0, 0.0])[each] - 4.0, 30.0 - fee), 2, 1.0)
    assert there.tolist() == [True, False]
    assert found.licensee.tolist() == pytest.approx([26.0, 30.0])
    # of a scale of a million, what is left by a thousandth is nothing
    there, _ = at_the_floor(lambda fee, _: Gains(np.minimum(fee - 10.0, -5e-4), 30.0 - fee), 1, 1e6)
    assert there.tolist() == [True]
    there, _ = at_the_floor(lambda fee, _: Gains(np.minimum(fee - 10.0, -5e-3), 30.0 - fee), 1, 1e6)
    assert there.tolist() == [False]


# pictures that follow sliders


class Large(Straight):
    """In money: the licensor needs 1 million, the licensee bears 5 million less 100 million times the royalty.

    Both gains are twice as steep more than a million below nothing, and half as steep again more than a million above it.
    """

    present = {UPFRONT: 2e6, ROYALTY: 0.01}

    def __init__(self, scale=1.0, own=5e7, bears=5e6):
        self.scale, self.own, self.bears = scale, own, bears

    def bent(self, gain):
        return self.scale * (gain + np.minimum(gain + 1e6, 0.0) + 0.5 * np.maximum(gain - 1e6, 0.0))

    def gains(self, values):
        fee, royalty = (np.asarray({**self.present, **values}[address]) for address in (UPFRONT, ROYALTY))
        return Gains(self.bent(fee + self.own * royalty - 1e6), self.bent(self.bears - fee - 1e8 * royalty))


def test_a_quick_outline_by_hand():
    """Floor 1 million less 50 million times the royalty, ceiling 5 million less 100 million times it; both alike half-way."""
    case, sides = plain(licence__royalty_cap=0.08), Large()
    drawn = quick_outline(case, sides, sides.present)
    royalty = drawn.royalty
    # beyond 1.1 times the ceiling, 5.5 million, the next mark is 6 million; the royalty of 5 % is passed at 6 %
    assert (drawn.top, royalty[0], royalty[-1], drawn.offer) == (near(6e6), 0.0, near(0.06), (2e6, 0.01))
    assert {0.02, 0.05} <= {round(float(x), 9) for x in royalty}  # where floor and ceiling reach nothing
    inside = royalty < 0.05
    assert drawn.floor == pytest.approx(np.maximum(0.0, 1e6 - 5e7 * royalty), abs=1e-3)
    assert drawn.ceiling[inside] == pytest.approx(5e6 - 1e8 * royalty[inside], abs=1e-3)
    # fee + 5e7 r - 1e6 = 5e6 - fee - 1e8 r: 3 million less 75 million times the royalty, from 4 % on below nothing
    clear = royalty < 0.035
    assert drawn.alike[clear] == pytest.approx(3e6 - 7.5e7 * royalty[clear], abs=1e-3)
    assert np.isnan(drawn.alike[royalty > 0.0401]).all()
    assert np.isnan(drawn.ceiling[royalty > 0.0501]).all()
    (band,) = drawn.bands
    assert drawn.open.tolist() == (royalty < 0.05 + 1e-9).tolist()
    assert band[0][drawn.open] == pytest.approx(drawn.floor[drawn.open])
    assert band[1][drawn.open] == pytest.approx(drawn.ceiling[drawn.open])
    assert np.isnan(np.array(band)[:, ~drawn.open]).all()
    small = quick_outline(case, Large(1e-9), sides.present)  # in another unit of money
    assert (small.top, small.royalty[-1]) == (drawn.top, royalty[-1])
    assert small.floor == pytest.approx(drawn.floor, abs=1e-2)
    # royalties that leave the licensor nothing: both lines meet at 4 % and a fee of a million, the last mix that suits both
    met = quick_outline(case, Large(own=0.0), sides.present)
    assert float(met.royalty[met.open][-1]) == near(0.04, 1e-8)
    apart = quick_outline(case, Large(own=1e6 / 0.0211, bears=4.87e6), sides.present)  # corners of 2.11 and 4.87 %, once each
    assert len(apart.royalty) == 31 + 2
    assert [float(np.abs(apart.royalty - corner).min()) for corner in (0.0211, 0.0487)] == pytest.approx([0.0, 0.0], abs=1e-9)
    again = quick_outline(case, sides, sides.present, drawn)
    assert (again.top, again.royalty.tolist()) == (drawn.top, royalty.tolist())
    far = {UPFRONT: 7e6, ROYALTY: 0.07}  # an offer beyond both: 7.7 million and 7.7 %
    other = quick_outline(case, sides, far)
    assert (other.top, other.royalty[-1]) == (near(8e6), near(0.08))


def test_where_something_passes_nothing_along_the_fee():
    """At five fees: rising from below, above from the start, never, and down again, of which the first or the last counts."""
    fees = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    rows = ([-3.0, -1.0, 1.0, 9.0, 50.0], [1.0, 2.0, 4.0, 8.0, 99.0], [-19.0, -9.0, -6.0, -3.0, -2.0], [-1.0, 1.0, -1.0, 3.0, 40.0])
    rising = np.array(rows).T
    assert fee_at(rising, fees) == pytest.approx([1.5, -1.0, 6.0, 0.5])  # straight on beyond the fees
    assert fee_at(rising, fees, last=True) == pytest.approx([1.5, -1.0, 6.0, 2.25])
    assert np.isnan(fee_at(np.array([[1.0], [1.0]]), fees[:2])).all()  # of which nothing arrives


# prices that fall, minimums, probabilities


def test_forms_of_royalty_as_prices_fall_by_hand():
    """Prices of the flat case fall by 2 % a year in the plan: what is paid is that of the middle of each quarter.

    The minimum of the third form is half of the median of both years of sales, due at the end of each. By the watt, the same watts
    bring the same whatever the price; the tiny case sells them at EUR 3 at first.
    """
    case = replaced(plain(), {"sales.all.change": -0.02 / YEAR})
    found = price_paths(case)
    falls = (0.02, 0.0, 0.05, 0.10, 0.15)

    def sold(fall):
        """Sales by quarter, of which the price is that of the middle."""
        return [x * (1 - fall) ** (max(k - 0.5, 0.0) / 4) for k, x in enumerate(SALES)]

    earned = [found.royalty * x for x in sold(0.02)]
    years = [sum(earned[k - 3 : k + 1]) for k in (12, 16)]
    least = 0.5 * sum(years) / 2
    assert (found.royalty, found.minimum) == (near(0.04, 1e-8), near(least))
    by_watt = [x / 3.0 for x in SALES]
    assert found.per_watt == near(now(earned, OWN) / now(by_watt, OWN), 1e-8)
    ceilings = [float(evaluate(replaced(case, {"sales.all.change": -fall / YEAR})).deal.licensee.ceiling) for fall in falls]
    assert list(found.unpaid) == [near(each) for each in ceilings]
    for k, fall in enumerate(falls):
        flows = [found.royalty * x for x in sold(fall)]
        topped = [x + (max(0.0, least - sum(flows[n - 3 : n + 1])) if n in (12, 16) else 0.0) for n, x in enumerate(flows)]
        paid = {"on sales": flows, "per watt": [found.per_watt * x for x in by_watt], "on sales, with a minimum": topped}
        for form, each in paid.items():
            gains = found.gains[form]
            assert gains.licensor[k] == pytest.approx(0.72 * (50_000 + now(each, OWN)) - FLOOR, abs=1e-3), (form, fall)
            assert gains.licensee[k] == pytest.approx(ceilings[k] - 50_000 - now(each, THEIRS), abs=1e-3), (form, fall)
    low, high = 0.0, 0.5
    for _ in range(60):  # from which fall on the royalty per watt costs the licensee more
        middle = (low + high) / 2
        dearer = now([found.per_watt * x for x in by_watt], THEIRS) > now([found.royalty * x for x in sold(middle)], THEIRS)
        low, high = (low, middle) if dearer else (middle, high)
    assert found.crossings == {"deal.licensor.gain": near(0.02, 1e-6), "deal.licensee.gain": near(low, 1e-6)}
    stop = found.stops["on sales"]
    stopped = evaluate(replaced(case, {"sales.all.change": -stop / YEAR, ROYALTY: found.royalty})).deal.licensee.gain
    assert stopped == pytest.approx(0.0, abs=1e-2)
    assert found.stops["per watt"] < stop
    steep = price_paths(case, (0.3,))
    assert steep.paths == ("planned", "flat", 0.3)
    assert steep.gains["on sales"].licensor[2] == pytest.approx(
        0.72 * (50_000 + now([steep.royalty * x for x in sold(0.3)], OWN)) - FLOOR, abs=1e-3
    )  # fmt: skip


def test_a_minimum_in_the_slowest_start_and_one_that_nothing_asks_for():
    """The slowest start that is likely stretches the ramp by a tenth; without other licensees nothing is lost to exclusivity."""
    stretched = Range("schedule.ramp_stretch", "triangular", 1.0, 1.05, 1.1, "1", "start", AFTER)
    other = Range("sales.all.price", "triangular", 1.0, 3.0, 4.0, "EUR/Wp_stabilised", "price", AFTER)
    case = dataclasses.replace(flat_inputs().load(), ranges={"start": stretched, "price": other})
    found = minimum_range(case, "least")
    assert (found.row, found.present, found.slow) == ("least", near(120_000 / YEAR), {"schedule.ramp_stretch": 1.1})
    assert found.fair == 0.0
    slow = {"schedule.ramp_stretch": 1.1, "minimum_royalties.least.amount": found.bearable}
    assert evaluate(replaced(case, slow)).deal.licensee.gain == pytest.approx(0.0, abs=1e-2)
    stated = {"minimum_royalties.least.amount": found.as_stated}
    assert evaluate(replaced(case, stated)).deal.licensee.gain == pytest.approx(0.0, abs=1e-2)
    assert found.bearable < found.as_stated


def minimum_case():
    """Three prices of a watt, 0.2, 2 and 4, a minimum in the third and in the fourth year, closing after two bad quarters."""
    inputs = three_prices()
    inputs.tables["minimum_royalties.csv"] = table(
        "id,title,amount [currency/year],currency,begin [year],end [year],after_closing\n"
        "one,one,60000,EUR,2,3,stops\nother,other,30000,EUR,3,4,stops"
    )
    inputs.cell("outcomes.csv", "bad", "value", "0.2").cell("ranges.csv", "price", "low", "0.2")
    return inputs.other_yaml("plan.yaml", "rule: never", "rule: by_loss")


def test_probabilities_count_the_draws():
    """Each claim is counted over the figures of the same draws, in which both sides gain and years are closed or bound."""
    case = minimum_case().load()
    found = probabilities(case, 200, 6)
    years = {f"y{k:02d}": f"deal.years.y{k:02d}.minimum_binds" for k in (1, 2, 3, 4)}
    drawn = run_risk(as_bought(case), [NPV, EARLY, BELOW, LICENSOR, LICENSEE, *years.values()], 200, 6).figures
    assert (found.draws, found.seed, found.mean_npv) == (200, 6, pytest.approx(drawn[NPV].mean()))
    claims = {
        found.npv: drawn[NPV] > 0, found.closes: drawn[EARLY] > 0, found.below_dscr: drawn[BELOW] > 0,
        found.licensor: drawn[LICENSOR] >= 0, found.licensee: drawn[LICENSEE] >= 0,
    }  # fmt: skip
    for shown, holds in claims.items():
        assert (shown.share, shown.draws) == (holds.mean(), 200)
    assert found.both.share == ((drawn[LICENSOR] >= 0) & (drawn[LICENSEE] >= 0)).mean()
    assert found.both.share <= found.zone.share <= found.licensee.share
    assert found.minimums == {name: drawn[address].mean() for name, address in years.items()}
    assert 0 < found.closes.share < 1
    assert 0 < found.below_dscr.share < 1
    assert 0 < found.minimums["y03"] < found.minimums["y04"]  # the royalty ends after the third year
    assert probabilities_of_minimums(case, 200, 6) == found.minimums
    assert found.royalties == pytest.approx(_royalties(0.04, float(value_at(case, "licence.royalty_cap"))))
    unlent = replaced(case, {"loan.part": 0.0})
    assert probabilities(unlent, 20, 6).below_dscr is None


def test_the_search_for_a_fee_begins_with_the_fee_offered(monkeypatch):
    """50,000 in the tiny case: what is left by a billionth of that is nothing, in whatever money."""
    scales = []

    def seen(gains, shape, scale):
        scales.append(scale)
        return at_the_floor(gains, shape, scale)

    monkeypatch.setattr(probabilities_module, "at_the_floor", seen)
    assert probabilities(three_prices().load(), draws=4, seed=1).zone is not None
    assert scales == [50_000.0]


def test_the_mean_zone_at_limits_that_are_met_exactly():
    """A licensee that can bear just the royalty can pay a fee of nothing; one that bears a little less, none."""
    for bears, ceiling in ((2.0, 0.0), (1.999, math.nan)):
        found = _mean_zone(along([bears], 0.02), (5.0, 0.02))
        assert found.ceiling == pytest.approx(ceiling, nan_ok=True, abs=1e-9)
    assert _mean_zone(along([10.0], 0.02), (5.0, 0.02)).open  # it bears just what the licensor needs
    assert not _mean_zone(along([9.99], 0.02), (5.0, 0.02)).open
    assert _some_fee(along([10.0, 9.99], 0.02), 5.0).tolist() == [True, False]
    free = _mean_zone(along([13.0], 0.02), (0.0, 0.02))  # an offer without a fee to begin with
    assert (free.floor, free.ceiling) == (pytest.approx(8.0), pytest.approx(11.0))
    assert _some_fee(along([10.0, 9.0], 0.02), 0.0).tolist() == [True, False]
    assert _mean_zone(along([13.0], 0.01, 0.02), (5.0, 0.02)).floor == pytest.approx(8.0)  # at the royalty of the offer


def test_a_term_moved_whichever_way_helps_more():
    """A price of 2 to 3.6 a watt. Each term a unit up and down, both sides counted over the same draws of a case with it."""
    case = priced("uniform", "2.0", "3.6").load()
    found = {each.address: each for each in likely_terms(case, 40, 3)}
    assert [each.both.share for each in found.values()] == sorted((each.both.share for each in found.values()), reverse=True)

    def shares(values):
        """How often the licensor gains, the licensee, both."""
        drawn = run_risk(as_bought(replaced(case, values)), [LICENSOR, LICENSEE], 40, 3).figures
        own, other = drawn[LICENSOR] >= 0, drawn[LICENSEE] >= 0
        return float(own.mean()), float(other.mean()), float((own & other).mean())

    before = shares({})[2]
    for address in (UPFRONT, ROYALTY, "licence.net_sales"):
        step, words = step_of(case, address)
        present, high = float(value_at(case, address)), declared(case, address).high
        moved = [(value, up) for value, up in ((present + step, True), (present - step, False)) if 0 <= value <= (high or 1e12)]
        ways = [(shares({address: value}), up) for value, up in moved]
        changed = [each for each in ways if each[0][2] != before]
        assert (address in found) == bool(changed), address
        if changed:
            (own, other, both), up = max(changed, key=lambda each: each[0][2])
            shown = found[address]
            assert (shown.licensor.share, shown.licensee.share, shown.both.share) == (own, other, both), address
            assert (shown.up, shown.words, shown.both.draws) == (up, words, 40)


def test_terms_are_likely_only_over_draws_of_a_deal():
    case = priced("uniform", "2.0", "3.6").load()
    assert likely_terms(case, 40, 3)
    assert likely_terms(case, 0, 3) == []
    assert likely_terms(dataclasses.replace(case, ranges={}), 8, 3) == []


def test_odds_of_supply_are_those_of_a_case_in_which_nothing_of_it_spreads(promised):
    """Only the price of a saw is uncertain, so that each claim holds in every draw, or in none."""
    rows = evaluate(promised).deal.supplied
    found = odds_of_supply(promised, 16, 0)
    less = {name: float(row.licensee_pays <= 0) for name, row in rows.items()}
    assert {name: each.share for name, each in found.by_material.items()} == less
    assert found.pays_less.share == float(sum(row.licensee_pays for row in rows.values()) <= 0)
    assert found.left.share == float(sum(row.licensor_margin for row in rows.values()) >= 0)
    assert (found.draws, found.seed, found.left.draws) == (16, 0, 16)
    assert odds_of_supply(promised, 0, 0) is None
    assert odds_of_supply(dataclasses.replace(promised, ranges={}), 16, 0) is None


def test_the_floor_of_the_flat_case():
    """What these tests stand on: 20 days of 500 and a fifth more, travel and pilot time, and the contribution."""
    assert evaluate(plain()).deal.licensor.floor == near(FLOOR)
    assert evaluate(with_values(plain(), {UPFRONT: 0.0})).line.output.stabilised_power == near(POWER)
