"""All faults of a case folder at once: of the case as it stands, of every other choice, and of every scenario."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from ..case.alternatives import FOLDER, groups, read_choice, use_in
from ..case.changes import changes_at_fault, without_unit
from ..case.deal_rounds import read_round, round_faults, round_names
from ..case.load import load_case, read_case
from ..case.read_once import files_read_once
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from .scenarios import AS_BOUGHT, open_case, read_scenario, scenario_names, stray_scenarios, text_changes


def folder_faults(folder: str | Path, use: Mapping[str, str] | None = None) -> list[Fault]:
    """Every fault of a case folder, each once; no faults is an empty list.

    Each choice that is not in use is put in place of the one in use, group by group, and each scenario on the case. A fault
    that only one of them brings about in a table of the case says which.

    >>> folder_faults("inputs_demo/facade")
    []
    """
    with files_read_once():
        return _folder_faults(Path(folder), use)


def _folder_faults(folder: Path, use: Mapping[str, str] | None) -> list[Fault]:
    try:
        base = read_case(folder, use)
    except InputFaults as problem:
        return list(problem.faults)
    found = list(base.faults) or _faults_of(lambda: load_case(folder, use))
    seen = {_place(fault) for fault in found}

    def add(place: str, faults: Iterable[Fault]) -> None:
        """Keep faults that are new; those of a table of the case say with what they come."""
        for fault in faults:
            if _place(fault) not in seen:
                seen.add(_place(fault))
                own = fault.file.startswith(place)
                found.append(fault if own else dataclasses.replace(fault, found=f"{fault.found} (with {place})"))

    in_use = {(choice.group, choice.name) for choice in base.choices}
    for group, names in groups(folder).items():
        for name in names:
            if (group, name) not in in_use:
                other = {**(use or {}), group: name}
                faults = read_case(folder, other).faults or _faults_of(lambda other=other: load_case(folder, other))
                add(f"{FOLDER}/{group}/{name}", faults)
    found.extend(stray_scenarios(folder))
    for name in scenario_names(folder):
        add(f"scenarios/{name}.yaml", _scenario_faults(folder, name, use))
    for place, faults in round_faults(folder, base.case, base.unread, whole=not base.faults):
        add(place, faults)
    return found


def numbers_without_unit(folder: Path, case: Case) -> Iterator[str]:
    """Numbers that a scenario, a choice or a round sets without a unit, though the input has one: each with how it is read.

    >>> list(numbers_without_unit(Path("inputs_demo/facade"), load_case("inputs_demo/facade")))
    []
    """
    for name in scenario_names(folder):
        scenario = read_scenario(folder, name)
        yield from without_unit(load_case(folder, scenario.use), scenario.changes, f"scenarios/{name}.yaml")
    for group, names in groups(folder).items():
        for choice in (read_choice(folder, group, name) for name in names):
            yield from without_unit(case, choice.changes, f"{choice.place}/choice.yaml")
    for name in round_names(folder):
        yield from without_unit(case, read_round(folder, name).changes, f"rounds/{name}.yaml")


def _scenario_faults(folder: Path, name: str, use: Mapping[str, str] | None) -> list[Fault]:
    """The faults of a case with a scenario, those of the case among them."""
    try:
        scenario = read_scenario(folder, name)
    except InputFaults as problem:
        return list(problem.faults)
    origin = f"scenarios/{name}.yaml"
    read = read_case(folder, {**scenario.use, **(use or {})})
    if not read.faults:
        return _faults_of(lambda: open_case(folder, name, use=use))
    faults = use_in(read.faults, scenario.use, use or {}, origin)
    texts = text_changes(read.case, scenario.changes, origin) if scenario.plant == AS_BOUGHT else []
    return [*faults, *texts, *changes_at_fault(read.case, scenario.changes, origin, read.unread)]


def _faults_of(read) -> list[Fault]:
    try:
        read()
    except InputFaults as problem:
        return list(problem.faults)
    return []


def _place(fault: Fault) -> tuple[str, int | None, str | None]:
    """Where a fault is; of a case with another choice the same place may be told in other words."""
    return fault.file, fault.row, fault.column
