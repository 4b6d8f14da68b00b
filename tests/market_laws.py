"""Laws of the markets: what energy costs a buyer and an area leaves its owner, year by year; what a break-even efficiency means."""
from __future__ import annotations

import math
from collections.abc import Iterator

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.market_records import Covering, Market
from costmodel.case.whole_case import Case
from costmodel.core.fields import Figure, walk
from costmodel.model.evaluate import Results, evaluate
from costmodel.model.market.market_figures import InMarket

from .scaling_laws import broken, times

Broken = Iterator[str]
YEAR = 8760 * 3600.0
SUN = 1000.0  # W/m2
MONEY = ("reference_price", "power_cost", "power_upkeep", "power_premium", "asked_price", "energy_value")
MONEY_OF_COVERINGS = ("area_cost", "area_upkeep", "delivery", "premium")
AGAINST_COST = ("margin", "margin_per_m2", "levelised_at_cost")  # figures that money of the market is only a part of


def coverings_of(case: Case, market: str) -> dict[str, Covering]:
    """The rows of coverings.csv of one market."""
    return {name: row for name, row in case.coverings.items() if row.market == market}


def covering(case: Case, market: str, kind: str) -> Covering:
    """The row of one kind in a market."""
    return next(row for row in coverings_of(case, market).values() if row.covers_with == kind)


def rate_of(case: Case, row: Market | Covering) -> float:
    """Reporting currency per unit of a row's currency."""
    return case.money[row.currency.lower()].exchange_rate


def whole_years(life: float) -> range:
    """The years of a life."""
    return range(1, round(life / YEAR) + 1)


def paid_for_energy(row: Market, life: float, spent: float, upkeep: float, first_year: float, kept: list[float]) -> float:
    """What a watt costs over what it yields, year by year: money now and upkeep at the end of each year."""
    worth = [(1 + row.discount_rate * YEAR) ** -year for year in whole_years(life)]
    energy = [first_year * part for part in kept]
    return (spent + sum(upkeep * v for v in worth)) / sum(e * v for e, v in zip(energy, worth))


def kept_by_year(results: Results, life: float, degradation: float, ours: bool) -> list[float]:
    """What each year of a life yields over the first: by a yearly loss, or of our module by the years of a warranty."""
    ages = [age.energy for age in results.line.ageing.values()]
    if ours and ages:
        return ages[: len(whole_years(life))]
    return [(1 - degradation * YEAR) ** (year - 1) for year in whole_years(life)]


def first_years(row: Market) -> tuple[float, float]:
    """Energy of a watt in its first year, J: of the reference module and of ours."""
    warm = [1 + c * row.temperature_excess for c in (row.temperature_coefficient, row.reference_temperature_coefficient)]
    year = row.reference_yield * YEAR
    return year, year * row.yield_ratio / warm[1] * warm[0]


def buyers_cost(case: Case, results: Results, name: str, price: float) -> tuple[float, float]:
    """Levelised cost of energy with the reference and with ours at a price, in the reporting currency."""
    row, output = case.markets[name], results.line.output
    rate = rate_of(case, row)
    sides = []
    for kind, per_m2, bought, degradation, year in (
            ("reference", SUN * row.reference_efficiency, row.reference_price + row.reference_price * row.reference_duty,
             row.reference_degradation, first_years(row)[0]),
            ("our_module", output.stabilised_watts / output.good_area, price / rate - row.power_premium, row.degradation,
             first_years(row)[1])):
        covers = covering(case, name, kind)
        other = rate_of(case, covers) / rate
        by_area = other * (covers.area_cost + covers.delivery - covers.premium) / per_m2
        upkeep = YEAR * (row.power_upkeep + other * covers.area_upkeep / per_m2)
        kept = kept_by_year(results, covers.life, degradation, kind == "our_module")
        sides.append(rate * paid_for_energy(row, covers.life, bought + row.power_cost + by_area, upkeep, year, kept))
    return sides[0], sides[1]


def a_buyer_pays_as_much_for_energy_at_the_highest_price(case: Case, results: Results) -> Broken:
    """Counted year by year, and the other levelised costs with it."""
    for name, found in results.market.by_market.items():
        if found.energy is None:
            continue
        for price, figure in ((found.highest_price, "levelised_at_highest_price"), (found.asked_price, "levelised_at_asked_price"),
                              (results.ledger.total.cost_per_stabilised_watt, "levelised_at_cost")):
            reference, ours = buyers_cost(case, results, name, price)
            yield from broken(f"{figure} of {name}", getattr(found.energy, figure), ours)
            yield from broken(f"reference of {name}", found.energy.reference_levelised_cost, reference)
        yield from broken(f"check of {name}", found.energy.levelised_less_reference + found.energy.reference_levelised_cost,
                          found.energy.levelised_at_highest_price)
        yield from broken(f"highest price of {name}", *buyers_cost(case, results, name, found.highest_price))


