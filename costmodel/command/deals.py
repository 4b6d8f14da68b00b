"""The deal: where both sides can meet, what terms are worth to them, and what lies behind it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .answering import View
from .offers import ON, as_offered, day_of
from .opening import Asked, OutFile, refuse, refusing
from .screen import sentences
from .subjects import SubjectCommand, option

if TYPE_CHECKING:
    from ..studies.negotiation.overview import Overview
    from ..studies.spread import Quantile


class _DealCommand(SubjectCommand):
    """The command, asked about our newest offer that holds where no round is named."""

    def asked(self, given: dict[str, Any]) -> Asked:
        """What is asked about, with the terms of that round."""
        return as_offered(super().asked(given), given.pop("day"))


deal = _DealCommand("deal", stage="deal")
deal.params.append(ON)

DRAWS = option("--draws", default=1_000, type=click.IntRange(0, 10_000_000), help="Draws for the probabilities.")
SEED = option("--seed", default=0, type=click.IntRange(0), help="The seed of all draws, a whole number from 0.")
CHART = option(
    "--chart",
    type=OutFile(),
    help="Write the picture of the zone, or of probabilities of guarantees, to this HTML file, which opens offline.",
)


def _overview(asked: Asked, seed: int = 0) -> Overview:
    """What is found out about a deal; a faulty round is refused."""
    from ..studies.negotiation.overview import overview

    with refusing():
        return overview(asked.case, asked.folder, seed)


def _no_deal(asked: Asked) -> View | None:
    """What is said of a case without a deal."""
    from ..present import deal_report

    return None if asked.results.has_deal else View(asked.case.title, [deal_report.NO_DEAL])


def _save_zone(asked: Asked, found: Overview, chart: Path | None) -> None:
    """Write the picture of the zone where a file is named."""
    from ..present import deal_charts, zone_report
    from .printing import save_chart

    with refusing():
        case, outline = asked.case, found.zone.outline
        title = "Where licensor and licensee can meet: upfront fee over royalty"
        said = [zone_report.verdict(case, found)]
        save_chart(chart, case, title, lambda: (deal_charts.zone_chart(case, outline, found.turns), said))


@deal.answer(DRAWS, SEED, CHART)
def meeting(asked: Asked, draws: int, seed: int, chart: Path | None) -> View:
    """Whether licensor and licensee can meet, what the terms leave to each, how probable that is; by subject the rest."""
    from ..present import deal_report, likely_report, rounds_report, zone_report

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    found = _overview(asked, seed)
    claim = likely_report.of_the_claim(likely_report.found_or_why(case, draws, seed, deal=True))
    _save_zone(asked, found, chart)
    said = [
        rounds_report.version(case),
        zone_report.verdict(case, found),
        claim,
        zone_report.corners(case, found),
        deal_report.CAUTIONS,
    ]
    own, other = results.deal.licensor, results.deal.licensee
    licensor = (float(own.npv), float(own.contribution), float(own.gain))
    licensee = (float(other.npv), float(other.best_alternative), float(other.gain))
    return View(case.title, said, [deal_report.sides_table(case, licensor, licensee)])


@deal.subject(
    "terms",
    option("--term", "wanted", multiple=True, metavar="ADDRESS", help="Solve this term for both sides; may be given again."),
)
def term_values(asked: Asked, wanted: tuple[str, ...]) -> View:
    """Between which values a term suits both, and what one unit of each term is worth to either."""
    from ..present import terms_report, zone_report
    from ..studies.negotiation.limits import interval
    from ..studies.negotiation.sides import check_term

    case = asked.case
    if none := _no_deal(asked):
        return none
    with refusing():
        for address in wanted:
            check_term(case, address, "--term")
        solved = [interval(case, address) for address in wanted]
    found = _overview(asked)
    ranges = [sentences(zone_report.term_range(case, each)) for each in solved or (found.royalty, found.upfront)]
    answers, limits = [words[0] for words in ranges], [line for words in ranges for line in words[1:]]
    rate = [] if found.zone.empty else [zone_report.exchange_rates(case, found)]
    return View(case.title, [*answers, *limits, *rate], [terms_report.concessions_table(case, found.concessions)])


@deal.subject("zone", CHART)
def zone(asked: Asked, chart: Path | None) -> View:
    """Fees and royalties by which both gain, how the gain is split (Nash, equal), or what would open a zone."""
    from ..present import zone_report

    if none := _no_deal(asked):
        return none
    case, found = asked.case, _overview(asked)
    _save_zone(asked, found, chart)
    if found.zone.empty:
        ways = zone_report.openings(case, found.openings)
        singly = ["What would open a zone, each by itself: " + "; ".join(ways) + "."] if found.openings else ways
        rest = [zone_report.without_other_terms(case, found), *singly]
    else:
        rest = [zone_report.exchange_rates(case, found), *zone_report.splits(case, found)]
    said = [line for line in (zone_report.verdict(case, found), zone_report.corners(case, found), *rest) if line]
    return View(case.title, said, [] if found.zone.empty else [zone_report.splits_table(case, found)])


@deal.subject("probability", DRAWS, SEED)
def deal_probability(asked: Asked, draws: int, seed: int) -> View:
    """How probable it is that each side gains, that both do, that a zone exists; and with one term moved."""
    from ..present import likely_report
    from ..studies.negotiation.likely_terms import likely_terms

    if none := _no_deal(asked):
        return none
    case = asked.case
    found = likely_report.found_or_why(case, draws, seed, deal=True)
    said = likely_report.of_deal(case, found, _overview(asked, seed).upfront)
    if isinstance(found, str) or found.both is None:
        return View(case.title, said)
    moved = likely_terms(case, draws, seed)
    lead, *rest = likely_report.both_gain(case, found, moved), *said
    return View(case.title, [lead, *rest], [likely_report.likely_terms_table(case, found.both, moved)] if moved else [])


@deal.subject("floor", DRAWS, SEED)
def floor(asked: Asked, draws: int, seed: int) -> View:
    """The licensor's floor by parts, with P10, P50 and P90 of each, and what it has above it."""
    from ..core.faults import InputFaults
    from ..present import deal_report, likely_report
    from ..present.payments_report import licensor_table
    from ..studies.spread import quantiles_of

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    drawn: dict[str, tuple[Quantile, ...]] = {}
    words, *rest = sentences(deal_report.floor(case, results))
    said = [words]
    try:
        found = quantiles_of(case, [f"deal.licensor.{name}" for name in (*deal_report.FLOOR_PARTS, "floor")], draws, seed)
        drawn = {address.rpartition(".")[2]: values for address, values in found.items()}
        said += [deal_report.floor_spread(case, drawn["floor"], draws, seed)] if drawn else []
    except InputFaults as problem:
        said.append(likely_report.refused(problem))
    return View(case.title, [*said, *rest], [deal_report.floor_table(case, results, drawn), licensor_table(case, results)])


