"""Tools needed for an output, or the output of installed tools."""

from __future__ import annotations

from collections.abc import Iterable

from ...case.geometry import share_of_cells
from ...case.line_records import Carrier, Cells, Constants, Product, Site, Target, Tool
from ...core.operations import Value, safe_divide, sum_of, whole_up


def available_share(tool: Tool) -> Value:
    """Share of the scheduled time in which one tool is available for production.

        available share = 1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time    [1]

    Source: SEMI E10, states of equipment.

    Planned and unplanned downtime and engineering are each a share of the scheduled time, so that no minute is taken off
    twice; shares that leave no time are refused when a case is read.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> tool = demo_case().tools["laminator"]
    >>> available_share(replace(tool, planned_downtime=0.25, unplanned_downtime=0.125, engineering_time=0.125))
    0.5
    """
    return 1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time


def available_time(site: Site, tool: Tool) -> Value:
    """Time of the year in which one tool is available for production: scheduled time less downtime and engineering.

        available time = site.scheduled_time * available_share(tool)    [s]

    Source: SEMI E10, states of equipment.

    >>> from dataclasses import replace
    >>> from costmodel.case.demo import demo_case
    >>> tool = demo_case().tools["laminator"]
    >>> available_time(Site(1000.0, 4.0), replace(tool, planned_downtime=0.5, unplanned_downtime=0.0, engineering_time=0.0))
    500.0
    """
    return site.scheduled_time * available_share(tool)


def carrier_time(site: Site, carrier: Carrier) -> Value:
    """Time of the year in which one carrier circulates: scheduled time less cleaning and repair of the carrier.

        carrier time = site.scheduled_time * (1 - carrier.out_of_service)    [s]

    Source: common practice.

    >>> tray = Carrier("tray", "a", "b", 0.0, 0.25, 1.0, "EUR", "2026", 0.0, 1.0, 1.0, 0.0, 1.0)
    >>> carrier_time(Site(1000.0, 4.0), tray)
    750.0
    """
    return site.scheduled_time * (1 - carrier.out_of_service)


def wanted_plates(target: Target, constants: Constants, plate_area: Value, stabilised_power: Value) -> Value:
    """Good plates required for the target in stabilised watts, square metres or modules.

        watts = stabilised_power * constants.modules_per_plate    [Wp_stabilised/plate]
        per plate = {"Wp_stabilised": watts, "m2": plate_area, "module": constants.modules_per_plate}[target.basis]    [any]
        wanted plates = target.output / per_plate    [plate]

    Takes: plate_area [m2/plate], stabilised_power [Wp_stabilised/module].
    Source: common practice.

    >>> from costmodel.case.load import CONSTANTS
    >>> wanted_plates(Target("sized", "m2", 90.0), CONSTANTS, 0.5, 45.0)
    180.0
    >>> wanted_plates(Target("sized", "Wp_stabilised", 90.0), CONSTANTS, 0.5, 45.0)
    2.0
    """
    if target.basis == "Wp_stabilised":
        return target.output / stabilised_power / constants.modules_per_plate
    if target.basis == "m2":
        return target.output / plate_area
    return target.output / constants.modules_per_plate


def tools_needed(good_plates: Value, busy_per_good: Value, available: Value) -> tuple[Value, Value]:
    """Tools needed before and after rounding up; the time of all steps that share the tool is pooled and rounded once.

        needed, rounded = good_plates * busy_per_good / available, whole_up(good_plates * busy_per_good / available)    [tool]

    Takes: good_plates [plate], busy_per_good [s*tool/plate], available [s].
    Source: Little's law.

    Loads in a tool are their rate times their time in it, so that this also counts the places of ovens and cooling stations,
    and the carriers in circulation.

    >>> tools_needed(100.0, 75.0, 3600.0)
    (2.0833333333333335, 3.0)
    """
    needed = good_plates * busy_per_good / available
    return needed, whole_up(needed)


def possible_plates(available: Value, tools: Value, busy_per_good: Value) -> Value:
    """Good plates per year that a number of tools allows.

        possible plates = safe_divide(tools * available, busy_per_good)    [plate]

    Takes: available [s], tools [tool], busy_per_good [s*tool/plate].
    Source: common practice.

    >>> possible_plates(3600.0, 2.0, 60.0)
    120.0
    """
    return safe_divide(tools * available, busy_per_good)


def active_area_share(product: Product, constants: Constants, cells: Iterable[Cells]) -> Value:
    """Share of the plate area that generates power: that of the geometry where the case has one, else the share it states.

        shares = [share_of_cells(product.length, product.width * constants.plate, row) for row in cells]    [1]
        active area share = shares[0] if shares else product.active_area_share    [1]

    Source: geometry.

    >>> from costmodel.case.load import CONSTANTS
    >>> stated = Product(length=1.0, width=0.5, active_area_share=0.94, initial_efficiency=0.1, stabilisation_ratio=0.8)
    >>> active_area_share(stated, CONSTANTS, [])
    0.94
    """
    shares = [share_of_cells(product.length, product.width * constants.plate, row) for row in cells]
    return shares[0] if shares else product.active_area_share


def uniformity(spread_losses: Iterable[Value]) -> Value:
    """Power over that of films with uniform thickness: 1 less the losses of the films.

        uniformity = 1 - sum_of(spread_losses)    [1]

    Takes: spread_losses [1].
    Source: common practice, losses that are small are added.

    >>> uniformity([0.0025, 0.001])
    0.9965
    """
    return 1 - sum_of(spread_losses)


def module_power(product: Product, constants: Constants, active_area: Value, uniform: Value) -> tuple[Value, Value]:
    """Initial and stabilised power of a module.

        initial = constants.rating_irradiance * active_area * product.initial_efficiency * uniform    [Wp_initial/module]
        power, stabilised = initial, initial * product.stabilisation_ratio    [Wp_initial/module, Wp_stabilised/module]

    Takes: active_area [m2/module], uniform [1].
    Source: standard test conditions of IEC 60904-3 for the irradiance; definition of efficiency.

    >>> from costmodel.case.load import CONSTANTS
    >>> module_power(Product(1.0, 0.5, 0.5, 0.125, 0.75), CONSTANTS, 0.25, 1.0)
    (31.25, 23.4375)
    """
    initial = constants.rating_irradiance * active_area * product.initial_efficiency * uniform
    return initial, initial * product.stabilisation_ratio
