"""Scenarios: a title, a story, the plant and changed values, kept as small YAML files beside the tables.

A scenario is a design, for which tools are sized, or an event that hits the plant as bought: tools sized at the values of the
case, then left as they are. An event moves numbers only.
"""

from __future__ import annotations

import contextlib
import dataclasses
import os
import re
import uuid
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..case.addresses import BadAddress, input_at
from ..case.alternatives import use_in
from ..case.changes import supposing, with_units
from ..case.differences import same_inputs
from ..case.files import document_faults, is_like_a_table, read_yaml
from ..case.load import load_case
from ..case.rows import IDENTIFIER
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults, nearest
from ..core.fields import Text
from .bought import as_bought

DESIGNED, AS_BOUGHT = "designed", "as_bought"
PLANTS = {
    DESIGNED: "tools are sized for the scenario",
    AS_BOUGHT: "an event: tools are sized at the values of the case, and stay when it comes",
}
ON_PLANT = "plant as bought"  # behind the title of an event
_ALLOWED = " or ".join(f"{name} ({meaning})" for name, meaning in PLANTS.items())


class Scenario(BaseModel):
    """A scenario as its file states it.

    `plant` is one of `PLANTS`. `use` maps groups of alternatives to choices; `set` maps addresses to texts such as `12 min`, or
    numbers in the table's unit.
    """

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    plant: str
    use: dict[str, str] = {}
    changes: dict[str, str | int | float] = Field(alias="set", default={})


def scenario_names(folder: str | Path) -> list[str]:
    """The names of the scenarios of a case folder.

    >>> "dear_silver" in scenario_names("inputs_demo/facade")
    True
    """
    return sorted(path.stem for path in (Path(folder) / "scenarios").glob("*.yaml"))


def stray_scenarios(folder: str | Path) -> list[Fault]:
    """Faults for what stands among the scenarios of a case and is none: a document or table of another name."""
    below = Path(folder) / "scenarios"
    return [
        Fault(f"scenarios/{path.name}", None, None, "an unknown file", "scenarios as NAME.yaml")
        for path in (sorted(below.iterdir()) if below.is_dir() else ())
        if is_like_a_table(path) and path.suffix != ".yaml"
    ]


def read_scenario(folder: str | Path, name: str) -> Scenario:
    """Read a scenario by its name. Raises InputFaults."""
    path, known = Path(folder) / "scenarios" / f"{name}.yaml", scenario_names(folder)
    if name not in known:
        raise InputFaults(
            [
                Fault(
                    f"scenarios/{name}.yaml",
                    None,
                    None,
                    "no such scenario",
                    f"one of {', '.join(known) or 'none'}{nearest(name, known)}",
                )
            ]
        )
    return _read_document(path, f"scenarios/{name}.yaml")


def _read_document(path: Path, shown: str) -> Scenario:
    """Read a scenario from a file; faults bear the name `shown`. Raises InputFaults."""
    try:
        found = Scenario.model_validate(read_yaml(path, shown))
    except ValidationError as problem:
        names = ("title", "story", "plant", "use", "set")
        faults = document_faults(shown, problem, dict.fromkeys(names))
        raise InputFaults([dataclasses.replace(f, allowed=_ALLOWED) if f.column == "plant" else f for f in faults]) from None
    faults = []
    if found.plant not in PLANTS:
        faults.append(Fault(shown, None, "plant", f"'{found.plant}'", f"{_ALLOWED}{nearest(found.plant, PLANTS)}"))
    if found.plant == AS_BOUGHT:
        faults += _other_choices(found.use, shown)
    if faults:
        raise InputFaults(faults)
    return found


def _other_choices(use: Mapping[str, str], shown: str) -> list[Fault]:
    """Refuse the choices of an event, as the plant stands when it comes."""
    allowed = f"no use in an event; another choice is a scenario with plant: {DESIGNED}"
    return [Fault(shown, None, f"use.{group}", f"'{choice}' with plant: {AS_BOUGHT}", allowed) for group, choice in use.items()]


