"""Laws about the transfer project: every path is worked by itself; float is what a task may wait; work is counted once."""

from __future__ import annotations

import dataclasses

import numpy as np

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.transfer_records import LICENSEE, predecessors
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import Results, evaluate
from costmodel.model.plan.transfer import compute_transfer
from costmodel.studies.negotiation.guarantee_set import promises
from costmodel.studies.negotiation.organisation_load import loads, start_in
from costmodel.studies.negotiation.transfer_delay import ALL, FEES, PRODUCTION, WORK, delays
from costmodel.studies.negotiation.transfer_spread import SHAPES, drawn_durations, gate_draws, transfer_spread

from .scaling_laws import Broken, broken, times

TOLERANCE = 1e-3  # s
DRAWS = 20_000


def paths(case: Case, name: str) -> list[list[str]]:
    """Every path from the start to the end of a task."""
    waits = predecessors(case.transfer_tasks[name])
    return [[*path, name] for each in waits for path in paths(case, each)] if waits else [[name]]


def each_task_ends_after_its_longest_path(case: Case, results: Results) -> Broken:
    """By all paths one by one: earliest finish, expected finish, and the variance of the path that decides."""
    found = results.deal.transfer if results.has_deal else None
    if found is None:
        return
    rows = case.transfer_tasks
    mean = {name: row.optimistic / 6 + row.most_likely * 2 / 3 + row.pessimistic / 6 for name, row in rows.items()}
    width = {name: ((row.pessimistic - row.optimistic) / 6) ** 2 for name, row in rows.items()}
    for name, task in found.tasks.items():
        lengths = [sum(rows[each].most_likely for each in path) for path in paths(case, name)]
        decided = max((sum(mean[each] for each in path), sum(width[each] for each in path)) for path in paths(case, name))
        yield from broken(f"finish of {name}", task.earliest_finish, max(lengths))
        yield from broken(f"begin of {name}", task.earliest_begin, max(lengths) - rows[name].most_likely)
        yield from broken(f"expected finish of {name}", task.expected_finish, decided[0])
        yield from broken(f"deviation of {name}", task.deviation**2, decided[1])
        yield from broken(f"variance of {name}", task.variance, decided[1])
        yield from broken(f"expected begin of {name}", task.expected_begin + 1.0, decided[0] - mean[name] + 1.0)
        yield from broken(f"float of {name}", task.latest_begin - task.earliest_begin + 1.0, task.total_float + 1.0)
    yield from broken("finish", found.finish, max(task.earliest_finish for task in found.tasks.values()))
    yield from broken("expected finish", found.expected_finish, max(task.expected_finish for task in found.tasks.values()))
    for name, gate in found.gates.items():
        task = found.tasks[case.transfer_gates[name].task]
        yield from broken(f"gate {name}", gate.time, task.earliest_finish)
        yield from broken(f"expected gate {name}", gate.expected_time, task.expected_finish)


def work_of_tasks_is_counted_once(case: Case, results: Results) -> Broken:
    """Days of all deliveries, with those that no delivery pays for, are days of all resources."""
    found = results.deal.transfer if results.has_deal else None
    if found is None:
        return
    unpaid = [row for row in case.transfer_work.values() if case.transfer_tasks[row.task].delivery == LICENSEE]
    paid = sum(work.staff_days + work.pilot_days for work in found.deliveries.values()) + sum(row.days for row in unpaid)
    yield from broken("days", sum(use.home_days + use.site_days for use in found.resources.values()), paid)
    for name, work in found.deliveries.items():
        yield from broken(f"days of {name}", work.staff_days + work.staff_days_missing, case.deliveries[name].days)
        yield from broken(f"pilot of {name}", work.pilot_days + work.pilot_days_missing, case.deliveries[name].pilot_time)
    staff = [n for n, row in case.transfer_resources.items() if row.resource_type == "staff"]
    own = [row for row in case.transfer_work.values() if row.resource in staff and row not in unpaid]
    cost = 0.0
    for row in own:
        of = case.transfer_resources[row.resource]
        cost += row.days * of.day_cost * case.money[of.currency.lower()].exchange_rate
    yield from broken("cost of staff", sum(work.staff_cost for work in found.deliveries.values()), cost)
    for name, use in found.resources.items():
        free = case.transfer_resources[name].available * found.finish
        yield from broken(f"load of {name}", use.mean_load * free, use.home_days + use.site_days)
        home = sum(row.days for row in case.transfer_work.values() if row.resource == name and row.place == "home")
        yield from broken(f"home days of {name}", use.home_days + 1.0, home + 1.0)


def float_is_what_a_task_may_wait(case: Case) -> Broken:
    """A task longer by its float delays nothing; by a day more it delays the last task by that day."""
    before = compute_transfer(case)
    if before is None:
        return
    day = case.constants.year / 365
    for name, row in case.transfer_tasks.items():
        for more, wanted in ((0.0, 0.0), (day, day)):
            longer = dataclasses.replace(row, most_likely=row.most_likely + before.tasks[name].total_float + more)
            after = compute_transfer(dataclasses.replace(case, transfer_tasks=case.transfer_tasks | {name: longer}))
            if after is None or abs(after.finish - before.finish - wanted) > TOLERANCE:
                yield f"{name} longer by its float and {more} s"


