"""The record of a market, which is also its schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..fields import YEAR, choice, number, share, text, unit_text
from ..operations import Value


@dataclass(frozen=True, slots=True)
class Market:
    """A market: the reference module that buyers there can have instead of ours, and what either costs to put up and keep.

    Money is that of the case, without inflation. What is said to be area- or power-related is spent on either module.
    """

    title: str = text("name of the market", example="building skins")
    currency: str = unit_text("currency of the row", example="EUR")
    reference_price: Value = number(
        "{currency}/Wp_stabilised", "price of the reference module, delivered, before duty", example="0.11"
    )
    reference_duty: Value = number("1", "duty on the reference module, on its price", example="0 %", high=10.0)
    reference_efficiency: Value = share(
        "efficiency of the reference module on its whole area", example="22.5 %", unit="Wp_stabilised/W", above=0.0
    )
    area_cost: Value = number(
        "{currency}/m2",
        "area-related balance of system: mounting, laying, land; negative where a pane replaces cladding that costs more",
        example="45",
        low=None,
    )
    power_cost: Value = number(
        "{currency}/Wp_stabilised", "power-related balance of system: inverter, connection, planning", example="0.32"
    )
    area_upkeep: Value = number(
        "{currency}/m2/s", "yearly upkeep that goes by area, as cleaning", example="0.4", entry="{currency}/m2/year"
    )
    power_upkeep: Value = number(
        "{currency}/Wp_stabilised/s",
        "yearly upkeep that goes by power, as service of inverters",
        example="0.009",
        entry="{currency}/Wp_stabilised/year",
    )
    reference_yield: Value = number(
        "J/Wp_stabilised/s",
        "energy yield of the reference module in its first year, temperature counted, as a yield study states it",
        example="1250",
        entry="kWh/kWp_stabilised/year",
        above=0.0,
    )
    yield_ratio: Value = number(
        "1",
        "energy yield of our stabilised watt over that of the reference, by spectrum and diffuse light; temperature apart",
        example="103 %",
        above=0.0,
        high=3.0,
    )
    reference_temperature_coefficient: Value = number(
        "1/K", "change of the power of the reference module with temperature", example="-0.34 %/K", low=-0.01, high=0.01
    )
    temperature_coefficient: Value = number(
        "1/K", "change of the power of our module with temperature", example="-0.22 %/K", low=-0.01, high=0.01
    )
    temperature_excess: Value = number(
        "K", "temperature of the cells at work above 25 C, weighted by irradiance", example="22", low=-50.0, high=60.0
    )
    reference_degradation: Value = number(
        "1/s", "yearly loss of power of the reference module", example="0.5 %/year", entry="1/year", high=0.2 / YEAR
    )
    degradation: Value = number(
        "1/s", "yearly loss of power of our module, once stabilised", example="0.8 %/year", entry="1/year", high=0.2 / YEAR
    )
    lifetime: Value = number("s", "years that the buyer counts", example="25 year", entry="year", above=0.0)
    discount_rate: Value = number(
        "1/s", "real discount rate of the buyer, inflation taken out", example="5 %/year", entry="1/year", high=1.0 / YEAR
    )
    delivery: Value = number("{currency}/m2", "freight, duty and dealers from our gate to the buyer", example="4.50")
    area_premium: Value = number(
        "{currency}/m2", "what the buyer pays more for our module by area, as for looks or colour", example="20"
    )
    power_premium: Value = number(
        "{currency}/Wp_stabilised", "what the buyer pays more for our module by power, as for origin", example="0.05"
    )
    asked_price: Value = number("{currency}/Wp_stabilised", "price that we would ask, at our gate", example="1.60")
    per: str = choice("what the volume is counted in", "Wp_stabilised", "m2", is_unit=True)
    volume: Value = number(
        "{per}", "what buyers of such modules in this market take in a year, in the unit of `per`", example="25000000", above=0.0
    )
    most_share: Value = share("most of the volume that the plant can sell", example="20 %")
