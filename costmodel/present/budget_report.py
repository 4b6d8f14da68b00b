"""The uncertainty budget of a figure, and whether draws agree with it: sentences, a table, records."""

from __future__ import annotations

import math
from typing import Any

from ..case.whole_case import Case
from ..core.units import to_base
from ..studies.budget import AGREES, DIFFERS, Budget, Check
from ..studies.many import Wanted
from .inputs_report import input_name
from .numbers import people, percent, spoken, typeset
from .study_report import begins, figure_label, quantity, shown
from .table import Table, table_of

NOTE = (
    "Law of propagation (JCGM 100): a sensitivity is that over plus and minus one standard uncertainty. Contribution: sensitivity "
    "times standard uncertainty. Shares of the variance count what inputs have in common, so one may be negative."
)


def said(figure: Wanted, found: Budget, check: Check, draws: int, seed: int) -> list[str]:
    """The figure with its standard uncertainty, and whether draws agree with the interval, in sentences."""
    if not math.isfinite(found.uncertainty):
        return [f"{begins(figure)} has no value near the means of all inputs, so it has no linear budget. The draws stand."]
    sentences = [
        f"{begins(figure)} is {quantity(found.value, figure)} at the means of all inputs, with a standard uncertainty of "
        f"{quantity(found.uncertainty, figure, 2)}.",
        f"Its 95 % interval is {_interval(check.linear, figure)} by the linear budget, and {_interval(check.drawn, figure)} by "
        f"{draws:,} draws, seed {seed}.",
    ]
    if check.without:
        return [
            *sentences,
            f"It has no value in {percent(check.without, 2)} of the draws, so the budget does not hold. The draws stand.",
        ]
    apart, allowed = (quantity(value, figure, 2) for value in (max(check.apart), check.tolerance))
    words = {
        AGREES: f"The ends agree within the tolerance of {allowed} (JCGM 101, clause 8): at most {apart} apart. The budget holds.",
        DIFFERS: f"The ends are up to {apart} apart, more than the tolerance of {allowed} (JCGM 101, clause 8). The draws stand.",
    }
    still = f"The ends are up to {apart} apart, against a tolerance of {allowed}. Sampling leaves too much to tell: draw more."
    return [*sentences, words.get(check.verdict, still)]


def _interval(ends: tuple[float, float], figure: Wanted) -> str:
    """Two ends with their unit."""
    return f"{shown(ends[0], figure.unit)} to {quantity(ends[1], figure)}"


def budget_table(case: Case, figure: Wanted, found: Budget) -> Table:
    """A row for each uncertain input."""
    units = {row.address: row.unit for row in case.ranges.values()}
    per = to_base(figure.unit)
    columns = {
        "input": lambda x, unit: input_name(case, x.name),
        "mean": lambda x, unit: f"{shown(x.mean, unit)} {'' if unit == '1' else typeset(unit)}".strip(),
        "standard uncertainty": lambda x, unit: shown(x.uncertainty, unit, 3),
        f"sensitivity [{spoken(figure.unit)} for one]": lambda x, unit: people(x.sensitivity * to_base(unit) / per, 3),
        "contribution": lambda x, unit: shown(x.contribution, figure.unit, 3),
        "share": lambda x, unit: percent(x.share),
        "kind": lambda x, unit: case.evidence[x.name.rsplit(".", 1)[0]].kind,
    }
    rows = ((x, units[x.name]) for x in found.rows)
    return table_of(f"Uncertainty budget: {figure_label(figure)}", rows, columns, texts=(0, 6), note=NOTE)


def records(case: Case, figure: Wanted, found: Budget) -> list[dict[str, Any]]:
    """A record for each input; its mean and uncertainty in its unit, the contribution in that of the figure."""
    units = {row.address: row.unit for row in case.ranges.values()}
    per = to_base(figure.unit)
    return [
        {"input": x.name, "unit": units[x.name], "mean": _or_none(x.mean / to_base(units[x.name])),
         "standard_uncertainty": _or_none(x.uncertainty / to_base(units[x.name])),
         "sensitivity": _or_none(x.sensitivity * to_base(units[x.name]) / per),
         "contribution": _or_none(x.contribution / per), "contribution_unit": figure.unit, "share": _or_none(100 * x.share),
         "share_unit": "%"}
        for x in found.rows
    ]  # fmt: skip


def about(figure: Wanted, found: Budget, check: Check) -> dict[str, Any]:
    """The figure, both intervals and the verdict, for programs; in the unit of the figure."""
    per = to_base(figure.unit)
    numbers = {"value": found.value, "standard_uncertainty": found.uncertainty, "low": check.linear[0], "high": check.linear[1],
               "drawn_low": check.drawn[0], "drawn_high": check.drawn[1], "tolerance": check.tolerance,
               "sampling": check.sampling}  # fmt: skip
    shown_numbers = {name: _or_none(value / per) for name, value in numbers.items()}
    return {
        "figure": figure.address,
        "unit": figure.unit,
        **shown_numbers,
        "without_value": 100 * check.without,
        "verdict": check.verdict,
    }


def _or_none(value: float) -> float | None:
    """A number, or nothing where there is none."""
    return value if math.isfinite(value) else None
