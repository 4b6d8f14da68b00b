"""Tables as people save them: the same case in other dialects gives the same figures; what can be read in two ways is refused."""
from __future__ import annotations

import csv
import re
import shutil
import zipfile
from datetime import date
from pathlib import Path

import pytest

from costmodel.case.fingerprint import fingerprint
from costmodel.case.load import load_case
from costmodel.case.whole_case import tables
from costmodel.core.units import same_kind, to_base
from costmodel.model.evaluate import evaluate, figures

from .cases import DEMO, FIELD, Inputs, column_name, demo, tiny, write_table
from .refusals import faults
from .saved_tables import cells_of, copied, is_number_column, table_files, with_decimal_comma, with_workbook, written
from .test_readings import scale_of


def values(case) -> list[tuple]:
    """Every figure of a case by its address."""
    return [(address, value) for address, value, *_ in figures(evaluate(case), case.currency)]


DIALECTS = {
    "commas, UTF-8": lambda rows: written(rows).encode(),
    "commas, every cell quoted": lambda rows: written(rows, quoting=csv.QUOTE_ALL).encode(),
    "commas, quoted decimal commas": lambda rows: written(with_decimal_comma(rows)).encode(),
    "semicolons, decimal commas, UTF-8 with mark": lambda rows: b"\xef\xbb\xbf" + written(with_decimal_comma(rows), ";").encode(),
    "semicolons, decimal points": lambda rows: written(rows, ";").encode(),
    "tabs, UTF-16": lambda rows: written(rows, "\t").encode("utf-16"),
    "tabs, UTF-16 the other way round": lambda rows: b"\xfe\xff" + written(rows, "\t").encode("utf-16-be"),
    "semicolons, decimal commas, Windows-1252": lambda rows: written(with_decimal_comma(rows), ";").encode("cp1252"),
    "blank rows and columns at the end": lambda rows: (
        "\n\n" + written([[*row, "", "", ""] for row in [*rows, *[[""] * len(rows[0])] * 3]], ";")).encode(),
    "line ends of an old machine": lambda rows: written(rows).replace("\r\n", "\r").encode(),
}


@pytest.mark.slow
@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=lambda folder: folder.name)
@pytest.mark.parametrize("dialect", DIALECTS)
def test_a_case_saved_in_another_way_is_the_same_case(folder, dialect, tmp_path):
    case, usual = load_case(copied(folder, tmp_path / folder.name, DIALECTS[dialect])), load_case(folder)
    assert case == usual
    if folder == DEMO:
        assert repr(values(case)) == repr(values(usual))  # NaN is not itself


def with_letters(folder: Path) -> Path:
    """The tiny case with letters that encodings differ in, and the euro sign, which only Windows-1252 has of the old ones."""
    inputs = Inputs().cell("steps.csv", "cut", "title", "Zuschnitt groß, für Ä").cell("steps.csv", "coat", "source", "Angebot 5 €")
    folder.mkdir()
    inputs.write(folder)
    (folder / "steps.csv").write_text(written(inputs.tables["steps.csv"]), encoding="utf-8")
    return folder


@pytest.mark.parametrize("dialect", ["semicolons, decimal commas, Windows-1252", "tabs, UTF-16",
                                     "semicolons, decimal commas, UTF-8 with mark"])
def test_letters_survive_every_encoding(dialect, tmp_path):
    usual = with_letters(tmp_path / "usual")
    case = load_case(copied(usual, tmp_path / "other", DIALECTS[dialect]))
    assert case.steps["cut"].title == "Zuschnitt groß, für Ä"
    assert case.evidence["steps.coat"].source == "Angebot 5 €"
    assert fingerprint(case) == fingerprint(load_case(usual))


