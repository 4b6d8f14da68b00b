"""Charts of cost, line, markets and plan: the same colours for the same things, units on the axes, words instead of ids."""

from __future__ import annotations

from collections.abc import Mapping

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.ledger_figures import KINDS_OF_COST
from ..model.market.market_figures import AT_LEAST, AT_MOST
from ..model.plan.timing import QUARTERS
from ..studies.factory.choices import NAMES
from ..studies.factory.full_use import title_of
from ..studies.factory.market_prices import PriceCurve
from ..studies.factory.minutes import Part
from ..studies.factory.plant_size import Size
from ..studies.factory.power_bins import PowerBin
from .cash_report import by_year
from .cost_report import step_title
from .drawing import (
    DOWNWARDS,
    Chart,
    Plain,
    at_top,
    axis,
    bars,
    chart_of_family,
    curve,
    filled,
    labelled_bars,
    level,
    ranked_bars,
    spots,
    totals,
    upright,
)
from .line_report import equipment, state_label
from .numbers import MILLION, people, typeset
from .palette import COLOURS, INK, LINES, PALE, STATES


def kinds_stacked(by_kind: Mapping[str, Mapping[str, float]], unit: str = "", decimals: int = 2) -> list[Plain]:
    """Bars that lie, stacked by kind: of each kind, values by the name of their bar."""
    return [
        bars(
            values,
            values.values(),
            name=state_label(kind),
            marker=filled(COLOURS[kind]),
            hovertemplate="%{y}<br>" + state_label(kind) + f": %{{x:.{decimals}f}}{unit}<extra></extra>",
        )
        for kind, values in by_kind.items()
    ]


def stack_values(results: Results) -> dict[str, dict[str, float]]:
    """The bars of the cost stack: by kind, the cost per square metre of each step, in the order of the route; nothing for none."""
    matrix = results.ledger.matrix_per_m2
    stacked = {kind: {step: kinds[kind] for step, kinds in matrix.items() if kinds[kind] != 0} for kind in KINDS_OF_COST}
    return {kind: values for kind, values in stacked.items() if values}


def cost_stack(case: Case, results: Results) -> Chart:
    """Cost per square metre of every step, stacked by kind, in the order of the route."""
    names = {step: step_title(case, step) for step in results.ledger.matrix_per_m2}
    by_kind = {kind: {names[step]: x for step, x in values.items()} for kind, values in stack_values(results).items()}
    ends = totals(names.values(), [results.ledger.by_step[step].cost_per_m2 for step in names])
    return chart_of_family(
        max(420, 24 * len(names) + 110),
        [*kinds_stacked(by_kind, f" {case.currency}/m²"), ends],
        barmode="relative",
        xaxis=axis(f"{case.currency} per m² of good modules"),
        yaxis=DOWNWARDS | {"categoryorder": "array", "categoryarray": list(names.values())},
    )


def route_curve(case: Case, results: Results) -> Chart:
    """What a plate has cost after each step."""
    route = results.ledger.route.values()
    names = [case.steps[step].title for step in results.ledger.route]
    far, added = [v.cost_so_far for v in route], [v.cost_added for v in route]

    def hover(what: str) -> str:
        """What a bar says."""
        return "%{y}<br>" + what + ": %{x:.2f} " + f"{case.currency}<extra></extra>"

    return chart_of_family(
        max(420, 24 * len(names) + 90),
        [
            bars(names, far, marker={"color": PALE}, hovertemplate=hover("so far")),
            bars(names, added, base=[v.cost_so_far - v.cost_added for v in route], marker={"color": COLOURS["level"]},
                 hovertemplate=hover("added")),
        ],
        showlegend=False,
        barmode="overlay",
        xaxis=axis(f"{case.currency} per plate so far (dark: added in the step)"),
        yaxis=DOWNWARDS,
    )  # fmt: skip


def loss_bars(case: Case, results: Results) -> Chart:
    """What the plates lost in each step had cost, the largest first."""
    order = sorted(results.ledger.route.items(), key=lambda item: -item[1].lost)[:12]
    lost, names = [v.lost for _, v in order], [case.steps[step].title for step, _ in order]
    title = f"{case.currency} a year in plates lost at the step (twelve largest)"
    return ranked_bars(names, lost, [people(each) for each in lost], COLOURS["yield_loss"], title)


def loading_bars(case: Case, results: Results) -> Chart:
    """How full each kind of tool or carrier is, the fullest first."""
    order = equipment(results)
    names = [f"{title_of(case, place)} × {use.tools:.4g}" for place, use in order]
    loads = [100 * use.peak_loading for _, use in order]
    colours = [COLOURS["bottleneck"]] + [COLOURS["in_time"]] * (len(order) - 1)
    title = "% of the available time that the tools work (orange: the bottleneck)"
    return ranked_bars(names, loads, [f"{each:.0f} %" for each in loads], colours, title, range=[0, 108])


