"""People: operators at tools, heads of each crew, heads of the plant."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.cost_records import Role
from ...case.whole_case import Case
from ...core.operations import Value, safe_divide, sum_of, whole_up
from ..line.line_figures import Line
from ..line.plant_growth import grown
from .entries import Account, entry, step_shares
from .landed_prices import in_reporting_currency
from .ledger_figures import PLANT, LedgerLine


def people_wanted(case: Case, line: Line, role: str) -> dict[str, Value]:
    """Parts of people that a role is wanted for, by tool, and under `plant` for those at no tool.

        row = case.crew[role]    [any]
        at tools = {n: tool.operators * line.tools[n].tools * case.site.crews for n, tool in case.tools.items() if tool.role ==
            role}    [person]
        in steps = f"crew.{role}" in [step.grows for step in case.growth_steps.values()]    [any]
        stated = grown(line, "crew", role, row.heads)    [any]
        heads = whole_up(stated) if in_steps else stated    [any]
        wanted = at_tools | {PLANT: heads * case.site.crews if row.per == "crew" else heads}    [person]

    Source: common practice.

    Those at no tool who grow with the plant in steps are whole people, for each crew where they are stated so.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> people_wanted(demo_case(), evaluate(demo_case()).line, "management") == {"plant": demo_case().crew["management"].heads}
    True
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

        at tools = {name: part for name, part in wanted.items() if name != PLANT}    [person]
        together = sum_of(list(at_tools.values()))    [person]
        employed = whole_up(together / case.site.crews) * case.site.crews if at_tools else 0.0    [person]
        people = {name: employed * safe_divide(part, together) for name, part in at_tools.items()} | {PLANT: wanted[PLANT]}
            [person]

    Takes: wanted [person].
    Source: common practice.

    The whole people are then shared by the tools in proportion to the parts wanted; heads at no tool are as stated.

    >>> from types import SimpleNamespace as Some
    >>> people_employed(Some(site=Some(crews=4.0)), {"saw": 2.0, "press": 4.0, "plant": 1.0})
    {'saw': 2.6666666666666665, 'press': 5.333333333333333, 'plant': 1.0}
    """
    at_tools = {name: part for name, part in wanted.items() if name != PLANT}
    together = sum_of(list(at_tools.values()))
    employed = whole_up(together / case.site.crews) * case.site.crews if at_tools else 0.0
    return {name: employed * safe_divide(part, together) for name, part in at_tools.items()} | {PLANT: wanted[PLANT]}


def yearly_pay(case: Case, role: Role) -> Value:
    """Cost of one person of a role in the year, social charges and cover included.

        pay = in_reporting_currency(role.wage, role.currency, case.money) * case.constants.year * (1 + role.burden)
            [money/person]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> yearly_pay(case, Role("inspector", 1.0, "plant", 1000 / case.constants.year, "EUR", 0.25))
    1250.0
    """
    return in_reporting_currency(role.wage, role.currency, case.money) * case.constants.year * (1 + role.burden)


def labour_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Lines of labour by role, shared by the parts of people wanted, then by the steps of each tool.

        people = [(row, place, heads) for role, row in case.crew.items() for place, heads in people_employed(case,
            people_wanted(case, line, role)).items()]    [any]
        quantity = [heads * share for row, place, heads in people for share in ([1.0] if place == PLANT else step_shares(case,
            line, place).values())]
        price = [yearly_pay(case, row) for row, place, heads in people for share in ([1.0] if place == PLANT else
            step_shares(case, line, place).values())]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> lines = dict(labour_entries(demo_case(), evaluate(demo_case()).line))
    >>> lines["crew.management.plant"].quantity == demo_case().crew["management"].heads
    True
    """
    for role, row in case.crew.items():
        pay = yearly_pay(case, row)
        for place, people in people_employed(case, people_wanted(case, line, role)).items():
            shares = {PLANT: 1.0} if place == PLANT else step_shares(case, line, place)
            for step, share in shares.items():
                yield (
                    f"crew.{role}.{step}",
                    entry(
                        line,
                        Account(
                            step=step,
                            category="labour",
                            item=role,
                            group="labour",
                            unit="person",
                            driver=f"heads for each {row.per}" if place == PLANT else f"tool {place}",
                        ),
                        quantity=people * share,
                        price=pay,
                    ),
                )
