"""Figures of the markets, in the reporting currency, real: money of the case without inflation."""

from __future__ import annotations

from dataclasses import dataclass

from ..fields import figure
from ..operations import Value

# what a break-even efficiency stands for; the figure itself is 0 where there is none
NO_EFFICIENCY, AT_LEAST, AT_MOST, ANY_EFFICIENCY = 0.0, 1.0, 2.0, 3.0
_STATUS = "0: no efficiency would do; 1: it and any above; 2: it and any below; 3: any efficiency"


@dataclass(frozen=True, slots=True)
class ModuleUse:
    """What the buyer spends on a module besides its price, and what it yields."""

    efficiency: Value = figure("Wp_stabilised/W", "stabilised efficiency on the whole area of the module")
    area_related: Value = figure(
        "money/m2", "balance of system and upkeep by area; of our module delivery too, and the premium taken off"
    )
    power_related: Value = figure(
        "money/Wp_stabilised", "balance of system and upkeep by power; of our module the premium taken off"
    )
    besides_module: Value = figure("money/Wp_stabilised", "the two together: all that a watt costs the buyer but the module")
    energy_yield: Value = figure("kWh/kWp_stabilised/year", "energy of a watt in the first year")
    lifetime_energy: Value = figure("kWh/Wp_stabilised", "energy of a watt over the years counted")
    discounted_energy: Value = figure("kWh/Wp_stabilised", "the same, each year's discounted to the start")


@dataclass(frozen=True, slots=True)
class InMarket:
    """Our module in one market, held against the reference module."""

    reference: ModuleUse
    ours: ModuleUse
    reference_price: Value = figure("money/Wp_stabilised", "price of the reference module with duty")
    reference_levelised_cost: Value = figure("money/kWh", "levelised cost of energy with the reference module")
    highest_price: Value = figure(
        "money/Wp_stabilised", "price at our gate at which energy costs the buyer as much as with the reference; may be negative"
    )
    highest_price_per_m2: Value = figure("money/m2", "the same for each square metre")
    highest_price_per_module: Value = figure("money/module", "the same for each module")
    margin: Value = figure("money/Wp_stabilised", "highest price less what the module costs to make")
    margin_per_m2: Value = figure("money/m2", "the same for each square metre")
    asked_price: Value = figure("money/Wp_stabilised", "price that we would ask, at our gate")
    levelised_at_highest_price: Value = figure("money/kWh", "levelised cost of energy with our module at the highest price")
    levelised_at_asked_price: Value = figure("money/kWh", "levelised cost of energy with our module at the price asked")
    levelised_at_cost: Value = figure("money/kWh", "levelised cost of energy with our module at what it costs to make")
    levelised_less_reference: Value = figure(
        "money/kWh", "check, must be zero: levelised cost at the highest price less that of the reference"
    )
    efficiency_at_asked_price: Value = figure(
        "Wp_stabilised/W", "stabilised efficiency at which the price asked for a watt is the highest price"
    )
    efficiency_at_asked_price_status: Value = figure("1", _STATUS)
    efficiency_at_cost: Value = figure(
        "Wp_stabilised/W", "stabilised efficiency at which the highest price is the cost, a square metre costing what it does"
    )
    efficiency_at_cost_status: Value = figure("1", _STATUS)
    volume: Value = figure("Wp_stabilised", "what the market takes in a year")
    plant_share: Value = figure("1", "output of the plant over what the market takes")


@dataclass(frozen=True, slots=True)
class Markets:
    """All markets of the case."""

    by_market: dict[str, InMarket]
    volume_above_cost: Value = figure(
        "Wp_stabilised", "what the markets take in a year in which the highest price covers the cost of a module"
    )
