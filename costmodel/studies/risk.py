"""Risk: figures over draws of the uncertain inputs, in blocks, so that a run can be stopped and resumed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

import numpy as np

from .. import __version__
from ..case.fingerprint import fingerprint
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from .drawn_blocks import BLOCK, Blocks, in_order
from .draws import METHODS
from .kept_draws import KeptDraws, KeptFigure
from .many import wanted_figures

MOST_DRAWS = 2**24
Drawn = TypeVar("Drawn", np.ndarray, KeptFigure)


@dataclass(frozen=True)
class Run(Generic[Drawn]):
    """What a risk run has found so far: each wanted figure over its first `done` draws, in base units.

    `about` says which run it is: seed, method, fingerprint of the case, version, figures.
    """

    figures: Mapping[str, Drawn]
    done: int
    asked: int
    about: Mapping[str, object]

    @property
    def finished(self) -> bool:
        """Whether all requested draws are done."""
        return self.done == self.asked


@dataclass(frozen=True)
class Watch:
    """How a long run is followed. `keep`: a file in which draws are kept block by block, and from which a run resumes.

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
    case: Case, wanted: Sequence[str], draws: int, seed: int, method: str = "random", block: int = BLOCK
) -> Run[np.ndarray]:
    """Figures over draws of every uncertain input of ranges.csv; the case is taken as it is, frozen or sized anew in every draw.

    The same seed gives the same numbers, whatever figures are computed and whatever the block. Raises InputFaults, also for a
    draw that its input or the case refuses.

    >>> from costmodel.case.load import load_case
    >>> cost = "ledger.total.cost_per_m2"
    >>> run = run_risk(load_case("inputs_demo/facade"), [cost], draws=100, seed=1)
    >>> run.done, bool(run.figures[cost].std() > 0)
    (100, True)
    """
    blocks, about = _begun(case, wanted, draws, seed, method)
    found = {address: np.empty(draws) for address in wanted}
    for stop, made in in_order(blocks, 0, draws, block):
        for address, values in made.items():
            found[address][stop - len(values) : stop] = values
    return Run(found, draws, draws, about)


def run_long(
    case: Case, wanted: Sequence[str], draws: int, seed: int, method: str = "random", block: int = BLOCK, watch: Watch = UNWATCHED
) -> Run[KeptFigure]:
    """The same draws and figures, kept in a file: memory does not grow with them.

    A run that was stopped, or that wants more draws now, resumes from the file that keeps it, to the numbers that it would have
    had. Ctrl-C ends a run, with what is finished kept. Raises InputFaults, also for a draw that its input or the case refuses,
    and OSError where draws cannot be kept.

    >>> from costmodel.case.load import load_case
    >>> cost = "ledger.total.cost_per_m2"
    >>> run = run_long(load_case("inputs_demo/facade"), [cost], draws=100, seed=1)
    >>> run.done, len(run.figures[cost]), run.finished
    (100, 100, True)
    """
    blocks, about = _begun(case, wanted, draws, seed, method)
    kept = KeptDraws(watch.keep, about)
    try:
        for stop, made in in_order(blocks, kept.done, draws, block, watch.pool, watch.processes):
            kept.append(made)
            if watch.progress:
                watch.progress(stop, draws)
    except KeyboardInterrupt:
        if not watch.stoppable:
            raise
    return Run(kept.figures(draws), min(kept.done, draws), draws, about)


def _begun(case: Case, wanted: Sequence[str], draws: int, seed: int, method: str) -> tuple[Blocks, dict[str, object]]:
    """The blocks of a run, and which run it is. Raises InputFaults."""
    _check_asked(draws, seed, method)
    wanted_figures(case, wanted)
    about = {"seed": seed, "method": method, "fingerprint": fingerprint(case), "version": __version__, "figures": list(wanted)}
    return Blocks(case, seed, method, list(wanted)), about


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
