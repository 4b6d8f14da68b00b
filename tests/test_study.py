"""Sweeps, searches, tornado, what moved a figure: against single evaluations and against values worked by hand.

A good module of the tiny line has 0.5 m2 x 80 % x 1,000 W/m2 x 10 % x 75 % = 30 W stabilised, and is packed in one box of 1.50 EUR,
bought for good modules only and without loss: a box dearer by 0.60 EUR adds 0.60/30 = 0.02 EUR to each watt.
"""
from __future__ import annotations

import dataclasses
import itertools
import json
import math

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.readings.recording import Recording
from costmodel.model.scenarios import open_case
from costmodel.present import study_report
from costmodel.studies import solve as solving
from costmodel.studies.axes import parse_axis
from costmodel.studies.draws import Draws
from costmodel.studies.many import CHUNK, figures_of, wanted_figures
from costmodel.studies.sensitivities import tornado
from costmodel.studies.solve import bracket_of, solve
from costmodel.studies.sweep import sweep
from costmodel.studies.waterfall import STRUCTURE, shapley, waterfall

from .cases import DEMO, FIELD, Inputs, demo, in_one_draw, tiny
from .refusals import faults
from .test_readings import CASES, drawn, in_mode

WATT = "ledger.total.cost_per_stabilised_watt"
BOX = "prices.box.price"


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def one(case, figure: str) -> float:
    """A figure of a case by a single evaluation."""
    return next(value for address, value, *_ in figures(evaluate(case), case.currency) if address == figure)


# the recording


@pytest.mark.parametrize("mode", range(2), ids=["sized", "frozen"])
@CASES
def test_every_figure_of_a_recording_is_that_of_the_array_reading_to_the_last_bit(case, mode):
    case = in_mode(case, mode)
    draws = drawn(case)
    wanted = {address: value for address, value, *_ in figures(evaluate(with_values(case, draws)), case.currency)}
    found = Recording(case, list(draws), list(wanted)).run(draws)
    assert [a for a in wanted if not np.array_equal(found[a], wanted[a], equal_nan=True)] == []


def test_a_recording_of_what_is_uncertain_is_the_array_reading_to_the_last_bit():
    """Inputs that stay numbers meet arrays here, and what no draw moves is computed as a number."""
    plant = as_bought(demo())
    draws = Draws(plant, seed=3).values(0, 20)
    wanted = {address: value for address, value, *_ in figures(evaluate(with_values(plant, draws)), plant.currency)}
    found = Recording(plant, list(draws), list(wanted)).run(draws)
    assert [a for a in wanted if not np.array_equal(*np.broadcast_arrays(found[a], wanted[a]), equal_nan=True)] == []


def test_a_recording_leaves_out_what_no_varied_input_moves():
    recording = Recording(demo(), [BOX.replace("box", "silane")], ["line.output.good_modules", WATT])
    found = recording.run({"prices.silane.price": np.array([50.0, 60.0])})
    assert found["line.output.good_modules"] == one(demo(), "line.output.good_modules")
    assert found[WATT].shape == (2,)
    assert len(recording) < 0.1 * len(Recording(demo(), list(drawn(demo())), [WATT]))


def sample_figures_do_not_depend_on_how_many_are_found_at_a_time():
    prices = np.linspace(40.0, 120.0, CHUNK + 3)
    found = figures_of(demo(), {"prices.silane.price": prices}, [WATT])[WATT]
    for k in (0, 1, CHUNK - 1, CHUNK, CHUNK + 2):
        assert found[k] == figures_of(demo(), {"prices.silane.price": prices[k : k + 1]}, [WATT])[WATT][0]


# sweeps


def test_a_sweep_is_a_loop_of_single_evaluations():
    case, wanted = demo(), [WATT, "line.output.stabilised_watts", "line.tools.deposition.tools"]
    axes = [parse_axis(case, "prices.silane.price=40..120 USD/kg", 3), parse_axis(case, "target.output=8, 9, 30 MWp_stabilised")]
    frame = sweep({"as it is": case}, axes, wanted)
    assert len(frame) == 9
    pairs = list(itertools.product(*(axis.values for axis in axes)))
    for row, (price, output) in zip(frame.to_dict("records"), pairs):
        single = with_values(case, {"prices.silane.price": float(price), "target.output": float(output)})
        for figure in wanted:
            assert row[figure] == one(single, figure)
        assert row["prices.silane.price"] == pytest.approx(price)
        assert row["target.output"] == pytest.approx(output / 1e6)
    assert frame.attrs["units"] == {
        "prices.silane.price": "USD/kg", "target.output": "MWp_stabilised", WATT: "EUR/Wp_stabilised",
        "line.output.stabilised_watts": "Wp_stabilised", "line.tools.deposition.tools": "tool"}


