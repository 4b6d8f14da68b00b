"""Charts of the studies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import accumulate
from typing import TYPE_CHECKING

from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.units import to_base
from ..studies.kept_draws import Values
from ..studies.many import Wanted
from ..studies.sensitivities import Bar
from ..studies.spread import Spread, exceedance
from ..studies.variance import Shares
from ..studies.waterfall import Waterfall
from .drawing import DOWNWARDS, Chart, Plain, at_top, axis, bars, chart_of_family, curve, level, totals, upright
from .inputs_report import input_name
from .numbers import label, people, percent, signed, spoken, typeset
from .palette import COLOURS, FAINT, INK, LINES
from .study_report import figure_label

if TYPE_CHECKING:
    import pandas as pd


def _axis(case: Case, frame: pd.DataFrame, address: str) -> str:
    unit = frame.attrs["units"][address]
    return input_name(case, address) + ("" if unit == "1" else f" [{typeset(unit)}]")


def sweep_line(case: Case, frame: pd.DataFrame, address: str, figure: Wanted, thresholds: Sequence[float] = ()) -> Chart:
    """A figure over one input, a line for each case; thresholds (base units) as dashed lines."""
    lines = [
        curve(rows[address].tolist(), rows[figure.address].tolist(), COLOURS[LINES[number % len(LINES)]], name=name)
        | {"mode": "lines+markers"}
        for number, (name, rows) in enumerate(frame.groupby("case", sort=False))
    ]
    return chart_of_family(
        420,
        lines,
        showlegend=frame["case"].nunique() > 1,
        shapes=[level(figure.shown(threshold), width=1.5, dash="dash") for threshold in thresholds],
        xaxis=axis(_axis(case, frame, address), ticksuffix=""),
        yaxis=axis(figure_label(figure)),
    )


def sweep_map(case: Case, frame: pd.DataFrame, across: str, up: str, figure: Wanted, thresholds: Sequence[float] = ()) -> Chart:
    """A figure over two inputs as contours; thresholds (base units) as bold lines. Of several cases, the first."""
    rows = frame[frame["case"] == frame["case"].iloc[0]]
    table = rows.pivot_table(index=up, columns=across, values=figure.address, dropna=False)
    contour = {"type": "contour", "x": table.columns.tolist(), "y": table.index.tolist(), "z": table.to_numpy().tolist()}
    coloured: Plain = {"colorscale": "Cividis", "contours": {"coloring": "heatmap", "showlabels": True},
                "colorbar": {"title": {"text": spoken(figure.unit)}}}  # fmt: skip
    bold: list[Plain] = [
        {"contours": {"type": "constraint", "operation": "=", "value": value}, "line": {"color": COLOURS["mark"], "width": 4},
         "showscale": False, "name": people(value)}
        for value in (float(figure.shown(threshold)) for threshold in thresholds)
    ]  # fmt: skip
    return chart_of_family(
        520,
        [contour | each for each in (coloured, *bold)],
        showlegend=False,
        title={"text": figure_label(figure)},
        margin={"t": 60},
        xaxis=axis(_axis(case, frame, across), ticksuffix=""),
        yaxis=axis(_axis(case, frame, up)),
    )


def _check_drawn(address: str, value: float, reason: str) -> None:
    """Refuse a chart that would begin or end at no value."""
    if math.isnan(value):
        allowed = "a figure that has a value there, or no chart"
        raise InputFaults([Fault("--chart", None, address, f"no value ({reason})", allowed)])


def tornado_bars(case: Case, figure: Wanted, found: Sequence[Bar], most: int = 14) -> Chart:
    """How far each input alone moves a figure, from the figure of the case; the widest bar on top.

    Inputs at an end of which the figure has no value have no bar. Where it has none with inputs as they are, bars begin midway.
    """
    present, ratio = float(figure.present), to_base(figure.unit)
    there = not math.isnan(present)
    shown = [bar for bar in found if not math.isnan(bar.width)][:most]
    bases = [present if there else (bar.at_low + bar.at_high) / 2 for bar in shown]

    def written(bar: Bar, end: str) -> str:
        """The input at an end of its range, with its unit."""
        unit = case.ranges[bar.range].unit
        return f"{people(getattr(bar, end) / to_base(unit))}{'' if unit == '1' else f' {spoken(unit)}'}"

    ends = [
        bars(
            [input_name(case, bar.address) for bar in shown],
            [(getattr(bar, f"at_{end}") - base) / ratio for bar, base in zip(shown, bases)],
            base=present / ratio if there else [base / ratio for base in bases],
            name=f"input at its {end} end",
            marker={"color": COLOURS[f"{end}_end"]},
            customdata=[written(bar, end) for bar in shown],
            text=[written(bar, end) for bar in shown],
            textposition="outside",
            textfont={"color": FAINT, "size": 11},
            cliponaxis=False,
            hovertemplate="%{y} at %{customdata}<extra></extra>",
        )
        for end in ("low", "high")
    ]
    reached = [value / ratio for bar, base in zip(shown, bases) for value in (bar.at_low, bar.at_high, base)]
    margin = 0.45 * (max(reached) - min(reached)) if reached else 0.0  # for the words at the ends
    return chart_of_family(
        26 * len(shown) + 130,
        ends,
        barmode="overlay",
        shapes=[upright(present / ratio)] if there else [],
        xaxis=axis(figure_label(figure), **({"range": [min(reached) - margin, max(reached) + margin]} if margin else {})),
        yaxis=DOWNWARDS,
    )


def exceedance_curve(figure: Wanted, values: Values, found: Spread, targets: Sequence[float] = ()) -> Chart:
    """The probability that a figure is greater than a value, with P10, median and P90; targets (base units) as dashed lines.

    Behind ±: half of the 95 % interval that sampling leaves a quantile.
    """
    at, share = exceedance(values)
    marked = {
        f"P{100 * x.share:g}": (float(figure.shown(x.value)), float(figure.shown(x.high - x.low)) / 2)
        for x in found.quantiles
        if x.share in (0.1, 0.5, 0.9) and not math.isnan(x.value)
    }
    return chart_of_family(
        420,
        [curve(figure.shown(at).tolist(), (100 * share).tolist(), COLOURS["level"], 2.5)],
        showlegend=False,
        margin={"t": 52},
        shapes=[
            *(upright(value, FAINT, dash="dot") for value, _ in marked.values()),
            *([] if figure.reason else [upright(float(figure.shown(figure.present)), width=1.5)]),
            *(upright(float(figure.shown(target)), COLOURS["mark"], 2, "dash") for target in targets),
        ],
        annotations=[
            at_top(value, f"{name} {people(value)}<br>± {people(half, 1)}", xanchor="center", yanchor="bottom")
            for name, (value, half) in marked.items()
        ],
        xaxis=axis(f"{figure_label(figure)} ({figure.reason or 'line: all inputs as they are'})", ticksuffix=""),
        yaxis=axis(f"probability that it is greater{' and has a value' if found.without else ''}, %", range=[0, 102]),
    )


def waterfall_bars(found: Waterfall, most: int = 14, names_of: Mapping[str, str] | None = None) -> Chart:
    """From before to after: a bar for each group of changes, the largest first; bars do not depend on their order.

    `names_of` has plain names of groups, by what they are called otherwise.
    Raises InputFaults where the move is not split, as the figure has no value before, after or on the way.
    """
    for value, reason in zip((found.before, found.after), found.reasons):
        _check_drawn(found.figure, value, reason)
    _check_drawn(found.figure, math.nan if found.without else 0.0, "with some of the changes")
    ratio = to_base(found.unit)
    shown, rest = found.parts[:most], found.parts[most:]
    names = [(names_of or {}).get(part.player, label(part.player)) for part in shown] + (["all others"] if rest else [])
    values = [part.value / ratio for part in shown] + ([sum(part.value for part in rest) / ratio] if rest else [])
    steps = {
        "type": "waterfall",
        "orientation": "h",
        "y": ["before", *names, "after"],
        "x": [found.before / ratio, *values, 0],
        "text": [people(found.before / ratio, 4), *(signed(value) for value in values), people(found.after / ratio, 4)],
        "textposition": "outside",
        "cliponaxis": False,
        "measure": ["absolute", *["relative"] * len(names), "total"],
        "increasing": {"marker": {"color": COLOURS["rise"]}},
        "decreasing": {"marker": {"color": COLOURS["fall"]}},
        "totals": {"marker": {"color": COLOURS["level"]}},
        "connector": {"line": {"color": FAINT, "width": 1}},
    }
    levels = list(accumulate(values, initial=found.before / ratio))
    margin = 0.15 * (max(levels) - min(levels)) or abs(levels[0])
    return chart_of_family(
        30 * (len(names) + 2) + 110,
        [steps],
        showlegend=False,
        xaxis=axis(
            f"{label(found.figure.rsplit('.', 1)[-1])} [{spoken(found.unit)}]; the axis does not begin at 0",
            range=[min(levels) - margin, max(levels) + margin],
        ),
        yaxis=DOWNWARDS,
    )


def rank_bars(found: Shares) -> Chart:
    """Total effect of each group, and below it the part that it has alone, each with its interval in full."""
    names = [label(share.name) for share in found.found]
    spread = [100 * share.total_error for share in found.found]
    errors = {"type": "data", "array": spread, "color": INK}
    apart = {"type": "data", "array": [100 * share.first_error for share in found.found], "color": INK}
    whole = [100 * share.total for share in found.found]
    alone = [100 * share.first for share in found.found]
    ends = [total + error for total, error in zip(whole, spread)]
    return chart_of_family(
        44 * len(names) + 120,
        [
            bars(names, whole, name="with others", marker={"color": COLOURS["with_others"]}, error_x=errors),
            bars(names, alone, name="alone", marker={"color": COLOURS["alone"]}, error_x=apart),
            totals(names, ends, [f" {percent(total / 100, 2)}" for total in whole]),
        ],
        barmode="group",
        xaxis=axis("% of the variance"),
        yaxis=DOWNWARDS,
    )
