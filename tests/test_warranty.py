"""Warranty: claims by hand and against draws of modules, cost, provision, tax, energy by age; refusals; words."""

from __future__ import annotations

import dataclasses
from statistics import NormalDist

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.case.warranty_records import LONGEST
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.fields import YEAR
from costmodel.documents.editions.allowed import may_show_input
from costmodel.model.evaluate import evaluate
from costmodel.model.line.ageing import ageing
from costmodel.present import warranty_report
from costmodel.present.numbers import people
from costmodel.studies.factory.warranty_terms import cost_spread, dearer_terms

from .batch import batch_inputs
from .cases import DEMO, table, tiny
from .plans import plan_inputs, planned
from .warranties import WARRANTY, warranted

NOTHING_FAILS = {"early_failures": 0.0, "later_failures": 0.0}
NO_POWER_PROMISED = {"start_power": 0.0, "end_power": 0.0}


def with_warranty(**values):
    """The tiny line with its plan and a warranty, with some inputs in base units."""
    case = warranted(plan_inputs()).load()
    return with_values(case, {f"warranty.modules.{name}": value for name, value in values.items()})


def simple(**values):
    """Two years of product warranty, all claimed: 1 % fails in the first year, 2 % of the rest a year later; nothing discounted."""
    return with_warranty(**NO_POWER_PROMISED | {
        "early_failures": 0.01, "later_failures": 0.02 / YEAR, "claimed_share": 1.0, "discount_rate": 0.0, "product_term": 2 * YEAR,
    } | values)  # fmt: skip


def test_failures_are_claimed_within_the_term_by_hand():
    """1 of 100 fails in the first year and is replaced, so 100 are in service; 2 fail in the second, then no claim is left."""
    case = simple()
    ages = ageing(case)
    assert [ages[f"y{year:02d}"].claims for year in (1, 2, 3)] == pytest.approx([0.01, 0.02, 0.0], abs=1e-12)
    assert ages["y03"].in_service == pytest.approx(1.0)
    assert ages["y04"].in_service == pytest.approx(0.98)  # those that fail after the term are not replaced
    found = evaluate(case)
    cost = found.ledger.warranty["modules"]
    rate = case.money["usd"].exchange_rate
    assert cost.cost_per_claim == pytest.approx((40 + 6 + 30) * rate)
    assert cost.cost_per_module_sold == pytest.approx(0.03 * 76 * rate)
    assert cost.cost_per_stabilised_watt == pytest.approx(0.03 * 76 * rate / 30)  # 30 W a module
    assert found.ledger.lines["warranty.modules"].cost == pytest.approx(0.03 * 76 * rate * 36_000)  # 1.08 MW of 30 W
    half = ageing(simple(claimed_share=0.5))
    assert half["y01"].claims == pytest.approx(0.005)
    assert half["y02"].claims == pytest.approx(0.02 * 0.995 * 0.5)  # the half not claimed is gone


def test_a_part_of_a_year_is_covered_by_its_part():
    assert ageing(simple(product_term=1.25 * YEAR))["y02"].claims == pytest.approx(0.02 * 0.25)


def test_claims_are_discounted_to_the_sale_at_the_ends_of_their_quarters():
    """1 % in the first year at 4 % a quarter: a quarter of it after 3, 6, 9 and 12 months."""
    case = simple(product_term=YEAR, discount_rate=(1.04**4 - 1) / YEAR)
    annuity = 1 / 1.04 + 1 / 1.04**2 + 1 / 1.04**3 + 1 / 1.04**4
    assert evaluate(case).ledger.warranty["modules"].discounted_claims == pytest.approx(0.01 / 4 * annuity)


