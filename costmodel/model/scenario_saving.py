"""Saving changes and choices as a scenario: a new file, written whole or not at all, that reads back to the same inputs."""

from __future__ import annotations

import contextlib
import os
import re
import uuid
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from ..case.changes import with_units
from ..case.differences import same_inputs
from ..case.load import load_case
from ..case.rows import IDENTIFIER
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.whole_files import put_new
from .scenarios import AS_BOUGHT, DESIGNED, Scenario, open_case, opened, other_choices, read_document, read_scenario, text_changes


class Words(NamedTuple):
    """What a person writes of a scenario: the name of its file, a title, the story."""

    name: str
    title: str
    story: str


def save_scenario(
    folder: str | Path,
    words: Words,
    changes: Mapping[str, Any] | None = None,
    use: Mapping[str, str] | None = None,
    base: str | None = None,
    shown: Case | None = None,
    plant: str | None = None,
) -> Path:
    """Write changes and choices as scenarios/NAME.yaml, a new file; what stands in the folder is never rewritten.

    The changes are texts such as `12 min`, as `open_case` takes them; those of the scenario `base` are merged into the file, a
    later change in place of an earlier one. Each number is written with its unit. The file is written whole or not at all, and
    only where reading it gives exactly the same inputs. `shown` is the case that a person looks at while saving: where the
    folder no longer says the same, nothing is saved. `plant` is one of `PLANTS`; without it what the base says, else designed.
    Returns the path.

    Raises InputFaults for a name that is taken or no name, a text that is missing, no change at all, every faulty change, and
    a place where nothing can be written.

    >>> save_scenario("inputs_demo/facade", Words("dear_silver", "a title", "a story"), {"site.crews": "3"})
    Traceback (most recent call last):
    ...
    costmodel.core.faults.InputFaults: 1 fault in the inputs
    scenarios/dear_silver.yaml: found a file of that name; allowed: another name: files are never rewritten
    """
    name, title, story = words
    file, place = f"scenarios/{name}.yaml", Path(folder) / "scenarios" / f"{name}.yaml"
    changes, use = dict(changes or {}), dict(use or {})
    start = open_case(folder, base)
    faults = list(_refused_words(file, place, name, {"title": title, "story": story, **changes}))
    plant = plant or (read_scenario(folder, base).plant if base else DESIGNED)
    if plant == AS_BOUGHT:
        faults += [*other_choices(use, file), *text_changes(start, changes, file)]
    if faults:
        raise InputFaults(faults)
    start = open_case(folder, base, plant=plant)
    wanted = open_case(folder, base, changes, use, plant)
    if same_inputs(start, wanted):
        beside = "the tables" if base is None else f"scenario {base}"
        raise InputFaults([Fault(file, None, None, "no change", f"at least one input or choice other than in {beside}")])
    if shown is not None and not same_inputs(shown, wanted):
        allowed = "the case as it was opened; open it again, with its scenario, and make the changes there"
        raise InputFaults([Fault(file, None, None, "tables that have changed since, or another case", allowed)])
    merged = _merged(folder, base, changes, use, plant)
    content: dict[str, Any] = {"title": title, "story": story, "plant": plant}
    content |= {key: value for key, value in (("use", merged.use), ("set", merged.changes)) if value}
    with _draft_beside(place, yaml.dump(content, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110)) as draft:
        read = read_document(draft, file)
        if (read.title, read.story) != (title, story) or not same_inputs(wanted, opened(folder, name, read, {})):
            raise InputFaults([Fault(file, None, None, "a text that YAML does not give back", "plain texts and values")])
        _put_in_place(draft, place)
    return place


class _Dumper(yaml.SafeDumper):
    """PyYAML's safe dumper, with texts of several lines as a block; rare line ends, which it would fold, are written as escapes."""


def _style(text: str) -> str | None:
    return '"' if re.search("[\x85\u2028\u2029]", text) else "|" if "\n" in text else None


_Dumper.add_representer(str, lambda dumper, text: dumper.represent_scalar("tag:yaml.org,2002:str", text, style=_style(text)))


def _refused_words(file: str, place: Path, name: str, texts: Mapping[str, Any]) -> Iterator[Fault]:
    """What is wrong with the name and the texts of a scenario to be saved."""
    if not IDENTIFIER.fullmatch(name):
        allowed = "a name of small letters, digits and _ that begins with a letter"
        yield Fault("scenarios", None, None, f"'{name}' as the name of a scenario", allowed)
    elif os.path.lexists(place):
        yield _taken(place)
    for key, text in texts.items():
        if not str(text).strip():
            yield Fault(file, None, key, "nothing", f"a value for '{key}'")
        elif any("\ud800" <= letter <= "\udfff" for letter in str(text)):
            yield Fault(file, None, key, "a character that is no text", "text in UTF-8")


def _merged(folder: str | Path, base: str | None, changes: Mapping[str, Any], use: Mapping[str, str], plant: str) -> Scenario:
    """The changes of the base, then the later ones over them, each number with its unit."""
    earlier = read_scenario(folder, base) if base else Scenario(title="", story="", plant=plant)
    chosen = {**earlier.use, **use}
    tables = load_case(folder, chosen)
    now = open_case(folder, base, use=use)
    stated: dict[str, str | int | float] = {**with_units(tables, earlier.changes), **with_units(now, changes)}
    return Scenario(title="", story="", plant=plant, use=chosen, set=stated)


@contextlib.contextmanager
def _draft_beside(place: Path, content: str) -> Iterator[Path]:
    """A file with the content in the folder of `place`, under a passing name. Raises InputFaults where none can be made."""
    draft, is_new = place.parent / f".{place.stem}_{uuid.uuid4().hex}.part", not place.parent.exists()
    try:
        place.parent.mkdir(exist_ok=True)
        try:
            with open(draft, "x", encoding="utf-8", newline="\n") as file:
                file.write(content)
            yield draft
        finally:
            draft.unlink(missing_ok=True)
            if is_new and not any(place.parent.iterdir()):
                place.parent.rmdir()
    except OSError as problem:
        found, allowed = f"no place to write ({problem.strerror})", "a case folder that can be written to"
        raise InputFaults([Fault(f"scenarios/{place.name}", None, None, found, allowed)]) from None


def _put_in_place(draft: Path, place: Path) -> None:
    """Give the written draft its name in one go, and only where no file has it, even if two save at once. Raises InputFaults."""
    try:
        put_new(draft, place)
    except FileExistsError:
        raise InputFaults([_taken(place)]) from None


def _taken(place: Path) -> Fault:
    return Fault(f"scenarios/{place.name}", None, None, "a file of that name", "another name: files are never rewritten")
