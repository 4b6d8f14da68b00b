"""Figures by other conventions, on the tiny plan and on flows in round numbers."""

import dataclasses
import json
import math

import numpy_financial
import pytest

from costmodel.case.changes import with_values
from costmodel.core.fields import YEAR
from costmodel.documents.guide import as_markdown
from costmodel.model.evaluate import evaluate
from costmodel.present import conventions_report
from costmodel.studies.conventions import Convention, conventions, declining_to_the_rest, time_to_recover, value_of

from .cases import DEMO
from .plans import lasting_inputs, plan_inputs, planned, worn
from .running import run


def rows(case):
    return {(row.figure, row.other): row for row in conventions(case, evaluate(case))}


def cash_of_years(case):
    """Cash of day one and of each year of four quarters, added up by hand."""
    flows = [each.free_cash for each in evaluate(case).plan.quarters.values()]
    return [flows[0]] + [flows[k] + flows[k + 1] + flows[k + 2] + flows[k + 3] for k in range(1, len(flows), 4)]


def test_present_value_at_year_ends_and_in_the_middle_of_years():
    case = planned()
    found, years = rows(case), cash_of_years(case)
    at_ends = found["net present value, project", "at year ends"]
    assert at_ends.value == evaluate(case).plan.project.npv
    assert at_ends.other_value == pytest.approx(numpy_financial.npv(0.08, years), rel=1e-12)
    # each year half a year earlier than its end; day one as it is
    later = numpy_financial.npv(0.08, [0.0, *years[1:]])
    middle = found["net present value, project", "in the middle of years"].other_value
    assert middle == pytest.approx(years[0] + later * 1.08**0.5, rel=1e-12)


def test_rates_of_return():
    case = lasting_inputs().load()
    found, worth = rows(case), evaluate(case).plan.project
    ends = found["internal rate of return, project", "flows at year ends"]
    assert ends.value == worth.irr
    assert ends.other_value == pytest.approx(numpy_financial.irr(cash_of_years(case)), rel=1e-9)
    nominal = found["internal rate of return, project", "four times that of a quarter"].other_value
    assert (1 + nominal / 4) ** 4 - 1 == pytest.approx(worth.irr, rel=1e-12)
    assert found["modified rate of return, project", "to the last flow"].other_value == pytest.approx(worth.mirr, rel=1e-12)


def test_modified_rate_ends_with_the_last_flow_where_the_plant_closes_early():
    case = with_values(lasting_inputs().other_yaml("plan.yaml", "rule: never", "rule: by_loss").load(), {"sales.all.price": 0.1})
    results = evaluate(case)
    assert results.plan.ending.early
    flows = [each.free_cash for each in results.plan.quarters.values()]
    while not flows[-1]:
        flows.pop()
    quarter = 1.08**0.25 - 1
    expected = (1 + numpy_financial.mirr(flows, quarter, quarter)) ** 4 - 1
    found = rows(case)["modified rate of return, project", "to the last flow"]
    assert found.other_value == pytest.approx(expected, rel=1e-9)
    assert found.other_value < found.value  # a loss a year that is spread over fewer years


def test_payback_from_the_start_of_production():
    case = lasting_inputs().load()
    for name in ("payback", "discounted payback"):
        row = rows(case)[f"{name}, project", "from the start of production"]
        assert row.value - row.other_value == pytest.approx(2 * YEAR)  # two years of building


def test_learning_by_the_other_convention():
    text = plan_inputs().other_yaml("plan.yaml", "rate: 0 %\n  reference_volume: 1 MWp", "rate: 10 %\n  reference_volume: 0.3 MWp")
    case = text.load()
    other = text.other_yaml("plan.yaml", "convention: unit", "convention: cumulative_average").load()
    row = rows(case)["net present value, project: learning rate", "of the average of all"]
    assert row.other_value == evaluate(other).plan.project.npv
    assert row.other_value > row.value  # the average falls as the next watt does, so that watt costs less still
    back = rows(other)["net present value, project: learning rate", "of each next watt"]
    assert (back.value, back.other_value) == (row.other_value, row.value)


def test_declining_balance_without_a_change():
    # 1,000 over 5 years at 40 %, half a year first: 200, 320, 192, 115.2, 69.12 and what is left, 103.68
    shares = declining_to_the_rest(5.0, 6, 2.0, 0.5)
    assert [round(1000 * share, 2) for share in shares] == [200.0, 320.0, 192.0, 115.2, 69.12, 103.68]
    case = dataclasses.replace(worn(), tax_depreciation={
        name: dataclasses.replace(row, method="declining_balance", factor=2.0) for name, row in worn().tax_depreciation.items()
    })  # fmt: skip
    row = rows(case)["last year of declining balance, tools, for tax", "all that is left"]
    assert row.other_value == pytest.approx(0.10368)
    assert row.value == pytest.approx(0.0576)  # IRS Publication 946, Table A-1, 5 years, half-year


def test_cost_of_a_watt_before_light_soaking():
    row = rows(planned())["cost of a watt", "watts before light soaking"]
    assert row.other_value == pytest.approx(0.75 * row.value)  # of the watts, 75 % are left after light soaking


def test_time_to_recover_and_values():
    assert time_to_recover(0.0, [5.0]) == 0.0
    assert time_to_recover(10.0, [-5.0, 20.0]) == 1.75
    assert math.isnan(time_to_recover(10.0, [-5.0, 14.0]))
    assert value_of([-100.0, 110.0, 121.0], 0.1) == pytest.approx(100.0)


def test_the_guide_names_every_convention():
    lines = as_markdown("verification").splitlines()
    case = planned()
    every = [*conventions(case, evaluate(case)), *conventions(worn(), evaluate(worn()))]
    for row in every:
        assert [line for line in lines if line.startswith("|") and row.other in line], row.other
        words = [line.split("|")[1].strip() for line in lines if line.startswith("|") and row.other in line]
        assert any(word in row.figure for word in words), row.figure


def test_the_command_states_both_and_where_the_sign_depends_on_them():
    shown = json.loads(run("plan", DEMO, "conventions", "--json").stdout)["rows"]
    assert {"figure", "unit", "our_convention", "value", "other_convention", "other_value", "source"} == set(shown[0])
    two = [
        Convention("net present value, project", "EUR", "flows at quarter ends", 2e6, "at year ends", 1e6, "s"),
        Convention("net present value, owners", "EUR", "flows at quarter ends", 1e5, "at year ends", -1e5, "s"),
        Convention("payback, project", "year", "from day one", math.nan, "from the start of production", math.nan, "s"),
    ]
    assert conventions_report.summary(two) == [
        "The net present value of the project is EUR 2.00 million with flows at quarter ends, and EUR 1.00 million at year ends.",
        "The sign depends on the convention: net present value, owners, EUR 100,000 with flows at quarter ends, "
        "EUR −100,000 at year ends.",
    ]
    assert conventions_report.conventions_table(two).rows[2][2] == "none"
    assert conventions_report.records(two)[2]["value"] is None
