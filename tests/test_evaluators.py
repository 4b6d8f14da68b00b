"""Recorded operations by NumPy and by the compiled interpreter: the second form gives the figures of the first, to the last bit."""

import dataclasses
import math
import os
import subprocess
import sys
from types import SimpleNamespace

import numpy as np
import pytest

from costmodel.case.addresses import value_at
from costmodel.core.fields import Figure, walk
from costmodel.core.rates_of_one import UNSURE, rate_of_one
from costmodel.core.rates_of_return import rates_of_return
from costmodel.model import evaluate as evaluate_module
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import known_figures
from costmodel.model.readings import array_runs, compiled_runs, loading, step_tables
from costmodel.model.readings.programs import Program, results, spread
from costmodel.model.readings.recording import Recording
from costmodel.model.readings.runs import run_program
from costmodel.model.readings.step_tables import NAMES, RATES, steps_of, table_of
from costmodel.model.readings.tape import Moved, Tape
from costmodel.model.readings.taped import SHARED, Taped, is_shared
from costmodel.studies.draws import Draws
from costmodel.studies.negotiation import shared_tapes
from costmodel.studies.negotiation.shared_tapes import share_tapes

from .cases import ROOT, demo, tiny
from .test_readings import CASES, drawn

pytestmark = pytest.mark.needs("numba")
ODD = [0.0, -0.0, 1.0, -1.0, 2.0, 0.5, 3.0000000001, 3.001, -2.5, 1e9, 1e-9, math.inf, math.nan, 7.25]
TAKES = {"negative": 1, "whole_up": 1, "exp": 1, "log": 1, "normal_cdf": 1, "normal_quantile": 1, "choose": 3, "sum_of": 4}


def same(a, b):
    """Whether two values are the same to the last bit, NaN beside NaN."""
    return np.array_equal(*np.broadcast_arrays(np.asarray(a, float), np.asarray(b, float)), equal_nan=True)


def differing(program, given):
    """The places of a program at which the evaluators differ, with the operation that gives each; flips are among them."""
    places = tuple(place for name, _, gives in program.steps for place in results(name, gives))
    every = Program(program.table, program.given, places, program.numbers, program.places)
    found = zip(places, array_runs.run(every, given), compiled_runs.settle(every, given).values)
    names = {place: name for name, _, gives in program.steps for place in results(name, gives)}
    return [(names[place], place) for place, first, second in found if not same(first, second)]


@CASES
def test_every_value_of_a_case_is_the_same_by_both_evaluators(case):
    """No draw flips at a ceiling or a comparison: truths and whole numbers are among the values that are compared."""
    case = case()
    values = drawn(case)
    recording = Recording(case, list(values), list(known_figures(case)))
    assert differing(recording.program, list(values.values())) == []


@pytest.mark.slow
@pytest.mark.parametrize("count", [1, 300], ids=["a draw", "more than a block"])
def test_draws_of_the_demo_are_the_same_by_both_evaluators(count):
    plant = as_bought(demo())
    values = Draws(plant, 5).values(0, count)
    recording = Recording(plant, list(values), ["plan.project.irr", "deal.licensee.gain"])
    assert differing(recording.program, list(values.values())) == []


@pytest.mark.slow
def test_single_points_are_those_of_python_numbers_and_mixed_values_too():
    plant = as_bought(demo())
    addresses = [row.address for row in plant.ranges.values()]
    recording = Recording(plant, addresses, ["plan.project.irr", "deal.licensee.gain", "ledger.total.cost_per_m2"])
    point = [float(value_at(plant, address)) for address in addresses]
    assert differing(recording.program, point) == []
    mixed = [np.linspace(value, 1.01 * value, 5) if k % 3 == 0 else value for k, value in enumerate(point)]
    assert differing(recording.program, mixed) == []


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ("load", RATES)])
@pytest.mark.parametrize("arrays", range(1, 8))
@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # NumPy speaks of what these values give
def test_each_operation_on_odd_values_is_the_same_by_both_evaluators(name, arrays):
    """Every operation, on arrays and numbers side by side: `arrays` says bit by bit which of its values are arrays."""
    count = TAKES.get(name, 2)
    table = np.array(np.meshgrid(*[ODD] * min(count, 3))).reshape(min(count, 3), -1)
    columns = [table[k % len(table)] for k in range(count)]
    program = Program(table_of([(name, tuple(range(count)), count)]), tuple(range(count)), (count,), {}, count + 1)
    for number in range(0, len(columns[0]), 17):
        given = [column if arrays >> k & 1 else float(column[number]) for k, column in enumerate(columns)]
        if any(np.ndim(value) for value in given):
            assert differing(program, given) == [], [value for value in given if not np.ndim(value)]


