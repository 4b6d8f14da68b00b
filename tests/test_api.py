"""The door for notebooks: one meaning of a change, results by address, frames with units, against the parts behind it."""
from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

import costmodel
from costmodel.core.units import to_base
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case as read_case
from costmodel.studies.risk import run_risk
from costmodel.studies.sensitivities import tornado

from .cases import DEMO

NPV = "plan.project.npv"


@pytest.fixture(scope="module")
def case():
    return costmodel.open_case(DEMO)


@pytest.mark.parametrize(("address", "written", "base"), [
    ("steps.deposition.first_pass_yield", 95, 0.95),
    ("steps.deposition.first_pass_yield", "95 %", 0.95),
    ("tools.laminator.life", 10, 10 * 31_536_000.0),
    ("tools.laminator.life", "120 month", 10 * 31_536_000.0),
    ("prices.silane.price", "80 USD/kg", 80.0),
    ("prices.silane.price", np.float64(80.0), 80.0),
])  # fmt: skip
def test_a_bare_number_is_in_the_unit_of_the_table_by_every_door(case, address, written, base):
    moved = case.changed({address: written})
    opened = costmodel.open_case(DEMO, changes={address: written})
    by_command = read_case(DEMO, changes={address: str(written)})
    for inputs in (moved.inputs, opened.inputs, by_command):
        table, row, column = address.split(".")
        assert getattr(getattr(inputs, table)[row], column) == pytest.approx(base, rel=1e-12)
    assert float(moved[NPV]) == float(opened[NPV]) == evaluate(by_command).plan.project.npv


def test_a_change_leaves_the_case_as_it_was_and_adds_to_those_before(case):
    before = float(case[NPV])
    both = case.changed({"prices.silane.price": 90}).changed({"site.crews": 5})
    assert float(case[NPV]) == before
    assert both.changes == {"prices.silane.price": "90", "site.crews": "5"}
    assert float(both[NPV]) == float(costmodel.open_case(DEMO, changes=both.changes)[NPV]) != before


def test_nothing_is_evaluated_twice(case):
    assert case.results is case.results
    assert evaluate(case.inputs) is case.results
    assert case.plant is case.plant


def test_an_address_stands_for_a_figure_an_input_or_a_text(case):
    figure = case[NPV]
    assert (figure.value, figure.unit, figure.reason) == (case.results.plan.project.npv, "EUR", "")
    assert "net present value" in figure.meaning
    silane = case["prices.silane.price"]
    assert (silane.value, silane.unit) == (pytest.approx(case.inputs.prices["silane"].price), "USD/kg")
    assert case["loan.form"] == "linear"
    never = case.changed({"sales.facade.price": 0.5})["plan.project.payback"]
    assert np.isnan(never.value)
    assert never.reason == "not paid back within the plan"
    assert "no value" in repr(never)


def test_unknown_names_are_errors_that_name_the_nearest(case):
    for ask, words in (
        (lambda: case["plan.project.npw"], "did you mean 'plan.project.npv'"),
        (lambda: case["prices.silan.price"], "did you mean"),
        (lambda: case.table("plan.quarter"), r"did you mean 'plan\.quarters'"),
        (lambda: case.panel("costs"), "did you mean 'cost'"),
        (lambda: case.changed({"prices.silane.prize": 1, "steps.wash.tool": "x"}), "unknown address"),
        (lambda: case.explain("plan.project.npw"), "did you mean 'plan.project.npv'"),
        (lambda: costmodel.open_case(DEMO, scenario="dear_silber"), "did you mean 'dear_silver'"),
    ):
        with pytest.raises(costmodel.InputFaults, match=words):
            ask()
    with pytest.raises(AttributeError, match="allowed: COST_OF_A_WATT"):
        _ = costmodel.opencase


