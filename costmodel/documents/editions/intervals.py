"""Within which interval a reader of an edition can find each closed number: advice for inside, in no document that goes out.

A number that does not follow from the rest may still be known closely, where what it depends on besides hardly moves it
(`narrowing.py`). The range of the inputs is ours (`readers_knowledge.py`), and advice holds near the case only, as slopes are taken
there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...core.units import to_base
from ...model.evaluate import known_figures
from .allowed import unit_for
from .closed_marks import is_closed
from .leak_check import Check


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
    """Closed numbers that the case itself marks, and others narrowed to less than a share of their value; narrowest first."""
    closed = check.closed(0)
    names = [name for name, row in closed.items() if row.value and np.isfinite(row.value) and np.any(row.slopes[check.unknown()])]
    narrowing, found = check.narrowing(0, range(len(check.stated(0))), names, check.unknown()), []
    may = narrowing.may_be_narrow(share)
    for k, name in enumerate(names):
        value, marked = closed[name].value, is_closed(name, check.outside.secrets)
        narrow = narrowing.narrow(k, share) if may[k] else None
        if not marked and narrow is None:
            continue
        half = (narrow or narrowing.left_open(k)).half_width * abs(value)
        unit = _unit(check, name)
        size = to_base(unit) if name in check.ground.figures or name in check.ground.place else 1.0
        found.append(Interval(name, value / size, (value - half) / size, (value + half) / size, unit, narrow is not None))
    return sorted(found, key=lambda each: (each.width, each.name))


def _unit(check: Check, name: str) -> str:
    view = check.ground.view
    known = known_figures(view)
    if name in known:
        return known[name].unit
    base = name.partition(" [")[0]
    return view.entry_units.get(name) or (unit_for(check.outside.edition, base) or "").replace("{currency}", view.currency)
