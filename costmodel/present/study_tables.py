"""Tables of the studies: sweeps, answers of a search, tornado, scenarios, what moved, shares of the variance, risk."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..case.addresses import input_at
from ..case.whole_case import Case
from ..core.fields import STATUS
from ..core.units import to_base
from ..studies.many import Wanted
from ..studies.sensitivities import Bar, Elasticity
from ..studies.solve import Solution
from ..studies.spread import Probability, Spread
from ..studies.sweep import REASON
from ..studies.variance import Shares
from ..studies.waterfall import Waterfall
from .numbers import label, people, percent, spoken
from .table import Table

if TYPE_CHECKING:
    import pandas as pd

MOST_ROWS = 40
NO_VALUE = "no value"
SAMPLING = (
    "In brackets the 95 % interval that sampling leaves, for independent draws; Sobol points are nearer as a rule. That ranges or "
    "the model are wrong is not in it."
)


def input_name(case: Case, address: str) -> str:
    """What an input is called: the title of its row, and the field.

    >>> from costmodel.case.load import load_case
    >>> input_name(load_case("inputs_demo/facade"), "prices.silane.price")
    'silane: price'
    """
    *place, field = address.split(".")
    _, record = input_at(case, address)
    title = getattr(record, "title", " ".join(label(part) for part in place))
    return f"{title}: {label(field)}"


def shown(value: float, unit: str, digits: int = 4) -> str:
    """A value in base units as a number in a unit; a plain word where there is none.

    >>> shown(0.25, "%"), shown(float("nan"), "EUR")
    ('25.00', 'no value')
    """
    return NO_VALUE if math.isnan(value) else people(value / to_base(unit), digits)


def name_of(figure: Wanted) -> str:
    """A figure in a sentence: `cost per m2` for `ledger.total.cost_per_m2`; of a name of one word, as `tools`, the address."""
    last = figure.address.rsplit(".", 1)[-1]
    return label(last) if "_" in last else figure.address


def figure_label(figure: Wanted, name: str = "") -> str:
    """A figure in a heading, with its unit: what it is called, unless another name is given."""
    return (name or name_of(figure)) + ("" if figure.unit == "1" else f" [{spoken(figure.unit)}]")


def sweep_table(frame: pd.DataFrame) -> Table:
    """A sweep as rows; where there are many, the first of them."""
    units = frame.attrs["units"]
    kept = [c for c in frame.columns if not c.endswith(REASON)]
    columns = [c if units.get(c, "1") == "1" else f"{c} [{units[c]}]" for c in kept]

    def cell(row: Mapping, column: str) -> str:
        """A value, or why there is none."""
        value = row[column]
        if isinstance(value, str):
            return value
        return row.get(column + REASON) or NO_VALUE if math.isnan(value) else people(value, 5)

    rows = [[cell(row, column) for column in kept] for row in frame.head(MOST_ROWS).to_dict("records")]
    left = len(frame) - len(rows)
    note = f"{left:,} more rows; --csv prints all of them." if left else ""
    return Table("Figures by input", columns, rows, note=note)


def solution_table(case: Case, found: Solution, figure: Wanted, unit: str) -> Table:
    """Every answer of a search."""
    rows = []
    for answer in found.answers:
        what = {"root": "has it at", "jump": "jumps past it between", "interval": "has it in the whole interval from"}[answer.kind]
        to = "" if answer.kind == "root" else shown(answer.beyond, unit, 6)
        rows.append(
            [
                what,
                shown(answer.value, unit, 6),
                to,
                shown(answer.figure, figure.unit, 6),
                f"{answer.residual / to_base(figure.unit):.1e}",
            ]
        )
    columns = ["the figure", f"input [{unit}]", "and", f"figure [{figure.unit}]", "less the target value"]
    return Table(f"{input_name(case, found.address)}: where {figure.address} has the target value", columns, rows)


def tornado_table(case: Case, figure: Wanted, bars: Sequence[Bar], elasticities: Sequence[Elasticity]) -> Table:
    """The bars of a tornado, with the elasticity of each input and how well it is known."""
    elastic = {elasticity.address: elasticity for elasticity in elasticities}
    rows = []
    for bar in bars:
        unit = case.ranges[bar.range].unit
        known = elastic.get(bar.address)
        rows.append(
            [
                input_name(case, bar.address),
                f"{shown(bar.low, unit, 3)} to {shown(bar.high, unit, 3)} {unit}",
                bar.why_low or shown(bar.at_low, figure.unit),
                bar.why_high or shown(bar.at_high, figure.unit),
                "" if math.isnan(bar.width) else shown(bar.width, figure.unit, 3),
                "" if known is None else people(known.elasticity, 2),
                case.evidence[bar.address.rsplit(".", 1)[0]].kind,
            ]
        )
    columns = ["input", "range", f"at low [{spoken(figure.unit)}]", "at high", "width", "% for 1 %", "kind"]
    return Table(f"{figure.address}: each input alone from the low to the high end of its range", columns, rows, texts=(0, 1, 6))


def scenarios_table(cases: Mapping[str, Mapping[str, float]], figures: Sequence[Wanted]) -> Table:
    """Figures side by side, a column for each scenario; the status of a figure that is shown says why it has no value, if so."""
    rows = [
        [figure_label(figure, figure.address), *(_or_why(values, figure) for values in cases.values())]
        for figure in figures
        if figure.address.removesuffix(STATUS) not in {other.address for other in figures} or not figure.address.endswith(STATUS)
    ]
    return Table("Figures by scenario", ["figure", *cases], rows)


def _or_why(values: Mapping[str, float], figure: Wanted) -> str:
    """A figure, or why it has no value."""
    return figure.reasons.get(values.get(figure.status, 1.0)) or shown(values[figure.address], figure.unit)


def waterfall_table(found: Waterfall) -> Table:
    """What each group of changed inputs has of the move; groups without any are counted below."""
    moved = [part for part in found.parts if abs(part.value) > 1e-12 * max(abs(found.before), abs(found.after))]
    signed = [("+" if part.value > 0 else "−") + shown(abs(part.value), found.unit) for part in moved]
    errors = [f" ± {shown(part.error, found.unit, 2)}" if part.error else "" for part in moved]
    rows = [["before", shown(found.before, found.unit), ""]]
    rows += [
        [part.player, sign + error, ", ".join(a.rsplit(".", 1)[-1] for a in found.inputs[part.player][:4])]
        for part, sign, error in zip(moved, signed, errors)
    ]
    rows += [["after", shown(found.after, found.unit), ""]]
    still = len(found.parts) - len(moved)
    note = f"Changed without moving the figure: {still} more." if still else ""
    return Table(
        f"{found.figure}: what moved it", ["changed", f"[{found.unit}]", "inputs"], rows, note=note, total=True, texts=(0, 2)
    )


def kinds_of(case: Case, rows: Sequence[str]) -> str:
    """How well the inputs of some rows of ranges.csv are known."""
    return ", ".join(dict.fromkeys(case.evidence[case.ranges[row].address.rsplit(".", 1)[0]].kind for row in rows))


def rank_table(case: Case, found: Shares, held: Mapping[str, tuple[str, ...]]) -> Table:
    """Shares of the variance by block, with their intervals, and what stands in each block."""
    rows = [
        [
            share.name,
            f"{percent(share.total)} ± {people(100 * share.total_error, 2)}",
            f"{percent(share.first)} ± {people(100 * share.first_error, 2)}",
            kinds_of(case, held[share.name]),
            ", ".join(input_name(case, case.ranges[row].address) for row in held[share.name]),
        ]
        for share in found.found
    ]
    note = (
        "Share of the variance: `total` with all that a group does together with others, `alone` without; behind ± half the 95 % "
        "interval, by bootstrap. Groups that correlations.csv ties are one."
    )
    return Table("What carries the uncertainty", ["group", "total", "alone", "kind", "inputs"], rows, note=note, texts=(0, 3, 4))


def risk_table(figures: Mapping[str, Wanted], spreads: Mapping[str, Spread]) -> Table:
    """Quantiles of each figure with what sampling leaves open; a column for each figure."""
    rows = {"as it is": [], "mean": []} | {f"P{100 * q.share:g}": [] for q in next(iter(spreads.values())).quantiles}
    rows |= {"lowest tenth, mean": [], "highest tenth, mean": [], "without a value": []}
    for address, found in spreads.items():
        unit = figures[address].unit
        cells = [figures[address].reason or shown(float(figures[address].present), unit), shown(found.mean, unit)]
        cells += [f"{shown(q.value, unit)} ({shown(q.low, unit)} to {shown(q.high, unit)})" for q in found.quantiles]
        cells += [shown(found.lowest_tenth, unit), shown(found.highest_tenth, unit), percent(found.without, 2)]
        for row, cell in zip(rows.values(), cells):
            row.append(cell)
    note = SAMPLING
    if any(found.without for found in spreads.values()):
        note += " Mean and quantiles are over the draws that have a value."
    names = [name_of(figures[address]) for address in spreads]
    columns = ["", *(figure_label(figures[a], "" if names.count(name) == 1 else a) for a, name in zip(spreads, names))]
    return Table("Spread over the draws", columns, [[name, *cells] for name, cells in rows.items()], note=note)


def target_table(probabilities: Mapping[str, Probability]) -> Table:
    """The probability to meet each target."""
    rows = [
        [target, percent(found.share), f"{percent(found.low)} to {percent(found.high)}"] for target, found in probabilities.items()
    ]
    note = "A draw in which the figure has no value does not meet the target."
    return Table("Probability to meet a target", ["target", "probability", "95 % interval of sampling"], rows, note=note)
