"""Light soaking: the error of a rating, the sample it needs, dose and days, claims, stock, and modules that are rated again.

By hand for the line in batch.py: a quarter of a lot of 48 is soaked, 12. Within a lot 4 % x sqrt((1 - 12/48) / 12) = 1 %; the
random part of the measurement 6 % / sqrt(12) = sqrt(3) %; the common part 1.5 %. Together sqrt(1 + 3 + 2.25) % = 2.5 %.
"""
from __future__ import annotations

import dataclasses
import math
from math import exp, pi, sqrt

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.case.whole_case import Case
from costmodel.core.operations import normal_quantile, student_t_quantile
from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.soaking_costs import expected_shortfall
from costmodel.model.ledger.soaking_sample import LOOKED_AT, least_half_width, lot_error, sample_size
from costmodel.model.line.seasons import stays
from costmodel.model.line.soaking import intervals
from costmodel.present import soaking_report
from costmodel.studies.factory.averaging import running_means
from costmodel.studies.factory.odd_figures import soaked_too_few

from .batch import batch, batch_inputs
from .cases import FIELD, demo
from .refusals import faults

HOUR, KWH = 3600.0, 3.6e6


def near(value: float):
    """Equal but for the rounding of floating-point numbers."""
    return pytest.approx(value, rel=1e-12)


def row(**values):
    """The plan of the batch line with other values."""
    return dataclasses.replace(batch().soaking["rating"], **values)


def plain(**values):
    """A plan whose only error is the spread of an all but endless lot: 5 % wanted to 1 %."""
    usual = {"lot": 1e12, "spread": 0.05, "precision": 0.01, "measurement_random": 0.0, "measurement_common": 0.0}
    return row(**{**usual, **values})


@pytest.fixture(scope="module")
def results():
    return evaluate(batch())


@pytest.fixture(scope="module")
def plan(results):
    return results.ledger.soaking["rating"]


# the error of a rating


def test_the_parts_of_the_uncertainty_add_up_as_squares(plan):
    error = plan.rating.error
    assert (error.within_lot, error.measurement_random) == (near(0.01), near(sqrt(3) / 100))
    assert (error.between_lots, error.measurement_common) == (0.0, near(0.015))
    assert error.standard == near(0.025)
    assert error.half_width == pytest.approx(0.05, rel=1e-9)  # 95.45 % of a normal distribution is within 2 of its mean
    assert plan.rating.precision_met == 0.0


def test_what_is_soaked_whole_is_left_with_the_errors_of_measurement():
    found = evaluate(with_values(batch(), {"steps.soak.processed_share": 1.0})).ledger.soaking["rating"].rating
    assert found.error.within_lot == 0.0
    assert found.error.standard == near(sqrt(0.06**2 / 48 + 0.015**2))
    assert found.error.half_width == near(found.least_half_width)


def test_the_mean_of_four_lots_quarters_what_is_random_and_lags_behind_the_lots():
    # (1 + 3) / 4 + 3^2 x (1 - 1/4) + 2.25 = 1 + 6.75 + 2.25 = 10, in squares of 1 %
    found = lot_error(row(lots_averaged=4.0), 12.0, 0.015)
    assert (found.within_lot, found.measurement_random) == (near(0.005), near(sqrt(0.75) / 100))
    assert (found.between_lots, found.standard) == (near(sqrt(6.75) / 100), near(sqrt(10) / 100))


@pytest.mark.parametrize(("soaked", "table"), [(10.0, 2.262), (20.0, 2.093), (2.0, 12.706), (11.7, 2.228)])
def test_a_spread_from_the_sample_takes_student_s_factor(soaked, table):
    # t tables at 97.5 %, from memory: 9, 19, 1 and 10 degrees of freedom
    found = lot_error(plain(spread_known="from_sample", coverage_probability=0.95), soaked, 0.0)
    assert round(found.coverage_factor, 3) == table
    assert found.half_width == near(found.coverage_factor * 0.05 / sqrt(soaked))
    given = lot_error(plain(coverage_probability=0.95), soaked, 0.0)
    assert round(given.coverage_factor, 3) == 1.96