@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=lambda folder: folder.name)
@pytest.mark.parametrize("number", [float, str], ids=["numbers", "texts"])
def test_a_case_in_one_workbook_is_the_same_case(folder, number, tmp_path):
    case = load_case(with_workbook(folder, tmp_path / folder.name, number))
    assert case == load_case(folder)
    if folder == DEMO and number is float:
        assert repr(values(case)) == repr(values(demo()))


# cells


def tiny_with(folder: Path, file: str, identity: str, column: str, cell: str, separator: str = ",", comma: bool = False):
    """The tiny case with one table written with another separator, decimal commas where wanted, and one cell as it is given."""
    inputs = Inputs()
    rows = with_decimal_comma(inputs.tables[file]) if comma else inputs.tables[file]
    at = [column_name(name) for name in rows[0]].index(column)
    rows = [[*row[:at], cell, *row[at + 1:]] if row[0] == identity else row for row in rows]
    inputs.write(folder)
    (folder / file).write_text(written(rows, separator), encoding="utf-8")
    return folder


READ = {
    "per cent sign in a column in %": ("steps.csv", "coat", "first_pass_yield", "75 %", ",", False, 0.75),
    "per cent sign behind the figure": ("steps.csv", "coat", "first_pass_yield", "75%", ",", False, 0.75),
    "per cent sign behind a no-break space": ("steps.csv", "coat", "first_pass_yield", "75\u00a0%", ";", False, 0.75),
    "per cent sign in a column of plain numbers": ("money.csv", "usd", "exchange_rate", "50 %", ",", False, 0.5),
    "no-break space between thousands": ("tools.csv", "saw", "price", "1\u00a0100\u00a0000", ",", False, 1_100_000.0),
    "thin space between thousands": ("tools.csv", "saw", "price", "100\u2009000", ";", True, 100_000.0),
    "narrow space and decimal comma": ("tools.csv", "saw", "price", "100\u202f000,5", ";", True, 100_000.5),
    "three figures behind a comma among decimal commas": ("tools.csv", "saw", "operators", "1,234", ";", True, 1.234),
    "three figures behind a point among points": ("tools.csv", "saw", "operators", "1.234", ";", False, 1.234),
    "three figures behind a point between commas": ("money.csv", "usd", "exchange_rate", "1.234", ",", False, 1.234),
    "nought before a comma": ("money.csv", "usd", "exchange_rate", "0,125", ";", False, 0.125),
    "power of ten with a comma": ("tools.csv", "saw", "price", "1,5E+05", ";", True, 150_000.0),
}


@pytest.mark.parametrize("name", READ)
def test_a_cell_that_can_be_read_in_one_way_is_read(name, tmp_path):
    file, identity, column, cell, separator, comma, value = READ[name]
    case = load_case(tiny_with(tmp_path, file, identity, column, cell, separator, comma))
    found = getattr(getattr(case, file.removesuffix(".csv"))[identity], column)
    assert found == pytest.approx(value, rel=1e-15)


