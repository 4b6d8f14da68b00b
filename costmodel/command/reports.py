"""The command that writes documents: full report, briefing, proposal, term sheet, memo, scenarios side by side."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .offers import as_offered, with_day
from .opening import Asked, as_record, for_a_case, refuse, refusing, writing
from .recipients import recipient_of, show_earlier, with_recipient
from .screen import show_line

if TYPE_CHECKING:
    from ..documents.batch import Done, Job
    from ..documents.editions.sent_before import Recipient

KINDS = ("full", "investor", "proposal", "term_sheet", "memo", "scenarios")
FAILED = 1
INTERRUPTED = 130  # as shells have it for Ctrl-C


@dataclass(frozen=True)
class Made:
    """Which documents are made, in which forms, and where."""

    kinds: tuple[str, ...]
    all_scenarios: bool
    pdf: bool
    pictures: bool
    again: bool
    workers: int | None
    out: Path
    day: str | None
    recipient: str | None
    sent: Path | None


@click.command()
@functools.partial(for_a_case, required=False)
@click.option(
    "--release",
    "release_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="In place of CASE: make document, workbook, notebook and explanations of an external edition from this release alone.",
)
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    type=click.Choice((*KINDS, "all")),
    help="What to write: full (everything, with charts that move), investor (briefing), proposal (for a licensee), term_sheet "
    "(heads of terms), memo (pricing, internal), scenarios (side by side), or all. May be given again; without it: full.",
)
@click.option("--all-scenarios", is_flag=True, help="For the case as it is and for each of its scenarios.")
@click.option("--pdf", is_flag=True, help="As PDF too; the full report, whose charts move, needs a Chromium on this machine.")
@click.option("--pictures", is_flag=True, help="The pictures as SVG and PNG too, for slides.")
@click.option("--again", is_flag=True, help="Make what is there already, too.")
@click.option("--workers", type=click.IntRange(1, 256), help="How many at a time; without it, as many as there are cores.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("reports"),
    show_default=True,
    help="Folder for the documents.",
)
@with_recipient
@with_day
@as_record(Made)
def report(asked: Asked, release_file: Path | None, options: Made) -> None:
    """Write documents of a case: HTML files that open offline.

    What is there already, made of the same inputs by the same version, is left as it is.
    """
    from ..core.whole_files import case_around, check_folder, clear_old_parts

    if (case := case_around(options.out / "any")) is not None:
        place = f"'{options.out}', a place in the folder of the case {case.name}"
        refuse(f"--out: found {place}; allowed: a folder outside of it, where each file is an input")
    with writing("--out"):
        check_folder(options.out)
    if release_file is not None:
        beside = (asked.scenario, asked.changes, asked.use, asked.round_name, options.kinds, options.all_scenarios)
        if options.recipient or options.sent:
            refuse("--release: found --recipient or --sent beside it; allowed: both where the release is made, which records it")
        if asked.folder is not None or any(beside):
            refuse("--release: found a case, a change or a kind beside it; allowed: --pdf, --pictures and --out")
        from_release(release_file, options.out, options.pdf, options.pictures)
        return
    if asked.folder is None:
        refuse("CASE: found nothing; allowed: the folder of a case, or --release FILE")
    asked = as_offered(asked, options.day)
    recipient = _recipient(asked, options)
    jobs = _jobs(asked, options, recipient)
    clear_old_parts(options.out)
    if len(jobs) == 1:
        _make_one(jobs[0])
    else:
        _make_many(jobs, 1 if recipient else options.workers)  # each edition counts those before it


def _recipient(asked: Asked, options: Made) -> Recipient | None:
    """The recipient of external documents, after saying what went out to it before."""
    from ..documents.editions.allowed import EDITION_OF

    recipient = recipient_of(options.recipient, options.sent)
    if recipient is None:
        return None
    inside = [kind for kind in options.kinds or ("full",) if kind not in EDITION_OF]
    if inside or options.all_scenarios:
        found = f"--kind {inside[0]}" if inside else "--all-scenarios"
        refuse(f"--recipient: found {found} beside it; allowed: with --kind {' or '.join(EDITION_OF)}, of one case")
    with refusing():
        earlier, notes = recipient.earlier(asked.case)
    show_earlier(recipient, len(earlier), notes, recorded=True)
    return recipient


def _jobs(asked: Asked, options: Made, recipient: Recipient | None) -> list[Job]:
    """One job per document: each kind of each scenario, but all scenarios side by side once."""
    from datetime import date

    from ..documents.batch import Job
    from ..model.scenarios import scenario_names

    wanted = KINDS if "all" in options.kinds else tuple(dict.fromkeys(options.kinds)) or ("full",)
    if options.all_scenarios and asked.scenario:
        refuse(f"--all-scenarios: found --scenario {asked.scenario} beside it; allowed: one of them")
    names = [None, *scenario_names(asked.folder)] if options.all_scenarios else [asked.scenario]
    if options.pictures and wanted == ("full",):
        refuse("--pictures: found the full report, whose charts are drawn in the browser; allowed: with another --kind")
    today = date.today().isoformat()
    return [
        Job(
            asked.folder,
            kind,
            options.out,
            today,
            name,
            asked.changes,
            asked.use,
            options.pdf,
            options.pictures and kind != "full",
            options.again,
            asked.round_name,
            recipient,
            asked.names_round,
        )
        for name in names
        for kind in wanted
        if kind != "scenarios" or name == names[0]
    ]


def _make_one(job: Job) -> None:
    """Make one document; one that cannot be made is refused."""
    from ..documents.batch import make

    done = make(job)
    if not done.files:
        refuse(done.wrong)
    _tell(done, "")
    if done.wrong:
        raise SystemExit(FAILED)


def _make_many(jobs: list[Job], workers: int | None) -> None:
    """Make documents on several cores; those that fail are named at the end with their cause."""
    from ..documents.batch import cores, make_all

    count = 0

    def tell(done: Done) -> None:
        """Show what is done, with how many there are."""
        nonlocal count
        count += 1
        _tell(done, f"[{count}/{len(jobs)}] ")

    try:
        found = make_all(jobs, workers or cores(), tell)
    except KeyboardInterrupt:
        show_line(f"Stopped; {count} of {len(jobs)} are done. The same command resumes with the rest.", err=True)
        raise SystemExit(INTERRUPTED) from None
    wrong = [done for done in found if done.wrong]
    if wrong:
        show_line(f"{len(wrong)} of {len(jobs)} could not be made as asked:", err=True)
        for done in wrong:
            show_line(f"  {done.job.name}: {done.wrong}", err=True)
        raise SystemExit(FAILED)


def from_release(path: Path, out: Path, pdf: bool, pictures: bool) -> None:
    """Make an external edition from its release; what it is called follows from the name of the release."""
    from ..documents.editions.make import Lacking, make_apart
    from ..documents.editions.record import read_release
    from ..documents.pdf import NoChromium, write_pdf, write_pictures

    with refusing():
        release = read_release(path)
        html = out / f"{path.stem}.html"
        try:
            made = make_apart(release, out, path.stem, all_files=True)
            for each in made:
                click.echo(str(each))
            for page in (each for each in made if pdf and each.suffix == ".html" and not each.stem.endswith("_explained")):
                click.echo(str(write_pdf(page, page.with_suffix(".pdf"))))
            if pictures:
                write_pictures(html, html.with_name(f"{html.stem}_pictures"))
                click.echo(str(html.with_name(f"{html.stem}_pictures")))
        except Lacking as problem:
            refuse(f"{path.name}: found {problem}; allowed: a release that holds it")
        except (NoChromium, OSError) as problem:
            show_line(str(problem), err=True)
            raise SystemExit(FAILED) from None


def _tell(done: Done, before: str) -> None:
    """Say what became of a document."""
    what = "made" if done.made else "already there"
    for path in done.files:
        of = f" (of scenario {done.job.scenario})" if done.job.scenario and done.job.scenario not in path.name else ""
        show_line(f"{before}{path}{of}: {what}{f' in {done.seconds:.1f} s' if done.made else ''}")
    if not done.files:
        show_line(f"{before}{done.job.name}: not made")
    elif done.wrong and not before:
        show_line(done.wrong, err=True)
