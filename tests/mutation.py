"""Changes the rules of the model by machine, one place at a time, and looks which changes no test finds.

    python -m tests.mutation [--seed N] [--each 40] [--part plan ...] [--file zone ...] [--jobs 2] [--seconds S --finish]
                             [--out FILE] [--again FILE]

A mutant is one changed place in one function: another operator, a swapped factor, a dropped term, a place of a row off by one, a
neighbouring field, a condition the other way round. The tests are collected once; for each mutant a process forks, in which the
code of the function is exchanged, and runs the examples of its own file, its equation on random numbers, then the tests of `QUICK`,
up to the first failure: those that import its file before those of `FIRST_OF_FILE` and `FIRST`, these before the others. A fresh
process with a fresh import for each mutant, as libraries for this have it, would take several times as long. With `--seconds`, what
the tests of so much processor time do not find has no verdict: it is named apart, and `--finish` runs it with all tests at the end.
The unchanged package is run too, unless `--only-mutants` says that it was: no test may fail in it. Results are written after each
mutant, so a long run may be looked at and stopped.

Printed are the mutants that no test finds, each with its line as it was and as it became, and for each part how many were found.
`EQUIVALENT` names those that compute the same by another way, with the reason; they are counted apart.
"""

from __future__ import annotations

import argparse
import ast
import functools
import gc
import json
import math
import os
import random
import resource
import sys
import time
import types
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import pytest

from .mutants_of_code import ROOT, CodeMutant, code_of, mutants_of

PACKAGE = ROOT / "costmodel"
PARTS = {
    "line": "model/line", "ledger": "model/ledger", "market": "model/market", "plan": "model/plan", "deal": "model/deal",
    "negotiation": "studies/negotiation",
}  # fmt: skip
QUICK = (  # those first that find most for their time
    "test_hand_worked", "test_hand_worked_batch", "test_hand_worked_films", "test_power_classes", "test_plan_edges",
    "test_openings", "test_hand_worked_negotiation", "test_conventions", "test_market_limits", "test_market", "test_second_model",
    "test_check_values", "test_hand_worked_terms",
    "test_laws", "test_growth", "test_closing", "test_ledger_views", "test_soaking", "test_technical_life", "test_handbook",
    "test_identities", "test_no_value", "test_roots", "test_series", "test_choices", "test_rounds", "test_comparison",
    "test_probabilities", "test_plan", "test_deal_money", "test_deal", "test_simulation", "test_risk", "test_services",
    "test_promises", "test_transfer", "test_warranty", "test_laboratory", "test_supplied",
)  # fmt: skip
FIRST = {  # by part: tests that find most of its mutants
    "model/ledger": ("test_hand_worked", "test_hand_worked_batch", "test_hand_worked_films", "test_ledger_views", "test_soaking"),
    "model/market": ("test_market", "test_market_limits"),
    "model/plan": ("test_second_model",),
    "model/deal": ("test_second_model",),
    "studies/negotiation": ("test_hand_worked_negotiation", "test_rounds", "test_deal", "test_deal_money", "test_probabilities"),
}
FIRST_OF_FILE = {  # by a part of the file's name: tests before those
    "service": ("test_services",), "promise": ("test_promises",), "guarantee": ("test_promises", "test_deal", "test_transfer"),
    "transfer": ("test_transfer",), "warranty": ("test_warranty",), "ageing": ("test_warranty",),
    "laborator": ("test_laboratory",), "supplied": ("test_supplied",),
}  # fmt: skip
LAST = (  # whole commands on whole cases, which take long
    "test_each_study_starts_from_the_figure", "test_the_command_answers_in_words", "test_an_empty_zone", "test_a_hopeless_case",
    "test_documents_state_how_many", "test_what_is_supposed_is_not_drawn",
)  # fmt: skip
MOST_SECONDS = 600  # of processor time for one mutant, all tests take 150; what takes longer runs without end, and is found by that
TIME_ENDED = "TIME ENDED"  # before all tests had run: no verdict

EQUIVALENT: dict[str, str] = json.loads((Path(__file__).parent / "equivalent_mutants.json").read_text(encoding="utf-8"))


@dataclass
class Verdict:
    """What became of a mutant: the test that found it, or nothing."""

    mutant: CodeMutant
    by: str
    seconds: float


def drawn(part: str, each: int, seed: int, files: Sequence[str] = ()) -> list[CodeMutant]:
    """So many mutants of a part, drawn at random from all of its files alike, or from those whose names are given."""
    paths = [path for path in sorted((PACKAGE / PARTS[part]).glob("*.py")) if not files or path.stem in files]
    found = [mutant for path in paths for mutant in mutants_of(path)]
    return random.Random(f"{seed} {part}").sample(found, min(each, len(found)))


