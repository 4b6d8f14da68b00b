"""Materials that the licensor supplies: the laws, what is refused, the command."""

from __future__ import annotations

import dataclasses
import json

import pytest
from click.testing import CliRunner

from costmodel.case.load import load_case
from costmodel.case.whole_case import with_held
from costmodel.command.main import main
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate
from costmodel.present.numbers import people
from costmodel.studies.negotiation.sides import terms
from costmodel.studies.negotiation.supplied_odds import odds_of_supply

from .cases import DEMO, Inputs, demo, table
from .plans import plan_inputs, planned
from .refusals import faults
from .supplied_laws import LAWS, supply, with_supply

ROWS = """
id,title,item,price [currency/unit],own_cost [currency/unit],currency,unit,most [unit],change [%/year],begin [month],\
free_from [month],end [month],second_source,paid_as
foil,foil of ours,foil,2.5,1.5,EUR,m2,900000,0,0,40,48,anyone,services
"""


def supplied_inputs() -> Inputs:
    """The tiny plan with a supplied foil, as texts."""
    inputs = plan_inputs()
    inputs.tables["supplied_materials.csv"] = table(ROWS)
    return inputs


def answered(*words: str) -> str:
    """What `deal` says of the demo; it must not fail."""
    result = CliRunner().invoke(main, ["deal", str(DEMO), *words])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_supplied_materials_keep_the_law(law):
    assert list(law(planned())) == []


def test_another_unit_of_the_same_price_changes_nothing():
    cm2 = to_base("cm2")
    rows = [evaluate(with_supply(planned(), unit=unit)).deal for unit in ("m2", "cm2")]
    assert rows[0].licensor.npv == rows[1].licensor.npv
    assert rows[0].supplied["one"].quantity == rows[1].supplied["one"].quantity > cm2


def test_a_case_without_supplied_materials_computes_what_it_computed_before():
    without = evaluate(with_held(planned(), {"supplied_materials": {}}))
    assert without.plan.quarters == evaluate(planned()).plan.quarters
    assert without.deal.licensor.materials == 0.0


@pytest.mark.parametrize(
    ("column", "value", "word"),
    [
        ("item", "foyl", "did you mean 'foil'"),
        ("unit", "kg", "an item sold by a unit like kg"),
        ("currency", "XYZ", "XYZ"),
        ("paid_as", "service", "did you mean 'services'"),
        ("end", "0", "a time after the beginning"),
        ("free_from", "49", "begin <= free_from <= end"),
        ("most", "-1", "0"),
    ],
)
def test_a_row_that_cannot_hold_is_refused(column, value, word, tmp_path):
    said = faults(lambda: load_case(supplied_inputs().cell("supplied_materials.csv", "foil", column, value).write(tmp_path)))
    assert any(word in each and "supplied_materials.csv" in each for each in said), said


def test_an_item_is_supplied_once(tmp_path):
    inputs = supplied_inputs().row("supplied_materials.csv", "more,more,foil,2,1,EUR,m2,9,0,0,40,48,anyone,services")
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("'foil', which 'foil' has too" in each for each in said), said


def test_a_margin_on_all_materials_besides_is_refused_by_row_and_column(tmp_path):
    inputs = supplied_inputs()
    inputs.tables["supplies.csv"] = table("id,title,covers,part [%],margin [%],paid_as\nall,all,materials,10,8,services")
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    wanted = "materials, while supplied_materials.csv has them item by item"
    assert any(wanted in each and "supplies.csv, row 2, column 'covers'" in each for each in said), said


def test_supplied_materials_without_a_deal_are_refused(tmp_path):
    inputs = supplied_inputs()
    del inputs.documents["deal.yaml"]
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("supplied_materials.csv without deal.yaml" in each for each in said), said


def test_price_and_times_are_terms_and_own_cost_is_none():
    found = terms(with_supply(planned()))
    assert {"supplied_materials.one.price", "supplied_materials.one.free_from"} <= set(found)
    assert "supplied_materials.one.own_cost" not in found


def test_the_command_says_what_each_side_has_of_the_materials():
    said = " ".join(answered("materials", "--draws", "200", "--all").split())
    rows, odds = evaluate(demo()).deal.supplied, odds_of_supply(demo(), 200, 0)
    left = sum(float(each.licensor_margin) for each in rows.values())
    assert f"leave the licensor EUR {people(left, words=True)} before own tax" in said
    dearer = [name for name, each in rows.items() if each.licensee_pays > 0]
    assert f"The licensee pays more than a second source for {len(dearer)} of {len(rows)}" in said
    assert f"in {100 * odds.pays_less.share:#.2g} % of 200 draws, seed 0" in said
    for row in demo().supplied_materials.values():
        assert row.second_source in said


def test_what_is_free_to_buy_elsewhere_is_said():
    cheap = dataclasses.replace(planned(), supplied_materials={"one": supply(price=2.5, free_from=30 * to_base("month"))})
    from costmodel.present.supplied_report import materials_table

    cells = materials_table(cheap, evaluate(cheap), None).rows[0]
    assert "month 30" in cells


def test_the_tables_are_there_for_programs():
    assert "Materials supplied by the licensor" in json.dumps(json.loads(answered("materials", "--draws", "0", "--json")))


def test_a_case_without_supplied_materials_is_told_so(tmp_path):
    result = CliRunner().invoke(main, ["deal", str(plan_inputs().write(tmp_path)), "materials"])
    assert "no supplied_materials.csv" in result.output
