"""Markets limited by energy: the price at which the buyer's energy costs the same with our module as with the reference."""

from __future__ import annotations

from ...case.line_records import Constants
from ...core.operations import Value
from .efficiency_break_even import break_even_efficiency
from .market_figures import EnergyLimit, ModuleUse, Prices, Rule


def levelised_cost(price: Value, use: ModuleUse) -> Value:
    """Levelised cost of energy: price and all else that a watt costs, over its energy, both discounted to the start.

    Of replacements without end, each at the same cost, it is that of one life: lives need not be equal. Common practice.

    >>> use = ModuleUse(0.1, 100.0, 100.0, 0.5, 1.5, 1.0, 25.0, 10.0, 14.0)
    >>> levelised_cost(0.5, use)
    0.2
    """
    return (price + use.besides_module) / use.discounted_energy


def highest_price(reference_price: Value, reference: ModuleUse, ours: ModuleUse) -> Value:
    """Price at which energy costs the same with ours: y (P_ref + A_ref/(G eta_ref) + B_ref) - B - A/(G eta).

    y is energy over energy of the reference, A area-related and B power-related cost, G the rating irradiance; upkeep, delivery
    and premium stand in A and B. It follows from levelised costs that are equal.
    """
    ratio = ours.discounted_energy / reference.discounted_energy
    return ratio * (reference_price + reference.besides_module) - ours.besides_module


def limited_by_energy(constants: Constants, prices: Prices, reference: ModuleUse, ours: ModuleUse) -> Rule:
    """The highest price, what it means by energy, and the efficiencies that break even at the price of a watt and at cost."""
    levelised_reference = levelised_cost(prices.reference, reference)
    highest = highest_price(prices.reference, reference, ours)
    at_highest = levelised_cost(highest, ours)
    left = levelised_reference * ours.discounted_energy - ours.power_related  # for the module and all that goes by area
    limit = EnergyLimit(
        reference_levelised_cost=levelised_reference,
        levelised_at_highest_price=at_highest,
        levelised_at_asked_price=levelised_cost(prices.asked, ours),
        levelised_at_cost=levelised_cost(prices.cost.cost_per_stabilised_watt, ours),
        levelised_less_reference=at_highest - levelised_reference,
    )
    return Rule(
        highest_price=highest,
        at_asked_price=break_even_efficiency(ours.area_related, left - prices.asked, constants.rating_irradiance),
        at_cost=break_even_efficiency(ours.area_related + prices.cost.cost_per_m2, left, constants.rating_irradiance),
        energy=limit,
        area=None,
    )
