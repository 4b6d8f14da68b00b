"""Guarantees of throughput, yield, uptime, consumption and a date: by hand, by a million draws, and all of them together."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest

from costmodel.case.guarantee_records import AcceptanceDate, PerformanceGuarantee
from costmodel.case.load import load_case
from costmodel.model.deal.performance_guarantees import date_exposure, promise_exposure, uptime
from costmodel.model.evaluate import evaluate
from costmodel.model.plan.transfer import dated
from costmodel.present import guarantee_set_report
from costmodel.present.numbers import amount, percent
from costmodel.studies.negotiation.guarantee_set import (
    Promise,
    better_for_both,
    charge_from_which_better,
    payments,
    promise_sets,
    promises,
    signable_levels,
)

from .cases import ROOT, column_name, table
from .refusals import faults
from .second_cases import rich

DEMO = ROOT / "inputs_demo" / "facade"
ONE_MONEY = SimpleNamespace(money={"eur": SimpleNamespace(exchange_rate=1.0)})
TERMS = {
    "title": "it", "measure": "line_yield", "of": "line", "unit": "%", "level": 0.85, "transfer_loss": 0.02,
    "transfer_spread": 0.03, "day_spread": 0.06, "measurement": 0.01, "days": 3.0, "tests": 3.0, "measured_by": "both",
    "test_cost": 900.0, "test_share": 0.5, "damages": 10_000.0, "cap": 400.0, "minimum": 0.93, "rejection": 2_500.0,
    "counted_under": "alone", "currency": "EUR", "time": 0.0, "retest_cost": 0.0, "retest_passed": 0.0,
}  # fmt: skip


MONTH, WEEK = 365 * 86_400.0 / 12, 7 * 86_400.0
# a normal date that no project draws, so that the closed form holds
DATED = {"acceptance": AcceptanceDate("acceptance", 33 * MONTH, 31 * MONTH, 2.5 * MONTH, 2 * WEEK, 6_000 / WEEK, 90_000.0,
                                      12 * MONTH, 300_000.0, "EUR")}  # fmt: skip


@pytest.fixture(scope="module")
def case():
    return load_case(DEMO)


@pytest.fixture(scope="module")
def found(case):
    return promise_sets(case)


def test_uptime_is_that_of_semi_e10(case):
    """Scheduled 100 h: 12 h planned and 8 h unplanned down leave 80 %, whether the tool works, waits or is on trial."""
    states = SimpleNamespace(productive=50.0, standby=25.0, engineering=5.0, scheduled_down=12.0, unscheduled_down=8.0)
    assert uptime(states) == pytest.approx(0.8)


@pytest.mark.parametrize("terms", [
    {}, {"retest_passed": 0.3, "retest_cost": 700.0}, {"cap": 1e9}, {"minimum": 0.5},
    {"measure": "consumption", "of": "silane"}, {"level": 0.9, "rejection": 0.0}, {"cap": 0.0},
])  # fmt: skip
def test_draws_agree_with_the_closed_form_of_a_rate(terms):
    """A million transfers: the mean of nine days, with what the transfer and the instrument add, each drawn by itself."""
    row = PerformanceGuarantee(**{**TERMS, **terms})
    less = row.measure == "consumption"
    dice = np.random.default_rng(20261129)
    transfer, instrument = dice.standard_normal((2, 1_000_000))
    days = dice.standard_normal((9, 1_000_000)).mean(axis=0)
    rate = 0.87 * (1.02 if less else 0.98) * (1 + 0.03 * transfer + 0.06 * days + 0.01 * instrument)
    short = rate / row.level - 1 if less else 1 - rate / row.level
    limit = 1 / row.minimum - 1 if less else 1 - row.minimum
    left = dice.random(1_000_000) >= row.retest_passed
    paid = left * np.where(short >= limit, row.rejection, np.minimum(row.damages * np.maximum(short, 0.0), row.cap))
    exposure = promise_exposure(ONE_MONEY, row, 0.87)
    for shown, drawn in (
        (exposure.miss_probability, short > 0),
        (exposure.probability, left & (short > 0)),
        (exposure.rejection_probability, left & (short >= limit)),
        (exposure.damages, paid),
        (exposure.retests, row.retest_cost * (short > 0)),
    ):
        assert shown == pytest.approx(drawn.mean(), abs=4 * drawn.std() / 1000 + 1e-12)


def test_draws_agree_with_the_closed_form_of_a_date():
    row = AcceptanceDate("it", 30.0, 29.0, 2.0, 0.5, 100.0, 250.0, 3.0, 900.0, "EUR")
    late = 29.0 + 2.0 * np.random.default_rng(5).standard_normal(1_000_000) - 30.5
    paid = np.where(late >= 3.0, 900.0, np.minimum(100.0 * np.maximum(late, 0.0), 250.0))
    exposure = date_exposure(ONE_MONEY, row)
    for shown, drawn in ((exposure.probability, late > 0), (exposure.rejection_probability, late >= 3.0), (exposure.damages, paid)):
        assert shown == pytest.approx(drawn.mean(), abs=4 * drawn.std() / 1000)


def test_a_case_without_such_guarantees_computes_what_it_did(case):
    bare = dataclasses.replace(case, performance_guarantees={}, acceptance_dates={}, damages_caps={})
    deal, more = evaluate(bare).deal, evaluate(case).deal
    tests = sum(each.licensor_tests for each in more.performance_guarantees.values())
    assert not deal.performance_guarantees
    assert not deal.acceptance_dates
    assert more.licensor.damages > deal.licensor.damages
    # 6,000 twice by half for two rows, 2,000 and 1,000 twice by half, none of the uptime: 15,000
    assert tests == pytest.approx(6_000 + 6_000 + 0 + 2_000 + 1_000)


def test_what_can_be_signed_for_all_together_pays_with_the_probability_asked_for(case, found):
    """At most so over its own draws, each promise with the same probability; about so over others.

    What a mended shortfall explains under another row is not paid there either, so that a few draws pay nothing.
    """
    assert 0.0985 < found.signable.probability <= 0.1 + 1e-9
    beyond = {name for name, row in case.performance_guarantees.items() if row.counted_under != "alone"}
    chances = [each.probability for each in found.signable.promises if each.address.partition(".")[2] not in beyond]
    assert chances == [pytest.approx(found.share, abs=1e-9)] * len(chances)  # others pay only beyond another row
    assert abs(found.again - 0.1) < 5 * found.again_error
    # dependence lies between: all as one would allow 10 % each, none together with another about a seventh of it
    assert 0.1 / 7 <= found.share <= 0.1
    assert found.present.probability > max(each.probability for each in found.present.promises)


def test_a_set_of_independent_normal_promises_has_the_probability_of_the_formula(case):
    """Without ranges nothing is shared: the probability of any is 1 less the product of what the closed forms leave."""
    alone = dataclasses.replace(case, ranges={}, correlations={}, outcomes={}, samples={}, acceptance_dates=DATED)
    rows = {name: dataclasses.replace(row, counted_under="alone") for name, row in case.performance_guarantees.items()}
    sets = promise_sets(dataclasses.replace(alone, performance_guarantees=rows))
    assert sets.drawn == ()
    wanted = 1 - math.prod(1 - each for each in sets.alone)
    assert sets.present.probability == pytest.approx(wanted, abs=4 * sets.present.error)
    for each, chance in zip(sets.present.promises, sets.alone, strict=True):
        assert each.probability == pytest.approx(chance, abs=4 * (chance * (1 - chance) / sets.draws) ** 0.5)
    deal = evaluate(alone).deal
    known = [*deal.guarantees.values(), *deal.performance_guarantees.values(), *deal.acceptance_dates.values()]
    for each, row in zip(sets.present.promises, known, strict=True):
        assert each.expected == pytest.approx(float(row.damages), rel=0.15, abs=20)


def test_dependence_through_shared_inputs_is_that_of_the_draws(case):
    """Yield and throughput move with the same inputs of ranges.csv: their results go together, and with silane against them."""
    _, rows = promises(case, draws=5_000)
    by = {each.address.partition(".")[2]: each.results for each in rows}
    none = 4 / 5_000**0.5  # four standard errors of a correlation of nothing
    assert np.corrcoef(by["line_yield"], by["throughput"])[0, 1] > none
    assert np.corrcoef(by["line_yield"], by["silane"])[0, 1] < -none


def test_a_common_cap_lowers_what_all_pay_and_no_probability(case, found):
    row = dataclasses.replace(case.damages_caps["all"], amount=20_000.0)
    capped = promise_sets(dataclasses.replace(case, damages_caps={"all": row}))
    assert capped.present.probability == found.present.probability
    assert capped.present.expected < found.present.expected
    assert max(each.value for each in capped.present.quantiles) == pytest.approx(20_000.0)
    assert capped.present.cap_probability == pytest.approx((sum_of_draws(case) >= 20_000.0).mean())


def test_a_common_cap_of_nothing_is_reached_whatever_happens(case):
    row = dataclasses.replace(case.damages_caps["all"], amount=0.0)
    found = promise_sets(dataclasses.replace(case, damages_caps={"all": row}), draws=200)
    assert (found.present.probability, found.present.expected, found.present.cap_probability) == (0.0, 0.0, 1.0)


def sum_of_draws(case):
    """All damages in each draw without a common cap."""
    _, rows = promises(case)
    return payments(rows, [each.level for each in rows], float("inf")).sum(axis=0)


def test_a_point_of_a_promise_is_what_the_model_says_it_is_worth(case):
    """A date a week later in the plan of the model: what the licensor gains and the licensee loses, by the closed form."""
    case = dataclasses.replace(dated(case), acceptance_dates=DATED, transfer_gates={})
    row, found = case.acceptance_dates["acceptance"], promise_sets(case)
    week = 7 * 86_400.0
    # paid when it was due before, so that the date of payment does not move too
    later = dataclasses.replace(row, grace=row.grace + week)
    before, after = evaluate(case).deal, evaluate(dataclasses.replace(case, acceptance_dates={"acceptance": later})).deal
    saved, lost = found.points[-1]
    assert saved == pytest.approx(after.licensor.gain - before.licensor.gain, rel=0.06)
    assert lost == pytest.approx(before.licensee.gain - after.licensee.gain, rel=0.06)


def test_a_set_is_better_for_both_where_both_gains_add_up_to_more(found):
    for each in found.sets:
        assert (each in better_for_both(found)) == (each is not found.present and each.licensor + each.licensee > 0)
    worse = dataclasses.replace(found.signable, licensor=100.0, licensee=-400.0, deviation=found.present.deviation - 1_000.0)
    assert charge_from_which_better(found, worse) == pytest.approx(0.3)  # 300 lost together, 1,000 less spread
    assert charge_from_which_better(found, dataclasses.replace(worse, deviation=found.present.deviation)) is None
    none = dataclasses.replace(found, signable=worse, others=())
    words = guarantee_set_report.together(load_case(DEMO), none)[3]
    assert words.startswith("No set is better for both")
    assert "charge of 0.300 per unit of spread" in words


def test_levels_of_equal_probability_by_counting():
    """Ten results each; in the worst three draws of either something is short: 1 and 2 below the third of each, none twice."""
    _, rows = promises(load_case(DEMO), draws=2)
    first = dataclasses.replace(rows[0], results=np.arange(10.0), mended=np.zeros(10, bool), sign=1.0, grace=0.0)
    second = dataclasses.replace(first, address="b", results=np.arange(10.0)[::-1].copy())
    share, levels = signable_levels([first, second], 0.4)
    assert (share, levels) == (0.2, [2.0, 2.0])  # 0, 1 of the first and 0, 1 of the second: four draws of ten


SPREAD = "id,title,module_spread [%],repeatability [%]\nall,modules,4,0.5"


def without_own_spread(inputs):
    """The same tables, guarantees.csv without its column of the spread of modules."""
    header, *rows = inputs.tables["guarantees.csv"]
    place = [column_name(each) for each in header].index("module_spread")
    inputs.tables["guarantees.csv"] = [[*row[:place], *row[place + 1 :]] for row in (header, *rows)]
    return inputs


def test_the_spread_of_modules_stands_in_one_place(tmp_path):
    """4 % of power_spread.csv over 40 modules, with 2.5 % of the transfer and 1.2 % of the measurement."""
    inputs = without_own_spread(rich())
    inputs.tables["power_spread.csv"] = table(SPREAD)
    case = inputs.load()
    found = evaluate(case).deal.guarantees["power"]
    made = 0.99 * evaluate(case).line.output.stabilised_power
    assert found.spread == pytest.approx(made * (0.025**2 + 0.04**2 / 40 + 0.012**2) ** 0.5)
    assert case.guarantees["power"].module_spread is None
    both = rich()
    both.tables["power_spread.csv"] = table(SPREAD)
    (tmp_path / "both").mkdir()
    assert faults(lambda: load_case(both.write(tmp_path / "both"))) == [
        "guarantees.csv, row 2, column 'module_spread': found a spread of modules beside power_spread.csv; allowed: no such "
        "column: the spread stands once"
    ]
    (tmp_path / "none").mkdir()
    assert faults(lambda: load_case(without_own_spread(rich()).write(tmp_path / "none"))) == [
        "guarantees.csv, row 2, column 'module_spread': found no such column, and neither power_spread.csv nor "
        "measured_powers.csv; allowed: one of the three"
    ]


MISTAKES = [
    ("up", "of", "coatr", "row 4, column 'of': found 'coatr'; allowed: for uptime one of: "),
    ("good", "of", "coater", "row 3, column 'of': found 'coater'; allowed: for line_yield one of: line"),
    ("gas", "unit", "kg/module", "row 5, column 'unit': found 'kg/module'; allowed: a unit like Nm3/module"),
    ("rate", "counted_under", "god", "row 2, column 'counted_under': found 'god'; allowed: the id of another row, or 'alone'"),
]  # fmt: skip


@pytest.mark.parametrize(("row", "column", "value", "message"), MISTAKES)
def test_a_mistake_is_named_with_what_is_allowed(row, column, value, message, tmp_path):
    inputs = rich()
    inputs.cell("performance_guarantees.csv", row, column, value)
    told = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any(each.startswith(f"performance_guarantees.csv, {message}") for each in told), told


def test_a_promise_is_eased_by_a_percent_or_a_week():
    least = Promise("good", "", "1", 1.0, 200.0, 0.0, 1.0, 1.0, 9.0, 0.0, "", False, 0.0, np.zeros(1, bool), np.zeros(1))
    most = dataclasses.replace(least, sign=-1.0)
    day = dataclasses.replace(most, level=1e7, is_date=True)
    assert (least.eased(1.0), most.eased(1.0)) == (pytest.approx(198.0), pytest.approx(202.0))
    assert day.eased(1.0) - day.level == pytest.approx(7 * 86_400.0)


def test_the_answer_stands_first(case, found):
    """The probability of all, what can be signed at 10 %, and whether another set suits both."""
    said = guarantee_set_report.together(case, found)
    assert said[0].startswith("All 7 guarantees together: the probability of paying anything is ")
    assert said[1].startswith(
        "At a probability of 10 % of paying anything, the levels in column “signable together” can be signed. Each then pays with "
    )
    worst = max(zip(found.promises, found.present.promises), key=lambda pair: pair[1].probability)[0]
    assert found.present.probability > 0.5
    assert f"“{worst.title}” pays most often: " in said[0]
    few = dataclasses.replace(
        found, promises=found.promises[:1], signable=dataclasses.replace(found.signable, promises=found.signable.promises[:1])
    )
    level = guarantee_set_report.shown(found.promises[0], found.signable.promises[0].level)
    assert f"these can be signed together: “{found.promises[0].title}” at least {level}." in " ".join(
        guarantee_set_report.together(case, few))  # fmt: skip
    small = dataclasses.replace(found.present.quantiles[0], low=-6e-11, high=6e-11, value=0.0)
    none = dataclasses.replace(found, present=dataclasses.replace(found.present, quantiles=(small,)))
    assert "(± about 0 by sampling)" in guarantee_set_report.reserve(case, none)
    for each in found.present.quantiles:
        assert f"{percent(each.share, 2)} of transfers {amount(each.value, 'EUR')} (± {amount(each.reach, 'EUR')} by s" in said[2]
        assert each.low <= each.value <= each.high
    table = guarantee_set_report.promises_table(case, found)
    at = table.columns.index("signable together")
    signable = {row[0]: (row[1], row[at]) for row in table.rows}
    assert signable["silane for a pane"][0].startswith("at most ")
    assert signable["silane for a pane"][1].endswith("g/module")
    assert signable["acceptance test of the line passed"][0].startswith("by month ")
    assert signable["acceptance test of the line passed"][1].startswith("month ")
    assert len(table.rows) == 8
    assert all(len(row) == len(table.columns) for row in table.rows)