def state_bars(case: Case, results: Results) -> Chart:
    """How the year of each kind of tool is spent, by the states of SEMI E10."""
    states, tools = results.line.states, results.line.tools
    shares = {
        state: {case.tools[n].title: 100 * getattr(x, state) / (tools[n].tools * case.constants.year) for n, x in states.items()}
        for state in STATES
    }
    return chart_of_family(
        24 * len(states) + 110,
        kinds_stacked(shares, " %", 1),
        barmode="stack",
        xaxis=axis("% of the 8,760 hours of a year", range=[0, 100]),
        yaxis=DOWNWARDS,
    )


def cycle_bars(parts: list[Part]) -> Chart:
    """Where the minutes of a cycle go, the longest part first."""
    minutes = [part.time / to_base("min") for part in parts]
    names = [part.title for part in parts]
    return ranked_bars(names, minutes, [people(each, 2) for each in minutes], COLOURS["level"], "minutes per load")


def class_bars(case: Case, bins: list[PowerBin]) -> Chart:
    """Good modules by rated power, those not sold in the other colour, with a line at the least power of each class."""
    rows = list(case.power_classes.values())
    traces = []
    for sold, name, colour in ((True, "sold", "covers"), (False, "below the first class, not sold", "falls_short")):
        some = [each for each in bins if (each.low >= rows[0].least_power * (1 - 1e-9)) is sold]
        if not some:
            continue
        middles, shares = [(each.low + each.high) / 2 for each in some], [100 * each.share for each in some]
        shown = "%{x:.1f} W: %{y:.2f} % of the modules<extra></extra>"
        traces.append(
            {"type": "bar", "x": middles, "y": shares, "name": name, "marker": filled(COLOURS[colour]), "hovertemplate": shown}
        )
    ends = (bins[0].low, bins[-1].high)
    limits = [row for row in rows if ends[0] <= row.least_power <= ends[1]]
    return chart_of_family(
        420,
        traces,
        bargap=0,
        shapes=[upright(row.least_power, dash="dash") for row in limits],
        annotations=[at_top(row.least_power, row.title, xanchor="left", yanchor="top") for row in limits],
        xaxis=axis("W rated after light soaking", ticksuffix=""),
        yaxis=axis("% of the good modules"),
    )


def size_curve(case: Case, found: list[Size]) -> Chart:
    """Cost on the basis of the target against the size of the plant, with that of the case and those where tools are full."""

    def where(sizes: list[Size]) -> tuple[list[float], list[float]]:
        """Power and cost of some sizes."""
        return [size.stabilised_watts / to_base("MWp_stabilised") for size in sizes], [size.cost for size in sizes]

    full, now = [size for size in found if size.cheapest], [size for size in found if size.times == 1.0]
    return chart_of_family(
        420,
        [
            curve(*where(found), COLOURS["level"], name="cost"),
            spots(*where(full), {"color": COLOURS["mark"], "size": 9}, name="tools full"),
            spots(*where(now), {"color": INK, "size": 12, "symbol": "diamond"}, name="this case"),
        ],
        xaxis=axis("MW stabilised a year", rangemode="tozero", ticksuffix=""),
        yaxis=axis(f"{case.currency} per {typeset(NAMES[case.target.basis])}", rangemode="tozero"),
    )


def market_bars(case: Case, results: Results) -> Chart:
    """Highest price by market beside the asking price, with a line at what the module costs."""
    found, cost = results.market.by_market, results.ledger.total.cost_per_stabilised_watt
    names = [case.markets[name].title for name in found]
    traces = []
    for covers, name, colour in ((True, "covers the cost", "covers"), (False, "does not", "falls_short")):
        prices = [each.highest_price if (each.margin >= 0) is covers else None for each in found.values()]
        words = ["" if price is None else people(price) for price in prices]
        marker = {"color": COLOURS[colour]}
        traces.append(labelled_bars(names, prices, words, name=f"highest price, {name}", marker=marker, hoverinfo="skip"))
    asked = [each.asked_price for each in found.values()]
    diamond = {"color": INK, "size": 12, "symbol": "diamond", "line": {"color": "white", "width": 1.5}}
    traces.append(spots(asked, names, diamond, name="asking price", hovertemplate="%{y}<br>asking price: %{x:.3f}<extra></extra>"))
    # a line of no length, for the legend of the line across
    traces.append(curve([None], [None], INK, dash="dash", name=f"cost to make, {people(cost)}"))
    ends = [0.0, cost, *asked, *(each.highest_price for each in found.values())]
    room = 0.12 * (max(ends) - min(ends))  # for the figures beside the bars
    reach = [min(ends) - room if min(ends) < 0 else 0, max(ends) + room]
    return chart_of_family(
        52 * len(found) + 130,
        traces,
        barmode="overlay",
        shapes=[upright(cost, width=2, dash="dash")],
        xaxis=axis(f"{case.currency} per stabilised watt, at our gate", range=reach),
        yaxis=DOWNWARDS,
    )


