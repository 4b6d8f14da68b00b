"""The general laws of identities.py and scaling_laws.py, and the ledger's checks with inputs drawn at random."""
from __future__ import annotations

import dataclasses
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.case.addresses import value_at, with_values
from costmodel.case.records import Case
from costmodel.model import evaluate

from .cases import demo, pooled_inputs, tiny
from .identities import LAWS_OF_ONE_CASE, checks_of_the_ledger_are_zero, frozen, messages
from .scaling_laws import SCALING_LAWS


@lru_cache(maxsize=1)
def pooled() -> Case:
    return pooled_inputs().load()


@pytest.mark.parametrize("case", [demo, tiny, pooled], ids=["demo", "tiny", "pooled"])
@pytest.mark.parametrize("law", [*LAWS_OF_ONE_CASE, *SCALING_LAWS], ids=lambda law: law.__name__)
def test_law_holds(law, case):
    assert messages(law, case()) == []


YIELDS = ("steps.deposition.first_pass_yield", "steps.plate_test.first_pass_yield", "steps.tape.rework_share",
          "steps.soak_sample.processed_share", "layers.i_2.utilisation", "coatings.silver_film.landing_share")
FACTORS = ("prices.silane.price", "prices.front_glass.price", "layers.i_2.thickness", "coatings.silver_film.thickness",
           "steps.lamination.cycle_time_without_films", "steps.scribe_3.cycle_time_without_films", "target.output",
           "tools.deposition.life", "utilities.electricity.price", "money.twm.exchange_rate", "site.scheduled_time")


def changes() -> st.SearchStrategy[dict[str, float]]:
    """Shares from 40 % to 100 %, and other inputs from half to the whole of what they are."""
    shares = st.fixed_dictionaries({}, optional={name: st.floats(0.4, 1.0) for name in YIELDS})
    others = st.fixed_dictionaries({}, optional={name: st.floats(0.5, 1.0).map(
        lambda factor, name=name: factor * value_at(demo(), name)) for name in FACTORS})
    return st.tuples(shares, others).map(lambda both: both[0] | both[1])


@settings(max_examples=40, deadline=None, database=None)
@given(changes=changes(), free=st.booleans())
def test_checks_of_the_ledger_are_zero_whatever_the_inputs(changes, free):
    case = with_values(demo(), changes)
    results = evaluate(frozen(case) if free else case)
    assert list(checks_of_the_ledger_are_zero(case, results)) == []


def test_a_broken_law_is_reported_with_the_figure_that_breaks_it():
    results = evaluate(tiny())
    lines = dict(results.ledger.lines)
    lines["materials.foil"] = dataclasses.replace(lines["materials.foil"], cost=lines["materials.foil"].cost + 1)
    wrong = dataclasses.replace(results, ledger=dataclasses.replace(results.ledger, lines=lines))
    totals, products = (law for law in LAWS_OF_ONE_CASE
                        if law.__name__ in ("totals_agree_by_every_road", "lines_are_quantity_times_price"))
    named = [[message.split(":")[0] for message in law(tiny(), wrong)] for law in (totals, products)]
    assert named == [["total", "by_step", "by_category", "by_group"], ["line materials.foil"]]
