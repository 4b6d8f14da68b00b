"""How a ledger line is made: quantity times price, and the part of it that is lost with bad plates."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from ..line.line_figures import Line
from ..line.loads import steps_of_round
from .ledger_figures import ALL_LOST, NO_LOSS, PLANT, SHARE_LOST, LedgerLine


def lost_with_bad_plates(cost: Value, good_end_share: Value) -> Value:
    """Part of a step's cost spent on plates that do not end as good modules.

        lost = cost * (1 - good_end_share)    [any]

    Takes: cost [any], good_end_share [1].
    Source: common practice.

    `good_end_share` is the share of the plates entering the step that end as good modules.

    >>> lost_with_bad_plates(100.0, 0.9)
    9.999999999999998
    """
    return cost * (1 - good_end_share)


@dataclass(frozen=True, slots=True)
class Account:
    """Where a cost is booked: its step, category and item, its group of prices, and what its quantity counts, in which unit."""

    step: str
    category: str
    item: str
    group: str
    unit: str
    driver: str


def entry(
    line: Line,
    account: Account,
    *,
    quantity: Value,
    price: Value,
    idle_share: Value = 0.0,
    loss: str | None = None,
    variable_share: Value | None = None,
) -> LedgerLine:
    """A ledger line: quantity times price, and the parts of it that are lost, idle and variable.

        at none = account.step == PLANT or account.driver == "module"    [any]
        kind = loss or (NO_LOSS if at_none else SHARE_LOST)    [any]
        cost = quantity * price
        of share = lost_with_bad_plates(cost, line.steps[account.step].good_end_share) if kind == SHARE_LOST else 0.0    [any]
        lost = cost if kind == ALL_LOST else of_share
        idle = cost * idle_share
        variable_share = variable_share if variable_share is not None else 1.0 if account.category == "materials" else 0.0
        variable = cost * variable_share

    Takes: quantity [any], price [any], idle_share [1], variable_share [1].
    Source: common practice.

    Unless stated, costs of no step, and what is bought for good modules only, carry no yield loss. `idle_share` is the share of
    the cost that is for capacity not used, `variable_share` the share of the amount that follows the output: all of materials
    and none of the rest unless stated. `loss` says what of a line is lost with bad plates: `share`, what it spends on plates that
    do not end as good modules; `none`, nothing; `all`, all of it, as the scrap revenue of lost plates.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(steps={"cut": Some(good_end_share=0.75)})
    >>> found = entry(line, Account("cut", "labour", "operator", "labour", "person", "tool saw"), quantity=2.0, price=10.0)
    >>> found.cost, found.lost, found.variable
    (20.0, 5.0, 0.0)
    """
    cost = quantity * price
    follows = (1.0 if account.category == "materials" else 0.0) if variable_share is None else variable_share
    loss = loss or (NO_LOSS if account.step == PLANT or account.driver == "module" else SHARE_LOST)
    lost: Value = 0.0
    if loss == ALL_LOST:
        lost = cost
    elif loss == SHARE_LOST:
        lost = lost_with_bad_plates(cost, line.steps[account.step].good_end_share)
    return LedgerLine(
        step=account.step,
        category=account.category,
        item=account.item,
        group=account.group,
        unit=account.unit,
        driver=account.driver,
        loss=loss,
        quantity=quantity,
        price=price,
        cost=cost,
        lost=lost,
        idle=cost * idle_share,
        variable_share=follows,
        variable=cost * follows,
    )


def step_shares(case: Case, line: Line, tool: str) -> dict[str, Value]:
    """How the cost of a tool is shared by its steps: by the time it works for each."""
    return shares_by_busy_time(line, [name for name, step in case.steps.items() if step.tool == tool])


def carrier_shares(case: Case, line: Line, carrier: str) -> dict[str, Value]:
    """How the cost of carriers, their upkeep included, is shared by the steps they go through: by the busy time of their tools."""
    return shares_by_busy_time(line, steps_of_round(case, case.carriers[carrier]))


def shares_by_busy_time(line: Line, steps: list[str]) -> dict[str, Value]:
    """Shares of steps in a cost: each by the time that is worked for it.

        together = sum_of([line.steps[name].busy_time for name in steps])    [tool_hour]
        shares = {name: line.steps[name].busy_time / together for name in steps}    [1]

    Source: accounting practice, allocation by machine hours.

    >>> from types import SimpleNamespace as Some
    >>> shares_by_busy_time(Some(steps={"a": Some(busy_time=3.0), "b": Some(busy_time=1.0)}), ["a", "b"])
    {'a': 0.75, 'b': 0.25}
    """
    together = sum_of([line.steps[name].busy_time for name in steps])
    return {name: line.steps[name].busy_time / together for name in steps}
