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


def quarters_lost(cash: Row, run: Row) -> Row:
    """Quarters in a row, up to each, with negative cash; those before a whole quarter of production do not count.

        before = [0.0, *lost]    [1]
        lost = [choose(amount < 0, choose(part >= 1, so_far + 1.0, 0.0), 0.0)
            for amount, part, so_far in zip(cash, run, before)]    [1]

    Takes: cash [money], run [1].
    Source: common practice.

    >>> quarters_lost(Row([-1.0, -1.0, -1.0, 2.0, -1.0]), Row([0.0, 1.0, 1.0, 1.0, 1.0]))
    [0.0, 1.0, 2.0, 0.0, 1.0]
    """
    lost: list[Value] = []
    in_a_row: Value = 0.0
    for amount, part in zip(cash, run):
        in_a_row = choose(amount < 0, choose(part >= 1, in_a_row + 1.0, 0.0), 0.0)
        lost.append(in_a_row)
    return Row(lost)


def open_until(stops: Row) -> Row:
    """1 up to the first column whose end stops the use of the plant, then 0.

        share = [1.0, *[now * (1.0 - stop) for now, stop in zip(share, stops[:-1])]]    [1]

    Takes: stops [1].
    Source: common practice.

    >>> open_until(Row([0.0, 1.0, 0.0, 1.0]))
    [1.0, 1.0, 0.0, 0.0]
    """
    found: list[Value] = [1.0]
    for stop in stops[:-1]:
        found.append(found[-1] * (1.0 - stop))
    return Row(found)


def by_loss(case: Case, cash: Row, run: Row, start: Value) -> Use:
    """Use until so many quarters in a row had negative operating cash; `run` is the running share of each column.

        earliest = start + in_quarters(case, case.plan.closing.not_before)    [1]
        lost = quarters_lost(cash, run)    [1]
        late = [choose(earliest <= column, 1.0, 0.0) for column in range(len(lost))]    [1]
        stops = choose(lost >= case.plan.closing.loss_quarters, Row(late), 0.0)    [1]
        open = open_until(stops)    [1]

    Takes: cash [money], run [1], start [1].
    Source: common practice.

    Production starts with the first quarter. Two quarters in a row, not before three after the start; what comes later changes
    nothing:

    >>> from types import SimpleNamespace
    >>> row = SimpleNamespace(rule="by_loss", loss_quarters=2.0, not_before=3.0)
    >>> case = SimpleNamespace(plan=SimpleNamespace(closing=row), constants=SimpleNamespace(year=4.0))
    >>> by_loss(case, Row([0.0, -1.0, -1.0, -1.0, 2.0, -1.0]), Row([0.0, 1.0, 1.0, 1.0, 1.0, 1.0]), 0.0).open
    [1.0, 1.0, 1.0, 1.0, 0.0, 0.0]
    """
    row = case.plan.closing
    earliest, lost = start + in_quarters(case, row.not_before), quarters_lost(cash, run)
    late = Row(choose(earliest <= column, 1.0, 0.0) for column in range(len(lost)))
    return Use(open_until(choose(lost >= row.loss_quarters, late, 0.0)), False, lost)


def time_of_use(case: Case, quarters: Sequence[Quarter]) -> Use:
    """How long the plant of a plan is in use."""
    never = case.plan.closing.rule == "never"
    return Use(Row(each.open_share for each in quarters), never, Row(each.lost_quarters for each in quarters))
