"""The choices of a group of alternatives side by side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ..case.alternatives import groups
from ..case.records import Case
from ..case.scenarios import open_case
from ..faults import Fault, InputFaults, nearest
from ..model import Results, evaluate


@dataclass(frozen=True)
class Outcome:
    """A case with one choice in use, and its figures."""

    choice: str
    title: str
    case: Case
    results: Results


def choice_names(folder: Path, group: str) -> list[str]:
    """The choices of a group. Raises InputFaults for a group that the case has not."""
    known = groups(folder)
    if group not in known:
        allowed = f"one of {', '.join(known) or 'none: the case has no alternatives'}{nearest(group, known)}"
        raise InputFaults([Fault("alternatives", None, None, f"'{group}'", allowed)])
    return known[group]


def outcomes(
    folder: Path,
    group: str,
    scenario: str | None = None,
    changes: Mapping[str, str] | None = None,
    use: Mapping[str, str] | None = None,
) -> list[Outcome]:
    """Evaluate a case once for each choice of a group, all else equal; tools are sized for each.

    Raises InputFaults for an unknown group, and where a choice has faults.

    >>> [o.choice for o in outcomes(Path("inputs_demo/facade"), "back_contact")]
    ['aluminium', 'silver']
    """
    found = []
    for choice in choice_names(folder, group):
        case = open_case(folder, scenario, changes, {**(use or {}), group: choice})
        found.append(Outcome(choice, case.use[group], case, evaluate(case)))
    return found
