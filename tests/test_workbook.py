"""The workbook as a file: names, texts, locks, ranges, limits of spreadsheets; and what reading it back refuses."""

from __future__ import annotations

import dataclasses
import functools
import io
import math
import re

import openpyxl
import pytest
import yaml
from click.testing import CliRunner

from costmodel.case.addresses import numeric_inputs
from costmodel.case.changes import with_values
from costmodel.command.main import main
from costmodel.core import operations
from costmodel.core.faults import InputFaults
from costmodel.core.units import to_base
from costmodel.documents.workbook import book as book_module
from costmodel.documents.workbook.cover_sheet import HEADLINES
from costmodel.documents.workbook.formulas import FUNCTIONS, RATES, Formulas, NoFormula
from costmodel.documents.workbook.layout import CHECKS, FIRST_ROW, HELPERS, INPUTS, VALUE, input_rows
from costmodel.documents.workbook.names import cell_names
from costmodel.documents.workbook.read import read_changes
from costmodel.documents.workbook.second_engine import cell_values, named_cells, named_values, packed, parts_of, sheet_files
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.readings.cells import Cell, Sheet, read_as_cells
from costmodel.model.scenarios import open_case
from costmodel.present.explain.tree import explained

from .batch import batch
from .cases import EVIDENCE, Inputs, demo, tiny
from .plans import planned
from .spreadsheet import with_inputs, written
from .terms import terms
from .test_readings import nearly, scale_of

WITH_PLAN = [pytest.param(demo, marks=pytest.mark.slow), planned]
CASES = pytest.mark.parametrize("case", [*WITH_PLAN, tiny, batch, terms], ids=lambda case: case.__name__)
PLANS = pytest.mark.parametrize("case", WITH_PLAN, ids=lambda case: case.__name__)


def book_of(content: bytes):
    """The workbook as openpyxl reads it."""
    return openpyxl.load_workbook(io.BytesIO(content))


@functools.lru_cache(maxsize=4)
def read_book(case):
    """The workbook of a case, read once, for tests that change nothing in it."""
    return book_of(written(case))


def input_cell(book, case, address):
    """The cell of an input."""
    rows = {name: row for name, row, _ in input_rows(case, read_as_cells(case).inputs)}
    return book[INPUTS].cell(rows[address] + 1, VALUE + 1)


# what is in it


@CASES
def test_every_input_and_figure_is_a_named_cell_with_the_value_of_the_package(case):
    content = written(case)
    values, names = named_values(content, content), cell_names(read_as_cells(case()).inputs)
    wanted = {address: value for address, value, _, _ in figures(evaluate(case()), case().currency)}
    inputs = {names[address]: value for address, value, _, _ in numeric_inputs(case())}
    roots = {address for address in values if address.startswith("solved.")}
    assert set(values) == {*inputs, *wanted, *roots}
    assert bool(roots) == (case in (demo, planned))  # the others have no plan
    values = {address: math.nan if value == "#N/A" else value for address, value in values.items()}
    assert [a for a, value in {**inputs, **wanted}.items() if not nearly(values[a], value, scale_of(a, wanted))] == []


@CASES
def test_every_figure_is_a_live_formula_within_the_limits_of_spreadsheets(case):
    book, sheet = read_book(case), explained(case(), solved=True).sheet
    places = named_cells(written(case))
    for address, cell in sheet.figures.items():
        title, place = places[address]
        is_root = re.fullmatch(r"solved\.\w+\.times(_status)?", address)
        assert (book[title][place].data_type == "f") == (isinstance(cell, Cell) and not is_root), address
    for page in book.worksheets:
        for row in page.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert len(cell.value) <= 8192
                    assert deepest(cell.value) <= 64


def deepest(formula: str) -> int:
    """How many brackets stand in one another."""
    depth = most = 0
    for letter in formula:
        depth += (letter == "(") - (letter == ")")
        most = max(most, depth)
    return most


