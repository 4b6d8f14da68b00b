"""Charts of the transfer: tasks over time with their float, and the load of each resource by month."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.transfer_records import LICENSEE
from ..case.whole_case import Case
from ..model.plan.transfer_figures import Transfer
from ..studies.negotiation.organisation_load import MONTH, Load
from ..studies.negotiation.transfer_spread import CRITICAL, TransferSpread
from .drawing import DOWNWARDS, Chart, Plain, axis, bars, chart_of_family, filled, spots
from .palette import COLOURS, INK, PALE
from .transfer_report import calendar, months, sampling

GROUPS = {
    "critical, licensor": "licensor",
    "licensor": "inventors",
    "critical, licensee": "licensee",
    "licensee": "low_end",
}  # whose task it is, and its colour


def tasks_chart(case: Case, found: Transfer, drawn: TransferSpread) -> Chart:
    """Each task from begin to finish at most likely durations, its float behind it in pale; gates as diamonds with P10 and P90."""
    rows, names = case.transfer_tasks, [row.title for row in case.transfer_tasks.values()]
    traces: list[Plain] = []
    for group, colour in GROUPS.items():
        own = [name for name in rows if _group(case, found, name) == group]
        if own:
            length = [(found.tasks[name].earliest_finish - found.tasks[name].earliest_begin) / MONTH for name in own]
            begins = [found.tasks[name].earliest_begin / MONTH for name in own]
            hover = "%{y}<br>" + group + ": %{base:.1f} to %{x:.1f} months<extra></extra>"
            traces.append(bars([rows[name].title for name in own], length, base=begins, name=group,
                               marker=filled(COLOURS[colour]), hovertemplate=hover))  # fmt: skip
    slack = [name for name in rows if found.tasks[name].total_float >= CRITICAL]
    traces.append(bars([rows[name].title for name in slack], [found.tasks[name].total_float / MONTH for name in slack],
                       base=[found.tasks[name].earliest_finish / MONTH for name in slack], name="float",
                       marker=filled(PALE), hovertemplate="%{y}<br>float to month %{x:.1f}<extra></extra>"))  # fmt: skip
    for name, gate in case.transfer_gates.items():
        quantiles = drawn.gates[name].quantiles
        low, middle, high = (each.value / MONTH for each in quantiles)
        diamond = {"size": 11, "color": INK, "symbol": "diamond"}
        spread = {"type": "data", "symmetric": False, "array": [high - middle], "arrayminus": [middle - low], "color": INK}
        said = f"{gate.title}<br>P10 {months(low * MONTH)}, P50 {months(middle * MONTH)}, P90 {months(high * MONTH)}<br>"
        said += f"{sampling(quantiles)}<extra></extra>"
        point = spots([middle], [f"gate: {gate.title}"], diamond, error_x=spread, showlegend=False, hovertemplate=said)
        traces.append(point)
    rows_ = [*names, *(f"gate: {gate.title}" for gate in case.transfer_gates.values())]
    return chart_of_family(
        26 * len(rows_) + 130,
        traces,
        barmode="overlay",
        margin={"t": 64},
        xaxis=axis("months from the first day (gates: P50 with P10 and P90)"),
        yaxis=DOWNWARDS | {"categoryorder": "array", "categoryarray": rows_},
    )


def _group(case: Case, found: Transfer, name: str) -> str:
    """Whose task it is, and whether it has float."""
    who = "licensee" if case.transfer_tasks[name].delivery == LICENSEE else "licensor"
    return f"critical, {who}" if found.tasks[name].total_float < CRITICAL else who


def load_chart(case: Case, found: Sequence[Load]) -> Chart:
    """The load of each resource by month in a panel of its own: this transfer, commitments, what is free."""
    count = len(found)
    height = 1.0 / max(count, 1)
    traces: list[Plain] = []
    layout: Plain = {}
    for number, load in enumerate(found):
        place = "" if number == 0 else str(number + 1)
        along = [calendar(case, k) for k in range(len(load.own))]
        top = 1.0 - number * height
        layout[f"yaxis{place}"] = axis("days", domain=[top - 0.68 * height, top - 0.12 * height], rangemode="tozero")
        layout[f"xaxis{place}"] = {"anchor": f"y{place}", "type": "category", "nticks": 12}
        shown = {"xaxis": f"x{place}", "yaxis": f"y{place}", "showlegend": number == 0}
        for name, values, colour in (
            ("this transfer", load.own, COLOURS["licensor"]),
            ("commitments by probability", load.others, COLOURS["low_end"]),
            ("further if all come", load.others_if_all - load.others, PALE),
        ):
            hover = "%{x}<br>" + name + ": %{y:.1f} days<extra></extra>"
            traces.append({"type": "bar", "x": along, "y": [float(each) for each in values], "name": name,
                           "marker": filled(colour), "hovertemplate": hover, "legendgroup": name, **shown})  # fmt: skip
        free = {"color": INK, "width": 2, "dash": "dash"}
        traces.append({"type": "scatter", "mode": "lines", "x": along, "y": [load.free] * len(along), "line": free, "name": "free",
                       "legendgroup": "free", "hovertemplate": "free: %{y:.1f} days<extra></extra>", **shown})  # fmt: skip
    words = [
        {"x": 0, "xref": "paper", "xanchor": "left", "y": 1.0 - number * height - 0.02 * height, "yref": "paper", "yanchor": "top",
         "text": f"<b>{case.transfer_resources[load.resource].title}</b>", "showarrow": False, "font": {"size": 13, "color": INK}}
        for number, load in enumerate(found)
    ]  # fmt: skip
    return chart_of_family(190 * max(count, 1) + 90, traces, barmode="stack", annotations=words, margin={"t": 64}, **layout)
