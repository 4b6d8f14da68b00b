"""The blocks that documents are put together from, as plain data."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from ...present.numbers import money
from ...present.table import Table

Block = dict[str, Any]
Facts = dict[str, Any]

INDICATION = "Indication, no offer"


def words(text: str, style: str = "") -> Block:
    """A paragraph; `style` is headline, kicker, note or nothing."""
    return {"kind": "words", "text": text, "style": style}


def opening(kicker: str, facts: Facts, headline: str, standing: str = INDICATION) -> list[Block]:
    """How every document begins: its kind, its title, which version it is and how it stands, the answer.

    Kind, title and version stand in the running head of each page too.
    """
    title: Block = {"kind": "title", "text": facts["identity"]["title"]}
    return [words(kicker, "kicker"), title, words(f"{version_of(facts)} · {standing}", "about"), words(headline, "headline")]


def version_of(facts: Facts) -> str:
    """Which version of the terms a document is of and until when that holds, and which figures of which day it has.

    >>> identity = {"contents": "92fd471ee91a", "made_on": "2026-11-02"}
    >>> version_of({"identity": identity})
    'Version 92fd471ee91a · 2026-11-02'
    >>> said = "Version of the terms: round 3 of 2026-10-30, valid until 2026-12-31."
    >>> version_of({"identity": identity | {"terms": said}})
    'Version 92fd471ee91a · 2026-11-02 · terms: round 3 of 2026-10-30, valid until 2026-12-31'
    """
    shown, terms = facts["identity"], terms_of(facts)
    return f"Version {shown['contents']} · {shown['made_on']}{f' · terms: {terms}' if terms else ''}"


def terms_of(facts: Facts) -> str:
    """Which round of the deal the terms are of, of which day and until when valid; nothing where a document does not know it."""
    return facts["identity"].get("terms", "").removeprefix("Version of the terms: ").removesuffix(".")


def heading(text: str) -> Block:
    """The heading of a part, which is a bookmark of the PDF."""
    return {"kind": "heading", "text": text}


def contents() -> Block:
    """Where the headings that follow stand, by page; for what has more than six pages."""
    return {"kind": "contents"}


def items(texts: Iterable[str]) -> Block:
    """A list."""
    return {"kind": "items", "items": list(texts)}


def picture(name: str, svg: str, says: str) -> Block:
    """A picture; the name is that of its file among the pictures for slides.

    `says` is the picture in words, for those who cannot see it. The caption is how that begins: what is shown, in which unit.

    >>> picture("paid", "<svg/>", "Payments in each year, million EUR: fees 2.00 million. More.")["caption"]
    'Payments in each year, million EUR'
    """
    return {"kind": "picture", "name": name, "svg": svg, "says": says, "caption": re.split(r"[:.;](?=\s|$)", says)[0]}


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], note: str = "", **more: Any) -> Block:
    """A table; `more` is of `Table`."""
    return Table(title, list(columns), [list(row) for row in rows], note, **more).as_block()


def currency_of(facts: Facts) -> tuple[str, Callable[[float], str]]:
    """The currency of a document, and how amounts are written in it."""
    currency = facts["identity"]["currency"]
    return currency, lambda value: money(value, currency)
