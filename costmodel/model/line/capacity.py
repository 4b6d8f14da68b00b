"""Tools needed for an output, or the output of installed tools."""

from __future__ import annotations

from collections.abc import Iterable

from ...case.geometry import share_of_cells
from ...case.line_records import Carrier, Cells, Constants, Product, Site, Target, Tool
from ...core.operations import Value, safe_divide, sum_of, whole_up


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


def active_area_share(product: Product, constants: Constants, cells: Iterable[Cells]) -> Value:
    """Share of the plate area that generates power: that of the geometry where the case has one, else the share it states.

    >>> from costmodel.case.load import CONSTANTS
    >>> stated = Product(length=1.0, width=0.5, active_area_share=0.94, initial_efficiency=0.1, stabilisation_ratio=0.8)
    >>> active_area_share(stated, CONSTANTS, [])
    0.94
    """
    shares = [share_of_cells(product.length, product.width * constants.plate, row) for row in cells]
    return shares[0] if shares else product.active_area_share


def uniformity(spread_losses: Iterable[Value]) -> Value:
    """Power over that of films with uniform thickness: 1 less the losses of the films.

    >>> uniformity([0.0025, 0.001])
    0.9965
    """
    return 1 - sum_of(spread_losses)


def module_power(product: Product, constants: Constants, active_area: Value, uniform: Value) -> tuple[Value, Value]:
    """Initial and stabilised power of a module: irradiance x active area x efficiency x uniformity, then x stabilisation."""
    initial = constants.rating_irradiance * active_area * product.initial_efficiency * uniform
    return initial, initial * product.stabilisation_ratio
