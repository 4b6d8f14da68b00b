"""The files of a case as texts: CSV tables with a unit in brackets behind a column's name, and YAML documents."""
from __future__ import annotations

import csv
import io
import re
from collections.abc import Hashable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from ..faults import Fault, InputFaults

_HEADER = re.compile(r"\s*([^\[\]]+?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*")
_LARGEST_YAML = 1_000_000


@dataclass(frozen=True, slots=True)
class TextTable:
    """A table as it stands in its file: units by column name, and rows of texts with their line numbers."""

    file: str
    units: dict[str, str | None]
    rows: list[tuple[int, dict[str, str]]]


def read_table(path: Path) -> tuple[TextTable, list[Fault]]:
    """Read a CSV table; blank rows are passed over.

    Returns the table and the faults found: a missing file, an unreadable header, a row of another length.
    """
    try:
        content = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return TextTable(path.name, {}, []), [Fault(path.name, None, None, "no such file", f"a table {path.name} in {path.parent}")]
    except UnicodeDecodeError as problem:
        return TextTable(path.name, {}, []), [Fault(path.name, None, None, f"byte {problem.start} is not UTF-8", "text in UTF-8")]
    reader = csv.reader(io.StringIO(content))
    faults: list[Fault] = []
    header = next(reader, [])
    units: dict[str, str | None] = {}
    for cell in header:
        match = _HEADER.fullmatch(cell)
        if not match:
            faults.append(Fault(path.name, 1, None, f"header '{cell}'", "a name, or a name and a unit as in `life [year]`"))
        elif match.group(1) in units:
            faults.append(Fault(path.name, 1, match.group(1), "the column twice", "each column once"))
        else:
            units[match.group(1)] = match.group(2)
    if faults:
        return TextTable(path.name, units, []), faults
    rows = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            faults.append(Fault(path.name, reader.line_num, None, f"{len(cells)} cells", f"{len(header)} cells, as in the header"))
            continue
        rows.append((reader.line_num, {name: cell.strip() for name, cell in zip(units, cells)}))
    if not rows and not faults:
        faults.append(Fault(path.name, None, None, "no rows", "at least one row"))
    return TextTable(path.name, units, rows), faults


class _OnceLoader(yaml.SafeLoader):
    """PyYAML's safe loader, which also refuses a key that stands twice in a mapping."""

    def construct_mapping(self, node, deep=False):
        seen = set()
        for key_node, _ in node.value:
            key = self.construct_object(key_node, deep=True)
            if not isinstance(key, Hashable):
                continue  # refused by the safe loader itself
            if key in seen:
                raise yaml.constructor.ConstructorError(None, None, f"key '{key}' twice", key_node.start_mark)
            seen.add(key)
        return super().construct_mapping(node, deep)


def read_yaml(path: Path) -> Any:
    """Read a YAML document with plain values only; anchors and aliases are refused.

    Raises InputFaults for a missing, unreadable or overlarge file.
    """
    try:
        content = path.read_text(encoding="utf-8-sig")
        if len(content) > _LARGEST_YAML:
            raise InputFaults([Fault(path.name, None, None, f"{len(content)} characters", f"at most {_LARGEST_YAML}")])
        if any(isinstance(token, (yaml.AliasToken, yaml.AnchorToken)) for token in yaml.scan(content, yaml.SafeLoader)):
            raise InputFaults([Fault(path.name, None, None, "an anchor or alias", "plain values")])
        return yaml.load(content, _OnceLoader)  # noqa: S506  (a SafeLoader)
    except FileNotFoundError:
        raise InputFaults([Fault(path.name, None, None, "no such file", f"a file {path.name} in {path.parent}")]) from None
    except UnicodeDecodeError as problem:
        raise InputFaults([Fault(path.name, None, None, f"byte {problem.start} is not UTF-8", "text in UTF-8")]) from None
    except yaml.YAMLError as problem:
        mark = getattr(problem, "problem_mark", None)
        what = getattr(problem, "problem", None) or "unreadable YAML"
        raise InputFaults([Fault(path.name, mark.line + 1 if mark else None, None, str(what), "a YAML mapping")]) from None