def test_degrees_of_freedom_grow_with_what_is_known_otherwise():
    # spread 4 % of 16 modules is 1 %, as is the common part: u^2 = 2 u_s^2, so (16 - 1) x 2^2 = 60 degrees of freedom; 2.000 in
    # t tables, from memory
    found = lot_error(plain(spread=0.04, spread_known="from_sample", coverage_probability=0.95), 16.0, 0.01)
    assert round(found.coverage_factor, 3) == 2.0
    # the mean of three lots pools their samples: 3 x (6 - 1) = 15 degrees of freedom; 2.131
    pooled = plain(spread_known="from_sample", coverage_probability=0.95, lots_averaged=3.0, lot_to_lot=0.0)
    assert round(lot_error(pooled, 6.0, 0.0).coverage_factor, 3) == 2.131


@pytest.mark.parametrize("lots", [1, 3])
def test_the_error_of_a_rating_is_that_of_lots_drawn_at_random(lots):
    """A second opinion: lots of 40 modules, 10 of them measured, with an error of each and one of all measurements of a draw."""
    random, count, lot, soaked = np.random.default_rng(20261128), 40_000, 40, 10
    spread, between, each, common = 0.03, 0.012, 0.02, 0.008
    modules = between * random.standard_normal((count, lots, 1)) + spread * random.standard_normal((count, lots, lot))
    measured = modules[:, :, :soaked] + each * random.standard_normal((count, lots, soaked))
    rated = measured.mean(axis=(1, 2)) + common * random.standard_normal(count)
    off = rated - modules[:, -1].mean(axis=1)
    true_means = sqrt(between**2 + spread**2 / lot)  # a lot's own modules are in its true mean
    known = row(lot=float(lot), spread=spread, measurement_random=each, lots_averaged=float(lots), lot_to_lot=true_means)
    wanted = lot_error(known, float(soaked), common).standard
    assert off.std() == pytest.approx(wanted, abs=4 * wanted / sqrt(2 * count))


# the sample


def test_a_sample_for_the_wanted_precision(plan):
    # (4 % / 2)^2 - 1.5^2 = 1.75: (16 + 36) / (1.75 + 16 / 48) = 24.96, so 25; without the common part 52 / (4 + 16 / 48) = 12
    assert (plan.rating.sample_needed, plan.rating.sample_for_random) == (25.0, 12.0)
    assert (plan.rating.sample_needed_status, plan.rating.sample_for_random_status) == (1.0, 1.0)
    # 5 % to 1 % with a factor of 2 takes 100 of an endless lot; of a lot of 100, 100 / (1 + 100 / 100) = 50
    assert (sample_size(plain(), 0.0), sample_size(plain(lot=100.0), 0.0)) == (100.0, 50.0)
    # the mean of four like lots takes a quarter
    assert sample_size(plain(lots_averaged=4.0, lot_to_lot=0.0), 0.0) == 25.0


def test_a_precision_that_no_sample_reaches_is_a_status_beside_no_value():
    # the common part alone is twice 2.5 % = 5 % where 4 % is wanted
    found = evaluate(with_values(batch(), {"soaking.rating.measurement_common": 0.025})).ledger.soaking["rating"].rating
    assert math.isnan(found.sample_needed)
    assert (found.sample_needed_status, found.precision_met) == (0.0, 0.0)
    assert found.least_half_width == pytest.approx(2 * sqrt(0.06**2 / 48 + 0.025**2), rel=1e-9)
    assert (found.sample_for_random, found.sample_for_random_status) == (12.0, 1.0)
    # so may the random part be too large for the lot, 20 % / sqrt(48) = 2.9 %, or lots that differ by 3 %, averaged
    for changes in ({"measurement_random": 0.2}, {"lots_averaged": 100.0}):
        assert math.isnan(sample_size(row(**changes), 0.0))