def test_power_claims_are_those_of_modules_drawn_one_by_one():
    """Each of 400,000 modules loses power at its own rate; it is claimed in the year in which it first falls below the promise."""
    rng = np.random.default_rng(11)
    first = 0.025 + 0.012 * rng.standard_normal(400_000)
    rate = 0.011 + 0.004 * rng.standard_normal(400_000)
    case = with_warranty(**NOTHING_FAILS, claimed_share=1.0, power_term=20 * YEAR, start_power=0.97, end_power=0.72)
    ages = ageing(case)
    for year in (1, 5, 12, 20):
        promise = 0.97 - 0.25 * year / 20
        assert ages[f"y{year:02d}"].promised_power == pytest.approx(promise)
        below = np.mean(1 - first - rate * (year - 1) < promise)
        error = (below * (1 - below) / 400_000) ** 0.5
        assert ages[f"y{year:02d}"].below_share == pytest.approx(below, abs=4 * error)


def test_a_promise_that_falls_faster_than_modules_do_brings_no_new_claims():
    """Below the promise are most after the first year; a module is claimed once."""
    case = with_warranty(**NOTHING_FAILS, claimed_share=1.0, power_term=10 * YEAR, start_power=0.98, end_power=0.8)
    ages = list(ageing(case).values())
    first = NormalDist(0.975, 0.012).cdf(0.98 - 0.018)
    assert ages[0].power_claims == pytest.approx(first)
    assert sum(each.power_claims for each in ages) == pytest.approx(first)
    assert ages[5].below_share < ages[0].below_share == ages[5].below_so_far


def test_the_provision_is_made_at_the_sale_and_used_as_claims_fall_due():
    """Nothing is discounted and nothing rises: all that is set aside is paid, in the two years after each sale or at the end."""
    plain, case = planned(), simple()
    still = {"returns.inflation": 0.0}
    case = with_values(case, still)
    before, after = evaluate(with_values(plain, still)).plan, evaluate(case).plan
    each = (40 + 6 + 30) * case.money["usd"].exchange_rate
    quarters, was = list(after.quarters.values()), list(before.quarters.values())
    for k, quarter in enumerate(quarters):
        sold = quarter.stabilised_watts / 30
        assert quarter.warranty_provided == pytest.approx(sold * 0.03 * each, abs=1e-9)
        assert quarter.operating == pytest.approx(was[k].operating - quarter.warranty_provided, abs=1e-6)
        earlier = [q.stabilised_watts / 30 for q in quarters[:k]][::-1]
        due = each * (0.01 / 4 * sum(earlier[:4]) + 0.02 / 4 * sum(earlier[4:8]))
        left = sum(q.warranty_provided - q.warranty_paid for q in quarters[:k])
        last = k == len(quarters) - 1
        assert quarter.warranty_paid == pytest.approx(left + quarter.warranty_provided if last else due, abs=1e-6)
        assert abs(quarter.balance) < 1e-6
    assert quarters[-1].warranty_provision == 0.0
    assert sum(q.warranty_paid for q in quarters) == pytest.approx(sum(q.warranty_provided for q in quarters))
    cash = sum(q.free_cash for q in was) - sum(q.free_cash for q in quarters)
    tax = sum(q.tax_without_loan for q in was) - sum(q.tax_without_loan for q in quarters)
    assert cash == pytest.approx(sum(q.warranty_paid for q in quarters) - tax)


def test_tax_deducts_claims_as_they_are_paid_or_the_provision_as_it_is_made():
    paid, made = (evaluate(dataclasses.replace(case, warranty={"modules": dataclasses.replace(
        case.warranty["modules"], deducted=when)})).plan for case in [simple(discount_rate=0.05 / YEAR)]
        for when in ("when_used", "when_provided"))  # fmt: skip
    without = list(evaluate(planned()).plan.quarters.values())
    for k, (used, provided) in enumerate(zip(paid.quarters.values(), made.quarters.values())):
        before = without[k].taxable_without_loan
        assert used.taxable_without_loan == pytest.approx(before - used.warranty_paid, abs=1e-6)
        lower = provided.warranty_provided + provided.warranty_unwinding
        assert provided.taxable_without_loan == pytest.approx(before - lower, abs=1e-6)
    assert sum(q.taxable for q in paid.quarters.values()) == pytest.approx(sum(q.taxable for q in made.quarters.values()))