@pytest.mark.slow
def test_scenarios_and_choices_are_stacked():
    rows = json.loads(run("sweep", DEMO, "--over-scenarios", "--over-choices", "back_contact", "--json").output)["rows"]
    found = {row["case"]: row[WATT] for row in rows}
    assert found["as it is, silver"] == one(open_case(DEMO, use={"back_contact": "silver"}), WATT)
    assert found["first_year, aluminium"] == one(open_case(DEMO, "first_year", use={"back_contact": "aluminium"}), WATT)
    assert len(found) == 8


def test_a_range_of_ranges_csv_and_a_share_are_axes():
    assert parse_axis(demo(), "prices.silane.price", 3).shown.tolist() == pytest.approx([42, 81, 120])
    assert parse_axis(demo(), "product.stabilisation_ratio=74..80 %", 3).values.tolist() == pytest.approx([0.74, 0.77, 0.80])
    assert parse_axis(demo(), "product.stabilisation_ratio=74, 80%").values.tolist() == pytest.approx([0.74, 0.80])


AXES = {
    "unknown address": ("prices.silan.price=1..2", "found an unknown address"),
    "text": ("target.mode=sized", "found a text"),
    "no range": ("prices.silane.freight", "found no values and no row in ranges.csv"),
    "out of range": ("product.stabilisation_ratio=90..120 %", "found 120 %; allowed: a number above 0 to 100 [%]"),
    "out of order": ("prices.silane.price=5..4", "a low end below the high end"),
    "unit": ("prices.silane.price=5..6 kg", "does not convert into 'USD/kg'"),
}


@pytest.mark.parametrize("name", AXES)
def test_a_wrong_axis_is_refused(name):
    written, words = AXES[name]
    (message,) = faults(lambda: parse_axis(demo(), written))
    assert words in message
    assert run("sweep", DEMO, "--vary", written).exit_code == 2


def test_an_unknown_figure_is_refused_with_the_nearest():
    (message,) = faults(lambda: wanted_figures(demo(), ["ledger.total.cost_per_m3"]))
    assert message.endswith("did you mean 'ledger.total.cost_per_m2'?")


# searches


def test_the_price_of_a_box_that_gives_a_cost_worked_by_hand():
    found = solve(tiny(), BOX, WATT, one(tiny(), WATT) + 0.02, 1.0, 5.0)
    (answer,) = found.answers
    assert answer.kind == "root"
    assert answer.value == pytest.approx(2.10, rel=1e-9)
    assert abs(answer.residual) < 1e-12


def test_a_tool_count_that_jumps_across_the_value_is_said():
    # 87,500 passes of the saw x 108 s = 2,625 h, exactly 3 times 875 h; a little more takes 4
    found = solve(tiny(), "steps.cut.process_time", "line.tools.saw.tools", 3.5, 100.0, 120.0)
    (answer,) = found.answers
    assert answer.kind == "jump"
    assert (answer.figure, answer.figure_beyond) == (3.0, 4.0)  # in the direction of the rising input
    assert answer.value < answer.beyond
    assert answer.value == pytest.approx(108.0, rel=1e-9)
    printed = run("solve", DEMO, "--input", "target.output", "--figure", "line.tools.deposition.tools", "--value", "3.5",
                  "--from", "8 MWp_stabilised", "--to", "20 MWp_stabilised", "--resize").output
    assert "the figure jumps past the value as the input rises: from 3.000 tool to 4.000 tool" in printed


