"""The sheet Checks: differences that must be zero, and what else must hold."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from xlsxwriter.utility import quote_sheetname, xl_range_abs

from ...present.numbers import label
from .book import AT_LEFT, GREEN, RED, Book, number_format
from .layout import CHECKS, FIRST_ROW, INPUTS, RETURNS, by, stage_of
from .rates import LEFT, rate_cell

TOLERANCE = 1e-9
_NOTHING = f"ABS(B{{0}})<={TOLERANCE!r}".upper()  # to be filled with the row
_AGREES = _NOTHING + "*D{0}"
_COLUMNS = (("check", 46), ("difference", 16), ("unit", 14), ("measured against", 18), ("verdict", 14), ("meaning", 110))


@dataclass(frozen=True, slots=True)
class _Check:
    """A row of the sheet: a difference with its formula, what it is measured against, and what must hold of both."""

    name: str
    formula: str
    value: float
    unit: str
    meaning: str
    against: str = ""
    scale: float | None = None
    holds: str = _AGREES
    shown: str = "0.00E+00"


def write_checks(book: Book, sheet: Any, left: Sequence[float]) -> str:
    """The sheet of checks, with what value is `left` at each internal rate of return; returns the cells of the verdicts."""
    sentence = "Differences that must be zero: totals computed in two ways, masses that close, inputs within their range."
    book.begin(sheet, CHECKS, sentence, _COLUMNS, 1)
    found = [*_of_figures(book), *_over_time(book), *_of_rates(book, left), *_counts(book)]
    for row, check in enumerate(found, start=FIRST_ROW):
        book.text(sheet, row, 0, check.name)
        book.formula(sheet, row, 1, check.formula, check.value, num_format=check.shown)
        book.text(sheet, row, 2, check.unit, **AT_LEFT)
        if check.scale is None:
            book.text(sheet, row, 3, "")
        elif check.against:
            book.formula(sheet, row, 3, check.against, check.scale, num_format=number_format(check.scale))
        else:
            book.number(sheet, row, 3, check.scale, number_format(check.scale))
        verdict = f'IF({check.holds.format(row + 1)},"agrees","DISAGREES")'
        book.formula(sheet, row, 4, f'=IF(ISERROR(B{row + 1}),"DISAGREES",{verdict})', "agrees", bold=True)
        book.text(sheet, row, 5, check.meaning, **AT_LEFT)
    end = FIRST_ROW + len(found)
    book.colour_words(sheet, f"E{FIRST_ROW + 1}:E{end}", {"agrees": GREEN, "DISAGREES": RED})
    return f"{CHECKS}!$E${FIRST_ROW + 1}:$E${end}"


def _of_figures(book: Book) -> Iterator[_Check]:
    """The checks of the model."""
    for address in (a for a in book.sheet.figures if "checks" in a.split(".")[:-1]):
        unit, meaning = book.explanation.declared[address]
        against = _measured_against(book, address)
        meaning = f"{meaning}; agrees to a part in 10^9 of {against or 'one'}"
        yield _Check(address, f"={book.names[address]}", book.sheet.value(address), unit, meaning, *_scale(book, against))


def _scale(book: Book, against: str) -> tuple[str, float]:
    """The size of the figure that a check is measured against, as a formula and as a value; 1 where there is none."""
    return (f"=ABS({book.names[against]})", abs(book.sheet.value(against))) if against else ("=1", 1)


def _over_time(book: Book) -> Iterator[_Check]:
    """Of a check in a table over time the largest difference, against the largest figure that one is a difference of."""
    for title, (_, rows) in book.series.items():
        for addresses in map(list, (cells.values() for cells in rows.values())):
            unit, meaning = book.explanation.declared[addresses[0]]
            if meaning.startswith("check"):
                first, last = book.places[addresses[0]], book.places[addresses[-1]]
                area = f"{quote_sheetname(title)}!{xl_range_abs(first.row, first.column, last.row, last.column)}"
                found = filter(None, (_measured_against(book, address) for address in addresses))
                against = max(found, key=lambda name: abs(book.sheet.value(name)))
                name, formula = f"{addresses[0]} and all after it", f"=MAX(MAX({area}),-MIN({area}))"
                largest = max(abs(book.sheet.value(address)) for address in addresses)
                meaning = f"{meaning}; the largest agrees to a part in 10^9 of {against}"
                yield _Check(name, formula, largest, unit, meaning, *_scale(book, against))


def _of_rates(book: Book, left: Sequence[float]) -> Iterator[_Check]:
    """Nothing is left of the value of flows at their internal rate of return."""
    meaning = "present value of the flows at their internal rate of return, over the sum of their sizes; 0 without a rate"
    for number, (flows, value) in enumerate(zip(book.formulas.flows, left)):
        formula = f"={RETURNS}!{rate_cell(number, FIRST_ROW + LEFT)}"
        yield _Check(f"value left at the rate of {flows.used_by}", formula, value, "1", meaning, scale=1, holds=_NOTHING)


def _counts(book: Book) -> Iterator[_Check]:
    """Inputs at fault and figures without a value are counted."""
    counts = [("inputs out of range", f'=COUNTIF({INPUTS}!F:F,"out of range")', "inputs outside their allowed range")]
    counts += [("inputs that are no number", f'=COUNTIF({INPUTS}!F:F,"no number")', "a missing value is an error, never zero")]
    counts += [_without_a_value(book, stage) for stage in dict.fromkeys(map(stage_of, book.sheet.figures))]
    for name, formula, meaning in counts:
        yield _Check(name, formula, 0, "1", meaning, holds="B{0}=0", shown="0")


def _without_a_value(book: Book, stage: str) -> tuple[str, str, str]:
    """The count of figures of a stage that have no value: its name, formula and meaning.

    Not counted is what had none when the workbook was written, and where the status of a figure gives the reason.
    """
    addresses = [address for address in book.sheet.figures if stage_of(address) == stage]
    parts = []
    for title, found in by(lambda address: book.places[address].sheet, addresses).items():
        rows, columns = ([getattr(book.places[address], side) for address in found] for side in ("row", "column"))
        cells = xl_range_abs(min(rows), min(columns), max(rows), max(columns))
        parts.append(f"SUMPRODUCT(1*ISERROR({quote_sheetname(title)}!{cells}))")
    explained = [address for address in addresses if address in book.explanation.reasons]
    for address in explained:
        status = book.names[book.explanation.status_of(address)]
        parts += [f"-({status}={number:g})" for number in book.explanation.reasons[address]]
    broken = sum(not math.isfinite(book.sheet.value(a)) for a in addresses if a not in explained)
    meaning = f"{broken} had none when the workbook was written"
    meaning += "; figures whose status gives the reason are not counted" if explained else ""
    return f"figures without a value: {label(stage)}", f"={'+'.join(parts)}-{broken}".replace("+-", "-"), meaning


def _measured_against(book: Book, address: str) -> str:
    """The largest figure of the same unit that a check is a difference of; nothing where there is none."""
    unit = book.explanation.declared[address][0]
    needs = [name for name in book.explanation.needs(address) if book.explanation.declared[name][0] == unit]
    return max(needs, key=lambda name: abs(book.sheet.value(name)), default="")
