"""The laboratory: the laws, what is refused, what services without their work are, the command."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from costmodel.case.addresses import replaced
from costmodel.case.load import load_case
from costmodel.case.summary import oddities
from costmodel.case.whole_case import with_held
from costmodel.command.main import main
from costmodel.model.evaluate import evaluate
from costmodel.studies.negotiation.laboratory_odds import odd_laboratory, odds_of_tests
from costmodel.studies.negotiation.payment_split import scaled_by_kind
from costmodel.studies.negotiation.services import Plans
from costmodel.studies.negotiation.sides import terms

from .cases import DEMO, demo
from .laboratories import laboratory_inputs, with_laboratory
from .laboratory_laws import LAWS
from .refusals import faults


def answered(*words: str) -> str:
    """What `deal` says of the demo; it must not fail."""
    result = CliRunner().invoke(main, ["deal", str(DEMO), *words])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_the_laboratory_keeps_the_law(law):
    assert list(law(with_laboratory())) == []


@pytest.mark.parametrize(("column", "value"), [("price", "9000"), ("cost", "7000")])
def test_a_service_with_a_flat_amount_and_tests_is_refused_by_row_and_column(column, value, tmp_path):
    inputs = laboratory_inputs().cell("yearly_services.csv", "analysis", column, value)
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    wanted = f"a {column} above 0, while laboratory_tests.csv has heat, pull for it"
    assert [each for each in said if wanted in each and "yearly_services.csv" in each and column in each], said


def test_a_test_that_takes_nothing_is_refused(tmp_path):
    inputs = laboratory_inputs()
    inputs.tables["laboratory_work.csv"] = [row for row in inputs.tables["laboratory_work.csv"] if row[1] != "pull"]
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("'pull', of which nothing says what a sample takes" in each and "laboratory_tests.csv" in each for each in said), (
        said
    )


@pytest.mark.parametrize(
    ("file", "row", "column", "value", "word"),
    [
        ("laboratory_tests.csv", "heat", "service", "analysys", "did you mean 'analysis'"),
        ("laboratory_work.csv", "heat", "equipment", "chambre", "did you mean 'chamber'"),
        ("laboratory_work.csv", "heat", "staff_hours", "0", "above 0"),
        ("laboratory_staff.csv", "hands", "role", "engineer", "did you mean 'engineers'"),
        ("laboratory_staff.csv", "hands", "working_day", "25", "24"),
        ("laboratory_equipment.csv", "bench", "promised", "101", "100"),
    ],
)
def test_a_cell_that_cannot_hold_is_refused(file, row, column, value, word, tmp_path):
    said = faults(lambda: load_case(laboratory_inputs().cell(file, row, column, value).write(tmp_path)))
    assert any(word in each and file in each for each in said), said


def test_a_laboratory_without_a_deal_is_refused(tmp_path):
    inputs = laboratory_inputs()
    del inputs.documents["deal.yaml"]
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("laboratory_tests.csv without deal.yaml" in each for each in said), said


def test_a_price_list_alone_is_paid_and_is_odd():
    case = with_held(with_laboratory(), {"laboratory_work": {}, "laboratory_equipment": {}, "laboratory_staff": {}})
    results = evaluate(case)
    assert results.deal.laboratory is None
    assert results.plan.payments == evaluate(with_laboratory()).plan.payments
    assert [each for each in oddities(case) if each.startswith("laboratory_tests.csv is there without laboratory_work.csv")]


def test_a_laboratory_sold_beyond_its_hours_is_odd():
    full = replaced(with_laboratory(), {"laboratory_staff.hands.promised": 0.9})
    assert "laboratory_staff.hands is promised and sold at 116 % of its hours" in list(odd_laboratory(full, evaluate(full)))
    assert list(odd_laboratory(with_laboratory(), evaluate(with_laboratory()))) == []


def test_without_a_service_its_samples_are_not_sold():
    plans = Plans(demo())
    values = plans._values(*_one_pattern(plans))
    assert {float(values[f"laboratory_tests.{name}.samples"][0]) for name in demo().laboratory_tests} == {0.0}


def _one_pattern(plans):
    import numpy as np

    pattern = np.zeros((1, len(plans.services) + len(plans.effects)), dtype=bool)
    return pattern, {}, 1


def test_prices_of_tests_are_terms_and_scale_with_their_kind():
    found = terms(with_laboratory())
    assert "laboratory_tests.heat.price" in found
    assert not [each for each in found if each.endswith((".consumables", ".samples"))]
    assert "laboratory_tests.pull.price" in scaled_by_kind(with_laboratory())["services"]


def test_the_command_says_which_odds_of_tests_and_what_limits_them():
    said = " ".join(answered("laboratory", "--draws", "200", "--all").split())
    found, odds = evaluate(demo()).deal.laboratory, odds_of_tests(demo(), 200, 0)
    paying = [name for name, each in found.tests.items() if each.left >= 0]
    assert f"Of {len(found.tests)} tests, {len(paying)} cover full cost after withholding tax." in said
    assert f"Together they cover full cost in {100 * odds.together.share:.2g} % of 200 draws, seed 0." in said
    for name in found.tests.keys() - set(paying):
        assert f"“{demo().laboratory_tests[name].title}” lacks EUR" in said
    assert f"“{demo().laboratory_equipment['chambers'].title}” limits it." in said


def test_a_laboratory_that_is_sold_beyond_its_hours_is_named():
    said = " ".join(answered("laboratory", "--draws", "0", "--set", "laboratory_equipment.chambers.promised=90 %").split())
    assert "“two climate chambers” is promised and sold by 160 h a month too many." in said


def test_probabilities_are_those_of_the_draws():
    found = odds_of_tests(demo(), 200, 0)
    assert 0.5 < found.by_test["film_optics"].share < 1.0
    assert found.by_test["damp_heat"].share == 0.0
    assert odds_of_tests(with_laboratory(), 200, 0) is None


def test_the_tables_are_there_for_programs():
    found = json.loads(answered("laboratory", "--draws", "0", "--json"))
    assert "Hours of the laboratory, h a month" in json.dumps(found)


def test_a_case_without_a_laboratory_is_told_so(tmp_path):
    from .plans import plan_inputs

    result = CliRunner().invoke(main, ["deal", str(plan_inputs().write(tmp_path)), "laboratory"])
    assert "no laboratory_work.csv" in result.output
