"""Money of each side: second licensees of the territory, own tax and credit, exchange rates, and the split over kinds."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from costmodel.case.addresses import replaced
from costmodel.case.whole_case import with_held
from costmodel.model.evaluate import evaluate
from costmodel.present import deal_report, payments_report, plan_report, terms_report, zone_report
from costmodel.present.numbers import amount, money, people
from costmodel.studies.negotiation.concessions import exclusivity
from costmodel.studies.negotiation.overview import overview
from costmodel.studies.negotiation.payment_split import payment_split
from costmodel.studies.negotiation.price_paths import price_paths

from .cases import table
from .deal_money_laws import dealt, violated_by_deal_money
from .refusals import faults
from .test_deal import OWN, SALES, THEIRS, YEAR, flat_inputs, near, now, royalties

PROSPECT = (
    "id,title,territory,value [currency],currency,probability [%],window [year],lost [%],entry_time [year],price_effect [%],"
    "volume_effect [%]\n"
)


def with_prospects(*rows: str):
    """The flat case without a minimum royalty, with prospects."""
    inputs = flat_inputs()
    del inputs.tables["minimum_royalties.csv"]
    inputs.tables["prospects.csv"] = table(PROSPECT + "\n".join(rows))
    return inputs


# two years of exclusivity, a window of four: of 40 %, half would have signed in it, of whom a quarter waits and signs as it ends;
# the others sign evenly in the eight quarters that follow. All sell a year later, from the 13th quarter on.
AGREED = [0.0] * 13 + [0.4 * (0.5 * 0.25 + (k + 0.5) / 16) for k in range(4)]
OPEN = [0.0] * 5 + [0.4 * (k + 0.5) / 16 for k in range(12)]


def test_second_licensees_by_hand():
    case = with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load()
    deal = evaluate(case).deal
    found = deal.second_licensees["other"]
    assert list(found.selling.values()) == [near(x) for x in AGREED]
    assert list(found.selling_if_open.values()) == [near(x) for x in OPEN]
    # a tenth of the price; 4 % of it is royalty, of which 72 % is left to the licensor; no tax at the licensee
    for probabilities, taken in ((AGREED, deal.taken), (OPEN, deal.taken_if_open)):
        lost = [0.1 * probability * sold for probability, sold in zip(probabilities, SALES)]
        assert taken.licensee == near(0.96 * now(lost, THEIRS))
        assert taken.licensee_free == near(now(lost, THEIRS))
        assert taken.licensor == near(0.72 * 0.04 * now(lost, OWN))
    kept = [0.1 * (a - b) * sold for a, b, sold in zip(OPEN, AGREED, SALES)]
    worth = deal.exclusivity
    assert worth.licensee_value == near(0.96 * now(kept, THEIRS))
    assert worth.licences_lost == near(15_000 / 1.05)  # as in test_deal
    assert worth.licensor_cost == near(15_000 / 1.05 - 0.72 * 0.04 * now(kept, OWN))


def test_shares_keep_dividends_that_others_would_take():
    """A tenth of the shares: dividends fall by a tenth of the cash that others take, 85 % of them are left to the licensor."""
    case = with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load()
    found = evaluate(replaced(case, {"licence.equity_share": 0.1}))
    cash = [quarter.free_cash for quarter in found.plan.quarters.values()]
    lost = [[0.1 * p * sold for p, sold in zip(chances, SALES)] for chances in (AGREED, OPEN)]
    paid = [[0.1 * max(free - 0.96 * x, 0.0) for free, x in zip(cash, each)] for each in lost]
    kept, dividends = ([there - here for here, there in zip(*each)] for each in (lost, paid[::-1]))
    assert sum(dividends) > 0.05 * sum(kept)
    worth = found.deal.exclusivity
    assert worth.payments_kept == near(0.72 * 0.04 * now(kept, OWN) + 0.85 * now(dividends, OWN))
    assert worth.licensor_cost == near(15_000 / 1.05 - worth.payments_kept)
    assert worth.licensee_value == near(0.96 * now(kept, THEIRS) - now(dividends, THEIRS))


def test_the_value_of_the_plan_and_that_of_the_deal_are_reconciled():
    """Shares of a tenth: what the plan shows, less their dividends and what others take, is what the deal shows."""
    case = replaced(with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load(), {"licence.equity_share": 0.1})
    results = evaluate(case)
    plan, deal = results.plan, results.deal
    lost = [0.96 * 0.1 * p * sold for p, sold in zip(AGREED, SALES)]
    dividends = now([0.1 * max(q.free_cash - x, 0.0) for q, x in zip(plan.quarters.values(), lost)], THEIRS)
    assert deal.licensee.npv == near(plan.project.npv - dividends - now(lost, THEIRS) + deal.licensee.damages)
    shown = dict(deal_report.licensee_table(case, results).rows)
    assert shown["the plant of the plan, with what is paid for the licence"] == people(plan.project.npv)
    assert shown["dividends on the shares given to the licensor"] == people(-dividends)
    assert shown["taken by second licensees"] == people(-now(lost, THEIRS))
    assert (shown["by these terms"], shown["above it"]) == (people(deal.licensee.npv), people(deal.licensee.gain))
    note = plan_report.worth_table(case, results).note
    assert "also the 10.0 % given to the licensor" in note
    assert f"Dividends on those are {amount(dividends, 'EUR')} " in note
    plain = replaced(case, {"licence.equity_share": 0.0})
    assert "given to the licensor" not in plan_report.worth_table(plain, evaluate(plain)).note


def test_what_second_licensees_take_enters_both_gains():
    alone = evaluate(with_prospects("other,other,here,100000,EUR,40,4,75,1,0,0").load()).deal
    case = with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load()
    deal = evaluate(case).deal
    lost = [0.1 * probability * sold for probability, sold in zip(AGREED, SALES)]
    assert deal.licensee.npv_undisturbed == near(alone.licensee.npv)
    assert deal.licensee.gain == near(alone.licensee.gain - 0.96 * now(lost, THEIRS))
    assert deal.licensee.ceiling == near(alone.licensee.ceiling - now(lost, THEIRS))
    assert deal.licensor.gain == near(alone.licensor.gain - 0.72 * 0.04 * now(lost, OWN))


def test_a_loss_of_volume_saves_what_follows_the_output():
    results = evaluate(with_prospects("other,other,here,100000,EUR,40,4,75,1,10,20").load())
    quarters = list(results.plan.quarters.values())
    # price and volume: 1 - 0.9 * 0.8 of the sales, a fifth of the volume
    margin = [0.28 * p * sold - 0.2 * p * q.variable_cost for p, sold, q in zip(AGREED, SALES, quarters)]
    assert min(q.variable_cost for q in quarters[13:]) > 0
    assert results.deal.taken.licensee_free == near(now(margin, THEIRS))


def test_two_second_licensees_do_not_take_the_same_sales_twice():
    row = "{},other,here,100000,EUR,100,1,0,0,50,0"
    inputs = with_prospects(row.format("one"), row.format("two"))
    inputs.other_yaml("deal.yaml", "exclusive_time: 2 year", "exclusive_time: 0 year")
    deal = evaluate(inputs.load()).deal  # both sell all along: half of a half is left
    assert deal.taken.licensee_free == near(0.75 * now(SALES, THEIRS))


def test_outside_of_the_territories_nobody_competes_and_nothing_is_closed():
    deal = evaluate(with_prospects("other,other,outside,100000,EUR,40,4,75,1,10,20").load()).deal
    assert deal.second_licensees == {}
    assert (deal.licensor.territory, deal.taken.licensee, deal.taken_if_open.licensee) == (0.0, 0.0, 0.0)


def test_an_unknown_territory_is_refused():
    inputs = with_prospects("other,other,hare,100000,EUR,40,4,75,1,10,20")
    assert faults(inputs.load) == [
        "prospects.csv, row 2, column 'territory': found 'hare'; allowed: a territory of deal.yaml: here, next door; or 'outside'; "
        "did you mean 'here'?"
    ]


# the licensor's own tax


def taxed(relief: str, rate: float = 0.30, **values):
    """The flat case with an own tax of the licensor, and its deal."""
    inputs = flat_inputs().other_yaml("deal.yaml", "tax_relief: exempt", f"tax_relief: {relief}")
    return evaluate(replaced(inputs.load(), {"licensor.tax_rate": rate, **values})).deal.licensor


@pytest.mark.parametrize(("relief", "rate"), [("credit", 0.30), ("credit", 0.05), ("none", 0.30), ("exempt", 0.30)])
def test_own_tax_and_credit_by_hand(relief, rate):
    plain, own = taxed("exempt", 0.0), taxed(relief, rate)
    costs = plain.floor - plain.contribution  # no licence is lost here
    income = plain.received * (1 - 0.9 * 0.2) - costs
    assert own.taxable == near(income)
    tax = 0.0 if relief == "exempt" else rate * income
    credit = min(0.1 * plain.received, tax) if relief == "credit" else 0.0
    assert (own.own_tax, own.credit) == (near(tax), near(credit))
    assert own.gain == near(plain.gain - tax + credit)
    # the credit is limited by the tax at 5 %, by what is withheld at 30 %
    assert (credit == 0.1 * plain.received) == (relief == "credit" and rate == 0.30)


@pytest.mark.parametrize(("relief", "rate"), [("credit", 0.30), ("credit", 0.05), ("none", 0.30), ("exempt", 0.30)])
def test_payments_that_leave_just_the_floor_do(relief, rate):
    """All payments are royalty at one rate: scaled to `floor_paid`, what is left is the floor."""
    values = {"licence.upfront": 0.0, "minimum_royalties.least.amount": 0.0}
    own = taxed(relief, rate, **values)
    scaled = taxed(relief, rate, **values, **{"licence.royalty": 0.04 * own.floor_paid / own.received})
    assert scaled.received == near(own.floor_paid)
    assert scaled.gain == pytest.approx(0.0, abs=1e-6)


def test_a_loss_is_not_taxed():
    own = taxed("credit", 0.30, **{"licence.royalty": 0.0, "licence.upfront": 0.0, "minimum_royalties.least.amount": 0.0})
    assert own.taxable < 0
    assert (own.own_tax, own.credit) == (0.0, 0.0)
    assert not np.isnan(own.floor_paid)


# exchange rates


def foreign(currency: str = "EUR", **values):
    """The flat case with one dollar for half a euro, which grows by 4 % a year; the licensor's money in a currency."""
    inputs = flat_inputs().other_yaml("deal.yaml", "licensor:\n  currency: EUR", f"licensor:\n  currency: {currency}")
    for name in ("upkeep", "damages", "contribution", "sunk_research"):
        old, unit = {
            "upkeep": ("0", "/year"),
            "damages": ("0", ""),
            "contribution": ("306000", ""),
            "sunk_research": ("100000", ""),
        }[name]
        inputs.other_yaml("deal.yaml", f"{name}: {old} EUR{unit}", f"{name}: {old} {currency}{unit}")
    return replaced(inputs.load(), {"money.usd.change": 0.04 / YEAR, **values})


