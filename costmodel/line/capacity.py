"""Tools needed for an output, or the output of installed tools."""
from __future__ import annotations

from ..case.records import Constants, Product, Site, Target, Tool
from ..operations import Value, safe_divide, whole_up


def available_time(site: Site, tool: Tool) -> Value:
    """Time in which one tool can work for production: scheduled time less planned and unplanned downtime and engineering.

    Each share is of the scheduled time, so that no minute is taken off twice. States after SEMI E10; shares that leave no
    time are refused when a case is read.
    """
    return site.scheduled_time * (1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time)


def wanted_plates(target: Target, constants: Constants, plate_area: Value, stabilised_power: Value) -> Value:
    """Good plates wanted for the target in stabilised watts, square metres or modules."""
    if target.basis == "Wp_stabilised":
        return target.output / stabilised_power / constants.modules_per_plate
    if target.basis == "m2":
        return target.output / plate_area
    return target.output / constants.modules_per_plate


def tools_needed(good_plates: Value, busy_per_good: Value, available: Value) -> tuple[Value, Value]:
    """Tools needed before and after rounding up; the time of all steps that share the tool is pooled and rounded once.

    >>> tools_needed(100.0, 75.0, 3600.0)
    (2.0833333333333335, 3.0)
    """
    needed = good_plates * busy_per_good / available
    return needed, whole_up(needed)


def possible_plates(available: Value, tools: Value, busy_per_good: Value) -> Value:
    """Good plates a year that a number of tools allows.

    >>> possible_plates(3600.0, 2.0, 60.0)
    120.0
    """
    return safe_divide(tools * available, busy_per_good)


def module_power(product: Product, constants: Constants, plate_area: Value) -> tuple[Value, Value]:
    """Initial and stabilised power of a module: irradiance x active area x efficiency, then x stabilisation ratio."""
    active_area = plate_area * product.active_area_share / constants.modules_per_plate
    initial = constants.rating_irradiance * active_area * product.initial_efficiency
    return initial, initial * product.stabilisation_ratio
