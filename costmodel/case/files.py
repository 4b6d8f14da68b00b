"""The files of a case as texts: CSV tables with a unit in brackets behind a column's name, and YAML documents."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from pydantic import ValidationError

from ..faults import Fault, InputFaults, nearest

_HEADER = re.compile(r"\s*([^\[\]]+?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*")
_LARGEST_YAML = 1_000_000
_MOST_BRACKETS = 500  # deep nesting takes the reader very long


@dataclass(frozen=True, slots=True)
class TextTable:
    """A table as it stands in its file: units by column name, and rows of texts with their line numbers."""

    file: str
    units: dict[str, str | None]
    rows: list[tuple[int, dict[str, str]]]


def read_table(path: Path, shown: str = "") -> tuple[TextTable, list[Fault]]:
    """Read a CSV table; blank rows are passed over. `shown` is the name that faults bear, else the file's own.

    Returns the table and the faults found: a missing file, an unreadable header, a row of another length.
    """
    file = shown or path.name
    try:
        content = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return TextTable(file, {}, []), [Fault(file, None, None, "no such file", f"a table {path.name} in {path.parent}")]
    except OSError as problem:
        return TextTable(file, {}, []), [Fault(file, None, None, f"unreadable: {problem.strerror}", "a readable file")]
    except UnicodeDecodeError as problem:
        return TextTable(file, {}, []), [Fault(file, None, None, f"byte {problem.start} is not UTF-8", "text in UTF-8")]
    try:
        return _parse_table(file, content)
    except csv.Error as problem:
        return TextTable(file, {}, []), [Fault(file, None, None, f"unreadable CSV ({problem})", "cells parted by commas")]


def _parse_table(file: str, content: str) -> tuple[TextTable, list[Fault]]:
    reader = csv.reader(io.StringIO(content))
    header = next(reader, [])
    units, faults = _parse_header(file, header)
    if faults:
        return TextTable(file, units, []), faults
    rows = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            faults.append(Fault(file, reader.line_num, None, f"{len(cells)} cells", f"{len(header)} cells, as in the header"))
            continue
        rows.append((reader.line_num, {name: cell.strip() for name, cell in zip(units, cells)}))
    if not rows and not faults:
        faults.append(Fault(file, None, None, "no rows", "at least one row"))
    return TextTable(file, units, rows), faults


def _parse_header(file: str, header: list[str]) -> tuple[dict[str, str | None], list[Fault]]:
    """The names of columns with their units."""
    units: dict[str, str | None] = {}
    faults = []
    for cell in header:
        match = _HEADER.fullmatch(cell)
        if not match:
            faults.append(
                Fault(file, 1, None, f"header '{cell}'", "a name, or a name and a unit as in `life [year]`; commas between columns")
            )
        elif match.group(1) in units:
            faults.append(Fault(file, 1, match.group(1), "the column twice", "each column once"))
        else:
            units[match.group(1)] = match.group(2)
    return units, faults


class _OnceLoader(yaml.SafeLoader):
    """PyYAML's safe loader, which leaves dates as texts and refuses a key that stands twice in a mapping."""

    yaml_implicit_resolvers = {
        first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
        for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
    }

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


def read_yaml(path: Path, shown: str = "") -> Any:
    """Read a YAML document with plain values only; anchors and aliases are refused. `shown` is the name that faults bear.

    Raises InputFaults for a missing, unreadable or overlarge file.
    """
    file = shown or path.name
    try:
        content = path.read_text(encoding="utf-8-sig")
        if len(content) > _LARGEST_YAML:
            raise InputFaults([Fault(file, None, None, f"{len(content)} characters", f"at most {_LARGEST_YAML}")])
        brackets = content.count("[") + content.count("{")
        if brackets > _MOST_BRACKETS:
            raise InputFaults([Fault(file, None, None, f"{brackets} brackets", f"at most {_MOST_BRACKETS}")])
        if any(isinstance(token, (yaml.AliasToken, yaml.AnchorToken)) for token in yaml.scan(content, yaml.SafeLoader)):
            raise InputFaults([Fault(file, None, None, "an anchor or alias", "plain values")])
        return yaml.load(content, _OnceLoader)
    except FileNotFoundError:
        raise InputFaults([Fault(file, None, None, "no such file", f"a file {file} in {path.parent}")]) from None
    except UnicodeDecodeError as problem:
        raise InputFaults([Fault(file, None, None, f"byte {problem.start} is not UTF-8", "text in UTF-8")]) from None
    except OSError as problem:
        raise InputFaults([Fault(file, None, None, f"unreadable: {problem.strerror}", "a readable file")]) from None
    except (ValueError, RecursionError) as problem:
        raise InputFaults([Fault(file, None, None, f"unreadable YAML ({problem})", "a YAML mapping of plain values")]) from None
    except yaml.YAMLError as problem:
        mark = getattr(problem, "problem_mark", None)
        what = getattr(problem, "problem", None) or "unreadable YAML"
        raise InputFaults([Fault(file, mark.line + 1 if mark else None, None, str(what), "a YAML mapping")]) from None


_WANTED = {"dict_type": "a mapping", "model_type": "a mapping", "string_type": "a text", "list_type": "a list"}


def document_faults(file: str, problem: ValidationError, allowed: Mapping[str, Any]) -> list[Fault]:
    """The faults of a YAML document in our own words."""
    faults = []
    for error in problem.errors():
        name = ".".join(str(part) for part in error["loc"]) or "the document"
        if error["type"] == "extra_forbidden":
            faults.append(Fault(file, None, name, "an unknown name", f"{', '.join(allowed)}{nearest(name, allowed)}"))
        elif error["type"] == "missing":
            faults.append(Fault(file, None, name, "nothing", f"a value for '{name}'"))
        else:
            faults.append(Fault(file, None, name, f"{error['input']!r}", _WANTED.get(error["type"], error["msg"].lower())))
    return faults
