"""Which labels modules are sold under: each goes into the class of its rated power, and customers pay for the label.

The power of modules differs about the mean of the case, by a normal distribution or as in modules that were measured. A rating
errs by its repeatability, so that a class holds some modules weaker than its least power. What is rated below the first class is
not sold. Sorting by rated power is common practice; the shares follow from the normal distribution.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi

from ...case.power_class_records import MeasuredPower, PowerClass, PowerSpread
from ...case.whole_case import Case
from ...core.operations import Value, choose, exp, normal_cdf, safe_divide, sum_of, valid_if
from .line_figures import ClassUse, Output, PowerSold


@dataclass(frozen=True, slots=True)
class Above:
    """Modules that are rated at a power or above: their part of all, and their own power over all modules."""

    share: Value
    power: Value


def above_by_spread(mean: Value, spread: PowerSpread, limit: Value) -> Above:
    """Modules rated at a limit or above, where power and rating are normal.

        rated = (spread.module_spread**2 + spread.repeatability**2) ** 0.5    [1]
        reach = (limit / mean - 1) / rated    [1]
        density = exp(-(reach**2) / 2) / (2 * pi) ** 0.5    [1]
        share = 1 - normal_cdf(reach)    [1]
        power = mean * (share + spread.module_spread**2 / rated * density)    [Wp_stabilised/module]

    Takes: mean [Wp_stabilised/module], limit [Wp_stabilised/module].
    Source: mean of a truncated normal distribution; regression of the power on its rating. From memory.

    Half of the modules are rated at the mean or above. They have 0.03 (2 / pi)^0.5 more than it, where the rating does not err:

    >>> found = above_by_spread(40.0, PowerSpread("", 0.03, 0.0), 40.0)
    >>> found.share, abs(found.power / found.share / 40.0 - 1 - 0.03 * (2 / 3.141592653589793) ** 0.5) < 1e-12
    (0.5, True)
    """
    rated = (spread.module_spread**2 + spread.repeatability**2) ** 0.5
    reach = (limit / mean - 1) / rated
    share = 1 - normal_cdf(reach)
    density = exp(-(reach**2) / 2) / (2 * pi) ** 0.5
    return Above(share, mean * (share + spread.module_spread**2 / rated * density))


def above_by_count(mean: Value, measured: Sequence[MeasuredPower], limit: Value) -> Above:
    """Modules that were measured at a limit or above, moved so that their mean is that of the case.

        moved = mean * len(measured) / sum_of([row.power for row in measured])    [1]
        share = sum_of([choose(row.power * moved >= limit, 1.0, 0.0) for row in measured]) / len(measured)    [1]
        power = sum_of([choose(row.power * moved >= limit, row.power * moved, 0.0 * mean) for row in measured]) / len(measured)
            [Wp_stabilised/module]

    Takes: mean [Wp_stabilised/module], limit [Wp_stabilised/module].
    Source: counting.

    >>> found = above_by_count(40.0, [MeasuredPower("", 18.0), MeasuredPower("", 22.0)], 40.0)
    >>> found.share, found.power
    (0.5, 22.0)
    """
    moved = mean * len(measured) / sum_of([row.power for row in measured])
    powers = [row.power * moved for row in measured]
    share = sum_of([choose(power >= limit, 1.0, 0.0) for power in powers]) / len(measured)
    return Above(share, sum_of([choose(power >= limit, power, 0.0 * mean) for power in powers]) / len(measured))


def class_use(row: PowerClass, here: Above, next_one: Above, modules: Value) -> ClassUse:
    """One class: what is rated at its least power or above, less what is rated in the classes above it.

        module_share = here.share - next_one.share
        modules = module_share * modules
        power = here.power - next_one.power
        mean_power = valid_if(module_share > 0.0, safe_divide(power, module_share))
        mean_power_status = choose(module_share > 0.0, 1.0, 0.0)
        labelled_power = module_share * row.label
        give_away = power - labelled_power

    Takes: modules [module].
    Source: common practice.

    A quarter of the modules has 41 W, and a label of 40:

    >>> found = class_use(PowerClass("", 40.0, 40.0, 1.0), Above(0.25, 10.25), Above(0.0, 0.0), 1000.0)
    >>> found.modules, found.mean_power, found.labelled_power, found.give_away
    (250.0, 41.0, 10.0, 0.25)
    """
    share, power = here.share - next_one.share, here.power - next_one.power
    labelled = share * row.label
    return ClassUse(
        module_share=share,
        modules=share * modules,
        mean_power=valid_if(share > 0.0, safe_divide(power, share)),
        mean_power_status=choose(share > 0.0, 1.0, 0.0),
        power=power,
        labelled_power=labelled,
        give_away=power - labelled,
    )


def power_sold(case: Case, output: Output) -> PowerSold:
    """The classes of a case and what customers pay for of the power made; without classes, for all of it."""
    mean, rows = output.stabilised_power, list(case.power_classes.values())
    limits = [rated_above(case, mean, row.least_power) for row in rows]
    ends = [*limits[1:], Above(0.0, 0.0 * mean)]
    found = {
        name: class_use(row, here, after, output.good_modules)
        for (name, row), here, after in zip(case.power_classes.items(), limits, ends)
    }
    return paid(case.power_classes, found, limits[0] if limits else Above(1.0, mean), mean)


def rated_above(case: Case, mean: Value, limit: Value) -> Above:
    """Modules rated at a limit or above, by the powers that were measured, else by the spread."""
    measured = list(case.measured_powers.values())
    if measured:
        return above_by_count(mean, measured, limit)
    return above_by_spread(mean, next(iter(case.power_spread.values())), limit)


def paid(rows: Mapping[str, PowerClass], found: dict[str, ClassUse], sold: Above, mean: Value) -> PowerSold:
    """What customers pay for: each label at the price of its class.

        classes = found
        unsold_share = 1 - sold.share
        unsold_power = mean - sold.power
        labelled_power = sum_of([each.labelled_power for each in found.values()]) if found else mean
        give_away = sold.power - labelled_power
        paid_power = sum_of([rows[name].price_share * each.labelled_power for name, each in found.items()]) if found else mean
        paid_share_of_power = paid_power / mean
        paid_share_of_modules = sum_of([rows[name].price_share * each.module_share for name, each in found.items()]) if found
            else 1.0

    Takes: mean [Wp_stabilised/module].
    Source: common practice.

    Half of the modules have 41 W under a label of 40, a fifth 36 W under a label of 35 at 60 % of the price:

    >>> rows = {"second": PowerClass("", 35.0, 35.0, 0.6), "first": PowerClass("", 40.0, 40.0, 1.0)}
    >>> uses = {"second": class_use(rows["second"], Above(0.7, 27.7), Above(0.5, 20.5), 10.0)}
    >>> uses["first"] = class_use(rows["first"], Above(0.5, 20.5), Above(0.0, 0.0), 10.0)
    >>> whole = paid(rows, uses, Above(0.7, 27.7), 38.0)
    >>> [round(x, 9) for x in (whole.labelled_power, whole.give_away, whole.unsold_power, whole.paid_power)]
    [27.0, 0.7, 10.3, 24.2]
    >>> round(whole.paid_share_of_modules, 9)
    0.62
    """
    labelled = sum_of([each.labelled_power for each in found.values()]) if found else mean
    power = sum_of([rows[name].price_share * each.labelled_power for name, each in found.items()]) if found else mean
    modules = sum_of([rows[name].price_share * each.module_share for name, each in found.items()]) if found else 1.0
    return PowerSold(
        classes=found,
        unsold_share=1 - sold.share,
        unsold_power=mean - sold.power,
        labelled_power=labelled,
        give_away=sold.power - labelled,
        paid_power=power,
        paid_share_of_power=power / mean,
        paid_share_of_modules=modules,
    )
