"""The plant as bought: tools sized at the values of a case, then left as they are while inputs change."""

from __future__ import annotations

from ..case.changes import with_values
from ..case.records import Case
from ..model import Costs, Results, evaluate_costs


def frozen(case: Case) -> Case:
    """The case with the tools and carriers that it has now, and the output left to follow from them.

    >>> from costmodel.case.load import load_case
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> plant.target.mode, plant.tools["deposition"].installed
    ('frozen', 3.0)
    """
    line = evaluate_costs(case).line
    installed = {f"tools.{name}.installed": use.tools for name, use in line.tools.items()}
    installed |= {f"carriers.{name}.installed": use.tools for name, use in line.carriers.items()}
    return with_values(case, {**installed, "target.mode": "frozen"})


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
