"""The price at which a buyer's energy costs the same with our module as with a reference module, and the efficiency it takes."""

from __future__ import annotations

from dataclasses import replace

from ..case.line_records import Constants
from ..case.market_records import Market
from ..case.records import Case
from ..fields import Number, declared
from ..ledger.prices import in_reporting_currency
from ..ledger.records import Ledger
from ..line.records import Line
from ..operations import Value, choose, safe_divide, sum_of
from .records import ANY_EFFICIENCY, AT_LEAST, AT_MOST, NO_EFFICIENCY, InMarket, Markets, ModuleUse


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


def in_reporting_money(case: Case, market: Market) -> Market:
    """The row with all its money in the reporting currency."""
    money = [name for name, each in declared(Market).items() if isinstance(each, Number) and each.unit.startswith("{currency}")]
    return replace(market, **{n: in_reporting_currency(getattr(market, n), market.currency, case.money) for n in money})


def module_use(
    constants: Constants,
    market: Market,
    efficiency: Value,
    area_related: Value,
    power_related: Value,
    energy_yield: Value,
    degradation: Value,
) -> ModuleUse:
    """What a watt costs the buyer besides the module, and what it yields in the years counted.

    `area_related` and `power_related` are what is spent once, for each square metre and for each watt; upkeep of all years,
    discounted to the start, is added to them. `energy_yield` is that of the first year.
    """
    rate, years = market.discount_rate * constants.year, market.lifetime / constants.year
    decline = degradation * constants.year
    time_of_upkeep = constants.year * discounted_years(rate, 0.0, years)
    by_area = area_related + market.area_upkeep * time_of_upkeep
    by_power = power_related + market.power_upkeep * time_of_upkeep
    return ModuleUse(
        efficiency=efficiency,
        area_related=by_area,
        power_related=by_power,
        besides_module=by_area / (constants.rating_irradiance * efficiency) + by_power,
        energy_yield=energy_yield,
        lifetime_energy=energy_yield * constants.year * discounted_years(0.0, decline, years),
        discounted_energy=energy_yield * constants.year * discounted_years(rate, decline, years),
    )


def levelised_cost(price: Value, use: ModuleUse) -> Value:
    """Levelised cost of energy: price and all else that a watt costs, over its energy, both discounted to the start.

    >>> use = ModuleUse(0.1, 100.0, 0.5, 1.5, 1.0, 25.0, 10.0)
    >>> levelised_cost(0.5, use)
    0.2
    """
    return (price + use.besides_module) / use.discounted_energy


def highest_price(reference_price: Value, reference: ModuleUse, ours: ModuleUse) -> Value:
    """Price at which energy costs the same with ours: y (P_ref + A/(G eta_ref) + B) - B - A/(G eta).

    y is energy over energy of the reference, A area-related and B power-related cost, G the rating irradiance; upkeep, delivery
    and premium stand in A and B. It follows from levelised costs that are equal.
    """
    ratio = ours.discounted_energy / reference.discounted_energy
    return ratio * (reference_price + reference.besides_module) - ours.besides_module


def break_even_efficiency(area_related: Value, room: Value, irradiance: Value) -> tuple[Value, Value]:
    """The efficiency at which what goes by area takes just the room that is left for it in a watt, and what it stands for.

    The area costs `area_related` over irradiance times efficiency for each watt, which must not exceed `room`. Where both
    are positive, the efficiency and any above will do; both negative, as where panes replace cladding, it and any below.
    Else none does or any, and the efficiency is 0.

    >>> break_even_efficiency(60.0, 0.5, 1000.0), break_even_efficiency(60.0, -0.5, 1000.0)
    ((0.12, 1.0), (0.0, 0.0))
    >>> break_even_efficiency(-60.0, -0.5, 1000.0), break_even_efficiency(-60.0, 0.5, 1000.0)
    ((0.12, 2.0), (0.0, 3.0))
    """
    status = choose(
        area_related > 0,
        choose(room > 0, AT_LEAST, NO_EFFICIENCY),
        choose(room >= 0, ANY_EFFICIENCY, choose(area_related < 0, AT_MOST, NO_EFFICIENCY)),
    )
    return choose(area_related * room > 0, safe_divide(area_related, irradiance * room), 0.0), status


