"""What sweeps, searches, tornado, scenarios and the waterfall find: sentences and tables."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..case.uncertain import supposed, uncertain
from ..case.whole_case import Case
from ..core.fields import STATUS
from ..core.units import to_base
from ..model.scenarios import ON_PLANT
from ..studies.many import Wanted, known_before
from ..studies.sweep import REASON
from .inputs_report import input_name
from .numbers import MINUS, NOT_APPLICABLE, ROUNDING, amount, label, people, percent, signed, spoken, typeset
from .table import Table, table_of

if TYPE_CHECKING:
    import pandas as pd

    from ..studies.sensitivities import Bar, Elasticity
    from ..studies.solve import Answer, Solution
    from ..studies.waterfall import Waterfall

MOST_ROWS = 40
WHOLE = ("total", "output")  # records of the plant as a whole, which a name need not state
SHORT = {"npv": "NPV", "irr": "IRR", "mirr": "MIRR", "dscr": "DSCR"}
NO_VALUE = "no value"
AS_BOUGHT = (
    "The plant is as bought: its tools are sized at the values of the case, and then stay. It makes the planned output, as far as "
    "they can."
)
INSTALLED = "The plant is as installed, and makes all it can."
NO_RANGES = "The case has no ranges.csv, so no input is uncertain."
RESIZED = "Tools are sized anew for every value."
NAMES = {"sized": "tools sized for every value", "frozen": "plant as installed", "as_bought": ON_PLANT}


def shown(value: float, unit: str, digits: int = 4) -> str:
    """A value in base units as a number in a unit; a plain word where there is none.

    >>> shown(0.25, "%"), shown(float("nan"), "EUR")
    ('25.00', 'no value')
    """
    return NO_VALUE if math.isnan(value) else people(value / to_base(unit), digits)


def figure_name(address: str) -> str:
    """What a figure is called in a sentence: its name, and behind it, of what it is the figure.

    >>> figure_name("ledger.total.cost_per_m2"), figure_name("line.tools.coater.tools"), figure_name("plan.project.npv")
    ('cost per m²', 'tools (coater)', 'NPV (project)')
    """
    *above, last = address.split(".")
    owners = above[2:] or [each for each in above[1:] if each not in WHOLE]
    name = " ".join(SHORT.get(word, word) for word in label(last).split(" "))
    return f"{name} ({', '.join(label(each) for each in owners)})" if owners else name


def name_of(figure: Wanted) -> str:
    """What a figure is called in a sentence."""
    return figure_name(figure.address)


def figure_label(figure: Wanted, name: str = "") -> str:
    """A figure in a heading, with its unit: what it is called, unless another name is given."""
    return (name or name_of(figure)) + ("" if figure.unit == "1" else f" [{spoken(figure.unit)}]")


def titled(case: Case) -> str:
    """The title of a case that was studied, with the plant behind every figure."""
    name = f" ({NAMES[case.target.mode]})"
    return f"{case.title.removesuffix(name)}{name}"


def plants(cases: Mapping[str, Case]) -> list[str]:
    """Which of several cases are designs, and which happen to a plant as bought."""
    by_mode = {mode: [name for name, case in cases.items() if case.target.mode == mode] for mode in NAMES}
    plants = {"sized": "Tools sized for each", "frozen": "On the plant as installed", "as_bought": "On the plant as bought"}
    return [f"{plants[mode]}: {', '.join(names)}." for mode, names in by_mode.items() if names]


def held(case: Case) -> list[str]:
    """Which uncertain inputs stand at a supposed value in all draws; no sentence where none does.

    >>> from costmodel.model.scenarios import open_case
    >>> held(open_case("inputs_demo/facade", changes={"sales.facade.price": "1.75"}))
    ['All draws have the value supposed here of facade builders: price, not the range of ranges.csv.']
    """
    names = [input_name(case, address) for address in supposed(case)]
    return [f"All draws have the value supposed here of {', '.join(names)}, not the range of ranges.csv."] if names else []


def plant(case: Case, moved: Sequence[str] | None = None) -> str:
    """Whether the tools of a case that was studied follow its inputs; `moved`: what the study moves, else all that is uncertain."""
    if moved is None:
        return " ".join([plant(case, [row.address for row in uncertain(case).values()]), *held(case)])
    if case.target.mode == "sized":
        return RESIZED
    if case.design is None:
        return INSTALLED if case.target.mode == "frozen" else f"{INSTALLED[:-1]} of the planned output."
    early = [input_name(case, address) for address in known_before(case) if address in moved]
    return f"{AS_BOUGHT} Tools are sized for what is known before purchase: {', '.join(early)}." if early else AS_BOUGHT


def quantity(value: float, figure: Wanted, digits: int = 4, reason: str = "") -> str:
    """A value of a figure with its unit; where it has none, that, and why."""
    text = shown(value, figure.unit, digits)
    if text == NO_VALUE:
        return f"{text} ({reason})" if reason else text
    return text if figure.unit == "1" else f"{text} {_many(spoken(figure.unit))}"


def _many(unit: str) -> str:
    """A unit behind a number in a sentence."""
    return "years" if unit == "year" else unit


def as_it_is(figure: Wanted, digits: int = 4) -> str:
    """The value of a figure with the inputs as they are, or why it has none."""
    return quantity(float(figure.present), figure, digits, figure.reason)


def begins(figure: Wanted) -> str:
    """A figure at the beginning of a sentence."""
    name = name_of(figure)
    return name[0].upper() + name[1:]


def solved(case: Case, found: Solution, figure: Wanted, unit: str) -> str:
    """What a search found: no, one or several values, or a jump."""
    target, address = quantity(found.target, figure, 6), found.address
    unit_shown = typeset(unit)
    here = f"{input_name(case, address)} between {shown(found.low, unit)} and {shown(found.high, unit)} {unit_shown}"
    ends = f"Searched: {found.bracket}."
    roots = [answer for answer in found.answers if answer.kind != "jump"]
    jumps = [answer for answer in found.answers if answer.kind == "jump"]
    if not found.answers:
        if found.least != found.least:
            return f"None: {name_of(figure)} has no value at any {here}. {ends}"
        none = (
            f"None: no value of {here} gives {name_of(figure)} of {target}. There it is "
            f"{quantity(found.least, figure)} to {quantity(found.greatest, figure)}. {ends}"
        )
        return " ".join([none, *_edges(found, figure, unit)])
    listed = ", ".join(
        shown(a.value, unit, 6) if a.kind == "root" else f"all from {shown(a.value, unit, 6)} to {shown(a.beyond, unit, 6)}"
        for a in roots
    )
    words = []
    if roots:
        what = "value" if all(a.kind == "root" for a in roots) else "interval" if all(a.kind != "root" for a in roots) else "answer"
        count = f"One {what}" if len(roots) == 1 else f"{len(roots)} {what}s"
        words.append(
            f"{count} of {here} {'gives' if len(roots) == 1 else 'give'} {name_of(figure)} of {target}: "
            f"{listed} {unit_shown}. {ends}"
        )
    for answer in jumps:
        words.append(
            f"At {shown(answer.value, unit, 6)} {unit_shown} the figure jumps past the value as the input rises: from "
            f"{quantity(answer.figure, figure)} to {quantity(answer.figure_beyond, figure)}, as when a whole tool is added."
        )
    words += _edges(found, figure, unit)
    if found.refused:
        words.append(f"The case refuses {percent(found.refused, 2)} of the values searched.")
    if found.without:
        words.append(f"The figure has no value at {percent(found.without, 2)} of them.")
    return " ".join(words)


def _edges(found: Solution, figure: Wanted, unit: str) -> list[str]:
    """Where the figure begins or ceases to have a value."""
    return [
        f"{'Above' if edge.ceases else 'Below'} {shown(edge.value, unit, 6)} {typeset(unit)} it has no value: {edge.reason}."
        for edge in found.edges
    ]


def widest(case: Case, figure: Wanted, bars: Sequence[Bar], present: float) -> str:
    """Which input moves a figure most by itself."""
    if not bars:
        return NO_RANGES
    words = f"{begins(figure)} is {quantity(present, figure, 3, figure.reason)} with all inputs as they are."
    lost = [(bar, why) for bar in bars for why in (bar.why_low, bar.why_high) if why and present == present]
    if lost:
        listed = ", ".join(dict.fromkeys(input_name(case, bar.address) for bar, _ in lost))
        why = "; ".join(dict.fromkeys(why for _, why in lost))
        words += f" It has no value ({why}) with one of these at an end of its range: {listed}."
    wide = [bar for bar in bars if bar.width == bar.width]
    if not wide:
        return words
    top = max(wide, key=lambda bar: bar.width)
    low, high = sorted((top.at_low, top.at_high))
    return (
        f"{words} Of {len(wide)} uncertain inputs{' with a value at both ends' if len(wide) < len(bars) else ''}, "
        f"{input_name(case, top.address)} moves it most by itself: from {quantity(low, figure, 3)} to {quantity(high, figure, 3)}."
    )


def moved(found: Waterfall, figure: Wanted) -> str:
    """By how much a figure moved, and because of what most."""
    before, after = (quantity(at, figure, reason=why) for at, why in zip((found.before, found.after), found.reasons))
    words = f"{begins(figure)} went from {before} to {after}."
    if found.without:
        return (
            f"{words} The move is not split: the figure has no value in {percent(found.without, 2)} of the combinations of changes."
        )
    if not found.parts:
        return f"Nothing that the model reads differs; {name_of(figure)} is {before} in both."
    change = found.after - found.before
    if change == 0 and not any(part.value for part in found.parts):
        return words
    top = found.parts[0]
    way = "each change in every order" if found.exact else "changes in sampled orders, with the standard error behind each part"
    most = f"{player_name(top.player)} moved it most, by {quantity(top.value, figure, 3)}."
    return f"{words} {most} Parts add up to the move. They are averages over {way}."


def player_name(player: str) -> str:
    """What moved together, at the beginning of a sentence: a group by its name, a row by its own name and that of its table.

    >>> player_name("glass"), player_name("metals.silver"), player_name("steps.final_test")
    ('Glass', 'Silver (metals)', 'Final test (steps)')
    """
    table, _, row = player.rpartition(".")
    name = f"{label(row)} ({label(table)})" if table else label(row)
    return name[0].upper() + name[1:]


def sweep_table(case: Case, frame: pd.DataFrame) -> Table:
    """A sweep as rows; where there are many, the first of them."""
    units = frame.attrs["units"]
    kept = [c for c in frame.columns if not c.endswith(REASON)]
    names = {c: c if "." not in c else input_name(case, c) if c in case.entry_units else figure_name(c) for c in kept}
    columns = [names[c] if units.get(c, "1") == "1" else f"{names[c]} [{spoken(units[c])}]" for c in kept]

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
    least_told = ROUNDING * max(abs(end) for end in (found.target, found.least, found.greatest))

    def left(answer: Answer) -> float:
        """What is left to the target, but for what rounding leaves of a root."""
        return answer.residual if abs(answer.residual) > least_told else 0.0

    kinds = {"root": "has it at", "jump": "jumps past it between", "interval": "has it in the whole interval from"}
    columns = {
        "the figure": lambda x: kinds[x.kind],
        f"input [{typeset(unit)}]": lambda x: shown(x.value, unit, 6),
        "and": lambda x: "" if x.kind == "root" else shown(x.beyond, unit, 6),
        f"figure [{spoken(figure.unit)}]": lambda x: shown(found.target + left(x), figure.unit, 6),
        "less the target value": lambda x: f"{left(x) / to_base(figure.unit):.1e}".replace("-", MINUS) if left(x) else "0",
    }
    title = f"{input_name(case, found.address)}: where {name_of(figure)} has the target value"
    return table_of(title, ((x,) for x in found.answers), columns)


def tornado_table(case: Case, figure: Wanted, bars: Sequence[Bar], elasticities: Sequence[Elasticity]) -> Table:
    """The bars of a tornado, with the elasticity of each input and how well it is known."""
    elastic = {x.address: x.elasticity for x in elasticities}
    columns = {
        "input": lambda bar, unit: input_name(case, bar.address),
        "range": lambda bar, unit: f"{shown(bar.low, unit, 3)} to {shown(bar.high, unit, 3)} {typeset(unit)}",
        f"at low [{spoken(figure.unit)}]": lambda bar, _: bar.why_low or shown(bar.at_low, figure.unit),
        "at high": lambda bar, _: bar.why_high or shown(bar.at_high, figure.unit),
        "width": lambda bar, _: NOT_APPLICABLE if math.isnan(bar.width) else shown(bar.width, figure.unit, 3),
        "% for 1 %": lambda bar, _: people(elastic.get(bar.address, math.nan), 2),
        "kind": lambda bar, _: case.evidence[bar.address.rsplit(".", 1)[0]].kind,
    }
    title = f"{begins(figure)}: each input alone from the low to the high end of its range"
    return table_of(title, ((bar, case.ranges[bar.range].unit) for bar in bars), columns, texts=(0, 1, 6))


LEADING = "plan.project.npv"  # of several figures the one that a comparison of scenarios begins with, where it is among them


def scenarios_said(cases: Mapping[str, Mapping[str, float]], figures: Sequence[Wanted]) -> list[str]:
    """In which scenario the leading figure is lowest and highest, and what the others have that end without a value."""
    figure = next((each for each in figures if each.address == LEADING), figures[0])
    there = {name: values[figure.address] for name, values in cases.items() if not math.isnan(values[figure.address])}
    if len(there) < 2:
        return []
    low, high = (best(there, key=there.__getitem__) for best in (min, max))
    first = next(iter(cases))
    said = {name: in_words(there[name], figure) for name in there}
    now = "" if first in (low, high) or first not in there else f" In “{first}” it is {said[first]}."
    return [f"{begins(figure)} is lowest in “{low}”, at {said[low]}, and highest in “{high}”, at {said[high]}.{now}"]


def in_words(value: float, figure: Wanted) -> str:
    """A value of a figure as a sentence states it: an amount of money rounded, all else with three digits."""
    return amount(value, figure.unit) if re.fullmatch("[A-Z]{3}", figure.unit) else quantity(value, figure, 3)


def swept(case: Case, frame: pd.DataFrame, figure: Wanted, addresses: Sequence[str]) -> str:
    """Between which values a figure of a sweep lies, and at which inputs."""
    values = frame[figure.address]
    if not values.notna().any():
        return f"{begins(figure)} has no value at any of the points."
    ends = [frame.iloc[int(at)].to_dict() for at in (values.argmin(), values.argmax())]
    units = frame.attrs["units"]

    def at(row: Mapping) -> str:
        """The inputs of a row of the sweep, and its case where there are several."""
        names = [f"“{row['case']}”"] if frame["case"].nunique() > 1 else []
        return " and ".join([*names, *(f"{input_name(case, a)} {people(row[a], 4)} {typeset(units[a])}" for a in addresses)])

    low, high = (quantity(float(row[figure.address]) * to_base(figure.unit), figure) for row in ends)
    if low == high:
        return f"{begins(figure)} is {low} at all {len(frame):,} points."
    return f"{begins(figure)} is lowest at {at(ends[0])}: {low}. It is highest at {at(ends[1])}: {high}."


def scenarios_table(cases: Mapping[str, Mapping[str, float]], figures: Sequence[Wanted]) -> Table:
    """Figures side by side, a column for each scenario; the status of a figure that is shown says why it has no value, if so."""
    rows = [
        [figure_label(figure), *(_or_why(values, figure) for values in cases.values())]
        for figure in figures
        if figure.address.removesuffix(STATUS) not in {other.address for other in figures} or not figure.address.endswith(STATUS)
    ]
    return Table("Figures by scenario", ["figure", *cases], rows)


def _or_why(values: Mapping[str, float], figure: Wanted) -> str:
    """A figure, or why it has no value."""
    return figure.reasons.get(values.get(figure.status, 1.0)) or shown(values[figure.address], figure.unit)


def waterfall_table(found: Waterfall) -> Table:
    """The share of each group of changed inputs in the move; groups without any are counted below."""
    moved = [part for part in found.parts if abs(part.value) > 1e-12 * max(abs(found.before), abs(found.after))]
    rows = [["before", shown(found.before, found.unit), ""]]
    for part in moved:
        error = f" ± {shown(part.error, found.unit, 2)}" if part.error else ""
        changed = ", ".join(a.rsplit(".", 1)[-1] for a in found.inputs[part.player][:4])
        rows.append([part.player, signed(part.value / to_base(found.unit), 4) + error, changed])
    rows.append(["after", shown(found.after, found.unit), ""])
    still = len(found.parts) - len(moved)
    note = f"Changed without moving the figure: {still} more." if still else ""
    columns = ["changed", f"[{typeset(found.unit)}]", "inputs"]
    name = figure_name(found.figure)
    return Table(f"{name[0].upper()}{name[1:]}: what moved it", columns, rows, note=note, total=True, texts=(0, 2))
