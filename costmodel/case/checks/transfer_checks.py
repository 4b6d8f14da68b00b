"""Checks of the transfer project: tasks wait for known tasks and never for themselves; durations and times come in order."""

from __future__ import annotations

import numpy as np

from ...core.faults import nearest
from ...core.fields import YEAR
from ..transfer_records import START, in_order, predecessors
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

MONTH = YEAR / 12


def tasks_wait_for_known_tasks(case: Case, unread: Unread) -> Found:
    """Each task waits for other tasks of the table, each named once, or for the start; none waits for itself by way of others."""
    rows = case.transfer_tasks
    if not rows or "transfer_tasks" in unread:
        return
    with where_read():
        sound = True
        for identity, row in rows.items():
            names = predecessors(row)
            for name in dict.fromkeys(names):
                if name not in rows:
                    sound = False
                    allowed = f"ids of transfer_tasks.csv, or '{START}' alone{nearest(name, [*rows, START])}"
                    yield "transfer_tasks", identity, "after", f"'{name}'", allowed
                elif names.count(name) > 1:
                    yield "transfer_tasks", identity, "after", f"'{name}' twice", "each once"
        ring = [name for name in rows if name not in in_order(rows)] if sound else []
        if ring:
            found = f"tasks that wait for each other in a ring, or for it: {', '.join(ring)}"
            yield "transfer_tasks", ring[0], "after", found, "an order in which each can be done"


def durations_come_in_order(case: Case, unread: Unread) -> Found:
    """An optimistic duration is at most the most likely one, and that at most the pessimistic one."""
    for identity, row in case.transfer_tasks.items():
        with where_read():
            if np.any(row.optimistic > row.most_likely):
                found = "a duration above the most likely one"
                yield "transfer_tasks", identity, "optimistic", found, "optimistic <= most_likely"
            if np.any(row.pessimistic < row.most_likely):
                found = "a duration below the most likely one"
                yield "transfer_tasks", identity, "pessimistic", found, "pessimistic >= most_likely"


def commitments_end_after_they_begin(case: Case, unread: Unread) -> Found:
    """A commitment ends after it begins."""
    for identity, row in case.commitments.items():
        with where_read():
            if row.end <= row.begin:
                found = f"an end {float(row.begin - row.end) / MONTH:.4g} months before or at the beginning"
                yield "commitments", identity, "end", found, "a time after the beginning"
