"""What people and the pilot line of the licensor have to do month by month: this transfer beside all other licences and offers.

A study, not figures of the model: how many months there are follows from the schedule, and nothing else is computed from them.
Work is spread evenly over its task at most likely durations; a commitment evenly over its time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ...case.whole_case import Case
from ...core.units import to_base
from ...model.plan.transfer import windows

MONTH, DAY = to_base("month"), to_base("day")
SLACK = 1e-6  # days above what is free that are rounding
LONGEST = 120  # months after the first day in which a start is looked for


@dataclass(frozen=True, slots=True)
class Load:
    """One resource, in working days of each month from the first day on: what the transfer takes, what others take, what is free.

    `others` has the commitments weighted by their probability, `others_if_all` each in full.
    """

    resource: str
    own: np.ndarray
    others: np.ndarray
    others_if_all: np.ndarray
    free: float

    def total(self, all_come: bool) -> np.ndarray:
        """All that is to do, by month."""
        return self.own + (self.others_if_all if all_come else self.others)

    def over(self, all_come: bool) -> np.ndarray:
        """Days above what is free, by month; nothing below."""
        return np.maximum(self.total(all_come) - self.free, 0.0)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A month in which a start would overload a resource: by how many days, and the commitments that take of it then."""

    resource: str
    month: int
    over: float
    commitments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Start:
    """A start in a month after the first day: what stands against it; and the first month from it on without conflict, or None.

    Of each pair the first has commitments weighted by their probability, the second all of them in full.
    """

    month: int
    beside: bool
    conflicts: tuple[tuple[Conflict, ...], tuple[Conflict, ...]]
    first: tuple[int | None, int | None]


def by_month(begin: float, end: float, amount: float, count: int) -> np.ndarray:
    """What falls into each month of an amount that is done evenly from a begin to an end, in s.

    >>> (by_month(0.5 * MONTH, 2.5 * MONTH, 8.0, 4)).round(9).tolist()
    [2.0, 4.0, 2.0, 0.0]
    """
    edges = np.arange(count + 1) * MONTH
    done = np.clip((edges - begin) / (end - begin), 0.0, 1.0)
    return amount * np.diff(done)


def own_work(case: Case, month: float = 0.0) -> list[tuple[str, float, float, float]]:
    """The work of the transfer begun in a month: resource, begin and end in s, days."""
    rows = case.transfer_tasks
    planned = windows(rows, {name: row.most_likely for name, row in rows.items()})
    moved = month * MONTH
    return [
        (row.resource, float(planned[row.task].earliest_begin) + moved, float(planned[row.task].earliest_finish) + moved,
         float(row.days) / DAY)
        for row in case.transfer_work.values()
    ]  # fmt: skip


def months_of(case: Case, work: Iterable[tuple[str, float, float, float]]) -> int:
    """How many months the work and the commitments reach over."""
    ends = [end for _, _, end, _ in work] + [float(row.end) for row in case.commitments.values()]
    return int(np.ceil(max(ends, default=0.0) / MONTH - SLACK))


def loads(case: Case, starts: Sequence[float] = (0.0,), count: int = 0) -> list[Load]:
    """The load of every resource by month where a transfer as in the case begins in each of these months after the first day.

    >>> from costmodel.case.load import load_case
    >>> found = loads(load_case("inputs_demo/facade"))
    >>> [round(float(each), 6) for each in (found[0].own.sum(), found[0].free)]
    [665.0, 60.0]
    """
    work = [each for month in starts for each in own_work(case, month)]
    count = max(count, months_of(case, work))
    found = []
    for name, row in case.transfer_resources.items():
        own = sum((by_month(begin, end, days, count) for which, begin, end, days in work if which == name), np.zeros(count))
        others, full = np.zeros(count), np.zeros(count)
        for each in case.commitments.values():
            if each.resource == name:
                taken = by_month(each.begin, each.end, each.load * (each.end - each.begin) / DAY, count)
                others, full = others + each.probability * taken, full + taken
        found.append(Load(name, own, others, full, float(row.available) * MONTH / DAY))
    return found


def conflicts(case: Case, starts: Sequence[float], all_come: bool) -> tuple[Conflict, ...]:
    """The months in which the transfer that begins last meets a resource that is overloaded, `starts` being all that begin."""
    found, together = [], loads(case, starts)
    alone = loads(case, starts[-1:], len(together[0].own))
    for load, added in zip(together, alone):
        for month in np.flatnonzero((load.over(all_come) > SLACK) & (added.own > SLACK)):
            busy = [
                name for name, row in case.commitments.items()
                if row.resource == load.resource and row.begin < (month + 1) * MONTH and row.end > month * MONTH
            ]  # fmt: skip
            found.append(Conflict(load.resource, int(month), float(load.over(all_come)[month]), tuple(busy)))
    return tuple(sorted(found, key=lambda each: (each.month, each.resource)))


def start_in(case: Case, month: int, beside: bool = False) -> Start:
    """Whether a transfer as in the case can begin in a month after the first day, in its place or beside it.

    >>> from costmodel.case.load import load_case
    >>> found = start_in(load_case("inputs_demo/facade"), 2)
    >>> len(found.conflicts[0]) > 0, found.first[0] > 2
    (True, True)
    """

    def starts(each: int) -> list[float]:
        """The months in which transfers begin."""
        return [0.0, float(each)] if beside else [float(each)]

    def first(all_come: bool) -> int | None:
        """The first month from the wanted one on in which nothing is overloaded."""
        return next((each for each in range(month, LONGEST + 1) if not conflicts(case, starts(each), all_come)), None)

    against = conflicts(case, starts(month), False), conflicts(case, starts(month), True)
    return Start(month, beside, against, (first(False), first(True)))
