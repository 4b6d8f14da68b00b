"""Power classes: shares and labels by hand, against draws and against counting; what the plan earns; refusals; words."""

from __future__ import annotations

import dataclasses
from statistics import NormalDist

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.power_class_records import MeasuredPower, PowerClass, PowerSpread
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.fields import YEAR
from costmodel.model.evaluate import evaluate
from costmodel.model.line.power_classes import above_by_count, above_by_spread
from costmodel.present import charts, power_report
from costmodel.studies.factory.class_limits import class_limits
from costmodel.studies.factory.power_bins import power_bins

from .batch import batch, batch_inputs
from .cases import table, tiny
from .plans import plan_inputs, planned

PART_BELOW, DENSITY = 0.158655, 0.241971  # standard normal distribution at -1: tables of any textbook of statistics
CLASSES = """
id,title,least_power [Wp_stabilised/module],label [Wp_stabilised/module],price_share [%]
second,second grade,28.5,28,50
first,first,31.5,31,110
"""
SPREAD = """
id,title,module_spread [%],repeatability [%]
pilot,modules of a pilot line,5,0
"""


def with_classes(inputs):
    inputs.tables |= {"power_classes.csv": table(CLASSES), "power_spread.csv": table(SPREAD)}
    return inputs


def test_shares_labels_and_what_is_given_away_by_hand():
    """30 W on average, 5 % of spread, limits one standard deviation below and above."""
    case = with_classes(batch_inputs()).load()
    sold = evaluate(case).line.power
    second, first = sold.classes["second"], sold.classes["first"]
    middle = 1 - 2 * PART_BELOW
    assert second.module_share == pytest.approx(middle, abs=1e-6)
    assert second.mean_power == pytest.approx(30.0, abs=1e-4)
    assert first.module_share == pytest.approx(PART_BELOW, abs=1e-6)
    assert first.mean_power == pytest.approx(30.0 + 1.5 * DENSITY / PART_BELOW, abs=1e-4)
    assert first.modules == pytest.approx(19440.0 * PART_BELOW, abs=0.02)
    assert sold.unsold_share == pytest.approx(PART_BELOW, abs=1e-6)
    labelled = 28 * middle + 31 * PART_BELOW
    assert sold.labelled_power == pytest.approx(labelled, abs=1e-4)
    assert sold.give_away == pytest.approx(30 * (1 - PART_BELOW) + 1.5 * DENSITY - labelled, abs=1e-4)
    assert sold.unsold_power == pytest.approx(30 * PART_BELOW - 1.5 * DENSITY, abs=1e-4)
    assert sold.paid_power == pytest.approx(0.5 * 28 * middle + 1.1 * 31 * PART_BELOW, abs=1e-4)
    assert sold.paid_share_of_modules == pytest.approx(0.5 * middle + 1.1 * PART_BELOW, abs=1e-6)


def test_a_rating_that_errs_puts_weaker_modules_into_a_class_as_draws_do():
    rng = np.random.default_rng(7)
    power = 40 * (1 + 0.03 * rng.standard_normal(1_000_000))
    rated = power + 40 * 0.02 * rng.standard_normal(1_000_000)
    for limit in (38.0, 40.0, 42.0):
        found = above_by_spread(40.0, PowerSpread("", 0.03, 0.02), limit)
        assert found.share == pytest.approx(np.mean(rated >= limit), abs=0.002)  # four standard errors of the draws
        assert found.power == pytest.approx(np.mean(power * (rated >= limit)), abs=0.08)


def test_counting_many_modules_of_a_normal_spread_comes_to_the_closed_form():
    from scipy.stats import norm

    powers = [MeasuredPower("", 35 * (1 + 0.03 * z)) for z in norm.ppf((np.arange(20_000) + 0.5) / 20_000)]
    for limit in (38.0, 40.0, 41.5):  # they move with the mean of the case, from 35 to 40 W
        counted, closed = above_by_count(40.0, powers, limit), above_by_spread(40.0, PowerSpread("", 0.03, 0.0), limit)
        assert counted.share == pytest.approx(closed.share, abs=1e-4)
        assert counted.power == pytest.approx(closed.power, abs=4e-3)


def test_a_module_measured_at_the_least_power_of_a_class_is_in_it():
    found = above_by_count(40.0, [MeasuredPower("", 18.0), MeasuredPower("", 22.0)], 44.0)  # 36 and 44 W at a mean of 40
    assert (found.share, found.power) == (0.5, 22.0)


def test_without_classes_customers_pay_for_all_that_is_made():
    sold = evaluate(tiny()).line.power
    assert (sold.labelled_power, sold.give_away, sold.unsold_share) == (30.0, 0.0, 0.0)
    assert (sold.paid_share_of_power, sold.paid_share_of_modules) == (1.0, 1.0)


