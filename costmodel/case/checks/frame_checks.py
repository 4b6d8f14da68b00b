"""What all checks between tables share: the form of what they find, and what is not judged as it could not be read."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from ...core.fields import declared
from ..whole_case import Case, rows_of, tables

Unread = frozenset[str]  # tables of which rows could not be read: in them no id can be called unknown
Found = Iterator[tuple[str, str, str, str, str]]  # table, id, column, found, allowed


class _WhereRead:
    """See where_read; a class, as a generator would take as long as all the rest of the checks."""

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, problem: BaseException | None, _trace: object) -> bool:
        if not isinstance(problem, AttributeError):
            return False
        kind = type(problem.obj)
        return dataclasses.is_dataclass(kind) and problem.name in declared(kind)


_WHERE_READ = _WhereRead()


def where_read() -> _WhereRead:
    """Leaves a judgement when it meets a field that could not be read; any other missing attribute is an error as ever."""
    return _WHERE_READ


def each_row(case: Case) -> Iterator[tuple[str, str, Any]]:
    """Every row and section of a case: its table, its id (of a section its name), its record."""
    for name, table in tables().items():
        for identity, record in rows_of(case, name).items():
            yield name, name if table.section else identity, record
