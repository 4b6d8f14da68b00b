"""Charts of one family: the same colours for the same things, units on the axes, words instead of ids."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ..answers.bottlenecks import title_of
from ..answers.efficiencies import PriceCurve
from ..answers.minutes import Part
from ..answers.plant_size import Size
from ..case.records import Case
from ..ledger.records import KINDS_OF_COST
from ..market.records import AT_LEAST, AT_MOST
from ..model import Results
from ..plan.timing import QUARTERS
from ..units import to_base
from .cost_tables import step_title
from .line_tables import equipment
from .numbers import label, people
from .palette import COLOURS, FONT, GRID, INK, LINES, PALE, STATES
from .plan_tables import by_year

if TYPE_CHECKING:
    import plotly.graph_objects as go


def chart_of_family(height: int, traces: Sequence[dict[str, Any]] = (), **layout) -> go.Figure:
    """A figure in the look of the family; what axes are told is put over their look.

    Charts that follow sliders give their traces as plain mappings, as that takes a third of the time.
    """
    import plotly.graph_objects as go

    look = {
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
    axes = {axis: look[axis] | layout.pop(axis, {}) for axis in ("xaxis", "yaxis")}
    return go.Figure(data=list(traces), layout=look | axes | layout)  # in one go: updates of a figure take fifteen times as long


def stack_values(results: Results) -> dict[str, list[float]]:
    """The bars of the cost stack: by kind, the cost per square metre of each step in the order of the route."""
    matrix = results.ledger.matrix_per_m2
    return {kind: [kinds[kind] for kinds in matrix.values()] for kind in KINDS_OF_COST}


def totals(names: Sequence[str], values: Sequence[float]) -> dict[str, Any]:
    """What each stack comes to, written at its end."""
    return {
        "type": "scatter",
        "y": names,
        "x": values,
        "mode": "text",
        "text": [f" {people(value)}" for value in values],
        "textposition": "middle right",
        "cliponaxis": False,
        "showlegend": False,
        "hoverinfo": "skip",
    }


def cost_stack(case: Case, results: Results) -> go.Figure:
    """Cost per square metre of every step, stacked by kind, in the order of the route."""
    names = [step_title(case, step) for step in results.ledger.matrix_per_m2]
    bars = [
        {
            "type": "bar",
            "y": names,
            "x": values,
            "orientation": "h",
            "name": label(kind),
            "marker": {"color": COLOURS[kind], "line": {"width": 0.5, "color": "white"}},
            "hovertemplate": "%{y}<br>" + label(kind) + ": %{x:.2f} " + f"{case.currency}/m2<extra></extra>",
        }
        for kind, values in stack_values(results).items()
    ]
    ends = totals(names, [results.ledger.by_step[step].cost_per_m2 for step in results.ledger.matrix_per_m2])
    return chart_of_family(
        max(420, 24 * len(names) + 110),
        [*bars, ends],
        barmode="relative",
        xaxis={"title": {"text": f"{case.currency} per m2 of good modules"}},
        yaxis={"autorange": "reversed", "showgrid": False},
    )


def route_curve(case: Case, results: Results) -> go.Figure:
    """What a plate has cost after each step."""
    import plotly.graph_objects as go

    route = results.ledger.route
    names = [case.steps[step].title for step in route]
    made = chart_of_family(max(420, 24 * len(names) + 90), showlegend=False)
    made.add_trace(
        go.Bar(
            y=names,
            x=[v.cost_so_far for v in route.values()],
            orientation="h",
            marker_color=PALE,
            hovertemplate="%{y}<br>so far: %{x:.2f} " + f"{case.currency}<extra></extra>",
        )
    )
    made.add_trace(
        go.Bar(
            y=names,
            x=[v.cost_added for v in route.values()],
            orientation="h",
            marker_color=COLOURS["level"],
            base=[v.cost_so_far - v.cost_added for v in route.values()],
            hovertemplate="%{y}<br>added: %{x:.2f} " + f"{case.currency}<extra></extra>",
        )
    )
    made.update_layout(barmode="overlay")
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title=f"{case.currency} for one plate that has come so far (dark: added in the step)")
    return made


def loss_bars(case: Case, results: Results) -> go.Figure:
    """What the plates lost in each step had cost, the largest first."""
    import plotly.graph_objects as go

    order = sorted(results.ledger.route.items(), key=lambda item: -item[1].lost)[:12]
    made = chart_of_family(24 * len(order) + 120, showlegend=False)
    made.add_trace(
        go.Bar(
            y=[case.steps[step].title for step, _ in order],
            x=[v.lost for _, v in order],
            orientation="h",
            marker_color=COLOURS["yield_loss"],
            text=[people(v.lost, 3) for _, v in order],
            textposition="outside",
            cliponaxis=False,
            hoverinfo="skip",
        )
    )
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title=f"{case.currency} a year in plates lost at the step (twelve largest)")
    return made


def loading_bars(case: Case, results: Results) -> go.Figure:
    """How full each kind of tool or carrier is, the fullest first."""
    import plotly.graph_objects as go

    order = equipment(results)
    made = chart_of_family(24 * len(order) + 100, showlegend=False)
    made.add_trace(
        go.Bar(
            y=[f"{title_of(case, place)} × {use.tools:.4g}" for place, use in order],
            x=[100 * use.loading for _, use in order],
            orientation="h",
            marker_color=[COLOURS["bottleneck"]] + [COLOURS["in_time"]] * (len(order) - 1),
            text=[f"{100 * use.loading:.0f} %" for _, use in order],
            textposition="outside",
            cliponaxis=False,
            hoverinfo="skip",
        )
    )
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title="% of the available time that the tools work (orange: the bottleneck)", range=[0, 108])
    return made


def state_bars(case: Case, results: Results) -> go.Figure:
    """How the year of each kind of tool is spent, by the states of SEMI E10."""
    import plotly.graph_objects as go

    states = results.line.states
    made = chart_of_family(24 * len(states) + 110, barmode="stack")
    for state in STATES:
        shares = [
            100 * getattr(row, state) / (results.line.tools[name].tools * case.constants.year) for name, row in states.items()
        ]
        made.add_trace(
            go.Bar(
                y=[case.tools[name].title for name in states],
                x=shares,
                orientation="h",
                name=label(state).replace("non ", "non-"),
                marker_color=COLOURS[state],
                marker_line={"width": 0.5, "color": "white"},
                hovertemplate="%{y}<br>" + label(state) + ": %{x:.1f} %<extra></extra>",
            )
        )
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title="% of the 8,760 hours of a year", range=[0, 100])
    return made


def cycle_bars(parts: list[Part]) -> go.Figure:
    """Where the minutes of a cycle go, the longest part first."""
    import plotly.graph_objects as go

    made = chart_of_family(24 * len(parts) + 90, showlegend=False)
    made.add_trace(
        go.Bar(
            y=[part.title for part in parts],
            x=[part.time / to_base("min") for part in parts],
            orientation="h",
            marker_color=COLOURS["level"],
            text=[people(part.time / to_base("min"), 2) for part in parts],
            textposition="outside",
            cliponaxis=False,
            hoverinfo="skip",
        )
    )
    made.update_yaxes(autorange="reversed", showgrid=False)
    made.update_xaxes(title="minutes for each load")
    return made


def size_curve(case: Case, found: list[Size]) -> go.Figure:
    """Cost per stabilised watt against the size of the plant, with the size of the case and the sizes where tools are full."""
    import plotly.graph_objects as go

    megawatts = [s.stabilised_watts / to_base("MWp_stabilised") for s in found]
    made = chart_of_family(420)
    made.add_trace(
        go.Scatter(
            x=megawatts,
            y=[s.cost_per_stabilised_watt for s in found],
            mode="lines",
            name="cost",
            line={"color": COLOURS["level"], "width": 2},
        )
    )
    full = [k for k, s in enumerate(found) if s.cheapest]
    made.add_trace(
        go.Scatter(
            x=[megawatts[k] for k in full],
            y=[found[k].cost_per_stabilised_watt for k in full],
            mode="markers",
            name="tools full",
            marker={"color": COLOURS["mark"], "size": 9},
        )
    )
    now = [k for k, s in enumerate(found) if s.times == 1.0]
    made.add_trace(
        go.Scatter(
            x=[megawatts[k] for k in now],
            y=[found[k].cost_per_stabilised_watt for k in now],
            mode="markers",
            name="this case",
            marker={"color": INK, "size": 12, "symbol": "diamond"},
        )
    )
    made.update_xaxes(title="MW stabilised a year", rangemode="tozero", ticksuffix="")
    made.update_yaxes(title=f"{case.currency} per stabilised watt", rangemode="tozero")
    return made


def market_bars(case: Case, results: Results) -> go.Figure:
    """Highest price by market beside the price asked, with a line at what the module costs."""
    found, cost = results.market.by_market, results.ledger.total.cost_per_stabilised_watt
    names = [case.markets[name].title for name in found]
    traces = []
    for covers, name, colour in ((True, "covers the cost", "covers"), (False, "does not", "falls_short")):
        prices = [each.highest_price if (each.margin >= 0) is covers else None for each in found.values()]
        traces.append(
            {
                "type": "bar",
                "y": names,
                "x": prices,
                "orientation": "h",
                "name": f"highest price, {name}",
                "marker": {"color": COLOURS[colour]},
                "text": ["" if price is None else people(price) for price in prices],
                "textposition": "outside",
                "cliponaxis": False,
                "hoverinfo": "skip",
            }
        )
    traces.append(
        {
            "type": "scatter",
            "y": names,
            "x": [each.asked_price for each in found.values()],
            "mode": "markers",
            "name": "price asked",
            "marker": {"color": INK, "size": 12, "symbol": "diamond", "line": {"color": "white", "width": 1.5}},
            "hovertemplate": "%{y}<br>asked: %{x:.3f}<extra></extra>",
        }
    )
    dashed = {"color": INK, "width": 2, "dash": "dash"}
    costs = f"cost to make, {people(cost)}"  # a line of no length, for the legend of the line across
    traces.append({"type": "scatter", "x": [None], "y": [None], "mode": "lines", "name": costs, "line": dashed})
    ends = [0.0, cost, *(each.asked_price for each in found.values()), *(each.highest_price for each in found.values())]
    room = 0.12 * (max(ends) - min(ends))  # for the figures beside the bars
    return chart_of_family(
        52 * len(found) + 130,
        traces,
        barmode="overlay",
        shapes=[{"type": "line", "x0": cost, "x1": cost, "y0": 0, "y1": 1, "yref": "y domain", "line": dashed}],
        xaxis={
            "title": {"text": f"{case.currency} per stabilised watt, at our gate"},
            "range": [min(ends) - room if min(ends) < 0 else 0, max(ends) + room],
        },
        yaxis={"autorange": "reversed", "showgrid": False},
    )


def efficiency_curves(case: Case, results: Results, curve: PriceCurve) -> go.Figure:
    """Highest price in every market against the efficiency of the module, beside its cost; where both meet is marked."""
    import plotly.graph_objects as go

    percents = [100 * each for each in curve.efficiency]
    made = chart_of_family(460)
    for number, (name, found) in enumerate(results.market.by_market.items()):
        colour = COLOURS[LINES[number % len(LINES)]]
        made.add_trace(
            go.Scatter(
                x=percents,
                y=curve.highest_price[name],
                mode="lines",
                name=case.markets[name].title,
                line={"color": colour, "width": 2},
            )
        )
        met = found.efficiency_at_cost
        if found.efficiency_at_cost_status in (AT_LEAST, AT_MOST) and curve.efficiency[0] <= met <= curve.efficiency[-1]:
            cost = results.ledger.total.cost_per_m2 / (case.constants.rating_irradiance * met)
            made.add_trace(
                go.Scatter(
                    x=[100 * met],
                    y=[cost],
                    mode="markers+text",
                    text=[f"{people(100 * met)} %"],
                    textposition="top right",
                    marker={"color": colour, "size": 11},
                    showlegend=False,
                    hoverinfo="skip",
                )
            )
    made.add_trace(go.Scatter(x=percents, y=curve.cost, mode="lines", name="cost", line={"color": INK, "width": 2, "dash": "dash"}))
    own = 100 * next(iter(results.market.by_market.values())).ours.efficiency
    made.add_vline(x=own, line={"color": INK, "width": 1, "dash": "dot"}, annotation_text=f"the module: {people(own)} %")
    made.update_xaxes(title="stabilised efficiency on the whole area, %", ticksuffix="")
    made.update_yaxes(title=f"{case.currency} per stabilised watt", zeroline=True)
    return made


def cash_curve(case: Case, results: Results) -> go.Figure:
    """Cash of the project so far over the years, with its low point; and of the owners."""
    plan, worth, million = results.plan, results.plan.project, 1e6
    years = [number / QUARTERS for number in range(len(plan.quarters) + 1)]
    curves = [
        {
            "type": "scatter",
            "x": years,
            "y": [0.0, *(getattr(each, field) / million for each in plan.quarters.values())],
            "mode": "lines",
            "name": name,
            "line": {"color": COLOURS[side], "dash": dash, "width": 2.5},
            "hovertemplate": "after %{x} years: %{y:.2f} million<extra>" + name + "</extra>",
        }
        for name, field, side, dash in (
            ("project, no loan", "cumulative_free_cash", "project", "solid"),
            ("owners, with loan", "cumulative_owners_cash", "owners", "dash"),
        )
    ]
    lowest = {
        "x": worth.low_point_time / to_base("year"),
        "y": worth.low_point / million,
        "text": f"low point {people(worth.low_point / million)} million",
        "showarrow": True,
        "arrowhead": 0,
        "ax": 60,
        "ay": 24,
    }
    return chart_of_family(
        350,
        curves,
        annotations=[lowest] if worth.low_point < 0 else [],
        shapes=[{"type": "line", "x0": 0, "x1": 1, "xref": "x domain", "y0": 0, "y1": 0, "line": {"color": INK, "width": 1}}],
        xaxis={"title": {"text": "years from the first day of spending"}},
        yaxis={"title": {"text": f"million {case.currency}, so far"}},
    )


def year_bars(case: Case, results: Results) -> go.Figure:
    """Cash of the project in each year, by what it is for."""
    import plotly.graph_objects as go

    years = by_year(results)
    parts = {
        "operating result": (COLOURS["operating"], lambda q: q.operating),
        "tax": (COLOURS["tax"], lambda q: -q.tax_without_loan),
        "capital and licence fee": (COLOURS["capital"], lambda q: -q.capital - q.licence_fee),
        "replacement and expansion": (COLOURS["replacement"], lambda q: -q.replacement),
    }
    made = chart_of_family(330, barmode="relative")
    for name, (color, take) in parts.items():
        heights = [sum(map(take, year)) / 1e6 for year in years]
        made.add_trace(go.Bar(x=[k + 1 for k in range(len(years))], y=heights, name=name, marker_color=color,
                              hovertemplate="year %{x}: %{y:.2f} million<extra>" + name + "</extra>"))  # fmt: skip
    made.update_xaxes(title="year of the plan", dtick=1)
    made.update_yaxes(title=f"million {case.currency} a year")
    return made
