"""A second opinion on the capacity of the line: the simulation of simulation.py against the figures of the model."""
from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import evaluate
from costmodel.model.line.line_figures import Line

from .cases import demo, pooled_inputs, tiny
from .simulation import HOUR, Run, half_width, simulate

pytestmark = pytest.mark.slow

CRITERION = 0.01  # of the capacity and of the loading; the half-width of the simulation must not be wider
FAULT = 0.05
CARRIER = "batch_carrier"
TRANSPORT = 75 * 60.0  # s of a round, by the demo author's reckoning
SPARE_CARRIERS = 40.0
ROUND = ("load_carrier", "preheat", "deposition", "cool_down", "unload_carrier")
DOWN = ("planned_downtime", "unplanned_downtime", "engineering_time")


def sized_then_frozen(case: Case) -> Case:
    """The case with the tools and carriers that the model finds for its target, and the output left to follow."""
    line = evaluate(case).line
    numbers = {f"tools.{name}.installed": use.tools for name, use in line.tools.items()}
    numbers |= {f"carriers.{name}.installed": use.tools for name, use in line.carriers.items()}
    return with_values(case, numbers | {"target.mode": "frozen"})


@lru_cache(maxsize=1)
def plant() -> Case:
    """The demo's plant."""
    return sized_then_frozen(demo())


def loose(case: Case) -> Case:
    """Without carriers: plates are put together to full loads before each batch step."""
    return dataclasses.replace(case, carriers={})


def with_carriers(case: Case, number: float) -> Case:
    return with_values(case, {f"carriers.{CARRIER}.installed": number})


@lru_cache(maxsize=1)
def few_chambers() -> Case:
    """One deposition chamber less, which makes deposition the limit, and no carriers."""
    return loose(with_values(plant(), {"tools.deposition.installed": plant().tools["deposition"].installed - 1}))


@lru_cache(maxsize=1)
def easy_round() -> Case:
    """A round of nothing but process and transport: perfect, never down, tools to spare; the carriers are the limit."""
    tools = {demo().steps[name].tool for name in ROUND}
    changes = {f"tools.{tool}.{name}": 0.0 for tool in tools for name in DOWN}
    changes |= {f"tools.{tool}.installed": 6.0 for tool in tools}
    changes |= {f"steps.{name}.first_pass_yield": 1.0 for name in ROUND}
    changes |= {f"steps.{name}.load_loss": 0.0 for name in ROUND}
    changes |= {f"phases.{name}.time": 0.0 for name, phase in demo().phases.items() if phase.loads_between > 1}
    return with_values(plant(), changes)


@lru_cache(maxsize=1)
def run_of_the_tools() -> Run:
    return simulate(loose(plant()), hours=24_000)


@lru_cache(maxsize=1)
def run_of_few_chambers() -> Run:
    return simulate(few_chambers(), hours=15_000)


@lru_cache(maxsize=1)
def run_with_spare_carriers() -> Run:
    return simulate(with_carriers(plant(), SPARE_CARRIERS), hours=16_000)


@lru_cache(maxsize=1)
def run_with_few_carriers() -> Run:
    return simulate(plant(), hours=5000)


@lru_cache(maxsize=1)
def run_at_the_takt() -> Run:
    """The plates of the target and no more, with carriers to spare."""
    return simulate(with_carriers(plant(), SPARE_CARRIERS), hours=5000, takt=evaluate(demo()).line.output.takt)


@lru_cache(maxsize=1)
def run_of_the_easy_round() -> Run:
    return simulate(easy_round(), hours=8000)


def off(run: Run, capacity: float, case: Case) -> float:
    """How far the good modules of the run are from a yearly capacity; the interval must be narrow enough to tell."""
    modules = run.per_second("good")
    assert half_width(modules) <= CRITERION * modules.mean()
    return modules.mean() * case.site.scheduled_time / capacity - 1


