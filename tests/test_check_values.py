"""Published values and worked numbers from outside that take a case, each through a function that the model itself uses.

Values of single functions stand in `costmodel/studies/verification/`, where `costmodel verify` shows them.

Where a source prints rounded figures, the assertion allows half a unit of the last printed digit.
"""
from __future__ import annotations

import dataclasses

import pytest

from costmodel.case.changes import with_values
from costmodel.case.line_records import Coating, Layer, Step
from costmodel.case.load import CONSTANTS
from costmodel.case.whole_case import Case
from costmodel.core.units import to_base
from costmodel.model.ledger.films import coating_balance, film_balance, film_mass, silane_for_silicon
from costmodel.model.line.capacity import available_time, tools_needed
from costmodel.model.line.line import compute_line
from costmodel.model.line.line_figures import Effectiveness, StepFlow
from costmodel.model.line.states import effectiveness, time_states
from costmodel.model.line.yields import good_share

from .cases import tiny

HOUR = 3600.0
GRAM = 1e-3
GRAM_PER_CM3 = to_base("g/cm3")


def printed(value: float, digit: float):
    """Equal within half of the last printed digit."""
    return pytest.approx(value, rel=0, abs=digit / 2)


def line_of(efficiency: float, line_yield: float):
    """The line of a plate of 1.245 m x 0.635 m = 0.790575 m2, 25 MW and 8,000 h, all losses in one step."""
    steps = {f"steps.{name}.{column}": value for name in ("cut", "coat", "press")
             for column, value in (("first_pass_yield", 1.0), ("processed_share", 1.0))}
    return compute_line(with_values(tiny(), steps | {
        "steps.coat.first_pass_yield": line_yield, "steps.coat.rework_share": 0.0, "product.length": 1.245,
        "product.width": 0.635, "product.active_area_share": 1.0, "product.initial_efficiency": efficiency,
        "product.stabilisation_ratio": 1.0, "target.output": 25e6, "site.scheduled_time": 8000 * HOUR,
        "steps.cut.process_time": 74.0, "tools.saw.planned_downtime": 0.0,
        "tools.saw.unplanned_downtime": 0.0, "tools.saw.engineering_time": 0.0}))


# G.1 and G.3 below: trade notes, hand-worked from common practice; they test arithmetic and claim no truth.


def test_takt_of_a_single_junction_line_of_25_megawatts():
    output = line_of(0.065, 0.88).output  # G.1
    assert output.plate_area == printed(0.790575, 1e-6)
    assert output.stabilised_power == printed(51.4, 0.1)
    assert output.good_plates == printed(486_501, 1)
    assert output.plates_started == printed(552_842, 1)
    assert output.takt == printed(52.1, 0.1)


def test_takt_of_a_tandem_line_of_25_megawatts():
    output = line_of(0.08, 0.86).output  # G.1
    assert output.stabilised_power == printed(63.2, 0.1)
    assert output.good_plates == printed(395_282, 1)
    assert output.plates_started == printed(459_630, 1)
    assert output.takt == printed(62.7, 0.1)


@pytest.mark.parametrize(("efficiency", "line_yield"), [(0.065, 0.88), (0.08, 0.86)])
def test_a_cycle_of_just_below_75_seconds_needs_two_machines(efficiency, line_yield):
    assert line_of(efficiency, line_yield).tools["saw"].tools == 2.0  # G.1


def silicon(thickness: float, density: float, utilisation: float) -> Layer:
    return Layer("film", "coat", thickness, 1e-9, 0.0, 0.0, "inside_purge", density, "silane", utilisation, 0.0, 0.0)


def test_silane_of_a_thin_absorber():
    film = silicon(0.47e-6, 2.25 * GRAM_PER_CM3, 0.15)
    per_m2 = film_balance(film, 1.0, 1.0, CONSTANTS)
    assert per_m2.silicon_in_film / GRAM == printed(1.06, 0.01)  # G.3
    assert per_m2.silane_fed / GRAM == printed(8.1, 0.1)  # G.3
    started = line_of(0.065, 0.88).output
    area = started.plates_started * started.plate_area
    assert area == printed(437_000, 1000)  # G.3
    assert film_balance(film, area, area, CONSTANTS).silane_fed / 1000 == printed(3.5, 0.1)  # G.3, in t


