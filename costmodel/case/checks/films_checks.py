"""Checks of films and of the area that generates power: settling, spread, in-line coaters, cells."""

from __future__ import annotations

import numpy as np

from ..geometry import dead_width
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read


def gases_settle_within_the_purge(case: Case, unread: Unread) -> Found:
    """Settling that the purge holds is no longer than the purge."""
    for identity, row in case.layers.items():
        with where_read():
            if row.settling == "inside_purge" and np.any(row.settling_time > row.purge_time):
                longest = float(np.max(row.settling_time))
                purge = float(np.min(row.purge_time))
                found = f"{longest:.6g} s inside a purge of {purge:.6g} s"
                yield "layers", identity, "settling_time", found, "no more than the purge_time, or settling 'added'"


def spread_leaves_power(case: Case, unread: Unread) -> Found:
    """What all films lose by the spread of their thickness is less than the power."""
    lost: float | np.ndarray = 0.0
    for identity, row in case.layers.items():
        with where_read():
            before, lost = lost, lost + row.spread_loss_factor * row.thickness_spread**2
            if np.any(lost >= 1.0) and np.all(before < 1.0):
                found = f"{float(np.max(lost)) * 100:.4g} % of the power lost, with the films before"
                yield "layers", identity, "spread_loss_factor", found, "together below 100 %"


def sputtered_films_have_a_coater(case: Case, unread: Unread) -> Found:
    """The step of a sputtered film has a row in coaters.csv, which sets its pace. Not judged while a coater names no step."""
    if "coaters" in unread:
        return
    with where_read():
        known = {row.step for row in case.coaters.values()}
        for identity, row in case.coatings.items() if known <= case.steps.keys() else ():
            with where_read():
                if row.step in case.steps and row.step not in known:
                    allowed = f"a step with a row in coaters.csv: {', '.join(sorted(known)) or 'there is none'}"
                    yield "coatings", identity, "step", f"'{row.step}', which has no row in coaters.csv", allowed


def active_area_is_stated(case: Case, unread: Unread) -> Found:
    """The active area is stated as a share or by one row of cells.csv, and cells leave some of it."""
    if "cells" in unread:
        return
    with where_read():
        if case.product.active_area_share is None and not case.cells:
            yield "product", "product", "active_area_share", "nothing", "a share of the plate area, or a row of cells.csv"
    for identity in list(case.cells)[1:]:
        yield "cells", identity, "id", f"a second row, beside '{next(iter(case.cells))}'", "one row, as plates have one layout"
    for identity, row in case.cells.items():
        with where_read():
            sides = case.product.length, case.product.width
            along, across = sides if row.lines_along == "length" else sides[::-1]
            dead = dead_width(row)
            if np.any(2 * row.edge_width >= along) or np.any(dead >= across):
                found = f"{float(np.max(dead)):.4g} m of edges, scribe sets and busbars across {float(np.min(across)):.4g} m"
                yield "cells", identity, "dead_width", found, "less than the plate, so that some area generates power"