@pytest.mark.parametrize(("precision", "size"), [(0.0062, 13.0), (0.0092, 8.0), (0.013, 5.0), (0.0226, 4.0), (0.05, 3.0)])
def test_a_sample_with_student_s_factor_by_hand(precision, size):
    # t / sqrt(n), t tables from memory: 4.303 / 1.732 = 2.484 for 3, 3.182 / 2 = 1.591 for 4, 2.776 / 2.236 = 1.241 for 5,
    # 2.447 / 2.646 = 0.925 for 7, 2.365 / 2.828 = 0.836 for 8, 2.201 / 3.464 = 0.635 for 12, 2.179 / 3.606 = 0.604 for 13
    known = plain(spread=0.01, precision=precision, spread_known="from_sample", coverage_probability=0.95)
    assert sample_size(known, 0.0) == size


@pytest.mark.parametrize("probability", [0.6, 0.9, 0.95, 0.99, 0.999])
@pytest.mark.parametrize("others", [{}, {"measurement_random": 0.01}, {"lots_averaged": 3.0, "lot_to_lot": 0.004}, {"lot": 30.0}])
def test_a_sample_with_student_s_factor_is_the_least_that_reaches_the_precision(probability, others):
    """Against a search over all sizes, for precisions from coarse to fine."""
    looked = 0
    for precision in np.geomspace(0.0045, 0.2, 60):
        known = plain(spread=0.02, spread_known="from_sample", coverage_probability=probability, **others)
        known = dataclasses.replace(known, precision=float(precision))
        for common in (0.0, 0.002):
            found = sample_size(known, common)
            most = int(min(known.lot, 400))
            least = next((n for n in range(2, most + 1) if lot_error(known, float(n), common).half_width <= precision), 0)
            if least or known.lot < 400:
                assert found == least or least_half_width(known, common) > precision
                looked += 1
    assert looked > 50


