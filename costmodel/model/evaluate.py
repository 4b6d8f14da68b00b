"""The whole model: a case in, figures out. Numbers, arrays, quantities or cells, whatever the case holds."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from ..case.whole_case import Case, kept, there
from ..core.faults import DividesByNought
from ..core.fields import STATUS, Figure, walk, walk_declared
from ..core.operations import Value
from .deal.deal import compute_deal
from .deal.deal_figures import Deal
from .ledger.ledger import compute_ledger
from .ledger.ledger_figures import Ledger
from .line.line import compute_line
from .line.line_figures import Line
from .market.market import compute_market
from .market.market_figures import Markets
from .plan.plan import compute_plan
from .plan.plan_figures import Plan

Made = TypeVar("Made")
STAGES = ("line", "ledger", "market", "plan", "deal")


@dataclass(frozen=True, slots=True)
class Results:
    """All figures of a case; a case without plan.yaml has no plan, one without deal.yaml no deal."""

    line: Line
    ledger: Ledger
    market: Markets
    plan_figures: Plan | None
    deal_figures: Deal | None

    @property
    def has_plan(self) -> bool:
        """Whether there are figures of a plan."""
        return self.plan_figures is not None

    @property
    def has_deal(self) -> bool:
        """Whether there are figures of a deal."""
        return self.deal_figures is not None

    @property
    def plan(self) -> Plan:
        """The figures of the plan. Raises InputFaults where the case has none."""
        return there(self.plan_figures, "plan.yaml")

    @property
    def deal(self) -> Deal:
        """The figures of the deal. Raises InputFaults where the case has none."""
        return there(self.deal_figures, "deal.yaml")

    def stages(self) -> dict[str, Line | Ledger | Markets | Plan | Deal]:
        """The figures by stage, in order; those that the case has."""
        found = (self.line, self.ledger, self.market, self.plan_figures, self.deal_figures)
        return {stage: figures for stage, figures in zip(STAGES, found) if figures is not None}


def _divided(case: Case, make: Callable[[Case], Made]) -> Made:
    """What is made of a case; where that divides by nought, the error knows the case."""
    try:
        return make(case)
    except DividesByNought:
        raise
    except ZeroDivisionError as problem:
        raise DividesByNought(case) from problem


@dataclass(frozen=True, slots=True)
class Costs:
    """The figures of a case without its plan and deal, which take most of the time."""

    line: Line
    ledger: Ledger
    market: Markets


def evaluate_costs(case: Case) -> Costs:
    """Compute the figures up to the market, without plan and deal.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> evaluate_costs(case).ledger.total.cost == evaluate(case).ledger.total.cost
    True
    """
    return kept(case, "costs", lambda: _divided(case, _costs))


def _costs(case: Case) -> Costs:
    line = compute_line(case)
    ledger = compute_ledger(case, line)
    return Costs(line, ledger, compute_market(case, line, ledger))


def evaluate(case: Case) -> Results:
    """All figures of a case, computed once for each case.

    >>> from costmodel.case.load import load_case
    >>> results = evaluate(load_case("inputs_demo/facade"))
    >>> results.ledger.total.cost > 0
    True
    """
    return results_up_to(case, STAGES[-1])


def results_up_to(case: Case, stage: str) -> Results:
    """The figures of a case up to one of `STAGES`; plan and deal, which take most of the time, only where they are asked for.

    >>> from costmodel.case.load import load_case
    >>> list(results_up_to(load_case("inputs_demo/facade"), "line").stages())
    ['line', 'ledger', 'market']
    """
    if stage not in _LATE:
        costs = evaluate_costs(case)
        return Results(costs.line, costs.ledger, costs.market, None, None)
    return kept(case, f"results up to the {stage}", lambda: _divided(case, _LATE[stage]))


def _with_plan(case: Case) -> Results:
    before = results_up_to(case, "market")
    return dataclasses.replace(before, plan_figures=compute_plan(case, before.line, before.ledger))


def _with_deal(case: Case) -> Results:
    before = results_up_to(case, "plan")
    return dataclasses.replace(before, deal_figures=compute_deal(case, before.line, before.ledger, before.plan_figures))


_LATE = {"plan": _with_plan, "deal": _with_deal}


def last_stage(addresses: Iterable[str]) -> str:
    """The last of `STAGES` that figures at some addresses stand in.

    >>> last_stage(["plan.project.npv", "line.output.plate_area"])
    'plan'
    """
    return STAGES[max((STAGES.index(address.partition(".")[0]) for address in addresses), default=0)]


def figures(results: Results, money: str) -> Iterator[tuple[str, Value, str, str]]:
    """Every figure: address, value, unit, meaning. The address is the path through the records."""
    for stage, found in results.stages().items():
        yield from walk(found, stage, Figure, money)


@dataclass(frozen=True, slots=True)
class Known:
    """A figure of a case: its value in base units, its unit, what it means."""

    value: Value
    unit: str
    meaning: str


def known_figures(case: Case) -> dict[str, Known]:
    """Every figure of a case by its address, looked through once for each case.

    >>> from costmodel.case.load import load_case
    >>> known_figures(load_case("inputs_demo/facade"))["line.output.plate_area"].unit
    'm2/plate'
    """
    return kept(case, "figures", lambda: {a: Known(*rest) for a, *rest in figures(evaluate(case), case.currency)})


def reasons(results: Results) -> dict[str, dict[float, str]]:
    """Why a figure may have no value, by the number that its status then is; by the address of the figure.

    >>> from costmodel.case.load import load_case
    >>> reasons(evaluate(load_case("inputs_demo/facade")))["plan.project.payback"]
    {0: 'not paid back within the plan'}
    """
    return {
        address.removesuffix(STATUS): dict(declaration.reasons)
        for stage, found in results.stages().items()
        for address, _, _, declaration in walk_declared(found, stage, Figure)
        if declaration.reasons
    }
