"""What single terms of a licence do to both sides: units of a term, prices, guarantees, exclusivity, minimums."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from ..case.deal_records import territories
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.timing import QUARTERS
from ..studies.negotiation.concessions import TIME, Concession
from ..studies.negotiation.limits import Minimum
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.price_paths import FORMS, MINIMUM_PART
from ..studies.negotiation.sides import LICENSEE, LICENSOR
from . import deal_report, payments_report, power_guarantee_report
from .deal_report import EACH_AT_ITS_RATE, in_money, in_own_money, ours, own_columns, own_rate
from .inputs_report import input_name
from .numbers import amount, money, people, percent, signed, years
from .table import Table

EITHER_WAY = ("on sales or on sales, with a minimum", "on sales, with or without a minimum")
YARDSTICKS = (
    (
        "of licences in a large published collection, 67 % charge at most 5 % of sales, 35 % at most 3 %",
        "R. Parr, royalty rate data",
    ),
    (
        "a quarter of the licensee's profit was a rule of thumb, rejected by courts in the United States in 2011",
        "Goldscheider, Jarosz, Mulhern, and Uniloc v. Microsoft",
    ),
    (
        "15 to 35 % of the profit of the enterprise is what licensors commonly argue for",
        "common practice, with the method of the UNIDO manual of 1996",
    ),
)  # for context, not a reason


def yardsticks(results: Results) -> str:
    """What is paid against what the plant earns, beside what others have paid."""
    found = results.deal.yardsticks
    if found.royalty_equivalent_status == 0:
        return "Nothing is sold within the plan, so payments are not compared with sales or profit."
    if not (found.turnover_factor_status and found.discounted_turnover_factor_status):
        share = "Nothing is paid, so no profit is shared."
    elif found.discounted_profit <= 0 or not found.profit_share_status:
        share = "The plant makes no profit over the plan, so there is none to share."
    else:
        share = (
            f"They are {percent(found.profit_share)} of the profit of the enterprise, "
            f"{percent(found.discounted_profit_share)} at the licensee's rate. The technology turnover factor is "
            f"{people(found.turnover_factor)}, discounted {people(found.discounted_turnover_factor)}."
        )
    context = " ".join(f"For context only: {words} [{number}]." for number, (words, _) in enumerate(YARDSTICKS, start=1))
    return f"All payments together are {percent(found.royalty_equivalent)} of net sales. {share} {context}"


def yardstick_sources() -> str:
    """Where the yardsticks are from: the note that their numbers point to; names stand here alone."""
    return "Sources: " + "; ".join(f"[{number}] {source}" for number, (_, source) in enumerate(YARDSTICKS, start=1)) + "."


# one unit of a term


def concessions_table(case: Case, found: Sequence[Concession], most: int = 16) -> Table:
    """What one unit of each term does to both sides."""
    rows = [
        [input_name(case, x.address), f"+ {x.words}{_jumping(x)}", people(x.licensor), *in_own_money(case, x.licensor),
         people(x.licensee), people(x.taken)]
        for x in found[:most]
    ]  # fmt: skip
    jumps = " Within a step with a jump, no smaller step is worth its part." if any(x.jumps for x in found[:most]) else ""
    last = "licensor has of each unit it costs the licensee"
    return Table(
        f"What one unit of a term is worth, {case.currency}",
        ["term", "moved by", "licensor", *own_columns(case, "licensor"), "licensee", last],
        rows,
        note=f"{EACH_AT_ITS_RATE} A licensor requests terms high in the last column first, and gives those low in it.{jumps}",
        texts=(0, 1),
    )


def _jumping(found: Concession) -> str:
    """Whose gain jumps within a step, in words that follow it."""
    sides = dict.fromkeys(side for side, _ in found.jumps)
    return f" (jump for the {' and the '.join(sides)})" if sides else ""


# falling prices


def price_falls(case: Case, found: Overview) -> str:
    """Who loses what as prices fall."""
    paths = found.price_paths
    if math.isnan(paths.royalty) or math.isnan(paths.per_watt):
        return "No royalty alone has the value of the offer to the licensor, so forms of royalty are not compared."
    words = (
        f"{_at_a_fall(case, found)} At the plan's prices, {percent(paths.royalty)} of sales and "
        f"{money(paths.per_watt, case.deal.licence.currency)} per watt have the same value to the licensor."
    )
    effects: dict[str, list[str]] = {}
    for side, effect in ((LICENSOR, "better for the licensor"), (LICENSEE, "worse for the licensee")):
        if not math.isnan(paths.crossings[side]):
            effects.setdefault(_beyond(paths.crossings[side]), []).append(effect)
    for fall, kinds in effects.items():
        words += f" Where prices {fall}, a royalty per watt is {' and '.join(kinds)}."
    stops: dict[str, list[str]] = {}
    for form, stop in paths.stops.items():
        if not math.isnan(stop):
            stops.setdefault(_beyond(stop), []).append(form)
    alike = len(stops) == 1 and len(next(iter(stops.values()))) == len(paths.stops)
    for fall, forms in stops.items():
        form = "whatever the form of the royalty" if alike else f"with a royalty {' or '.join(forms)}".replace(*EITHER_WAY)
        words += f" The licensee has no gain where they {fall}, {form}."
    end = found.results.plan.ending
    if end.early:
        words += f" The plant closes after {years(end.time)}: what prices do later changes no royalty."
    return words


def _at_a_fall(case: Case, found: Overview) -> str:
    """What each side loses at the middle one of the falls, by form of royalty."""
    paths, which = found.price_paths, len(found.price_paths.falls) // 2
    fall, column = paths.falls[which], which + len(paths.paths) - len(paths.falls)

    def lost(form: str, side: str) -> str:
        """What a side loses against the plan's prices."""
        gains = getattr(paths.gains[form], side)
        return in_money(case, float(gains[0] - gains[column]))

    sales, watt = ([lost(form, side) for side in ("licensor", "licensee")] for form in FORMS[:2])
    other = f"{sales[1]} with either" if sales[1] == watt[1] else f"{sales[1]} and {watt[1]}"
    return (
        f"Where prices fall by {percent(fall, 2)} a year, the licensor loses {sales[0]} with a royalty on sales and {watt[0]} with "
        f"one per watt. The licensee loses {other}."
    )


