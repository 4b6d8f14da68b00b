"""Charts of the deal: what both sides have, and the zone in which both gain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..case.records import Case
from ..model import Results
from ..negotiation.overview import Overview
from .charts import _figure
from .numbers import people
from .palette import COLOURS, INK

if TYPE_CHECKING:
    import plotly.graph_objects as go

MILLION = 1e6
ZONE = "rgba(0, 158, 115, 0.22)"


def zone_chart(case: Case, found: Overview) -> go.Figure:
    """Upfront fee over royalty: where both gain, where one of them loses, the offer, the rounds."""
    import plotly.graph_objects as go

    zone, million = found.zone, 1e6
    royalty = 100 * zone.royalty
    floor, ceiling = zone.floor.upfront / million, zone.ceiling.upfront / million
    made = _figure(460, showlegend=False)
    open_ = zone.open
    if open_.any():
        x, low, high = royalty[open_], floor[open_], ceiling[open_]
        made.add_trace(go.Scatter(x=np.concatenate([x, x[::-1]]), y=np.concatenate([high, low[::-1]]), fill="toself", mode="none",
                                  fillcolor=ZONE, name="both gain", hoverinfo="skip"))  # fmt: skip
    top = float(np.nanmax(np.concatenate([ceiling, floor, [zone.offer[0] / million]]))) * 1.1
    for values, name, color, dash, place in (
        (floor, "the licensor has just its floor", COLOURS["licensor"], "solid", 0.12),
        (ceiling, "the licensee has just its best alternative", COLOURS["licensee"], "solid", 0.45),
        (zone.shares[0.5].upfront / million, "both gain alike", INK, "dot", 0.08),
    ):
        made.add_trace(go.Scatter(x=royalty, y=values, mode="lines", name=name, line={"color": color, "dash": dash, "width": 2.5},
                                  hovertemplate="%{x:.2f} %: %{y:.2f} million<extra>" + name + "</extra>"))  # fmt: skip
        known = np.flatnonzero(~np.isnan(values))
        if known.size:
            k = known[int(place * (known.size - 1))]
            made.add_annotation(x=royalty[k], y=values[k], text=name, font={"color": color}, showarrow=False, xanchor="left",
                                yanchor="bottom", xshift=8, yshift=4)  # fmt: skip
    if found.turns:
        path = [(100 * float(turn.case.licence.royalty), float(turn.case.licence.upfront) / million) for turn in found.turns]
        made.add_trace(go.Scatter(x=[x for x, _ in path], y=[y for _, y in path], mode="lines+markers+text", name="rounds",
                                  text=[f"round {k + 1}" for k in range(len(path))], textposition="middle left",
                                  line={"color": INK, "width": 1, "dash": "dash"}, marker={"size": 9, "color": "white",
                                  "line": {"color": INK, "width": 1.5}}))  # fmt: skip
    made.add_trace(go.Scatter(x=[100 * zone.offer[1]], y=[zone.offer[0] / million], mode="markers+text", name="offer",
                              text=["<b>offer</b>"], textposition="top center",
                              marker={"size": 13, "color": INK, "symbol": "diamond"}))  # fmt: skip
    plain = {"showarrow": False, "font": {"size": 15}}
    if open_.any():
        within = np.flatnonzero(open_)
        at = int(within[within.size // 5])
        y = floor[at] + 0.85 * (ceiling[at] - floor[at])
        made.add_annotation(x=royalty[at], y=y, text="<b>both gain</b>", showarrow=False, font={"size": 18})
    made.add_annotation(
        x=royalty[-1],
        y=top,
        text="the licensee would rather do something else",
        xanchor="right",
        yanchor="top",
        xshift=-24,
        **plain,
    )
    made.add_annotation(
        x=0, y=0, text="the licensor is below its floor", xanchor="left", yanchor="bottom", xshift=8, yshift=4, **plain
    )
    made.update_xaxes(title="royalty, % of net sales", range=[0, royalty[-1]])
    made.update_yaxes(title=f"upfront fee, million {case.licence.currency}", range=[0, top])
    return made


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
    made = _figure(360, barmode="relative")
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
