"""Looks for slips in copies of the package, each in a process of its own that has what all need imported already.

Run as `python tests/seeded_runner.py FOLDER=FILE ...`: each folder holds a copy of the package, FILE is where its slip stands, or
nothing. What is found in a copy stands in `found.json` of its folder afterwards; a look that fails leaves its error in `error.txt`.
"""

from __future__ import annotations

import json
import os
import sys
import traceback
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
NEEDED = ("numpy", "pandas", "pint", "pydantic", "pytest", "scipy.optimize", "scipy.special", "scipy.stats", "hypothesis", "yaml")


def look_in(folder: Path, file: str) -> None:
    """Look in one copy and write what is found; the package of the folder is imported here for the first time."""
    sys.path[:0] = [str(folder), str(ROOT)]
    os.chdir(folder)
    from tests.seeded_faults import look

    (folder / "found.json").write_text(json.dumps(look(folder, file)), encoding="utf-8")


def run(asked: list[tuple[Path, str]], processes: int) -> None:
    """Look in all of them, so many at a time."""
    running: set[int] = set()
    for folder, file in asked:
        if len(running) == processes:
            running.discard(os.wait()[0])
        child = os.fork()
        if child:
            running.add(child)
            continue
        try:
            look_in(folder, file)
        except BaseException:
            (folder / "error.txt").write_text(traceback.format_exc(), encoding="utf-8")
        os._exit(0)
    while running:
        running.discard(os.wait()[0])


if __name__ == "__main__":
    sys.path = [path for path in sys.path if Path(path or ".").resolve() not in (ROOT, ROOT / "tests")]
    sys.dont_write_bytecode = True
    os.environ["COSTMODEL_EVALUATOR"] = "numpy"  # the other one would be compiled anew for each copy
    for name in NEEDED:
        __import__(name)
    pairs = [each.rpartition("=")[::2] for each in sys.argv[1:]]
    run([(Path(folder), file) for folder, file in pairs], processes=len(os.sched_getaffinity(0)))