@pytest.mark.slow
def test_long_sums_are_split_and_each_takes_no_more_arguments_than_excel():
    book = read_book(demo)
    title, place = named_cells(written(demo))["ledger.total.cost"]
    parts = re.findall(r"Helpers!\$B\$\d+", book[title][place].value)
    assert len(parts) > 1
    split = [book[HELPERS][part.split("!")[1].replace("$", "")].value for part in parts]
    named = [name for formula in split for name in re.findall(r"ledger\.lines\.[\w.]+", formula)]
    assert named == list(read_as_cells(demo()).needs("ledger.total.cost"))
    assert max(formula.count(",") for formula in split) < 255


def test_the_same_case_gives_the_same_bytes_and_another_one_others(tmp_path):
    first, again = (workbook_bytes(open_case(Inputs().write(tmp_path))) for _ in range(2))
    assert first == again
    assert first != workbook_bytes(open_case(Inputs().cell("tools.csv", "saw", "price", "100001").write(tmp_path)))


@CASES
def test_names_are_legal_and_unique(case):
    names = named_cells(written(case))
    assert len({name.lower() for name in names}) == len(names)
    assert [name for name in names if not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.]{0,254}", name)] == []


def test_names_are_legal_and_unique_whatever_the_address():
    odd = cell_names(["R1C1", "r", "c", "A1", "xfd7", "TCO23", "TRUE", "plan.1.cash", "x" * 300, "x" * 301, "ab.C", "AB.c"])
    assert len({name.lower() for name in odd.values()}) == len(odd)
    for name in odd.values():
        assert len(name) <= 255
        assert not re.fullmatch(r"[A-Z]{1,3}[0-9]+|R?[0-9]*C?[0-9]*|TRUE", name, re.IGNORECASE), name


def test_text_is_never_taken_for_a_formula():
    for sign in "=+-@":
        word = f"{sign}cmd|'/c calc'!A1"
        case = Inputs().cell("tools.csv", "saw", "title", word).cell("tools.csv", "saw", "source", word).load()
        content = workbook_bytes(case)
        book = book_of(content)
        found = [cell for page in book.worksheets for row in page.iter_rows() for cell in row if word in str(cell.value)]
        assert len(found) >= 2
        assert all(
            b"calc" not in formula
            for file in sheet_files(parts_of(content)).values()
            for formula in re.findall(rb"<f>[^<]*</f>", parts_of(content)[file])
        )


@PLANS
def test_only_inputs_may_be_changed(case):
    wanted = {f"C{row + 1}" for _, row, is_open in input_rows(case(), read_as_cells(case()).inputs) if is_open}
    for page in read_book(case).worksheets:
        assert page.protection.sheet
        assert not page.protection.password
        opened = {cell.coordinate for row in page.iter_rows() for cell in row if not cell.protection.locked}
        assert opened == (wanted if page.title == INPUTS else set())


@pytest.mark.slow
def test_a_delay_that_would_add_a_plan_is_set_in_the_tables():
    late = with_values(demo(), {"schedule.delay": 0.5 * demo().constants.year})
    for case, is_open in ((demo(), False), (late, True)):
        assert {name: found for name, _, found in input_rows(case, read_as_cells(case).inputs)}["schedule.delay"] is is_open
    cell = input_cell(read_book(demo), demo(), "schedule.delay")
    assert cell.protection.locked
    assert cell.offset(0, 2).value == "to be set in the tables"


def test_an_input_says_what_it_is_what_is_allowed_and_where_it_comes_from():
    book = read_book(planned)
    cell = input_cell(book, planned(), "steps.coat.rework_share")
    row = [found.value for found in book[INPUTS][cell.row]]
    assert row[0] == "steps.coat.rework_share"
    assert row[2:5] == [40, "%", "a number from 0 to 100 [%]"]
    assert row[6:10] == list(EVIDENCE.values())
    assert row[10] == 0.01
    assert row[11] == f"=IF(ISNUMBER(C{cell.row}),C{cell.row}*K{cell.row},NA())"
    (rule,) = [rule for rule in book[INPUTS].data_validations.dataValidation if cell.coordinate in rule.sqref]
    assert rule.formula1 == f"AND(ISNUMBER(C{cell.row}),C{cell.row}>=0,C{cell.row}<=100)"
    assert "from 0 to 100 [%]" in rule.error
    assert not rule.allow_blank


