"""What markets take limits what the plan makes and sells: worked by hand on the tiny plan, laws, draws, refusals.

In full swing a quarter of the tiny plant of plans.py makes 270,000 W on 4,500 m2, in its ramp two fifths of that."""

from __future__ import annotations

import dataclasses
import random

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.readings.quantities import wrong_units
from costmodel.present import plan_report
from costmodel.studies.factory.least_price import least_price, least_volume, price_of_a_watt
from costmodel.studies.factory.market_prices import large_plans, odd_prices, sale_prices

from .cases import demo, table
from .plans import limited, limited_inputs, planned
from .refusals import faults

YEAR = 31_536_000.0

def near(value: float, scale: float = 0.0):
    return pytest.approx(value, rel=1e-11, abs=1e-11 * scale)


@pytest.fixture(scope="module")
def plan():
    return evaluate(limited()).plan


def test_two_rows_of_one_market_share_its_limit_which_binds_in_the_second_year_only(plan):
    found = plan.markets["plain"]
    # 60 % of 270,000 is 162,000 W a quarter, in the ramp 64,800; the market takes 30 % of 2 MW, 150,000 W a quarter
    assert found.cap == near(600_000)
    assert list(found.planned.values()) == [0.0] * 9 + [near(64_800)] * 4 + [near(162_000)] * 4
    assert list(found.sold.values()) == [0.0] * 9 + [near(64_800)] * 4 + [near(150_000)] * 4
    assert list(found.planned_by_year.values()) == [0.0, 0.0, near(259_200), near(648_000)]
    assert list(found.sold_by_year.values()) == [0.0, 0.0, near(259_200), near(600_000)]
    assert list(found.cut_by_year.values()) == [0.0, 0.0, 0.0, near(48_000)]
    assert list(found.market_share_by_year.values()) == [0.0, 0.0, near(0.1296), near(0.3)]


def test_a_market_counted_in_area_limits_area(plan):
    # 40 % of 4,500 m2 is 1,800 m2 a quarter, in the ramp 720; the market takes 60 % of 10,000 m2, 1,500 m2 a quarter
    found = plan.markets["skin"]
    assert list(found.sold.values()) == [0.0] * 9 + [near(720)] * 4 + [near(1_500)] * 4
    assert list(found.cut_by_year.values()) == [0.0, 0.0, 0.0, near(1_200)]


def test_what_is_not_sold_is_not_made_and_all_follows_what_is_sold(plan):
    quarters = list(plan.quarters.values())[1:]
    # 12,000 W of the first market are cut, and 300 m2 of 60 W each of the second: 30,000 of 270,000
    assert [q.taken_share for q in plan.quarters.values()] == [1.0] * 13 + [near(8 / 9)] * 4
    assert quarters[13].stabilised_watts == near(240_000)
    assert quarters[13].started_share == near(8 / 9)
    # near 100,000 W at 2, far 50,000 W at 1.50, walls 1,500 m2 at 120
    assert quarters[13].revenue == near(200_000 + 75_000 + 180_000)
    free = with_values(limited(), {"markets.plain.most_share": 1.0, "markets.skin.most_share": 1.0})
    wide = list(evaluate(free).plan.quarters.values())[1:]
    assert quarters[13].variable_cost == near(wide[13].variable_cost * 8 / 9)
    assert quarters[13].fixed_cost == wide[13].fixed_cost
    assert quarters[13].receivables == near(0.8 * 455_000)  # 73 of 91.25 days
    assert quarters[11].royalty == near(0.04 * quarters[11].revenue + 0.01 * quarters[11].stabilised_watts)
    assert quarters[15].cumulative_watts == near(4 * 108_000 + 4 * 240_000)


def test_learning_and_royalty_stand_on_what_is_sold():
    case = with_values(limited(), {"licence.term": 2 * YEAR, "learning.rate": 0.2, "learning.reference_volume": 432_000.0})
    quarters = list(evaluate(case).plan.quarters.values())[1:]
    assert quarters[12].royalty == near(0.04 * 455_000 + 2_400)
    # the first 432,000 W are those of the ramp; the next 240,000 follow the curve by unit
    exponent = np.log(0.8) / np.log(2)
    times = 672_000 / 432_000
    assert quarters[12].learning_factor == near(432_000 * (times ** (1 + exponent) - 1) / (1 + exponent) / 240_000)