def test_the_plan_earns_what_labels_say():
    """Revenue of each quarter follows the labelled watts at the prices of their classes; the cost stays."""
    plain, labelled = planned(), with_classes(plan_inputs()).load()
    before, after = evaluate(plain), evaluate(labelled)
    assert {row.per for row in plain.sales.values()} == {"Wp_stabilised"}
    middle = 1 - 2 * PART_BELOW
    paid = (0.5 * 28 * middle + 1.1 * 31 * PART_BELOW) / 30
    for was, now in zip(before.plan.quarters.values(), after.plan.quarters.values()):
        assert now.revenue == pytest.approx(was.revenue * paid, rel=1e-5)
        assert (now.variable_cost, now.fixed_cost) == (was.variable_cost, was.fixed_cost)
    label = 28 * middle + 31 * PART_BELOW
    assert after.ledger.cost_per_labelled_watt == pytest.approx(before.ledger.total.cost_per_stabilised_watt * 30 / label, rel=1e-5)


def test_a_royalty_per_watt_is_paid_on_labels():
    """0.05 a watt, no other royalty and no cap: that on the labels of what is sold, second grade included."""
    case = with_classes(plan_inputs()).load()
    change = {"licence.royalty": 0.0, "licence.royalty_per_watt": 0.05, "licence.per_watt_change": 0.0, "licence.royalty_cap": 1.0}
    change["licence.term"] = 10 * YEAR
    results = evaluate(with_values(case, change))
    plan = results.plan
    label = 28 * (1 - 2 * PART_BELOW) + 31 * PART_BELOW
    full = [q for q in plan.quarters.values() if q.running_share == 1.0][4]
    rate = {row.code: row.exchange_rate for row in case.money.values()}[case.deal.licence.currency]
    paid = sum(each.quarters[name] for key, each in plan.payments.items() if key == "royalty"
               for name, quarter in plan.quarters.items() if quarter is full)  # fmt: skip
    gross = 1 + case.payment_kinds["licence"].withholding * case.payment_kinds["licence"].gross_up if case.payment_kinds else 1.0
    assert paid == pytest.approx(full.stabilised_watts / 30 * label * 0.05 * rate * gross, rel=1e-5)
    watts = sum(quarter.stabilised_watts for quarter in plan.quarters.values())
    earned = sum(each.earned for each in results.deal.years.values())  # on which the minimum looks, before any gross-up
    assert earned == pytest.approx(watts / 30 * label * 0.05 * rate, rel=1e-5)


def test_modules_that_are_sold_by_area_are_paid_by_the_price_of_their_class():
    inputs = plan_inputs()
    for row in inputs.tables["sales.csv"][1:]:
        inputs.cell("sales.csv", row[0], "per", "m2")
    before, after = evaluate(inputs.load()), evaluate(with_classes(inputs).load())
    paid = 0.5 * (1 - 2 * PART_BELOW) + 1.1 * PART_BELOW
    assert after.plan.project.npv < before.plan.project.npv
    for was, now in zip(before.plan.quarters.values(), after.plan.quarters.values()):
        assert now.revenue == pytest.approx(was.revenue * paid, rel=1e-5)


def test_a_class_that_no_module_reaches_has_no_mean_power_and_a_watt_that_is_not_sold_no_cost():
    case = with_values(with_classes(batch_inputs()).load(), {"power_classes.first.least_power": 60.0})
    first = evaluate(case).line.power.classes["first"]
    assert (first.module_share, first.mean_power_status) == (0.0, 0.0)
    assert np.isnan(first.mean_power)
    rows = {"only": PowerClass("only", 60.0, 60.0, 1.0)}
    found = evaluate(dataclasses.replace(case, power_classes=rows)).ledger
    assert found.cost_per_labelled_watt_status == 0.0
    assert np.isnan(found.cost_per_labelled_watt)


@pytest.mark.parametrize(("change", "said"), [
    (lambda i: i.cell("power_classes.csv", "first", "least_power", "28.5"),
     "power_classes.csv, row 3, column 'least_power': found a power at or below that of the row above; allowed: rows in the order "
     "of their least power"),
    (lambda i: i.tables.pop("power_spread.csv"),
     "power_classes.csv, row 2, column 'id': found classes without power_spread.csv and measured_powers.csv; allowed: one of "
     "these, which tells how modules differ"),
    (lambda i: i.tables.update({"measured_powers.csv": table("id,title,power [Wp_stabilised/module]\na,a,30")}),
     "power_spread.csv, row 2, column 'id': found measured_powers.csv beside it; allowed: one of the two: a spread, or powers that "
     "were measured"),
    (lambda i: i.row("power_spread.csv", "more,more,3,0"),
     "power_spread.csv, row 3, column 'id': found a second row; allowed: one row"),
    (lambda i: i.tables.pop("power_classes.csv"),
     "power_spread.csv, row 2, column 'id': found no power_classes.csv and no guarantees.csv; allowed: classes or a guarantee "
     "that use it"),
])  # fmt: skip
def test_refusals(change, said):
    inputs = with_classes(batch_inputs())
    change(inputs)
    with pytest.raises(InputFaults) as refused:
        inputs.load()
    assert said in str(refused.value)