def test_one_size_less_than_looked_at_would_not_do():
    # z = 3.29 for 99.9 %: (z^2 + 1) / 2 = 5.9 sizes above the normal one, and a fraction
    least = [
        next(n for n in range(2, 999) if student_t_quantile(0.9995, n - 1.0) / sqrt(n) <= e)
        - max(2, -(-(normal_quantile(0.9995) / e) ** 2 // 1))
        for e in np.geomspace(0.2, 20, 400)
    ]
    assert 5 <= max(least) < LOOKED_AT


def test_few_soaked_modules_are_odd_and_enough_are_not():
    # (2.2^2 + 0.5^2) / (4 ((1 / 1.96)^2 - 0.4^2 x 3 / 4) + 2.2^2 / 1000) = 8.99, so 9
    field = with_values(load_case(FIELD), {"soaking.rating.precision": 0.01})
    assert list(soaked_too_few(field, evaluate(field))) == [
        "soaking.rating soaks 6 modules of a lot, the precision of 1 % takes 9"]
    assert list(soaked_too_few(demo(), evaluate(demo()))) == []
    coarse = with_values(demo(), {"soaking.rating.measurement_random": 0.5, "soaking.rating.precision": 0.01})
    assert list(soaked_too_few(coarse, evaluate(coarse))) == [
        "soaking.rating soaks 6 modules of a lot, the precision of 1 % is out of reach of any sample"]


# dose and days


def powers(ratio: float, interval: float, constant: float, count: int) -> list[float]:
    """Power over initial power after each interval of dose, the first before any."""
    return [ratio + (1 - ratio) * exp(-interval * k / constant) for k in range(count + 1)]


def test_intervals_until_three_measurements_are_alike_by_hand(results):
    # half of the loss still to come goes in each interval; 0.75 + 0.25 / 2^k: 0.78125, 0.765625, 0.7578125, 0.75390625 after 3 to 6
    # (0.78125 - 0.7578125) / 0.76823 = 3.05 %, (0.765625 - 0.75390625) / 0.75911 = 1.54 %: within 2 % after 6
    found = results.line.soaking["rating"]
    assert found.intervals == 6.0
    assert found.dose == near(6 * KWH)
    assert found.residual == near(0.25 / 64 / 0.75)


@pytest.mark.parametrize("ratio", [0.4, 0.65, 0.79, 0.9, 0.99, 1.0])
@pytest.mark.parametrize("constant", [10.0, 60.0, 90.0, 400.0])
def test_intervals_follow_the_rule_measurement_by_measurement(ratio, constant):
    measured = powers(ratio, 43.0, constant, 300)
    stable = next(k for k in range(300) if (measured[k] - measured[k + 2]) / (sum(measured[k:k + 3]) / 3) <= 0.02)
    known = row(interval_dose=43 * KWH, dose_constant=constant * KWH)
    assert intervals(known, ratio) == stable + 2


def test_lamps_take_dose_over_irradiance_beside_the_time_to_handle_a_load(results):
    # 6 kWh/m2 are 4 h at 1.5 kW/m2 and 8 h at half of that, 6 h in the mean; and 2 h of handling
    cycle = results.line.steps["soak"].cycle
    assert (cycle.soaking_time, cycle.process_time, cycle.time) == (near(6 * HOUR), near(2 * HOUR), near(8 * HOUR))
    twice = {"soaking_light.lamps.irradiance": 3000.0, "soaking_light.old_lamps.irradiance": 1500.0}
    bright = evaluate(with_values(batch(), twice)).line
    assert bright.steps["soak"].cycle.time == near(5 * HOUR)
    assert bright.tools["rack"].busy_time == near(results.line.tools["rack"].busy_time * 5 / 8)


def in_the_sun() -> Case:
    """The batch line with a summer of 6 kWh/m2 a day, and the rest of the year at 2."""
    inputs = batch_inputs().cell("soaking_light.csv", "lamps", "clock", "calendar")
    inputs.cell("soaking_light.csv", "lamps", "part_of_year", "25").cell("soaking_light.csv", "lamps", "irradiance", "0.25")
    inputs.drop_row("soaking_light.csv", "old_lamps")
    return inputs.row("soaking_light.csv", "rest,rest,rating,75,0.08333333333333333,calendar").load()


def test_the_sun_gives_days_by_season_and_shines_when_no_production_is_scheduled():
    # 6 kWh/m2: 1 day from the first of summer, 3 from the first of the rest. Put out less than a day s before the end of summer, a
    # module takes 3 - 2 s instead of 1, 1 day^2 more in all; less than 3 before the end of the rest 1 + 2 s / 3 instead of 3,
    # 3 day^2 less. So the mean is 0.25 x 1 + 0.75 x 3 - 2 / 365 days
    results = evaluate(in_the_sun())
    found = results.line.soaking["rating"]
    assert [time / HOUR for time in found.times.values()] == [near(24), near(72)]
    assert (found.shortest, found.longest) == (near(24 * HOUR), near(72 * HOUR))
    mean = 24 * (2.5 - 2 / 365) * HOUR
    assert (found.time, found.calendar_time) == (near(mean), near(mean))
    # in 1,000 h of 8,760 in which production is scheduled
    assert found.scheduled_time == near(mean * 1000 / 8760)
    # so racks hold the modules that come in this time, and in 2 h of the scheduled time: 5,400 passes in loads of 20
    rack = results.line.tools["rack"]
    assert rack.busy_time == near(5400 / 20 * (mean * 1000 / 8760 + 2 * HOUR))
    # they are counted by the 72 h at the peak, in the 90 % of 1,000 h in which a rack is available
    assert rack.tools_needed == near(5400 / 20 * (72 * 1000 / 8760 + 2) / 900)
    assert rack.peak_loading == near(rack.tools_needed / rack.tools)
    stock = results.ledger.soaking["rating"].stock
    assert stock.waiting_time == near(mean + 2 * HOUR * 8.76)
    assert stock.waiting == near(21_600 * (mean / HOUR + 2 * 8.76) / 8760)


def test_days_of_the_demo_outdoors_go_from_the_best_season_to_the_worst():
    case = load_case("inputs_demo/facade", {"soaking": "all_outdoor"})
    found = evaluate(case).line.soaking["rating"]
    # 7 intervals of 43 kWh/m2 are 301: at least 301 / 5.6 = 53.75 days in summer; at most all of winter, 91.25 days at 1.6, and
    # before it 301 - 146 = 155 kWh/m2 of autumn at 2.9
    assert found.shortest / 86400 == near(301 / 5.6)
    assert found.longest / 86400 == near(91.25 + 155 / 2.9)
    # from the first of spring 301 / 4.1; of autumn 91.25 x 2.9 = 264.625, and 36.375 at 1.6; of winter 146, and 155 at 4.1
    autumn, winter = 91.25 + 36.375 / 1.6, 91.25 + 155 / 4.1
    assert [time / 86400 for time in found.times.values()] == [near(x) for x in (301 / 4.1, 301 / 5.6, autumn, winter)]
    assert soaking_report.days(case, evaluate(case)).endswith("That takes 53.7 to 145 calendar days by season, 92.3 on average.")


@pytest.mark.parametrize("dose", [40.0, 301.0, 700.0, 1000.0, 1300.0, 2950.0])
@pytest.mark.parametrize("light", [[(0.25, 4.1), (0.25, 5.6), (0.25, 2.9), (0.25, 1.6)], [(0.5, 6.0), (0.2, 1.0), (0.3, 3.5)]])
def test_stays_through_the_seasons_are_those_of_a_walk_day_by_day(dose, light):
    steps = 20_000  # of a year
    each = np.concatenate([np.full(round(part * steps), daily * 365 / steps) for part, daily in light])
    put_in = np.concatenate([[0.0], np.cumsum(np.tile(each, 6))])
    taken = np.array([np.searchsorted(put_in, put_in[start] + dose) - start for start in range(steps)]) * 365 / steps
    found = stays(dose, [daily for _, daily in light], [part for part, _ in light], 365.0)
    step = 1.1 * 365 / steps
    for stay, walked in ((found.mean, taken.mean()), (found.shortest, taken.min()), (found.longest, taken.max())):
        assert stay == pytest.approx(walked, abs=step)


def test_a_plan_with_lamps_and_sun_is_refused():
    inputs = batch_inputs().cell("soaking_light.csv", "old_lamps", "clock", "calendar")
    assert faults(inputs.load) == ["soaking_light.csv, row 3, column 'clock': found 'calendar' beside 'scheduled'; allowed: "
                                   "'scheduled' in all rows of 'rating'"]


# modules that are rated again


def rated_again() -> Case:
    """The batch line with another pass at the stamp for the soaked modules, of which four in five are looked at."""
    inputs = batch_inputs().row("steps.csv", "again,Rate again,back,stamp,360,100,90,0,0,0,80")
    inputs.cell("soaking.csv", "rating", "retest", "again").cell("materials.csv", "box", "step", "again")
    return inputs.load()


def test_soaked_modules_take_the_time_of_the_tester():
    # 80 % of a quarter: 20 % of 19,440 / 0.98 modules that come, 10 % of those lost, so 98 % are good
    line = evaluate(rated_again()).line
    again = line.steps["again"]
    assert (again.starts, again.passes) == (near(19_440 / 0.98), near(19_440 / 0.98 * 0.2))
    assert again.busy_time == near(19_440 / 0.98 * 0.2 / 10 * 360)
    assert line.tools["stamp"].busy_time == near(line.steps["press"].busy_time + again.busy_time)


def test_twice_the_soaked_modules_are_twice_those_rated_again():
    case = rated_again()
    more = evaluate(with_values(case, {"steps.soak.processed_share": 0.5})).line.steps["again"]
    less = evaluate(case).line.steps["again"]
    assert more.passes / more.starts == near(2 * less.passes / less.starts)


def test_what_rating_again_costs_is_in_the_plan_of_soaking():
    ledger = evaluate(rated_again()).ledger
    assert ledger.soaking["rating"].step_cost == near(ledger.by_step["soak"].cost + ledger.by_step["again"].cost)


# claims and stock


def test_the_expected_shortfall_is_the_normal_loss(plan):
    # closed form at 0: 1 / sqrt(2 pi); at 1: 0.0833155, standard normal loss table, from memory
    assert expected_shortfall(0.01, 0.0) == near(0.01 / sqrt(2 * pi))
    assert expected_shortfall(1.0, 1.0) == pytest.approx(0.0833155, rel=0, abs=0.5e-7)
    # the tolerance of 2.5 % is one standard uncertainty; 4 USD x 0.5 for each of 583,200 W
    assert plan.rating.shortfall == pytest.approx(0.025 * 0.0833155, rel=0, abs=1.25e-9)
    assert plan.claims == pytest.approx(2 * 0.025 * 0.0833155 * 583_200, rel=0, abs=1.25e-9 * 2 * 583_200)


def strict() -> Case:
    """The demo with 20 of each 1,000 modules soaked, each lot rated by itself to 1 %."""
    alone = {"steps.soak.processed_share": 0.02, "soaking.rating.lots_averaged": 1.0, "soaking.rating.precision": 0.01}
    return with_values(demo(), alone)


def test_claims_of_the_demo_with_the_uncertainty_of_its_guarantee():
    # u^2 = 2.2^2 x 0.98 / 20 + 0.5^2 / 20 + 1.2^2 = 0.23716 + 0.0125 + 1.44 = 1.2999^2; tolerance 0.5 / 1.2999 = 0.3847;
    # density 0.37049, 1 - Phi = 0.35025: 1.2999 x 0.37049 - 0.5 x 0.35025 = 0.30647 %; x 9 MW x 3.1 EUR
    assert demo().soaking["rating"].measurement_common == demo().guarantees["power"].measurement
    assert evaluate(strict()).ledger.soaking["rating"].claims == pytest.approx(0.0030647 * 9e6 * 3.1, rel=1e-4)


def test_modules_that_wait_for_their_rating_tie_up_money(plan, results):
    # 21,600 modules a year wait 8 h of 1,000 h: 172.8 of them, by the calendar 8 x 8.76 h; 8 % a year on what they have cost
    so_far = results.ledger.route["soak"].cost_so_far
    assert (plan.stock.waiting_time / HOUR, plan.stock.waiting) == (near(70.08), near(172.8))
    assert plan.stock.money_tied_up == near(172.8 * so_far)
    assert plan.holding == near(172.8 * so_far * 0.08)


def test_modules_that_wait_for_their_rating_have_cost_nothing_of_the_steps_after_it():
    case = rated_again()  # the step after soaking takes electricity
    longer = with_values(case, {"steps.again.process_time": 2 * case.steps["again"].process_time})
    (short, power), (long, more) = ((found.soaking["rating"].stock, found.lines["tool_utilities.stamp_electricity.again"].variable)
                                    for found in (evaluate(case).ledger, evaluate(longer).ledger))
    assert more > 1.5 * power > 0.0
    assert long.variable_share * long.money_tied_up == near(short.variable_share * short.money_tied_up)


def test_claims_and_interest_are_lines_of_the_ledger_and_in_its_total(plan, results):
    ledger = results.ledger
    claims, holding = (ledger.lines[f"soaking.rating.{name}"] for name in ("claims", "holding"))
    assert (claims.cost, holding.cost) == (plan.claims, plan.holding)
    assert {(line.step, line.category, line.loss) for line in (claims, holding)} == {("plant", "overheads", "none")}
    assert claims.variable_share == 1.0
    none = evaluate(with_values(batch(), {"soaking.rating.claim": 0.0, "soaking.rating.holding_rate": 0.0})).ledger
    assert ledger.total.cost - none.total.cost == pytest.approx(plan.claims + plan.holding, rel=1e-9)
    assert {name: value.cost_so_far for name, value in none.route.items()} == {
        name: value.cost_so_far for name, value in ledger.route.items()}
    assert plan.cost_and_risk == near(ledger.by_step["soak"].cost + plan.claims + plan.holding)
    assert plan.cost_and_risk_per_stabilised_watt == near(plan.cost_and_risk / 583_200)


def test_the_plan_pays_claims_and_has_the_stock_as_working_capital_without_interest():
    plan = evaluate(demo()).plan
    dearer = evaluate(with_values(demo(), {"soaking.rating.holding_rate": 0.5 / 31_536_000})).plan
    assert dearer.project == plan.project
    claims = evaluate(demo()).ledger.soaking["rating"].claims
    without = evaluate(with_values(demo(), {"soaking.rating.claim": 0.0})).plan
    assert plan.costs["overheads"].for_good - without.costs["overheads"].for_good == pytest.approx(claims, rel=1e-9)
    # a wait longer by 10 days by the calendar is as if finished modules waited 10 days more
    days = 10 * 86_400.0
    own = demo().steps["soak"].process_time
    handled = with_values(demo(), {"steps.soak.process_time": own + days * 7800 / 8760, "tools.soak_rack.load_size": 1e9})
    stored = with_values(demo(), {"tools.soak_rack.load_size": 1e9,
                                  "working_capital.finished_time": demo().plan.working_capital.finished_time + days})
    quick, slow = ([quarter.stock for quarter in evaluate(case).plan.quarters.values()] for case in (handled, stored))
    assert quick == pytest.approx(slow, rel=1e-3)


# words


def test_it_is_said_what_keeps_a_rating_from_its_precision(results):
    assert soaking_report.precision(batch(), results) == "12 of 48 modules rate a lot to ± 5.00 %. The required ± 4.00 % needs 25."
    fine = with_values(batch(), {"soaking.rating.precision": 0.06})
    assert soaking_report.precision(fine, evaluate(fine)).endswith("rate a lot to ± 5.00 %, within the required ± 6.00 %.")
    coarse = with_values(batch(), {"soaking.rating.measurement_common": 0.025})
    assert soaking_report.precision(coarse, evaluate(coarse)).endswith(
        "No sample reaches the required ± 4.00 %: lots soaked whole are rated to ± 5.29 %. "
        "The largest part is the systematic uncertainty of the measurement, 2.50 %.")


def test_running_means_are_those_of_the_model():
    found = running_means(strict(), "rating")
    assert [each.lots for each in found] == [1.0, 2.0, 4.0, 8.0]
    other = evaluate(with_values(strict(), {"soaking.rating.lots_averaged": 4.0})).ledger.soaking["rating"]
    assert math.isnan(found[2].plan.rating.sample_needed)
    assert math.isnan(other.rating.sample_needed)
    ratings = [dataclasses.replace(plan.rating, sample_needed=0.0) for plan in (found[2].plan, other)]
    assert ratings[0] == ratings[1]
    assert dataclasses.replace(found[2].plan, rating=ratings[0]) == dataclasses.replace(other, rating=ratings[0])
    # (2.2^2 + 0.5^2) / (8 ((1 / 1.96)^2 - 0.4^2 x 7 / 8) + 2.2^2 / 1000) = 5.28, so 6 instead of 20
    assert [found[0].plan.rating.sample_for_random, found[3].plan.rating.sample_for_random] == [20.0, 6.0]
