"""Which services and inputs the rows of service_effects.csv name."""

from __future__ import annotations

from collections.abc import Iterator

from .addresses import BadAddress, input_at
from .service_records import DELIVERIES, YEARLY, ServiceEffect
from .whole_case import Case, rows_of, tables

EVERY = "*"


def services(case: Case) -> list[str]:
    """All deliveries and yearly services by address.

    >>> from costmodel.case.load import load_case
    >>> services(load_case("inputs_demo/facade"))[:2]
    ['deliveries.design', 'deliveries.training']
    """
    return [f"{table}.{name}" for table in (DELIVERIES, YEARLY) for name in getattr(case, table)]


def changed_by(case: Case, row: ServiceEffect) -> list[str]:
    """The addresses of the inputs that a row changes: one, or with `*` that of each row of the table. Raises BadAddress.

    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> effect = ServiceEffect("", "", "tools.*.unplanned_downtime", "multiplies", 0.9, "1", 1.0, 0.0, 1.0, "no")
    >>> changed_by(case, effect)[0], len(changed_by(case, effect)) == len(case.tools)
    ('tools.glass_bench.unplanned_downtime', True)
    """
    return list(_addresses(case, row.address))


def _addresses(case: Case, address: str) -> Iterator[str]:
    table, _, rest = address.partition(".")
    if table not in tables() or tables()[table].section or not rest.startswith(f"{EVERY}."):
        input_at(case, address)
        yield address
        return
    rows = rows_of(case, table)
    if not rows:
        raise BadAddress(address, f"an address of a case that has rows in {tables()[table].file}", table)
    for identity in rows:
        found = f"{table}.{identity}{rest.removeprefix(EVERY)}"
        input_at(case, found)
        yield found
