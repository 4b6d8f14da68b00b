"""The basis on which costs are compared: that of the target, as a plant that sells square metres is not run by the watt."""

from __future__ import annotations

from ...case.whole_case import Case
from ...core.operations import Value
from ...model.ledger.ledger_figures import Cost

COSTS = {"Wp_stabilised": "cost_per_stabilised_watt", "m2": "cost_per_m2", "module": "cost_per_module"}
NAMES = {"Wp_stabilised": "stabilised watt", "m2": "m2", "module": "module"}
SHORT = {"Wp_stabilised": "stabilised W", "m2": "m2", "module": "module"}


def cost_on_basis(case: Case, total: Cost) -> Value:
    """The cost of what the target of a case counts: a stabilised watt, a square metre or a module.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate_costs
    >>> case = load_case("inputs_demo/facade")
    >>> total = evaluate_costs(case).ledger.total
    >>> cost_on_basis(case, total) == total.cost_per_stabilised_watt
    True
    """
    return getattr(total, COSTS[case.target.basis])
