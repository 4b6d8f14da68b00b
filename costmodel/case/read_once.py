"""Each file, and each case of the same choices, read once while a folder is looked through."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

Read = TypeVar("Read")
_read: ContextVar[dict[Hashable, Any] | None] = ContextVar("read", default=None)


@contextmanager
def files_read_once() -> Iterator[None]:
    """Within it, what a file gave stands until the end, even where somebody writes to the file meanwhile.

    >>> with files_read_once():
    ...     first, second = once("a file", lambda: ["a row"]), once("a file", lambda: ["another row"])
    >>> first is second, first
    (True, ['a row'])
    """
    if _read.get() is not None:
        yield
        return
    token = _read.set({})
    try:
        yield
    finally:
        _read.reset(token)


def once(key: Hashable, make: Callable[[], Read]) -> Read:
    """What is made of a file, made once within `files_read_once`; whoever takes it leaves it as it is."""
    read = _read.get()
    if read is None:
        return make()
    if key not in read:
        read[key] = make()
    return read[key]
