"""What differs between two cases: figures, texts, rows, the order of the route, choices, and what is said of their origin."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ..core.fields import Number, Text, declared, unit_of
from ..core.operations import Value
from ..core.units import same_kind
from .whole_case import Case, Evidence, held_at, rows_of, tables

SAME = 1e-12  # relative; the digits that a fingerprint looks at, so that another unit in a header is no difference


@dataclass(frozen=True, slots=True)
class Difference:
    """An input that both cases have and state otherwise: values in base units, or texts.

    `unit` is that of the table of the first case; `unit_after` is another one only where the two do not convert, as EUR and USD.
    """

    address: str
    before: Value
    after: Value
    unit: str
    unit_after: str

    @property
    def place(self) -> str:
        """The row, as `tools.saw`."""
        return self.address.rsplit(".", 1)[0]

    @property
    def is_text(self) -> bool:
        """Whether the input is a text."""
        return isinstance(self.before, str)

    @property
    def change(self) -> float | None:
        """Relative change of a figure; none for a text, from zero, and between units that do not convert."""
        if self.is_text or self.unit != self.unit_after or self.before == 0.0:
            return None
        return float(self.after / self.before - 1)


@dataclass(frozen=True, slots=True)
class Differences:
    """All that differs between two cases; rows are named as `steps.lamination`, choices by their group."""

    inputs: list[Difference]
    added: list[str]
    dropped: list[str]
    reordered: bool
    choices: dict[str, tuple[str, str]]
    evidence: dict[str, tuple[Evidence, Evidence]]

    @property
    def none(self) -> bool:
        """Whether nothing that the model may read differs; what is said of the origin of figures may."""
        return not (self.inputs or self.added or self.dropped or self.reordered or self.choices)


def differences(before: Case, after: Case) -> Differences:
    """Compare two cases input by input; their names, titles and stories are not looked at.

    `evidence` holds the rows of both cases that say otherwise where their figures come from, changed or not.

    >>> from costmodel.case.changes import with_values
    >>> from costmodel.case.load import load_case
    >>> case = load_case("inputs_demo/facade")
    >>> found = differences(case, with_values(case, {"metals.silver.quote": 3000.0}))
    >>> [(d.address, round(d.before, 9), d.after, d.unit) for d in found.inputs]
    [('metals.silver.quote', 1500.0, 3000.0, 'EUR/kg')]
    """
    old, new = _rows(before), _rows(after)
    both = [place for place in old if place in new]
    groups = [group for group in {**before.use, **after.use} if before.use.get(group, "") != after.use.get(group, "")]
    return Differences(
        inputs=[d for place in both for d in _of_row(place, old[place], new[place], before, after)],
        added=[place for place in new if place not in old],
        dropped=[place for place in old if place not in new],
        reordered=_route(before, after) != _route(after, before),
        choices={group: (before.use.get(group, ""), after.use.get(group, "")) for group in groups},
        evidence={
            place: (before.evidence[place], after.evidence[place])
            for place in both
            if before.evidence[place] != after.evidence[place]
        },
    )


def same_inputs(first: Case, second: Case) -> bool:
    """Whether two cases hold exactly the same figures, texts, choices and order of rows; their origin is not looked at."""
    if (first.currency, first.use, first.constants) != (second.currency, second.use, second.constants):
        return False
    if any(held_at(first, name) != held_at(second, name) for name in tables()):
        return False
    return list(_rows(first)) == list(_rows(second))


def _rows(case: Case) -> dict[str, object]:
    """Every row by its place."""
    rows: dict[str, object] = {}
    for name in tables():
        rows |= {f"{name}.{identity}" if identity else name: record for identity, record in rows_of(case, name).items()}
    return rows


def _route(case: Case, other: Case) -> list[str]:
    """The steps in order that the other case has too."""
    return [step for step in case.steps if step in other.steps]


def _of_row(place: str, old: Any, new: Any, before: Case, after: Case) -> list[Difference]:
    """The inputs of a row that differ."""
    found = []
    for name, declaration in declared(type(old)).items():
        address, was, now = f"{place}.{name}", getattr(old, name), getattr(new, name)
        if isinstance(declaration, Text):
            if was != now:
                found.append(Difference(address, was, now, "", ""))
            continue
        if was is None or now is None:  # an input that one of them leaves out: rows of another table come or go with it
            continue
        unit, other = before.entry_units[address], after.entry_units[address]
        converts = _converts(declaration, old, new, before, after)
        if not converts or not math.isclose(was, now, rel_tol=SAME):
            found.append(Difference(address, was, now, unit, unit if converts else other))
    return found


def _converts(declaration: Number, old: object, new: object, before: Case, after: Case) -> bool:
    """Whether a figure is in the same kind of unit in both rows: EUR and USD are not, nor for each plate and each module."""
    return same_kind(unit_of(old, declaration.unit, before.currency), unit_of(new, declaration.unit, after.currency))
