"""Read an edited workbook back: which input cells were changed, and nothing else may have been."""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ... import __version__
from ...case.addresses import numeric_inputs, value_at
from ...case.changes import apply_written
from ...case.fingerprint import fingerprint
from ...case.whole_case import Case
from ...core.faults import Fault, InputFaults, nearest
from ...core.units import to_base
from .inputs_sheet import stated
from .layout import INPUTS, VALUE, input_rows
from .write import workbook_bytes

_LAST_DIGITS = 1e-14  # programs keep 15 to 17 digits of a number when they save it
_MOST_BYTES = 500_000_000  # unpacked; a workbook of the demo has 5 million


@dataclass(frozen=True, slots=True)
class Change:
    """An input that was changed in a workbook: its numbers before and now, in the unit of its table."""

    address: str
    old: float
    new: float
    unit: str

    @property
    def written(self) -> str:
        """The new value as tables and scenarios state it."""
        return f"{self.new!r} {self.unit}"


def read_changes(case: Case, path: str | Path) -> list[Change]:
    """The inputs that were changed in a workbook of this case, checked one by one and together like any change of a case.

    Raises InputFaults, each with its sheet and cell: for a file that is no workbook of this case as it is now, for a sheet that
    is missing, for a cell other than an input that was changed, for an input that is no number, and for what the case refuses.
    """
    file = Path(path).name
    given, wanted = _opened(Path(path), file), _workbook(io.BytesIO(workbook_bytes(case)))
    _refuse_another_case(case, given, file)
    missing = [name for name in wanted.sheetnames if name not in given.sheetnames]
    if missing:
        found = f"no sheet '{missing[0]}'" if len(missing) == 1 else f"no sheets {', '.join(missing)}"
        allowed = "the sheets as they were written: " + ", ".join(wanted.sheetnames) + nearest(missing[0], given.sheetnames)
        raise InputFaults([Fault(file, None, None, found, allowed)])
    places = {row + 1: address for address, row, is_open in input_rows(case, (a for a, *_ in numeric_inputs(case))) if is_open}
    faults = list(_touched(given, wanted, places, file))
    changes: list[Change] = []
    for row, address in places.items():
        unit = case.entry_units[address]
        old, new = stated(value_at(case, address), to_base(unit)), given[INPUTS].cell(row, VALUE + 1)
        if new.data_type != "n" or new.value is None:
            shown = "nothing" if new.value is None else f"{_KINDS.get(type(new.value), 'a text')} '{new.value}'"
            shown = f"the formula '{new.value}'" if new.data_type == "f" else shown
            place = f"{file}, {INPUTS}!{new.coordinate}"
            faults.append(Fault(place, None, address, shown, f"a number [{unit}]"))
        elif abs(new.value - old) > _LAST_DIGITS * abs(old):
            changes.append(Change(address, old, float(new.value), unit))
    if faults:
        raise InputFaults(faults)
    apply_written(case, as_written(changes), f"{file}, {INPUTS}", f"workbook {file}")
    return changes


def as_written(changes: list[Change]) -> dict[str, str]:
    """Changes as `case.changes` and scenarios take them: address, and number with unit.

    >>> as_written([Change("product.length", 1.2, 1.3, "m")])
    {'product.length': '1.3 m'}
    """
    return {change.address: change.written for change in changes}


_KINDS: Mapping[type, str] = {bool: "the truth value", datetime.datetime: "the date", datetime.time: "the time"}


def _opened(path: Path, file: str) -> Any:
    """The workbook in a file. Raises InputFaults."""
    try:
        with zipfile.ZipFile(path) as packed:
            size = sum(part.file_size for part in packed.infolist())
        if size > _MOST_BYTES:
            raise InputFaults([Fault(file, None, None, f"{size:,} bytes when unpacked", f"{_MOST_BYTES:,} at most")])
        return _workbook(path)
    except OSError as problem:
        raise InputFaults([Fault(file, None, None, f"a file that cannot be read ({problem.strerror})", "an .xlsx file")]) from None
    except (zipfile.BadZipFile, KeyError, ValueError, SyntaxError) as problem:
        raise InputFaults([Fault(file, None, None, f"no workbook ({problem})", "an .xlsx file")]) from None


def _workbook(source: Any) -> Any:
    import openpyxl  # late: it takes a while, and only reading needs it

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of drawings and extensions that openpyxl does not keep: we only read
        return openpyxl.load_workbook(source)


def _refuse_another_case(case: Case, given: Any, file: str) -> None:
    """Refuse a workbook that was not written from these inputs by this version."""
    found = re.fullmatch(r"costmodel (\S+), case ([0-9a-f]+)", (given.properties.description or "").strip())
    if not found:
        raise InputFaults([Fault(file, None, None, "no mark of a case", "a workbook that `costmodel workbook` wrote")])
    version, mark = found.groups()
    if mark != fingerprint(case):
        allowed = f"a workbook of this case as it is now, {fingerprint(case)}; name the scenario and changes it was written with"
        raise InputFaults([Fault(file, None, None, f"a workbook of a case with fingerprint {mark}", allowed)])
    if version != __version__:
        raise InputFaults([Fault(file, None, None, f"a workbook written by costmodel {version}", f"one written by {__version__}")])


def _touched(given: Any, wanted: Any, places: Mapping[int, str], file: str) -> Iterator[Fault]:
    """Every cell and name, other than inputs, that is not as it was written."""
    only_inputs = "the cell as it was written: only the yellow cells of the sheet Inputs are read"
    for sheet in wanted.worksheets:
        for cells in sheet.iter_rows():
            for cell in cells:
                if cell.value is None or (sheet.title == INPUTS and cell.column == VALUE + 1 and cell.row in places):
                    continue
                other = given[sheet.title][cell.coordinate]
                if not _same(cell.value, other.value):
                    shown = "nothing" if other.value is None else f"'{str(other.value)[:80]}'"
                    yield Fault(f"{file}, sheet {sheet.title}, cell {cell.coordinate}", None, None, shown, only_inputs)
    for name, place in wanted.defined_names.items():
        other = given.defined_names.get(name)
        if other is None or _plain(other.attr_text) != _plain(place.attr_text):
            shown = "nothing" if other is None else f"'{other.attr_text}'"
            yield Fault(f"{file}, name {name}", None, None, shown, f"'{place.attr_text}', as it was written")


def _same(wanted: Any, found: Any) -> bool:
    """Whether two cells hold the same, however the program that saved them writes formulas and numbers."""
    wanted, found = ("" if value is None else value for value in (wanted, found))
    if isinstance(wanted, (int, float)) and isinstance(found, (int, float)):
        return abs(wanted - found) <= 1e-12 * abs(wanted)
    if isinstance(wanted, str) and isinstance(found, str) and wanted[:1] == found[:1] == "=":
        return _plain(wanted) == _plain(found)
    return str(wanted).split() == str(found).split()


_NUMBER = re.compile(r"(?<![\w.$])\d+\.?\d*(?:e[+-]?\d+)?(?![\w.])")


def _plain(formula: str) -> str:
    """A formula without what programs write in different ways: spaces, capitals, prefixes, forms and last digits of numbers.

    >>> _plain("=A1 * 1E-09 + _xlfn.EXP(3)") == _plain("=a1*0.000000001+EXP(3.0)")
    True
    """
    text = re.sub(r"[\s']", "", formula).lower().replace("_xlfn.", "").replace("true()", "true")
    return _NUMBER.sub(lambda found: f"{float(found.group()):.12g}", text)
