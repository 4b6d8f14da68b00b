"""The command for the deal: where both sides can meet, and what terms are worth to them."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from .opening import Asked, as_program, for_a_case, refuse, refusing


@click.command()
@for_a_case
@click.option("--term", "wanted", multiple=True, metavar="ADDRESS", help="Solve this term for both sides; may be given again.")
@click.option(
    "--draws",
    type=click.IntRange(0, 10_000_000),
    help="Draws for the probabilities; where given, also for the probability that each minimum royalty binds.  [default: 1000]",
)
@click.option("--seed", default=0, show_default=True, type=click.IntRange(0), help="The seed of all draws, a whole number from 0.")
@click.option("--on", "day", metavar="DATE", help="The day on which offers must hold, as 2026-11-25.  [default: today]")
@click.option(
    "--chart",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the picture of the zone to this HTML file, which opens offline.",
)
@as_program
def deal(
    asked: Asked, wanted: tuple[str, ...], draws: int | None, seed: int, day: str | None, chart: Path | None, style: str
) -> None:
    """What a licence is worth to each side, and where the two can meet."""
    from ..model.evaluate import evaluate
    from ..present import deal_charts, deal_report, terms_report, zone_report
    from ..studies.negotiation.limits import interval
    from ..studies.negotiation.overview import overview
    from ..studies.negotiation.probabilities import DRAWS, probabilities_of_minimums
    from ..studies.negotiation.sides import check_term
    from .printing import save_chart, show_figures, show_lines, show_table

    if style and (wanted or draws or chart):
        refuse(f"--{style}: found --term, --draws or --chart beside it; allowed: --{style} by itself, which gives all figures")
    case = asked.open()
    results = evaluate(case)
    on = _day(day)
    if style:
        show_figures(results, case.currency, "deal", style)
        return
    if not results.has_deal:
        show_lines([case.title, deal_report.NO_DEAL])
        return
    with refusing():
        for address in wanted:
            check_term(case, address, "--term")
        solved = [interval(case, address) for address in wanted]
        found = overview(case, asked.folder, seed)
        probabilities = probabilities_of_minimums(case, draws, seed) if draws else None
        likely = zone_report.found_or_why(case, DRAWS if draws is None else draws, seed, deal=True)
    ranges = solved or (found.royalty, found.upfront)
    first, *rest = zone_report.where_they_meet(case, results, found, ranges)
    show_lines(
        [
            case.title,
            first,
            *zone_report.of_deal(case, likely, found.upfront),
            *rest,
            *terms_report.grounds(case, results, found),
            *terms_report.rounds(case, found, on),
        ]
    )
    for table in terms_report.all_tables(case, results, found, probabilities):
        show_table(table)
    show_lines(["Before anything is signed", *deal_report.cautions()])
    with refusing():
        save_chart(chart, lambda: deal_charts.zone_chart(case, found.zone.outline, found.turns))


def _day(written: str | None) -> str:
    if written is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(written).isoformat()
    except ValueError:
        refuse(f"--on: found '{written}'; allowed: a day, as 2026-11-25")
