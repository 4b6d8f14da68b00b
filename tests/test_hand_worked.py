"""A line of three steps with rework, every figure worked by hand from the tables in cases.py.

A plate is 1 m x 0.5 m = 0.5 m2, of which 80 % = 0.4 m2 is active: 1000 W/m2 x 0.4 m2 x 10 % = 40 W before light
soaking, x 75 % = 30 W after. The target of 1.08 MW is 1,080,000 / 30 = 36,000 modules."""
from __future__ import annotations

import pytest

from costmodel.case.changes import with_values
from costmodel.model.evaluate import evaluate

from .cases import Inputs, pooled_inputs, tiny

HOUR = 3600.0
KWH = 3.6e6
NM3 = 44.615033  # mol, as core/units.txt states it

# 55,000 passes x 0.5 m2 = 27,500 m2; x 300 nm x 2.2 g/cm3 = 0.66 g/m2: 18.15 kg in the film; / 20 % = 90.75 kg fed;
# x 32.117 / 28.085 kg of silane at 100 EUR/kg
SILANE = 90.75 * 32.117 / 28.085
SILANE_COST = SILANE * 100

# cut: glass 187,500, blades 1,750, electricity 2,075, labour 108,000, depreciation 36,000, maintenance 18,000
CUT = 353_325.0
# coat: nitrogen 5,500, hydrogen 550, electricity 13,000, labour 72,000, depreciation 200,000, maintenance 40,000 and
# silane
COAT = 331_050.0 + SILANE_COST
# press: wipes 4,000, foil 22,000, metal 25,000 - 4,500, electricity 1,100, labour 36,000, depreciation 5,000,
# maintenance 1,000; and boxes, which are bought for good modules only and so bear no yield loss
PRESS = 89_600.0
BOXES = 54_000.0
PLANT = 72_000.0  # labour at no tool
TOTAL = CUT + COAT + PRESS + BOXES + PLANT


def near(value: float):
    """Equal but for the rounding of floating-point numbers."""
    return pytest.approx(value, rel=1e-12)


@pytest.fixture(scope="module")
def line():
    return evaluate(tiny()).line


@pytest.fixture(scope="module")
def ledger():
    return evaluate(tiny()).ledger


def cost(ledger, name: str) -> float:
    return ledger.lines[name].cost


def test_output_is_the_target_in_modules_area_and_watts(line):
    output = line.output
    assert output.plate_area == near(0.5)
    assert (output.initial_power, output.stabilised_power) == (near(40), near(30))
    assert (output.good_plates, output.good_modules) == (near(36_000), near(36_000))
    assert output.good_area == near(36_000 * 0.5)
    assert output.initial_watts == near(36_000 * 40)
    assert output.stabilised_watts == near(1_080_000)


def test_starts_are_found_backwards_from_good_modules(line):
    # good shares: press 1 - 0.5 x 0.2 = 0.9; coat 0.75 + 0.25 x 0.4 x 0.5 = 0.8; cut 0.6 + 0.4 x 1 x 0.5 = 0.8
    # 36,000 / 0.9 = 40,000; / 0.8 = 50,000; / 0.8 = 62,500
    assert [line.steps[s].starts for s in ("cut", "coat", "press")] == [near(62_500), near(50_000), near(40_000)]
    assert [line.steps[s].good for s in ("cut", "coat", "press")] == [near(50_000), near(40_000), near(36_000)]
    assert [line.steps[s].lost for s in ("cut", "coat", "press")] == [near(12_500), near(10_000), near(4_000)]
    assert line.output.plates_started == near(62_500)
    assert line.output.line_yield == near(36_000 / 62_500)
    assert line.output.takt == near(1000 * HOUR / 62_500)  # 57.6 s


def test_share_that_ends_good_falls_along_the_route(line):
    assert [line.steps[s].good_end_share for s in ("cut", "coat", "press")] == [
        near(36_000 / 62_500), near(36_000 / 50_000), near(36_000 / 40_000)]
    assert [line.steps[s].starts_per_good for s in ("cut", "coat", "press")] == [
        near(62_500 / 36_000), near(50_000 / 36_000), near(40_000 / 36_000)]


