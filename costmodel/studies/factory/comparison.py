"""Two cases side by side: what differs between their inputs, and how much of the cost of a watt moved because of each."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.addresses import input_at, value_at
from ...case.changes import stated_in, with_values
from ...case.differences import Difference, Differences, differences
from ...case.whole_case import Case, tables
from ...core.faults import InputFaults
from ...core.operations import Value
from ...model.as_bought import on_one_plant
from ...model.evaluate import Costs, Results, evaluate, evaluate_costs


@dataclass(frozen=True, slots=True)
class Effect:
    """What one change does by itself: the inputs that change in it, and by how much it moves the cost per stabilised watt.

    `cost` is none where the first case with this change alone is no sound case, as a step on a tool that has yet to come.
    """

    addresses: tuple[str, ...]
    cost: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two cases, their figures, what differs, and how the cost per stabilised watt moved.

    `moved` is all of it: the effects alone, `together` and `elsewhere`. `together` is what the changed inputs do on top of what
    each does alone; `elsewhere` is from rows that came or went, and from another order of steps. Where the inputs cannot all
    change without the rows, `together` is none and `elsewhere` holds both.
    """

    before: Case
    after: Case
    results_before: Results
    results_after: Results
    found: Differences
    effects: list[Effect]
    moved: float
    together: float | None
    elsewhere: float


def compare(before: Case, after: Case) -> Comparison:
    """Compare two cases that report in one currency. Each effect takes one run of the model, with the tools sized
    anew; where one of the cases is a plant as bought, both are.

    Raises ValueError for two currencies.

    >>> from costmodel.model.scenarios import open_case
    >>> shown = compare(open_case("inputs_demo/facade"), open_case("inputs_demo/facade", "dear_silver"))
    >>> [effect.addresses for effect in shown.effects], abs(shown.moved - shown.effects[0].cost) < 1e-12
    ([('metals.silver.quote',)], True)
    """
    if before.currency != after.currency:
        raise ValueError(f"found reports in {before.currency} and {after.currency}; allowed: two cases that report in one currency")
    before, after = on_one_plant(before, after)
    found, results_before, results_after = differences(before, after), evaluate(before), evaluate(after)
    start = _watt(results_before)
    changes = _changes(before, after, found.inputs)
    effects = [Effect(tuple(change), _moved(before, change, start)) for change in changes]
    moved = _watt(results_after) - start
    alone = sum(effect.cost or 0.0 for effect in effects)
    by_inputs: float | None = moved
    if found.added or found.dropped or found.reordered:
        by_inputs = _moved(before, {address: value for change in changes for address, value in change.items()}, start)
    together, elsewhere = (None, moved - alone) if by_inputs is None else (by_inputs - alone, moved - by_inputs)
    return Comparison(before, after, results_before, results_after, found, effects, moved, together, elsewhere)


def _watt(results: Costs | Results) -> float:
    return float(results.ledger.total.cost_per_stabilised_watt)


def _moved(case: Case, change: dict[str, Value], start: float) -> float | None:
    """By how much a change moves the cost per stabilised watt; none where the case refuses it."""
    change = {address: value for address, value in change.items() if tables()[address.split(".")[0]].in_model}
    if not change:
        return 0.0
    try:
        return _watt(evaluate_costs(with_values(case, change))) - start
    except InputFaults:
        return None


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