@deal.subject("payments")
def payments(asked: Asked) -> View:
    """What is paid by kind, by heading and year by year, and what arrives."""
    from ..present import deal_report, payments_report

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    tables = [payments_report.received_table, payments_report.headings_table, payments_report.years_table]
    said = [payments_report.paid(case, results), *deal_report.rates_used(case)]
    return View(case.title, said, [make(case, results) for make in tables])


@deal.subject("taxes")
def taxes(asked: Asked) -> View:
    """Withholding tax, the licensor's own tax and its credit; the best split of payments over their kinds."""
    from ..present import payments_report

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    found = _overview(asked)
    best, *shares = [line for line in sentences(payments_report.split(case, found)) if line not in payments_report.REVIEWED]
    said = [best, *payments_report.work_and_tax(case, results), payments_report.own_tax(case, results), *shares]
    return View(case.title, said, [payments_report.received_table(case, results), payments_report.split_table(case, found)])


@deal.subject("licensee")
def alternatives(asked: Asked) -> View:
    """The most that the licensee can pay, and its alternatives."""
    from ..present import deal_report

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    tables = [deal_report.alternatives_table(case, results), deal_report.licensee_table(case, results)]
    return View(case.title, [deal_report.ceiling(case, results)], tables)


@deal.subject("exclusivity")
def exclusivity(asked: Asked) -> View:
    """What exclusivity costs the licensor and is worth to the licensee."""
    from ..present import terms_report

    if none := _no_deal(asked):
        return none
    case, found = asked.case, _overview(asked)
    said = [line for line in [terms_report.exclusive(case, asked.results, found)] if line]
    return View(case.title, said, [terms_report.exclusivity_table(case, found)] if found.exclusivity.lost else [])


