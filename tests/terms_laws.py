"""Laws of what the tiny line lacks: terms of purchase, peaks, service, spare parts, scrap, ways to write off equipment."""
from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from itertools import pairwise

from costmodel.case.whole_case import Case, tables
from costmodel.core.fields import Number, declared
from costmodel.model.evaluate import Results, evaluate, figures
from costmodel.model.ledger.depreciation import book_method, book_shares, tax_shares

from .growth_laws import units_wanted
from .scaling_laws import broken, scaled, times

Broken = Iterator[str]
TERMS = ("price_breaks", "buying", "containers", "scrap", "demand_charges", "services", "spares", "book_depreciation",
         "tax_depreciation", "tax_rates", "growth_steps", "growth_exponents")


def without_terms(case: Case) -> Case:
    """The case without them: where twice the use is twice the cost, and the like."""
    return dataclasses.replace(case, **{name: {} for name in TERMS})


def rate(case: Case, currency: str) -> float:
    """Units of the reporting currency for one of another."""
    return case.money[currency.lower()].exchange_rate


def prices_fall_with_quantity(case: Case, results: Results) -> Broken:
    """A larger plant pays no more for a unit; a discount is one of the table that the quantity paid for reaches, or none."""
    outputs = [evaluate(times(case, {"target.output": factor})).ledger.landed for factor in (0.25, 0.5, 1.0, 2.0, 8.0)]
    for less, more in pairwise(outputs):
        for item in case.prices:
            if more[item].price > less[item].price * (1 + 1e-12):
                yield f"{item} costs {more[item].price} in a larger plant, {less[item].price} in a smaller one"
    for item, row in case.prices.items():
        found = results.ledger.landed[item]
        reached = [b.discount for b in case.price_breaks.values() if b.item == item and b.from_quantity <= found.paid_for]
        yield from broken(f"discount on {item}", found.discount, max(reached, default=0.0))
        index = next((x.factor for x in case.indices.values() if (x.covers, x.year) == ("prices", row.price_year)), 1.0)
        landed = row.price * rate(case, row.currency) * index * (1 + row.freight + row.duty)
        metal = sum(x.quote * rate(case, x.currency) for x in case.metals.values() if x.item == item)
        with_metal = landed * (1 - found.discount) + metal * (1 + row.freight + row.duty)
        yield from broken(f"price of {item}", found.price, with_metal)


def what_is_paid_for_is_used_ordered_or_contracted(case: Case, results: Results) -> Broken:
    """Used quantity is that of the lines, without credits; paid for is the largest of three; the rest is a line of its own."""
    ledger = results.ledger
    terms = {row.item: row for row in case.buying.values()}
    for item in case.prices:
        used = sum(x.quantity for name, x in ledger.lines.items() if x.item == item and x.category == "materials"
                   and not name.startswith("buying.") and not name.endswith(".credit"))
        found = ledger.landed[item]
        yield from broken(f"use of {item}", found.used, used)
        wanted, stock = used, 0.0
        if item in terms:
            row = terms[item]
            wanted = max(used, row.minimum_order * case.constants.year / row.shelf_life, row.take_or_pay)
            stock = wanted * found.price * row.stock_time / case.constants.year
        yield from broken(f"{item} paid for", found.paid_for, wanted)
        yield from broken(f"stock of {item}", found.stock, stock)
        spent = sum(x.cost for name, x in ledger.lines.items() if x.item == item and x.category == "materials"
                    and not name.endswith(".credit"))
        yield from broken(f"cost of {item}", spent, wanted * found.price)


def containers_are_rented_for_what_is_used(case: Case, results: Results) -> Broken:
    """Rent: used over content, times stay and rent."""
    for name, row in case.containers.items():
        rent = sum(x.cost for line, x in results.ledger.lines.items() if line.startswith(f"containers.{name}."))
        wanted = results.ledger.landed[row.item].used / row.content * row.stay * row.rent * rate(case, row.currency)
        yield from broken(f"rent of {name}", rent, wanted)


