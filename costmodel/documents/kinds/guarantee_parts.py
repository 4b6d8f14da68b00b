"""The guarantees that the terms state: level, test, damages and cap, as both sides may see them."""

from __future__ import annotations

from ...present.numbers import stated
from .blocks import Block, Facts, table
from .deal_parts import amount, when


def guaranteed_blocks(facts: Facts) -> list[Block]:
    """A table of the guarantees that are offered; nothing where the terms state none."""
    if not facts.get("guaranteed"):
        return []
    rows = [
        [each["title"], f"{stated(each['power'])}\xa0W", _test(each), _damages(each), when(each["time"])]
        for each in facts["guaranteed"]
    ]
    columns = ["guaranteed", "level", "test", "where it is missed", "tested"]
    note = "Damages are paid once, at the acceptance test, by the shortfall in percent of the level."
    return [table("Guaranteed levels and damages", columns, rows, note, texts=(0, 1, 2, 3, 4))]


def _test(row: Facts) -> str:
    """How the level is tested."""
    off = "nothing is taken off for uncertainty"
    if row["coverage"]:
        off = f"{stated(row['coverage'])} times the standard uncertainty is taken off"
    return f"mean of a random sample of {stated(row['sample'])} modules; {off}"


def _damages(row: Facts) -> str:
    """What is paid for a shortfall."""
    return f"{amount(row['damages'] / 100, row['currency'])} per percent short, at most {amount(row['cap'], row['currency'])}"
