"""How long modules lie in the sun when the light changes from season to season, and a stay runs from one into the next.

The year is a round of seasons, each with an irradiance of its own. Modules are put out evenly over the year; each takes the light
that there is until it has its dose. That is plain kinematics: dose is irradiance times time, summed over the seasons of a stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...core.operations import Value, larger, largest_of, least_of, smaller, sum_of, whole_up


@dataclass(frozen=True, slots=True)
class Stays:
    """How long modules take for a dose: put out on the first day of each season; on average over the year, least and most."""

    from_starts: list[Value]
    mean: Value
    shortest: Value
    longest: Value


def stays(dose: Value, irradiances: Sequence[Value], parts: Sequence[Value], year: Value) -> Stays:
    """Stays of modules in the light for a dose, when they are put out evenly over a round of seasons.

        doses = [irradiance * part * year for irradiance, part in zip(irradiances, parts)]    [J/m2]
        whole = whole_up(dose / sum_of(doses)) - 1    [1]
        left = dose - whole * sum_of(doses)    [J/m2]
        forward = [[(start + k) % len(doses) for k in range(len(doses))] for start in range(len(doses))]    [any]
        from_starts = [whole * year + time_through(left, order, doses, irradiances) for order in forward]    [s]
        to_ends = [whole * year + time_through(left, order[::-1], doses, irradiances) for order in forward]    [s]
        mean = whole * year + mean_stay(left, doses, irradiances, parts, year)    [s]
        shortest = least_of([*from_starts, *to_ends])    [s]
        longest = largest_of([*from_starts, *to_ends])    [s]

    Takes: dose [J/m2], irradiances [W/m2], parts [1], year [s].
    Source: physics, dose is irradiance times time.

    Whole years of light come first, each for its dose; what is left is less than that of a year. A stay changes in proportion to
    the day on which it begins, but where it begins or ends with a season: so it is least and most at one of these. In two halves
    of a year of 2 at 1 and 3, a dose of 1 takes 1 from the first of either at 1, and 1/3 at 3; 1 when it ends with the slow one.

    >>> found = stays(1.0, [1.0, 3.0], [0.5, 0.5], 2.0)
    >>> found.from_starts[0], round(found.from_starts[1], 6), found.longest
    (1.0, 0.333333, 1.0)
    """
    doses = [irradiance * part * year for irradiance, part in zip(irradiances, parts)]
    of_year = sum_of(doses)
    whole = whole_up(dose / of_year) - 1
    left = dose - whole * of_year
    count = len(doses)
    forward = [[(start + k) % count for k in range(count)] for start in range(count)]
    backward = [order[::-1] for order in forward]  # stays that end with the last season of an order
    from_starts, to_ends = ([whole * year + time_through(left, order, doses, irradiances) for order in orders]
                            for orders in (forward, backward))  # fmt: skip
    return Stays(
        from_starts=from_starts,
        mean=whole * year + mean_stay(left, doses, irradiances, parts, year),
        shortest=least_of([*from_starts, *to_ends]),
        longest=largest_of([*from_starts, *to_ends]),
    )


def time_through(dose: Value, order: Sequence[int], doses: Sequence[Value], irradiances: Sequence[Value]) -> Value:
    """Time that a dose takes through whole seasons in some order, the last one in part.

        before = [sum_of([doses[season] for season in order[:k]]) for k in range(len(order))]    [J/m2]
        time = sum_of([smaller(larger(dose - gone, 0.0), doses[season]) / irradiances[season] for season, gone in zip(order,
            before)])    [s]

    Takes: dose [J/m2], doses [J/m2], irradiances [W/m2].
    Source: physics, dose is irradiance times time.

    A season with a dose of 2 at an irradiance of 1, then one of 4 at 2: a dose of 3 takes 2 in the first and a half in the second:

    >>> time_through(3.0, [0, 1], [2.0, 4.0], [1.0, 2.0])
    2.5
    """
    times, left = [], dose
    for season in order:
        taken = smaller(larger(left, 0.0 * left), doses[season])
        times.append(taken / irradiances[season])
        left = left - doses[season]
    return sum_of(times)


def mean_stay(dose: Value, doses: Sequence[Value], irradiances: Sequence[Value], parts: Sequence[Value], year: Value) -> Value:
    """Mean stay for a dose of at most a year: each season's light held to the end, less what stays into other seasons save.

        slowness = [1 / irradiance for irradiance in irradiances]    [m2/W]
        held = dose * sum_of([part * each for part, each in zip(parts, slowness)])    [s]
        jumps = [slowness[k] - slowness[k - 1] for k in range(len(doses))]    [m2/W]
        single = [dose**2 / 4 * jump**2 for jump in jumps]    [s**2]
        apart = [[sum_of([doses[(k + i) % len(doses)] for i in range(m)]) for m in range(1, len(doses))] for k in
            range(len(doses))]    [J/m2]
        pairs = [jumps[k] * jumps[(k + m + 1) % len(doses)] * larger(dose - x, 0.0)**2 / 2 for k, row in enumerate(apart) for m,
            x in enumerate(row)]    [s**2]
        mean stay = held - sum_of([*single, *pairs]) / year    [s]

    Takes: dose [J/m2], doses [J/m2], irradiances [W/m2], parts [1], year [s].
    Source: derived here; the tests hold it against a walk day by day.

    With q = 1 / irradiance against the dose put in since a first day, the stays sum up to the integral of q(g) q(g + x) over a
    year of g and over x up to the dose. Its slope changes where two changes of season lie x apart, by the product of their jumps
    of q. So the sum is dose x year x mean q, less (dose^2 / 4) x sum of squared jumps, less for each pair of changes that lie x
    apart, one before the other, the product of the jumps x (dose - x)^2 / 2, where the dose is more than x.

    In one season without change the mean is dose over irradiance:

    >>> mean_stay(3.0, [4.0], [2.0], [1.0], 2.0)
    1.5
    """
    slowness = [1 / irradiance for irradiance in irradiances]
    held = dose * sum_of([part * each for part, each in zip(parts, slowness)])
    jumps = [slowness[season] - slowness[season - 1] for season in range(len(doses))]
    saved = [dose**2 / 4 * jump**2 for jump in jumps]
    for first in range(len(doses)):
        apart = doses[first]
        for steps in range(1, len(doses)):
            second = (first + steps) % len(doses)
            over = larger(dose - apart, 0.0 * dose)
            saved.append(jumps[first] * jumps[second] * over**2 / 2)
            apart = apart + doses[second]
    return held - sum_of(saved) / year
