"""Warranty in the plan: what is set aside as modules are sold, the claims that fall due later, and the provision between them.

Modules sold in a quarter count from its end. Claims of a year of age fall due evenly, at the ends of its quarters. A claim costs
what it does at the time, which rises as overheads do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value
from ...core.series import Row, constant
from ..ledger.ledger_figures import Ledger, WarrantyCost
from ..line.line_figures import Line, YearOfAge
from .operation import change_of, cost_rises
from .timing import QUARTERS


@dataclass(frozen=True, slots=True)
class Promised:
    """The warranty by column, as if use never ended: set aside, claims, interest on the provision, the provision at the end."""

    provided: Row
    claims: Row
    unwinding: Row
    provision: Row


def claims_by_age(ageing: Mapping[str, YearOfAge], sold: Row) -> Row:
    """Claims that fall due in each quarter, in the unit of what was sold; `sold` is all sold so far.

        before = [*[0.0 * sold[0] for year in ageing for quarter in range(4)], 0.0 * sold[0], *sold]    [any]
        head = len(before) - len(sold)    [1]
        claims = [sum_of([age.claims * (before[head + column - 1 - 4 * year] - before[head + column - 5 - 4 * year]) for
            year, age in enumerate(ageing.values()) if 4 * year < column]) / 4 for column in range(len(sold))]    [any]

    Takes: sold [any].
    Source: common practice.

    100 are sold at the end of the first column; one in a hundred is claimed in the first year, then two:

    >>> from types import SimpleNamespace as Some
    >>> ages = {"y01": Some(claims=0.01), "y02": Some(claims=0.02)}
    >>> claims_by_age(ages, Row([100.0] * 10))
    [0.0, 0.25, 0.25, 0.25, 0.25, 0.5, 0.5, 0.5, 0.5, 0.0]
    """
    nothing = 0.0 * sold[0]

    def due(column: int) -> Value:
        """What falls due in a column: of each year of age, from what was sold in the four quarters that are then in it."""
        found: Value = nothing
        for year, age in enumerate(ageing.values()):
            newest = column - 1 - QUARTERS * year
            if newest < 0:
                break
            oldest = sold[newest - QUARTERS] if newest >= QUARTERS else nothing
            found = found + age.claims * (sold[newest] - oldest)
        return found / QUARTERS

    return Row(due(column) for column in range(len(sold)))


def unwinding_rate(case: Case, discount_rate: Value) -> Value:
    """By how much the provision grows in a quarter: by its real rate, and by what claims rise.

        rate = ((1 + discount_rate * case.constants.year) * (1 + change_of(case, "overheads") * case.constants.year)) ** (1 /
            QUARTERS) - 1    [1]

    Takes: discount_rate [1/s].
    Source: IAS 37, paragraph 60 (the increase by passage of time is a borrowing cost), from memory.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.25)), constants=Some(year=1.0))
    >>> round(unwinding_rate(case, 0.65888), 9)
    0.2
    """
    year = case.constants.year
    return ((1 + discount_rate * year) * (1 + change_of(case, "overheads") * year)) ** (1 / QUARTERS) - 1


def provision(rate: Value, provided: Row, claims: Row) -> Row:
    """The provision at the end of each column: that before with its interest, more set aside, less claims paid.

        balance = [set_aside - paid + (balance[column - 1] * (1 + rate) if column else 0.0 * set_aside) for column, (set_aside,
            paid) in enumerate(zip(provided, claims))]    [money]

    Takes: rate [1], provided [money], claims [money].
    Source: IAS 37.

    100 set aside at 25 % a quarter, paid in two parts:

    >>> provision(0.25, Row([100.0, 0.0, 0.0]), Row([0.0, 75.0, 62.5]))
    [100.0, 50.0, 0.0]
    """
    found: list[Value] = []
    for set_aside, paid in zip(provided, claims):
        found.append(set_aside - paid + (found[-1] * (1 + rate) if found else 0.0 * set_aside))
    return Row(found)


def promised(case: Case, line: Line, ledger: Ledger, watts: Row, so_far: Row) -> Promised:
    """The warranty of all modules sold; without one, nothing. `watts` are made and sold in each column, `so_far` in all before."""
    nothing = constant(0.0 * ledger.total.cost, len(watts))
    for name, row in case.warranty.items():
        provided = set_aside(case, line, ledger.warranty[name], watts)
        claims = claims_paid(case, line, ledger.warranty[name], so_far)
        rate = unwinding_rate(case, row.discount_rate)
        balance = provision(rate, provided, claims)
        return Promised(provided, claims, balance.earlier(nothing[0]) * rate, balance)
    return Promised(nothing, nothing, nothing, nothing)


def set_aside(case: Case, line: Line, cost: WarrantyCost, watts: Row) -> Row:
    """What is set aside as modules are sold: their discounted claims at the cost of that time.

        modules = watts * (cost.modules_sold / line.output.stabilised_watts)    [module]
        amount = modules * cost.cost_per_module_sold * cost_rises(case, "overheads", len(watts))    [money]

    Takes: watts [Wp_stabilised].
    Source: IAS 37, paragraph 45 (present value); 36 (best estimate) from memory.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.0)), constants=Some(year=1.0))
    >>> cost = Some(modules_sold=90.0, cost_per_module_sold=2.0)
    >>> set_aside(case, Some(output=Some(stabilised_watts=1000.0)), cost, Row([0.0, 500.0]))
    [0.0, 90.0]
    """
    modules = watts * (cost.modules_sold / line.output.stabilised_watts)
    return modules * cost.cost_per_module_sold * cost_rises(case, "overheads", len(watts))


def claims_paid(case: Case, line: Line, cost: WarrantyCost, so_far: Row) -> Row:
    """What the claims of each column cost, at the cost of that time.

        modules = claims_by_age(line.ageing, so_far) * (cost.modules_sold / line.output.stabilised_watts)    [module]
        amount = modules * cost.cost_per_claim * cost_rises(case, "overheads", len(so_far))    [money]

    Takes: so_far [Wp_stabilised].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.0)), constants=Some(year=1.0))
    >>> line = Some(output=Some(stabilised_watts=1000.0), ageing={"y01": Some(claims=0.04)})
    >>> claims_paid(case, line, Some(modules_sold=50.0, cost_per_claim=100.0), Row([1000.0, 1000.0]))
    [0.0, 50.0]
    """
    modules = claims_by_age(line.ageing, so_far) * (cost.modules_sold / line.output.stabilised_watts)
    return modules * cost.cost_per_claim * cost_rises(case, "overheads", len(so_far))


def not_deducted(case: Case, provided: Row, paid: Row, unwinding: Row) -> Row:
    """What the books charge for warranty and tax does not yet deduct, or the other way round where negative.

        when provided = [row.deducted == "when_provided" for row in case.warranty.values()]    [any]
        amount = -unwinding if when_provided == [True] else provided - paid    [money]

    Takes: provided [money], paid [money], unwinding [money].
    Source: common practice; many tax laws deduct such a provision only as claims are paid. A tax adviser decides.

    The operating result bears what is set aside. Tax deducts claims as they are paid, or the provision with its interest.

    >>> from types import SimpleNamespace as Some
    >>> rows = Row([10.0]), Row([4.0]), Row([1.0])
    >>> [not_deducted(Some(warranty={"a": Some(deducted=each)}), *rows) for each in ("when_used", "when_provided")]
    [[6.0], [-1.0]]
    """
    if any(row.deducted == "when_provided" for row in case.warranty.values()):
        return -unwinding
    return provided - paid
