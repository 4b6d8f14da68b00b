"""What is odd in the transfer project: dates, days and costs of its tasks that differ from the terms and from deliveries.csv."""

from __future__ import annotations

from collections.abc import Iterator

from ...case.transfer_records import FIRST_DAY, LICENSEE, tasks_up_to
from ...case.whole_case import Case
from ...core.units import to_base
from ...model.evaluate import Results
from ...model.ledger.landed_prices import in_reporting_currency
from ...model.plan.transfer_figures import Transfer

MONTH, DAY = to_base("month"), to_base("day")
NEAR = 1.05  # months between a date of the terms and that of the schedule; common practice: terms are in whole months
SMALL_PART = 0.005  # of the working days of a delivery
FAR_COST = 0.1  # of the cost of a delivery
FAR_AFTER = 0.5  # of the time to a gate: what comes so long after it was meant from the first day


def odd_transfer(case: Case, results: Results) -> Iterator[str]:
    """Where tasks and terms do not say the same; nothing for a case without tasks.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.changes import with_values
    >>> from costmodel.model.evaluate import evaluate
    >>> case = with_values(load_case("inputs_demo/facade"), {"transfer_work.basis_lead.days": 50 * DAY})
    >>> next(odd_transfer(case, evaluate(case)))
    'deliveries.design.days is 420 days, the tasks of the delivery have 450 in transfer_work.csv'
    """
    found = results.deal.transfer if results.has_deal else None
    if found is None:
        return
    yield from _odd_work(case, found)
    yield from _odd_dates(case, found)
    yield from _odd_start(case, found)


def _odd_start(case: Case, found: Transfer) -> Iterator[str]:
    """The start of production lies between the end of the licensee's building and the first gate after it, give or take a month.

    That end is the last gate whose task is the licensee's, or without one the last of its tasks.
    """
    own = [name for name, row in case.transfer_tasks.items() if row.delivery == LICENSEE]
    ends = [row.task for row in case.transfer_gates.values() if row.task in own] or own
    if not ends:
        return
    last = max(ends, key=lambda task: float(found.tasks[task].earliest_finish))
    ready, start = float(found.tasks[last].earliest_finish), float(case.plan.schedule.build_time)
    planned = f"schedule.build_time is {start / MONTH:.4g} months"
    if start < ready - NEAR * MONTH:
        yield f"{planned}, before '{last}' of transfer_tasks.csv is finished in month {ready / MONTH:.4g}"
    tasks, rows = case.transfer_tasks, case.transfer_gates.items()
    after = {name: float(found.gates[name].time) for name, row in rows if last in tasks_up_to(tasks, row.task) - {row.task}}
    first = min(after, key=lambda name: after[name], default="")
    if first and start > after[first] + NEAR * MONTH:
        yield f"{planned}, after gate '{first}' of transfer_gates.csv is passed in month {after[first] / MONTH:.4g}"


def _odd_work(case: Case, found: Transfer) -> Iterator[str]:
    for name, work in found.deliveries.items():
        row = case.deliveries[name]
        if abs(work.staff_days_missing) > SMALL_PART * float(row.days):
            days = f"{row.days / DAY:.4g} days, the tasks of the delivery have {work.staff_days / DAY:.4g} in transfer_work.csv"
            yield f"deliveries.{name}.days is {days}"
        if abs(work.pilot_days_missing) > SMALL_PART * max(float(row.pilot_time), DAY):
            days = f"{row.pilot_time / DAY:.4g} days, the tasks have {work.pilot_days / DAY:.4g} in transfer_work.csv"
            yield f"deliveries.{name}.pilot_time is {days}"
        cost = float(in_reporting_currency(row.days * row.day_cost, row.currency, case.money))
        if abs(work.staff_cost - cost) > FAR_COST * cost:
            yield (
                f"deliveries.{name}: working days cost {case.currency} {cost:,.0f} by their row, "
                f"{work.staff_cost:,.0f} by the resources of its tasks"
            )
    for name, each in case.transfer_work.items():
        if case.transfer_tasks[each.task].delivery == LICENSEE:
            yield f"transfer_work.{name} is for '{each.task}', which no delivery pays for"


def _odd_dates(case: Case, found: Transfer) -> Iterator[str]:
    gates, last = case.transfer_gates, float(found.finish)
    for name, row in gates.items():
        before = tasks_up_to(case.transfer_tasks, row.task) - {row.task}
        for other, earlier in gates.items():
            if earlier.task in before and row.probability > earlier.probability:
                before_it = f"that of '{other}', which comes before, is {100 * earlier.probability:.4g} %"
                yield f"transfer_gates.{name}.probability is {100 * row.probability:.4g} %, {before_it}"
    for table in ("guarantees", "performance_guarantees"):
        for name, test in getattr(case, table).items():
            if test.counted_from == FIRST_DAY and gates and abs(float(test.time) - last) > NEAR * MONTH:
                dated = f"month {test.time / MONTH:.4g}, the transfer is planned to end in month {last / MONTH:.4g}"
                yield f"{table}.{name}.time is {dated}; 'counted_from' may name a gate"
    for name, day in case.acceptance_dates.items():
        if day.counted_from != FIRST_DAY and day.expected > FAR_AFTER * found.gates[day.counted_from].time:
            yield f"acceptance_dates.{name}.expected is {day.expected / MONTH:.4g} months after its gate, not from the first day"
    for name, delivery in case.deliveries.items():
        own = [found.tasks[task] for task, row in case.transfer_tasks.items() if row.delivery == name]
        if not own:
            yield f"deliveries.{name} has no task in transfer_tasks.csv"
            continue
        begin, end = min(float(x.earliest_begin) for x in own), max(float(x.earliest_finish) for x in own)
        if max(abs(begin - delivery.begin), abs(end - delivery.end)) > NEAR * MONTH:
            planned = f"its tasks are planned for months {begin / MONTH:.3g} to {end / MONTH:.3g}"
            yield f"deliveries.{name} runs in months {delivery.begin / MONTH:.3g} to {delivery.end / MONTH:.3g}, {planned}"
