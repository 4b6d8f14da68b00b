"""Figures of the transfer as a project: when each task and gate comes, and what the work is of deliveries and of resources."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure
from ...core.operations import Value


@dataclass(frozen=True, slots=True)
class TaskTimes:
    """When a task is done: at most likely durations by critical path, and at expected ones."""

    earliest_begin: Value = figure("month", "earliest begin, from the first day, at most likely durations")
    earliest_finish: Value = figure("month", "earliest finish")
    latest_begin: Value = figure("month", "latest begin that does not delay the last task")
    latest_finish: Value = figure("month", "latest finish that does not delay the last task")
    total_float: Value = figure("month", "how much later it may be done without delaying the last task; 0 on the critical path")
    expected_duration: Value = figure("month", "expected duration of the three estimates, the most likely one weighted by four")
    expected_begin: Value = figure("month", "earliest begin at expected durations")
    expected_finish: Value = figure("month", "earliest finish at expected durations")
    variance: Value = figure("month*month", "variance of that, of the tasks along its longest path")
    deviation: Value = figure("month", "standard deviation of that: the root of the variance")


@dataclass(frozen=True, slots=True)
class GateTimes:
    """When a gate is passed: with the task that ends it."""

    time: Value = figure("month", "when it is passed, from the first day, at most likely durations")
    expected_time: Value = figure("month", "when it is passed at expected durations")
    variance: Value = figure("month*month", "variance of that, of the tasks along its longest path")
    deviation: Value = figure("month", "standard deviation of that: the root of the variance")


@dataclass(frozen=True, slots=True)
class WorkOfDelivery:
    """The work of all tasks of one delivery, beside its row of deliveries.csv."""

    staff_days: Value = figure("day", "working days of people in transfer_work.csv")
    pilot_days: Value = figure("day", "days of the pilot line there")
    staff_cost: Value = figure("money", "these working days at the cost of each resource")
    staff_days_missing: Value = figure("day", "working days of deliveries.csv, before overrun, that no task has; minus: too many")
    pilot_days_missing: Value = figure("day", "days of the pilot line of deliveries.csv that no task has; minus: too many")


@dataclass(frozen=True, slots=True)
class ResourceUse:
    """What the transfer takes of one resource."""

    home_days: Value = figure("day", "working days at home")
    site_days: Value = figure("day", "working days on the licensee's site")
    mean_load: Value = figure("%", "these days over those that are free until the last task is done")


@dataclass(frozen=True, slots=True)
class Transfer:
    """The transfer as a project."""

    tasks: dict[str, TaskTimes]
    gates: dict[str, GateTimes]
    deliveries: dict[str, WorkOfDelivery]
    resources: dict[str, ResourceUse]
    finish: Value = figure("month", "when the last task is done, from the first day, at most likely durations")
    expected_finish: Value = figure("month", "when the last task is done at expected durations, by the longest path")
    variance: Value = figure("month*month", "variance of that, of the tasks along the longest path")
    deviation: Value = figure("month", "standard deviation of that: the root of the variance")