def capacity(case: Case) -> float:
    return evaluate(case).line.output.capacity


def loading_faults(run: Run, line: Line) -> list[str]:
    """Tools whose loading in the run is not that of the model, within the criterion or the half-width."""
    found = []
    for name, use in line.tools.items():
        loading = run.loading(name)
        assert half_width(loading) <= 3 * CRITERION, name
        if abs(loading.mean() - use.loading) > max(CRITERION, half_width(loading)):
            found.append(f"{name}: {loading.mean():.4f} simulated, {use.loading:.4f} in the model")
    return found


def test_the_tools_make_what_the_model_says():
    assert abs(off(run_of_the_tools(), capacity(loose(plant())), plant())) <= CRITERION


def test_so_they_do_when_deposition_is_the_limit():
    line = evaluate(few_chambers()).line
    assert line.tools["deposition"].loading == pytest.approx(1)
    assert abs(off(run_of_few_chambers(), line.output.capacity, plant())) <= CRITERION


@pytest.mark.parametrize(("run", "case"), [
    (run_of_the_tools, lambda: loose(plant())),
    pytest.param(run_of_few_chambers, few_chambers, marks=pytest.mark.slow),
], ids=["as sized", "few chambers"])
def test_each_tool_is_loaded_as_the_model_says(run, case):
    assert loading_faults(run(), evaluate(case()).line) == []


def test_tools_are_down_for_their_share_of_the_scheduled_time():
    run = run_of_the_tools()
    for name, tool in plant().tools.items():
        down = run.per_second(f"down {name}") / tool.installed
        share = sum(getattr(tool, part) for part in DOWN)
        assert abs(down.mean() - share) <= max(CRITERION, half_width(down)), name


def test_the_line_yield_is_that_of_the_model():
    for run, case in ((run_of_the_tools(), plant()), (run_of_few_chambers(), few_chambers())):
        found = run.line_yield()
        assert half_width(found) <= CRITERION / 2
        assert abs(found.mean() - evaluate(case).line.output.line_yield) <= CRITERION / 2


@pytest.mark.parametrize(
    "case", [tiny, pytest.param(lambda: pooled_inputs().load(), marks=pytest.mark.slow)], ids=["tiny", "pooled"]
)
def test_rework_and_sampling_with_batches_agree_on_the_tiny_line(case):
    frozen = sized_then_frozen(case())
    run, line = simulate(frozen, hours=20_000), evaluate(frozen).line
    assert abs(off(run, line.output.capacity, frozen)) <= CRITERION
    assert loading_faults(run, line) == []
    assert abs(run.line_yield().mean() - line.output.line_yield) <= CRITERION / 2


def shorter(step: str) -> dict[str, float]:
    """The time of a load shorter by the fault, taken off the longest of its parts that is a plain time."""
    of_cycle = FAULT * evaluate(plant()).line.steps[step].cycle.time
    if step == "deposition":
        return {"phases.heat.time": plant().phases["heat"].time - of_cycle}
    return {f"steps.{step}.process_time": plant().steps[step].process_time - of_cycle}


def less_available(tool: str) -> dict[str, float]:
    """Available time smaller by the fault."""
    row = plant().tools[tool]
    available = 1 - sum(getattr(row, part) for part in DOWN)
    return {f"tools.{tool}.planned_downtime": row.planned_downtime + FAULT * available}


@pytest.mark.parametrize(("run", "case", "fault"), [
    (run_of_the_tools, lambda: loose(plant()), lambda: less_available("cooling_station")),
    (run_of_few_chambers, few_chambers, lambda: shorter("deposition")),
    (run_of_few_chambers, few_chambers, lambda: less_available("deposition")),
    (run_of_the_easy_round, easy_round, lambda: {f"carriers.{CARRIER}.out_of_service": 0.10}),
], ids=["cooling availability", "deposition cycle", "deposition availability", "carriers out of service"])
def test_a_model_wrong_by_one_part_in_twenty_is_found_in_the_capacity(run, case, fault):
    wrong = with_values(case(), fault())
    assert abs(off(run(), capacity(wrong), plant())) > 3 * CRITERION


