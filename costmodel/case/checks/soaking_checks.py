"""Checks of light soaking: the light of each plan, where soaked modules are rated again, and what a sample can say."""

from __future__ import annotations

import numpy as np

from ..line_records import SoakingLight
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read


def each_plan_has_its_light(case: Case, unread: Unread) -> Found:
    """The parts of the year in the light of a plan add up to all of it: lamps have one row, the sun one for each season."""
    for identity in case.soaking if "soaking_light" not in unread else ():
        with where_read():
            rows = {name: row for name, row in case.soaking_light.items() if row.plan == identity}
            year = sum((row.part_of_year for row in rows.values()), start=np.zeros(1))
            if np.any(np.abs(year - 1.0) > 1e-9):
                found = f"light for {float(np.max(year)) * 100:.6g} % of the year for '{identity}'"
                place = ("soaking_light", list(rows)[-1], "part_of_year") if rows else ("soaking", identity, "id")
                yield *place, found, "rows of soaking_light.csv whose part_of_year add up to 100 %"


def each_plan_has_one_clock(case: Case, unread: Unread) -> Found:
    """The light of a plan is either lamps, or the sun through the seasons: a stay does not change from one into the other."""
    for identity in case.soaking if "soaking_light" not in unread else ():
        rows: dict[str, SoakingLight] = {}
        for name, row in case.soaking_light.items():
            with where_read():
                if row.plan == identity:
                    rows[name] = row
        for name, row in rows.items():
            first = next(iter(rows.values()))
            with where_read():
                if row.clock != first.clock:
                    allowed = f"'{first.clock}' in all rows of '{identity}'"
                    yield "soaking_light", name, "clock", f"'{row.clock}' beside '{first.clock}'", allowed


def soaked_modules_are_rated_afterwards(case: Case, unread: Unread) -> Found:
    """The step that rates soaked modules again is the soaking step itself, or a later one that no other plan uses."""
    order = list(case.steps) if "steps" not in unread else []
    for identity, row in case.soaking.items():
        with where_read():
            if row.step in order and row.retest in order and order.index(row.retest) < order.index(row.step):
                yield "soaking", identity, "retest", f"'{row.retest}', before '{row.step}'", f"'{row.step}' or a later step"
            for other, plan in case.soaking.items():
                if other != identity and row.retest in (plan.step, plan.retest):
                    yield "soaking", identity, "retest", f"'{row.retest}', a step of '{other}' too", "a step of one plan"


def a_spread_needs_a_sample(case: Case, unread: Unread) -> Found:
    """A spread that is estimated from the sample takes two soaked modules at least."""
    for identity, row in case.soaking.items():
        with where_read():
            if row.spread_known == "from_sample" and row.step in case.steps:
                soaked = float(np.min(row.lot * case.steps[row.step].processed_share))
                if soaked < 2.0:
                    found = f"'from_sample' with {soaked:.3g} modules of a lot soaked"
                    yield "soaking", identity, "spread_known", found, "'given', or 2 modules soaked at least"
