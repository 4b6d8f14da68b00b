"""What buyers could pay for our module in each market, by the rule that follows from what limits the market."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from ...case.market_records import Covering, Market
from ...case.whole_case import Case
from ...core.fields import Number, declared
from ...core.operations import Value, choose, sum_of
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.ledger_figures import Ledger
from ..line.line_figures import Line
from .limited_by_area import left_per_m2, limited_by_area
from .limited_by_energy import limited_by_energy
from .market_figures import InMarket, Markets, ModuleUse, Prices, Rule
from .uses import aged, our_use, reference_use

Row = TypeVar("Row", Market, Covering)


def in_reporting_money(case: Case, row: Row) -> Row:
    """The row with all its money in the reporting currency."""
    money = [name for name, each in declared(type(row)).items() if isinstance(each, Number) and each.unit.startswith("{currency}")]
    return replace(row, **{n: in_reporting_currency(getattr(row, n), row.currency, case.money) for n in money})


def by_watt_and_area(amount: Value, per: str, watts_per_m2: Value) -> tuple[Value, Value]:
    """A price per stabilised watt and per square metre.

        per watt = amount / watts_per_m2 if per == "m2" else amount    [money/Wp_stabilised]
        per area = amount if per == "m2" else amount * watts_per_m2    [money/m2]
        price = (per_watt, per_area)    [any]

    Takes: amount [any], watts_per_m2 [Wp_stabilised/m2].
    Source: common practice.

    >>> by_watt_and_area(2.0, "Wp_stabilised", 60.0), by_watt_and_area(120.0, "m2", 60.0)
    ((2.0, 120.0), (2.0, 120.0))
    """
    return (amount / watts_per_m2, amount) if per == "m2" else (amount, amount * watts_per_m2)


def _rule(case: Case, market: Market, coverings: Mapping[str, Covering], prices: Prices, uses: tuple[ModuleUse, ModuleUse]) -> Rule:
    """The highest price and what goes with it, by what limits the market."""
    if market.limited_by == "energy":
        return limited_by_energy(case.constants, prices, *uses)
    return limited_by_area(case.constants, market, coverings, prices, *uses)


def module_in_market(case: Case, line: Line, ledger: Ledger, name: str) -> InMarket:
    """Our module in one market; its efficiency is that of the line, its cost that of the ledger.

        market = in_reporting_money(case, case.markets[name])    [any]
        coverings = {n: in_reporting_money(case, row) for n, row in case.coverings.items() if row.market == name}    [any]
        by kind = {row.covers_with: row for row in coverings.values()}    [any]
        reference = reference_use(case.constants, market, by_kind["reference"])
        as sold = our_use(case.constants, market, by_kind["our_module"], line.output)    [any]
        ours = aged(case.constants, market, by_kind["our_module"].life, as_sold, line.ageing) if line.ageing else as_sold
        energy_value = market.energy_value
        asked_price = by_watt_and_area(market.asked_price, market.per, ours.watts_per_m2)[0]
        asked_price_per_m2 = by_watt_and_area(market.asked_price, market.per, ours.watts_per_m2)[1]
        reference_price = market.reference_price * (1 + market.reference_duty)
        reference_price_per_m2 = reference_price * reference.watts_per_m2
        prices = Prices(reference_price, asked_price, asked_price_per_m2, ledger.total)    [any]
        by energy = limited_by_energy(case.constants, prices, reference, ours) if market.limited_by == "energy" else None    [any]
        rule = by_energy or limited_by_area(case.constants, market, coverings, prices, reference, ours)    [any]
        energy = rule.energy
        area = rule.area
        highest_price = rule.highest_price
        highest_price_per_m2 = highest_price * ours.watts_per_m2
        highest_price_per_module = highest_price * line.output.stabilised_power
        margin = highest_price - ledger.total.cost_per_stabilised_watt
        margin_per_m2 = highest_price_per_m2 - ledger.total.cost_per_m2
        left_at_asked_price_per_m2 = left_per_m2(market.energy_value, asked_price, ours)
        left_at_asked_price = left_at_asked_price_per_m2 / ours.watts_per_m2
        efficiency_at_asked_price = rule.at_asked_price[0]
        efficiency_at_asked_price_status = rule.at_asked_price[1]
        efficiency_at_cost = rule.at_cost[0]
        efficiency_at_cost_status = rule.at_cost[1]
        volume = market.volume * ours.watts_per_m2 if market.per == "m2" else market.volume
        volume_by_area = volume / ours.watts_per_m2
        plant_share = line.output.stabilised_watts / volume

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case())
    >>> module = found.market.by_market["building_skin"]
    >>> module.margin == module.highest_price - found.ledger.total.cost_per_stabilised_watt
    True
    """
    market = in_reporting_money(case, case.markets[name])
    coverings = {each: in_reporting_money(case, row) for each, row in case.coverings.items() if row.market == name}
    by_kind = {row.covers_with: row for row in coverings.values()}
    reference = reference_use(case.constants, market, by_kind["reference"])
    ours = our_use(case.constants, market, by_kind["our_module"], line.output)
    if line.ageing:
        ours = aged(case.constants, market, by_kind["our_module"].life, ours, line.ageing)
    watts, cost = ours.watts_per_m2, ledger.total
    asked, asked_per_m2 = by_watt_and_area(market.asked_price, market.per, watts)
    prices = Prices(market.reference_price * (1 + market.reference_duty), asked, asked_per_m2, cost)
    rule = _rule(case, market, coverings, prices, (reference, ours))
    left = left_per_m2(market.energy_value, asked, ours)
    volume = market.volume * watts if market.per == "m2" else market.volume
    highest = rule.highest_price
    return InMarket(
        reference=reference,
        ours=ours,
        energy=rule.energy,
        area=rule.area,
        energy_value=market.energy_value,
        reference_price=prices.reference,
        reference_price_per_m2=prices.reference * reference.watts_per_m2,
        highest_price=highest,
        highest_price_per_m2=highest * watts,
        highest_price_per_module=highest * line.output.stabilised_power,
        margin=highest - cost.cost_per_stabilised_watt,
        margin_per_m2=highest * watts - cost.cost_per_m2,
        asked_price=asked,
        asked_price_per_m2=asked_per_m2,
        left_at_asked_price=left / watts,
        left_at_asked_price_per_m2=left,
        efficiency_at_asked_price=rule.at_asked_price[0],
        efficiency_at_asked_price_status=rule.at_asked_price[1],
        efficiency_at_cost=rule.at_cost[0],
        efficiency_at_cost_status=rule.at_cost[1],
        volume=volume,
        volume_by_area=volume / watts,
        plant_share=line.output.stabilised_watts / volume,
    )


def compute_market(case: Case, line: Line, ledger: Ledger) -> Markets:
    """What buyers in every market of the case could pay; a case without markets has none.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.ledger.ledger import compute_ledger
    >>> from costmodel.model.line.line import compute_line
    >>> case = load_case("inputs_demo/facade")
    >>> line = compute_line(case)
    >>> compute_market(case, line, compute_ledger(case, line)).by_market["open_field"].highest_price < 0
    True
    """
    found = {name: module_in_market(case, line, ledger, name) for name in case.markets}
    return Markets(
        by_market=found,
        volume_above_cost=sum_of([choose(each.margin >= 0, each.volume, 0.0) for each in found.values()]),
        sales_above_cost=sum_of(
            [choose(each.margin >= 0, each.volume * case.markets[name].most_share, 0.0) for name, each in found.items()]
        ),
    )
