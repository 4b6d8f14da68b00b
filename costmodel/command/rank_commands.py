"""Which inputs matter: the uncertainty that each carries, and what each does by itself."""

from __future__ import annotations

from pathlib import Path

from .answering import View, records
from .offers import note_terms
from .opening import Asked, refusing
from .study_options import COST, plant, whole
from .subjects import CHART, SubjectCommand, option

rank = SubjectCommand("rank")

FIGURE = option("--figure", default=COST, metavar="ADDRESS", help="The figure to ask about, by its address.")
POINTS = option("--points", default=1024, help="Sobol points, a power of two; each takes a run for every group and two.")
SEED = option("--seed", default=0, help="The seed of the draws, a whole number from 0.")
RESIZE = option("--resize", is_flag=True, help="Size tools anew for every value; without it the plant stays as bought.")


@rank.answer(
    FIGURE,
    POINTS,
    SEED,
    RESIZE,
    CHART,
)
def shares(asked: Asked, figure: str, points: int, seed: int, resize: bool, chart: Path | None) -> View:
    """Which inputs carry the uncertainty of a figure, and what to measure next; by subject what each does by itself."""
    from ..present import risk_report, study_charts, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.variance import rank as rank_of
    from .printing import save_chart

    case = plant(asked.case, resize)
    note_terms(asked, figure)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        found, held = rank_of(case, figure, points, whole(seed))
        said = risk_report.carried(case, found, wanted, held, seed)
        title = f"What carries the uncertainty: {study_report.figure_label(wanted)}"
        save_chart(chart, case, title, lambda: (study_charts.rank_bars(found), said))
    about = {"figure": figure, "seed": seed, "points": points, "without_value": 100 * found.without, "share_unit": "%"}
    return View(
        study_report.titled(case),
        [*said, study_report.plant(case)],
        [risk_report.rank_table(case, found, held)],
        records(study_records.of_shares(case, found, held), about),
    )


@rank.subject("budget", FIGURE, option("--draws", default=20_000, help="Draws beside the budget."), SEED, RESIZE)
def budget(asked: Asked, figure: str, draws: int, seed: int, resize: bool) -> View:
    """The linear uncertainty budget of a figure, input by input, and whether draws agree with it."""
    from ..present import budget_report, study_report
    from ..studies.budget import budget_of
    from ..studies.many import wanted_figures

    case = plant(asked.case, resize)
    note_terms(asked, figure)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        found, check = budget_of(case, figure, draws, whole(seed))
    return View(
        study_report.titled(case),
        [*budget_report.said(wanted, found, check, draws, seed), study_report.plant(case)],
        [budget_report.budget_table(case, wanted, found)],
        records(
            budget_report.records(case, wanted, found), {**budget_report.about(wanted, found, check), "draws": draws, "seed": seed}
        ),
    )


@rank.subject("pairs", FIGURE, POINTS, SEED, RESIZE)
def pairs(asked: Asked, figure: str, points: int, seed: int, resize: bool) -> View:
    """Which pairs of groups carry uncertainty of a figure together: second-order shares of the variance."""
    from ..present import risk_report, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.variance import rank_pairs

    case = plant(asked.case, resize)
    note_terms(asked, figure)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        found = rank_pairs(case, figure, points, whole(seed))
    about = {"figure": figure, "seed": seed, "points": points, "without_value": 100 * found.without, "share_unit": "%"}
    return View(
        study_report.titled(case),
        [*risk_report.together(found, wanted, seed), study_report.plant(case)],
        [risk_report.pairs_table(found)],
        records(study_records.of_pairs(found), about),
    )


@rank.subject("tornado", FIGURE, RESIZE, CHART)
def tornado(asked: Asked, figure: str, resize: bool, chart: Path | None) -> View:
    """What each uncertain input does to a figure by itself, with its elasticity."""
    from ..present import study_charts, study_records, study_report
    from ..studies.many import wanted_figures
    from ..studies.sensitivities import elasticities
    from ..studies.sensitivities import tornado as bars_of
    from .printing import save_chart

    case = plant(asked.case, resize)
    note_terms(asked, figure)
    with refusing():
        wanted = wanted_figures(case, [figure])[figure]
        present, bars = bars_of(case, figure)
        said = [study_report.widest(case, wanted, bars, present), study_report.plant(case)]
        title = f"What each uncertain input does by itself: {study_report.figure_label(wanted)}"
        save_chart(chart, case, title, lambda: (study_charts.tornado_bars(case, wanted, bars), said))
    try:
        elastic = elasticities(case, figure)
    except ValueError:  # a figure that is 0, of which nothing is a share
        elastic = []
    about = {"figure": figure, "figure_unit": wanted.unit, "present": wanted.shown(present), "reason": wanted.reason or None}
    return View(
        study_report.titled(case),
        said,
        [study_report.tornado_table(case, wanted, bars, elastic)],
        records(study_records.of_tornado(case, wanted, bars, elastic), about),
    )
