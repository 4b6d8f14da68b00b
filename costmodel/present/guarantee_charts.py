"""Charts of what is promised: guarantees by probability and by cost, the warranty by year of age and year of the plan."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Costs, Results
from ..studies.negotiation.guarantee_set import PromiseSets
from .cash_report import by_year
from .drawing import DOWNWARDS, Chart, Plain, axis, bars, chart_of_family, curve, filled
from .numbers import MILLION
from .palette import COLOURS, INK
from .warranty_report import THOUSAND, shown_ages

ROOM = 130  # of axis and legend
WRAP = 34  # letters of a name on one line


def wrapped(title: str) -> str:
    """A long name on several lines, so that bars have room on a narrow screen.

    >>> wrapped("mean power of the acceptance lot after light soaking")
    'mean power of the acceptance lot\xa0\xa0<br>after light soaking'
    """
    lines = [""]
    for word in title.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > WRAP:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return "\xa0\xa0<br>".join(lines)


Part = tuple[str, str, list[float]]  # a kind of bar: name, colour, its value for each promise


def _bars(found: PromiseSets, parts: list[Part], unit: str) -> list[Plain]:
    """Bars for each promise side by side."""
    names = [wrapped(each.title) for each in found.promises]
    traces: list[Plain] = []
    for name, colour, values in parts:
        hover = f"%{{y}}<br>{name}: %{{x:,.3~g}} {unit}<extra></extra>"
        traces.append(bars(names, values, name=name, marker=filled(COLOURS[colour]), hovertemplate=hover))
    return traces


def _height(found: PromiseSets, parts: int) -> int:
    """The height of a chart with so many bars for each promise."""
    return (14 * parts + 18) * len(found.promises) + ROOM


def odds_chart(found: PromiseSets) -> Chart:
    """How probable it is that each guarantee pays: by formula at the stated inputs, and over the draws."""
    parts: list[Part] = [
        ("as stated, by formula", "alone", [100 * each for each in found.alone]),
        ("over draws", "falls_short", [100 * each.probability for each in found.present.promises]),
    ]
    return chart_of_family(
        _height(found, 2),
        _bars(found, parts, "%"),
        barmode="group",
        margin={"t": 64},
        xaxis=axis("probability of paying, %"),
        yaxis=DOWNWARDS,
    )


def worth_chart(case: Case, found: PromiseSets) -> Chart:
    """What each guarantee may be expected to cost, and what a point of it less is worth to either side."""
    now = found.present.promises
    parts: list[Part] = [
        ("expected damages", "falls_short", [each.expected for each in now]),
        ("expected retests", "inventors", [each.retests for each in now]),
        ("a point eased: licensor saves", "licensor", [saves for saves, _ in found.points]),
        ("a point eased: licensee loses", "licensee", [loses for _, loses in found.points]),
    ]
    parts = [part for part in parts if any(part[2])]
    return chart_of_family(
        _height(found, len(parts)),
        _bars(found, parts, case.currency),
        barmode="group",
        margin={"t": 96},  # room for a legend of several rows
        xaxis=axis(case.currency),
        yaxis=DOWNWARDS,
    )


def claims_chart(results: Costs | Results) -> Chart:
    """Claims of a thousand modules sold, by year of age and by cause."""
    ages = shown_ages(results)
    years = [int(year[1:]) for year in ages]
    traces = [
        {
            "type": "bar",
            "x": years,
            "y": [THOUSAND * getattr(each, field) for each in ages.values()],
            "name": name,
            "marker": filled(COLOURS[colour]),
            "hovertemplate": "year %{x}: %{y:.3~g} of 1,000<extra>" + name + "</extra>",
        }
        for name, field, colour in (
            ("failed", "product_claims", "covers"), ("power below the promise", "power_claims", "falls_short"),
        )
    ]  # fmt: skip
    axes = {"xaxis": axis("year after the sale", dtick=5, tick0=0), "yaxis": axis("claims of 1,000 modules sold")}
    return chart_of_family(330, traces, barmode="stack", **axes)


def provision_chart(case: Case, results: Results) -> Chart:
    """What is set aside and paid in each year of the plan, and the provision at its end."""
    years = by_year(results)
    numbers = [k + 1 for k in range(len(years))]
    parts = {
        "set aside, with interest": ("covers", lambda q: q.warranty_provided + q.warranty_unwinding),
        "paid": ("falls_short", lambda q: -q.warranty_paid),
    }
    traces: list[Plain] = [
        {
            "type": "bar",
            "x": numbers,
            "y": [sum(map(take, year)) / MILLION for year in years],
            "name": name,
            "marker": filled(COLOURS[colour]),
            "hovertemplate": "year %{x}: %{y:.3f} million<extra>" + name + "</extra>",
        }
        for name, (colour, take) in parts.items()
    ]
    kept = [year[-1].warranty_provision / MILLION for year in years]
    hover = "year %{x}: %{y:.3f} million<extra>provision at the end of the year</extra>"
    line = curve(numbers, kept, INK, name="provision at the end of the year", hovertemplate=hover)
    axes = {"xaxis": axis("year of the plan", dtick=1), "yaxis": axis(f"million {case.currency}")}
    return chart_of_family(360, [*traces, line | {"mode": "lines+markers"}], barmode="relative", margin={"t": 64}, **axes)
