"""Risk: figures over draws of the uncertain inputs, in chunks that can be stopped and gone on with."""

from __future__ import annotations

import io
import json
import math
import time
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .. import __version__
from ..case.changes import with_values
from ..case.fingerprint import fingerprint
from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.whole_files import write_whole
from .draws import METHODS, Draws
from .many import CHUNK, Wanted, wanted_figures
from .plants import PlantRecording

BLOCK = 8 * CHUNK  # draws made, checked and kept together
QUANTILES = (0.05, 0.1, 0.5, 0.9, 0.95)
TWO_SIDED = 1.959963984540054  # standard deviations of a 95 % interval
MOST_DRAWS = 2**24
KEEP_EVERY = 5.0  # s

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Run:
    """What a risk run has found so far: each wanted figure over its first `done` draws, in base units.

    `about` says which run it is: seed, method, fingerprint of the case, version, figures.
    """

    figures: Mapping[str, np.ndarray]
    done: int
    asked: int
    about: Mapping[str, object]

    @property
    def finished(self) -> bool:
        """Whether all draws that were asked for are there."""
        return self.done == self.asked


def run_risk(
    case: Case,
    wanted: Sequence[str],
    draws: int,
    seed: int,
    method: str = "random",
    block: int = BLOCK,
    keep: Path | None = None,
    progress: Progress | None = None,
    recording: PlantRecording | None = None,
    stoppable: bool = False,
) -> Run:
    """Figures over draws of every input of ranges.csv; the case is taken as it is, frozen or sized anew in every draw.

    The same seed gives the same numbers, whatever figures are asked for and whatever the block. With `keep`, a file, finished
    blocks are kept there every few seconds, and a run that was stopped, or that wants more draws now, goes on from it to the
    numbers that it would have had. Ctrl-C ends the run, with what is finished kept; if `stoppable`, that is returned, for a caller
    that says how much of the run it is.

    A recording of the case with its ranges and these figures saves making one. Raises InputFaults, also for a draw that its
    input or the case refuses.

    >>> from costmodel.case.load import load_case
    >>> cost = "ledger.total.cost_per_m2"
    >>> run = run_risk(load_case("inputs_demo/facade"), [cost], draws=100, seed=1)
    >>> run.done, bool(run.figures[cost].std() > 0)
    (100, True)
    """
    _check_asked(draws, seed, method)
    wanted_figures(case, wanted)
    source = Draws(case, seed, method)
    addresses = [row.address for row in uncertain(case).values()]
    recording = recording or PlantRecording(case, addresses, wanted)
    about = {"seed": seed, "method": method, "fingerprint": fingerprint(case), "version": __version__, "figures": list(wanted)}
    begun = read_kept(keep, about) if keep and keep.exists() else {}
    found = {address: np.empty(draws) for address in wanted}
    done = min(draws, len(next(iter(begun.values())))) if begun else 0
    for address, values in begun.items():
        found[address][:done] = values[:done]
    kept, last = done, time.monotonic()

    def so_far() -> Run:
        """The run with the draws that are done."""
        return Run({address: values[:done] for address, values in found.items()}, done, draws, about)

    try:
        while done < draws:
            stop = min(done + block, draws)
            values = source.values(done, stop)
            check_together(case, values)
            for start in range(0, stop - done, CHUNK):
                part = slice(start, min(start + CHUNK, stop - done))
                made = recording.run({address: column[part] for address, column in values.items()})
                for address in wanted:
                    found[address][done + part.start : done + part.stop] = made[address]
            done = stop
            if keep and time.monotonic() - last > KEEP_EVERY:
                keep_run(keep, so_far())
                kept, last = done, time.monotonic()
            if progress:
                progress(done, draws)
    except KeyboardInterrupt:
        if not stoppable:
            raise
    finally:
        if keep and done > kept:
            keep_run(keep, so_far())
    return so_far()


