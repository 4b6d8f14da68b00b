"""Checks of the warranty: one row, in place of a flat reserve and of the market's own degradation, never beside them."""

from __future__ import annotations

import numpy as np

from ...core.fields import YEAR
from ..warranty_records import LONGEST
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

RESERVE = "warranty"  # a row of overheads.csv with this word in its id or title is a flat reserve


def warranty_is_one_row(case: Case, unread: Unread) -> Found:
    """One row, whose promise does not rise with age."""
    if len(case.warranty) > 1:
        yield "warranty", list(case.warranty)[1], "id", "a second row", "one row"
    for identity, row in case.warranty.items():
        with where_read():
            if np.any(row.end_power > row.start_power):
                yield "warranty", identity, "end_power", "more than start_power", "at most start_power"


def warranty_costs_once(case: Case, unread: Unread) -> Found:
    """No flat reserve in the overheads beside a warranty whose claims are computed."""
    for identity, row in case.overheads.items() if case.warranty else ():
        with where_read():
            if RESERVE in identity or RESERVE in row.title.lower():
                yield "overheads", identity, "id", f"'{identity}' beside warranty.csv", "one of the two: the row, or warranty.csv"


def modules_age_once(case: Case, unread: Unread) -> Found:
    """No degradation of our module in a market beside a warranty that states how it ages; nor a life beyond what is followed."""
    if not case.warranty:
        return
    for identity, row in case.markets.items():
        with where_read():
            if np.any(row.degradation != 0.0):
                found = f"{float(np.max(row.degradation)) * YEAR * 100:.6g} %/year beside warranty.csv"
                yield "markets", identity, "degradation", found, "0, as warranty.csv states how our module ages"
    for identity, covering in case.coverings.items():
        with where_read():
            if covering.covers_with == "our_module" and np.any(covering.life > LONGEST * YEAR):
                found = f"{float(np.max(covering.life)) / YEAR:.6g} years beside warranty.csv"
                yield "coverings", identity, "life", found, f"at most {LONGEST} years, over which warranty.csv follows modules"
