"""What a module costs its owner besides its price and what it yields, over its life."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ...case.line_records import Constants
from ...case.market_records import Covering, Market
from ...core.operations import Value, choose, larger, safe_divide, smaller, sum_of
from ..line.line_figures import Output, YearOfAge
from .market_figures import ModuleUse


def discounted_years(rate: Value, decline: Value, years: Value) -> Value:
    """The sum over the years k = 1..n of (1 - decline)^(k-1) / (1 + rate)^k: payment at the end of each year.

        ratio = (1 - decline) / (1 + rate)    [1]
        years discounted = choose(ratio == 1, years, safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)    [1]

    Takes: rate [1], decline [1], years [1].
    Source: common practice.

    Rate and decline are those of one year. Without decline it is the present value of 1 a year, 1 over the capital recovery
    factor; without either it is the number of years.

    >>> discounted_years(0.0, 0.0, 25.0), discounted_years(1.0, 0.0, 2.0), discounted_years(0.0, 0.5, 2.0)
    (25.0, 0.75, 1.5)
    """
    ratio = (1 - decline) / (1 + rate)
    return choose(ratio == 1, years, safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)


def years_by_age(ageing: Mapping[str, YearOfAge], rate: Value, years: Value) -> Value:
    """The same from the energy of each year of age, over a year at the power at sale; of the last year a part may count.

        parts = [smaller(1.0, larger(years - number, 0.0)) for number in range(len(ageing))]    [1]
        years discounted = sum_of([age.energy * part * (1 + rate) ** -(number + 1) for number, (age, part) in
            enumerate(zip(ageing.values(), parts))])    [1]

    Takes: rate [1], years [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> years_by_age({"y01": Some(energy=1.0), "y02": Some(energy=0.75)}, 0.0, 1.5)
    1.375
    """
    parts = [smaller(1.0, larger(years - number, 0.0)) for number in range(len(ageing))]
    return sum_of(
        [age.energy * part * (1 + rate) ** -(number + 1) for number, (age, part) in enumerate(zip(ageing.values(), parts))]
    )


def temperature_factor(coefficient: Value, excess: Value) -> Value:
    """Power at the temperature at work over that at 25 C, by a linear temperature coefficient.

        factor = 1 + coefficient * excess    [1]

    Takes: coefficient [1/K], excess [K].
    Source: common practice.

    >>> temperature_factor(-0.0025, 20.0)
    0.95
    """
    return 1 + coefficient * excess


def discounted_life(constants: Constants, market: Market, life: Value) -> Value:
    """The present value of a payment of 1 per unit of time, made at the end of each year of a life.

        discounted life = constants.year * discounted_years(market.discount_rate * constants.year, 0.0, life / constants.year)
            [s]

    Takes: life [s].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> discounted_life(Some(year=2.0), Some(discount_rate=0.0), 10.0)
    10.0
    """
    return constants.year * discounted_years(market.discount_rate * constants.year, 0.0, life / constants.year)


def area_related(covering: Covering, discounted: Value) -> Value:
    """What a square metre of a covering costs over one life besides a module's price, premium taken off.

        area related = covering.area_cost + covering.delivery - covering.premium + covering.area_upkeep * discounted    [money/m2]

    Takes: discounted [s].
    Source: common practice, present value.

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

        year = constants.year    [s]
        discounted_life = discounted_life(constants, market, covering.life)
        watts_per_m2 = constants.rating_irradiance * efficiency
        area_related = area_related(covering, discounted_life)
        power_related = power_cost + market.power_upkeep * discounted_life
        besides_module = area_related / watts_per_m2 + power_related
        lifetime_energy = energy_yield * year * discounted_years(0.0, degradation * year, covering.life / year)
        discounted_energy = energy_yield * year * discounted_years(market.discount_rate * year, degradation * year,
            covering.life / year)

    Takes: efficiency [Wp_stabilised/W], power_cost [money/Wp_stabilised], energy_yield [W/Wp_stabilised], degradation [1/s].
    Source: common practice, present value.

    `power_cost` is what is spent once per watt; upkeep of all years, discounted to the start, is added to it and to what goes by
    area. `energy_yield` is that of the first year.

    >>> from types import SimpleNamespace as Some
    >>> plain = Covering("", "", "our_module", "EUR", 100.0, 0.0, 0.0, 0.0, 2.0)
    >>> constants, market = Some(year=1.0, rating_irradiance=1000.0), Some(discount_rate=0.0, power_upkeep=0.0)
    >>> found = module_use(constants, market, plain, 0.1, 0.5, 1.5, 0.0)
    >>> found.watts_per_m2, found.besides_module, found.lifetime_energy
    (100.0, 1.5, 3.0)
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
    """Our module in a market whose money is that of the case; its efficiency is that of the line.

        warm = temperature_factor(market.temperature_coefficient, market.temperature_excess)    [1]
        reference warm = temperature_factor(market.reference_temperature_coefficient, market.temperature_excess)    [1]
        module area = output.plate_area / constants.modules_per_plate    [m2/module]
        our efficiency = output.stabilised_power / (module_area * constants.rating_irradiance)    [Wp_stabilised/W]
        our yield = market.reference_yield * market.yield_ratio * warm / reference_warm    [any]
        result = module_use(constants, market, covering, our_efficiency, market.power_cost - market.power_premium, our_yield,
            market.degradation)

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found, output = evaluate(demo_case()).market.by_market["building_skin"], evaluate(demo_case()).line.output
    >>> abs(found.ours.watts_per_m2 * output.plate_area / output.stabilised_power - 1) < 1e-12
    True
    """
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


def aged(constants: Constants, market: Market, life: Value, use: ModuleUse, ageing: Mapping[str, YearOfAge]) -> ModuleUse:
    """Our module where a warranty states how it ages: its energy follows the years of age, failures not replaced included.

        efficiency = use.efficiency
        watts_per_m2 = use.watts_per_m2
        area_related = use.area_related
        power_related = use.power_related
        besides_module = use.besides_module
        energy_yield = use.energy_yield
        years = life / constants.year    [1]
        lifetime_energy = use.energy_yield * constants.year * years_by_age(ageing, 0.0, years)
        discounted_energy = use.energy_yield * constants.year * years_by_age(ageing, market.discount_rate * constants.year,
            years)
        discounted_life = use.discounted_life

    Takes: life [s].
    Source: common practice.

    `energy_yield` is then that of a year at the power at sale.

    >>> from types import SimpleNamespace as Some
    >>> use = ModuleUse(0.1, 100.0, 60.0, 0.5, 1.1, 2.0, 25.0, 10.0, 14.0)
    >>> found = aged(Some(year=1.0), Some(discount_rate=1.0), 1.0, use, {"y01": Some(energy=0.75)})
    >>> found.lifetime_energy, found.discounted_energy
    (1.5, 0.75)
    """
    years, first = life / constants.year, use.energy_yield * constants.year
    rate = market.discount_rate * constants.year
    return replace(
        use,
        lifetime_energy=first * years_by_age(ageing, 0.0, years),
        discounted_energy=first * years_by_age(ageing, rate, years),
    )