def _beyond(fall: float) -> str:
    """A yearly fall from which something holds, in words.

    >>> _beyond(0.031), _beyond(-0.01)
    ('fall by more than 3.1 % a year', 'rise by less than 1.0 % a year')
    """
    return f"{'fall by more than' if fall >= 0 else 'rise by less than'} {percent(abs(fall), 2)} a year"


def price_paths_table(case: Case, found: Overview) -> Table:
    """What both sides lose under falling prices, by form of royalty."""
    paths, own = found.price_paths, case.deal.licensor.currency

    def changes(gains: Sequence[float]) -> list[str]:
        """A gain, and how it changes in the other columns."""
        return [people(gains[0]), *(people(gain - gains[0]) for gain in gains[1:])]

    rows = [[f"licensor, royalty {form}", *changes(paths.gains[form].licensor.tolist())] for form in FORMS]
    if own != case.currency:
        rows += [
            [f"licensor, royalty {form}, {own}", *changes((paths.gains[form].licensor / own_rate(case)).tolist())] for form in FORMS
        ]
    rows += [[f"licensee, royalty {form}", *changes(paths.gains[form].licensee.tolist())] for form in FORMS]
    rows.append(["licensee, if nothing were paid", *changes(paths.unpaid.tolist())])
    planned = ", ".join(f"{row.title} {signed(100 * row.change * case.constants.year)} % a year" for row in case.sales.values())
    return Table(
        f"Falling prices: gains of both sides, and how they change, {case.currency}",
        ["", "at the plan's prices", "change: flat", *(f"{percent(-fall, 2)} a year" for fall in paths.falls)],
        rows,
        note=f"{EACH_AT_ITS_RATE} The plan's prices: {planned}. In the other columns all prices change evenly instead. The minimum "
        f"is {people(paths.minimum)} {case.currency} a year, {percent(MINIMUM_PART, 2)} of the royalty of a middle year. The forms "
        "have no cap.",
    )


# exclusivity and minimums


def exclusive(case: Case, results: Results, found: Overview) -> str:
    """What the exclusivity of the offer costs the licensor, what it is worth to the licensee, and the prices between."""
    deal = results.deal
    if not deal.second_licensees:
        return "No prospect is known in the territories of the licence, so exclusivity has no cost and no value here."
    now, years = deal.exclusivity, f"{case.deal.licence.exclusive_time / to_base('year'):g}"
    cost, worth = now.licensor_cost, now.licensee_value
    places, verb = " and ".join(territories(case.deal.licence)), "cost" if cost >= 0 else "bring"
    words = (
        f"{years} years of exclusivity in {places} {verb} the licensor {ours(case, abs(cost))}. "
        f"Forgone licences are worth {ours(case, now.licences_lost)}. What it keeps that others would take comes to "
        f"{ours(case, now.payments_kept)}. "
    )
    if worth <= 0:
        return words + "To the licensee those years are worth nothing, as its plant loses no margin to others."
    words += f"To the licensee those years are worth {in_money(case, worth)}: second licensees would lower its prices and volume. "
    if cost <= worth:
        words += f"Any price between {in_money(case, max(cost, 0.0))} and {in_money(case, worth)} leaves both better off."
    else:
        words += "That is less than those years cost, so no price of exclusivity leaves both better off."
    more = next((x for x in found.concessions if x.address == TIME), None)
    if more is None:
        return words
    changed = f"{'costs' if more.licensor <= 0 else 'brings'} the licensor {ours(case, abs(more.licensor))}"
    return f"{words} One more year {changed} and is worth {in_money(case, more.licensee)} to the licensee."


