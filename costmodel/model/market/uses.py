"""What a module costs its owner besides its price and what it yields, over its life."""

from __future__ import annotations

from ...case.line_records import Constants
from ...case.market_records import Covering, Market
from ...core.operations import Value, choose, safe_divide
from ..line.line_figures import Output
from .market_figures import ModuleUse


def discounted_years(rate: Value, decline: Value, years: Value) -> Value:
    """The sum over the years k = 1..n of (1 - decline)^(k-1) / (1 + rate)^k: payment at the end of each year. Common practice.

    Rate and decline are those of one year. Without decline it is the present value of 1 a year, 1 over the capital recovery
    factor; without either it is the number of years.

    >>> discounted_years(0.0, 0.0, 25.0), discounted_years(1.0, 0.0, 2.0), discounted_years(0.0, 0.5, 2.0)
    (25.0, 0.75, 1.5)
    """
    ratio = (1 - decline) / (1 + rate)
    return choose(ratio == 1, years, safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)


def temperature_factor(coefficient: Value, excess: Value) -> Value:
    """Power at the temperature at work over that at 25 C, by a linear temperature coefficient. Common practice.

    >>> temperature_factor(-0.0025, 20.0)
    0.95
    """
    return 1 + coefficient * excess


def discounted_life(constants: Constants, market: Market, life: Value) -> Value:
    """The present value of a payment of 1 per unit of time, made at the end of each year of a life. Common practice."""
    return constants.year * discounted_years(market.discount_rate * constants.year, 0.0, life / constants.year)


def area_related(covering: Covering, discounted: Value) -> Value:
    """What a square metre of a covering costs over one life besides a module's price, premium taken off.

    `discounted` is the discounted life by which upkeep is brought to the start.

    >>> area_related(Covering("", "", "plain", "EUR", 100.0, 2.0, 6.0, 10.0, 3.0), 2.5)
    101.0
    """
    return covering.area_cost + covering.delivery - covering.premium + covering.area_upkeep * discounted


def module_use(
    constants: Constants,
    market: Market,
    covering: Covering,
    efficiency: Value,
    power_cost: Value,
    energy_yield: Value,
    degradation: Value,
) -> ModuleUse:
    """What a watt costs the buyer besides the module, and what it yields over the life of its covering.

    `power_cost` is what is spent once per watt; upkeep of all years, discounted to the start, is added to it and to what goes by
    area. `energy_yield` is that of the first year.
    """
    rate, years = market.discount_rate * constants.year, covering.life / constants.year
    decline = degradation * constants.year
    discounted = discounted_life(constants, market, covering.life)
    by_area = area_related(covering, discounted)
    by_power = power_cost + market.power_upkeep * discounted
    return ModuleUse(
        efficiency=efficiency,
        watts_per_m2=constants.rating_irradiance * efficiency,
        area_related=by_area,
        power_related=by_power,
        besides_module=by_area / (constants.rating_irradiance * efficiency) + by_power,
        energy_yield=energy_yield,
        lifetime_energy=energy_yield * constants.year * discounted_years(0.0, decline, years),
        discounted_energy=energy_yield * constants.year * discounted_years(rate, decline, years),
        discounted_life=discounted,
    )


def reference_use(constants: Constants, market: Market, covering: Covering) -> ModuleUse:
    """The reference module in a market whose money is that of the case."""
    return module_use(
        constants,
        market,
        covering,
        efficiency=market.reference_efficiency,
        power_cost=market.power_cost,
        energy_yield=market.reference_yield,
        degradation=market.reference_degradation,
    )


def our_use(constants: Constants, market: Market, covering: Covering, output: Output) -> ModuleUse:
    """Our module in a market whose money is that of the case; its efficiency is that of the line."""
    warm = temperature_factor(market.temperature_coefficient, market.temperature_excess)
    reference_warm = temperature_factor(market.reference_temperature_coefficient, market.temperature_excess)
    module_area = output.plate_area / constants.modules_per_plate
    return module_use(
        constants,
        market,
        covering,
        efficiency=output.stabilised_power / (module_area * constants.rating_irradiance),
        power_cost=market.power_cost - market.power_premium,
        energy_yield=market.reference_yield * market.yield_ratio * warm / reference_warm,
        degradation=market.degradation,
    )