@pytest.mark.parametrize(("step", "tool"), [
    pytest.param("cool_down", "cooling_station", marks=pytest.mark.slow), ("deposition", "deposition"),
])  # fmt: skip
def test_a_cycle_wrong_by_one_part_in_twenty_is_found_in_the_loading(step, tool):
    wrong = with_values(few_chambers() if step == "cool_down" else loose(plant()), shorter(step))
    run = run_of_few_chambers() if step == "cool_down" else run_of_the_tools()
    assert any(fault.startswith(tool) for fault in loading_faults(run, evaluate(wrong).line))


def test_carriers_in_an_easy_round_make_what_the_model_says():
    line = evaluate(easy_round()).line
    assert line.carriers[CARRIER].loading == pytest.approx(1)
    assert abs(off(run_of_the_easy_round(), line.output.capacity, plant())) <= CRITERION
    in_use = run_of_the_easy_round().per_second(f"in round {CARRIER}")
    assert in_use.mean() == pytest.approx(line.carriers[CARRIER].busy_time / plant().site.scheduled_time, rel=CRITERION)


def test_carriers_to_spare_do_not_limit_the_tools():
    case = with_carriers(plant(), SPARE_CARRIERS)
    assert evaluate(case).line.carriers[CARRIER].loading < 0.5
    assert abs(off(run_with_spare_carriers(), capacity(case), plant())) <= CRITERION


def test_carriers_are_in_the_workshop_for_their_share_of_the_scheduled_time():
    row = plant().carriers[CARRIER]
    for run, number in ((run_with_few_carriers(), row.installed), (run_with_spare_carriers(), SPARE_CARRIERS)):
        assert run.per_second(f"in workshop {CARRIER}").mean() / number == pytest.approx(row.out_of_service, rel=0.02)


def test_the_model_s_carriers_are_an_upper_bound_that_queues_in_the_round_keep_the_line_below():
    """The waiting of the inputs is here all spent on the way, and queues come on top of it."""
    line, run = evaluate(plant()).line, run_with_few_carriers()
    assert line.carriers[CARRIER].loading == pytest.approx(1)
    in_round = run.per_second(f"in round {CARRIER}").mean()
    assert in_round == pytest.approx(line.carriers[CARRIER].busy_time / plant().site.scheduled_time, rel=CRITERION)
    assert run.per_second("good").mean() * plant().site.scheduled_time <= line.output.capacity


def test_carriers_in_use_at_the_takt_are_the_model_s_by_little_s_law():
    """The stay in the tools, failures under the load included, and the waiting of the inputs; queues left out."""
    run, line = run_at_the_takt(), evaluate(demo()).line
    in_model = line.carriers[CARRIER].busy_time / demo().site.scheduled_time
    in_use, queued = (float(np.mean(run.per_second(f"{what} {CARRIER}"))) for what in ("in round", "queued"))
    assert run.per_second("good").mean() * HOUR == pytest.approx(
        line.output.good_modules / demo().site.scheduled_time * HOUR, rel=CRITERION)
    assert in_use - queued == pytest.approx(in_model, rel=CRITERION)


def test_the_waiting_of_the_demo_leaves_room_for_queues_so_that_its_carriers_carry_the_target():
    """Of the waiting in the inputs a part is transport; what queues take of the rest comes out of the simulation."""
    wanted = evaluate(demo()).line.output.good_modules / demo().site.scheduled_time
    run = simulate(with_values(plant(), {f"carriers.{CARRIER}.waiting_time": TRANSPORT}), hours=5000)
    assert demo().carriers[CARRIER].waiting_time > TRANSPORT
    assert run.per_second("good").mean() >= wanted * (1 - CRITERION)
