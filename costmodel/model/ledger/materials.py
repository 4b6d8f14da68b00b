"""What steps and their phases use up, films apart."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.line_records import Material
from ...case.whole_case import Case
from ...core.operations import Value
from ..line.line_figures import Line
from .buying import Use


def driver_amount(line: Line, material: Material) -> Value:
    """Amount that a material is counted by, in the year.

        step = line.steps[material.step]    [any]
        by plates = {"plate_entering": step.starts, "plate": step.passes, "m2": step.passes * line.output.plate_area}    [any]
        by work = {"load": step.loads, "tool_hour": step.busy_time, "module": line.output.good_modules}    [any]
        amount = (by_plates | by_work)[material.per]    [any]

    Source: common practice.

    Plates entering the step, plates, area or loads processed, reworked plates counted again, time that tools work, or good
    modules.

    >>> from types import SimpleNamespace as Some
    >>> step = Some(starts=10.0, passes=8.0, loads=2.0, busy_time=50.0)
    >>> line = Some(steps={"cut": step}, output=Some(plate_area=0.5, good_modules=7.0))
    >>> driver_amount(line, Material("cut", "foil", 1.0, "m2", "m2", 0.0))
    4.0
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
    """Materials by row of materials.csv: amount with its loss, times what it is counted by.

        quantity = [row.amount * (1 + row.loss) * driver_amount(line, row) for row in case.materials.values()]    [any]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> name, row = next(iter(case.materials.items()))
    >>> dict(material_uses(case, line))[f"materials.{name}"].quantity == row.amount * (1 + row.loss) * driver_amount(line, row)
    True
    """
    for name, row in case.materials.items():
        amount = row.amount * (1 + row.loss) * driver_amount(line, row)
        yield f"materials.{name}", Use(row.step, row.item, row.per, amount, case.prices[row.item].unit)


def phase_uses(case: Case, line: Line) -> Iterator[tuple[str, Use]]:
    """What phases use each time they are done: cleaning gas, the gases of seasoning runs.

        quantity = [row.amount * (1 + row.loss) * line.phases[row.phase].occurrences for row in case.phase_materials.values()]
            [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(phase="clean", item="gas", amount=2.0, loss=0.5)
    >>> case = Some(phase_materials={"a": row}, phases={"clean": Some(step="deposition")}, prices={"gas": Some(unit="kg")})
    >>> [use.quantity for _, use in phase_uses(case, Some(phases={"clean": Some(occurrences=10.0)}))]
    [30.0]
    """
    for name, row in case.phase_materials.items():
        step = case.phases[row.phase].step
        amount = row.amount * (1 + row.loss) * line.phases[row.phase].occurrences
        yield f"phase_materials.{name}", Use(step, row.item, f"phase {row.phase}", amount, case.prices[row.item].unit)
