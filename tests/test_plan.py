"""The plan: a tiny one worked by hand, published values of finance and learning, laws of every plan, and refusals.

The plant of plans.py: 2 years of building, 2 of production. Each quarter in full swing makes 270,000 W at EUR 2; fixed cost is
(288,000 of labour + 59,000 of maintenance + 7,800 of idle draw) / 4 = 88,700."""

from __future__ import annotations

import dataclasses
import random
from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.plan_records import Escalation, Learning
from costmodel.core.faults import InputFaults
from costmodel.core.fields import declared
from costmodel.core.operations import irr, irr_count
from costmodel.core.rates_of_return import rates_inside, rates_of_return
from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.ledger_figures import NO_LOSS
from costmodel.model.plan.finance import repaid_share
from costmodel.model.plan.operation import CASH_CATEGORIES
from costmodel.model.plan.tax import in_holiday
from costmodel.model.plan.timing import by_year, running
from costmodel.model.plan.volume import learning_exponent, learnt_volume
from costmodel.model.plan.worth import mirr, nominal, npv
from costmodel.present import plan_report
from costmodel.studies.factory.least_price import least_price, least_volume, price_of_a_watt

from .cases import demo, tiny
from .plans import enlarged, plan_inputs, planned
from .refusals import faults

YEAR = 31_536_000.0


def near(value: float, scale: float = 0.0):
    return pytest.approx(value, rel=1e-11, abs=1e-11 * scale)


@pytest.fixture(scope="module")
def results():
    return evaluate(planned())


@pytest.fixture(scope="module")
def columns(results):
    """The first day, then the quarters."""
    return list(results.plan.quarters.values())


@pytest.fixture(scope="module")
def quarters(columns):
    """The quarters without the first day, so that place 0 is q001."""
    return columns[1:]


def variable_cost(results) -> tuple[float, float]:
    """Variable cost of a year of full swing: what follows plates started, and what follows good modules."""
    lines = results.ledger.lines.values()
    return sum(x.variable for x in lines if x.loss != NO_LOSS), sum(x.variable for x in lines if x.loss == NO_LOSS)


def test_a_cost_is_paid_in_the_plan_whatever_its_row_is_called():
    case = demo()
    renamed = {("depreciation" if name == "certification" else name): row for name, row in case.overheads.items()}
    other = evaluate(dataclasses.replace(case, overheads=renamed))
    assert other.plan.project.npv == evaluate(case).plan.project.npv


# a plan by hand


def test_capital_is_paid_as_the_terms_say(results, columns):
    # saws 3 x 120,000, coaters 4 x 250,000, stamp 50,000, hall 50,000; 10 % reserve; a quarter of equipment at once, the rest later
    assert results.plan.capital == near(1.1 * 1_460_000)
    spent = {0: 0.25 * 1_551_000, 1: 55_000, 4: 0.75 * 1_551_000}
    assert [column.capital for column in columns] == [near(spent.get(k, 0.0)) for k in range(17)]
    assert results.plan.capital_per_annual_watt == near(1.1 * 1_460_000 / 1_080_000)
    vat = {0: 77_550, 1: -77_550, 4: 232_650, 5: -232_650}  # 20 % of equipment, back a quarter later
    assert [column.vat for column in columns] == [near(vat.get(k, 0.0), 1e6) for k in range(17)]


def test_a_ramp_starts_half_the_plates_at_four_fifths_of_the_yield(results, quarters):
    assert [q.good_share for q in quarters] == [0.0] * 8 + [near(0.4)] + [1.0] * 7
    assert [q.revenue for q in quarters[8:]] == [near(216_000)] + [near(540_000)] * 7
    started, good = variable_cost(results)
    assert quarters[8].variable_cost == near((started * 0.5 + good * 0.4) / 4)
    assert quarters[9].variable_cost == near((started + good) / 4)
    assert [q.fixed_cost for q in quarters] == [0.0] * 7 + [near(88_700)] * 9  # people come a quarter before
    assert [q.royalty for q in quarters[8:13]] == [near(9_720), *[near(24_300)] * 3, 0.0]  # 4 % and a cent a watt, for a year
    assert quarters[0].start_up == near(33_000)


