"""Two cases side by side, as two sites or two licensees: words, a table, charts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.landed_prices import in_reporting_currency
from ..model.ledger.ledger_figures import KINDS_OF_COST
from ..model.plan.timing import QUARTERS
from .charts import kinds_stacked
from .drawing import DOWNWARDS, Chart, axis, chart_of_family, curve, level, totals
from .numbers import MILLION, money, people, percent
from .palette import COLOURS, LINES
from .plan_report import return_words, time_words
from .table import Table


@dataclass(frozen=True, slots=True)
class Side:
    """A case with its figures; `rate` brings its money into that of the first side."""

    name: str
    case: Case
    results: Results
    rate: float


def both_sides(first: tuple[str, Case, Results], second: tuple[str, Case, Results]) -> tuple[Side, Side]:
    """Two sides whose money is that of the first, at its exchange rate. Raises InputFaults where the first has no such rate.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> [side.rate for side in both_sides(("a", case, evaluate(case)), ("b", case, evaluate(case)))]
    [1.0, 1.0]
    """
    case, other = first[1], second[1]
    known = [name.upper() for name in case.money]
    if other.currency not in known:
        allowed = f"a row for {other.currency} in money.csv of the first case, which has {', '.join(known)}"
        raise InputFaults([Fault("money.csv", None, None, f"no exchange rate of {other.currency}", allowed)])
    return Side(*first, 1.0), Side(*second, in_reporting_currency(1.0, other.currency, case.money))


Shown = Callable[[Side], str]


def _of_plan(show: Shown) -> Shown:
    return lambda side: show(side) if side.results.has_plan else "no plan"


ROWS: tuple[tuple[str, Shown], ...] = (
    ("stabilised MW a year", lambda s: people(s.results.line.output.stabilised_watts / to_base("MWp_stabilised"))),
    ("yield of the line", lambda s: percent(s.results.line.output.line_yield)),
    ("cost per m²", lambda s: people(s.rate * s.results.ledger.total.cost_per_m2)),
    ("cost per stabilised W", lambda s: people(s.rate * s.results.ledger.total.cost_per_stabilised_watt)),
    ("capital, million", _of_plan(lambda s: people(s.rate * s.results.plan.capital / MILLION))),
    ("capital per stabilised W a year", _of_plan(lambda s: people(s.rate * s.results.plan.capital_per_annual_watt))),
    ("required return", _of_plan(lambda s: percent(s.results.plan.required_return))),
    ("net present value, million", _of_plan(lambda s: people(s.rate * s.results.plan.project.npv / MILLION))),
    ("internal rate of return", _of_plan(lambda s: return_words(s.results.plan.project))),
    ("payback after", _of_plan(lambda s: time_words(s.results.plan.project.payback, s.results.plan.project.payback_status))),
    ("lowest cash, million", _of_plan(lambda s: people(s.rate * s.results.plan.project.low_point / MILLION))),
)


def sides_table(sides: tuple[Side, Side]) -> Table:
    """Key figures of both sides."""
    first, second = sides
    note = "" if first.case.currency == second.case.currency else f"{second.name}: money converted at {people(second.rate, 4)}."
    rows = [[name, *(show(side) for side in sides)] for name, show in ROWS]
    return Table(f"Side by side, {first.case.currency}", ["", first.name, second.name], rows, note=note)


def cheaper(sides: tuple[Side, Side]) -> str:
    """Which side makes a square metre for less, and a watt."""
    currency = sides[0].case.currency

    def less(each: Callable[[Side], float], what: str) -> str:
        """Both sides with what they have, the lower one first."""
        low, high = sorted(sides, key=each)
        first, second = (f"{money(each(side), currency)} at “{side.name}”" for side in (low, high))
        return f"A {what} costs {first} against {second}."

    by_area = less(lambda s: s.rate * s.results.ledger.total.cost_per_m2, "square metre")
    return f"{by_area} {less(lambda s: s.rate * s.results.ledger.total.cost_per_stabilised_watt, 'stabilised watt')}"


def kinds_bars(sides: tuple[Side, Side]) -> Chart:
    """Cost per square metre by kind, one bar for each side."""
    names = [side.name for side in sides]
    by_kind = {
        kind: [s.rate * sum(kinds[kind] for kinds in s.results.ledger.matrix_per_m2.values()) for s in sides]
        for kind in KINDS_OF_COST
    }
    stacked = kinds_stacked({kind: dict(zip(names, values)) for kind, values in by_kind.items() if any(values)})
    return chart_of_family(
        300,
        [*stacked, totals(names, [s.rate * s.results.ledger.total.cost_per_m2 for s in sides])],
        barmode="relative",
        margin={"t": 90},  # room for a legend of several rows
        xaxis=axis(f"{sides[0].case.currency} per m² of good modules"),
        yaxis=DOWNWARDS,
    )


def cash_curves(sides: tuple[Side, Side]) -> Chart:
    """Cash of both projects so far over the years, for per unit of capital, so that plants of any size compare."""
    curves = []
    for side, colour, dash in zip(sides, LINES, ("solid", "dash")):
        quarters = list(side.results.plan.quarters.values()) if side.results.has_plan else []
        years = [number / QUARTERS for number in range(len(quarters))]
        cash = [each.cumulative_free_cash / side.results.plan.capital for each in quarters]
        hover = "after %{x} years: %{y:.2f}<extra>" + side.name + "</extra>"
        curves.append(curve(years, cash, COLOURS[colour], 2.5, dash, name=side.name, hovertemplate=hover))
    return chart_of_family(
        300,
        curves,
        shapes=[level(0)],
        xaxis=axis("years from the first day of spending"),
        yaxis=axis("cash so far over the capital"),
    )
