"""The end of use: closing by the rule, by hand and on random plans; relief of losses; land; stock before production.

The plant of plans.py: quarters 9 to 16 are production, the first at 40 % of 270,000 W. Fixed cost is 88,700 a quarter."""

from __future__ import annotations

import dataclasses
import random
from types import SimpleNamespace

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.summary import oddities
from costmodel.case.whole_case import Case
from costmodel.core.series import Row, constant
from costmodel.model.evaluate import evaluate
from costmodel.model.plan.closing import Ahead, Proceeds, ending
from costmodel.model.plan.closing_time import Use, quarters_lost
from costmodel.model.plan.tax import Pools, Settled, taxes
from costmodel.present.plan_report import closing

from .cases import demo, table
from .plans import enlarged, plan_inputs, planned
from .test_plan import varied

YEAR = 31_536_000.0


def near(value: float, scale: float = 0.0):
    return pytest.approx(value, rel=1e-10, abs=1e-10 * scale)


def closing_inputs(**changes: str):
    """The tiny plan with a rule of closing, and other values of its section."""
    inputs = plan_inputs().other_yaml("plan.yaml", "rule: never", "rule: by_loss")
    for name, (old, new) in changes.items():
        inputs.other_yaml("plan.yaml", f"{name}: {old}", f"{name}: {new}")
    return inputs


def poor(price: float = 0.2, inputs=None) -> Case:
    """Prices at which each quarter loses cash."""
    return with_values((inputs or closing_inputs()).load(), {"sales.all.price": price})


# by hand


def test_the_reserve_covers_what_is_spent_at_once_too():
    """Training of 30,000 EUR, with a reserve of 10 %: 3,000 more before the start."""
    spent = [
        sum(q.start_up for q in evaluate(with_values(planned(), {"outlay.contingency": part})).plan.quarters.values())
        for part in (0.0, 0.1)
    ]
    assert spent[1] - spent[0] == near(3_000, 1e5)


def test_a_plan_that_loses_cash_closes_after_two_such_quarters():
    never = list(evaluate(poor(inputs=plan_inputs())).plan.quarters.values())
    plan = evaluate(poor()).plan
    found = list(plan.quarters.values())
    assert all(q.operating - q.replacement < 0 for q in never[9:])
    assert [q.open_share for q in found] == [1.0] * 11 + [0.0] * 6  # quarters 9 and 10 lose cash
    assert (plan.ending.early, plan.ending.time) == (1.0, near(2.5 * YEAR))
    # before the end all is as it was; then nothing is
    for name in ("revenue", "fixed_cost", "free_cash", "royalty", "depreciation", "debt"):
        assert [getattr(q, name) for q in found[:10]] == [near(getattr(q, name)) for q in never[:10]]
        assert [getattr(q, name) for q in found[11:]] == [0.0] * 6
    # three months of 288,000 a year of labour; a tenth of 1,150,000 of equipment; customers and suppliers settle
    last, before = found[10], found[9]
    assert last.closing_cost == near(72_000)
    assert last.end_value == near(115_000)
    assert last.operating == near(never[10].operating)
    tied = 0.8 * before.revenue - 0.4 * before.variable_cost
    assert before.working_capital == near(tied)
    assert last.free_cash == near(last.operating - 72_000 + 115_000 + tied)  # no profit, so no tax
    assert last.disposal == near(before.fixed_assets - last.depreciation - 115_000)
    assert last.repaid == near(before.debt)  # owners bear what closing does not pay
    assert plan.project.npv == near(sum(q.free_cash / 1.08 ** (k / 4) for k, q in enumerate(found)), 1e6)
    # the loan has 642,400 left less two quarters of repayment; there are 115,000 less 72,000 and what customers owe
    there = 115_000 - 72_000 + 0.8 * last.revenue - 0.4 * last.variable_cost
    assert plan.ending.shortfall == near(642_400 / 2 - there)