def test_equipment_and_fee_are_written_off_and_sold_at_the_end(quarters):
    each = 1.1 * (360_000 / 10 + 1_000_000 / 5 + 50_000 / 10 + 50_000 / 10) / 4
    assert [q.depreciation for q in quarters[8:]] == [near(each + 50_000 / 4)] * 4 + [near(each)] * 4
    left = 1_606_000 - 8 * each
    assert quarters[-1].end_value == near(115_000)
    assert quarters[-1].disposal == near(left - 115_000)
    assert quarters[-1].fixed_assets == near(0.0, 1e6)


def test_the_loan_is_drawn_with_the_capital_and_paid_back_in_a_year(columns, quarters):
    assert columns[0].drawn == near(0.4 * 387_750)
    assert [q.interest for q in columns[:3]] == [0.0, near(0.02 * 155_100), near(0.02 * (155_100 + 22_000))]
    assert [q.debt for q in quarters[7:12]] == [near(642_400 * k / 4, 1e6) for k in (4, 3, 2, 1, 0)]
    assert sum(q.repaid for q in quarters) == near(642_400)


def test_losses_are_carried_forward_before_tax_is_paid(quarters):
    # interest of the building time 3,102 + 3 x 3,542 + 4 x 12,848, training 33,000 with its reserve, a quarter of people 88,700;
    # the first quarter
    lost = 3_102 + 3 * 3_542 + 4 * 12_848 + 33_000 + 88_700 - quarters[8].taxable
    assert quarters[8].losses_carried == near(lost)
    assert quarters[9].tax == near(0.25 * (quarters[9].taxable - lost))
    assert quarters[10].tax == near(0.25 * quarters[10].taxable)
    assert [q.tax for q in quarters[:9]] == [0.0] * 9


def test_money_is_tied_up_and_set_free(results, quarters):
    # 73 of 91.25 days of revenue, less 36.5 of 91.25 days of variable cost
    tied = 0.8 * 540_000 - 0.4 * quarters[9].variable_cost
    assert quarters[9].working_capital == near(tied)
    assert quarters[-1].working_capital == 0.0
    # what is left in the books is a loss of the last quarter, which takes back 25 % of what its year has earned before
    income = [q.taxable_without_loan for q in quarters[-4:]]
    tax = 0.25 * max(0.0, sum(income)) - 0.25 * sum(income[:3])
    assert tax < 0 < sum(income)
    assert quarters[-1].free_cash == near(quarters[-1].operating + tied + 115_000 - tax)


def test_another_line_for_the_same_money_by_hand(results):
    # 1,606,000 buys 3,212,000 W a year; built in a year, then 0.4 a watt, written off over 2 years, tax 25 %
    flows = [0.0] + [-401_500.0] * 4
    margin, written_off = 3_212_000 * 0.4 / 4, 1_606_000 / 8
    flows += [margin - 0.25 * (margin - written_off)] * 8 + [margin * 0.75] * 4
    other = results.plan.others["card"]
    each = 1.08**0.25
    assert other.stabilised_watts == near(3_212_000)
    assert other.worth.npv == near(sum(flow / each**k for k, flow in enumerate(flows)))
    assert other.worth.irr == pytest.approx((1 + npf.irr(flows)) ** 4 - 1, rel=1e-9)


def test_a_delay_costs_the_fixed_cost_of_the_time(results):
    late = evaluate(with_values(planned(), {"schedule.delay": YEAR / 8}))  # half a quarter
    quarters = list(late.plan.quarters.values())[1:]
    assert [q.good_share for q in quarters[8:11]] == [near(0.2), near(0.5 * 0.4 + 0.5), 1.0]
    assert quarters[8].fixed_cost == near(88_700)
    assert late.plan.project.npv < results.plan.project.npv


def test_inflation_escalation_and_price_paths_act_by_the_middle_of_each_quarter():
    case = with_values(planned(), {"returns.inflation": 0.04 / YEAR, "sales.all.change": -0.05 / YEAR})
    quarters = list(evaluate(case).plan.quarters.values())[1:]
    assert quarters[9].revenue == near(540_000 * 0.95 ** (9.5 / 4))
    assert quarters[9].fixed_cost == near(88_700 * 1.04 ** (9.5 / 4))


