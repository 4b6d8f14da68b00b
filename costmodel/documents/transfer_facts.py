"""Plain facts of the transfer for documents: the schedule that both sides see, and what only the licensor knows of it."""

from __future__ import annotations

from typing import Any

from ..case.transfer_records import LICENSEE
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.transfer import windows
from ..present import transfer_report
from ..studies.negotiation.organisation_load import loads
from ..studies.negotiation.transfer_delay import delays
from ..studies.negotiation.transfer_spread import transfer_spread

Facts = dict[str, Any]


def transfer(case: Case, _results: Results | None = None) -> Facts:
    """Tasks and gates at most likely durations, in years: when, whose, and which fee; no people, no spread, no cost."""
    rows, year = case.transfer_tasks, to_base("year")
    planned = windows(rows, {name: row.most_likely for name, row in rows.items()}) if rows else {}
    return {
        "tasks": [
            {
                "row": f"transfer_tasks.{name}",
                "name": row.title,
                "whose": "licensee" if row.delivery == LICENSEE else "licensor",
                "begin": float(planned[name].earliest_begin) / year,
                "finish": float(planned[name].earliest_finish) / year,
            }
            for name, row in rows.items()
        ],
        "gates": [
            {
                "row": f"transfer_gates.{name}",
                "name": row.title,
                "time": float(planned[row.task].earliest_finish) / year,
                "fee": "; ".join(fee.title for fee in transfer_report.fees_of(case, name).values()) or None,
            }
            for name, row in case.transfer_gates.items()
        ],
    }


def project(case: Case, results: Results) -> Facts | None:
    """The schedule with its spread, the load of people and pilot line, and what delay costs: confidential to the licensor."""
    found = results.deal.transfer if results.has_deal else None
    if found is None:
        return None
    drawn, load, late = transfer_spread(case), loads(case), delays(case)
    return {
        "brief": transfer_report.in_brief(case, found, drawn, load, late),
        "finish": transfer_report.finish(case, found, drawn),
        "critical": transfer_report.critical_path(case, found),
        "how": transfer_report.how_drawn(drawn),
        "gates": transfer_report.gates(case, found, drawn),
        "load": transfer_report.load_words(case, load),
        "delay": transfer_report.delay_words(case, late),
        "tables": {
            "tasks": transfer_report.schedule_table(case, found, drawn).as_block(),
            "gates": transfer_report.gates_table(case, results, found, drawn).as_block(),
            "work": transfer_report.work_table(case, found).as_block(),
            "load": transfer_report.load_table(case, load).as_block(),
            "months": transfer_report.months_table(case, load).as_block(),
            "delay": transfer_report.delay_table(case, late).as_block(),
        },
    }
