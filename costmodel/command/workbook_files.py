"""What `costmodel workbook` does: write the workbook of a case, or read an edited one back."""

from __future__ import annotations

from pathlib import Path

from ..case.changes import apply_written
from ..case.fingerprint import fingerprint
from ..core.faults import InputFaults
from ..core.whole_files import write_whole
from ..documents.workbook.read import as_written, read_changes
from ..documents.workbook.write import workbook_bytes
from ..model.evaluate import evaluate
from ..model.scenario_saving import Words, save_scenario
from ..present import cost_report
from ..present.table import Table
from .offers import note_terms
from .opening import Asked, refuse, writing
from .screen import show_line, show_lines, show_table


def write_out(asked: Asked, out: Path | None) -> None:
    """Write the workbook of a case, whole or not at all, and never over a file that holds something else."""
    case = asked.case
    note_terms(asked, "plan", "deal")
    changed = fingerprint(case) if asked.changes or asked.use else ""
    name = "_".join(part for part in (case.name, asked.scenario, asked.round_name, changed, "workbook") if part)
    place = out or Path("reports") / f"{name}.xlsx"
    if place.suffix != ".xlsx":
        refuse(f"--out: found '{place}'; allowed: a file whose name ends in .xlsx")
    with writing("--out"):
        write_whole(place, workbook_bytes(case))
    show_line(cost_report.headline(case, evaluate(case)))
    show_line(f"Workbook: {place}. Change its yellow cells, then: costmodel workbook {asked.again} --read {place}")


def read_back(asked: Asked, edited: Path, saved: tuple[str, str, str] | None) -> None:
    """Show what was changed in a workbook and what that does; keep it as a scenario where that is asked for."""
    case = asked.case
    try:
        changes = read_changes(case, edited)
        written = as_written(changes)
        after = apply_written(case, written, edited.name, f"workbook {edited.name}")
        if not changes:
            if saved:
                refuse(f"--save-scenario: found no change in {edited}; allowed: a workbook with a changed input")
            show_lines([case.title, f"No input was changed in {edited}."])
            return
        show_lines([case.title, f"Before: {cost_report.headline(case, evaluate(case))}"])
        show_line(f"After: {cost_report.headline(after, evaluate(after))}")
        rows = [[change.address, f"{change.old:.9g}", f"{change.new:.9g}", change.unit] for change in changes]
        show_table(Table(f"Changed in {edited.name}", ["input", "before", "after", "unit"], rows, texts=(0, 3)))
        if saved:
            name, title, story = saved
            path = save_scenario(asked.folder, Words(name, title, story), {**asked.changes, **written}, asked.use, asked.scenario)
            beside = f" --round {asked.round_name}" if asked.round_name else ""
            show_line(f"Saved: {path}. Use it with --scenario {name}{beside}")
    except InputFaults as faults:
        refuse(str(faults))
