"""Notebooks run from top to bottom, in any order after that, and offline; in JupyterLab they show what the package says."""

from costmodel.core import lean_imports  # noqa: F401, I001  (first: see there)

import re
import shutil
import subprocess
import sys
from html import escape

import nbformat
import pytest
from nbclient import NotebookClient

from costmodel.studies.factory.least_price import least_price
from costmodel.case.begin import begin_case
from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.model.evaluate import evaluate
from costmodel.studies.negotiation.overview import overview
from costmodel.present import cost_report, deal_report, plan_report, zone_report
from costmodel.present.charts import stack_values
from costmodel.documents.show import glued
from costmodel.core.units import to_base

from .cases import FIELD, ROOT, demo
from .lab import LATE, Notebook, running_lab

NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
NO_NETWORK = """
import socket as _socket
_connect = _socket.socket.connect
def _only_at_home(self, address):
    assert not isinstance(address, tuple) or address[0] in ("127.0.0.1", "::1", "localhost"), f"asked the network: {address}"
    return _connect(self, address)
_socket.socket.connect = _only_at_home
"""


def headline(case):
    return cost_report.headline(case, evaluate(case))


def price_needed(case):
    results = evaluate(case)
    return plan_report.price_needed(case, results, least_price(case))


def expected_words(name, folder):
    """What a notebook has to say, as the package says it."""
    case = demo()
    if name == "5_side_by_side":
        return headline(load_case(FIELD))
    if name == "6_your_own_first_case":
        begin_case(folder / "bare", bare=True)
        return headline(load_case(folder / "bare"))
    words = {
        "1_from_tables_to_cost": headline,
        "2_sensitivity_and_risk": sentences_of_risk,
        "3_plan_and_market": price_needed,
        "4_deal": lambda case: zone_report.verdict(case, overview(case)),
    }
    return words[name](case)


def sentences_of_risk(case):
    from costmodel.model.as_bought import as_bought
    from costmodel.present import risk_report
    from costmodel.studies.many import wanted_figures
    from costmodel.studies.risk import run_risk
    from costmodel.studies.spread import spread

    cost, plant = "ledger.total.cost_per_stabilised_watt", as_bought(case)
    run = run_risk(plant, [cost], 10_000, 0)
    return risk_report.risky(run, wanted_figures(plant, [cost])[cost], spread(run.figures[cost]))


@pytest.fixture(scope="module")
def work(tmp_path_factory):
    """A copy of notebooks and demo cases, which notebooks may write beside."""
    folder = tmp_path_factory.mktemp("work")
    shutil.copytree(ROOT / "notebooks", folder / "notebooks", ignore=shutil.ignore_patterns("my_case", ".ipynb*"))
    shutil.copytree(ROOT / "inputs_demo", folder / "inputs_demo")
    return folder


@pytest.mark.parametrize("path", [
    pytest.param(path, marks=pytest.mark.slow) if path.stem[0] in "2345" else path for path in NOTEBOOKS  # half a minute
], ids=lambda path: path.stem)  # fmt: skip
def test_a_notebook_runs_from_top_to_bottom_then_in_any_order_and_asks_no_network(path, work, tmp_path):
    notebook = nbformat.read(path, 4)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    back = [nbformat.v4.new_code_cell(cell.source) for cell in code[:1:-1]]
    ran = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(NO_NETWORK), *code, *back])
    where = {"metadata": {"path": str(work / "notebooks")}}
    NotebookClient(ran, resources=where, kernel_name="python3", shutdown_kernel="immediate").execute()
    outputs = [output for cell in ran.cells for output in cell.outputs]
    assert {output.output_type for output in outputs} <= {"display_data", "execute_result"}
    assert [words(cell) for cell in back[::-1]] == [words(cell) for cell in code[2:]]
    assert escape(glued(expected_words(path.stem, tmp_path))) in "".join(map(words, code))


def words(cell):
    """What a cell shows as text or table."""
    return "".join(output.data.get("text/html", "") for output in cell.outputs)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_is_kept_without_outputs_and_its_text_without_figures(path):
    notebook = nbformat.read(path, 4)
    assert set(notebook.metadata) <= {"kernelspec", "language_info"}
    for cell in notebook.cells:
        if cell.cell_type == "code":
            assert not cell.outputs
            assert cell.execution_count is None
        else:
            assert not re.findall(r"\d", re.sub("`[^`]*`", "", cell.source)), cell.source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_cell_that_names_the_case_is_what_papermill_replaces(path):
    cells = nbformat.read(path, as_version=4).cells
    tagged = [cell for cell in cells if "parameters" in cell.metadata.get("tags", [])]
    assert len(tagged) == 1
    assert tagged[0] is next(cell for cell in cells if cell.cell_type == "code")  # nothing opens a case before it
    assert "folder" in tagged[0].source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_needs_one_door(path):
    code = "\n".join(cell.source for cell in nbformat.read(path, 4).cells if cell.cell_type == "code")
    assert re.findall(r"^(?:import|from) .*", code, re.M) == ["import costmodel"]


