"""Two cases side by side: what differs between their inputs, and how much of one figure moved because of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...case.addresses import input_at, value_at
from ...case.changes import stated_in, with_values
from ...case.checks.deal_checks import DEAL_TABLES
from ...case.differences import Difference, Differences, differences
from ...case.whole_case import Case, tables
from ...core.faults import InputFaults
from ...core.operations import Value
from ...model.as_bought import on_one_plant
from ...model.evaluate import Results, evaluate, evaluate_costs, known_figures
from ..many import Wanted, wanted_figures

COST = "ledger.total.cost_per_stabilised_watt"
PLAN = "plan.project.npv"
SIDES = ("deal.licensor.gain", "deal.licensee.gain")
OF_DEAL = {*DEAL_TABLES, "licence", "licensor", "negotiation"}
SAME = 1e-12  # relative; what moves less has not moved


@dataclass(frozen=True, slots=True)
class Effect:
    """What one change does by itself: the inputs that change in it, and by how much it moves the figure, in base units.

    `moved` is none where the first case with this change alone is no sound case, as a step on a tool that has yet to come. It is
    NaN where the figure has no value before or with the change.
    """

    addresses: tuple[str, ...]
    moved: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two cases, their figures, what differs, and how one figure moved, `was` and `now`.

    `others` are the other key figures that moved, before and after. `moved` is the whole move of the figure: the effects alone,
    `together` and `elsewhere`. `together` is what the changed inputs do on top of what each does alone; `elsewhere` is from rows
    that came or went, and from another order of steps. Where the inputs cannot all change without the rows, `together` is none
    and `elsewhere` holds both.
    """

    before: Case
    after: Case
    results_before: Results
    results_after: Results
    found: Differences
    was: Wanted
    now: Wanted
    others: list[tuple[Wanted, Wanted]]
    effects: list[Effect]
    moved: float
    together: float | None
    elsewhere: float


def compare(before: Case, after: Case, figure: str | None = None) -> Comparison:
    """Compare two cases that report in one currency. Each effect takes one run of the model, with the tools sized
    anew; where one of the cases is a plant as bought, both are. Without a `figure` by its address it is the first that moved: of
    the cost per stabilised watt, what the sides of the deal gain where its terms differ, and the value of the plant.

    Raises ValueError for two currencies, InputFaults for a figure that one of them has not.

    >>> from costmodel.model.scenarios import open_case
    >>> shown = compare(open_case("inputs_demo/facade"), open_case("inputs_demo/facade", "dear_silver"))
    >>> [effect.addresses for effect in shown.effects], abs(shown.moved - shown.effects[0].moved) < 1e-12
    ([('metals.silver.quote',)], True)
    """
    if before.currency != after.currency:
        raise ValueError(f"found reports in {before.currency} and {after.currency}; allowed: two cases that report in one currency")
    before, after = on_one_plant(before, after)
    found, results_before, results_after = differences(before, after), evaluate(before), evaluate(after)
    was, now, others = _moved_figures(before, after, found, figure)
    start = float(was.present)
    changes = _changes(before, after, found.inputs)
    effects = [Effect(tuple(change), _moved(before, change, was.address, start)) for change in changes]
    moved = float(now.present) - start
    alone = sum(effect.moved or 0.0 for effect in effects)
    by_inputs: float | None = moved
    if found.added or found.dropped or found.reordered:
        everything = {address: value for change in changes for address, value in change.items()}
        by_inputs = _moved(before, everything, was.address, start)
    together, elsewhere = (None, moved - alone) if by_inputs is None else (by_inputs - alone, moved - by_inputs)
    return Comparison(before, after, results_before, results_after, found, was, now, others, effects, moved, together, elsewhere)


def _moved_figures(
    before: Case, after: Case, found: Differences, figure: str | None
) -> tuple[Wanted, Wanted, list[tuple[Wanted, Wanted]]]:
    """The figure that is compared before and after, and the other key figures that moved."""
    known = [name for name in _in_order(found) if name in known_figures(before) and name in known_figures(after)]
    asked = list(dict.fromkeys([*([figure] if figure else []), *known]))
    pairs = list(zip(*(wanted_figures(case, asked).values() for case in (before, after))))
    moved = [pair for pair in pairs if not _same(pair)]
    first = pairs[0] if figure or not moved else moved[0]
    return *first, [pair for pair in moved if pair is not first]


def _in_order(found: Differences) -> Sequence[str]:
    """The key figures, in the order of the report: of the plant first, but of the deal where its terms differ."""
    places = [*(difference.address for difference in found.inputs), *found.added, *found.dropped]
    of_deal = any(place.split(".")[0] in OF_DEAL for place in places)
    return (COST, *SIDES, PLAN) if of_deal else (COST, PLAN, *SIDES)


def _same(pair: tuple[Wanted, Wanted]) -> bool:
    """Whether a figure has not moved; one without a value on both sides has not."""
    was, now = (float(each.present) for each in pair)
    return (math.isnan(was) and math.isnan(now)) or math.isclose(was, now, rel_tol=SAME)


def _moved(case: Case, change: dict[str, Value], figure: str, start: float) -> float | None:
    """By how much a change moves the figure; none where the case refuses it."""
    change = {address: value for address, value in change.items() if tables()[address.split(".")[0]].in_model}
    if not change:
        return 0.0
    try:
        changed = with_values(case, change)
    except InputFaults:
        return None
    if figure == COST:
        return float(evaluate_costs(changed).ledger.total.cost_per_stabilised_watt) - start
    return float(known_figures(changed)[figure].value) - start


def _changes(before: Case, after: Case, inputs: list[Difference]) -> list[dict[str, Value]]:
    """The inputs that differ, as changes that can be made: one by one, but a currency or unit with the figures stated in it."""
    changes: list[dict[str, Value]] = []
    bound: dict[str, dict[str, Value]] = {}
    for difference in inputs:
        place, name = difference.address.rsplit(".", 1)
        figures = stated_in(type(input_at(before, difference.address)[1]), name) if difference.is_text else []
        if figures:
            bound.setdefault(place, {})[difference.address] = difference.after
            bound[place] |= {f"{place}.{figure}": value_at(after, f"{place}.{figure}") for figure in figures}
    placed = set()
    for difference in inputs:
        together = bound.get(difference.place, {})
        if difference.address not in together:
            changes.append({difference.address: difference.after})
        elif difference.place not in placed:
            placed.add(difference.place)
            changes.append(together)
    return changes