def risen(flows, change):
    """Flows of quarters at a rate that changes year by year."""
    return [flow * (1 + change) ** (k / 4) for k, flow in enumerate(flows)]


def test_present_value_in_another_currency_is_of_flows_at_the_path():
    """Each flow into dollars at the rate of its day, then the licensor's own rate; 50,000 upfront and the royalties."""
    own = evaluate(foreign("USD")).deal
    flows = [a + b for a, b in zip([50_000.0] + [0.0] * 16, royalties(0.04))]
    dollars = now([flow / (0.5 * 1.04 ** (k / 4)) for k, flow in enumerate(flows)], OWN)
    assert own.own_money.received == near(dollars)
    assert own.licensor.received == near(0.5 * dollars)  # back at the rate of day one
    assert own.own_money.net == near(0.72 * dollars)
    # the contribution of 306,000 is in dollars, the work in euros: 5,000 a quarter
    work = now([0.0] + [5_000 / (0.5 * 1.04 ** (k / 4)) for k in range(1, 5)], OWN)
    assert own.own_money.floor == near(work + 306_000)
    assert own.own_money.gain == near(0.72 * dollars - work - 306_000)
    assert own.gain == near(0.5 * own.own_money.gain + own.licensee.gain)


def test_work_in_the_licensors_own_currency_does_not_feel_the_exchange_rate():
    case = foreign("USD")
    dollars = dataclasses.replace(case.deliveries["work"], currency="USD")
    own = evaluate(dataclasses.replace(case, deliveries={"work": dollars})).deal.own_money
    assert own.floor == near(now([0.0] + [5_000] * 4, OWN) + 306_000)


