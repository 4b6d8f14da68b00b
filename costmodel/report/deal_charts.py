"""Charts of the deal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..case.records import Case
from ..model import Results
from .charts import _figure
from .numbers import people
from .palette import COLOURS, INK

if TYPE_CHECKING:
    import plotly.graph_objects as go

MILLION = 1e6


def deal_bars(case: Case, results: Results) -> go.Figure:
    """What the licensee has with and without the payments, what becomes of these, and what the licensor has of them."""
    import plotly.graph_objects as go

    deal = results.deal
    rows = ("licensee, if nothing were paid", "licensee, with the payments", "payments", "licensor, with the payments")
    bars = (
        ("licensee", "licensee", (0, deal.licensee_npv_without_payments), (1, deal.licensee_npv)),
        ("tax at source", "withheld", (2, deal.withheld)),
        ("inventors", "inventors", (2, deal.inventors)),
        ("cost of the transfer", "transfer", (2, deal.delivery)),
        ("licensor", "licensor", (2, deal.licensor_npv), (3, deal.licensor_npv)),
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
