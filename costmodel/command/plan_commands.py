"""The plant as an investment, and its markets."""

from __future__ import annotations

import click

from .answering import View
from .opening import Asked
from .screen import sentences
from .subjects import SubjectCommand, option

plan = SubjectCommand("plan", stage="plan")
market = SubjectCommand("market", stage="market")

DRAWS = option("--draws", default=1_000, type=click.IntRange(0, 10_000_000), help="Draws for the probability.")
SEED = option("--seed", default=0, type=click.IntRange(0), help="The seed of the draws, a whole number from 0.")


def _no_plan(asked: Asked) -> View | None:
    """What is said of a case without a plan."""
    from ..present import plan_words

    return None if asked.results.has_plan else View(asked.case.title, [plan_words.NO_PLAN])


@plan.answer(DRAWS, SEED)
def worth(asked: Asked, draws: int, seed: int) -> View:
    """The plant as an investment: net present value, its probability to be above zero, return, payback, cash, the price."""
    from ..present import plan_tables, plan_words, probability_words
    from ..studies.factory.least_price import least_price

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    least, *more = sentences(plan_words.price_needed(case, results, least_price(case, results)))
    said = [
        plan_words.verdict(case, results),
        probability_words.of_plan(case, probability_words.found_or_why(case, draws, seed, deal=False))[0],
        *plan_words.prices_above_markets(case, results),
        *plan_words.markets_that_bind(case, results),
        least,
        plan_words.cash_needed(case, results),
        *more,
    ]
    return View(case.title, said, [plan_tables.worth_table(case, results)])


@plan.subject("probability", DRAWS, SEED)
def plan_probability(asked: Asked, draws: int, seed: int) -> View:
    """How probable a net present value above zero is, and how that is drawn."""
    from ..present import probability_words

    found = probability_words.found_or_why(asked.case, draws, seed, deal=False) if asked.results.has_plan else ""
    return _no_plan(asked) or View(asked.case.title, probability_words.of_plan(asked.case, found))


@plan.subject("price")
def price(asked: Asked) -> View:
    """The price and the volume that the required return takes, against what markets pay and take."""
    from ..present import plan_words
    from ..studies.factory.least_price import least_price, least_volume

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    said = [
        plan_words.price_needed(case, results, least_price(case, results)),
        plan_words.volume_needed(case, least_volume(case, results)),
        *plan_words.markets_that_bind(case, results),
        *plan_words.prices_above_markets(case, results),
    ]
    return View(case.title, said)


@plan.subject("capital")
def capital(asked: Asked) -> View:
    """What is spent before the plant runs."""
    from ..present import plan_tables, plan_words

    case, results = asked.case, asked.results
    return _no_plan(asked) or View(case.title, [plan_words.cash_needed(case, results)], [plan_tables.capital_table(case, results)])


@plan.subject("cash")
def cash(asked: Asked) -> View:
    """Cash by year, of the project and of its owners; the loan and its coverage."""
    from ..present import plan_tables, plan_words

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    said = [plan_words.cash_needed(case, results), plan_words.bank(case, results)]
    return View(case.title, said, [plan_tables.cash_table(case, results)])


@plan.subject("closing")
def closing(asked: Asked) -> View:
    """When the plant closes, and whether another time would be worth more."""
    from ..present import plan_words

    return _no_plan(asked) or View(asked.case.title, [plan_words.closing(asked.case, asked.results)])


@plan.subject("markets")
def planned_markets(asked: Asked) -> View:
    """What is planned and sold in each market, year by year."""
    from ..present import plan_tables, plan_words

    case, results = asked.case, asked.results
    if found := _no_plan(asked):
        return found
    said = [*plan_words.markets_that_bind(case, results), *plan_words.prices_above_markets(case, results)]
    return View(case.title, said, [plan_tables.markets_table(case, results)] if results.plan.markets else [])


@plan.subject("others")
def others(asked: Asked) -> View:
    """Other lines that the same money could buy."""
    from ..present import plan_tables, plan_words

    case, results = asked.case, asked.results
    return _no_plan(asked) or View(case.title, [plan_words.others(case, results)], [plan_tables.others_table(case, results)])


@market.answer()
def ceilings(asked: Asked) -> View:
    """What buyers in each market could pay, and how much they take; by subject what sets that price."""
    from ..present import market_tables, market_words

    case, results = asked.case, asked.results
    if not case.markets:
        return View(case.title, [market_words.NO_MARKETS])
    said = [market_words.where_it_sells(case, results), market_words.volume_above_cost(results)]
    return View(case.title, said, [market_tables.market_table(case, results)])


@market.subject("details")
def details(asked: Asked) -> View:
    """Market by market: what sets the price, the reference module and ours, the efficiency that breaks even."""
    from ..present import market_tables, market_words

    case, results = asked.case, asked.results
    if not case.markets:
        return View(case.title, [market_words.NO_MARKETS])
    return View(case.title, market_words.market_by_market(case, results), [market_tables.market_details_table(case, results)])


@market.subject("area")
def area(asked: Asked) -> View:
    """Markets limited by area: what else could cover it."""
    from ..present import market_tables

    return View(asked.case.title, [], [market_tables.alternatives_table(asked.case, asked.results)] if asked.case.markets else [])


@market.subject("energy")
def energy(asked: Asked) -> View:
    """Markets limited by energy: its levelised cost."""
    from ..present import market_tables

    return View(asked.case.title, [], [market_tables.energy_table(asked.case, asked.results)] if asked.case.markets else [])
