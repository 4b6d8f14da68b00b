"""What the figures of the plan say, in plain words."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.rates_of_return import ONE
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.plan_figures import MarketSales, Valuation
from ..studies.factory.least_price import ANY, JUMP, NONE, Least, price_of_a_watt
from ..studies.factory.market_shares import SalePrice, sale_prices
from .numbers import in_unit, money, people, percent
from .return_words import return_clause

PER = {"Wp_stabilised": "stabilised watt", "m2": "m2", "module": "module"}
NO_PLAN = "The case has no plan.yaml, so nothing is said of it as an investment."


def _years(time: float) -> str:
    return in_unit(time, "year").replace("year", "years")


def _return(worth: Valuation, asked: float) -> str:
    words = return_clause(worth.irr, worth.irr_status, worth.recovered)
    return f"{words}, against {percent(asked)} that are asked" if worth.irr_status == ONE else words


def verdict(case: Case, results: Results) -> str:
    """The answer in one sentence: whether the project earns what is asked."""
    if not results.has_plan:
        return NO_PLAN
    plan, project = results.plan, results.plan.project
    word = "earns" if project.npv >= 0 else "does not earn"
    said = (
        f"As an investment the plant {word} what is asked: a net present value of {money(project.npv, case.currency)}, "
        f"{_return(project, plan.required_return)}."
    )
    if (plan.owners.npv >= 0) == (project.npv >= 0):
        return said
    word = "earn" if plan.owners.npv >= 0 else "do not earn"
    return (
        f"{said} With the loan, its owners {word} the {percent(plan.equity_return)} that they ask: a net present value of "
        f"{money(plan.owners.npv, case.currency)}."
    )


def cash_needed(case: Case, results: Results) -> str:
    """How much cash is needed, when the low point is, and when it is paid back."""
    plan, project = results.plan, results.plan.project
    back = f"It is paid back after {_years(project.payback)}." if project.payback_status else "It is not paid back within the plan."
    return (
        f"The capital is {money(plan.capital, case.currency)}, {money(plan.capital_per_annual_watt, case.currency)} for each "
        f"stabilised watt a year and {money(plan.capital_per_annual_m2, case.currency)} for each m2 a year. Cash of the project is "
        f"lowest after {_years(project.low_point_time)}, at {money(project.low_point, case.currency)}. {back}"
    )


def price_needed(case: Case, results: Results, least: Least) -> str:
    """The least price for the required return, held against the price sold at and what buyers could pay."""
    now = price_of_a_watt(case, results)
    if least.times is None:
        end, word = (least.high, "No price up to") if least.status == NONE else (least.low, "Every price from")
        return (
            f"{word} {people(end)} times that of now, {money(now, case.currency)} per watt, earns the required return: no least "
            "price is found."
        )
    wanted = now * least.times
    words = (
        f"The required return needs a price of {money(wanted, case.currency)} per stabilised watt; the plan sells at "
        f"{money(now, case.currency)}, both in money of the case.{_jump(case, least)}"
    )
    found = results.market.by_market
    if not found:
        return words
    per_m2 = wanted * next(iter(found.values())).ours.watts_per_m2
    words += f" Per m2 that is {money(per_m2, case.currency)}."
    enough = [name for name, each in found.items() if each.highest_price >= wanted]
    none = [name for name, each in found.items() if each.highest_price <= 0]
    if enough:
        words += f" Buyers could pay that in {_titles(case, enough)}."
    else:
        words += " In no market could buyers pay that."
    if none:
        words += f" In {_titles(case, none)} no price at all earns it, as none that is positive exists there."
    return words


def _titles(case: Case, names: list[str]) -> str:
    return ", ".join(f"“{case.markets[name].title}”" for name in names)


def volume_needed(case: Case, least: Least) -> str:
    """How much must be made and sold."""
    if least.status == ANY:
        share = percent(case.plan.schedule.volume_share * least.low)
        return f"Even {share} of the output earns the required return: no least volume is found."
    if least.times is None:
        return "Even all of the output that the markets take does not earn what is asked."
    share = case.plan.schedule.volume_share * least.times
    needed = f"{percent(share)} of the output must be made and sold for that return, the plant and its people staying."
    return needed + _jump(case, least)


def _jump(case: Case, least: Least) -> str:
    """That the net present value is not 0 there, where it jumps."""
    if least.status != JUMP:
        return ""
    ends = " to ".join(money(value, case.currency) for value in (least.below, least.residual))
    return f" The net present value jumps there from {ends}."


def markets_that_bind(case: Case, results: Results) -> list[str]:
    """A sentence for each market that takes less than the plan would sell there, in its year of the largest cut."""
    return [
        _market_binds(case.markets[name].title, found)
        for name, found in results.plan.markets.items()
        if max(found.cut_by_year.values()) > 0.0
    ]


def prices_above_markets(case: Case, results: Results) -> list[str]:
    """A sentence for each row of sales.csv whose price is above the highest price of its market."""
    return [_above(case, each) for each in sale_prices(case, results) if each.too_high]


def _above(case: Case, found: SalePrice) -> str:
    sold = f"The plan sells to “{case.sales[found.sale].title}” at {money(found.price, case.currency)} per {PER[found.per]}."
    market = f"“{case.markets[found.market].title}”"
    if found.highest <= 0:
        return f"{sold} No positive price exists in {market}, so buyers there do not pay that."
    return f"{sold} Buyers in {market} pay at most {money(found.highest, case.currency)}."


def _market_binds(title: str, found: MarketSales) -> str:
    years = [year for year, cut in found.cut_by_year.items() if cut > 0.0]
    worst = max(years, key=lambda year: found.cut_by_year[year])
    most, planned, sold = (_amount(x, found.per) for x in (found.cap, found.planned_by_year[worst], found.sold_by_year[worst]))
    count = "one year" if len(years) == 1 else f"{len(years)} years"
    return (
        f"“{title}” takes at most {most} a year of ours. In year {int(worst[1:])}, {planned} are planned and {sold} are sold. "
        f"This limit binds in {count}."
    )


def _amount(value: float, unit: str) -> str:
    """An amount of a market: power in MW, area in m2.

    >>> _amount(4_200_000.0, "Wp_stabilised"), _amount(65_000.0, "m2")
    ('4.20 MW', '65,000 m2')
    """
    if unit == "m2":
        return f"{people(value)} m2"
    return f"{people(value / to_base('MWp_stabilised'))} MW"


def closing(case: Case, results: Results) -> str:
    """When the plant closes, and what closing at the best time would be worth beside that."""
    end = results.plan.ending
    words = _closes_early(case, results) if end.early else "The plant does not close before the end of the plan."
    if end.npv_best <= results.plan.project.npv:
        return f"{words} No other time of closing is worth more."
    if end.npv_best <= end.npv_never:
        return words
    return (
        f"{words} Closing at the best time, after {_years(end.best_time)}, would be worth {money(end.npv_best, case.currency)}: an "
        "upper bound, as it knows the future."
    )


def _closes_early(case: Case, results: Results) -> str:
    """Why and when the plant closes, what never closing would be worth, and who bears what is short."""
    end = results.plan.ending
    lost = max(each.lost_quarters * each.open_share for each in results.plan.quarters.values())
    words = (
        f"The plant closes after {_years(end.time)}: operating cash after licence payments and replacements was negative in "
        f"{lost:g} quarters in a row. Never closing would be worth {money(end.npv_never, case.currency)}."
    )
    if end.shortfall <= 0:
        return words
    short = f"Debt and licence payments exceed what closing brings by {money(end.shortfall, case.currency)}"
    if case.plan.closing.shortfall == "owners":
        return f"{words} {short}; the owners bear it."
    return f"{words} {short}; the licensor bears it first, then the bank."


def bank(case: Case, results: Results) -> str:
    """Whether the loan is covered."""
    plan = results.plan
    if not case.plan.loan.part:
        return "The plan has no loan."
    if not plan.minimum_dscr_status:
        return f"The loan pays {percent(case.plan.loan.part)} of the capital. Nothing of it is repaid within the plan."
    below = int(plan.years_below_minimum_dscr)
    count = "no year" if not below else "one year" if below == 1 else f"{below} years"
    return (
        f"The loan pays {percent(case.plan.loan.part)} of the capital. In its worst year the plant has "
        f"{people(plan.minimum_dscr)} for each unit of interest and repayment; the bank asks for "
        f"{people(case.plan.loan.minimum_dscr)}, and {count} {'fall' if below > 1 else 'falls'} below it."
    )


def others(case: Case, results: Results) -> str:
    """Whether another line would be better for the same money."""
    plan = results.plan
    if not plan.others:
        return "The case names no other line."
    best = max(plan.others, key=lambda name: plan.others[name].worth.npv)
    npv = plan.others[best].worth.npv
    than = "more" if npv > plan.project.npv else "less"
    return (
        f"For the same money, “{case.other_lines[best].title}” would be the best other line: a net present value of "
        f"{money(npv, case.currency)}, {than} than the {money(plan.project.npv, case.currency)} of this plan."
    )
