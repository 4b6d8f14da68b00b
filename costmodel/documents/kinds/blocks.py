"""The blocks that documents are put together from, as plain data."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from ...present.numbers import money
from ...present.table import Table

Block = dict[str, Any]
Facts = dict[str, Any]


def words(text: str, style: str = "") -> Block:
    """A paragraph; `style` is headline, kicker, note or nothing."""
    return {"kind": "words", "text": text, "style": style}


def opening(kicker: str, facts: Facts, headline: str) -> list[Block]:
    """How every document begins: its kind, its title, the answer."""
    return [words(kicker, "kicker"), {"kind": "title", "text": facts["identity"]["title"]}, words(headline, "headline")]


def heading(text: str) -> Block:
    """The heading of a part, which is a bookmark of the PDF."""
    return {"kind": "heading", "text": text}


def items(texts: Iterable[str]) -> Block:
    """A list."""
    return {"kind": "items", "items": list(texts)}


def picture(name: str, svg: str, says: str) -> Block:
    """A picture with the words below it; the name is that of its file among the pictures for slides."""
    return {"kind": "picture", "name": name, "svg": svg, "says": says}


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], note: str = "", **more: Any) -> Block:
    """A table; `more` is of `Table`."""
    return Table(title, list(columns), [list(row) for row in rows], note, **more).as_block()


def currency_of(facts: Facts) -> tuple[str, Callable[[float], str]]:
    """The currency of a document, and how amounts are written in it."""
    currency = facts["identity"]["currency"]
    return currency, lambda value: money(value, currency)
