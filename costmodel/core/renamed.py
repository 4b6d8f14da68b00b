"""Names of version 0.1 that are called otherwise now. An old name is refused, and the message names the new one.

One table for columns, names in sections, fields of addresses and figures; `faults.nearest`, which every message about an unknown
name calls, reads it. So an old name is answered alike in tables, ranges, rounds, scenarios, choices, `--set` and `--figure`.
"""

from __future__ import annotations

from collections.abc import Collection

STATUS = "_status"  # ends the name of a status beside its figure, as in `fields.py`

RENAMED = {
    # columns and names in sections
    "own_time": "process_time",
    "every": "loads_between",
    "at_once": "coincidence_factor",
    "landing_share": "deposition_efficiency",
    "target_use": "target_utilisation",
    "least_cover": "minimum_dscr",
    "chance": "probability",
    # figures; own_time and chance are figures as well
    "debt_cover": "dscr",
    "least_debt_cover": "minimum_dscr",
    "below_cover": "below_minimum_dscr",
    "years_below_cover": "years_below_minimum_dscr",
    "cap_chance": "cap_probability",
    "fetched": "scrap_revenue",
    "licensee_worth": "licensee_value",
}


def new_name(name: str, valid: Collection[str]) -> str:
    """The valid name that a name, or an address with old names in it, has now; nothing if there is none.

    >>> new_name("steps.saw.own_time", ["steps.saw.process_time"]), new_name("own_time", ["title"])
    ('steps.saw.process_time', '')
    >>> new_name("plan.least_debt_cover_status", ["plan.minimum_dscr_status"])
    'plan.minimum_dscr_status'
    """
    now = ".".join(map(_part, name.split(".")))
    return now if now != name and now in valid else ""


def _part(name: str) -> str:
    bare = name.removesuffix(STATUS)
    return RENAMED.get(bare, bare) + name[len(bare) :]
