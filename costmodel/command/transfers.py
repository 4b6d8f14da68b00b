"""The transfer as a project: schedule, gates, load of people and pilot line, a later start, delay."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from .answering import View
from .opening import Asked, OutFile, refuse, refusing
from .subjects import SubjectCommand, option

if TYPE_CHECKING:
    from ..model.plan.transfer_figures import Transfer
    from ..studies.negotiation.transfer_spread import TransferSpread

transfer = SubjectCommand("transfer", stage="deal.transfer")

DRAWS = option("--draws", default=20_000, type=click.IntRange(10, 10_000_000), help="Draws of the durations.")
SEED = option("--seed", default=0, type=click.IntRange(0), help="The seed of all draws, a whole number from 0.")
SHAPE = option(
    "--shape",
    default="triangular",
    type=click.Choice(["triangular", "beta"]),
    help="How durations are distributed between their estimates.",
)
CHART = option("--chart", type=OutFile(), help="Write the chart of the tasks to this HTML file, which opens offline.")
LOAD_CHART = option("--load-chart", type=OutFile(), help="Write the chart of the load to this HTML file, which opens offline.")


def _project(asked: Asked) -> Transfer | None:
    """The figures of the project; None where the case has none."""
    return asked.results.deal.transfer if asked.results.has_deal else None


def _none(asked: Asked) -> View:
    """What is said of a case without a project."""
    from ..present import deal_report, transfer_report

    return View(asked.case.title, [transfer_report.NO_PROJECT if asked.results.has_deal else deal_report.NO_DEAL])


def _drawn(asked: Asked, draws: int, seed: int, shape: str) -> TransferSpread:
    """The spread of the schedule."""
    from ..studies.negotiation.transfer_spread import transfer_spread

    return transfer_spread(asked.case, draws, seed, shape)


@transfer.answer(DRAWS, SEED, SHAPE, CHART)
def schedule(asked: Asked, draws: int, seed: int, shape: str, chart: Path | None) -> View:
    """When the transfer is finished, with its spread, its critical path, each task; by subject gates, load, starts, delay."""
    from ..present import transfer_charts, transfer_report
    from .printing import save_chart

    found = _project(asked)
    if found is None:
        return _none(asked)
    case, drawn = asked.case, _drawn(asked, draws, seed, shape)
    said = [
        transfer_report.finish(case, found, drawn),
        transfer_report.critical_path(case, found),
        transfer_report.how_drawn(drawn),
        transfer_report.CAUTIONS,
    ]
    save_chart(chart, case, "Tasks of the transfer", lambda: (transfer_charts.tasks_chart(case, found, drawn), said))
    return View(case.title, said, [transfer_report.schedule_table(case, found, drawn)])


@transfer.subject("gates", DRAWS, SEED, SHAPE)
def gates(asked: Asked, draws: int, seed: int, shape: str) -> View:
    """When each gate is passed, with its spread, what it pays, and the probability to pass in time for its fee."""
    from ..present import transfer_report

    found = _project(asked)
    if found is None:
        return _none(asked)
    case, drawn = asked.case, _drawn(asked, draws, seed, shape)
    tables = [transfer_report.gates_table(case, asked.results, found, drawn)] if case.transfer_gates else []
    return View(case.title, transfer_report.gates(case, found, drawn), tables)


@transfer.subject("work")
def work(asked: Asked) -> View:
    """The work of each delivery by its tasks, against deliveries.csv."""
    from ..present import transfer_report

    found = _project(asked)
    if found is None:
        return _none(asked)
    said = [transfer_report.pays_for_load(asked.case, asked.results)]
    return View(asked.case.title, said, [transfer_report.work_table(asked.case, found)])


@transfer.subject("load", LOAD_CHART)
def load(asked: Asked, load_chart: Path | None) -> View:
    """People and pilot line by month, over this transfer and all commitments; who is overloaded."""
    from ..present import transfer_charts, transfer_report
    from ..studies.negotiation.organisation_load import loads
    from .printing import save_chart

    if _project(asked) is None:
        return _none(asked)
    case = asked.case
    found = loads(case)
    said = transfer_report.load_words(case, found)
    save_chart(load_chart, case, "Load of people and pilot line", lambda: (transfer_charts.load_chart(case, found), said))
    return View(case.title, said, [transfer_report.load_table(case, found), transfer_report.months_table(case, found)])


@transfer.subject(
    "start",
    option("--month", metavar="MONTH", default="1", help="The month of the start: a number from 1, or a month as 2027-03."),
    option("--beside", is_flag=True, help="Ask about a further transfer like this one, while this one runs from the first day."),
)
def start(asked: Asked, month: str, beside: bool) -> View:
    """Whether the transfer, or with --beside a further one, can begin in a month; what stands against it; the first month."""
    from ..present import transfer_report
    from ..studies.negotiation.organisation_load import LONGEST, start_in

    if _project(asked) is None:
        return _none(asked)
    case = asked.case
    number = transfer_report.month_of(case, month)
    if number is None or number > LONGEST:
        known = case.plan.schedule.first_month
        dated = f", or a month from {known} on, as {known}" if known else "; a calendar month with schedule.first_month stated"
        refuse(f"--month: found '{month}'; allowed: a number from 1 to {LONGEST + 1}{dated}")
    found = start_in(case, number, beside)
    return View(case.title, transfer_report.start_words(case, found), [transfer_report.start_table(case, found)])


@transfer.subject(
    "delay",
    option("--months", multiple=True, type=click.FloatRange(0, 120, min_open=True), help="Months of delay; may be given again."),
)
def delay(asked: Asked, months: tuple[float, ...]) -> View:
    """What months of delay cost each side, by part: production, fees of gates, work and tests."""
    from ..present import transfer_report
    from ..studies.negotiation.transfer_delay import MONTHS, delays

    if _project(asked) is None:
        return _none(asked)
    with refusing():
        found = delays(asked.case, months or MONTHS)
    return View(asked.case.title, transfer_report.delay_words(asked.case, found), [transfer_report.delay_table(asked.case, found)])
