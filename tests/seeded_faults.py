"""Slips of the kind that people make, each one change of the model's source, and the looks that find them."""
from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import accumulate, islice
from pathlib import Path
from typing import TYPE_CHECKING

from .cases import ROOT

if TYPE_CHECKING:
    from costmodel.case.whole_case import Case

PACKAGE = ROOT / "costmodel"


@dataclass(frozen=True, slots=True)
class Fault:
    """A slip: in this file, the old text, which stands there once, became the new one."""

    slip: str
    file: str
    old: str
    new: str


FAULTS = (
    Fault("a class holds all above its limit, those of better classes too", "model/line/power_classes.py",
          "share, power = here.share - next_one.share, here.power - next_one.power",
          "share, power = here.share, here.power - next_one.power"),
    Fault("labels of a class paid at the full price", "model/line/power_classes.py",
          "power = sum_of([rows[name].price_share * each.labelled_power", "power = sum_of([each.labelled_power"),
    Fault("what is not sold counted as given away", "model/line/power_classes.py",
          "give_away=sold.power - labelled", "give_away=mean - labelled"),
    Fault("modules below the limit taken for those above", "model/line/power_classes.py",
          "share = 1 - normal_cdf(reach)", "share = normal_cdf(reach)"),
    Fault("availabilities multiplied instead of shares added", "model/line/capacity.py",
          "return 1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time",
          "return (1 - tool.planned_downtime) * (1 - tool.unplanned_downtime) * (1 - tool.engineering_time)"),
    Fault("target met with initial instead of stabilised watts", "model/line/line.py",
          "case.constants, plate_area, powers[1])", "case.constants, plate_area, powers[0])"),
    Fault("tools not rounded up to whole ones", "model/line/capacity.py",
          "return needed, whole_up(needed)", "return needed, needed"),
    Fault("cost of a module divided by plates", "model/ledger/cost_views.py",
          "cost_per_module=cost / output.good_modules", "cost_per_module=cost / output.good_plates"),
    Fault("purging left out of the cycle", "model/line/cycle.py",
          "sum_of([own, *inside, *growing, *purging, *settling", "sum_of([own, *inside, *growing, *settling"),
    Fault("films grown in every step", "model/line/cycle.py",
          "for name, layer in case.layers.items() if layer.step == identity]", "for name, layer in case.layers.items()]"),
    Fault("phases counted in every load", "model/line/line.py",
          "occurrences=steps[row.step].loads / row.loads_between", "occurrences=steps[row.step].loads"),
    Fault("carriers wait while the chamber is cleaned", "model/line/loads.py",
          "loads[name] * cycles[name].load_time", "loads[name] * cycles[name].time"),
    Fault("trials hold up loads like failures", "model/line/loads.py",
          "/ (1 - tool.planned_downtime - tool.unplanned_downtime)",
          "/ (1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time)"),
    Fault("carriers wait for the loads that reach the end only", "model/line/loads.py",
          "loads[row.first_step] * row.waiting_time", "loads[row.last_step] * row.waiting_time"),
    Fault("lost loads go on on their carrier", "model/line/loads.py",
          " * (1 - case.steps[before[name]].load_loss)", ""),
    Fault("carriers never out of service", "model/line/capacity.py",
          "site.scheduled_time * (1 - carrier.out_of_service)", "site.scheduled_time"),
    Fault("carriers do not limit a frozen plant", "model/line/line.py",
          "least_of([*planned, *by_tools, *by_carriers])", "least_of([*planned, *by_tools])"),
    Fault("rework takes no tool time", "model/line/loads.py",
          "starts[name] * passes_per_start(step) /", "starts[name] * step.processed_share /"),
    Fault("plates lost counted from passes, reworked ones twice", "model/line/line.py",
          "lost=starts - leaving", "lost=passes - leaving"),
    Fault("yield loss with the step's own yield, not that of the rest of the line", "model/line/line.py",
          "good_end_share=1 / starts_for_one", "good_end_share=good_share(step)"),
    Fault("every reworked plate taken for good", "model/line/yields.py",
          "(1 - step.rework_share * step.rework_success)", "(1 - step.rework_share)"),
    Fault("plates of lost loads reworked", "model/line/yields.py",
          "1 + (1 - step.load_loss) * (1 - step.first_pass_yield)", "1 + (1 - step.first_pass_yield)"),
    Fault("standby in downtime as well", "model/line/states.py",
          "standby=scheduled * available_share(tool) - busy", "standby=scheduled - busy"),
    Fault("trials taken for downtime in effectiveness", "model/line/states.py",
          "uptime = states.productive + states.standby + states.engineering\n    year = uptime",
          "uptime = states.productive + states.standby\n    year = uptime + states.engineering"),
    Fault("exchange rate forgotten", "model/ledger/landed_prices.py",
          "return price * money[currency.lower()].exchange_rate", "return price"),
    Fault("duty compounded on freight", "model/ledger/landed_prices.py",
          "* (1 + row.freight + row.duty)", "* (1 + row.freight) * (1 + row.duty)"),
    Fault("discounts of all quantities added up", "model/ledger/buying.py",
          "larger(reached, choose(quantity >= row.from_quantity, row.discount, 0.0))",
          "reached + choose(quantity >= row.from_quantity, row.discount, 0.0)"),
    Fault("minimum order taken for a quantity of a year", "model/ledger/buying.py",
          "terms.minimum_order * year / terms.shelf_life", "terms.minimum_order"),
    Fault("recovered metal taken for used", "model/ledger/buying.py",
          "if not use.credit:\n            by_item", "if True:\n            by_item"),
    Fault("idle draw follows the output", "model/ledger/utilities.py",
          "(row.when_processing - row.when_idle) * use.busy_time", "row.when_processing * use.busy_time"),
    Fault("scrap of every plate that enters", "model/ledger/scrap.py",
          "line.steps[row.step].lost * row.lost_share", "line.steps[row.step].starts * row.lost_share"),
    Fault("disposal earned", "model/ledger/scrap.py",
          "price=-in_reporting_currency(", "price=in_reporting_currency("),
    Fault("salvage value written off", "model/ledger/depreciation.py",
          "straight_line(price, price * row.salvage, life", "straight_line(price, price * 0.0, life"),
    Fault("service by the time of one tool", "model/ledger/equipment.py",
          '"calendar": use.tools * case.constants.year', '"calendar": case.constants.year'),
    Fault("what is bought for good modules bears yield loss", "model/ledger/entries.py",
          'account.step == PLANT or account.driver == "module"', "account.step == PLANT"),
    Fault("molar masses swapped", "model/ledger/films.py",
          "silicon / constants.molar_mass_silicon * constants.molar_mass_silane",
          "silicon / constants.molar_mass_silane * constants.molar_mass_silicon"),
    Fault("gases flow while purging, too", "model/ledger/films.py",
          "line.layers[gas.layer].flow_time", "line.layers[gas.layer].time"),
    Fault("losses of phase materials forgotten", "model/ledger/materials.py",
          "row.amount * (1 + row.loss) * line.phases", "row.amount * line.phases"),
    Fault("floor charged in the currency of the tool", "model/ledger/equipment.py",
          "in_reporting_currency(area.charge, area.currency", "in_reporting_currency(area.charge, tool.currency"),
    Fault("maintenance on the bare price", "model/ledger/equipment.py",
          "price * tool.maintenance",
          "in_money_of_the_case(case, 'tools', tool) * tool.maintenance"),
    Fault("people rounded up for all crews together", "model/ledger/labour.py",
          "whole_up(together / case.site.crews) * case.site.crews", "whole_up(together)"),
    Fault("a mean instead of the expected shortfall", "model/ledger/soaking_costs.py",
          "error * density - tolerance * (1 - normal_cdf(reach))", "error * density - tolerance"),
    Fault("delivery of our module forgotten", "model/market/uses.py",
          "covering.area_cost + covering.delivery - covering.premium", "covering.area_cost - covering.premium"),
    Fault("duty on the reference forgotten", "model/market/market.py",
          "market.reference_price * (1 + market.reference_duty)", "market.reference_price"),
    Fault("yield corrected for temperature the wrong way round", "model/market/uses.py",
          "market.yield_ratio * warm / reference_warm", "market.yield_ratio * reference_warm / warm"),
    Fault("upkeep not discounted", "model/market/uses.py",
          "discounted_years(market.discount_rate * constants.year, 0.0,", "discounted_years(0.0, 0.0,"),
    Fault("payments at the beginning of each year", "model/market/uses.py",
          "safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)", "safe_divide(1 - ratio**years, 1 - ratio))"),
    Fault("the reference's degradation for our module", "model/market/uses.py",
          "        degradation=market.degradation,", "        degradation=market.reference_degradation,"),
    Fault("our module rated before light soaking in the market", "model/market/uses.py",
          "efficiency=output.stabilised_power / (", "efficiency=output.initial_power / ("),
    Fault("the price asked forgotten in the efficiency it takes", "model/market/limited_by_energy.py",
          "break_even_efficiency(ours.area_related, left - prices.asked,", "break_even_efficiency(ours.area_related, left,"),
    Fault("cladding saved counted per watt", "model/market/limited_by_area.py",
          "- use.power_related - price) - use.area_related", "- use.power_related - price - use.area_related / 60.0)"),
    Fault("present values of unequal lives held against each other", "model/market/limited_by_area.py",
          "before_price - ours.discounted_life * worth for name, worth in annual.items()",
          "before_price - others[name][0] for name, worth in annual.items()"),
    Fault("the worst alternative instead of the best", "model/market/limited_by_area.py",
          "least_of(list(against.values())), largest_of(", "largest_of(list(against.values())), least_of("),
    Fault("life of our module for other coverings", "model/market/limited_by_area.py",
          "discounted_life(constants, market, row.life)", "reference.discounted_life"),
    Fault("the reference on an area free of charge", "model/market/limited_by_area.py",
          "left_per_m2(market.energy_value, reference_price, reference)", "left_per_m2(market.energy_value, 0.0, reference)"),
    Fault("what the best alternative leaves forgotten in the efficiency it takes", "model/market/limited_by_area.py",
          "ours.area_related + ours.discounted_life * best", "ours.area_related"),
    Fault("premium added to cost by area", "model/market/uses.py",
          "covering.delivery - covering.premium", "covering.delivery + covering.premium"),
    Fault("volume in m2 taken for watts", "model/market/market.py",
          'market.volume * watts if market.per == "m2" else market.volume', "market.volume"),
    Fault("a price asked per m2 multiplied by power", "model/market/market.py",
          "(amount / watts_per_m2, amount)", "(amount * watts_per_m2, amount)"),
    Fault("every alternative binds", "model/market/limited_by_area.py",
          "choose(against[name] <= highest, 1.0, 0.0)", "choose(against[name] >= highest, 1.0, 0.0)"),
    Fault("power lost by the spread instead of its square", "model/line/cycle.py",
          "layer.spread_loss_factor * layer.thickness_spread**2", "layer.spread_loss_factor * layer.thickness_spread"),
    Fault("spread of the films forgotten in the power", "model/line/capacity.py",
          "active_area * product.initial_efficiency * uniform", "active_area * product.initial_efficiency"),
    Fault("gases do not flow while they settle", "model/line/cycle.py",
          "flow_time=growth_time + layer.settling_time", "flow_time=growth_time"),
    Fault("silane does not flow while it settles", "model/ledger/films.py",
          "fed = growing + settling", "fed = growing"),
    Fault("settling inside the purge takes time of its own", "model/line/cycle.py",
          'for name in films if case.layers[name].settling == "added"]', "for name in films]"),
    Fault("settling that is added takes no time", "model/line/cycle.py",
          "*purging, *settling, coating_time, *soaked]", "*purging, coating_time, *soaked]"),
    Fault("zones of a coater one after the other", "model/line/coating.py",
          "slowest = larger(slowest, times[name])", "slowest = slowest + times[name]"),
    Fault("one cathode in each zone", "model/line/coating.py",
          "/ (coating.dynamic_rate * coating.cathodes)", "/ coating.dynamic_rate"),
    Fault("no gap between plates in the coater", "model/line/coating.py",
          " else width) + coater.gap", " else width)"),
    Fault("discount on the quote of a metal", "model/ledger/buying.py",
          "price = price + landed(metal, row) if", "price = price + landed(metal, row) * (1 - off) if"),
    Fault("no freight and duty on the metal", "model/ledger/buying.py",
          "price = price + landed(metal, row) if", "price = price + metal if"),
    Fault("recovered metal credited at the landed price", "model/ledger/buying.py",
          "price=-item.credit if use.credit", "price=-item.price if use.credit"),
    Fault("metal refined for nothing", "model/ledger/landed_prices.py",
          "return metal_quote(case, row) * (1 - row.refining_share)", "return metal_quote(case, row)"),
    Fault("quote of a metal in its own currency", "model/ledger/landed_prices.py",
          "return in_reporting_currency(row.quote, row.currency, case.money)", "return row.quote"),
    Fault("a scribe set for each cell", "case/geometry.py",
          "(cells.cell_count - 1) * cells.dead_width", "cells.cell_count * cells.dead_width"),
    Fault("the edge deleted on two sides", "case/geometry.py",
          "(along - 2 * cells.edge_width)", "along"),
    Fault("one busbar", "case/geometry.py", "2 * cells.busbar_width", "cells.busbar_width"),
    Fault("a lot taken for endless", "model/ledger/soaking_sample.py",
          "plan.spread**2 * larger(1 - soaked / plan.lot, 0.0) / soaked", "plan.spread**2 / soaked"),
    Fault("the common part of the measurement averaged", "model/ledger/soaking_sample.py",
          "between, together = between_lots(plan), common**2", "between, together = between_lots(plan), common**2 / soaked"),
    Fault("the random part of the measurement left out", "model/ledger/soaking_sample.py",
          "variance = within + random + between + together", "variance = within + between + together"),
    Fault("a running mean that does not lag behind the lots", "model/ledger/soaking_sample.py",
          "plan.lot_to_lot**2 * (1 - 1 / plan.lots_averaged)", "plan.lot_to_lot**2 * (1 - 1)"),
    Fault("one side of the half-width forgotten", "model/ledger/soaking_sample.py",
          "tail = (1 + plan.coverage_probability) / 2", "tail = plan.coverage_probability"),
    Fault("degrees of freedom of the modules, not of the spread", "model/ledger/soaking_sample.py",
          "plan.lots_averaged * (soaked - 1)", "plan.lots_averaged * soaked"),
    Fault("the effective degrees of freedom of the uncertainty, not of its square", "model/ledger/soaking_sample.py",
          "safe_divide(within, variance) ** 2", "safe_divide(within, variance)"),
    Fault("the lots averaged forgotten in the sample", "model/ledger/soaking_sample.py",
          "(plan.lots_averaged * room + plan.spread**2 / plan.lot)", "(room + plan.spread**2 / plan.lot)"),
    Fault("the sample of a given spread where it comes from the sample", "model/ledger/soaking_sample.py",
          "range(LOOKED_AT)", "range(0)"),
    Fault("claims for initial watts", "model/ledger/soaking_costs.py",
          "quantity=ratings[name].shortfall * line.output.stabilised_watts",
          "quantity=ratings[name].shortfall * line.output.initial_watts"),
    Fault("interest of a second", "model/ledger/soaking_costs.py",
          "price=plan.holding_rate * case.constants.year", "price=plan.holding_rate"),
    Fault("a wait in scheduled time taken for one by the calendar", "model/ledger/soaking_costs.py",
          "case.constants.loads_per_tool * case.constants.year / case.site.scheduled_time", "case.constants.loads_per_tool"),
    Fault("rating again left out of the plan of soaking", "model/ledger/soaking_costs.py",
          "dict.fromkeys((plan.step, plan.retest))", "(plan.step,)"),
    Fault("one interval of dose too few", "model/line/soaking.py",
          "+ (MEASUREMENTS - 1)", "+ (MEASUREMENTS - 2)"),
    Fault("loss since the beginning instead of the loss still to come", "model/line/soaking.py",
          "(1 - ratio) * needed /", "needed /"),
    Fault("sunshine in scheduled time only", "model/line/soaking.py",
          "of_year = case.site.scheduled_time / case.constants.year", "of_year = 1.0"),
    Fault("every light counted for the whole year", "model/line/soaking.py",
          "[part * time for part, time in zip(parts, times)]", "[time for part, time in zip(parts, times)]"),
    Fault("soaking takes no time of its rack", "model/line/cycle.py",
          "coating_time, *soaked])", "coating_time])"),
    Fault("all modules rated again", "model/line/soaking.py",
          "return again.processed_share * soaked.processed_share", "return again.processed_share"),
    Fault("units that grow in steps not rounded up", "model/line/plant_growth.py",
          "return whole_up(size / size_per_unit)", "return size / size_per_unit"),
    Fault("an exponent taken as a share", "model/line/plant_growth.py",
          "(size / reference_size) ** exponent", "(size / reference_size) * exponent"),
    Fault("a frozen plant buys units for the tools it has now", "model/line/plant_growth.py",
          "row.installed if frozen else units_needed", "row.installed if not unit else units_needed"),
    Fault("a frozen plant is built for the output it has now", "model/line/plant_growth.py",
          "built_for = row.installed if frozen else size", "built_for = size"),
    Fault("the draw of systems does not grow", "model/ledger/facilities.py",
          'return grown(line, "facilities", row.facility, row.draw)', "return row.draw"),
    Fault("the plan pays for one unit of a system that grows", "model/ledger/equipment.py",
          'return grown(line, "facilities", name, in_money', 'return grown(line, "plant", name, in_money'),
    Fault("people in steps are parts of people", "model/ledger/labour.py",
          "heads = whole_up(heads)", "heads = heads * 1.0"),
    Fault("floor under tools counts one tool of a kind", "model/line/plant_growth.py",
          "row.footprint * tools[name].tools for", "row.footprint * tools[name].tools / tools[name].tools for"),
    Fault("the limit of a year allowed in each quarter", "model/plan/sales.py",
          "caps = cap / QUARTERS * run", "caps = cap * run"),
    Fault("the whole volume of a market taken for its limit", "model/plan/sales.py",
          "cap = market.volume * market.most_share", "cap = market.volume"),
    Fault("a market counted in area limited in watts", "model/plan/sales.py",
          "full = line.output.by_unit()[market.per]", 'full = line.output.by_unit()["Wp_stabilised"]'),
    Fault("each row of a market limited by itself", "model/plan/sales.py",
          "shares = sum_of([row.output_share for row in case.sales.values() if row.market == name])",
          "shares = next(row.output_share for row in case.sales.values() if row.market == name)"),
    Fault("plates started for what no market takes", "model/plan/volume.py",
          "Volumes(self.started * taken,", "Volumes(self.started,"),
    Fault("revenue of all that is planned", "model/plan/operation.py",
          "full[name] * good * sold[name] * price", "full[name] * good * price"),
    Fault("equipment replaced after its accounting life", "model/plan/years_of_use.py",
          "counts = replaced(use, asset.technical_life,", "counts = replaced(use, asset.life,"),
    Fault("equipment replaced although it was overhauled", "model/plan/replacement.py",
          "cycle = life if added is None else life + added", "cycle = life"),
    Fault("the last replacement a year early", "model/plan/replacement.py",
          "most = times_done(use.last, first", "most = times_done(use.last - 1.0, first"),
    Fault("book value left at a replacement kept", "model/plan/replacement.py",
          "lost.append((now - before) * left)", "lost.append(0.0 * left)"),
    Fault("a replaced piece written off further", "model/plan/replacement.py",
          "used.append(share * (1.0 - now))", "used.append(share)"),
    Fault("value lost at a replacement not lost for tax", "model/plan/plan_depreciation.py",
          "tax = used + lost_for_tax", "tax = used"),
    Fault("an overhaul written off as a replacement is", "model/plan/plan_depreciation.py",
          "carried = written_off(overhauls, over)", "carried = written_off(overhauls, list(plan.books.values()))"),
    Fault("every piece sold for the age of the first", "model/plan/replacement.py",
          "larger(time - (whole + more) * cycle, 0.0)", "larger(time - more * cycle, 0.0)"),
    Fault("resale at the price first paid", "model/plan/years_of_use.py",
          "asset.sold_at * rise * (1 + inflation) * worth", "asset.sold_at * worth"),
    Fault("end value of the price with freight and installation", "model/ledger/equipment.py",
          "bare.get((table, name), cost),", "cost,"),
    Fault("a payment counted a quarter after it is due", "model/plan/timing.py",
          "Row([after(column, time) for column in range(count)])", "Row([after(column - 1, time) for column in range(count)])"),
    Fault("flows discounted a quarter too much", "model/plan/worth.py",
          "flow / (1 + rate) ** number for", "flow / (1 + rate) ** (number + 1) for"),
    Fault("quarters before production counted as lost ones", "model/plan/closing_time.py",
          "choose(part >= 1, in_a_row + 1.0, 0.0)", "in_a_row + 1.0"),
    Fault("any lost quarters counted, in a row or not", "model/plan/closing_time.py",
          "choose(part >= 1, in_a_row + 1.0, 0.0), 0.0)", "choose(part >= 1, in_a_row + 1.0, 0.0), in_a_row)"),
    Fault("closing before its earliest time", "model/plan/closing_time.py",
          "choose(earliest <= column, 1.0, 0.0)", "1.0"),
    Fault("no severance", "model/plan/closing.py",
          "return severance + stock", "return 0.0 * severance + stock"),
    Fault("stock sold at its cost when the plant closes", "model/plan/closing.py",
          "stock * (1 - row.stock_recovered)", "stock * (row.stock_recovered - row.stock_recovered)"),
    Fault("the whole grant paid back, however late", "model/plan/closing.py",
          "larger(start + bound - column, 0.0)", "bound"),
    Fault("the site left as it is", "model/plan/quarters.py",
          "site = self.use.at_end(proceeds.dismantling)", "site = self.use.early(proceeds.dismantling)"),
    Fault("the licensor paid before the bank", "model/plan/closing.py",
          "rest = larger(available - debt, 0.0)", "rest = larger(available - 0.0 * debt, 0.0)"),
    Fault("the bank loses all of the loan", "model/plan/closing.py",
          "return larger(debt - larger(available, 0.0), 0.0)", "return larger(debt - 0.0 * larger(available, 0.0), 0.0)"),
    Fault("money tied up not set free at closing", "model/plan/quarters.py",
          "kept = {name: self.use.held(amounts) for name", "kept = {name: amounts for name"),
    Fault("closing at the best time without its tax", "model/plan/closing.py",
          "- (tax - plan.settled.paid[column])", "- 0.0 * plan.settled.paid[column]"),
    Fault("losses carried forward never expire", "model/plan/tax.py",
          "return larger(gone, pools.losses[first]) if first > 0 else gone", "return gone"),
    Fault("losses carried back without limit", "model/plan/tax.py",
          "taken = larger(taken, pools.profits[first])", "taken = larger(taken, 0.0 * pools.profits[first])"),
    Fault("losses not set against other income", "model/plan/tax.py",
          "return (profit * (1 - holiday) - loss) * row.rate", "return (profit * (1 - holiday) - 0.0 * loss) * row.rate"),
    Fault("losses used up by a holiday that leaves them", "model/plan/tax.py",
          "used = used * (1 - holiday)", "used = used * 1.0"),
    Fault("cost of people before the start held as modules", "model/plan/operation.py",
          "choose(started > 0, fixed * run, 0.0 * fixed)", "fixed"),
    Fault("no stock before production", "model/plan/operation.py",
          "started + first_starts(case) * (ready - run)", "started + 0.0 * first_starts(case) * (ready - run)"),
    Fault("land comes back at what was paid", "model/plan/years_of_use.py",
          "asset.sold_at * asset.end_share", "asset.sold_at * (1.0 - 0.0 * asset.end_share)"),
    Fault("what remains of a minimum not due at closing", "model/plan/timing.py",
          "later.append(later[-1] + amount)", "later.append(later[-1] + 0.0 * amount)"),
    Fault("the minimum of the year of closing not due", "model/plan/royalty.py",
          "missing += [*(short * end for end in ended[:-1])", "missing += [*(0.0 * short * end for end in ended[:-1])"),
    Fault("no reserve on expenses", "model/plan/capital.py",
          "return total * (1 + case.plan.outlay.contingency) * paid_by", "return total * paid_by"),
    Fault("an exchange of parts left in productive time", "model/line/states.py",
          "productive=busy - sum_of([*down, *trials]) if down or trials else busy", "productive=busy"),
    Fault("phases that are downtime left out of downtime", "model/line/states.py",
          "sum_of([scheduled * tool.planned_downtime, *down])", "scheduled * tool.planned_downtime"),
    Fault("a phase counted in the state of every tool", "model/line/states.py",
          "if case.steps[row.step].tool == tool:", "if row.step:"),
    Fault("time of a phase counted once, not for all loads", "model/line/states.py",
          "phases[name].time_per_load * steps[row.step].loads", "row.time"),
    Fault("cleaning between loads taken for ideal time", "model/line/states.py",
          "flow.cycle.load_time * step.rate_efficiency", "flow.cycle.time * step.rate_efficiency"),
    Fault("throughput over busy instead of productive time", "model/ledger/ownership.py",
          "throughput=passes / productive", "throughput=passes / line.tools[tool].busy_time"),
    Fault("carriers heated for nothing", "model/line/heating.py",
          "least = glass_heat + carrier_heat", "least = glass_heat"),
    Fault("glass of one plate heated instead of a load's", "model/line/heating.py",
          "case.tools[tool].load_size * plate_area * row.glass_thickness", "plate_area * row.glass_thickness"),
    Fault("a load draws only while it is in the tool", "model/line/heating.py",
          "sum_of(draws) * flow.cycle.time", "sum_of(draws) * flow.cycle.load_time"),
    Fault("empty places of a carrier take no silane", "model/ledger/films.py",
          "growing = film_mass(layer.thickness, layer.density, area_of_loads) / layer.utilisation",
          "growing = film_mass(layer.thickness, layer.density, coated_area) / layer.utilisation"),
    Fault("a season's light held for the whole stay", "model/line/seasons.py",
          "return held - sum_of(saved) / year", "return held"),
    Fault("racks counted by the mean stay", "model/line/soaking.py",
          "of_year * found.longest)", "of_year * found.mean)"),
    Fault("sales may take all that a market buys", "model/market/market.py",
          "each.volume * case.markets[name].most_share, 0.0)", "each.volume, 0.0)"),
    Fault("racks counted among the tools that people and utilities follow", "model/line/plant_growth.py",
          'if row.in_all_tools == "yes"]', "if row.title]"),
    Fault("a plant as bought makes all it can, whatever is planned", "model/line/line.py",
          'planned = [wanted] if case.target.mode == "as_bought" else []', "planned = []"),
    Fault("tools of a plant as bought follow its output", "model/line/line.py",
          'tools = rounded if case.target.mode == "sized" else installed',
          'tools = installed if case.target.mode == "frozen" else rounded'),
    Fault("what grows follows the output of a plant as bought", "model/line/plant_growth.py",
          'case.target.mode != "sized"', 'case.target.mode == "frozen"'),
    Fault("carriers not bought with the plant", "model/as_bought.py",
          "for name, use in line.carriers.items()", "for name, use in line.carriers.items() if not name"),
    Fault("inputs known after purchase taken for known before it", "studies/many.py",
          "if row.known == BEFORE", "if row.known"),
    Fault("the plant of a draw sized at the values of the case", "studies/many.py",
          "installed_for(replaced(case.design, own))", "installed_for(case.design)"),
    Fault("both gain where either does", "studies/negotiation/probabilities.py",
          "(*both, both[0] & both[1], there)", "(*both, both[0] | both[1], there)"),
    Fault("a side that is short of its floor said to gain", "studies/negotiation/probabilities.py",
          "both = [present[side] >= 0 for", "both = [present[side] >= -1e6 for"),
    Fault("a zone where only the licensor has its floor", "studies/negotiation/probabilities.py",
          " & (found.licensee >= -CLOSEST * scale)", ""),
    Fault("idle draw taken for heat", "model/line/heating.py",
          "[each.when_processing for each", "[each.when_idle for each"),
    Fault("a jump past zero taken for a root", "core/roots.py",
          "not abs(at_high - at_low) <= scale[r]))", "False))"),
    Fault("a stretch that ends behind its jump", "core/roots.py",
          "stops = [change.low for change in self.changes if change.at_low >= 0]",
          "stops = [change.high for change in self.changes if change.at_low >= 0]"),
    Fault("only the first bracket of a scan narrowed", "core/roots.py",
          "row, cell = np.nonzero(inside[:, :-1] != inside[:, 1:])",
          "row, cell = (each[:1] for each in np.nonzero(inside[:, :-1] != inside[:, 1:]))"),
    Fault("jumps looked for only where a function rises", "core/roots.py",
          "np.maximum(slope - np.maximum(before, behind), np.minimum(before, behind) - slope)",
          "slope - np.maximum(before, behind)"),
    Fault("the zone without the licensee's limit", "studies/negotiation/zone.py",
          "tuple(common(one.stretches, other.stretches) for", "tuple(one.stretches for"),
    Fault("a term suits where one side gains", "studies/negotiation/limits.py",
          "return common(self.licensor.stretches, self.licensee.stretches)", "return self.licensor.stretches"),
    Fault("weights of the product given to the other side", "studies/negotiation/split.py",
          "np.maximum(own, 0.0) ** weight * np.maximum(other, 0.0) ** (1 - weight)",
          "np.maximum(own, 0.0) ** (1 - weight) * np.maximum(other, 0.0) ** weight"),
    Fault("the sum of gains greatest instead of their product", "studies/negotiation/split.py",
          "np.maximum(own, 0.0) ** weight * np.maximum(other, 0.0) ** (1 - weight)",
          "weight * own + (1 - weight) * other"),
    Fault("a bound that binds not named", "studies/negotiation/split.py",
          '"most" if value == high else ""', '""'),
    Fault("efficiency and stabilisation as stated in every draw", "studies/negotiation/guarantees.py",
          "means, spreads = measured(term, made)", "means, spreads = measured(term, stated + 0.0 * made)"),
    Fault("the pilot line's spread twice in the normal formula", "studies/negotiation/guarantees.py",
          "+ np.var(means)))", "+ 2 * np.var(means)))"),
    Fault("standard deviation shown for the standard error", "studies/negotiation/guarantees.py",
          "np.std(found, axis=1, ddof=1) / found.shape[1] ** 0.5", "np.std(found, axis=1, ddof=1)"),
    Fault("damages under a guarantee on the day of other damages", "model/deal/promises.py",
          "(x.damages, case.guarantees[name].time, case", "(x.damages, case.deal.licensor.damages_time, case"),
    Fault("tests that are repeated count once", "model/deal/promises.py",
          "row.days * row.tests) + row.measurement**2) ** 0.5\n    return", "row.days) + row.measurement**2) ** 0.5\n    return"),
    Fault("uptime over all of the year, downtime left out", "model/deal/promises.py",
          "return up / (up + states.scheduled_down + states.unscheduled_down)", "return up / (up + states.unscheduled_down)"),
    Fault("less consumption than guaranteed pays damages", "model/deal/promises.py",
          "(1 - ratio, 1 / row.minimum - 1) if less else", "(ratio - 1, 1 / row.minimum - 1) if less else"),
    Fault("damages on top of the sum for rejection", "model/deal/promises.py",
          "return each * short + (instead - each * most) * falls_short", "return each * short + instead * falls_short"),
    Fault("no grace for a guaranteed date", "model/deal/promises.py",
          "spare = row.time + row.grace - row.expected\n    paid", "spare = row.time - row.expected\n    paid"),
    Fault("the licensee's part of tests paid to it", "model/deal/promises.py",
          "each.licensor_tests if licensor else -each.licensee_tests", "each.licensor_tests if licensor else each.licensee_tests"),
    Fault("one shortfall pays twice", "studies/negotiation/promise_set.py",
          "np.maximum(own - short[each.under], 0.0) if each.under else own", "own"),
    Fault("the common cap over each and not over all", "studies/negotiation/promise_set.py",
          "total = paid.sum(axis=0)\n    return", "total = paid.max(axis=0)\n    return"),
    Fault("the promise of a date made earlier to be safe", "studies/negotiation/promise_set.py",
          "missing = self.sign * (level + self.grace - self.results)", "missing = level + self.grace - self.results"),
    Fault("ranks of the best result for those of the worst", "studies/negotiation/promise_set.py",
          "ranks.min(axis=0)", "ranks.max(axis=0)"),
    Fault("the probability of no damages taken for that of damages", "model/deal/guarantee.py",
          "return normal_cdf(-safe_divide(spare, error))", "return normal_cdf(safe_divide(spare, error))"),
    Fault("second licensees sell as they sign", "model/deal/second_licensee.py",
          "signed_before(end - entry, window)", "signed_before(end + 0.0 * entry, window)"),
    Fault("prospects that wait all come back", "model/deal/second_licensee.py",
          "elsewhere = row.lost * smaller", "elsewhere = 0.0 * smaller"),
    Fault("prospects outside of the territories compete", "model/deal/second_licensee.py",
          "if row.territory != OUTSIDE}", "if row.territory}"),
    Fault("exclusivity closes territories that the licence does not name", "model/deal/licensor_costs.py",
          "0.0 * row.window if row.territory == OUTSIDE else", "0.0 * row.window if not row.territory else"),
    Fault("price and volume that fall added up", "model/deal/second_licensee.py",
          " - row.price_effect * row.volume_effect", ""),
    Fault("lost volume costs as much as before", "model/deal/second_licensee.py",
          " - variable * (1 - volume)", ""),
    Fault("lost sales bear royalty on", "model/deal/second_licensee.py",
          "after_tax * (margin - lost)", "after_tax * (margin - 0.0 * lost)"),
    Fault("lost margin was not taxed", "model/deal/second_licensee.py",
          "after_tax = 1 - case.plan.tax.rate", "after_tax = 1.0"),
    Fault("second licensees take nothing from the licensee", "model/deal/licensee.py",
          "undisturbed - rivals.licensee + damages", "undisturbed + damages"),
    Fault("exclusivity keeps no royalty", "model/deal/deal.py",
          "licensor_cost=seller.territory - kept", "licensor_cost=seller.territory"),
    Fault("all tax withheld is credited", "model/deal/licensor_tax.py",
          "smaller(income.withheld, tax) if", "income.withheld if"),
    Fault("own tax on payments, costs not counted", "model/deal/licensor_tax.py",
          "return self.gross - self.inventors - self.costs", "return self.gross - self.inventors"),
    Fault("licences lost counted as costs for tax", "model/deal/licensor.py",
          "costs - floor_costs.territory,", "costs,"),
    Fault("exchange rates that stay as they are", "model/plan/exchange.py",
          ".change * case.constants.year) **", ".change * 0.0 * case.constants.year) **"),
    Fault("sales at the exchange rate of day one", "model/plan/operation.py",
          " * moved(case, sale.currency, quarter)", ""),
    Fault("payments at the exchange rate of day one", "model/plan/exchange.py",
          "case.money) * moved(case, currency, k) for", "case.money) for"),
    Fault("the licensor's flows at the exchange rate of day one", "model/deal/licensor_value.py",
          "npv(flows * rates, rate)", "npv(flows, rate)"),
    Fault("what is never paid back paid back at once", "model/plan/worth.py",
          "valid_if(paid > 0, larger(below - 1.0, 0.0) + within), paid",
          "choose(paid > 0, larger(below - 1.0, 0.0) + within, 0.0), paid"),
    Fault("a year without repayment covered by nothing", "model/plan/finance.py",
          "cover = valid_if(fell_due > 0, safe_divide(cash, service))", "cover = safe_divide(cash, service)"),
    Fault("a plan without loan covered without end", "model/plan/plan.py",
          "minimum_dscr=valid_if(least < NO_SERVICE, least)", "minimum_dscr=least"),
    Fault("a profit for each unit of nothing paid", "model/deal/yardsticks.py",
          "valid_if(payments > 0, safe_divide(profit, payments))", "safe_divide(profit, payments)"),
    Fault("a share of a loss", "model/deal/yardsticks.py",
          "valid_if(together > 0, safe_divide(payments, together))", "safe_divide(payments, together)"),
    Fault("a share of no gain", "model/deal/deal.py",
          "licensor_share=valid_if(together > 0, safe_divide(seller.gain, together))",
          "licensor_share=safe_divide(seller.gain, together)"),
    Fault("an efficiency that breaks even where none does", "model/market/efficiency_break_even.py",
          "valid_if(area_related * room > 0, safe_divide(area_related, irradiance * room))",
          "safe_divide(area_related, irradiance * room)"),
    Fault("a running sum that forgets what came before", "core/series.py", "so_far = so_far + value", "so_far = value"),
    Fault("a value less a row taken the wrong way round", "core/series.py",
          "return Row([other - value for value in self._values])", "return Row([value - other for value in self._values])"),
    Fault("the first column gains nothing", "core/series.py", "(0.0, *self._values)", "(self._values[0], *self._values)"),
    Fault("tax settled quarter by quarter", "model/plan/tax.py",
          "to_date = sum_of([*taxable[begin:number], income])", "to_date = income"),
    Fault("instalments of the year not counted", "model/plan/tax.py",
          "paid.append(tax - sum_of(paid[begin:number]))", "paid.append(tax)"),
    Fault("debt that the bank loses is no debt service", "model/plan/finance.py",
          "fell_due = repaid + sum_of([each.forgiven for each in found])", "fell_due = repaid"),
    Fault("the earliest closing counted from the first day", "model/plan/closing_time.py",
          "start + in_quarters(case, row.not_before)", "in_quarters(case, row.not_before)"),
    Fault("the best time of closing before production", "model/plan/closing.py",
          "choose(run >= 1, choose(worth >= best, float(column), last), last)", "choose(worth >= best, float(column), last)"),
    Fault("a minimum due at closing at the rates of later days", "model/plan/licence.py",
          "owed = [converted(case, amounts, row.currency) for amounts, row in zip(left, rows)]",
          "owed = [still_to_come(converted(case, until_bought_out(case, trade, least_royalty(case, row, count)), row.currency))"
          " for row in rows]"),
    Fault("damages do not reach the licensee", "model/deal/licensee.py",
          "undisturbed - rivals.licensee + damages", "undisturbed - rivals.licensee"),
    Fault("damages reach the licensee untaxed", "model/deal/licensee.py",
          "return sum_of(found) * (1 - case.plan.tax.rate)", "return sum_of(found)"),
    Fault("a sample for a precision that none reaches", "model/ledger/soaking_sample.py",
          "return valid_if(least_half_width(plan, common) <= plan.precision, first)", "return first"),
)


