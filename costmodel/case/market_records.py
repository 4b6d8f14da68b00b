"""The records of markets and of what covers an area there, which are also their schema; see records.py."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import YEAR, choice, number, reference, share, text, unit_text
from ..core.operations import Value


@dataclass(frozen=True, slots=True)
class Market:
    """A market: what limits it, the reference module that buyers there can have instead of ours, and what power costs.

    Money is that of the case, without inflation. What is said to be power-related is spent on either module; what goes by area
    stands in coverings.csv.
    """

    title: str = text("name of the market", example="building skins")
    currency: str = unit_text("currency of the row", example="EUR")
    limited_by: str = choice(
        "what buyers have little of: energy, where the ground is cheap and cost per kWh decides; area, where a given area is "
        "covered once and what its owner has of a square metre decides",
        "energy",
        "area",
    )
    per: str = choice(
        "what price asked and volume are counted in: Wp_stabilised where energy limits the market, m2 where area does",
        "Wp_stabilised",
        "m2",
        is_unit=True,
    )
    energy_value: Value = number(
        "{currency}/J",
        "value of a kWh to the owner, net of the owner's tax, without inflation, the same in all years",
        example="0.12",
        entry="{currency}/kWh",
    )
    reference_price: Value = number(
        "{currency}/Wp_stabilised",
        "price of the reference module, before duty and before its delivery in coverings.csv",
        example="0.11",
    )
    reference_duty: Value = number("1", "duty on the reference module, on its price", example="0 %", high=10.0)
    reference_efficiency: Value = share(
        "efficiency of the reference module on its whole area", example="22.5 %", unit="Wp_stabilised/W", above=0.0
    )
    power_cost: Value = number(
        "{currency}/Wp_stabilised", "power-related balance of system: inverter, connection, planning", example="0.32"
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
        "1/s",
        "yearly loss of power of our module, once stabilised; 0 where warranty.csv states it",
        example="0.8 %/year",
        entry="1/year",
        high=0.2 / YEAR,
    )
    discount_rate: Value = number(
        "1/s", "real discount rate of the buyer, inflation taken out", example="5 %/year", entry="1/year", high=1.0 / YEAR
    )
    power_premium: Value = number(
        "{currency}/Wp_stabilised", "what the buyer pays more for our module by power, as for origin", example="0.05"
    )
    asked_price: Value = number("{currency}/{per}", "price that we would ask, at our gate", example="1.60")
    volume: Value = number("{per}", "what buyers of such modules in this market take in a year", example="25000000", above=0.0)
    most_share: Value = share("most of the volume that the plant can sell", example="20 %")


@dataclass(frozen=True, slots=True)
class Covering:
    """What an area in a market may be covered with, and what a square metre of it costs its owner besides a module's price.

    Each market has one row for our module and one for the reference module. Where area limits it, plain coverings and an area
    left as it is compete with both. Costs are gross: what a module saves of other cladding is the cost of that cladding's row.
    """

    title: str = text("what covers the area", example="glass cladding")
    market: str = reference("the market", "markets", example="building_skin")
    covers_with: str = choice(
        "our module; the reference module; plain, a covering that generates nothing; nothing, the area left as it is, where that "
        "is permitted. The last two only where area limits the market",
        "our_module",
        "reference",
        "plain",
        "nothing",
    )
    currency: str = unit_text("currency of the row", example="EUR")
    area_cost: Value = number(
        "{currency}/m2",
        "what is spent once by area: mounting, laying, land; of a plain covering its material too",
        example="85",
    )
    area_upkeep: Value = number(
        "{currency}/m2/s", "yearly upkeep that goes by area, as cleaning", example="0.4", entry="{currency}/m2/year"
    )
    delivery: Value = number(
        "{currency}/m2",
        "freight, duty and dealers from the maker's gate to the buyer; 0 where a price is delivered",
        example="4.50",
    )
    premium: Value = number(
        "{currency}/m2", "what the owner values it at beyond energy and cost, as for looks or colour, over its life", example="20"
    )
    life: Value = number("s", "life, in which it is paid for and yields", example="25 year", entry="year", above=0.0)
