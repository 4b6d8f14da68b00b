"""The whole model: a case in, figures out. Numbers, arrays, quantities or cells, whatever the case holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..case.whole_case import Case
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

STAGES = ("line", "ledger", "market", "plan", "deal")


@dataclass(frozen=True, slots=True)
class Results:
    """All figures of a case; a case without plan.yaml has no plan, one without deal.yaml no deal."""

    line: Line
    ledger: Ledger
    market: Markets
    plan: Plan | None
    deal: Deal | None


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
    line = compute_line(case)
    ledger = compute_ledger(case, line)
    return Costs(line, ledger, compute_market(case, line, ledger))


def evaluate(case: Case) -> Results:
    """Compute all figures of a case.

    >>> from costmodel.case.load import load_case
    >>> results = evaluate(load_case("inputs_demo/facade"))
    >>> results.ledger.total.cost > 0
    True
    """
    costs = evaluate_costs(case)
    line, ledger = costs.line, costs.ledger
    plan = compute_plan(case, line, ledger)
    return Results(
        line=line,
        ledger=ledger,
        market=costs.market,
        plan=plan,
        deal=compute_deal(case, line, ledger, plan),
    )


def figures(results: Results, money: str) -> Iterator[tuple[str, Value, str, str]]:
    """Every figure: address, value, unit, meaning. The address is the path through the records."""
    for stage in STAGES:
        found = getattr(results, stage)
        if found is not None:
            yield from walk(found, stage, Figure, money)


def reasons(results: Results) -> dict[str, dict[float, str]]:
    """Why a figure may have no value, by the number that its status then is; by the address of the figure.

    >>> from costmodel.case.load import load_case
    >>> reasons(evaluate(load_case("inputs_demo/facade")))["plan.project.payback"]
    {0: 'not paid back within the plan'}
    """
    return {
        address.removesuffix(STATUS): dict(declaration.reasons)
        for stage in STAGES
        if getattr(results, stage) is not None
        for address, _, _, declaration in walk_declared(getattr(results, stage), stage, Figure)
        if declaration.reasons
    }