def test_silane_of_a_thick_absorber():
    film = silicon(1.8e-6, 2.25 * GRAM_PER_CM3, 0.25)
    assert film_balance(film, 1.0, 1.0, CONSTANTS).silane_fed / GRAM == printed(18.5, 0.1)  # G.3
    started = line_of(0.08, 0.86).output
    area = started.plates_started * started.plate_area
    assert area == printed(363_000, 1000)  # G.3
    assert film_balance(film, area, area, CONSTANTS).silane_fed / 1000 == printed(6.7, 0.1)  # G.3, in t


@pytest.mark.parametrize(("thickness", "on_plate", "bought"), [(120e-9, 1.26, 2.8), (200e-9, 2.10, 4.7)])
def test_silver_on_the_plate_and_bought(thickness, on_plate, bought):
    silver = Coating("silver", "press", "metal", thickness, 1e-9, 1.0, 10.49 * GRAM_PER_CM3, 0.60, 0.75, 0.0)
    balance = coating_balance(silver, 1.0)
    assert balance.on_plates / GRAM == printed(on_plate, 0.01)  # G.3; density of silver 10.49 from memory (M02)
    assert balance.bought / GRAM == printed(bought, 0.1)  # G.3


def yields(*first_pass: float):
    """The line yield of the tiny line with these first-pass yields, every plate processed and none reworked."""
    steps = {}
    for name, value in zip(("cut", "coat", "press"), first_pass):
        steps |= {f"steps.{name}.first_pass_yield": value, f"steps.{name}.rework_share": 0.0,
                  f"steps.{name}.processed_share": 1.0}
    return compute_line(with_values(tiny(), steps)).output.line_yield


def test_rolled_throughput_yield_is_the_product_of_the_steps():
    assert yields(0.95, 0.84, 0.88) == pytest.approx(0.70224, rel=1e-12)  # Y01, Minitab support page (prints 0.70)
    # Y10, an arithmetic check only: the web page that states the case prints 0.8556
    assert yields(0.95, 0.98, 0.92) == pytest.approx(0.85652, rel=1e-12)


# Y02 and Y03, a worked example on a quality page (wizedu): 100 plates start; 90, 80 and 70 pass at first; 95, 90 and 80
# leave with the reworked. Rejects 10, 15 and 20; made good by rework 5, 10 and 10.
QUALITY_EXAMPLE = [(90 / 100, 5 / 10, 0.95, 0.90), (80 / 95, 10 / 15, 0.9474, 0.8421),
                   (70 / 90, 10 / 20, 0.8889, 0.7778)]


def step(passed: float, reworked: float) -> Step:
    """A step of which a share passes at first, and a share of the rejects is reworked with success."""
    return Step(title="step", stage="stage", tool="saw", process_time=60.0, rate_efficiency=1.0, first_pass_yield=passed,
                rework_share=reworked, rework_success=1.0, load_loss=0.0, processed_share=1.0)


@pytest.mark.parametrize(("passed", "reworked", "with_rework", "without"), QUALITY_EXAMPLE)
def test_step_yield_with_and_without_rework(passed, reworked, with_rework, without):
    assert good_share(step(passed, reworked)) == printed(with_rework, 1e-4)  # Y02
    assert good_share(step(passed, 0.0)) == printed(without, 1e-4)  # Y03


def test_line_yield_with_and_without_rework():
    steps = {}
    for name, (passed, reworked, _, _) in zip(("cut", "coat", "press"), QUALITY_EXAMPLE):
        steps |= {f"steps.{name}.first_pass_yield": passed, f"steps.{name}.rework_share": reworked,
                  f"steps.{name}.rework_success": 1.0, f"steps.{name}.processed_share": 1.0}
    assert compute_line(with_values(tiny(), steps)).output.line_yield == printed(0.80, 0.01)  # Y02
    assert yields(*(passed for passed, *_ in QUALITY_EXAMPLE)) == printed(0.5895, 1e-4)  # Y03


def test_good_output_of_150_starts_with_rework():
    # Y04, operations management problem after Russell and Taylor: 83 % good, 60 % of the rejects made good
    assert 150 * good_share(step(0.83, 0.60)) == printed(139.8, 0.1)


