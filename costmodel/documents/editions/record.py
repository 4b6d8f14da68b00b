"""A release: the figures that are handed out, as a small file for review, with a fingerprint of itself only."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from ...core.faults import Fault, InputFaults, nearest
from ...core.whole_files import RELEASE_BEGINS
from .allowed import EDITIONS, begins_an_allowed, unit_for

HEAD = ("title", "edition", "currency", "version", "made_on", "fingerprint")
WIDENED = ("figure", "value", "unit", "by", "date", "why")
FIGURE = ("name", "value", "unit")


@dataclass(frozen=True, slots=True)
class Disclosed:
    """A figure that is handed out: a number, a text, a list of them, rows of texts, or None where there is none."""

    name: str
    value: Any
    unit: str


@dataclass(frozen=True, slots=True)
class Widening:
    """A figure disclosed beyond the allow-list: who widened it, when and why."""

    figure: str
    value: Any
    unit: str
    by: str
    date: str
    why: str


@dataclass(frozen=True, slots=True)
class Release:
    """All that an external edition is made from."""

    title: str
    edition: str
    currency: str
    version: str
    made_on: str
    figures: tuple[Disclosed, ...]
    widened: tuple[Widening, ...] = ()

    @property
    def fingerprint(self) -> str:
        """Twelve hexadecimal digits over what is disclosed, but for the day; other inputs cannot move it.

        >>> one = Release("t", "licensee", "EUR", "1", "2026-11-02", (Disclosed("product.steps", 3, ""),))
        >>> one.fingerprint == Release("t", "licensee", "EUR", "1", "2026-12-24", one.figures).fingerprint
        True
        """
        figures, widened = _lines(self)
        content = [self.title, self.edition, self.currency, self.version, [*figures, *widened]]
        return hashlib.sha256(json.dumps(content).encode()).hexdigest()[:12]


def _line(record: Any, names: tuple[str, ...]) -> str:
    return "{" + ", ".join(f"{name}: {json.dumps(getattr(record, name), ensure_ascii=False)}" for name in names) + "}"


def _lines(release: Release) -> tuple[list[str], list[str]]:
    """A line for each figure of the allow-list, and for each beyond it."""
    figures = sorted(release.figures, key=lambda each: each.name), sorted(release.widened, key=lambda each: each.figure)
    return [f"- {_line(each, FIGURE)}" for each in figures[0]], [f"- {_line(each, WIDENED)}" for each in figures[1]]


def as_text(release: Release) -> str:
    """The release as YAML, sorted, a line for each figure."""
    figures, widened = _lines(release)
    head = [f"{name}: {json.dumps(getattr(release, name), ensure_ascii=False)}" for name in HEAD]
    return "\n".join(
        [RELEASE_BEGINS, *head,
         "widened:" if widened else "widened: []", *widened, "figures:", *figures, ""]
    )  # fmt: skip


def read_release(path: Path) -> Release:
    """Read a release and check it against its fingerprint and the allow-list. Raises InputFaults with every fault."""
    file, content = path.name, _content(path)
    if content["edition"] not in EDITIONS:
        allowed = f"{' or '.join(EDITIONS)}{nearest(str(content['edition']), EDITIONS)}"
        raise InputFaults([Fault(file, None, "edition", f"'{content['edition']}'", allowed)])
    faults = [
        Fault(file, None, place, f"{row!r}", f"a line with {', '.join(names)}")
        for place, names in (("figures", FIGURE), ("widened", WIDENED))
        for row in content[place]
        if not isinstance(row, Mapping) or set(row) != set(names)
    ]
    if faults:
        raise InputFaults(faults)
    title, edition, currency, version, made_on = (str(content[name]) for name in HEAD[:-1])
    figures = tuple(Disclosed(**row) for row in content["figures"])
    release = Release(title, edition, currency, version, made_on, figures, tuple(Widening(**row) for row in content["widened"]))
    faults = [
        Fault(file, None, "figures", f"'{each.name}'", f"a figure that the {edition} edition may disclose")
        for each in figures
        if unit_for(edition, each.name) is None and not (each.value in (None, []) and begins_an_allowed(edition, each.name))
    ]
    if content["fingerprint"] != release.fingerprint:
        allowed = "a release as it was written: make it anew rather than change it"
        faults.append(Fault(file, None, "fingerprint", f"'{content['fingerprint']}', which is not that of the rest", allowed))
    if faults:
        raise InputFaults(faults)
    return release


def _content(path: Path) -> Mapping[str, Any]:
    """The content of a release file. Raises InputFaults."""
    wanted = (*HEAD, "widened", "figures")
    try:
        content = yaml.safe_load(path.read_text(encoding="utf-8"))
    except OSError as problem:
        raise InputFaults([Fault(str(path), None, None, f"nothing to read ({problem.strerror})", "a release")]) from None
    except (yaml.YAMLError, ValueError, LookupError, AttributeError, RecursionError):  # of odd scalars, its reader raises anything
        raise InputFaults([Fault(path.name, None, None, "no YAML", "a release as `costmodel release` writes it")]) from None
    if not isinstance(content, Mapping) or set(content) != set(wanted):
        raise InputFaults([Fault(path.name, None, None, "another document", f"a release, with {', '.join(wanted)}")])
    return content


def flat(value: Any, name: str = "") -> dict[str, Any]:
    """Facts by name: places of lists of records in two digits or more; lists of plain values stay whole.

    >>> flat({"a": {"b": 1}, "c": [{"d": 2}], "e": [1, 2]})
    {'a.b': 1, 'c.00.d': 2, 'e': [1, 2]}
    """
    below: dict[str, Any] = value if isinstance(value, dict) else {}
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        below = {f"{number:02d}": each for number, each in enumerate(value)}
    if not below:
        return {name: value}
    found: dict[str, Any] = {}
    for key, each in below.items():
        # a point in a word of the model would be taken for a step of the path
        found |= flat(each, f"{name}.{key.replace('.', ':')}" if name else key)
    return found


def nested(names: Mapping[str, Any]) -> Any:
    """The inverse of `flat`: names in the order given, places of lists in theirs.

    >>> nested({"c.01.d": 3, "c.00.d": 2, "a.b": 1})
    {'c': [{'d': 2}, {'d': 3}], 'a': {'b': 1}}
    """
    tree: dict[str, Any] = {}
    for name in names:
        *above, last = name.split(".")
        at = tree
        for part in above:
            at = at.setdefault(part, {})
        at[last.replace(":", ".")] = names[name]
    return _lists(tree)


def _lists(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    made = {key: _lists(each) for key, each in value.items()}
    return [made[key] for key in sorted(made, key=int)] if made and all(key.isdigit() for key in made) else made
