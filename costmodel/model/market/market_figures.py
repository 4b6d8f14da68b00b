"""Figures of the markets, in the reporting currency, real: money of the case without inflation."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, status
from ...core.operations import Value
from ..ledger.ledger_figures import Cost

# what a break-even efficiency stands for
NO_EFFICIENCY, AT_LEAST, AT_MOST, ANY_EFFICIENCY = 0.0, 1.0, 2.0, 3.0
_ENOUGH = {AT_LEAST: "it and any above", AT_MOST: "it and any below"}
_NO_BREAK_EVEN = {NO_EFFICIENCY: "no efficiency would do", ANY_EFFICIENCY: "any efficiency would do"}


@dataclass(frozen=True, slots=True)
class ModuleUse:
    """What the buyer spends on a module besides its price, and what it yields, over its life."""

    efficiency: Value = figure("%*Wp_stabilised/W", "stabilised efficiency on the whole area of the module")
    watts_per_m2: Value = figure("Wp_stabilised/m2", "power of a square metre of modules")
    area_related: Value = figure("money/m2", "balance of system, upkeep and delivery by area, the premium taken off")
    power_related: Value = figure(
        "money/Wp_stabilised", "balance of system and upkeep by power; of our module the premium taken off"
    )
    besides_module: Value = figure("money/Wp_stabilised", "the two together: all that a watt costs the buyer but the module")
    energy_yield: Value = figure("kWh/kWp_stabilised/year", "energy of a watt in the first year")
    lifetime_energy: Value = figure("kWh/Wp_stabilised", "energy of a watt over the life")
    discounted_energy: Value = figure("kWh/Wp_stabilised", "the same, each year's discounted to the start")
    discounted_life: Value = figure("year", "years of the life, each discounted to the start: present value of 1 a year")


@dataclass(frozen=True, slots=True)
class EnergyLimit:
    """What our module means to a buyer who has to make energy as cheaply as with the reference module."""

    reference_levelised_cost: Value = figure("money/kWh", "levelised cost of energy with the reference module")
    levelised_at_highest_price: Value = figure("money/kWh", "levelised cost of energy with our module at the highest price")
    levelised_at_asked_price: Value = figure("money/kWh", "levelised cost of energy with our module at the price asked")
    levelised_at_cost: Value = figure("money/kWh", "levelised cost of energy with our module at what it costs to make")
    levelised_less_reference: Value = figure(
        "money/kWh", "check, must be zero: levelised cost at the highest price less that of the reference"
    )


@dataclass(frozen=True, slots=True)
class Alternative:
    """What an area may be covered with instead of our module."""

    present_value: Value = figure("money/m2", "what it leaves the owner over its life: energy less all cost, premium added")
    discounted_life: Value = figure("year", "years of its life, each discounted to the start")
    annual_worth: Value = figure("money/m2/year", "the same as an equal amount in each year of its life")
    price_per_m2: Value = figure("money/m2", "price of our module at which the owner is as well off as with this; may be negative")
    binds: Value = figure("1", "1 where it sets the highest price, else 0")


@dataclass(frozen=True, slots=True)
class AreaLimit:
    """What our module means to the owner of an area that is covered once."""

    alternatives: dict[str, Alternative]
    present_value_before_price: Value = figure(
        "money/m2", "what our module leaves the owner over its life before its price is paid"
    )
    best_annual_worth: Value = figure("money/m2/year", "annual worth of the best alternative")
    annual_worth_at_highest_price: Value = figure("money/m2/year", "annual worth of our module at the highest price")
    annual_worth_less_best: Value = figure(
        "money/m2/year", "check, must be zero: annual worth at the highest price less that of the best alternative"
    )


@dataclass(frozen=True, slots=True)
class Prices:
    """What a rule holds against each other: the reference's price with duty and the price asked, and what our module costs."""

    reference: Value  # per watt
    asked: Value  # per watt
    asked_per_m2: Value
    cost: Cost


@dataclass(frozen=True, slots=True)
class Rule:
    """What follows from what limits a market; `InMarket` holds it as figures. Efficiencies come with what they stand for."""

    highest_price: Value
    at_asked_price: tuple[Value, Value]
    at_cost: tuple[Value, Value]
    energy: EnergyLimit | None
    area: AreaLimit | None


@dataclass(frozen=True, slots=True)
class InMarket:
    """Our module in one market, held against what buyers there can have instead."""

    reference: ModuleUse
    ours: ModuleUse
    energy: EnergyLimit | None
    area: AreaLimit | None
    energy_value: Value = figure("money/kWh", "value of a kWh to the owner")
    reference_price: Value = figure("money/Wp_stabilised", "price of the reference module with duty")
    reference_price_per_m2: Value = figure("money/m2", "the same per square metre of reference modules")
    highest_price: Value = figure(
        "money/Wp_stabilised",
        "price at our gate at which the buyer is as well off as with the reference module or, where area limits the market, with "
        "the best alternative; may be negative",
    )
    highest_price_per_m2: Value = figure("money/m2", "the same per square metre")
    highest_price_per_module: Value = figure("money/module", "the same per module")
    margin: Value = figure("money/Wp_stabilised", "highest price less what the module costs to make")
    margin_per_m2: Value = figure("money/m2", "the same per square metre")
    asked_price: Value = figure("money/Wp_stabilised", "price that we would ask, at our gate")
    asked_price_per_m2: Value = figure("money/m2", "the same per square metre")
    left_at_asked_price: Value = figure(
        "money/Wp_stabilised",
        "what our module at the price asked leaves the owner over its life: value of its energy less all cost, premium added",
    )
    left_at_asked_price_per_m2: Value = figure("money/m2", "the same per square metre")
    efficiency_at_asked_price: Value = figure(
        "%*Wp_stabilised/W",
        "stabilised efficiency at which the price asked is the highest price; where area limits the market, the price of a m2",
    )
    efficiency_at_asked_price_status: Value = status(_ENOUGH, _NO_BREAK_EVEN)
    efficiency_at_cost: Value = figure(
        "%*Wp_stabilised/W", "stabilised efficiency at which the highest price is the cost, a square metre costing what it does"
    )
    efficiency_at_cost_status: Value = status(_ENOUGH, _NO_BREAK_EVEN)
    volume: Value = figure("Wp_stabilised", "what the market takes in a year, area counted with our power per square metre")
    volume_by_area: Value = figure("m2", "the same by area, power counted with our power per square metre")
    plant_share: Value = figure("%", "output of the plant over what the market takes")


@dataclass(frozen=True, slots=True)
class Markets:
    """All markets of the case."""

    by_market: dict[str, InMarket]
    volume_above_cost: Value = figure(
        "Wp_stabilised",
        "what the markets take in a year in which the highest price covers the cost of a module; markets in area counted with our "
        "power per square metre",
    )
    sales_above_cost: Value = figure("Wp_stabilised", "the most of that volume that our sales may take: most_share of each market")
