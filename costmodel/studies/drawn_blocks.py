"""Blocks of draws: made one after the other here, or several at once by other processes, of this machine or of a cluster.

Whoever makes a block gives the same figures to the last bit, as a block depends on nothing but its number: the case, the seed and
the evaluator are the same for all.
"""

from __future__ import annotations

import dataclasses
import pickle
import socket
import threading
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from .. import __version__
from ..case.whole_case import Case
from ..core.faults import Fault, InputFaults
from ..model.readings.recording import evaluator
from .draws import Draws, check_together
from .many import CHUNK, PlantRecording, in_chunks, recorded

BLOCK = 8 * CHUNK  # draws made, checked and kept together
AHEAD = 2  # blocks that are asked of each process before the first is there


class Blocks:
    """Wanted figures of a case over blocks of draws. Raises InputFaults where the case or a row of ranges.csv cannot be drawn.

    >>> from costmodel.case.load import load_case
    >>> blocks = Blocks(load_case("inputs_demo/facade"), 7, "random", ["ledger.total.cost_per_m2"])
    >>> first, both = blocks.made(0, 2), blocks.made(1, 3)
    >>> bool(first["ledger.total.cost_per_m2"][1] == both["ledger.total.cost_per_m2"][0])
    True
    """

    def __init__(self, case: Case, seed: int, method: str, wanted: list[str]):
        self.case, self.seed, self.method, self.wanted = case, seed, method, wanted
        self.evaluator, self.version = evaluator(), __version__
        self._draws = Draws(case, seed, method)

    @cached_property
    def _recording(self) -> PlantRecording:
        return recorded(self.case, [row.address for row in self._draws.rows.values()], self.wanted)

    def made(self, start: int, stop: int) -> dict[str, np.ndarray]:
        """The figures of the draws from number `start` to before `stop`. Raises InputFaults for a draw that the case refuses."""
        values = self._draws.values(start, stop)
        check_together(self.case, values)
        return in_chunks(self._recording, values, self.wanted)

    def __reduce__(self) -> tuple[Any, ...]:
        return Blocks, (_bare(self.case), self.seed, self.method, self.wanted)


def _bare(case: Case) -> Case:
    """A case without what was made of it."""
    return dataclasses.replace(case, design=_bare(case.design) if case.design else None)


@lru_cache(maxsize=2)
def _unpacked(packed: bytes) -> tuple[Blocks, threading.Lock]:
    """The blocks that a process was sent, unpacked once, with a lock: a recording has one set of registers."""
    return pickle.loads(packed), threading.Lock()


def made_elsewhere(packed: bytes, start: int, stop: int, wanted_by: tuple[str, str]) -> dict[str, np.ndarray]:
    """A block, as a process of a pool or a cluster makes it. Raises InputFaults where that process would compute otherwise."""
    blocks, lock = _unpacked(packed)
    own = (blocks.evaluator, blocks.version)
    if own != wanted_by:
        found = f"evaluator {own[0]}, costmodel {own[1]}"
        allowed = f"those of this machine: {wanted_by[0]}, costmodel {wanted_by[1]}"
        raise InputFaults([Fault(f"process on {socket.gethostname()}", None, None, found, allowed)])
    with lock:
        return blocks.made(start, stop)


def in_order(
    blocks: Blocks, start: int, stop: int, size: int = BLOCK, pool: Executor | None = None, processes: int = 1
) -> Iterator[tuple[int, dict[str, np.ndarray]]]:
    """Each block's last draw and its figures, in order; with a pool, `AHEAD` blocks are asked of each of its processes."""
    ends = [(begin, min(begin + size, stop)) for begin in range(start, stop, size)]
    if pool is None:
        yield from ((end, blocks.made(begin, end)) for begin, end in ends)
        return
    packed, same = pickle.dumps(blocks), (blocks.evaluator, blocks.version)
    asked: deque[tuple[int, Future[dict[str, np.ndarray]]]] = deque()
    try:
        while ends or asked:
            while ends and len(asked) < AHEAD * processes:
                begin, end = ends.pop(0)
                asked.append((end, pool.submit(made_elsewhere, packed, begin, end, same)))
            end, block = asked[0]
            made = block.result()
            asked.popleft()
            yield end, made
    finally:
        for _, block in asked:
            block.cancel()


@contextmanager
def pool_of(processes: int, cluster: str) -> Iterator[tuple[Executor | None, int]]:
    """Who makes blocks, and how many of them: this process alone, so many of this machine, or the workers of a Dask scheduler.

    A worker of a cluster that dies is replaced by the others, or by one that the cluster starts. Raises InputFaults where there is
    no scheduler at the address, it has no worker, or the extra `cluster` is not installed.
    """
    if cluster:
        with _of_a_cluster(cluster) as found:
            yield found
    elif processes > 1:
        from concurrent.futures import ProcessPoolExecutor
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import get_context

        try:
            with ProcessPoolExecutor(processes, get_context("spawn")) as pool:
                yield pool, processes
        except BrokenProcessPool:
            raise _died("--processes", f"{processes}") from None
    else:
        yield None, 1


@contextmanager
def _of_a_cluster(address: str) -> Iterator[tuple[Executor, int]]:
    try:
        from distributed import Client, KilledWorker
    except ImportError:
        what = "the extra is not installed: pip install 'thin-film-costmodel[cluster]'"
        raise InputFaults([Fault("--cluster", None, None, f"'{address}'", what)]) from None
    try:
        client = Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError) as problem:
        allowed = "the address of a Dask scheduler that runs, as tcp://10.0.0.5:8786"
        raise InputFaults([Fault("--cluster", None, None, f"'{address}': {problem}", allowed)]) from None
    with client:
        workers = len(client.scheduler_info(n_workers=-1)["workers"])
        if not workers:
            raise InputFaults([Fault("--cluster", None, None, f"'{address}' has no worker", "a scheduler with workers")])
        try:
            yield client.get_executor(pure=False, retries=2), workers
        except KilledWorker:
            raise _died("--cluster", f"'{address}'") from None


def _died(option: str, value: str) -> InputFaults:
    found = f"{value}: a process that drew ended, as one does that lacks memory"
    return InputFaults([Fault(option, None, None, found, "fewer processes; with --keep what is drawn stays")])