def efficiency_curves(case: Case, results: Results, curves: PriceCurve) -> Chart:
    """Highest price per square metre in every market against the efficiency of the module, and where it is the cost."""
    percents = [100 * each for each in curves.efficiency]
    traces = []
    for number, (name, found) in enumerate(results.market.by_market.items()):
        colour = COLOURS[LINES[number % len(LINES)]]
        traces.append(curve(percents, curves.highest_price_per_m2[name], colour, name=case.markets[name].title))
        met = found.efficiency_at_cost
        if found.efficiency_at_cost_status in (AT_LEAST, AT_MOST) and curves.efficiency[0] <= met <= curves.efficiency[-1]:
            dot = spots([100 * met], [curves.cost_per_m2], {"color": colour, "size": 11}, text=[f"{people(100 * met)} %"])
            traces.append(dot | {"textposition": "top right", "showlegend": False, "hoverinfo": "skip"})
    traces.append(curve(percents, [curves.cost_per_m2] * len(percents), INK, dash="dash", name="cost"))
    own = 100 * next(iter(results.market.by_market.values())).ours.efficiency
    return chart_of_family(
        460,
        traces,
        shapes=[upright(own, dash="dot")],
        annotations=[at_top(own, f"the module: {people(own)} %", xanchor="left", yanchor="top")],
        xaxis=axis("stabilised efficiency on the whole area, %", ticksuffix=""),
        yaxis=axis(f"{case.currency} per m²", zeroline=True),
    )


def cash_curve(case: Case, results: Results) -> Chart:
    """Cash of the project so far over the years, with its low point; and of the owners."""
    plan, worth = results.plan, results.plan.project
    years = [number / QUARTERS for number in range(len(plan.quarters))]
    curves = []
    for name, field, side, dash in (
        ("project, no loan", "cumulative_free_cash", "project", "solid"),
        ("owners, with loan", "cumulative_owners_cash", "owners", "dash"),
    ):
        cash = [getattr(each, field) / MILLION for each in plan.quarters.values()]
        hover = "after %{x} years: %{y:.2f} million<extra>" + name + "</extra>"
        curves.append(curve(years, cash, COLOURS[side], 2.5, dash, name=name, hovertemplate=hover))
    lowest = {
        "x": worth.low_point_time / to_base("year"),
        "y": worth.low_point / MILLION,
        "text": f"low point {people(worth.low_point / MILLION)} million",
        "showarrow": True,
        "arrowhead": 0,
        "ax": 60,
        "ay": 24,
    }
    return chart_of_family(
        350,
        curves,
        annotations=[lowest] if worth.low_point < 0 else [],
        shapes=[level(0)],
        xaxis=axis("years from the first day of spending"),
        yaxis=axis(f"million {case.currency}, so far"),
    )


def year_bars(case: Case, results: Results) -> Chart:
    """Cash of the project in each year, by what it is for."""
    years = by_year(results)
    parts = {
        "operating result": ("operating", lambda q: q.operating + q.warranty_provided - q.warranty_paid),
        "tax": ("tax", lambda q: -q.tax_without_loan),
        "capital and licence fee": ("capital", lambda q: -q.capital - q.licence_fee),
        "replacement and expansion": ("replacement", lambda q: -q.replacement),
        "sale of assets less closing cost": ("sale", lambda q: q.end_value - q.closing_cost),
    }
    stacked = [
        {
            "type": "bar",
            "x": [k + 1 for k in range(len(years))],
            "y": [sum(map(take, year)) / MILLION for year in years],
            "name": name,
            "marker": {"color": COLOURS[colour]},
            "hovertemplate": "year %{x}: %{y:.2f} million<extra>" + name + "</extra>",
        }
        for name, (colour, take) in parts.items()
    ]
    axes = {"xaxis": axis("year of the plan", dtick=1), "yaxis": axis(f"million {case.currency} a year")}
    return chart_of_family(330, stacked, barmode="relative", **axes)
