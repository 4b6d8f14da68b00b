"""The records of what is not disclosed and what may be, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import choice, optional_text, text


@dataclass(frozen=True, slots=True)
class Confidential:
    """What is not disclosed, besides what is closed in any case: the licensor's own figures, the recipe, pilot measurements."""

    address: str = text("an input, a row, a table or a figure; what is below it is closed too", example="prices.silane")
    closed_to: str = choice("to whom it is closed; outside: to both", "licensee", "investor", "outside")
    why: str = text("why", example="price of a contract that binds to silence")
    protects: str = optional_text(
        "the row that this one protects: it is left out as it would give that away, and is no secret itself", example="silane"
    )


@dataclass(frozen=True, slots=True)
class Widened:
    """A figure or input disclosed beyond the allow-list of an edition; who said so and when stand in `by` and `date`."""

    address: str = text("a figure or an input", example="line.output.takt")
    edition: str = choice("in which edition it is disclosed", "licensee", "investor")
    why: str = text("why it may be disclosed", example="asked for in the talks")
