"""A figure without a value has none: NaN with a status and a reason in every reading, study, printed record and workbook."""
from __future__ import annotations

import dataclasses
import importlib
import inspect
import json
import math
import re

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.demo import demo_case
from costmodel.command.main import main
from costmodel.core.fields import STATUS, Figure, declared
from costmodel.core.operations import valid_if
from costmodel.core.units import unit as unit_of
from costmodel.documents.bundle import write_bundle
from costmodel.documents.svg_pictures import spans
from costmodel.documents.workbook.second_engine import cell_values, named_values, recalculated
from costmodel.documents.workbook.write import workbook_bytes
from costmodel.model.deal.yardsticks import profit_share, turnover_factor
from costmodel.model.evaluate import STAGES, evaluate, figures, reasons
from costmodel.model.ledger.soaking_sample import sample_size
from costmodel.model.line.line_figures import TimeStates
from costmodel.model.line.states import effectiveness
from costmodel.model.market.efficiency_break_even import break_even_efficiency
from costmodel.model.plan.finance import debt_year
from costmodel.model.plan.worth import mirr, payback, quarters_below, recovered_share
from costmodel.present import plan_report, risk_report, study_charts, study_report
from costmodel.present.explain.tree import explained
from costmodel.studies.axes import parse_axis
from costmodel.studies.factory import least_price as answers
from costmodel.studies.many import Wanted, wanted_figures
from costmodel.studies.risk import Run
from costmodel.studies.sensitivities import Bar, tornado
from costmodel.studies.solve import solve
from costmodel.studies.spread import probability, reasons_of, spread
from costmodel.studies.sweep import sweep
from costmodel.studies.waterfall import waterfall

from .batch import batch
from .cases import DEMO, FIELD, demo, tiny
from .plans import limited, worn
from .refusals import faults
from .spreadsheet import with_inputs
from .terms import terms

PAYBACK, DISCOUNTED = "plan.project.payback", "plan.project.discounted_payback"
NEVER = "not paid back within the plan"
DELAY = "schedule.delay"
MONTH = 8760 * 3600 / 12
DEAR = {"sales.near.price": 10.0, "sales.far.price": 7.5, "sales.walls.price": 600.0}
GIVEN_AWAY = {"sales.near.price": 0.01, "sales.far.price": 0.01, "sales.walls.price": 0.01}


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def printed(*words) -> dict:
    """What a command prints as JSON."""
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def late() -> dict[str, float]:
    """The demo five years late, which is not paid back within its plan."""
    return {DELAY: 60 * MONTH}


def unexplained(case) -> list[str]:
    """Figures whose value and status do not go together, in a case of numbers."""
    results = evaluate(case)
    known, why = {a: v for a, v, *_ in figures(results, case.currency)}, reasons(results)
    return [
        address for address, value in known.items()
        if math.isnan(value) != (address in why and known[address + STATUS] in why[address])
    ]  # fmt: skip


ODD = {
    "demo": demo, "tiny": tiny, "batch": batch, "terms": terms, "limited": limited, "worn": worn,
    "late": lambda: with_values(demo(), late()),
    "given away": lambda: with_values(limited(), GIVEN_AWAY),
    "without loan": lambda: with_values(limited(), {"loan.part": 0.0}),
    "without payments": lambda: with_values(limited(), {"licence.upfront": 0.0, "licence.royalty": 0.0,
                                                       "licence.royalty_per_watt": 0.0}),
    "without heat": lambda: with_values(demo(), {"tool_utilities.preheat_oven_electricity.when_processing": 0.0}),
}  # fmt: skip


@pytest.mark.parametrize("name", ODD)
def test_a_figure_has_no_value_just_where_its_status_gives_the_reason(name):
    case = ODD[name]()
    assert unexplained(case) == []


def test_every_status_stands_beside_its_figure_and_is_met_without_a_value_or_worked_by_hand():
    named = {address.rsplit(".", 1)[1] for name in ("late", "limited", "batch") for address in reasons(evaluate(ODD[name]()))}
    assert named == {
        "least_over_drawn", "operational", "rate", "quality", "sample_needed", "sample_for_random", "efficiency_at_asked_price",
        "efficiency_at_cost", "dscr", "minimum_dscr", "irr", "recovered", "mirr", "payback", "discounted_payback",
        "profit_share", "turnover_factor", "discounted_profit_share", "discounted_turnover_factor", "royalty_equivalent",
        "licensor_share", "mean_power", "cost_per_labelled_watt"}  # fmt: skip


