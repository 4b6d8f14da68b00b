"""The plant as bought: tools sized at the values of a case, then left as they are while inputs change."""

from __future__ import annotations

from ..case.changes import with_values
from ..case.records import Case
from ..line.records import Growth, Line
from ..model import Costs, Results, evaluate_costs
from ..operations import Value


def frozen(case: Case) -> Case:
    """The case with the tools, carriers and all that grows with them as it has them now; the output follows from the tools.

    >>> from costmodel.case.load import load_case
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> plant.target.mode, plant.tools["deposition"].installed
    ('frozen', 3.0)
    """
    line = evaluate_costs(case).line
    installed = {f"tools.{name}.installed": use.tools for name, use in line.tools.items()}
    installed |= {f"carriers.{name}.installed": use.tools for name, use in line.carriers.items()}
    return with_values(case, {**installed, **_grown(case, line), "target.mode": "frozen"})


def _grown(case: Case, line: Line) -> dict[str, Value]:
    """Units and sizes in the plant of what grows with it, by the address that states them for a frozen plant."""
    units = {f"growth_steps.{n}.installed": row.grows for n, row in case.growth_steps.items()}
    sizes = {f"growth_exponents.{n}.installed": row.grows for n, row in case.growth_exponents.items()}
    return {address: _at(line, row).units for address, row in units.items()} | {
        address: _at(line, row).size for address, row in sizes.items()
    }


def _at(line: Line, row: str) -> Growth:
    table, name = row.split(".")
    return line.growth[table][name]


def sized(case: Case, results: Costs | Results) -> Case:
    """The case sized for the output that it has now; a case that is sized already is that.

    >>> from costmodel.case.load import load_case
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> sized(plant, evaluate_costs(plant)).target.mode
    'sized'
    """
    if case.target.mode == "sized":
        return case
    return with_values(case, {"target.mode": "sized", "target.output": results.line.output.by_unit()[case.target.basis]})
