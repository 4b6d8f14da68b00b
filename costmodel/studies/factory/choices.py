"""The choices of a group of alternatives side by side: what differs by kind of cost, and where two cost the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from pathlib import Path

import numpy as np

from ...case.addresses import value_at
from ...case.alternatives import EXCLUDES, groups
from ...case.changes import with_values
from ...case.deal_rounds import DRAFT
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...core.at_work import at
from ...core.faults import Fault, InputFaults, nearest
from ...core.operations import Value
from ...model.as_bought import as_bought
from ...model.evaluate import Results, evaluate, evaluate_costs
from ...model.ledger.ledger_figures import KINDS_OF_COST, Cost
from ...model.scenarios import open_case
from ..draws import Draws, check_together
from ..many import figures_of, sound, wanted_figures
from ..solve import answers_of
from ..spread import Probability
from .full_use import capacities_of_one

COSTS = {"Wp_stabilised": "cost_per_stabilised_watt", "m2": "cost_per_m2", "module": "cost_per_module"}
NAMES = {"Wp_stabilised": "stabilised watt", "m2": "m2", "module": "module"}
SHORT = {"Wp_stabilised": "stabilised W", "m2": "m2", "module": "module"}
REACH, POINTS = 100.0, 61  # how many times the present value is looked at for a break-even, and at how many points


def cost_on_basis(case: Case, total: Cost) -> Value:
    """The cost of what the target of a case counts: a stabilised watt, a square metre or a module.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate_costs
    >>> case = load_case("inputs_demo/facade")
    >>> total = evaluate_costs(case).ledger.total
    >>> cost_on_basis(case, total) == total.cost_per_stabilised_watt
    True
    """
    return getattr(total, COSTS[case.target.basis])


Texts = Mapping[str, str] | None  # by address, or by group


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
    folder: Path, group: str, scenario: str | None = None, changes: Texts = None, use: Texts = None, terms: str = DRAFT
) -> list[Outcome]:
    """Evaluate a case once for each choice of a group that goes with the other choices in use; tools are sized for each.

    Raises InputFaults for an unknown group, and where a choice has faults.

    >>> [o.choice for o in outcomes(Path("inputs_demo/facade"), "back_contact")]
    ['aluminium', 'silver']
    """
    return side_by_side(folder, group, scenario, changes, use, terms)[0]


def side_by_side(
    folder: Path, group: str, scenario: str | None = None, changes: Texts = None, use: Texts = None, terms: str = DRAFT
) -> tuple[list[Outcome], dict[str, str]]:
    """The outcomes of a group, and by choice the reason why another cannot be combined with the choices in use.

    Raises InputFaults as `outcomes` does.
    """
    found, left_out = [], {}
    at(f"choices of {group.replace('_', ' ')}")
    for choice in choice_names(folder, group):
        try:
            case = open_case(folder, scenario, changes, {**(use or {}), group: choice}, terms=terms)
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
    have, had = ({at: count for at, (_, count) in capacities_of_one(each.results).items()} for each in (outcome, in_use))
    counts = {place: (had.get(place, 0.0), have.get(place, 0.0)) for place in {**had, **have}}
    totals = [cost_on_basis(each.case, each.results.ledger.total) for each in (outcome, in_use)]
    by_kind = {kind: mine[kind] - theirs[kind] for kind in KINDS_OF_COST}
    moved = {place: (before, after) for place, (before, after) in counts.items() if before != after}
    return Difference(outcome, in_use, totals[0] - totals[1], by_kind, moved)


def _by_kind(outcome: Outcome) -> dict[str, float]:
    """Cost on the basis of the target by kind, with yield loss taken out of the others."""
    total = outcome.results.ledger.total
    times = cost_on_basis(outcome.case, total) / total.cost_per_stabilised_watt if total.cost else 0.0
    by_step = outcome.results.ledger.matrix_per_stabilised_watt.values()
    return {kind: sum(row[kind] for row in by_step) * times for kind in KINDS_OF_COST}


def shared_ranges(found: Sequence[Outcome]) -> list[str]:
    """The inputs that are uncertain alike with every choice; what one of them states itself, as its efficiency, is not drawn.

    >>> found = outcomes(Path("inputs_demo/facade"), "back_contact")
    >>> [address in shared_ranges(found) for address in ("metals.silver.quote", "product.initial_efficiency")]
    [True, False]
    """
    first, *others = ({row.address: row for row in uncertain(each.case).values()} for each in found)
    return [address for address, row in first.items() if all(other.get(address) == row for other in others)]


def probabilities_of_least(found: Sequence[Outcome], draws: int, seed: int) -> dict[str, Probability]:
    """How likely each choice costs the least on the basis of the target; none where nothing is uncertain alike with all.

    Each choice meets the same draws, with the plant bought for it. Raises InputFaults, also for a draw that a case refuses.

    >>> probabilities_of_least(outcomes(Path("inputs_demo/facade"), "back_contact"), 16, 0)["silver"].share
    0.0
    """
    costs = _drawn(found, f"ledger.total.{COSTS[found[0].case.target.basis]}", draws, seed)
    least = np.min(costs, axis=0) if costs else ()
    return {each.choice: Probability(float(np.mean(cost <= least)), draws) for each, cost in zip(found, costs)}


@dataclass(frozen=True, slots=True)
class Higher:
    """How likely a figure is higher with one choice than with another, over the draws in which it has a value with both.

    `without` is the share of the other draws; `probability` is none where they are all.
    """

    one: Outcome
    other: Outcome
    probability: Probability | None
    without: float


def probabilities_higher(found: Sequence[Outcome], figure: str, draws: int, seed: int) -> list[Higher]:
    """How likely a figure is higher with each choice than with each other one; none where nothing is uncertain alike with all.

    Each choice meets the same draws, with the plant bought for it. Raises InputFaults, also for an unknown figure.

    >>> found = outcomes(Path("inputs_demo/facade"), "back_contact")
    >>> [(h.one.choice, h.probability.share) for h in probabilities_higher(found, "ledger.total.cost_per_m2", 16, 0)]
    [('aluminium', 0.0), ('silver', 1.0)]
    """
    for each in found:
        wanted_figures(each.case, [figure])
    made = dict(zip((each.choice for each in found), _drawn(found, figure, draws, seed)))
    pairs = []
    for one, other in permutations(found, 2) if made else ():
        mine, theirs = made[one.choice], made[other.choice]
        both = ~(np.isnan(mine) | np.isnan(theirs))
        share = Probability(float(np.mean(mine[both] > theirs[both])), int(both.sum())) if both.any() else None
        pairs.append(Higher(one, other, share, 1.0 - float(np.mean(both))))
    return pairs


def _drawn(found: Sequence[Outcome], figure: str, draws: int, seed: int) -> list[np.ndarray]:
    """A figure of each choice over the same draws of what is uncertain alike with all; none where nothing is."""
    shared = set(shared_ranges(found))
    if not shared or not draws:
        return []
    first = found[0].case
    own = {row.address for row in first.ranges.values()} - shared
    values = Draws(replace(first, held=first.held | own), seed).values(0, draws)
    made = []
    for each in found:
        plant = as_bought(each.case)
        check_together(plant, values)
        made.append(figures_of(plant, values, [figure])[figure])
    return made


@dataclass(frozen=True, slots=True)
class BreakEven:
    """Where two cases cost the same on the basis of the second one's target, in base units of the input.

    `values` holds every crossing found, each with the difference of cost that is left there; none is an answer, too.
    """

    address: str
    present: float
    values: tuple[float, ...]
    residuals: tuple[float, ...]
    looked_to: float
    tried: int


def break_even(first: Case, second: Case, address: str) -> BreakEven:
    """Crossings from zero to a hundred times the present value, where the input allows it; tools are sized anew at each value.

    Raises InputFaults when the address is no input of both.
    """
    present = value_at(second, address)
    if not isinstance(present, float) or present == 0.0:
        raise ValueError(f"{address} is {present!r}; allowed: a number other than 0, from which to look")
    value_at(first, address)

    def apart(points: np.ndarray) -> np.ndarray:
        """Cost of the first case less that of the second, with the input at some values in both."""
        totals = [evaluate_costs(with_values(case, {address: points.ravel()})).ledger.total for case in (first, second)]
        costs = [np.broadcast_to(cost_on_basis(second, total), points.size) for total in totals]
        return (costs[0] - costs[1]).reshape(points.shape)

    grid = np.sort(present * REACH * np.linspace(0.0, 1.0, POINTS) ** 3)
    fine = sound(first, address, grid) & sound(second, address, grid)
    values = np.full(POINTS, np.nan)
    if fine.any():
        values[fine] = apart(grid[fine])
    found = []
    for each in answers_of(apart, 0.0, grid, values, fine):
        ends = [(each.value, each.figure), (each.beyond, each.figure_beyond)]
        found += ends if each.kind == "interval" else [min(ends, key=lambda end: abs(end[1]))]
    looked = float(np.max(np.abs(grid[fine]), initial=0.0)) * np.sign(present)
    return BreakEven(address, present, tuple(v for v, _ in found), tuple(left for _, left in found), looked, int(fine.sum()))
