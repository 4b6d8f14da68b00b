"""Slips of the kind that people make, each one change of the model's source, and the run that looks for one.

Run as `python -m tests.seeded_faults FOLDER` with FOLDER first on the path: prints what is found in the copy of the
package that stands there.
"""
from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from .cases import ROOT

PACKAGE = ROOT / "costmodel"


@dataclass(frozen=True, slots=True)
class Fault:
    """A slip: in this file, the old text, which stands there once, became the new one."""

    slip: str
    file: str
    old: str
    new: str


FAULTS = (
    Fault("availabilities multiplied instead of shares added", "line/capacity.py",
          "return 1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time",
          "return (1 - tool.planned_downtime) * (1 - tool.unplanned_downtime) * (1 - tool.engineering_time)"),
    Fault("target met with initial instead of stabilised watts", "line/line.py",
          "case.constants, plate_area, powers[1])", "case.constants, plate_area, powers[0])"),
    Fault("tools not rounded up to whole ones", "line/capacity.py",
          "return needed, whole_up(needed)", "return needed, needed"),
    Fault("cost of a module divided by plates", "ledger/views.py",
          "cost_per_module=cost / output.good_modules", "cost_per_module=cost / output.good_plates"),
    Fault("purging left out of the cycle", "line/cycle.py",
          "sum_of([own, *inside, *growing, *purging, *settling", "sum_of([own, *inside, *growing, *settling"),
    Fault("films grown in every step", "line/cycle.py",
          "for name, layer in case.layers.items() if layer.step == identity]", "for name, layer in case.layers.items()]"),
    Fault("phases counted in every load", "line/line.py",
          "occurrences=steps[row.step].loads / row.every", "occurrences=steps[row.step].loads"),
    Fault("carriers wait while the chamber is cleaned", "line/loads.py",
          "loads[name] * cycles[name].load_time", "loads[name] * cycles[name].time"),
    Fault("trials hold up loads like failures", "line/loads.py",
          "/ (1 - tool.planned_downtime - tool.unplanned_downtime)",
          "/ (1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time)"),
    Fault("carriers wait for the loads that reach the end only", "line/loads.py",
          "loads[row.first_step] * row.waiting_time", "loads[row.last_step] * row.waiting_time"),
    Fault("lost loads go on on their carrier", "line/loads.py",
          " * (1 - case.steps[before[name]].load_loss)", ""),
    Fault("carriers never out of service", "line/capacity.py",
          "site.scheduled_time * (1 - carrier.out_of_service)", "site.scheduled_time"),
    Fault("carriers do not limit a frozen plant", "line/line.py",
          "for n, c in case.carriers.items()]\n        )", "for n, c in case.carriers.items() if not n]\n        )"),
    Fault("rework takes no tool time", "line/loads.py",
          "starts[name] * passes_per_start(step) /", "starts[name] * step.processed_share /"),
    Fault("plates lost counted from passes, reworked ones twice", "line/line.py",
          "lost=starts - leaving", "lost=passes - leaving"),
    Fault("yield loss with the step's own yield, not that of the rest of the line", "line/line.py",
          "good_end_share=1 / starts_for_one", "good_end_share=good_share(step)"),
    Fault("every reworked plate taken for good", "line/yields.py",
          "(1 - step.rework_share * step.rework_success)", "(1 - step.rework_share)"),
    Fault("plates of lost loads reworked", "line/yields.py",
          "1 + (1 - step.load_loss) * (1 - step.first_pass_yield)", "1 + (1 - step.first_pass_yield)"),
    Fault("standby in downtime as well", "line/states.py",
          "standby=scheduled * available_share(tool) - busy", "standby=scheduled - busy"),
    Fault("trials taken for downtime in effectiveness", "line/states.py",
          "uptime = states.productive + states.standby + states.engineering\n    year = uptime",
          "uptime = states.productive + states.standby\n    year = uptime + states.engineering"),
    Fault("exchange rate forgotten", "ledger/prices.py",
          "return price * money[currency.lower()].exchange_rate", "return price"),
    Fault("duty compounded on freight", "ledger/prices.py",
          "* (1 + row.freight + row.duty)", "* (1 + row.freight) * (1 + row.duty)"),
    Fault("discounts of all quantities added up", "ledger/buying.py",
          "larger(reached, choose(quantity >= row.from_quantity, row.discount, 0.0))",
          "reached + choose(quantity >= row.from_quantity, row.discount, 0.0)"),
    Fault("minimum order taken for a quantity of a year", "ledger/buying.py",
          "terms.minimum_order * year / terms.shelf_life", "terms.minimum_order"),
    Fault("recovered metal taken for used", "ledger/buying.py",
          "if not use.credit:\n            by_item", "if True:\n            by_item"),
    Fault("idle draw follows the output", "ledger/utilities.py",
          "(row.when_processing - row.when_idle) * use.busy_time", "row.when_processing * use.busy_time"),
    Fault("scrap of every plate that enters", "ledger/scrap.py",
          "line.steps[row.step].lost * row.lost_share", "line.steps[row.step].starts * row.lost_share"),
    Fault("disposal earned", "ledger/scrap.py",
          "price=-in_reporting_currency(", "price=in_reporting_currency("),
    Fault("salvage value written off", "ledger/depreciation.py",
          "straight_line(price, price * row.salvage, life", "straight_line(price, price * 0.0, life"),
    Fault("service by the time of one tool", "ledger/equipment.py",
          '"calendar": use.tools * case.constants.year', '"calendar": case.constants.year'),
    Fault("what is bought for good modules bears yield loss", "ledger/entries.py",
          'step == PLANT or driver == "module"', "step == PLANT"),
    Fault("molar masses swapped", "ledger/films.py",
          "silicon / constants.molar_mass_silicon * constants.molar_mass_silane",
          "silicon / constants.molar_mass_silane * constants.molar_mass_silicon"),
    Fault("gases flow while purging, too", "ledger/films.py",
          "line.layers[gas.layer].flow_time", "line.layers[gas.layer].time"),
    Fault("losses of phase materials forgotten", "ledger/materials.py",
          "row.amount * (1 + row.loss) * line.phases", "row.amount * line.phases"),
    Fault("floor charged in the currency of the tool", "ledger/equipment.py",
          "in_reporting_currency(area.charge, area.currency", "in_reporting_currency(area.charge, tool.currency"),
    Fault("maintenance on the bare price", "ledger/equipment.py",
          "price * tool.maintenance",
          "in_money_of_the_case(case, 'tools', tool) * tool.maintenance"),
    Fault("people rounded up for all crews together", "ledger/labour.py",
          "whole_up(together / case.site.crews) * case.site.crews", "whole_up(together)"),
    Fault("a mean instead of the expected shortfall", "ledger/soaking.py",
          "error * density - tolerance * (1 - normal_cdf(reach))", "error * density - tolerance"),
    Fault("delivery of our module forgotten", "market/uses.py",
          "covering.area_cost + covering.delivery - covering.premium", "covering.area_cost - covering.premium"),
    Fault("duty on the reference forgotten", "market/market.py",
          "market.reference_price * (1 + market.reference_duty)", "market.reference_price"),
    Fault("yield corrected for temperature the wrong way round", "market/uses.py",
          "market.yield_ratio * warm / reference_warm", "market.yield_ratio * reference_warm / warm"),
    Fault("upkeep not discounted", "market/uses.py",
          "discounted_years(market.discount_rate * constants.year, 0.0,", "discounted_years(0.0, 0.0,"),
    Fault("payments at the beginning of each year", "market/uses.py",
          "safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)", "safe_divide(1 - ratio**years, 1 - ratio))"),
    Fault("the reference's degradation for our module", "market/uses.py",
          "        degradation=market.degradation,", "        degradation=market.reference_degradation,"),
    Fault("our module rated before light soaking in the market", "market/uses.py",
          "efficiency=output.stabilised_power / (", "efficiency=output.initial_power / ("),
    Fault("the price asked forgotten in the efficiency it takes", "market/energy.py",
          "break_even_efficiency(ours.area_related, left - prices.asked,", "break_even_efficiency(ours.area_related, left,"),
    Fault("cladding saved counted per watt", "market/area.py",
          "- use.power_related - price) - use.area_related", "- use.power_related - price - use.area_related / 60.0)"),
    Fault("present values of unequal lives held against each other", "market/area.py",
          "before_price - ours.discounted_life * worth for name, worth in annual.items()",
          "before_price - others[name][0] for name, worth in annual.items()"),
    Fault("the worst alternative instead of the best", "market/area.py",
          "least_of(list(against.values())), largest_of(", "largest_of(list(against.values())), least_of("),
    Fault("life of our module for other coverings", "market/area.py",
          "discounted_life(constants, market, row.life)", "reference.discounted_life"),
    Fault("the reference on an area free of charge", "market/area.py",
          "left_per_m2(market.energy_value, reference_price, reference)", "left_per_m2(market.energy_value, 0.0, reference)"),
    Fault("what the best alternative leaves forgotten in the efficiency it takes", "market/area.py",
          "ours.area_related + ours.discounted_life * best", "ours.area_related"),
    Fault("premium added to cost by area", "market/uses.py",
          "covering.delivery - covering.premium", "covering.delivery + covering.premium"),
    Fault("volume in m2 taken for watts", "market/market.py",
          'market.volume * watts if market.per == "m2" else market.volume', "market.volume"),
    Fault("a price asked per m2 multiplied by power", "market/market.py",
          "(amount / watts_per_m2, amount)", "(amount * watts_per_m2, amount)"),
    Fault("every alternative binds", "market/area.py",
          "choose(against[name] <= highest, 1.0, 0.0)", "choose(against[name] >= highest, 1.0, 0.0)"),
    Fault("power lost by the spread instead of its square", "line/cycle.py",
          "layer.spread_loss_factor * layer.thickness_spread**2", "layer.spread_loss_factor * layer.thickness_spread"),
    Fault("spread of the films forgotten in the power", "line/capacity.py",
          "active_area * product.initial_efficiency * uniform", "active_area * product.initial_efficiency"),
    Fault("gases do not flow while they settle", "line/cycle.py",
          "flow_time=growth_time + layer.settling_time", "flow_time=growth_time"),
    Fault("silane does not flow while it settles", "ledger/films.py",
          "fed = growing + settling", "fed = growing"),
    Fault("settling inside the purge takes time of its own", "line/cycle.py",
          'for name in films if case.layers[name].settling == "added"]', "for name in films]"),
    Fault("settling that is added takes no time", "line/cycle.py",
          "*purging, *settling, coating_time, *soaked]", "*purging, coating_time, *soaked]"),
    Fault("zones of a coater one after the other", "line/coating.py",
          "slowest = larger(slowest, times[name])", "slowest = slowest + times[name]"),
    Fault("one cathode in each zone", "line/coating.py",
          "/ (coating.dynamic_rate * coating.cathodes)", "/ coating.dynamic_rate"),
    Fault("no gap between plates in the coater", "line/coating.py",
          " else width) + coater.gap", " else width)"),
    Fault("discount on the quote of a metal", "ledger/buying.py",
          "price = price + landed(metal, row) if", "price = price + landed(metal, row) * (1 - off) if"),
    Fault("no freight and duty on the metal", "ledger/buying.py",
          "price = price + landed(metal, row) if", "price = price + metal if"),
    Fault("recovered metal credited at the landed price", "ledger/buying.py",
          "price=-item.credit if use.credit", "price=-item.price if use.credit"),
    Fault("metal refined for nothing", "ledger/prices.py",
          "return metal_quote(case, row) * (1 - row.refining_share)", "return metal_quote(case, row)"),
    Fault("quote of a metal in its own currency", "ledger/prices.py",
          "return in_reporting_currency(row.quote, row.currency, case.money)", "return row.quote"),
    Fault("a scribe set for each cell", "case/geometry.py",
          "(cells.cell_count - 1) * cells.dead_width", "cells.cell_count * cells.dead_width"),
    Fault("the edge deleted on two sides", "case/geometry.py",
          "(along - 2 * cells.edge_width)", "along"),
    Fault("one busbar", "case/geometry.py", "2 * cells.busbar_width", "cells.busbar_width"),
    Fault("a lot taken for endless", "ledger/sampling.py",
          "plan.spread**2 * larger(1 - soaked / plan.lot, 0.0) / soaked", "plan.spread**2 / soaked"),
    Fault("the common part of the measurement averaged", "ledger/sampling.py",
          "between, together = between_lots(plan), common**2", "between, together = between_lots(plan), common**2 / soaked"),
    Fault("the random part of the measurement left out", "ledger/sampling.py",
          "variance = within + random + between + together", "variance = within + between + together"),
    Fault("a running mean that does not lag behind the lots", "ledger/sampling.py",
          "plan.lot_to_lot**2 * (1 - 1 / plan.lots_averaged)", "plan.lot_to_lot**2 * (1 - 1)"),
    Fault("one side of the half-width forgotten", "ledger/sampling.py",
          "tail = (1 + plan.coverage_probability) / 2", "tail = plan.coverage_probability"),
    Fault("degrees of freedom of the modules, not of the spread", "ledger/sampling.py",
          "plan.lots_averaged * (soaked - 1)", "plan.lots_averaged * soaked"),
    Fault("the effective degrees of freedom of the uncertainty, not of its square", "ledger/sampling.py",
          "safe_divide(within, variance) ** 2", "safe_divide(within, variance)"),
    Fault("the lots averaged forgotten in the sample", "ledger/sampling.py",
          "(plan.lots_averaged * room + plan.spread**2 / plan.lot)", "(room + plan.spread**2 / plan.lot)"),
    Fault("the sample of a given spread where it comes from the sample", "ledger/sampling.py",
          "range(LOOKED_AT)", "range(0)"),
    Fault("claims for initial watts", "ledger/soaking.py",
          "quantity=ratings[name].shortfall * line.output.stabilised_watts",
          "quantity=ratings[name].shortfall * line.output.initial_watts"),
    Fault("interest of a second", "ledger/soaking.py",
          "price=plan.holding_rate * case.constants.year", "price=plan.holding_rate"),
    Fault("a wait in scheduled time taken for one by the calendar", "ledger/soaking.py",
          "case.constants.loads_per_tool * case.constants.year / case.site.scheduled_time", "case.constants.loads_per_tool"),
    Fault("rating again left out of the plan of soaking", "ledger/soaking.py",
          "dict.fromkeys((plan.step, plan.retest))", "(plan.step,)"),
    Fault("one interval of dose too few", "line/soaking.py",
          "+ (MEASUREMENTS - 1)", "+ (MEASUREMENTS - 2)"),
    Fault("loss since the beginning instead of the loss still to come", "line/soaking.py",
          "(1 - ratio) * needed /", "needed /"),
    Fault("sunshine in scheduled time only", "line/soaking.py",
          '"calendar": case.site.scheduled_time / case.constants.year', '"calendar": 1.0'),
    Fault("every light counted for the whole year", "line/soaking.py",
          "[row.part_of_year * times[key] * clocks", "[times[key] * clocks"),
    Fault("soaking takes no time of its rack", "line/cycle.py",
          "coating_time, *soaked])", "coating_time])"),
    Fault("all modules rated again", "line/soaking.py",
          "share = again.processed_share * steps[plan.step].processed_share", "share = again.processed_share"),
    Fault("units that grow in steps not rounded up", "line/growth.py",
          "return whole_up(size / size_per_unit)", "return size / size_per_unit"),
    Fault("an exponent taken as a share", "line/growth.py",
          "(size / reference_size) ** exponent", "(size / reference_size) * exponent"),
    Fault("a frozen plant buys units for the tools it has now", "line/growth.py",
          "row.installed if frozen else units_needed", "row.installed if not unit else units_needed"),
    Fault("a frozen plant is built for the output it has now", "line/growth.py",
          "built_for = row.installed if frozen else size", "built_for = size"),
    Fault("the draw of systems does not grow", "ledger/facilities.py",
          'return grown(line, "facilities", row.facility, row.draw)', "return row.draw"),
    Fault("the plan pays for one unit of a system that grows", "ledger/equipment.py",
          'return grown(line, "facilities", name, in_money', 'return grown(line, "plant", name, in_money'),
    Fault("people in steps are parts of people", "ledger/labour.py",
          "heads = whole_up(heads)", "heads = heads * 1.0"),
    Fault("floor under tools counts one tool of a kind", "line/growth.py",
          "row.footprint * tools[name].tools for", "row.footprint * tools[name].tools / tools[name].tools for"),
    Fault("the limit of a year allowed in each quarter", "plan/sales.py",
          "caps = [cap / QUARTERS * part", "caps = [cap * part"),
    Fault("the whole volume of a market taken for its limit", "plan/sales.py",
          "cap = market.volume * market.most_share", "cap = market.volume"),
    Fault("a market counted in area limited in watts", "plan/sales.py",
          "full = line.output.by_unit()[market.per]", 'full = line.output.by_unit()["Wp_stabilised"]'),
    Fault("each row of a market limited by itself", "plan/sales.py",
          "shares = sum_of([row.output_share for row in case.sales.values() if row.market == name])",
          "shares = next(row.output_share for row in case.sales.values() if row.market == name)"),
    Fault("plates started for what no market takes", "plan/volume.py",
          "[share * part for share, part in zip(self.started, taken)]", "list(self.started)"),
    Fault("revenue of all that is planned", "plan/operation.py",
          "full[name] * share * sold[name][quarter] * risen", "full[name] * share * risen"),
    Fault("equipment replaced after its accounting life", "plan/capital.py",
          "counts = replaced(use, asset.technical_life,", "counts = replaced(use, asset.life,"),
    Fault("equipment replaced although it was overhauled", "plan/replacement.py",
          "cycle = life if added is None else life + added", "cycle = life"),
    Fault("the last replacement a year early", "plan/replacement.py",
          "most = times_done(use.last, first", "most = times_done(use.last - 1.0, first"),
    Fault("book value left at a replacement kept", "plan/replacement.py",
          "lost.append((now - before) * left)", "lost.append(0.0 * left)"),
    Fault("a replaced piece written off further", "plan/replacement.py",
          "used.append(share * (1.0 - now))", "used.append(share)"),
    Fault("value lost at a replacement not lost for tax", "plan/capital.py",
          "tax = [a + b for a, b in zip(*_with_losses(", "tax = [a for a, b in zip(*_with_losses("),
    Fault("an overhaul written off as a replacement is", "plan/capital.py",
          "carried = written_off(overhauls, over)", "carried = written_off(overhauls, list(plan.books.values()))"),
    Fault("every piece sold for the age of the first", "plan/replacement.py",
          "larger(use.end - (whole + more) * cycle, 0.0)", "larger(use.end - more * cycle, 0.0)"),
    Fault("resale at the price first paid", "plan/capital.py",
          "asset.price * (1 + case.returns.inflation * year) ** use.years * resale", "asset.price * resale"),
    Fault("an exchange of parts left in productive time", "line/states.py",
          "productive=busy - sum_of([*down, *trials]) if down or trials else busy", "productive=busy"),
    Fault("phases that are downtime left out of downtime", "line/states.py",
          "sum_of([scheduled * tool.planned_downtime, *down])", "scheduled * tool.planned_downtime"),
    Fault("a phase counted in the state of every tool", "line/states.py",
          "if case.steps[row.step].tool == tool:", "if row.step:"),
    Fault("time of a phase counted once, not for all loads", "line/states.py",
          "phases[name].time_per_load * steps[row.step].loads", "row.time"),
    Fault("cleaning between loads taken for ideal time", "line/states.py",
          "flow.cycle.load_time * step.rate_efficiency", "flow.cycle.time * step.rate_efficiency"),
    Fault("throughput over busy instead of productive time", "ledger/ownership.py",
          "throughput=passes / productive", "throughput=passes / line.tools[tool].busy_time"),
    Fault("carriers heated for nothing", "line/heating.py",
          "least = glass_heat + carrier_heat", "least = glass_heat"),
    Fault("glass of one plate heated instead of a load's", "line/heating.py",
          "case.tools[tool].load_size * plate_area * row.glass_thickness", "plate_area * row.glass_thickness"),
    Fault("a load draws only while it is in the tool", "line/heating.py",
          "sum_of(draws) * flow.cycle.time", "sum_of(draws) * flow.cycle.load_time"),
    Fault("idle draw taken for heat", "line/heating.py",
          "[each.when_processing for each", "[each.when_idle for each"),
    Fault("what is never paid back paid back at once", "plan/worth.py",
          "valid_if(paid > 0, larger(below - 1.0, 0.0) + within), paid",
          "choose(paid > 0, larger(below - 1.0, 0.0) + within, 0.0), paid"),
    Fault("a year without repayment covered by nothing", "plan/finance.py",
          "cover = valid_if(repaid > 0, safe_divide(cash, service))", "cover = safe_divide(cash, service)"),
    Fault("a plan without loan covered without end", "plan/plan.py",
          "least_debt_cover=valid_if(least < NO_SERVICE, least)", "least_debt_cover=least"),
    Fault("a profit for each unit of nothing paid", "deal/yardsticks.py",
          "valid_if(payments > 0, safe_divide(profit, payments))", "safe_divide(profit, payments)"),
    Fault("a share of a loss", "deal/yardsticks.py",
          "valid_if(together > 0, safe_divide(payments, together))", "safe_divide(payments, together)"),
    Fault("a share of no gain", "deal/deal.py",
          "licensor_share=valid_if(together > 0, safe_divide(seller.gain, together))",
          "licensor_share=safe_divide(seller.gain, together)"),
    Fault("an efficiency that breaks even where none does", "market/break_even.py",
          "valid_if(area_related * room > 0, safe_divide(area_related, irradiance * room))",
          "safe_divide(area_related, irradiance * room)"),
    Fault("a sample for a precision that none reaches", "ledger/sampling.py",
          "return valid_if(least_half_width(plan, common) <= plan.precision, first)", "return first"),
)


