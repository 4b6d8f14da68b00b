"""Replacement: when equipment wears out, is refurbished or bought again, and what it sells for at the end of the plan.

Equipment is replaced at the end of its technical life, whatever its accounting life (common practice). A kind of equipment that
wears out is bought again evenly over the year that follows, so that a life may be any number of years. Times are in years of use.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...core.operations import Value, larger, smaller, sum_of, whole_up
from ...core.series import Row
from .timing import QUARTERS, after

SPREAD = 1.0  # years over which a kind of equipment that wears out is replaced
LAST_SPREAD = 1 / QUARTERS  # years before the last time for it, within which it is replaced in part


@dataclass(frozen=True, slots=True)
class Use:
    """How long the plant is used, and until when what wears out is replaced; years of use."""

    years: int
    end: Value
    last: Value


@dataclass(frozen=True, slots=True)
class Replaced:
    """Counts for one piece of equipment, by year of use: bought again so far, and refurbished so far.

    `within` is how often it is replaced by the end of the plan.
    """

    so_far: list[Value]
    refurbished: list[Value]
    within: Value


def times_done(time: Value, first: Value, cycle: Value, spread: float) -> Value:
    """How often what falls due at `first`, then after each `cycle`, is done by a time, each time evenly over `spread` from then on.

        past = larger(time - first, 0.0)    [1]
        whole = -whole_up(-past / cycle)    [1]
        times = whole + smaller(1.0, (past - whole * cycle) / spread)    [1]

    Takes: time [1], first [1], cycle [1].
    Source: from memory.

    `spread` is at most `cycle`.

    >>> [times_done(time, 4.0, 4.0, 1.0) for time in (4.0, 4.25, 5.0, 8.0, 8.5)]
    [0.0, 0.25, 1.0, 1.0, 1.5]
    """
    past = larger(time - first, 0.0)
    whole = -whole_up(-past / cycle)
    return whole + smaller(1.0, (past - whole * cycle) / spread)


def done_by_year(use: Use, first: Value, cycle: Value) -> list[Value]:
    """How often it is done by the end of each year of use; what falls due after the last time for it is not done.

        most = times_done(use.last, first, cycle, LAST_SPREAD)    [1]
        times = [smaller(times_done(number + 1.0, first, cycle, SPREAD), most) for number in range(use.years)]    [1]

    Takes: first [1], cycle [1].
    Source: from memory.

    What falls due less than a quarter before the last time is done in proportion.

    >>> done_by_year(Use(4, 4.0, 2.25), 2.0, 2.0), done_by_year(Use(4, 4.0, 2.0), 2.0, 2.0)
    ([0.0, 0.0, 1.0, 1.0], [0.0, 0.0, 0.0, 0.0])
    """
    most = times_done(use.last, first, cycle, LAST_SPREAD)
    return [smaller(times_done(number + 1.0, first, cycle, SPREAD), most) for number in range(use.years)]


def each_year(so_far: Sequence[Value]) -> Row:
    """What a running count gains in each year.

        gains = [now - before for now, before in zip(so_far, [0.0, *so_far])]    [any]

    Takes: so_far [any].
    Source: common practice.

    >>> each_year([0.0, 1.0, 1.5])
    [0.0, 1.0, 0.5]
    """
    return Row(so_far).gains()


def replaced(use: Use, life: Value, added: Value | None) -> Replaced:
    """A piece replaced after its technical life; with an `added` life it is refurbished then, and replaced when that is over.

        cycle = life if added is None else life + added    [1]
        so_far = done_by_year(use, cycle, cycle)    [1]
        refurbished = [] if added is None else done_by_year(use, life, cycle)    [1]
        within = sum_of([count * smaller(1.0, larger(0.0, use.end - number)) for number, count in
            enumerate(each_year(so_far))])    [1]

    Takes: life [1], added [1].
    Source: common practice.

    Used for four years, with a life of two; the piece that wears out at the end is not replaced:

    >>> replaced(Use(4, 4.0, 4.0), 2.0, None)
    Replaced(so_far=[0.0, 0.0, 1.0, 1.0], refurbished=[], within=1.0)
    """
    cycle = life if added is None else life + added
    so_far = done_by_year(use, cycle, cycle)
    refurbished = [] if added is None else done_by_year(use, life, cycle)
    within = sum_of([count * smaller(1.0, larger(0.0, use.end - number)) for number, count in enumerate(each_year(so_far))])
    return Replaced(so_far, refurbished, within)


def parts_replaced(found: Replaced) -> list[Value]:
    """Of the pieces bought in each year, how many are replaced within the plan; the first year buys the first piece.

        again = [smaller(count, larger(found.within - 1.0, 0.0)) for count in found.so_far]    [1]
        gains = each_year(again)    [1]
        parts = [smaller(1.0, found.within) + gains[0], *gains[1:]]    [1]

    Source: common practice.

    >>> parts_replaced(Replaced([0.0, 0.0, 1.0, 1.0, 2.0], [], 2.0)), parts_replaced(Replaced([0.0, 0.0, 0.5], [], 0.5))
    ([1.0, 0.0, 1.0, 0.0, 0.0], [0.5, 0.0, 0.0])
    """
    again = [smaller(count, larger(found.within - 1.0, 0.0)) for count in found.so_far]
    first, *others = each_year(again)
    return [smaller(1.0, found.within) + first, *others]


def shares_while_used(shares: Sequence[Value], age: Value) -> tuple[list[Value], list[Value]]:
    """Shares of a price written off in each year of a piece that is replaced at an age, and the share lost then: what is left.

        gone = [after(number, age) for number in range(len(shares))]    [1]
        left = [sum_of([1.0, *[-share for share in shares[:number]]]) for number in range(len(shares))]    [1]
        used, lost = [share * (1.0 - now) for share, now in zip(shares, gone)], [part * rest for part, rest in
            zip(each_year(gone), left)]    [1, 1]

    Takes: shares [1], age [1].
    Source: common practice.

    >>> shares_while_used([0.25, 0.25, 0.25, 0.25, 0.0], 3.0), shares_while_used([0.5, 0.25, 0.0, 0.0], 3.0)[1]
    (([0.25, 0.25, 0.25, 0.0, 0.0], [0.0, 0.0, 0.0, 0.25, 0.0]), [0.0, 0.0, 0.0, 0.25])
    """
    gone = [after(number, age) for number in range(len(shares))]
    used, lost, left = [], [], 1.0
    for share, now, before in zip(shares, gone, [0.0, *gone]):
        used.append(share * (1.0 - now))
        lost.append((now - before) * left)
        left = left - share
    return used, lost


def resale_share(time: Value, count: Value, cycle: Value, new: Value, decline: Value) -> Value:
    """What a piece sells for after a time, over its price new at that time: a share that falls by a part with each year of its age.

        whole = -whole_up(-count)    [1]
        part = count - whole    [1]
        older = (1 - decline) ** larger(time - whole * cycle, 0.0)    [1]
        newer = (1 - decline) ** larger(time - (whole + 1.0) * cycle, 0.0)    [1]
        share = new * ((1 - part) * older + part * newer)    [1]

    Takes: time [1], count [1], cycle [1], new [1], decline [1].
    Source: common practice (declining-balance resale value).

    `count` is how often it was replaced by then. Declining-balance resale value, common practice. Its age counts from the time at
    which the piece before it wore out. A piece sold after five years of use, replaced after four or never:

    >>> [round(resale_share(5.0, count, 4.0, 0.5, 0.2), 9) for count in (1.0, 0.0)]
    [0.4, 0.16384]
    """
    whole = -whole_up(-count)
    part = count - whole
    older, newer = [(1 - decline) ** larger(time - (whole + more) * cycle, 0.0) for more in (0.0, 1.0)]
    return new * ((1 - part) * older + part * newer)
