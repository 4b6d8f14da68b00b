"""Checks of ids: those that rows refer to are there, and none stands for something else."""

from __future__ import annotations

from ...faults import nearest
from ...fields import Text, declared
from ..records import Case, tables
from .frame import Found, Unread, each_row, where_read


def ids_are_known(case: Case, unread: Unread) -> Found:
    """Every id that a row refers to stands in the other table."""
    for name, identity, record in each_row(case):
        for column, declaration in declared(type(record)).items():
            if isinstance(declaration, Text) and declaration.refers_to and declaration.refers_to not in unread:
                with where_read():
                    known, value = getattr(case, declaration.refers_to), getattr(record, column)
                    if value not in known:
                        file = tables()[declaration.refers_to].file
                        yield name, identity, column, f"'{value}'", f"an id of {file}{nearest(value, known)}"


def plant_is_no_id(case: Case, unread: Unread) -> Found:
    """Costs of no step, and people at no tool, stand under `plant`."""
    for name in ("steps", "tools"):
        if "plant" in getattr(case, name):
            yield name, "plant", "id", "'plant', which stands for costs of no step", "any other id"


def each_once(case: Case, unread: Unread) -> Found:
    """One row for an item's terms, and one for how a kind of equipment is written off."""
    for name, column in (("buying", "item"), ("book_depreciation", "covers"), ("tax_depreciation", "covers")):
        seen: dict[str, str] = {}
        for identity, row in getattr(case, name).items():
            with where_read():
                value = getattr(row, column)
                if value in seen:
                    yield name, identity, column, f"'{value}', which '{seen[value]}' has too", "each once"
                seen[value] = identity
