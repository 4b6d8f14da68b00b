"""The cycle of a step: its own time, its phases, its films, the pace of an in-line coater, and its light soaking."""

from __future__ import annotations

from ...case.line_records import Layer, Phase
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from .line_figures import Cycle, LayerGrowth, Stabilisation


def layer_growth(layer: Layer) -> LayerGrowth:
    """Time of one film in the cycle: thickness over rate, the purge before it, and settling that the purge does not hold.

        growth_time = layer.thickness / layer.rate
        flow_time = growth_time + layer.settling_time
        time = growth_time + layer.purge_time + (layer.settling_time if layer.settling == "added" else 0.0 * growth_time)
        spread_loss = layer.spread_loss_factor * layer.thickness_spread**2

    Source: common practice.

    Gases flow while they settle and while the film grows. Power falls by a factor times the relative variance of the thickness,
    the second-order expansion around the best thickness.

    >>> from costmodel.case.line_records import Layer
    >>> found = layer_growth(Layer("i", "deposition", 50.0, 0.25, 240.0, 60.0, "added", 2200.0, "silane", 0.15, 0.05, 2.0))
    >>> found.growth_time, found.flow_time, found.time, round(found.spread_loss, 9)
    (200.0, 260.0, 500.0, 0.005)
    """
    growth_time = layer.thickness / layer.rate
    time = growth_time + layer.purge_time
    return LayerGrowth(
        growth_time=growth_time,
        flow_time=growth_time + layer.settling_time,
        time=time + layer.settling_time if layer.settling == "added" else time,
        spread_loss=layer.spread_loss_factor * layer.thickness_spread**2,
    )


def time_per_load(phase: Phase) -> Value:
    """What a phase takes of the cycle of each load: its time over the loads for which it is done once.

        time per load = phase.time / phase.loads_between    [s*tool/load]

    Source: common practice.

    A clean of 40 min after every fifth load takes 8 min of each cycle:

    >>> time_per_load(Phase("clean", "deposition", 2400.0, "no", 5.0, "productive"))
    480.0
    """
    return phase.time / phase.loads_between


def cycle(
    case: Case, identity: str, growth: dict[str, LayerGrowth], coating_time: Value, soaking: dict[str, Stabilisation]
) -> Cycle:
    """The cycle of one load in a step, by parts; each minute stands in one part.

        process_time = case.steps[identity].process_time
        inside = [time_per_load(row) for row in case.phases.values() if row.step == identity and row.load_inside == "yes"]
            [s*tool/load]
        between = [time_per_load(row) for row in case.phases.values() if row.step == identity and row.load_inside == "no"]
            [s*tool/load]
        phase_time = sum_of([*inside, *between])
        films = [name for name, layer in case.layers.items() if layer.step == identity]    [any]
        growth_time = sum_of([growth[name].growth_time for name in films])
        purge_time = sum_of([case.layers[name].purge_time for name in films])
        settling_time = sum_of([case.layers[name].settling_time for name in films if case.layers[name].settling == "added"])
        plans = [soaking[name] for name, row in case.soaking.items() if row.step == identity]    [any]
        soaking_time = sum_of([plan.scheduled_time / case.constants.loads_per_tool for plan in plans])
        load_time = process_time + sum_of(inside) + growth_time + purge_time + settling_time + coating_time + soaking_time
        time = load_time + sum_of(between)
        peak_time = time + sum_of([(plan.scheduled_time_at_peak - plan.scheduled_time) / case.constants.loads_per_tool for plan
            in plans])

    Takes: coating_time [s*tool/load].
    Source: common practice.

    `coating_time` is the pace of the step's in-line coater. Cycles of the parts add up to the whole:

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).line.steps["seam"].cycle
    >>> found.time == found.process_time + found.phase_time
    True
    """
    own = case.steps[identity].process_time
    phases = [(phase.load_inside, time_per_load(phase)) for phase in case.phases.values() if phase.step == identity]
    inside = [time for place, time in phases if place == "yes"]
    between = [time for place, time in phases if place == "no"]
    films = [name for name, layer in case.layers.items() if layer.step == identity]
    growing = [growth[name].growth_time for name in films]
    purging = [case.layers[name].purge_time for name in films]
    settling = [case.layers[name].settling_time for name in films if case.layers[name].settling == "added"]
    plans = [name for name, row in case.soaking.items() if row.step == identity]
    soaked = [soaking[name].scheduled_time / case.constants.loads_per_tool for name in plans]
    longer = [(soaking[n].scheduled_time_at_peak - soaking[n].scheduled_time) / case.constants.loads_per_tool for n in plans]
    load_time = sum_of([own, *inside, *growing, *purging, *settling, coating_time, *soaked])
    time = sum_of([load_time, *between])
    return Cycle(
        process_time=own,
        phase_time=sum_of([*inside, *between]),
        growth_time=sum_of(growing),
        purge_time=sum_of(purging),
        settling_time=sum_of(settling),
        coating_time=coating_time,
        soaking_time=sum_of(soaked),
        load_time=load_time,
        time=time,
        peak_time=sum_of([time, *longer]),
    )
