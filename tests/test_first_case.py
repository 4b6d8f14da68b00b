"""A first case, followed as the guide says: begin, change table by table, check on the way, a first cost."""

import csv
import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from costmodel.case.begin import FIRST_ROWS, begin_case
from costmodel.case.load import load_case
from costmodel.case.whole_case import tables
from costmodel.command.main import main
from costmodel.model.evaluate import evaluate
from costmodel.present import inputs_report

from .cases import DEMO, Inputs, column_name, demo

OWN = {"kind": "measured", "source": "pilot line, run 7", "date": "2026-11-20", "by": "process engineer"}


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def edit(path: Path, values: dict[tuple[str, str], str], own: bool = True) -> None:
    """Set cells of a table by id and column, as a person does in a spreadsheet, and say that all rows are one's own."""
    with open(path, encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    names = [column_name(cell) for cell in header]
    for row in rows:
        for name, value in (OWN if own else {}).items():
            row[names.index(name)] = value
        for (identity, column), value in values.items():
            if row[0] == identity:
                row[names.index(column)] = value
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *rows])


def invented(folder: Path) -> tuple[int, int]:
    """How many rows `check` says are invented still, of how many."""
    result = run("check", folder, "--all")
    assert result.exit_code == 0, result.output
    found = re.search(r"Still invented: (\d+) of (\d+) rows", result.output)
    return int(found.group(1)), int(found.group(2))


@pytest.fixture
def copy(tmp_path):
    assert run("new", tmp_path / "mine").exit_code == 0
    return tmp_path / "mine"


@pytest.mark.slow
def test_a_first_case_grows_out_of_the_demo_table_by_table(copy):
    rows = len(demo().evidence)
    assert invented(copy) == (rows, rows)

    document = (copy / "case.yaml").read_text(encoding="utf-8")
    document = document.replace("title: Facade panes at Tarrowmouth", "title: Our pilot line")
    document = document.replace("kind: invented", "kind: measured")
    (copy / "case.yaml").write_text(re.sub(r"\n  length: .*", "\n  length: 1.3 m", document), encoding="utf-8")
    left = rows - 3
    assert invented(copy) == (left, rows)

    for file, values in (
        ("steps.csv", {("lamination", "process_time"): "19", ("plate_test", "first_pass_yield"): "96.1"}),
        ("tools.csv", {("laminator", "price"): "480000"}),
        ("layers.csv", {}),
        ("materials.csv", {}),
        ("prices.csv", {("silane", "price"): "71.5"}),
        ("crew.csv", {("operator", "wage"): "33000"}),
        ("utilities.csv", {("electricity", "price"): "0.29"}),
    ):
        edit(copy / file, values)
        left -= len(getattr(demo(), file.removesuffix(".csv")))
        assert invented(copy) == (left, rows), file
        assert "; none in case.yaml, steps.csv" in run("check", copy, "--all").output

    case = load_case(copy)
    assert case.steps["plate_test"].first_pass_yield == pytest.approx(0.961)
    figures = json.loads(run("cost", copy, "--json").output)
    assert figures["ledger.total.cost_per_m2"]["value"] > 0
    power = json.loads(run("line", copy, "--json").output)["line.output.stabilised_power"]["value"]
    # edges of 12 mm, and across the cells 51 scribe sets of 0.3 mm and two busbars of 3 mm; films lose by their spread
    active = (1.3 - 2 * 0.012) * (0.6 - 2 * 0.012 - 51 * 0.0003 - 2 * 0.003)
    uniform = 1 - sum(row.spread_loss_factor * row.thickness_spread**2 for row in demo().layers.values())
    product = demo().product
    share = uniform * product.initial_efficiency * product.stabilisation_ratio
    assert power == pytest.approx(active * 1000 * share, rel=1e-12)

    edit(copy / "ranges.csv", {}, own=True)
    assert invented(copy) == (left - len(demo().ranges), rows)
    differ = json.loads(run("compare", DEMO, copy, "--json").output)["inputs"]
    assert {"product.length", "tools.laminator.price", "prices.silane.price", "crew.operator.wage"} < set(differ)


def test_mistakes_on_the_way_are_shown_with_file_row_and_column_all_at_once(copy):
    edit(copy / "steps.csv", {("lamination", "first_pass_yield"): "9x", ("plate_test", "tool"): "tester"})
    edit(copy / "prices.csv", {("silane", "price"): ""})
    result = run("check", copy)
    assert result.exit_code == 2
    assert re.search(r"steps\.csv, row \d+, column 'first_pass_yield': found '9x'", result.output)
    assert re.search(r"prices\.csv, row \d+, column 'price': found nothing", result.output)


