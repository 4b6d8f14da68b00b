"""People: operators at tools, heads of each crew, heads of the plant."""
from __future__ import annotations

from collections.abc import Iterator

from ..case.records import Case, Role
from ..line.records import Line
from ..operations import Value, safe_divide, sum_of, whole_up
from .entries import entry, in_reporting_currency, step_shares
from .records import PLANT, LedgerLine


def people_wanted(case: Case, line: Line, role: str) -> dict[str, Value]:
    """Parts of people that a role is wanted for, by tool, and under `plant` for those at no tool."""
    wanted = {name: tool.operators * line.tools[name].tools * case.site.crews
              for name, tool in case.tools.items() if tool.role == role}
    row = case.crew[role]
    wanted[PLANT] = row.heads * case.site.crews if row.per == "crew" else row.heads
    return wanted


def people_employed(case: Case, line: Line, role: str, wanted: dict[str, Value]) -> Value:
    """People on the payroll of a role: parts of people at tools are pooled and rounded up for each crew."""
    at_tools = sum_of([part / case.site.crews for name, part in wanted.items() if name != PLANT])
    return whole_up(at_tools) * case.site.crews + wanted[PLANT] if len(wanted) > 1 else wanted[PLANT]


def yearly_pay(case: Case, role: Role) -> Value:
    """What one person of a role costs in the year: wage x (1 + burden)."""
    return in_reporting_currency(role.wage, role.currency, case.money) * case.constants.year * (1 + role.burden)


def labour_entries(case: Case, line: Line) -> Iterator[tuple[str, LedgerLine]]:
    """Labour by role, shared by the parts of people wanted, then by the steps of each tool."""
    for role, row in case.crew.items():
        wanted = people_wanted(case, line, role)
        employed, in_all, pay = people_employed(case, line, role, wanted), sum_of(list(wanted.values())), yearly_pay(case, row)
        for place, part in wanted.items():
            people = employed * safe_divide(part, in_all)
            shares = {PLANT: 1.0} if place == PLANT else step_shares(case, line, place)
            for step, share in shares.items():
                yield f"crew.{role}.{step}", entry(
                    case, line, step=step, category="labour", item=role, group="labour", unit="person",
                    driver=row.per if place == PLANT else f"tool {place}", quantity=people * share, price=pay)