def test_passes_count_reworked_plates_again_and_only_the_processed_share(line):
    # cut 62,500 x (1 + 0.4 x 1); coat 50,000 x (1 + 0.25 x 0.4); press half of 40,000, no rework
    assert [line.steps[s].passes for s in ("cut", "coat", "press")] == [near(87_500), near(55_000), near(20_000)]
    assert [line.steps[s].loads for s in ("cut", "coat", "press")] == [near(87_500), near(5_500), near(5_000)]


def test_cycle_of_a_batch_is_its_own_time_growth_and_purge(line):
    # 300 nm / 0.5 nm/s = 600 s, purge 120 s, own time 1,080 s
    assert line.layers["absorber"].growth_time == near(600)
    assert line.layers["absorber"].time == near(720)
    assert [line.steps[s].cycle.time for s in ("cut", "coat", "press")] == [near(90), near(1800), near(360)]


def test_tools_are_busy_time_over_available_time_rounded_up_once(line):
    # saw 87,500 x 90 s = 2,187.5 h of 1000 h x (1 - 12.5 %) = 875 h: 2.5 tools, 3 in the plant
    # coater 5,500 x 0.5 h = 2,750 h of 800 h: 3.4375, 4; stamp 5,000 x 0.1 h = 500 h of 800 h: 0.625, 1
    tools = line.tools
    assert [tools[t].available_time / HOUR for t in ("saw", "coater", "stamp")] == [near(875), near(800), near(800)]
    assert [tools[t].busy_time / HOUR for t in ("saw", "coater", "stamp")] == [near(2187.5), near(2750), near(500)]
    assert [line.steps[s].busy_time / HOUR for s in ("cut", "coat", "press")] == [near(2187.5), near(2750), near(500)]
    assert [tools[t].tools_needed for t in ("saw", "coater", "stamp")] == [near(2.5), near(3.4375), near(0.625)]
    assert [tools[t].tools for t in ("saw", "coater", "stamp")] == [3.0, 4.0, 1.0]
    assert [tools[t].loading for t in ("saw", "coater", "stamp")] == [near(2.5 / 3), near(3.4375 / 4), near(0.625)]
    assert tools["saw"].busy_time_per_good == near(2187.5 * HOUR / 36_000)


def test_capacity_is_that_of_the_tightest_tool(line):
    # 36,000 modules x tools in the plant / tools needed
    assert line.tools["saw"].capacity == near(36_000 * 3 / 2.5)
    assert line.tools["coater"].capacity == near(36_000 * 4 / 3.4375)
    assert line.tools["stamp"].capacity == near(36_000 / 0.625)
    assert line.output.capacity == near(36_000 * 4 / 3.4375)


def test_materials_follow_what_they_are_counted_by(ledger):
    lines = ledger.lines
    # start: 62,500 x 0.5 m2 x 1.2; landed 8 USD/m2 x 0.5 x (1 + 10 % + 15 %) = 5 EUR/m2
    assert (lines["materials.glass"].quantity, lines["materials.glass"].price) == (near(37_500), near(5))
    assert cost(ledger, "materials.glass") == near(187_500)
    assert cost(ledger, "materials.blades") == near(2187.5 * 0.02 * 40)  # tool hour: 1,750
    assert lines["materials.vent"].quantity == near(11_000 * NM3)  # load: 5,500 x 2 Nm3
    assert cost(ledger, "materials.vent") == near(11_000 * 0.5)
    assert cost(ledger, "materials.wipes") == near(20_000 * 2 * 0.1)  # plate: passes, 4,000
    assert cost(ledger, "materials.foil") == near(20_000 * 0.5 * 1.1 * 2)  # m2: area of the passes, 22,000
    assert cost(ledger, "materials.box") == near(36_000 * 1.5)  # module: 54,000