def test_a_step_that_is_dropped_leaves_rows_elsewhere_and_every_one_is_listed(copy):
    shutil.rmtree(copy / "alternatives")
    document = (copy / "case.yaml").read_text(encoding="utf-8")
    (copy / "case.yaml").write_text(re.sub(r"\nuse:\n(  .*\n)+", "\n", document), encoding="utf-8")
    assert run("check", copy).exit_code == 0
    lines = (copy / "steps.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (copy / "steps.csv").write_text("".join(line for line in lines if not line.startswith("lamination,")), encoding="utf-8")
    result = run("check", copy)
    assert result.exit_code == 2
    left = [name for name, row in demo().materials.items() if row.step == "lamination"]
    assert left
    assert len(re.findall(r"materials\.csv, row \d+, column 'step': found 'lamination'", result.output)) == len(left)


def test_tables_that_may_wait_can_be_deleted(tmp_path):
    begin_case(tmp_path / "mine", bare=True)
    for name, table in tables().items():
        if table.optional and name in FIRST_ROWS:
            (tmp_path / "mine" / table.file).unlink()
    assert evaluate(load_case(tmp_path / "mine")).ledger.total.cost > 0


def test_a_bare_case_is_one_row_for_each_table_from_the_examples_and_its_figures_follow(tmp_path):
    result = run("new", tmp_path / "mine", "--bare")
    assert result.exit_code == 0
    assert {name for name, table in tables().items() if not table.section and not table.optional} <= set(FIRST_ROWS)
    case = load_case(tmp_path / "mine")
    assert {shown.kind for shown in case.evidence.values()} == {"invented"}
    assert invented(tmp_path / "mine") == (len(FIRST_ROWS) + 3, len(FIRST_ROWS) + 3)
    results = evaluate(case)
    module = 1.2 * 0.6 * 0.94 * 1000 * 0.084 * 0.80  # W: area, active share, irradiance, efficiency, stabilisation
    assert results.line.output.good_modules == pytest.approx(10e6 / module, rel=1e-12)
    foil = 0.72 * 1.03 * 4.20 * (1 + 0.04 + 0.05)  # EUR a plate: area, cut off, price, freight and duty
    left = 0.992 * 0.998  # yield of the step, whole loads lost
    assert results.ledger.by_category["materials"].cost_per_module == pytest.approx(foil / left, rel=1e-12)


def test_a_bare_case_grows_by_rows(tmp_path):
    begin_case(tmp_path / "mine", bare=True)
    for file, identity, other in (
        ("tools.csv", "laminator", {"id": "washer"}),
        ("steps.csv", "lamination", {"id": "wash", "tool": "washer"}),
    ):
        with open(tmp_path / "mine" / file, encoding="utf-8", newline="") as read:
            rows = list(csv.reader(read))
        names = [column_name(cell) for cell in rows[0]]
        new = [other.get(name, cell) for name, cell in zip(names, next(row for row in rows if row[0] == identity))]
        with open(tmp_path / "mine" / file, "w", encoding="utf-8", newline="") as written:
            csv.writer(written).writerows([rows[0], new, *rows[1:]])
    case = load_case(tmp_path / "mine")
    assert list(case.steps) == ["wash", "lamination"]
    assert evaluate(case).line.output.line_yield == pytest.approx((0.992 * 0.998) ** 2, rel=1e-12)


def test_rows_that_are_invented_are_counted_by_table():
    inputs = Inputs().cell("prices.csv", "box", "kind", "quote").cell("prices.csv", "foil", "kind", "estimate")
    for table in ("crew.csv", "money.csv"):
        for row in inputs.tables[table][1:]:
            row[-4] = "measured"
    said = inputs_report.still_invented(inputs.load())
    rows = 3 + sum(len(cells) - 1 for cells in inputs.tables.values())
    assert said.startswith(f"Still invented: {rows - 5} of {rows} rows: case.yaml 3 of 3, ")
    assert "prices.csv 7 of 9" in said
    assert said.endswith("; none in money.csv, crew.csv.")


@pytest.mark.slow
@pytest.mark.parametrize("bare", [(), ("--bare",)])
def test_new_says_where_to_start_and_every_command_that_it_names_works(bare, tmp_path):
    result = run("new", tmp_path / "mine", *bare)
    steps = re.findall(r"^(\d)\. (\S+)[:,].*\(about (\d+) minutes\); then: costmodel (.+)$", result.output, re.MULTILINE)
    assert [number for number, *_ in steps] == [str(n) for n in range(1, len(steps) + 1)]
    assert [file for _, file, *_ in steps[:3]] == ["case.yaml", "steps.csv", "tools.csv"]
    assert sum(int(minutes) for *_, minutes, _ in steps) == 60
    more = re.findall(r"^- .*; then: costmodel (.+)$", result.output, re.MULTILINE)
    assert len(more) == (0 if bare else 6)
    for command in (*(command for *_, command in steps), *more):
        assert run(*command.split()).exit_code == 0
    named = set(re.findall(r"\w+\.csv", result.output))
    assert named <= {table.file for table in tables().values()}


def test_the_guide_names_the_same_tables_in_the_same_order_as_new(tmp_path):
    section = run("guide", "first_case").output
    in_table = "\n".join(line for line in section.splitlines() if line.startswith("| "))
    printed = run("new", tmp_path / "mine").output
    printed = printed.partition("The copy holds more")[0]  # an hour goes to the rest
    assert re.findall(r"\w+\.(?:csv|yaml)", in_table) == re.findall(r"\w+\.(?:csv|yaml)", printed)
    assert "put in your own pilot data" in section


def test_a_folder_that_is_there_is_left_alone_and_one_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for folder, words in ((tmp_path / "file", "is there already"), (tmp_path / "file" / "mine", "cannot be made")):
        for bare in ((), ("--bare",)):
            result = run("new", folder, *bare)
            assert (result.exit_code, words in result.output) == (2, True)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    with pytest.raises(FileExistsError):
        begin_case(tmp_path / "file")
