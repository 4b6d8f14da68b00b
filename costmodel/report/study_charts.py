"""Charts of the studies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..case.records import Case
from ..operations import Value
from ..study.many import Wanted
from ..study.risk import Spread, exceedance
from ..study.tornado import Bar
from ..study.variance import Shares
from ..study.waterfall import Waterfall
from ..units import to_base
from .charts import chart_of_family
from .numbers import label, people, spoken
from .palette import COLOURS, FAINT, INK, LINES
from .study_tables import figure_label, input_name

if TYPE_CHECKING:
    import pandas as pd
    import plotly.graph_objects as go


def _axis(case: Case, frame: pd.DataFrame, address: str) -> str:
    unit = frame.attrs["units"][address]
    return input_name(case, address) + ("" if unit == "1" else f" [{unit}]")


def sweep_line(case: Case, frame: pd.DataFrame, address: str, figure: Wanted, thresholds: Sequence[float] = ()) -> go.Figure:
    """A figure over one input, a line for each case; thresholds (base units) as dashed lines."""
    import plotly.graph_objects as go

    made = chart_of_family(420, showlegend=frame["case"].nunique() > 1)
    for number, (name, rows) in enumerate(frame.groupby("case", sort=False)):
        colour = COLOURS[LINES[number % len(LINES)]]
        made.add_trace(
            go.Scatter(x=rows[address], y=rows[figure.address], mode="lines+markers", name=name, line={"color": colour, "width": 2})
        )
    for threshold in thresholds:
        made.add_hline(y=figure.shown(threshold), line={"color": INK, "dash": "dash", "width": 1.5})
    made.update_xaxes(title=_axis(case, frame, address), ticksuffix="")
    made.update_yaxes(title=figure_label(figure))
    return made


def sweep_map(case: Case, frame: pd.DataFrame, across: str, up: str, figure: Wanted, thresholds: Sequence[float] = ()) -> go.Figure:
    """A figure over two inputs as contours; thresholds (base units) as bold lines. Of several cases, the first."""
    import plotly.graph_objects as go

    rows = frame[frame["case"] == frame["case"].iloc[0]]
    table = rows.pivot_table(index=up, columns=across, values=figure.address, dropna=False)
    made = chart_of_family(520, showlegend=False)
    made.add_trace(
        go.Contour(
            x=table.columns,
            y=table.index,
            z=table.to_numpy(),
            colorscale="Cividis",
            contours={"coloring": "heatmap", "showlabels": True},
            colorbar={"title": spoken(figure.unit)},
        )
    )
    for threshold in thresholds:
        value = float(figure.shown(threshold))
        made.add_trace(
            go.Contour(
                x=table.columns,
                y=table.index,
                z=table.to_numpy(),
                contours={"type": "constraint", "operation": "=", "value": value},
                line={"color": COLOURS["mark"], "width": 4},
                showscale=False,
                name=people(value),
            )
        )
    made.update_xaxes(title=_axis(case, frame, across), ticksuffix="")
    made.update_yaxes(title=_axis(case, frame, up))
    made.update_layout(title=figure_label(figure), margin={"t": 60})
    return made


def tornado_bars(case: Case, figure: Wanted, bars: Sequence[Bar], most: int = 14) -> go.Figure:
    """How far each input alone moves a figure, from the figure of the case; the widest bar on top."""
    import plotly.graph_objects as go

    present, ratio = float(figure.present), to_base(figure.unit)
    shown = [bar for bar in bars[:most] if not math.isnan(bar.width)]
    made = chart_of_family(26 * len(shown) + 130, barmode="overlay")
    for end, colour in (("low", COLOURS["low_end"]), ("high", COLOURS["high_end"])):
        made.add_trace(
            go.Bar(
                y=[input_name(case, bar.address) for bar in shown],
                x=[(getattr(bar, f"at_{end}") - present) / ratio for bar in shown],
                base=present / ratio,
                orientation="h",
                name=f"input at its {end} end",
                marker_color=colour,
                customdata=[
                    f"{people(getattr(bar, end) / to_base(case.ranges[bar.range].unit))} {case.ranges[bar.range].unit}"
                    for bar in shown
                ],
                hovertemplate="%{y} at %{customdata}<extra></extra>",
            )
        )
    made.add_vline(x=present / ratio, line={"color": INK, "width": 1})
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title=figure_label(figure))
    return made


def exceedance_curve(figure: Wanted, values: Value, found: Spread, targets: Sequence[float] = ()) -> go.Figure:
    """The chance that a figure is greater than a value, with its P10 and P90; targets (base units) as dashed lines."""
    import plotly.graph_objects as go

    at, share = exceedance(values)
    made = chart_of_family(420, showlegend=False)
    made.add_trace(go.Scatter(x=figure.shown(at), y=100 * share, mode="lines", line={"color": COLOURS["level"], "width": 2.5}))
    for quantile in found.quantiles:
        if quantile.share in (0.1, 0.5, 0.9) and not math.isnan(quantile.value):
            made.add_vline(
                x=figure.shown(quantile.value),
                line={"color": FAINT, "width": 1, "dash": "dot"},
                annotation_text=f"P{100 * quantile.share:g} {people(figure.shown(quantile.value))}",
                annotation_position="top",
            )
    made.add_vline(x=figure.shown(float(figure.present)), line={"color": INK, "width": 1.5})
    for target in targets:
        made.add_vline(x=figure.shown(target), line={"color": COLOURS["mark"], "width": 2, "dash": "dash"})
    made.update_layout(margin={"t": 36})
    made.update_xaxes(title=f"{figure_label(figure)} (line: all inputs as they are)", ticksuffix="")
    made.update_yaxes(title="chance that it is greater, %", range=[0, 102])
    return made


def waterfall_bars(found: Waterfall, most: int = 14) -> go.Figure:
    """From before to after: a bar for each group of changes, the largest first; bars do not depend on their order."""
    import plotly.graph_objects as go

    ratio = to_base(found.unit)
    shown, rest = found.parts[:most], found.parts[most:]
    names = [part.player for part in shown] + (["all others"] if rest else [])
    values = [part.value / ratio for part in shown] + ([sum(part.value for part in rest) / ratio] if rest else [])
    made = chart_of_family(30 * (len(names) + 2) + 110, showlegend=False)
    made.add_trace(
        go.Waterfall(
            orientation="h",
            y=["before", *names, "after"],
            x=[found.before / ratio, *values, 0],
            measure=["absolute", *["relative"] * len(names), "total"],
            increasing={"marker": {"color": COLOURS["rise"]}},
            decreasing={"marker": {"color": COLOURS["fall"]}},
            totals={"marker": {"color": COLOURS["level"]}},
            connector={"line": {"color": FAINT, "width": 1}},
        )
    )
    levels = [found.before / ratio]
    for value in values:
        levels.append(levels[-1] + value)
    margin = 0.15 * (max(levels) - min(levels)) or abs(levels[0])
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(
        title=f"{label(found.figure.rsplit('.', 1)[-1])} [{found.unit}]; the axis does not begin at 0",
        range=[min(levels) - margin, max(levels) + margin],
    )
    return made


def rank_bars(found: Shares) -> go.Figure:
    """Total effect of each group, with its interval; the part that it has alone in dark."""
    import plotly.graph_objects as go

    names = [share.name for share in found.found]
    made = chart_of_family(30 * len(names) + 120, barmode="overlay")
    made.add_trace(
        go.Bar(
            y=names,
            x=[100 * share.total for share in found.found],
            orientation="h",
            name="with others",
            marker_color=COLOURS["with_others"],
            error_x={"type": "data", "array": [100 * share.total_error for share in found.found], "color": INK},
        )
    )
    made.add_trace(
        go.Bar(
            y=names,
            x=[100 * share.first for share in found.found],
            orientation="h",
            name="alone",
            marker_color=COLOURS["alone"],
            width=0.4,
        )
    )
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title="% of the variance")
    return made