@deal.subject("minimums", DRAWS, SEED)
def minimums(asked: Asked, draws: int, seed: int) -> View:
    """Minimum royalties: what they pay for; by year royalty, all payments, the probability that the minimum binds."""
    from ..core.faults import InputFaults
    from ..present import likely_report, payments_report, terms_report
    from ..studies.negotiation.probabilities import probabilities_of_minimums

    case, results = asked.case, asked.results
    if none := _no_deal(asked):
        return none
    drawn, why = None, []
    if draws and case.ranges and case.minimum_royalties:
        try:
            drawn = probabilities_of_minimums(case, draws, seed)
        except InputFaults as problem:
            why = [likely_report.refused(problem)]
    said = [*terms_report.minimums(case, _overview(asked)), *terms_report.how_often_they_bind(drawn), *why]
    return View(case.title, said, [payments_report.years_table(case, results, drawn)])


WORTH_CHART = option("--worth-chart", type=OutFile(), help="Write the chart of cost and worth of guarantees to this HTML file.")


@deal.subject("guarantees", SEED, CHART, WORTH_CHART)
def guarantees(asked: Asked, seed: int, chart: Path | None, worth_chart: Path | None) -> View:
    """What guarantees may cost, each and all together; the power that can be guaranteed, and the set that can be signed."""
    from ..present import guarantee_charts, guarantee_set_report, power_guarantee_report
    from .printing import save_chart

    if none := _no_deal(asked):
        return none
    case, found = asked.case, _overview(asked, seed)
    said = power_guarantee_report.guarantees(case, found)
    tables = [power_guarantee_report.guarantees_table(case, found)] if case.guarantees else []
    with refusing():
        sets = found.promises
    if sets:
        all_of_them, signable, *rest = guarantee_set_report.together(case, sets)
        said = [signable, all_of_them, *power_guarantee_report.alone(case, found), *rest, *said]
        tables = [guarantee_set_report.promises_table(case, sets), guarantee_set_report.sets_table(case, sets), *tables]
        save_chart(chart, case, "Probability that each guarantee pays", lambda: (guarantee_charts.odds_chart(sets), [all_of_them]))
        title = "Expected cost of each guarantee, and what a point of it is worth"
        save_chart(worth_chart, case, title, lambda: (guarantee_charts.worth_chart(case, sets), rest[1:2]))
    elif chart or worth_chart:
        needed = "a case with performance_guarantees.csv or acceptance_dates.csv"
        refuse(f"deal guarantees: found a chart of guaranteed rates and dates, but none; allowed: {needed}")
    return View(case.title, said, tables)


@deal.subject("services", DRAWS, SEED)
def services(asked: Asked, draws: int, seed: int) -> View:
    """What each service costs and brings to either side, which pay for themselves, and the plan with and without them."""
    from ..present import services_report

    if none := _no_deal(asked):
        return none
    case = asked.case
    if not case.service_effects:
        return View(case.title, [services_report.NO_EFFECTS])
    found = services_report.found_or_why(case, draws, seed)
    if isinstance(found, str):
        return View(case.title, [found], [services_report.effects_table(case)])
    tables = [services_report.services_table(case, found), services_report.plans_table(case, found)]
    said = [*services_report.headline(case, found), *services_report.in_the_plan(case, found)]
    return View(case.title, said, [*tables, services_report.effects_table(case)])