def copy_with(fault: Fault | None, folder: Path) -> None:
    """Copy the package into a folder, with the fault in it."""
    shutil.copytree(PACKAGE, folder / "costmodel", ignore=shutil.ignore_patterns("__pycache__"))
    if fault:
        path = folder / "costmodel" / fault.file
        source = path.read_text(encoding="utf-8")
        if source.count(fault.old) != 1:
            raise ValueError(f"'{fault.old}' stands {source.count(fault.old)} times in {fault.file}; allowed: once")
        path.write_text(source.replace(fault.old, fault.new), encoding="utf-8")


def findings(fault: Fault | None, folder: Path) -> dict[str, list[str]]:
    """What the unit reading and the laws find in a copy of the package with a fault, by the way it was found."""
    copy_with(fault, folder)
    paths = os.pathsep.join((str(folder), str(ROOT)))
    done = subprocess.run([sys.executable, "-m", "tests.seeded_faults", str(folder)], cwd=folder, check=True, text=True,
                          capture_output=True, env=os.environ | {"PYTHONPATH": paths, "PYTHONDONTWRITEBYTECODE": "1"})
    return json.loads(done.stdout)


def look(folder: Path) -> dict[str, list[str]]:
    """Put the unit reading to the demo and the test cases, with other bases of the target, and the laws to the test cases."""
    import pint

    import costmodel
    from costmodel.readings.quantities import WrongUnit, wrong_units

    from .batch import batch
    from .cases import demo_line, tiny
    from .growing import growing
    from .identities import violated
    from .plan_laws import violated_by_plan
    from .plans import limited, worn
    from .scaling_laws import with_target
    from .terms import terms

    if not Path(costmodel.__file__).is_relative_to(folder):
        raise RuntimeError(f"costmodel came from {costmodel.__file__}; allowed: below {folder}")
    units, laws = [], []
    for case in (demo_line(), batch(), tiny(), with_target(tiny(), "m2", 9_000.0), with_target(tiny(), "module", 500.0), terms(),
                 growing()):
        try:
            units += wrong_units(case)
        except (pint.DimensionalityError, WrongUnit, ArithmeticError) as problem:
            units.append(str(problem))
    for case in (tiny(), batch(), terms(), growing()):
        laws += violated(case)
    for case in (worn(), limited()):
        laws += violated_by_plan(case)
    return {"units": units, "laws": laws}


if __name__ == "__main__":
    print(json.dumps(look(Path(sys.argv[1]))))
