"""Risk: figures over draws of the uncertain inputs, in blocks, so that a run can be stopped and resumed."""

from __future__ import annotations

import io
import json
import time
import zipfile
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .. import __version__
from ..case.fingerprint import fingerprint
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..core.whole_files import write_whole
from .drawn_blocks import BLOCK, Blocks, in_order
from .draws import METHODS
from .many import wanted_figures

MOST_DRAWS = 2**24
KEEP_EVERY = 5.0  # s


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
        """Whether all requested draws are done."""
        return self.done == self.asked


@dataclass(frozen=True)
class Watch:
    """How a run is followed. `keep`: a file in which finished blocks are kept every few seconds, and from which a run resumes.

    `progress` is called after each block with draws done and requested; `stoppable`: whether Ctrl-C returns what is finished.
    `pool` makes blocks in so many `processes`, to the same figures; none: they are made here.
    """

    keep: Path | None = None
    progress: Callable[[int, int], None] | None = None
    stoppable: bool = False
    pool: Executor | None = None
    processes: int = 1


UNWATCHED = Watch()


def run_risk(
    case: Case, wanted: Sequence[str], draws: int, seed: int, method: str = "random", block: int = BLOCK, watch: Watch = UNWATCHED
) -> Run:
    """Figures over draws of every uncertain input of ranges.csv; the case is taken as it is, frozen or sized anew in every draw.

    The same seed gives the same numbers, whatever figures are computed and whatever the block. A run that was stopped, or that
    wants more draws now, resumes from the file that keeps it, to the numbers that it would have had. Ctrl-C ends a run, with
    what is finished kept. Raises InputFaults, also for a draw that its input or the case refuses.

    >>> from costmodel.case.load import load_case
    >>> cost = "ledger.total.cost_per_m2"
    >>> run = run_risk(load_case("inputs_demo/facade"), [cost], draws=100, seed=1)
    >>> run.done, bool(run.figures[cost].std() > 0)
    (100, True)
    """
    _check_asked(draws, seed, method)
    wanted_figures(case, wanted)
    blocks = Blocks(case, seed, method, list(wanted))
    about = {"seed": seed, "method": method, "fingerprint": fingerprint(case), "version": __version__, "figures": list(wanted)}
    begun = read_kept(watch.keep, about) if watch.keep and watch.keep.exists() else {}
    done = min(draws, len(next(iter(begun.values())))) if begun else 0
    found = {address: np.concatenate([begun.get(address, np.empty(0))[:done], np.empty(draws - done)]) for address in wanted}
    kept, last = done, time.monotonic()

    def so_far() -> Run:
        """The run with the draws that are done."""
        return Run({address: made[:done] for address, made in found.items()}, done, draws, about)

    try:
        for stop, made in in_order(blocks, done, draws, block, watch.pool, watch.processes):
            for address, values in made.items():
                found[address][done:stop] = values
            done = stop
            if watch.keep and time.monotonic() - last > KEEP_EVERY:
                keep_run(watch.keep, so_far())
                kept, last = done, time.monotonic()
            if watch.progress:
                watch.progress(done, draws)
    except KeyboardInterrupt:
        if not watch.stoppable:
            raise
    finally:
        if watch.keep and done > kept:
            keep_run(watch.keep, so_far())
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


def keep_run(path: Path, run: Run) -> None:
    """Keep finished draws in a file, which is never half written."""
    content = io.BytesIO()
    columns = {f"figure_{number}": values for number, values in enumerate(run.figures.values())}
    np.savez(content, allow_pickle=False, about=np.array(json.dumps(run.about)), **columns)
    write_whole(path, content.getvalue(), own=True)


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
