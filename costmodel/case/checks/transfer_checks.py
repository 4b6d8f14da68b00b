"""Checks of the transfer project: tasks wait for known tasks and never for themselves; durations and times come in order."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ...core.faults import nearest
from ...core.fields import YEAR
from ...core.operations import Value, largest_of
from ..transfer_records import FIRST_DAY, START, TransferTask, in_order, predecessors, tasks_up_to
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
        in_turn = in_order(rows) if sound else rows
        ring = [name for name in rows if name not in in_turn]
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


def dates_of_acceptance_stand_once(case: Case, unread: Unread) -> Found:
    """Where the transfer stands as a project, an expected date of acceptance is that of a gate; its date spreads in any case."""
    if unread & {"transfer_tasks", "transfer_gates"} or not sound(case.transfer_tasks):
        return
    gates = case.transfer_gates
    for identity, row in case.acceptance_dates.items():
        with where_read():
            if row.counted_from == FIRST_DAY and gates:
                found = "an expected date from the first day, beside that of transfer_tasks.csv"
                allowed = f"the gate of acceptance, in 'expected' the time after it: {', '.join(gates)}"
                yield "acceptance_dates", identity, "counted_from", found, allowed
            if row.counted_from not in (FIRST_DAY, *gates):
                continue  # named as an unknown gate
            task = gates[row.counted_from].task if row.counted_from in gates else ""
            names = tasks_up_to(case.transfer_tasks, task) if task in case.transfer_tasks else ()
            tasks = [case.transfer_tasks[each] for each in names]
            if np.any(row.spread <= 0) and not any(np.all(each.pessimistic > each.optimistic) for each in tasks):
                yield "acceptance_dates", identity, "spread", "nothing, for a date that nothing else spreads", "a time above 0"


def sound(rows: Mapping[str, TransferTask]) -> bool:
    """Whether each task waits for known tasks, and none for itself."""
    try:
        return len(in_order(rows)) == len(rows)
    except AttributeError:  # a field that could not be read
        return False


def planned_gate(case: Case, name: str, unread: Unread) -> Value:
    """The time of a gate at most likely durations, as `model/plan/transfer.py` has it; 0 where tasks are at fault."""
    if name not in case.transfer_gates or "transfer_tasks" in unread or not sound(case.transfer_tasks):
        return 0.0
    ends: dict[str, Value] = {}
    for each in in_order(case.transfer_tasks):
        row = case.transfer_tasks[each]
        ends[each] = largest_of([0.0, *(ends[before] for before in predecessors(row))]) + row.most_likely
    return ends.get(case.transfer_gates[name].task, 0.0)
