"""The records of the transfer as a project: tasks, who works on them, gates, what else the same people have to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..core.fields import choice, number, reference, share, text, unit_text
from ..core.operations import Value

START = "start"  # stands in transfer_tasks.csv for a task that waits for no other
LICENSEE = "licensee"  # stands there for a task that the licensee does, so that no delivery pays for it
FIRST_DAY = "first_day"  # stands in `counted_from` of terms whose time counts from no gate
COUNTED_FROM: dict[str, Any] = {
    "meaning": "the gate from which the time counts, at most likely durations, or the word first_day",
    "table": "transfer_gates", "example": "acceptance", "or_else": FIRST_DAY,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class TransferTask:
    """A task of the transfer: what it waits for, and how long it takes at best, most likely and at worst."""

    title: str = text("what is done", example="design package")
    delivery: str = reference(
        "the row of deliveries.csv that the task is part of, or the word licensee", "deliveries", example="design",
        or_else=LICENSEE,
    )  # fmt: skip
    after: str = text(
        "tasks that must be finished before, separated by semicolons; or the word start", example="design; factory_shell"
    )
    optimistic: Value = number("s", "duration if all goes well", example="4 month", entry="month", above=0.0)
    most_likely: Value = number("s", "most likely duration", example="6 month", entry="month", above=0.0)
    pessimistic: Value = number("s", "duration if much goes wrong", example="10 month", entry="month", above=0.0)


@dataclass(frozen=True, slots=True)
class TransferWork:
    """Working days of one resource of the licensor for one task, spread evenly over it.

    The days of all tasks of a delivery should add up to its row of deliveries.csv, which the cost follows.
    """

    task: str = reference("task", "transfer_tasks", example="design")
    resource: str = reference("who works, or the pilot line", "transfer_resources", example="process")
    place: str = choice("where the work is done: at home or on the licensee's site", "home", "site")
    days: Value = number("s", "working days, those of several people added up", example="180 day", entry="day")


@dataclass(frozen=True, slots=True)
class TransferGate:
    """A gate of the project: it is passed when its task is finished, if at all. Fees and tests may be counted from it."""

    title: str = text("what is passed", example="design frozen")
    task: str = reference("the task that ends with it", "transfer_tasks", example="design")
    probability: Value = share(
        "probability that it is passed at all, early or late, as seen on the first day", example="95 %"
    )


@dataclass(frozen=True, slots=True)
class TransferResource:
    """A role of the licensor's staff, or its pilot line, and what of it is free for licensees."""

    title: str = text("role, or pilot line", example="process engineers")
    resource_type: str = choice("people, or time of the pilot line", "staff", "pilot_line")
    available: Value = number(
        "1",
        "working days a month that are free for licensees, all its people added up",
        example="60",
        entry="day/month",
        above=0.0,
    )
    day_cost: Value = number("{currency}/s", "full cost of a working day", example="720", entry="{currency}/day")
    currency: str = unit_text("currency of the cost", example="EUR")


@dataclass(frozen=True, slots=True)
class Commitment:
    """What other licences and offers take of a resource."""

    title: str = text("for whom, in general words", example="first licensee: support of the ramp")
    resource: str = reference("who is needed, or the pilot line", "transfer_resources", example="process")
    begin: Value = number("s", "when it begins, from the first day", example="0 month", entry="month")
    end: Value = number("s", "when it ends", example="10 month", entry="month")
    load: Value = number("1", "working days of it in a month", example="20", entry="day/month")
    probability: Value = share("probability that it comes", example="40 %")


def predecessors(row: TransferTask) -> tuple[str, ...]:
    """The tasks that a task waits for.

    >>> [predecessors(TransferTask("", "design", after, 1.0, 1.0, 1.0)) for after in ("design; shell", START)]
    [('design', 'shell'), ()]
    """
    names = tuple(name.strip() for name in row.after.split(";") if name.strip())
    return () if names == (START,) else names


def tasks_up_to(rows: Mapping[str, TransferTask], name: str) -> set[str]:
    """A task and all that must be finished before it.

    >>> rows = {"b": TransferTask("", "", "a", 1.0, 1.0, 1.0), "a": TransferTask("", "", START, 1.0, 1.0, 1.0)}
    >>> sorted(tasks_up_to(rows, "b")), sorted(tasks_up_to(rows, "a"))
    (['a', 'b'], ['a'])
    """
    found, waiting = set[str](), [name]
    while waiting:
        each = waiting.pop()
        if each not in found:
            found.add(each)
            waiting += predecessors(rows[each])
    return found


def in_order(rows: Mapping[str, TransferTask]) -> list[str]:
    """Tasks so that each comes after those that it waits for, else in the order of the table; tasks in a ring are left out.

    >>> rows = {"b": TransferTask("", "", "a", 1.0, 1.0, 1.0), "a": TransferTask("", "", START, 1.0, 1.0, 1.0)}
    >>> in_order(rows)
    ['a', 'b']
    """
    found: list[str] = []
    left = {name: set(predecessors(row)) for name, row in rows.items()}
    while ready := [name for name, waits_for in left.items() if waits_for.issubset(found)]:
        found.append(ready[0])
        del left[ready[0]]
    return found
