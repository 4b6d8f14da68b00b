"""A case as an .xlsx file in which every figure of the model is a live formula."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import xlsxwriter
from xlsxwriter.utility import quote_sheetname, xl_range_abs, xl_rowcol_to_cell

from .. import __version__
from ..case.addresses import input_at
from ..case.fingerprint import fingerprint
from ..case.records import Case
from ..case.values import allowed_range
from ..explain.tree import Explanation, explained
from ..fields import Number
from ..report.numbers import label
from ..report.sentences import headline, not_in_it
from ..report.texts import CAUTIONS
from ..units import to_base
from .formulas import Formulas
from .names import cell_names
from .rates import BLOCK, COUNT, LEFT, RATE, RateSheet, rate_cell

COVER, INPUTS, CHECKS, HELPERS, RETURNS = "Cover", "Inputs", "Checks", "Helpers", "Returns"
FIRST_ROW = 4  # rows above hold title, a sentence and the header; counted from 0
VALUE, FACTOR, BASE, WRITTEN = 2, 10, 11, 12  # columns of the inputs
SHOWN, IN_BASE = 1, 3  # columns of the figures
HELPER = 1
TOLERANCE = 1e-9
_LONGEST_TEXT = 32_000  # characters in a cell; Excel takes 32,767
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
)  # those that a case has
CREATED = datetime(2000, 1, 1)  # the same for every file, so that the same case gives the same bytes

_INPUT_COLUMNS = (
    ("address", 44),
    ("input", 54),
    ("value", 14),
    ("unit", 15),
    ("allowed", 26),
    ("note", 13),
    ("kind", 10),
    ("source", 38),
    ("date", 11),
    ("by", 12),
    ("factor to base unit", 13),
    ("value in base unit", 15),
    ("value as written", 14),
    ("meaning", 70),
)
_ROOT_LEFT = re.compile(r"solved\.\w+\.project\.npv")
_PERIOD = re.compile(r"([a-z])[0-9]{2,}")  # a part of an address that counts quarters or years
_LEAST_PERIODS = 4  # so many make a table over time
_PERIODS_ON_A_PAGE = 12
_SERIES_COLUMNS = (("figure", 46), ("unit", 14), ("meaning", 60))
_FIGURE_COLUMNS = (("figure", 46), ("value", 16), ("unit", 20), ("in base units (formula)", 20), ("meaning", 70), ("address", 60))
_HOW_TO = (
    "Change yellow cells on the sheet Inputs, in the unit beside them; every figure follows. Cells say what is allowed.",
    "All other cells are protected without a password, so that no formula is lost by a slip of the hand. To fold groups of rows, "
    "or to look around freely, unprotect the sheet.",
    "Every figure has a name, its address: type line.output.good_modules into the name box to go there. Formulas are in names.",
    "Each figure stands in base units (s, m, kg, J, W, plate, the reporting currency) where its formula is, and beside it in the "
    "unit that people read.",
    "What the numbers are, but not which steps, tools, currencies or choices there are, can be changed here; for these change the "
    "tables of the case and write the workbook anew.",
    "-INT(-ROUND(x,9)) is x rounded up to a whole number after rounding to 9 decimals, so that 3.0000000001 tools are 3.",
    "Roots that were found outside of the model stay as they are when inputs change. The sheet Solved has them, with the net "
    "present value that is left there: nothing, as long as a root holds.",
    "The sheet Checks must be all green. Rules between inputs, as one load size on a carrier, are only looked at when the workbook "
    "is read back: costmodel workbook CASE --read FILE.xlsx",
)


def workbook_bytes(case: Case) -> bytes:
    """The workbook of a case as the content of an .xlsx file: the same bytes for the same case.

    >>> from costmodel.case.load import load_case
    >>> workbook_bytes(load_case("inputs_demo/facade"))[:2]
    b'PK'
    """
    content = io.BytesIO()
    book = xlsxwriter.Workbook(content, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": case.title, "comments": f"costmodel {__version__}, case {fingerprint(case)}", "created": CREATED})
    _Writer(case, book).write()
    book.close()
    return content.getvalue()


def input_rows(case: Case, addresses: Iterable[str]) -> Iterator[tuple[str, int, bool]]:
    """Where the inputs stand: address, row counted from 0, and whether it is one that people may change.

    A heading stands above each table; conventions of the model are no inputs of people.
    """
    row, table = FIRST_ROW, ""
    for address in addresses:
        if address.split(".")[0] != table:
            table = address.split(".")[0]
            row += 1
        yield address, row, table != "constants"
        row += 1


def stated(value: float, factor: float) -> float:
    """The number that gives `value` when multiplied by `factor`, to the last bit where there is one, and short where it can be.

    >>> stated(99.35 * 0.01, 0.01), stated(720.0, 60.0)
    (99.35, 12.0)
    """
    ratio = value / factor
    tries = [float(f"{ratio:.{digits}g}") for digits in (9, 12, 15)] + [ratio]
    tries += [math.nextafter(ratio, math.inf), math.nextafter(ratio, -math.inf)]
    return next((tried for tried in tries if tried * factor == value), ratio)


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
    decimals = max(0, 3 - math.floor(math.log10(size)))
    return (
        "#,##0" + ("." + "0" * decimals if decimals else "") if size >= 1000 else "0" + ("." + "0" * decimals if decimals else "")
    )


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a named cell stands."""

    sheet: str
    row: int
    column: int

    @property
    def cell(self) -> str:
        return f"{quote_sheetname(self.sheet)}!{xl_rowcol_to_cell(self.row, self.column, row_abs=True, col_abs=True)}"