def lost_plates_fetch_what_is_said(case: Case, results: Results) -> Broken:
    """A line for each row of scrap, all of it in the yield loss; the yield loss is less by what they fetch."""
    ledger = results.ledger
    scrap_revenue = 0.0
    for name, row in case.scrap.items():
        earned = results.line.steps[row.step].lost * row.lost_share * row.value * rate(case, row.currency)
        yield from broken(f"scrap {name}", -ledger.lines[f"scrap.{name}"].cost, earned)
        scrap_revenue += earned
    yield from broken("scrap_revenue", ledger.scrap_revenue, scrap_revenue)
    kept = evaluate(dataclasses.replace(case, scrap={})).ledger
    yield from broken("yield loss", ledger.yield_loss, kept.yield_loss - scrap_revenue)
    yield from broken("total", ledger.total.cost, kept.total.cost - scrap_revenue)


def peaks_are_charged_for_what_is_connected(case: Case, results: Results) -> Broken:
    """The larger draw of every tool, and that of systems, as far as they draw at once."""
    for name, row in case.demand_charges.items():
        tools = sum(max(x.when_processing, x.when_idle) * results.line.tools[x.tool].tools
                    for x in case.tool_utilities.values() if x.utility == row.utility)
        units = {name: grown.units for name, grown in results.line.growth.get("facilities", {}).items()}
        systems = sum(x.draw * units.get(x.facility, 1) for x in case.facility_utilities.values() if x.utility == row.utility)
        charge = (tools + systems) * row.coincidence_factor * row.charge * case.constants.year * rate(case, row.currency)
        paid = sum(x.cost for line, x in results.ledger.lines.items() if line.startswith(f"demand_charges.{name}."))
        yield from broken(f"peak {name}", paid, charge)


def service_comes_due_in_its_interval(case: Case, results: Results) -> Broken:
    """By the calendar for every tool, by the hours at work together."""
    for name, row in case.services.items():
        use = results.line.tools[row.tool]
        clock = use.busy_time if row.clock == "work" else use.tools * case.constants.year
        index = next((x.factor for x in case.indices.values() if (x.covers, x.year) == ("services", row.price_year)), 1.0)
        paid = sum(x.cost for line, x in results.ledger.lines.items() if line.startswith(f"services.{name}."))
        yield from broken(f"service {name}", paid, clock / row.interval * row.price * index * rate(case, row.currency))


def parts_in_store_are_written_off_and_belong_to_the_plant(case: Case, results: Results) -> Broken:
    """Spare parts: for each tool or once, over their life; without them the plant is worth so much less."""
    worth = 0.0
    salvage = book_method(case, "spares").salvage
    for name, row in case.spares.items():
        index = next((x.factor for x in case.indices.values() if (x.covers, x.year) == ("spares", row.price_year)), 1.0)
        sets = results.line.tools[row.tool].tools if row.per == "tool" else units_wanted(case, results).get(f"spares.{name}", 1)
        value = sets * row.price * index * rate(case, row.currency)
        paid = sum(x.cost for line, x in results.ledger.lines.items() if line.startswith(f"spares.{name}."))
        yield from broken(f"parts {name}", paid, value * (1 - salvage) * case.constants.year / row.life)
        worth += value
    without = evaluate(dataclasses.replace(case, spares={})).ledger.equipment_value
    yield from broken("value of parts", results.ledger.equipment_value - without, worth)


def equipment_is_written_off_once(case: Case, results: Results) -> Broken:
    """In the books to its salvage value, for tax to nothing, and never by less than nothing, over its life."""
    for covers in ("tools", "carriers", "facilities", "spares"):
        for name, row in getattr(case, covers).items():
            life = row.life / case.constants.year
            book = book_shares(book_method(case, covers), life, 60)
            tax = tax_shares(case, covers, life, 60)
            yield from broken(f"books of {covers}.{name}", sum(book), 1 - book_method(case, covers).salvage)
            given = next((x for x in case.tax_depreciation.values() if x.covers == covers), None)
            yield from broken(f"tax of {covers}.{name}", sum(tax), 1.0 if given else sum(book))
            if min(book + tax) < -1e-12:
                yield f"{covers}.{name} is written up"


