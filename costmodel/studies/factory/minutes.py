"""Where the minutes of a batch cycle go, and what a minute less is worth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.addresses import value_at
from ...case.changes import with_values
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.as_bought import as_bought
from ...model.evaluate import Costs, Results, evaluate_costs
from .full_use import frozen

TIME_COSTS = ("depreciation", "maintenance", "building", "labour")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the cycle of one load: its time in s, and its share of the cycle."""

    title: str
    time: float
    share: float


@dataclass(frozen=True, slots=True)
class Gain:
    """What a change of the cycle is worth.

    `time` is saved for each load (s); `tools_needed` before rounding, with the change; `tool_capacity` and `line_capacity`
    are good modules a year that the plant as bought gains; `worth` is the tool time freed at what that time costs (money a
    year); `saving` what the plant as bought saves a year at its planned output, in which whole tools and people stay;
    `saving_at_full_load` the fall of a module's cost times the modules it can make, if it sells all of them.
    """

    title: str
    film: bool
    time: float
    tools_needed: float
    tool_capacity: float
    line_capacity: float
    worth: float
    saving: float
    saving_at_full_load: float


def batch_steps(case: Case) -> list[str]:
    """The steps with phases or films, grown or sputtered: those whose cycle has parts."""
    parted = _batches(case) | {row.step for row in case.coaters.values()}
    return [step for step in case.steps if step in parted]


def _batches(case: Case) -> set[str]:
    """The steps with phases or films that grow in them."""
    return {row.step for row in case.phases.values()} | {row.step for row in case.layers.values()}


def cycle_parts(case: Case, step: str) -> list[Part]:
    """The parts of a cycle, the longest first; they add up to the cycle."""
    line = evaluate_costs(case).line
    cycle = line.steps[step].cycle
    times = [("handling time: load and unload", cycle.process_time)]
    times += [("light soaking", cycle.soaking_time)] if any(plan.step == step for plan in case.soaking.values()) else []
    times += [(row.title, line.phases[name].time_per_load) for name, row in case.phases.items() if row.step == step]
    for name, layer in case.layers.items():
        if layer.step == step:
            times += [(f"{layer.title}, growth", line.layers[name].growth_time), (f"{layer.title}, purge", layer.purge_time)]
            times += [(f"{layer.title}, settling of gases", layer.settling_time)] if layer.settling == "added" else []
    for coater in case.coaters.values():
        if coater.step == step:
            times.append((f"pace of the coater: {slowest_zone(case, step)}", cycle.coating_time))
    return sorted((Part(title, time, time / cycle.time) for title, time in times), key=lambda part: -part.time)


def slowest_zone(case: Case, step: str) -> str:
    """What sets the pace of an in-line coater: the film whose zone takes longest, or the lock."""
    line = evaluate_costs(case).line
    films = {name: line.coatings[name].time for name, row in case.coatings.items() if row.step == step}
    slowest = max(films, key=lambda name: films[name], default="")
    return case.coatings[slowest].title if slowest and films[slowest] == line.steps[step].cycle.coating_time else "lock"


def tool_time_cost(results: Costs | Results, step: str) -> float:
    """What an s of a step's tool time costs: depreciation, maintenance, floor and operators over the time worked."""
    costs = results.ledger.by_step_and_category[step]
    return sum(costs[category] for category in TIME_COSTS) / results.line.steps[step].busy_time


def overhead(case: Case, step: str) -> dict[str, float]:
    """The overhead of each load by address: the step's own time and the phases done every load."""
    times = {f"steps.{step}.process_time": case.steps[step].process_time}
    return times | {
        f"phases.{name}.time": row.time for name, row in case.phases.items() if row.step == step and row.loads_between == 1.0
    }


def overhead_cut(case: Case, step: str, seconds: float) -> dict[str, float]:
    """Changes that take some time off the overhead of each load: own time and phases done every load, in proportion.

    Raises ValueError when there is not that much overhead.
    """
    times = overhead(case, step)
    whole = sum(times.values())
    if not seconds < whole:
        raise ValueError(f"{seconds:.4g} s off the overhead of '{step}'; allowed: less than the {whole:.4g} s it has")
    return {address: time * (1 - seconds / whole) for address, time in times.items()}


Move = tuple[str, bool, Mapping[str, float]]  # what it is called, whether it is of a film, the inputs that it changes


def gains_of(case: Case, step: str, moves: Sequence[Move]) -> list[Gain]:
    """What each of some changes of a cycle is worth, on the plant as bought; all at once, as arrays with a place for each."""
    addresses = dict.fromkeys(address for _, _, changes in moves for address in changes)
    stated = {address: float(value_at(case, address)) for address in addresses}
    changed = {address: np.array([changes.get(address, now) for _, _, changes in moves]) for address, now in stated.items()}
    tool, plant, bought = case.steps[step].tool, frozen(case), as_bought(case)
    base, sized, before, after, planned, saved = (
        evaluate_costs(each) for state in (case, plant, bought) for each in (state, with_values(state, changed))
    )
    time = base.line.steps[step].cycle.time - sized.line.steps[step].cycle.time
    cheaper = before.ledger.total.cost_per_module - after.ledger.total.cost_per_module
    figures = {
        "time": time,
        "tools_needed": sized.line.tools[tool].tools_needed,
        "tool_capacity": after.line.tools[tool].capacity - before.line.tools[tool].capacity,
        "line_capacity": after.line.output.capacity - before.line.output.capacity,
        "worth": time * base.line.steps[step].loads * tool_time_cost(base, step),
        "saving": planned.ledger.total.cost - saved.ledger.total.cost,
        "saving_at_full_load": cheaper * before.line.output.good_modules,
    }
    columns = {name: np.broadcast_to(value, len(moves)).tolist() for name, value in figures.items()}
    return [
        Gain(title, film, **{name: column[k] for name, column in columns.items()}) for k, (title, film, _) in enumerate(moves)
    ]


def gains(case: Case, step: str, faster: float = 0.20, less: float | None = None) -> list[Gain]:
    """Each film grown faster by a share, against some seconds less overhead, and one minute less; the most worth first.

    A step that sputters in line has its films only. Without `less`,
    20 min are taken, or half of the overhead where there is not that much.

    >>> from costmodel.case.load import load_case
    >>> found = gains(load_case("inputs_demo/facade"), "deposition")
    >>> found[0].worth >= found[-1].worth
    True
    """
    faster_by = f"{100 * faster:.3g} % faster"
    quicker = {
        f"{row.title} grown {faster_by}": {f"layers.{name}.rate": row.rate * (1 + faster)}
        for name, row in case.layers.items() if row.step == step
    } | {
        f"{row.title} sputtered {faster_by}": {f"coatings.{name}.dynamic_rate": row.dynamic_rate * (1 + faster)}
        for name, row in case.coatings.items() if row.step == step
    }  # fmt: skip
    moves: list[Move] = [(title, True, changes) for title, changes in quicker.items()]
    if not moves or step in _batches(case):  # else a coater: what is not sputtering is handling between plates
        minute, half = to_base("min"), 0.5 * sum(overhead(case, step).values())
        less = min(20 * minute, half) if less is None else less
        for seconds in dict.fromkeys((min(minute, half, less), less)):
            moves.append((f"{seconds / minute:.3g} min less overhead", False, overhead_cut(case, step, seconds)))
    return sorted(gains_of(case, step, moves), key=lambda each: -each.worth)
