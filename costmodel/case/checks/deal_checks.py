"""Checks of the deal: its terms belong to a licence and a plan, and come in order."""

from __future__ import annotations

import numpy as np

from ...core.faults import nearest
from ...core.fields import YEAR
from ...core.units import same_kind
from ..deal_records import OUTSIDE, territories
from ..guarantee_records import ALONE, CONSUMPTION, LINE, THROUGHPUT, UPTIME
from ..transfer_records import FIRST_DAY
from ..whole_case import Case, tables
from .frame_checks import Found, Unread, where_read
from .transfer_checks import planned_gate

DEAL_TABLES = (
    "payment_kinds", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies",
    "supplied_materials",
    "service_effects", "laboratory_tests", "laboratory_work", "laboratory_equipment", "laboratory_staff",
    "guarantees", "performance_guarantees", "acceptance_dates", "damages_caps", "sublicences", "prospects", "other_ways",
    "transfer_tasks", "transfer_work", "transfer_gates", "transfer_resources", "commitments",
)  # fmt: skip


def deal_is_whole(case: Case, unread: Unread) -> Found:
    """Terms belong to a licence; what is taxed at source is known; there is one buy-out at most."""
    if not case.has_deal:
        for name in DEAL_TABLES:
            for identity in list(getattr(case, name))[:1]:  # told once a file
                yield name, identity, "id", f"{tables()[name].file} without deal.yaml", "both, or neither"
        return
    for kind in ("licence", "dividends") if "payment_kinds" not in unread else ():
        if kind not in case.payment_kinds:
            yield "payment_kinds", "payment_kinds", "id", f"no row '{kind}'", "a row for fees and royalties, and one for dividends"
    for identity in list(case.buy_outs)[1:]:
        yield "buy_outs", identity, "id", "a second row", "one buy-out at most"


def what_begins_ends_after_it(case: Case, unread: Unread) -> Found:
    """What has a beginning and an end has them in this order."""
    for name in ("minimum_royalties", "deliveries", "yearly_services", "service_effects", "sublicences") if case.has_deal else ():
        for identity, row in getattr(case, name).items():
            with where_read():
                if np.any(row.end <= row.begin):
                    found = f"an end {float(np.max(row.begin - row.end)) / YEAR:.4g} years before or at the beginning"
                    yield name, identity, "end", found, "a time after the beginning"


def credited_fees_come_first(case: Case, unread: Unread) -> Found:
    """A fee that is credited against the upfront fee is paid before it; one that is counted from a gate may not be."""
    for identity, row in case.fees.items() if case.has_deal else ():
        with where_read():
            late = (row.time > case.deal.licence.upfront_time) | (row.counted_from != FIRST_DAY)
            if np.any((row.credited > 0) & late):
                found = "a part of a fee that is paid later than the upfront fee"
                yield "fees", identity, "credited", found, "0, or an earlier time"


def royalty_steps_come_in_order(case: Case, unread: Unread) -> Found:
    """Steps of the royalty stand in the order of their times."""
    earlier = None
    for identity, row in case.royalty_steps.items() if case.has_deal else ():
        with where_read():
            if earlier is not None and np.any(row.time <= earlier):
                found = "a time before or at that of the row above"
                yield "royalty_steps", identity, "time", found, "rows in the order of their times"
            earlier = row.time


def terms_fall_within_the_plan(case: Case, unread: Unread) -> Found:
    """Fees are paid, and deliveries end, before the end of the plan."""
    if not case.has_deal or not case.has_plan:
        return
    with where_read():
        end = float(case.plan.schedule.horizon) * YEAR
        for name, identity, column, time in [
            ("licence", "licence", "upfront_time", case.deal.licence.upfront_time),
            *(("fees", n, "time", x.time + planned_gate(case, x.counted_from, unread)) for n, x in case.fees.items()),
            *(("deliveries", n, "end", x.end) for n, x in case.deliveries.items()),
        ]:
            if np.any(time >= end):
                yield name, identity, column, f"{float(np.max(time)) / YEAR:.4g} years", "before the end of the plan"


def promises_name_what_they_measure(case: Case, unread: Unread) -> Found:
    """A guaranteed rate names the line, a tool, or what is consumed, in a unit of its kind; one cap at most holds over all."""
    table = "performance_guarantees"
    sold = {**case.prices, **case.utilities}
    for identity, row in getattr(case, table).items():
        with where_read():
            known: list[str] = [LINE]
            if row.measure == UPTIME:
                known = list(case.tools)
            elif row.measure == CONSUMPTION:
                known = list(sold)
            if not {"tools", "prices", "utilities"} & set(unread) and row.of not in known:
                yield table, identity, "of", f"'{row.of}'", f"for {row.measure} one of: {', '.join(known)}{nearest(row.of, known)}"
                continue
            unit = {THROUGHPUT: "module/h", CONSUMPTION: f"{getattr(sold.get(row.of), 'unit', '')}/module"}.get(row.measure, "%")
            if not same_kind(row.unit, unit):
                yield table, identity, "unit", f"'{row.unit}'", f"a unit like {unit}"
        with where_read():
            others = [*(each for each in getattr(case, table) if each != identity), ALONE]
            if row.counted_under not in others:
                allowed = f"the id of another row, or '{ALONE}'{nearest(row.counted_under, others)}"
                yield table, identity, "counted_under", f"'{row.counted_under}'", allowed
    for identity in list(case.damages_caps)[1:]:
        yield "damages_caps", identity, "id", "a second row", "one row at most"


def prospects_are_in_known_territories(case: Case, unread: Unread) -> Found:
    """A prospect is in a territory that the licence names, or outside of all of them."""
    if not case.has_deal:
        return
    with where_read():
        known = territories(case.deal.licence)
        for identity, row in case.prospects.items():
            with where_read():
                if row.territory not in (*known, OUTSIDE):
                    allowed = f"a territory of deal.yaml: {', '.join(known)}; or '{OUTSIDE}'{nearest(row.territory, known)}"
                    yield "prospects", identity, "territory", f"'{row.territory}'", allowed


def shares_of_payments_can_add_up(case: Case, unread: Unread) -> Found:
    """Of each kind of payment the least share is not above the most; together they leave room for the whole."""
    for identity, row in case.payment_kinds.items():
        with where_read():
            if np.any(row.least_share > row.most_share):
                yield "payment_kinds", identity, "least_share", "a least share above the most", "least_share <= most_share"
    if not case.payment_kinds or "payment_kinds" in unread:
        return
    with where_read():
        rows = case.payment_kinds.values()
        identity = next(iter(case.payment_kinds))
        if np.any(sum(row.least_share for row in rows) > 1 + 1e-9):
            yield "payment_kinds", identity, "least_share", "least shares of more than 100 % together", "at most 100 %"
        if np.any(sum(row.most_share for row in rows) < 1 - 1e-9):
            yield "payment_kinds", identity, "most_share", "most shares of less than 100 % together", "at least 100 %"
