"""People: operators at tools, heads of each crew, heads of the plant."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.cost_records import Role
from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, sum_of, whole_up
from ..line.growth import grown
from ..line.line_figures import Line
from .entries import entry, step_shares
from .ledger_figures import PLANT, LedgerLine
from .prices import in_reporting_currency


def people_wanted(case: Case, line: Line, role: str) -> dict[str, Value]:
    """Parts of people that a role is wanted for, by tool, and under `plant` for those at no tool.

    Those at no tool who grow with the plant in steps are whole people, for each crew where they are stated so.
    """
    wanted = {
        name: tool.operators * line.tools[name].tools * case.site.crews for name, tool in case.tools.items() if tool.role == role
    }
    row = case.crew[role]
    heads = grown(line, "crew", role, row.heads)
    if any(step.grows == f"crew.{role}" for step in case.growth_steps.values()):
        heads = whole_up(heads)
    wanted[PLANT] = heads * case.site.crews if row.per == "crew" else heads
    return wanted


def people_employed(case: Case, wanted: dict[str, Value]) -> dict[str, Value]:
    """People on the payroll of a role by place: parts of people at tools are pooled and rounded up for each crew.

    The whole people are then shared by the tools in proportion to the parts wanted; heads at no tool are as stated.
    """
    at_tools = {name: part for name, part in wanted.items() if name != PLANT}
    together = sum_of(list(at_tools.values()))
    employed = whole_up(together / case.site.crews) * case.site.crews if at_tools else 0.0
    return {name: employed * safe_divide(part, together) for name, part in at_tools.items()} | {PLANT: wanted[PLANT]}


def yearly_pay(case: Case, role: Role) -> Value:
    """What one person of a role costs in the year: wage x (1 + burden)."""
    return in_reporting_currency(role.wage, role.currency, case.money) * case.constants.year * (1 + role.burden)


def labour_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Labour by role, shared by the parts of people wanted, then by the steps of each tool."""
    for role, row in case.crew.items():
        pay = yearly_pay(case, row)
        for place, people in people_employed(case, people_wanted(case, line, role)).items():
            shares = {PLANT: 1.0} if place == PLANT else step_shares(case, line, place)
            for step, share in shares.items():
                yield (
                    f"crew.{role}.{step}",
                    entry(
                        line,
                        step=step,
                        category="labour",
                        item=role,
                        group="labour",
                        unit="person",
                        driver=f"heads for each {row.per}" if place == PLANT else f"tool {place}",
                        quantity=people * share,
                        price=pay,
                    ),
                )