@functools.cache
def functions() -> dict[tuple[str, str, int], list[types.FunctionType]]:
    """All functions of this process by file, name and first line; found once, before any process forks."""
    found: dict[tuple[str, str, int], list[types.FunctionType]] = {}
    for each in gc.get_objects():
        if isinstance(each, types.FunctionType):
            code = each.__code__
            found.setdefault((code.co_filename, code.co_qualname, code.co_firstlineno), []).append(each)
    return found


def exchange(mutant: CodeMutant) -> bool:
    """Give the functions of this process the changed code; whether there was one."""
    path = ROOT / mutant.file
    new = code_of(mutant.source(), path, mutant.function, mutant.first_line)
    changed = functions().get((str(path), mutant.function, mutant.first_line), [])
    for each in changed:
        each.__code__ = new
    return bool(changed)


@functools.cache
def imported(test: str) -> frozenset[str]:
    """The last names of the modules of the package that a file of tests imports."""
    tree = ast.parse((ROOT / "tests" / f"{test}.py").read_text(encoding="utf-8"))
    found = [each for each in ast.walk(tree) if isinstance(each, ast.ImportFrom) and (each.module or "").startswith("costmodel")]
    return frozenset(name for each in found for name in (each.module.rpartition(".")[2], *(alias.name for alias in each.names)))


def in_order(mutant: CodeMutant, items: Sequence[pytest.Item]) -> list[pytest.Item]:
    """The examples of the file, its equation on random numbers, tests that import it or are first for its part, all others."""
    file = Path(mutant.file)
    rule = f"of_random_numbers[{'.'.join(file.with_suffix('').parts[2:])}.{mutant.function}]"
    of_file = [name for name in QUICK if file.stem in imported(name)]
    of_file += [name for word, names in FIRST_OF_FILE.items() if word in file.stem for name in names]
    first = [f"tests/{name}.py" for name in (*of_file, *FIRST.get("/".join(file.parts[1:3]), ()))]

    def place(item: pytest.Item) -> int:
        of, _, name = item.nodeid.partition("::")
        if of == mutant.file or item.nodeid.endswith(rule):
            return 0
        if name.startswith(LAST):
            return len(first) + 3
        return 1 + first.index(of) if of in first else len(first) + (2 if of.startswith("tests/") else 1)

    return sorted(items, key=place)


class Loop:
    """Takes the place of pytest's own loop over the tests: first all tests as they are, then each mutant in a fork."""

    def __init__(self, asked: argparse.Namespace, mutants: Sequence[CodeMutant]) -> None:
        self.mutants, self.jobs, self.seconds, self.out = mutants, asked.jobs, asked.seconds, asked.out
        self.unchanged, self.finish = not asked.only_mutants, asked.finish
        self.began = 0.0
        self.failed = ""
        self.verdicts: list[Verdict] = []

    def pytest_runtest_logreport(self, report: Any) -> None:
        """Note the first failure."""
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """The loop."""
        files: dict[str, list[pytest.Item]] = {}
        for item in session.items:
            files.setdefault(item.nodeid.partition("::")[0], []).append(item)
        functions()
        self.run_all([*([None] if self.unchanged else []), *self.mutants], files)
        ended = [each for each in self.verdicts if each.by == TIME_ENDED and each.mutant.key not in EQUIVALENT]
        if self.finish and ended:
            self.verdicts = [each for each in self.verdicts if each not in ended]
            self.seconds = math.inf
            self.run_all([each.mutant for each in ended], files)
        return True

    def run_all(self, mutants: Sequence[CodeMutant | None], files: dict[str, list[pytest.Item]]) -> None:
        """Take the verdict of each, as many at a time as there are jobs; None is the unchanged package."""
        running: dict[int, tuple[CodeMutant | None, int]] = {}
        for number, mutant in enumerate(mutants):
            if len(running) == self.jobs:
                self.wait_for_one(running)
            read, write = os.pipe()
            child = os.fork()
            if not child:
                os.close(read)
                self.in_fork(write, mutant, files)
            os.close(write)
            running[child] = (mutant, read)
            print(f"{number} of {len(mutants)}", end="\r", file=sys.stderr)
        while running:
            self.wait_for_one(running)

    def wait_for_one(self, running: dict[int, tuple[CodeMutant | None, int]]) -> None:
        """Take the verdict of the next process that ends."""
        child, status, used = os.wait3(0)
        mutant, read = running.pop(child)
        with os.fdopen(read, "rb") as told:
            text = told.read().decode()
        if status and not text:
            text = f"ends with {status}"
        if mutant is None:
            if text:
                raise pytest.UsageError(f"{text} fails in the unchanged package")
            return
        self.verdicts.append(Verdict(mutant, text, used.ru_utime + used.ru_stime))
        if self.out:
            rows = [asdict(x.mutant) | {"key": x.mutant.key, "by": x.by, "seconds": x.seconds} for x in self.verdicts]
            self.out.write_text(json.dumps(rows, indent=1), encoding="utf-8")

    def in_fork(self, write: int, mutant: CodeMutant | None, files: dict[str, list[pytest.Item]]) -> None:
        """Exchange the code and run the tests up to the first failure; ends the process."""
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))  # a mutant may run without end
        self.began = time.process_time()
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        try:
            if mutant is None:
                self.run([item for some in files.values() for item in some], math.inf)
            elif not exchange(mutant):
                self.failed = "NOT EXCHANGED"
            else:
                self.run(in_order(mutant, [item for some in files.values() for item in some]), self.seconds)
        except BaseException as fault:
            self.failed = self.failed or f"{type(fault).__name__}: {fault}"
        os.write(write, self.failed.encode()[:4000])
        os._exit(0)

    def run(self, items: Sequence[pytest.Item], seconds: float) -> None:
        """Run tests up to the first failure, or until they took so much processor time."""
        for item, following in zip(items, [*items[1:], None]):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if not self.failed and time.process_time() - self.began > seconds and following:
                self.failed = TIME_ENDED
            if self.failed:
                return


