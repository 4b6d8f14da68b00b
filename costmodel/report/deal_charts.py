"""Charts of the deal: what both sides have, and the zone in which both gain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ..case.records import Case
from ..model import Results
from ..negotiation.guarantees import RISK, Guaranteed
from ..negotiation.overview import Overview
from ..negotiation.rounds import Turn
from ..negotiation.zone import Outline
from .charts import chart_of_family
from .numbers import people
from .palette import COLOURS, INK

if TYPE_CHECKING:
    import plotly.graph_objects as go

MILLION = 1e6
ZONE = "rgba({}, {}, {}, 0.22)".format(*bytes.fromhex(COLOURS["both_gain"][1:]))  # see-through, so that the grid shows


def zone_chart(case: Case, zone: Outline, turns: Sequence[Turn] = ()) -> go.Figure:
    """Upfront fee over royalty: where both gain, where one of them loses, the offer, the rounds."""
    royalty, top, offer = 100 * zone.royalty, zone.top / MILLION, (100 * zone.offer[1], zone.offer[0] / MILLION)
    floor, ceiling, alike = (line / MILLION for line in (zone.floor, zone.ceiling, zone.alike))
    open_ = zone.open
    x, low, high = royalty[open_], floor[open_], ceiling[open_]
    around = {"x": [*_plain(x), *_plain(x[::-1])], "y": [*_plain(high), *_plain(low[::-1])]}
    traces = [around | {"type": "scatter", "fill": "toself", "mode": "none", "fillcolor": ZONE, "name": "both gain",
                        "hoverinfo": "skip"}]  # fmt: skip
    said = []
    for values, name, color, dash, place in (
        (floor, "the licensor has just its floor", COLOURS["licensor"], "solid", 0.02),
        (ceiling, "the licensee has just its best alternative", COLOURS["licensee"], "solid", 0.45),
        (alike, "both gain alike", INK, "dot", 0.08),
    ):
        traces.append({"type": "scatter", "x": _plain(royalty), "y": _plain(values), "mode": "lines", "name": name,
                       "line": {"color": color, "dash": dash, "width": 2.5},
                       "hovertemplate": "%{x:.2f} %: %{y:.2f} million<extra>" + name + "</extra>"})  # fmt: skip
        known = np.flatnonzero(values <= top)
        if known.size:
            spots = [known[int(part * (known.size - 1))] for part in (place, 0.02, 0.7)]
            k = next((k for k in spots if not _covered(royalty[k], values[k], offer, royalty[-1], top)), spots[0])
            said.append(_said(royalty[k], values[k], name, xanchor="left", yanchor="bottom", xshift=8, yshift=4, color=color))
    if turns:
        path = [(100 * float(turn.case.licence.royalty), float(turn.case.licence.upfront) / MILLION) for turn in turns]
        traces.append({"type": "scatter", "x": [x for x, _ in path], "y": [y for _, y in path], "mode": "lines+markers+text",
                       "name": "rounds", "text": [f"round {k + 1}" for k in range(len(path))], "textposition": "middle left",
                       "line": {"color": INK, "width": 1, "dash": "dash"},
                       "marker": {"size": 9, "color": "white", "line": {"color": INK, "width": 1.5}}})  # fmt: skip
    traces.append({"type": "scatter", "x": [offer[0]], "y": [offer[1]], "mode": "markers+text", "name": "offer",
                   "text": ["<b>offer</b>"], "textposition": "top center",
                   "hovertemplate": "%{x:.2f} %: %{y:.2f} million<extra>offer</extra>",
                   "marker": {"size": 13, "color": INK, "symbol": "diamond"}})  # fmt: skip
    if open_.any():
        within = np.flatnonzero(open_)
        at = int(within[within.size // 5])
        said.append(_said(royalty[at], floor[at] + 0.85 * (ceiling[at] - floor[at]), "<b>both gain</b>", size=18))
    if not ceiling[-1] > 0.85 * top:
        rather = "the licensee would rather do something else"
        said.append(_said(royalty[-1], top, rather, xanchor="right", yanchor="top", xshift=-24, size=15))
    if floor[0] > 0.1 * top and np.interp(0.3 * royalty[-1], royalty, floor) > 0.06 * top:  # else the words lie across the line
        said.append(_said(0, 0, "the licensor is below its floor", xanchor="left", yanchor="bottom", xshift=8, yshift=4, size=15))
    return chart_of_family(
        460,
        traces,
        showlegend=False,
        annotations=said,
        xaxis={"title": {"text": "royalty, % of net sales"}, "range": [0, float(royalty[-1])]},
        yaxis={"title": {"text": f"upfront fee, million {case.licence.currency}"}, "range": [0, top]},
    )


def guarantee_curve(case: Case, found: Guaranteed) -> go.Figure:
    """The chance of damages over the guaranteed power, with what is guaranteed and what can be signed."""
    traces: list[dict[str, Any]] = [
        {"type": "scatter", "x": found.powers.tolist(), "y": (100 * found.chances).tolist(), "mode": "lines",
         "line": {"color": COLOURS["licensor"], "width": 2.5}, "hovertemplate": "%{x:.2f} W: %{y:.1f} %<extra></extra>"}
    ]  # fmt: skip
    for level, name, symbol, place in (
        (found.present, "guaranteed", "diamond", "top left"),
        (found.signable, f"chance of {100 * RISK:g} %", "circle", "bottom right"),
    ):
        traces.append({"type": "scatter", "x": [level.power], "y": [100 * level.chance], "mode": "markers+text", "text": [name],
                       "textposition": place, "marker": {"size": 12, "color": INK, "symbol": symbol},
                       "hovertemplate": f"{name}: " + "%{x:.2f} W, %{y:.1f} %<extra></extra>"})  # fmt: skip
    return chart_of_family(
        360,
        traces,
        showlegend=False,
        xaxis={"title": {"text": "guaranteed power of a module after light soaking, W"}},
        yaxis={"title": {"text": "chance that damages are paid, %"}, "range": [0, 100]},
    )


def _covered(x: float, y: float, offer: tuple[float, float], width: float, top: float) -> bool:
    """Whether words that begin at a place would lie on the offer."""
    return -0.05 * width < offer[0] - x < 0.4 * width and -0.05 * top < offer[1] - y < 0.1 * top


def _plain(values: np.ndarray) -> list[float | None]:
    """Numbers as a list, which redrawing can compare; nothing for NaN."""
    return [None if math.isnan(value) else value for value in values.tolist()]


def _said(x: float, y: float, text: str, color: str = INK, size: float = 13, **place: Any) -> dict[str, Any]:
    """Words that stand in a picture."""
    return {"x": float(x), "y": float(y), "text": text, "showarrow": False, "font": {"color": color, "size": size}, **place}


def zone_text(case: Case, found: Overview) -> str:
    """What the picture shows, for those who cannot see it."""
    zone = found.zone
    if zone.empty:
        return "Upfront fee over royalty. There is no mix by which both sides gain."
    fees = (np.nanmin(zone.floor.upfront[zone.open]), np.nanmax(zone.ceiling.upfront[zone.open]))
    return (
        f"Upfront fee over royalty. Both sides gain in a band between fees of {people(fees[0])} and {people(fees[1])} "
        f"{case.licence.currency}, lower the higher the royalty."
    )


def deal_bars(case: Case, results: Results) -> go.Figure:
    """What the licensee has with and without the payments, what becomes of these, and what the licensor has of them."""
    import plotly.graph_objects as go

    licensor, licensee = results.deal.licensor, results.deal.licensee
    rows = ("licensee, if nothing were paid", "licensee, with the payments", "payments", "licensor, with the payments")
    bars = (
        ("licensee", "licensee", (0, licensee.npv_free), (1, licensee.npv)),
        ("tax at source", "withheld", (2, licensor.withheld)),
        ("inventors", "inventors", (2, licensor.inventors)),
        ("costs of the licensor", "transfer", (2, licensor.net - licensor.npv)),
        ("licensor", "licensor", (2, licensor.npv), (3, licensor.npv)),
    )
    made = chart_of_family(360, barmode="relative")
    made.layout.margin.t = 84  # room for a legend of several rows
    for name, colour, *values in bars:
        heights = [sum(value for row, value in values if row == number) / MILLION for number in range(len(rows))]
        alone = [number != 2 and any(row == number for row, _ in values) for number in range(len(rows))]
        made.add_trace(
            go.Bar(
                y=rows,
                x=heights,
                orientation="h",
                name=name,
                marker_color=COLOURS[colour],
                marker_line={"width": 0.5, "color": "white"},
                text=[people(height) if shown else "" for height, shown in zip(heights, alone)],
                textposition="outside",
                cliponaxis=False,
                hovertemplate="%{y}<br>" + name + ": %{x:.2f} million<extra></extra>",
            )
        )
    made.add_vline(x=0, line={"color": INK, "width": 1})
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title=f"million {case.currency}, net present value of each side at its own rate")
    return made
