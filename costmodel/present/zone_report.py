"""Where both sides can meet: the zone, ranges of single terms, splits of the gain; sentences. How likely: `likely_report.py`."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..case.whole_case import Case
from ..core.roots import Stretches
from ..core.units import to_base
from ..model.evaluate import Results
from ..studies.negotiation.concessions import exchange, step_of
from ..studies.negotiation.limits import Interval
from ..studies.negotiation.openings import STEPS, Opening
from ..studies.negotiation.outline import Outline
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.sides import ROYALTY, UPFRONT
from ..studies.negotiation.split import Split
from ..studies.negotiation.zone import Zone
from .deal_report import EACH_AT_ITS_RATE, in_licence_money, in_money, ours
from .inputs_report import input_name, input_unit
from .numbers import NOT_APPLICABLE, exact, label, people, percent, signed, spoken
from .table import Table

TERMS = {"upfront": "upfront fee", "royalty_per_watt": "royalty per watt", "term": "term of the royalty"}


def mix(case: Case, upfront: float, royalty: float) -> str:
    """A fee and a royalty together."""
    return f"a fee of {in_licence_money(case, upfront)} and a royalty of {percent(royalty)}"


def _begin(words: str) -> str:
    return words[:1].upper() + words[1:]


def verdict(case: Case, found: Overview) -> str:
    """The answer: whether the two sides can meet, and where the offer stands."""
    zone, gains = found.zone, found.zone.offer_gains
    if zone.empty:
        return (
            "No deal at these beliefs: no combination of fee and royalty covers both the licensor's floor and the licensee's best "
            "alternative."
        )
    if zone.offer_is_inside:
        return (
            "At the stated inputs the two sides can meet, and by these terms both gain. "
            f"The licensor gains {ours(case, gains.licensor)} above its floor, the licensee {in_money(case, gains.licensee)} above "
            "its best alternative."
        )
    if gains.licensor < 0:
        short = f"the licensor {ours(case, -min(gains.licensor, gains.licensee))} short of its floor"
    else:
        short = f"the licensee {in_money(case, -gains.licensee)} short of its best alternative"
    return f"At the stated inputs the two sides can meet, but not by these terms. They leave {short}."


def meeting(zone: Outline, own: float, other: float) -> str:
    """Whether the offer lies where both gain, and whether there is such a place, as the picture shows it."""
    if own >= 0 and other >= 0:
        return "Both gain: the offer lies in the zone."
    who = "Neither side gains" if own < 0 and other < 0 else f"The {'licensor' if own < 0 else 'licensee'} does not gain"
    if zone.open.any():
        return f"{who} by this offer. Other combinations of fee and royalty suit both."
    return f"{who} by this offer. No combination of fee and royalty in the picture suits both, so another term has to change."


def exchange_rates(case: Case, found: Overview) -> str:
    """What a point of royalty is worth in fee to each side, and which way both gain by going."""
    own, other = exchange(found.concessions, UPFRONT, ROYALTY)
    step = step_of(case, UPFRONT)[0]
    words = (
        f"One point of royalty is worth {in_licence_money(case, own * step)} of upfront fee to the licensor and "
        f"{in_licence_money(case, other * step)} to the licensee."
    )
    royalty, fee, more = found.zone.better
    up = own > other
    if own == other or more <= 0 or royalty == found.zone.offer[1] or (royalty > found.zone.offer[1]) is not up:
        return f"{words} No other mix is better for one and as good for the other."
    return (
        f"{words} So {'less fee and more royalty suit' if up else 'more fee and less royalty suit'} both. "
        f"{_begin(mix(case, fee, royalty))} leave the licensee as well off as the offer, and the licensor {ours(case, more)} more."
    )


def corners(case: Case, found: Overview) -> str:
    """How far the zone reaches along each axis, and where its edges are jumps."""
    zone = found.zone
    if zone.empty:
        return ""
    parts, per_watt = [], float(case.deal.licence.royalty_per_watt)
    running = "royalty on sales" if per_watt else "running royalty"
    if zone.no_royalty:
        due = ["the royalty per watt"] * bool(per_watt) + ["a minimum royalty"] * bool(case.minimum_royalties)
        stays = f" ({' and '.join(due)} stay{'s' if len(due) == 1 else ''} due)" if due else ""
        fees = _ranges(zone.no_royalty, lambda value: in_licence_money(case, value))
        parts.append(f"Without a {running}{stays} the fee is {fees}.")
    elif "floor_fee" in zone.corners and "ceiling_fee" in zone.corners:
        parts.append(f"Without a {running} no fee suits both.")
    if zone.no_fee:
        low = zone.no_fee[0][0]
        if "ceiling_royalty" in zone.corners or len(zone.no_fee) > 1:
            parts.append(f"Without an upfront fee the royalty is {_ranges(zone.no_fee, percent)}.")
        else:
            parts.append(f"Without an upfront fee the royalty is from {percent(low)} to above the royalty cap.")
    return " ".join([*parts, *_edges(zone)])


def _ranges(stretches: Stretches, shown: Callable[[float], str]) -> str:
    """Stretches of values in words."""
    return " or ".join(f"from {shown(low)} to {shown(high)}" for low, high in stretches)


def _edges(zone: Zone) -> list[str]:
    """What a band from a floor to a ceiling does not show: edges that are jumps, and gaps."""
    parts = [
        f"At royalties from {percent(low)} to {percent(high)} the {side}'s gain jumps past zero at the edge of the zone."
        for side, (low, high) in zone.jumps.items()
    ]
    if zone.several:
        low, high = zone.several
        parts.append(f"At royalties from {percent(low)} to {percent(high)} both gain in more than one range of fees.")
    return parts


CAPPED = (ROYALTY, "licence.royalty_per_watt")  # terms of which nothing more is paid above the royalty cap
AT_THE_END = 1e-9  # of a scan: a change this close to its low end is at that end


def term_range(case: Case, found: Interval) -> str:
    """Between which values one term suits both, all others as offered, and where a gain jumps."""
    table, _, field = found.address.rpartition(".")
    name = input_name(case, found.address) if table != "licence" else f"The {TERMS.get(field, label(field))}"
    return " ".join([f"{name}, all else as offered, {_suits(case, found)}.", *_limits(case, found), *_jumps(case, found)])


def _value(case: Case, found: Interval) -> Callable[[float], str]:
    """How a value of a term is shown: in its own unit, and what is at the low end of the scan as that end."""
    unit = input_unit(case, found.address)

    def shown(value: float) -> str:
        """A value of the term."""
        at_end = abs(value - found.low) <= AT_THE_END * (found.high - found.low)
        return f"{people((found.low if at_end else value) / to_base(unit))} {spoken(unit)}"

    return shown


def _cap(case: Case, found: Interval) -> str:
    """The royalty cap in words where it ends a term before the scan does; nothing for other terms."""
    cap = float(case.deal.licence.royalty_cap)
    ends = found.address in CAPPED and (found.address != ROYALTY or cap < found.high)
    return f"the royalty cap of {percent(cap)}" if ends else ""


def _suits(case: Case, found: Interval) -> str:
    """Between which values a term suits both."""
    shown, cap = _value(case, found), _cap(case, found)
    if not found.both:
        return "suits both at no value"
    if found.both == ((found.low, found.high),):
        return f"suits both at any value from {shown(found.low)} to {cap or shown(found.high)}"
    return f"suits both {_sections(found.both, found, shown, cap)}"


def _limits(case: Case, found: Interval) -> list[str]:
    """From and up to which values either side has what it needs, where one of them does not have it at all values."""
    whole = ((found.low, found.high),)
    if found.both == whole:
        return []
    shown, cap = _value(case, found), _cap(case, found)
    own, other = found.licensor.stretches, found.licensee.stretches
    if own == whole:
        least = "The licensor has its floor even at " + shown(found.low)
    elif own:
        least = f"The licensor has its floor {_sections(own, found, shown)}"
    else:
        least = f"No value {f'up to {cap} ' if cap else ''}gives the licensor its floor"
    if other == whole:
        most = f"only {cap} keeps the licensee's gain" if cap else "no value takes the licensee's gain"
    elif other:
        most = f"the licensee has its best alternative {_sections(other, found, shown, cap)}"
    else:
        most = "at any value the licensee has less than its best alternative"
    return [f"{least}; {most}."]


def _jumps(case: Case, found: Interval) -> list[str]:
    """Where a gain jumps, and from what to what; by how much, where both read the same."""
    shown, said = _value(case, found), []
    for side in ("licensor", "licensee"):
        for jump in getattr(found, side).jumps:
            before, behind = in_money(case, jump.at_low), in_money(case, jump.at_high)
            by = jump.at_high - jump.at_low
            much = f"from {before} to {behind}"
            if before == behind:
                much = f"{'up' if by > 0 else 'down'} by {in_money(case, abs(by))}"
            said.append(f"The {side}'s gain jumps {much} at {shown(jump.low)}.")
    return said


def _sections(stretches: Stretches, found: Interval, shown: Callable[[float], str], cap: str = "") -> str:
    """Stretches of a term in words; an end of the search is left out, the royalty cap is named."""
    parts = []
    for low, high in stretches:
        if low == found.low:
            parts.append(f"up to {shown(high)}")
        elif high == found.high:
            parts.append(f"from {shown(low)} to {cap}" if cap else f"from {shown(low)} on")
        else:
            parts.append(f"from {shown(low)} to {shown(high)}")
    return " and ".join(parts)


def splits(case: Case, found: Overview) -> list[str]:
    """Where the product of both gains is greatest, over all mixes and along the fee; and the equal split."""
    zone, made, weight = found.zone, found.splits, float(case.deal.negotiation.licensor_weight)
    if made.nash is None:
        return [f"No fee with a royalty up to {percent(made.most_royalty)} leaves both sides a gain to split."]
    weights = "" if weight == 0.5 else f", weighted {percent(weight, 2)} to {percent(1 - weight, 2)}"
    lines = [
        f"The Nash point is the greatest product of both gains{weights}, for fees up to {in_licence_money(case, made.most_fee)} "
        f"and royalties up to {percent(made.most_royalty)}.",
        f"It is {mix(case, made.nash.upfront, made.nash.royalty)}{_bounds(made.nash)}. {_gains(case, made.nash)}",
    ]
    offered = f"At the royalty of the offer, {percent(zone.offer[1])},"
    if made.nash_along_fee:
        fee = in_licence_money(case, made.nash_along_fee.upfront)
        lines.append(f"{offered} the product is greatest with a fee of {fee}. {_gains(case, made.nash_along_fee)}")
    if made.equal:
        fee, each = in_licence_money(case, made.equal.upfront), in_money(case, made.equal.gains.licensor)
        share = percent(made.equal.licensor_share, 2)
        lines.append(f"{offered} an equal split takes a fee of {fee}: each side gains {each}, {share} of the joint gain.")
    else:
        lines.append(f"{offered} no fee gives both sides the same gain.")
    return lines


def _share(own: float, other: float) -> str:
    """The licensor's share of the joint gain, where both gain.

    >>> _share(1.0, 3.0), _share(-1.0, 3.0)
    ('25 %', '–')
    """
    return percent(own / (own + other), 2) if own >= 0 and other >= 0 and own + other > 0 else NOT_APPLICABLE


def splits_table(case: Case, found: Overview) -> Table:
    """The offer and other mixes of fee and royalty side by side: what each leaves to either, and the licensor's share."""
    zone, made = found.zone, found.splits
    offered, gains = (zone.offer[1], zone.offer[0]), zone.offer_gains
    mixes = [("the offer", offered, gains.licensor, gains.licensee)]
    royalty, fee, more = zone.better
    if more > 0 and (royalty, fee) != offered:
        mixes.append(("as good for the licensee, best for the licensor", (royalty, fee), gains.licensor + more, gains.licensee))
    for title, split in (
        ("Nash point, fee and royalty free", made.nash),
        ("Nash point at the royalty offered", made.nash_along_fee),
        ("equal split at the royalty offered", made.equal),
    ):
        if split:
            mixes.append((title, (split.royalty, split.upfront), split.gains.licensor, split.gains.licensee))
    rows = [
        [title, percent(royalty), people(fee), people(own), people(other), _share(own, other)]
        for title, (royalty, fee), own, other in mixes
    ]
    return Table(
        f"Fee and royalty, and what they leave to both sides, {case.currency}",
        ["", "royalty", f"upfront fee, {case.deal.licence.currency}", "licensor gains", "licensee gains", "licensor's share"],
        rows,
        note=f"{EACH_AT_ITS_RATE} Gains are above the licensor's floor and the licensee's best alternative. All other terms are "
        "as offered.",
    )


