"""Where everything stands in the workbook: sheets, rows, columns, tables over time."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from xlsxwriter.utility import quote_sheetname, xl_rowcol_to_cell

from ...case.whole_case import Case
from ...core.units import to_base
from ...model.deal.on_time import DELAY, is_late
from ...present.explain.tree import Explanation
from ...present.numbers import label

COVER, INPUTS, CHECKS, HELPERS, RETURNS = "Cover", "Inputs", "Checks", "Helpers", "Returns"
FIRST_ROW = 4  # rows above hold title, a sentence and the header; counted from 0
VALUE, FACTOR, BASE, WRITTEN = 2, 10, 11, 12  # columns of the inputs
SHOWN, IN_BASE = 1, 3  # columns of the figures
HELPER = 1
_PERIOD = re.compile(r"([a-z])[0-9]{2,}")  # a part of an address that counts quarters or years
_LEAST_PERIODS = 4  # so many make a table over time
SERIES_COLUMNS = (("figure", 46), ("unit", 14), ("meaning", 60))

Series = tuple[list[str], dict[str, dict[str, str]]]  # periods; of each figure the addresses by period


def input_rows(case: Case, addresses: Iterable[str]) -> Iterator[tuple[str, int, bool]]:
    """Where the inputs of a case stand: address, row counted from 0, and whether it is one that people may change here.

    A heading stands above each table; conventions of the model are no inputs of people. A delay where none is stated adds a plan of
    its own to the deal, which only a workbook written anew has.
    """
    stays = DELAY if case.has_deal and case.other_ways and not is_late(case) else ""
    row, table = FIRST_ROW, ""
    for address in addresses:
        if address.split(".")[0] != table:
            table = address.split(".")[0]
            row += 1
        yield address, row, table != "constants" and address != stays
        row += 1


@dataclass(frozen=True, slots=True)
class Place:
    """Where a named cell stands."""

    sheet: str
    row: int
    column: int

    @property
    def cell(self) -> str:
        """Its absolute reference, with the sheet."""
        return f"{quote_sheetname(self.sheet)}!{xl_rowcol_to_cell(self.row, self.column, row_abs=True, col_abs=True)}"


def over_time(explanation: Explanation) -> dict[str, Series]:
    """Tables over time by the title of their sheet: the periods, and the addresses of each figure by period.

    Such are figures of one part of the model whose addresses differ only in the number of a quarter or year.
    """
    found: dict[str, dict[str, dict[str, str]]] = {}
    for address in explanation.sheet.figures:
        parts = address.split(".")
        at = next((k for k, part in enumerate(parts) if _PERIOD.fullmatch(part)), 0)
        if at > 1 and to_base(explanation.declared[address][0]) == 1:
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


def grouped_rows(addresses: Iterable[str]) -> Iterator[tuple[str, int, list[str]]]:
    """The parts of a stage: name, the row of its heading, and its figures, which stand in the rows below."""
    row = FIRST_ROW
    for group, members in by(group_of, addresses).items():
        yield group, row, members
        row += len(members) + 1


def stage_of(address: str) -> str:
    """The part of the model that a figure belongs to."""
    return address.split(".")[0]


def title_of(stage: str) -> str:
    """The title of the sheet of a stage."""
    return label(stage).capitalize()


def group_of(address: str) -> str:
    """The part of a stage that a figure stands under: the first two parts of its address, or the stage itself."""
    return ".".join(address.split(".")[: 2 if address.count(".") > 1 else 1])


def by(part: Callable[[str], str], addresses: Iterable[str]) -> dict[str, list[str]]:
    """Addresses by a part of them, in the order in which these parts come."""
    found: dict[str, list[str]] = {}
    for address in addresses:
        found.setdefault(part(address), []).append(address)
    return found