def test_sales_and_payments_are_at_the_rate_of_when_they_count():
    inputs = flat_inputs().cell("sales.csv", "all", "currency", "USD").cell("sales.csv", "all", "price", "6")
    inputs.tables["fees.csv"] = table(
        "id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as\n"
        "first,first,40000,USD,24,100,0,licence"
    )
    inputs.tables["yearly_services.csv"] = table(
        "id,title,price [currency/year],cost [currency/year],currency,begin [year],end [year],change [%/year],paid_as,"
        "after_closing\ntest,tests,8000,4000,USD,2,3,0,services,stops"
    )
    results = evaluate(replaced(inputs.load(), {"money.usd.change": 0.04 / YEAR}))
    plan = results.plan
    assert [q.revenue for q in plan.quarters.values()] == [near(x) for x in risen(SALES, 0.04)]
    paid = {name: list(row.quarters.values()) for name, row in plan.payments.items()}
    assert paid["royalty"][9:] == [near(0.04 * x) for x in risen(SALES, 0.04)[9:]]
    assert paid["fee_first"][8] == near(20_000 * 1.04**2)
    assert paid["upfront"][0] == near(50_000)  # in euros
    assert paid["service_test"][9:13] == [near(0.5 * 2_000 * 1.04 ** (k / 4)) for k in range(9, 13)]
    cost = now(risen([0.0] * 9 + [500.0] * 4, 0.04), OWN)
    assert results.deal.yearly_services["test"].cost == near(cost)  # once at the path, not twice