def test_a_value_stands_where_its_condition_holds_in_numbers_and_arrays():
    assert valid_if(True, 3.0) == 3.0
    assert math.isnan(valid_if(False, 3.0))
    assert np.array_equal(valid_if(np.array([True, False]), 3.0), [3.0, math.nan], equal_nan=True)
    assert np.array_equal(valid_if(True, np.array([1.0, 2.0])), [1.0, 2.0])
    assert np.isnan(valid_if(False, np.array([1.0, 2.0]))).all()


def sample_figures_without_a_value_by_hand():
    # -100 on day one and 30 at each of three quarters: -10 at the end, not paid back; with 40 each, 20 left: after 2.5 quarters
    never, once = [-100.0, -70.0, -40.0, -10.0], [-100.0, -60.0, -20.0, 20.0]
    assert np.array_equal(payback(never, quarters_below(never)), (math.nan, 0.0), equal_nan=True)
    assert payback(once, quarters_below(once)) == (2.5, 1.0)
    drawn = [np.array(pair) for pair in zip(never, once)]
    assert np.array_equal(payback(drawn, quarters_below(drawn)), [[math.nan, 2.5], [0.0, 1.0]], equal_nan=True)
    for found in (mirr([-5.0, -1.0], 0.1, 0.1), mirr([5.0, 1.0], 0.1, 0.1), recovered_share([5.0, 1.0])):
        assert np.array_equal(found, (math.nan, 0.0), equal_nan=True)
    assert mirr([-100.0, 0.0, 121.0], 0.1, 0.1) == (pytest.approx(0.1), 1.0)
    assert recovered_share([-100.0, 30.0]) == (0.3, 1.0)
    assert np.array_equal(turnover_factor(0.0, 10.0), (math.nan, 0.0), equal_nan=True)
    assert np.array_equal(profit_share(20.0, -20.0), (math.nan, 0.0), equal_nan=True)
    assert profit_share(20.0, 60.0) == (0.25, 1.0)
    assert np.array_equal(break_even_efficiency(60.0, -0.5, 1000.0), (math.nan, 0.0), equal_nan=True)


def test_a_year_without_repayment_has_no_cover_and_is_below_none():
    case = limited()
    quarter = next(iter(evaluate(case).plan.quarters.values()))
    year = [dataclasses.replace(quarter, repaid=0.0, interest=2.0)] * 4
    found = debt_year(case, year)
    assert math.isnan(found.dscr)
    assert (found.dscr_status, found.below_minimum_dscr, found.debt_service) == (0.0, 0.0, 8.0)
    free = evaluate(ODD["without loan"]()).plan
    assert math.isnan(free.minimum_dscr)
    assert (free.minimum_dscr_status, free.years_below_minimum_dscr) == (0.0, 0.0)


def test_no_meaning_of_a_figure_speaks_of_a_number_that_stands_for_none():
    stands = re.compile(r"no number|[01] where (there is none|nothing|it is not|no )|0 in a year without|0 where its status")
    found = [f"{kind.__name__}.{name}" for kind in records() for name, each in declared(kind).items()
             if isinstance(each, Figure) and stands.search(each.meaning)]  # fmt: skip
    assert found == []


# studies


def test_draws_without_a_value_are_counted_never_averaged_and_miss_every_target():
    # two draws of four are never paid back, the others after 5 and 12 years
    values, status = np.array([math.nan, 5.0, math.nan, 12.0]), np.array([0.0, 1.0, 0.0, 1.0])
    found = spread(values)
    assert (found.mean, found.without, found.quantiles[2].value) == (8.5, 0.5, 8.5)
    assert probability(values, "<=", 6.0).share == 0.25
    assert probability(values, ">=", 0.0).share == 0.5
    assert (probability(values, "<=", 1.0).share, probability(values, "<=", 1.0).low) == (0.0, 0.0)
    figure = Wanted(PAYBACK, "year", "payback", math.nan, {0.0: NEVER}, NEVER)
    draws = Run({PAYBACK: values, PAYBACK + STATUS: status}, 4, 4, {"method": "random", "seed": 0, "fingerprint": ""})
    assert reasons_of(draws, figure) == {NEVER: 0.5}
    words = risk_report.risky(draws, figure, found)
    assert "With all inputs as they are it is no value (not paid back within the plan)." in words
    assert words.endswith("It has no value in 50 % of the draws, which are in no quantile; not paid back within the plan: 50 %.")
    assert risk_report.risk_table({PAYBACK: figure}, {PAYBACK: found}).rows[0] == ["as it is", NEVER]


