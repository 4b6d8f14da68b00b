"""The plant as an investment, and its markets."""

from __future__ import annotations

from pathlib import Path

import click

from .answering import View, records
from .offers import note_terms
from .opening import Asked, OutFile, refuse
from .screen import sentences
from .subjects import SubjectCommand, option

plan = SubjectCommand("plan", stage="plan")
market = SubjectCommand("market", stage="market")

DRAWS = option("--draws", default=1_000, type=click.IntRange(0, 10_000_000), help="Draws for the probability.")
SEED = option("--seed", default=0, type=click.IntRange(0), help="The seed of the draws, a whole number from 0.")
CLAIMS_CHART = option("--chart", type=OutFile(), help="Write the chart of the claims to this HTML file, which opens offline.")
PROVISION_CHART = option(
    "--provision-chart", type=OutFile(), help="Write the chart of the provision to this HTML file, which opens offline."
)


def _no_plan(asked: Asked) -> View | None:
    """What is said of a case without a plan."""
    from ..present import plan_report

    return None if asked.results.has_plan else View(asked.case.title, [plan_report.NO_PLAN])


@plan.answer(DRAWS, SEED)
def worth(asked: Asked, draws: int, seed: int) -> View:
    """The plant as an investment: net present value, its probability to be above zero, return, payback, cash, the price."""
    from ..present import likely_report, plan_report
    from ..studies.factory.least_price import least_price

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    note_terms(asked, "plan")
    least, *more = sentences(plan_report.price_needed(case, results, least_price(case)))
    said = [
        plan_report.verdict(case, results),
        *(sentences(plan_report.closing(case, results))[:1] if results.plan.ending.early else []),
        likely_report.of_plan(case, likely_report.found_or_why(case, draws, seed, deal=False))[0],
        *plan_report.prices_above_markets(case, results),
        *plan_report.markets_that_bind(case, results),
        least,
        plan_report.cash_needed(case, results),
        *more,
    ]
    return View(case.title, said, [plan_report.worth_table(case, results)])


@plan.subject("probability", DRAWS, SEED)
def plan_probability(asked: Asked, draws: int, seed: int) -> View:
    """How probable a net present value above zero is, and how that is drawn."""
    from ..present import likely_report

    found = likely_report.found_or_why(asked.case, draws, seed, deal=False) if asked.results.has_plan else ""
    return _no_plan(asked) or View(asked.case.title, likely_report.of_plan(asked.case, found))


@plan.subject("price")
def price(asked: Asked) -> View:
    """The price and the volume that the required return takes, against what markets pay and take."""
    from ..present import plan_report
    from ..studies.factory.least_price import least_price, least_volume

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    said = [
        plan_report.price_needed(case, results, least_price(case)),
        plan_report.volume_needed(case, least_volume(case)),
        *plan_report.markets_that_bind(case, results),
        *plan_report.prices_above_markets(case, results),
    ]
    return View(case.title, said)


@plan.subject("capital")
def capital(asked: Asked) -> View:
    """What is spent before the plant runs."""
    from ..present import cash_report, plan_report

    case, results = asked.case, asked.results
    return _no_plan(asked) or View(case.title, [plan_report.cash_needed(case, results)], [cash_report.capital_table(case, results)])


@plan.subject("cash", DRAWS, SEED)
def cash(asked: Asked, draws: int, seed: int) -> View:
    """Cash by year, of the project and of its owners, and how its low point spreads; the loan and its coverage."""
    from ..core.faults import InputFaults
    from ..present import cash_report, likely_report, plan_report
    from ..studies.spread import quantiles_of

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    capital, *lowest = sentences(plan_report.cash_needed(case, results))
    try:
        drawn = quantiles_of(case, plan_report.LOWEST_CASH, draws, seed)
        spread = [plan_report.lowest_cash(case, drawn, draws, seed)] if drawn else []
    except InputFaults as problem:
        spread = [likely_report.refused(problem)]
    said = [*lowest, *spread, plan_report.bank(case, results), capital]
    return View(case.title, said, [cash_report.cash_table(case, results)])


@plan.subject("closing")
def closing(asked: Asked) -> View:
    """When the plant closes, and whether another time would be worth more."""
    from ..present import plan_report

    return _no_plan(asked) or View(asked.case.title, [plan_report.closing(asked.case, asked.results)])


@plan.subject("markets")
def planned_markets(asked: Asked) -> View:
    """What is planned and sold in each market, year by year."""
    from ..present import cash_report, plan_report

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    said = [*plan_report.markets_that_bind(case, results), *plan_report.prices_above_markets(case, results)]
    tables = [cash_report.markets_table(case, results)] if results.plan.markets else []
    return View(case.title, said or [plan_report.NO_MARKET_LIMITS], tables)