def exclusivity_table(case: Case, found: Overview) -> Table:
    """What exclusivity of several lengths costs the licensor, by prospect, and what it is worth to the licensee."""
    times = found.exclusivity
    cost, worth = times.cost.tolist(), times.worth.tolist()

    def row(title: str, amounts: Sequence[float], place: str = "") -> list[str]:
        """A row of amounts, one for each length."""
        return [title, place, *(people(float(x)) for x in amounts)]

    rows = [row(case.prospects[name].title, x.tolist(), case.prospects[name].territory) for name, x in times.lost.items()]
    rows.append(row("less payments kept", [each - sum(x[k] for x in times.lost.values()) for k, each in enumerate(cost)]))
    rows.append(row("cost to the licensor", cost))
    if case.deal.licensor.currency != case.currency:
        rows.append(row(f"the same, {case.deal.licensor.currency}", [each / own_rate(case) for each in cost]))
    rows.append(row("value to the licensee", worth))
    rows.append(row("difference", [there - here for here, there in zip(cost, worth)]))
    return Table(
        f"What exclusivity costs the licensor and is worth to the licensee, {case.currency}",
        ["", "territory", *(f"{years:g} years" for years in times.years)],
        rows,
        note=f"{EACH_AT_ITS_RATE} The first rows are forgone licences, by prospect. Payments kept are royalty "
        "and dividends that others would take, after own tax. The least price of exclusivity is its cost, the most its value.",
        texts=(0, 1),
    )


def minimums(case: Case, found: Overview) -> list[str]:
    """What each minimum royalty must and may be, and whether a further one is needed to pay for exclusivity."""
    lines = []
    for each in found.minimums:
        row = case.minimum_royalties[each.row]

        def shown(value: float, currency: str = row.currency) -> str:
            """An amount a year."""
            return f"{amount(value / to_base('1/year'), currency)} a year"

        title = f"“{row.title}” of {shown(each.present)}"
        parts = [
            _pays_for_exclusivity(found, each, title, shown)
            if case.prospects
            else f"No prospect is known, so exclusivity costs nothing that {title} would have to pay for."
        ]
        parts.append(_can_pay(each.as_stated, "At the stated inputs", shown))
        if each.slow:
            parts.append(_can_pay(each.bearable, "In the slowest start of ranges.csv", shown))
        lines.append(" ".join(parts))
    return lines


def _can_pay(most: float, when: str, shown: Callable[[float], str]) -> str:
    """How large a minimum the licensee can pay; or that it lacks its best alternative without any."""
    if math.isnan(most):
        return f"{when} the licensee is short of its best alternative without any minimum."
    return f"{when} the licensee can pay up to {shown(most)}."


def _pays_for_exclusivity(found: Overview, each: Minimum, title: str, shown: Callable[[float], str]) -> str:
    """Whether a minimum alone pays for exclusivity, or what it would take; and whether the offer does with all that it pays."""
    if each.fair <= each.present:
        return f"{title} pays for exclusivity even with no royalty earned, so no further minimum is needed."
    takes = "no minimum does" if math.isnan(each.fair) else f"that would take {shown(each.fair)}"
    words = f"{title} alone does not pay for exclusivity with no royalty earned: {takes}."
    if found.results.deal.licensor.gain >= 0:
        return f"{words} At the stated inputs all payments together cover the floor, forgone licences included."
    return words


def how_often_they_bind(drawn: Mapping[str, float] | None) -> list[str]:
    """In which year the minimum binds most often, if drawn.

    >>> how_often_they_bind({"y01": 0.0, "y02": 0.125}), how_often_they_bind({"y01": 0.0})
    (['It binds most often in year 2, with a probability of 12 %.'], ['It binds in no year of any draw.'])
    """
    if not drawn:
        return []
    year = max(drawn, key=lambda name: drawn[name])
    if not drawn[year]:
        return ["It binds in no year of any draw."]
    return [f"It binds most often in year {int(year[1:])}, with a probability of {percent(drawn[year], 2)}."]


def buy_out(case: Case, found: Overview) -> str:
    """What the rest of the royalty is worth at a time."""
    price = found.buy_out
    column = float(found.results.plan.start) + price.years * QUARTERS
    return (
        f"{price.years:g} years after the start, the rest of the royalty is worth {ours(case, price.licensor, column)} to the "
        f"licensor and {in_money(case, price.licensee)} to the licensee, in money of that day."
    )


# all together


def grounds(case: Case, results: Results, found: Overview) -> list[str]:
    """The grounds: floor and ceiling, exclusivity and minimums, a buy-out, falling prices, yardsticks."""
    return [
        deal_report.floor(case, results),
        payments_report.own_tax(case, results),
        *payments_report.work_and_tax(case, results),
        payments_report.split(case, found),
        deal_report.ceiling(case, results),
        exclusive(case, results, found),
        *minimums(case, found),
        *power_guarantee_report.guarantees(case, found),
        buy_out(case, found),
        price_falls(case, found),
        yardsticks(results),
        *deal_report.rates_used(case),
    ]
