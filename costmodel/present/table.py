"""A table of texts, as the command line and the pages show it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True)
class Table:
    """A table of texts; the first column holds names, the others figures set to the right unless `texts` says otherwise.

    `style` is `inputs` for the long tables of inputs, else nothing.
    """

    title: str
    columns: list[str]
    rows: list[list[str]]
    note: str = ""
    total: bool = False
    texts: tuple[int, ...] = field(default=(0,))
    style: str = ""

    def as_block(self) -> dict[str, Any]:
        """The table as plain data for a page."""
        return {"kind": "table"} | asdict(self)