class _Writer:
    """Lays out the sheets of one case."""

    def __init__(self, case: Case, book: xlsxwriter.Workbook):
        self.case, self.book = case, book
        self.explanation: Explanation = explained(case, solved=True)
        self.sheet = self.explanation.sheet
        self.rows = {address: (row, open_) for address, row, open_ in input_rows(case, self.sheet.inputs)}
        self.series = self._over_time()
        in_series = {address for _, rows in self.series.values() for cells in rows.values() for address in cells.values()}
        self.stages = _by(_stage, (address for address in self.sheet.figures if address not in in_series))
        self.places = {address: _Place(INPUTS, row, BASE) for address, (row, _) in self.rows.items()}
        self.headings: dict[str, list[tuple[str, int]]] = {}
        for stage, addresses in self.stages.items():
            self._place_figures(stage, addresses)
        for title, (periods, rows) in self.series.items():
            for row, cells in enumerate(rows.values(), start=FIRST_ROW):
                for period, address in cells.items():
                    self.places[address] = _Place(title, row, len(_SERIES_COLUMNS) + periods.index(period))
        self.names = cell_names(self.places)
        self.formulas = Formulas(
            self.sheet,
            self.names,
            lambda number: _Place(HELPERS, FIRST_ROW + number, HELPER).cell,
            lambda number, what: f"{RETURNS}!{rate_cell(number, FIRST_ROW + (RATE if what == 'irr' else COUNT))}",
        )
        self.used = self.explanation.below(*self.sheet.figures)
        self.left_at_rate: list[float] = []
        self.formats: dict[tuple, Any] = {}

    def _over_time(self) -> dict[str, tuple[list[str], dict[str, dict[str, str]]]]:
        """Tables over time by the title of their sheet: the periods, and the addresses of each figure by period.

        Such are figures of one part of the model whose addresses differ only in the number of a quarter or year.
        """
        found: dict[str, dict[str, dict[str, str]]] = {}
        for address in self.sheet.figures:
            parts = address.split(".")
            at = next((k for k, part in enumerate(parts) if _PERIOD.fullmatch(part)), 0)
            if at > 1 and to_base(self.explanation.declared[address][0]) == 1:
                by_year = parts[at][0] == "y" and parts[1] != "years"
                title = label(f"{parts[0]} {parts[1]}").capitalize() + (" by year" if by_year else "")
                rest = ".".join((*parts[2:at], *parts[at + 1 :])) or parts[1]
                found.setdefault(title[:31], {}).setdefault(rest, {})[parts[at]] = address
        tables = {}
        for title, rows in found.items():
            periods = list(dict.fromkeys(period for cells in rows.values() for period in cells))
            if len(periods) >= _LEAST_PERIODS:
                tables[title] = (periods, rows)
        return tables

    def _place_figures(self, stage: str, addresses: list[str]) -> None:
        """Give each figure of a stage its row, below a heading for each part of the stage."""
        row = FIRST_ROW
        self.headings[stage] = []
        for group, members in _by(_group, addresses).items():
            self.headings[stage].append((group, row))
            for number, address in enumerate(members, start=1):
                self.places[address] = _Place(label(stage).capitalize(), row + number, IN_BASE)
            row += len(members) + 1

    def write(self) -> None:
        """Write every sheet."""
        titles = [COVER, INPUTS]
        for stage in self.stages:
            title = label(stage).capitalize()
            titles += [title, *(name for name in self.series if name.startswith(f"{title} "))]
        titles += [CHECKS, RETURNS, HELPERS]
        sheets = {title: self.book.add_worksheet(title) for title in titles}
        for address, place in self.places.items():
            if self.book.define_name(self.names[address], f"={place.cell}"):
                raise ValueError(f"'{self.names[address]}' is no name for a cell")
        self._write_inputs(sheets[INPUTS])
        for stage in self.stages:
            self._write_figures(sheets[label(stage).capitalize()], stage)
        for title in self.series:
            self._write_series(sheets[title], title)
        self._write_returns(sheets[RETURNS])
        self._write_helpers(sheets[HELPERS])
        verdicts = self._write_checks(sheets[CHECKS])
        self._write_cover(sheets[COVER], verdicts)
        for title, sheet in sheets.items():
            sheet.protect("", {"autofilter": True, "format_columns": True, "format_rows": True})
            sheet.set_landscape()
            sheet.set_paper(9)
            wide = {name: math.ceil(len(periods) / _PERIODS_ON_A_PAGE) for name, (periods, _) in self.series.items()}
            sheet.fit_to_pages({RETURNS: max(1, len(self.formulas.flows)), **wide}.get(title, 1), 0)
            sheet.set_footer(f"&L{self.case.title.replace('&', '&&')[:120]}&C{title}&Rpage &P of &N")
            sheet.hide_gridlines(2)

    def _style(self, **properties: Any) -> Any:
        """A cell format, made once."""
        key = tuple(sorted(properties.items()))
        if key not in self.formats:
            self.formats[key] = self.book.add_format({"font_name": "Calibri", "font_size": 10, "valign": "top", **properties})
        return self.formats[key]

    def _text(self, sheet: Any, row: int, column: int, text: str, **properties: Any) -> None:
        """Write a text as a text, whatever it begins with."""
        if text:
            sheet.write_string(row, column, text[:_LONGEST_TEXT], self._style(**properties))
        else:
            sheet.write_blank(row, column, None, self._style(**properties))

    def _formula(self, sheet: Any, row: int, column: int, formula: str, value: Any, **properties: Any) -> None:
        """Write a formula with the value that it has."""
        kept = "#N/A" if isinstance(value, float) and not math.isfinite(value) else value
        sheet.write_formula(row, column, formula, self._style(**properties), kept)

    def _begin(self, sheet: Any, title: str, sentence: str, columns: Iterable[tuple[str, int]], frozen: int) -> None:
        """Title, sentence, header and column widths of a sheet of rows."""
        self._text(sheet, 0, 0, title, bold=True, font_size=14)
        self._text(sheet, 1, 0, sentence, font_color="#5A6773")
        sheet.set_row(FIRST_ROW - 1, 28)
        for number, (name, width) in enumerate(columns):
            sheet.set_column(number, number, width)
            self._text(sheet, FIRST_ROW - 1, number, name, bold=True, bg_color="#DCE6F0", text_wrap=True, bottom=1)
        sheet.freeze_panes(FIRST_ROW, frozen)
        sheet.repeat_rows(FIRST_ROW - 1)

    def _heading(self, sheet: Any, row: int, text: str, columns: int) -> None:
        for column in range(columns):
            self._text(sheet, row, column, text if not column else "", bold=True, bg_color="#EEF2F6")

    def _write_inputs(self, sheet: Any) -> None:
        sentence = "Yellow cells may be changed, in the unit beside them. The column `value in base unit` is what formulas use."
        self._begin(sheet, "Inputs", sentence, _INPUT_COLUMNS, VALUE + 1)
        sheet.outline_settings(symbols_below=False)
        table = ""
        for address, (row, is_open) in self.rows.items():
            if address.split(".")[0] != table:
                table = address.split(".")[0]
                self._heading(sheet, row - 1, "conventions of the model" if not is_open else label(table), len(_INPUT_COLUMNS))
            sheet.set_row(row, None, None, {"level": 1})
            self._write_input(sheet, row, address, is_open)
        last = max(row for row, _ in self.rows.values())
        sheet.autofilter(FIRST_ROW - 1, 0, last, len(_INPUT_COLUMNS) - 1)
        note = f"F{FIRST_ROW + 1}:F{last + 1}"
        for word, colours in (("out of range", _RED), ("no number", _RED), ("changed", _AMBER)):
            rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": self.book.add_format(colours)}
            sheet.conditional_format(note, rule)

    def _write_input(self, sheet: Any, row: int, address: str, is_open: bool) -> None:
        unit, meaning = self.explanation.declared[address]
        base, factor = self.sheet.value(address), to_base(unit)
        value = stated(base, factor)
        node = self.explanation.tree(address)
        title = f"{node.title}: {label(address.split('.')[-1])}"
        self._text(sheet, row, 0, address)
        self._text(sheet, row, 1, title)
        fill = {"bg_color": "#FFF6CC", "font_color": "#0B3D91", "locked": False, "border": 1, "border_color": "#D9C77A"}
        shown = "General" if abs(value) < 1000 or value % 1 else "#,##0"
        sheet.write_number(row, VALUE, value, self._style(num_format=shown, **(fill if is_open else {})))
        self._text(sheet, row, 3, unit, align="left", indent=1)
        cell = xl_rowcol_to_cell(row, VALUE)
        if is_open:
            declaration = input_at(self.case, address)[0]
            allowed = allowed_range(declaration, unit)
            self._text(sheet, row, 4, allowed)
            sheet.data_validation(row, VALUE, row, VALUE, _validation(declaration, factor, allowed, cell))
            outside = " ".join(_outside(declaration, factor, cell))
            note = f'IF({cell}<>{xl_rowcol_to_cell(row, WRITTEN)},"changed","")'
            note = f'IF(OR({outside.replace(" ", ",")}),"out of range",{note})' if outside else note
            self._formula(sheet, row, 5, f'=IF(NOT(ISNUMBER({cell})),"no number",{note})', "", bold=True)
        else:
            self._text(sheet, row, 4, "stays as it is")
        evidence = node.evidence
        for column, name in enumerate(("kind", "source", "date", "by"), start=6):
            self._text(sheet, row, column, getattr(evidence, name) if evidence else "")
        sheet.write_number(row, FACTOR, factor, self._style(font_color="#5A6773"))
        product = f"=IF(ISNUMBER({cell}),{cell}*{xl_rowcol_to_cell(row, FACTOR)},NA())"
        self._formula(sheet, row, BASE, product, base, font_color="#5A6773")
        sheet.write_number(row, WRITTEN, value, self._style(font_color="#5A6773"))
        unused = "" if address in self.used else " (no figure of this case uses it)"
        self._text(sheet, row, 13, meaning + unused, align="left", indent=1)

    def _write_figures(self, sheet: Any, stage: str) -> None:
        sentence = "Every figure as a formula in the names of inputs and other figures, and beside it in the unit that people read."
        self._begin(sheet, label(stage).capitalize(), sentence, _FIGURE_COLUMNS, SHOWN)
        sheet.outline_settings(symbols_below=False)
        headings = dict(self.headings[stage])
        for group, row in headings.items():
            self._heading(sheet, row, group, len(_FIGURE_COLUMNS))
        last = 0
        for address in self.stages[stage]:
            row = last = self.places[address].row
            group = _group(address)
            sheet.set_row(row, None, None, {"level": 1})
            unit, meaning = self.explanation.declared[address]
            value, factor = self.sheet.value(address), to_base(unit)
            self._text(sheet, row, 0, label(address.removeprefix(f"{group}.").replace(".", " · ")))
            shown = f"={xl_rowcol_to_cell(row, IN_BASE)}" + ("" if factor == 1 else f"/{factor!r}".upper())
            self._formula(sheet, row, SHOWN, shown, value / factor, num_format=number_format(value / factor), bold=True)
            self._text(sheet, row, 2, unit, align="left", indent=1)
            self.chart_of_family(sheet, address, "General", font_color="#5A6773")
            self._text(sheet, row, 4, meaning, align="left", indent=1)
            self._text(sheet, row, 5, address, font_color="#5A6773")
        sheet.autofilter(FIRST_ROW - 1, 0, last, len(_FIGURE_COLUMNS) - 1)

    def chart_of_family(self, sheet: Any, address: str, shown: str, **properties: Any) -> None:
        """The cell of a figure in base units: its formula, or the plain number that it is."""
        place, value, formula = self.places[address], self.sheet.value(address), self.formulas.of(address)
        if formula is None and math.isfinite(value):
            sheet.write_number(place.row, place.column, value, self._style(num_format=shown, **properties))
        else:
            self._formula(sheet, place.row, place.column, formula or "=NA()", value, num_format=shown, **properties)

    def _write_series(self, sheet: Any, title: str) -> None:
        """A table over time: a row for each figure, a column for each quarter or year."""
        periods, rows = self.series[title]
        sentence = "Every cell is a figure with its formula, in base units; its name is its address."
        columns = (*_SERIES_COLUMNS, *((period, 13) for period in periods))
        self._begin(sheet, title, sentence, columns, 1)
        sheet.repeat_columns(0)
        for column, period in enumerate(periods, start=len(_SERIES_COLUMNS)):
            self._text(sheet, FIRST_ROW - 1, column, period, bold=True, bg_color="#DCE6F0", bottom=1, align="right")
        if periods[0].startswith("q"):
            for column, period in enumerate(periods, start=len(_SERIES_COLUMNS)):
                number = int(period[1:]) - 1
                self._text(sheet, FIRST_ROW - 2, column, "" if number % 4 else f"year {number // 4 + 1}", bold=True, align="right")
        for row, (name, cells) in enumerate(rows.items(), start=FIRST_ROW):
            unit, meaning = self.explanation.declared[next(iter(cells.values()))]
            finite = [abs(self.sheet.value(a)) for a in cells.values() if math.isfinite(self.sheet.value(a))]
            shown = number_format(max(finite, default=0.0))
            self._text(sheet, row, 0, label(name).replace(".", " · "))
            self._text(sheet, row, 1, unit, align="left", indent=1)
            self._text(sheet, row, 2, meaning, font_color="#5A6773")
            for address in cells.values():
                self.chart_of_family(sheet, address, shown)

    def _write_returns(self, sheet: Any) -> None:
        """How each internal rate of return is found."""
        flows = self.formulas.flows
        rates = RateSheet(FIRST_ROW, max((len(each.values) for each in flows), default=0))
        sentence = "Internal rates of return, found by halving, as IRR of spreadsheets does not tell none, one and several apart."
        columns = [(each.used_by if not k else "", 20) for each in flows for k in range(BLOCK)]
        self._begin(sheet, RETURNS, sentence, [("", 52), *columns], 1)
        sheet.print_area(0, 0, rates.grid - 2, BLOCK * len(flows))  # the grid is for the machine
        for row, told in rates.labels() if flows else ():
            if isinstance(told, str):
                self._text(sheet, row, 0, told, bold=row < rates.flows - 1)
            else:
                sheet.write_number(row, 0, told, self._style(font_color="#5A6773"))
        for number, each in enumerate(flows):
            for row, column, formula, value in rates.written(number, each.formulas, each.values):
                self._formula(sheet, row, column, formula, value, num_format=number_format(value))
                if row == FIRST_ROW + LEFT:
                    self.left_at_rate.append(value)

    def _write_helpers(self, sheet: Any) -> None:
        sentence = "Parts of formulas that would be too long in one cell, or that several formulas use."
        columns = (("first used by", 60), ("value", 20))
        self._begin(sheet, HELPERS, sentence, columns, 1)
        for number, helper in enumerate(self.formulas.helpers):
            self._text(sheet, FIRST_ROW + number, 0, helper.used_by)
            self._formula(sheet, FIRST_ROW + number, HELPER, helper.formula, helper.value)

    def _write_checks(self, sheet: Any) -> str:
        """The sheet of checks; returns the cell that says whether all agree."""
        columns = (("check", 46), ("difference", 16), ("unit", 14), ("measured against", 18), ("verdict", 14), ("meaning", 110))
        sentence = "Differences that must be zero: totals reached by two roads, masses that close, inputs within their range."
        self._begin(sheet, CHECKS, sentence, columns, 1)
        row = FIRST_ROW
        for address in (a for a in self.sheet.figures if "checks" in a.split(".")[:-1]):
            unit, meaning = self.explanation.declared[address]
            against = self._measured_against(address)
            self._text(sheet, row, 0, address)
            self._formula(sheet, row, 1, f"={self.names[address]}", self.sheet.value(address), num_format="0.00E+00")
            self._text(sheet, row, 2, unit, align="left", indent=1)
            formula = f"=ABS({self.names[against]})" if against else "=1"
            scale = abs(self.sheet.value(against)) if against else 1
            self._formula(sheet, row, 3, formula, scale, num_format=number_format(scale))
            self._verdict(sheet, row, f"ABS(B{row + 1})<={TOLERANCE!r}*D{row + 1}".upper())
            self._text(sheet, row, 5, f"{meaning}; agrees to a part in 10^9 of {against or 'one'}", align="left", indent=1)
            row += 1
        for title, (_, rows) in self.series.items():
            for cells in rows.values():
                unit, meaning = self.explanation.declared[next(iter(cells.values()))]
                if meaning.startswith("check"):
                    self._series_check(sheet, row, title, list(cells.values()), unit, meaning)
                    row += 1
        for number, each in enumerate(self.formulas.flows):
            left = f"={RETURNS}!{rate_cell(number, FIRST_ROW + LEFT)}"
            self._text(sheet, row, 0, f"value left at the rate of {each.used_by}")
            self._formula(sheet, row, 1, left, self.left_at_rate[number], num_format="0.00E+00")
            self._text(sheet, row, 2, "1", align="left", indent=1)
            sheet.write_number(row, 3, 1, self._style(num_format="0.000"))
            self._verdict(sheet, row, f"ABS(B{row + 1})<={TOLERANCE!r}".upper())
            told = "present value of the flows at their internal rate of return, over the sum of their sizes; 0 without a rate"
            self._text(sheet, row, 5, told, align="left", indent=1)
            row += 1
        counts = [("inputs out of range", f'=COUNTIF({INPUTS}!F:F,"out of range")', "inputs outside of what is allowed")]
        counts += [("inputs that are no number", f'=COUNTIF({INPUTS}!F:F,"no number")', "a missing value is an error, never zero")]
        for stage in dict.fromkeys(address.split(".")[0] for address in self.sheet.figures):
            counts.append(self._without_a_value(stage))
        for name, formula, meaning in counts:
            self._text(sheet, row, 0, name)
            self._formula(sheet, row, 1, formula, 0, num_format="0")
            self._text(sheet, row, 2, "1", align="left", indent=1)
            self._text(sheet, row, 3, "")
            self._verdict(sheet, row, f"B{row + 1}=0")
            self._text(sheet, row, 5, meaning, align="left", indent=1)
            row += 1
        verdicts = f"E{FIRST_ROW + 1}:E{row}"
        for word, colours in (("agrees", _GREEN), ("DISAGREES", _RED)):
            rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": self.book.add_format(colours)}
            sheet.conditional_format(verdicts, rule)
        return f"{CHECKS}!$E${FIRST_ROW + 1}:$E${row}"

    def _series_check(self, sheet: Any, row: int, title: str, addresses: list[str], unit: str, meaning: str) -> None:
        """The largest difference of a row of a table over time, against the largest figure that it is a difference of."""
        places, values = [self.places[address] for address in addresses], [self.sheet.value(address) for address in addresses]
        cells = xl_range_abs(places[0].row, places[0].column, places[-1].row, places[-1].column)
        area = f"{quote_sheetname(title)}!{cells}"
        against = max(filter(None, map(self._measured_against, addresses)), key=lambda name: abs(self.sheet.value(name)))
        scale = abs(self.sheet.value(against))
        self._text(sheet, row, 0, f"{addresses[0]} and all after it")
        self._formula(sheet, row, 1, f"=MAX(MAX({area}),-MIN({area}))", max(map(abs, values)), num_format="0.00E+00")
        self._text(sheet, row, 2, unit, align="left", indent=1)
        self._formula(sheet, row, 3, f"=ABS({self.names[against]})", scale, num_format=number_format(scale))
        self._verdict(sheet, row, f"ABS(B{row + 1})<={TOLERANCE!r}*D{row + 1}".upper())
        self._text(sheet, row, 5, f"{meaning}; the largest agrees to a part in 10^9 of {against}", align="left", indent=1)

    def _without_a_value(self, stage: str) -> tuple[str, str, str]:
        """The count of figures of a stage that have no value: its name, formula and meaning.

        Not counted is what had none when the workbook was written, and a rate of return where there is none or several.
        """
        addresses = [address for address in self.sheet.figures if address.split(".")[0] == stage]
        areas: dict[str, list[_Place]] = {}
        for address in addresses:
            areas.setdefault(self.places[address].sheet, []).append(self.places[address])
        parts = []
        for title, places in areas.items():
            rows, columns = [place.row for place in places], [place.column for place in places]
            cells = xl_range_abs(min(rows), min(columns), max(rows), max(columns))
            parts.append(f"SUMPRODUCT(1*ISERROR({quote_sheetname(title)}!{cells}))")
        rates = [number for address, number in self.formulas.rates.items() if address in addresses]
        parts += [f"-({RETURNS}!{rate_cell(number, FIRST_ROW + COUNT)}<>1)" for number in rates]
        broken = sum(not math.isfinite(self.sheet.value(a)) for a in addresses if a not in self.formulas.rates)
        meaning = f"{broken} had none when the workbook was written"
        meaning += "; rates of return that do not exist are not counted" if rates else ""
        return f"figures without a value: {label(stage)}", f"={'+'.join(parts)}-{broken}".replace("+-", "-"), meaning

    def _verdict(self, sheet: Any, row: int, condition: str) -> None:
        self._formula(
            sheet, row, 4, f'=IF(ISERROR(B{row + 1}),"DISAGREES",IF({condition},"agrees","DISAGREES"))', "agrees", bold=True
        )

    def _measured_against(self, address: str) -> str:
        """The largest figure of the same unit that a check is a difference of; nothing where there is none."""
        unit = self.explanation.declared[address][0]
        needs = [name for name in self.explanation.needs(address) if self.explanation.declared[name][0] == unit]
        return max(needs, key=lambda name: abs(self.sheet.value(name)), default="")

    def _write_cover(self, sheet: Any, verdicts: str) -> None:
        case = self.case
        for column, width in enumerate((2, 46, 18, 20, 46)):
            sheet.set_column(column, column, width)
        self._text(sheet, 1, 1, case.title, bold=True, font_size=18)
        sheet.set_row(1, 28)
        row = 2
        for paragraph in case.story.strip().split("\n\n"):
            row = self._paragraph(sheet, row, " ".join(paragraph.split()))
        row = self._paragraph(sheet, row, f"As written: {headline(case, self.explanation.results)} {not_in_it(case)}") + 1
        use = [f"{label(group)}: {title}" for group, title in case.use.items()]
        for word, text in (
            ("case", f"{case.name}, fingerprint {fingerprint(case)}"),
            ("written by", f"costmodel {__version__}"),
            *zip(("structure", *[""] * len(use)), (f"mode: {case.target.mode}", *use)),
        ):
            self._text(sheet, row, 1, word, font_color="#5A6773")
            self._text(sheet, row, 2, text)
            row += 1
        self._text(sheet, row, 1, "checks", font_color="#5A6773")
        state = f'=IF(COUNTIF({verdicts},"agrees")=ROWS({verdicts}),"all agree","SOME DISAGREE: see Checks")'
        self._formula(sheet, row, 2, state, "all agree", bold=True)
        for word, colours in (("all agree", _GREEN), ("SOME DISAGREE: see Checks", _RED)):
            rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": self.book.add_format(colours)}
            sheet.conditional_format(row, 2, row, 2, rule)
        self._text(sheet, row + 1, 1, "inputs changed since", font_color="#5A6773")
        self._formula(sheet, row + 1, 2, f'=COUNTIF({INPUTS}!F:F,"changed")', 0, align="left", bold=True)
        row = self._roots_hold(sheet, row + 2)
        row = self._headlines(sheet, row + 1)
        row = self._split(sheet, row + 1)
        row = self._list(sheet, row + 1, "How to use it", _HOW_TO)
        row = self._list(sheet, row + 1, "Cautions", CAUTIONS)
        self._contents(sheet, row + 1)

    def _roots_hold(self, sheet: Any, row: int) -> int:
        """Whether the solved roots are roots still; returns the next row."""
        left = [address for address in self.sheet.figures if _ROOT_LEFT.fullmatch(address)]
        if left:
            allowed = f"{TOLERANCE!r}*ABS({self.names['plan.capital']})".upper()
            none_off = "+".join(f"(ABS({self.names[address]})>{allowed})" for address in left)
            self._text(sheet, row, 1, "roots on the sheet Solved", font_color="#5A6773")
            state = f'=IF({none_off}=0,"hold","no longer hold: inputs were changed")'
            self._formula(sheet, row, 2, state, "hold", bold=True)
        return row + 1

    def _headlines(self, sheet: Any, row: int) -> int:
        for column, text in enumerate(("headline figures", "now", "unit", "what it is"), start=1):
            self._text(sheet, row, column, text, bold=True, bg_color="#DCE6F0", bottom=1)
        found = [address for address in HEADLINES if address in self.sheet.figures]
        for number, address in enumerate(found, start=row + 1):
            unit, meaning = self.explanation.declared[address]
            place, value = self.places[address], self.sheet.value(address) / to_base(unit)
            self._text(sheet, number, 1, label(address.split(".", 1)[1]).replace(".", " · "))
            shown = f"={quote_sheetname(place.sheet)}!{xl_rowcol_to_cell(place.row, SHOWN)}"
            self._formula(sheet, number, 2, shown, value, num_format=number_format(value), bold=True)
            self._text(sheet, number, 3, unit, align="left", indent=1)
            self._text(sheet, number, 4, meaning, text_wrap=True, font_color="#5A6773")
            if len(meaning) > 45:
                sheet.set_row(number, 28)
        return row + 1 + len(found)

    def _split(self, sheet: Any, row: int) -> int:
        """What a stabilised watt costs by kind, with a chart that follows."""
        end = ".cost_per_stabilised_watt"
        parts = [a for a in self.sheet.figures if a.startswith("ledger.by_category.") and a.endswith(end)]
        unit = self.explanation.declared[parts[0]][0]
        for column, text in enumerate(("cost by kind", "now", "unit", ""), start=1):
            self._text(sheet, row, column, text, bold=True, bg_color="#DCE6F0", bottom=1)
        for number, address in enumerate(parts, start=row + 1):
            value = self.sheet.value(address)
            self._text(sheet, number, 1, label(address.split(".")[2]))
            self._formula(sheet, number, 2, f"={self.names[address]}", value, num_format="0.0000")
            self._text(sheet, number, 3, unit, align="left", indent=1)
        last = row + len(parts)
        chart = self.book.add_chart({"type": "bar"})
        chart.add_series(
            {
                "name": f"cost by kind [{unit}]",
                "categories": [COVER, row + 1, 1, last, 1],
                "values": [COVER, row + 1, 2, last, 2],
                "fill": {"color": "#2F6DB5"},
                "gap": 40,
            }
        )
        chart.set_legend({"none": True})
        chart.set_title({"name": f"Cost by kind [{unit}]", "name_font": {"size": 10}, "overlay": False})
        chart.set_y_axis({"reverse": True, "num_font": {"size": 8}})
        lines = {"visible": True, "line": {"color": "#DDDDDD"}}
        chart.set_x_axis({"num_font": {"size": 8}, "num_format": "0.00", "major_gridlines": lines})
        chart.set_size({"width": 330, "height": 20 * (len(parts) + 2)})
        sheet.insert_chart(row, 4, chart)
        return last + 3

    def _paragraph(self, sheet: Any, row: int, text: str) -> int:
        """A text over the width of the cover, high enough for it; returns the next row."""
        style = self._style(text_wrap=True)
        sheet.merge_range(row, 1, row, 4, "", style)
        sheet.write_string(row, 1, text[:_LONGEST_TEXT], style)
        sheet.set_row(row, min(400, 14 * math.ceil(len(text) / 125) + 2))
        return row + 1

    def _list(self, sheet: Any, row: int, title: str, texts: Iterable[str]) -> int:
        self._text(sheet, row, 1, title, bold=True, font_size=12)
        row += 1
        for text in texts:
            row = self._paragraph(sheet, row, text)
        return row

    def _contents(self, sheet: Any, row: int) -> None:
        self._text(sheet, row, 1, "Contents", bold=True, font_size=12)
        places = [("inputs", INPUTS, FIRST_ROW - 1)]
        places += [(group, label(stage).capitalize(), at) for stage, found in self.headings.items() for group, at in found]
        places += [(f"{title[0].lower()}{title[1:]}", title, FIRST_ROW - 1) for title in self.series]
        places += [("internal rates of return", RETURNS, FIRST_ROW - 1)] if self.formulas.flows else []
        places += [("checks", CHECKS, FIRST_ROW - 1), ("parts of long formulas", HELPERS, FIRST_ROW - 1)]
        style = self._style(font_color="#0B4F9E", underline=1)
        for number, (text, title, at) in enumerate(places, start=row + 1):
            sheet.write_url(number, 1, f"internal:'{title}'!A{at + 1}", style, text)


