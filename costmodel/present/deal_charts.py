"""Charts of the deal: what both sides have, and the zone in which both gain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..model.ledger.landed_prices import in_reporting_currency
from ..studies.negotiation.outline import Outline
from ..studies.negotiation.overview import Turn
from ..studies.negotiation.power_guarantees import RISK, Guaranteed
from .drawing import DOWNWARDS, Chart, axis, chart_of_family, curve, filled, labelled_bars, spots, upright, words_at
from .numbers import MILLION, people
from .palette import COLOURS, INK

ZONE = "rgba({}, {}, {}, 0.22)".format(*bytes.fromhex(COLOURS["both_gain"][1:]))  # see-through, so that the grid shows


def zone_chart(case: Case, zone: Outline, turns: Sequence[Turn] = ()) -> Chart:
    """Upfront fee over royalty: where both gain, where one of them loses, the offer, the rounds."""
    royalty, top, offer = 100 * zone.royalty, zone.top / MILLION, (100 * zone.offer[1], zone.offer[0] / MILLION)
    floor, ceiling, alike = (line / MILLION for line in (zone.floor, zone.ceiling, zone.alike))
    open_ = zone.open
    traces = [_area(royalty, low / MILLION, high / MILLION) for low, high in zone.bands]
    words = []
    for values, name, colour, dash, place in (
        (floor, "the licensor has just its floor", COLOURS["licensor"], "solid", 0.02),
        (ceiling, "the licensee has just its best alternative", COLOURS["licensee"], "solid", 0.45),
        (alike, "both gain the same", INK, "dot", 0.08),
    ):
        hover = "%{x:.2f} %: %{y:.2f} million<extra>" + name + "</extra>"
        traces.append(curve(_plain(royalty), _plain(values), colour, 2.5, dash, name=name, hovertemplate=hover))
        known = np.flatnonzero(values <= top)
        if known.size:
            places = [known[int(part * (known.size - 1))] for part in (place, 0.02, 0.7)]
            k = next((k for k in places if not _covered(royalty[k], values[k], offer, royalty[-1], top)), places[0])
            words.append(words_at(royalty[k], values[k], name, colour, xanchor="left", yanchor="bottom", xshift=8, yshift=4))
    rounds = [in_the_plane(case, turn.case) for turn in turns]
    labels = labels_of(rounds, offer, float(royalty[-1]), top)
    if turns:
        traces.append(_rounds(rounds, labels))
    diamond, hover = {"size": 13, "color": INK, "symbol": "diamond"}, "%{x:.2f} %: %{y:.2f} million<extra>offer</extra>"
    label = f"<b>\u00a0{labels[-1]}\u00a0</b>"
    traces.append(spots([offer[0]], [offer[1]], diamond, name="offer", text=[label], hovertemplate=hover))
    traces[-1]["textposition"] = "middle right" if offer[0] < 0.6 * royalty[-1] else "middle left"
    words += _regions(royalty, floor, ceiling, open_, top)
    return chart_of_family(
        460,
        traces,
        showlegend=False,
        annotations=words,
        xaxis=axis("royalty, % of net sales", range=[0, float(royalty[-1])]),
        yaxis=axis(f"upfront fee, million {case.deal.licence.currency}", range=[0, top]),
    )


def in_the_plane(case: Case, round_: Case) -> tuple[float, float]:
    """Royalty in percent and upfront fee in million of the licence's currency of a case, for the terms of any round of it.

    A fee in another currency is converted at the exchange rates of day one. 20 million ZAR at CHF 0.048 are CHF 0.96 million:

    >>> from types import SimpleNamespace as Some
    >>> money = {"chf": Some(exchange_rate=1.0), "zar": Some(exchange_rate=0.048)}
    >>> ours, theirs = Some(currency="CHF", royalty=0.03, upfront=1.4e6), Some(currency="ZAR", royalty=0.022, upfront=20e6)
    >>> case, answer = (Some(money=money, deal=Some(licence=row)) for row in (ours, theirs))
    >>> [[round(each, 9) for each in in_the_plane(case, of)] for of in (answer, case)]
    [[2.2, 0.96], [3.0, 1.4]]
    """
    terms = round_.deal.licence
    fee = in_reporting_currency(terms.upfront, terms.currency, case.money)
    return 100 * float(terms.royalty), float(fee / in_reporting_currency(1.0, case.deal.licence.currency, case.money)) / MILLION


def _area(royalty: np.ndarray, low: np.ndarray, high: np.ndarray) -> dict[str, Any]:
    """A band in which both gain."""
    there = ~np.isnan(low)
    x, low, high = royalty[there], low[there], high[there]
    around = {"x": [*_plain(x), *_plain(x[::-1])], "y": [*_plain(high), *_plain(low[::-1])]}
    return around | {"type": "scatter", "fill": "toself", "mode": "none", "fillcolor": ZONE, "name": "both gain",
                     "hoverinfo": "skip"}  # fmt: skip


def labels_of(rounds: Sequence[tuple[float, float]], offer: tuple[float, float], width: float, top: float) -> list[str]:
    """A label for each round and one for the offer behind them; of those that would lie on each other the last has all names.

    >>> labels_of([(1.0, 5.0), (3.0, 1.0), (3.1, 1.1)], (3.0, 1.0), 5.0, 10.0)
    ['round 1', '', '', 'offer: rounds 2, 3']
    """
    places, names = [*rounds, offer], [*(f"{k + 1}" for k in range(len(rounds))), "offer"]
    found = [""] * len(places)
    left = list(range(len(places)))
    while left:
        last = left[-1]
        x, y = places[last]
        near = [k for k in left if abs(places[k][0] - x) < 0.2 * width and abs(places[k][1] - y) < 0.08 * top]
        numbers = [names[k] for k in near if names[k] != "offer"]
        numbered = f"round{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}" if numbers else ""
        found[last] = ": ".join(part for part in ("offer" if names[last] == "offer" else "", numbered) if part)
        left = [k for k in left if k not in near]
    return found


def _rounds(rounds: Sequence[tuple[float, float]], labels: Sequence[str]) -> dict[str, Any]:
    """The rounds as a path from one to the next, each by its number."""
    royalties, fees = map(list, zip(*rounds))
    ring = {"size": 9, "color": "white", "line": {"color": INK, "width": 1.5}}
    path = curve(royalties, fees, INK, 1, "dash", name="rounds", text=list(labels[:-1]), textposition="middle left", marker=ring)
    return path | {"mode": "lines+markers+text"}


def _regions(royalty: np.ndarray, floor: np.ndarray, ceiling: np.ndarray, open_: np.ndarray, top: float) -> list[dict[str, Any]]:
    """What each part of the picture is, in words, where there is room for them."""
    words = []
    if open_.any():
        within = np.flatnonzero(open_)
        at = int(within[within.size // 5])
        words.append(words_at(royalty[at], floor[at] + 0.85 * (ceiling[at] - floor[at]), "<b>both gain</b>", size=18))
    if not ceiling[-1] > 0.85 * top:
        rather = "the licensee has a better alternative"
        words.append(words_at(royalty[-1], top, rather, xanchor="right", yanchor="top", xshift=-24, size=15))
    if floor[0] > 0.1 * top and np.interp(0.3 * royalty[-1], royalty, floor) > 0.06 * top:  # else the words lie across the line
        below = "the licensor is below its floor"
        words.append(words_at(0, 0, below, xanchor="left", yanchor="bottom", xshift=8, yshift=4, size=15))
    return words


def guarantee_curve(case: Case, found: Guaranteed) -> Chart:
    """The probability of damages over the guaranteed power, with what is guaranteed and what can be signed."""
    hover = "%{x:.2f} W: %{y:.1f} %<extra></extra>"
    powers, formula = found.powers.tolist(), (100 * found.formulas).tolist()
    traces = [
        curve(powers, (100 * found.probabilities).tolist(), COLOURS["licensor"], 2.5, hovertemplate=hover),
        curve(powers, formula, INK, 1, "dot", hovertemplate=hover.replace("<extra>", "<extra>normal formula")),
    ]
    for signed, name, symbol, place in (
        (found.present, "guaranteed", "diamond", "top left"),
        (found.signable, f"probability of {100 * RISK:g} %", "circle", "bottom right"),
    ):
        marker, at = {"size": 12, "color": INK, "symbol": symbol}, f"{name}: " + "%{x:.2f} W, %{y:.1f} %<extra></extra>"
        point = spots([signed.power], [100 * signed.probability], marker, text=[name], textposition=place, hovertemplate=at)
        traces.append(point)
    return chart_of_family(
        360,
        traces,
        showlegend=False,
        xaxis=axis("guaranteed power of a module after light soaking, W"),
        yaxis=axis("probability of damages, %", range=[0, 100]),
    )


def _covered(x: float, y: float, offer: tuple[float, float], width: float, top: float) -> bool:
    """Whether words that begin at a place would lie on the offer."""
    return -0.05 * width < offer[0] - x < 0.4 * width and -0.05 * top < offer[1] - y < 0.1 * top


def _plain(values: np.ndarray) -> list[float | None]:
    """Numbers as a list, which redrawing can compare; nothing for NaN."""
    return [None if math.isnan(value) else value for value in values.tolist()]


def deal_bars(case: Case, results: Results) -> Chart:
    """What the licensee has with and without the payments, what becomes of these, and what the licensor has of them."""
    licensor, licensee = results.deal.licensor, results.deal.licensee
    rows = ("licensee, if nothing were paid", "licensee, with the payments", "payments", "licensor, with the payments")
    parts = (
        ("licensee", "licensee", (0, licensee.npv_free), (1, licensee.npv)),
        ("withholding tax", "withheld", (2, licensor.withheld)),
        ("inventors", "inventors", (2, licensor.inventors)),
        ("costs and own tax of the licensor", "transfer", (2, licensor.net - licensor.npv)),
        ("licensor", "licensor", (2, licensor.npv), (3, licensor.npv)),
    )
    stacked = []
    for name, colour, *values in parts:
        heights = [sum(value for row, value in values if row == number) / MILLION for number in range(len(rows))]
        alone = [number != 2 and any(row == number for row, _ in values) for number in range(len(rows))]
        words = [people(height) if shown else "" for height, shown in zip(heights, alone)]
        hover = "%{y}<br>" + name + ": %{x:.2f} million<extra></extra>"
        stacked.append(labelled_bars(rows, heights, words, name=name, marker=filled(COLOURS[colour]), hovertemplate=hover))
    return chart_of_family(
        360,
        stacked,
        barmode="relative",
        margin={"t": 84},  # room for a legend of several rows
        shapes=[upright(0)],
        xaxis=axis(f"million {case.currency}, net present value of each side at its own rate"),
        yaxis=DOWNWARDS,
    )
