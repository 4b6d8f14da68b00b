"""Mutants of the demos' tables: each is one slip, or one harmless way of writing, and says itself which before it is read."""
from __future__ import annotations

import csv
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from costmodel.case.whole_case import tables
from costmodel.core.fields import Number, Text, declared
from costmodel.core.units import to_base

from .cases import DEMO, FIELD, column_name
from .saved_tables import Rows, cells_of, with_decimal_comma, written

Place = tuple[str, int | None, str | None]


@dataclass(frozen=True)
class Mutant:
    """A changed table of a demo. `places` are where it must be refused; without one it must give the same figures."""

    family: str
    folder: Path
    file: str
    content: bytes
    places: frozenset[Place] = frozenset()
    numbers_restated: bool = False

    @property
    def harmful(self) -> bool:
        return bool(self.places)


class Draw:
    """A table of a demo, and what a generator draws from it; the same seed gives the same mutant."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.folder = self.random.choice([DEMO, FIELD])
        self.by_file = {table.file: name for name, table in tables().items()
                        if not table.section and (self.folder / table.file).exists()}
        self.take(self.random.choice(sorted(self.by_file)))

    def take(self, file: str) -> None:
        """Turn to a table."""
        self.file, self.table = file, tables()[self.by_file[file]]
        self.rows: Rows = cells_of(self.folder / file)
        self.columns = [column_name(name) for name in self.rows[0]]
        self.declared = declared(self.table.record)

    def take_any(self, wanted) -> None:
        """Turn to a table of which `wanted(self)` is true, beginning from the one at hand."""
        files = sorted(self.by_file)
        self.random.shuffle(files)
        for file in [self.file, *files]:
            self.take(file)
            if wanted(self):
                return
        raise LookupError("no table has what is wanted")

    def row(self) -> int:
        """The index of a row of values; its number in the file is one more."""
        return self.random.randrange(1, len(self.rows))

    def cells(self, wanted) -> list[tuple[int, int]]:
        """The cells (row, column) for which `wanted(column name, declaration, text)` is true."""
        return [(r, c) for r, row in enumerate(self.rows) if r for c, name in enumerate(self.columns)
                if name in self.declared and wanted(name, self.declared[name], row[c])]

    def cell(self, wanted) -> tuple[int, int]:
        """One of these cells, from another table if this one has none."""
        self.take_any(lambda draw: draw.cells(wanted))
        return self.random.choice(self.cells(wanted))

    def put(self, r: int, c: int, text: str) -> None:
        """Write a cell."""
        self.rows[r][c] = text

    def refused(self, family: str, *places: tuple[int | None, str | None], content: bytes | None = None) -> Mutant:
        """The table as it is now, a harmful mutant told at these rows (as the file counts them) and columns."""
        told = frozenset((self.file, row, column) for row, column in places)
        return Mutant(family, self.folder, self.file, content or written(self.rows).encode(), told)

    def same(self, family: str, content: bytes | None = None, numbers_restated: bool = False) -> Mutant:
        """The table as it is now, a benign mutant."""
        return Mutant(family, self.folder, self.file, content or written(self.rows).encode(), numbers_restated=numbers_restated)


def is_number(name: str, declaration, text: str) -> bool:
    """A cell that holds a number other than nought."""
    return isinstance(declaration, Number) and float(text) != 0.0


def is_bounded(name: str, declaration, text: str) -> bool:
    """A number that may not be negative."""
    return is_number(name, declaration, text) and (declaration.low is not None or declaration.above is not None)


def is_reference(name: str, declaration, text: str) -> bool:
    """The id of a row of another table, long enough to swap letters in."""
    return isinstance(declaration, Text) and bool(declaration.refers_to) and len(set(text)) > 2


def swapped_letters(draw: Draw, text: str) -> str:
    """The text with two neighbouring letters swapped."""
    places = [at for at in range(len(text) - 1) if text[at] != text[at + 1]]
    at = draw.random.choice(places)
    return text[:at] + text[at + 1] + text[at] + text[at + 2:]


# harmful


def letters_of_a_reference(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: is_reference(name, d, text) and name not in ("plan", "market"))
    new = swapped_letters(draw, draw.rows[r][c])
    draw.put(r, c, new)
    return draw.refused("two letters of a reference swapped", (r + 1, draw.columns[c]))


EITHER = {("emissions.csv", "emitter"), ("performance_guarantees.csv", "of")}  # texts that name a row of one of several tables


def letters_of_an_id(draw: Draw) -> Mutant:
    """An id that others refer to: told wherever that is, as the row itself is well formed."""
    draw.take(draw.random.choice(["layers.csv", "utilities.csv"]))
    r = draw.row()
    old = draw.rows[r][0]
    name, places = draw.by_file[draw.file], set()
    for file, other in draw.by_file.items():
        rows = cells_of(draw.folder / file)
        for column, declaration in declared(tables()[other].record).items():
            if (isinstance(declaration, Text) and declaration.refers_to == name) or (file, column) in EITHER:
                at = [column_name(each) for each in rows[0]].index(column)
                places |= {(file, n, column) for n, row in enumerate(rows, start=1) if row[at] == old}
    addresses = cells_of(draw.folder / "ranges.csv")
    places |= {("ranges.csv", n, "address") for n, row in enumerate(addresses, start=1) if row[1].startswith(f"{name}.{old}.")}
    if not places:
        return letters_of_a_reference(draw)
    new = swapped_letters(draw, old)
    draw.put(r, 0, new if new[0].isalpha() and len(old) > 3 else old + "x")
    return Mutant("two letters of an id swapped", draw.folder, draw.file, written(draw.rows).encode(), frozenset(places))


def cell_dropped(draw: Draw) -> Mutant:
    r = draw.row()
    del draw.rows[r][draw.random.randrange(len(draw.columns))]
    return draw.refused("cell dropped", (r + 1, None))


def cell_too_many(draw: Draw) -> Mutant:
    r = draw.row()
    draw.rows[r].insert(draw.random.randrange(len(draw.columns)), "5")
    return draw.refused("cell too many", (r + 1, None))


def cell_emptied(draw: Draw) -> Mutant:
    r, c = draw.row(), draw.random.randrange(len(draw.columns))
    draw.put(r, c, draw.random.choice(["", " ", "\u00a0"]))
    return draw.refused("cell emptied", (r + 1, draw.columns[c]))


def row_doubled(draw: Draw) -> Mutant:
    r = draw.row()
    draw.rows.append(list(draw.rows[r]))
    return draw.refused("row doubled", (len(draw.rows), "id"))


def number_negated(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: is_bounded(name, d, text) and (d.low or 0.0) >= 0.0 and text.strip("0.,") != "")
    draw.put(r, c, f"-{draw.rows[r][c]}")
    return draw.refused("number negated", (r + 1, draw.columns[c]))


def text_for_a_number(draw: Draw) -> Mutant:
    r, c = draw.cell(is_number)
    old = draw.rows[r][c]
    draw.put(r, c, draw.random.choice(["n/a", "-", f"{old}?", f"ca. {old}", "nan", "inf", "1e999", "#DIV/0!", "=B2*2", "O", "12 13",
                                       f"{old} EUR", f"{old}.", f"{old}..", "1_000", "0x10", "TRUE", "1/2"]))
    if draw.rows[r][c] == f"{old}." and "." not in old:
        draw.put(r, c, f"{old}.-")  # `12.` is a number
    return draw.refused("text for a number", (r + 1, draw.columns[c]))


def share_above_one(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: is_number(name, d, text) and d.high is not None)
    unit = draw.rows[0][c].partition("[")[2].rstrip("]")
    draw.put(r, c, repr(1.01 * draw.declared[draw.columns[c]].high / to_base(unit)))
    return draw.refused("number above its range", (r + 1, draw.columns[c]))


def unit_of_another_kind(draw: Draw) -> Mutant:
    _, c = draw.cell(is_number)
    unit = draw.rows[0][c].partition("[")[2].rstrip("]")
    new = draw.random.choice(["kgg", "furlong", "9**9**9", "m^2", f"{unit}*kg", f"{unit}*s", f"{unit}/m2", f"{unit}2x"])
    draw.rows[0][c] = f"{draw.columns[c]} [{new}]"
    return draw.refused("unit of another kind", (1, draw.columns[c]))


def name_of_a_column(draw: Draw) -> Mutant:
    c = draw.random.randrange(len(draw.columns))
    old = draw.columns[c]
    new = swapped_letters(draw, old)
    draw.rows[0][c] = draw.rows[0][c].replace(old, new, 1)
    return draw.refused("letters of a column's name swapped", (1, old), (1, new))


def column_dropped(draw: Draw) -> Mutant:
    c = draw.random.randrange(len(draw.columns))
    draw.rows = [row[:c] + row[c + 1:] for row in draw.rows]
    return draw.refused("column dropped", (1, draw.columns[c]))


def column_without_its_unit(draw: Draw) -> Mutant:
    _, c = draw.cell(is_number)
    draw.rows[0][c] = draw.columns[c]
    return draw.refused("column without its unit", (1, draw.columns[c]))


def decimal_comma_between_commas(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: is_number(name, d, text) and "." in text)
    content = "\n".join(",".join(f'"{cell}"' if "," in cell else cell.replace(".", ",") if (n, at) == (r, c) else cell
                                 for at, cell in enumerate(row)) for n, row in enumerate(draw.rows))
    return draw.refused("decimal comma between commas", (r + 1, None), content=content.encode())


def one_other_decimal_sign(draw: Draw) -> Mutant:
    """One comma where points are settled by three numbers at least, or the other way round."""
    def settled(d: Draw) -> bool:
        cells = d.cells(lambda name, declaration, text: is_number(name, declaration, text) and "." in text)
        return sum(len(d.rows[r][c].partition(".")[2]) != 3 for r, c in cells) > 3
    draw.take_any(settled)
    r, c = draw.cell(is_number)
    sign = draw.random.choice(".,")
    if sign == ",":
        draw.rows = with_decimal_comma(draw.rows)
    draw.put(r, c, draw.random.choice(["1%s234", "12%s5", "0%s75"]) % ("," if sign == "." else "."))
    return draw.refused("one other decimal sign", (r + 1, draw.columns[c]), content=written(draw.rows, ";").encode())


def thousands_parted(draw: Draw) -> Mutant:
    r, c = draw.cell(is_number)
    draw.put(r, c, draw.random.choice(["1,234,567", "1.234.567", "1,234.5", "1.234,5", "1 234", "1'234", "12,345"]))
    return draw.refused("thousands parted by points or commas", (r + 1, draw.columns[c]))


def none_of_the_options(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: isinstance(d, Text) and bool(d.options) and len(set(text)) > 2)
    draw.put(r, c, swapped_letters(draw, draw.rows[r][c]))
    return draw.refused("letters of an option swapped", (r + 1, draw.columns[c]))


def unknown_currency(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: name == "currency")
    draw.put(r, c, draw.random.choice(["EUX", "eur", "euro", "XXX", "€", "EU"]))
    return draw.refused("unknown currency", (r + 1, "currency"))


def unknown_unit_in_a_row(draw: Draw) -> Mutant:
    r, c = draw.cell(lambda name, d, text: name == "unit" and not d.options)
    draw.put(r, c, draw.random.choice(["kgs", "sqm", "m³", "Kg", "kwh", "pcs", "kg m"]))
    return draw.refused("unknown unit in a row", (r + 1, "unit"))


def quote_left_open(draw: Draw) -> Mutant:
    r, c = draw.row(), draw.random.randrange(len(draw.columns))
    lines = [",".join(f'"{cell}"' if "," in cell else cell for cell in row) for row in draw.rows]
    cells = [f'"{cell}"' if "," in cell else cell for cell in draw.rows[r]]
    if not cells[c].startswith('"'):
        cells[c] = f'"{cells[c]}'
    else:
        cells[c] = cells[c][:-1]
    lines[r] = ",".join(cells)
    return draw.refused("quote left open", (None, None), content="\n".join(lines).encode())


def row_with_another_separator(draw: Draw) -> Mutant:
    r = draw.row()
    lines = written(draw.rows).splitlines()
    lines[r] = written([draw.rows[r]], ";").strip()
    return draw.refused("row with another separator", (r + 1, None), content="\n".join(lines).encode())


def bytes_that_are_no_text(draw: Draw) -> Mutant:
    r, c = draw.row(), draw.columns.index("source")
    draw.put(r, c, "Größe")
    content = written(draw.rows).encode()
    at = content.index("ö".encode())
    damaged = draw.random.choice([b"\x81\xf6", b"\x00", "ö".encode() + b"\xf6"])
    return draw.refused("bytes that are no text", (None, None), content=content[:at] + damaged + content[at + 2:])


def range_out_of_order(draw: Draw) -> Mutant:
    draw.take("ranges.csv")
    low, mode, high = (draw.columns.index(name) for name in ("low", "mode", "high"))
    r = draw.row()
    while len({draw.rows[r][c] for c in (low, mode, high)}) < 3:
        r = draw.row()
    first, second = draw.random.choice([(low, mode), (mode, high), (low, high)])
    draw.rows[r][first], draw.rows[r][second] = draw.rows[r][second], draw.rows[r][first]
    return draw.refused("range out of order", (r + 1, "mode"))


def address_that_does_not_exist(draw: Draw) -> Mutant:
    draw.take("ranges.csv")
    r = draw.row()
    parts = draw.rows[r][1].split(".")
    at = draw.random.randrange(len(parts))
    parts[at] = swapped_letters(draw, parts[at]) if len(set(parts[at])) > 2 else parts[at] + "x"
    draw.put(r, 1, ".".join(parts))
    return draw.refused("address that does not exist", (r + 1, "address"))


def neighbours_swapped(draw: Draw) -> Mutant:
    """A number and the title before it changed places; any text is a title, a number too."""
    def beside(name: str, d, text: str) -> bool:
        return is_number(name, d, text) and draw.columns[draw.columns.index(name) - 1] == "title"
    r, c = draw.cell(beside)
    draw.rows[r][c - 1], draw.rows[r][c] = draw.rows[r][c], draw.rows[r][c - 1]
    return draw.refused("number and text changed places", (r + 1, draw.columns[c]))


def id_that_is_no_name(draw: Draw) -> Mutant:
    r = draw.row()
    old = draw.rows[r][0]
    draw.put(r, 0, draw.random.choice([old.upper(), f"{old} 2", f"{old}-2", f"2{old}", f"{old}.x", "ä" + old, "class"]))
    return draw.refused("id that is no name", (r + 1, "id"))


# benign


def saved_in_another_way(draw: Draw) -> Mutant:
    draw_of = draw.random.choice
    comma = draw_of([False, True])
    rows = with_decimal_comma(draw.rows) if comma else draw.rows
    ambiguous = any(len(cell.partition(".")[2]) == 3 and cell[0] != "0" for row in draw.rows for cell in row)
    separator = "," if ambiguous and not comma else draw_of([";", "\t"]) if comma else draw_of([",", ";", "\t"])
    text = written(rows, separator, draw_of([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    text = draw_of([text, text.replace("\r\n", "\n"), text.replace("\r\n", "\r"), text.rstrip()])
    return draw.same("saved in another way", text.encode(draw_of(["utf-8", "utf-8-sig", "utf-16", "cp1252"])))


def blank_rows_and_columns(draw: Draw) -> Mutant:
    blanks = draw.random.randrange(4)
    rows = [[*row, *[""] * blanks] for row in draw.rows]
    for _ in range(3):
        rows.insert(draw.random.randrange(len(rows) + 1), [draw.random.choice(["", " ", "\u00a0"])] * (len(draw.columns) + blanks))
    return draw.same("blank rows and columns", written(rows, draw.random.choice(",;\t")).encode()
                     if not any(len(cell.partition(".")[2]) == 3 for row in rows for cell in row) else written(rows).encode())


def columns_reordered(draw: Draw) -> Mutant:
    order = list(range(len(draw.columns)))
    draw.random.shuffle(order)
    draw.rows = [[row[at] for at in order] for row in draw.rows]
    return draw.same("columns reordered")


def spaces_added(draw: Draw) -> Mutant:
    def spaced(cell: str) -> str:
        return draw.random.choice(["", " ", "  ", "\u00a0"]) + cell + draw.random.choice(["", " ", "   ", "\u00a0"])
    draw.rows = [[spaced(cell) for cell in row] for row in draw.rows]
    return draw.same("spaces added")


def number_written_otherwise(draw: Draw) -> Mutant:
    r, c = draw.cell(is_number)
    old = draw.rows[r][c]
    draw.put(r, c, draw.random.choice([
        *([] if old.startswith("-") else [f"+{old}", f"0{old}"]),
        f"{old}0" if "." in old else f"{old}.0", f"{old}.00" if "." not in old else f"{old}000", f"{old}e0",
        f"{Decimal(old) / 1000:f}E+03", f"{Decimal(old) * 100:f}e-2"]))
    return draw.same("number written otherwise", numbers_restated=True)


def per_cent_signs(draw: Draw) -> Mutant:
    draw.take_any(lambda d: any(name.endswith("[%]") for name in d.rows[0]))
    gap = draw.random.choice(["", " ", "\u00a0", "\u202f"])
    draw.rows = [draw.rows[0], *([cell + gap + "%" if name.endswith("[%]") and draw.random.random() < 0.7 else cell
                                  for name, cell in zip(draw.rows[0], row)] for row in draw.rows[1:])]
    return draw.same("per cent signs in cells")


def thin_spaces(draw: Draw) -> Mutant:
    space = draw.random.choice("\u00a0\u2009\u202f")
    draw.take_any(lambda d: d.cells(lambda name, declaration, text: is_number(name, declaration, text) and float(text) >= 1000))
    for r, c in draw.cells(lambda name, d, text: is_number(name, d, text) and float(text) >= 1000):
        whole, sign, behind = draw.rows[r][c].partition(".")
        draw.put(r, c, f"{int(whole):,}".replace(",", space) + sign + behind)
    return draw.same("thin spaces between thousands")


SISTERS = {"%": ["1", "ppm"], "s": ["min", "h"], "min": ["s", "h"], "year": ["month", "day"], "nm": ["um", "mm"], "kW": ["W"],
           "g/cm3": ["kg/m3", "g/ml"], "nm/s": ["um/min", "nm/min"], "slm": ["sccm", "mol/s"], "%/year": ["1/year", "%/month"],
           "m2": ["cm2", "m*m"], "1": ["%"], "currency": ["currency*%"], "currency/unit": ["currency*ppm/unit"],
           "unit": ["unit*%"], "unit/per": ["unit*%/per"], "person": ["person*%"], "currency/m2/year": ["currency/m2/month"]}


def unit_restated(draw: Draw) -> Mutant:
    def units(d: Draw) -> list[int]:
        return [c for c, name in enumerate(d.rows[0]) if name.partition("[")[2].rstrip("]") in SISTERS]
    draw.take_any(lambda d: units(d) and d.file != "ranges.csv")
    c = draw.random.choice(units(draw))
    unit = draw.rows[0][c].partition("[")[2].rstrip("]")
    new = draw.random.choice(SISTERS[unit])

    def size(text: str) -> float:
        return to_base(re.sub(r"\b(currency|unit|per)\b", "1", text))  # what rows say stays
    draw.rows[0][c] = f"{draw.columns[c]} [{new}]"
    for row in draw.rows[1:]:
        row[c] = repr(float(row[c]) * size(unit) / size(new))
    return draw.same("unit restated", numbers_restated=True)


IN_ORDER = ("steps.csv", "ramp.csv", "tax_rates.csv", "royalty_steps.csv")  # the order of their rows says something


def rows_reordered(draw: Draw) -> Mutant:
    draw.take(draw.random.choice([file for file in sorted(draw.by_file) if file not in IN_ORDER]))
    body = draw.rows[1:]
    draw.random.shuffle(body)
    draw.rows[1:] = body
    return draw.same("rows reordered", numbers_restated=True)


HARMFUL = (letters_of_a_reference, letters_of_an_id, cell_dropped, cell_too_many, cell_emptied, row_doubled, number_negated,
           text_for_a_number, share_above_one, unit_of_another_kind, name_of_a_column, column_dropped, column_without_its_unit,
           decimal_comma_between_commas, one_other_decimal_sign, thousands_parted, none_of_the_options, unknown_currency,
           unknown_unit_in_a_row, quote_left_open, row_with_another_separator, bytes_that_are_no_text, range_out_of_order,
           address_that_does_not_exist, neighbours_swapped, id_that_is_no_name)
BENIGN = (saved_in_another_way, blank_rows_and_columns, columns_reordered, spaces_added, number_written_otherwise, per_cent_signs,
          thin_spaces, unit_restated, rows_reordered)


def mutants(harmful: int, benign: int) -> Iterator[Mutant]:
    """So many mutants of each family, the same ones each time."""
    for families, count in ((HARMFUL, harmful), (BENIGN, benign)):
        for at, family in enumerate(families):
            for n in range(count):
                yield family(Draw(1000 * at + n + (500 if families is BENIGN else 0)))
