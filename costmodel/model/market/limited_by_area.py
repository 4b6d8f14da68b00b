"""Markets limited by area: the price at which the owner is as well off with our module as with the best alternative.

The area is covered once. What a covering leaves its owner per square metre, over one life and its price paid, is

    w (v E - B - P) - A

w power per square metre, v value of energy, E discounted energy per watt, B power-related cost, P price per watt, A area-related
cost with upkeep and delivery, premium taken off. A plain covering has no power: it leaves -A, as does an area left as it is.

Lives may differ, so equivalent annual worths are compared: present value of one life over the present value of 1 per year of that
life. That is the same as replacing each covering at the end of its life at the same real cost, up to any common horizon, what is
left of the last life then valued by its remaining years' annual worth: the horizon cancels. Engineering-economy textbooks
(equivalent annual worth with a repeated life); common practice.
"""

from __future__ import annotations

from collections.abc import Mapping

from ...case.line_records import Constants
from ...case.market_records import Covering, Market
from ...core.operations import Value, choose, largest_of, least_of
from .efficiency_break_even import break_even_efficiency
from .market_figures import Alternative, AreaLimit, ModuleUse, Prices, Rule
from .uses import area_related, discounted_life


def left_per_m2(energy_value: Value, price: Value, use: ModuleUse) -> Value:
    """What a module leaves its owner per square metre over its life, a watt bought at `price`.

        left = use.watts_per_m2 * (energy_value * use.discounted_energy - use.power_related - price) - use.area_related
            [money/m2]

    Takes: energy_value [money/J], price [money/Wp_stabilised].
    Source: common practice, present value.

    >>> use = ModuleUse(0.1, 100.0, 60.0, 0.5, 1.1, 1.0, 25.0, 10.0, 14.0)
    >>> left_per_m2(0.25, 0.75, use)
    65.0
    """
    return use.watts_per_m2 * (energy_value * use.discounted_energy - use.power_related - price) - use.area_related


def alternatives_by_area(
    constants: Constants, market: Market, coverings: Mapping[str, Covering], reference_price: Value, reference: ModuleUse
) -> dict[str, tuple[Value, Value]]:
    """What each covering but ours leaves per square metre over its life, and its discounted life.

        others = {n: row for n, row in coverings.items() if row.covers_with != "our_module"}    [any]
        lives = {n: discounted_life(constants, market, row.life) for n, row in others.items()}    [any]
        found = {n: (left_per_m2(market.energy_value, reference_price, reference), reference.discounted_life) if row.covers_with
            == "reference" else (-area_related(row, lives[n]), lives[n]) for n, row in others.items()}    [any]

    Takes: reference_price [money/Wp_stabilised].
    Source: common practice, present value.

    A plain covering has no power, and an area left as it is neither: what is left is less than nothing by its cost.

    >>> from types import SimpleNamespace as Some
    >>> plain = Covering("", "", "plain", "EUR", 100.0, 0.0, 0.0, 0.0, 2.0)
    >>> alternatives_by_area(Some(year=1.0), Some(discount_rate=0.0, energy_value=0.25), {"wall": plain}, 0.5, None)
    {'wall': (-100.0, 2.0)}
    """
    found = {}
    for name, row in coverings.items():
        if row.covers_with == "reference":
            found[name] = left_per_m2(market.energy_value, reference_price, reference), reference.discounted_life
        elif row.covers_with != "our_module":
            discounted = discounted_life(constants, market, row.life)
            found[name] = -area_related(row, discounted), discounted
    return found


def limited_by_area(
    constants: Constants,
    market: Market,
    coverings: Mapping[str, Covering],
    prices: Prices,
    reference: ModuleUse,
    ours: ModuleUse,
) -> Rule:
    """The highest price, against each alternative and against the best, and the efficiencies that break even.

        alternatives = alternatives_by_area(constants, market, coverings, prices.reference, reference)    [any]
        before price = left_per_m2(market.energy_value, 0.0, ours)    [money/m2]
        annual = {name: left / discounted for name, (left, discounted) in alternatives.items()}    [money/m2/s]
        against = {name: before_price - ours.discounted_life * worth for name, worth in annual.items()}    [money/m2]
        highest = least_of(list(against.values()))    [money/m2]
        best = largest_of(list(annual.values()))    [money/m2/s]
        at highest = (before_price - highest) / ours.discounted_life    [money/m2/s]
        others = {name: Alternative(left, discounted, annual[name], against[name], choose(against[name] <= highest, 1.0, 0.0))
            for name, (left, discounted) in alternatives.items()}    [any]
        taken = ours.area_related + ours.discounted_life * best    [money/m2]
        left = market.energy_value * ours.discounted_energy - ours.power_related    [money/Wp_stabilised]
        highest_price = highest / ours.watts_per_m2    [money/Wp_stabilised]
        at_asked_price = break_even_efficiency(taken + prices.asked_per_m2, left, constants.rating_irradiance)    [any]
        at_cost = break_even_efficiency(taken + prices.cost.cost_per_m2, left, constants.rating_irradiance)    [any]
        energy = None
        area = AreaLimit(others, before_price, best, at_highest, at_highest - best)

    Source: engineering economy, equivalent annual worth with a repeated life; common practice.

    The money of market and coverings is that of the case. Efficiencies are those at which the price asked per square metre, or
    what one costs to make, is the highest price.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).market.by_market["building_skin"]
    >>> abs(found.area.annual_worth_less_best) < 1e-9 * abs(found.area.best_annual_worth)
    True
    """
    before_price = left_per_m2(market.energy_value, 0.0, ours)
    others = alternatives_by_area(constants, market, coverings, prices.reference, reference)
    annual = {name: left / discounted for name, (left, discounted) in others.items()}
    against = {name: before_price - ours.discounted_life * worth for name, worth in annual.items()}
    highest, best = least_of(list(against.values())), largest_of(list(annual.values()))
    at_highest = (before_price - highest) / ours.discounted_life
    limit = AreaLimit(
        alternatives={
            name: Alternative(left, discounted, annual[name], against[name], choose(against[name] <= highest, 1.0, 0.0))
            for name, (left, discounted) in others.items()
        },
        present_value_before_price=before_price,
        best_annual_worth=best,
        annual_worth_at_highest_price=at_highest,
        annual_worth_less_best=at_highest - best,
    )
    taken = ours.area_related + ours.discounted_life * best  # what goes by area, and what the best alternative would leave
    left = market.energy_value * ours.discounted_energy - ours.power_related
    return Rule(
        highest_price=highest / ours.watts_per_m2,
        at_asked_price=break_even_efficiency(taken + prices.asked_per_m2, left, constants.rating_irradiance),
        at_cost=break_even_efficiency(taken + prices.cost.cost_per_m2, left, constants.rating_irradiance),
        energy=None,
        area=limit,
    )
