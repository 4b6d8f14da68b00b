"""Markets limited by energy: the price at which the buyer's energy costs the same with our module as with the reference."""

from __future__ import annotations

from ...case.line_records import Constants
from ...core.operations import Value
from .efficiency_break_even import break_even_efficiency
from .market_figures import EnergyLimit, ModuleUse, Prices, Rule


def levelised_cost(price: Value, use: ModuleUse) -> Value:
    """Levelised cost of energy: price and all else that a watt costs, over its energy, both discounted to the start.

        levelised cost = (price + use.besides_module) / use.discounted_energy    [money/J]

    Takes: price [money/Wp_stabilised].
    Source: common practice.

    Of replacements without end, each at the same cost, it is that of one life: lives need not be equal.

    >>> use = ModuleUse(0.1, 100.0, 100.0, 0.5, 1.5, 1.0, 25.0, 10.0, 14.0)
    >>> levelised_cost(0.5, use)
    0.2
    """
    return (price + use.besides_module) / use.discounted_energy


def highest_price(reference_price: Value, reference: ModuleUse, ours: ModuleUse) -> Value:
    """Price of a watt at which energy costs the same with our module as with the reference.

        ratio = ours.discounted_energy / reference.discounted_energy    [1]
        highest price = ratio * (reference_price + reference.besides_module) - ours.besides_module    [money/Wp_stabilised]

    Takes: reference_price [money/Wp_stabilised].
    Source: common practice; follows from levelised costs that are equal.

    Written out: y (P_ref + A_ref/(G eta_ref) + B_ref) - B - A/(G eta), y energy over energy of the reference, A area-related and B
    power-related cost, G the rating irradiance; upkeep, delivery and premium stand in A and B.

    >>> reference = ModuleUse(0.2, 200.0, 60.0, 0.5, 0.75, 1.0, 25.0, 10.0, 14.0)
    >>> ours = ModuleUse(0.1, 100.0, 60.0, 0.25, 0.75, 1.0, 25.0, 20.0, 14.0)
    >>> highest_price(0.25, reference, ours)
    1.25
    """
    ratio = ours.discounted_energy / reference.discounted_energy
    return ratio * (reference_price + reference.besides_module) - ours.besides_module


def limited_by_energy(constants: Constants, prices: Prices, reference: ModuleUse, ours: ModuleUse) -> Rule:
    """The highest price, what it means by energy, and the efficiencies that break even at the price of a watt and at cost.

        levelised reference = levelised_cost(prices.reference, reference)    [money/J]
        highest_price = highest_price(prices.reference, reference, ours)    [money/Wp_stabilised]
        at highest = levelised_cost(highest_price, ours)    [money/J]
        left = levelised_reference * ours.discounted_energy - ours.power_related    [money/Wp_stabilised]
        at_asked_price = break_even_efficiency(ours.area_related, left - prices.asked, constants.rating_irradiance)    [any]
        at_cost = break_even_efficiency(ours.area_related + prices.cost.cost_per_m2, left, constants.rating_irradiance)    [any]
        energy = EnergyLimit(levelised_reference, at_highest, levelised_cost(prices.asked, ours),
            levelised_cost(prices.cost.cost_per_stabilised_watt, ours), at_highest - levelised_reference)
        area = None

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).market.by_market["open_field"].energy
    >>> abs(found.levelised_less_reference) < 1e-12 * found.reference_levelised_cost
    True
    """
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