@plan.subject("warranty", DRAWS, SEED, CLAIMS_CHART, PROVISION_CHART)
def warranty(asked: Asked, draws: int, seed: int, chart: Path | None, provision_chart: Path | None) -> View:
    """What the warranty costs per watt, how many claims in which year, what a longer term or a stricter promise would cost."""
    from ..present import guarantee_charts, warranty_report
    from ..studies.factory.warranty_terms import cost_spread, dearer_terms
    from .printing import save_chart

    case, results = asked.case, asked.results
    if (chart and not case.warranty) or (provision_chart and not (case.warranty and results.has_plan)):
        refuse("plan warranty: found a chart of a warranty, but none; allowed: a case with warranty.csv and plan.yaml")
    if not case.warranty:
        return View(case.title, [warranty_report.NO_WARRANTY])
    other = dearer_terms(case)
    said = [
        warranty_report.cost(case, results),
        warranty_report.claims_a_year(case, results),
        warranty_report.claims(case, results),
        warranty_report.dearer(case, results, other),
        warranty_report.spread_words(case, cost_spread(case, draws, seed)),
        *([warranty_report.in_the_plan(case, results)] if results.has_plan else []),
        warranty_report.claim(case, results),
        warranty_report.promise(case),
        warranty_report.CAUTION,
    ]
    tables = [warranty_report.dearer_table(case, results, other), warranty_report.ages_table(case, results)]
    save_chart(chart, case, "Claims by year after the sale", lambda: (guarantee_charts.claims_chart(results), said[1:2]))
    if results.has_plan:
        tables.append(warranty_report.provision_table(case, results))
        settled, title = [warranty_report.in_the_plan(case, results)], "Provision for the warranty by year of the plan"
        save_chart(provision_chart, case, title, lambda: (guarantee_charts.provision_chart(case, results), settled))
    return View(case.title, [each for each in said if each], tables)


@plan.subject("others", DRAWS, SEED)
def others(asked: Asked, draws: int, seed: int) -> View:
    """Other lines that the same money could buy, and the probability that this plan is worth more."""
    from ..core.faults import InputFaults
    from ..present import likely_report, plan_report
    from ..studies.spread import probability_of_more

    case, results = asked.case, asked.results
    if none := _no_plan(asked):
        return none
    try:
        found = {name: probability_of_more(case, *plan_report.against(name), draws, seed) for name in case.other_lines}
        likely = plan_report.likely_better(case, results, found)
    except InputFaults as problem:
        found, likely = {}, [likely_report.refused(problem)]
    return View(case.title, [plan_report.others(case, results), *likely], [plan_report.others_table(case, results, found)])


@plan.subject("conventions")
def plan_conventions(asked: Asked) -> View:
    """Figures that books define differently: by our convention, and what another would give."""
    from ..present import conventions_report
    from ..studies.conventions import conventions

    if found := _no_plan(asked):
        return found
    rows = conventions(asked.case, asked.results)
    tables = [conventions_report.conventions_table(rows)]
    return View(asked.case.title, conventions_report.summary(rows), tables, records(conventions_report.records(rows)))


@market.answer()
def ceilings(asked: Asked) -> View:
    """What buyers in each market could pay, and how much they take; by subject what sets that price."""
    from ..present import market_report

    case, results = asked.case, asked.results
    if not case.markets:
        return View(case.title, [market_report.NO_MARKETS])
    said = [market_report.where_it_sells(case, results), market_report.volume_above_cost(results)]
    return View(case.title, said, [market_report.market_table(case, results)])


@market.subject("details")
def details(asked: Asked) -> View:
    """Market by market: what sets the price, the reference module and ours, the efficiency that breaks even."""
    from ..present import market_report

    case, results = asked.case, asked.results
    if not case.markets:
        return View(case.title, [market_report.NO_MARKETS])
    return View(case.title, market_report.market_by_market(case, results), [market_report.market_details_table(case, results)])


@market.subject("area")
def area(asked: Asked) -> View:
    """Markets limited by area: what else could cover it."""
    from ..present import market_report

    case, results = asked.case, asked.results
    tables = [market_report.alternatives_table(case, results)] if case.markets else []
    return View(case.title, market_report.what_binds(case, results), tables)


@market.subject("energy")
def energy(asked: Asked) -> View:
    """Markets limited by energy: its levelised cost."""
    from ..present import market_report

    case, results = asked.case, asked.results
    tables = [market_report.energy_table(case, results)] if case.markets else []
    return View(case.title, market_report.where_energy_sells(case, results), tables)
