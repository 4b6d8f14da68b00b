"""Every figure can be asked why: trees, their inputs, what depends on what; as text, data and a page."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from click.testing import CliRunner

from costmodel.case.addresses import numeric_inputs, value_at
from costmodel.case.changes import with_values
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.readings.cells import Cell, Sheet, read_as_cells
from costmodel.present.explain.explanation_page import page_html, shown_value, tree_data
from costmodel.present.explain.tree import COST_OF_A_WATT, Node, explained, explained_for
from costmodel.studies.factory.least_price import least_price

from .batch import batch
from .cases import DEMO, demo, tiny
from .evaluator import names
from .plans import planned
from .terms import terms

CASES = pytest.mark.parametrize(
    "case", [pytest.param(demo, marks=pytest.mark.slow), planned, tiny, batch, terms], ids=lambda case: case.__name__
)


def nodes(node: Node) -> list[Node]:
    """A node and every node below it."""
    return [node, *(below for child in node.children for below in nodes(child))]


@CASES
def test_what_is_read_without_plan_and_deal_explains_figures_of_cost_alike(case):
    read = case()
    whole, part = read_as_cells(read), read_as_cells(read, "market")
    assert [name for name in whole.figures if name.partition(".")[0] in ("line", "ledger", "market")] == list(part.figures)
    for address in part.figures:
        assert (part.formula(address), part.value(address)) == (
            whole.formula(address),
            pytest.approx(whole.value(address), nan_ok=True),
        )
        assert list(part.needs(address)) == list(whole.needs(address))
    assert explained_for(read, "site.crews").sheet is whole


@CASES
def test_every_figure_has_a_tree_that_ends_in_inputs_with_their_sources(case):
    read = case()
    explanation = explained(read)
    every = 29 if case is demo else 1  # shares no factor with the figures of a quarter, so that each kind has its turn
    for address, cell in list(explanation.sheet.figures.items())[::every]:
        tree = explanation.tree(address, 1)
        assert tree.address == address
        assert {child.address for child in tree.children} == set(explanation.sheet.needs(address))
        assert {child.address for child in tree.children} == (names(tree.formula) if isinstance(cell, Cell) else set())
    for node in nodes(explanation.tree(COST_OF_A_WATT)):
        if node.kind == "input":
            assert node.evidence == read.evidence[node.address.rsplit(".", 1)[0]]
            assert node.value == value_at(read, node.address)
            assert not node.children
        elif node.kind == "figure" and not node.children and not node.shown:
            assert not names(node.formula)  # a figure of plain numbers


@CASES
def test_what_stands_in_several_places_is_opened_once(case):
    found = nodes(explained(case()).tree(COST_OF_A_WATT))
    opened = [node.address for node in found if node.children]
    assert len(opened) == len(set(opened))
    again = [node for node in found if node.shown == "above"]
    assert again
    assert {node.address for node in again} <= set(opened)
    first = {node.address: place for place, node in reversed(list(enumerate(found))) if node.children}
    assert all(place > first[node.address] for place, node in enumerate(found) if node.shown == "above")


def test_inputs_that_move_a_figure_are_named_among_its_inputs_and_users_are_the_other_way_round():
    case, explanation = tiny(), explained(tiny())
    before = {a: v for a, v, _, _ in figures(evaluate(case), case.currency)}
    moved = 0
    for address, value, _, _ in numeric_inputs(case):
        if address.startswith("constants."):
            continue
        try:
            changed = with_values(case, {address: value * 0.7 if value else 0.01})
        except InputFaults:
            continue
        after = {a: v for a, v, _, _ in figures(evaluate(changed), case.currency)}
        users = set(explanation.users_of(address))
        different = {a for a in before if before[a] != after[a]}
        assert different <= users, address
        moved += len(different)
        assert all(address in explanation.inputs_of(name) for name in list(users)[:5])
    assert moved > 1000


def test_shares_of_a_sum_are_its_parts():
    explanation = explained(tiny())
    tree = explanation.tree("ledger.total.cost", 1)
    assert sum(child.share for child in tree.children) == pytest.approx(1.0, rel=1e-12)
    for child in tree.children:
        assert child.share == pytest.approx(child.value / tree.value, rel=1e-12)
    assert [abs(child.share) for child in tree.children] == sorted((abs(child.share) for child in tree.children), reverse=True)
    assert {child.share for child in explanation.tree(COST_OF_A_WATT, 1).children} == {None}  # a quotient


def test_a_discounted_flow_has_its_share_of_a_present_value():
    explanation = explained(demo())
    shares = {child.address: child.share for child in explanation.tree("plan.project.npv", 1).children if child.share is not None}
    rate, flow = (1 + explanation.sheet.value("plan.required_return")) ** 0.25, "plan.quarters.q060.free_cash"
    now = explanation.sheet.value(flow) / rate**60  # at the end of 15 years
    assert shares[flow] == pytest.approx(now / explanation.sheet.value("plan.project.npv"), rel=1e-9)
    assert sum(shares.values()) == pytest.approx(1.0, rel=1e-9)
    assert len(shares) == 61


@pytest.mark.slow
def test_one_quarter_stands_for_all_that_are_alike():
    told = run("deal.licensee.sales_now", "--depth", 1).output
    assert re.search(r"\d\d more like it, plan.quarters.q\d+.revenue to plan.quarters.q059.revenue", told)
    assert told.count("net sales") < 10
    html = page_html(explained(demo()), explained(demo()).tree("deal.licensee.sales_now", 1))
    assert html.count(" more like it") == 1
    assert html.count("plan.quarters.q031.revenue</b>") == 1  # folded, and there


@pytest.mark.slow
def test_a_root_found_outside_has_what_is_left_at_it_beside_it():
    explanation = explained(demo(), solved=True)
    found = least_price(demo())
    assert explanation.sheet.value("solved.least_price.times") == found.times
    assert abs(explanation.sheet.value("solved.least_price.project.npv")) < 1e-9 * explanation.sheet.value("plan.capital")
    # what the factor moves is there once more; what it does not, as what the plant costs, is that of the plan
    assert explanation.sheet.value("solved.least_price.quarters.q060.revenue") == pytest.approx(
        found.times * explanation.sheet.value("plan.quarters.q060.revenue"), rel=1e-12
    )
    assert "solved.least_price.assets.tools_coater.cost" not in explanation.sheet.figures  # no price moves it
    assert "solved.least_price.times" in explanation.below("solved.least_price.project.npv")
    assert "solved.least_price.price = " in run("solved.least_price.price", "--depth", 1).output


def test_parts_of_a_sum_have_signs_and_those_without_a_name_are_told():
    a, b, c = Cell(7.0), Cell(2.0), Cell(1.5)
    cell = a - (b * c - c)
    sheet = Sheet({"x.a": a, "x.b": b, "x.c": c}, {"y.d": cell}, {id(a): "x.a", id(b): "x.b", id(c): "x.c", id(cell): "y.d"})
    assert [(term.text, term.value, term.address) for term in sheet.terms("y.d")] == [
        ("x.a", 7.0, "x.a"),
        ("-x.b * x.c", -3.0, ""),
        ("x.c", 1.5, "x.c"),
    ]


def test_a_worked_figure_in_full():
    # 1 m long, 0.5 m wide: 0.5 m2 a plate; 1,000 W/m2 x 0.8 active x 10 % x 75 % = 30 W a module
    area = explained(tiny()).tree("line.output.plate_area")
    assert (area.value, area.unit, area.formula) == (0.5, "m2/plate", "product.length * product.width")
    power = explained(tiny()).tree("line.output.stabilised_power")
    leaves = [node.address for node in nodes(power) if node.kind != "figure"]
    assert shown_value(power).startswith("30.00 ")
    assert {"product.active_area_share", "product.stabilisation_ratio", "constants.rating_irradiance"} <= set(leaves)


def test_branches_that_lead_nowhere_wanted_are_left_out():
    explanation = explained(tiny())
    pruned = nodes(explanation.tree(COST_OF_A_WATT, None, ["prices.silane.price"]))
    ends = {node.address for node in pruned if not node.children and not node.shown}
    assert ends == {"prices.silane.price"}


def test_the_depth_says_where_it_goes_on():
    tree = explained(tiny()).tree(COST_OF_A_WATT, 1)
    assert {child.shown for child in tree.children} == {"deeper"}
    assert not any(child.children for child in tree.children)


def test_the_page_needs_no_script_and_fetches_nothing(tmp_path):
    explanation = explained(batch())
    page = page_html(explanation, explanation.tree(COST_OF_A_WATT))
    assert "<script" not in page
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)='?\"?https?:", page)
    ids = re.findall(r"<details id='([^']+)'", page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"href='#([^']+)'", page)) <= set(ids)


@pytest.mark.needs("chromium")
def test_the_page_folds_in_a_browser(browser, tmp_path):
    explanation = explained(demo())
    (tmp_path / "why.html").write_text(page_html(explanation, explanation.tree(COST_OF_A_WATT)), encoding="utf-8")
    page = browser.new_page(offline=True)
    faults = []
    page.on("console", lambda message: faults.append(message.text))
    page.goto((tmp_path / "why.html").as_uri())
    part = page.locator("details[id='ledger.lines.materials.front_glass.cost']").first
    inner = part.locator("code").first
    assert not inner.is_visible()
    part.locator("summary").first.click()
    assert inner.is_visible()
    assert "ledger.landed.front_glass.price" in inner.inner_text()
    assert faults == []
    page.close()


def test_data_says_the_same_as_the_tree():
    tree = explained(tiny()).tree("ledger.total.cost_per_m2", 2)
    data = json.loads(json.dumps(tree_data(tree)))
    assert data["value"] == pytest.approx(evaluate(tiny()).ledger.total.cost_per_m2, rel=1e-15)
    assert [child["address"] for child in data["children"]] == [child.address for child in tree.children]
    assert "children" not in json.dumps(data["children"][0]["children"][0])


# the command


def run(*words):
    return CliRunner().invoke(main, ["explain", str(DEMO), *map(str, words)])


def test_a_person_reads_value_formula_and_source():
    result = run("line.output.plate_area")
    assert result.exit_code == 0
    assert "line.output.plate_area = 0.7200 m²/plate" in result.output
    assert "= product.length * product.width" in result.output
    assert "invented: " in result.output


def test_long_sums_tell_small_parts_together():
    output = run("ledger.total.cost", "--depth", 1).output
    count, together = re.search(r"(\d+) more of less than 1 % each, together ([\d.]+) %", output).groups()
    tree = explained(demo()).tree("ledger.total.cost", 1)
    small = [child.share for child in tree.children if abs(child.share) < 0.01]
    assert int(count) == len(small)
    assert float(together) == pytest.approx(100 * sum(small), rel=5e-3)


@pytest.mark.slow
def test_what_depends_on_an_input_and_on_what_a_figure_depends():
    users = json.loads(run("--uses", "prices.silane.price", "--json").output)
    assert {node["address"] for node in users} == set(explained(demo()).users_of("prices.silane.price"))
    inputs = json.loads(run("line.output.good_area", "--inputs", "--json").output)
    assert {node["address"] for node in inputs} == set(explained(demo()).inputs_of("line.output.good_area"))
    assert all(node["kind"] in ("input", "convention") for node in inputs)
    assert "prices.silane.price = " in run("ledger.total.cost", "--uses", "prices.silane.price").output
    found = run("--find", "silane").output
    assert "ledger.landed.silane.price" in found
    assert "prices.silane.price" in found


def test_a_tree_as_csv_has_a_row_per_branch_with_its_level_and_source():
    rows = list(csv.DictReader(io.StringIO(run("line.output.plate_area", "--csv").output)))
    shown = [(row["level"], row["address"], row["value"], row["unit"], row["evidence_kind"]) for row in rows]
    product = ("1", "product.length", "1.2", "m", "invented"), ("1", "product.width", "0.6", "m", "invented")
    assert shown == [("0", "line.output.plate_area", "0.72", "m2/plate", ""), *product]  # 1.2 m x 0.6 m, as in the demo
    assert rows[0]["formula"] == "product.length * product.width"
    listed = csv.DictReader(io.StringIO(run("line.output.plate_area", "--inputs", "--csv").output))
    assert [(row["level"], row["address"]) for row in listed] == [("0", "product.length"), ("0", "product.width")]
    assert "allowed: one of them" in run("line.output.plate_area", "--csv", "--json").output


def test_the_page_is_written_where_it_is_asked_for(tmp_path):
    result = run("ledger.total.cost_per_m2", "--html", tmp_path / "why.html")
    assert result.exit_code == 0
    assert (tmp_path / "why.html").read_text(encoding="utf-8").startswith("<!doctype html>")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["ledger.total.cots"], "did you mean 'ledger.total.cost'"),
        (["plan.quarters.y02q1.revenue"], "did you mean 'plan.quarters.q005.revenue'"),  # q000 is the first day
        (["deal.without_payments.y10q4.free_cash"], "did you mean 'deal.without_payments.q040.free_cash'"),
        (["--uses", "prices.silan.price"], "did you mean 'prices.silane.price'"),
        (["--find", "unobtainium"], "found 'unobtainium'"),
        (["--inputs", "--find", "silane"], "allowed: with --json or --csv only"),
        (["--uses", "prices.silane.price", "--find", "x"], "allowed: one of them"),
        (["ledger.total.cost", "--html", "/dev/null/x.html"], "which is no folder; allowed: a file in a folder"),
    ],
)
def test_what_cannot_be_answered_ends_with_code_2(words, told):
    result = run(*words)
    assert result.exit_code == 2
    assert told in result.output
    assert "Traceback" not in result.output


def test_what_only_gives_an_empty_sum_its_unit_is_no_reason():
    explanation = explained(demo())
    assert explanation.sheet.formula("deal.licensor.work").startswith("sum_of(deal.deliveries.")
    assert "licensor.contribution" not in explanation.inputs_of("deal.licensor.work")
    assert "licensor.contribution" in explanation.inputs_of("deal.licensor.floor")


def test_the_figure_that_is_asked_for_shows_its_whole_formula_and_no_branch_claims_to_continue():
    address = "line.carriers.batch_carrier.busy_time_per_good"
    whole = explained_for(demo(), address).sheet.formula(address)
    assert len(whole) > 1000  # far longer than a formula further down is shown
    for depth in ("0", "1"):
        shown = CliRunner().invoke(main, ["explain", str(DEMO), address, "--depth", depth]).output
        own = re.sub(r"[\s│]", "", shown)
        assert "=" + re.sub(r"\s", "", whole) in own, depth
        assert "continued below" not in shown
        assert "--find TEXT lists addresses" in " ".join(shown.split())


def test_a_long_formula_below_the_figure_is_cut_and_stands_whole_under_its_own_address():
    shown = CliRunner().invoke(main, ["explain", str(DEMO), "line.carriers.batch_carrier.busy_time", "--depth", "1"]).output
    assert " ..." in shown
    assert "For a formula cut with '...'" in shown


def test_an_unknown_address_says_how_to_find_one():
    found = CliRunner().invoke(main, ["explain", str(DEMO), "salvage"])
    assert found.exit_code == 2
    assert "--find TEXT without FIGURE lists addresses" in found.stderr
