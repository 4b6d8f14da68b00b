"""Laws of the markets: what a buyer pays for energy year by year, and what a break-even efficiency stands for."""
from __future__ import annotations

from collections.abc import Iterator

from costmodel.case.changes import with_values
from costmodel.case.market_records import Market
from costmodel.case.records import Case
from costmodel.market.records import InMarket
from costmodel.model import Results, evaluate

from .scaling_laws import broken, times

Broken = Iterator[str]
YEAR = 8760 * 3600.0
SUN = 1000.0  # W/m2
MONEY = ("reference_price", "area_cost", "power_cost", "area_upkeep", "power_upkeep", "delivery", "area_premium",
         "power_premium", "asked_price")
OF_ONE_SIDE = ("area_related", "power_related", "besides_module")
PRICES = ("reference_price", "highest_price", "highest_price_per_m2", "highest_price_per_module", "asked_price",
          "reference_levelised_cost", "levelised_at_highest_price", "levelised_at_asked_price")


def whole_years(row: Market) -> range:
    """The years that a buyer counts."""
    return range(1, round(row.lifetime / YEAR) + 1)


def paid_for_energy(row: Market, spent: float, upkeep: float, first_year: float, degradation: float) -> float:
    """What a watt costs over what it yields, year by year: money now and upkeep at the end of each year."""
    worth = [(1 + row.discount_rate * YEAR) ** -year for year in whole_years(row)]
    energy = [first_year * (1 - degradation * YEAR) ** (year - 1) for year in whole_years(row)]
    return (spent + sum(upkeep * v for v in worth)) / sum(e * v for e, v in zip(energy, worth))


def buyers_cost(case: Case, results: Results, row: Market, price: float) -> tuple[float, float]:
    """Levelised cost of energy with the reference and with ours at a price, in the reporting currency."""
    rate = case.money[row.currency.lower()].exchange_rate
    output = results.line.output
    per_m2 = output.stabilised_watts / output.good_area
    reference_per_m2 = SUN * row.reference_efficiency
    year = row.reference_yield * YEAR
    warm = [1 + c * row.temperature_excess for c in (row.temperature_coefficient, row.reference_temperature_coefficient)]
    reference = paid_for_energy(
        row, row.reference_price + row.reference_price * row.reference_duty + row.power_cost + row.area_cost / reference_per_m2,
        YEAR * (row.power_upkeep + row.area_upkeep / reference_per_m2), year, row.reference_degradation)
    ours = paid_for_energy(
        row, price / rate + row.power_cost - row.power_premium + (row.area_cost + row.delivery - row.area_premium) / per_m2,
        YEAR * (row.power_upkeep + row.area_upkeep / per_m2), year * row.yield_ratio / warm[1] * warm[0], row.degradation)
    return reference * rate, ours * rate


def a_buyer_pays_as_much_for_energy_at_the_highest_price(case: Case, results: Results) -> Broken:
    """Counted year by year, and the other levelised costs with it."""
    for name, row in case.markets.items():
        found = results.market.by_market[name]
        for price, figure in ((found.highest_price, "levelised_at_highest_price"), (found.asked_price, "levelised_at_asked_price"),
                              (results.ledger.total.cost_per_stabilised_watt, "levelised_at_cost")):
            reference, ours = buyers_cost(case, results, row, price)
            yield from broken(f"{figure} of {name}", getattr(found, figure), ours)
            yield from broken(f"reference of {name}", found.reference_levelised_cost, reference)
        yield from broken(f"check of {name}", found.levelised_less_reference + found.reference_levelised_cost,
                          found.levelised_at_highest_price)
        yield from broken(f"highest price of {name}", *buyers_cost(case, results, row, found.highest_price))


