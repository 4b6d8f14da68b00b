"""Figures over one, two or more inputs, and over scenarios and choices side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.units import same_kind
from .axes import Axis
from .many import figures_at, figures_of, wanted_figures, why_without

if TYPE_CHECKING:
    import pandas as pd

MOST_POINTS = 4_000_000
REASON = "_reason"  # ends the name of the column that says why a figure has no value


def sweep(cases: Mapping[str, Case], axes: Sequence[Axis], wanted: Sequence[str]) -> pd.DataFrame:
    """Every combination of the values of the axes, in each of the cases: a tidy table, one row for each.

    Columns: `case`, the addresses of the inputs, the addresses of the figures; `attrs["units"]` holds the unit of each column.
    A figure that may have no value has a column behind it, `..._reason`, that says why there is none. The last axis runs fastest.
    Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.studies.axes import parse_axis
    >>> case = load_case("inputs_demo/facade")
    >>> frame = sweep({"as it is": case}, [parse_axis(case, "product.length=1, 1.2 m")], ["line.output.plate_area"])
    >>> frame["line.output.plate_area"].round(9).tolist(), frame.attrs["units"]["line.output.plate_area"]
    ([0.6, 0.72], 'm2/plate')
    """
    import pandas as pd  # late: it takes a while

    twice = {axis.address for number, axis in enumerate(axes) if axis.address in [other.address for other in axes[:number]]}
    if twice:
        raise InputFaults([Fault("--vary", None, address, "the input twice", "each input once") for address in sorted(twice)])
    count = int(np.prod([len(axis.values) for axis in axes])) if axes else 1
    if count > MOST_POINTS:
        raise InputFaults([Fault("--vary", None, None, f"{count:,} combinations", f"at most {MOST_POINTS:,}")])
    grid = np.meshgrid(*[axis.values for axis in axes], indexing="ij")
    shown = np.meshgrid(*[axis.shown for axis in axes], indexing="ij")
    values = {axis.address: column.ravel() for axis, column in zip(axes, grid)}
    first = next(iter(cases.values()))
    known, parts = wanted_figures(first, wanted), []
    units = {axis.address: axis.unit for axis in axes} | {address: known[address].unit for address in wanted}
    for label, case in cases.items():
        own = wanted_figures(case, wanted)
        found = figures_of(case, values, wanted) if axes else {a: np.array([v]) for a, v in figures_at(case, wanted).items()}
        columns = {axis.address: column.ravel() for axis, column in zip(axes, shown)}
        for address, figure in known.items():
            columns[address] = figure.shown(found[address])
            if figure.reasons:
                at_end = [own[address].reason] if not axes else why_without(case, values, own[address], found[address])
                columns[address + REASON] = pd.Series([why or None for why in at_end], dtype=object)
        parts.append(pd.DataFrame({"case": [label] * count, **columns}))
        for address in wanted:
            if not same_kind(own[address].unit, units[address]):
                found_unit, allowed = f"{own[address].unit} in '{label}'", f"one kind of unit in all cases, as {units[address]}"
                raise InputFaults([Fault("--figure", None, address, found_unit, allowed)])
    frame = pd.concat(parts, ignore_index=True)
    frame.attrs["units"] = units
    return frame
