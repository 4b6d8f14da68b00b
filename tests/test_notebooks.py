"""Notebooks run from top to bottom in a fresh kernel, and their sliders follow."""

from costmodel import lean_imports  # noqa: F401, I001  (first: see there)

import json
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from costmodel.case.changes import with_values
from costmodel.case.differences import same_inputs
from costmodel.case.scenarios import open_case, read_scenario
from costmodel.model import evaluate
from costmodel.report import sentences
from costmodel.report.charts import stack_values
from costmodel.workbench import CostSliders

from .cases import DEMO, demo

NOTEBOOKS = sorted((Path(__file__).resolve().parents[1] / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_from_top_to_bottom_and_shows_the_headline(path):
    notebook = nbformat.read(path, 4)
    assert not any(cell.get("outputs") for cell in notebook.cells)
    NotebookClient(
        notebook, resources={"metadata": {"path": str(path.parent)}}, kernel_name="python3", shutdown_kernel="immediate"
    ).execute()
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", ())]
    assert {output.output_type for output in outputs} <= {"display_data", "execute_result"}
    assert sentences.headline(demo(), evaluate(demo())) in json.dumps(outputs, ensure_ascii=False)


def test_moving_a_slider_gives_the_figures_of_the_package():
    case = demo()
    sliders = CostSliders(case)
    sliders.sliders["steps.deposition.first_pass_yield"].value = 95.0
    expected = evaluate(with_values(case, {"steps.deposition.first_pass_yield": 0.95}))
    assert sliders.results.ledger.total.cost == pytest.approx(expected.ledger.total.cost, rel=1e-12)
    for trace, values in zip(sliders.figure.data, stack_values(expected).values()):
        assert list(trace.x) == pytest.approx(values, rel=1e-12)
    assert sentences.headline(case, expected) in sliders.words.value


def test_back_to_the_tables_undoes_every_slider():
    case = demo()
    sliders = CostSliders(case)
    before = sliders.words.value
    for slider in sliders.sliders.values():
        slider.value = slider.max
    assert sliders.words.value != before
    sliders.reset.click()
    assert sliders.words.value == before
    assert sliders.results.ledger.total.cost == evaluate(case).ledger.total.cost


def test_there_is_a_slider_for_every_range_within_its_ends():
    case = demo()
    sliders = CostSliders(case).sliders
    assert set(sliders) == {row.address for row in case.ranges.values()}
    assert all(slider.min <= slider.value <= slider.max for slider in sliders.values())


def test_lean_imports_keep_a_slow_package_out():
    script = "import costmodel.lean_imports, nbformat, sys; print('lark' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    plain = subprocess.run(
        [sys.executable, "-c", "import nbformat, sys; print('lark' in sys.modules)"], capture_output=True, text=True, check=True
    )
    assert (done.stdout.strip(), plain.stdout.strip()) == ("False", "True")


@pytest.fixture
def demo_copy(tmp_path):
    return Path(shutil.copytree(DEMO, tmp_path / "mine"))


def test_sliders_are_saved_as_a_scenario_with_exactly_their_values(demo_copy):
    sliders = CostSliders(open_case(demo_copy, "first_year"), demo_copy, "first_year")
    moved = {"steps.deposition.first_pass_yield": 96.3, "prices.silver_target.price": 1234.5}
    for address, value in moved.items():
        sliders.sliders[address].value = value
    sliders.name.value, sliders.title.value, sliders.story.value = "kept", "as moved", "Two sliders moved."
    sliders.save.click()
    assert f"Saved: {demo_copy / 'scenarios' / 'kept.yaml'}" in sliders.saved.value
    read = open_case(demo_copy, "kept")
    assert same_inputs(read, sliders.current)
    assert evaluate(read).ledger.total.cost == sliders.results.ledger.total.cost
    set_there = read_scenario(demo_copy, "kept").changes
    assert set(set_there) == set(read_scenario(demo_copy, "first_year").changes) | set(moved)
    assert set_there["steps.deposition.first_pass_yield"] == "96.3 %"
    sliders.sliders["prices.silver_target.price"].value = 1300.0
    assert sliders.saved.value == ""


@pytest.mark.parametrize(("name", "moved", "opened_with", "words"), [
    ("dear_silver", True, {}, "found a file of that name"),
    ("Kept", True, {}, "&#x27;Kept&#x27; as the name of a scenario"),
    ("kept", False, {}, "found no change"),
    ("kept", True, {"site.crews": "3"}, "found tables that have changed since, or another case"),
])  # fmt: skip
def test_what_sliders_cannot_save_is_said_beside_the_button(name, moved, opened_with, words, demo_copy):
    sliders = CostSliders(open_case(demo_copy, changes=opened_with), demo_copy)
    if moved:
        sliders.sliders["prices.silver_target.price"].value = 1300.0
    sliders.name.value, sliders.title.value, sliders.story.value = name, "t", "s"
    sliders.save.click()
    assert "Not saved: 1 fault" in sliders.saved.value
    assert words in sliders.saved.value
    assert sorted(path.name for path in (demo_copy / "scenarios").iterdir()) == [
        "dear_silver.yaml", "first_year.yaml", "three_blows.yaml"
    ]  # fmt: skip
