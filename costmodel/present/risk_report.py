"""How figures spread over draws, and which inputs carry that: sentences and tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..case.whole_case import Case
from ..studies.many import Wanted
from ..studies.risk import Run
from ..studies.spread import Probability, Spread, reasons_of
from ..studies.variance import Pairs, Shares
from .inputs_report import input_name
from .numbers import hundredths, many, percent
from .study_report import as_it_is, begins, figure_label, name_of, quantity, shown
from .table import Table, table_of

MOST = 0.8  # of the uncertainty, that a few inputs explain
SAMPLING = (
    "In brackets the 95 % interval of sampling, for independent draws; Sobol points are nearer as a rule. Errors of ranges and "
    "model are not in it."
)


def kinds_of(case: Case, rows: Sequence[str]) -> str:
    """How well the inputs of some rows of ranges.csv are known."""
    return ", ".join(dict.fromkeys(case.evidence[case.ranges[row].address.rsplit(".", 1)[0]].kind for row in rows))


def carried(case: Case, found: Shares, figure: Wanted, held: Mapping[str, Sequence[str]], seed: int) -> list[str]:
    """Which inputs carry the uncertainty, and what to measure next."""
    if not found.variance:
        return [f"No uncertain input moves {name_of(figure)}."]
    few = found.carrying(MOST)
    top = found.found[:5]
    whole = sum(share.total for share in found.found)
    sentences = [
        f"{len(few)} of {len(found.found)} groups of inputs {_carry(few)} {percent(MOST, 2)} of the uncertainty of "
        f"{name_of(figure)} (of the sum of total effects): {', '.join(share.name for share in few)}. The first {len(top)} carry "
        f"{percent(sum(share.total for share in top) / whole, 2)}.",
        f"{found.runs:,} evaluations, seed {seed}.",
    ]
    if found.without:
        sentences.append(f"{percent(found.without, 2)} of the points are left out, as the figure has no value there.")
    unmeasured = [share for share in found.found if share.total > 0.01 and kinds_of(case, held[share.name]) != "measured"]
    if unmeasured:
        listed = ", ".join(f"{share.name} ({percent(share.total, 2)})" for share in unmeasured[:5])
        sentences.append(f"Measure next, by their part of the variance: {listed}.")
    else:
        sentences.append("All groups with more than 1 % of the variance are measured already.")
    return sentences


def _carry(several: Sequence[Any]) -> str:
    """The verb of one, or of several."""
    return "carries" if len(several) == 1 else "carry"


def risky(run: Run[Any], figure: Wanted, found: Spread) -> str:
    """How a figure is spread over the draws that have a value, and why the others have none."""
    why = "".join(f"; {reason}: {percent(share, 2)}" for reason, share in reasons_of(run, figure).items())
    if found.without == 1.0:
        return f"{begins(figure)} has no value in any of {run.done:,} draws{why}."
    quantiles = {quantile.share: quantile for quantile in found.quantiles}
    by = {share: quantile.value for share, quantile in quantiles.items()}
    words = (
        f"{begins(figure)} is {quantity(by[0.1], figure, 3)} to {quantity(by[0.9], figure, 3)} in 80 % of the draws"
        f"{' that have a value' if found.without else ''} (P10 to P90), with a median of {quantity(by[0.5], figure, 3)}. "
        f"With all inputs as they are it is {as_it_is(figure, 3)}."
    )
    ends = {share: f"{shown(x.low, figure.unit)} to {shown(x.high, figure.unit)}" for share, x in quantiles.items()}
    words += f" Sampling leaves P10 at {ends[0.1]}, the median at {ends[0.5]}, P90 at {ends[0.9]} (95 %)."
    if found.without:
        words += f" It has no value in {percent(found.without, 2)} of the draws, which are in no quantile{why}."
    return words


def drawn(run: Run[Any]) -> str:
    """How the draws were made, so that they can be made again."""
    how = "pseudo-random draws" if run.about["method"] == "random" else "scrambled Sobol points"
    return f"{run.done:,} {how}, seed {run.about['seed']}, case {run.about['fingerprint']}."


def rank_table(case: Case, found: Shares, held: Mapping[str, tuple[str, ...]]) -> Table:
    """Shares of the variance by block, with their intervals, and the inputs of each block."""
    columns = {
        "group": lambda x: x.name,
        "total": lambda x: f"{percent(x.total)} ± {hundredths(x.total_error, 2)}",
        "alone": lambda x: f"{percent(x.first)} ± {hundredths(x.first_error, 2)}",
        "kind": lambda x: kinds_of(case, held[x.name]),
        "inputs": lambda x: ", ".join(input_name(case, case.ranges[row].address) for row in held[x.name]),
    }
    note = (
        "Share of the variance. Total: with all that a group does together with others. Alone: without. Behind ±: half the 95 % "
        "interval, by bootstrap. Groups that correlations.csv ties are one."
    )
    return table_of("What carries the uncertainty", ((x,) for x in found.found), columns, note=note, texts=(0, 3, 4))


def together(found: Pairs, figure: Wanted, seed: int) -> list[str]:
    """What pairs of groups carry together, in sentences."""
    if not found.variance:
        return [f"No uncertain input moves {name_of(figure)}."]
    sure = [pair for pair in found.found if pair.share > pair.error]
    whole = sum(pair.share for pair in sure)
    named = "; ".join(f"{pair.one} with {pair.two}, {percent(pair.share, 2)}" for pair in sure[:3])
    words = (
        f"{many(len(sure), 'pair')} of {len(found.found)} {_carry(sure)} a share above its sampling error. In all "
        f"it is {percent(whole, 2)} of the variance of {name_of(figure)}: {named}."
        if sure
        else f"No pair of {len(found.found)} carries a share of the variance of {name_of(figure)} above its sampling error."
    )
    left = [f"{percent(found.without, 2)} of the points are left out, as the figure has no value there."] if found.without else []
    return [words, f"{found.runs:,} evaluations, seed {seed}.", *left]


def pairs_table(found: Pairs, most: int = 15) -> Table:
    """The pairs with the largest shares, with their intervals."""
    columns = {
        "group": lambda x: x.one,
        "with": lambda x: x.two,
        "together": lambda x: f"{percent(x.share)} ± {hundredths(x.error, 2)}",
    }
    note = "Share of the variance beyond what each carries alone. Behind ±: half the 95 % interval, by bootstrap."
    if len(found.found) > most:
        note += f" The {most} largest of {len(found.found)} pairs."
    return table_of("What pairs carry together", ((x,) for x in found.found[:most]), columns, note=note, texts=(0, 1))


def risk_table(figures: Mapping[str, Wanted], spreads: Mapping[str, Spread]) -> Table:
    """Quantiles of each figure with what sampling leaves open; a column for each figure."""
    quantiles = [f"P{100 * q.share:g}" for q in next(iter(spreads.values())).quantiles]
    rows: dict[str, list[str]] = {}
    for name in ("as it is", "mean", *quantiles, "lowest tenth, mean", "highest tenth, mean", "without a value"):
        rows[name] = []
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
    called = [name_of(figures[address]) for address in spreads]
    columns = ["", *(figure_label(figures[a], "" if called.count(name) == 1 else a) for a, name in zip(spreads, called))]
    return Table("Spread over the draws", columns, [[name, *cells] for name, cells in rows.items()], note=note)


def target_table(probabilities: Mapping[str, Probability]) -> Table:
    """The probability to meet each target."""
    columns = {
        "target": lambda target, found: target,
        "probability": lambda _, found: percent(found.share),
        "95 % interval of sampling": lambda _, found: f"{percent(found.low)} to {percent(found.high)}",
    }
    note = "A draw in which the figure has no value does not meet the target."
    return table_of("Probability to meet a target", probabilities.items(), columns, note=note)
