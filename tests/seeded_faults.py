"""Thirty slips of the kind that people make, each one change of the model's source, and the run that looks for one.

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
          "(1 - tool.planned_downtime - tool.unplanned_downtime - tool.engineering_time)",
          "(1 - tool.planned_downtime) * (1 - tool.unplanned_downtime) * (1 - tool.engineering_time)"),
    Fault("target met with initial instead of stabilised watts", "line/line.py",
          "case.constants, plate_area, powers[1])", "case.constants, plate_area, powers[0])"),
    Fault("target in square metres multiplied by the plate's area", "line/capacity.py",
          "target.output / plate_area", "target.output * plate_area"),
    Fault("tools not rounded up to whole ones", "line/capacity.py",
          "return needed, whole_up(needed)", "return needed, needed"),
    Fault("cost of a module divided by plates", "ledger/views.py",
          "cost_per_module=cost / output.good_modules", "cost_per_module=cost / output.good_plates"),
    Fault("purging left out of the cycle", "line/cycle.py",
          "time=growth_time + layer.purge_time", "time=growth_time"),
    Fault("films grown in every step", "line/cycle.py",
          "for name, layer in layers.items() if layer.step == identity]", "for name, layer in layers.items()]"),
    Fault("rework takes no tool time", "line/line.py",
          "starts[name] * passes_per_start(step) * per_pass", "starts[name] * step.processed_share * per_pass"),
    Fault("plates lost counted from passes, reworked ones twice", "line/line.py",
          "lost=starts - leaving", "lost=passes - leaving"),
    Fault("yield loss with the step's own yield, not that of the rest of the line", "line/line.py",
          "good_end_share=1 / starts_for_one", "good_end_share=good_share(step)"),
    Fault("takt by good instead of started plates", "line/line.py",
          "takt=case.site.scheduled_time / first.starts", "takt=case.site.scheduled_time / good"),
    Fault("load size forgotten in the tool time of a plate", "line/line.py",
          "per_pass = cycles[name] / case.tools[step.tool].load_size", "per_pass = cycles[name]"),
    Fault("every reworked plate taken for good", "line/yields.py",
          "(1 - step.rework_share * step.rework_success)", "(1 - step.rework_share)"),
    Fault("starts handed out in the wrong order", "line/yields.py",
          "return needed[::-1]", "return needed"),
    Fault("exchange rate forgotten", "ledger/entries.py",
          "return price * money[currency.lower()].exchange_rate", "return price"),
    Fault("duty compounded on freight", "ledger/entries.py",
          "* (1 + price.freight + price.duty)", "* (1 + price.freight) * (1 + price.duty)"),
    Fault("steps of a tool charged in equal parts", "ledger/entries.py",
          "line.steps[name].busy_time / line.tools[tool].busy_time for name in served",
          "1 / len(served) for name in served"),
    Fault("density of the film dropped", "ledger/films.py",
          "return thickness * density * area", "return thickness * area"),
    Fault("molar masses swapped", "ledger/films.py",
          "silicon / constants.molar_mass_silicon * constants.molar_mass_silane",
          "silicon / constants.molar_mass_silane * constants.molar_mass_silicon"),
    Fault("films on plates entering instead of plates processed", "ledger/films.py",
          "line.steps[step].passes * line.output.plate_area", "line.steps[step].starts * line.output.plate_area"),
    Fault("gases flow while purging, too", "ledger/films.py",
          "line.layers[gas.layer].growth_time", "line.layers[gas.layer].time"),
    Fault("credit paid for all that is bought", "ledger/films.py",
          "coatings[name].recovered, -landed", "coatings[name].bought, -landed"),
    Fault("handling loss forgotten", "ledger/materials.py",
          "row.amount * (1 + row.loss) * driver_amount", "row.amount * driver_amount"),
    Fault("maintenance on the bare price", "ledger/equipment.py",
          "price * tool.maintenance",
          "in_reporting_currency(tool.price, tool.currency, case.money) * tool.maintenance"),
    Fault("year forgotten in yearly pay", "ledger/labour.py",
          "case.money) * case.constants.year * (1 + role.burden)", "case.money) * (1 + role.burden)"),
    Fault("depreciation for the tools needed, not those bought", "ledger/equipment.py",
          "quantity=line.tools[name].tools * share", "quantity=line.tools[name].tools_needed * share"),
    Fault("people rounded up at each tool instead of pooled", "ledger/labour.py",
          "sum_of([part / case.site.crews for", "sum_of([whole_up(part / case.site.crews) for"),
    Fault("idle draw in available instead of scheduled time", "ledger/utilities.py",
          "use.tools * scheduled_time - use.busy_time", "use.tools * use.available_time - use.busy_time"),
    Fault("cost of a plate so far without the step itself", "ledger/views.py",
          "lost=line.steps[step].lost * so_far", "lost=line.steps[step].lost * (so_far - added)"),
    Fault("costs of no step left out of the total", "ledger/ledger.py",
          "total = sum_of([x.cost for x in lines.values()])",
          "total = sum_of([x.cost for x in lines.values() if x.step != PLANT])"),
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
    """Put the unit reading, for each basis of the target, and the laws to the demo and the tiny case."""
    import pint

    import costmodel
    from costmodel.readings.quantities import WrongUnit, wrong_units

    from .cases import demo, tiny
    from .identities import violated
    from .scaling_laws import with_target

    if not Path(costmodel.__file__).is_relative_to(folder):
        raise RuntimeError(f"costmodel came from {costmodel.__file__}; allowed: below {folder}")
    units, laws = [], []
    for case in (demo(), tiny()):
        for basis in ("Wp_stabilised", "m2", "module"):
            try:
                units += wrong_units(with_target(case, basis, 10_000.0))
            except (pint.DimensionalityError, WrongUnit, ArithmeticError) as problem:
                units.append(str(problem))
        laws += violated(case)
    return {"units": units, "laws": laws}


if __name__ == "__main__":
    print(json.dumps(look(Path(sys.argv[1]))))
