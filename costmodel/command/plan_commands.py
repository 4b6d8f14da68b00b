"""Commands for the plant as an investment, and for its markets."""

from __future__ import annotations

import click

from .opening import Asked, as_program, for_a_case


def add_plan_commands(main: click.Group) -> None:
    """Give the program the commands of this file."""
    for command in (plan, market):
        main.add_command(command)


@click.command()
@for_a_case
@click.option("--draws", default=1_000, show_default=True, type=click.IntRange(0, 10_000_000), help="Draws for the probability.")
@click.option("--seed", default=0, show_default=True, type=click.IntRange(0), help="The seed of the draws, a whole number from 0.")
@as_program
def plan(asked: Asked, draws: int, seed: int, style: str) -> None:
    """The plant as an investment: what it earns, the cash it needs, the price it takes; and the licence."""
    from ..present import plan_tables, plan_words, probability_words
    from ..studies.factory.least_price import least_price, least_volume
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "plan", style)
        return
    if not results.has_plan:
        show_lines([case.title, plan_words.NO_PLAN])
        return
    show_lines(
        [
            case.title,
            plan_words.verdict(case, results),
            *probability_words.of_plan(case, probability_words.found_or_why(case, draws, seed, deal=False)),
            plan_words.cash_needed(case, results),
            plan_words.price_needed(case, results, least_price(case)),
            plan_words.volume_needed(case, least_volume(case)),
            *plan_words.markets_that_bind(case, results),
            *plan_words.prices_above_markets(case, results),
            plan_words.closing(case, results),
            plan_words.bank(case, results),
            plan_words.others(case, results),
        ]
    )
    tables = (plan_tables.worth_table, plan_tables.capital_table, plan_tables.cash_table, plan_tables.others_table)
    for make in (*tables, plan_tables.markets_table) if results.plan.markets else tables:
        show_table(make(case, results))


@click.command()
@for_a_case
@as_program
def market(asked: Asked, style: str) -> None:
    """What buyers could pay in each market, by energy or by area, and the efficiency that breaks even."""
    from ..present import market_tables, market_words
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "market", style)
        return
    if not case.markets:
        show_lines([case.title, market_words.NO_MARKETS])
        return
    show_lines(
        [
            case.title,
            market_words.where_it_sells(case, results),
            market_words.volume_above_cost(results),
            *market_words.market_by_market(case, results),
        ]
    )
    for table in market_tables.market_tables(case, results):
        show_table(table)
