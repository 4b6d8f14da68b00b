"""Choices of the demo side by side: why one costs more than another, and which cannot be combined."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.alternatives import groups
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case
from costmodel.present import choice_report
from costmodel.present.likely_report import likely
from costmodel.present.numbers import percent, signed
from costmodel.studies.draws import Draws
from costmodel.studies.factory.choices import (
    break_even,
    differences,
    outcomes,
    probabilities_higher,
    probabilities_of_least,
    shared_ranges,
    side_by_side,
)
from costmodel.studies.many import wanted_figures
from costmodel.studies.risk import run_risk

from .cases import DEMO, FIELD
from .refusals import faults


@pytest.fixture(scope="module")
def lines():
    return outcomes(DEMO, "deposition_line")


@pytest.mark.parametrize("group", ["deposition_line", "cooling", "back_contact"])
def test_the_kinds_of_cost_add_up_to_the_difference(group):
    found = outcomes(DEMO, group)
    in_use = evaluate(open_case(DEMO)).ledger.total.cost_per_stabilised_watt
    for each in differences(found, open_case(DEMO).use[group]):
        assert sum(each.by_kind.values()) == pytest.approx(each.total, abs=1e-12)
        assert each.total == pytest.approx(each.outcome.results.ledger.total.cost_per_stabilised_watt - in_use, abs=1e-12)


def test_forced_cooling_frees_carriers():
    """95 minutes less of a round, at the loads of the demo: by Little's law loads x 5,700 s over the time of a carrier."""
    natural, forced = (evaluate(open_case(DEMO, use={"cooling": choice})) for choice in ("natural", "forced"))
    loads, round_ = natural.line.steps["load_carrier"].loads, natural.line.carriers["batch_carrier"]
    fewer = loads * (1 - 0.005) * 5_700 / round_.available_time  # half a percent of loads is lost in deposition, a tenth before
    found = natural.line.carriers["batch_carrier"].tools_needed - forced.line.carriers["batch_carrier"].tools_needed
    assert found == pytest.approx(fewer, rel=0.03)  # the forced station fails a little more often
    (each,) = differences(outcomes(DEMO, "cooling"), open_case(DEMO).use["cooling"])
    before, after = each.equipment["carriers.batch_carrier"]
    assert after < before


def test_an_in_line_line_has_chambers_by_the_pace_of_their_films(lines):
    """Absorbers: 400 nm at 0.32 nm/s are 1,250 s, two purges 60 s, a transfer 40 s, an exchange 42 s: 1,400 s a load of four."""
    in_line = next(each for each in lines if each.choice == "in_line").results.line
    step, tool = in_line.steps["deposition"], in_line.tools["deposition"]
    assert step.cycle.time == pytest.approx(1_250 + 60 + 40 + (360 + 60) * 60 / 500, rel=1e-9)
    assert tool.tools_needed == pytest.approx(step.loads * step.cycle.time / tool.available_time, rel=1e-9)
    assert tool.tools > in_line.tools["p_chamber"].tools


def only(found, quote):
    """Outcomes with the quote of silver as their only uncertain input, evenly from 0 to a quote; the others are held."""
    ranges = found[0].case.ranges
    row = dataclasses.replace(ranges["silver_quote"], distribution="uniform", low=0.0, mode=quote / 2, high=quote)
    held = frozenset(each.address for each in ranges.values()) - {row.address}
    cases = [dataclasses.replace(each.case, ranges=ranges | {"silver_quote": row}, held=held) for each in found]
    return [dataclasses.replace(each, case=case) for each, case in zip(found, cases)]


def test_silver_wins_in_the_draws_whose_quote_is_below_the_break_even():
    """Question 17: with the quote alone uncertain, the probability is the share of quotes below the price of equal cost."""
    found = outcomes(DEMO, "back_contact")
    aluminium, silver = (each.case for each in found)
    (equal,) = break_even(aluminium, silver, "metals.silver.quote").values
    for times in (2.0, 5.0):  # half, then a fifth of the quotes are below
        alone = only(found, times * equal)
        quotes = Draws(alone[0].case, 0).values(0, 400)["metals.silver.quote"]
        wins = probabilities_of_least(alone, 400, 0)
        assert wins["silver"].share == np.mean(quotes <= equal)
        assert wins["aluminium"].share == 1 - wins["silver"].share
        assert wins["silver"].share == pytest.approx(1 / times, abs=4 * wins["silver"].error)