def test_creditors_bear_what_closing_does_not_pay_the_bank_first():
    inputs = closing_inputs(shortfall=("owners", "creditors"))
    inputs.tables["minimum_royalties.csv"] = table(
        "id,title,amount [currency/year],currency,begin [year],end [year],after_closing\nleast,least,40000,EUR,2,4,due"
    )
    plan = evaluate(poor(inputs=inputs)).plan
    found = list(plan.quarters.values())
    last = found[10]
    there = 115_000 - 72_000 + 0.8 * last.revenue - 0.4 * last.variable_cost
    owed = 642_400 / 2
    assert 0 < there < owed
    assert last.repaid == near(642_400 / 4 + there)  # the quarter's own repayment, then what is there
    assert last.forgiven == near(owed - there)
    assert plan.payments["minimum_due"].quarters["q010"] == 0.0  # nothing is left for the licensor
    assert plan.ending.shortfall == near(owed + 60_000 - there)  # 1.5 years of 40,000 are due
    # half a year of the minimum, less what was earned: 4 % and a cent a watt
    earned = sum(0.04 * q.revenue + 0.01 * q.stabilised_watts for q in found[9:11])
    assert plan.payments["minimum"].quarters["q010"] == near(20_000 - earned)
    # all that is owed falls due, paid or not, so the year of closing does not cover its debt
    year = plan.years["y03"]
    assert year.debt_service == near(sum(q.interest + q.repaid + q.forgiven for q in found[9:13]))
    assert (year.dscr_status, year.below_minimum_dscr) == (1.0, 1.0)
    rich = evaluate(with_values(poor(inputs=inputs), {"loan.part": 0.0, "outlay.resale_share": 0.5}))
    assert rich.plan.payments["minimum_due"].quarters["q010"] == near(60_000)
    assert rich.deal.years["y03"].due_at_closing == near(60_000)
    assert rich.deal.years["y03"].missing == rich.plan.payments["minimum"].quarters["q010"] > 0
    assert [year.minimum_binds for year in rich.deal.years.values()] == [0.0, 0.0, 1.0, 0.0]
    assert rich.plan.ending.shortfall == 0.0


def test_not_before_and_how_many_quarters_decide_when_it_closes():
    for quarters, earliest, last in ((1, 0.0, 9), (3, 0.0, 11), (2, 1.0, 12), (2, 1.1, 13), (9, 0.0, 16)):
        case = with_values(poor(), {"closing.loss_quarters": float(quarters), "closing.not_before": earliest * YEAR})
        plan = evaluate(case).plan
        assert plan.ending.time == near(last / 4 * YEAR)
        assert plan.ending.early == float(last < 16)


def test_a_minimum_due_at_closing_is_paid_at_the_exchange_rate_of_that_day():
    inputs = closing_inputs()
    inputs.tables["minimum_royalties.csv"] = table(
        "id,title,amount [currency/year],currency,begin [year],end [year],after_closing\nleast,least,40000,USD,2,4,due"
    )
    case = with_values(poor(inputs=inputs), {"loan.part": 0.0, "outlay.resale_share": 0.5, "money.usd.change": 0.06 / YEAR})
    due = evaluate(case).plan.payments["minimum_due"].quarters["q010"]
    assert due == near(1.5 * 40_000 * case.money["usd"].exchange_rate * 1.06**2.5)  # closed after 2.5 years, 1.5 years to come


def test_a_minimum_due_at_closing_ends_with_a_buy_out():
    """Production begins after two years; a buy-out 1¼ years later ends the minimum. Closed after 2½ years, ¾ of one is to come."""
    inputs = closing_inputs()
    inputs.tables["minimum_royalties.csv"] = table(
        "id,title,amount [currency/year],currency,begin [year],end [year],after_closing\nleast,least,40000,EUR,2,4,due"
    )
    inputs.tables["buy_outs.csv"] = table("id,title,amount [currency],currency,time [year]\nall,the royalty,70000,EUR,1.25")
    payments = evaluate(with_values(poor(inputs=inputs), {"loan.part": 0.0, "outlay.resale_share": 0.5})).plan.payments
    assert payments["minimum_due"].quarters["q010"] == near(30_000)
    assert sum(payments["buy_out_all"].quarters.values()) == 0.0  # it falls due when the plant is no longer in use