def test_values_stand_as_the_tables_state_them():
    case = Inputs().cell("steps.csv", "coat", "first_pass_yield", "58.1").yaml("length: 1 m", "length: 1.2 m").load()
    assert case.steps["coat"].first_pass_yield / to_base("%") != 58.1  # what was read is a hair beside
    book = book_of(workbook_bytes(case))
    assert input_cell(book, case, "steps.coat.first_pass_yield").value == 58.1
    assert input_cell(book, case, "product.length").value == 1.2


@PLANS
def test_checks_are_found_by_their_place_and_all_agree(case):
    content = written(case)
    told = [cell.value for cell in read_book(case)[CHECKS]["A"]]
    assert {a for a in read_as_cells(case()).figures if ".checks." in a} <= set(told)
    assert "DISAGREES" not in cell_values(content)[CHECKS].values()


def test_every_operation_of_the_model_has_a_formula_or_is_made_of_others():
    made_of_others = {"least_of", "largest_of", "irr_with_count"}
    defined = {
        name
        for name, value in vars(operations).items()
        if callable(value) and getattr(value, "__module__", "") == operations.__name__ and not name.startswith("_")
    }
    assert defined - made_of_others == {*FUNCTIONS, *RATES}


def test_an_operation_without_a_formula_is_named():
    cell = Cell(1.0, "arctan", (Cell(1.0),))
    with pytest.raises(NoFormula, match="operation 'arctan' has no spreadsheet formula; allowed: whole_up"):
        Formulas(Sheet({}, {"y.z": cell}, {id(cell): "y.z"}), {"y.z": "y.z"}, str, str).of("y.z")


def test_a_figure_without_a_value_is_an_error_in_the_sheet_and_never_zero(monkeypatch):
    explanation = book_module.explained(tiny())
    sheet = explanation.sheet
    bare = dataclasses.replace(sheet, figures={**sheet.figures, "ledger.stock": math.nan})
    monkeypatch.setattr(book_module, "explained", lambda case, solved: dataclasses.replace(explanation, sheet=bare))
    content = workbook_bytes(tiny())
    assert named_values(content, content)["ledger.stock"] == "#N/A"


def test_headline_figures_are_figures():
    assert set(HEADLINES) <= set(read_as_cells(planned()).figures)


# reading back


def saved(folder, content):
    """The content as a file."""
    path = folder / "edited.xlsx"
    path.write_bytes(content)
    return path


def edited(folder, edit):
    """A workbook of the tiny case as a person saves it with openpyxl."""
    book = book_of(written(tiny))
    edit(book)
    path = folder / "edited.xlsx"
    book.save(path)
    return path


def faults(case, path):
    with pytest.raises(InputFaults) as problem:
        read_changes(case, path)
    return [str(fault) for fault in problem.value.faults]


def test_a_workbook_as_written_has_no_changes(tmp_path):
    assert read_changes(tiny(), saved(tmp_path, written(tiny))) == []


@pytest.mark.slow
def test_the_last_digits_that_a_program_drops_are_no_change(tmp_path):
    case = open_case(Inputs().write(tmp_path), changes={"product.length": "1.0000000000000002 m"})
    assert case.product.length != 1.0
    assert read_changes(case, saved(tmp_path, workbook_bytes(case))) == []
    changed = with_inputs(case, workbook_bytes(case), {"product.length": 1.00000001})
    assert [change.new for change in read_changes(case, saved(tmp_path, changed))] == [1.00000001]


def test_changed_inputs_are_read_in_the_unit_of_their_table(tmp_path):
    content = with_inputs(tiny(), written(tiny), {"tools.coater.life": 31_536_000.0 * 7, "steps.cut.rework_share": 0.25})
    found = read_changes(tiny(), saved(tmp_path, content))
    assert [(c.address, c.old, c.new, c.unit) for c in found] == [
        ("steps.cut.rework_share", 100.0, 25.0, "%"),
        ("tools.coater.life", 5.0, 7.0, "year"),
    ]


