"""Within which interval a reader of an edition can find each closed number: advice for inside, in no document that goes out.

A number that does not follow from the rest may still be known closely, where what it depends on besides hardly moves it. Each
stated number may be anywhere within its rounding, each other input anywhere from 0 to twice its value. Source: bounds of
suppressed cells by linear programs, as in statistical disclosure control (Willenborg and de Waal), from memory; the range of the
inputs is ours, and advice holds near the case only, as slopes are taken there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...core.units import to_base
from ...model.evaluate import known_figures
from .allowed import unit_for
from .closed_marks import is_closed
from .leak_check import Check
from .span import Span, least_and_greatest


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed number in its unit, the least and the greatest value that a reader can give it, and whether that is narrow."""

    name: str
    value: float
    least: float
    greatest: float
    unit: str
    narrow: bool

    @property
    def width(self) -> float:
        """Half the width, as a part of the value."""
        return 0.5 * (self.greatest - self.least) / abs(self.value)


def intervals(check: Check, share: float) -> list[Interval]:
    """Closed numbers that the case itself marks, and any other whose half width is less than a share of its value; narrowest first.

    A number whose interval is surely wider has no linear program: inputs that move it and no stated number bound it from below.
    """
    free = check.unknown()
    stated, closed = check.stated(0), check.closed(0)
    rows, halves = check.scaled([each.row for each in stated], 0, free), np.array([each.half for each in stated])
    finite = np.isfinite(rows).all(axis=1)
    span = Span(rows, halves)
    names = [name for name, row in closed.items() if row.value and np.isfinite(row.value)]
    slopes = check.scaled([closed[name] for name in names], 0, free)
    moved = np.flatnonzero(np.linalg.norm(slopes, axis=1) > 0)
    rest = slopes - (slopes @ span.basis.T) @ span.basis
    surely = np.einsum("ij,ij->i", slopes, rest) / np.maximum(np.abs(rest).max(axis=1, initial=0.0), 1e-300)
    found = []
    for k in moved:
        name, value = names[k], closed[names[k]].value
        marked = is_closed(name, check.outside.secrets)
        if not marked and surely[k] >= share * abs(value):
            continue
        least, greatest = least_and_greatest(rows[finite], halves[finite], slopes[k], value, np.ones(int(free.sum())))
        unit = _unit(check, name)
        size = to_base(unit) if name in check.ground.figures or name in check.ground.place else 1.0
        made = Interval(name, value / size, least / size, greatest / size, unit, greatest - least < 2 * share * abs(value))
        found += [made] if marked or made.narrow else []
    return sorted(found, key=lambda each: (each.width, each.name))


def _unit(check: Check, name: str) -> str:
    view = check.ground.view
    known = known_figures(view)
    if name in known:
        return known[name].unit
    base = name.partition(" [")[0]
    return view.entry_units.get(name) or (unit_for(check.outside.edition, base) or "").replace("{currency}", view.currency)
