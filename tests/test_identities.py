"""The general laws of identities.py and scaling_laws.py, and the ledger's checks with inputs drawn at random."""
from __future__ import annotations

import dataclasses
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case, tables
from costmodel.model.evaluate import evaluate

from .batch import batch
from .cases import demo, demo_line, pooled_inputs, tiny
from .foreign import foreign
from .growing import growing
from .identities import LAWS_OF_CHANGES, LAWS_OF_ONE_CASE, checks_of_the_ledger_are_zero, frozen, messages
from .plans import enlarged
from .terms import terms


@lru_cache(maxsize=1)
def pooled() -> Case:
    return pooled_inputs().load()


CASES = [demo_line, tiny, pooled, batch, foreign, terms, growing]


def test_every_table_of_the_model_has_rows_in_a_case_that_the_laws_are_put_to():
    read = [name for name, each in tables().items() if each.in_model and not each.section]
    assert [name for name in read if not any(getattr(case(), name) for case in [*CASES, demo, enlarged])] == []


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.__name__)
@pytest.mark.parametrize("law", [*LAWS_OF_ONE_CASE, *LAWS_OF_CHANGES], ids=lambda law: law.__name__)
def test_law_holds(law, case):
    assert messages(law, case()) == []


YIELDS = ("steps.deposition.first_pass_yield", "steps.plate_test.first_pass_yield", "steps.tape.rework_share",
          "steps.soak.processed_share", "layers.i_2.utilisation", "coatings.mirror.deposition_efficiency")
FACTORS = ("prices.silane.price", "prices.front_glass.price", "layers.i_2.thickness", "coatings.mirror.thickness",
           "steps.deposition.load_loss", "phases.clean.loads_between", "carriers.batch_carrier.waiting_time",
           "tools.deposition.footprint", "steps.lamination.process_time", "steps.scribe_3.process_time", "target.output",
           "tools.deposition.life", "utilities.electricity.price", "money.twm.exchange_rate", "site.scheduled_time")


def changes() -> st.SearchStrategy[dict[str, float]]:
    """Shares from 40 % to 100 %, and other inputs from half to the whole of what they are."""
    shares = st.fixed_dictionaries({}, optional={name: st.floats(0.4, 1.0) for name in YIELDS})
    others = st.fixed_dictionaries({}, optional={name: st.floats(0.5, 1.0).map(
        lambda factor, name=name: factor * value_at(demo(), name)) for name in FACTORS})
    return st.tuples(shares, others).map(lambda both: both[0] | both[1])


@pytest.mark.slow
@settings(max_examples=40, database=None)
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