def test_equipment_is_replaced_at_the_end_of_its_life():
    case = with_values(planned(), {"tools.coater.technical_life": 1.0 * YEAR})
    years = list(evaluate(case).plan.use_years.values())
    assert [year.replaced for year in years] == [0.0, near(1_100_000), 0.0, 0.0]  # used for two years before the plan ends


def test_a_grant_pays_for_the_first_plant_only():
    worn = with_values(enlarged(), {"tools.coater.technical_life": YEAR})
    plain, helped = (evaluate(with_values(worn, {"outlay.grant": grant})).plan for grant in (0.0, 0.3))
    assert helped.capital == near(0.7 * plain.capital)
    again = [[year.replaced for year in plan.use_years.values()] for plan in (plain, helped)]
    assert again[1] == [near(amount) for amount in again[0]]


def test_each_category_that_is_paid_can_rise_by_itself():
    assert set(declared(Escalation)["covers"].options) == set(CASH_CATEGORIES)


def test_a_grant_leaves_tax_at_the_border_and_what_equipment_fetches_as_they_are():
    plain, helped = (evaluate(with_values(planned(), {"outlay.grant": grant})).plan.quarters for grant in (0.0, 0.3))
    for name in ("vat", "end_value"):
        rows = [[getattr(quarter, name) for quarter in found.values()] for found in (plain, helped)]
        assert rows[1] == [near(amount, 1e6) for amount in rows[0]]
        assert any(rows[0])


def test_all_profit_of_the_quarter_in_which_production_starts_is_in_the_holiday():
    case = with_values(planned(), {"tax.holiday": YEAR})
    start = 8 + 1 / 3
    assert in_holiday(case, running(17, start), start) == [*[0.0] * 9, *[near(1.0)] * 4, near(1 / 3), 0.0, 0.0, 0.0]


def test_an_expansion_ramps_up_costs_its_share_and_is_written_off(results):
    plan = evaluate(enlarged()).plan
    quarters, years = list(plan.quarters.values())[1:], list(plan.use_years.values())
    assert [q.good_share for q in quarters[11:15]] == [1.0, near(1 + 0.5 * 0.4), near(1.5), near(1.5)]
    assert quarters[13].fixed_cost == near(88_700 * (1 + 0.5 * 0.6))
    cost = 0.5 * 0.8 * 1_606_000
    assert [year.replaced for year in years[:3]] == [near(cost), 0.0, 0.0]
    before = list(results.plan.use_years.values())
    assert [a.books - b.books for a, b in zip(years[:2], before)] == [near(0.0, 1e6), near(cost / 10, 1e6)]
    assert [q.replacement for q in quarters[8:13]] == [*[near(cost / 4)] * 4, 0.0]  # spent over the year before it starts


@pytest.mark.parametrize("months", [0.0, 3.0, 4.5, 7.0])
def test_a_fee_counts_when_it_is_due(months):
    # at 5 % a year of the licensor; between two quarter ends in proportion, within 0.01 % of the exact present value
    case = with_values(planned(), {"licence.upfront_time": months / 12 * YEAR})
    paid = list(evaluate(case).plan.payments["upfront"].quarters.values())
    quarter, part = divmod(months, 3)
    shares = {int(quarter): 1 - part / 3, int(quarter) + 1: part / 3}
    assert paid == [near(50_000 * shares.get(k, 0.0)) for k in range(17)]
    assert npv(paid, 1.05**0.25 - 1) == pytest.approx(50_000 / 1.05 ** (months / 12), rel=1e-4)
    assert part or npv(paid, 1.05**0.25 - 1) == near(50_000 / 1.05 ** (months / 12))


# published values


def test_net_present_values_of_both_timings():
    # F06, numpy-financial docstring: first flow at once; F10, Microsoft support, NPV: first flow after a period
    assert npv([-40_000.0, 5_000.0, 8_000.0, 12_000.0, 30_000.0], 0.08) == pytest.approx(3065.22267, abs=5e-6)
    assert npv([0.0, -10_000.0, 3_000.0, 4_200.0, 6_800.0], 0.10) == pytest.approx(1188.4434, abs=5e-5)