def test_quarters_that_lost_cash_are_counted_anew_after_one_that_earned():
    cash, run = Row([-5.0, -1.0, -1.0, 2.0, -1.0, -1.0]), Row([0.0, 0.5, 1.0, 1.0, 1.0, 1.0])
    assert quarters_lost(cash, run) == [0.0, 0.0, 1.0, 0.0, 1.0, 2.0]  # the first whole quarter of production is the third column
    assert quarters_lost(Row([-5.0, -1.0]), Row([1.0, 1.0])) == [1.0, 2.0]  # a row that begins in production begins from nought


def test_a_delay_of_production_delays_the_earliest_closing():
    """Two years to production, then a quarter that counts after the start: a delay of a quarter moves the closing by a quarter."""
    ends = [
        evaluate(with_values(poor(), {"closing.not_before": 0.75 * YEAR, "schedule.delay": delay * YEAR})).plan.ending.time / YEAR
        for delay in (0.0, 0.25)
    ]
    assert ends == [near(2.75), near(3.0)]


def test_where_never_closing_is_best_the_best_time_is_the_end_of_the_plan():
    for case in (demo(), planned()):
        ending = evaluate(case).plan.ending
        assert ending.npv_best == ending.npv_never
        assert ending.best_time == near((len(ending.npv_if_closed) - 1) / 4 * YEAR)


def test_a_plant_that_may_close_while_it_ramps_up_is_odd():
    assert [odd for odd in oddities(demo()) if "ramp" in odd] == []
    case = with_values(demo(), {"closing.not_before": 1.4 * YEAR})  # the ramp of the demo is six quarters
    assert [odd for odd in oddities(case) if "ramp" in odd] == [
        "closing.not_before lies within the ramp, so that a plant may close while it ramps up"
    ]


def test_a_grant_is_paid_back_for_the_time_left():
    inputs = closing_inputs(grant=("0 %", "30 %"), grant_time=("0 year", "2 year"))
    plan = evaluate(poor(inputs=inputs)).plan
    # the grant is 30 % of 1,606,000; half a year of two has passed since production started
    assert plan.quarters["q010"].closing_cost == near(72_000 + 0.75 * 0.3 * 1_606_000)


def test_stock_sells_below_its_cost_and_the_site_is_cleared():
    inputs = closing_inputs(dismantling=("0 EUR", "20000 EUR"), finished_time=("0 day", "91.25 day"))
    early, late = evaluate(poor(inputs=inputs)).plan, evaluate(inputs.load()).plan
    last = early.quarters["q010"]
    assert last.closing_cost == near(72_000 + 20_000 + 0.5 * (last.variable_cost + last.fixed_cost))
    assert [q.closing_cost for q in late.quarters.values()] == [0.0] * 16 + [near(20_000)]


def test_there_is_no_stock_of_modules_before_the_first_plate():
    inputs = plan_inputs().other_yaml("plan.yaml", "finished_time: 0 day", "finished_time: 91.25 day")
    found = list(evaluate(inputs.load()).plan.quarters.values())
    assert [q.stock for q in found[:9]] == [0.0] * 9
    assert found[9].stock == near(found[9].variable_cost + found[9].fixed_cost)


def test_the_first_stock_comes_before_production():
    inputs = plan_inputs().other_yaml("plan.yaml", "bought_before: 0 month", "bought_before: 3 month")
    inputs.tables["buying.csv"] = table(
        "id,item,minimum_order [unit],shelf_life [month],take_or_pay [unit],unit,stock_time [day]\nglass,glass,0,24,0,m2,36.5"
    )
    found = list(evaluate(inputs.load()).plan.quarters.values())
    assert found[8].stock == near(found[9].stock)  # half of full swing, as in the first quarter
    assert found[7].stock == 0.0 < found[8].stock


