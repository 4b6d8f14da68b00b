"""The workbook being written: what stands where in it, and how texts and formulas come into cells."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

import xlsxwriter

from ...case.whole_case import Case
from ...present.explain.tree import Explanation, explained
from .formulas import Formulas
from .layout import (
    BASE,
    FIRST_ROW,
    HELPER,
    HELPERS,
    IN_BASE,
    INPUTS,
    RETURNS,
    SERIES_COLUMNS,
    Place,
    by,
    grouped_rows,
    input_rows,
    over_time,
    stage_of,
    title_of,
)
from .names import cell_names
from .rates import COUNT, RATE, rate_cell

RED = {"bg_color": "#F8C9C4", "font_color": "#8B0A00"}
AMBER = {"bg_color": "#FFE2A8", "font_color": "#7A4A00"}
GREEN = {"bg_color": "#CFEBD2", "font_color": "#0C5A1A"}
NOTE = {"font_color": "#5A6773"}
AT_LEFT = {"align": "left", "indent": 1}
LONGEST_TEXT = 32_000  # characters in a cell; Excel takes 32,767


def number_format(value: float) -> str:
    """A number format in which a value of this size has four digits or so.

    >>> number_format(203116.6), number_format(1.19733), number_format(0.0), number_format(7.1e-8)
    ('#,##0', '0.000', '0', '0.000E+00')
    """
    size = abs(value)
    if not math.isfinite(value) or size == 0:
        return "0"
    if size >= 1e12 or size < 1e-4:
        return "0.000E+00"
    decimals = "0" * (3 - math.floor(math.log10(size)))
    return ("#,##0" if size >= 1000 else "0") + ("." + decimals if decimals else "")


class Book:
    """The workbook of a case: `file` is written, by what else stands here.

    `sheet` holds the model as cells, and `explanation` what each figure is. Inputs have their `rows` (and whether people may
    change them); figures are in `series` over time or by `stages`, below `headings`. All have `places`, `names` and `formulas`.
    """

    def __init__(self, case: Case, file: xlsxwriter.Workbook):
        self.case, self.file = case, file
        self.explanation: Explanation = explained(case, solved=True)
        self.sheet = self.explanation.sheet
        self.rows = {address: (row, open_) for address, row, open_ in input_rows(case, self.sheet.inputs)}
        self.places = {address: Place(INPUTS, row, BASE) for address, (row, _) in self.rows.items()}
        self.series = over_time(self.explanation)
        in_series = {address for _, rows in self.series.values() for cells in rows.values() for address in cells.values()}
        self.stages = by(stage_of, (address for address in self.sheet.figures if address not in in_series))
        self.headings: dict[str, list[tuple[str, int]]] = {stage: [] for stage in self.stages}
        for stage, addresses in self.stages.items():
            for group, heading, members in grouped_rows(addresses):
                self.headings[stage].append((group, heading))
                for row, address in enumerate(members, start=heading + 1):
                    self.places[address] = Place(title_of(stage), row, IN_BASE)
        for title, (periods, rows) in self.series.items():
            for row, cells in enumerate(rows.values(), start=FIRST_ROW):
                for period, address in cells.items():
                    self.places[address] = Place(title, row, len(SERIES_COLUMNS) + periods.index(period))
        self.names = cell_names(self.places)
        self.formulas = Formulas(
            self.sheet,
            self.names,
            lambda number: Place(HELPERS, FIRST_ROW + number, HELPER).cell,
            lambda number, what: f"{RETURNS}!{rate_cell(number, FIRST_ROW + (RATE if what == 'irr' else COUNT))}",
        )
        self._formats: dict[tuple, Any] = {}

    def style(self, **properties: Any) -> Any:
        """A cell format, made once."""
        key = tuple(sorted(properties.items()))
        if key not in self._formats:
            self._formats[key] = self.file.add_format({"font_name": "Calibri", "font_size": 10, "valign": "top", **properties})
        return self._formats[key]

    def text(self, sheet: Any, row: int, column: int, text: str, **properties: Any) -> None:
        """Write a text as a text, whatever it begins with."""
        if text:
            sheet.write_string(row, column, text[:LONGEST_TEXT], self.style(**properties))
        else:
            sheet.write_blank(row, column, None, self.style(**properties))

    def number(self, sheet: Any, row: int, column: int, value: float, shown: str = "", **properties: Any) -> None:
        """Write a plain number, in a number format if one is given."""
        sheet.write_number(row, column, value, self.style(**({"num_format": shown} if shown else {}), **properties))

    def formula(self, sheet: Any, row: int, column: int, formula: str, value: Any, **properties: Any) -> None:
        """Write a formula with the value that it has."""
        kept = "#N/A" if isinstance(value, float) and not math.isfinite(value) else value
        sheet.write_formula(row, column, formula, self.style(**properties), kept)

    def begin(self, sheet: Any, title: str, sentence: str, columns: Iterable[tuple[str, int]], frozen: int) -> None:
        """Title, sentence, header and column widths of a sheet of rows."""
        self.text(sheet, 0, 0, title, bold=True, font_size=14)
        self.text(sheet, 1, 0, sentence, **NOTE)
        sheet.set_row(FIRST_ROW - 1, 28)
        for number, (name, width) in enumerate(columns):
            sheet.set_column(number, number, width)
            self.text(sheet, FIRST_ROW - 1, number, name, bold=True, bg_color="#DCE6F0", text_wrap=True, bottom=1)
        sheet.freeze_panes(FIRST_ROW, frozen)
        sheet.repeat_rows(FIRST_ROW - 1)

    def heading(self, sheet: Any, row: int, text: str, columns: int) -> None:
        """A shaded row with a text over so many columns."""
        for column in range(columns):
            self.text(sheet, row, column, text if not column else "", bold=True, bg_color="#EEF2F6")

    def colour_words(self, sheet: Any, cells: str, colours: Mapping[str, Mapping[str, str]]) -> None:
        """Colour the cells that hold one of these words, whenever they do."""
        for word, properties in colours.items():
            rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": self.file.add_format(properties)}
            sheet.conditional_format(cells, rule)