@pytest.mark.parametrize(("flows", "rate", "digits"), [
    ([-100, 39, 59, 55, 20], 0.28095, 5),  # F07, numpy-financial docstring
    ([-100, 0, 0, 74], -0.0955, 4),
    ([-100, 100, 0, 7], 0.06206, 5),
    ([-250000, 100000, 150000, 200000, 250000, 300000], 0.5672303344, 10),  # F09, numpy-financial documentation
    ([-70000, 12000, 15000, 18000, 21000, 26000], 0.086630948, 9),  # F11, Microsoft support, IRR
    ([-70000, 12000, 15000], -0.443506941, 9),
    ([-20000, 2000, 2500, 3500, -5000, 6500, 9500, 9500, 9500], 0.117220, 6),  # F21, MathWorks documentation, irr
    ([-43233, 18000, 18000, 18000], 0.12, 4),  # F22, Park, Fundamentals of Engineering Economics 3e, ch. 7
    ([-15000, 0, 8200, 9500], 0.067648, 6),  # F23, the same
    ([-6500, -4500, 13000], 0.109807, 6),
    ([-25000, 12000, 23000, 34000], 0.593224, 6),
])  # fmt: skip
def test_internal_rates_of_return(flows, rate, digits):
    """The published flows are of years, and some bring back less than half; the model counts quarters and would not state those."""
    found, status = rates_of_return(np.array(flows, dtype=float)[:, None], periods=1.0, least_recovered=0.0)
    assert status[0] == 1.0
    assert found[0] == pytest.approx(rate, abs=0.51 * 10**-digits)
    if rate > -0.4:
        assert irr([float(flow) for flow in flows]) == pytest.approx(rate, abs=0.51 * 10**-digits)


def test_no_rate_and_several_rates_are_said():
    assert [irr_count(flows) for flows in ([1.0, 2.0], [-1.0, -2.0], [0.0, 0.0])] == [0.0, 4.0, 0.0]
    # F08, numpy-financial docstring: roots -0.0833 and -0.679; 0.0886, 0.7096 and -0.870
    assert rates_inside([-100.0, 100.0, 0.0, -7.0], 1.0) == pytest.approx([-0.679, -0.0833], abs=5e-4)
    assert rates_inside([-5.0, 10.5, 1.0, -8.0, 1.0], 1.0) == pytest.approx([-0.870, 0.0886, 0.7096], abs=5e-4)
    assert irr([-100.0, 100.0, 0.0, -7.0]) == pytest.approx(-0.0833, abs=5e-5)  # of quarters, -0.679 is below -90 % a year
    assert irr_count([-5.0, 10.5, 1.0, -8.0, 1.0]) == 2.0
    flows = [np.array([-100.0, -100.0, 1.0]), np.array([120.0, 230.0, 1.0]), np.array([0.0, -132.0, 1.0])]  # 20 %; 10 and 20 %
    assert list(irr_count(flows)) == [1.0, 2.0, 0.0]
    assert irr(flows)[0] == pytest.approx(0.2)
    assert list(np.isnan(irr(flows))) == [False, True, True]


def test_a_small_last_outflow_costs_a_plan_no_rate():
    """By hand: 40 a time for five times is worth 100 at 28.65 %; a last 1 takes 0.2 of it at that rate, and little of the rate."""
    without, with_it = irr([-100.0, *[40.0] * 5]), irr([-100.0, *[40.0] * 5, -1.0])
    assert without == pytest.approx(0.2865, abs=5e-5)
    assert irr_count([-100.0, *[40.0] * 5, -1.0]) == 1.0
    assert with_it == pytest.approx(without - 0.0011, abs=2e-4)


def test_double_and_close_roots_are_found():
    """(x - 1.1)(x - 1.11) and (x - 1.1)^2, either way round."""
    for sign in (1.0, -1.0):
        assert irr_count([sign, sign * -2.21, sign * 1.221]) == 2.0
        assert rates_inside([sign, sign * -2.21, sign * 1.221]) == pytest.approx([0.10, 0.11], abs=1e-9)
        assert irr_count([sign, sign * -2.2, sign * 1.21]) == 2.0
        assert rates_inside([sign, sign * -2.2, sign * 1.21]) == pytest.approx([0.10, 0.10], abs=1e-6)
    assert irr_count([1.0, -2.2, 1.22]) == 0.0  # its least value is above 0


