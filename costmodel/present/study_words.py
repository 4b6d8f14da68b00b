"""What the studies find, in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..case.uncertain import supposed, uncertain
from ..case.whole_case import Case
from ..model.scenarios import ON_PLANT
from ..studies.many import Wanted
from ..studies.plants import known_before
from ..studies.risk import Run, Spread, reasons_of
from ..studies.solve import Solution
from ..studies.tornado import Bar
from ..studies.variance import Shares
from ..studies.waterfall import Waterfall
from .numbers import percent, spoken
from .study_tables import NO_VALUE, input_name, kinds_of, name_of, shown

AS_BOUGHT = (
    "The plant is as bought: its tools are sized at the values of the case, and then stay. It makes the planned output, as far as "
    "they can."
)
INSTALLED = "The plant is as installed, and makes all it can."
NO_RANGES = "The case has no ranges.csv, so it does not say what is uncertain."
RESIZED = "Tools are sized anew for every value."


NAMES = {"sized": "tools sized for every value", "frozen": "plant as installed", "as_bought": ON_PLANT}


def titled(case: Case) -> str:
    """The title of a case that was studied, with the plant that stands behind every figure."""
    name = f" ({NAMES[case.target.mode]})"
    return f"{case.title.removesuffix(name)}{name}"


def plants(cases: Mapping[str, Case]) -> list[str]:
    """Which of several cases are designs, and which happen to a plant as bought."""
    by_mode = {mode: [name for name, case in cases.items() if case.target.mode == mode] for mode in NAMES}
    said = {"sized": "Tools sized for each", "frozen": "On the plant as installed", "as_bought": "On the plant as bought"}
    return [f"{said[mode]}: {', '.join(names)}." for mode, names in by_mode.items() if names]


def held(case: Case) -> list[str]:
    """Which uncertain inputs stand at a supposed value in all draws; no sentence where none does.

    >>> from costmodel.model.scenarios import open_case
    >>> held(open_case("inputs_demo/facade", changes={"sales.facade.price": "1.75"}))
    ['All draws have the value supposed here of sales.facade.price, not the range of ranges.csv.']
    """
    names = supposed(case)
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
    return f"{AS_BOUGHT} Known before purchase, so that tools are sized for it: {', '.join(early)}." if early else AS_BOUGHT


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


def _begins(figure: Wanted) -> str:
    """A figure at the beginning of a sentence; an address stays as it is."""
    name = name_of(figure)
    return name if name == figure.address else name[0].upper() + name[1:]


def solved(case: Case, found: Solution, figure: Wanted, unit: str) -> str:
    """What a search found: no, one or several values, or a jump."""
    target, address = quantity(found.target, figure, 6), found.address
    here = f"{input_name(case, address)} ({address}) between {shown(found.low, unit)} and {shown(found.high, unit)} {unit}"
    ends = f"looked at: {found.bracket}"
    roots = [answer for answer in found.answers if answer.kind != "jump"]
    jumps = [answer for answer in found.answers if answer.kind == "jump"]
    if not found.answers:
        if found.least != found.least:
            return f"None: {figure.address} has no value at any {here}; {ends}."
        none = (
            f"None: no value of {here} gives {figure.address} of {target}; there it is "
            f"{quantity(found.least, figure)} to {quantity(found.greatest, figure)}; {ends}."
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
            f"{count} of {here} {'gives' if len(roots) == 1 else 'give'} {figure.address} of {target}: {listed} {unit}; {ends}."
        )
    for answer in jumps:
        words.append(
            f"At {shown(answer.value, unit, 6)} {unit} the figure jumps past the value as the input rises: from "
            f"{quantity(answer.figure, figure)} to {quantity(answer.figure_beyond, figure)}, as when a whole tool is added."
        )
    words += _edges(found, figure, unit)
    if found.refused:
        words.append(f"The case refuses {percent(found.refused, 2)} of the values looked at.")
    if found.without:
        words.append(f"The figure has no value at {percent(found.without, 2)} of them.")
    return " ".join(words)


def _edges(found: Solution, figure: Wanted, unit: str) -> list[str]:
    """Where the figure begins or ceases to have a value."""
    return [
        f"{'Above' if edge.ceases else 'Below'} {shown(edge.value, unit, 6)} {unit} it has no value: {edge.reason}."
        for edge in found.edges
    ]


def widest(case: Case, figure: Wanted, bars: Sequence[Bar], present: float) -> str:
    """Which input moves a figure most by itself."""
    if not bars:
        return NO_RANGES
    words = f"{_begins(figure)} is {quantity(present, figure, reason=figure.reason)} with all inputs as they are."
    lost = [(bar, why) for bar in bars for why in (bar.why_low, bar.why_high) if why and present == present]
    if lost:
        listed = ", ".join(dict.fromkeys(input_name(case, bar.address) for bar, _ in lost))
        why = "; ".join(dict.fromkeys(why for _, why in lost))
        words += f" It has no value ({why}) with one of these at an end of its range: {listed}."
    wide = [bar for bar in bars if bar.width == bar.width]
    if not wide:
        return words
    top = max(wide, key=lambda bar: bar.width)
    ends = sorted((top.at_low, top.at_high))
    return (
        f"{words} Of {len(wide)} uncertain inputs{' with a value at both ends' if len(wide) < len(bars) else ''}, "
        f"{input_name(case, top.address)} moves it most by itself: from {quantity(ends[0], figure)} to {quantity(ends[1], figure)}."
    )


def moved(found: Waterfall, figure: Wanted) -> str:
    """By how much a figure moved, and because of what most."""
    before, after = (quantity(at, figure, reason=why) for at, why in zip((found.before, found.after), found.reasons))
    words = f"{figure.address} went from {before} to {after}."
    if found.without:
        return (
            f"{words} The move is not split: the figure has no value in {percent(found.without, 2)} of the combinations of "
            "changes looked at."
        )
    if not found.parts:
        return f"Nothing that the model reads differs; {figure.address} is {before} in both."
    change = found.after - found.before
    if change == 0 and not any(part.value for part in found.parts):
        return words
    top = found.parts[0]
    way = "each change in every order" if found.exact else "changes in sampled orders, with the standard error behind each part"
    most = f"{top.player} moved it most, by {quantity(top.value, figure)}."
    return f"{words} {most} Parts are averages over {way}; they add up to the move."


MOST = 0.8  # of the uncertainty, that a few inputs are asked to explain


def carried(case: Case, found: Shares, figure: Wanted, held: Mapping[str, Sequence[str]], seed: int) -> list[str]:
    """Which inputs carry the uncertainty, and what to measure next."""
    if not found.variance:
        return [f"No uncertain input moves {figure.address}."]
    few = found.carrying(MOST)
    top = found.found[:5]
    whole = sum(share.total for share in found.found)
    sentences = [
        f"{len(few)} of {len(found.found)} groups of inputs carry {percent(MOST, 2)} of the uncertainty of {name_of(figure)} "
        f"(of the sum of total effects): {', '.join(share.name for share in few)}. The first {len(top)} carry "
        f"{percent(sum(share.total for share in top) / whole)}.",
        f"{found.runs:,} evaluations, seed {seed}.",
    ]
    if found.without:
        sentences.append(f"{percent(found.without, 2)} of the points are left out, as the figure has no value there.")
    unmeasured = [share for share in found.found if share.total > 0.01 and kinds_of(case, held[share.name]) != "measured"]
    if unmeasured:
        listed = "; ".join(
            f"{share.name} ({percent(share.total, 2)} of the variance, now {kinds_of(case, held[share.name])})"
            for share in unmeasured[:5]
        )
        sentences.append(f"Measure this next: {listed}.")
    else:
        sentences.append("All that carries more than 1 % of the variance is measured already.")
    return sentences


def risky(run: Run, figure: Wanted, found: Spread) -> str:
    """How a figure is spread over the draws that have a value, and why the others have none."""
    why = "".join(f"; {reason}: {percent(share, 2)}" for reason, share in reasons_of(run, figure).items())
    if found.without == 1.0:
        return f"{figure.address} has no value in any of {run.done:,} draws{why}."
    by = {quantile.share: quantile.value for quantile in found.quantiles}
    words = (
        f"{_begins(figure)} is {quantity(by[0.1], figure, 3)} to {quantity(by[0.9], figure, 3)} in eight draws of "
        f"ten{' that have a value' if found.without else ''}, in the middle {quantity(by[0.5], figure, 3)}; "
        f"with all inputs as they are it is {as_it_is(figure, 3)}."
    )
    if found.without:
        words += f" It has no value in {percent(found.without, 2)} of the draws, which are in no quantile{why}."
    return words


def drawn(run: Run) -> str:
    """How the draws were made, so that they can be made again."""
    how = "pseudo-random draws" if run.about["method"] == "random" else "scrambled Sobol points"
    return f"{run.done:,} {how}, seed {run.about['seed']}, case {run.about['fingerprint']}."
