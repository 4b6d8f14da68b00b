"""The cover of the workbook: what it is, its headline figures, how to use it, where to find what."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

from xlsxwriter.utility import quote_sheetname, xl_rowcol_to_cell

from ... import __version__
from ...case.fingerprint import fingerprint
from ...core.fields import STATUS
from ...core.units import to_base
from ...present.cost_report import headline, not_in_it
from ...present.numbers import label
from ...present.texts import CAUTIONS, INTERNAL
from ...studies.factory.least_price import FOUND
from .book import AT_LEFT, GREEN, LONGEST_TEXT, NOTE, RED, Book, number_format
from .checks_sheet import TOLERANCE
from .layout import CHECKS, COVER, FIRST_ROW, HELPERS, INPUTS, RETURNS, SHOWN, title_of

HEADLINES = (
    "ledger.total.cost_per_module",
    "ledger.total.cost_per_m2",
    "ledger.total.cost_per_initial_watt",
    "ledger.total.cost_per_stabilised_watt",
    "ledger.total.cost",
    "ledger.yield_loss_per_stabilised_watt",
    "line.output.good_modules",
    "line.output.stabilised_watts",
    "line.output.line_yield",
    "line.output.capacity",
    "plan.project.npv",
    "plan.project.irr",
    "plan.owners.npv",
    "deal.licensor.npv",
    "deal.licensee.npv",
)  # fmt: skip  (those that a case has)
_ROOT_LEFT = re.compile(r"solved\.\w+\.project\.npv")
_HOW_TO = (
    "Change yellow cells on the sheet Inputs, in the unit beside them; every figure follows. Cells show what is allowed.",
    "All other cells are protected without a password, so that no formula is lost by mistake. To fold groups of rows, unprotect "
    "the sheet.",
    "Every figure has a name, its address: type line.output.good_modules into the name box to go there. Formulas are in names.",
    "Each figure stands in base units (s, m, kg, J, W, plate, the reporting currency) where its formula is, and beside it in the "
    "unit for reading.",
    "Numbers can be changed here. To add or drop steps, tools, currencies or choices, change the tables of the case and write the "
    "workbook anew.",
    "-INT(-ROUND(x,9)) is x rounded up to a whole number after rounding to 9 decimals, so that 3.0000000001 tools are 3.",
    "Roots found outside the model do not follow changed inputs. The sheet Solved has them, with the net present value at each: 0 "
    "as long as the root holds.",
    "The sheet Checks must be all green. Rules between inputs, as one load size on a carrier, are checked when the workbook is "
    "read back: costmodel workbook CASE --read FILE.xlsx",
)


def write_cover(book: Book, sheet: Any, verdicts: str) -> None:
    """The cover; `verdicts` are the cells of the sheet Checks with the verdicts."""
    case = book.case
    for column, width in enumerate((2, 46, 18, 20, 46)):
        sheet.set_column(column, column, width)
    book.text(sheet, 1, 1, case.title, bold=True, font_size=18)
    sheet.set_row(1, 28)
    row = 2
    for paragraph in case.story.strip().split("\n\n"):
        row = _paragraph(book, sheet, row, " ".join(paragraph.split()))
    row = _paragraph(book, sheet, row, f"As written: {headline(case, book.explanation.results)} {not_in_it(case)}") + 1
    about = [("case", f"{case.name}, fingerprint {fingerprint(case)}"), ("written by", f"costmodel {__version__}")]
    about += [("structure", f"mode: {case.target.mode}"), *(("", f"{label(group)}: {title}") for group, title in case.use.items())]
    for word, text in about:
        book.text(sheet, row, 1, word, **NOTE)
        book.text(sheet, row, 2, text)
        row += 1
    book.text(sheet, row, 1, "checks", **NOTE)
    state = f'=IF(COUNTIF({verdicts},"agrees")=ROWS({verdicts}),"all agree","SOME DISAGREE: see Checks")'
    book.formula(sheet, row, 2, state, "all agree", bold=True)
    book.colour_words(sheet, xl_rowcol_to_cell(row, 2), {"all agree": GREEN, "SOME DISAGREE: see Checks": RED})
    book.text(sheet, row + 1, 1, "inputs changed since", **NOTE)
    book.formula(sheet, row + 1, 2, f'=COUNTIF({INPUTS}!F:F,"changed")', 0, align="left", bold=True)
    row = _roots_hold(book, sheet, row + 2)
    row = _headlines(book, sheet, row + 1)
    row = _split(book, sheet, row + 1)
    row = _list(book, sheet, row + 1, "How to use it", _HOW_TO)
    row = _list(book, sheet, row + 1, "Cautions", [INTERNAL, *CAUTIONS])
    _contents(book, sheet, row + 1)


def _roots_hold(book: Book, sheet: Any, row: int) -> int:
    """Whether the solved roots are roots still; returns the next row."""
    left = [address for address in book.sheet.figures if _ROOT_LEFT.fullmatch(address) and _is_root(book, address)]
    if left:
        allowed = f"{TOLERANCE!r}*ABS({book.names['plan.capital']})".upper()
        none_off = "+".join(f"(ABS({book.names[address]})>{allowed})" for address in left)
        book.text(sheet, row, 1, "roots on the sheet Solved", **NOTE)
        state = f'=IF({none_off}=0,"hold","no longer hold: inputs were changed")'
        book.formula(sheet, row, 2, state, "hold", bold=True)
    return row + 1


def _is_root(book: Book, left: str) -> bool:
    """Whether the net present value was 0 at what was solved, and did not jump there."""
    return book.sheet.value(left.replace("project.npv", f"times{STATUS}")) == FOUND


def _headlines(book: Book, sheet: Any, row: int) -> int:
    """The headline figures; returns the next row."""
    _header(book, sheet, row, ("headline figures", "now", "unit", "what it is"))
    found = [address for address in HEADLINES if address in book.sheet.figures]
    for number, address in enumerate(found, start=row + 1):
        unit, meaning = book.explanation.declared[address]
        place, value = book.places[address], book.sheet.value(address) / to_base(unit)
        book.text(sheet, number, 1, label(address.split(".", 1)[1]).replace(".", " · "))
        shown = f"={quote_sheetname(place.sheet)}!{xl_rowcol_to_cell(place.row, SHOWN)}"
        book.formula(sheet, number, 2, shown, value, num_format=number_format(value), bold=True)
        book.text(sheet, number, 3, unit, **AT_LEFT)
        book.text(sheet, number, 4, meaning, text_wrap=True, **NOTE)
        if len(meaning) > 45:
            sheet.set_row(number, 28)
    return row + 1 + len(found)


def _split(book: Book, sheet: Any, row: int) -> int:
    """What a stabilised watt costs by kind, with a chart that follows; returns the row below both."""
    end = ".cost_per_stabilised_watt"
    parts = [a for a in book.sheet.figures if a.startswith("ledger.by_category.") and a.endswith(end)]
    unit = book.explanation.declared[parts[0]][0]
    _header(book, sheet, row, ("cost by kind", "now", "unit", ""))
    for number, address in enumerate(parts, start=row + 1):
        value = book.sheet.value(address)
        book.text(sheet, number, 1, label(address.split(".")[2]))
        book.formula(sheet, number, 2, f"={book.names[address]}", value, num_format="0.0000")
        book.text(sheet, number, 3, unit, **AT_LEFT)
    last = row + len(parts)
    _bar_chart(book, sheet, row, last, f"cost by kind [{unit}]")
    return last + 3


def _bar_chart(book: Book, sheet: Any, row: int, last: int, name: str) -> None:
    """A chart beside a table on the cover, which follows it."""
    chart = book.file.add_chart({"type": "bar"})
    rows: dict[str, Any] = {"categories": [COVER, row + 1, 1, last, 1], "values": [COVER, row + 1, 2, last, 2]}
    chart.add_series({"name": name, **rows, "fill": {"color": "#2F6DB5"}, "gap": 40})
    chart.set_legend({"none": True})
    chart.set_title({"name": name[0].upper() + name[1:], "name_font": {"size": 10}, "overlay": False})
    chart.set_y_axis({"reverse": True, "num_font": {"size": 8}})
    lines = {"visible": True, "line": {"color": "#DDDDDD"}}
    chart.set_x_axis({"num_font": {"size": 8}, "num_format": "0.00", "major_gridlines": lines})
    chart.set_size({"width": 316, "height": 20 * (last - row + 1)})  # inside its column and its rows, so that no page cuts it
    sheet.insert_chart(row, 4, chart, {"x_offset": 4, "y_offset": 2})
    sheet.set_h_pagebreaks([row])


def _header(book: Book, sheet: Any, row: int, texts: Iterable[str]) -> None:
    """The header of a table on the cover."""
    for column, text in enumerate(texts, start=1):
        book.text(sheet, row, column, text, bold=True, bg_color="#DCE6F0", bottom=1)


def _paragraph(book: Book, sheet: Any, row: int, text: str) -> int:
    """A text over the width of the cover, high enough for it; returns the next row."""
    style = book.style(text_wrap=True)
    sheet.merge_range(row, 1, row, 4, "", style)
    sheet.write_string(row, 1, text[:LONGEST_TEXT], style)
    sheet.set_row(row, min(400, 14 * math.ceil(len(text) / 125) + 2))
    return row + 1


def _list(book: Book, sheet: Any, row: int, title: str, texts: Iterable[str]) -> int:
    """Paragraphs below a title; returns the next row."""
    book.text(sheet, row, 1, title, bold=True, font_size=12)
    row += 1
    for text in texts:
        row = _paragraph(book, sheet, row, text)
    return row


def _contents(book: Book, sheet: Any, row: int) -> None:
    """Links to every sheet, and to the parts of those of figures."""
    book.text(sheet, row, 1, "Contents", bold=True, font_size=12)
    places = [("inputs", INPUTS, FIRST_ROW - 1)]
    places += [(group, title_of(stage), at) for stage, found in book.headings.items() for group, at in found]
    places += [(f"{title[0].lower()}{title[1:]}", title, FIRST_ROW - 1) for title in book.series]
    places += [("internal rates of return", RETURNS, FIRST_ROW - 1)] if book.formulas.flows else []
    places += [("checks", CHECKS, FIRST_ROW - 1), ("parts of long formulas", HELPERS, FIRST_ROW - 1)]
    style = book.style(font_color="#0B4F9E", underline=1)
    for number, (text, title, at) in enumerate(places, start=row + 1):
        sheet.write_url(number, 1, f"internal:'{title}'!A{at + 1}", style, text)
