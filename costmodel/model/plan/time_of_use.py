"""How long the plant is in use: to the end of the plan, or until it has lost cash for some time.

A plant closes once it has not earned its running cost for some time (common practice). Nothing before the closing depends on it, so
that the quarters are computed once as if the plant never closed; what the rule finds in them cuts them off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, choose, sum_of
from ...core.series import Row, constant
from .plan_figures import Quarter
from .timing import in_quarters


@dataclass(frozen=True, slots=True)
class Use:
    """How long the plant is in use, by column: `open` is 1 while it is, its last column included, then 0.

    `to_the_end` says that the case has no rule that could close it early. `lost` counts quarters in a row that lost cash.
    """

    open: Row
    to_the_end: bool
    lost: Row

    def while_open(self, amounts: Row) -> Row:
        """Amounts while the plant is in use, then nothing."""
        return amounts if self.to_the_end else amounts * self.open

    def held(self, balances: Row) -> Row:
        """Balances, of which nothing is left when use ends."""
        return Row([*balances[:-1], 0.0]) if self.to_the_end else balances * self.open.later(0.0)

    def at_end(self, amounts: Row) -> Row:
        """Of amounts, that of the column at whose end use ends."""
        return self._last(amounts[-1]) if self.to_the_end else Row([*self.early(amounts)[:-1], amounts[-1] * self.open[-1]])

    def early(self, amounts: Row) -> Row:
        """The same, but only where the plant closes before the end of the plan."""
        if self.to_the_end:
            return constant(0.0, len(self.open))
        return Row([*(amounts[:-1] * (self.open[:-1] - self.open[1:])), 0.0])

    def left(self, flows: Row) -> Row:
        """What is left of the sum of flows at the end of use, in its column."""
        return self._last(sum_of(flows)) if self.to_the_end else self.at_end(flows.running_sum())

    def _last(self, amount: Value) -> Row:
        """An amount in the last column of the plan."""
        return Row([*[0.0] * (len(self.open) - 1), amount])


def to_the_end(count: int) -> Use:
    """Use to the end of the plan."""
    return Use(constant(1.0, count), True, constant(0.0, count))


def by_loss(case: Case, cash: Sequence[Value], run: Sequence[Value], start: Value) -> Use:
    """Use until so many quarters in a row had negative operating cash; `run` is the running share of each column.

    Production starts with the first quarter. Two quarters in a row, not before three after the start; what comes later changes
    nothing:

    >>> from types import SimpleNamespace
    >>> year = 4.0
    >>> row = SimpleNamespace(rule="by_loss", loss_quarters=2.0, not_before=3.0)
    >>> case = SimpleNamespace(plan=SimpleNamespace(closing=row), constants=SimpleNamespace(year=year))
    >>> by_loss(case, [0.0, -1.0, -1.0, -1.0, 2.0, -1.0], [0.0, 1.0, 1.0, 1.0, 1.0, 1.0], 0.0).open
    [1.0, 1.0, 1.0, 1.0, 0.0, 0.0]
    """
    row = case.plan.closing
    earliest, in_a_row, now = start + in_quarters(case, row.not_before), 0.0, 1.0
    found, lost = [], []
    for column, (amount, part) in enumerate(zip(cash, run)):
        found.append(now)
        in_a_row = choose(amount < 0, choose(part >= 1, in_a_row + 1.0, 0.0), 0.0)
        lost.append(in_a_row)
        stops = choose(in_a_row >= row.loss_quarters, choose(earliest <= column, 1.0, 0.0), 0.0)
        now = now * (1.0 - stops)
    return Use(Row(found), False, Row(lost))


def time_of_use(case: Case, quarters: Sequence[Quarter]) -> Use:
    """How long the plant of a plan is in use."""
    never = case.plan.closing.rule == "never"
    return Use(Row(each.open_share for each in quarters), never, Row(each.lost_quarters for each in quarters))