@deal.subject("laboratory", DRAWS, SEED)
def laboratory(asked: Asked, draws: int, seed: int) -> View:
    """Which tests of the price list pay the licensor, what is left to sell of instruments and people, what limits it."""
    from ..present import laboratory_report
    from ..studies.negotiation.laboratory_odds import odds_of_tests

    if none := _no_deal(asked):
        return none
    case, found = asked.case, asked.results.deal.laboratory
    if found is None:
        return View(case.title, [laboratory_report.NO_LABORATORY])
    with refusing():
        odds = odds_of_tests(case, draws, seed)
    said = [*laboratory_report.headline(case, found, odds), *laboratory_report.price_words(case)]
    tables = [laboratory_report.tests_table(case, found, odds), laboratory_report.hours_table(case, found)]
    return View(case.title, said, [*tables, laboratory_report.sample_table(case, found)])


@deal.subject("materials", DRAWS, SEED)
def materials(asked: Asked, draws: int, seed: int) -> View:
    """What materials that the licensor supplies leave it, item by item, and what the licensee pays beside a second source."""
    from ..present import supplied_report
    from ..studies.negotiation.supplied_odds import odds_of_supply

    if none := _no_deal(asked):
        return none
    case, results = asked.case, asked.results
    if not case.supplied_materials:
        return View(case.title, [supplied_report.NO_MATERIALS])
    with refusing():
        odds = odds_of_supply(case, draws, seed)
    tables = [supplied_report.materials_table(case, results, odds), supplied_report.sources_table(case)]
    return View(case.title, supplied_report.headline(case, results, odds), tables)


@deal.subject("prices")
def prices(asked: Asked) -> View:
    """What falling prices do to both sides, by form of royalty."""
    from ..present import terms_report

    if none := _no_deal(asked):
        return none
    case, found = asked.case, _overview(asked)
    return View(case.title, [terms_report.price_falls(case, found)], [terms_report.price_paths_table(case, found)])


@deal.subject("yardsticks")
def yardsticks(asked: Asked) -> View:
    """Shares of profit and of sales, what is common, and a buy-out."""
    from ..present import terms_report

    if none := _no_deal(asked):
        return none
    said = [terms_report.yardsticks(asked.results), terms_report.buy_out(asked.case, _overview(asked))]
    return View(asked.case.title, [*said, terms_report.yardstick_sources()])


@deal.subject(
    "rounds",
    option("--from", "first", metavar="NAME", help="Compare this round, or `draft`, with another one, term by term."),
    option("--to", "second", metavar="NAME", help="The other one; without it, that which the answer is about."),
)
def rounds(asked: Asked, first: str | None, second: str | None) -> View:
    """Versions of the deal, round by round: what moved, and what still holds; with --from two of them term by term."""
    from ..present import rounds_report
    from ..studies.negotiation.rounds_compared import compare_rounds

    on = day_of(asked.day)
    if none := _no_deal(asked):
        return none
    case = asked.case
    if second and not first:
        refuse("--to: found without --from; allowed: with it")
    if first:
        with refusing():
            draft = case.version.draft if case.version else case
            compared = compare_rounds(asked.folder, draft, first, second or (case.version.name if case.version else "draft"))
        return View(case.title, rounds_report.compared(compared), [rounds_report.compared_table(compared)])
    found = _overview(asked)
    said = [rounds_report.version(case, on), *(rounds_report.rounds(case, found, on) or [rounds_report.NO_ROUNDS])]
    return View(case.title, said, [rounds_report.rounds_table(case, found)] if found.turns else [])


@deal.subject("review")
def review(asked: Asked) -> View:
    """What people look at before anything is signed."""
    from ..present import deal_report

    return _no_deal(asked) or View(f"{asked.case.title}: before anything is signed", deal_report.cautions())