def test_an_average_price_is_that_of_what_is_sold():
    results = evaluate(limited())
    watts, money = 4 * 108_000 + 4 * 240_000, 4 * (43_200 * 2 + 21_600 * 1.5 + 720 * 120) + 4 * 455_000
    assert price_of_a_watt(limited(), results) == near(money / watts)


def test_the_least_price_and_volume_are_found_under_the_limits():
    case = with_values(limited(), {f"sales.{name}.price": row.price * 3 for name, row in limited().sales.items()})
    results = evaluate(case)
    least = least_price(case)
    prices = {f"sales.{name}.price": row.price * least.times for name, row in case.sales.items()}
    assert evaluate(with_values(case, prices)).plan.project.npv == near(0.0, 1e4 * results.plan.capital)
    share = {"schedule.volume_share": case.plan.schedule.volume_share * least_volume(case).times}
    assert evaluate(with_values(case, share)).plan.project.npv == near(0.0, 1e4 * results.plan.capital)


def test_a_limit_counts_from_the_start_of_production():
    case = with_values(limited(), {"schedule.delay": YEAR / 8, "markets.plain.most_share": 0.06})  # 30,000 W a quarter
    found = evaluate(case).plan.markets["plain"]
    assert list(found.sold.values())[9:11] == [near(15_000), near(30_000)]


def test_an_expansion_meets_the_same_limit():
    inputs = limited_inputs()
    inputs.tables["expansions.csv"] = table(
        "id,title,time [year],size [%],capital_share [%],fixed_share [%],life [year]\nmore,half more,1,50,80,60,10"
    )
    quarters = list(evaluate(inputs.load()).plan.quarters.values())[1:]
    # ramping up, the expansion adds 0.5 x 0.4: 60 % of 324,000 is planned in watts, 40 % of 5,400 m2 in area; both limits bind
    assert quarters[13].planned_share == near(1.2)
    assert quarters[13].stabilised_watts == near(150_000 + 1_500 * 60)


# laws


def varied(seed: int) -> Case:
    """The tiny plan with limits, prices and times moved at random."""
    dice = random.Random(seed)
    return with_values(
        limited(),
        {
            "markets.plain.most_share": dice.uniform(0, 1),
            "markets.skin.most_share": dice.uniform(0, 1),
            "markets.plain.volume": dice.uniform(1e5, 3e6),
            "schedule.delay": dice.uniform(0, 0.8) * YEAR,
            "schedule.ramp_stretch": dice.uniform(0.3, 2),
            "schedule.volume_share": dice.uniform(0.2, 1),
        },
    )


@pytest.mark.parametrize("seed", range(12))
def test_sales_never_exceed_the_limit_nor_what_is_planned(seed):
    case = varied(seed)
    plan = evaluate(case).plan
    for name, found in plan.markets.items():
        run = [quarter.running_share for quarter in plan.quarters.values()]
        for planned_there, sold, part in zip(found.planned.values(), found.sold.values(), run):
            assert 0.0 <= sold <= min(planned_there, found.cap / 4 * part) * (1 + 1e-12)
        most = case.markets[name].most_share
        assert all(share <= most * (1 + 1e-12) for share in found.market_share_by_year.values())
    watts = plan.markets["plain"].sold.values(), plan.markets["skin"].sold.values()
    for quarter, by_power, by_area in zip(plan.quarters.values(), *watts):
        assert quarter.stabilised_watts == near(by_power + 60 * by_area, 1e6)  # nothing is made that is not sold
        assert abs(quarter.balance) < 1e-9 * plan.capital


def test_without_a_limit_that_binds_nothing_changes_to_the_bit():
    wide = with_values(limited(), {"markets.plain.most_share": 1.0, "markets.skin.volume": 1e9})
    free = dataclasses.replace(wide, sales={n: dataclasses.replace(row, market="unlimited") for n, row in wide.sales.items()})
    # what has no value is the text nan here, as it equals nothing else
    found, wanted = ({a: v if v == v else "nan" for a, v, *_ in figures(evaluate(case), "EUR")} for case in (wide, free))
    # two shares of one market are added up before they are taken of the output; no other figure knows of markets
    assert {a: v for a, v in found.items() if not a.startswith("plan.markets.")} == wanted
    assert price_of_a_watt(wide, evaluate(wide)) == price_of_a_watt(free, evaluate(free))