def test_silane_follows_from_the_mass_of_the_film(ledger):
    film = ledger.films["absorber"]
    assert film.silicon_in_film == near(18.15)
    assert film.silicon_fed == near(90.75)
    assert film.silicon_lost == near(72.6)
    assert film.silane_fed == near(SILANE)
    assert cost(ledger, "layers.absorber") == near(SILANE_COST)


def test_gas_flows_while_the_film_grows(ledger):
    # 5 slm x 10 min = 0.05 Nm3 in each of 5,500 loads = 275 Nm3 at 2 EUR
    assert ledger.lines["gases.absorber_hydrogen"].quantity == near(275 * NM3)
    assert cost(ledger, "gases.absorber_hydrogen") == near(550)


def test_target_is_bought_and_recovered_metal_credited(ledger):
    # 100 nm x 10 g/cm3 = 1 g/m2 on 20,000 x 0.5 m2: 10 kg; / 50 % / 80 % = 25 kg; 60 % of the other 15 kg comes back
    mirror = ledger.coatings["mirror"]
    assert (mirror.on_plates, mirror.bought, mirror.recovered, mirror.lost) == (near(10), near(25), near(9), near(6))
    assert cost(ledger, "coatings.mirror.bought") == near(25 * 1000)
    assert cost(ledger, "coatings.mirror.credit") == near(-9 * 1000 * 0.5)


def test_utilities_are_drawn_while_processing_and_while_idle_in_scheduled_time(ledger):
    # saw: 2,187.5 h x 4 kW + (3 x 1,000 - 2,187.5) h x 2 kW = 8,750 + 1,625 kWh
    # coater: 2,750 x 20 + 1,250 x 8 = 65,000 kWh; stamp: 500 x 10 + 500 x 1 = 5,500 kWh
    assert ledger.lines["tool_utilities.saw_electricity.cut"].quantity == near(10_375 * KWH)
    assert cost(ledger, "tool_utilities.saw_electricity.cut") == near(10_375 * 0.2)
    assert cost(ledger, "tool_utilities.coater_electricity.coat") == near(65_000 * 0.2)
    assert cost(ledger, "tool_utilities.stamp_electricity.press") == near(5_500 * 0.2)


def test_people_at_tools_are_rounded_up_for_each_crew_and_heads_are_as_stated(ledger):
    # each crew wants saw 3 x 0.4 + coater 4 x 0.2 + stamp 0.4 = 2.4 people at tools, so 3; each part is 3 / 2.4 = 1.25
    # times what is wanted, in 2 crews: 3, 2 and 1. Besides, 1 head in each of 2 crews is at no tool
    people = {step: ledger.lines[f"crew.operator.{step}"].quantity for step in ("cut", "coat", "press", "plant")}
    assert people == {"cut": near(3), "coat": near(2), "press": near(1), "plant": near(2)}
    assert cost(ledger, "crew.operator.cut") == near(3 * 30_000 * 1.2)
    assert ledger.by_category["labour"].cost == near(8 * 36_000)


def test_parts_of_heads_at_no_tool_are_not_rounded():
    # half a head for each crew: 1 person in the plant, and the people at tools as before
    ledger = evaluate(with_values(tiny(), {"crew.operator.heads": 0.5})).ledger
    people = {step: ledger.lines[f"crew.operator.{step}"].quantity for step in ("cut", "coat", "press", "plant")}
    assert people == {"cut": near(3), "coat": near(2), "press": near(1), "plant": near(1)}


def test_equipment_is_depreciated_and_maintained_at_its_installed_price(ledger):
    # saw 100,000 x 1.2 = 120,000 over 10 years, 3 tools
    # coater 400,000 USD x 0.5 x 1.25 = 250,000 over 5 years, 4 tools
    assert cost(ledger, "depreciation.cut") == near(3 * 12_000)
    assert cost(ledger, "depreciation.coat") == near(4 * 50_000)
    assert cost(ledger, "depreciation.press") == near(5_000)
    assert cost(ledger, "maintenance.cut") == near(3 * 120_000 * 0.05)
    assert cost(ledger, "maintenance.coat") == near(4 * 250_000 * 0.04)
    assert cost(ledger, "maintenance.press") == near(50_000 * 0.02)


