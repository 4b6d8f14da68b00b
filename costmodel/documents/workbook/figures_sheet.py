"""The sheets of figures: by stage, over time, and the parts of long formulas."""

from __future__ import annotations

import math
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell

from ...core.units import to_base
from ...present.numbers import label
from .book import AT_LEFT, NOTE, Book, number_format
from .layout import FIRST_ROW, HELPER, HELPERS, IN_BASE, SERIES_COLUMNS, SHOWN, group_of, title_of

_FIGURE_COLUMNS = (("figure", 46), ("value", 16), ("unit", 20), ("in base units (formula)", 20), ("meaning", 70), ("address", 60))


def write_figures(book: Book, sheet: Any, stage: str) -> None:
    """The figures of a stage: a row for each, below a heading for each part."""
    sentence = "Every figure as a formula in the names of inputs and other figures, and beside it in the unit for reading."
    book.begin(sheet, title_of(stage), sentence, _FIGURE_COLUMNS, SHOWN)
    sheet.outline_settings(symbols_below=False)
    for group, row in book.headings[stage]:
        book.heading(sheet, row, group, len(_FIGURE_COLUMNS))
    last = 0
    for address in book.stages[stage]:
        row = last = book.places[address].row
        group = group_of(address)
        sheet.set_row(row, None, None, {"level": 1})
        unit, meaning = book.explanation.declared[address]
        value, factor = book.sheet.value(address), to_base(unit)
        book.text(sheet, row, 0, label(address.removeprefix(f"{group}.").replace(".", " · ")))
        shown = f"={xl_rowcol_to_cell(row, IN_BASE)}" + ("" if factor == 1 else f"/{factor!r}".upper())
        book.formula(sheet, row, SHOWN, shown, value / factor, num_format=number_format(value / factor), bold=True)
        book.text(sheet, row, 2, unit, **AT_LEFT)
        _write_figure(book, sheet, address, "General", **NOTE)
        book.text(sheet, row, 4, meaning, **AT_LEFT)
        book.text(sheet, row, 5, address, **NOTE)
    sheet.autofilter(FIRST_ROW - 1, 0, last, len(_FIGURE_COLUMNS) - 1)


def write_series(book: Book, sheet: Any, title: str) -> None:
    """A table over time: a row for each figure, a column for each quarter or year."""
    periods, rows = book.series[title]
    sentence = "Every cell is a figure with its formula, in base units; its name is its address."
    columns = (*SERIES_COLUMNS, *((period, 13) for period in periods))
    book.begin(sheet, title, sentence, columns, 1)
    sheet.repeat_columns(0)
    above = []
    for column, period in enumerate(periods, start=len(SERIES_COLUMNS)):
        book.text(sheet, FIRST_ROW - 1, column, period, bold=True, bg_color="#DCE6F0", bottom=1, align="right")
        above += [(column, int(period[1:]) - 1)] if period.startswith("q") else []
    for column, number in above:
        book.text(sheet, FIRST_ROW - 2, column, "" if number % 4 else f"year {number // 4 + 1}", bold=True, align="right")
    for row, (name, cells) in enumerate(rows.items(), start=FIRST_ROW):
        unit, meaning = book.explanation.declared[next(iter(cells.values()))]
        finite = [abs(book.sheet.value(a)) for a in cells.values() if math.isfinite(book.sheet.value(a))]
        shown = number_format(max(finite, default=0.0))
        book.text(sheet, row, 0, label(name).replace(".", " · "))
        book.text(sheet, row, 1, unit, **AT_LEFT)
        book.text(sheet, row, 2, meaning, **NOTE)
        for address in cells.values():
            _write_figure(book, sheet, address, shown)


def _write_figure(book: Book, sheet: Any, address: str, shown: str, **properties: Any) -> None:
    """The cell of a figure in base units: its formula, or the plain number that it is."""
    place, value, formula = book.places[address], book.sheet.value(address), book.formulas.of(address)
    if formula is None and math.isfinite(value):
        book.number(sheet, place.row, place.column, value, shown, **properties)
    else:
        book.formula(sheet, place.row, place.column, formula or "=NA()", value, num_format=shown, **properties)


def write_helpers(book: Book, sheet: Any) -> None:
    """The parts of formulas that have cells of their own."""
    sentence = "Parts of formulas that would be too long in one cell, or that several formulas use."
    columns = (("first used by", 60), ("value", 20))
    book.begin(sheet, HELPERS, sentence, columns, 1)
    for number, helper in enumerate(book.formulas.helpers):
        book.text(sheet, FIRST_ROW + number, 0, helper.used_by)
        book.formula(sheet, FIRST_ROW + number, HELPER, helper.formula, helper.value)
