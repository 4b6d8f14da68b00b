"""The heat that a load takes up: a lower bound on the energy that its tool draws."""

from __future__ import annotations

from ...case.line_records import Heating
from ...case.whole_case import Case
from ...core.operations import Value, choose, safe_divide, sum_of, valid_if
from .line_figures import HeatBalance, StepFlow


def heat(mass: Value, heat_capacity: Value, rise: Value) -> Value:
    """Sensible heat that a mass takes up as it becomes warmer.

        heat = mass * heat_capacity * rise    [J/load]

    Takes: mass [kg/load], heat_capacity [J/kg/K], rise [K].
    Source: physics, specific heat capacity.

    A kilogram of glass that becomes 100 K warmer takes up 86 kJ:

    >>> heat(1.0, 860.0, 100.0)
    86000.0
    """
    return mass * heat_capacity * rise


def heat_balance(case: Case, row: Heating, plate_area: Value, flow: StepFlow) -> HeatBalance:
    """Least energy for one full load, and what the tool draws for it while it works.

        tool = case.tools[case.steps[row.step].tool]    [any]
        glass_mass = tool.load_size * plate_area * row.glass_thickness * row.glass_density
        glass_heat = heat(glass_mass, row.glass_heat_capacity, row.glass_rise)
        carrier_heat = heat(row.carrier_mass, row.carrier_heat_capacity, row.carrier_rise)
        least_energy = glass_heat + carrier_heat
        least_energy_per_plate = least_energy / tool.load_size
        draws = [each.when_processing for each in case.tool_utilities.values() if (each.tool, each.utility) ==
            (case.steps[row.step].tool, row.utility)]    [W/tool]
        drawn_energy = sum_of(draws) * flow.cycle.time
        least_over_drawn = valid_if(drawn_energy > 0, safe_divide(least_energy, drawn_energy))
        least_over_drawn_status = choose(drawn_energy > 0, 1.0, 0.0)

    Takes: plate_area [m2/plate].
    Source: physics, heat balance.

    Losses through walls and in exhaust air come on top of the least energy and are not counted.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).line.heatings["preheat"]
    >>> found.least_energy == found.glass_heat + found.carrier_heat < found.drawn_energy
    True
    """
    tool = case.steps[row.step].tool
    glass_mass = case.tools[tool].load_size * plate_area * row.glass_thickness * row.glass_density
    glass_heat = heat(glass_mass, row.glass_heat_capacity, row.glass_rise)
    carrier_heat = heat(row.carrier_mass, row.carrier_heat_capacity, row.carrier_rise)
    least = glass_heat + carrier_heat
    draws = [each.when_processing for each in case.tool_utilities.values() if (each.tool, each.utility) == (tool, row.utility)]
    drawn = sum_of(draws) * flow.cycle.time
    return HeatBalance(
        glass_mass=glass_mass,
        glass_heat=glass_heat,
        carrier_heat=carrier_heat,
        least_energy=least,
        least_energy_per_plate=least / case.tools[tool].load_size,
        drawn_energy=drawn,
        least_over_drawn=valid_if(drawn > 0, safe_divide(least, drawn)),
        least_over_drawn_status=choose(drawn > 0, 1.0, 0.0),
    )