def twice_as_long_takes_twice_as_long(case: Case) -> Broken:
    """Durations by one factor scale every time and deviation, and halve the mean load."""
    before = compute_transfer(case)
    if before is None:
        return
    estimates = ("optimistic", "most_likely", "pessimistic")
    columns = [f"transfer_tasks.{name}.{each}" for name in case.transfer_tasks for each in estimates]
    after = compute_transfer(times(case, dict.fromkeys(columns, 2.0)))
    if after is None:
        return
    for name in ("finish", "expected_finish", "deviation"):
        yield from broken(name, getattr(after, name), 2 * getattr(before, name))
    for name, use in after.resources.items():
        yield from broken(f"mean load of {name}", use.mean_load, before.resources[name].mean_load / 2)



def instalments_follow_their_gates(case: Case, results: Results) -> Broken:
    """A fee counted from a gate: its amount by both probabilities, on the quarters around the planned date and what comes after."""
    quarter = case.constants.year / 4
    for name, row in case.fees.items():
        if row.counted_from == "first_day" or row.paid_as not in case.payment_kinds:
            continue
        gate, kind = case.transfer_gates[row.counted_from], case.payment_kinds[row.paid_as]
        rows, money = case.transfer_tasks, case.money[row.currency.lower()]
        date = max(sum(rows[each].most_likely for each in path) for path in paths(case, gate.task)) + row.time
        paid = list(results.plan.payments[f"fee_{name}"].quarters.values())
        gross = row.amount * row.probability * gate.probability / (1 - kind.gross_up * kind.withholding)
        if money.change == 0.0:
            yield from broken(f"fee {name}", sum(paid), gross * money.exchange_rate)
            dated = sum(k * quarter * amount for k, amount in enumerate(paid))
            yield from broken(f"date of fee {name}", dated, date * gross * money.exchange_rate)


def guaranteed_dates_follow_their_gates(case: Case, results: Results) -> Broken:
    """The expected date is that of the longest path of means with what comes after; so are its variance, and its draws."""
    rows, month = case.transfer_tasks, case.constants.year / 12
    drawn = {each.address: each for each in promises(case, 20_000, 5)[1]} if case.acceptance_dates else {}
    for name, row in case.acceptance_dates.items():
        if row.counted_from == "first_day":
            continue
        gate, found = case.transfer_gates[row.counted_from], results.deal.acceptance_dates[name]
        moments = [
            (sum(rows[x].optimistic / 6 + rows[x].most_likely * 2 / 3 + rows[x].pessimistic / 6 for x in path),
             sum(((rows[x].pessimistic - rows[x].optimistic) / 6) ** 2 for x in path))
            for path in paths(case, gate.task)
        ]  # fmt: skip
        mean, variance = max(moments)
        yield from broken(f"expected {name}", found.expected, mean + row.expected)
        yield from broken(f"spread of {name}", found.spread**2, variance + row.spread**2)
        each, ends = drawn[f"acceptance_dates.{name}"].results, gate_draws(case, row.counted_from, 20_000, 5)
        if abs((each - ends).mean() - row.expected) > 0.05 * month + 4 * row.spread / 20_000**0.5:
            yield f"drawn date of {name}: {(each - ends).mean()} after its gate"


def draws_spread_as_their_estimates(case: Case) -> Broken:
    """Drawn durations have mean and variance of their shape; each draw ends after its longest path."""
    rows, drawn = case.transfer_tasks, {shape: drawn_durations(case.transfer_tasks, DRAWS, 3, shape) for shape in SHAPES}
    for name, row in rows.items():
        low, mode, high = row.optimistic, row.most_likely, row.pessimistic
        moments = {
            "triangular": ((low + mode + high) / 3, (low**2 + mode**2 + high**2 - low * mode - low * high - mode * high) / 18),
            "beta": ((mean := (low + 4 * mode + high) / 6), (mean - low) * (high - mean) / 7),
        }
        for shape, (mean, variance) in moments.items():
            found = drawn[shape][name]
            if abs(found.mean() - mean) > 5 * (variance / DRAWS) ** 0.5:
                yield f"mean of {name}, {shape}: {found.mean()} is not {mean}"
            if abs(found.var() - variance) > 0.1 * variance:
                yield f"variance of {name}, {shape}: {found.var()} is not {variance}"
    ties = np.corrcoef([found for found in drawn["triangular"].values() if found.std() > 0]) - np.eye(len(rows))
    if np.abs(ties).max() > 5 / DRAWS**0.5:
        yield f"durations move together: {np.abs(ties).max()}"
    found, durations = transfer_spread(case, DRAWS, 3), drawn["triangular"]
    lengths = {name: [sum(durations[each] for each in path) for path in paths(case, name)] for name in rows}
    ends = np.max([length for each in lengths.values() for length in each], axis=0)
    yield from broken("mean", found.mean, float(ends.mean()))
    yield from broken("median", found.finish[1].value, float(np.median(ends)))
    whole = [path for name in rows for path in paths(case, name)]
    for name in rows:
        through = np.max([sum(durations[each] for each in path) for path in whole if name in path], axis=0)
        yield from broken(f"criticality of {name}", found.criticality[name] + 1, float((ends - through < 1.0).mean()) + 1)
    for name, row in case.transfer_gates.items():
        planned = max(sum(rows[each].most_likely for each in path) for path in paths(case, row.task))
        passed = np.max(lengths[row.task], axis=0) <= planned + TOLERANCE
        yield from broken(f"gate {name} in time", found.gates[name].in_time + 1, float(passed.mean()) + 1)