@pytest.mark.parametrize("size", [1.0, -100.0, 7.3e6])
def test_a_double_rate_stands_twice_wherever_it_lies(size):
    """size (1 - f x)^2 has the rate f - 1 twice and touches nothing else; what rounding leaves of it has either sign."""
    for factor in np.linspace(1.01, 1.4, 40):
        assert rates_inside([size, -2 * size * factor, size * factor**2]) == pytest.approx([factor - 1] * 2, abs=1e-6)


def test_a_rate_through_which_the_value_rises_is_a_cost_of_finance():
    """100 now for 60 twice later: 13.07 %, as 100 x2 = 60 x + 60."""
    assert irr_count([100.0, -60.0, -60.0]) == 3.0
    assert np.isnan(irr([100.0, -60.0, -60.0]))
    assert rates_inside([100.0, -60.0, -60.0]) == pytest.approx([0.3 + np.sqrt(0.69) - 1], abs=1e-9)


def test_less_than_half_of_the_outlay_is_no_rate():
    assert [irr_count([-100.0, back]) for back in (49.0, 50.0)] == [4.0, 0.0]  # 50 back at once is -50 % a quarter
    assert [irr_count([-100.0, 0.0, 0.0, 0.0, back]) for back in (49.0, 51.0)] == [4.0, 1.0]
    assert irr([-100.0, 0.0, 0.0, 0.0, 51.0]) == pytest.approx(0.51**0.25 - 1, abs=1e-9)


@given(st.lists(st.floats(0.58, 1.8), min_size=1, max_size=3), st.integers(0, 8), st.sampled_from([1.0, -1.0, 2.5e7]))
def test_flows_made_from_their_rates_have_them(factors, quiet, size):
    """A product of (1 - factor x) has the rates factor - 1 and no others; quiet quarters before it change nothing."""
    flows = np.array([size])
    for factor in factors:
        flows = np.convolve(flows, [1.0, -factor])
    if min([abs(a - b) for a, b in pairwise(sorted(factors))], default=1.0) < 0.1:
        return  # rates this close may count as none
    flows = [0.0] * quiet + list(flows)
    spent = -sum(flow for flow in flows if flow < 0)
    lost = spent > 0 and sum(flow for flow in flows if flow > 0) / spent < 0.5
    assert irr_count(flows) == (4.0 if lost else 2.0 if len(factors) > 1 else 1.0 if size < 0 else 3.0)
    if len(factors) == 1 and size < 0:
        assert irr(flows) == pytest.approx(factors[0] - 1, abs=1e-9)
    assert rates_inside(flows) == pytest.approx(sorted(factor - 1 for factor in factors), abs=1e-6)
    # in a row of many, the same to the last bit
    many = [np.concatenate([np.linspace(1, 2, 512) * (-1) ** k, [flow]]) for k, flow in enumerate(flows)]
    assert np.array_equal(irr(many)[-1], irr(flows), equal_nan=True)


def test_modified_internal_rates_of_return():
    # F12, Microsoft support, MIRR; F13 from memory
    flows = [-120_000.0, 39_000.0, 30_000.0, 21_000.0, 37_000.0, 46_000.0]
    assert mirr(flows, 0.10, 0.12) == (pytest.approx(0.126094, abs=1e-6), 1.0)
    assert mirr(flows[:4], 0.10, 0.12) == (pytest.approx(-0.048045, abs=1e-6), 1.0)
    assert mirr(flows, 0.10, 0.14) == (pytest.approx(0.134759, abs=1e-6), 1.0)


def test_a_loan_in_equal_payments():
    # F05, numpy-financial docstring (ipmt): 2,500 at 8.24 % in 12 months
    printed = [200.58, 201.96, 203.35, 204.74, 206.15, 207.56, 208.99, 210.42, 211.87, 213.32, 214.79, 216.26]
    so_far = [2500 * repaid_share(float(k), 12.0, 0.0824 / 12, "annuity") for k in range(13)]
    assert [b - a for a, b in pairwise(so_far)] == pytest.approx(printed, abs=0.0051)
    assert so_far[-1] == pytest.approx(2500)


def test_real_and_nominal_rates():
    # L05, published test values of an energy-finance routine
    assert nominal(0.04, 0.025, "real") == pytest.approx(0.066)
    assert nominal(0.014634146, 0.025, "real") == pytest.approx(0.04, abs=1e-9)