@pytest.mark.parametrize("times", [3, 6, 61])
def test_the_rate_of_one_row_is_that_of_many_to_the_last_bit(times):
    random = np.random.default_rng(times)
    rows = random.normal(size=(times, 400)) * random.choice([0.0, 1.0, 1.0], size=(times, 400))
    rows[0, ::2] -= 1.5 * math.sqrt(times)
    rows[:, 1::4] = np.round(rows[:, 1::4])
    rates, statuses = rates_of_return(rows)
    seen = set()
    for row, rate, status in zip(rows.T, rates, statuses):
        found = rate_of_one(row.tolist())
        seen.add(found[1])
        assert found[1] == UNSURE or (same(found[0], rate) and found[1] == status)
    assert {0.0, 1.0, 3.0, 4.0, UNSURE} <= seen
    places = tuple(range(times))
    program = Program(table_of([(RATES, places, times)]), places, (times, times + 1), {}, times + 2)
    assert differing(program, list(rows)) == []
    for column in range(0, 400, 13):
        assert differing(program, rows[:, column].tolist()) == []


def test_a_settled_recording_gives_what_the_whole_one_gives():
    case = tiny()
    addresses = ["prices.box.price", "product.length"]
    figures = ["ledger.total.cost_per_m2", "line.output.plate_area"]
    whole = Recording(case, addresses, figures)
    values = {"prices.box.price": np.linspace(1.0, 2.0, 7), "product.length": np.linspace(0.9, 1.1, 7)}
    settled = whole.settled(values, ["prices.box.price"])
    moved = values | {"prices.box.price": values["prices.box.price"] + 0.5}
    for address in figures:
        assert same(settled.figures()[address], whole.run(values)[address])
        assert same(settled.run(moved)[address], whole.run(moved)[address])


def test_arrays_of_two_lengths_are_refused():
    program = Program(table_of([("+", (0, 1), 2)]), (0, 1), (2,), {}, 3)
    with pytest.raises(ValueError, match="arrays of 2 and 3 values; allowed: one length"):
        run_program(program, [np.zeros(2), np.zeros(3)])


def test_registers_are_used_again_and_no_step_writes_over_what_it_takes():
    plant = as_bought(demo())
    recording = Recording(plant, [row.address for row in plant.ranges.values()], ["plan.project.npv"])
    slots, count = recording.program.slots
    assert count < 0.25 * len(recording)
    for name, takes, gives in steps_of(recording.program.ordered):
        if name != "load":
            assert {slots[place] for place in results(name, gives)}.isdisjoint(slots[p] for p in takes if slots[p] >= 0)