_RED = {"bg_color": "#F8C9C4", "font_color": "#8B0A00"}
_AMBER = {"bg_color": "#FFE2A8", "font_color": "#7A4A00"}
_GREEN = {"bg_color": "#CFEBD2", "font_color": "#0C5A1A"}


def _stage(address: str) -> str:
    return address.split(".")[0]


def _group(address: str) -> str:
    """The part of a stage that a figure stands under: the first two parts of its address, or the stage itself."""
    return ".".join(address.split(".")[: 2 if address.count(".") > 1 else 1])


def _by(part: Callable[[str], str], addresses: Iterable[str]) -> Mapping[str, list[str]]:
    """Addresses by a part of them, in the order in which these parts come."""
    found: dict[str, list[str]] = {}
    for address in addresses:
        found.setdefault(part(address), []).append(address)
    return found


def _bounds(declaration: Number, factor: float) -> Iterator[tuple[str, str]]:
    """What a value must hold, in the unit of the table: a sign and a number."""
    if declaration.above is not None:
        yield ">", f"{declaration.above / factor:.12G}"
    elif declaration.low is not None:
        yield ">=", f"{declaration.low / factor:.12G}"
    if declaration.high is not None:
        yield "<=", f"{declaration.high / factor:.12G}"


def _outside(declaration: Number, factor: float, cell: str) -> list[str]:
    """What must not hold of the value in a cell."""
    opposite = {">": "<=", ">=": "<", "<=": ">"}
    return [f"{cell}{opposite[sign]}{bound}" for sign, bound in _bounds(declaration, factor)]


def _validation(declaration: Number, factor: float, allowed: str, cell: str) -> dict[str, Any]:
    """The rule by which a spreadsheet refuses what the case would refuse, with the message that says so."""
    inside = "".join(f",{cell}{sign}{bound}" for sign, bound in _bounds(declaration, factor))
    return {
        "validate": "custom",
        "value": f"=AND(ISNUMBER({cell}){inside})",
        "ignore_blank": False,
        "input_title": "Allowed",
        "input_message": allowed[:255],
        "error_title": "Not allowed",
        "error_message": f"Allowed: {allowed}"[:255],
    }