def test_learning_by_the_average_of_all_and_by_unit():
    # W01, a management-accounting text: 80 %, first batch 100 h; totals 160, 256, 409.6, 655.36
    average = Learning(0.2, 1.0, "cumulative_average")
    assert [100 * learnt_volume(made, average) for made in (1.0, 2.0, 4.0, 8.0, 16.0)] == pytest.approx(
        [100, 160, 256, 409.6, 655.36]
    )
    # W03, Kerzner: 80 % over two doublings, -36 %; W04, Heizer & Render, Table E.3: unit 5, 8, 18
    assert 4 ** learning_exponent(0.2) == pytest.approx(0.64)
    assert [n ** learning_exponent(0.2) for n in (5, 8, 18)] == pytest.approx([0.596, 0.512, 0.394], abs=5e-4)
    # W09 (PART, an arithmetic check): 80 h, unit 4 at 72, 87, 95 %
    assert [80 * 4 ** learning_exponent(1 - r) for r in (0.72, 0.87, 0.95)] == pytest.approx([41.47, 60.55, 72.2], abs=5e-3)
    # by unit each next watt falls: the slope of the cost of all is the curve
    unit = Learning(0.2, 1.0, "unit")
    slope = (learnt_volume(5.0 + 1e-6, unit) - learnt_volume(5.0 - 1e-6, unit)) / 2e-6
    assert slope == pytest.approx(5 ** learning_exponent(0.2), rel=1e-6)


# laws


def varied(seed: int):
    """The tiny plan with inputs moved at random."""
    dice = random.Random(seed)
    changes = {
        "schedule.delay": dice.uniform(0, 0.8) * YEAR, "schedule.ramp_stretch": dice.uniform(0.3, 4),
        "schedule.staff_before": dice.uniform(0, 1) * YEAR, "returns.inflation": dice.uniform(-0.01, 0.06) / YEAR,
        "sales.all.price": dice.uniform(0.5, 4), "sales.all.change": dice.uniform(-0.1, 0.05) / YEAR,
        "tools.coater.life": dice.uniform(0.4, 9) * YEAR, "tools.coater.technical_life": dice.uniform(1, 3) * YEAR,
        "loan.part": dice.uniform(0, 1), "tax.rate": dice.uniform(0, 0.5),
        "outlay.resale_share": dice.uniform(0, 1), "outlay.resale_decline": dice.uniform(0, 0.5) / YEAR,
        "loan.interest": dice.uniform(0, 0.2) / YEAR, "loan.form": dice.choice(["linear", "annuity"]),
        "loan.term": dice.uniform(0.2, 2.0) * YEAR, "tax.loss_use": dice.uniform(0, 1),
        "tax.holiday": dice.uniform(0, 2) * YEAR,
        "learning.rate": dice.uniform(0, 0.3), "learning.reference_volume": dice.uniform(1e5, 1e6),
        "outlay.grant": dice.uniform(0, 0.5), "payments.rest.time": dice.uniform(0, 1.9) * YEAR,
        "outlay.vat_return_time": dice.uniform(0, 1) * YEAR, "licence.upfront": dice.uniform(0, 1e6),
    }  # fmt: skip
    return with_values(planned(), changes)


