"""A table of texts, as the command line and the pages show it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True)
class Table:
    """A table of texts; the first column holds names, the others figures set to the right unless `texts` has their number.

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


def table_of(title: str, things: Iterable[tuple], columns: Mapping[str, Callable[..., str]], **more: Any) -> Table:
    """A table with a row for each thing; a column has its heading, and a function that makes a cell of the parts of a thing.

    >>> table_of("Squares", [(2, "two")], {"": lambda number, word: word, "square": lambda number, word: str(number**2)}).rows
    [['two', '4']]
    """
    return Table(title, list(columns), [[cell(*thing) for cell in columns.values()] for thing in things], **more)