def test_a_figure_that_has_the_value_all_along_is_an_interval_to_its_true_end():
    found = solve(tiny(), "steps.cut.process_time", "line.tools.saw.tools", 3.0, 100.0, 120.0, points=201)
    (answer,) = found.answers
    assert (answer.kind, answer.value, answer.beyond) == ("interval", 100.0, pytest.approx(108.0, rel=1e-8))
    # 875 h for 87,500 passes and one saw: 36 s; so two are needed from there to 72 s, wherever the points of the scan lie
    (answer,) = solve(tiny(), "steps.cut.process_time", "line.tools.saw.tools", 2.0, 10.0, 120.0, points=17).answers
    assert (answer.kind, answer.value, answer.beyond) == ("interval", pytest.approx(36.0, rel=1e-8), pytest.approx(72.0, rel=1e-8))
    assert one(with_values(tiny(), {"steps.cut.process_time": answer.beyond}), "line.tools.saw.tools") == 2.0


def test_every_root_and_jump_holds_by_single_evaluations():
    case = demo()
    found = solve(case, "target.output", WATT, 1.48, 2e6, 40e6)
    kinds = [answer.kind for answer in found.answers]
    assert kinds.count("root") > 1
    assert kinds.count("jump") > 0
    for answer in found.answers:
        single = [one(with_values(case, {"target.output": value}), WATT) for value in (answer.value, answer.beyond)]
        assert single == [answer.figure, answer.figure_beyond]
        if answer.kind == "root":
            assert abs(single[0] - 1.48) < 1e-11
        else:
            assert (single[0] - 1.48) * (single[1] - 1.48) < 0


def test_none_is_an_answer():
    found = solve(tiny(), BOX, WATT, 1e-6)
    assert found.answers == ()
    assert found.least > 1e-6
    asked = ("solve", DEMO, "--input", "prices.silane.price", "--value", "0.1 EUR/Wp_stabilised")
    header, row = run(*asked, "--csv").output.splitlines()  # the columns, and the word for none
    assert (header, row) == ("kind,input,figure,residual,beyond,figure_beyond", "none,,,,,")
    told = json.loads(run(*asked, "--json").output)
    assert (told["status"], told["rows"]) == ("none", [])
    result = run(*asked)
    assert result.exit_code == 0
    assert "None: no value of silane: price" in result.output


def test_whether_tools_follow_is_said():
    asked = ("solve", DEMO, "--input", "prices.silane.price", "--value", "1.54")
    for more, tag, words in (
        ((), "(plant as bought)", "The plant is as bought"),
        (("--resize",), "(tools sized for every value)", "Tools are sized anew"),
        (("--set", "target.mode=frozen"), "(plant as installed)", "The plant is as installed, and makes all it can"),
    ):
        printed = run(*asked, *more).output
        assert printed.splitlines()[0].endswith(tag)
        assert words in printed


def test_where_a_search_looks():
    assert bracket_of(demo(), "prices.silane.price") == (42.0, 120.0, "the range of ranges.csv")
    assert bracket_of(demo(), "steps.lamination.rework_share") == (0.0, 1.0, "all that the input allows")
    assert bracket_of(tiny(), BOX) == (pytest.approx(0.15), 15.0, "a tenth to ten times its present value")
    (message,) = faults(lambda: bracket_of(with_values(tiny(), {BOX: 0.0}), BOX))
    assert "--from and --to, since the input is 0" in message


def test_values_that_the_case_refuses_are_left_out_and_counted():
    # of planned downtime, 7.5 % unplanned and 4 % engineering leave 88.5 %
    figure = "line.tools.saw.available_time"
    found = solve(tiny(), "tools.saw.planned_downtime", figure, 0.5 * one(tiny(), figure), 0.0, 1.0)
    assert [answer.kind for answer in found.answers] == ["root"]
    assert 0.05 < found.refused < 0.2
    assert found.answers[0].value < 0.92


def test_a_root_is_shown_at_its_target_and_a_jump_with_what_is_left():
    plant, address, npv = as_bought(demo()), "sales.facade.price", "plan.project.npv"
    wanted, found = wanted_figures(plant, [npv])[npv], solve(plant, address, npv, 0.0)
    (row,) = study_report.solution_table(plant, found, wanted, plant.entry_units[address]).rows
    assert row[3:] == ["0", "0"]
    assert 0.0 < abs(found.answers[0].residual) < 1e-2  # of money: what the search leaves of a present value of millions
    off = dataclasses.replace(found, answers=(dataclasses.replace(found.answers[0], figure=-250.0, residual=-250.0),))
    (row,) = study_report.solution_table(plant, off, wanted, plant.entry_units[address]).rows
    assert row[3:] == ["−250.000", "−2.5e+02"]


