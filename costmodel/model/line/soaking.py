"""Light soaking on the line: the dose until modules are stable, the time that it takes, and which modules are rated again."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from ...case.line_records import Soaking, SoakingLight, Step
from ...case.whole_case import Case
from ...core.operations import Value, exp, larger, largest_of, least_of, log, sum_of, whole_up
from .line_figures import Stabilisation
from .seasons import Stays, stays

MEASUREMENTS = 3  # in a row, with two intervals between them


def intervals(plan: Soaking, ratio: Value) -> Value:
    """Intervals of dose until three measurements in a row are stable: (Pmax - Pmin) / Pmean <= limit.

        left = exp(-plan.interval_dose / plan.dose_constant)    [1]
        needed = (1 - left**2) - plan.stability_limit * (1 + left + left**2) / MEASUREMENTS    [1]
        excess = larger((1 - ratio) * needed / (plan.stability_limit * ratio), 1.0)    [1]
        intervals = whole_up(log(excess) * plan.dose_constant / plan.interval_dose) + (MEASUREMENTS - 1)    [1]

    Takes: ratio [1].
    Source: IEC 61215-2, MQT 19 (from memory), with 43 kWh/m2 and 2 % for amorphous silicon.

    Power falls as P(D) / P0 = r + (1 - r) exp(-D / D0), a simplification; r is the stabilised power over the initial one. For an
    interval d and q = exp(-d / D0), the measurements after k, k + 1 and k + 2 intervals are stable from
    k = D0 / d ln((1 - r) ((1 - q^2) - limit (1 + q + q^2) / 3) / (limit r)) on, rounded up; k is 0 where that is below 0.

    >>> from costmodel.case.load import load_case
    >>> plan = load_case("inputs_demo/facade").soaking["rating"]
    >>> intervals(plan, 0.79), intervals(plan, 1.0)
    (7.0, 2.0)
    """
    left = exp(-plan.interval_dose / plan.dose_constant)
    needed = (1 - left**2) - plan.stability_limit * (1 + left + left**2) / MEASUREMENTS
    excess = larger((1 - ratio) * needed / (plan.stability_limit * ratio), 1.0)
    return whole_up(log(excess) * plan.dose_constant / plan.interval_dose) + (MEASUREMENTS - 1)


def outdoors(light: Mapping[str, SoakingLight]) -> bool:
    """Whether a plan soaks under the sun: all its light is on day and night, all year."""
    return all(row.clock == "calendar" for row in light.values())


def stays_in_light(case: Case, light: Mapping[str, SoakingLight], dose: Value) -> Stays:
    """Time that a dose takes in the light of a plan: through the seasons of the sun, or under each of its lamps.

        parts = [row.part_of_year for row in light.values()]    [1]
        irradiances = [row.irradiance for row in light.values()]    [W/m2]
        seasons = stays(dose, irradiances, parts, case.constants.year)    [any]
        times = [dose / irradiance for irradiance in irradiances]    [s]
        mean = sum_of([part * time for part, time in zip(parts, times)])    [s]
        result = seasons if outdoors(light) and len(light) > 1 else Stays(times, mean, least_of(times), mean)

    Takes: dose [J/m2].
    Source: physics, dose is irradiance times time.

    Lamps stand side by side: a module stays under those that it was put under. The sun is a round of seasons, through which a
    stay runs (`seasons.py`).

    >>> from costmodel.case.demo import demo_case
    >>> lamps = SoakingLight("lamps", "rating", 1.0, 500.0, "scheduled")
    >>> stays_in_light(demo_case(), {"lamps": lamps}, 1000.0).mean
    2.0
    """
    parts, irradiances = [row.part_of_year for row in light.values()], [row.irradiance for row in light.values()]
    if outdoors(light) and len(light) > 1:
        return stays(dose, irradiances, parts, case.constants.year)
    times = [dose / irradiance for irradiance in irradiances]
    mean = sum_of([part * time for part, time in zip(parts, times)])
    return Stays(from_starts=times, mean=mean, shortest=least_of(times), longest=mean)


def stabilisation(case: Case, name: str) -> Stabilisation:
    """Dose of a plan and the time that it takes: on average over the year and at most, by its light and in scheduled time.

        plan = case.soaking[name]    [any]
        ratio = case.product.stabilisation_ratio * case.constants.watts_alike    [1]
        intervals = intervals(plan, ratio)
        dose = intervals * plan.interval_dose
        residual = (1 - ratio) / ratio * exp(-dose / plan.dose_constant)
        light = {key: row for key, row in case.soaking_light.items() if row.plan == name}    [any]
        found = stays_in_light(case, light, dose)    [any]
        times = dict(zip(light, found.from_starts))
        time = found.mean
        shortest = found.shortest
        longest = found.longest if outdoors(light) else largest_of(found.from_starts)
        of year = case.site.scheduled_time / case.constants.year    [1]
        scheduled_time = of_year * found.mean if outdoors(light) else found.mean
        scheduled_time_at_peak = of_year * found.longest if outdoors(light) else found.mean
        calendar_time = scheduled_time / of_year

    Source: common practice; Little's law for stock and draw.

    Modules soak outdoors when no production is scheduled as well. Racks are counted by the longest stay, as they hold the most
    modules then; stock and what racks draw follow from the mean.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).line.soaking["rating"]
    >>> found.dose == found.intervals * demo_case().soaking["rating"].interval_dose
    True
    """
    plan = case.soaking[name]
    ratio = case.product.stabilisation_ratio * case.constants.watts_alike
    count = intervals(plan, ratio)
    dose = count * plan.interval_dose
    light = {key: row for key, row in case.soaking_light.items() if row.plan == name}
    found = stays_in_light(case, light, dose)
    of_year = case.site.scheduled_time / case.constants.year
    under_the_sun = outdoors(light)
    scheduled, peak = (of_year * found.mean, of_year * found.longest) if under_the_sun else (found.mean, found.mean)
    return Stabilisation(
        intervals=count,
        dose=dose,
        residual=(1 - ratio) / ratio * exp(-dose / plan.dose_constant),
        times=dict(zip(light, found.from_starts)),
        time=found.mean,
        shortest=found.shortest,
        longest=found.longest if under_the_sun else largest_of(found.from_starts),
        calendar_time=scheduled / of_year,
        scheduled_time=scheduled,
        scheduled_time_at_peak=peak,
    )


def retested_share(again: Step, soaked: Step) -> Value:
    """Share of all plates that is rated again: a part of the share that is soaked.

        share = again.processed_share * soaked.processed_share    [1]

    Source: common practice.

    >>> soaked = Step("soak", "module", "rack", 30.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.25)
    >>> retested_share(dataclasses.replace(soaked, processed_share=0.5), soaked)
    0.125
    """
    return again.processed_share * soaked.processed_share


def route(case: Case) -> dict[str, Step]:
    """The steps with what is rated again after soaking as a share of all plates; a row states it as a share of the soaked ones."""
    steps = dict(case.steps)
    for plan in case.soaking.values():
        if plan.retest != plan.step:
            again = steps[plan.retest]
            steps[plan.retest] = dataclasses.replace(again, processed_share=retested_share(again, steps[plan.step]))
    return steps
