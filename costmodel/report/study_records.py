"""Studies as plain records for programs, one for each row of --json and --csv, in units that people read."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from ..answers.evidence import Leaning
from ..case.records import Case
from ..study.many import Wanted
from ..study.risk import TWO_SIDED, Spread
from ..study.solve import Solution
from ..study.tornado import Bar
from ..study.variance import Shares
from ..study.waterfall import Waterfall
from ..units import to_base
from .study_tables import kinds_of

Record = dict[str, Any]


def of_solution(found: Solution, figure: Wanted, unit: str) -> tuple[list[Record], Record]:
    """Every answer of a search, and what was asked; `unit` is that of the input."""
    ratio = to_base(unit)
    rows = [
        {
            "kind": a.kind,
            "input": a.value / ratio,
            "figure": figure.shown(a.figure),
            "residual": figure.shown(a.residual),
            "beyond": a.beyond / ratio,
            "figure_beyond": figure.shown(a.figure_beyond),
        }
        for a in found.answers
    ]
    return rows, {
        "input": found.address,
        "input_unit": unit,
        "figure": found.figure,
        "figure_unit": figure.unit,
        "wished": figure.shown(found.wished),
        "from": found.low / ratio,
        "to": found.high / ratio,
        "without_value": found.without,
        "refused": found.refused,
    }


def of_tornado(case: Case, figure: Wanted, bars: Sequence[Bar], leanings: Sequence[Leaning]) -> list[Record]:
    """The bars of a tornado; an input without an elasticity has none."""
    elastic = {leaning.address: leaning.elasticity for leaning in leanings}
    return [
        {
            "address": bar.address,
            "unit": case.ranges[bar.range].unit,
            "low": bar.low / to_base(case.ranges[bar.range].unit),
            "high": bar.high / to_base(case.ranges[bar.range].unit),
            "figure_at_low": figure.shown(bar.at_low),
            "figure_at_high": figure.shown(bar.at_high),
            "elasticity": elastic.get(bar.address),
        }
        for bar in bars
    ]


def of_scenarios(scenarios: Mapping[str, Mapping[str, Wanted]]) -> list[Record]:
    """The figures of each scenario."""
    return [
        {"scenario": name, "figure": address, "value": float(figure.shown(figure.present)), "unit": figure.unit}
        for name, figures in scenarios.items()
        for address, figure in figures.items()
    ]


def of_waterfall(found: Waterfall) -> tuple[list[Record], Record]:
    """What each group of changed inputs has of a move, and the move."""
    ratio = to_base(found.unit)
    rows = [
        {
            "changed": part.player,
            "part": part.value / ratio,
            "standard_error": part.error / ratio,
            "inputs": " ".join(found.inputs[part.player]),
        }
        for part in found.parts
    ]
    return rows, {"figure": found.figure, "unit": found.unit, "before": found.before / ratio, "after": found.after / ratio}


def of_shares(case: Case, found: Shares, held: Mapping[str, Sequence[str]]) -> list[Record]:
    """Shares of the variance by block; `held` has the rows of ranges.csv that stand in each."""
    return [
        {
            **dataclasses.asdict(share),
            "kind": kinds_of(case, held[share.name]),
            "inputs": " ".join(case.ranges[row].address for row in held[share.name]),
        }
        for share in found.found
    ]


def of_spread(figure: Wanted, found: Spread) -> list[Record]:
    """How a figure is spread: what, value, and the interval that sampling leaves."""

    def row(what: str, value: float, low: float | None = None, high: float | None = None) -> Record:
        """A value of the figure."""
        shown = [None if each is None else float(figure.shown(each)) for each in (value, low, high)]
        return {"figure": figure.address, "what": what, "value": shown[0], "low": shown[1], "high": shown[2], "unit": figure.unit}

    share = {
        "figure": figure.address,
        "what": "share of draws without value",
        "value": found.without,
        "low": None,
        "high": None,
        "unit": "1",
    }
    reach = TWO_SIDED * found.mean_error
    return [
        row("all inputs as they are", float(figure.present)),
        row("mean", found.mean, found.mean - reach, found.mean + reach),
        row("standard deviation", found.deviation),
        *(row(f"P{100 * q.share:g}", q.value, q.low, q.high) for q in found.quantiles),
        row("mean of the lowest tenth", found.lowest_tenth),
        row("mean of the highest tenth", found.highest_tenth),
        share,
    ]
