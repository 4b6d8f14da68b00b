"""Names of spreadsheet cells, made from addresses: legal in Excel, and unique whatever the case of letters."""

from __future__ import annotations

import re
from collections.abc import Iterable

_LOOKS_LIKE_A_CELL = re.compile(r"[A-Z]{1,3}[0-9]+|R[0-9]*(C[0-9]*)?|C[0-9]*|TRUE|FALSE", re.IGNORECASE)
_LONGEST = 250  # Excel takes 255; the rest is for a number that keeps names apart


def cell_names(addresses: Iterable[str]) -> dict[str, str]:
    """A name for each address, the address itself wherever Excel takes it.

    A name that could be read as a cell, such as `A1` or `R1C1`, gets a `_` behind it; so does no address with a dot.

    >>> cell_names(["tools.saw.price", "r1c1", "TCO23", "4th", "a b", "A_B"])
    {'tools.saw.price': 'tools.saw.price', 'r1c1': 'r1c1_', 'TCO23': 'TCO23_', '4th': '_4th', 'a b': 'a_b', 'A_B': 'A_B_2'}
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for address in addresses:
        name = re.sub(r"[^A-Za-z0-9_.]", "_", address)[:_LONGEST]
        if not re.match(r"[A-Za-z_]", name):
            name = f"_{name}"
        if _LOOKS_LIKE_A_CELL.fullmatch(name):
            name += "_"
        free, count = name, 1
        while free.lower() in taken:
            count += 1
            free = f"{name}_{count}"
        taken.add(free.lower())
        names[address] = free
    return names
