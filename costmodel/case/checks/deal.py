"""Checks of the deal: its terms belong to a licence and a plan, and come in order."""

from __future__ import annotations

import numpy as np

from ...fields import YEAR
from ..records import Case, tables
from .frame import Found, Unread, where_read

DEAL_TABLES = (
    "payment_kinds", "fees", "royalty_steps", "minimum_royalties", "buy_outs", "deliveries", "yearly_services", "supplies",
    "guarantees", "sublicences", "prospects", "other_ways",
)  # fmt: skip


def deal_is_whole(case: Case, unread: Unread) -> Found:
    """Terms belong to a licence; what is taxed at source is known; what has a beginning ends after it, within the plan."""
    if case.licence is None:
        for name in DEAL_TABLES:
            for identity in list(getattr(case, name))[:1]:  # told once a file
                yield name, identity, "id", f"{tables()[name].file} without deal.yaml", "both, or neither"
        return
    for kind in ("licence", "dividends") if "payment_kinds" not in unread else ():
        if kind not in case.payment_kinds:
            yield "payment_kinds", "payment_kinds", "id", f"no row '{kind}'", "a row for fees and royalties, and one for dividends"
    for identity in list(case.buy_outs)[1:]:
        yield "buy_outs", identity, "id", "a second row", "one buy-out at most"
    for name in ("minimum_royalties", "deliveries", "yearly_services", "sublicences"):
        for identity, row in getattr(case, name).items():
            with where_read():
                if np.any(row.end <= row.begin):
                    found = f"an end {float(np.max(row.begin - row.end)) / YEAR:.4g} years before or at the beginning"
                    yield name, identity, "end", found, "a time after the beginning"
    for identity, row in case.fees.items():
        with where_read():
            if np.any((row.credited > 0) & (row.time > case.licence.upfront_time)):
                yield (
                    "fees",
                    identity,
                    "credited",
                    "a part of a fee that is paid later than the upfront fee",
                    "0, or an earlier time",
                )
    earlier = None
    for identity, row in case.royalty_steps.items():
        with where_read():
            if earlier is not None and np.any(row.time <= earlier):
                yield (
                    "royalty_steps",
                    identity,
                    "time",
                    "a time before or at that of the row above",
                    "rows in the order of their times",
                )
            earlier = row.time
    if case.schedule is None:
        return
    with where_read():
        end = float(case.schedule.horizon) * YEAR
        for name, identity, column, time in [
            ("licence", "licence", "upfront_time", case.licence.upfront_time),
            *(("fees", n, "time", x.time) for n, x in case.fees.items()),
            *(("deliveries", n, "end", x.end) for n, x in case.deliveries.items()),
        ]:
            if np.any(time >= end):
                yield name, identity, column, f"{float(np.max(time)) / YEAR:.4g} years", "before the end of the plan"