def test_machines_with_set_ups_and_a_capacity_cushion():
    # Q01, a problem after Krajewski: 250 days of 8 h less a cushion of 15 % = 1,700 h; 5,305 h wanted: 3.12, so 4
    case = with_values(tiny(), {"site.scheduled_time": 250 * 8 * HOUR, "tools.saw.planned_downtime": 0.15,
                                "tools.saw.unplanned_downtime": 0.0, "tools.saw.engineering_time": 0.0})
    available = available_time(case.site, case.tools["saw"])
    assert available / HOUR == pytest.approx(1700, rel=1e-12)
    needed, tools = tools_needed(1.0, 5305 * HOUR, available)
    assert (needed, tools) == (printed(3.12, 0.01), 4.0)


def test_machines_with_scrap_added_on():
    # Q03, Sharma, Production Engineering, ch. 26: 100,000 x 1.02 pieces of 105 s in 2,300 h at 80 %: 1.617, so 2
    needed, tools = tools_needed(100_000 * 1.02, 105.0, 2300 * HOUR * 0.80)
    assert (needed, tools) == (printed(1.617, 0.001), 2.0)


def test_machines_with_yield_downtime_and_utilisation():
    # Q16 (PART, an arithmetic check; the source's own answer of 4.8 uses a wrong method), a public exercise: 30,000 good
    # pieces at a yield of 0.95; 60 pieces an hour; 200 h, used to 0.6, at an availability of 0.90
    needed, tools = tools_needed(30_000 / 0.95, HOUR / 60, 200 * HOUR * 0.6 * 0.90)
    assert (needed, tools) == (printed(4.873, 0.001), 5.0)


def test_stations_of_a_balanced_line():
    # Q04, an operations textbook problem: 32 units in 800 min, tasks of 97 min: 3.88 stations, so 4; 5 stations are loaded
    # to 0.776
    needed, stations = tools_needed(32.0, 97.0 * 60, 800.0 * 60)
    assert (needed, stations) == (printed(3.88, 0.01), 4.0)
    assert needed / 5 == printed(0.776, 0.001)
    # Q05, the same: 180 units an hour, tasks of 60 s: exactly 3 stations
    assert tools_needed(180.0, 60.0, HOUR) == (pytest.approx(3, rel=1e-12), 3.0)


def test_places_by_the_law_of_little():
    # Q06, a public worked example: 100 an hour that stay 2 h are 200 in the system
    assert tools_needed(100.0, 2 * HOUR, HOUR) == (pytest.approx(200, rel=1e-12), 200.0)


def effectiveness_of(rate: float, quality: float, downtime: float, busy: float) -> Effectiveness:
    """One tool for one step, busy for some time of 1,000 h with full loads, and with ideal times and yields of the step."""
    case = with_values(tiny(), {
        "steps.coat.rate_efficiency": rate, "steps.coat.first_pass_yield": quality, "steps.coat.rework_share": 0.0,
        "tools.coater.planned_downtime": downtime, "tools.coater.unplanned_downtime": 0.0, "tools.coater.engineering_time": 0.0})
    states = time_states(case.site, CONSTANTS, case.tools["coater"], 1.0, busy, {})
    return effectiveness(states, case.tools["coater"], [(case.steps["coat"], flow_of(case, busy))])


def flow_of(case: Case, busy: float) -> StepFlow:
    """The flow of the coating step for some time of work: its loads of 10 plates take 1,800 s."""
    return dataclasses.replace(compute_line(case).steps["coat"], busy_time=busy, passes=busy / 1800 * 10)


def test_performance_and_quality_of_a_shift():
    # C05, a widely quoted example of the web: 373 min of work, 19,271 pieces of ideally 1.0 s, 18,848 of them good
    found = effectiveness_of(rate=1.0 / (373 * 60 / 19_271), quality=18_848 / 19_271, downtime=0.0, busy=373 * 60.0)
    assert found.rate == printed(0.8611, 1e-4)
    assert found.quality == printed(0.9780, 1e-4)


def test_effectiveness_is_the_product_of_availability_performance_and_quality():
    # C07, a public page: 0.90 x 0.989 x 0.945; the tool works whenever it is up
    found = effectiveness_of(rate=0.989, quality=0.945, downtime=0.10, busy=900 * HOUR)
    assert found.overall_when_scheduled == printed(0.841, 1e-3)


