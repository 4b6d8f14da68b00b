"""Studies as plain records for programs, one for each row of --json and --csv, in units that people read."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from typing import Any

from ..case.whole_case import Case
from ..core.units import to_base
from ..studies.many import Wanted
from ..studies.sensitivities import Bar, Elasticity
from ..studies.solve import Solution
from ..studies.spread import TWO_SIDED, Probability, Spread
from ..studies.variance import Pairs, Shares
from ..studies.waterfall import Waterfall
from .risk_report import kinds_of

Record = dict[str, Any]


def of_solution(found: Solution, figure: Wanted, unit: str) -> tuple[list[Record], Record]:
    """Every answer of a search, and what was searched; `unit` is that of the input."""
    ratio, shown = to_base(unit), figure.shown
    rows = [
        {"kind": a.kind, "input": a.value / ratio, "figure": shown(a.figure), "residual": shown(a.residual),
         "beyond": a.beyond / ratio, "figure_beyond": shown(a.figure_beyond)}
        for a in found.answers
    ]  # fmt: skip
    edges = [
        {"input": e.value / ratio, "figure": shown(e.figure), "side": "above" if e.ceases else "below", "reason": e.reason}
        for e in found.edges
    ]
    about = {"status": "found" if rows else "none",
             "input": found.address, "input_unit": unit, "figure": found.figure, "figure_unit": figure.unit,
             "target": shown(found.target), "from": found.low / ratio, "to": found.high / ratio,
             "without_value": 100 * found.without, "refused": 100 * found.refused, "share_unit": "%", "edges": edges}  # fmt: skip
    return rows, about


def no_solution() -> Record:
    """The row of a search without an answer: the same columns, and the word for none."""
    return {"kind": "none", **dict.fromkeys(("input", "figure", "residual", "beyond", "figure_beyond"))}


def of_tornado(case: Case, figure: Wanted, bars: Sequence[Bar], elasticities: Sequence[Elasticity]) -> list[Record]:
    """The bars of a tornado; an input without an elasticity has none."""
    elastic = {elasticity.address: elasticity.elasticity for elasticity in elasticities}
    return [
        {"address": bar.address, "unit": unit, "low": bar.low / to_base(unit), "high": bar.high / to_base(unit),
         "figure_at_low": figure.shown(bar.at_low), "figure_at_high": figure.shown(bar.at_high), "figure_unit": figure.unit,
         "reason_at_low": bar.why_low or None, "reason_at_high": bar.why_high or None, "elasticity": elastic.get(bar.address)}
        for bar, unit in ((bar, case.ranges[bar.range].unit) for bar in bars)
    ]  # fmt: skip


def of_scenarios(scenarios: Mapping[str, Mapping[str, Wanted]]) -> list[Record]:
    """The figures of each scenario."""
    return [
        {"scenario": name, "figure": address, "value": float(figure.shown(figure.present)), "unit": figure.unit,
         "reason": figure.reason or None}
        for name, figures in scenarios.items()
        for address, figure in figures.items()
    ]  # fmt: skip


def of_waterfall(found: Waterfall) -> tuple[list[Record], Record]:
    """The part of each group of changed inputs in a move, and the move."""
    ratio = to_base(found.unit)
    rows = [
        {"changed": part.player, "part": part.value / ratio, "standard_error": part.error / ratio, "unit": found.unit,
         "inputs": " ".join(found.inputs[part.player])}
        for part in found.parts
    ]  # fmt: skip
    before, after = (None if math.isnan(value) else value / ratio for value in (found.before, found.after))
    about = {"figure": found.figure, "unit": found.unit, "before": before, "after": after, "without_value": 100 * found.without}
    reasons = {"reason_before": found.reasons[0] or None, "reason_after": found.reasons[1] or None}
    return rows, {**about, "share_unit": "%", **reasons}


def of_shares(case: Case, found: Shares, held: Mapping[str, Sequence[str]]) -> list[Record]:
    """Shares of the variance by block; `held` has the rows of ranges.csv that stand in each."""
    return [
        {name: x if name == "name" else 100 * x for name, x in dataclasses.asdict(share).items()}
        | {"unit": "%", "kind": kinds_of(case, held[share.name]),
           "inputs": " ".join(case.ranges[row].address for row in held[share.name])}
        for share in found.found
    ]  # fmt: skip


def of_pairs(found: Pairs) -> list[Record]:
    """Shares of the variance by pair of blocks."""
    return [
        {"one": x.one, "two": x.two, "together": 100 * x.share, "together_error": 100 * x.error, "unit": "%"} for x in found.found
    ]


def of_spread(figure: Wanted, found: Spread, reasons: Mapping[str, float]) -> list[Record]:
    """How a figure is spread: what, value, and the interval that sampling leaves; `reasons` is why draws have no value."""
    none = "no draw has a value" if found.without == 1.0 else None

    def row(what: str, value: float, low: float | None = None, high: float | None = None) -> Record:
        """A value of the figure."""
        shown = [None if each is None else float(figure.shown(each)) for each in (value, low, high)]
        named = {"figure": figure.address, "what": what, "value": shown[0], "low": shown[1], "high": shown[2]}
        return {**named, "unit": figure.unit, "reason": none}

    def share(what: str, value: float) -> Record:
        """A share of the draws."""
        named = {"figure": figure.address, "what": what, "value": 100 * value, "low": None, "high": None}
        return {**named, "unit": "%", "reason": None}

    reach = TWO_SIDED * found.mean_error
    return [
        row("all inputs as they are", float(figure.present)),
        row("mean", found.mean, found.mean - reach, found.mean + reach),
        row("standard deviation", found.deviation),
        *(row(f"P{100 * q.share:g}", q.value, q.low, q.high) for q in found.quantiles),
        row("mean of the lowest tenth", found.lowest_tenth),
        row("mean of the highest tenth", found.highest_tenth),
        share("share of draws without value", found.without),
        *(share(f"share of draws without value: {reason}", value) for reason, value in reasons.items()),
    ]


def of_probabilities(probabilities: Mapping[str, Probability]) -> Record:
    """The probability to meet each target."""
    return {
        target: {name: 100 * value for name, value in dataclasses.asdict(found).items()} | {"unit": "%"}
        for target, found in probabilities.items()
    }