def test_a_changed_value_goes_through_the_door_of_every_change(tmp_path):
    def edit(book):
        input_cell(book, tiny(), "steps.cut.first_pass_yield").value = 101
        input_cell(book, tiny(), "tools.saw.life").value = 0

    assert faults(tiny(), edited(tmp_path, edit)) == [
        "edited.xlsx, Inputs, 'steps.cut.first_pass_yield': found 101 %; allowed: a number above 0 to 100 [%]",
        "edited.xlsx, Inputs, 'tools.saw.life': found 0 year; allowed: a number above 0 [year]",
    ]


@pytest.mark.parametrize(
    ("value", "shown"),
    [(None, "nothing"), ("twelve", "a text 'twelve'"), ("=6*2", "the formula '=6*2'"), (True, "the truth value 'True'")],
)
def test_what_is_no_number_is_refused_with_its_cell(tmp_path, value, shown):
    row = input_cell(read_book(tiny), tiny(), "tools.saw.price").row

    def edit(book):
        book[INPUTS].cell(row, VALUE + 1).value = value

    assert faults(tiny(), edited(tmp_path, edit)) == [
        f"edited.xlsx, Inputs!C{row}, 'tools.saw.price': found {shown}; allowed: a number [EUR]"
    ]


@pytest.mark.slow
def test_a_changed_formula_is_refused_with_its_place(tmp_path):
    def edit(book):
        book["Ledger"]["D10"].value = "=1+1"
        book[INPUTS]["K10"].value = 7

    told = faults(tiny(), edited(tmp_path, edit))
    assert [line.split(":")[0] for line in told] == ["edited.xlsx, sheet Inputs, cell K10", "edited.xlsx, sheet Ledger, cell D10"]
    assert "found '=1+1'; allowed: the cell as it was written" in told[1]


def test_a_renamed_sheet_and_a_moved_name_are_refused(tmp_path):
    def rename(book):
        book["Ledger"].title = "Ledgers"

    def move(book):
        book.defined_names["tools.saw.price"].attr_text = "Inputs!$L$7"

    assert faults(tiny(), edited(tmp_path, rename))[0].startswith("edited.xlsx: found no sheet 'Ledger'; allowed: the sheets as")
    assert faults(tiny(), edited(tmp_path, move)) == [
        "edited.xlsx, name tools.saw.price: found 'Inputs!$L$7'; allowed: "
        f"'{'!'.join(('Inputs', absolute(named_cells(written(tiny))['tools.saw.price'][1])))}', as it was written"
    ]


def absolute(place):
    return re.sub(r"([A-Z]+)([0-9]+)", r"$\1$\2", place)


def test_a_workbook_of_another_case_or_none_is_refused(tmp_path):
    assert "found a workbook of a case with fingerprint" in faults(batch(), saved(tmp_path, written(tiny)))[0]
    assert "found no workbook" in faults(tiny(), saved(tmp_path, b"PK no zip"))[0]
    assert "found no workbook" in faults(tiny(), saved(tmp_path, packed({"a": b"b"})))[0]
    assert "No such file" in faults(tiny(), tmp_path / "nowhere.xlsx")[0]
    openpyxl.Workbook().save(tmp_path / "plain.xlsx")
    assert "found no mark of a case" in faults(tiny(), tmp_path / "plain.xlsx")[0]


# the command


def folder_in(folder):
    """A folder for a case, beside the workbooks: in that of a case each file is a table."""
    (folder / "case").mkdir()
    return folder / "case"


def run(*words):
    return CliRunner().invoke(main, ["workbook", *map(str, words)])


