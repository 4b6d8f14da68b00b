"""The plant at full use: tools as bought that make all they can, for what a minute, a tool or a point of yield is worth."""

from __future__ import annotations

from ...case.changes import with_values
from ...case.whole_case import Case
from ...model.bought import as_bought
from ...model.evaluate import Costs, Results


def frozen(case: Case) -> Case:
    """The case with the tools, carriers and all that grows with them as it has them now; the output follows from the tools.

    >>> from costmodel.case.load import load_case
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> plant.target.mode, plant.tools["deposition"].installed
    ('frozen', 3.0)
    """
    return with_values(as_bought(case), {"target.mode": "frozen"})


def sized(case: Case, results: Costs | Results) -> Case:
    """The case sized for the output that it has now; a case that is sized already is that.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate_costs
    >>> plant = frozen(load_case("inputs_demo/facade"))
    >>> sized(plant, evaluate_costs(plant)).target.mode
    'sized'
    """
    if case.target.mode == "sized":
        return case
    return with_values(case, {"target.mode": "sized", "target.output": results.line.output.by_unit()[case.target.basis]})