def test_the_probability_of_an_early_payback_is_nothing_and_draws_that_never_pay_back_are_reported():
    """A plant that takes 21 months to build is not paid back within half a year."""
    words = ("risk", DEMO, "--resize", "--draws", "64", "--figure", DISCOUNTED, "--target", f"{DISCOUNTED}>=0 year",
             "--target", f"{PAYBACK}<=0.5 year", "--target", f"{DISCOUNTED}<=1 year")  # fmt: skip
    shown = printed(*words)
    met = {target: found["share"] for target, found in shown["targets"].items()}
    assert met[f"{PAYBACK}<=0.5 year"] == met[f"{DISCOUNTED}<=1 year"] == 0.0
    shares = {row["what"]: row for row in shown["rows"] if row["figure"] == DISCOUNTED}
    without = shares["share of draws without value"]
    assert without["unit"] == "%"
    assert 10 < without["value"] < 100
    assert shares[f"share of draws without value: {NEVER}"]["value"] == without["value"]
    assert met[f"{DISCOUNTED}>=0 year"] == pytest.approx(100 - without["value"])
    assert shares["P50"]["value"] > 1.75


@pytest.mark.slow
def test_an_input_that_takes_the_value_away_comes_first_in_a_tornado():
    case = demo()
    present, bars = tornado(case, DISCOUNTED)
    lost = [bar for bar in bars if bar.why_low or bar.why_high]
    assert DELAY in {bar.address for bar in lost}
    assert bars[: len(lost)] == lost
    assert {why for bar in lost for why in (bar.why_low, bar.why_high)} == {"", NEVER}
    for bar in lost:
        assert math.isnan(bar.at_low) == (bar.why_low == NEVER)
        assert math.isnan(bar.at_high) == (bar.why_high == NEVER)
    wanted = wanted_figures(case, [DISCOUNTED])[DISCOUNTED]
    words = study_report.widest(case, wanted, bars, present)
    assert f"It has no value ({NEVER}) with one of these at an end of its range: " in words
    assert "from 0 year" not in words
    row = study_report.tornado_table(case, wanted, bars, []).rows[0]
    assert NEVER in row
    assert row[4] == "–"


def test_bars_begin_midway_where_the_figure_has_no_value_with_inputs_as_they_are():
    figure = Wanted(PAYBACK, "1", "payback", math.nan, {0.0: NEVER}, NEVER)
    row = next(iter(demo().ranges))
    low, high = study_charts.tornado_bars(demo(), figure, [Bar(row, demo().ranges[row].address, 1.0, 2.0, 6.0, 10.0)])["data"]
    assert (low["base"], low["x"], high["x"]) == ([8.0], [-2.0], [2.0])


def test_a_move_to_no_value_is_not_split_and_has_no_chart(tmp_path):
    found = waterfall(demo(), with_values(demo(), late()), PAYBACK)
    assert (found.parts, found.without, found.reasons) == ((), 0.5, ("", NEVER))
    assert 7 < found.before / (8760 * 3600) < 9
    assert math.isnan(found.after)
    wanted = wanted_figures(demo(), [PAYBACK])[PAYBACK]
    assert study_report.moved(found, wanted).endswith(
        f"years to no value ({NEVER}). The move is not split: the figure has no value in 50 % of the combinations of changes.")
    assert "found no value (not paid back within the plan)" in faults(lambda: study_charts.waterfall_bars(found))[0]
    shown = printed("waterfall", DEMO, "--figure", PAYBACK, "--set", f"{DELAY}=60 month")
    assert (shown["after"], shown["reason_after"], shown["reason_before"], shown["rows"]) == (None, NEVER, None, [])


