"""Many documents at once: on the cores there are, only those that are missing or changed, and no failure stops the others."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from dataclasses import dataclass, field
from functools import partial
from hashlib import sha256
from multiprocessing import active_children, get_context, parent_process
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import __version__
from ..case.deal_rounds import DRAFT, read_round, round_names
from ..case.fingerprint import fingerprint
from ..case.whole_case import Case
from ..core.at_work import NOW, at
from ..core.collecting import seldom_collecting
from ..core.faults import DividesByNought, Fault, InputFaults
from ..core.whole_files import WrongPlace, check_place
from ..model.scenarios import open_case, scenario_names
from ..present.rounds_report import version_for_others

if TYPE_CHECKING:
    from .editions.record import Release
    from .editions.sent_before import Recipient

FULL, SCENARIOS = "full", "scenarios"
WITH_ROUNDS = (FULL, "memo")  # kinds that show the rounds of a negotiation
_DOING: list[str] = []  # what this process, a worker, makes
MARK = '<meta name="made-of" content="'
HEAD = 4_000  # bytes of a page within which its mark stands
STATED, EVERY = 96, 0.3  # bytes in which a worker states what it is at, and how often, s


@dataclass(frozen=True)
class Job:
    """A document to be made: of which case, of which kind, and what besides the HTML file."""

    folder: Path
    kind: str
    out: Path
    made_on: str
    scenario: str | None = None
    changes: Mapping[str, str] = field(default_factory=dict)
    use: Mapping[str, str] = field(default_factory=dict)
    pdf: bool = False
    pictures: bool = False
    again: bool = False
    round_name: str | None = None  # whose terms it states; none: those of deal.yaml
    recipient: Recipient | None = None  # of an external document, where what went out is kept
    names_round: bool = False  # whether its file is called after the round, so that two rounds stand side by side

    @property
    def name(self) -> str:
        """What the job is called while nothing of the case is known."""
        return "_".join(part for part in (self.scenario, self.kind) if part)


@dataclass(frozen=True)
class Done:
    """What became of a job: the files that are there now, whether any was made anew, what is wrong, and how long it took."""

    job: Job
    files: tuple[Path, ...] = ()
    made: bool = False
    wrong: str = ""
    seconds: float = 0.0


def make(job: Job) -> Done:
    """Make one document, unless it is there already, of the same inputs, version and kind; a fault is reported, not raised."""
    begun = time.perf_counter()
    files: list[Path] = []
    made, wrong = False, ""
    try:
        files, made, wrong = _make(job)
    except InputFaults as faults:
        wrong = str(faults)
    except DividesByNought as problem:
        from ..model.readings.noughts import refusal

        wrong = str(refusal(problem))
    except WrongPlace as problem:
        wrong = f"--out: found '{problem.filename}', {problem.strerror}"
    except OSError as problem:
        where = f"'{problem.filename or job.out}', where nothing can be written or read ({problem.strerror or problem})"
        wrong = f"--out: found {where}; allowed: a folder to write into"
    except Exception as problem:  # one that fails must not stop the others
        wrong = f"{type(problem).__name__}: {problem}"
    return Done(job, tuple(files), made, wrong, time.perf_counter() - begun)


def _round_in_name(job: Job, case: Case) -> str:
    """A round in the name of a file: inside by its name, outside by its number, which the document states."""
    from .editions.allowed import EDITION_OF

    if case.version is None:
        return DRAFT
    return f"round_{case.version.number}" if job.kind in EDITION_OF else str(job.round_name)


def _make(job: Job) -> tuple[list[Path], bool, str]:
    from .editions.documents import mark as mark_of_release
    from .editions.make import make_apart
    from .kinds import ANNEX, has_annex
    from .pdf import NoChromium, write_pdf, write_pictures

    case = open_case(job.folder, job.scenario, job.changes, job.use, terms=job.round_name or DRAFT)
    cases = _scenarios(job, case) if job.kind == SCENARIOS else {}
    external = _release(job, case)
    key = mark_of_release(external, job.kind) if external else made_of(job, case, cases)
    changed = bool(job.changes or job.use)
    of_round = _round_in_name(job, case) if job.names_round else ""
    if external:  # the name of a scenario stays inside
        parts = [case.name, of_round, external.fingerprint if job.scenario or changed else "", job.kind]
    else:
        parts = [case.name, job.scenario or "", of_round, fingerprint(case) if changed else "", job.kind]
    html = job.out / f"{'_'.join(filter(None, parts))}.html"
    folder = html.with_name(f"{html.stem}_pictures")
    pages = [html, html.with_stem(html.stem + ANNEX)] if has_annex(job.kind) else [html]
    made = job.again or any(mark_of(page) != key for page in pages)
    if external:
        there = [*pages, *(page.with_suffix(".pdf") for page in pages), folder]
        _refuse_what_gives_away(job, case, external, [path for path in there if path.exists()])
    for page in pages if made else ():
        check_place(page)
    with job.recipient.recorded(case, external) if external and job.recipient else nullcontext():
        if made and external:
            make_apart(external, html.parent, html.stem, kind=job.kind)
        elif made:
            _write(job, case, cases, html, key)
    files = list(pages)
    try:
        for page in pages if job.pdf else ():
            pdf = page.with_suffix(".pdf")
            if not is_newer(pdf, page):
                write_pdf(page, pdf)
                made = True
            files.append(pdf)
        if job.pictures:
            pictures = list(folder.glob("*"))
            if not any(path.suffix == ".png" for path in pictures) or not all(is_newer(path, html) for path in pictures):
                write_pictures(html, folder)
                made = True
            files.append(folder)
    except NoChromium as missing:
        return files, made, str(missing)
    return files, made, ""


def _release(job: Job, case: Case) -> Release | None:
    """What an external document is made from; None for an internal one."""
    from .editions.allowed import EDITION_OF
    from .editions.build import build

    edition = EDITION_OF.get(job.kind)
    return build(case, edition, job.made_on).release if edition else None


def _refuse_what_gives_away(job: Job, case: Case, external: Release, there: Sequence[Path]) -> None:
    """Refuse an edition that gives away what is closed, whether or not it is made already; what is there is named.

    What went out to its recipient before is counted.

    Raises InputFaults.
    """
    from .editions.leak_check import refuse_leaks

    try:
        refuse_leaks(case, external.edition, earlier=job.recipient.earlier(case)[0] if job.recipient else (), keep=True)
    except InputFaults as refused:
        allowed = "no copy of it handed out: it gives away what is closed now"
        earlier = [Fault(str(path), None, None, "a document that was made earlier", allowed) for path in there]
        raise InputFaults([*earlier, *refused.faults]) from None


def _scenarios(job: Job, case: Case) -> dict[str, Case | str]:
    """The case and its scenarios; one that cannot be read is the words why."""
    found: dict[str, Case | str] = {"as_it_is": case}
    for name in scenario_names(job.folder):
        if name != job.scenario:
            try:
                found[name] = open_case(job.folder, name, job.changes, job.use, terms=job.round_name or DRAFT)
            except InputFaults as faults:
                found[name] = str(faults)
    return found


def _write(job: Job, case: Case, cases: Mapping[str, Case | str], html: Path, key: str) -> None:
    from ..model.evaluate import evaluate
    from .page import write_document, write_report

    if job.kind == FULL:
        write_report(case, html, job.made_on, key, job.folder)
        return
    from .facts import collect, collect_scenarios
    from .kinds import kind

    if job.kind == SCENARIOS:
        facts = collect_scenarios(cases, job.made_on)
    else:
        facts = collect(case, evaluate(case), kind(job.kind).PARTS, job.made_on, job.folder)
    write_document(job.kind, facts, html, key)


def made_of(job: Job, case: Case, cases: Mapping[str, Case | str]) -> str:
    """What a document is made of, in short: inputs, version and kind; the same gives the same document, but for its date."""
    rounds = round_names(job.folder) if job.kind in WITH_ROUNDS else []
    turns = [read_round(job.folder, name).model_dump_json() for name in rounds]
    terms = version_for_others(case) if case.has_deal else ""
    inputs = [fingerprint(case), terms, *turns]
    inputs += [f"{name}: {c if isinstance(c, str) else fingerprint(c)}" for name, c in cases.items()]
    return sha256("\n".join([*inputs, __version__, job.kind]).encode()).hexdigest()[:16]


def mark_of(html: Path) -> str:
    """What an HTML file is made of, by its own mark; nothing if it is not there or is not ours."""
    if not html.exists():
        return ""
    with html.open(encoding="utf-8") as file:
        _, found, rest = file.read(HEAD).partition(MARK)
    return rest.partition('"')[0] if found else ""


def is_newer(made: Path, source: Path) -> bool:
    """Whether a file that is made from another is there and not older than it."""
    return made.exists() and made.stat().st_mtime_ns >= source.stat().st_mtime_ns


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def make_all(jobs: Sequence[Job], workers: int, report: Callable[[Done], None]) -> list[Done]:
    """Make documents in processes of their own, as many at a time as there are workers; each that is done is reported at once.

    A process that dies takes along what was being made at that time: it is listed, and the rest is made in new processes. Ctrl-C
    lets what is being made be finished and begins no more, then raises KeyboardInterrupt; a second one ends it at once.
    """
    done: list[Done] = []
    left = list(jobs)
    stopped = threading.Event()

    def note(one: Done) -> None:
        """Note what is done, and report it."""
        done.append(one)
        report(one)

    def stop(*_: object) -> None:
        """Begin no more; the second time, end what runs."""
        if stopped.is_set():
            for worker in active_children():
                worker.terminate()
        stopped.set()

    def state(words: Sequence[str]) -> None:
        """State how many are done, and what the workers are at."""
        at(": ".join([f"documents, {len(done)} of {len(jobs)}", *filter(None, ["; ".join(words)])]))

    state(())
    before = signal.signal(signal.SIGINT, stop)
    try:
        while left and not stopped.is_set():
            _run_pool(left, workers, note, state, stopped)
    finally:
        signal.signal(signal.SIGINT, before)
    if stopped.is_set():
        raise KeyboardInterrupt
    return done


def _run_pool(
    left: list[Job],
    workers: int,
    note: Callable[[Done], None],
    state: Callable[[Sequence[str]], None],
    stopped: threading.Event,
) -> None:
    """Take jobs from those that are left until none is, or a process has died, or it is stopped; finish what was begun."""
    running: dict[Future, Job] = {}
    broken, count, context = False, min(workers, len(left)), get_context("spawn")
    stated, taken = context.RawArray("c", STATED * count), context.Value("i", 0)
    with ProcessPoolExecutor(count, context, _begin_worker, (stated, taken)) as pool:
        while True:
            while left and not broken and not stopped.is_set() and len(running) < workers:
                job = left.pop(0)
                running[pool.submit(_make_stated, job)] = job
            if not running:
                return
            state(_stated(stated.raw))
            for future in wait(running, timeout=EVERY, return_when=FIRST_COMPLETED).done:
                job = running.pop(future)
                try:
                    note(future.result())
                except BrokenProcessPool:
                    broken = True
                    note(Done(job, wrong="its process ended before it was done"))


def _begin_worker(stated: Any, taken: Any) -> None:
    """What each process does first: Ctrl-C is for its parent to hear, it ends when its parent does, and states what it is at."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with taken.get_lock():
        place = taken.value * STATED
        taken.value += 1
    for work in (_end_with_parent, partial(_state, stated, place)):
        threading.Thread(target=work, daemon=True).start()


def _make_stated(job: Job) -> Done:
    """Make one document, and state which."""
    at("")
    _DOING.append(job.name)
    try:
        with seldom_collecting():
            return make(job)
    finally:
        _DOING.clear()


def _state(stated: Any, place: int) -> None:
    """Write what this process is at into its place, from time to time; its parent reads it."""
    while True:
        words = ", ".join(filter(None, [*_DOING, NOW.words()])) if _DOING else ""
        stated[place : place + STATED] = words.encode()[:STATED].ljust(STATED, b"\0")
        time.sleep(EVERY)


def _stated(places: bytes) -> list[str]:
    """What workers state, each in its place; nothing of those that are at nothing.

    >>> _stated(b"memo, sheets, 3 of 18".ljust(STATED, b"\\0") + bytes(STATED))
    ['memo, sheets, 3 of 18']
    """
    found = [places[k : k + STATED].rstrip(b"\0").decode(errors="ignore") for k in range(0, len(places), STATED)]
    return [words for words in found if words]


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