@pytest.mark.parametrize("which", [*range(40), demo, enlarged], ids=lambda which: str(getattr(which, "__name__", which)))
def test_books_balance_and_cash_adds_up(which):
    case = varied(which) if isinstance(which, int) else which()
    results = evaluate(case)
    plan, scale = results.plan, results.plan.capital
    found = list(plan.quarters.values())
    assert all(abs(q.balance) <= 1e-9 * scale for q in found)
    for year in by_year(found):  # within a year a loss may take back what was paid
        assert sum(q.tax for q in year) >= -1e-9 * scale
        assert sum(q.tax_without_loan for q in year) >= -1e-9 * scale
    for name, sums in (("free_cash", "cumulative_free_cash"), ("owners_cash", "cumulative_owners_cash")):
        assert getattr(found[-1], sums) == near(sum(getattr(q, name) for q in found), 100 * scale)
    last = found[-1]
    for left in (last.debt, last.fixed_assets, last.receivables, last.stock, last.payables, last.vat_receivable, last.equity):
        assert left == near(0.0, 100 * scale)
    assert sum(q.profit for q in found) == near(sum(q.owners_cash for q in found), 100 * scale)
    assert sum(q.drawn for q in found) == near(case.plan.loan.part * plan.capital, scale)
    assert all(q.debt >= -1e-9 * scale for q in found)
    assert plan.project.low_point == near(min(0.0, *(q.cumulative_free_cash for q in found)), scale)
    for worth, flows in ((plan.project, [q.free_cash for q in found]), (plan.owners, [q.owners_cash for q in found])):
        if worth.irr_status == 1.0:
            each = (1 + worth.irr) ** 0.25 - 1
            assert npv(flows, each) == near(0.0, sum(abs(flow / (1 + each) ** k) for k, flow in enumerate(flows)) * 100)
            assert each == pytest.approx(npf.irr(flows), rel=1e-6, abs=1e-9)
        else:
            assert np.isnan(worth.irr)


def test_arrays_of_many_draws_give_what_each_draw_gives():
    case, draws = planned(), 16_000
    random_numbers = np.random.default_rng(7)
    changes = {
        "sales.all.price": random_numbers.uniform(0.05, 3.0, draws),
        "schedule.delay": random_numbers.uniform(0, YEAR, draws),
        "tools.coater.price": random_numbers.uniform(3e5, 6e5, draws),
    }
    project = evaluate(with_values(case, changes)).plan.project
    assert set(project.irr_status) >= {1.0, 4.0}
    for k in (0, 1, 4711, 15_999):
        one = evaluate(with_values(case, {address: float(values[k]) for address, values in changes.items()})).plan.project
        assert project.npv[k] == near(one.npv, 1e7)
        assert project.irr[k] == pytest.approx(one.irr, rel=1e-8, nan_ok=True)


def test_flows_of_a_year_in_quarters_are_worth_what_they_are_in_years():
    quarterly = [-100.0, 0.0, 0.0, 0.0, 70.0, 0.0, 0.0, 0.0, 60.0]
    assert npv(quarterly, 1.1**0.25 - 1) == pytest.approx(npv([-100.0, 70.0, 60.0], 0.1))
    assert (1 + irr(quarterly)) ** 4 - 1 == pytest.approx(irr([-100.0, 70.0, 60.0]))


@pytest.mark.parametrize("case", [planned, demo])
def test_the_least_price_and_volume_earn_just_what_is_asked(case):
    results = evaluate(case())
    least = least_price(case())
    prices = {f"sales.{name}.price": row.price * least.times for name, row in case().sales.items()}
    assert evaluate(with_values(case(), prices)).plan.project.npv == near(0.0, 1e4 * results.plan.capital)
    volume = least_volume(case())
    share = {"schedule.volume_share": value_at(case(), "schedule.volume_share") * volume.times}
    assert evaluate(with_values(case(), share)).plan.project.npv == near(0.0, 1e4 * results.plan.capital)
    assert 0 < volume.times < 1 or results.plan.project.npv < 0


def test_open_field_earns_nothing_at_any_price_and_a_dearer_reference_flips_that():
    case = demo()
    results = evaluate(case)
    wanted = price_of_a_watt(case, results) * least_price(case).times
    words = plan_report.price_needed(case, results, least_price(case))
    assert "In “roofs”, “open field” no positive price exists" in words
    assert results.market.by_market["building_skin"].highest_price > wanted
    dear = with_values(case, {"markets.open_field.reference_price": 6.0})
    flipped = evaluate(dear)
    assert flipped.market.by_market["open_field"].highest_price > wanted
    words = plan_report.price_needed(dear, flipped, least_price(dear))
    assert "“open field”" in words.split("Buyers could pay what it needs in")[1]


def test_a_case_without_a_plan_has_none():
    results = evaluate(tiny())
    assert not results.has_plan
    assert not results.has_deal
    with pytest.raises(InputFaults, match=r"plan\.yaml: found no such file"):
        _ = results.plan
    assert plan_report.verdict(tiny(), results) == plan_report.NO_PLAN


# refusals

