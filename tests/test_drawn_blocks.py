"""Draws that several processes make: the same figures to the last bit, whoever makes them and whoever dies meanwhile."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from costmodel.core.faults import Fault, InputFaults
from costmodel.studies.drawn_blocks import Blocks, made_elsewhere, pool_of
from costmodel.studies.kept_draws import KeptFigure
from costmodel.studies.risk import Run, Watch, run_long

from .cases import DEMO, ROOT, demo
from .running import run

NPV = "plan.project.npv"
DRAWS, BLOCK = 1000, 50


def drawn(watch: Watch) -> Run[KeptFigure]:
    """A thousand draws of the demo in twenty blocks."""
    return run_long(demo(), [NPV], DRAWS, 5, block=BLOCK, watch=watch)


def same(one: Run[KeptFigure], other: Run[KeptFigure]) -> bool:
    """Whether two runs have the same draws to the last bit."""
    return one.finished and other.finished and np.asarray(one.figures[NPV]).tobytes() == np.asarray(other.figures[NPV]).tobytes()


@pytest.mark.slow
def test_blocks_of_others_are_those_made_here_and_come_in_order():
    with ThreadPoolExecutor(3) as pool:
        done: list[int] = []
        run_of_others = drawn(Watch(progress=lambda made, _: done.append(made), pool=pool, processes=3))
    assert done == list(range(BLOCK, DRAWS + 1, BLOCK))
    assert same(run_of_others, drawn(Watch()))


def test_what_is_sent_is_the_case_without_what_was_made_of_it():
    made = Blocks(demo(), 5, "random", [NPV])
    bare = len(pickle.dumps(made))
    made.made(0, 4)
    assert len(pickle.dumps(made)) == bare < 1e6


def test_a_process_that_computes_otherwise_is_refused():
    packed = pickle.dumps(Blocks(demo(), 5, "random", [NPV]))
    with pytest.raises(InputFaults, match=r"process on .*costmodel .*; allowed: those of this machine: numpy, costmodel 0\.1"):
        made_elsewhere(packed, 0, 4, ("numpy", "0.1"))


def test_faults_come_whole_from_another_process():
    faults = InputFaults([Fault("ranges.csv", 3, "low", "'-1'", "0 or more")])
    again = pickle.loads(pickle.dumps(faults))
    assert (again.faults, str(again)) == (faults.faults, str(faults))


@pytest.mark.slow
def test_two_processes_give_the_figures_of_one():
    words = ["risk", DEMO, "--figure", NPV, "--draws", "200", "--json"]
    assert run(*words, "--processes", "2").output == run(*words).output


@pytest.mark.slow
def test_a_process_that_dies_is_named_with_what_to_do():
    def draw_and_die() -> None:
        with pool_of(2, "") as (pool, _):
            assert pool is not None
            pool.submit(os._exit, 3).result()

    with pytest.raises(InputFaults, match="a process that drew ended"):
        draw_and_die()


def test_processes_and_a_cluster_exclude_each_other():
    told = run("risk", DEMO, "--processes", "2", "--cluster", "tcp://127.0.0.1:1")
    assert told.exit_code == 2
    assert "--processes beside --cluster" in told.output


@pytest.mark.slow
@pytest.mark.parametrize(("address", "why"), [("tcp://127.0.0.1:1", "Timed out"), ("nowhere", "nowhere")])
def test_an_address_without_a_scheduler_is_refused(address, why):
    told = in_a_process("costmodel", "risk", str(DEMO), "--cluster", address)
    assert told.returncode == 2
    assert told.stderr.startswith("1 fault in the inputs\n--cluster")
    assert why in told.stderr


@pytest.mark.slow
def test_a_cluster_gives_the_same_figures_though_a_worker_is_killed():
    told = in_a_process("tests.on_cluster")
    found = {"processes": 2, "killed": 1, "finished": True, "same": True, "same by command": True}
    assert json.loads(told.stdout.splitlines()[-1]) == found, told.stderr


def in_a_process(*words: str) -> subprocess.CompletedProcess[str]:
    """What a module prints that runs in a process of its own, as the library for clusters has threads and warnings of its own."""
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, timeout=600)


def test_without_the_extra_the_option_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    told = run("risk", DEMO, "--cluster", "tcp://127.0.0.1:1")
    assert told.exit_code == 2
    assert "pip install 'thin-film-costmodel[cluster]'" in told.output
