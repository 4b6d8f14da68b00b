"""Scenarios: a title, a story and changed values, kept as small YAML files beside the tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..faults import Fault, InputFaults, nearest
from .alternatives import use_in
from .changes import apply_written
from .files import document_faults, is_like_a_table, read_yaml
from .load import load_case
from .records import Case


class Scenario(BaseModel):
    """A scenario as its file states it.

    `use` maps groups of alternatives to choices; `set` maps addresses to texts such as `12 min`, or numbers in the table's unit.
    """

    model_config = ConfigDict(strict=True, extra="forbid")
    title: str
    story: str
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
    try:
        return Scenario.model_validate(read_yaml(path, f"scenarios/{name}.yaml"))
    except ValidationError as problem:
        allowed = ("title", "story", "use", "set")
        raise InputFaults(document_faults(f"scenarios/{name}.yaml", problem, dict.fromkeys(allowed))) from None


def open_case(
    folder: str | Path, scenario: str | None = None, changes: Mapping[str, str] | None = None, use: Mapping[str, str] | None = None
) -> Case:
    """Read a case with the choices of a scenario, apply its changes, then single changes; each is checked like any input.

    `use` overrides choices of the case and the scenario, group by group. Raises InputFaults.

    >>> open_case("inputs_demo/facade", changes={"product.stabilisation_ratio": "80 %"}).product.stabilisation_ratio
    0.8
    """
    chosen = read_scenario(folder, scenario) if scenario else None
    try:
        case = load_case(folder, {**(chosen.use if chosen else {}), **(use or {})})
    except InputFaults as problem:
        raise InputFaults(use_in(problem.faults, chosen.use if chosen else {}, use or {}, f"scenarios/{scenario}.yaml")) from None
    if chosen:
        case = apply_written(case, chosen.changes, f"scenarios/{scenario}.yaml", f"scenario {scenario}")
        case = dataclasses.replace(case, title=f"{case.title}: {chosen.title}", story=f"{case.story.strip()}\n\n{chosen.story}")
    if changes:
        case = apply_written(case, changes, "--set", "--set")
    return case
