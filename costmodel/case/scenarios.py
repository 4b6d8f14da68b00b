"""Scenarios: a title, a story and changed values, kept as small YAML files beside the tables."""
from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..faults import Fault, InputFaults, nearest
from ..operations import Value
from .addresses import parse_changes, with_values
from .consistency import check_consistency
from .files import read_yaml
from .load import document_faults, load_case
from .records import Case, Evidence


class Scenario(BaseModel):
    """A scenario as its file states it: `set` maps addresses to texts such as `12 min`, or numbers in the table's unit."""

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
    changes: dict[str, str | int | float] = Field(alias="set")


def scenario_names(folder: str | Path) -> list[str]:
    """The names of the scenarios of a case folder.

    >>> "dear_silver" in scenario_names("inputs_demo/facade")
    True
    """
    return sorted(path.stem for path in (Path(folder) / "scenarios").glob("*.yaml"))


def read_scenario(folder: str | Path, name: str) -> Scenario:
    """Read a scenario by its name. Raises InputFaults."""
    path = Path(folder) / "scenarios" / f"{name}.yaml"
    if not path.is_file():
        known = scenario_names(folder)
        raise InputFaults([Fault(f"scenarios/{name}.yaml", None, None, "no such scenario",
                                 f"one of {', '.join(known) or 'none'}{nearest(name, known)}")])
    try:
        return Scenario.model_validate(read_yaml(path))
    except ValidationError as problem:
        allowed = ("title", "story", "set")
        raise InputFaults(document_faults(f"scenarios/{name}.yaml", problem, dict.fromkeys(allowed))) from None


def open_case(folder: str | Path, scenario: str | None = None, changes: Mapping[str, str] | None = None) -> Case:
    """Read a case, then apply a scenario, then single changes; each is checked like any input.

    Raises InputFaults.

    >>> open_case("inputs_demo/facade", changes={"product.stabilisation_ratio": "80 %"}).product.stabilisation_ratio
    0.8
    """
    case = load_case(folder)
    if scenario:
        chosen = read_scenario(folder, scenario)
        case = _changed(case, chosen.changes, f"scenarios/{scenario}.yaml", f"scenario {scenario}")
        case = dataclasses.replace(case, title=f"{case.title}: {chosen.title}", story=f"{case.story.strip()}\n\n{chosen.story}")
    if changes:
        case = _changed(case, changes, "--set", "--set")
    return case


def _changed(case: Case, written: Mapping[str, Value], origin: str, source: str) -> Case:
    """The case with changes applied and noted: a changed row keeps its evidence, with the change named as its source."""
    values = parse_changes(case, written, origin)
    case = with_values(case, values)
    evidence = dict(case.evidence)
    for address in values:
        place = address.rsplit(".", 1)[0]
        old = evidence[place]
        evidence[place] = Evidence(kind="estimate" if old.kind != "invented" else "invented",
                                   source=f"{old.source}; {address.rsplit('.', 1)[1]} set by {source}", date=old.date, by=old.by)
    case = dataclasses.replace(case, evidence=evidence)
    faults = check_consistency(case, {})
    if faults:
        raise InputFaults(faults)
    return case
