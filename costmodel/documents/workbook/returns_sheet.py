"""The sheet Returns: how each internal rate of return is found."""

from __future__ import annotations

from typing import Any

from .book import NOTE, Book, number_format
from .layout import FIRST_ROW, RETURNS
from .rates import BLOCK, LEFT, RateSheet


def write_returns(book: Book, sheet: Any) -> list[float]:
    """How each internal rate of return is found; returns what value is left at each."""
    flows = book.formulas.flows
    left: list[float] = []
    rates = RateSheet(FIRST_ROW, max((len(each.values) for each in flows), default=0))
    sentence = "Internal rates of return, found by halving, as IRR of spreadsheets does not distinguish none, one and several."
    columns = [(each.used_by if not k else "", 20) for each in flows for k in range(BLOCK)]
    book.begin(sheet, RETURNS, sentence, [("", 52), *columns], 1)
    sheet.print_area(0, 0, rates.grid - 2, BLOCK * len(flows))  # the grid is for the machine
    for row, shown in rates.labels() if flows else ():
        if isinstance(shown, str):
            book.text(sheet, row, 0, shown, bold=row < rates.flows - 1)
        else:
            book.number(sheet, row, 0, shown, **NOTE)
    for number, each in enumerate(flows):
        for row, column, formula, value in rates.written(number, each.formulas, each.values):
            book.formula(sheet, row, column, formula, value, num_format=number_format(value))
            if row == FIRST_ROW + LEFT:
                left.append(value)
    return left