def test_a_royalty_per_watt_in_another_currency_is_paid_at_the_rate_of_its_quarter():
    """USD 0.02 for each watt, EUR 0.50 for a dollar on day one and 4 % more each year; watts sell at EUR 3."""
    case = replaced(flat_inputs().load(), {"money.usd.change": 0.04 / YEAR})
    licence = dataclasses.replace(case.deal.licence, currency="USD", royalty=0.0, royalty_per_watt=0.02)
    plan = evaluate(with_held(case, {"licence": licence})).plan
    paid = list(plan.payments["royalty"].quarters.values())
    assert paid == [near(x) for x in risen([0.02 * 0.5 * sold / 3.0 for sold in SALES], 0.04)]


def test_the_rate_of_the_reporting_currency_stays_one():
    inputs = flat_inputs().cell("money.csv", "eur", "change", "2")
    assert faults(inputs.load) == ["money.csv, row 2, column 'change': found 0.02 a year; allowed: 0 for the reporting currency"]


# the split over kinds of payment


def split_inputs(licence: str, services: str, price: str = "30000"):
    """The flat case with work that is paid, without a minimum; bounds of both kinds in per cent."""
    inputs = flat_inputs().cell("deliveries.csv", "work", "price", price)
    del inputs.tables["minimum_royalties.csv"]
    for kind, bounds in (("licence", licence), ("services", services)):
        least, most = bounds.split("-")
        inputs.cell("payment_kinds.csv", kind, "least_share", least).cell("payment_kinds.csv", kind, "most_share", most)
    return inputs