def test_lean_imports_keep_a_slow_package_out():
    script = "import costmodel.core.lean_imports, nbformat, sys; print('lark' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    plain = subprocess.run(
        [sys.executable, "-c", "import nbformat, sys; print('lark' in sys.modules)"], capture_output=True, text=True, check=True
    )
    assert (done.stdout.strip(), plain.stdout.strip()) == ("False", "True")


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    with running_lab(tmp_path_factory.mktemp("lab")) as address:
        yield address


@pytest.fixture
def opened(browser, lab):
    """Opens a notebook in JupyterLab and runs all of it; at the end nothing may have gone wrong."""
    tabs = []

    def run(name, pictures=1, script=""):
        tabs.append(Notebook(browser, lab, name, script))
        tabs[-1].run_all(pictures)
        return tabs[-1]

    yield run
    for notebook in tabs:
        assert notebook.troubles() == []
        notebook.close()


def is_shown(notebook, words):
    """Wait until a panel shows some words."""
    notebook.tab.locator(".cost-panel", has_text=words).wait_for(timeout=10_000)


@pytest.mark.slow
@pytest.mark.needs("chromium")
def test_in_jupyterlab_the_cost_follows_sliders_and_typed_values(opened):
    notebook, case = opened("1_from_tables_to_cost", 3), demo()
    silane, silver, glass = "prices.silane.price", "metals.silver.quote", "prices.front_glass.price"
    assert notebook.tab.locator(".cost-panel .before").count() == 0  # nothing moves by being shown
    notebook.slide(silane, ["ArrowRight"] * 3)
    moved = with_values(case, {silane: 65 * to_base("USD/kg")})
    is_shown(notebook, headline(moved))
    notebook.stands_at(silane, "65")
    notebook.type(silver, "2500 EUR/kg")  # beyond the end of the slider
    moved = with_values(moved, {silver: 2500 * to_base("EUR/kg")})
    is_shown(notebook, headline(moved))
    for row, expected in zip(notebook.drawn(), stack_values(evaluate(moved)).values()):
        assert row == pytest.approx(list(expected.values()), rel=1e-12)

    whole, zoom = notebook.ranges(), notebook.zoom()
    assert zoom != whole
    before = notebook.drawn()
    notebook.type(glass, "much")
    notebook.control(glass).get_by_text("found 'much'; allowed: a number, as 12.5").wait_for()
    notebook.type(silver, "-3")
    notebook.control(silver).get_by_text("found -3 EUR/kg; allowed: a number from 0 [EUR/kg]").wait_for()
    assert notebook.drawn() == before
    notebook.type(glass, "12")
    moved = with_values(moved, {glass: 12 * to_base("USD/m2")})
    is_shown(notebook, headline(moved))
    assert notebook.drawn() != before
    assert notebook.ranges() == zoom

    with notebook.tab.expect_download() as saved:
        notebook.tab.locator(".cost-panel").get_by_role("button", name="Save as SVG").click()
    assert saved.value.suggested_filename == "cost_by_step.svg"
    assert "EUR per m² of good modules" in saved.value.path().read_text(encoding="utf-8")
    with notebook.tab.expect_download() as saved:
        notebook.tab.locator(".jp-OutputArea").get_by_role("button", name="Save as PNG").last.click()
    assert saved.value.suggested_filename == "loss_bars.png"
    assert saved.value.path().read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"

    save = notebook.tab.locator(".cost-panel").get_by_role("button", name="Save as scenario")
    for hint, words in (("name of the scenario", "kept"), ("title", "as moved"), ("its assumptions", "Three inputs moved.")):
        field = notebook.tab.locator(".cost-panel").get_by_placeholder(hint)
        field.fill(words)
        field.press("Tab")
    save.click()
    notebook.tab.locator(".cost-panel").get_by_text("is refused").wait_for()
    notebook.type(silver, "2500")
    save.click()
    said = notebook.tab.locator(".cost-panel .saved")
    said.wait_for()
    assert "scenarios/kept.yaml" in said.text_content()
    notebook.tab.locator(".cost-panel").get_by_role("button", name="Back to the tables").click()
    notebook.tab.locator(".cost-panel .before").wait_for(state="detached")
    is_shown(notebook, headline(case))
    assert (notebook.typed(silane), notebook.typed(silver)) == ("62", "1500")


@pytest.mark.slow
@pytest.mark.needs("chromium")
def test_in_jupyterlab_a_picture_follows_though_a_busy_browser_began_it_late(opened):
    notebook, silane = opened("1_from_tables_to_cost", 3, LATE), "prices.silane.price"
    notebook.slide(silane, ["ArrowRight"])
    moved = with_values(demo(), {silane: 63 * to_base("USD/kg")})
    is_shown(notebook, headline(moved))
    for row, expected in zip(notebook.drawn(), stack_values(evaluate(moved)).values()):
        assert row == pytest.approx(list(expected.values()), rel=1e-12)