def test_total_is_the_sum_by_step_by_category_and_by_group(ledger):
    assert ledger.total.cost == near(TOTAL)
    assert [ledger.by_step[s].cost for s in ("cut", "coat", "press", "plant")] == [
        near(CUT), near(COAT), near(PRESS + BOXES), near(PLANT)]
    # materials: 187,500 + 1,750 + 5,500 + 4,000 + 22,000 + 54,000 + 550 + 20,500 = 295,800, and silane
    assert ledger.by_category["materials"].cost == near(295_800 + SILANE_COST)
    assert ledger.by_category["utilities"].cost == near(16_175)
    assert ledger.by_category["depreciation"].cost == near(241_000)
    assert ledger.by_category["maintenance"].cost == near(59_000)
    assert ledger.by_group["gases"].cost == near(5_500 + 550 + SILANE_COST)
    assert ledger.by_group["equipment"].cost == near(241_000 + 59_000)
    assert ledger.by_step_and_category["coat"]["materials"] == near(5_500 + 550 + SILANE_COST)
    assert ledger.by_step_and_category["press"]["labour"] == near(36_000)


def test_yield_loss_by_line_is_what_does_not_end_as_good_modules(ledger):
    assert ledger.lines["materials.glass"].lost == near(187_500 * (1 - 36_000 / 62_500))
    for name in ("crew.operator.plant", "materials.box"):
        assert (ledger.lines[name].loss, ledger.lines[name].lost) == ("none", 0.0)
    loss = CUT * 0.424 + COAT * 0.28 + PRESS * 0.1
    assert ledger.yield_loss == near(loss)
    assert ledger.yield_loss_per_stabilised_watt == near(loss / 1_080_000)


def test_matrices_state_yield_loss_apart(ledger):
    # the coat step's labour of 72,000, of which 36,000 / 50,000 = 72 % ends in good modules, on 18,000 m2
    assert ledger.matrix_per_m2["coat"]["labour"] == near(72_000 * 0.72 / 18_000)
    assert ledger.matrix_per_m2["coat"]["yield_loss"] == near(COAT * 0.28 / 18_000)
    assert ledger.matrix_per_stabilised_watt["press"]["depreciation"] == near(5_000 * 0.9 / 1_080_000)
    assert ledger.matrix_per_stabilised_watt["press"]["yield_loss"] == near(PRESS * 0.1 / 1_080_000)
    # press materials: 4,000 + 22,000 + 20,500 of which 90 % ends in good modules, and all boxes
    assert ledger.matrix_per_m2["press"]["materials"] == near((46_500 * 0.9 + BOXES) / 18_000)
    assert ledger.matrix_per_m2["plant"]["labour"] == near(72_000 / 18_000)
    assert ledger.matrix_per_m2["plant"]["yield_loss"] == 0.0


def test_yield_loss_by_step_is_the_cost_of_the_plates_lost_there(ledger):
    cut_added, coat_added, press_added = CUT / 62_500, COAT / 50_000, PRESS / 40_000
    route = ledger.route
    assert [route[s].cost_added for s in ("cut", "coat", "press")] == [
        near(cut_added), near(coat_added), near(press_added)]
    assert [route[s].cost_so_far for s in ("cut", "coat", "press")] == [
        near(cut_added), near(cut_added + coat_added), near(cut_added + coat_added + press_added)]
    assert [route[s].lost for s in ("cut", "coat", "press")] == [
        near(12_500 * cut_added), near(10_000 * (cut_added + coat_added)),
        near(4_000 * (cut_added + coat_added + press_added))]


def test_a_module_costs_a_plate_through_all_steps_the_lost_plates_and_what_bears_no_loss(ledger):
    module = ledger.module
    through = CUT / 62_500 + COAT / 50_000 + PRESS / 40_000
    lost = 12_500 * CUT / 62_500 + 10_000 * (CUT / 62_500 + COAT / 50_000) + 4_000 * through
    assert module.through_all_steps == near(through)
    assert module.lost_plates == near(lost / 36_000)
    assert module.no_step == near((72_000 + 54_000) / 36_000)  # heads at no tool, and boxes
    assert module.through_all_steps + module.lost_plates + module.no_step == near(TOTAL / 36_000)


