"""The transfer as a project: schedule, gates, load of people and pilot line, possible starts, delay; sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.deal_records import Fee
from ..case.transfer_records import LICENSEE
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.transfer_figures import GateTimes, Transfer
from ..studies.negotiation.organisation_load import SLACK, Conflict, Load, Start
from ..studies.negotiation.transfer_delay import ALL, Delay
from ..studies.negotiation.transfer_spread import CRITICAL, TransferSpread
from ..studies.spread import Quantile
from .deal_report import in_money, ours
from .numbers import NOT_APPLICABLE, amount, fixed, many, named, people, percent, signed, stated
from .table import Table, table_of

NO_PROJECT = "The case has no transfer_tasks.csv, so no schedule of the transfer is computed."
CAUTIONS = (
    "A schedule of this kind is an estimate. Permits, suppliers and the licensee's own work are for the people who know them. "
    "Hours and leave of people follow local law."
)
MONTH, DAY = to_base("month"), to_base("day")


def months(time: float) -> str:
    """A time in months, as a table shows it.

    >>> months(7.5 * MONTH), months(0.0)
    ('7.5', '0')
    """
    return fixed(time / MONTH, 1) if abs(time / MONTH) >= 0.05 else "0"


def calendar(case: Case, month: int) -> str:
    """The calendar month that so many months after the first day is, where the plan states the first; else its number.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(schedule=Some(first_month="2027-01")))
    >>> calendar(case, 2), calendar(case, 14), calendar(Some(plan=Some(schedule=Some(first_month=""))), 2)
    ('2027-03', '2028-03', 'month 3')
    """
    first = case.plan.schedule.first_month
    if not first:
        return f"month {month + 1}"
    year, number = divmod(int(first[:4]) * 12 + int(first[5:]) - 1 + month, 12)
    return f"{year}-{number + 1:02d}"


def month_of(case: Case, written: str) -> int | None:
    """How many months after the first day a month is: a number from 1, or a calendar month; None for what is neither.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(plan=Some(schedule=Some(first_month="2027-01")))
    >>> month_of(case, "2027-03"), month_of(case, "3"), month_of(case, "March")
    (2, 2, None)
    """
    first, text = case.plan.schedule.first_month, written.strip()
    if text.isdigit() and int(text) >= 1:
        return int(text) - 1
    year, sign, month = text.partition("-")
    if not (first and sign and year.isdigit() and month.isdigit() and 1 <= int(month) <= 12):
        return None
    found = (int(year) - int(first[:4])) * 12 + int(month) - int(first[5:])
    return found if found >= 0 else None


def sampling(found: Sequence[Quantile]) -> str:
    """How far the draws leave quantiles of a time uncertain."""
    return f"Sampling leaves each quantile within ± {people(max(each.reach for each in found) / MONTH, 1)} months (95 %)."


# the schedule


def finish(case: Case, found: Transfer, drawn: TransferSpread) -> str:
    """When the transfer is finished, and how that spreads."""
    low, middle, high = (months(each.value) for each in drawn.finish)
    return (
        f"At most likely durations the transfer takes {months(found.finish)} months. "
        f"Over {drawn.draws:,} draws of the durations, half of the transfers take more than {middle} months. "
        f"One in ten takes less than {low} months, one in ten more than {high} months. {sampling(drawn.finish)} "
        f"By the formula of three estimates the mean is {months(found.expected_finish)} months, the standard deviation "
        f"{months(found.deviation)} months."
    )


def in_brief(case: Case, found: Transfer, drawn: TransferSpread, load: Sequence[Load], late: Delay) -> str:
    """Finish, overload and the first delay in a paragraph."""
    _, middle, high = (months(each.value) for each in drawn.finish)
    full = [case.transfer_resources[each.resource].title for each in load if (each.over(all_come=False) > SLACK).any()]
    over = f"Overloaded in some month, commitments by their probability: {named(full)}." if full else "No resource is overloaded."
    first = f"The transfer is planned to take {months(found.finish)} months; over draws of durations P50 is {middle}, P90 {high}."
    sampled = sampling(drawn.finish[1:])
    return " ".join([first, sampled, over, *delay_words(case, late)[:2]])


def critical_path(case: Case, found: Transfer) -> str:
    """The tasks without float."""
    path = [case.transfer_tasks[name].title for name, each in found.tasks.items() if each.total_float < CRITICAL]
    return f"On the critical path at most likely durations: {named(path)}."


def how_drawn(drawn: TransferSpread) -> str:
    """How durations are drawn, and what that leaves out."""
    shape = "triangular" if drawn.shape == "triangular" else "beta, with weight four on the most likely value"
    return (
        f"Durations are drawn {shape}, each independent of the others, seed {drawn.seed}. "
        "A cause that delays several tasks at once would widen the spread."
    )


def schedule_table(case: Case, found: Transfer, drawn: TransferSpread) -> Table:
    """Each task: its window, its float, and how often it is on the critical path."""
    columns = {
        "": lambda name, row, task: row.title,
        "delivery": lambda name, row, task: (
            LICENSEE if row.delivery == LICENSEE else case.deliveries[row.delivery].title
        ),
        "begin": lambda name, row, task: months(task.earliest_begin),
        "finish": lambda name, row, task: months(task.earliest_finish),
        "latest finish": lambda name, row, task: months(task.latest_finish),
        "float": lambda name, row, task: months(task.total_float),
        "expected duration": lambda name, row, task: months(task.expected_duration),
        "critical": lambda name, row, task: percent(drawn.criticality[name], 2),
    }
    things = ((name, row, found.tasks[name]) for name, row in case.transfer_tasks.items())
    note = (
        "Begin, finish and float by critical path at most likely durations. Critical: part of the draws in which the task has no "
        "float. Expected duration: three estimates, the most likely one weighted by four."
    )
    return table_of("Tasks of the transfer, months from the first day", things, columns, note=note, texts=(0, 1))


# gates


def gates(case: Case, found: Transfer, drawn: TransferSpread) -> list[str]:
    """When each gate is passed, whether at all, whether by its planned date, and what it pays."""
    lines = []
    for name, row in case.transfer_gates.items():
        gate, spread = found.gates[name], drawn.gates[name]
        low, middle, high = (months(each.value) for each in spread.quantiles)
        line = (
            f"“{row.title}” is planned for month {months(gate.time)}: P10 {low}, P50 {middle}, P90 {high}. "
            f"It is passed at all with a probability of {percent(row.probability, 2)}, as stated; by its planned date with "
            f"{percent(spread.in_time, 2)} (by the formula {percent(spread.in_time_by_formula, 2)})."
        )
        for fee in fees_of(case, name).values():
            line += f" It pays {amount(fee.amount, fee.currency)}, counted by the first of the two and dated {_after(fee, gate)}."
        lines.append(line)
    return lines


def _after(fee: Fee, gate: GateTimes) -> str:
    """When the instalment of a gate is due in the plan."""
    later = f", {months(fee.time)} months after it" if fee.time else ""
    return f"in month {months(gate.time + fee.time)}{later}"


def fees_of(case: Case, gate: str) -> dict[str, Fee]:
    """The fees that are counted from a gate."""
    return {name: row for name, row in case.fees.items() if row.counted_from == gate}


def gates_table(case: Case, results: Results, found: Transfer, drawn: TransferSpread) -> Table:
    """Each gate: when it is passed, what it pays, and what of that is left to the licensor."""
    rows = []
    for name, row in case.transfer_gates.items():
        gate, spread, fees = found.gates[name], drawn.gates[name], fees_of(case, name)
        times = [months(gate.time), *(months(each.value) for each in spread.quantiles)]
        chances = [percent(row.probability, 2), percent(spread.in_time, 2)]
        pays = [NOT_APPLICABLE] * 2
        if fees:
            left = sum(results.deal.by_heading[f"fee_{each}"].licensor_net for each in fees)
            pays = ["; ".join(amount(fee.amount, fee.currency) for fee in fees.values()), people(left)]
        rows.append([row.title, case.transfer_tasks[row.task].title, *times, *chances, *pays])
    columns = ["", "passed with", "planned", "P10", "P50", "P90", "passed at all", "by its planned date", "fee",
               f"left, {case.currency}"]  # fmt: skip
    note = (
        f"Months from the first day. {sampling([each for gate in drawn.gates.values() for each in gate.quantiles])} "
        "Passed at all: stated in transfer_gates.csv; fees are counted by it, at the planned date. By "
        "its planned date: over draws of the durations, if it is passed. Left: present value to the licensor after withholding "
        "tax and inventors."
    )
    return Table("Gates of the transfer, and what they pay", columns, rows, note, texts=(0, 1))


# work of deliveries


def work_table(case: Case, found: Transfer) -> Table:
    """The work of each delivery by its tasks, beside its row of deliveries.csv, which the cost follows."""
    rows = []
    for name, each in found.deliveries.items():
        row = case.deliveries[name]
        stated_cost = row.days * row.day_cost
        rows.append([
            row.title, people(row.days / DAY), people(each.staff_days / DAY), people(row.pilot_time / DAY),
            people(each.pilot_days / DAY), amount(stated_cost, row.currency), in_money(case, each.staff_cost),
        ])  # fmt: skip
    columns = ["", "days stated", "days of tasks", "pilot line stated", "pilot line of tasks", "cost stated", "cost of tasks"]
    note = "Stated: deliveries.csv, before overrun, which the deal counts. Tasks state when and by whom, and are not counted again."
    return Table("Work of each delivery, as stated and by its tasks", columns, rows, note)


# load


def load_words(case: Case, found: Sequence[Load]) -> list[str]:
    """Who is overloaded, when and by how much."""
    lines = []
    for load in found:
        title = case.transfer_resources[load.resource].title
        for all_come, words in ((False, "with commitments by their probability"), (True, "if all commitments come")):
            over = load.over(all_come)
            late = [k for k in range(len(over)) if over[k] > SLACK]
            if late:
                worst = max(late, key=lambda k: over[k])
                lines.append(
                    f"“{title}”: {many(len(late), 'month')} above what is free {words}, "
                    f"the most in {calendar(case, worst)} by {people(over[worst])} days."
                )
    return lines or ["No resource is overloaded in any month, even if all commitments come."]


def load_table(case: Case, found: Sequence[Load]) -> Table:
    """Each resource: what is free, its fullest month with the transfer, and how many months are overloaded."""
    rows = []
    for load in found:
        worst, fullest = int(load.total(False).argmax()), int(load.total(True).argmax())
        rows.append([
            case.transfer_resources[load.resource].title, people(load.free), people(float(load.own.sum())),
            people(float(load.total(False)[worst])), calendar(case, worst),
            people(float(load.total(True)[fullest])), calendar(case, fullest),
            f"{int((load.over(False) > SLACK).sum())}", f"{int((load.over(True) > SLACK).sum())}",
        ])  # fmt: skip
    columns = ["", "free a month", "this transfer", "fullest month", "which", "fullest if all come", "which then"]
    columns += ["overloaded", "overloaded if all come"]
    note = (
        "Working days. The fullest month counts commitments by their probability, “if all come” each in full. Overloaded: number "
        "of months."
    )
    return Table("Load of people and pilot line", columns, rows, note, texts=(0, 4, 6))


def months_table(case: Case, found: Sequence[Load]) -> Table:
    """The load of every resource month by month, over what is free of it."""
    count = len(found[0].own) if found else 0
    rows = [
        [calendar(case, k), *(f"{people(load.total(False)[k])} ({people(load.total(True)[k])})" for load in found)]
        for k in range(count)
    ]
    columns = ["", *(f"{case.transfer_resources[load.resource].title} of {people(load.free)}" for load in found)]
    note = "Working days by expectation, in brackets if all commitments come; in the heading what is free in a month."
    return Table("Load by month", columns, rows, note)


# a start


def start_words(case: Case, found: Start) -> list[str]:
    """Whether a start is possible, what stands against it, and when it is."""
    wanted = calendar(case, found.month)
    what = "A further transfer like this one" if found.beside else "The transfer"
    expected, every = found.conflicts
    first = (
        f"{what} can begin in {wanted}: nobody is overloaded, commitments counted by their probability."
        if not expected
        else f"{what} cannot begin in {wanted} without overload, even with commitments counted by their probability."
    )
    lines = [first]
    if expected or every:
        lines += [_first_start(case, found, 0, "by expectation"), _first_start(case, found, 1, "if all commitments come")]
    by_resource: dict[str, list[Conflict]] = {}
    for each in expected or every:
        by_resource.setdefault(each.resource, []).append(each)
    worst_of = {resource: max(conflicts, key=lambda each: each.over) for resource, conflicts in by_resource.items()}
    for resource, worst in sorted(worst_of.items(), key=lambda pair: -pair[1].over):
        conflicts = by_resource[resource]
        months_ = [calendar(case, conflicts[0].month), calendar(case, conflicts[-1].month)]
        span = months_[0] if months_[0] == months_[1] else f"{months_[0]} to {months_[1]}"
        condition = "" if expected else " if all commitments come"
        lines.append(
            f"“{case.transfer_resources[resource].title}” is over what is free{condition} in {span}, by up to "
            f"{people(worst.over)} days a month. {_beside_it(case, worst)}"
        )
    return lines


def _beside_it(case: Case, worst: Conflict) -> str:
    """The commitments of a resource in the month in which it is over by most."""
    commitments = named(case.commitments[name].title for name in worst.commitments)
    return f"Commitments in the worst month, {calendar(case, worst.month)}: {commitments or 'none'}."


def _first_start(case: Case, found: Start, which: int, words: str) -> str:
    """The first month from the wanted one on that is free of conflicts."""
    month = found.first[which]
    if month is None:
        return f"No start within ten years of the first day is without overload {words}: the work alone exceeds what is free."
    return f"The first possible start {words} is {calendar(case, month)}."


def start_table(case: Case, found: Start) -> Table:
    """Every month and resource that stands against the start."""
    expected, every = found.conflicts
    sure = {(each.month, each.resource): each.over for each in expected}
    rows = [
        [calendar(case, each.month), case.transfer_resources[each.resource].title,
         people(sure.get((each.month, each.resource), 0.0)), people(each.over),
         "; ".join(case.commitments[name].title for name in each.commitments)]
        for each in every
    ]  # fmt: skip
    columns = ["", "resource", "days above", "if all come", "commitments then"]
    return Table(f"What stands against a start in {calendar(case, found.month)}", columns, rows, texts=(0, 1, 4))


# delay


def delay_words(case: Case, found: Delay) -> list[str]:
    """What the first delay costs each side."""
    both, shown = found.moves[ALL], many_months(found.months[0])
    licensor, licensee = float(both.licensor[0]), float(both.licensee[0])
    moves = "moves" if found.months[0] == 1 else "move"
    return [
        f"{shown[:1].upper()}{shown[1:]} of delay {moves} the licensor's gain by {_signed_money(case, licensor)}.",
        f"The licensee's gain moves by {_signed_money(case, licensee)}.",
        "Capital is paid as planned; production, fees of gates, work, tests and damages come later. Days of work stay as they are.",
    ]


def _signed_money(case: Case, value: float) -> str:
    return f"{case.currency} {signed(value)}"


def many_months(count: float) -> str:
    """A number of months in words.

    >>> many_months(1.0), many_months(6.0)
    ('one month', '6 months')
    """
    return "one month" if count == 1 else f"{stated(count)} months"


def delay_table(case: Case, found: Delay) -> Table:
    """What each part of a delay moves, for several delays."""
    columns = ["", *(f"{side}, {many_months(each)}" for each in found.months for side in ("licensor", "licensee"))]
    rows = [
        [part, *(signed(float(value)) for k in range(len(found.months)) for value in (gains.licensor[k], gains.licensee[k]))]
        for part, gains in found.moves.items()
    ]
    note = "Gains are present values at day one, at each party's discount rate, above floor and best alternative."
    if case.other_ways:
        note += " The licensee's other ways are not late because we are."
    return Table(f"What a delay moves, {case.currency} of gain", columns, rows, note)


def pays_for_load(case: Case, results: Results) -> str:
    """What of the floor is the work of the deliveries."""
    own = results.deal.licensor
    return f"The floor counts {ours(case, own.work + own.pilot_time)} for working days and pilot line, by deliveries.csv."