REFUSED = {
    "ramp above full swing": (
        lambda i: i.cell("ramp.csv", "first", "starts_share", "112"),
        ["ramp.csv, row 2, column 'starts_share': found 112 %; allowed: a number from 0 to 100 [%]"],
    ),
    "12 for 12 %": (
        lambda i: i.other_yaml("plan.yaml", "interest: 8 %/year", "interest: 12 1/year"),
        ["plan.yaml, 'loan.interest': found 12 1/year; allowed: a number from 0 to 1 [1/year]"],
    ),
    "a loan longer than the plan": (
        lambda i: i.other_yaml("plan.yaml", "term: 1 year", "term: 3 year"),
        ["plan.yaml, 'loan.term': found 5 years with the time of grace; allowed: at most the 4 years of the plan"],
    ),
    "a loan paid back before it is drawn": (
        lambda i: i.other_yaml("plan.yaml", "grace: 24 month", "grace: 6 month"),
        ["plan.yaml, 'loan.grace': found 0.5 years, before the last payment of capital; allowed: at least 1 years"],
    ),
    "output sold twice": (
        lambda i: i.row("sales.csv", "more,more,unlimited,20,1,EUR,m2,0"),
        ["sales.csv, row 3, column 'output_share': found 120 % in all; allowed: 100 % in all"],
    ),
    "capital not paid": (
        lambda i: i.cell("payments.csv", "rest", "part", "70"),
        ["payments.csv, row 3, column 'part': found 95 % in all for equipment; allowed: 100 % in all"],
    ),
    "a plan of no whole years": (
        lambda i: i.other_yaml("plan.yaml", 'horizon: "4"', "horizon: 4.5"),
        ["plan.yaml, 'schedule.horizon': found '4.5'; allowed: a whole number from 1 to 60"],
    ),
    "a section that is not there": (
        lambda i: i.other_yaml("plan.yaml", "learning:\n", "lerning:\n"),
        [
            "plan.yaml, 'lerning': found an unknown name; allowed: schedule, returns, working_capital, outlay, tax, loan, "
            "closing, learning; did you mean 'learning'?",
            "plan.yaml, 'learning': found no such section; allowed: all sections of plan.yaml; 'learning' holds rate, "
            "reference_volume, convention",
        ],
    ),
    "production after the end": (
        lambda i: i.other_yaml("plan.yaml", "delay: 0 month", "delay: 30 month"),
        ["plan.yaml, 'schedule.build_time': found production from year 4.5 on; allowed: before the end of the plan, year 4"],
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_bad_terms_are_refused(name):
    change, messages = REFUSED[name]
    assert faults(change(plan_inputs()).load) == messages


def test_a_deal_without_a_plan_is_refused():
    inputs = plan_inputs()
    del inputs.documents["plan.yaml"]
    with pytest.raises(InputFaults, match=r"deal.yaml without plan.yaml; allowed: both, or neither"):
        inputs.load()


def test_commands_show_the_plan_for_people_and_programs():
    import json

    from click.testing import CliRunner

    from costmodel.command.main import main

    from .cases import DEMO

    shown = CliRunner().invoke(main, ["plan", str(DEMO)])
    assert shown.exit_code == 0
    assert plan_report.verdict(demo(), evaluate(demo())) in shown.output.replace("\n", " ")
    told = json.loads(CliRunner().invoke(main, ["plan", str(DEMO), "--json"]).output)
    assert told["plan.project.npv"]["value"] == pytest.approx(evaluate(demo()).plan.project.npv)


def test_a_rate_that_there_is_not_is_null_for_programs():
    import json

    from click.testing import CliRunner

    from costmodel.command.main import main

    from .cases import FIELD

    # with less stock to set free at the end, no quarter brings cash
    changes = ["--set", "working_capital.finished_time=0"]
    told = json.loads(CliRunner().invoke(main, ["plan", str(FIELD), *changes, "--json"]).output)
    assert told["plan.project.irr"]["value"] is None
    assert told["plan.project.irr_status"]["value"] == 4.0


def test_a_plan_without_a_loan_says_so():
    case = with_values(planned(), {"loan.part": 0.0})
    assert plan_report.bank(case, evaluate(case)) == "The plan has no loan."
    bare = dataclasses.replace(planned(), other_lines={})
    assert plan_report.others(bare, evaluate(bare)) == "The case names no other line."
