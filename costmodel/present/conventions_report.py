"""Figures by our convention and by others, as a table, a sentence and records."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from ..core.units import to_base
from ..studies.conventions import Convention
from .numbers import money, percent
from .plain_plan import in_years
from .table import Table, table_of

NOTE = "The model keeps to the convention on the left; what the other gives is computed from the same plan."


def summary(found: Sequence[Convention]) -> list[str]:
    """The net present value by two conventions, and each figure whose sign depends on the convention, in sentences."""
    npv = next(each for each in found if each.figure.startswith("net present value"))
    ours, other = (money(value, npv.unit) for value in (npv.value, npv.other_value))
    said = [f"The net present value of the project is {ours} with {npv.ours}, and {other} {npv.other}."]
    for each in found:
        if each.value * each.other_value < 0:
            now, then = _shown(each.value, each.unit), _shown(each.other_value, each.unit)
            said.append(f"The sign depends on the convention: {each.figure}, {now} with {each.ours}, {then} {each.other}.")
    return said


def conventions_table(found: Sequence[Convention]) -> Table:
    """A row for each figure and other convention."""
    columns = {
        "figure": lambda x: x.figure,
        "our convention": lambda x: x.ours,
        "ours": lambda x: _shown(x.value, x.unit),
        "other convention": lambda x: x.other,
        "other": lambda x: _shown(x.other_value, x.unit),
        "source of the other": lambda x: x.source,
    }
    return table_of("Figures by other conventions", [(x,) for x in found], columns, texts=(0, 1, 3, 5), note=NOTE)


def _shown(value: float, unit: str) -> str:
    """A value with its unit; none where there is none."""
    if math.isnan(value):
        return "none"
    if unit == "year":
        return in_years(value / to_base("year"))
    if unit == "%":
        return percent(value)
    currency, _, per = unit.partition("/")
    return money(value, currency, per)


def records(found: Sequence[Convention]) -> list[dict[str, Any]]:
    """A record for each row; times in years, shares as numbers of one."""
    scale = {"year": to_base("year")}
    return [
        {"figure": x.figure, "unit": "1" if x.unit == "%" else x.unit, "our_convention": x.ours,
         "value": _number(x.value, scale.get(x.unit, 1.0)), "other_convention": x.other,
         "other_value": _number(x.other_value, scale.get(x.unit, 1.0)), "source": x.source}
        for x in found
    ]  # fmt: skip


def _number(value: float, scale: float) -> float | None:
    """A value in the unit of its record; none where there is none."""
    return None if math.isnan(value) else value / scale