def test_rows_of_figures_come_as_a_frame_with_units_and_currency(case):
    frame, years = case.table("plan.years"), case.results.plan.years
    assert list(frame.index) == list(years)
    assert (frame.attrs["units"]["cash_for_debt"], frame.attrs["currency"]) == ("EUR", "EUR")
    assert frame["cash_for_debt"].tolist() == [year.cash_for_debt for year in years.values()]
    steps = case.table("line.steps")
    unit = steps.attrs["units"]["cycle"] if "cycle" in steps else next(iter(steps.attrs["units"].values()))
    assert to_base(unit) > 0
    assert case.table("ledger.lines")["cost"].sum() == pytest.approx(case.results.ledger.total.cost, rel=1e-12)
    assert case.figures().loc[NPV, "value"] == case.results.plan.project.npv
    assert "prices.silane.price" in case.find("silane").index


@pytest.mark.slow
def test_studies_are_those_of_the_plant_as_bought(case):
    plant = as_bought(case.inputs)
    draws = case.risk([NPV], draws=64, seed=3)
    assert draws[NPV].tolist() == run_risk(plant, [NPV], 64, 3).figures[NPV].tolist()
    bars = case.tornado(NPV)
    assert bars.iloc[0].tolist() == [tornado(plant, NPV)[1][0].at_low, tornado(plant, NPV)[1][0].at_high]
    found = case.solve("sales.facade.price", NPV, "0 EUR")
    price = found["sales.facade.price"].item()
    assert float(case.changed({"sales.facade.price": price})[NPV]) == pytest.approx(0.0, abs=1.0)
    swept = case.sweep(["product.length=1.2, 1.3 m"], ["line.output.plate_area"])
    assert swept["line.output.plate_area"].tolist() == pytest.approx([0.72, 0.78])
    assert {"USD/kg", "EUR/Wp_stabilised"} & set(case.uncertain()["unit"])
    assert case.elasticities().index[0]
    assert case.rank(points=8)["total"].sum() > 0


def test_blocks_are_shown_by_name_and_made_once(case, monkeypatch):
    from costmodel.documents import case_blocks as blocks
    from costmodel.workbench import shown

    made, seen = [], []
    monkeypatch.setattr(shown, "show_blocks", lambda named: seen.append(list(named.values())))
    monkeypatch.setattr(blocks, "block_of", lambda make, real=blocks.block_of: made.append(make) or real(make))
    case.show("headline", "bottleneck")
    case.show("bottleneck")
    assert (len(made), seen[1]) == (2, seen[0][1:])
    case.show("present", figure=NPV)
    assert "net present value" in seen[2][0]["text"]
    with pytest.raises(costmodel.InputFaults, match=r"found 'headlin'; allowed: .*did you mean 'headline'"):
        case.show("headlin")


@pytest.mark.parametrize("view", ["plan", "deal"])
def test_a_panel_of_a_case_without_plan_or_deal_is_refused(view, tmp_path):
    costmodel.begin_case(tmp_path / "mine", bare=True)
    with pytest.raises(costmodel.InputFaults, match=r"plan\.yaml: found no such file"):
        costmodel.open_case(tmp_path / "mine").panel(view)


def test_faults_come_as_a_frame_and_a_folder_that_is_there_is_left_alone(tmp_path):
    costmodel.begin_case(tmp_path / "mine", bare=True)
    assert costmodel.faults(tmp_path / "mine").empty
    (tmp_path / "mine" / "steps.csv").unlink()
    costmodel.begin_case(tmp_path / "mine", bare=True)
    assert costmodel.faults(tmp_path / "mine")["file"].tolist() == ["steps.csv"]
    found = costmodel.faults(DEMO, {"site.crews": "four", "product.initial_efficiency": "104 %"})
    assert found["found"].tolist() == ["'four'", "104 %"]


@pytest.mark.slow
def test_a_report_of_a_changed_case_is_written(case, tmp_path):
    paths = case.changed({"prices.silane.price": 90}).report(tmp_path, kind="investor")
    assert all(path.exists() for path in paths)
    assert [path.suffix for path in paths] == [".html", ".html"]  # the briefing and its annex


def test_import_is_light_and_help_reads_as_a_page():
    script = "import sys, costmodel; print('pandas' in sys.modules); import pydoc; print(pydoc.plain(pydoc.render_doc(costmodel)))"
    done = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    assert done.stdout.startswith("False")
    for words in ("case.solve(", "open_case(folder", "InputFaults", "neither advisers nor licensed practice"):
        assert words in done.stdout
