"""What opens an empty zone: worked by hand where money moves in straight lines, and what is tried at all."""

from __future__ import annotations

import numpy as np
import pytest

from costmodel.case.addresses import replaced, value_at
from costmodel.case.changes import with_values
from costmodel.model.evaluate import evaluate
from costmodel.present.zone_report import without_other_terms
from costmodel.studies.negotiation.openings import (
    MIXES,
    Opening,
    _Gaps,
    _limits,
    _nearest_that_meet,
    candidates,
    held_terms,
    openings,
)
from costmodel.studies.negotiation.overview import overview
from costmodel.studies.negotiation.sides import ROYALTY, UPFRONT

from .cases import table
from .test_deal import FLOOR, OWN, SALES, THEIRS, YEAR, flat_inputs, now

WORK = FLOOR - 306_000  # of the floor, what the transfer costs
CAP, PRICE = 0.1, 3.0
ABOVE = 1.05  # times the most contribution that leaves a mix
CONTRIBUTION, SALE = "licensor.contribution", "sales.all.price"


def straight(**tables: str):
    """The flat case without a minimum and with a royalty cap of 10 %: both sides gain in proportion to fee and royalty."""
    inputs = flat_inputs()
    del inputs.tables["minimum_royalties.csv"]
    for file, text in tables.items():
        inputs.tables[f"{file}.csv"] = table(text)
    return replaced(inputs.load(), {"licence.royalty_cap": CAP})


def most_contribution(case) -> float:
    """The contribution that the best mix just leaves.

    The licensor discounts at 5 % and the licensee at 8 %, so that a royalty is worth more to the one than it costs the other: the
    best mix has the royalty at its cap and all else of what the licensee can bear as a fee. 72 % of either are left.
    """
    fee = float(evaluate(case).deal.licensee.ceiling) - CAP * now(SALES, THEIRS)
    assert fee > 20_000
    return 0.72 * (fee + CAP * now(SALES, OWN)) - WORK


@pytest.fixture(scope="module")
def empty():
    """The straight case with a contribution a twentieth above what any mix leaves."""
    case = straight()
    return replaced(case, {CONTRIBUTION: ABOVE * most_contribution(case)})


@pytest.fixture(scope="module")
def found(empty):
    return {each.address: each for each in openings(empty)}


def test_a_lower_contribution_opens_the_zone_by_hand(empty, found):
    wanted = most_contribution(straight())
    assert found[CONTRIBUTION].present == pytest.approx(ABOVE * wanted)
    assert found[CONTRIBUTION].wanted == pytest.approx(wanted, rel=2e-6)
    assert found[CONTRIBUTION].change == pytest.approx(1 / ABOVE - 1, abs=2e-6)


def test_a_higher_price_opens_the_zone_by_hand(empty, found):
    """What the licensee can bear rises with the price in a straight line, as there is no tax, and so does what royalties bring."""
    ceilings = [float(evaluate(replaced(empty, {SALE: price})).deal.licensee.ceiling) for price in (PRICE, PRICE + 1)]
    more = 0.72 * (ceilings[1] - ceilings[0] + CAP * (now(SALES, OWN) - now(SALES, THEIRS)) / PRICE)  # by a price that is 1 higher
    short = (ABOVE - 1) * most_contribution(straight())
    assert found[SALE].wanted == pytest.approx(PRICE + short / more, rel=2e-6)


def test_less_withheld_opens_the_zone_by_hand(empty, found):
    """Of 1 that is paid, 0.8 less four fifths of what is withheld are left; the least that opens is just what is short."""
    need = ABOVE * most_contribution(straight()) + WORK  # what must be left of the fee and the royalty
    paid = (most_contribution(straight()) + WORK) / 0.72
    assert found["payment_kinds.licence.withholding"].wanted == pytest.approx(1 - need / paid / 0.8, abs=2e-6)


def test_own_terms_that_can_be_given_up_are_looked_at_first():
    """Half of the shares, of whose dividends 99 % are withheld: they cost the licensee much and bring the licensor nothing."""
    held = {"payment_kinds.dividends.withholding": 0.99, "licence.equity_share": 0.5}
    case = replaced(straight(), {**held, CONTRIBUTION: 0.9 * most_contribution(straight())})
    results = overview(case)
    assert results.zone.empty
    assert "the shares" in results.given_up.held
    assert (results.given_up.alone, results.given_up.together) == (("the shares",), True)
    assert "Without the shares there is a zone." in without_other_terms(case, results)
    dear = overview(replaced(case, {CONTRIBUTION: 1.5 * most_contribution(straight())}))
    assert (dear.given_up.alone, dear.given_up.together) == ((), False)
    assert "there is no zone either." in without_other_terms(dear.case, dear)
    assert overview(straight()).given_up is None  # there is a zone, so nothing need be given up