def test_the_best_split_by_hand():
    """Of know-how 72 % are left, of work 95 %: work goes to its most, 40 % of what is paid, at the same cost to the licensee."""
    case = split_inputs("0-100", "0-40").load()
    found = payment_split(case)
    know_how, work = [50_000.0] + [0.04 * x for x in SALES[1:]], [0.0] + [7_500.0] * 4
    paid = np.array([sum(know_how), sum(work)])
    cost = np.array([now(know_how, THEIRS), now(work, THEIRS)])  # no tax at the licensee
    left = np.array([0.72 * now(know_how, OWN), 0.95 * now(work, OWN)])
    # x paid[0] = 0.6 of all, y paid[1] = 0.4 of all, x cost[0] + y cost[1] as now
    factors = np.array([0.6, 0.4]) / paid
    factors *= cost.sum() / (factors @ cost)
    assert factors[0] < 1 < factors[1]
    assert [found.factors["licence"], found.factors["services"]] == [near(x, 1e-7) for x in factors]
    by_kind = {row.kind: row for row in found.rows}
    assert by_kind["services"].share == (near(paid[1] / paid.sum()), near(0.4, 1e-7))
    assert found.licensor[1] - found.licensor[0] == near(factors @ left - left.sum(), 1e-6)
    assert found.licensee == pytest.approx(0.0, abs=1e-6)


def test_a_credit_can_turn_the_split():
    """With a credit that is used in full, know-how without inventors leaves as much of the same income: work is no better."""
    values = {"payment_kinds.licence.inventors_share": 0.0, "licensor.discount_rate": 0.08 / YEAR}
    inputs = split_inputs("0-100", "0-40").other_yaml("deal.yaml", "tax_relief: exempt", "tax_relief: credit")
    exempt = payment_split(replaced(split_inputs("0-100", "0-40").load(), values))
    credited = payment_split(replaced(inputs.load(), values | {"licensor.tax_rate": 0.9, "licensor.contribution": 0.0}))
    assert exempt.licensor[1] - exempt.licensor[0] > 1_000
    assert credited.licensor[1] - credited.licensor[0] == pytest.approx(0.0, abs=1e-3)


def test_without_a_split_within_the_bounds_it_is_said():
    case = split_inputs("0-50", "50-100", price="0").load()  # nothing is paid for work, which must have half
    assert payment_split(case).rows == ()
    found = overview(case)
    assert payments_report.split(case, found).startswith("No split of the payments over their kinds is within the shares")


@pytest.mark.parametrize(("licence", "services", "said"), [
    ("60-50", "0-100", "row 2, column 'least_share': found a least share above the most; allowed: least_share <= most_share"),
    ("60-100", "50-100", "row 2, column 'least_share': found least shares of more than 100 % together; allowed: at most 100 %"),
    ("0-50", "0-40", "row 2, column 'most_share': found most shares of less than 100 % together; allowed: at least 100 %"),
])  # fmt: skip
def test_bounds_that_cannot_hold_are_refused(licence, services, said):
    assert faults(split_inputs(licence, services).load) == [f"payment_kinds.csv, {said}"]


# falling prices and exclusivity in words and tables


def test_the_paths_of_prices_are_what_their_columns_say():
    case = replaced(with_prospects("other,other,outside,1,EUR,0,4,0,0,0,0").load(), {"sales.all.change": -0.02 / YEAR})
    found = price_paths(case)
    assert found.paths == ("planned", "flat", 0.05, 0.10, 0.15)

    def left(fall):
        """Royalty on sales as prices fall: the price in the middle of each quarter."""
        flows = [found.royalty * sold * (1 - fall) ** (max(k - 0.5, 0.0) / 4) for k, sold in enumerate(SALES)]
        return 0.72 * now(flows, OWN)

    gains = found.gains["on sales"].licensor
    assert gains - gains[0] == pytest.approx([left(fall) - left(0.02) for fall in (0.02, 0.0, 0.05, 0.10, 0.15)], abs=1e-3)
    # a royalty per watt is worth the same at the plan's prices, so it is worth more where they fall faster
    assert found.crossings["deal.licensor.gain"] == near(0.02, 1e-6)
    assert found.unpaid[0] == near(evaluate(case).deal.licensee.ceiling)