def test_land_comes_back_with_a_gain_and_is_not_written_off():
    inputs = plan_inputs()
    inputs.tables["land.csv"] = table("id,title,amount [currency],currency,end_share [%]\nplot,plot,200000,EUR,120")
    plain, land = evaluate(planned()).plan, evaluate(inputs.load()).plan
    assert land.capital == near(plain.capital + 200_000)
    assert land.quarters["q001"].capital == near(plain.quarters["q001"].capital + 200_000)
    last, other = land.quarters["q016"], plain.quarters["q016"]
    assert [q.depreciation for q in land.quarters.values()] == [near(q.depreciation) for q in plain.quarters.values()]
    assert last.end_value == near(other.end_value + 240_000)
    assert last.disposal == near(other.disposal - 40_000)
    assert land.project.npv < plain.project.npv


def test_an_asset_of_capital_csv_sells_for_its_share():
    case = with_values(planned(), {"capital.hall.end_share": 0.4})
    assert evaluate(case).plan.quarters["q016"].end_value == near(115_000 + 0.4 * 55_000)  # of what was paid


# relief of losses


def taxed(relief: str, years: str = "60", holiday: str = "used", **plan):
    inputs = plan_inputs().other_yaml("plan.yaml", "loss_relief: carried_forward", f"loss_relief: {relief}")
    inputs.other_yaml("plan.yaml", 'loss_years: "60"', f'loss_years: "{years}"')
    inputs.other_yaml("plan.yaml", "holiday_losses: used", f"holiday_losses: {holiday}")
    return inputs.load()


def taxes_of(case: Case, taxable: list[float], holidays: list[float]) -> tuple[list[float], list[float]]:
    found = taxes(case, taxable, holidays)
    return found.paid, found.carried


def years_of(*amounts: float) -> list[float]:
    """Columns of years with an amount in the first quarter of each; nothing on the first day."""
    return [0.0, *(x for amount in amounts for x in (amount, 0.0, 0.0, 0.0))]


def test_a_year_is_taxed_as_a_whole_with_instalments_by_quarter():
    paid, carried = taxes_of(taxed("carried_forward"), [0.0, 80.0, -50.0, 0.0, 10.0, -20.0, 0.0, 60.0, 0.0], [0.0] * 9)
    assert paid == [0.0, 20.0, -12.5, 0.0, 2.5, 0.0, 0.0, 10.0, 0.0]  # 25 % of 40 in the first year, of 40 in the second
    assert carried == [0.0] * 5 + [20.0, 20.0, 0.0, 0.0]
    paid, carried = taxes_of(taxed("carried_forward"), [0.0, 80.0, 0.0, 0.0, -100.0], [0.0] * 5)
    assert (paid, carried[-1]) == ([0.0, 20.0, 0.0, 0.0, -20.0], 20.0)  # a year without income pays no tax


def test_a_loss_expires_after_its_years():
    flows = years_of(-100.0, 40.0, 80.0)
    paid, carried = taxes_of(taxed("carried_forward", "1"), flows, [0.0] * 13)
    assert paid == years_of(0.0, 0.0, 20.0)  # the second year is the last in which the loss of the first may be used
    assert carried == [0.0] + [100.0] * 4 + [0.0] * 8
    assert taxes_of(taxed("carried_forward"), flows, [0.0] * 13)[0] == years_of(0.0, 0.0, 5.0)


def test_a_loss_is_carried_back_to_the_profits_of_its_years():
    flows = years_of(80.0, 20.0, -50.0, 60.0)
    paid, carried = taxes_of(taxed("carried_back_one_year"), flows, [0.0] * 17)
    assert paid == years_of(20.0, 5.0, -5.0, 7.5)  # only the 20 of the second year are within a year; 30 go forward
    assert carried == [0.0] * 9 + [30.0] * 4 + [0.0] * 4
    assert taxes_of(taxed("carried_back_two_years"), flows, [0.0] * 17)[0] == years_of(20.0, 5.0, -12.5, 15.0)


