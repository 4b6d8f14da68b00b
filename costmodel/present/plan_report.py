"""The plant as an investment: sentences and tables."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from ..case.whole_case import Case
from ..core.rates_of_return import COST_OF_FINANCE, SEVERAL, rates_inside
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan import timing
from ..model.plan.plan_figures import MarketSales, Valuation
from ..model.plan.transfer import probability_due
from ..studies.factory.least_price import ANY, JUMP, NONE, Least, price_of_a_watt
from ..studies.factory.market_prices import SalePrice, sale_prices
from ..studies.spread import Probability, Quantile, left_open
from . import plain_plan
from .numbers import NOT_APPLICABLE, amount, money, named, people, percent, short_return, years
from .plain_plan import return_clause
from .table import Table, table_of

PER = {"Wp_stabilised": "stabilised watt", "m2": "m²", "module": "module"}
NO_MARKET_LIMITS = "No market takes less than the plan would sell, and no price is above what its buyers could pay."
NO_PLAN = "The case has no plan.yaml, so it is not computed as an investment."


def yearly_rates(flows: Sequence[float]) -> list[float]:
    """All rates of a year at which the present value of quarterly flows is 0, from -90 to +1,000 %."""
    return [(1 + rate) ** timing.QUARTERS - 1 for rate in rates_inside(flows)]


def return_words(worth: Valuation, flows: Sequence[float] = ()) -> str:
    """A rate of return, or why there is none; with its flows, several rates and a cost of finance are given.

    >>> from types import SimpleNamespace as W
    >>> return_words(W(irr=float("nan"), irr_status=2.0, recovered=1.3), [-100.0, 230.0, -132.0])
    'several rates: 46.4 % and 107 %'
    """
    words = short_return(worth.irr, worth.irr_status, worth.recovered)
    if worth.irr_status not in (SEVERAL, COST_OF_FINANCE) or not flows:
        return words
    return f"{words}: {' and '.join(percent(rate) for rate in yearly_rates(flows))}"


def verdict(case: Case, results: Results) -> str:
    """The answer: whether the project earns the required return."""
    if not results.has_plan:
        return NO_PLAN
    plan, project = results.plan, results.plan.project
    word, clause = (
        "earns" if project.npv >= 0 else "does not earn",
        return_clause(project.irr, project.irr_status, project.recovered),
    )
    words = (
        f"At the stated inputs the plant {word} the required {percent(plan.required_return)}: its net present value is "
        f"{amount(project.npv, case.currency)}. It has {clause}."
    )
    if (plan.owners.npv >= 0) == (project.npv >= 0):
        return words
    return (
        f"{words} With the loan, its owners {'earn' if plan.owners.npv >= 0 else 'do not earn'} their required "
        f"{percent(plan.equity_return)}: their net present value is {amount(plan.owners.npv, case.currency)}."
    )


def cash_needed(case: Case, results: Results) -> str:
    """How much cash is needed, when the low point is, and when payback is."""
    plan, project = results.plan, results.plan.project
    back = f"Payback is after {years(project.payback)}." if project.payback_status else "There is no payback within the plan."
    return (
        f"The capital is {amount(plan.capital, case.currency)}, {money(plan.capital_per_annual_watt, case.currency)} per "
        f"stabilised watt a year and {money(plan.capital_per_annual_m2, case.currency)} per m² of good modules a year. Cash of the "
        f"project is lowest after {years(project.low_point_time)}, at {amount(project.low_point, case.currency)}. {back}"
    )


def price_needed(case: Case, results: Results, least: Least) -> str:
    """The least price for the required return, beside the price of the plan and the highest that buyers could pay."""
    now = price_of_a_watt(case, results)
    if least.times is None:
        end, word = (least.high, "No price up to") if least.status == NONE else (least.low, "Every price from")
        return (
            f"{word} {people(end)} times today's, {money(now, case.currency)} per watt, earns the required return: no least "
            "price is found."
        )
    wanted = now * least.times
    watts_per_m2 = results.line.output.stabilised_watts / results.line.output.good_area
    needed, asked = (f"{money(each * watts_per_m2, case.currency)} per m²" for each in (wanted, now))
    words = (
        f"The required return needs a price of {money(wanted, case.currency)} per stabilised watt, {needed}. The plan sells at "
        f"{money(now, case.currency)}, {asked}, both in money of the case.{_jump(case, least)}"
    )
    found = results.market.by_market
    if not found:
        return words
    enough = [name for name, each in found.items() if each.highest_price >= wanted]
    none = [name for name, each in found.items() if each.highest_price <= 0]
    some, nobody = f" Buyers could pay what it needs in {_titles(case, enough)}.", " In no market could buyers pay what it needs."
    words += some if enough else nobody
    return words + f" In {_titles(case, none)} no positive price exists." if none else words


def _titles(case: Case, names: list[str]) -> str:
    return named(case.markets[name].title for name in names)


def volume_needed(case: Case, least: Least) -> str:
    """How much must be made and sold."""
    if least.status == ANY:
        share = percent(case.plan.schedule.volume_share * least.low)
        return f"Even {share} of the output earns the required return: no least volume is found."
    if least.times is None:
        return "Even all of the output that the markets take does not earn the required return."
    share = percent(case.plan.schedule.volume_share * least.times)
    return f"The required return needs sales of {share} of the output, at unchanged plant and people.{_jump(case, least)}"


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
    cut = [year for year, cut in found.cut_by_year.items() if cut > 0.0]
    worst = max(cut, key=lambda year: found.cut_by_year[year])
    most, planned, sold = (_amount(x, found.per) for x in (found.cap, found.planned_by_year[worst], found.sold_by_year[worst]))
    count = "one year" if len(cut) == 1 else f"{len(cut)} years"
    return (
        f"“{title}” takes at most {most} a year of ours. In year {int(worst[1:])}, {planned} are planned and {sold} are sold. "
        f"This limit binds in {count}."
    )


def _amount(value: float, unit: str) -> str:
    """An amount of a market: power in MW, area in m².

    >>> _amount(4_200_000.0, "Wp_stabilised"), _amount(65_000.0, "m2")
    ('4.20 MW', '65,000 m²')
    """
    return f"{people(value)} m²" if unit == "m2" else f"{people(value / to_base('MWp_stabilised'))} MW"


def closing(case: Case, results: Results) -> str:
    """When the plant closes, and what closing at the best time would be worth beside that."""
    end = results.plan.ending
    words = _closes_early(case, results) if end.early else "The plant does not close before the end of the plan."
    if end.npv_best <= results.plan.project.npv:
        return f"{words} No other time of closing is worth more."
    if end.npv_best <= end.npv_never:
        return words
    return (
        f"{words} Closing at the best time, after {years(end.best_time)}, would be worth {amount(end.npv_best, case.currency)}: "
        "an upper bound, as it knows the future."
    )


def _closes_early(case: Case, results: Results) -> str:
    """Why and when the plant closes, the value without closing, and who covers a shortfall."""
    end = results.plan.ending
    lost = max(each.lost_quarters * each.open_share for each in results.plan.quarters.values())
    words = (
        f"The plant closes after {years(end.time)}: operating cash after licence payments and replacements was negative in "
        f"{lost:g} consecutive quarters. Without closing, the net present value would be {amount(end.npv_never, case.currency)}."
    )
    if end.shortfall <= 0:
        return words
    who = "The owners cover it." if case.plan.closing.shortfall == "owners" else "The licensor loses first, then the bank."
    return f"{words} Debt and licence payments exceed the proceeds of closing by {amount(end.shortfall, case.currency)}. {who}"


def bank(case: Case, results: Results) -> str:
    """Whether the loan is covered."""
    return plain_plan.bank(plain_plan.plain_plan(case, results))


LOWEST_CASH = ("plan.project.low_point", "plan.project.low_point_time")


def lowest_cash(case: Case, drawn: Mapping[str, Sequence[Quantile]], draws: int, seed: int) -> str:
    """How the lowest cash of the project and its time are spread over draws; the deepest first."""
    cash, (early, _, late) = (drawn[address] for address in LOWEST_CASH)
    deep, middle, flat = (amount(each.value, case.currency) for each in cash)
    first, last = years(early.value), years(late.value)
    when = f"after {first}" if first == last else f"after {first} (P10) to {last} (P90)"
    return (
        f"Over {draws:,} draws, seed {seed}, the lowest cash is {deep} (P10), {middle} (P50), {flat} (P90), {when}. "
        f"Sampling leaves these open by at most {amount(left_open(cash), case.currency)} either way (95 %)."
    )


def against(name: str) -> tuple[str, str]:
    """The figures of this plan and of another line that are compared."""
    return "plan.project.npv", f"plan.others.{name}.worth.npv"


def likely_better(case: Case, results: Results, found: Mapping[str, Probability | None]) -> list[str]:
    """How likely this plan is worth more than the best other line, on the same draws."""
    there = {name: each for name, each in found.items() if each is not None}
    if not there:
        return []
    best = max(there, key=lambda name: results.plan.others[name].worth.npv)
    each = there[best]
    return [
        f"The probability that this plan has the higher net present value of the two is {percent(each.share, 2)} (standard error "
        f"{percent(each.error, 2)}). Draws are of ranges.csv; the figures of the other line are not drawn unless it has rows there."
    ]


def others(case: Case, results: Results) -> str:
    """Whether another line would be better for the same money."""
    return plain_plan.best_other(plain_plan.plain_plan(case, results), case.currency)


def time_words(time: float, status: float) -> str:
    """A payback time in a table, or that there is none."""
    return plain_plan.in_years(time / to_base("year") if status else None)


WEIGHTED = "Fees count by their probability. Proposal and investor briefing count each in full, so their value is another."


def worth_table(case: Case, results: Results) -> Table:
    """Net present value and returns of project and owners."""
    plan = results.plan
    flows = ([q.free_cash for q in plan.quarters.values()], [q.owners_cash for q in plan.quarters.values()])
    rates = [return_words(worth, cash) for worth, cash in zip((plan.project, plan.owners), flows)]
    table = plain_plan.worth_table(plain_plan.plain_plan(case, results), case.currency, rates)
    if results.has_deal and any(probability_due(case, fee) < 1 for fee in case.fees.values()):
        table = dataclasses.replace(table, note=f"{table.note} {WEIGHTED}".strip())
    if not (results.has_deal and case.deal.licence.equity_share):
        return table
    share, dividends = percent(case.deal.licence.equity_share), amount(results.deal.licensee.dividends, case.currency)
    given = f"Both columns count all shares, also the {share} given to the licensor. Dividends on those are {dividends} at the "
    given += "required return of the project, not deducted here."
    return dataclasses.replace(table, note=f"{table.note} {given}".strip())


def capital_table(case: Case, results: Results) -> Table:
    """Capital by kind of asset, in all and per watt a year."""
    return plain_plan.capital_table(plain_plan.plain_plan(case, results), case.currency)


def others_table(case: Case, results: Results, found: Mapping[str, Probability | None] | None = None) -> Table:
    """Other lines for the same money, beside this one; if drawn, the probability that this plan is worth more than each."""
    plan, drawn = results.plan, {name: each for name, each in (found or {}).items() if each}
    lines = [("this plan", results.line.output.stabilised_watts, plan.project, NOT_APPLICABLE)]
    lines += [
        (case.other_lines[name].title, other.stabilised_watts, other.worth, percent(drawn[name].share, 2) if name in drawn else "")
        for name, other in plan.others.items()
    ]
    columns = {
        "": lambda title, watts, worth, more: title,
        "MW a year": lambda title, watts, worth, more: people(watts / to_base("MWp_stabilised")),
        "net present value": lambda title, watts, worth, more: people(worth.npv),
        "internal rate of return": lambda title, watts, worth, more: return_words(worth),
        "payback after": lambda title, watts, worth, more: time_words(worth.payback, worth.payback_status),
        **({"this plan worth more": lambda title, watts, worth, more: more} if drawn else {}),
    }
    note = (
        "Each as large as the capital of this plan buys, by the figures of other_lines.csv; the same tax and required return, "
        "no loan, licence or working capital."
    )
    return table_of(f"Other lines for the same money, {case.currency}", lines, columns, note=note)
