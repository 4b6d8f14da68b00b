"""The check of what is marked as confidential."""

from __future__ import annotations

from ...core.faults import nearest
from ...core.fields import declared
from ..whole_case import Case, tables
from .frame_checks import Found, Unread

FIGURES = ("line", "ledger", "market", "plan", "deal")  # what addresses of figures begin with
NAMES = ("cost", "process", "licensee_moves", "npv_moved_by", "npv_spread", "transfer")  # and names in a release, besides
BOTH = ("product", "licence", "markets")  # tables that names in a release begin with, too


def marks_are_known(case: Case, unread: Unread) -> Found:
    """What is marked as confidential is there: a slip of the pen would leave it open.

    Figures, and names in a release, are looked up as a release is built, when they are known.
    """
    begin = (*FIGURES, *NAMES, *tables())
    for identity, row in case.confidential.items():
        if row.protects and row.protects not in case.confidential:
            allowed = f"the id of a row of confidential.csv, or nothing{nearest(row.protects, case.confidential)}"
            yield "confidential", identity, "protects", f"'{row.protects}'", allowed
        table, *rest = row.address.split(".")
        if table in (*FIGURES, *NAMES, *BOTH):
            continue
        if table not in tables():
            allowed = f"an address that begins with {', '.join(begin)}{nearest(table, begin)}"
            yield "confidential", identity, "address", f"'{row.address}'", allowed
            continue
        known = declared(tables()[table].record)
        if rest and not tables()[table].section and table not in unread:
            held = getattr(case, table)
            if rest[0] not in held:
                yield "confidential", identity, "address", f"'{row.address}'", f"a row of {table}{nearest(rest[0], held)}"
                continue
        fields = rest if tables()[table].section else rest[1:]
        if fields and (len(fields) > 1 or fields[0] not in known):
            allowed = f"one field: {', '.join(known)}{nearest(fields[0], known)}"
            yield "confidential", identity, "address", f"'{row.address}'", allowed
