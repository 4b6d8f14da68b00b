"""Checks of what services bring: rows name a service and an input that it can change, and stay in the range of that input."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...core.faults import nearest
from ...core.fields import Number, unit_of
from ...core.units import same_kind
from ..addresses import BadAddress, allowed_units, input_at
from ..effects import changed_by, services
from ..service_records import DELIVERIES, MULTIPLIES, YEARLY, ServiceEffect
from ..whole_case import Case, tables
from .frame_checks import Found, Unread, where_read

OWN = ("service_effects", DELIVERIES, YEARLY)  # tables whose inputs no effect changes


def effects_are_of_services(case: Case, unread: Unread) -> Found:
    """Each effect is of a delivery or a yearly service that there is."""
    if {DELIVERIES, YEARLY} & unread:
        return
    known = services(case)
    for identity, row in case.service_effects.items():
        with where_read():
            if row.service not in known:
                allowed = f"deliveries.ID or yearly_services.ID{nearest(row.service, known) or ': ' + ', '.join(known)}"
                yield "service_effects", identity, "service", f"'{row.service}'", allowed


def effects_suit_their_inputs(case: Case, unread: Unread) -> Found:
    """An effect changes numbers that the model reads, in a unit that converts to theirs; a factor is above 0."""
    for identity, row in case.service_effects.items():
        with where_read():
            for column, found, allowed in _suits(case, unread, row):
                yield "service_effects", identity, column, found, allowed


def _suits(case: Case, unread: Unread, row: ServiceEffect) -> Iterator[tuple[str, str, str]]:
    try:
        addresses = changed_by(case, row)
    except BadAddress as problem:
        if problem.table not in unread:
            yield "address", f"'{row.address}'", problem.allowed
        return
    table = row.address.partition(".")[0]
    declaration = input_at(case, addresses[0])[0]
    if not isinstance(declaration, Number) or table in OWN or not tables()[table].in_model:
        yield "address", f"'{row.address}'", f"the address of a number that the model reads, of no table of {', '.join(OWN)}"
        return
    if row.how == MULTIPLIES:
        if not same_kind(row.unit, "1"):
            yield "unit", f"'{row.unit}' of a factor", "1 or %"
        elif (least := float(np.min(row.change))) <= 0:
            yield "change", f"a factor of {least:.6g}", "a factor above 0"
        return
    if case.currency:
        yield from _converts(case, row, declaration, addresses)


def _converts(case: Case, row: ServiceEffect, declaration: Number, addresses: list[str]) -> Iterator[tuple[str, str, str]]:
    for address in addresses:
        record = input_at(case, address)[1]
        if not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
            wanted = unit_of(record, declaration.entry, case.currency)
            yield "unit", f"'{row.unit}'", f"a unit that converts to {wanted}, that of {address}"
            return


def ranges_of_effects_are_on_changes(case: Case, unread: Unread) -> Found:
    """Of an effect the change may be uncertain; success is drawn by its probability, and its times are as stated."""
    for identity, row in case.ranges.items():
        with where_read():
            table, _, rest = row.address.partition(".")
            if table == "service_effects" and not rest.endswith(".change"):
                yield "ranges", identity, "address", f"'{row.address}'", "of service_effects the change only"