def test_what_can_be_given_up_is_what_is_asked_besides_fee_and_royalty():
    """A minimum, and of two fees the one that is not nothing; then a tenth of the shares and a cent a watt too, and no minimum."""
    header = "id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as"
    inputs = flat_inputs()
    inputs.tables["fees.csv"] = table(f"{header}\nlook,a look,100000,EUR,0,100,0,licence\nnone,left out,0,EUR,0,100,0,licence")
    case = inputs.load()
    fee = {"the other fees": ["fees.look.amount"]}
    assert held_terms(case) == {"the minimum royalty": ["minimum_royalties.least.amount"], **fee}
    more = {"licence.equity_share": 0.1, "licence.royalty_per_watt": 0.01, "minimum_royalties.least.amount": 0.0}
    assert held_terms(replaced(case, more)) == {
        "the shares": ["licence.equity_share"], "the royalty per watt": ["licence.royalty_per_watt"], **fee
    }  # fmt: skip


def test_the_smallest_change_comes_first_and_nothing_opens_that_moves_neither_side(found):
    changes = [abs(each.change) for each in found.values()]
    assert changes == sorted(changes)
    assert "payment_kinds.services.withholding" not in found  # no work is paid for
    assert "licence.exclusive_time" not in found  # nobody else would take a licence


def test_each_opening_opens_and_a_little_less_does_not(empty, found):
    addresses = list(found)
    gaps = _Gaps(empty, addresses)
    factors = np.array([each.wanted / each.present for each in found.values()])
    rows = np.arange(len(addresses))
    assert gaps.met(rows, factors).all()
    assert not gaps.met(rows, 1 + (factors - 1) * (1 - 1e-4)).any()
    assert list(gaps.met(np.array([0, 0]), np.array([1.0, factors[0]]))) == [False, True]  # one input at two values


def test_a_fee_that_another_payment_is_credited_to_opens_at_the_same_contribution():
    """A look of 100,000 at once, taken off the fee in full: fee and look together are the fee of before."""
    header = "id,title,amount [currency],currency,time [month],probability [%],credited [%],paid_as"
    look = f"{header}\nlook,a look,100000,EUR,0,100,100,licence"
    case = replaced(straight(fees=look), {"licence.royalty_cap": 0.07})  # the fee is more than the look at the best mix
    fee = float(evaluate(straight()).deal.licensee.ceiling) - 0.07 * now(SALES, THEIRS)
    assert fee > 150_000
    wanted = 0.72 * (fee + 0.07 * now(SALES, OWN)) - WORK
    (opened,) = (each for each in openings(replaced(case, {CONTRIBUTION: ABOVE * wanted})) if each.address == CONTRIBUTION)
    assert opened.wanted == pytest.approx(wanted, rel=2e-6)


def test_where_a_mix_suits_both_nothing_is_looked_for():
    case = straight()
    assert openings(replaced(case, {CONTRIBUTION: 0.999 * most_contribution(case)})) == []


def test_what_is_tried(empty):
    """Ranges, beliefs and terms of trade that are not nothing; no term of the licence but the time of exclusivity."""
    tried = candidates(empty)
    assert {CONTRIBUTION, SALE, "tools.saw.price", "product.initial_efficiency", "payment_kinds.licence.withholding"} <= set(tried)
    assert not {UPFRONT, ROYALTY, "tax.rate", "outlay.grant", "sales.all.change", "payment_kinds.licence.gross_up"} & set(tried)
    assert "sales.all.change" in candidates(with_values(empty, {"sales.all.change": -0.02 / YEAR}))


def test_royalties_are_tried_up_to_the_cap(empty):
    royalties = _Gaps(empty, [SALE]).royalties
    assert (len(royalties), royalties[0], royalties[-1]) == (MIXES, 0.0, CAP)


class Meets:
    """Two inputs of 10 and 0.5: the first meets from 12.5 on or up to 9, the second from 0.7 on."""

    present = np.array([10.0, 0.5])

    def met(self, rows, factors):
        values = self.present[rows] * factors
        return np.where(rows == 0, (values >= 12.5) | (values <= 9.0), values >= 0.7)


def test_the_nearest_factor_of_those_tried_that_are_allowed():
    """Tried are 1, 2, 5, 10, 20, 30, 50 and 75 % to both sides: 9 are 10 % less of the first, 0.75 are half more of the second."""
    rows, factors = _nearest_that_meet(Meets(), [(0.0, np.inf), (0.0, 1.0)])
    assert dict(zip(rows.tolist(), factors.tolist())) == {0: pytest.approx(0.9), 1: pytest.approx(1.5)}
    rows, factors = _nearest_that_meet(Meets(), [(9.5, np.inf), (0.0, 0.6)])  # 9 and 0.75 are not allowed
    assert dict(zip(rows.tolist(), factors.tolist())) == {0: pytest.approx(1.3)}
    rows, factors = _nearest_that_meet(Meets(), [(9.0, 13.0), (0.5, 0.75)])  # the ends themselves are
    assert dict(zip(rows.tolist(), factors.tolist())) == {0: pytest.approx(0.9), 1: pytest.approx(1.5)}


def test_how_far_an_input_may_be_moved(empty):
    assert _limits(empty, SALE) == (0.0, np.inf)
    assert _limits(empty, "payment_kinds.licence.withholding") == (0.0, 0.9)  # as the column allows
    assert _limits(empty, "product.stabilisation_ratio") == (0.0, 1.0)


def test_a_change_is_over_the_present_value():
    assert Opening("a", 4.0, 5.0).change == 0.25
    assert float(value_at(straight(), SALE)) == PRICE