def test_words_say_what_is_given_away_and_what_is_not_sold():
    case = with_classes(batch_inputs()).load()
    said = power_report.classes(case, evaluate(case))
    assert "30.0 W on average after light soaking" in said
    assert "16 % of the good modules stay below the first class, and are not sold." in said
    assert power_report.classes(tiny(), evaluate(tiny())) == power_report.NO_CLASSES
    low = with_values(case, {"power_classes.second.label": 31.0, "power_classes.first.label": 36.0})
    assert "So labels promise" in power_report.classes(low, evaluate(low))


def test_the_chart_shows_every_module_once_in_the_colours_of_what_is_sold():
    case = with_classes(batch_inputs()).load()
    bins = power_bins(case, evaluate(case))
    assert sum(each.share for each in bins) == pytest.approx(1.0, abs=1e-3)
    drawn = charts.class_bars(case, bins)
    sold, unsold = (sum(trace["y"]) for trace in drawn["data"])
    assert unsold == pytest.approx(100 * PART_BELOW, abs=0.1)
    assert sold + unsold == pytest.approx(100.0, abs=0.1)
    assert power_bins(tiny(), evaluate(tiny())) == []


def test_the_command_shows_the_classes(tmp_path):
    folder = tmp_path / "case"
    folder.mkdir()
    with_classes(batch_inputs()).write(folder)
    ran = CliRunner().invoke(main, ["line", str(folder), "classes", "--chart", str(tmp_path / "out.html")])
    assert ran.exit_code == 0, ran.output
    assert "second grade" in ran.output
    assert (tmp_path / "out.html").exists()


def test_power_that_is_made_is_on_a_label_given_away_or_not_sold():
    for case in (batch(), with_classes(batch_inputs()).load(), tiny()):
        output, sold = evaluate(case).line.output, evaluate(case).line.power
        assert sold.labelled_power + sold.give_away + sold.unsold_power == pytest.approx(output.stabilised_power, rel=1e-12)
        assert sold.unsold_share + sum(each.module_share for each in sold.classes.values()) == pytest.approx(
            1.0 if sold.classes else 0.0, abs=1e-12
        )


def test_limits_are_tried_between_their_neighbours_by_what_modules_sell_for():
    """Two classes at one price: by a search on a fine grid of our own, the first label lies where fewest watts are lost."""
    inputs = with_classes(plan_inputs())
    for name in ("second", "first"):
        inputs.cell("power_classes.csv", name, "price_share", "100")
    inputs.cell("power_classes.csv", "second", "label", "28.5").cell("power_classes.csv", "first", "label", "31.5")
    case = inputs.load()
    found = class_limits(case, evaluate(case))
    normal = NormalDist(30.0, 1.5)

    def paid(low, high):
        return low * (normal.cdf(high) - normal.cdf(low)) + high * (1 - normal.cdf(high))

    second, first = found.limits
    grid = [24 + 0.01 * k for k in range(1000)]
    assert second.alone == pytest.approx(max((each for each in grid if each < 31.5), key=lambda x: paid(x, 31.5)), abs=0.15)
    assert first.alone == pytest.approx(max((each for each in grid if each > 28.5), key=lambda x: paid(28.5, x)), abs=0.15)
    best = max(paid(low, high) for low in grid[::10] for high in grid[::10] if low < high)
    assert found.best / found.now == pytest.approx(best / paid(28.5, 31.5), rel=1e-3)
    assert class_limits(planned(), evaluate(planned())) is None
    low = inputs.cell("power_classes.csv", "second", "least_power", "15").cell("power_classes.csv", "second", "label", "15")
    low = low.cell("power_classes.csv", "first", "least_power", "16").cell("power_classes.csv", "first", "label", "16").load()
    beyond = class_limits(low, evaluate(low))  # all modules lie far above both limits: the last one rises to them
    assert beyond.limits[0].alone == pytest.approx(15.0, abs=1.0)
    assert beyond.limits[1].alone == pytest.approx(max(grid, key=lambda x: paid(15.0, x)), abs=0.3)
    said = power_report.limits(case, evaluate(case), found)
    assert f"more, {100 * (best / paid(28.5, 31.5) - 1):.0f} %" in said