def prices_in_a_market_agree_on_every_basis(case: Case, results: Results) -> Broken:
    """Watt, square metre and module; margins are against the ledger; the volume is that of markets that cover the cost."""
    output, total = results.line.output, results.ledger.total
    covered = 0.0
    for name, found in results.market.by_market.items():
        a_year = found.highest_price * output.stabilised_watts
        yield from broken(f"{name} by area", found.highest_price_per_m2 * output.good_area, a_year)
        yield from broken(f"{name} by module", found.highest_price_per_module * output.good_modules, a_year)
        yield from broken(f"margin of {name}", found.margin * output.stabilised_watts, a_year - total.cost)
        yield from broken(f"margin of {name} by area", found.margin_per_m2 * output.good_area, a_year - total.cost)
        yield from broken(f"share of {name}", found.plant_share * case.markets[name].volume, output.stabilised_watts)
        covered += case.markets[name].volume if a_year >= total.cost else 0.0
    yield from broken("volume above cost", results.market.volume_above_cost, covered)


def money_of_a_market_scales_what_is_paid_there(case: Case) -> Broken:
    """Twice all money of a row: twice its prices. Twice an exchange rate: twice what is paid in that currency."""
    before = evaluate(case).market.by_market
    for name, row in case.markets.items():
        factors = {f"markets.{name}.{column}": 2.0 for column in MONEY}
        twice = [times(case, factors)]
        if row.currency != case.currency:
            twice.append(times(case, {f"money.{row.currency.lower()}.exchange_rate": 2.0}))
        for changed in twice:
            after = evaluate(changed).market.by_market
            for other, found in before.items():
                same_money = other == name or (changed is not twice[0] and case.markets[other].currency == row.currency)
                for figure in PRICES:
                    yield from broken(f"{figure} of {other} with money of {name}", getattr(after[other], figure),
                                      getattr(found, figure) * (2.0 if same_money else 1.0))
                for side in ("reference", "ours"):
                    for figure in OF_ONE_SIDE:
                        yield from broken(f"{figure} of {side} in {other}", getattr(getattr(after[other], side), figure),
                                          getattr(getattr(found, side), figure) * (2.0 if same_money else 1.0))


def _with_efficiency(case: Case, efficiency: float) -> Case:
    """The case with another stabilised efficiency on the whole area."""
    output = evaluate(case).line.output
    whole = output.active_area_share * output.uniformity * case.product.stabilisation_ratio
    return with_values(case, {"product.initial_efficiency": efficiency / whole})


def _best(case: Case, name: str, efficiency: float, at_cost: float | None) -> float:
    """What is left to the buyer at some efficiency when he pays the price asked, or a cost for each square metre."""
    found: InMarket = evaluate(_with_efficiency(case, efficiency)).market.by_market[name]
    return found.highest_price - (found.asked_price if at_cost is None else at_cost / (SUN * efficiency))


def a_break_even_efficiency_put_back_in_breaks_even(case: Case) -> Broken:
    """At the efficiency found the highest price is the price asked, or the cost; on the side that is named, it is more."""
    results = evaluate(case)
    for name, found in results.market.by_market.items():
        for what, at_cost in (("asked_price", None), ("cost", results.ledger.total.cost_per_m2)):
            efficiency, status = (getattr(found, f"efficiency_at_{what}{end}") for end in ("", "_status"))
            if status in (1.0, 2.0):
                if efficiency < 0.5:
                    price = found.asked_price if at_cost is None else at_cost / (SUN * efficiency)
                    yield from broken(f"{name} at {what}", _best(case, name, efficiency, at_cost) + price, price)
                above, below = (_best(case, name, min(efficiency, 0.4) * factor, at_cost) for factor in (1.1, 0.9))
                if efficiency < 0.4 and not ((above > 0 > below) if status == 1.0 else (below > 0 > above)):
                    yield f"{name} at {what}: {above} above and {below} below the efficiency found, status {status}"
            else:
                left = [_best(case, name, each, at_cost) for each in (0.001, 0.01, 0.1, 0.5)]
                if efficiency != 0.0 or not all((each > 0) == (status == 3.0) for each in left):
                    yield f"{name} at {what}: {left} left to the buyer, status {status}"


MARKET_LAWS_OF_ONE_CASE = (a_buyer_pays_as_much_for_energy_at_the_highest_price, prices_in_a_market_agree_on_every_basis)
MARKET_LAWS_OF_CHANGES = (money_of_a_market_scales_what_is_paid_there, a_break_even_efficiency_put_back_in_breaks_even)
