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
          "sum_of([own, *inside, *growing, *purging])", "sum_of([own, *inside, *growing])"),
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
          "standby=available - busy", "standby=scheduled - busy"),
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
          "line.layers[gas.layer].growth_time", "line.layers[gas.layer].time"),
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
    Fault("delivery of our module forgotten", "market/market.py",
          "market.area_cost + market.delivery - market.area_premium", "market.area_cost - market.area_premium"),
    Fault("duty on the reference forgotten", "market/market.py",
          "market.reference_price * (1 + market.reference_duty)", "market.reference_price"),
    Fault("yield corrected for temperature the wrong way round", "market/market.py",
          "market.yield_ratio * warm / reference_warm", "market.yield_ratio * reference_warm / warm"),
    Fault("upkeep not discounted", "market/market.py",
          "constants.year * discounted_years(rate, 0.0, years)", "constants.year * discounted_years(0.0, 0.0, years)"),
    Fault("payments at the beginning of each year", "market/market.py",
          "safe_divide(1 - ratio**years, 1 - ratio)) / (1 + rate)", "safe_divide(1 - ratio**years, 1 - ratio))"),
    Fault("the reference's degradation for our module", "market/market.py",
          "        degradation=market.degradation,", "        degradation=market.reference_degradation,"),
    Fault("our module rated before light soaking in the market", "market/market.py",
          "efficiency=output.stabilised_power / (", "efficiency=output.initial_power / ("),
    Fault("the price asked forgotten in the efficiency it takes", "market/market.py",
          "break_even_efficiency(ours.area_related, left - market.asked_price,", "break_even_efficiency(ours.area_related, left,"),
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
    from .identities import violated
    from .plan_laws import violated_by_plan
    from .plans import limited, worn
    from .scaling_laws import with_target
    from .terms import terms

    if not Path(costmodel.__file__).is_relative_to(folder):
        raise RuntimeError(f"costmodel came from {costmodel.__file__}; allowed: below {folder}")
    units, laws = [], []
    for case in (demo_line(), batch(), tiny(), with_target(tiny(), "m2", 9_000.0), with_target(tiny(), "module", 500.0), terms()):
        try:
            units += wrong_units(case)
        except (pint.DimensionalityError, WrongUnit, ArithmeticError) as problem:
            units.append(str(problem))
    for case in (tiny(), batch(), terms()):
        laws += violated(case)
    for case in (worn(), limited()):
        laws += violated_by_plan(case)
    return {"units": units, "laws": laws}


if __name__ == "__main__":
    print(json.dumps(look(Path(sys.argv[1]))))