@pytest.mark.slow
@pytest.mark.needs("chromium")
def test_in_jupyterlab_value_return_and_cash_follow_the_plan(opened):
    notebook, case = opened("3_plan_and_market", 4), demo()
    price, delay = "sales.facade.price", "schedule.delay"
    at_first = notebook.typed(price)
    notebook.type(price, "1.2")  # below the end of the slider
    is_shown(notebook, plan_report.verdict(case, evaluate(with_values(case, {price: 1.2}))))
    notebook.tab.wait_for_timeout(500)  # in which the browser might take the move of the slider for one of a person
    assert notebook.typed(price) == "1.2"
    notebook.tab.locator(".cost-panel").get_by_role("button", name="Back to the tables").click()
    notebook.tab.locator(".cost-panel .before").wait_for(state="detached")
    is_shown(notebook, plan_report.verdict(case, evaluate(case)))
    notebook.tab.wait_for_timeout(500)
    assert notebook.typed(price) == at_first
    notebook.type(price, "2.6")
    is_shown(notebook, plan_report.verdict(case, evaluate(with_values(case, {price: 2.6}))))
    notebook.slide(delay, ["End"])
    moved = with_values(case, {price: 2.6, delay: 24 * to_base("month")})
    results = evaluate(moved)
    is_shown(notebook, plan_report.verdict(moved, results))
    shown = notebook.tab.evaluate("Array.from(document.querySelector('.cost-panel .js-plotly-plot')._fullData[0].y)")
    quarters = [each.cumulative_free_cash / 1e6 for each in results.plan.quarters.values()]
    assert shown == pytest.approx(quarters, rel=1e-9, abs=1e-9)
    highest = [each.highest_price for each in results.market.by_market.values()]
    covers, falls_short, *_ = notebook.drawn(1)
    assert [a if b is None else b for a, b in zip(covers, falls_short)] == pytest.approx(highest, rel=1e-9)
    notebook.control("loan.form").locator("select").select_option("annuity")
    is_shown(notebook, plan_report.bank(moved, evaluate(with_values(moved, {"loan.form": "annuity"}))))


@pytest.mark.slow
@pytest.mark.needs("chromium")
def test_in_jupyterlab_the_deal_follows_its_terms(opened):
    notebook, case = opened("4_deal", 3), demo()
    assert notebook.tab.locator(".cost-panel .before").count() == 0
    whole, zoom = notebook.ranges(), notebook.zoom()
    notebook.type("licence.royalty", "6.5 %")  # for which the axis of royalties is drawn longer
    is_shown(notebook, deal_report.sides(case, evaluate(with_values(case, {"licence.royalty": 0.065}))))
    assert notebook.ranges() == zoom != whole
    notebook.type("licence.royalty", "4 %")
    moved = with_values(case, {"licence.royalty": 0.04})
    results = evaluate(moved)
    is_shown(notebook, deal_report.sides(moved, results))
    assert notebook.drawn()[-1] == [pytest.approx(4.0)]  # the diamond
    ceiling = notebook.drawn()[2]
    notebook.type("returns.required_return", "16 %/year")
    moved = with_values(moved, {"returns.required_return": 0.16 / to_base("year")})
    is_shown(notebook, deal_report.sides(moved, evaluate(moved)))
    is_shown(notebook, "No combination of fee and royalty in the picture suits both")
    assert notebook.drawn()[2] != ceiling
    assert notebook.drawn()[0] == []  # no band


@pytest.mark.slow
@pytest.mark.needs("chromium")
@pytest.mark.parametrize(("name", "pictures"), [("2_sensitivity_and_risk", 4), ("5_side_by_side", 2), ("6_your_own_first_case", 1)])
def test_in_jupyterlab_panels_stand_as_the_tables_say_until_moved(name, pictures, opened):
    notebook = opened(name, pictures)
    panel = notebook.tab.locator(".cost-panel")
    assert panel.locator(".before").count() == 0
    named = [handle.get_attribute("aria-label") for handle in panel.get_by_role("slider").all()]  # for who hears the page
    boxes = panel.locator(".widget-vbox", has=notebook.tab.locator(".noUi-handle")).locator("span[title]").all_text_contents()
    assert named
    assert set(named) <= set(boxes)
    field = panel.locator("input[type=text]").first
    was = field.input_value()
    handle = panel.get_by_role("slider").first
    handle.focus()
    handle.press("End")
    panel.locator(".before").wait_for()
    assert field.input_value() != was
    panel.get_by_role("button", name="Back to the tables").click()
    panel.locator(".before").wait_for(state="detached")
    assert field.input_value() == was