def test_a_holiday_uses_up_losses_or_leaves_them():
    flows, holiday = years_of(-100.0, 60.0, 60.0), [0.0] * 5 + [1.0] * 4 + [0.0] * 4
    paid, carried = taxes_of(taxed("carried_forward"), flows, holiday)
    assert (paid, carried[4::4]) == (years_of(0.0, 0.0, 5.0), [100.0, 40.0, 0.0])
    paid, carried = taxes_of(taxed("carried_forward", holiday="kept"), flows, holiday)
    assert (paid, carried[4::4]) == ([0.0] * 13, [100.0, 100.0, 40.0])


def test_other_income_takes_a_loss_at_once():
    plan = evaluate(taxed("other_income")).plan
    for quarter in plan.quarters.values():
        assert quarter.tax == near(0.25 * quarter.taxable)
        assert quarter.losses_carried == 0.0


def test_what_is_left_in_the_books_at_closing_is_relieved_by_the_rule():
    forward, other = (
        evaluate(poor(inputs=closing_inputs(loss_relief=("carried_forward", relief)))).plan
        for relief in ("carried_forward", "other_income")
    )
    lost = -sum(q.taxable_without_loan for q in forward.quarters.values())
    assert sum(q.tax_without_loan for q in forward.quarters.values()) == 0.0  # losses not yet used are lost
    assert sum(q.tax_without_loan for q in other.quarters.values()) == near(-0.25 * lost)


# laws


def closed(seed: int) -> Case:
    """A plan of random figures, with a random rule, prices that fall, and a random choice for losses."""
    dice = random.Random(seed)
    inputs = closing_inputs(
        shortfall=("owners", dice.choice(("owners", "creditors"))),
        loss_relief=("carried_forward", dice.choice(("carried_forward", "carried_back_two_years", "other_income"))),
    )
    inputs.other_yaml("plan.yaml", "holiday_losses: used", f"holiday_losses: {dice.choice(('used', 'kept'))}")
    due = dice.choice(("stops", "due"))
    inputs.tables["minimum_royalties.csv"] = table(
        f"id,title,amount [currency/year],currency,begin [year],end [year],after_closing\nleast,least,30000,EUR,1,4,{due}"
    )
    inputs.tables["land.csv"] = table("id,title,amount [currency],currency,end_share [%]\nplot,plot,100000,EUR,80")
    changes = {
        "sales.all.price": dice.uniform(0.3, 2.0), "sales.all.change": dice.uniform(-0.7, 0.0) / YEAR,
        "closing.loss_quarters": float(dice.randint(1, 3)), "closing.not_before": dice.uniform(0, 1) * YEAR,
        "closing.severance_time": dice.uniform(0, 1) * YEAR, "closing.dismantling": dice.uniform(0, 1e5),
        "closing.stock_recovered": dice.random(), "closing.grant_time": dice.uniform(0, 3) * YEAR,
        "outlay.grant": dice.uniform(0, 0.3), "outlay.resale_share": dice.uniform(0, 0.8),
        "outlay.resale_decline": dice.uniform(0, 0.4) / YEAR, "working_capital.finished_time": dice.uniform(0, 0.2) * YEAR,
        "working_capital.bought_before": dice.uniform(0, 0.3) * YEAR, "schedule.delay": dice.uniform(0, 0.9) * YEAR,
        "tax.holiday": dice.uniform(0, 1.5) * YEAR, "returns.inflation": dice.uniform(0, 0.05) / YEAR,
        "loan.part": dice.uniform(0, 0.8),
    }  # fmt: skip
    return with_values(inputs.load(), changes)


def early() -> Case:
    """One that closes early: land, an early loss carried back, a holiday that keeps losses, a minimum that falls due."""
    return closed(16)


