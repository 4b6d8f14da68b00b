"""Draws on a scheduler of this machine with two workers, one of which is killed after the first block.

Run as `python -m tests.on_cluster`, in a process of its own as the library has threads and warnings of its own. Prints as JSON what
came of it.
"""

from __future__ import annotations

import json
import os
import signal

import numpy as np
from distributed import LocalCluster

from costmodel.studies.drawn_blocks import pool_of
from costmodel.studies.risk import Watch, run_long, run_risk

from .cases import DEMO, demo
from .running import run

NPV = "plan.project.npv"
DRAWS, BLOCK = 1000, 50


def main() -> None:
    """Draw with two workers, then with what is left of them, and by the command."""
    killed: list[int] = []

    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:

        def kill_one(_made: int, _asked: int) -> None:
            if not killed:
                killed.append(cluster.workers[0].pid)
                os.kill(killed[0], signal.SIGKILL)

        with pool_of(1, cluster.scheduler_address) as (pool, processes):
            found = run_long(demo(), [NPV], DRAWS, 5, block=BLOCK, watch=Watch(progress=kill_one, pool=pool, processes=processes))
        words = ["risk", DEMO, "--figure", NPV, "--draws", "200", "--json"]
        by_command = run(*words, "--cluster", cluster.scheduler_address)
    here = run_risk(demo(), [NPV], DRAWS, 5, block=BLOCK)
    print(json.dumps({
        "processes": processes, "killed": len(killed), "finished": found.finished,
        "same": np.asarray(found.figures[NPV]).tobytes() == here.figures[NPV].tobytes(),
        "same by command": by_command.output == run(*words).output,
    }))  # fmt: skip


if __name__ == "__main__":
    main()