def test_choices_meet_the_same_draws_and_what_one_states_is_not_drawn():
    """By another road: risk runs of both plants as bought, with all that is not uncertain alike held."""
    found = outcomes(DEMO, "back_contact")
    shared, cost = shared_ranges(found), "ledger.total.cost_per_stabilised_watt"
    assert {row.address for row in found[0].case.ranges.values()} - set(shared) == {"product.initial_efficiency"}
    runs = []
    for each in found:
        plant = as_bought(each.case)
        held = dataclasses.replace(plant, held=plant.held | {"product.initial_efficiency"})
        runs.append(run_risk(held, [cost], 200, 3).figures[cost])
    assert probabilities_of_least(found, 200, 3)["silver"].share == np.mean(runs[1] <= runs[0])
    assert probabilities_of_least(found, 0, 3) == {}


def test_the_command_gives_the_probability_that_a_choice_costs_the_least():
    words = ["cost", str(DEMO), "choices", "--group", "back_contact", "--draws", "200", "--all"]
    told = " ".join(CliRunner().invoke(main, words).output.split())
    wins = probabilities_of_least(outcomes(DEMO, "back_contact"), 200, 0)
    for title, each in wins.items():
        assert f"The probability that “{title}” makes the cheapest stabilised watt is {likely(each)}." in told
    assert "Not drawn, as a choice or change states it: product: initial efficiency." in told
    assert "probability" not in CliRunner().invoke(main, [*words, "--draws", "0"]).output


@pytest.mark.slow
def test_a_figure_is_higher_with_one_choice_than_with_another_on_the_same_draws():
    """Of two choices: where the cost of one is higher it is not the least, so the two roads give shares that add up to 1."""
    found, cost = outcomes(DEMO, "back_contact"), "ledger.total.cost_per_stabilised_watt"
    higher = {each.one.choice: each.probability for each in probabilities_higher(found, cost, 200, 3)}
    least = probabilities_of_least(found, 200, 3)
    assert {name: 1 - each.share for name, each in higher.items()} == pytest.approx({n: each.share for n, each in least.items()})
    assert 0 < higher["silver"].share < 1
    runs = []
    for each in found:
        plant = as_bought(each.case)
        held = dataclasses.replace(plant, held=plant.held | {"product.initial_efficiency"})
        runs.append(run_risk(held, ["plan.project.npv"], 100, 3).figures["plan.project.npv"])
    by_value = {each.one.choice: each.probability.share for each in probabilities_higher(found, "plan.project.npv", 100, 3)}
    assert by_value == {"aluminium": np.mean(runs[0] > runs[1]), "silver": np.mean(runs[1] > runs[0])}


@pytest.mark.slow
def test_draws_without_a_value_are_counted_and_left_out():
    found = outcomes(DEMO, "back_contact")
    payback = probabilities_higher(found, "plan.project.payback", 100, 3)
    assert 0 < payback[0].without < 1
    assert payback[0].probability.draws == round(100 * (1 - payback[0].without))
    wanted = wanted_figures(found[0].case, ["plan.project.payback"])["plan.project.payback"]
    said = choice_report.likely_higher(payback, wanted, "silver")
    assert said[1] == f"{percent(payback[1].without, 2)} of the draws are left out, as it has no value in them."
    nowhere = [dataclasses.replace(each, probability=None, without=1.0) for each in payback]
    said = choice_report.likely_higher(nowhere, wanted, "silver")
    assert said == ["No draw has a value of payback (project) with both “silver” and “aluminium”."]
    assert {cell for row in choice_report.higher_table(nowhere, wanted).rows for cell in row[1:]} == {"–"}