def flows_per_m2(case: Case, results: Results, name: str, row: Covering, price: float) -> list[float]:
    """What one life of a covering brings an owner per square metre, year by year from the day it is put up.

    `price` is that of a square metre of our module, in the reporting currency.
    """
    market, output = case.markets[name], results.line.output
    rate, other = rate_of(case, market), rate_of(case, row)
    powers = {"reference": SUN * market.reference_efficiency, "our_module": output.stabilised_watts / output.good_area}
    watts, ours = powers.get(row.covers_with, 0.0), row.covers_with == "our_module"
    bought = price if ours else rate * watts * market.reference_price * (1 + market.reference_duty)
    power = rate * watts * (market.power_cost - (market.power_premium if ours else 0.0))
    degradation = market.degradation if ours else market.reference_degradation
    first = -bought - power - other * (row.area_cost + row.delivery - row.premium)
    upkeep = YEAR * (rate * watts * market.power_upkeep + other * row.area_upkeep)
    energy = [watts * first_years(market)[ours] * part for part in kept_by_year(results, row.life, degradation, ours)]
    return [first, *(rate * market.energy_value * each - upkeep for each in energy)]


def present_value(flows: list[float], rate: float, years: int) -> float:
    """The present value of flows done again at the end of each life, up to a horizon that is a whole number of lives."""
    life = len(flows) - 1
    return sum(flow * (1 + rate) ** -(begin + year) for begin in range(0, years, life) for year, flow in enumerate(flows))


def an_owner_is_as_well_off_at_the_highest_price_as_with_the_best_alternative(case: Case, results: Results) -> Broken:
    """Each covering put up again at the end of its life, at the same cost, until all lives end in the same year."""
    for name, found in results.market.by_market.items():
        if found.area is None:
            continue
        rows, rate = coverings_of(case, name), case.markets[name].discount_rate * YEAR
        years = math.lcm(*(round(row.life / YEAR) for row in rows.values()))
        worth = {each: present_value(flows_per_m2(case, results, name, row, found.highest_price_per_m2), rate, years)
                 for each, row in rows.items()}
        ours = next(each for each, row in rows.items() if row.covers_with == "our_module")
        scale = max(map(abs, worth.values())) + results.ledger.total.cost_per_m2  # what small differences are small against
        best = max(value for each, value in worth.items() if each != ours)
        yield from broken(f"{name} at its highest price", worth[ours] + scale, best + scale)
        for each, row in rows.items():
            if each != ours:
                against = found.area.alternatives[each]
                once = present_value(flows_per_m2(case, results, name, row, 0.0), rate, round(row.life / YEAR))
                even = present_value(flows_per_m2(case, results, name, rows[ours], against.price_per_m2), rate, years)
                yield from broken(f"{each} over its life", against.present_value + scale, once + scale)
                yield from broken(f"price against {each}", even + scale, worth[each] + scale)
                yield from broken(f"{each} binds", against.binds, 1.0 if worth[each] >= best - 1e-9 * scale else 0.0)
        yield from broken(f"check of {name}", found.area.annual_worth_less_best + scale, scale)


def what_the_price_asked_leaves_an_owner(case: Case, results: Results) -> Broken:
    """Over one life, by watt and by area, whatever limits the market."""
    for name, found in results.market.by_market.items():
        row = covering(case, name, "our_module")
        flows = flows_per_m2(case, results, name, row, found.asked_price_per_m2)
        left = present_value(flows, case.markets[name].discount_rate * YEAR, len(flows) - 1)
        yield from broken(f"left in {name}", found.left_at_asked_price_per_m2, left)
        yield from broken(f"left per watt in {name}", found.left_at_asked_price * found.ours.watts_per_m2, left)