ONE_SIGN = "one decimal sign in the whole file, and neither . nor , between thousands"
REFUSED = {
    "comma in a file with points": ("tools.csv", "saw", "price", "1,234", ";", False,
        f"found '1,234' in a file with a decimal point, as in '7.5'; allowed: {ONE_SIGN}"),
    "point in a file with commas": ("tools.csv", "saw", "price", "1.234", ";", True,
        f"found '1.234' in a file with a decimal comma, as in '7,5'; allowed: {ONE_SIGN}"),
    "comma in a file whose cells commas part": ("money.csv", "usd", "exchange_rate", "1,234", ",", False,
        f"found '1,234' in a file with a decimal point, since commas part its cells; allowed: {ONE_SIGN}"),
    "comma that may part thousands": ("money.csv", "usd", "exchange_rate", "1,234", ";", False,
        "found '1,234', which may be 1234 or 1.234; allowed: 1234, or 1,2340"),
    "point that may part thousands": ("money.csv", "usd", "exchange_rate", "1.234", "\t", False,
        "found '1.234', which may be 1234 or 1.234; allowed: 1234, or 1.2340"),
    "point and comma": ("tools.csv", "saw", "price", "1.234,5", ";", True, "found '1.234,5'; allowed: a number, as 12,5"),
    "space between thousands": ("tools.csv", "saw", "price", "100 000", ";", True,
        "found '100 000'; allowed: a number, as 12,5, without spaces or points between thousands"),
    "spaces between thousands and millions": ("tools.csv", "saw", "price", "2 600 000", ",", False,
        "found '2 600 000'; allowed: a number, as 12.5, without spaces or points between thousands"),
    "points between thousands and millions": ("tools.csv", "saw", "price", "1.480.000", ",", False,
        "found '1.480.000'; allowed: a number, as 12.5, without spaces or points between thousands"),
    "thin space at another place": ("tools.csv", "saw", "price", "10\u20090000", ",", False,
        "found '10\u20090000'; allowed: a number, as 12.5"),
    "two kinds of thin space": ("tools.csv", "saw", "price", "1\u2009000\u00a0000", ",", False,
        "found '1\u2009000\u00a0000'; allowed: a number, as 12.5"),
    "per cent sign in a column in years": ("tools.csv", "saw", "life", "10 %", ",", False,
        "found '10 %'; allowed: a number, as 12.5, without %: the column is in year"),
    "per cent sign in a column in % a year": ("tools.csv", "saw", "maintenance", "5 %", ",", False,
        "found '5 %'; allowed: a number, as 12.5, without %: the column is in %/year"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_cell_that_can_be_read_in_two_ways_is_refused(name, tmp_path):
    file, identity, column, cell, separator, comma, words = REFUSED[name]
    row = [each[0] for each in Inputs().tables[file]].index(identity) + 1
    folder = tiny_with(tmp_path, file, identity, column, cell, separator, comma)
    assert faults(lambda: load_case(folder)) == [f"{file}, row {row}, column '{column}': {words}"]


def test_unquoted_decimal_commas_between_commas_are_refused(tmp_path):
    folder = Inputs().write(tmp_path)
    content = (folder / "money.csv").read_text().replace("0.5", "0,5")
    (folder / "money.csv").write_text(content)
    assert faults(lambda: load_case(folder)) == [
        "money.csv, row 3: found 10 cells; allowed: 9 cells, as in the header; a decimal comma needs quotes round its cell, "
        "or semicolons between cells"]


UNREADABLE = {
    "two separators": (b"id;title,code;exchange_rate [1]\n", "found commas and semicolons in the header; allowed: one of commas, "
                                                             "semicolons or tabs between all cells"),
    "NUL": (b"id,title\neur,\0\n", "found NUL in line 2; allowed: text in UTF-8, in UTF-16 with its mark, or in Windows-1252"),
    "UTF-16 without its mark": ("id,title\n".encode("utf-16-le"),
                                "found NUL in line 1; allowed: text in UTF-8, in UTF-16 with its mark, or in Windows-1252"),
    "half of UTF-16": ("id,title\n".encode("utf-16")[:-1], "found byte 18 is not UTF-16, whose mark the file has; allowed: "
                                                          "text in UTF-8, in UTF-16 with its mark, or in Windows-1252"),
    "UTF-8 in parts": ("id,title\n1,ö".encode() + b"\xf6\n", "found byte 13 is not UTF-8, though other bytes of the file are; "
                       "allowed: text in UTF-8, in UTF-16 with its mark, or in Windows-1252"),
    "quote without end": (b'id,title\neur,"euro\n', "found unreadable CSV in line 2 (unexpected end of data); allowed: cells "
                                                   "parted by commas"),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_file_that_is_no_table_is_refused(name, tmp_path):
    content, words = UNREADABLE[name]
    folder = Inputs().write(tmp_path)
    (folder / "money.csv").write_bytes(content)
    assert faults(lambda: load_case(folder)) == [f"money.csv: {words}"]


def test_a_document_in_another_encoding_than_utf_8_is_refused(tmp_path):
    folder = Inputs().write(tmp_path)
    (folder / "case.yaml").write_bytes((folder / "case.yaml").read_text().replace("Tiny", "Größe").encode("cp1252"))
    assert faults(lambda: load_case(folder)) == ["case.yaml: found byte 9 is not UTF-8; allowed: text in UTF-8"]


# hostile inputs


@pytest.mark.parametrize(("file", "most"), [("money.csv", 5_000_000), ("case.yaml", 1_000_000), ("tables.xlsx", 10_000_000)])
def test_a_file_larger_than_any_case_is_refused_unread(file, most, tmp_path):
    folder = Inputs().write(tmp_path)
    with (folder / file).open("wb") as large:
        large.truncate(100_000_000)
    assert faults(lambda: load_case(folder))[0] == f"{file}: found 100000000 bytes; allowed: at most {most} bytes"


def test_a_workbook_that_unpacks_to_more_than_any_case_is_refused_unopened(tmp_path):
    folder = Inputs().write(tmp_path)
    with zipfile.ZipFile(folder / "tables.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 30_000_000)
    assert (folder / "tables.xlsx").stat().st_size < 100_000
    assert faults(lambda: load_case(folder)) == ["tables.xlsx: found 30000000 bytes when unpacked; allowed: at most 10000000 bytes"]


@pytest.mark.parametrize(("content", "found"), [
    ("id,title\n" + "a,b\n" * 10_001, "10001 rows of 2 cells"), ("id," * 300 + "\na\n", "1 rows of 300 cells")])
def test_a_table_longer_or_wider_than_any_case_is_one_fault(content, found, tmp_path):
    folder = Inputs().write(tmp_path)
    (folder / "money.csv").write_text(content)
    assert faults(lambda: load_case(folder)) == [f"money.csv: found {found}; allowed: at most 10000 rows of 200 cells"]


def test_a_sheet_with_a_cell_far_below_is_refused(tmp_path):
    folder = tiny_workbook(tmp_path, cell("steps", "A1048576", "x"))
    assert faults(lambda: load_case(folder)) == [
        "tables.xlsx, sheet steps: found more than 10000 rows; allowed: at most 10000"]


def test_a_workbook_with_entities_and_one_that_is_none_are_refused(tmp_path):
    folder = Inputs().write(tmp_path)
    with zipfile.ZipFile(folder / "tables.xlsx", "w") as packed:
        packed.writestr("xl/workbook.xml", '<!DOCTYPE a [<!ENTITY b "bbbb"><!ENTITY c "&b;&b;">]><a>&c;</a>')
    assert faults(lambda: load_case(folder)) == ["tables.xlsx: found an XML entity; allowed: plain values"]
    (folder / "tables.xlsx").write_bytes(b"id,title\n")
    assert faults(lambda: load_case(folder)) == [
        "tables.xlsx: found no workbook (File is not a zip file); allowed: an .xlsx workbook without a password"]
    with zipfile.ZipFile(folder / "tables.xlsx", "w") as packed:
        packed.writestr("notes.txt", "nothing")
    (message,) = faults(lambda: load_case(folder))
    assert message.startswith("tables.xlsx: found an unreadable workbook (KeyError: ")


def test_nested_aliases_of_a_document_are_refused(tmp_path):
    folder = Inputs().write(tmp_path)
    lines = ["a0: &a0 [x, x]", *(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 40))]
    (folder / "case.yaml").write_text("\n".join(lines))
    assert faults(lambda: load_case(folder))[0] == "case.yaml, row 1: found an anchor or alias; allowed: plain values"


# workbooks


def tiny_workbook(folder: Path, change=lambda book: None) -> Path:
    """The tiny case as a workbook, changed."""
    from openpyxl import load_workbook

    (folder / "csv").mkdir()
    with_workbook(Inputs().write(folder / "csv"), folder / "case")
    book = load_workbook(folder / "case" / "tables.xlsx")
    change(book)
    book.save(folder / "case" / "tables.xlsx")
    return folder / "case"


def cell(sheet: str, place: str, value: object, number_format: str = ""):
    """A change of one cell."""
    def change(book):
        book[sheet][place].value = value
        if number_format:
            book[sheet][place].number_format = number_format
    return change


DATE_ALLOWED = "a number or a text; a date in the column 'date' only"
SHEETS = {
    "formula that was not calculated": (cell("tools", "C2", "=50000*2"), [
        "tables.xlsx, sheet tools, row 2, column 'price': found a formula without a stored value; allowed: "
        "a value; calculate and save the workbook in a spreadsheet program"]),
    "error of the spreadsheet": (cell("tools", "C2", "#REF!"), [
        "tables.xlsx, sheet tools, row 2, column 'price': found '#REF!', an error of the spreadsheet; allowed: a value"]),
    "date for a number": (cell("tools", "C2", date(2026, 5, 3)), [
        f"tables.xlsx, sheet tools, row 2, column 'price': found the date 2026-05-03; allowed: {DATE_ALLOWED}"]),
    "date for an id": (cell("gases", "A2", date(2026, 5, 3)), [
        f"tables.xlsx, sheet gases, row 2, column 'id': found the date 2026-05-03; allowed: {DATE_ALLOWED}"]),
    "truth for a number": (cell("tools", "C2", True), [
        "tables.xlsx, sheet tools, row 2, column 'price': found the truth value TRUE; allowed: a number or a text"]),
    "text for a number": (cell("tools", "C2", "1.000,5"), [
        "tables.xlsx, sheet tools, row 2, column 'price': found '1.000,5'; allowed: a number, as 12.5, without commas"]),
    "text that may be two numbers": (cell("tools", "C2", "1,234"), ["tables.xlsx, sheet tools, row 2, column 'price': found "
        f"'1,234' in a file with a decimal point, since commas part its cells; allowed: {ONE_SIGN}"]),
    "empty cell": (cell("tools", "C2", None), [
        "tables.xlsx, sheet tools, row 2, column 'price': found nothing; allowed: a number (a missing value is not zero)"]),
    "unknown id": (cell("steps", "D3", "coatr"), [
        "tables.xlsx, sheet steps, row 3, column 'tool': found 'coatr'; allowed: an id of tools.csv; did you mean 'coater'?"]),
    "unknown unit": (cell("tools", "H1", "life [yeer]"), ["tables.xlsx, sheet tools, row 1, column 'life': found [yeer] "
        "(unit 'yeer' is not known; did you mean 'year'?); allowed: a unit such as [year]"]),
    "cell beyond the header": (cell("areas", "J2", 5), [
        "tables.xlsx, sheet areas, row 2: found 10 cells; allowed: 8 cells, as in the header"]),
}


@pytest.mark.parametrize("name", SHEETS)
def test_a_wrong_cell_of_a_sheet_is_refused_by_its_place(name, tmp_path):
    change, messages = SHEETS[name]
    folder = tiny_workbook(tmp_path, change)
    assert faults(lambda: load_case(folder)) == messages


def test_a_number_that_a_sheet_shows_as_a_percentage_is_one(tmp_path):
    def change(book):
        cell("steps", "G3", 0.75, "0.0%")(book)
        cell("money", "D3", 0.5, "0 %")(book)
        cell("steps", "N2", date(2026, 11, 2))(book)
    assert fingerprint(load_case(tiny_workbook(tmp_path, change))) == fingerprint(tiny())


def test_a_sheet_under_an_unknown_name_and_a_table_in_two_places_are_refused(tmp_path):
    folder = tiny_workbook(tmp_path, lambda book: book.create_sheet("step"))
    write_table(folder / "areas.csv", Inputs().tables["areas.csv"])
    messages = faults(lambda: load_case(folder))
    assert messages[0].startswith("tables.xlsx, sheet step: found an unknown sheet; allowed: cells, money, indices, steps, tools, ")
    assert messages[0].endswith("; did you mean 'steps'?")
    assert messages[1:] == ["tables.xlsx, sheet areas: found a sheet beside areas.csv; allowed: the table in one place only"]


@pytest.mark.parametrize("name", ["Tables.xlsx", "tables.xls", "steps.tsv", "RANGES.CSV", "ranges.csv.txt", "tables.ods"])
def test_tables_under_a_name_that_is_not_read_are_refused(name, tmp_path):
    folder = Inputs().write(tmp_path)
    (folder / name).write_text("id\n")
    (message,) = faults(lambda: load_case(folder))
    assert message.startswith(f"{name}: found an unknown file; allowed: acceptance_dates.csv, areas.csv, ")


def test_notes_and_locks_beside_the_tables_are_left_alone(tmp_path):
    folder = Inputs().write(tmp_path)
    for name in ("notes.txt", "~$tables.xlsx", ".hidden.csv", "offer.pdf"):
        (folder / name).write_text("x")
    assert fingerprint(load_case(folder)) == fingerprint(tiny())


# other units


SECTIONS = {name for name, table in tables().items() if table.section}
SISTERS = ("min", "um", "cm2", "litre", "g", "Nl", "kW", "kWh", "sccm", "%", "ppm")


def other_unit(stated: str, columns: set[str]) -> str:
    """Another unit text of the same kind: one name exchanged for another of its kind, or, as for money, hundredths of it."""
    parts = re.split(r"([*/])", stated)
    for at, name in enumerate(parts[::2]):
        if name in columns or (name == "1" and len(parts) > 1):
            continue
        for sister in SISTERS:
            if same_kind(sister, name) and to_base(sister) != to_base(name):
                return "".join([*parts[:2 * at], sister, *parts[2 * at + 1:]])
    return f"{stated}*%"


def factor_between(stated: str, other: str, columns: set[str]) -> float:
    """What numbers are multiplied by; names of columns stand for the same thing in both units."""
    first, second = (to_base(re.sub(rf"\b({'|'.join(columns)})\b", "1", text)) for text in (stated, other))
    return first / second


def restate_everywhere(folder: Path) -> tuple[int, int]:
    """State every number column of every table in another unit; returns how many columns and how many cells there were."""
    columns = cells = 0
    for path in table_files(folder):
        header, *body = cells_of(path)
        names = {column_name(each) for each in header}
        for at, name in enumerate(header):
            if not is_number_column(name):
                continue
            stated = name.partition("[")[2].rstrip("]")
            other = other_unit(stated, names)
            header[at] = f"{column_name(name)} [{other}]"
            factor = factor_between(stated, other, names)
            for row in body:
                row[at] = repr(float(row[at]) * factor)
            columns, cells = columns + 1, cells + len(body)
        path.write_text(written([header, *body]), encoding="utf-8")
    return columns, cells


@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=lambda folder: folder.name)
def test_every_number_column_in_another_unit_gives_the_same_figures(folder, tmp_path):
    shutil.copytree(folder, tmp_path / folder.name)
    columns, cells = restate_everywhere(tmp_path / folder.name)
    case, usual = load_case(tmp_path / folder.name), load_case(folder)
    assert [a for a, u in usual.entry_units.items() if case.entry_units[a] == u and a.partition(".")[0] not in SECTIONS] == []
    wanted, found = dict(values(usual)), dict(values(case))
    assert list(found) == list(wanted)
    scale = {a: max(scale_of(a, wanted), abs(v)) for a, v in wanted.items()}
    assert [a for a in wanted if abs(found[a] - wanted[a]) > 1e-12 * scale[a]] == []  # what has no number is the same anyway
    assert (columns, cells) > (100, 1000)
