"""Checks of markets: what each is counted in follows from what limits it, and each knows what may cover its area."""

from __future__ import annotations

from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

PER = {"energy": "Wp_stabilised", "area": "m2"}  # what a market is counted in, by what limits it
MODULES = {"our_module": "our module", "reference": "the reference module"}


def markets_count_in_what_limits_them(case: Case, unread: Unread) -> Found:
    """Price asked and volume are per watt where energy limits a market, per square metre where area does."""
    for identity, row in case.markets.items():
        with where_read():
            if row.per != PER[row.limited_by]:
                found = f"'{row.per}' in a market limited by {row.limited_by}"
                yield "markets", identity, "per", found, f"{PER[row.limited_by]}, or another limit"


def markets_have_their_coverings(case: Case, unread: Unread) -> Found:
    """Each market has our module and the reference module once; only one that is limited by area has anything else."""
    if "coverings" in unread:
        return
    for identity in case.markets:
        with where_read():
            kinds = [row.covers_with for row in case.coverings.values() if row.market == identity]
            for kind, words in MODULES.items():
                if kind not in kinds:
                    found = f"no row of coverings.csv with covers_with {kind}"
                    yield "markets", identity, "id", found, f"one row there for {words}"


def coverings_suit_their_market(case: Case, unread: Unread) -> Found:
    """A second row for a module, or a covering without power in a market that is not limited by area, would count for nothing."""
    seen: dict[tuple[str, str], str] = {}
    for identity, row in case.coverings.items():
        with where_read():
            kind, market = row.covers_with, case.markets.get(row.market)
            if kind in MODULES:
                first = seen.setdefault((row.market, kind), identity)
                if first != identity:
                    found = f"'{kind}', which '{first}' has for market '{row.market}' too"
                    yield "coverings", identity, "covers_with", found, "each module once in a market"
            elif market is not None and market.limited_by != "area":
                found = f"'{kind}' in a market limited by {market.limited_by}"
                yield "coverings", identity, "covers_with", found, "our_module, reference, or a market limited by area"
