"""Checks of the plan: shares of the whole, and what must end with it."""

from __future__ import annotations

import re
from typing import Any

import numpy as np

from ...core.faults import nearest
from ...core.fields import YEAR
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

MONTH = re.compile(r"\d{4}-(0[1-9]|1[0-2])")


def plan_is_whole(case: Case, unread: Unread) -> Found:
    """A plan sells its output and pays its capital, all of both, and a deal is one on a plan."""
    if not case.has_plan:
        if case.has_deal:
            yield "licence", "licence", "upfront", "deal.yaml without plan.yaml", "both, or neither"
        return
    kinds = {"equipment"} | ({"systems"} if case.facilities else set()) | ({"other"} if case.capital else set())
    parts: list[tuple[str, str, dict[str, Any]]] = [("sales", "output_share", case.sales)] if "sales" not in unread else []
    if "payments" not in unread:
        with where_read():
            parts += [
                ("payments", "part", {n: row for n, row in case.payments.items() if row.covers == kind}) for kind in sorted(kinds)
            ]
    for name, column, rows in parts:
        with where_read():
            total = sum((getattr(row, column) for row in rows.values()), start=np.zeros(1))
            if np.any(np.abs(total - 1.0) > 1e-9):
                kind = f" for {next(iter(rows.values())).covers}" if name == "payments" and rows else ""
                yield name, next(reversed(rows), name), column, f"{float(np.max(total)) * 100:.6g} % in all{kind}", "100 % in all"


def first_month_is_a_month(case: Case, unread: Unread) -> Found:
    """The calendar month of the first day, where it is stated, is a year and a month."""
    if not case.has_plan:
        return
    with where_read():
        stated = case.plan.schedule.first_month
        if stated and not MONTH.fullmatch(stated):
            yield "schedule", "schedule", "first_month", f"'{stated}'", "a year and a month, as 2027-01"


def refurbishments_have_their_equipment(case: Case, unread: Unread) -> Found:
    """An overhaul is of a row of the table that it names, and each row has one at most."""
    seen: dict[tuple[str, str], str] = {}
    for identity, row in case.refurbishments.items():
        with where_read():
            known = getattr(case, row.covers)
            if row.covers not in unread and row.equipment not in known:
                allowed = f"an id of {row.covers}.csv{nearest(row.equipment, known)}"
                yield "refurbishments", identity, "equipment", f"'{row.equipment}'", allowed
            place = (row.covers, row.equipment)
            if place in seen:
                yield "refurbishments", identity, "equipment", f"'{row.equipment}', which '{seen[place]}' has too", "each once"
            seen[place] = identity


def plan_ends_in_time(case: Case, unread: Unread) -> Found:
    """Building, payments and the loan end before the plan does, and the loan is drawn before it is paid back."""
    if not case.has_plan:
        return
    with where_read():
        end = float(case.plan.schedule.horizon) * YEAR
        start = float(np.max(case.plan.schedule.build_time + case.plan.schedule.delay))
        if start >= end:
            found = f"production from year {start / YEAR:.4g} on"
            yield "schedule", "schedule", "build_time", found, f"before the end of the plan, year {case.plan.schedule.horizon}"
        last = max((float(np.max(row.time)) for row in case.payments.values()), default=0.0)
        for identity, row in case.payments.items():
            if np.any(row.time >= end):
                yield "payments", identity, "time", f"{float(np.max(row.time)) / YEAR:.4g} years", "before the end of the plan"
        if np.any(case.plan.loan.grace + case.plan.loan.term > end):
            found = f"{float(np.max(case.plan.loan.grace + case.plan.loan.term)) / YEAR:.4g} years with the time of grace"
            yield "loan", "loan", "term", found, f"at most the {case.plan.schedule.horizon} years of the plan"
        if np.any(case.plan.loan.part * (last - case.plan.loan.grace) > 0.0):
            found = f"{float(np.min(case.plan.loan.grace)) / YEAR:.4g} years, before the last payment of capital"
            yield "loan", "loan", "grace", found, f"at least {last / YEAR:.4g} years"
