"""A case as an .xlsx file in which every figure of the model is a live formula."""

from __future__ import annotations

import io
import itertools
import math
from datetime import datetime

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from ... import __version__
from ...case.fingerprint import fingerprint
from ...case.whole_case import Case
from ...core.at_work import at
from ...core.collecting import no_collecting
from .book import Book
from .checks_sheet import write_checks
from .cover_sheet import write_cover
from .figures_sheet import write_figures, write_helpers, write_series
from .inputs_sheet import write_inputs
from .layout import CHECKS, COVER, HELPERS, INPUTS, RETURNS, title_of
from .returns_sheet import write_returns

CREATED = datetime(2000, 1, 1)  # the same for every file, so that the same case gives the same bytes
_PERIODS_ON_A_PAGE = 12


class _Page(Worksheet):
    """A sheet that takes formulas as they are: looking in each for 200 newer functions to mark takes as long as all else."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


def workbook_bytes(case: Case) -> bytes:
    """The workbook of a case as the content of an .xlsx file: the same bytes for the same case.

    >>> from costmodel.case.load import load_case
    >>> workbook_bytes(load_case("costmodel/studies/verification/published_cases/loan"))[:2]
    b'PK'
    """
    content = io.BytesIO()
    file = xlsxwriter.Workbook(content, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    file.set_properties({"title": case.title, "comments": f"costmodel {__version__}, case {fingerprint(case)}", "created": CREATED})
    with no_collecting():
        _write_sheets(Book(case, file))
        file.close()
    return content.getvalue()


def _write_sheets(book: Book) -> None:
    """Write every sheet, and give each cell of an input or figure its name."""
    titles = [COVER, INPUTS]
    for stage in book.stages:
        title = title_of(stage)
        titles += [title, *(name for name in book.series if name.startswith(f"{title} "))]
    titles += [CHECKS, RETURNS, HELPERS]
    sheets = {title: book.file.add_worksheet(title, _Page) for title in titles}
    written = itertools.count(1)
    for address, place in book.places.items():
        if book.file.define_name(book.names[address], f"={place.cell}"):
            raise ValueError(f"'{book.names[address]}' is no name for a cell")
    write_inputs(book, sheets[INPUTS])
    for stage in book.stages:
        at("sheets", next(written), len(titles))
        write_figures(book, sheets[title_of(stage)], stage)
    for title in book.series:
        at("sheets", next(written), len(titles))
        write_series(book, sheets[title], title)
    left = write_returns(book, sheets[RETURNS])
    write_helpers(book, sheets[HELPERS])
    verdicts = write_checks(book, sheets[CHECKS], left)
    write_cover(book, sheets[COVER], verdicts)
    for title, sheet in sheets.items():
        sheet.protect("", {"autofilter": True, "format_columns": True, "format_rows": True})
        if title == COVER:
            sheet.set_portrait()
        else:
            sheet.set_landscape()
        sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
        sheet.set_paper(9)
        wide = {name: math.ceil(len(periods) / _PERIODS_ON_A_PAGE) for name, (periods, _) in book.series.items()}
        sheet.fit_to_pages({RETURNS: max(1, len(book.formulas.flows)), **wide}.get(title, 1), 0)
        sheet.set_footer(f"&L{book.case.title.replace('&', '&&')[:120]}&C{title}&Rpage &P of &N")
        sheet.hide_gridlines(2)
