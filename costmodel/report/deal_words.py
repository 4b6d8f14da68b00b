"""What the figures of the deal say, in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..case.addresses import input_at
from ..case.records import Case
from ..fields import unit_of
from ..model import Results
from ..negotiation.concessions import Interval, exchange, step_of
from ..negotiation.guarantees import RISK
from ..negotiation.openings import STEPS, Opening
from ..negotiation.overview import Overview
from ..negotiation.sides import ROYALTY, UPFRONT
from ..negotiation.zone import Outline, nash_values
from ..units import to_base
from .numbers import exact, label, money, people, percent, signed, spoken
from .study_tables import input_name
from .texts import REVIEW

NO_DEAL = "The case has no deal.yaml, so nothing is paid for the know-how."
CAUTIONS = (
    "Nothing here is an offer, and nothing is advice on law or tax. What is agreed is for people with the authority to agree it, "
    "and for their advisers."
)
TERMS = {"upfront": "upfront fee", "royalty_per_watt": "royalty for a watt", "term": "term of the royalty"}
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


def _sum(case: Case, value: float) -> str:
    return money(value, case.currency)


def _fee(case: Case, value: float) -> str:
    return money(value, case.licence.currency)


def _mix(case: Case, fee: float, royalty: float) -> str:
    return f"a fee of {_fee(case, fee)} and a royalty of {percent(royalty)}"


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
            f"{_sum(case, gains.licensor)} above its floor, the licensee {_sum(case, gains.licensee)} above its "
            "best alternative."
        )
    who = "licensor" if gains.licensor < 0 else "licensee"
    short = min(gains.licensor, gains.licensee)
    return (
        f"The two sides can meet, but not by this offer, which leaves the {who} {_sum(case, -short)} short of what it "
        "could have without the deal."
    )


def sides(case: Case, results: Results) -> str:
    """What the terms leave to each side, in one sentence."""
    return gained(case, results.deal.licensor.gain, results.deal.licensee.gain)


def gained(case: Case, own: float, other: float) -> str:
    """The same from the gains of licensor and licensee."""
    words = [
        f"the {name} is {_sum(case, abs(gain))} {'above' if gain >= 0 else 'below'} {what}"
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


def corners(case: Case, found: Overview) -> str:
    """How far the zone reaches along each axis."""
    known, parts = found.zone.corners, []
    if found.zone.empty:
        return ""
    if "floor_fee" in known and "ceiling_fee" in known:
        low, high = known["floor_fee"][0], known["ceiling_fee"][0]
        reach = f"from {_fee(case, low)} to {_fee(case, high)}" if low <= high else "none that suits both"
        parts.append(f"Without a royalty the fee is {reach}.")
    if "floor_royalty" in known:
        high = f"{percent(known['ceiling_royalty'][1])}" if "ceiling_royalty" in known else "more than the cap lets it take"
        parts.append(f"Without an upfront fee the royalty is from {percent(known['floor_royalty'][1])} to {high}.")
    return " ".join(parts)


def term_range(case: Case, found: Interval) -> str:
    """Between which values one term suits both, all others as offered."""
    table, _, field = found.address.rpartition(".")
    name = input_name(case, found.address) if table != "licence" else f"The {TERMS.get(field, label(field))}"
    declaration, record = input_at(case, found.address)
    unit = unit_of(record, declaration.entry)

    def shown(value: float) -> str:
        """A value of the term in its own unit."""
        return percent(value) if unit == "1" else f"{people(value / to_base(unit))} {spoken(unit)}"

    own, other = found.gains_at_low
    low, high = found.licensor, found.licensee
    if math.isnan(low):
        least = "the licensor has its floor even at " + shown(found.low) if own >= 0 else "no value gives the licensor its floor"
    else:
        least = f"the licensor has its floor from {shown(low)} on"
    if math.isnan(high):
        most = (
            "no value takes the licensee's gain" if other >= 0 else "at any value the licensee has less than its best alternative"
        )
    else:
        most = f"the licensee has its best alternative up to {shown(high)}"
    if not math.isnan(low) and not math.isnan(high) and low > high:
        return f"{name}, all else as offered: {least}, {most}. No value suits both."
    return f"{name}, all else as offered: {least}, {most}."


def floor(case: Case, results: Results) -> str:
    """What the licensor must have, and what that takes in payments."""
    own = results.deal.licensor
    takes = (
        f"In the mix of the offer that takes payments of {_sum(case, own.floor_paid)}, as tax at source and inventors have "
        "their part."
        if own.received
        else "By the mix of the offer it is paid nothing."
    )
    return (
        f"The licensor must be left with {_sum(case, own.floor)}, all costs to come and its contribution "
        f"counted. {takes} Past research is spent whatever is agreed and is not in it; policy would like "
        f"{_sum(case, own.policy)} of it back."
    )


def ceiling(case: Case, results: Results) -> str:
    """What the licensee can bear, against what."""
    other = results.deal.licensee
    best = max(results.deal.alternatives, key=lambda name: results.deal.alternatives[name].npv)
    words = (
        f"With nothing paid the plant is worth {_sum(case, other.npv_free)} to the licensee. Its best alternative is "
        f"{alternative_name(case, best)}, worth {_sum(case, other.best_alternative)}"
    )
    if other.ceiling < 0:
        return f"{words}, which is more than the plant with nothing paid: no payment is low enough."
    return f"{words}: payments may take {_sum(case, other.ceiling)} after tax. Those of the offer take {_sum(case, other.cost)}."


def alternative_name(case: Case, name: str) -> str:
    """What an alternative is called."""
    kind, _, row = name.partition("_")
    if kind == "line":
        return f"“{case.other_lines[row].title}” for the same money"
    return f"“{case.other_ways[row].title}”" if kind == "way" else "doing nothing"


def nash(case: Case, found: Overview) -> str:
    """Where bargaining positions would split the gain."""
    zone = found.zone
    if math.isnan(zone.nash):
        return "At the royalty of the offer no fee splits a gain by the bargaining positions of both sides."
    own, other = nash_values(case, zone)
    weight = float(case.negotiation.licensor_weight)
    return (
        f"At the royalty of the offer, {_mix(case, zone.nash, zone.offer[1])} gives the licensor {percent(weight)} of what "
        f"both gain (Nash): {_sum(case, own)} to it, {_sum(case, other)} to the licensee, alternatives counted."
    )


def exchange_rates(case: Case, found: Overview) -> str:
    """What a point of royalty is worth in fee to each side, and which way both would rather go."""
    own, other = exchange(found.concessions, UPFRONT, ROYALTY)
    step = step_of(case, UPFRONT)[0]
    words = (
        f"One point of royalty is worth {_fee(case, own * step)} of upfront fee to the licensor and "
        f"{_fee(case, other * step)} to the licensee."
    )
    royalty, fee, more = found.zone.better
    if own > other and royalty > found.zone.offer[1] and more > 0:
        return (
            f"{words} So less fee and more royalty suits both: with {_mix(case, fee, royalty)} the licensee is as well off as "
            f"with the offer, and the licensor has {_sum(case, more)} more."
        )
    if own < other and royalty < found.zone.offer[1] and more > 0:
        return (
            f"{words} So more fee and less royalty suits both: with {_mix(case, fee, royalty)} the licensee is as well off as "
            f"with the offer, and the licensor has {_sum(case, more)} more."
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
        f"At the prices of the plan, {percent(paths.royalty)} of sales, {money(paths.per_watt, case.licence.currency)} for a watt"
        f" are worth the same to the licensor."
    )
    if not math.isnan(paths.crossing):
        side = "fall by more than" if paths.crossing >= 0 else "rise by less than"
        words += f" Where prices {side} {percent(abs(paths.crossing))} a year, a royalty for a watt is worth more to it."
    stops = {}
    for form, stop in paths.stops.items():
        if not math.isnan(stop):
            side = "fall by more than" if stop >= 0 else "rise by less than"
            stops.setdefault(f"{side} {percent(abs(stop))} a year", []).append(form)
    alike = len(stops) == 1 and len(next(iter(stops.values()))) == len(paths.stops)
    where = [said if alike else f"{said} (royalty {' or '.join(forms)})" for said, forms in stops.items()]
    if where:
        ending = ", whatever the form of the royalty" if alike else ""
        words += f" The licensee gains no more where they {', or '.join(where)}{ending}."
    return words


def guarantees(case: Case, found: Overview) -> list[str]:
    """What each guarantee exposes the licensor to, and what could be signed."""
    lines = []
    for each in found.guarantees:
        row, now, best = case.guarantees[each.row], each.present, each.signable
        cap = money(row.cap, row.currency)
        fee = f"{money(abs(best.fee), case.licence.currency)} {'more' if best.fee > 0 else 'less'} of upfront fee"
        lines.append(
            f"“{row.title}” of {people(now.power)} W: damages come in {percent(now.chance, 2)} of such transfers, "
            f"{_sum(case, now.damages)} on average over all of them, never above {cap}. At a chance of {percent(RISK, 2)}, "
            f"{people(best.power)} W can be signed, with {_sum(case, best.damages)} to be expected; to the licensor the step is "
            f"worth as much as {fee}."
        )
    return lines


def exclusive(case: Case, results: Results) -> str:
    """What exclusivity costs the licensor."""
    if not case.prospects:
        return "No other prospects are known, so that exclusivity costs the licensor nothing that is counted here."
    years = f"{case.licence.exclusive_time / to_base('year'):g}"
    return (
        f"{years} years of exclusivity cost the licensor {_sum(case, results.deal.licensor.territory)}: licences to "
        "others that they shut out, by chance and time."
    )


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
    return (
        f"Bought out {price.years:g} years after the start, the rest of the royalty is worth "
        f"{_sum(case, price.licensor)} to the licensor and {_sum(case, price.licensee)} to the licensee, in "
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
            f"{turn.round.date}, {turn.round.title} ({turn.round.by}): licensor {_sum(case, turn.gains.licensor)}, licensee "
            f"{_sum(case, turn.gains.licensee)} above what they could have without; {holds} on {day} "
            f"(until {turn.round.valid_until})."
        )
    return lines


def where_they_meet(case: Case, results: Results, found: Overview, ranges: Sequence[Interval]) -> list[str]:
    """The answer, how far the zone reaches, what single terms may be; then the mixes both prefer, or what would open a zone."""
    lines = [verdict(case, found), corners(case, found), *(term_range(case, each) for each in ranges)]
    if found.zone.empty:
        ways = openings(case, found.openings)
        lines += ["What would open a zone, each by itself: " + "; ".join(ways) + "."] if found.openings else ways
    else:
        lines += [nash(case, found), exchange_rates(case, found)]
    return [line for line in lines if line]


def grounds(case: Case, results: Results, found: Overview) -> list[str]:
    """What lies behind it: floor and ceiling, exclusivity and minimums, a buy-out, falling prices, yardsticks."""
    return [
        floor(case, results),
        ceiling(case, results),
        exclusive(case, results),
        *minimums(case, found),
        *guarantees(case, found),
        buy_out(case, found),
        price_falls(case, found),
        yardsticks(results),
    ]


def cautions() -> list[str]:
    """What people must look at before anything is signed."""
    return [CAUTIONS, *(f"For review: {point}." for point in REVIEW)]