@pytest.mark.slow
def test_a_search_says_where_the_figure_ceases_to_have_a_value():
    found = solve(demo(), DELAY, DISCOUNTED, 0.0, 0.0, 60 * MONTH)
    assert found.answers == ()
    (edge,) = found.edges
    assert (edge.ceases, edge.reason) == (True, NEVER)
    assert 0.5 < found.without < 1
    below, above = (evaluate(with_values(demo(), {DELAY: edge.value * factor})).plan.project for factor in (1 - 1e-9, 1 + 1e-9))
    assert (below.discounted_payback_status, above.discounted_payback_status) == (1.0, 0.0)
    wanted = wanted_figures(demo(), [DISCOUNTED])[DISCOUNTED]
    words = study_report.solved(demo(), found, wanted, "month")
    assert f"Above {study_report.shown(edge.value, 'month', 6)} month it has no value: {NEVER}." in words
    shown = printed("solve", DEMO, "--input", DELAY, "--figure", DISCOUNTED, "--value", "0 year", "--from", "0 month",
                    "--to", "60 month")  # fmt: skip
    assert (shown["edges"][0]["side"], shown["edges"][0]["reason"], shown["rows"]) == ("above", NEVER, [])


def test_an_interval_is_printed_as_an_interval():
    words = ("solve", DEMO, "--resize", "--input", "target.output", "--figure", "line.tools.deposition.tools", "--value", "3")
    (row,) = printed(*words)["rows"]
    assert (row["kind"], row["residual"]) == ("interval", 0.0)
    output = run(*words).output
    assert "One interval of target: output" in output
    assert "has it in the whole interval from" in output
    for end, factor in (("input", 1 - 1e-9), ("beyond", 1 + 1e-9)):
        for inside, there in ((True, 2 - factor), (False, factor)):
            tools = evaluate(with_values(demo(), {"target.output": row[end] * 1e6 * there})).line.tools["deposition"].tools
            assert (tools == 3) == inside


@pytest.mark.slow
def test_a_sweep_and_scenarios_give_the_reason_beside_an_empty_value():
    frame = sweep({"as it is": demo()}, [parse_axis(demo(), f"{DELAY}=0, 60 month")], [PAYBACK, "plan.project.npv"])
    assert frame[PAYBACK + "_reason"].tolist() == [None, NEVER]
    assert math.isnan(frame[PAYBACK][1])
    assert "plan.project.npv_reason" not in frame.columns
    assert study_report.sweep_table(demo(), frame).rows[1][2] == NEVER
    alone = sweep({"late": with_values(demo(), late())}, [], [PAYBACK])
    assert alone[PAYBACK + "_reason"].tolist() == [NEVER]
    rows = printed("compare", DEMO, "--all-scenarios", "--figure", PAYBACK)["rows"]
    blows = next(row for row in rows if (row["scenario"], row["figure"]) == ("three_blows", PAYBACK))
    assert (blows["value"], blows["unit"], blows["reason"]) == (None, "year", NEVER)


# printed records and the workbook


@pytest.mark.slow
def test_json_and_csv_give_the_reason_of_every_figure_without_a_value():
    shown = printed("plan", DEMO, "--set", f"{DELAY}=60 month")
    assert shown[PAYBACK] == {"value": None, "unit": "year", "reason": NEVER}
    assert shown["plan.years.y01.dscr"] == {"value": None, "unit": "1", "reason": "no repayment in the year"}
    rows = run("plan", DEMO, "--csv", "--set", f"{DELAY}=60 month").output.splitlines()
    (row,) = (row for row in rows if row.startswith(PAYBACK + ","))
    assert row.split(",")[1:3] == ["", "year"]
    assert row.endswith(NEVER)
    assert "There is no payback within the plan." in run("plan", DEMO, "cash", "--set", f"{DELAY}=60 month").output
    tree = printed("explain", DEMO, PAYBACK, "--depth", "0", "--set", f"{DELAY}=60 month")
    assert (tree["value"], tree["reason"]) == (None, NEVER)


@pytest.mark.slow
def test_the_workbook_shows_no_value_as_not_available_and_follows_when_inputs_change():
    """What is paid back as written is not when all is given away; the checks agree as long as a status gives the reason."""
    case = with_values(limited(), DEAR)
    book = workbook_bytes(case)
    assert evaluate(case).plan.project.payback_status == 1.0
    (saved,) = recalculated([with_inputs(case, book, GIVEN_AWAY)])
    values, wanted = named_values(book, saved), evaluate(with_values(case, GIVEN_AWAY))
    assert wanted.plan.project.payback_status == 0.0
    assert (values[PAYBACK], values[PAYBACK + STATUS]) == ("#N/A", 0)
    assert off_by_status(values, with_values(case, GIVEN_AWAY)) == []
    checks = cell_values(saved)["Checks"].values()
    assert "DISAGREES" not in checks