def test_a_plant_that_closes_pays_what_is_left_of_the_provision():
    case = with_values(simple(), {f"sales.{name}.change": -0.4 / YEAR for name in planned().sales})
    row = dataclasses.replace(case.plan.closing, rule="by_loss", loss_quarters=1.0, not_before=0.0)
    case = dataclasses.replace(case, plan_sections=dataclasses.replace(case.plan, closing=row))
    plan = evaluate(case).plan
    assert plan.ending.early
    last = round(plan.ending.time / YEAR * 4)
    quarters = list(plan.quarters.values())
    open_ = list(plan.never_closed.values())
    assert quarters[last].warranty_paid == pytest.approx(open_[last].warranty_paid + quarters[last].warranty_to_settle)
    assert quarters[last].warranty_to_settle > 0
    assert plan.project.npv == pytest.approx(plan.ending.npv_if_closed[f"q{last:03d}"], abs=1e-6 * plan.capital)
    assert all(q.warranty_paid == q.warranty_provision == 0.0 for q in quarters[last + 1 :])
    assert max(abs(q.balance) for q in quarters) < 1e-6


def test_energy_follows_age_failures_that_are_not_replaced_included():
    """No product warranty: a tenth of those in service fails each year. Power: 1 - 1 % in the first year, then 3 % at 1.5 years."""
    case = warranted(batch_inputs()).load()
    case = with_values(case, {f"warranty.modules.{name}": value for name, value in {
        "product_term": 0.0, "early_failures": 0.1, "later_failures": 0.1 / YEAR, "first_year_loss": 0.02,
        "degradation": 0.02 / YEAR, "power_term": 0.0}.items()})  # fmt: skip
    case = with_values(case, {"coverings.plain_ours.life": 2 * YEAR})
    found = evaluate(case).market.by_market["plain"].ours
    energy = [0.95 * 0.99, 0.9 * 0.95 * (1 - 0.02 - 0.02 * 0.5)]  # in service in the middle of the year, power there
    yearly = found.energy_yield * YEAR
    assert found.lifetime_energy == pytest.approx(yearly * sum(energy))
    assert found.discounted_energy == pytest.approx(yearly * (energy[0] / 1.05 + energy[1] / 1.05**2))


def test_modules_that_do_not_age_yield_what_they_did_in_a_market_without_degradation():
    inputs = batch_inputs()
    for row in inputs.tables["markets.csv"][1:]:
        inputs.cell("markets.csv", row[0], "degradation", "0")
    plain = evaluate(inputs.load()).market.by_market
    case = warranted(batch_inputs()).load()
    row = dataclasses.replace(
        case.warranty["modules"], early_failures=0.0, later_failures=0.0, first_year_loss=0.0, degradation=0.0
    )
    ageless = evaluate(dataclasses.replace(case, warranty={"modules": row})).market.by_market
    for name, each in plain.items():
        assert ageless[name].ours.discounted_energy == pytest.approx(each.ours.discounted_energy, rel=1e-9)


def test_a_case_without_a_warranty_computes_what_it_did():
    for case in (tiny(), planned()):
        found = evaluate(case)
        assert found.ledger.warranty == {}
        assert found.line.ageing == {}
    quarters = evaluate(planned()).plan.quarters.values()
    names = ("warranty_provided", "warranty_paid", "warranty_unwinding", "warranty_to_settle", "warranty_provision")
    assert {getattr(quarter, name) for quarter in quarters for name in names} == {0.0}