@pytest.mark.slow
def test_without_a_place_that_may_be_written_the_interpreter_compiles_all_the_same(tmp_path):
    barred = tmp_path / "file"
    barred.write_text("no folder")
    code = (
        "from costmodel.model.readings.programs import Program\n"
        "from costmodel.model.readings.compiled_runs import settle\n"
        "from costmodel.model.readings.step_tables import table_of\n"
        "print(settle(Program(table_of([('+', (0, 1), 2)]), (0, 1), (2,), {}, 3), [1.0, 2.0]).values)"
    )
    environment = os.environ | {"XDG_CACHE_HOME": str(barred), "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    assert done.stdout.strip() == "(3.0,)"


def test_the_part_of_a_shared_tape_gives_what_a_recording_of_its_own_gives():
    """The shared tape varies far more; what the part does not vary stands as it is, to the last bit."""
    alone, together = (dataclasses.replace(as_bought(demo())) for _ in range(2))
    share_tapes(together)
    figures = ["plan.project.npv", "plan.project.irr", "deal.licensor.gain", "deal.licensee.gain", "plan.minimum_dscr_status"]
    for addresses in (["licence.upfront", "licence.royalty"], ["licence.upfront", "prices.silane.price"]):
        assert is_shared(together, addresses)
        values = {address: value_at(alone, address) * np.linspace(0.8, 1.2, 7) for address in addresses}
        own, part = (Recording(case, addresses, figures).run(values) for case in (alone, together))
        for figure in figures:
            assert same(own[figure], part[figure]), figure
    assert "tape" in together.memory
    assert "tape" not in alone.memory


def test_a_tape_up_to_the_plan_leaves_the_deal_out_and_gives_the_plan_to_the_last_bit(monkeypatch):
    whole, part = (dataclasses.replace(demo()) for _ in range(2))
    figures, price = ["plan.project.npv", "plan.owners.irr"], "sales.facade.price"
    values = {price: value_at(whole, price) * np.linspace(0.8, 1.2, 7)}
    with_deal = Recording(whole, [price], [*figures, "deal.licensee.gain"]).run(values)
    monkeypatch.setattr(evaluate_module, "compute_deal", lambda *_: pytest.fail("the deal was read for figures of the plan"))
    without = Recording(part, [price], figures).run(values)
    assert all(same(with_deal[figure], without[figure]) for figure in figures)


def test_a_sized_case_takes_the_tape_of_its_plant_and_has_its_own_figures():
    alone, together = (dataclasses.replace(demo()) for _ in range(2))
    share_tapes(together)
    figures = ["plan.project.npv", "deal.licensor.gain", "deal.licensee.gain"]
    for addresses in (["licence.upfront", "licence.royalty"], ["schedule.volume_share", "licensor.damages_time"]):
        assert is_shared(together, addresses)
        values = {address: value_at(alone, address) * np.linspace(0.8, 1.2, 7) for address in addresses}
        own, part = (Recording(case, addresses, figures).run(values) for case in (alone, together))
        for figure in figures:
            assert same(own[figure], part[figure]), figure
    assert "tape" in as_bought(together).memory
    assert "tape" not in together.memory


def test_no_term_of_a_deal_moves_a_figure_of_the_line():
    """So the plant as bought has the sizes of the case, whatever terms are tried."""
    case = dataclasses.replace(demo())
    share_tapes(case)
    terms, holder = case.memory[SHARED]
    assert holder is as_bought(case)
    assert len(terms) > 50
    line = Taped(dataclasses.replace(case), sorted(terms), "line")._stages["line"]
    assert [address for address, value, *_ in walk(line, "line", Figure) if type(value) is Moved] == []


def test_a_case_whose_line_differs_from_that_of_its_plant_has_a_tape_of_its_own(monkeypatch):
    """As by rounding, where tools are loaded to the last minute."""
    case = dataclasses.replace(demo())
    monkeypatch.setattr(shared_tapes, "evaluate_costs", lambda of: SimpleNamespace(line=SimpleNamespace(output=of is case)))
    share_tapes(case)
    assert case.memory[SHARED][1] is case


def test_walks_over_steps_find_the_same_compiled_and_as_plain_loops(monkeypatch):
    plant = as_bought(demo())
    tape = Taped(plant, ["licence.upfront", "licence.royalty", "prices.silane.price"], "deal")
    table, count = tape._table, tape.tape.count
    asked = [tape.inputs["licence.upfront"].place], [table.gives[-1], table.gives[len(table.gives) // 2]]

    def found(loaded):
        """All that walks find."""
        monkeypatch.setattr(step_tables, "is_loaded", lambda: loaded)
        steps, moved = step_tables.moved_by(table, asked[0], count)
        needed = step_tables.needed_for(table, asked[1], moved)
        loads = step_tables.with_loads(table, [value.place for value in tape.inputs.values()], count)
        slots, many = step_tables.slots_of(loads, asked[1], count)
        return [steps, moved, *needed, *loads, slots, np.array(many)]

    plain, compiled = found(False), found(True)
    assert all(np.array_equal(one, other) for one, other in zip(plain, compiled, strict=True))
    assert 0 < plain[0].sum() < len(plain[0])
    assert 0 < plain[2].sum() < len(plain[2])


def test_a_number_times_or_by_one_needs_no_step_but_a_truth_becomes_a_number():
    tape = Tape()
    x = tape.new()
    assert x * 1.0 is x
    assert 1 * x is x
    assert x / 1.0 is x
    truth = x > 0.0
    steps = len(tape.done)
    assert truth * 1.0 is not truth
    assert 1.0 * truth is not truth
    assert 1.0 / x is not x
    assert x**1.0 is not x
    assert len(tape.done) == steps + 4


def test_spread_rows_and_fewer_figures_give_what_a_whole_run_gives(monkeypatch):
    monkeypatch.setattr(loading, "_done", [2.0 * loading.LOADING])  # by the interpreter
    plant, figures = as_bought(demo()), ["plan.project.npv", "deal.licensee.gain", "plan.ending.early"]
    prices, fees = np.array([50.0, 90.0, 70.0]), np.linspace(1e6, 4e6, 700)
    rows = np.arange(700) * 2 % 3
    addresses = ["prices.silane.price", "licence.upfront"]
    recording = Recording(plant, addresses, figures)
    whole = recording.run(dict(zip(addresses, (prices[rows], fees))))
    settled = recording.settled(dict(zip(addresses, (prices, fees[:3]))), ["licence.upfront"])
    for order in (rows, rows[::-1].copy(), None):  # what stands is kept in another way for a run without rows
        there = np.arange(3) if order is None else order
        found = (settled if order is None else settled.spread(order)).run({"licence.upfront": fees[: len(there)]})
        expected = recording.run(dict(zip(addresses, (prices[there], fees[: len(there)]))))
        assert all(same(found[figure], expected[figure]) for figure in figures)
    few = recording.only(figures[1:2])
    assert len(few) < len(recording)
    assert same(few.run(dict(zip(addresses, (prices[rows], fees))))[figures[1]], whole[figures[1]])
    by_numpy = array_runs.run(settled.program, [fees, *spread(settled._settled.values, rows)])
    assert all(same(one, other) for one, other in zip(by_numpy, [whole[figure] for figure in figures]))


def test_more_than_a_block_of_what_stands_is_taken_in_its_order(monkeypatch):
    monkeypatch.setattr(loading, "_done", [2.0 * loading.LOADING])
    plant, count = as_bought(demo()), 700
    addresses, figures = ["prices.silane.price", "licence.upfront"], ["plan.project.npv", "deal.licensee.gain"]
    values = dict(zip(addresses, (np.linspace(50.0, 90.0, count), np.linspace(1e6, 4e6, count))))
    recording = Recording(plant, addresses, figures)
    settled = recording.settled(values, ["licence.upfront"])
    for rows in (None, np.arange(count), None):
        found = (settled if rows is None else settled.spread(rows)).run(values)
        assert all(same(found[figure], recording.run(values)[figure]) for figure in figures)