def test_draws_are_limited_draw_by_draw():
    shares = np.array([0.1, 0.3, 0.31, 1.0])
    plans = evaluate(with_values(limited(), {"markets.plain.most_share": shares})).plan
    for draw, share in enumerate(shares):
        one = evaluate(with_values(limited(), {"markets.plain.most_share": float(share)})).plan
        assert plans.project.npv[draw] == near(one.project.npv, 1e7)
        assert plans.markets["plain"].sold_by_year["y04"][draw] == near(one.markets["plain"].sold_by_year["y04"])
    assert list(plans.markets["plain"].cut_by_year["y04"] > 0) == [True, True, True, False]


@pytest.mark.slow
def test_units_follow_that_of_the_volume():
    by_area = {"markets.building_skin.per": "m2", "markets.building_skin.volume": 100_000.0}
    case = with_values(demo(), by_area | {"markets.building_skin.most_share": 0.1})
    assert min(evaluate(case).plan.markets["building_skin"].sold_share.values()) < 1.0
    assert wrong_units(case) == []


# words and refusals


def test_a_limit_that_binds_is_said_and_large_plans_are_odd():
    results = evaluate(limited())
    assert plan_report.markets_that_bind(limited(), results) == [
        "“plain” takes at most 0.600 MW a year of ours. In year 4, 0.648 MW are planned and 0.600 MW are sold. "
        "This limit binds in one year.",
        "“skin” takes at most 6,000 m² a year of ours. In year 4, 7,200 m² are planned and 6,000 m² are sold. "
        "This limit binds in one year.",
    ]
    assert list(large_plans(limited(), results)) == ["sales plan 72 % of markets.skin.volume in a year, much for a newcomer"]
    assert plan_report.markets_that_bind(planned(), evaluate(planned())) == []


REFUSED = {
    "a market that is not there": (
        lambda: limited_inputs().cell("sales.csv", "near", "market", "plian"),
        ["sales.csv, row 2, column 'market': found 'plian'; allowed: an id of markets.csv, or 'unlimited'; did you mean 'plain'?"],
    ),
    "no market at all": (
        lambda: limited_inputs().cell("sales.csv", "near", "market", ""),
        ["sales.csv, row 2, column 'market': found nothing; allowed: the market that limits what can be sold to it"],
    ),
    "a market called unlimited": (
        lambda: limited_inputs()
        .cell("markets.csv", "none", "id", "unlimited")
        .cell("coverings.csv", "none_ours", "market", "unlimited")
        .cell("coverings.csv", "none_reference", "market", "unlimited"),
        ["markets.csv, row 3, column 'id': found 'unlimited', which stands for sales that no market limits; allowed: any other id"],
    ),
    "more than all of a market": (
        lambda: limited_inputs().cell("markets.csv", "skin", "most_share", "120"),
        ["markets.csv, row 4, column 'most_share': found 120 %; allowed: a number from 0 to 100 [%]"],
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_bad_markets_are_refused(name):
    change, messages = REFUSED[name]
    assert faults(change().load) == messages


def test_a_price_above_the_highest_of_its_market_is_said_in_each_unit():
    case = limited()  # a module of 30 W on 0.5 m2: 60 W per m2
    most = evaluate(case).market.by_market["skin"].highest_price
    name = next(name for name, row in case.sales.items() if row.market == "skin")
    for per, watts in (("Wp_stabilised", 1.0), ("m2", 60.0), ("module", 30.0)):
        for factor, above in ((0.999, False), (1.001, True)):
            row = dataclasses.replace(case.sales[name], price=abs(most) * watts * factor, per=per, currency=case.currency)
            sold = dataclasses.replace(case, sales={name: row})
            (found,) = sale_prices(sold, evaluate(sold))
            assert found.highest == near(most * watts)
            assert found.too_high == above
            assert bool(plan_report.prices_above_markets(sold, evaluate(sold))) == above


def test_a_price_that_is_not_the_one_asked_looks_odd():
    case = limited()
    name = next(name for name, row in case.sales.items() if row.market == "skin")
    asked = case.markets["skin"].asked_price  # per m2, at 60 W per m2
    for factor, odd in ((1.0, 0), (1.049, 0), (1.051, 1), (0.949, 1)):
        row = dataclasses.replace(case.sales[name], price=asked / 60 * factor, per="Wp_stabilised", currency=case.currency)
        sold = dataclasses.replace(case, sales={name: row})
        assert sum("asked_price" in words for words in odd_prices(sold, evaluate(sold))) == odd
