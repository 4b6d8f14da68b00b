"""Checks of what grows with the plant: the row and the driver are known, each row grows once, units suit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...core.faults import nearest
from ...core.units import same_kind
from ..cost_records import DRIVERS, GROWING
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

TABLES = ("growth_steps", "growth_exponents")


def _rows(case: Case) -> Iterator[tuple[str, str, Any]]:
    for name in TABLES:
        for identity, row in getattr(case, name).items():
            yield name, identity, row


def what_grows_is_known(case: Case, unread: Unread) -> Found:
    """Each row grows once, by steps or by an exponent, and stands in a table whose amounts may grow."""
    known = [f"{table}.{name}" for table in GROWING for name in getattr(case, table)]
    seen: dict[str, str] = {}
    for name, identity, row in _rows(case):
        with where_read():
            if row.grows not in known and not unread & {*GROWING}:
                allowed = f"the address of a row of {', '.join(GROWING)}{nearest(row.grows, known)}"
                yield name, identity, "grows", f"'{row.grows}'", allowed
            if row.grows in seen:
                yield name, identity, "grows", f"'{row.grows}', which grows by {seen[row.grows]} too", "each row once"
            seen[row.grows] = f"{name}.{identity}"


def drivers_are_known(case: Case, unread: Unread) -> Found:
    """A driver is a tool, a kind of floor or a measure of the plant; one name means one of these, and the unit suits it."""
    units = {**dict.fromkeys(case.areas, "m2"), **dict.fromkeys(case.tools, "tool"), **DRIVERS}
    names = [*case.areas, *case.tools, *DRIVERS]
    for name, identity, row in _rows(case):
        with where_read():
            if row.driver not in units:
                if not unread & {"tools", "areas"}:
                    allowed = f"a tool, a kind of floor, or {', '.join(DRIVERS)}{nearest(row.driver, units)}"
                    yield name, identity, "driver", f"'{row.driver}'", allowed
            elif names.count(row.driver) > 1:
                yield name, identity, "driver", f"'{row.driver}', which names two things", "a name that only one of them has"
            elif not same_kind(row.unit, units[row.driver]):
                allowed = f"a unit like {units[row.driver]}, by which '{row.driver}' is counted"
                yield name, identity, "unit", f"'{row.unit}'", allowed


def amounts_can_grow(case: Case, unread: Unread) -> Found:
    """What follows the output or the tools already does not grow twice."""
    for name, identity, row in _rows(case):
        table, _, item = getattr(row, "grows", "").partition(".")
        with where_read():
            if table == "overheads" and item in case.overheads and case.overheads[item].per != "year":
                found = f"'{row.grows}', which is per {case.overheads[item].per}"
                yield name, identity, "grows", found, "an overhead per year"
            if table == "spares" and item in case.spares and case.spares[item].per != "plant":
                yield name, identity, "grows", f"'{row.grows}', which is per tool", "spare parts per plant"
