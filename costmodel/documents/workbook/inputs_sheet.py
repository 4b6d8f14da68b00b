"""The sheet Inputs: what may be changed, and what is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell

from ...case.addresses import input_at
from ...case.values import allowed_range
from ...core.fields import Number
from ...core.units import to_base
from ...model.deal.on_time import DELAY
from ...present.numbers import label
from .book import AMBER, AT_LEFT, NOTE, RED, Book
from .layout import BASE, FACTOR, FIRST_ROW, VALUE, WRITTEN

_INPUT_COLUMNS = (
    ("address", 44), ("input", 54), ("value", 14), ("unit", 15), ("allowed", 26), ("note", 13), ("kind", 10), ("source", 38),
    ("date", 11), ("by", 12), ("factor to base unit", 13), ("value in base unit", 15), ("value as written", 14), ("meaning", 70),
)  # fmt: skip
_PRINTED = (1, 9)  # columns on paper: from the input in words to who stated it; the others are for formulas
_OPEN = {"bg_color": "#FFF6CC", "font_color": "#0B3D91", "locked": False, "border": 1, "border_color": "#D9C77A"}


def stated(value: float, factor: float) -> float:
    """The number that gives `value` when multiplied by `factor`, to the last bit where there is one, and short where it can be.

    >>> stated(99.35 * 0.01, 0.01), stated(720.0, 60.0)
    (99.35, 12.0)
    """
    ratio = value / factor
    tries = [float(f"{ratio:.{digits}g}") for digits in (9, 12, 15)] + [ratio]
    tries += [math.nextafter(ratio, math.inf), math.nextafter(ratio, -math.inf)]
    return next((tried for tried in tries if tried * factor == value), ratio)


def write_inputs(book: Book, sheet: Any) -> None:
    """A row for each input, below a heading for its table."""
    sentence = "Yellow cells may be changed, in the unit beside them. The column `value in base unit` is what formulas use."
    book.begin(sheet, "Inputs", sentence, _INPUT_COLUMNS, VALUE + 1)
    sheet.outline_settings(symbols_below=False)
    used = book.sheet.used_inputs()
    table = ""
    for address, (row, is_open) in book.rows.items():
        if address.split(".")[0] != table:
            table = address.split(".")[0]
            book.heading(sheet, row - 1, "conventions of the model" if not is_open else label(table), len(_INPUT_COLUMNS))
        sheet.set_row(row, None, None, {"level": 1})
        _write_input(book, sheet, address, address in used)
    last = max(row for row, _ in book.rows.values())
    sheet.autofilter(FIRST_ROW - 1, 0, last, len(_INPUT_COLUMNS) - 1)
    sheet.print_area(FIRST_ROW - 1, _PRINTED[0], last, _PRINTED[1])
    sheet.set_header("&L&B&A")
    book.colour_words(sheet, f"F{FIRST_ROW + 1}:F{last + 1}", {"out of range": RED, "no number": RED, "changed": AMBER})


def _write_input(book: Book, sheet: Any, address: str, is_used: bool) -> None:
    row, is_open = book.rows[address]
    unit, meaning = book.explanation.declared[address]
    base, factor = book.sheet.value(address), to_base(unit)
    value, node = stated(base, factor), book.explanation.tree(address)
    book.text(sheet, row, 0, address)
    book.text(sheet, row, 1, f"{node.title}: {label(address.split('.')[-1])}")
    shown = "General" if abs(value) < 1000 or value % 1 else "#,##0"
    book.number(sheet, row, VALUE, value, shown, **(_OPEN if is_open else {}))
    book.text(sheet, row, 3, unit, **AT_LEFT)
    cell = xl_rowcol_to_cell(row, VALUE)
    declaration = input_at(book.case, address)[0] if is_open else None
    if isinstance(declaration, Number):
        allowed = allowed_range(declaration, unit)
        book.text(sheet, row, 4, allowed)
        sheet.data_validation(row, VALUE, row, VALUE, _validation(declaration, factor, allowed, cell))
        outside = ",".join(_outside(declaration, factor, cell))
        note = f'IF({cell}<>{xl_rowcol_to_cell(row, WRITTEN)},"changed","")'
        note = f'IF(OR({outside}),"out of range",{note})' if outside else note
        book.formula(sheet, row, 5, f'=IF(NOT(ISNUMBER({cell})),"no number",{note})', "", bold=True)
    else:
        book.text(sheet, row, 4, "to be set in the tables" if address == DELAY else "stays as it is")
    for column, name in enumerate(("kind", "source", "date", "by"), start=6):
        book.text(sheet, row, column, getattr(node.evidence, name) if node.evidence else "")
    book.number(sheet, row, FACTOR, factor, **NOTE)
    product = f"=IF(ISNUMBER({cell}),{cell}*{xl_rowcol_to_cell(row, FACTOR)},NA())"
    book.formula(sheet, row, BASE, product, base, **NOTE)
    book.number(sheet, row, WRITTEN, value, **NOTE)
    book.text(sheet, row, 13, meaning + ("" if is_used else " (no figure of this case uses it)"), **AT_LEFT)


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
    """The rule by which a spreadsheet refuses what the case would refuse, with its message."""
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