def test_the_command_writes_and_never_over_an_edited_file(tmp_path):
    case = Inputs().write(folder_in(tmp_path))
    out = tmp_path / "out" / "tiny.xlsx"
    first = run(case, "--out", out)
    assert first.exit_code == 0
    assert f"--read {out}" in first.output
    assert [path.name for path in out.parent.iterdir()] == ["tiny.xlsx"]
    assert run(case, "--out", out).exit_code == 0
    out.write_bytes(b"edited")
    refused = run(case, "--out", out)
    assert refused.exit_code == 2
    assert "or that was changed since; allowed: a new file" in refused.output
    assert out.read_bytes() == b"edited"
    assert "a file whose name ends in .xlsx" in run(case, "--out", tmp_path / "x.csv").output
    assert "a place in the folder of the case" in run(case, "--out", case / "x.xlsx").output


def test_edits_come_back_as_a_scenario_that_gives_the_same_figures(tmp_path):
    case = Inputs().write(folder_in(tmp_path))
    content = with_inputs(tiny(), workbook_bytes(open_case(case)), {"tools.saw.price": 250000.0})
    path = saved(tmp_path, content)
    result = run(case, "--read", path, "--save-scenario", "dear_saw", "--title", "Dear saw", "--story", "What if.")
    assert result.exit_code == 0, result.output
    assert re.search(r"tools\.saw\.price +100000 +250000 +EUR", result.output)
    assert yaml.safe_load((case / "scenarios" / "dear_saw.yaml").read_text())["set"] == {"tools.saw.price": "250000.0 EUR"}
    assert open_case(case, "dear_saw").tools["saw"].price == 250000.0


def test_a_workbook_of_a_scenario_comes_back_on_top_of_it(tmp_path):
    case = Inputs().write(folder_in(tmp_path))
    (case / "scenarios").mkdir()
    text = "title: Slow\nstory: Slow.\nplant: designed\nset:\n  steps.cut.process_time: 120 s\n"
    (case / "scenarios" / "slow.yaml").write_text(text)
    slow = open_case(case, "slow")
    path = saved(tmp_path, with_inputs(slow, workbook_bytes(slow), {"tools.saw.price": 250000.0}))
    assert run(case, "--read", path).exit_code == 2
    words = ("--save-scenario", "both", "--title", "Both", "--story", "Both.")
    assert run(case, "--scenario", "slow", "--read", path, *words).exit_code == 0
    both = open_case(case, "both")
    assert (both.steps["cut"].process_time, both.tools["saw"].price) == (120.0, 250000.0)


@pytest.mark.parametrize(
    "words",
    [
        ("--save-scenario", "x"),
        ("--read", "f.xlsx", "--save-scenario", "x"),
        ("--read", "f.xlsx", "--out", "g.xlsx"),
        ("--read", "missing.xlsx"),
    ],
)
def test_options_that_do_not_go_together_end_with_code_2(tmp_path, words):
    result = run(Inputs().write(tmp_path), *words)
    assert result.exit_code == 2
    assert "allowed: " in result.output
    assert "Traceback" not in result.output


# on paper


def test_pages_hold_what_people_read_and_no_page_cuts_the_chart_of_the_cover():
    book = read_book(planned)
    cover, inputs = book.worksheets[0], book[INPUTS]
    assert cover.page_setup.orientation == "portrait"
    assert all(page.page_setup.orientation == "landscape" for page in book.worksheets[1:])
    assert all(page.sheet_properties.pageSetUpPr.fitToPage and page.page_setup.paperSize == 9 for page in book.worksheets)
    first, last = inputs.print_area.replace("$", "").split("!")[1].split(":")
    assert [inputs.cell(FIRST_ROW, column).value for column in range(ord(first[0]) - ord("A") + 1, 11)] == [
        "input", "value", "unit", "allowed", "note", "kind", "source", "date", "by"
    ]  # fmt: skip
    assert last == f"J{max(row for _, row, _ in input_rows(planned(), read_as_cells(planned()).inputs)) + 1}"
    (chart,) = cover._charts
    breaks = [each.id for each in cover.row_breaks.brk]
    top, bottom = chart.anchor._from.row, chart.anchor.to.row
    assert breaks == [top]  # the page begins with the table that the chart stands beside
    assert bottom - top < 30
    assert chart.anchor.to.col == chart.anchor._from.col == 4  # inside its column