def both_uses(case: Case, line: Line, market: Market) -> tuple[ModuleUse, ModuleUse]:
    """The reference module and ours in a market whose money is that of the case."""
    constants, output = case.constants, line.output
    reference = module_use(
        constants,
        market,
        efficiency=market.reference_efficiency,
        area_related=market.area_cost,
        power_related=market.power_cost,
        energy_yield=market.reference_yield,
        degradation=market.reference_degradation,
    )
    warm = temperature_factor(market.temperature_coefficient, market.temperature_excess)
    reference_warm = temperature_factor(market.reference_temperature_coefficient, market.temperature_excess)
    module_area = output.plate_area / constants.modules_per_plate
    ours = module_use(
        constants,
        market,
        efficiency=output.stabilised_power / (module_area * constants.rating_irradiance),
        area_related=market.area_cost + market.delivery - market.area_premium,
        power_related=market.power_cost - market.power_premium,
        energy_yield=market.reference_yield * market.yield_ratio * warm / reference_warm,
        degradation=market.degradation,
    )
    return reference, ours


def module_in_market(case: Case, line: Line, ledger: Ledger, row: Market) -> InMarket:
    """Our module in one market; its efficiency is that of the line, its cost that of the ledger."""
    market = in_reporting_money(case, row)
    reference, ours = both_uses(case, line, market)
    irradiance, cost = case.constants.rating_irradiance, ledger.total
    reference_price = market.reference_price * (1 + market.reference_duty)
    levelised_reference = levelised_cost(reference_price, reference)
    highest = highest_price(reference_price, reference, ours)
    at_highest = levelised_cost(highest, ours)
    left = levelised_reference * ours.discounted_energy - ours.power_related  # for the module and all that goes by area
    at_asked = break_even_efficiency(ours.area_related, left - market.asked_price, irradiance)
    at_cost = break_even_efficiency(ours.area_related + cost.cost_per_m2, left, irradiance)
    watts_per_m2 = irradiance * ours.efficiency
    output_there = line.output.by_unit()[row.per]
    return InMarket(
        reference=reference,
        ours=ours,
        reference_price=reference_price,
        reference_levelised_cost=levelised_reference,
        highest_price=highest,
        highest_price_per_m2=highest * watts_per_m2,
        highest_price_per_module=highest * line.output.stabilised_power,
        margin=highest - cost.cost_per_stabilised_watt,
        margin_per_m2=highest * watts_per_m2 - cost.cost_per_m2,
        asked_price=market.asked_price,
        levelised_at_highest_price=at_highest,
        levelised_at_asked_price=levelised_cost(market.asked_price, ours),
        levelised_at_cost=levelised_cost(cost.cost_per_stabilised_watt, ours),
        levelised_less_reference=at_highest - levelised_reference,
        efficiency_at_asked_price=at_asked[0],
        efficiency_at_asked_price_status=at_asked[1],
        efficiency_at_cost=at_cost[0],
        efficiency_at_cost_status=at_cost[1],
        volume=market.volume * (line.output.stabilised_watts / output_there),
        plant_share=output_there / market.volume,
    )


def compute_market(case: Case, line: Line, ledger: Ledger) -> Markets:
    """What buyers in every market of the case could pay; a case without markets has none.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.ledger.ledger import compute_ledger
    >>> from costmodel.line.line import compute_line
    >>> case = load_case("inputs_demo/facade")
    >>> line = compute_line(case)
    >>> compute_market(case, line, compute_ledger(case, line)).by_market["open_field"].highest_price < 0
    True
    """
    found = {name: module_in_market(case, line, ledger, row) for name, row in case.markets.items()}
    return Markets(
        by_market=found,
        volume_above_cost=sum_of([choose(each.margin >= 0, each.volume, 0.0) for each in found.values()]),
    )