def planted(fault: Fault, source: str) -> str:
    """The source with the slip in its code; a docstring may hold the same text, as an equation does."""
    lines = source.splitlines(keepends=True)
    starts = [0, *accumulate(map(len, lines))]
    said = [
        (starts[node.value.lineno - 1], starts[node.value.end_lineno or node.value.lineno])
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    ]
    places = [found.start() for found in re.finditer(re.escape(fault.old), source)]
    places = [place for place in places if not any(begin <= place < end for begin, end in said)]
    if len(places) != 1:
        raise ValueError(f"'{fault.old}' stands {len(places)} times in the code of {fault.file}; allowed: once")
    return source[: places[0]] + fault.new + source[places[0] + len(fault.old) :]


def findings(out: Path) -> dict[Fault | None, dict[str, list[str]]]:
    """What the unit reading and the laws find without a slip, under None, and with each, by how it was found.

    A search ends at the first finding, and begins with the part of the model that holds the fault; without one it looks at all.
    The compiled evaluator keeps what it compiled, so the one of NumPy runs.
    """
    own = {**os.environ, "COSTMODEL_EVALUATOR": "numpy", "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, "-m", "tests.seeded_runner", str(out)], check=True, cwd=ROOT, env=own)
    found = json.loads(out.read_text(encoding="utf-8"))
    if failed := [each["failed"] for each in found if "failed" in each]:
        raise RuntimeError(f"{len(failed)} looks failed, the first with: {failed[0]}")
    return dict(zip((None, *FAULTS), found, strict=True))


def units_broken(case: Case) -> list[str]:
    """What the unit reading says of a case."""
    import pint

    from costmodel.model.readings.quantities import WrongUnit, wrong_units

    try:
        return wrong_units(case)
    except (pint.DimensionalityError, WrongUnit, ArithmeticError) as problem:
        return [str(problem)]


def looks(file: str) -> Iterator[tuple[str, Callable[[], Iterable[str]]]]:
    """All looks, with their way: units of the demo and the test cases, then the laws, those nearest to a file first."""
    from .batch import batch
    from .cases import demo_line, tiny
    from .closing_laws import violated_by_closing
    from .deal_laws import violated_by_deal
    from .deal_money_laws import dealt, violated_by_deal_money
    from .growing import growing
    from .identities import violated
    from .plan_laws import violated_by_plan
    from .plans import limited, planned, worn
    from .scaling_laws import with_target
    from .terms import terms

    sized = (lambda: with_target(tiny(), "m2", 9_000.0), lambda: with_target(tiny(), "module", 500.0))
    for case in (tiny, batch, *sized, terms, growing):
        yield "units", lambda case=case: units_broken(case())
    line = [lambda case=case: violated(case()) for case in (tiny, batch, terms, growing)]
    plan = [violated_by_closing, *(lambda case=case: violated_by_plan(case()) for case in (worn, limited))]
    deal = [lambda: violated_by_deal_money(dealt()), lambda: violated_by_deal(planned())]
    of_plan = file.startswith(("model/plan/", "core/rates", "core/series"))
    of_deal = file.startswith(("model/deal/", "studies/", "core/roots"))
    order = [*plan, *deal, *line] if of_plan else [*deal, *plan, *line] if of_deal else [*line, *plan, *deal]
    for law in order:
        yield "laws", law
    yield "units", lambda: units_broken(demo_line())  # last, as it takes the longest


def look(file: str = "") -> dict[str, list[str]]:
    """What is found in the package; with a fault in a file, up to the first finding."""
    found: dict[str, list[str]] = {"units": [], "laws": []}
    for way, law in looks(file):
        try:
            found[way] += islice(law(), 1) if file else law()
        except Exception as problem:
            if not file:  # nothing is wrong then, so the law is
                raise
            found[way].append(f"{type(problem).__name__}: {problem}")
        if file and found[way]:
            break
    return found
