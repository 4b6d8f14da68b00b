"""What steps and their phases use up, films apart."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.line_records import Material
from ...case.whole_case import Case
from ...core.operations import Value
from ..line.line_figures import Line
from .buying import Use


def driver_amount(line: Line, material: Material) -> Value:
    """What a material is counted by.

    Plates entering the step, plates, area or loads processed, reworked plates counted again, time that tools work, or good
    modules.
    """
    step = line.steps[material.step]
    amounts = {
        "plate_entering": step.starts,
        "plate": step.passes,
        "m2": step.passes * line.output.plate_area,
        "load": step.loads,
        "tool_hour": step.busy_time,
        "module": line.output.good_modules,
    }
    return amounts[material.per]


def material_uses(case: Case, line: Line) -> Iterator[tuple[str, Use]]:
    """Materials by row of materials.csv: amount x (1 + loss) x driver."""
    for name, row in case.materials.items():
        amount = row.amount * (1 + row.loss) * driver_amount(line, row)
        yield f"materials.{name}", Use(row.step, row.item, row.per, amount, case.prices[row.item].unit)


def phase_uses(case: Case, line: Line) -> Iterator[tuple[str, Use]]:
    """What phases use up each time they are done: cleaning gas, the gases of seasoning runs."""
    for name, row in case.phase_materials.items():
        step = case.phases[row.phase].step
        amount = row.amount * (1 + row.loss) * line.phases[row.phase].occurrences
        yield f"phase_materials.{name}", Use(step, row.item, f"phase {row.phase}", amount, case.prices[row.item].unit)
