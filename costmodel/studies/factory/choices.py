"""The choices of a group of alternatives side by side, and what differs between them by kind of cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ...case.alternatives import EXCLUDES, groups
from ...case.whole_case import Case
from ...core.faults import Fault, InputFaults, nearest
from ...model.evaluate import Results, evaluate
from ...model.ledger.ledger_figures import KINDS_OF_COST
from ...model.scenarios import open_case
from .basis import cost_on_basis


@dataclass(frozen=True)
class Outcome:
    """A case with one choice in use, and its figures."""

    choice: str
    title: str
    case: Case
    results: Results


@dataclass(frozen=True)
class Difference:
    """What one choice costs more than the one in use: by kind, on the basis of the target; and the equipment that differs."""

    outcome: Outcome
    in_use: Outcome
    total: float
    by_kind: Mapping[str, float]
    equipment: Mapping[str, tuple[float, float]]


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
    """Evaluate a case once for each choice of a group that goes with the other choices in use; tools are sized for each.

    Raises InputFaults for an unknown group, and where a choice has faults.

    >>> [o.choice for o in outcomes(Path("inputs_demo/facade"), "back_contact")]
    ['aluminium', 'silver']
    """
    return side_by_side(folder, group, scenario, changes, use)[0]


def side_by_side(
    folder: Path,
    group: str,
    scenario: str | None = None,
    changes: Mapping[str, str] | None = None,
    use: Mapping[str, str] | None = None,
) -> tuple[list[Outcome], dict[str, str]]:
    """The outcomes of a group, and by choice the reason why another cannot be combined with the choices in use.

    Raises InputFaults as `outcomes` does.
    """
    found, left_out = [], {}
    for choice in choice_names(folder, group):
        try:
            case = open_case(folder, scenario, changes, {**(use or {}), group: choice})
        except InputFaults as problem:
            if any(not (fault.column or "").startswith(f"{EXCLUDES}.") for fault in problem.faults):
                raise
            left_out[choice] = "; ".join(fault.found.partition("; ")[2] for fault in problem.faults)
            continue
        found.append(Outcome(choice, case.use[group], case, evaluate(case)))
    return found, left_out


def differences(found: Sequence[Outcome], in_use: str) -> list[Difference]:
    """Each choice held against the one in use, given by its title; none where that one is not among them.

    >>> found = outcomes(Path("inputs_demo/facade"), "back_contact")
    >>> [(d.outcome.choice, d.by_kind["materials"] < 0) for d in differences(found, "silver")]
    [('aluminium', True)]
    """
    chosen = next((outcome for outcome in found if outcome.title == in_use), None)
    return [_difference(outcome, chosen) for outcome in found if chosen and outcome is not chosen]


def _difference(outcome: Outcome, in_use: Outcome) -> Difference:
    mine, theirs = (_by_kind(each) for each in (outcome, in_use))
    have, had = (_equipment(each.results) for each in (outcome, in_use))
    counts = {place: (had.get(place, 0.0), have.get(place, 0.0)) for place in {**had, **have}}
    totals = [cost_on_basis(each.case, each.results.ledger.total) for each in (outcome, in_use)]
    return Difference(
        outcome,
        in_use,
        totals[0] - totals[1],
        {kind: mine[kind] - theirs[kind] for kind in KINDS_OF_COST},
        {place: (before, after) for place, (before, after) in counts.items() if before != after},
    )


def _by_kind(outcome: Outcome) -> dict[str, float]:
    """Cost on the basis of the target by kind, with yield loss taken out of the others."""
    total = outcome.results.ledger.total
    times = cost_on_basis(outcome.case, total) / total.cost_per_stabilised_watt if total.cost else 0.0
    by_step = outcome.results.ledger.matrix_per_stabilised_watt.values()
    return {kind: sum(row[kind] for row in by_step) * times for kind in KINDS_OF_COST}


def _equipment(results: Results) -> dict[str, float]:
    """Tools and carriers in the plant by `tools.ID` or `carriers.ID`."""
    line = results.line
    both = {f"tools.{n}": use for n, use in line.tools.items()} | {f"carriers.{n}": use for n, use in line.carriers.items()}
    return {place: use.tools for place, use in both.items()}
