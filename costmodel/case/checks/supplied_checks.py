"""Checks of materials that the licensor supplies item by item: each once, in a unit that fits, with times in order."""

from __future__ import annotations

import numpy as np

from ...core.fields import YEAR
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

TABLE = "supplied_materials"
MONTH = YEAR / 12


def materials_are_supplied_once(case: Case, unread: Unread) -> Found:
    """An item has one row, and no row of supplies.csv has a margin on all materials besides."""
    seen: dict[str, str] = {}
    for identity, row in case.supplied_materials.items():
        with where_read():
            if row.item in seen:
                yield TABLE, identity, "item", f"'{row.item}', which '{seen[row.item]}' has too", "each once"
            seen[row.item] = identity
    for identity, supply in case.supplies.items() if case.supplied_materials else ():
        with where_read():
            if supply.covers == "materials":
                found = "materials, while supplied_materials.csv has them item by item"
                yield "supplies", identity, "covers", found, "tools, carriers or spares; or no supplied_materials.csv"


def times_of_supply_come_in_order(case: Case, unread: Unread) -> Found:
    """The licensee is free to buy elsewhere not before the supply begins and not after it ends."""
    for identity, row in case.supplied_materials.items():
        with where_read():
            if np.any(row.end <= row.begin):
                found = f"an end {float(np.max(row.begin - row.end)) / MONTH:.4g} months before or at the beginning"
                yield TABLE, identity, "end", found, "a time after the beginning"
            elif np.any(row.free_from < row.begin) or np.any(row.free_from > row.end):
                yield (
                    TABLE,
                    identity,
                    "free_from",
                    f"{float(np.max(row.free_from)) / MONTH:.4g} months",
                    "begin <= free_from <= end",
                )