def prices_in_a_market_agree_on_every_basis(case: Case, results: Results) -> Broken:
    """Watt, square metre and module; margins are against the ledger; the volume is that of markets that cover the cost."""
    output, total = results.line.output, results.ledger.total
    covered = ours = 0.0
    for name, found in results.market.by_market.items():
        a_year = found.highest_price * output.stabilised_watts
        yield from broken(f"{name} by area", found.highest_price_per_m2 * output.good_area, a_year)
        yield from broken(f"{name} by module", found.highest_price_per_module * output.good_modules, a_year)
        yield from broken(f"margin of {name}", found.margin * output.stabilised_watts, a_year - total.cost)
        yield from broken(f"margin of {name} by area", found.margin_per_m2 * output.good_area, a_year - total.cost)
        asked = found.asked_price * output.stabilised_watts
        yield from broken(f"asked in {name}", found.asked_price_per_m2 * output.good_area, asked)
        row, by_area = case.markets[name], case.markets[name].limited_by == "area"
        stated = found.asked_price_per_m2 if by_area else found.asked_price
        yield from broken(f"asked in {name} as stated", stated, row.asked_price * rate_of(case, row))
        volume = row.volume * (output.stabilised_watts / output.good_area if by_area else 1.0)
        yield from broken(f"volume of {name}", found.volume, volume)
        yield from broken(f"area of {name}", found.volume_by_area * output.stabilised_watts, volume * output.good_area)
        yield from broken(f"share of {name}", found.plant_share * volume, output.stabilised_watts)
        reference = found.reference_price_per_m2 / (SUN * row.reference_efficiency)
        yield from broken(f"reference of {name}", reference, found.reference_price)
        covered += volume if a_year >= total.cost else 0.0
        ours += volume * row.most_share if a_year >= total.cost else 0.0
    yield from broken("volume above cost", results.market.volume_above_cost, covered)
    yield from broken("sales above cost", results.market.sales_above_cost, ours)


def _currencies(case: Case, market: str) -> set[str]:
    return {case.markets[market].currency, *(row.currency for row in coverings_of(case, market).values())}


def _in_money(found: InMarket, market: str) -> dict[str, float]:
    """The figures of a market in money, but those that the cost to make goes into and checks that are zero."""
    told = walk(found, market, Figure, "money")
    return {address: value for address, value, unit, _ in told
            if unit.startswith("money") and address.split(".")[-1] not in AGAINST_COST and "_less_" not in address}


def _money_of(case: Case, market: str) -> list[str]:
    """The addresses of all money of a market."""
    return [*(f"markets.{market}.{column}" for column in MONEY),
            *(f"coverings.{name}.{column}" for name in coverings_of(case, market) for column in MONEY_OF_COVERINGS)]


def money_of_a_market_scales_what_is_paid_there(case: Case) -> Broken:
    """Twice all money of a market: twice its prices. Twice an exchange rate: twice what is paid in that currency."""
    before = evaluate(case).market.by_market
    changes = [({name}, dict.fromkeys(_money_of(case, name), 2.0), set(before) - {name}) for name in before]
    for currency in {code for name in before for code in _currencies(case, name)} - {case.currency}:
        rate = {f"money.{currency.lower()}.exchange_rate": 2.0}
        changes.append(({name for name in before if _currencies(case, name) == {currency}}, rate,
                        {name for name in before if currency not in _currencies(case, name)}))
    for doubled, factors, alike in changes:
        after = evaluate(times(case, factors)).market.by_market
        for name in doubled | alike:
            found = _in_money(after[name], name)
            for address, value in _in_money(before[name], name).items():
                wanted = value * (2.0 if name in doubled else 1.0)
                yield from broken(f"{address} with {next(iter(factors))}", found[address], wanted)


def _worth_of_a_watt(case: Case, name: str, found: InMarket, reference: bool) -> float:
    """Value of a watt's energy less what it costs by power; of the reference its price, too. In the reporting currency."""
    row = case.markets[name]
    use, price = (found.reference, found.reference_price) if reference else (found.ours, 0.0)
    return row.energy_value * rate_of(case, row) * use.discounted_energy - use.power_related - price


def on_a_given_area_more_of_our_watts_never_earn_less_nor_more_of_the_references_more(case: Case) -> Broken:
    """Where a watt is worth what it costs; and the other way round where it is not, against the alternative that binds."""
    before = evaluate(case).market.by_market
    for name, found in before.items():
        if found.area is None:
            continue
        better = evaluate(_with_efficiency(case, 1.2 * found.ours.efficiency)).market.by_market[name]
        more = better.highest_price_per_m2 - found.highest_price_per_m2
        gained = 0.2 * found.ours.watts_per_m2 * _worth_of_a_watt(case, name, found, reference=False)
        yield from broken(f"{name} with more of our watts", found.highest_price_per_m2 + more, found.highest_price_per_m2 + gained)
        address = f"markets.{name}.reference_efficiency"
        dear = evaluate(with_values(case, {address: 1.2 * value_at(case, address)})).market.by_market[name]
        more = dear.highest_price_per_m2 - found.highest_price_per_m2
        if more * _worth_of_a_watt(case, name, found, reference=True) > 0:
            yield f"{name}: the highest price moves by {more} with a better reference"


