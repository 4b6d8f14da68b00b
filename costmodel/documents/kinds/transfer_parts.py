"""The schedule of the transfer with its gates, as both sides may see it; and, inside, its spread, load and cost of delay."""

from __future__ import annotations

from collections.abc import Mapping

from ...present.palette import COLOURS, INK
from .. import svg_pictures
from .blocks import Block, Facts, heading, items, picture, table, words
from .deal_parts import between, when

DAY = 1 / 365  # of a year


def gate_table(facts: Facts) -> list[Block]:
    """When the gates of the transfer are passed and which fee that makes due; nothing where the case has none."""
    gates = (facts.get("transfer") or {}).get("gates") or []
    dates = {fee["title"]: fee["time"] for fee in (facts.get("licence") or {}).get("fees") or [] if "time" in fee}
    rows = [[each["name"], when(each["time"]), _due(each, dates)] for each in gates]
    note = "At the durations that are planned. They are no promise, and later dates move what depends on them."
    return [table("Gates of the transfer", ["", "passed", "fee due"], rows, note, texts=(0, 1, 2))] if rows else []


def _due(gate: Facts, dates: Mapping[str, float]) -> str:
    """The fees that a gate makes due, with their date where it is another than that of the gate.

    >>> _due({"time": 0.5, "fee": "design; frozen"}, {"design": 0.5, "frozen": 0.75}), _due({"time": 0.5, "fee": None}, {})
    ('design; frozen, after 9 months', 'none')
    """
    fees = (gate["fee"] or "none").split("; ")
    later = [f", {when(dates[fee])}" if fee in dates and abs(dates[fee] - gate["time"]) > DAY else "" for fee in fees]
    return "; ".join(f"{fee}{more}" for fee, more in zip(fees, later))


def task_blocks(facts: Facts) -> list[Block]:
    """A picture of tasks and gates of the transfer, and who does which task; nothing where the case has none."""
    found = facts.get("transfer") or {}
    tasks, gates = found.get("tasks") or [], found.get("gates") or []
    if not tasks:
        return []
    rows = [(each["name"], each["begin"], each["finish"], _span(each), _colour(each)) for each in tasks]
    rows += [(each["name"], each["time"], each["time"], when(each["time"]), INK) for each in gates]
    rows.sort(key=lambda row: (row[1], row[2]))
    says = "Tasks and gates of the transfer in years from the first day: " + "; ".join(f"{row[0]}: {row[3]}" for row in rows) + "."
    whose = [[each["name"], f"the {each['whose']}", _span(each)] for each in tasks]
    return [
        picture("transfer", svg_pictures.timeline(rows, "years from the first day", says), says),
        table("Tasks of the transfer", ["", "done by", "when"], whose, texts=(0, 1, 2)),
    ]


def _span(task: Facts) -> str:
    """From when to when a task runs, to a tenth of a month."""
    return between({"begin": round(task["begin"] * 120) / 120, "end": round(task["finish"] * 120) / 120})


def _colour(task: Facts) -> str:
    return COLOURS["licensee" if task["whose"] == "licensee" else "licensor"]


def inside_blocks(facts: Facts) -> list[Block]:
    """Finish, overload and delay, in a paragraph; the rest stands in the annex."""
    found = facts["project"]
    return [] if found is None else [words(found["brief"])]


def inside_tables(facts: Facts) -> list[Block]:
    """The project in full: sentences and all tables."""
    found = facts["project"]
    if found is None:
        return []
    lines = [found["finish"], found["critical"], *found["gates"], *found["load"], *found["delay"]]
    return [heading("The transfer, task by task"), items(lines), words(found["how"], "note"), *found["tables"].values()]