def _check_asked(draws: int, seed: int, method: str) -> None:
    faults = []
    if method not in METHODS:
        faults.append(Fault("--method", None, None, f"'{method}'", f"one of {', '.join(METHODS)}"))
    if not 1 <= draws <= MOST_DRAWS:
        faults.append(Fault("--draws", None, None, f"{draws}", f"a whole number from 1 to {MOST_DRAWS:,}"))
    elif method == "sobol" and draws & (draws - 1):
        below = 1 << (draws.bit_length() - 1)
        faults.append(Fault("--draws", None, None, f"{draws} Sobol points", f"a power of two, as {below:,} or {2 * below:,}"))
    if seed < 0:
        faults.append(Fault("--seed", None, None, f"{seed}", "a whole number from 0"))
    if faults:
        raise InputFaults(faults)


def check_together(case: Case, values: Mapping[str, np.ndarray]) -> None:
    """Refuse draws which the case does not take together, naming the ranges that may be too wide."""
    try:
        with_values(case, values, "a draw of ranges.csv")
    except InputFaults as problem:
        raise InputFaults(
            [
                Fault(
                    f"{fault.file}, in a draw of ranges.csv",
                    fault.row,
                    fault.column,
                    fault.found,
                    f"{fault.allowed}{_narrower(case, fault)}",
                )
                for fault in problem.faults
            ]
        ) from None


def _narrower(case: Case, fault: Fault) -> str:
    place = f"{fault.file.removesuffix('.csv')}.{(fault.column or '').split('.')[0]}."
    rows = [identity for identity, row in case.ranges.items() if row.address.startswith(place)]
    return f", in every draw; ranges of this row: {', '.join(rows)}" if rows else ", in every draw"


def keep_run(path: Path, run: Run) -> None:
    """Keep finished draws in a file, which is never half written."""
    content = io.BytesIO()
    columns = {f"figure_{number}": values for number, values in enumerate(run.figures.values())}
    np.savez(content, allow_pickle=False, about=np.array(json.dumps(run.about)), **columns)
    write_whole(path, content.getvalue())


