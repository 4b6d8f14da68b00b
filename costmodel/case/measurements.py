"""Measured values that stand for uncertain inputs: columns of the CSV files in measurements/ that samples.csv names."""

from __future__ import annotations

import re
from pathlib import Path

from ..core.faults import Fault, nearest
from ..core.fields import Number
from ..core.units import UnitError, same_kind, to_base
from .addresses import BadAddress, allowed_units, input_at
from .checks.frame_checks import where_read
from .files import TextTable, read_table
from .range_records import Sample
from .values import BadValue, check_number, parse_cell
from .whole_case import Case

FOLDER = "measurements"
_FILE = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]*\.csv")


def read_measurements(case: Case, folder: Path) -> tuple[dict[str, tuple[float, ...]], list[Fault]]:
    """The measured values of each empirical range, in base units, and the faults found; a range at fault itself is left out."""
    values: dict[str, tuple[float, ...]] = {}
    faults: list[Fault] = []
    for identity, sample in case.samples.items():
        with where_read():
            if not _FILE.fullmatch(sample.file):
                allowed = f"the name of a CSV file in {FOLDER}/"
                faults.append(Fault("samples.csv", None, f"{identity}.file", f"'{sample.file}'", allowed))
                continue
            table, problems = read_table(folder / FOLDER / sample.file, f"{FOLDER}/{sample.file}")
            faults.extend(problem for problem in problems if problem not in faults)
            if table.columns_read and sample.column not in table.units:
                allowed = f"a column of {table.file}: {', '.join(table.units)}{nearest(sample.column, table.units)}"
                faults.append(Fault("samples.csv", None, f"{identity}.column", f"'{sample.column}'", allowed))
            elif sample.column in table.units and sample.range in case.ranges:
                values[sample.range] = tuple(_values(case, sample, table, faults))
    return values, faults


def _values(case: Case, sample: Sample, table: TextTable, faults: list[Fault]) -> list[float]:
    """The values of a column in base units, held against the input that they stand for."""
    try:
        declaration, record = input_at(case, case.ranges[sample.range].address)
    except BadAddress:
        return []  # told of in ranges.csv
    if not isinstance(declaration, Number):
        return []
    unit, wanted = table.units[sample.column] or "", allowed_units(declaration, record, case.currency)
    try:
        fits = bool(unit) and any(same_kind(unit, each) for each in wanted)
    except UnitError:
        fits = False
    if not fits:
        allowed = f"a unit that converts to {wanted[0]}, in the header"
        faults.append(Fault(table.file, table.header_row, sample.column, f"the unit [{unit}]", allowed))
        return []
    read = []
    for number, cells in table.rows:
        try:
            if (number, sample.column) in table.refused:
                raise BadValue(*table.refused[number, sample.column])
            value, stated = parse_cell(cells[sample.column], table.decimal, unit)
            check_number(declaration, value * to_base(stated), unit)
            read.append(value * to_base(stated))
        except BadValue as problem:
            faults.append(Fault(table.file, number, sample.column, problem.found, problem.allowed))
    return read
