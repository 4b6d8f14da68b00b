"""The look of the family that all charts are of, and the parts that they are put together from.

A chart is plain data as plotly reads it: what draws it is plotly.js in the browser. It is not built as a `plotly` figure, since
checking each of its parts takes longer than the model; the tests have plotly check every chart.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from .media import PLOTLY
from .numbers import people
from .palette import FONT, GRID, INK, legible

Plain = dict[str, Any]


class Chart(dict):
    """The data and the layout of a chart, as in plotly's JSON; a notebook draws it, and `plotly.graph_objects.Figure` takes it."""

    def _repr_mimebundle_(self, **_asked: Any) -> Plain:
        return {PLOTLY: self.plain()}

    def plain(self) -> Plain:
        """The chart as it is after it has been written and read as JSON."""
        return json.loads(as_json(self))


def as_json(charts: Chart | Mapping[str, Chart]) -> str:
    """A chart, or several by name, as JSON; a number that is none is null."""
    from plotly.utils import PlotlyJSONEncoder

    return json.dumps(charts, cls=PlotlyJSONEncoder)


def chart_of_family(height: int, traces: Sequence[Plain], **layout: Any) -> Chart:
    """A chart in the look of the family; what axes and margins are told is put over their look.

    >>> chart = chart_of_family(300, [bars(["cells"], [2.5])], xaxis=axis("EUR"), margin={"t": 60})
    >>> chart["layout"]["xaxis"]["title"], chart["layout"]["margin"]["l"], chart["layout"]["margin"]["t"]
    ({'text': 'EUR'}, 10, 60)
    """
    look: Plain = {
        "template": "none",
        "height": height,
        "font": {"family": FONT, "size": 13, "color": INK},
        "margin": {"l": 10, "r": 44, "t": 40 if layout.get("showlegend", True) else 8, "b": 46},
        "legend": {"orientation": "h", "y": 1.0, "yanchor": "bottom", "x": 0, "traceorder": "normal"},
        "bargap": 0.25,
        "plot_bgcolor": "white",
        "paper_bgcolor": "white",
        "xaxis": {"gridcolor": GRID, "zerolinecolor": INK, "automargin": True},
        "yaxis": {"gridcolor": GRID, "automargin": True, "ticksuffix": "  "},
    }
    parts = {name: look[name] | layout.pop(name, {}) for name in ("xaxis", "yaxis", "margin")}
    return Chart(data=list(traces), layout=look | parts | layout)


def axis(title: str, **more: Any) -> Plain:
    """An axis with its title."""
    return {"title": {"text": title}, **more}


DOWNWARDS: Plain = {"autorange": "reversed", "showgrid": False}  # an axis of names, the first on top


def bars(names: Iterable[str], values: Iterable[float | None], **more: Any) -> Plain:
    """Bars that lie, one for each name."""
    return {"type": "bar", "orientation": "h", "y": list(names), "x": list(values), **more}


def labelled_bars(names: Sequence[str], values: Sequence[float | None], words: Sequence[str], **more: Any) -> Plain:
    """Bars that lie, with words at their ends."""
    return bars(names, values, text=list(words), textposition="outside", cliponaxis=False, **more)


def ranked_bars(
    names: Sequence[str], values: Sequence[float], words: Sequence[str], colour: str | list[str], title: str, **of_axis: Any
) -> Chart:
    """Bars that lie, the first on top, with words at their ends."""
    drawn = labelled_bars(names, values, words, marker={"color": colour}, hoverinfo="skip")
    return chart_of_family(24 * len(names) + 100, [drawn], showlegend=False, xaxis=axis(title, **of_axis), yaxis=DOWNWARDS)


def filled(colour: str) -> Plain:
    """The marker of bars that are stacked: their colour, and a white line between them."""
    return {"color": colour, "line": {"width": 0.5, "color": "white"}}


def curve(x: Sequence[Any], y: Sequence[Any], colour: str, width: float = 2, dash: str = "solid", **more: Any) -> Plain:
    """A line through points."""
    line = {"color": colour, "width": width, "dash": dash}
    return {"type": "scatter", "mode": "lines", "x": list(x), "y": list(y), "line": line, **more}


def spots(x: Sequence[Any], y: Sequence[Any], marker: Plain, **more: Any) -> Plain:
    """Single points; with `text`, words beside them."""
    mode = "markers+text" if "text" in more else "markers"
    return {"type": "scatter", "mode": mode, "x": list(x), "y": list(y), "marker": marker, **more}


def totals(names: Iterable[str], values: Sequence[float], said: Sequence[str] = ()) -> Plain:
    """What each stack of bars comes to, or what is said of it, written at its end."""
    words = list(said) or [f" {people(value)}" for value in values]
    return {"type": "scatter", "mode": "text", "y": list(names), "x": list(values), "text": words, "textposition": "middle right",
            "cliponaxis": False, "showlegend": False, "hoverinfo": "skip"}  # fmt: skip


def level(y: float, colour: str = INK, width: float = 1, dash: str = "solid") -> Plain:
    """A line across the whole chart, for `shapes`."""
    line = {"color": colour, "width": width, "dash": dash}
    return {"type": "line", "x0": 0, "x1": 1, "xref": "x domain", "y0": y, "y1": y, "line": line}


def upright(x: float, colour: str = INK, width: float = 1, dash: str = "solid") -> Plain:
    """A line up the whole chart, for `shapes`."""
    line = {"color": colour, "width": width, "dash": dash}
    return {"type": "line", "x0": x, "x1": x, "y0": 0, "y1": 1, "yref": "y domain", "line": line}


def at_top(x: float, words: str, **more: Any) -> Plain:
    """Words at the upper end of an upright line, for `annotations`."""
    return {"x": x, "y": 1, "yref": "y domain", "text": words, "showarrow": False, **more}


def words_at(x: float, y: float, text: str, color: str = INK, size: float = 13, **place: Any) -> Plain:
    """Words that stand in a chart, for `annotations`."""
    font = {"color": legible(color), "size": size}
    return {"x": float(x), "y": float(y), "text": text, "showarrow": False, "font": font, **place}