def test_costs_on_every_basis(ledger):
    assert ledger.total.cost_per_plate_started == near(TOTAL / 62_500)
    assert ledger.total.cost_per_module == near(TOTAL / 36_000)
    assert ledger.total.cost_per_m2 == near(TOTAL / 18_000)
    assert ledger.total.cost_per_initial_watt == near(TOTAL / 1_440_000)
    assert ledger.total.cost_per_stabilised_watt == near(TOTAL / 1_080_000)
    assert ledger.by_step["plant"].cost_per_module == near(72_000 / 36_000)


def test_steps_of_one_tool_are_pooled_before_rounding():
    # the saw presses as well, one plate at a time: 20,000 x 360 s = 2,000 h; 4,187.5 h / 875 h = 4.79, so 5 tools;
    # apart they would be 2.5 and 2.29 tools, 3 + 3 = 6
    results = evaluate(pooled_inputs().load())
    saw = results.line.tools["saw"]
    assert saw.busy_time / HOUR == near(2187.5 + 2000)
    assert (saw.tools_needed, saw.tools) == (near(4187.5 / 875), 5.0)
    # 5 tools x 12,000 EUR, shared by the time worked for each step
    assert cost(results.ledger, "depreciation.cut") == near(60_000 * 2187.5 / 4187.5)
    assert cost(results.ledger, "depreciation.press") == near(60_000 * 2000 / 4187.5)


def test_installed_tools_set_the_output_when_frozen():
    # saw 2 x 875 h at 2,187.5 h for 36,000 modules: 28,800; coater 4 x 800 / 2,750: 41,891; stamp 800 / 500: 57,600
    line = evaluate(with_values(tiny(), {"target.mode": "frozen"})).line
    assert line.output.good_modules == near(28_800)
    assert line.output.stabilised_watts == near(28_800 * 30)
    assert line.output.capacity == near(28_800)
    assert line.output.plates_started == near(28_800 / 0.576)
    assert [line.tools[t].tools for t in ("saw", "coater", "stamp")] == [2.0, 4.0, 1.0]
    assert line.tools["saw"].tools_needed == near(2)
    # coater: 2,750 h x 28,800 / 36,000 = 2,200 h of 3,200 h; stamp: 400 h of 800 h
    assert [line.tools[t].loading for t in ("saw", "coater", "stamp")] == [near(1), near(0.6875), near(0.5)]


def test_one_plate_an_hour_round_the_clock_is_8760_plates_a_year():
    inputs = Inputs().yaml("scheduled_time: 1000 h", "scheduled_time: 8760 h").yaml("mode: sized", "mode: frozen")
    for step, tool in (("coat", "coater"), ("press", "stamp")):
        inputs.drop_row("steps.csv", step).drop_row("tools.csv", tool)
    for file in ("layers.csv", "gases.csv", "coaters.csv", "coatings.csv", "materials.csv", "tool_utilities.csv", "ranges.csv"):
        del inputs.tables[file]
    for column, value in (("process_time", "3600"), ("first_pass_yield", "100")):
        inputs.cell("steps.csv", "cut", column, value)
    for column, value in (("planned_downtime", "0"), ("unplanned_downtime", "0"), ("engineering_time", "0"), ("installed", "1")):
        inputs.cell("tools.csv", "saw", column, value)
    assert evaluate(inputs.load()).line.output.good_plates == near(8760)


def test_target_may_be_counted_in_area_or_modules():
    area = Inputs().yaml("basis: Wp_stabilised", "basis: m2").yaml("1.08 MWp_stabilised", "9000 m2")
    modules = Inputs().yaml("basis: Wp_stabilised", "basis: module").yaml("1.08 MWp_stabilised", "500 module")
    assert evaluate(area.load()).line.output.good_modules == near(9000 / 0.5)
    assert evaluate(modules.load()).line.output.good_modules == near(500)