def read_kept(path: Path, known: Mapping[str, object]) -> dict[str, np.ndarray]:
    """The draws that a file keeps. Raises InputFaults where it is none, or of another run."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            about = json.loads(str(kept["about"]))
            columns = {address: kept[f"figure_{number}"] for number, address in enumerate(about["figures"])}
    except (OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile):
        raise InputFaults([Fault(str(path), None, None, "no file of kept draws", "one that --keep wrote, or a new name")]) from None
    faults = [
        Fault(str(path), None, name, f"{about.get(name)}", f"{value}, as asked for now; or another file")
        for name, value in known.items()
        if about.get(name) != value
    ]
    if faults:
        raise InputFaults(faults)
    return columns


@dataclass(frozen=True, slots=True)
class Quantile:
    """The value that a share of the draws lies below, and the 95 % interval that sampling leaves it."""

    share: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Spread:
    """How a figure is spread over the draws, in its base unit; `without` is the share of draws in which it has no value.

    Everything but `without` is over the draws with a value; NaN where there are none. The tenths are means of the lowest and of
    the highest tenth: the worst tenth is the one or the other.
    """

    draws: int
    without: float
    mean: float
    mean_error: float
    deviation: float
    quantiles: tuple[Quantile, ...]
    lowest_tenth: float
    highest_tenth: float


def spread(values: np.ndarray, shares: Sequence[float] = QUANTILES) -> Spread:
    """How values are spread. Intervals are those of independent draws; Sobol points are nearer as a rule.

    >>> spread(np.arange(101.0)).quantiles[2].value, spread(np.array([1.0, np.nan])).without
    (50.0, 0.5)
    """
    there = np.sort(values[~np.isnan(values)])
    count, without = len(there), 1.0 - len(there) / len(values)
    if not count:
        nothing = tuple(Quantile(share, math.nan, math.nan, math.nan) for share in shares)
        return Spread(len(values), without, math.nan, math.nan, math.nan, nothing, math.nan, math.nan)
    deviation = float(np.std(there, ddof=1)) if count > 1 else 0.0
    tenth = max(1, round(count / 10))
    return Spread(
        draws=len(values),
        without=without,
        mean=float(np.mean(there)),
        mean_error=deviation / math.sqrt(count),
        deviation=deviation,
        quantiles=tuple(_quantile(there, share) for share in shares),
        lowest_tenth=float(np.mean(there[:tenth])),
        highest_tenth=float(np.mean(there[-tenth:])),
    )


def _quantile(ordered: np.ndarray, share: float) -> Quantile:
    """A quantile with the interval between those draws whose ranks the binomial distribution bounds (95 %)."""
    count = len(ordered)
    reach = TWO_SIDED * math.sqrt(count * share * (1 - share))
    low = ordered[max(0, math.floor(count * share - reach) - 1)]
    high = ordered[min(count - 1, math.ceil(count * share + reach))]
    return Quantile(share, float(np.quantile(ordered, share)), float(low), float(high))


def reasons_of(run: Run, figure: Wanted) -> dict[str, float]:
    """The share of draws in which a figure has no value, for each reason; nothing where its status was not drawn with it."""
    status = run.figures.get(figure.status)
    found = {} if status is None else {reason: float(np.mean(status == code)) for code, reason in figure.reasons.items()}
    return {reason: share for reason, share in found.items() if share}


@dataclass(frozen=True, slots=True)
class Probability:
    """The share of draws that meet a target, with its 95 % interval; a draw in which the figure has no value does not."""

    share: float
    low: float
    high: float


def probability(values: np.ndarray, sign: str, target: float) -> Probability:
    """The probability that a figure is `>=` or `<=` a target, with Wilson's interval.

    >>> probability(np.array([1.0, 2.0, 3.0, np.nan]), ">=", 2.0).share
    0.5
    """
    with np.errstate(invalid="ignore"):
        met = float(np.mean(values >= target if sign == ">=" else values <= target))
    count, score = len(values), TWO_SIDED**2
    middle = (met + score / (2 * count)) / (1 + score / count)
    reach = TWO_SIDED * math.sqrt(met * (1 - met) / count + score / (4 * count**2)) / (1 + score / count)
    low = 0.0 if met == 0.0 else max(0.0, middle - reach)  # exactly, where rounding would leave a trace
    return Probability(met, low, 1.0 if met == 1.0 else min(1.0, middle + reach))


@dataclass(frozen=True, slots=True)
class Target:
    """A figure that is to be `>=` or `<=` a value, which is still a text as people write it."""

    figure: str
    sign: str
    value: str


def parse_target(written: str) -> Target:
    """A target from `FIGURE>=VALUE UNIT` or `FIGURE<=VALUE UNIT`. Raises InputFaults.

    >>> parse_target("ledger.total.cost_per_m2<=150 EUR/m2")
    Target(figure='ledger.total.cost_per_m2', sign='<=', value='150 EUR/m2')
    """
    for sign in (">=", "<="):
        figure, found, value = (part.strip() for part in written.partition(sign))
        if found and figure and value:
            return Target(figure, sign, value)
    raise InputFaults([Fault("--target", None, None, f"'{written}'", "FIGURE>=VALUE UNIT or FIGURE<=VALUE UNIT")])


def exceedance(values: np.ndarray, points: int = 200) -> tuple[np.ndarray, np.ndarray]:
    """The exceedance curve: values of a figure, and the share of all draws in which it is greater; draws without one are not.

    >>> exceedance(np.array([1.0, 2.0, 3.0]), points=3)[0].tolist()
    [1.0, 2.0, 3.0]
    """
    there = np.sort(values[~np.isnan(values)])
    if not len(there):
        return np.array([]), np.array([])
    at = np.quantile(there, np.linspace(0.0, 1.0, points))
    return at, (len(there) - np.searchsorted(there, at, side="right")) / len(values)