@pytest.mark.parametrize("seed", range(40))
def test_books_balance_and_the_worth_of_closing_is_that_of_the_plan_that_closes(seed):
    case = closed(seed)
    plan, scale = evaluate(case).plan, evaluate(case).plan.capital
    found, ending = list(plan.quarters.values()), plan.ending
    assert all(abs(q.balance) <= 1e-9 * scale for q in found)
    end = sum(q.open_share for q in found)
    for name in ("debt", "fixed_assets", "receivables", "stock", "payables", "vat_receivable", "equity", "licence_value"):
        assert all(getattr(q, name) == near(0.0, 100 * scale) for q in found[int(end) - 1 :]), name
    for q in found[int(end) :]:
        assert (q.revenue, q.fixed_cost, q.free_cash, q.owners_cash, q.tax) == (0.0,) * 3 + (near(0.0, scale), 0.0)
    # the same worth by another road: never closed up to the quarter, then what closing brings
    assert plan.project.npv == near(ending.npv_if_closed[f"q{int(end) - 1:03d}"], scale)
    assert ending.npv_best >= max(plan.project.npv, ending.npv_never) - 1e-9 * scale
    assert ending.npv_best == max(ending.npv_if_closed.values())
    assert sum(q.profit for q in found) == near(sum(q.owners_cash for q in found), 100 * scale)


def test_the_random_plans_close_early_late_and_never():
    ends = [evaluate(closed(seed)).plan.ending for seed in range(40)]
    assert 8 <= sum(end.early for end in ends) <= 36
    assert evaluate(early()).plan.ending.early == 1.0
    assert any(end.shortfall > 0 for end in ends)
    assert any(end.npv_best > end.npv_never for end in ends)


@pytest.mark.parametrize("case", [planned, enlarged, demo, lambda: varied(3)])
def test_a_plan_that_is_never_closed_is_worth_what_it_was(case):
    plan = evaluate(case()).plan
    assert plan.ending.early == 0.0
    assert plan.ending.npv_never == near(plan.project.npv, plan.capital)


def test_what_closing_at_the_best_time_is_worth_is_called_an_upper_bound_in_the_same_sentence():
    case = closed(20)  # closes by the rule, though another time would be worth more
    (said,) = [each for each in closing(case, evaluate(case)).split(". ") if "best time" in each]
    assert said.endswith(": an upper bound, as it knows the future.")


def test_closing_follows_each_draw():
    prices = np.array([0.2, 0.6, 2.0])
    plan = evaluate(with_values(closing_inputs().load(), {"sales.all.price": prices})).plan
    for k, price in enumerate(prices):
        one = evaluate(poor(float(price))).plan
        assert plan.project.npv[k] == near(one.project.npv, 1e6)
        assert np.broadcast_to(plan.ending.time, 3)[k] == near(one.ending.time)


def test_a_plant_that_never_runs_has_no_time_to_close_before_the_end():
    # three columns, none with a whole quarter of production; the value of closing is best in the first
    row = SimpleNamespace(rate=0.0, loss_use=1.0, loss_relief="carried_forward", loss_years="60", holiday_losses="used")
    case, none = SimpleNamespace(plan=SimpleNamespace(tax=row), constants=SimpleNamespace(year=4.0)), constant(0.0, 3)
    settled = Settled(Row([0.0, -10.0, -10.0]), none, Pools([], [], [], []), none)
    parts = Proceeds(constant(50.0, 3), *[none] * 6)
    ahead = Ahead(Row([0.0, -60.0, -90.0]), settled, none, none, parts, constant(50.0, 3), none, 0.0)
    found = ending(case, Use(constant(1.0, 3), True, none), ahead, none)
    assert found.best_time == 2.0  # the last column
    early = dataclasses.replace(ahead, run=Row([1.0, 1.0, 1.0]))
    assert ending(case, Use(constant(1.0, 3), True, none), early, none).best_time == 0.0