def what_generates_nothing_is_worth_what_it_saves_of_another_covering(case: Case) -> Broken:
    """Against each covering without power: its cost a year, by our life, less our own cost by area, plus our premium."""
    for name, row in case.markets.items():
        if row.limited_by != "area":
            continue
        free = dict.fromkeys([f"markets.{name}.{c}" for c in ("energy_value", "power_cost", "power_upkeep", "power_premium")], 0.0)
        found = evaluate(with_values(case, free)).market.by_market[name].area
        own, rate = covering(case, name, "our_module"), row.discount_rate * YEAR
        annuity = {each: sum((1 + rate) ** -year for year in whole_years(c.life)) for each, c in coverings_of(case, name).items()}
        ours = sum((1 + rate) ** -year for year in whole_years(own.life))
        for each, other in coverings_of(case, name).items():
            if other.covers_with in ("plain", "nothing"):
                put_up = rate_of(case, other) * (other.area_cost + other.delivery - other.premium)
                saved = put_up / annuity[each] * ours + rate_of(case, other) * other.area_upkeep * YEAR * ours
                spent = rate_of(case, own) * (own.area_cost + own.delivery + own.area_upkeep * YEAR * ours - own.premium)
                yield from broken(f"{name} against {each}", found.alternatives[each].price_per_m2, saved - spent)


def where_energy_limits_its_value_moves_no_price(case: Case) -> Broken:
    """Equal cost per kWh asks for no value of a kWh."""
    before = evaluate(case).market.by_market
    for name, found in before.items():
        if found.energy is not None:
            after = evaluate(with_values(case, {f"markets.{name}.energy_value": 1.0})).market.by_market[name]
            yield from broken(f"highest price of {name}", after.highest_price, found.highest_price)


def _with_efficiency(case: Case, efficiency: float) -> Case:
    """The case with another stabilised efficiency on the whole area."""
    output = evaluate(case).line.output
    whole = output.active_area_share * output.uniformity * case.product.stabilisation_ratio
    return with_values(case, {"product.initial_efficiency": efficiency / whole})


def _held(case: Case, name: str, efficiency: float, at_cost: float | None) -> tuple[float, float]:
    """At some efficiency the highest price, and the price asked or a cost per square metre, both per watt."""
    found: InMarket = evaluate(_with_efficiency(case, efficiency)).market.by_market[name]
    return found.highest_price, found.asked_price if at_cost is None else at_cost / (SUN * efficiency)


def _left(case: Case, name: str, efficiency: float, at_cost: float | None) -> float:
    highest, price = _held(case, name, efficiency, at_cost)
    return highest - price


def a_break_even_efficiency_put_back_in_breaks_even(case: Case) -> Broken:
    """At the efficiency found the highest price is the price asked, or the cost; on the side that is named, it is more."""
    results = evaluate(case)
    for name, found in results.market.by_market.items():
        for what, at_cost in (("asked_price", None), ("cost", results.ledger.total.cost_per_m2)):
            efficiency, status = (getattr(found, f"efficiency_at_{what}{end}") for end in ("", "_status"))
            if status in (1.0, 2.0):
                if efficiency < 0.5:
                    yield from broken(f"{name} at {what}", *_held(case, name, efficiency, at_cost))
                above, below = (_left(case, name, min(efficiency, 0.4) * factor, at_cost) for factor in (1.1, 0.9))
                if efficiency < 0.4 and not ((above > 0 > below) if status == 1.0 else (below > 0 > above)):
                    yield f"{name} at {what}: {above} above and {below} below the efficiency found, status {status}"
            else:
                left = [_left(case, name, each, at_cost) for each in (0.001, 0.01, 0.1, 0.5)]
                if efficiency == efficiency or not all((each > 0) == (status == 3.0) for each in left):
                    yield f"{name} at {what}: {left} left to the buyer, status {status}"


MARKET_LAWS_OF_ONE_CASE = (
    a_buyer_pays_as_much_for_energy_at_the_highest_price,
    an_owner_is_as_well_off_at_the_highest_price_as_with_the_best_alternative, what_the_price_asked_leaves_an_owner,
    prices_in_a_market_agree_on_every_basis,
)
MARKET_LAWS_OF_CHANGES = (
    money_of_a_market_scales_what_is_paid_there,
    on_a_given_area_more_of_our_watts_never_earn_less_nor_more_of_the_references_more,
    what_generates_nothing_is_worth_what_it_saves_of_another_covering, where_energy_limits_its_value_moves_no_price,
    a_break_even_efficiency_put_back_in_breaks_even,
)
