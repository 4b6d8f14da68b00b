"""Light soaking on the line: the dose until modules are stable, the time that it takes, and which modules are rated again."""

from __future__ import annotations

import dataclasses

from ...case.line_records import Soaking, Step
from ...case.whole_case import Case
from ...core.operations import Value, exp, larger, largest_of, least_of, log, sum_of, whole_up
from .line_figures import Stabilisation
from .seasons import Stays, stays

MEASUREMENTS = 3  # in a row, with two intervals between them


def intervals(plan: Soaking, ratio: Value) -> Value:
    """Intervals of dose until three measurements in a row are stable: (Pmax - Pmin) / Pmean <= limit.

    The rule is that of IEC 61215-2, MQT 19 (from memory), with 43 kWh/m2 and 2 % for amorphous silicon. Power falls as
    P(D) / P0 = r + (1 - r) exp(-D / D0), a simplification; r is the stabilised power over the initial one. For an interval d and
    q = exp(-d / D0), the measurements after k, k + 1 and k + 2 intervals are stable from
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


def stabilisation(case: Case, name: str) -> Stabilisation:
    """Dose of a plan and the time that it takes: on average over the year and at most, by its light and in scheduled time.

    Lamps stand side by side: a module stays under those that it was put under. The sun is a round of seasons, through which a stay
    runs (`seasons.py`); modules soak when no production is scheduled as well. Racks are counted by the longest stay, as they hold
    the most modules then; stock and what racks draw follow from the mean (Little's law). Common practice.
    """
    plan = case.soaking[name]
    ratio = case.product.stabilisation_ratio * case.constants.watts_alike
    count = intervals(plan, ratio)
    dose = count * plan.interval_dose
    light = {key: row for key, row in case.soaking_light.items() if row.plan == name}
    outdoors = all(row.clock == "calendar" for row in light.values())
    of_year = case.site.scheduled_time / case.constants.year
    parts, irradiances = [row.part_of_year for row in light.values()], [row.irradiance for row in light.values()]
    if outdoors and len(light) > 1:
        found = stays(dose, irradiances, parts, case.constants.year)
    else:
        times = [dose / irradiance for irradiance in irradiances]
        mean = sum_of([part * time for part, time in zip(parts, times)])
        found = Stays(from_starts=times, mean=mean, shortest=least_of(times), longest=mean)
    scheduled, peak = (of_year * found.mean, of_year * found.longest) if outdoors else (found.mean, found.mean)
    return Stabilisation(
        intervals=count,
        dose=dose,
        residual=(1 - ratio) / ratio * exp(-dose / plan.dose_constant),
        times=dict(zip(light, found.from_starts)),
        time=found.mean,
        shortest=found.shortest,
        longest=found.longest if outdoors else largest_of(found.from_starts),
        calendar_time=scheduled / of_year,
        scheduled_time=scheduled,
        scheduled_time_at_peak=peak,
    )


def route(case: Case) -> dict[str, Step]:
    """The steps with what is rated again after soaking as a share of all plates; a row states it as a share of the soaked ones."""
    steps = dict(case.steps)
    for plan in case.soaking.values():
        if plan.retest != plan.step:
            again = steps[plan.retest]
            share = again.processed_share * steps[plan.step].processed_share
            steps[plan.retest] = dataclasses.replace(again, processed_share=share)
    return steps
