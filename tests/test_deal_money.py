"""Money of each side: second licensees of the territory, own tax and credit, exchange rates, and the split over kinds."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.case.addresses import replaced
from costmodel.model import evaluate

from .cases import table
from .refusals import faults
from .test_deal import OWN, SALES, THEIRS, flat_inputs, near, now

PROSPECT = (
    "id,title,territory,value [currency],currency,chance [%],window [year],lost [%],entry_time [year],price_effect [%],"
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
    for chances, taken in ((AGREED, deal.taken), (OPEN, deal.taken_if_open)):
        lost = [0.1 * chance * sold for chance, sold in zip(chances, SALES)]
        assert taken.licensee == near(0.96 * now(lost, THEIRS))
        assert taken.licensee_free == near(now(lost, THEIRS))
        assert taken.licensor == near(0.72 * 0.04 * now(lost, OWN))
    kept = [0.1 * (a - b) * sold for a, b, sold in zip(OPEN, AGREED, SALES)]
    worth = deal.exclusivity
    assert worth.licensee_worth == near(0.96 * now(kept, THEIRS))
    assert worth.licences_lost == near(15_000 / 1.05)  # as in test_deal
    assert worth.licensor_cost == near(15_000 / 1.05 - 0.72 * 0.04 * now(kept, OWN))


def test_what_second_licensees_take_enters_both_gains():
    alone = evaluate(with_prospects("other,other,here,100000,EUR,40,4,75,1,0,0").load()).deal
    case = with_prospects("other,other,here,100000,EUR,40,4,75,1,10,0").load()
    deal = evaluate(case).deal
    lost = [0.1 * chance * sold for chance, sold in zip(AGREED, SALES)]
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