def test_the_states_of_semi_e10():
    # C08, SEMI E10: the names read at second hand; uptime as productive, standby and engineering time, and operations time
    # as all but the non-scheduled, from memory
    case = tiny()
    states = time_states(case.site, CONSTANTS, case.tools["coater"], 1.0, 500 * HOUR, {})
    assert [field.name for field in dataclasses.fields(states)] == [
        "non_scheduled", "scheduled_down", "unscheduled_down", "engineering", "standby", "productive"]
    # of 1,000 h 10 %, 8 % and 2 %, of the other 800 h 500 h at work
    hours = [getattr(states, field.name) / HOUR for field in dataclasses.fields(states)]
    assert hours == [pytest.approx(value, rel=1e-12) for value in (7760, 100, 80, 20, 300, 500)]
    found = effectiveness(states, case.tools["coater"], [(case.steps["coat"], flow_of(case, 500 * HOUR))])
    assert found.availability == pytest.approx((500 + 300 + 20) / 8760, rel=1e-12)
    assert found.overall / found.overall_when_scheduled == pytest.approx(1000 / 8760, rel=1e-12)


@pytest.mark.parametrize(("material", "density"), [
    ("aluminium", 2.70), ("silicon", 2.33), ("zinc oxide", 5.606), ("tin oxide", 6.95), ("cadmium telluride", 5.85),
    ("float glass", 2.50)])  # M01: element data pages citing the CRC handbook; PMC7353225, table 1, for zinc oxide
def test_a_film_of_one_micrometre_weighs_its_density_in_grams_per_m2(material, density):
    assert film_mass(to_base("um"), density * GRAM_PER_CM3, 1.0) / GRAM == pytest.approx(density, rel=1e-12), material


def test_glass_of_two_and_six_millimetres_weighs_5_and_15_kilograms_per_m2():
    # M03, glass-industry page; float glass of 2.50 g/cm3
    assert film_mass(2 * to_base("mm"), 2.50 * GRAM_PER_CM3, 1.0) == pytest.approx(5, rel=1e-12)
    assert film_mass(6 * to_base("mm"), 2.50 * GRAM_PER_CM3, 1.0) == pytest.approx(15, rel=1e-12)


def test_molar_masses():
    # M04 (PART, an arithmetic check): sums of IUPAC standard atomic weights, Si 28.085 and H 1.008: 28.085 + 4 x 1.008
    assert CONSTANTS.molar_mass_silane / to_base("g/mol") == printed(32.117, 1e-3)
    assert CONSTANTS.molar_mass_silicon / CONSTANTS.molar_mass_silane == printed(0.87446, 1e-5)
    assert 1 / silane_for_silicon(1.0, CONSTANTS) == printed(0.87446, 1e-5)


def test_standard_cubic_centimetres_per_minute_in_mol():
    # M05 (PART, an arithmetic check): standard state 0 C and 101,325 Pa; definition read, values computed
    assert to_base("sccm") * 60 == printed(4.46150e-5, 1e-10)
    silane_per_hour = to_base("slm") * HOUR * CONSTANTS.molar_mass_silane / GRAM
    assert silane_per_hour == printed(85.974, 1e-3)
    assert silane_per_hour / silane_for_silicon(1.0, CONSTANTS) == printed(75.181, 1e-3)


def test_silane_of_300_nanometres_at_full_use():
    # M06 (computed for the list from M02's density, from memory): 300 nm at 2.2 g/cm3
    balance = film_balance(silicon(300e-9, 2.2 * GRAM_PER_CM3, 1.0), 1.0, 1.0, CONSTANTS)
    assert balance.silicon_in_film / GRAM == printed(0.660, 1e-3)
    assert balance.silane_fed / GRAM == printed(0.7548, 1e-4)


def test_metal_not_on_plates_may_all_be_recovered():
    # mass closes by hand: 1 g/m2 on the plate, / 50 % / 80 % = 2.5 g bought, all the other 1.5 g comes back
    balance = coating_balance(Coating("film", "press", "metal", 100e-9, 1e-9, 1.0, 10_000.0, 0.5, 0.8, 1.0), 1.0)
    assert balance.bought / GRAM == pytest.approx(2.5, rel=1e-12)
    assert (balance.recovered / GRAM, balance.lost) == (pytest.approx(1.5, rel=1e-12), 0.0)
