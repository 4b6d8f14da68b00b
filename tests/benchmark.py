"""Times of the model, printed as ratios; run with `python -m tests.benchmark`. No test asserts a time.

Many draws are held against a loop over single evaluations, and against the floor: for each operation that a draw takes, the time
of that operation alone on arrays that lie in the cache.
"""

import collections
import dataclasses
import os
import resource
import statistics
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from costmodel.case.addresses import input_at, value_at
from costmodel.case.changes import with_values
from costmodel.case.range_records import AFTER, Range
from costmodel.documents.workbook.second_engine import poisoned, recalculated
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.readings import array_runs
from costmodel.model.readings.programs import results
from costmodel.model.readings.recording import Recording, evaluator
from costmodel.model.readings.step_tables import RATES, TRUTHS
from costmodel.studies.drawn_blocks import BLOCK
from costmodel.studies.draws import Draws
from costmodel.studies.many import CHUNK
from costmodel.studies.negotiation.sides import LICENSEE, LICENSOR
from costmodel.studies.risk import run_long, run_risk
from costmodel.studies.sensitivities import elasticities
from costmodel.studies.spread import spread

from .cases import DEMO, demo
from .conftest import tool_path

DRAWS, UNCERTAIN = 1_000_000, 40
TIMED = 65_536  # draws that are timed for the five figures, and scaled to all
SHARED_DRAWS = 2 * BLOCK  # that two processes make together
TERMS = ["licence.upfront", "licence.royalty", "returns.required_return", "payment_kinds.licence.withholding"]
OF_THE_PLAN = ["sales.facade.price", "schedule.delay=0..12 month", "tax.rate"]
WATT = "ledger.total.cost_per_stabilised_watt"
FIVE = [WATT, "plan.project.npv", "plan.project.irr", LICENSOR, LICENSEE]
TIED = ("constants.", "money.", "tax_rates.", "ranges.")  # what no draw may move by itself


def processor():
    """Processor time of this process, in s, with that of the programs that it ran; so a busy machine changes little."""
    return time.process_time() + sum(os.times()[2:4])


def fastest(action, repeats, clock=processor):
    """The least time of several runs, in s."""
    times = []
    for _ in range(repeats):
        begun = clock()
        action()
        times.append(clock() - begun)
    return min(times)


def uncertain_case():
    """The demo, its plant as bought, with the forty inputs uncertain on which the cost depends most."""
    case, rows = as_bought(demo()), {}
    for elasticity in elasticities(case):
        address, declaration = elasticity.address, input_at(case, elasticity.address)[0]
        value = value_at(case, address)
        whole = address.endswith(("load_size", "processed_share", "installed")) or address.startswith(TIED)
        if whole or (declaration.high is not None and value * 1.03 > declaration.high) or len(rows) == UNCERTAIN:
            continue
        unit, name = case.entry_units[address], f"input_{len(rows)}"
        shape = ("triangular", "pert", "uniform")[len(rows) % 3]
        rows[name] = Range(address, shape, value * 0.97, value, value * 1.03, unit, name, AFTER)
    return dataclasses.replace(case, ranges=rows, correlations={})


def floor(recording, values):
    """The time for one draw of every operation that a run does, each alone on arrays in the cache, in s; and how many there are.

    A rate of return counts as eight Newton steps: value and slope of a polynomial of as many terms, two products and two sums each.
    """
    program = recording.program
    given = [values[address][:CHUNK] for address in recording.inputs]
    places = tuple(place for name, _, gives in program.steps for place in results(name, gives))
    known = dict(program.numbers) | dict(zip(program.given, (value[:8] for value in given)))
    every = dataclasses.replace(program, wanted=places, memory={})
    known |= zip(places, array_runs.run(every, [value[:8] for value in given]))
    kinds, samples = collections.Counter(), {}
    for name, takes, _ in program.steps:
        arguments = [known[place] for place in takes]
        key = (name, tuple(np.ndim(argument) > 0 for argument in arguments))
        kinds[key] += 1
        samples.setdefault(key, arguments)
    total = sum(kinds[key] * alone(key[0], arguments) for key, arguments in samples.items())
    return total / CHUNK, sum(kinds.values())


def alone(name, arguments):
    """The time of one operation on arrays in the cache, in s."""
    kept = [np.resize(argument, CHUNK) if np.ndim(argument) else argument for argument in arguments]
    out = np.ones(CHUNK)
    if name == RATES:
        return 8 * len(kept) * 4 * fastest(lambda: np.multiply(out, out, out=out), 60)
    write = array_runs.writer(name)
    truth = np.empty(CHUNK, dtype=bool) if name in TRUTHS else out
    return fastest(lambda: write(truth, *kept), 60)


def memory(draws):
    """The most memory that a run of its own took, in MB."""
    done = subprocess.run([sys.executable, "-m", "tests.benchmark", str(draws)], capture_output=True, text=True, check=True)
    return float(done.stdout)


def together(*commands):
    """The time by the clock until commands that are begun together have all ended, in s."""
    begun = time.perf_counter()
    running = [subprocess.Popen([sys.executable, "-m", "costmodel", *words], stdout=subprocess.DEVNULL) for words in commands]
    ended = [each.wait() for each in running]
    assert not any(ended), ended
    return time.perf_counter() - begun


