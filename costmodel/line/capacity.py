"""Tools needed for an output, or the output of installed tools."""

from __future__ import annotations

from ..case.line_records import Carrier, Constants, Product, Site, Target, Tool
from ..operations import Value, safe_divide, whole_up


def available_share(tool: Tool) -> Value:
    """Share of the scheduled time in which one tool can work for production.

    Planned and unplanned downtime and engineering are each a share of the scheduled time, so that no minute is taken off
    twice; shares that leave no time are refused when a case is read.
    """
    return 1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time


def available_time(site: Site, tool: Tool) -> Value:
    """Time in which one tool can work for production: scheduled time less downtime and engineering (SEMI E10 states)."""
    return site.scheduled_time * available_share(tool)


def carrier_time(site: Site, carrier: Carrier) -> Value:
    """Time in which one carrier can go round: scheduled time less cleaning and repair of the carrier."""
    return site.scheduled_time * (1 - carrier.out_of_service)


def wanted_plates(target: Target, constants: Constants, plate_area: Value, stabilised_power: Value) -> Value:
    """Good plates wanted for the target in stabilised watts, square metres or modules."""
    if target.basis == "Wp_stabilised":
        return target.output / stabilised_power / constants.modules_per_plate
    if target.basis == "m2":
        return target.output / plate_area
    return target.output / constants.modules_per_plate


def tools_needed(good_plates: Value, busy_per_good: Value, available: Value) -> tuple[Value, Value]:
    """Tools needed before and after rounding up; the time of all steps that share the tool is pooled and rounded once.

    Loads in a tool are, by Little's law, their rate times their time in it, so that this also counts the places of ovens
    and cooling stations, and the carriers that go round.

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