@pytest.mark.parametrize(("change", "said"), [
    (lambda i: i.row("warranty.csv", ",".join(["more", *WARRANTY.splitlines()[-1].split(",")[1:]])),
     "warranty.csv, row 3, column 'id': found a second row; allowed: one row"),
    (lambda i: i.cell("warranty.csv", "modules", "end_power", "98"),
     "warranty.csv, row 2, column 'end_power': found more than start_power; allowed: at most start_power"),
    (lambda i: i.tables.update({"overheads.csv": table(
        "id,title,amount [currency/per],currency,per\nreserve,Warranty reserve,0.01,EUR,Wp_stabilised")}),
     "overheads.csv, row 2, column 'id': found 'reserve' beside warranty.csv; allowed: one of the two: the row, or warranty.csv"),
    (lambda i: i.cell("markets.csv", "skin", "degradation", "0.9"),
     "markets.csv, row 4, column 'degradation': found 0.9 %/year beside warranty.csv; allowed: 0, as warranty.csv states how our "
     "module ages"),
    (lambda i: i.cell("coverings.csv", "skin_ours", "life", "45"),
     f"coverings.csv, row 6, column 'life': found 45 years beside warranty.csv; allowed: at most {LONGEST} years, over which "
     "warranty.csv follows modules"),
])  # fmt: skip
def test_refusals(change, said):
    inputs = warranted(batch_inputs())
    change(inputs)
    with pytest.raises(InputFaults) as refused:
        inputs.load()
    assert said in str(refused.value)


def test_words_and_other_promises():
    case = simple()
    results = evaluate(case)
    per_watt = 0.03 * 76 * case.money["usd"].exchange_rate / 30
    assert f"EUR {per_watt:.4f} per stabilised watt" in warranty_report.cost(case, results)
    assert "30.0 are claimed because they fail, and 0 because" in warranty_report.claims(case, results)
    assert "in year 2 after the sale: 20.0 of 1,000" in warranty_report.claims(case, results)
    sold = next(iter(results.ledger.warranty.values())).modules_sold
    assert f"{people(0.03 * sold)} are claimed in the years" in warranty_report.claims_a_year(case, results)  # 30 of 1,000
    longer = next(each for each in dearer_terms(case) if each.title.startswith("product term"))
    # five years more, in which all stay in service: 2 % each
    assert longer.cost_per_watt == pytest.approx(per_watt * 13 / 3)
    assert longer.npv_change < 0
    assert cost_spread(dataclasses.replace(case, ranges={}), 100, 0) is None
    assert cost_spread(case, 100, 0).above.share == 0.0  # its ranges say nothing of the warranty
    assert warranty_report.claims(with_warranty(**NOTHING_FAILS, **NO_POWER_PROMISED), evaluate(
        with_warranty(**NOTHING_FAILS, **NO_POWER_PROMISED))) == "No module is claimed."  # fmt: skip


@pytest.mark.slow
def test_the_probability_of_a_higher_cost_is_that_of_single_draws():
    case = load_case(DEMO)
    found = cost_spread(case, 40, 3)
    from costmodel.model.as_bought import as_bought
    from costmodel.studies.draws import Draws

    plant = as_bought(case)
    drawn = Draws(plant, 3).values(0, 40)
    present = evaluate(case).ledger.warranty["panes"].cost_per_stabilised_watt
    costs = [
        evaluate(with_values(plant, {address: values[k] for address, values in drawn.items()})).ledger.warranty["panes"]
        for k in range(40)
    ]
    assert found.above.share == np.mean([each.cost_per_stabilised_watt > present for each in costs])


def test_the_command_answers_with_and_without_a_warranty(tmp_path):
    for name, inputs, said in (
        ("with", warranted(plan_inputs()), "per stabilised watt and"),
        ("without", plan_inputs(), warranty_report.NO_WARRANTY),
    ):
        folder = tmp_path / name
        folder.mkdir()
        inputs.write(folder)
        ran = CliRunner().invoke(main, ["plan", str(folder), "warranty", "--all"])
        assert ran.exit_code == 0, ran.output
        assert said in ran.output.replace("\n", " ")


def test_external_editions_may_show_promises_and_neither_rates_nor_costs():
    for edition in ("licensee", "investor"):
        for name in ("product_term", "power_term", "start_power", "end_power"):
            assert may_show_input(edition, f"warranty.modules.{name}")
        for name in ("degradation", "later_failures", "early_failures", "claimed_share", "labour", "module_cost", "discount_rate"):
            assert not may_show_input(edition, f"warranty.modules.{name}")