def _gains(case: Case, split: Split) -> str:
    share, own, other = split.licensor_share, in_money(case, split.gains.licensor), in_money(case, split.gains.licensee)
    return (
        f"The licensor gains {own} above its floor, {percent(share, 2)} of the joint gain. "
        f"The licensee gains {other} above its best alternative, {percent(1 - share, 2)}."
    )


def _bounds(split: Split) -> str:
    """On which bounds a point lies, in words that follow it."""
    named = [f"the {'lowest' if bound == 'least' else 'highest'} {term}"
             for term, bound in (("fee", split.fee_bound), ("royalty", split.royalty_bound)) if bound]  # fmt: skip
    return f", a corner with {' and '.join(named)} allowed" if named else ""


def openings(case: Case, rows: list[Opening]) -> list[str]:
    """The smallest single changes that would open the zone."""
    if not rows:
        return [f"No single change of up to {percent(STEPS[-1], 2)} of a value would open a zone."]
    lines = []
    for each in rows[:6]:
        unit = input_unit(case, each.address)
        lines.append(
            f"{input_name(case, each.address)} from {spoken(exact(each.present, unit))} to "
            f"{people(each.wanted / to_base(unit), 4)} {spoken(unit)} ({signed(100 * each.change)} %)"
        )
    return lines


