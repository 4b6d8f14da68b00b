"""Checks of ids: those that rows refer to are there, and none stands for something else."""

from __future__ import annotations

from functools import cache

from ...faults import nearest
from ...fields import Text, declared
from ..records import Case, tables
from .frame import Found, Unread, each_row, where_read


def ids_are_known(case: Case, unread: Unread) -> Found:
    """Every id that a row refers to stands in the other table."""
    for name, identity, record in each_row(case):
        for column, other in _referring(type(record)):
            if other not in unread:
                with where_read():
                    known, value = getattr(case, other), getattr(record, column)
                    if value not in known:
                        yield name, identity, column, f"'{value}'", f"an id of {tables()[other].file}{nearest(value, known)}"


@cache
def _referring(kind: type) -> tuple[tuple[str, str], ...]:
    """The columns of a table that hold ids of another one, and which."""
    columns = declared(kind).items()
    return tuple((name, column.refers_to) for name, column in columns if isinstance(column, Text) and column.refers_to)


def plant_is_no_id(case: Case, unread: Unread) -> Found:
    """Costs of no step, and people at no tool, stand under `plant`."""
    for name in ("steps", "tools"):
        if "plant" in getattr(case, name):
            yield name, "plant", "id", "'plant', which stands for costs of no step", "any other id"


def each_once(case: Case, unread: Unread) -> Found:
    """One row for an item's terms or metal, for a step that sputters or soaks, and for how a kind of equipment is written off."""
    for name, column in (
        ("buying", "item"),
        ("metals", "item"),
        ("coaters", "step"),
        ("soaking", "step"),
        ("book_depreciation", "covers"),
        ("tax_depreciation", "covers"),
    ):
        seen: dict[str, str] = {}
        for identity, row in getattr(case, name).items():
            with where_read():
                value = getattr(row, column)
                if value in seen:
                    yield name, identity, column, f"'{value}', which '{seen[value]}' has too", "each once"
                seen[value] = identity
