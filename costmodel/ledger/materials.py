"""What steps use up, films apart."""
from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case, Material
from ..line.records import Line
from ..operations import Value
from .entries import entry, landed_price
from .records import LedgerLine


def driver_amount(case: Case, line: Line, material: Material) -> Value:
    """What a material is counted by.

    Plates entering the step (`start`), plates, area or loads processed, reworked plates counted again, time that tools
    work, or good modules.
    """
    step = line.steps[material.step]
    if material.per == "start":
        return step.starts
    if material.per == "plate":
        return step.passes
    if material.per == "m2":
        return step.passes * line.output.plate_area
    if material.per == "load":
        return step.loads
    if material.per == "tool_hour":
        return step.busy_time
    return line.output.good_modules


def material_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Materials by row of materials.csv: amount x (1 + loss) x driver."""
    for name, row in case.materials.items():
        price = case.prices[row.item]
        amount = row.amount * (1 + row.loss) * driver_amount(case, line, row)
        yield f"materials.{name}", entry(
            case, line, step=row.step, category="materials", item=row.item, group=price.group, unit=price.unit,
            driver=row.per, quantity=amount, price=landed_price(price, case.money))