def interval(missed: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share by Wilson's score (Wilson 1927): from 1 missed of 40, 0.4 to 12.9 %."""
    if not of:
        return 0.0, 1.0
    z, share = 1.959963984540054, missed / of
    middle, half = share + z * z / (2 * of), z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return max(0.0, (middle - half) / (1 + z * z / of)), (middle + half) / (1 + z * z / of)


def told(verdicts: Sequence[Verdict]) -> Iterator[str]:
    """The lines of the report."""
    for verdict in verdicts:
        if verdict.by in ("", TIME_ENDED) and verdict.mutant.key not in EQUIVALENT:
            yield f"{verdict.by or 'NOT FOUND'} {verdict.mutant}"
    for part, folder in PARTS.items():
        own = [each for each in verdicts if each.mutant.file.startswith(f"costmodel/{folder}")]
        same = [each for each in own if each.by in ("", TIME_ENDED) and each.mutant.key in EQUIVALENT]
        missed, ended = (sum(x.by == by for x in own) - sum(x.by == by for x in same) for by in ("", TIME_ENDED))
        counted = len(own) - len(same)
        if own:
            low, high = interval(missed, counted)
            share = missed / counted if counted else 0.0
            yield (f"{part}: {counted} mutants, {missed} not found, {share:.1%} ({low:.1%} to {high:.1%} with 95 %); "
                   f"{len(same)} equivalent; of {ended} the time ended")  # fmt: skip


def main() -> None:
    """Run as a program."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", type=int, default=40, help="mutants for each part")
    parser.add_argument("--part", choices=PARTS, nargs="*", default=list(PARTS))
    parser.add_argument("--file", nargs="*", default=[], help="only of these files, as in: zone split")
    parser.add_argument("--jobs", type=int, default=len(os.sched_getaffinity(0)))
    parser.add_argument("--seconds", type=float, default=math.inf, help="processor time of the tests for one mutant")
    parser.add_argument("--finish", action="store_true", help="run those of which the time ended again, with all tests")
    parser.add_argument("--only-mutants", action="store_true", help="do not run the unchanged package too")
    parser.add_argument("--again", type=Path, help="take the mutants that were not found from this file of results")
    parser.add_argument("--out", type=Path, help="write all results here, as JSON")
    asked = parser.parse_args()
    mutants = [mutant for part in asked.part for mutant in drawn(part, asked.each, asked.seed, asked.file)]
    if asked.again:
        results = json.loads(asked.again.read_text(encoding="utf-8"))
        before = {each["key"] for each in results if each["by"] in ("", TIME_ENDED)}
        files = sorted({key.partition(":")[0] for key in before})
        mutants = [each for file in files for each in mutants_of(ROOT / file) if each.key in before]
    loop = Loop(asked, mutants)
    tests = [str(ROOT / "tests" / f"{name}.py") for name in QUICK]
    rooms = [str(PACKAGE / "model"), str(PACKAGE / "core"), str(PACKAGE / "studies" / "negotiation")]
    options = ["-n", "0", "-p", "no:cacheprovider", "--full", "-m", "not slow or laws"]
    pytest.main([*options, *tests, *rooms], plugins=[loop])
    print(*told(loop.verdicts), sep="\n")


if __name__ == "__main__":
    main()