def off_by_status(values, case) -> list[str]:
    """Figures of a workbook that have a value where the model has none, or none where it has one."""
    known = {a: v for a, v, *_ in figures(evaluate(case), case.currency)}
    return [address for address, value in known.items() if math.isnan(value) != (values[address] == "#N/A")]


# the least price and volume


def test_the_least_price_says_whether_it_is_a_root_a_jump_or_not_there():
    found = answers._least(lambda x: 4 * x - 10, 50.0, 100.0)
    assert (found.times, found.status) == (pytest.approx(2.5), answers.FOUND)
    assert 0 <= found.residual < 1e-9
    jump = answers._least(lambda x: np.where(x < 3.0, -5.0, 2.0 * x), 50.0, 100.0)
    assert (jump.times, jump.status, jump.below, jump.residual) == (pytest.approx(3.0), answers.JUMP, -5.0, pytest.approx(6.0))
    never = answers._least(lambda x: x - 60, 50.0, 100.0)
    assert (never.times, never.status, never.residual) == (None, answers.NONE, -10.0)
    always = answers._least(lambda x: x + 60, 50.0, 100.0)
    assert (always.times, always.status, always.residual) == (None, answers.ANY, pytest.approx(60.001))
    # of several crossings, the first: earned from 2 to 4 times, and from 7 on
    several = answers._least(lambda x: (x - 2) * (x - 4) * (x - 7), 50.0, 100.0)
    assert several.times == pytest.approx(2.0)


def test_words_of_a_least_price_that_jumps_or_is_not_there():
    case, results = demo(), evaluate(demo())
    jump = answers.Least(1.5, answers.JUMP, 2e6, -1e6, 1e-3, 50.0)
    assert "The net present value jumps there from EUR −1.00 million to EUR 2.00 million." in plan_report.price_needed(
        case, results, jump)
    none, every = (answers.Least(None, status, 0.0, 0.0, 1e-3, 50.0) for status in (answers.NONE, answers.ANY))
    assert plan_report.price_needed(case, results, none).startswith("No price up to 50.0 times today's, ")
    assert plan_report.price_needed(case, results, every).startswith("Every price from 0.00100 times today's, ")
    words = "Even all of the output that the markets take does not earn the required return."
    assert plan_report.volume_needed(case, none) == words
    assert "earns the required return: no least volume is found." in plan_report.volume_needed(case, every)


@pytest.mark.slow
def test_a_root_that_is_not_there_has_a_status_with_the_reason():
    case = limited()
    explanation = explained(case, solved=True)
    volume = explanation.tree("solved.least_volume.times", 0)
    assert math.isnan(volume.value)
    assert volume.reason == "none that is looked at earns what is required"
    assert explanation.sheet.value("solved.least_volume.times_status") == answers.NONE
    assert explanation.sheet.value("solved.least_price.times_status") == answers.FOUND
    left = explanation.sheet.value("solved.least_price.project.npv")
    assert abs(left) <= answers.ZERO * explanation.sheet.value("plan.capital")


# one unit for one kind of figure


def records():
    """Every record of figures."""
    modules = [importlib.import_module(f"costmodel.model.{stage}.{stage}_figures") for stage in STAGES]
    return [kind for module in modules for _, kind in inspect.getmembers(module, dataclasses.is_dataclass)
            if kind.__module__ == module.__name__]  # fmt: skip


NUMBERS = {
    "starts_per_good", "intervals", "units", "coverage_factor", "soaked", "precision_met", "sample_needed", "sample_for_random",
    "binds", "learning_factor", "dscr", "minimum_dscr", "below_minimum_dscr", "years_below_minimum_dscr", "quarters_below",
    "discounted_quarters_below", "start", "turnover_factor", "discounted_turnover_factor", "minimum_binds", "open_share",
    "early", "lost_quarters"}  # fmt: skip
HOURS = {"times", "time", "shortest", "longest", "calendar_time", "scheduled_time", "scheduled_time_at_peak", "available_time",
         "waiting_time"}  # on the clock of tools and of lots, within the year  # fmt: skip


