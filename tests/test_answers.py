"""Bottlenecks, minutes and choices: each answer against the model run with the change in question."""

import pytest

from costmodel.case.changes import with_values
from costmodel.core.faults import InputFaults
from costmodel.model.evaluate import evaluate
from costmodel.present import line_report
from costmodel.studies.factory.choices import outcomes
from costmodel.studies.factory.full_use import cheapest_relief, frozen, ladder, with_one_less, yield_points
from costmodel.studies.factory.minutes import cycle_parts, gains, gains_of, overhead_cut, tool_time_cost

from .cases import DEMO, demo, tiny


def more(case, place, count):
    """The frozen case with some more, or fewer, of one tool or carrier."""
    kind, name = place.split(".")
    return with_values(case, {f"{place}.installed": getattr(case, kind)[name].installed + count})


def test_the_plant_as_bought_makes_what_its_tools_allow():
    base = evaluate(demo())
    plant = evaluate(frozen(demo()))
    assert plant.line.output.good_modules == pytest.approx(base.line.output.capacity, rel=1e-12)
    assert plant.line.tools["deposition"].tools == base.line.tools["deposition"].tools


def test_one_less_of_a_tool_leaves_what_the_model_says_of_such_a_plant():
    plant = frozen(demo())
    less = with_one_less(evaluate(demo()))
    for place in ("tools.deposition", "tools.cooling_station", "tools.green_laser", "carriers.batch_carrier"):
        assert less[place] == pytest.approx(evaluate(more(plant, place, -1)).line.output.good_modules, rel=1e-12)
    assert less["tools.coater"] == 0.0


def test_each_rung_of_the_ladder_is_the_plant_with_the_tools_added():
    case, plant = demo(), frozen(demo())
    titles = {row.title: f"tools.{name}" for name, row in case.tools.items()}
    titles |= {row.title: f"carriers.{name}" for name, row in case.carriers.items()}
    for rung in ladder(case, 6):
        before = evaluate(plant)
        assert rung.capacity == pytest.approx(before.line.output.good_modules, rel=1e-12)
        plant = more(plant, titles[rung.title], 1)
        assert rung.capacity_after == pytest.approx(evaluate(plant).line.output.good_modules, rel=1e-12)


def test_a_rung_costs_the_landed_and_installed_price_of_the_tool():
    case = demo()
    rung = next(r for r in ladder(case, 6) if r.title == "cooling station")
    assert rung.price == pytest.approx(46_000 * (1 + 0.04 + 0.06), rel=1e-12)  # price, freight and duty, installation


def test_the_cheapest_relief_spends_least_for_a_module_gained():
    climbed = ladder(demo(), 6)
    best = cheapest_relief(climbed)
    ratio = {
        r: r.spent_so_far / (r.capacity_after - climbed[0].capacity) for r in climbed if r.capacity_after > climbed[0].capacity
    }
    assert ratio[best] == min(ratio.values())


@pytest.mark.parametrize(("passing", "less"), [(0.8, 0.01), (0.008, 0.004)])
def test_a_point_less_in_the_last_step_costs_its_part_of_all_that_a_plant_as_bought_costs_but_of_the_boxes(passing, less):
    """Of 80 % a point is an eightieth; of 0.8 % half is taken, scaled up. All plates go through; a box of EUR 1.5 is for a module.

    C less 1.5 a module for a share s of the modules N, over (1 - s) N, less C over N; times N it is (C - 1.5 N) s / (1 - s).
    """
    case = with_values(tiny(), {"steps.press.processed_share": 1.0, "steps.press.first_pass_yield": passing})
    bought, share = evaluate(frozen(case)), less / passing
    but_boxes = bought.ledger.total.cost - 1.5 * bought.line.output.good_modules
    point = yield_points(case)[-1]
    assert (point.step, point.as_bought) == ("press", pytest.approx(but_boxes * share / (1 - share) * 0.01 / less, rel=1e-9))


def test_the_parts_of_a_cycle_add_up_to_it():
    case, results = demo(), evaluate(demo())
    parts = cycle_parts(case, "deposition")
    assert sum(part.time for part in parts) == pytest.approx(results.line.steps["deposition"].cycle.time, rel=1e-12)
    assert sum(part.share for part in parts) == pytest.approx(1.0, rel=1e-12)
    assert [part.time for part in parts] == sorted((part.time for part in parts), reverse=True)