def wear_bears_the_price_of_what_works(case: Case, results: Results) -> Broken:
    """The average charge of tools: (price - salvage) over life, and by production only as far as they are loaded."""
    row = book_method(case, "tools")
    for name, tool in case.tools.items():
        use = results.line.tools[name]
        index = next((x.factor for x in case.indices.values() if (x.covers, x.year) == ("tools", tool.price_year)), 1.0)
        price = tool.price * rate(case, tool.currency) * index * (1 + tool.freight_and_duty + tool.installation)
        charge = price * (1 - row.salvage) * case.constants.year / tool.life * use.tools
        lines = [x for line, x in results.ledger.lines.items() if line.startswith("depreciation.") and x.item == name]
        wanted = charge * use.loading if row.method == "production" else charge
        yield from broken(f"depreciation of {name}", sum(x.cost for x in lines), wanted)
        idle = 0.0 if row.method == "production" else charge * (1 - use.loading)
        yield from broken(f"idle depreciation of {name}", sum(x.idle for x in lines), idle)


def one_currency_or_several_come_to_the_same(case: Case, results: Results) -> Broken:
    """All prices restated in the reporting currency at the rate of the case: every figure stays."""
    restated = {}
    for name, table in tables().items():
        fields = declared(table.record)
        if "currency" in fields and table.in_model and not table.section:
            restated[name] = {}
            for identity, row in getattr(case, name).items():
                money = [field for field, x in fields.items() if isinstance(x, Number) and "{currency}" in x.unit]
                values = {field: getattr(row, field) * rate(case, row.currency) for field in money}
                restated[name][identity] = dataclasses.replace(row, currency=case.currency, **values)
    again = evaluate(dataclasses.replace(case, **restated))
    for (address, value, *_), (_, other, *_) in zip(figures(results, ""), figures(again, "")):
        if "checks" not in address:
            yield from broken(address, value, other)


def a_rent_or_charge_scales_its_own_lines(case: Case) -> Broken:
    """Twice the rent of a container, the charge for a peak, the price of a service, the value of scrap."""
    for table, field in (("containers", "rent"), ("demand_charges", "charge"), ("services", "price"), ("scrap", "value")):
        for name in getattr(case, table):
            place = f"{table}.{name}"
            yield from scaled(case, {f"{place}.{field}": 2.0},
                              lambda line, _, place=place: line == place or line.startswith(f"{place}."), 2.0)


def the_variable_part_follows_the_output(case: Case) -> Broken:
    """Twice the output: twice the variable part of every line; in a tool left alone, nothing else changes."""
    case = without_terms(case)
    before, after = evaluate(case), evaluate(times(case, {"target.output": 2.0}))
    for name, line in before.ledger.lines.items():
        more = after.ledger.lines[name]
        yield from broken(f"variable part of {name}", more.variable, 2 * line.variable)
        tool = line.driver.removeprefix("tool ")
        alone = tool in case.tools and line.category != "labour" and [s.tool for s in case.steps.values()].count(tool) == 1
        if alone and after.line.tools[tool].tools == before.line.tools[tool].tools:
            yield from broken(f"fixed part of {name}", more.cost - more.variable, line.cost - line.variable)


TERMS_LAWS_OF_ONE_CASE = (
    prices_fall_with_quantity, what_is_paid_for_is_used_ordered_or_contracted, containers_are_rented_for_what_is_used,
    lost_plates_fetch_what_is_said, peaks_are_charged_for_what_is_connected, service_comes_due_in_its_interval,
    parts_in_store_are_written_off_and_belong_to_the_plant, equipment_is_written_off_once, wear_bears_the_price_of_what_works,
    one_currency_or_several_come_to_the_same,
)
TERMS_LAWS_OF_CHANGES = (a_rent_or_charge_scales_its_own_lines, the_variable_part_follows_the_output)
