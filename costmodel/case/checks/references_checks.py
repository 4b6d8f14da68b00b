"""Checks of ids: those that rows refer to are there, and none stands for something else."""

from __future__ import annotations

from ...core.faults import nearest
from ...core.fields import Text, declared, or_else
from ..plan_records import UNLIMITED
from ..whole_case import Case, tables
from .frame_checks import Found, Unread, each_row, where_read


def ids_are_known(case: Case, unread: Unread) -> Found:
    """Every id that a row refers to stands in the other table."""
    for name, identity, record in each_row(case):
        for column, declaration in referring(type(record)):
            other = declaration.refers_to
            if other not in unread:
                with where_read():
                    known, value = getattr(case, other), getattr(record, column)
                    if value not in known and value != (declaration.or_else or None):
                        allowed = f"an id of {tables()[other].file}{or_else(declaration)}"
                        yield name, identity, column, f"'{value}'", f"{allowed}{nearest(value, known)}"


def referring(kind: type) -> tuple[tuple[str, Text], ...]:
    """The columns of a table that hold ids of another one, as they are declared."""
    columns = declared(kind).items()
    return tuple((name, column) for name, column in columns if isinstance(column, Text) and column.refers_to)


def no_id_is_a_word_of_references(case: Case, unread: Unread) -> Found:
    """No row of markets.csv is called `unlimited`, which stands for sales that no market limits."""
    if UNLIMITED in case.markets:
        yield "markets", UNLIMITED, "id", f"'{UNLIMITED}', which stands for sales that no market limits", "any other id"


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