def without_other_terms(case: Case, found: Overview) -> str:
    """Of an empty zone: which other terms of the licensor are held, and whether giving them up would open it."""
    terms = found.given_up
    if terms is None or not terms.held:
        return ""
    listed = " and ".join(part for part in (", ".join(terms.held[:-1]), terms.held[-1]) if part)
    words = f"All other terms are held as offered. Of them the licensor could give up {listed}."
    if terms.alone:
        return f"{words} Without {' or without '.join(terms.alone)} there is a zone."
    if not terms.together:
        return f"{words} Without {'all of that' if len(terms.held) > 1 else 'that'} there is no zone either."
    return f"{words} Giving up one of these opens no zone; giving up all of them does."


def where_they_meet(case: Case, results: Results, found: Overview, ranges: Sequence[Interval]) -> list[str]:
    """The answer, how far the zone reaches, what single terms may be; then the mixes both prefer, or what would open a zone."""
    lines = [verdict(case, found), corners(case, found), *(term_range(case, each) for each in ranges)]
    if found.zone.empty:
        ways = openings(case, found.openings)
        lines.append(without_other_terms(case, found))
        lines += ["Single changes that would open a zone: " + "; ".join(ways) + "."] if found.openings else ways
    else:
        lines += [*splits(case, found), exchange_rates(case, found)]
    return [line for line in lines if line]


def zone_text(case: Case, found: Overview) -> str:
    """What the picture of the zone shows, for those who cannot see it."""
    zone = found.zone
    if zone.empty:
        return "Upfront fee over royalty. No combination suits both sides."
    low = min(row[0][0] for row in zone.fees if row)
    return (
        f"Upfront fee over royalty. Both sides gain in a band between fees of {in_licence_money(case, low)} and "
        f"{in_licence_money(case, zone.most_fee)}, lower the higher the royalty."
    )
