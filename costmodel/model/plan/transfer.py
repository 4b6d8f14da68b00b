"""The transfer as a project: critical path, expected finish, gates; the work of each delivery and resource."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ...case.deal_records import Fee, Guarantee
from ...case.guarantee_records import PerformanceGuarantee
from ...case.transfer_records import FIRST_DAY, TransferTask, TransferWork, in_order, predecessors
from ...case.whole_case import Case, kept, with_held
from ...core.operations import Value, choose, largest_of, least_of, sum_of
from ..ledger.landed_prices import in_reporting_currency
from .transfer_figures import GateTimes, ResourceUse, TaskTimes, Transfer, WorkOfDelivery


@dataclass(frozen=True, slots=True)
class Reached:
    """When something is reached, and the variance of the tasks along the longest path to it."""

    time: Value
    variance: Value


@dataclass(frozen=True, slots=True)
class Path:
    """A task at expected durations, at the end of its longest path."""

    begin: Value
    duration: Value
    end: Reached


@dataclass(frozen=True, slots=True)
class Window:
    """The earliest and the latest times of a task, without float of the last one."""

    earliest_begin: Value
    earliest_finish: Value
    latest_begin: Value
    latest_finish: Value
    total_float: Value


def expected_duration(row: TransferTask) -> Value:
    """Expected duration of a task from three estimates.

        duration = (row.optimistic + 4 * row.most_likely + row.pessimistic) / 6    [s]

    Source: Malcolm, Roseboom, Clark, Fazar, Application of a technique for research and development program evaluation,
    Operations Research 7 (1959) 646; from memory.

    >>> expected_duration(TransferTask("", "", "start", 2.0, 4.0, 12.0))
    5.0
    """
    return (row.optimistic + 4 * row.most_likely + row.pessimistic) / 6


def duration_variance(row: TransferTask) -> Value:
    """Variance of the duration of a task: from best to worst are six standard deviations.

        variance = ((row.pessimistic - row.optimistic) / 6) ** 2    [s*s]

    Source: as for the expected duration.

    >>> duration_variance(TransferTask("", "", "start", 2.0, 4.0, 14.0))
    4.0
    """
    return ((row.pessimistic - row.optimistic) / 6) ** 2


def finish_after(begin: Value, duration: Value) -> Value:
    """When a task is finished.

        finish = begin + duration    [s]

    Takes: begin [s], duration [s].
    Source: common practice.

    >>> finish_after(3.0, 4.0)
    7.0
    """
    return begin + duration


def begin_after(first_day: Value, ends: Sequence[Value]) -> Value:
    """A task begins when all tasks before it are finished; one that waits for none, on the first day. Forward pass.

        begin = largest_of([first_day, *ends])    [s]

    Takes: first_day [s], ends [s].
    Source: Kelley, Walker, Critical-path planning and scheduling, Eastern Joint Computer Conference 1959; from memory.

    >>> begin_after(0.0, [7.0, 5.0])
    7.0
    """
    return largest_of([first_day, *ends])


def window(begin: Value, duration: Value, last: Value, latest_begins: Sequence[Value]) -> Window:
    """The window of a task: it must be finished before any task after it has to begin, and before the last one is. Backward pass.

        earliest_begin = begin    [s]
        earliest_finish = begin + duration    [s]
        latest_finish = least_of([last, *latest_begins])    [s]
        latest_begin = latest_finish - duration    [s]
        total_float = latest_finish - earliest_finish    [s]

    Takes: begin [s], duration [s], last [s], latest_begins [s].
    Source: as for the forward pass.

    A task of 4 may begin at 3 and must leave room for one that has to begin at 9:

    >>> window(3.0, 4.0, 20.0, [9.0, 12.0])
    Window(earliest_begin=3.0, earliest_finish=7.0, latest_begin=5.0, latest_finish=9.0, total_float=2.0)
    """
    finish, latest = begin + duration, least_of([last, *latest_begins])
    return Window(begin, finish, latest - duration, latest, latest - finish)


def variance_before(begin: Value, before: Sequence[Reached], nothing: Value) -> Value:
    """The variance along the longest path to the begin of a task: of the paths that end just then, the largest.

        variance = largest_of([nothing, *[choose(each.time >= begin, each.variance, nothing) for each in before]])    [s*s]

    Takes: begin [s], nothing [s*s].
    Source: as for the expected duration.

    Shorter paths are left out, so that the finish of paths of nearly one length comes out too early.

    >>> variance_before(7.0, [Reached(5.0, 1.0), Reached(7.0, 0.5), Reached(7.0, 0.25)], 0.0)
    0.5
    """
    return largest_of([nothing, *[choose(each.time >= begin, each.variance, nothing) for each in before]])


def path_through(row: TransferTask, start: Value, variance: Value) -> Path:
    """A task at its expected duration, begun when its longest path ends: durations and variances add up.

        begin = start    [s]
        duration = expected_duration(row)    [s]
        end = Reached(start + duration, variance + duration_variance(row))    [any]

    Takes: start [s], variance [s*s].
    Source: as for the expected duration; durations are independent.

    >>> path_through(TransferTask("", "", "start", 2.0, 4.0, 12.0), 5.0, 1.0)
    Path(begin=5.0, duration=5.0, end=Reached(time=10.0, variance=3.777777777777778))
    """
    duration = expected_duration(row)
    return Path(start, duration, Reached(start + duration, variance + duration_variance(row)))


def windows(rows: Mapping[str, TransferTask], durations: Mapping[str, Value]) -> dict[str, Window]:
    """The window of each task: forward pass for the earliest times, backward pass for the latest ones."""
    order = in_order(rows)
    first_day = nothing_of(durations[order[0]])
    begins: dict[str, Value] = {}
    ends: dict[str, Value] = {}
    for name in order:
        begins[name] = begin_after(first_day, [ends[each] for each in predecessors(rows[name])])
        ends[name] = finish_after(begins[name], durations[name])
    last, found = largest_of(list(ends.values())), dict[str, Window]()
    for name in reversed(order):
        after = [found[each].latest_begin for each in order if name in predecessors(rows[each])]
        found[name] = window(begins[name], durations[name], last, after)
    return {name: found[name] for name in rows}


def nothing_of(value: Value) -> Value:
    """Nothing, in the unit of a value.

        nothing = 0.0 * value    [any]

    Takes: value [any].
    Source: arithmetic.

    >>> nothing_of(3.0)
    0.0
    """
    return 0.0 * value


def expected_paths(rows: Mapping[str, TransferTask]) -> dict[str, Path]:
    """Each task at expected durations: when it begins and ends, and the variance of the longest path to its end."""
    order = in_order(rows)
    first_day, certain = nothing_of(expected_duration(rows[order[0]])), nothing_of(duration_variance(rows[order[0]]))
    found: dict[str, Path] = {}
    for name in order:
        before = [found[each].end for each in predecessors(rows[name])]
        begin = begin_after(first_day, [each.time for each in before])
        found[name] = path_through(rows[name], begin, variance_before(begin, before, certain))
    return {name: found[name] for name in rows}


def last_of(rows: Mapping[str, TransferTask], paths: Mapping[str, Path]) -> Reached:
    """The end of the last task at expected durations, of those that no other waits for."""
    waited_for = {each for row in rows.values() for each in predecessors(row)}
    ends = [path.end for name, path in paths.items() if name not in waited_for]
    first_day, certain = nothing_of(ends[0].time), nothing_of(ends[0].variance)
    time = begin_after(first_day, [each.time for each in ends])
    return Reached(time, variance_before(time, ends, certain))


def task_times(here: Window, path: Path) -> TaskTimes:
    """The figures of a task.

        earliest_begin = here.earliest_begin
        earliest_finish = here.earliest_finish
        latest_begin = here.latest_begin
        latest_finish = here.latest_finish
        total_float = here.total_float
        expected_duration = path.duration
        expected_begin = path.begin
        expected_finish = path.end.time
        variance = path.end.variance
        deviation = path.end.variance**0.5

    Source: common practice.

    >>> found = task_times(Window(0.0, 4.0, 0.0, 4.0, 0.0), Path(0.0, 5.0, Reached(5.0, 9.0)))
    >>> found.expected_duration, found.expected_finish, found.deviation
    (5.0, 5.0, 3.0)
    """
    return TaskTimes(
        earliest_begin=here.earliest_begin,
        earliest_finish=here.earliest_finish,
        latest_begin=here.latest_begin,
        latest_finish=here.latest_finish,
        total_float=here.total_float,
        expected_duration=path.duration,
        expected_begin=path.begin,
        expected_finish=path.end.time,
        variance=path.end.variance,
        deviation=path.end.variance**0.5,
    )


def gate_times(task: TaskTimes) -> GateTimes:
    """A gate is passed when its task is finished.

        time = task.earliest_finish
        expected_time = task.expected_finish
        variance = task.variance
        deviation = task.deviation

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> gate_times(Some(earliest_finish=3.0, expected_finish=4.0, variance=0.25, deviation=0.5))
    GateTimes(time=3.0, expected_time=4.0, variance=0.25, deviation=0.5)
    """
    return GateTimes(task.earliest_finish, task.expected_finish, task.variance, task.deviation)


def work_of_delivery(case: Case, name: str, work: Sequence[TransferWork]) -> WorkOfDelivery:
    """The work of the tasks of a delivery, and what its row of deliveries.csv has beyond it.

        row = case.deliveries[name]    [any]
        of = case.transfer_resources    [any]
        staff = [each for each in work if of[each.resource].resource_type == "staff"]    [any]
        pilot = [each for each in work if of[each.resource].resource_type == "pilot_line"]    [any]
        staff_days = sum_of([0.0 * row.pilot_time, *[each.days for each in staff]])
        pilot_days = sum_of([0.0 * row.pilot_time, *[each.days for each in pilot]])
        staff_cost = sum_of([in_reporting_currency(each.days * of[each.resource].day_cost, of[each.resource].currency,
            case.money) for each in staff])
        staff_days_missing = row.days / case.constants.person - staff_days
        pilot_days_missing = row.pilot_time - pilot_days

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> people, line = Some(resource_type="staff", day_cost=5.0, currency="EUR"), Some(resource_type="pilot_line")
    >>> case = Some(transfer_resources={"people": people, "line": line}, money={"eur": Some(exchange_rate=1.0)})
    >>> case.deliveries, case.constants = {"design": Some(days=12.0, pilot_time=3.0)}, Some(person=1.0)
    >>> work_of_delivery(case, "design", [TransferWork("", "people", "home", 10.0), TransferWork("", "line", "home", 3.0)])
    WorkOfDelivery(staff_days=10.0, pilot_days=3.0, staff_cost=50.0, staff_days_missing=2.0, pilot_days_missing=0.0)
    """
    row, of = case.deliveries[name], case.transfer_resources
    staff = [each for each in work if of[each.resource].resource_type == "staff"]
    pilot = [each for each in work if of[each.resource].resource_type == "pilot_line"]
    costs = [
        in_reporting_currency(each.days * of[each.resource].day_cost, of[each.resource].currency, case.money) for each in staff
    ]
    staff_days = sum_of([0.0 * row.pilot_time, *[each.days for each in staff]])
    pilot_days = sum_of([0.0 * row.pilot_time, *[each.days for each in pilot]])
    return WorkOfDelivery(
        staff_days=staff_days,
        pilot_days=pilot_days,
        staff_cost=sum_of(costs),
        staff_days_missing=row.days / case.constants.person - staff_days,
        pilot_days_missing=row.pilot_time - pilot_days,
    )


def resource_use(available: Value, last: Value, work: Sequence[TransferWork]) -> ResourceUse:
    """What the transfer takes of a resource, over what is free of it until the last task is done.

        home_days = sum_of([0.0 * last, *[each.days for each in work if each.place == "home"]])
        site_days = sum_of([0.0 * last, *[each.days for each in work if each.place == "site"]])
        mean_load = (home_days + site_days) / (available * last)

    Takes: available [1], last [s].
    Source: common practice.

    >>> resource_use(0.5, 40.0, [TransferWork("", "", "home", 6.0), TransferWork("", "", "site", 4.0)])
    ResourceUse(home_days=6.0, site_days=4.0, mean_load=0.5)
    """
    home = sum_of([0.0 * last, *[each.days for each in work if each.place == "home"]])
    site = sum_of([0.0 * last, *[each.days for each in work if each.place == "site"]])
    return ResourceUse(home, site, (home + site) / (available * last))


def date_of(case: Case, row: Fee | Guarantee | PerformanceGuarantee) -> Value:
    """When a fee or a test is due, from the first day: of one that is counted from a gate, so long after its planned date.

        gate = 0.0 * row.time if row.counted_from == "first_day" else planned_gate(case, row.counted_from)    [s]
        date = gate + row.time    [s]

    Source: common practice.

    The planned date is that at most likely durations, as other dates of the plan are; on average gates are passed later.

    >>> from types import SimpleNamespace as Some
    >>> date_of(None, Some(counted_from="first_day", time=8.0))
    8.0
    """
    gate = nothing_of(row.time) if row.counted_from == FIRST_DAY else planned_gate(case, row.counted_from)
    return gate + row.time


def planned_gate(case: Case, name: str) -> Value:
    """The planned date of a gate."""
    project = transfer_of(case)
    assert project is not None, "a gate of a case without tasks, which the check of ids refuses"
    return project.gates[name].time


def dated(case: Case) -> Case:
    """The case with every fee and test at its date from the first day, and every fee at the probability with which it is due.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> found = dated(case).fees["acceptance"]
    >>> found.time == planned_gate(case, "acceptance"), found.probability, found.counted_from
    (True, 0.92, 'first_day')
    """

    def at_dates(rows: Mapping[str, Any]) -> dict[str, Any]:
        """Rows at their dates."""
        return {name: dataclasses.replace(row, time=date_of(case, row), counted_from=FIRST_DAY) for name, row in rows.items()}

    fees = {name: dataclasses.replace(row, probability=probability_due(case, row)) for name, row in case.fees.items()}
    tests = {table: at_dates(getattr(case, table)) for table in ("guarantees", "performance_guarantees")}
    return with_held(case, {"fees": at_dates(fees), **tests})


def probability_due(case: Case, row: Fee) -> Value:
    """The probability that a fee falls due: of one that is counted from a gate, if that is passed at all, and then its own.

        passed = 1.0 if row.counted_from == "first_day" else case.transfer_gates[row.counted_from].probability    [1]
        probability = passed * row.probability    [1]

    Source: common practice.

    Whether the gate is passed in time is another question: the fee of a late gate is late, and paid.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(transfer_gates={"test": Some(probability=0.9)})
    >>> probability_due(case, Some(counted_from="test", probability=0.5))
    0.45
    """
    if row.counted_from == FIRST_DAY:
        return row.probability
    return case.transfer_gates[row.counted_from].probability * row.probability


def transfer_of(case: Case) -> Transfer | None:
    """The transfer of a case, made once, so that dates of the plan are its figures; None for a case without transfer_tasks.csv."""
    return kept(case, "transfer", lambda: compute_transfer(case))


def compute_transfer(case: Case) -> Transfer | None:
    """The transfer of a case as a project; None for a case without transfer_tasks.csv.

    >>> from costmodel.case.load import load_case
    >>> found = compute_transfer(load_case("inputs_demo/facade"))
    >>> min(each.total_float for each in found.tasks.values())
    0.0
    """
    rows = case.transfer_tasks
    if not rows:
        return None
    planned, paths = windows(rows, {name: row.most_likely for name, row in rows.items()}), expected_paths(rows)
    tasks = {name: task_times(planned[name], paths[name]) for name in rows}
    end = last_of(rows, paths)
    finish = largest_of([each.earliest_finish for each in planned.values()])
    work = list(case.transfer_work.values())
    return Transfer(
        tasks=tasks,
        gates={
            name: gate_times(tasks[row.task])
            for name, row in case.transfer_gates.items()
        },
        deliveries={
            name: work_of_delivery(case, name, [each for each in work if rows[each.task].delivery == name])
            for name in case.deliveries
        },
        resources={
            name: resource_use(row.available, finish, [each for each in work if each.resource == name])
            for name, row in case.transfer_resources.items()
        },
        finish=finish,
        expected_finish=end.time,
        variance=end.variance,
        deviation=end.variance**0.5,
    )
