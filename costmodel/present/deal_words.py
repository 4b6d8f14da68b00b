"""What the figures of the deal say, in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..case.addresses import input_at
from ..case.deal_records import territories
from ..case.whole_case import Case
from ..core.fields import unit_of
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.plan.timing import QUARTERS
from ..studies.negotiation.concessions import TIME, exchange, step_of
from ..studies.negotiation.guarantees import RISK, Guaranteed
from ..studies.negotiation.limits import Interval
from ..studies.negotiation.openings import STEPS, Opening
from ..studies.negotiation.outline import Outline
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.sides import LICENSEE, LICENSOR, ROYALTY, UPFRONT
from . import zone_words
from .deal_money import ours, own_tax, rates_used, split, work_and_tax
from .numbers import exact, money, people, percent, signed, spoken
from .study_tables import input_name
from .texts import REVIEW
from .zone_words import in_licence_money, in_money, mix

NO_DEAL = "The case has no deal.yaml, so nothing is paid for the know-how."
CAUTIONS = (
    "Nothing here is an offer, and nothing is advice on law or tax. What is agreed is for people with the authority to agree it, "
    "and for their advisers."
)
DRAWN = {"product.initial_efficiency": "efficiency", "product.stabilisation_ratio": "stabilisation"}
YARDSTICKS = (
    ("of licences in a large published collection, 67 % ask at most 5 % of sales, 35 % at most 3 %", "R. Parr, royalty rate data"),
    (
        "a quarter of the licensee's profit was a rule of thumb; courts in the United States no longer take it as a start (2011)",
        "Goldscheider, Jarosz, Mulhern; Uniloc v. Microsoft",
    ),
    (
        "15 to 35 % of the profit of the enterprise is what licensors commonly argue for",
        "common practice, with the method of the UNIDO manual of 1996",
    ),
)  # history, not a reason


def _side(case: Case, who: str, value: float) -> str:
    """An amount of either side."""
    return ours(case, value) if who == "licensor" else in_money(case, value)


def verdict(case: Case, found: Overview) -> str:
    """The answer in one sentence: whether the two sides can meet, and where the offer stands."""
    zone, gains = found.zone, found.zone.offer_gains
    if zone.empty:
        return (
            "No deal at these beliefs: no fee with no royalty leaves the licensor its floor and the licensee what it could have "
            "without the deal."
        )
    if zone.offer_is_inside:
        return (
            f"The two sides can meet, and the offer is where both gain: the licensor "
            f"{ours(case, gains.licensor)} above its floor, the licensee {in_money(case, gains.licensee)} above its "
            "best alternative."
        )
    who = "licensor" if gains.licensor < 0 else "licensee"
    short = min(gains.licensor, gains.licensee)
    return (
        f"The two sides can meet, but not by this offer, which leaves the {who} {_side(case, who, -short)} short of what it "
        "could have without the deal."
    )


def sides(case: Case, results: Results) -> str:
    """What the terms leave to each side, in one sentence."""
    return gained(case, results.deal.licensor.gain, results.deal.licensee.gain)


def gained(case: Case, own: float, other: float) -> str:
    """The same from the gains of licensor and licensee."""
    words = [
        f"the {name} is {_side(case, name, abs(gain))} {'above' if gain >= 0 else 'below'} {what}"
        for name, gain, what in (("licensor", own, "its floor"), ("licensee", other, "its best alternative"))
    ]
    return f"By these terms {words[0]}, and {words[1]}."


def meeting(zone: Outline, own: float, other: float) -> str:
    """Whether the offer lies where both gain, and whether there is such a place, as the picture shows it."""
    if own >= 0 and other >= 0:
        return "Both gain: the offer lies in the zone."
    who = "Neither side gains" if own < 0 and other < 0 else f"The {'licensor' if own < 0 else 'licensee'} does not gain"
    if zone.open.any():
        return f"{who} by this offer, but there are other mixes of fee and royalty by which both do."
    return f"{who} by this offer, and no mix of fee and royalty in the picture suits both: another term has to move."


def floor(case: Case, results: Results) -> str:
    """What the licensor must have, and what that takes in payments."""
    own = results.deal.licensor
    takes = (
        f"In the mix of the offer that takes payments of {ours(case, own.floor_paid)}, as withholding tax and inventors have "
        "their part."
        if own.received
        else "By the mix of the offer it is paid nothing."
    )
    return (
        f"The licensor must be left with {ours(case, own.floor)}, all costs to come and its contribution "
        f"counted. {takes} Past research is spent whatever is agreed and is not in it; policy would like "
        f"{ours(case, own.policy)} of it back."
    )


def ceiling(case: Case, results: Results) -> str:
    """What the licensee can bear, against what."""
    other = results.deal.licensee
    best = max(results.deal.alternatives, key=lambda name: results.deal.alternatives[name].npv)
    words = (
        f"With nothing paid the plant is worth {in_money(case, other.npv_free)} to the licensee. Its best alternative is "
        f"{alternative_name(case, best)}, worth {in_money(case, other.best_alternative)}"
    )
    if other.ceiling < 0:
        return f"{words}, which is more than the plant with nothing paid: no payment is low enough."
    most, taken = in_money(case, other.ceiling), in_money(case, other.cost)
    return f"{words}: payments may take {most} after tax. Those of the offer take {taken}."


def alternative_name(case: Case, name: str) -> str:
    """What an alternative is called."""
    kind, _, row = name.partition("_")
    if kind == "line":
        return f"“{case.other_lines[row].title}” for the same money"
    return f"“{case.other_ways[row].title}”" if kind == "way" else "doing nothing"


def exchange_rates(case: Case, found: Overview) -> str:
    """What a point of royalty is worth in fee to each side, and which way both would rather go."""
    own, other = exchange(found.concessions, UPFRONT, ROYALTY)
    step = step_of(case, UPFRONT)[0]
    words = (
        f"One point of royalty is worth {in_licence_money(case, own * step)} of upfront fee to the licensor and "
        f"{in_licence_money(case, other * step)} to the licensee."
    )
    royalty, fee, more = found.zone.better
    if own > other and royalty > found.zone.offer[1] and more > 0:
        return (
            f"{words} So less fee and more royalty suits both: with {mix(case, fee, royalty)} the licensee is as well off as "
            f"with the offer, and the licensor has {ours(case, more)} more."
        )
    if own < other and royalty < found.zone.offer[1] and more > 0:
        return (
            f"{words} So more fee and less royalty suits both: with {mix(case, fee, royalty)} the licensee is as well off as "
            f"with the offer, and the licensor has {ours(case, more)} more."
        )
    return f"{words} No other mix is better for one and as good for the other."


def yardsticks(results: Results) -> str:
    """What is paid against what the plant earns, beside what others have paid."""
    found = results.deal.yardsticks
    paid = [found.turnover_factor_status, found.discounted_turnover_factor_status]
    if found.royalty_equivalent_status == 0:
        return "Nothing is sold within the plan, so that payments are not compared with sales or profit."
    if not all(paid):
        share = "Nothing is paid, so that no profit is shared."
    elif found.discounted_profit <= 0 or not found.profit_share_status:
        share = "The plant makes no profit over the plan, so that there is none to have a share in."
    else:
        share = (
            f"Payments are {percent(found.profit_share)} of the profit of the enterprise, "
            f"{percent(found.discounted_profit_share)} at the licensee's rate (technology turnover factor "
            f"{people(found.turnover_factor)} and "
            f"{people(found.discounted_turnover_factor)})."
        )
    history = "; ".join(f"{words} ({source})" for words, source in YARDSTICKS)
    return (
        f"All payments together are {percent(found.royalty_equivalent)} of net sales. {share} As history, and no reason for any "
        f"price: {history}."
    )


def price_falls(case: Case, found: Overview) -> str:
    """Who loses what as prices fall."""
    paths = found.price_paths
    if math.isnan(paths.royalty) or math.isnan(paths.per_watt):
        return "No royalty alone is worth to the licensor what the offer's is, so forms of royalty are not compared."
    words = (
        f"At the plan's prices, {percent(paths.royalty)} of sales and {money(paths.per_watt, case.deal.licence.currency)} per watt "
        "are worth the same to the licensor."
    )
    effects = {LICENSOR: "a royalty per watt leaves the licensor more", LICENSEE: "a royalty per watt costs the licensee more"}
    for side, effect in effects.items():
        if not math.isnan(paths.crossings[side]):
            words += f" Where prices {_beyond(paths.crossings[side])}, {effect} than one on sales."
    stops: dict[str, list[str]] = {}
    for form, stop in paths.stops.items():
        if not math.isnan(stop):
            stops.setdefault(_beyond(stop), []).append(form)
    alike = len(stops) == 1 and len(next(iter(stops.values()))) == len(paths.stops)
    where = [said if alike else f"{said} (royalty {' or '.join(forms)})" for said, forms in stops.items()]
    if where:
        ending = ", whatever the form of the royalty" if alike else ""
        words += f" The licensee gains no more where they {', or '.join(where)}{ending}."
    return words


def _beyond(fall: float) -> str:
    """A yearly fall from which something holds, in words.

    >>> _beyond(0.031), _beyond(-0.01)
    ('fall by more than 3.10 % a year', 'rise by less than 1.00 % a year')
    """
    return f"{'fall by more than' if fall >= 0 else 'rise by less than'} {percent(abs(fall))} a year"


def guarantees(case: Case, found: Overview) -> list[str]:
    """What each guarantee exposes the licensor to, and what could be signed."""
    lines = []
    for each in found.guarantees:
        row, now, best = case.guarantees[each.row], each.present, each.signable
        due = f"{row.time / to_base('month'):.3g}"
        worth = f"{money(abs(best.fee), case.deal.licence.currency)} {'more' if best.fee > 0 else 'less'} of upfront fee"
        parts = [
            f"“{row.title}” of {people(now.power)} W: the probability of damages is {percent(now.probability)}{_how_sure(each)}.",
            f"The damages expected are {ours(case, now.damages)}, due at the acceptance test in month {due}. They never exceed "
            f"{money(row.cap, row.currency)}.",
            f"At a probability of {percent(RISK, 2)}, {people(best.power)} W can be signed{_signable(each)}.",
            f"Damages of {ours(case, best.damages)} are expected there. To the licensor the step is worth as much as {worth}.",
            *_floor_counts(case, found, each),
        ]
        lines.append(" ".join(parts))
    return lines


def _how_sure(each: Guaranteed) -> str:
    """How a probability was found, and what others it has without draws."""
    if not each.drawn:
        return " by the normal formula; ranges.csv has no row for efficiency or stabilisation"
    drawn = " and ".join(DRAWN[address] for address in each.drawn)
    now = each.present
    return (
        f" over {each.draws:,} draws of {drawn}, standard error {percent(now.error, 2)}, seed {each.seed}. By the normal formula "
        f"it is {percent(now.formula)}; with {drawn} as stated, {percent(now.stated)}"
    )


def _floor_counts(case: Case, found: Overview, each: Guaranteed) -> list[str]:
    """What the floor counts of the damages, where efficiency and stabilisation are drawn here."""
    counted = found.results.deal.guarantees[each.row].damages
    return [f"The floor counts {ours(case, counted)} of damages, expected as stated."] if each.drawn else []


def _signable(each: Guaranteed) -> str:
    """The power that can be signed by the formulas, beside that of the draws."""
    if not each.drawn:
        return ""
    return f" (normal formula {people(each.signable_by_formula)} W; as stated {people(each.signable_as_stated)} W)"


def exclusive(case: Case, results: Results, found: Overview) -> str:
    """What the exclusivity of the offer costs the licensor, what it is worth to the licensee, and the prices between."""
    deal = results.deal
    if not deal.second_licensees:
        return "No prospect is known in the territories of the licence, so exclusivity has no cost and no worth here."
    now, years = deal.exclusivity, f"{case.deal.licence.exclusive_time / to_base('year'):g}"
    cost, worth = now.licensor_cost, now.licensee_value
    places, verb = " and ".join(territories(case.deal.licence)), "cost" if cost >= 0 else "bring"
    words = (
        f"{years} years of exclusivity in {places} {verb} the licensor {ours(case, abs(cost))}. "
        f"Licences worth {ours(case, now.licences_lost)} are lost, and royalty worth {ours(case, now.royalty_kept)} is kept. "
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
    own, other = -more.licensor, more.licensee
    changed = f"{'costs' if own >= 0 else 'brings'} the licensor {ours(case, abs(own))}"
    return f"{words} One more year {changed} and is worth {in_money(case, other)} to the licensee."


def minimums(case: Case, found: Overview) -> list[str]:
    """What each minimum royalty must and may be."""
    lines = []
    for each in found.minimums:
        row = case.minimum_royalties[each.row]
        unit = f"{row.currency}/year"

        def shown(value: float, unit: str = unit) -> str:
            """An amount a year."""
            return f"{people(value / to_base(unit))} {unit.replace('/', ' a ')}"

        fair = "no such minimum pays for exclusivity" if math.isnan(each.fair) else f"{shown(each.fair)} pay for exclusivity"
        slow = "" if not each.slow else " in the slowest start of ranges.csv"
        bear = (
            f"the licensee cannot bear any{slow}"
            if math.isnan(each.bearable)
            else f"the licensee bears up to {shown(each.bearable)}{slow}"
        )
        lines.append(f"“{row.title}” is {shown(each.present)}: {fair}, and {bear}.")
    return lines


def buy_out(case: Case, found: Overview) -> str:
    """What the rest of the royalty is worth at a time."""
    price = found.buy_out
    column = float(found.results.plan.start) + price.years * QUARTERS
    return (
        f"Bought out {price.years:g} years after the start, the rest of the royalty is worth "
        f"{ours(case, price.licensor, column)} to the licensor and {in_money(case, price.licensee)} to the licensee, in "
        "money of that day."
    )


def openings(case: Case, rows: list[Opening]) -> list[str]:
    """The smallest single changes that would open the zone."""
    if not rows:
        return [f"No single change that was looked at, up to {percent(STEPS[-1], 2)} of a value, would open it."]
    lines = []
    for each in rows[:6]:
        declaration, record = input_at(case, each.address)
        unit = unit_of(record, declaration.entry)
        unit = "%" if unit == "1" else unit.replace("1/year", "%/year")
        lines.append(
            f"{input_name(case, each.address)} from {spoken(exact(each.present, unit))} to "
            f"{people(each.wanted / to_base(unit), 4)} {spoken(unit)} ({signed(100 * each.change)} %)"
        )
    return lines


def rounds(case: Case, found: Overview, day: str) -> list[str]:
    """What each round moved and cost, and whether the last offer still holds on a day."""
    lines = []
    for turn in found.turns:
        holds = "holds" if turn.round.holds_on(day) else "no longer holds"
        lines.append(
            f"{turn.round.date}, {turn.round.title} ({turn.round.by}): licensor {ours(case, turn.gains.licensor)}, licensee "
            f"{in_money(case, turn.gains.licensee)} above what they could have without; {holds} on {day} "
            f"(until {turn.round.valid_until})."
        )
    return lines


def where_they_meet(case: Case, results: Results, found: Overview, ranges: Sequence[Interval]) -> list[str]:
    """The answer, how far the zone reaches, what single terms may be; then the mixes both prefer, or what would open a zone."""
    lines = [verdict(case, found), zone_words.corners(case, found), *(zone_words.term_range(case, each) for each in ranges)]
    if found.zone.empty:
        ways = openings(case, found.openings)
        lines += ["What would open a zone, each by itself: " + "; ".join(ways) + "."] if found.openings else ways
    else:
        lines += [*zone_words.splits(case, found), exchange_rates(case, found)]
    return [line for line in lines if line]


def grounds(case: Case, results: Results, found: Overview) -> list[str]:
    """What lies behind it: floor and ceiling, exclusivity and minimums, a buy-out, falling prices, yardsticks."""
    return [
        floor(case, results),
        own_tax(case, results),
        *work_and_tax(case, results),
        split(case, found),
        ceiling(case, results),
        exclusive(case, results, found),
        *minimums(case, found),
        *guarantees(case, found),
        buy_out(case, found),
        price_falls(case, found),
        yardsticks(results),
        *rates_used(case),
    ]


def cautions() -> list[str]:
    """What people must look at before anything is signed."""
    return [CAUTIONS, *(f"For review: {point}." for point in REVIEW)]