def text_changes(case: Case, changes: Iterable[str], shown: str) -> list[Fault]:
    """Refuse the texts that an event sets: they choose another structure. What has no such address is refused elsewhere."""
    allowed = f"numbers only in an event; another text is a scenario with plant: {DESIGNED}"
    faults = []
    for address in changes:
        with contextlib.suppress(BadAddress):
            if isinstance(input_at(case, address)[0], Text):
                faults.append(Fault(shown, None, address, f"a text with plant: {AS_BOUGHT}", allowed))
    return faults


def open_case(
    folder: str | Path,
    scenario: str | None = None,
    changes: Mapping[str, str] | None = None,
    use: Mapping[str, str] | None = None,
    plant: str | None = None,
) -> Case:
    """Read a case with the choices of a scenario, apply its changes, then single changes; each is checked like any input.

    `use` overrides choices of the case and the scenario, group by group. `plant`, one of `PLANTS`, overrides what the scenario
    says of it; as bought, the tools are sized before any change. Raises InputFaults.

    >>> open_case("inputs_demo/facade", changes={"product.stabilisation_ratio": "80 %"}).product.stabilisation_ratio
    0.8
    """
    chosen = read_scenario(folder, scenario) if scenario else None
    case = _opened(folder, scenario or "", chosen, use or {}, plant)
    if changes:
        case = supposing(case, changes, "--set", "--set")
    return case


def _opened(folder: str | Path, name: str, scenario: Scenario | None, use: Mapping[str, str], plant: str | None = None) -> Case:
    """A case with the choices and changes of a scenario that was read, if any."""
    chosen, file = scenario.use if scenario else {}, f"scenarios/{name}.yaml"
    stays = (plant or (scenario.plant if scenario else DESIGNED)) == AS_BOUGHT
    if stays and chosen:
        raise InputFaults(_other_choices(chosen, file))
    try:
        case = load_case(folder, {**chosen, **use})
    except InputFaults as problem:
        raise InputFaults(use_in(problem.faults, chosen, use, file)) from None
    if stays:
        faults = text_changes(case, scenario.changes if scenario else (), file)
        if faults:
            raise InputFaults(faults)
        case = as_bought(case)
    if scenario:
        case = supposing(case, scenario.changes, file, f"scenario {name}")
        title = f"{case.title}: {scenario.title}{f' ({ON_PLANT})' if stays else ''}"
        case = dataclasses.replace(case, title=title, story=f"{case.story.strip()}\n\n{scenario.story}")
    return case


def save_scenario(
    folder: str | Path,
    name: str,
    title: str,
    story: str,
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

    >>> save_scenario("inputs_demo/facade", "dear_silver", "a title", "a story", {"site.crews": "3"})
    Traceback (most recent call last):
    ...
    costmodel.core.faults.InputFaults: 1 fault in the inputs
    scenarios/dear_silver.yaml: found a file of that name; allowed: another name: files are never rewritten
    """
    file, place = f"scenarios/{name}.yaml", Path(folder) / "scenarios" / f"{name}.yaml"
    changes, use = dict(changes or {}), dict(use or {})
    start = open_case(folder, base)
    faults = list(_refused_words(file, place, name, {"title": title, "story": story, **changes}))
    plant = plant or (read_scenario(folder, base).plant if base else DESIGNED)
    if plant == AS_BOUGHT:
        faults += [*_other_choices(use, file), *text_changes(start, changes, file)]
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
    content = {"title": title, "story": story, "plant": plant}
    content |= {key: value for key, value in (("use", merged.use), ("set", merged.changes)) if value}
    with _draft_beside(place, yaml.dump(content, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110)) as draft:
        read = _read_document(draft, file)
        if (read.title, read.story) != (title, story) or not same_inputs(wanted, _opened(folder, name, read, {})):
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
    stated = with_units(tables, earlier.changes) | with_units(now, changes)
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
        try:
            os.link(draft, place)
        except FileExistsError:
            raise
        except OSError:  # a file system without links: the name is taken first, then the draft put there
            open(place, "x").close()
            draft.replace(place)
    except FileExistsError:
        raise InputFaults([_taken(place)]) from None


def _taken(place: Path) -> Fault:
    return Fault(f"scenarios/{place.name}", None, None, "a file of that name", "another name: files are never rewritten")
