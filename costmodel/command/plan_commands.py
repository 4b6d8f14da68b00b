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
    from ..present import cash_report, plan_report, zone_report
    from ..studies.factory.least_price import least_price, least_volume
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "plan", style)
        return
    if not results.has_plan:
        show_lines([case.title, plan_report.NO_PLAN])
        return
    show_lines(
        [
            case.title,
            plan_report.verdict(case, results),
            *zone_report.of_plan(case, zone_report.found_or_why(case, draws, seed, deal=False)),
            plan_report.cash_needed(case, results),
            plan_report.price_needed(case, results, least_price(case)),
            plan_report.volume_needed(case, least_volume(case)),
            *plan_report.markets_that_bind(case, results),
            *plan_report.prices_above_markets(case, results),
            plan_report.closing(case, results),
            plan_report.bank(case, results),
            plan_report.others(case, results),
        ]
    )
    tables = (plan_report.worth_table, cash_report.capital_table, cash_report.cash_table, plan_report.others_table)
    for make in (*tables, cash_report.markets_table) if results.plan.markets else tables:
        show_table(make(case, results))


@click.command()
@for_a_case
@as_program
def market(asked: Asked, style: str) -> None:
    """What buyers could pay in each market, by energy or by area, and the efficiency that breaks even."""
    from ..present import market_report
    from .printing import show_figures, show_lines, show_table

    case, results = asked.evaluate()
    if style:
        show_figures(results, case.currency, "market", style)
        return
    if not case.markets:
        show_lines([case.title, market_report.NO_MARKETS])
        return
    show_lines(
        [
            case.title,
            market_report.where_it_sells(case, results),
            market_report.volume_above_cost(results),
            *market_report.market_by_market(case, results),
        ]
    )
    for table in market_report.market_tables(case, results):
        show_table(table)
