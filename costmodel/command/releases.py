"""The command that shows and writes what is handed out: the release of an external edition."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..core.whole_files import RELEASE_BEGINS
from .answering import style_of
from .offers import as_offered, with_day
from .opening import Asked, OutFile, as_record, for_a_case, refuse, refusing, writing
from .recipients import recipient_of, show_earlier, with_recipient
from .screen import show_line, show_lines, show_table

if TYPE_CHECKING:
    from ..documents.editions.build import Reviewed
    from ..documents.editions.leak_check import Check

LONGEST = 60  # characters of a value that are shown


@dataclass(frozen=True)
class Wanted:
    """What is stated beyond the allow-list, who widens it and why; what is folded; to whom it goes, and where that is kept."""

    widen: tuple[str, ...]
    who: str | None
    why: str | None
    fold: bool
    narrow: float | None
    as_json: bool
    as_csv: bool
    recipient: str | None
    sent: Path | None


@click.command()
@for_a_case
@click.option("--edition", required=True, type=click.Choice(("licensee", "investor")), help="For whom.")
@click.option(
    "--widen", multiple=True, metavar="FIGURE", help="State this figure or input too; may be given again. Requires --by and --why."
)
@click.option("--by", "who", metavar="NAME", help="Who widens it; stands in the release.")
@click.option("--why", metavar="TEXT", help="Why it may be handed out; stands in the release.")
@click.option("--fold", is_flag=True, help="Close what gives away what is closed: as few figures as do it, for this release.")
@click.option(
    "--narrow",
    type=click.FloatRange(0.0, 100.0, min_open=True),
    metavar="PERCENT",
    help="Inside only: within which interval a reader can find what is marked, and what else is known to so many percent.",
)
@click.option("--json", "as_json", is_flag=True, help="Print for programs, as JSON; its keys: costmodel guide commands.")
@click.option("--csv", "as_csv", is_flag=True, help="Print for programs, as CSV: a row per figure and per mark.")
@click.option("--out", type=OutFile(begins=RELEASE_BEGINS.encode()), help="Write the release to this new file, a name in .yaml.")
@with_recipient
@with_day
@as_record(Wanted)
def release(asked: Asked, edition: str, out: Path | None, day: str | None, options: Wanted) -> None:
    """Show what an external edition states, for review; with --out write it.

    What confidential.csv closes is held back. Documents are made of it by: costmodel report --release FILE
    """
    from datetime import date

    from ..core.whole_files import write_whole
    from ..documents.editions.build import build
    from ..documents.editions.closed_marks import marks_of
    from ..documents.editions.leak_check import check_of, folded, refuse_leaks
    from ..documents.editions.record import Widening, as_text

    widen, who, why = options.widen, options.who, options.why
    if widen and not (who and why):
        refuse("--widen: found it without --by and --why; allowed: with both, since they stand in the release")
    if out is not None and out.suffix != ".yaml":
        refuse(f"--out: found '{out}'; allowed: a file whose name ends in .yaml")
    style = style_of(options.as_json, options.as_csv, False)
    if options.narrow and style == "csv":
        refuse("--narrow: found --csv beside it; allowed: with --json, or for a screen")
    recipient = recipient_of(options.recipient, options.sent)
    case, today = as_offered(asked, day).case, date.today().isoformat()
    with refusing():
        earlier, notes = recipient.earlier(case) if recipient else ((), [])
        if recipient:
            show_earlier(recipient, len(earlier), notes, recorded=out is not None)
        if options.fold:
            build(case, edition, today)  # a mark that names nothing is refused first
            case = folded(case, edition, widen, earlier)
        found = build(case, edition, today, [Widening(name, None, "", who or "", today, why or "") for name in widen])
        made = found.release
        check = check_of(case, edition, widen, earlier) if options.narrow else None
        leaks = sorted(refuse_leaks(case, edition, widen, earlier, keep=True), key=str)  # refused before anything is shown
        if style:
            _show_for_programs(found, check, options.narrow, style)
        else:
            _show(found, bool(marks_of(case, edition)))
            if check and options.narrow:
                _show_intervals(check, options.narrow)
        for each in leaks:
            show_line(f"Look at this: {each}.", err=True)
        if out is not None:
            with writing("--out"), recipient.recorded(case, made, widen) if recipient else nullcontext():
                write_whole(out, as_text(made).encode())
            then = f"Look through it, then: costmodel report --release {out}"
            show_line(f"Release {made.fingerprint}: {out}. {then}", err=bool(style))


def _show_for_programs(found: Reviewed, check: Check | None, percent: float | None, style: str) -> None:
    """Print a row per figure that is handed out and per name that is held back; as JSON, what a reader can find out too."""
    from ..documents.editions.intervals import intervals
    from .printing import show_records

    made, nothing = found.release, dict.fromkeys(("value", "unit", "by", "date", "why", "closed_by"))
    stated = [("handed out", {"figure": each.name, "value": each.value, "unit": each.unit}) for each in made.figures]
    wider = [
        ("handed out besides", {"figure": e.figure, "value": e.value, "unit": e.unit, "by": e.by, "date": e.date, "why": e.why})
        for e in made.widened
    ]
    held = [("held back", {"figure": name, "closed_by": mark}) for name, mark in sorted(found.held_back.items())]
    rows: list[dict[str, Any]] = [{"what": what, "figure": "", **nothing, **row} for what, row in (*stated, *wider, *held)]
    about: dict[str, Any] = {"title": made.title, "edition": made.edition, "release": made.fingerprint}
    if check and percent:
        about["intervals"] = [
            {"closed_number": x.name, "value": x.value, "least": x.least, "greatest": x.greatest, "unit": x.unit,
             "half_width": 100 * x.width, "half_width_unit": "%", "narrow": x.narrow}
            for x in intervals(check, percent / 100)
        ]  # fmt: skip
    show_records(rows, style, about)


def _show(found: Reviewed, marked: bool) -> None:
    """Show what is handed out, what besides, and what is held back."""
    from ..documents.editions.figure_words import amounts
    from ..present.table import Table

    made = found.release
    read = amounts(made)
    rows = [[each.name, _short(read.get(each.name, each.value))] for each in made.figures]
    show_lines([f"{made.title}: what the {made.edition} edition states."])
    show_table(Table("Handed out", ["figure", "value"], rows, texts=(0, 1)))
    if made.widened:
        told = [[each.figure, _short(each.value), each.unit, each.by, each.date, each.why] for each in made.widened]
        show_table(Table("Handed out besides", ["figure", "value", "unit", "by", "date", "why"], told, texts=(0, 1, 2, 3, 4, 5)))
    held = [f"  {name}, closed by {mark}" for name, mark in sorted(found.held_back.items())]
    none = "that is marked is a figure or input that it would state" if marked else "of it is marked as confidential"
    show_lines(["Held back:", *held] if held else [f"Nothing {none}, so nothing was held back."])


def _show_intervals(check: Check, percent: float) -> None:
    """Show how closely a reader can find each closed number; on the inside alone."""
    from ..documents.editions.intervals import intervals
    from ..present.numbers import people
    from ..present.table import Table

    found = intervals(check, percent / 100)
    rows = [
        [each.name, people(each.value), people(each.least), people(each.greatest), each.unit, f"{people(100 * each.width)} %",
         f"below {percent:g} %" if each.narrow else ""]
        for each in found
    ]  # fmt: skip
    columns = ["closed number", "value", "least", "greatest", "unit", "half width", "narrow"]
    show_table(Table("Inside only: what a reader can find out", columns, rows, texts=(0, 4, 6)))
    if not rows:
        show_line(f"No marked number, and none that a reader can find to within {percent:g} % of its value.")


def _short(value: object) -> str:
    shown = "none" if value is None else str(value)
    return shown if len(shown) <= LONGEST else f"{shown[:LONGEST]} ..."
