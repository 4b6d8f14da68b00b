"""How long the plant is in use: to the end of the plan, or until it has lost cash for some time.

A plant closes once it has not earned its running cost for some time (common practice). Nothing before the closing depends on it, so
that the quarters are computed once as if the plant never closed; what the rule finds in them cuts them off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...case.whole_case import Case
from ...core.operations import Value, choose, sum_of
from .plan_figures import Quarter
from .timing import cumulative, in_quarters


@dataclass(frozen=True, slots=True)
class Use:
    """How long the plant is in use, by column: `open` is 1 while it is, its last column included, then 0.

    `to_the_end` says that the case has no rule that could close it early. `lost` counts quarters in a row that lost cash.
    """

    open: list[Value]
    to_the_end: bool
    lost: list[Value]

    def while_open(self, amounts: Sequence[Value]) -> list[Value]:
        """Amounts while the plant is in use, then nothing."""
        return list(amounts) if self.to_the_end else [amount * now for amount, now in zip(amounts, self.open)]

    def held(self, balances: Sequence[Value]) -> list[Value]:
        """Balances, of which nothing is left when use ends."""
        if self.to_the_end:
            return [*balances[:-1], 0.0]
        return [balance * later for balance, later in zip(balances, [*self.open[1:], 0.0])]

    def at_end(self, amounts: Sequence[Value]) -> list[Value]:
        """Of amounts, that of the column at whose end use ends."""
        if self.to_the_end:
            return [*[0.0] * (len(amounts) - 1), amounts[-1]]
        return [*self.early(amounts)[:-1], amounts[-1] * self.open[-1]]

    def early(self, amounts: Sequence[Value]) -> list[Value]:
        """The same, but only where the plant closes before the end of the plan."""
        if self.to_the_end:
            return [0.0] * len(amounts)
        ends = [now - later for now, later in zip(self.open, self.open[1:])]
        return [*(amount * end for amount, end in zip(amounts, ends)), 0.0]

    def left(self, flows: Sequence[Value]) -> list[Value]:
        """What is left of the sum of flows at the end of use, in its column."""
        return [*[0.0] * (len(flows) - 1), sum_of(flows)] if self.to_the_end else self.at_end(cumulative(flows))


def to_the_end(count: int) -> Use:
    """Use to the end of the plan."""
    return Use([1.0] * count, True, [0.0] * count)


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
    return Use(found, False, lost)


def time_of_use(case: Case, quarters: Sequence[Quarter]) -> Use:
    """How long the plant of a plan is in use."""
    return Use([q.open_share for q in quarters], case.plan.closing.rule == "never", [q.lost_quarters for q in quarters])
