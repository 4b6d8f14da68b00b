"""Cost against the size of the plant: where whole tools fill, where units that grow are added, where savings stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ...case.changes import with_values
from ...case.values import BadValue, parse_number
from ...case.whole_case import Case
from ...core.faults import Fault, InputFaults
from ...core.units import UnitError, same_kind, to_base
from ...model.evaluate import evaluate_costs
from .choices import cost_on_basis
from .full_use import sized

BEYOND = 100.0  # how far outside of the range the next size with something full is looked for
JUST_MORE = 1e-6  # over a size at which something is full: enough for one more of it


@dataclass(frozen=True, slots=True)
class Size:
    """A plant sized for an output: how many times that of the case, and the output in its own base unit; cost; tools in all.

    `cost` is on the basis of the target, `units` are those of the rows of growth_steps.csv. `full` names what has no room left at
    this size, by `tools.ID`, `carriers.ID` or the row that grows; a little above it the cost is `cost_after`, and `added` gives the
    units of rows that grow, before and after. `cheapest` marks a size at which the next smaller and the next larger one with
    something full cost more.
    """

    times: float
    output: float
    stabilised_watts: float
    cost: float
    cost_per_stabilised_watt: float
    cost_per_module: float
    tools: float
    units: Mapping[str, float]
    full: tuple[str, ...] = ()
    cost_after: float = 0.0
    added: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    cheapest: bool = False


def fill_sizes(case: Case, low: float, high: float) -> dict[float, tuple[str, ...]]:
    """The sizes at which something is full, as multiples of the output, each with what: n tools make n times what one makes.

    What one tool makes does not depend on the size of the plant, so no search is needed. A row of growth_steps.csv that follows
    the output is full at whole multiples of its size per unit; one that follows tools is full at one of the sizes of these tools.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> line = evaluate_costs(case).line
    >>> found = fill_sizes(case, 0.9, 1.2)
    >>> modules = 3 * line.tools["deposition"].capacity_of_one / line.output.good_modules
    >>> [what for times, what in found.items() if abs(times - modules) < 1e-9]
    [('tools.deposition',)]
    """
    line = evaluate_costs(case).line
    fills = {f"tools.{name}": use.capacity_of_one / line.output.good_modules for name, use in line.tools.items()}
    fills |= {f"carriers.{name}": use.capacity_of_one / line.output.good_modules for name, use in line.carriers.items()}
    for row in case.growth_steps.values():
        if row.driver in ("stabilised_watts", "good_area", "good_modules"):
            fills[row.grows] = row.size_per_unit / getattr(line.output, row.driver)
    found: dict[float, tuple[str, ...]] = {}
    for what, of_one in fills.items():
        for count in range(int(np.ceil(low / of_one - 1e-9)), int(np.floor(high / of_one + 1e-9)) + 1) if of_one > 0 else ():
            times = round(float(count * of_one), 12)
            found[times] = (*found.get(times, ()), what)
    return dict(sorted(found.items()))


def parse_size(case: Case, written: str, origin: str) -> float:
    """A size as a multiple of the output of the case, from a text: a multiple, or an output a year with its unit.

    A watt without a further word is a stabilised one, as people say it. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> parse_size(case, "1.5", "--low"), parse_size(case, "18 MW", "--low"), parse_size(case, "18 MWp_stabilised/year", "--low")
    (1.5, 2.0, 2.0)
    """
    number, _, unit = written.strip().partition(" ")
    output = evaluate_costs(sized(case)).line.output
    own = {"Wp_stabilised": output.stabilised_watts, "m2": output.good_area, "module": output.good_modules}
    allowed = "a multiple of the output, as 1.5, or an output a year with a unit: MW, Wp_stabilised, m2 or module, as '9 MW'"
    try:
        count = parse_number(number)
        unit = unit.strip().removesuffix("/year")
        unit = f"{unit}p_stabilised" if unit in ("W", "kW", "MW") else unit
        basis = next((each for each in own if unit and same_kind(unit, each)), None)
        if count <= 0 or (unit and basis is None):
            raise BadValue(f"'{written}'", allowed)
    except BadValue as problem:
        raise InputFaults([Fault(origin, None, None, problem.found, problem.allowed)]) from None
    except UnitError as problem:
        raise InputFaults([Fault(origin, None, None, f"'{written}' ({problem})", allowed)]) from None
    return count if basis is None else round(float(count * to_base(unit) / own[basis]), 12)


def sizes(case: Case, low: float = 0.2, high: float = 3.0, points: int = 141, marks: Sequence[float] = ()) -> list[Size]:
    """Plants from `low` to `high` times the output of the case, itself, its double and `marks` among them; each has its tools.

    The sizes at which something is full stand among the others, so that no spacing of points moves them. Of a frozen plant, the
    output that it has now is scaled.

    >>> from costmodel.case.load import load_case
    >>> curve = sizes(load_case("inputs_demo/facade"))
    >>> curve[0].cost_per_stabilised_watt > curve[-1].cost_per_stabilised_watt
    True
    """
    twin = sized(case)
    full = fill_sizes(twin, low, high)
    marks = [*marks, *(mark for mark in (1.0, 2.0) if low <= mark <= high)]
    curve = sorted({*(float(x) for x in np.round(np.geomspace(low, high, points), 9)), *marks, *full})
    before, after = list(fill_sizes(twin, low / BEYOND, low))[-2:], list(fill_sizes(twin, high, high * BEYOND))[:2]
    beyond = [times for times in (*before, *after) if times not in full]
    shown, above, outside = (_at(twin, times) for times in (curve, [times * (1 + JUST_MORE) for times in full], beyond))
    cost = {size.times: size.cost for size in (*shown, *outside)}
    order = sorted({*full, *beyond})
    cheapest = {b for a, b, c in zip(order, order[1:], order[2:]) if cost[b] < cost[a] and cost[b] < cost[c]}
    next_to = dict(zip(full, above))
    return [
        replace(
            size,
            full=full[size.times],
            cost_after=next_to[size.times].cost,
            added={row: (size.units[row], units) for row, units in next_to[size.times].units.items() if size.units[row] < units},
            cheapest=size.times in cheapest,
        )
        if size.times in full
        else size
        for size in shown
    ]


def _at(twin: Case, times: Sequence[float]) -> list[Size]:
    """Plants of several sizes, found in one array evaluation."""
    if not len(times):
        return []
    outputs, ones = twin.target.output * np.array(times), np.ones(len(times))
    results = evaluate_costs(with_values(twin, {"target.output": outputs}))
    total, growth = results.ledger.total, results.line.growth
    cost, tools = cost_on_basis(twin, total) * ones, sum(use.tools for use in results.line.tools.values()) * ones
    rows = [row.grows for row in twin.growth_steps.values()]
    units = {row: growth[row.partition(".")[0]][row.partition(".")[2]].units * ones for row in rows}
    return [
        Size(float(times[k]), float(outputs[k]), float(results.line.output.stabilised_watts[k]), float(cost[k]),
             float(total.cost_per_stabilised_watt[k]), float(total.cost_per_module[k]), float(tools[k]),
             {row: float(many[k]) for row, many in units.items()})
        for k in range(len(times))
    ]  # fmt: skip