def test_one_kind_of_figure_has_one_unit():
    """Counts, factors and marks are plain numbers, shares and rates in %; times on a clock in h, of a plan in years, of tasks in
    months."""
    by_dimension: dict[object, set[str]] = {}
    for kind in records():
        for name, each in declared(kind).items():
            if not isinstance(each, Figure) or "{" in each.unit:
                continue
            where = f"{kind.__name__}.{name}"
            if each.unit in ("1", "%"):
                assert (each.unit == "1") == (name in NUMBERS or name.endswith(STATUS)), where
                continue
            text = re.sub(r"\bmoney\b", "EUR", each.unit)
            dimension = unit_of(text).dimensionality
            if dimension == unit_of("s").dimensionality:
                clock = kind.__module__.split(".")[2] in ("line", "ledger")
                of_tasks = kind.__module__.endswith("transfer_figures") or kind.__name__ == "DateExposure"
                assert each.unit == ("h" if clock else "month" if of_tasks else "year"), where
                assert not clock or name in HOURS, where
                continue
            by_dimension.setdefault(dimension, set()).add(text)
    assert [units for units in by_dimension.values() if len(units) > 1] == []


@pytest.mark.parametrize("folder", [DEMO, FIELD])
def test_rates_of_one_kind_are_printed_in_one_unit_with_the_unit_beside_each(folder):
    shown = printed("plan", folder)
    rates = {name: shown[f"plan.{name}"] for name in ("required_return", "equity_return", "project.irr", "project.mirr",
                                                      "owners.irr", "project.recovered")}  # fmt: skip
    assert {each["unit"] for each in rates.values()} == {"%"}
    assert rates["required_return"]["value"] == pytest.approx(100 * evaluate_plan(folder).required_return)
    assert {shown[f"plan.{side}.{name}"]["unit"] for side in ("project", "owners")
            for name in ("payback", "discounted_payback", "low_point_time")} == {"year"}  # fmt: skip
    assert all(each["unit"] for each in shown.values())


def evaluate_plan(folder):
    from costmodel.case.load import load_case

    return evaluate(load_case(folder)).plan


def test_a_tool_that_is_up_and_makes_nothing_has_no_rate():
    """Half of the year it stands by, half of it it is down: an operational efficiency of nothing, and no rate."""
    found = effectiveness(TimeStates(0.0, 0.25, 0.25, 0.0, 0.5, 0.0), demo_case().tools["laminator"], [])
    assert (found.availability, found.operational, found.operational_status) == (0.5, 0.0, 1.0)
    assert math.isnan(found.rate)
    assert math.isnan(found.quality)
    assert (found.rate_status, found.quality_status) == (0.0, 0.0)
    down = effectiveness(TimeStates(0.0, 1.0, 1.0, 0.0, 0.0, 0.0), demo_case().tools["laminator"], [])
    assert math.isnan(down.operational)
    assert down.operational_status == 0.0


def test_an_efficiency_may_be_given_in_percent():
    words = ("solve", DEMO, "--input", "product.initial_efficiency", "--figure", "market.by_market.roof.ours.efficiency")
    given = [printed(*words, "--value", value, "--from", "5 %", "--to", "12 %")["rows"][0]["input"] for value in ("6 %", "6")]
    assert given[0] == given[1]


def test_a_sample_that_no_size_reaches_has_no_size():
    plan = dataclasses.replace(batch().soaking["rating"], precision=1e-6)
    assert math.isnan(sample_size(plan, 0.01))


def test_the_blocks_of_a_report_are_json_that_any_reader_takes(tmp_path):
    """A block with a number that is none: `NaN` and `Infinity` are no JSON."""
    file = tmp_path / "blocks.json"
    write_bundle({"title": {"kind": "figures", "rows": [math.nan, (1.5, math.inf)]}}, file)
    read = json.loads(file.read_text(encoding="utf-8"), parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert read[0] == {"kind": "figures", "rows": [None, [1.5, None]]}


def test_bars_that_are_all_of_no_length_have_an_axis():
    """An axis of one mark once ended the memo of a plan without ranges that move it, with an IndexError."""
    assert "</svg>" in spans(["a price"], [(0.0, 0.0)], [("1", "2")], "EUR", "one bar of no length")
