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
    """Cost of ownership of a kind of tool in the year with all that its steps use, and per good plate.

        steps = [name for name, step in case.steps.items() if step.tool == tool]    [any]
        own = [x for x in lines.values() if x.step in steps and x.loss != ALL_LOST]    [any]
        fixed = sum_of([x.cost for x in own if x.category in FIXED])
        recurring = sum_of([x.cost for x in own if x.category not in FIXED])
        in own steps = {name: sum_of([route[earlier].cost_added for earlier in steps[: k + 1]]) for k, name in enumerate(steps)}
            [money/plate]
        before = sum_of([line.steps[name].lost * (route[name].cost_so_far - in_own_steps[name]) for name in steps])    [money]
        yield_loss = before - sum_of([route[name].scrap_revenue for name in steps])
        cost = fixed + recurring + yield_loss
        passes = sum_of([line.steps[name].passes for name in steps])    [plate]
        throughput = passes / line.states[tool].productive
        good_plates = sum_of([line.steps[name].passes * good_per_pass(case.steps[name]) for name in steps])
        composite_yield = good_plates / passes
        utilisation = line.states[tool].productive / (line.tools[tool].tools * case.constants.year)
        cost_per_good_plate = cost / good_plates
        cost_per_plate_leaving = cost / sum_of([line.steps[name].good for name in steps])

    Source: SEMI E35 (structure from memory).

    Fixed: depreciation, carriers' too, and floor. Recurring: all else that its steps cost. Yield loss: what the plates lost in its
    steps had cost before they came; what the tool itself spent on them is in the other two. Over a year, good plates are
    year x throughput x yield x utilisation x tools.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> found = evaluate(demo_case()).ledger.ownership["laminator"]
    >>> found.cost == found.fixed + found.recurring + found.yield_loss
    True
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
