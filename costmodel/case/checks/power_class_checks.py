"""Checks of power classes: their order, and what tells how modules differ."""

from __future__ import annotations

import numpy as np

from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

TABLES = ("power_classes", "power_spread", "measured_powers")


def classes_come_in_order(case: Case, unread: Unread) -> Found:
    """Each class begins above the one before it, so that a module is in one class."""
    earlier = None
    for identity, row in case.power_classes.items():
        with where_read():
            if earlier is not None and np.any(row.least_power <= earlier):
                found = "a power at or below that of the row above"
                yield "power_classes", identity, "least_power", found, "rows in the order of their least power"
            earlier = row.least_power


def classes_know_how_modules_differ(case: Case, unread: Unread) -> Found:
    """Classes need a spread of power or measured powers, not both; neither stands without classes."""
    if any(name in unread for name in TABLES):
        return
    ways = [name for name in TABLES[1:] if getattr(case, name)]
    if case.power_classes and not ways:
        first = next(iter(case.power_classes))
        found = "classes without power_spread.csv and measured_powers.csv"
        yield "power_classes", first, "id", found, "one of these, which tells how modules differ"
    if len(ways) == 2:
        allowed = "one of the two: a spread, or powers that were measured"
        yield "power_spread", next(iter(case.power_spread)), "id", "measured_powers.csv beside it", allowed
    if len(case.power_spread) > 1:
        yield "power_spread", list(case.power_spread)[1], "id", "a second row", "one row"
    if ways and not case.power_classes:
        yield ways[0], next(iter(getattr(case, ways[0]))), "id", "no power_classes.csv", "classes that use it"
