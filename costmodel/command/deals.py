"""The command for the deal: where both sides can meet, and what terms are worth to them."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .opening import Asked, as_program, for_a_case, refuse, refusing

if TYPE_CHECKING:
    from ..case.records import Case


@click.command()
@for_a_case
@click.option("--term", "wanted", multiple=True, metavar="ADDRESS", help="Solve this term for both sides; may be given again.")
@click.option("--draws", default=0, type=click.IntRange(0, 10_000_000), help="Draws for the chance that a minimum royalty binds.")
@click.option("--seed", default=0, show_default=True, help="The seed of the draws, a whole number from 0.")
@click.option("--on", "day", metavar="DATE", help="The day on which offers must hold, as 2026-11-25.  [default: today]")
@click.option(
    "--chart",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the picture of the zone to this HTML file, which opens offline.",
)
@as_program
def deal(asked: Asked, wanted: tuple[str, ...], draws: int, seed: int, day: str | None, chart: Path | None, style: str) -> None:
    """What a licence is worth to each side, and where the two can meet."""
    from ..model import evaluate
    from ..negotiation.overview import overview
    from ..report import deal_charts, deal_tables, deal_words
    from ..report.deal_facts import chances_of_minimums
    from .printing import save_chart, show_figures, show_lines, show_table

    case = asked.open()
    results = evaluate(case)
    on = _day(day)
    if results.deal is None:
        show_lines([case.title, deal_words.NO_DEAL])
        return
    if style:
        show_figures(results, case.currency, "deal", style)
        return
    with refusing():
        solved = [_interval(case, address) for address in wanted]
        found = overview(case, results, asked.folder)
        chances = chances_of_minimums(case, results, draws, seed) if draws else None
    lines = [case.title, deal_words.verdict(case, results, found), deal_words.corners(case, found)]
    lines += [deal_words.term_range(case, each) for each in (solved or (found.royalty, found.upfront))]
    if found.zone.empty:
        lines += ["What would open a zone, each by itself:", *(f"  {line}" for line in deal_words.openings(case, found.openings))]
    else:
        lines += [deal_words.nash(case, found), deal_words.exchange_rates(case, found)]
    lines += [
        deal_words.floor(case, results),
        deal_words.ceiling(case, results),
        deal_words.exclusive(case, results),
        *deal_words.minimums(case, found),
        deal_words.buy_out(case, found),
        deal_words.price_falls(case, found),
        deal_words.yardsticks(case, results),
        *deal_words.rounds(case, found, on),
    ]
    show_lines([line for line in lines if line])
    for make in (
        deal_tables.floor_table,
        deal_tables.received_table,
        deal_tables.headings_table,
        deal_tables.alternatives_table,
    ):
        show_table(make(case, results))
    show_table(deal_tables.years_table(case, results, chances))
    show_table(deal_tables.concessions_table(case, found.concessions))
    show_table(deal_tables.price_paths_table(case, found))
    if case.prospects:
        show_table(deal_tables.exclusivity_table(case, found))
    if found.turns:
        show_table(deal_tables.rounds_table(case, found))
    show_lines(["Before anything is signed", *deal_words.cautions()])
    with refusing():
        save_chart(chart, lambda: deal_charts.zone_chart(case, found.zone.outline, found.turns))


def _day(written: str | None) -> str:
    if written is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(written).isoformat()
    except ValueError:
        refuse(f"--on: found '{written}'; allowed: a day, as 2026-11-25")


def _interval(case: Case, address: str):
    from ..faults import Fault, InputFaults, nearest
    from ..negotiation.concessions import interval
    from ..negotiation.sides import terms

    known = terms(case)
    if address not in known:
        raise InputFaults([Fault("--term", None, None, f"'{address}'", f"a term of the deal{nearest(address, known)}")])
    return interval(case, address)