@pytest.mark.slow
def test_the_command_gives_the_probability_that_one_choice_beats_another():
    words = ["cost", str(DEMO), "choices", "--group", "back_contact", "--figure", "plan.project.npv", "--draws", "50"]
    lines = " ".join(CliRunner().invoke(main, words).output.split())
    pair = probabilities_higher(outcomes(DEMO, "back_contact"), "plan.project.npv", 50, 0)[1]
    said = f"The probability that NPV (project) is higher with “silver” than with “aluminium” is {likely(pair.probability)}."
    assert said in lines
    assert "Probability that NPV (project) is higher, on the same draws" in lines
    for wrong in (["cost", str(DEMO), "choices", "--figure", "plan.project.npv"], [*words[:-1], "0"]):
        assert CliRunner().invoke(main, wrong).exit_code == 2
    assert "did you mean 'plan.project.npv'" in CliRunner().invoke(main, [*words[:6], "plan.project.np"]).output


def test_all_choices_stand_in_one_table():
    by_group = {name: outcomes(DEMO, name) for name in groups(DEMO)}
    case = open_case(DEMO)
    table = choice_report.all_choices_table(by_group, case.use)
    assert len(table.rows) == sum(map(len, by_group.values()))
    assert sum(row[2] == "in use" for row in table.rows) == len(by_group)
    cost = {each.choice: each.results.ledger.total.cost_per_stabilised_watt for each in by_group["back_contact"]}
    row = next(row for row in table.rows if row[0] == "back contact: aluminium")
    assert row[2] == signed(cost["aluminium"] - cost["silver"])
    first = CliRunner().invoke(main, ["cost", str(DEMO), "choices"]).output.split("With --all")[0]
    assert "All choices side by side, EUR" in first
    assert "Choices of back contact side by side" not in first
    saving = choice_report.saving(by_group, case.use)
    assert "The largest saving is “microcrystalline second junction” of second junction: " in saving
    cheapest = {name: min(found, key=lambda o: o.results.ledger.total.cost_per_stabilised_watt) for name, found in by_group.items()}
    settled = {name: [each] for name, each in cheapest.items()}
    assert choice_report.saving(settled, {name: each.title for name, each in cheapest.items()}).startswith("No single change")


def test_the_command_says_why_and_what_is_left_out():
    told = CliRunner().invoke(main, ["cost", str(DEMO), "choices", "--group", "deposition_line", "--all"]).output
    assert "Why: EUR per stabilised W more than large batch chambers" in " ".join(told.split())
    assert "instead of “large batch chambers”: preheat oven position / heating lock 3 → 1" in " ".join(told.split())
    told = CliRunner().invoke(main, ["cost", str(DEMO), "choices", "--all", "--group", "cleaning"])
    assert (told.exit_code, "Each choice has the same equipment." in told.output) == (0, True)
    words = ["cost", str(DEMO), "choices", "--all", "--group", "cooling", "--use", "deposition_line=in_line"]
    told = CliRunner().invoke(main, words).output
    assert "“forced” is left out: frames cool in a lock of the line." in told


def test_choices_that_exclude_each_other_are_refused_with_the_reason():
    found = faults(lambda: open_case(DEMO, use={"deposition_line": "in_line", "cooling": "forced"}))
    assert found == [
        "alternatives/deposition_line/in_line/choice.yaml, 'excludes.cooling.forced': found both in use; frames cool in a lock of "
        "the line; allowed: cooling: natural, or another choice of deposition_line"
    ]
    _, left_out = side_by_side(DEMO, "deposition_line", use={"second_junction": "microcrystalline"})
    assert left_out == {"in_line": "its recipe is known for the batch chamber only"}


@pytest.mark.slow
@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=lambda folder: folder.name)
def test_every_combination_of_choices_loads_or_says_why_not(folder):
    known = groups(folder)
    loaded = excluded = 0
    for names in itertools.product(*known.values()):
        problem = None
        try:
            open_case(folder, use=dict(zip(known, names)))
        except InputFaults as found:
            problem = found
        loaded, excluded = (loaded + 1, excluded) if problem is None else (loaded, excluded + 1)
        assert problem is None or all("excludes." in fault.column for fault in problem.faults), str(problem)
    assert loaded > excluded
    assert (excluded > 0) == ("deposition_line" in known)
