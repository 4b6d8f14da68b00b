"""The parts that documents are put together from, as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...present.table import Table

Block = dict[str, Any]


def words(text: str, style: str = "") -> Block:
    """A paragraph; `style` is headline, kicker, note or nothing."""
    return {"kind": "words", "text": text, "style": style}


def title(text: str) -> Block:
    """The title of the document."""
    return {"kind": "title", "text": text}


def heading(text: str) -> Block:
    """The heading of a part, which is a bookmark of the PDF."""
    return {"kind": "heading", "text": text}


def items(texts: Sequence[str]) -> Block:
    """A list."""
    return {"kind": "items", "items": list(texts)}


def picture(name: str, svg: str, says: str) -> Block:
    """A picture with the words below it; the name is that of its file among the pictures for slides."""
    return {"kind": "picture", "name": name, "svg": svg, "says": says}


def table(
    title: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    note: str = "",
    total: bool = False,
    texts: Sequence[int] = (0,),
    style: str = "",
) -> Block:
    """A table; columns in `texts` are set to the left."""
    return Table(title, list(columns), [list(row) for row in rows], note, total, tuple(texts), style).as_block()