def load_is_all_the_work_month_by_month(case: Case) -> Broken:
    """Over all months a load adds up to the work; what is expected is between nothing of a commitment and all of it."""
    day, month = case.constants.year / 365, case.constants.year / 12
    for start in (0.0, 2.5):
        for load in loads(case, [start]):
            own = sum(row.days for row in case.transfer_work.values() if row.resource == load.resource) / day
            yield from broken(f"work of {load.resource}", float(load.own.sum()), own)
            rows = [row for row in case.commitments.values() if row.resource == load.resource]
            every = sum(row.load * (row.end - row.begin) for row in rows) / day
            likely = sum(row.probability * row.load * (row.end - row.begin) for row in rows) / day
            yield from broken(f"all others of {load.resource}", float(load.others_if_all.sum()) + 1, every + 1)
            yield from broken(f"others of {load.resource}", float(load.others.sum()) + 1, likely + 1)
            yield from broken(f"free of {load.resource}", load.free, case.transfer_resources[load.resource].available * month / day)
    for load, later in zip(loads(case, count=30), loads(case, [3.0], count=30)):
        if not np.allclose(later.own[3:], load.own[:-3]):
            yield f"{load.resource}: a start three months later is not the same work three months later"


def a_start_is_free_where_it_is_said_to_be(case: Case) -> Broken:
    """The first possible start has no overload in months with work of the transfer; every month before it has."""
    for all_come in (False, True):
        for month in range(14):
            over = any(
                o > 1e-6 and w > 1e-6 for each in loads(case, [month]) for o, w in zip(each.over(all_come), each.own)
            )
            found = start_in(case, month)
            if bool(found.conflicts[all_come]) != over:
                yield f"a start in {month}: {found.conflicts[all_come]}"
            if (found.first[all_come] == month) == over:
                yield f"the first start from {month} on: {found.first[all_come]}, overload {over}"


def a_delay_moves_what_it_says(case: Case) -> Broken:
    """Each part by the model as it is, changed by hand; all together by all of them."""
    month, now = case.constants.year / 12, evaluate(case).deal
    found = delays(case, (2.0,))
    fees = {f"fees.{name}.time": 2 * month for name, row in case.fees.items() if row.counted_from != "first_day"}
    work = {f"deliveries.{name}.end": 2 * month for name in case.deliveries} | {"licensor.damages_time": 2 * month}
    work |= {f"guarantees.{name}.time": 2 * month for name in case.guarantees}
    work |= {f"performance_guarantees.{name}.time": 2 * month for name in case.performance_guarantees}
    work |= {f"acceptance_dates.{name}.expected": 2 * month for name in case.acceptance_dates}
    parts = dict(zip((PRODUCTION, FEES, WORK), ({"schedule.delay": 2 * month}, fees, work)))
    parts[ALL] = {address: more for part in parts.values() for address, more in part.items()}
    for name, moves in parts.items():
        later = evaluate(with_values(case, {a: value_at(case, a) + more for a, more in moves.items()})).deal
        for side in ("licensor", "licensee"):
            wanted = getattr(later, side).gain - getattr(now, side).gain
            if abs(float(getattr(found.moves[name], side)[0]) - wanted) > 1e-6 * (1 + abs(wanted)):
                yield f"{name}, {side}: {getattr(found.moves[name], side)[0]} is not {wanted}"


TRANSFER_LAWS_OF_ONE_CASE = (
    each_task_ends_after_its_longest_path, work_of_tasks_is_counted_once, instalments_follow_their_gates,
    guaranteed_dates_follow_their_gates,
)  # fmt: skip
TRANSFER_LAWS_OF_CHANGES = (
    float_is_what_a_task_may_wait, twice_as_long_takes_twice_as_long, draws_spread_as_their_estimates,
    load_is_all_the_work_month_by_month, a_start_is_free_where_it_is_said_to_be, a_delay_moves_what_it_says,
)  # fmt: skip


def violated_by_transfer(case: Case) -> list[str]:
    """What the laws find in a case with a transfer."""
    results = evaluate(case)
    found = [f"{law.__name__}: {message}" for law in TRANSFER_LAWS_OF_ONE_CASE for message in law(case, results)]
    return found + [f"{law.__name__}: {message}" for law in TRANSFER_LAWS_OF_CHANGES for message in law(case)]