def test_a_cleaning_after_every_forty_fifth_load_takes_its_forty_fifth_of_each_cycle():
    times = {part.title: part.time for part in cycle_parts(demo(), "deposition")}
    assert times["exchange the wall plates"] == pytest.approx(540 * 60 / 45, rel=1e-12)  # 540 min after 45 loads: 12 min


def test_a_faster_film_saves_a_sixth_of_its_growth_at_a_fifth_more_rate():
    case = demo()
    found = {gain.title: gain for gain in gains(case, "deposition", faster=0.2)}
    growth = 320 / 0.16  # s, 320 nm at 0.16 nm/s
    assert found["second absorber grown 20 % faster"].time == pytest.approx(growth * (1 - 1 / 1.2), rel=1e-9)


def test_less_time_in_the_cycle_lifts_the_capacity_of_the_chambers_as_the_cycles_go():
    case, base = demo(), evaluate(demo())
    cycle = base.line.steps["deposition"].cycle.time
    gain = next(g for g in gains(case, "deposition", less=1200.0) if g.title == "20 min less overhead")
    assert gain.time == pytest.approx(1200.0, rel=1e-9)
    assert gain.tool_capacity == pytest.approx(base.line.tools["deposition"].capacity * (cycle / (cycle - 1200.0) - 1), rel=1e-9)
    freed = 1200.0 * base.line.steps["deposition"].loads
    assert gain.worth == pytest.approx(freed * tool_time_cost(base, "deposition"), rel=1e-9)


def test_of_the_overhead_a_minute_and_twenty_are_taken_or_half_of_it():
    """Of 72 min (7 own, 16 pumping, 38 heat, 11 venting) 20 are less than half; of the coater's own 18 min half are 9."""
    for case, step, taken in ((demo(), "deposition", ["1", "20"]), (tiny(), "coat", ["1", "9"])):
        overhead = sorted((gain for gain in gains(case, step) if not gain.film), key=lambda gain: gain.time)
        assert [gain.title for gain in overhead] == [f"{minutes} min less overhead" for minutes in taken]
        assert [gain.time for gain in overhead] == pytest.approx([60.0 * float(minutes) for minutes in taken], rel=1e-9)


def test_at_the_planned_output_less_time_saves_what_tools_draw_at_work_and_no_tool():
    # 180 s off each of 5,500 loads are 275 h, in which a coater draws 20 - 8 = 12 kW more than idle, at EUR 0.20 per kWh
    (found,) = gains_of(tiny(), "coat", [("less", False, {"steps.coat.process_time": 900.0})])
    assert found.time == pytest.approx(180.0, rel=1e-12)
    assert found.saving == pytest.approx(275 * 12 * 0.2, rel=1e-9)
    assert found.saving_at_full_load > found.saving


def test_more_overhead_than_there_is_cannot_be_saved():
    # own time 7 min, pumping 16, heat 38, venting 11: 72 min
    with pytest.raises(ValueError, match=r"4500 s off the overhead of 'deposition'; allowed: less than the 4320 s"):
        overhead_cut(demo(), "deposition", 4500.0)


def test_the_sentence_names_what_is_worth_more():
    found = gains(demo(), "deposition", less=1200.0)
    assert line_report.minutes(demo(), found).startswith("Worth more: 20 min less overhead")
    little = gains(demo(), "deposition", less=30.0)
    assert line_report.minutes(demo(), little).startswith("Worth more: second absorber grown 20 % faster")


def test_the_choice_in_use_gives_the_figures_of_the_case():
    base = evaluate(demo())
    found = {outcome.choice: outcome.results for outcome in outcomes(DEMO, "cleaning")}
    assert set(found) == {"exchange", "in_chamber"}
    assert found["exchange"].ledger.total.cost == base.ledger.total.cost
    assert found["in_chamber"].ledger.total.cost != base.ledger.total.cost


def test_an_unknown_group_is_refused_with_the_nearest():
    with pytest.raises(InputFaults, match=r"'clening'; allowed: one of .*; did you mean 'cleaning'\?"):
        outcomes(DEMO, "clening")
