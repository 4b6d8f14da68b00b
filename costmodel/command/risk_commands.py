"""How figures spread over draws of what is uncertain; a run may be stopped and resumed."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .answering import View, answers, records
from .offers import note_terms
from .opening import Asked, OutFile, as_record, for_a_case, refuse, refusing, writing
from .screen import show_line
from .study_options import COST, INTERRUPTED, chart_option, figures_option, plant, resize_option, seed_option

if TYPE_CHECKING:
    from ..case.whole_case import Case
    from ..present.drawing import Chart
    from ..studies.kept_draws import KeptFigure
    from ..studies.many import Wanted
    from ..studies.risk import Run


@dataclass(frozen=True)
class Drawn:
    """What is drawn, how often and by which method; which figures and targets are looked at."""

    figures: tuple[str, ...]
    draws: int
    method: str
    seed: int
    target: tuple[str, ...]
    resize: bool
    keep: Path | None
    processes: int
    cluster: str
    chart: Path | None


@click.command()
@for_a_case
@figures_option(COST)
@click.option("--draws", default=10_000, show_default=True, help="How many draws; of Sobol points a power of two.")
@click.option("--method", type=click.Choice(["random", "sobol"]), default="random", show_default=True, help="How draws are made.")
@seed_option
@click.option(
    "--target", multiple=True, metavar="TARGET", help="A target, as 'ledger.total.cost_per_m2<=150 EUR/m2'; may be given again."
)
@resize_option
@click.option(
    "--keep",
    type=OutFile(kept=True),
    help="Keep finished draws in this file, and resume from it where it is there. Without it, Ctrl-C keeps draws too.",
)
@click.option("--processes", type=click.IntRange(1), default=1, show_default=True, help="Processes of this machine that draw.")
@click.option("--cluster", metavar="ADDRESS", default="", help="A Dask scheduler, as tcp://10.0.0.5:8786, whose workers draw.")
@chart_option
@as_record(Drawn)
@answers
def risk(asked: Asked, options: Drawn) -> View:
    """How figures spread over draws of what is uncertain; the probability to meet targets."""
    from ..studies.many import parse_figure, wanted_figures
    from ..studies.spread import parse_target, probability

    if options.cluster and options.processes > 1:
        refuse("risk: --processes beside --cluster; allowed: one of them")
    case = plant(asked.case, options.resize)
    with refusing():
        targets = [parse_target(written) for written in options.target]
        addresses = dict.fromkeys([*options.figures, *(each.figure for each in targets)])
        known = wanted_figures(case, list(addresses))
        limits = [parse_figure(known[each.figure], each.value, "--target") for each in targets]
        note_terms(asked, *known)
        run = _run(case, options, known)
    if not run.done:
        show_line("Stopped before any draw was finished; nothing is kept.", err=True)
        sys.exit(INTERRUPTED)
    if not run.finished:
        _tell_stopped(case, options, run)
    found = {
        written: probability(run.figures[each.figure], each.sign, limit)
        for written, each, limit in zip(options.target, targets, limits)
    }
    first = next(iter(known))
    _save_curve(case, options.chart, known[first], run, [limit for each, limit in zip(targets, limits) if each.figure == first])
    return _view(case, options, known, run, found)


def _run(case: Case, options: Drawn, known: Mapping[str, Wanted]) -> Run[KeptFigure]:
    """The draws, with a bar of progress in a terminal. Raises InputFaults."""
    from ..studies.drawn_blocks import pool_of
    from ..studies.risk import Watch, run_long

    drawn = list(dict.fromkeys(each for a, wanted in known.items() for each in ([a, wanted.status] if wanted.reasons else [a])))
    hidden = not sys.stderr.isatty()
    bar_of_draws = click.progressbar(length=options.draws, label="Draws", file=sys.stderr, show_pos=True, hidden=hidden)
    with bar_of_draws as bar, pool_of(options.processes, options.cluster) as (pool, processes):
        watch = Watch(options.keep, lambda done, _: bar.update(done - bar.pos), True, pool, processes)
        with writing("--keep"):
            return run_long(case, drawn, options.draws, options.seed, options.method, watch=watch)


def _tell_stopped(case: Case, options: Drawn, run: Run[KeptFigure]) -> None:
    """Keep what is drawn of a run that was stopped, and show how it is resumed."""
    keep = options.keep
    if keep is None:
        keep = _kept_somewhere(run, f"{case.name}_{run.about['fingerprint']}_seed_{options.seed}")
    show_line(
        f"Stopped after {run.done:,} of {options.draws:,} draws, kept in {keep}. To resume: the same command with --keep {keep}",
        err=True,
    )


def _save_curve(case: Case, chart: Path | None, wanted: Wanted, run: Run[KeptFigure], limits: list[float]) -> None:
    """Write the curve of exceedance of a figure where a file is named."""
    from ..present import risk_report, study_charts, study_report
    from ..studies.spread import spread
    from .printing import save_chart

    values, title = run.figures[wanted.address], f"Probability that it is greater: {study_report.figure_label(wanted)}"

    def drawn() -> tuple[Chart, list[str]]:
        """The curve, and how the figure spreads."""
        found = spread(values)
        return study_charts.exceedance_curve(wanted, values, found, limits), [risk_report.risky(run, wanted, found)]

    with refusing():
        save_chart(chart, case, title, drawn)


def _view(case: Case, options: Drawn, known: Mapping[str, Wanted], run: Run[KeptFigure], found: Mapping[str, Any]) -> View:
    """What the draws show, for people and for programs."""
    from ..model.readings.recording import evaluator
    from ..present import risk_report, study_records, study_report
    from ..studies.spread import reasons_of, spread

    spreads = {address: spread(run.figures[address]) for address in known}
    rows = [row for a, wanted in known.items() for row in study_records.of_spread(wanted, spreads[a], reasons_of(run, wanted))]
    about: dict[str, Any] = {"draws": run.done, "asked": options.draws, "evaluator": evaluator(), **run.about}
    return View(
        study_report.titled(case),
        [
            *(risk_report.risky(run, wanted, spreads[address]) for address, wanted in known.items()),
            risk_report.drawn(run),
            study_report.plant(case),
        ],
        [*([risk_report.target_table(found)] if found else []), risk_report.risk_table(known, spreads)],
        records(rows, about | {"targets": study_records.of_probabilities(found)}),
        exit_code=0 if run.finished else INTERRUPTED,
    )


def _kept_somewhere(run: Run[KeptFigure], name: str) -> Path:
    """Keep draws in the folder at hand; where that takes no file, or is of a case, in the one for passing files."""
    from ..core.whole_files import case_around

    kept = next(iter(run.figures.values())).kept
    for folder in (Path(), Path(tempfile.gettempdir())):
        path = _unused(folder, name)
        if folder == Path() and case_around(path) is not None:
            continue
        try:
            kept.copy_to(path)
        except OSError as problem:
            cause = problem.strerror
        else:
            return path
    refuse(f"risk: found no place for the draws that are done ({cause}); allowed: --keep with a file that can be written")


def _unused(folder: Path, name: str) -> Path:
    """A file of draws of this name that is not there yet."""
    path, number = folder / f"{name}.draws", 1
    while path.exists():
        number += 1
        path = folder / f"{name}_{number}.draws"
    return path