def two_processes():
    """How fast one command with two processes is against two commands begun together, each with half of the draws; and its time."""
    risk = ["risk", str(DEMO), *(word for figure in FIVE for word in ("--figure", figure))]
    half, whole = [*risk, "--draws", str(SHARED_DRAWS // 2)], [*risk, "--draws", str(SHARED_DRAWS), "--processes", "2"]
    copies, one = together(half, half), together(whole)
    return copies / one, one


def redraws():
    """For each panel, the median time that the kernel works from a move of a slider to the changes of the picture, in ms."""
    from costmodel.workbench import views
    from costmodel.workbench.panel import Panel

    case = demo()
    plant = as_bought(case)
    panels = {
        "cost": Panel(case, views.cost),
        "plan and market": Panel(case, views.plan_and_market(case), OF_THE_PLAN),
        "deal": Panel(case, views.deal(case, TERMS), TERMS),
        "what moves it": Panel(plant, views.what_moves(plant, WATT)),
    }
    found = {name: [] for name in panels}
    for name, panel in panels.items():
        for control in panel.controls.values():
            for part in (0.2, 0.5, 0.8):
                begun = time.thread_time()
                control.slider.value = control.slider.min + part * (control.slider.max - control.slider.min)
                found[name].append(time.thread_time() - begun)
    return {name: 1e3 * statistics.median(times) for name, times in found.items()}


def main():
    small, large = memory(DRAWS // 10), memory(DRAWS)  # first: a process that is begun counts what its parent held
    case = uncertain_case()
    addresses = [row.address for row in case.ranges.values()]
    recording, draws = Recording(case, addresses, FIVE), Draws(case, 0)
    number = fastest(lambda: evaluate(dataclasses.replace(case)), 30)  # a copy, as figures stay with the case
    making = fastest(lambda: Recording(case, addresses, FIVE), 3)
    block = draws.values(0, BLOCK)
    chunks = [{a: v[start : start + CHUNK] for a, v in block.items()} for start in range(0, BLOCK, CHUNK)]
    sampling = fastest(lambda: draws.values(0, BLOCK), 3) / BLOCK
    checking = fastest(lambda: with_values(case, block), 5) / BLOCK
    whole = fastest(lambda: evaluate(with_values(case, chunks[0])), 2) / CHUNK
    replayed = fastest(lambda: [recording.run(chunk) for chunk in chunks], 3) / BLOCK
    with ThreadPoolExecutor(2) as pool:
        threads = fastest(lambda: list(pool.map(recording.run, chunks)), 3, time.perf_counter) / BLOCK
        alone_by_the_clock = fastest(lambda: [recording.run(chunk) for chunk in chunks], 3, time.perf_counter) / BLOCK
    least, operations = floor(recording, block)
    run = fastest(lambda: run_risk(case, FIVE, TIMED, 0), 1)
    us = 1e6
    print(f"one evaluation of all figures as a number: {number * 1e3:.2f} ms; making a recording: {making * 1e3:.0f} ms")
    scaled = f"{run / TIMED * DRAWS:.1f} s, scaled from {TIMED:,}"
    print(f"{DRAWS:,} draws of {UNCERTAIN} inputs for five figures by {evaluator()}: {scaled}")
    print(f"  sampling {sampling * us:.2f}, checks {checking * us:.2f}, {operations} operations {replayed * us:.2f} us a draw")
    print(f"  every figure as arrays, {CHUNK:,} at a time: {whole * us:.2f} us a draw, {whole / replayed:.1f} times the recording")
    print(f"  two threads, by the clock: {threads * us:.2f} us a draw, {threads / alone_by_the_clock:.2f} times one thread")
    print(f"a loop over numbers takes {number / replayed:,.0f} times as long as the recording")
    print(f"the floor, operations in cache: {least * us:.2f} us a draw")
    print(f"  the recording takes {replayed / least:.2f} times that, a run with all its parts {run / TIMED / least:.2f} times")
    moves = (f"{name} {took:.0f} ms ({took / 1e3 / number:.1f})" for name, took in redraws().items())
    print(f"a move of a slider, median (in evaluations of all figures): {', '.join(moves)}")
    speed, took = two_processes()
    print(f"two processes: {speed:.2f} times the speed of two copies with half of {SHARED_DRAWS:,} draws each; {took:.1f} s")
    print(f"most memory: {small:.0f} MB for {DRAWS // 10:,} draws, {large:.0f} MB for {DRAWS:,}; {large / small:.2f} times")
    book = workbook_bytes(case)
    print(f"workbook: {len(book) / 1e6:.2f} MB, written in {fastest(lambda: workbook_bytes(dataclasses.replace(case)), 1):.2f} s")
    if tool_path("soffice"):
        one, four = (fastest(lambda: recalculated([poisoned(book)] * count), 2) for count in (1, 4))  # noqa: B023
        each = (four - one) / 3
        print(f"recalculated by LibreOffice: {one:.2f} s alone, {each:.2f} s for each further one; {each / whole:,.0f} draws")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        spread(run_long(uncertain_case(), [WATT], int(sys.argv[1]), 0).figures[WATT])
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    else:
        main()
