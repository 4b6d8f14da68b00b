"""Processor time of the commands against the import of their libraries; run with `python -m tests.benchmark_commands`.

Each command runs in a process of its own, in turns with the import; medians are held against each other. No test asserts a time.
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from .cases import DEMO

IMPORT = "import click, numpy, pint, pydantic, rich.console, rich.table, scipy.special, yaml"  # what every command of a case loads
TURNS = 3
SILANE, PRICE = "prices.silane.price", "sales.facade.price"
COMMANDS = {
    "check": ["check", DEMO],
    "line": ["line", DEMO],
    "cost": ["cost", DEMO],
    "cost size": ["cost", DEMO, "size"],
    "cost choices": ["cost", DEMO, "choices"],
    "cost buying": ["cost", DEMO, "buying"],
    "market": ["market", DEMO],
    "plan": ["plan", DEMO],
    "plan, no draws": ["plan", DEMO, "--draws", "0"],
    "deal": ["deal", DEMO],
    "deal, no draws": ["deal", DEMO, "--draws", "0"],
    "compare": ["compare", DEMO, "--set", f"{SILANE}=80 USD/kg"],
    "compare scenarios": ["compare", DEMO, "--all-scenarios"],
    "waterfall": ["waterfall", DEMO, "--set", f"{SILANE}=80 USD/kg"],
    "sweep": ["sweep", DEMO, "--vary", f"{SILANE}=40..120 USD/kg"],
    "solve": ["solve", DEMO, "--input", PRICE, "--figure", "plan.project.npv", "--value", "0"],
    "rank": ["rank", DEMO],
    "rank tornado": ["rank", DEMO, "tornado"],
    "risk": ["risk", DEMO, "--draws", "1000"],
    "explain": ["explain", DEMO],
    "guide": ["guide"],
}


def processor_time(words):
    """What a process of its own takes of the processor, in s."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *map(str, words)], check=True, capture_output=True, env=_environment())
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _environment():
    """That of this process, with compiled modules kept, as they are where the program is installed."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {"PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "costmodel_benchmark")} | kept


def main():
    wanted = sys.argv[1:] or list(COMMANDS)
    print(f"{IMPORT}\ncommand, s of the processor, times the import; medians of {TURNS} turns")
    for name in wanted:
        processor_time(["-m", "costmodel", *COMMANDS[name]])  # modules compiled, files in memory
        turns = [(processor_time(["-c", IMPORT]), processor_time(["-m", "costmodel", *COMMANDS[name]])) for _ in range(TURNS)]
        floor, took = (statistics.median(each) for each in zip(*turns))
        print(f"{name:18} {took:6.2f} {took / floor:6.1f}", flush=True)


if __name__ == "__main__":
    main()
