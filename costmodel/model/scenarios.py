"""Scenarios: a title, a story, the plant and changed values, kept as small YAML files beside the tables.

A scenario is a design, for which tools are sized, or an event that hits the plant as bought: tools sized at the values of the
case, then left as they are. An event moves numbers only.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ..case.addresses import BadAddress, input_at
from ..case.alternatives import use_in
from ..case.changes import supposing
from ..case.deal_rounds import DRAFT, at_round
from ..case.files import document_faults, is_like_a_table, read_yaml
from ..case.load import load_case
from ..case.read_once import once
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults, nearest
from ..core.fields import Text
from .as_bought import as_bought

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
    return read_document(path, f"scenarios/{name}.yaml")


def read_document(path: Path, shown: str) -> Scenario:
    """Read a scenario from a file; faults bear the name `shown`. Raises InputFaults."""
    try:
        found = Scenario.model_validate(once(path, lambda: read_yaml(path, shown)))
    except ValidationError as problem:
        names = ("title", "story", "plant", "use", "set")
        faults = document_faults(shown, problem, dict.fromkeys(names))
        raise InputFaults([dataclasses.replace(f, allowed=_ALLOWED) if f.column == "plant" else f for f in faults]) from None
    faults = []
    if found.plant not in PLANTS:
        faults.append(Fault(shown, None, "plant", f"'{found.plant}'", f"{_ALLOWED}{nearest(found.plant, PLANTS)}"))
    if found.plant == AS_BOUGHT:
        faults += other_choices(found.use, shown)
    if faults:
        raise InputFaults(faults)
    return found


def other_choices(use: Mapping[str, str], shown: str) -> list[Fault]:
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
    terms: str = DRAFT,
) -> Case:
    """Read a case with the choices of a scenario, apply its changes, then single changes; each is checked like any input.

    `terms` names a round of the negotiation whose terms are taken, before single changes; `draft` are those of deal.yaml.

    `use` overrides choices of the case and the scenario, group by group. `plant`, one of `PLANTS`, overrides what the scenario
    says of it; as bought, the tools are sized before any change. Raises InputFaults.

    >>> open_case("inputs_demo/facade", changes={"product.stabilisation_ratio": "80 %"}).product.stabilisation_ratio
    0.8
    """
    chosen = read_scenario(folder, scenario) if scenario else None
    case = at_round(folder, opened(folder, scenario or "", chosen, use or {}, plant), terms)
    if changes:
        case = supposing(case, changes, "--set", "--set")
    if changes and case.version:
        draft = case.version.draft
        known = {a: value for a, value in changes.items() if _is_known(draft, a)}
        case = dataclasses.replace(case, version=dataclasses.replace(case.version, draft=supposing(draft, known, "--set", "--set")))
    return case


def _is_known(case: Case, address: str) -> bool:
    """Whether a case has an input at an address; rows that a round adds are not in the draft."""
    try:
        input_at(case, address)
    except BadAddress:
        return False
    return True


def opened(folder: str | Path, name: str, scenario: Scenario | None, use: Mapping[str, str], plant: str | None = None) -> Case:
    """A case with the choices and changes of a scenario that was read, if any."""
    chosen, file = scenario.use if scenario else {}, f"scenarios/{name}.yaml"
    stays = (plant or (scenario.plant if scenario else DESIGNED)) == AS_BOUGHT
    if stays and chosen:
        raise InputFaults(other_choices(chosen, file))
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
        public = f"{case.public_title}: scenario “{name.replace('_', ' ')}”" if case.public_title.strip() else ""
        story = f"{case.story.strip()}\n\n{scenario.story}"
        case = dataclasses.replace(case, title=title, story=story, public_title=public)
    return case
