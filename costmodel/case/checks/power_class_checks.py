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
    """Classes need a spread of power or measured powers, not both; neither stands without classes or a guarantee that use it."""
    if any(name in unread for name in (*TABLES, "guarantees")):
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
    if ways and not case.power_classes and not case.guarantees:
        found = "no power_classes.csv and no guarantees.csv"
        yield ways[0], next(iter(getattr(case, ways[0]))), "id", found, "classes or a guarantee that use it"


def guarantees_know_how_modules_differ(case: Case, unread: Unread) -> Found:
    """The spread of modules stands once: in power_spread.csv or by measured powers, else in each row of guarantees.csv."""
    if any(name in unread for name in TABLES[1:]):
        return
    ways = [name for name in TABLES[1:] if getattr(case, name)]
    for identity, row in case.guarantees.items():
        with where_read():
            if ways and row.module_spread is not None:
                found = f"a spread of modules beside {ways[0]}.csv"
                yield "guarantees", identity, "module_spread", found, "no such column: the spread stands once"
            if not ways and row.module_spread is None:
                found = "no such column, and neither power_spread.csv nor measured_powers.csv"
                yield "guarantees", identity, "module_spread", found, "one of the three"
            if len(case.measured_powers) == 1:
                yield "measured_powers", next(iter(case.measured_powers)), "id", "a single power", "two at least, for their spread"