def test_a_year_of_exclusivity_has_a_price_for_both():
    case = with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load()
    found = exclusivity(case, (0.0, 2.0))
    worth = evaluate(case).deal.exclusivity
    assert list(found.cost) == [0.0, near(worth.licensor_cost)]
    assert list(found.worth) == [0.0, near(worth.licensee_value)]
    results = evaluate(case)
    said = terms_report.exclusive(case, results, overview(case))
    assert said.startswith(f"2 years of exclusivity in here and next door cost the licensor {money(worth.licensor_cost, 'EUR')}.")
    assert f"between {money(worth.licensor_cost, 'EUR')} and {money(worth.licensee_value, 'EUR')} leaves both better off" in said


def test_the_licensors_figures_are_shown_in_its_own_currency_too():
    case = foreign("USD")
    results = evaluate(case)
    own = results.deal.own_money
    both = f"{money(results.deal.licensor.floor, 'EUR')} ({money(own.floor, 'USD')})"
    assert f"The licensor's floor is {both}" in deal_report.floor(case, results)
    words = payments_report.paid(case, results)
    headings = results.deal.by_heading
    total = sum(each.paid for each in headings.values())
    assert words.startswith(f"The licensee pays {amount(total, case.currency)} over the plan.")
    largest = max(headings, key=lambda name: headings[name].paid)
    assert f"The largest part is “{payments_report.heading_name(case, largest)}”: " in words
    shown = payments_report.licensor_table(case, results)
    assert shown.columns == ["", "EUR", "USD"]
    assert shown.rows[-1] == ["above the floor", people(results.deal.licensor.gain), people(own.gain)]
    assert "USD 1 is EUR 0.5 on day one, changing +4.00 % a year" in shown.note


def test_what_is_withheld_on_dividends_stands_in_the_sentence_and_in_the_table():
    case = replaced(flat_inputs().load(), {"licence.equity_share": 0.1})
    results = evaluate(case)
    flows = [0.1 * max(quarter.free_cash, 0.0) for quarter in results.plan.quarters.values()]
    withheld = 0.15 * now(flows, OWN)  # 15 % of dividends, payment_kinds.csv
    said = payments_report.own_tax(case, results)
    assert f"of the payments, {amount(withheld, 'EUR')} of it on dividends." in said
    shown = {row[0]: row[3] for row in payments_report.received_table(case, results).rows}
    assert shown["dividends"] == people(-withheld)
    assert shown["all"] == people(-results.deal.licensor.withheld)
    plain = flat_inputs().load()
    assert "dividends" not in payments_report.own_tax(plain, evaluate(plain))


def test_without_a_royalty_on_sales_one_per_watt_stays_due():
    case = flat_inputs().load()
    per_watt = replaced(case, {"licence.royalty_per_watt": 0.01})
    assert zone_report.corners(case, overview(case)).startswith("Without a running royalty (a minimum royalty stays due) ")
    start = "Without a royalty on sales (the royalty per watt and a minimum royalty stay due) the fee is from "
    assert zone_report.corners(per_watt, overview(per_watt)).startswith(start)


def test_the_laws_of_a_deal_hold():
    assert list(violated_by_deal_money(dealt())) == []


def test_an_exchange_rate_may_spread():
    """A range of money.csv is read, and the model takes draws of the change like any other input."""
    inputs = flat_inputs().cell("sales.csv", "all", "currency", "USD")
    header = "id,address,distribution,low [unit],mode [unit],high [unit],unit,group,known"
    inputs.tables["ranges.csv"] = table(f"{header}\ndollar,money.usd.change,triangular,-5,0,5,%/year,money,after_purchase")
    case = inputs.load()
    changes = np.array([-0.05, 0.0, 0.05])
    drawn = evaluate(replaced(case, {"money.usd.change": changes / YEAR})).deal
    alone = [evaluate(replaced(case, {"money.usd.change": change / YEAR})).deal for change in changes]
    assert drawn.licensee.gain == pytest.approx([float(each.licensee.gain) for each in alone])
    assert drawn.licensor.gain == pytest.approx([float(each.licensor.gain) for each in alone])
    assert drawn.licensor.gain[0] < drawn.licensor.gain[1] < drawn.licensor.gain[2]