def test_a_figure_without_value_is_no_root(monkeypatch):
    def holed(case, values, wanted):
        x = next(iter(values.values()))
        return {wanted[0]: np.where((x > 2.0) & (x < 4.0), np.nan, x - 3.0)}

    monkeypatch.setattr(solving, "figures_of", holed)
    found = solve(tiny(), BOX, WATT, 0.0, 1.0, 5.0, points=101)
    assert found.answers == ()
    assert 0.4 < found.without < 0.6


# tornado


@pytest.mark.slow
def test_a_tornado_moves_each_input_alone():
    case = as_bought(demo())
    present, bars = tornado(case, WATT)
    assert present == one(case, WATT)
    assert {bar.address for bar in bars} == {row.address for row in demo().ranges.values()}
    for bar in bars:
        assert bar.at_low == one(in_one_draw(case, {bar.address: bar.low}), WATT)
        assert bar.at_high == one(in_one_draw(case, {bar.address: bar.high}), WATT)
    assert [bar.width for bar in bars] == sorted((bar.width for bar in bars), reverse=True)


@pytest.mark.slow
def test_the_tornado_leaves_the_plant_as_bought_unless_told():
    def outputs(*more):
        rows = json.loads(run("rank", DEMO, "tornado", "--figure", "line.output.stabilised_watts", "--json", *more).output)["rows"]
        return {row["address"]: (row["figure_at_low"], row["figure_at_high"]) for row in rows}

    # at the low end of its range the deposition yield leaves less than was planned; at the high end no more is sold than that
    address, output = "steps.deposition.first_pass_yield", evaluate(demo()).line.output
    able = output.capacity / output.good_modules * 93 / 97.4
    assert able < 1
    assert outputs()[address] == pytest.approx((9e6 * able, 9e6), rel=1e-9)
    assert outputs()["site.scheduled_time"] == pytest.approx((9e6, 9e6), rel=1e-9)  # known before purchase
    assert outputs("--resize")[address] == pytest.approx((9e6, 9e6), rel=1e-9)


# what moved a figure


def airport(costs):
    """The cost of a runway long enough for all that land on it."""
    return lambda there: np.max(np.where(there, np.array(costs), 0.0), axis=1)


def test_shapley_values_of_the_runway_are_those_worked_by_hand():
    # the first length is shared by three, the next by two, the last is of one: 1/3, 1/3 + 1/2, 1/3 + 1/2 + 1
    parts = shapley(["small", "middle", "large"], airport([1.0, 2.0, 3.0]))
    assert [part.value for part in parts] == pytest.approx([1 / 3, 5 / 6, 11 / 6], rel=1e-14)


def test_shapley_values_do_not_depend_on_the_order_of_players():
    costs = {"a": 3.0, "b": 1.0, "c": 2.0, "d": 2.0, "idle": 0.0}
    found = {name: {} for name in ("as they stand", "backwards")}
    for way, names in (("as they stand", list(costs)), ("backwards", list(costs)[::-1])):
        found[way] = {p.player: p.value for p in shapley(names, airport([costs[name] for name in names]))}
    assert found["as they stand"] == pytest.approx(found["backwards"], rel=1e-14)
    assert found["as they stand"]["c"] == found["as they stand"]["d"]
    assert found["as they stand"]["idle"] == 0.0


def test_sampled_shapley_values_are_the_exact_ones_within_their_error():
    costs = [float(k) for k in range(1, 9)]
    names = [f"p{k}" for k in range(1, 9)]
    exact = shapley(names, airport(costs))
    sampled = shapley(names, airport(costs), exact_to=2, orders=2000, seed=5)
    for one_part, other in zip(exact, sampled):
        assert 0 < other.error < 0.1
        assert abs(one_part.value - other.value) < 4 * other.error
    assert sum(part.value for part in sampled) == pytest.approx(8.0, rel=1e-12)
    assert sampled == shapley(names, airport(costs), exact_to=2, orders=2000, seed=5)
    assert sampled != shapley(names, airport(costs), exact_to=2, orders=2000, seed=6)


def dearer_box() -> Inputs:
    """A box of 2.10 EUR with 10 % freight."""
    return Inputs().cell("prices.csv", "box", "price", "2.1").cell("prices.csv", "box", "freight", "10")


