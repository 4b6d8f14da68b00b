"""Where both sides can meet along fee, royalty and single terms, and how their gains could be split, in plain words."""

from __future__ import annotations

from collections.abc import Callable

from ..case.addresses import input_at
from ..case.whole_case import Case
from ..core.fields import unit_of
from ..core.roots import Stretches
from ..core.units import to_base
from ..studies.negotiation.limits import Interval
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.split import Split
from ..studies.negotiation.zone import Zone
from .numbers import label, money, people, percent, spoken
from .study_tables import input_name

TERMS = {"upfront": "upfront fee", "royalty_per_watt": "royalty for a watt", "term": "term of the royalty"}


def in_money(case: Case, value: float) -> str:
    """An amount in the reporting currency."""
    return money(value, case.currency)


def in_licence_money(case: Case, value: float) -> str:
    """An amount in the currency of the licence."""
    return money(value, case.deal.licence.currency)


def mix(case: Case, upfront: float, royalty: float) -> str:
    """A fee and a royalty together."""
    return f"a fee of {in_licence_money(case, upfront)} and a royalty of {percent(royalty)}"


def corners(case: Case, found: Overview) -> str:
    """How far the zone reaches along each axis, and where its edges are jumps."""
    zone = found.zone
    if zone.empty:
        return ""
    parts = []
    if zone.no_royalty:
        parts.append(f"Without a royalty the fee is {_ranges(zone.no_royalty, lambda value: in_licence_money(case, value))}.")
    elif "floor_fee" in zone.corners and "ceiling_fee" in zone.corners:
        parts.append("Without a royalty the fee is none that suits both.")
    if zone.no_fee:
        low = zone.no_fee[0][0]
        if "ceiling_royalty" in zone.corners or len(zone.no_fee) > 1:
            parts.append(f"Without an upfront fee the royalty is {_ranges(zone.no_fee, percent)}.")
        else:
            parts.append(f"Without an upfront fee the royalty is from {percent(low)} to more than the cap lets it take.")
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


def term_range(case: Case, found: Interval) -> str:
    """Between which values one term suits both, all others as offered, and where a gain jumps."""
    table, _, field = found.address.rpartition(".")
    name = input_name(case, found.address) if table != "licence" else f"The {TERMS.get(field, label(field))}"
    declaration, record = input_at(case, found.address)
    unit = unit_of(record, declaration.entry)

    def shown(value: float) -> str:
        """A value of the term in its own unit."""
        return percent(value) if unit == "1" else f"{people(value / to_base(unit))} {spoken(unit)}"

    own, other = found.licensor.stretches, found.licensee.stretches
    whole = ((found.low, found.high),)
    if own == whole:
        least = "the licensor has its floor even at " + shown(found.low)
    elif own:
        least = f"the licensor has its floor {_sections(own, found, shown)}"
    else:
        least = "no value gives the licensor its floor"
    if other == whole:
        most = "no value takes the licensee's gain"
    elif other:
        most = f"the licensee has its best alternative {_sections(other, found, shown)}"
    else:
        most = "at any value the licensee has less than its best alternative"
    parts = [f"{name}, all else as offered: {least}, {most}."]
    if own and other and not found.both:
        parts.append("No value suits both.")
    elif len(found.both) > 1:
        parts.append(f"It suits both {_sections(found.both, found, shown)}.")
    for side in ("licensor", "licensee"):
        parts += [
            f"The {side}'s gain jumps from {in_money(case, jump.at_low)} to {in_money(case, jump.at_high)} at {shown(jump.low)}."
            for jump in getattr(found, side).jumps
        ]
    return " ".join(parts)


def _sections(stretches: Stretches, found: Interval, shown: Callable[[float], str]) -> str:
    """Stretches of a term in words; an end of what was looked at is not said."""
    parts = []
    for low, high in stretches:
        if low == found.low:
            parts.append(f"up to {shown(high)}")
        else:
            parts.append(f"from {shown(low)} on" if high == found.high else f"from {shown(low)} to {shown(high)}")
    return " and ".join(parts)


def splits(case: Case, found: Overview) -> list[str]:
    """Where the product of both gains is greatest, over all mixes and along the fee; and the equal split."""
    zone, made, weight = found.zone, found.splits, float(case.deal.negotiation.licensor_weight)
    if made.nash is None:
        return [f"No fee with a royalty up to {percent(made.most_royalty)} leaves both sides a gain to split."]
    weights = "" if weight == 0.5 else f", weighted {percent(weight, 2)} to {percent(1 - weight, 2)}"
    most = in_licence_money(case, made.most_fee)
    lines = [
        f"The Nash point is the greatest product of both gains{weights}, for fees from 0 to {most} and "
        f"royalties from 0 % to {percent(made.most_royalty)}.",
        f"It is {mix(case, made.nash.upfront, made.nash.royalty)}{_bounds(made.nash)}. {_gains(case, made.nash)}",
    ]
    offered = f"At the royalty of the offer, {percent(zone.offer[1])},"
    if made.nash_along_fee:
        fee = in_licence_money(case, made.nash_along_fee.upfront)
        lines.append(f"{offered} the product is greatest with a fee of {fee}. {_gains(case, made.nash_along_fee)}")
    if made.equal:
        fee, each = in_licence_money(case, made.equal.upfront), in_money(case, made.equal.gains.licensor)
        share = percent(made.equal.licensor_share, 2)
        lines.append(f"{offered} an equal split takes a fee of {fee}: each side gains {each}, {share} of what both gain.")
    else:
        lines.append(f"{offered} no fee gives both sides the same gain.")
    return lines


def _gains(case: Case, split: Split) -> str:
    share, own, other = split.licensor_share, in_money(case, split.gains.licensor), in_money(case, split.gains.licensee)
    return (
        f"The licensor gains {own} above its floor, {percent(share)} of what both gain. "
        f"The licensee gains {other} above its best alternative, {percent(1 - share)}."
    )


def _bounds(split: Split) -> str:
    """On which bounds a point lies, in words that follow it."""
    named = [f"the {'lowest' if bound == 'least' else 'highest'} {term}"
             for term, bound in (("fee", split.fee_bound), ("royalty", split.royalty_bound)) if bound]  # fmt: skip
    return f", a corner with {' and '.join(named)} allowed" if named else ""
