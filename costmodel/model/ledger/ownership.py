"""Cost of ownership by tool, after SEMI E35: (fixed + recurring + yield loss) over the good plates."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.whole_case import Case
from ...core.operations import sum_of
from ..line.line_figures import Line
from ..line.yields import good_per_pass
from .ledger_figures import ALL_LOST, LedgerLine, Ownership, StepValue

FIXED = ("depreciation", "building")


def ownership(case: Case, line: Line, tool: str, lines: Mapping[str, LedgerLine], route: Mapping[str, StepValue]) -> Ownership:
    """What a kind of tool costs in the year with all that its steps use, and for each good plate.

    Fixed: depreciation, carriers' too, and floor. Recurring: all else that its steps cost. Yield loss: what the plates lost in its
    steps had cost before they came; what the tool itself spent on them is in the other two. Over a year, good plates are
    year x throughput x yield x utilisation x tools (structure of SEMI E35, from memory).
    """
    steps = [name for name, step in case.steps.items() if step.tool == tool]
    own = [x for x in lines.values() if x.step in steps and x.loss != ALL_LOST]
    fixed = sum_of([x.cost for x in own if x.category in FIXED])
    recurring = sum_of([x.cost for x in own if x.category not in FIXED])
    own_so_far = {name: sum_of([route[earlier].cost_added for earlier in steps[: k + 1]]) for k, name in enumerate(steps)}
    before = sum_of([line.steps[name].lost * (route[name].cost_so_far - own_so_far[name]) for name in steps])
    lost = before - sum_of([route[name].scrap_revenue for name in steps])
    passes = sum_of([line.steps[name].passes for name in steps])
    good = sum_of([line.steps[name].passes * good_per_pass(case.steps[name]) for name in steps])
    leaving = sum_of([line.steps[name].good for name in steps])
    productive = line.states[tool].productive
    return Ownership(
        fixed=fixed,
        recurring=recurring,
        yield_loss=lost,
        cost=fixed + recurring + lost,
        throughput=passes / productive,
        composite_yield=good / passes,
        utilisation=productive / (line.tools[tool].tools * case.constants.year),
        good_plates=good,
        cost_per_good_plate=(fixed + recurring + lost) / good,
        cost_per_plate_leaving=(fixed + recurring + lost) / leaving,
    )