def test_a_move_is_shared_out_as_worked_by_hand():
    # 0.60 EUR more costs 0.60 or 0.66 EUR, as freight is before or after it; 10 % freight 0.15 or 0.21 EUR
    found = waterfall(tiny(), dearer_box().load(), WATT, by="input")
    parts = {part.player: part.value for part in found.parts}
    assert parts == {BOX: pytest.approx(0.63 / 30, rel=1e-9), "prices.box.freight": pytest.approx(0.18 / 30, rel=1e-9)}
    assert found.after - found.before == pytest.approx(sum(parts.values()), rel=1e-12)
    (row,) = waterfall(tiny(), dearer_box().load(), WATT, by="row").parts
    assert (row.player, row.value) == ("prices.box", pytest.approx(0.81 / 30, rel=1e-9))


def test_a_move_back_is_the_same_parts_with_the_other_sign():
    there = waterfall(tiny(), dearer_box().load(), WATT, by="input")
    back = waterfall(dearer_box().load(), tiny(), WATT, by="input")
    assert {p.player: p.value for p in there.parts} == {p.player: pytest.approx(-p.value, rel=1e-9) for p in back.parts}


@pytest.mark.parametrize("by", ["input", "row", "table"])
def test_parts_add_up_to_the_move_for_scenarios_and_choices(by):
    after = open_case(DEMO, "first_year", use={"back_contact": "aluminium", "cleaning": "in_chamber"})
    found = waterfall(demo(), after, WATT, by=by)
    assert found.before == one(demo(), WATT)
    assert found.after == one(after, WATT)
    assert math.fsum(part.value for part in found.parts) == pytest.approx(found.after - found.before, rel=1e-9)
    assert STRUCTURE in {part.player for part in found.parts}


def test_a_currency_moves_with_the_price_stated_in_it():
    after = Inputs().cell("prices.csv", "box", "currency", "USD").cell("prices.csv", "box", "price", "4.2").load()  # 2.10 EUR
    (part,) = waterfall(tiny(), after, WATT, by="input").parts
    assert (part.player, part.value) == (STRUCTURE, pytest.approx(0.02, rel=1e-9))


def test_nothing_that_differs_moves_nothing():
    found = waterfall(tiny(), tiny(), WATT)
    assert (found.parts, found.after - found.before) == ((), 0.0)


def test_many_changes_are_sampled_and_say_so():
    after = with_values(tiny(), {f"steps.{s}.{c}": v for s in tiny().steps for c, v in (
        ("first_pass_yield", 0.9), ("process_time", 60.0), ("rate_efficiency", 0.9), ("load_loss", 0.01))})
    found = waterfall(tiny(), after, WATT, by="input", orders=40, seed=3)
    assert not found.exact
    assert any(part.error > 0 for part in found.parts)
    assert math.fsum(part.value for part in found.parts) == pytest.approx(found.after - found.before, rel=1e-9)


def test_cases_in_two_currencies_are_refused():
    with pytest.raises(InputFaults, match="one currency"):
        waterfall(demo(), open_case(FIELD), WATT)
    assert run("waterfall", DEMO).exit_code == 2


def test_scenarios_stand_side_by_side():
    rows = json.loads(run("compare", DEMO, "--all-scenarios", "--json").output)["rows"]
    found = {(row["scenario"], row["figure"]): row["value"] for row in rows}
    assert found["dear_silver", WATT] == one(open_case(DEMO, "dear_silver"), WATT)
    assert found["as it is", WATT] == one(demo(), WATT)


@pytest.mark.slow
def test_charts_are_written_whole(tmp_path):
    for number, words in enumerate((
        ["sweep", DEMO, "--vary", "prices.silane.price", "--points", "3"],
        ["sweep", DEMO, "--vary", "prices.silane.price", "--vary", "site.scheduled_time", "--points", "3", "--threshold", "1.6"],
        ["rank", DEMO, "tornado"], ["waterfall", DEMO, "--scenario", "first_year"], ["rank", DEMO, "--points", "16"],
        ["risk", DEMO, "--draws", "50"],
    )):
        path = tmp_path / f"{number}.html"
        result = run(*words, "--chart", path)
        assert result.exit_code == 0, result.output
        assert path.read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert len(list(tmp_path.iterdir())) == 6
