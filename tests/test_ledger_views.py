"""Facility systems, overheads and levies worked by hand; cost of ownership, idle capacity, sizes and evidence."""

import dataclasses
from types import SimpleNamespace as Some

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate, evaluate_costs
from costmodel.model.ledger.cost_views import Views, checks
from costmodel.model.ledger.ledger_figures import Checks
from costmodel.present import choice_report
from costmodel.present.numbers import money
from costmodel.studies.factory.choices import differences, outcomes
from costmodel.studies.factory.full_use import frozen
from costmodel.studies.factory.plant_size import fill_sizes, parse_size, sizes
from costmodel.studies.sensitivities import elasticities, share_by_kind

from .batch import batch
from .cases import DEMO, Inputs, demo, table, tiny
from .growing import growing
from .terms import terms

TABLES = {
    "facilities.csv": """
id,title,price [currency],currency,price_year,life [year],technical_life [year],maintenance [%/year],footprint [m2],area
gas_store,gas store,120000,USD,2026,10,10,5,25,hall
""",
    "facility_utilities.csv": """
id,facility,utility,draw [unit],unit
gas_store_electricity,gas_store,electricity,3,kW
""",
    "overheads.csv": """
id,title,amount [currency/per],currency,per
audit,audit,9000,USD,year
mark,mark,0.5,EUR,module
reserve,reserve,0.01,EUR,Wp_stabilised
""",
    "emissions.csv": """
id,title,emitter,factor [kg/unit],unit,price [currency/t],currency
vent_gas,vent gas,nitrogen,3,Nm3,20,USD
power,power drawn,electricity,0.25,kWh,0,EUR
""",
    "levies.csv": """
id,title,rate [%/year]
insurance,insurance,2
""",
}


def near(value):
    return pytest.approx(value, rel=1e-12)


@pytest.fixture(scope="module")
def ledger():
    inputs = Inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    return evaluate(inputs.load()).ledger


def cost(ledger, line):
    return ledger.lines[line].cost


def test_a_facility_system_costs_its_depreciation_upkeep_floor_and_draw(ledger):
    # 120,000 USD at 0.5 EUR: 60,000 EUR; over 10 years; 5 % a year; 25 m2 at 120 EUR; 3 kW x 8,760 h x 0.2 EUR/kWh
    assert cost(ledger, "facilities.gas_store.depreciation") == near(6000)
    assert cost(ledger, "facilities.gas_store.upkeep") == near(3000)
    assert cost(ledger, "facilities.gas_store.floor") == near(3000)
    assert cost(ledger, "facility_utilities.gas_store_electricity") == near(3 * 8760 * 0.2)
    assert ledger.by_category["facilities"].cost == near(12_000 + 5256)


def test_overheads_are_counted_by_the_year_the_module_and_the_watt(ledger):
    # 9,000 USD; the tiny line makes 1.08 MW of 30 W modules (0.5 m2 x 80 % x 10 % x 75 %): 36,000
    assert cost(ledger, "overheads.audit") == near(4500)
    assert cost(ledger, "overheads.mark") == near(36_000 * 0.5)
    assert cost(ledger, "overheads.reserve") == near(1_080_000 * 0.01)


def test_a_levy_is_a_share_of_what_equipment_and_systems_have_cost(ledger):
    line = evaluate(tiny()).line
    # saw 100,000 x 1.20; coater 400,000 USD x 0.5 x 1.25; stamp 50,000; gas store 60,000
    value = line.tools["saw"].tools * 120_000 + line.tools["coater"].tools * 250_000 + line.tools["stamp"].tools * 50_000 + 60_000
    assert ledger.equipment_value == near(value)
    assert cost(ledger, "levies.insurance") == near(value * 0.02)


def booked(case, address):
    """Step, category, item, group, unit and driver of a line, as the row says that its address names."""
    kind, name, *rest = address.split(".")
    row, step = getattr(case, kind, {}).get(name), rest[-1] if rest else ""
    if kind in ("materials", "phase_materials", "layers", "gases", "coatings", "buying"):
        item = row.precursor if kind == "layers" else row.item
        place, driver = {
            "materials": lambda: (row.step, row.per), "layers": lambda: (row.step, f"film {name}"),
            "coatings": lambda: (row.step, f"film {name}"), "gases": lambda: (case.layers[row.layer].step, f"film {row.layer}"),
            "buying": lambda: ("plant", "paid for and not used"),
            "phase_materials": lambda: (case.phases[row.phase].step, f"phase {row.phase}"),
        }[kind]()  # fmt: skip
        return place, "materials", item, case.prices[item].group, case.prices[item].unit, driver
    if kind in ("depreciation", "maintenance", "building"):
        tool = case.steps[name].tool
        return name, kind, tool, "building" if kind == "building" else "equipment", "tool", f"tool {tool}"
    everywhere = {"services": lambda: (step, "maintenance", name, "equipment", "tool", f"{row.clock} of tool {row.tool}"),
        "spares": lambda: (step, "depreciation", name, "equipment", "1", f"parts for tool {row.tool}"),
        "carriers": lambda: (step, rest[0], name, "equipment", "tool", f"carrier {name}"),
        "containers": lambda: (rest[0], "materials", name, case.prices[row.item].group, "container_day", f"use of {row.item}"),
        "scrap": lambda: (row.step, "materials", name, "scrap", "plate", "plates lost"),
        "tool_utilities": lambda: (step, "utilities", row.utility, row.utility, case.utilities[row.utility].unit,
                                   f"tool {row.tool}"),
        "facility_utilities": lambda: ("plant", "facilities", row.utility, row.utility, case.utilities[row.utility].unit,
                                       f"facility {row.facility}"),
        "demand_charges": lambda: (step, "facilities" if step == "plant" else "utilities", name, row.utility, row.unit,
                                   "draw at the peak"),
        "crew": lambda: (step, "labour", name, "labour", "person",
                         f"heads for each {row.per}" if step == "plant" else f"tool {case.steps[step].tool}"),
        "facilities": lambda: ("plant", "facilities", name, "facilities", "1", step),
        "overheads": lambda: ("plant", "overheads", name, "overheads", row.per, row.per),
        "levies": lambda: ("plant", "overheads", name, "overheads", "year", "value of equipment"),
        "warranty": lambda: ("plant", "overheads", "warranty", "overheads", "module", "claims to come"),
        "emissions": lambda: (rest[0], "emissions", name, "emissions", "kg", f"use of {row.emitter}"),
        "soaking": lambda: ("plant", "overheads", name, "overheads", *{"claims": ("Wp_stabilised", "watts claimed"),
                                                                       "holding": (case.currency, "stock that waits")}[step]),
    }  # fmt: skip
    return everywhere[kind]()


@pytest.mark.parametrize("case", [demo, terms, batch], ids=["demo", "terms", "batch"])
def test_each_line_is_booked_where_its_row_says_and_varies_idles_and_is_lost_as_its_kind_does(case):
    case = case()
    found, by_production = evaluate(case), terms()  # which writes off what its equipment makes
    for address, line in found.ledger.lines.items():
        step, category, item, group, unit, driver = booked(case, address)
        assert (line.step, line.category, line.item, line.group) == (step, category, item, group), address
        assert (line.unit, line.driver) == (unit, driver), address
        of_modules = step == "plant" or driver == "module" or address.endswith(".modules")
        assert line.loss == ("all" if group == "scrap" else "none" if of_modules else "share"), address
        kind = address.partition(".")[0]
        varies = {"materials": kind != "buying", "overheads": kind == "warranty" or unit in ("module", "Wp_stabilised")}
        if kind == "services":
            varies["maintenance"] = driver.startswith("work")
        if category not in ("utilities", "emissions") and not address.endswith(".holding"):
            assert line.variable_share == float(varies.get(category, False)), address
        else:
            assert 0.0 <= line.variable_share < 1.0, address
        held = kind == "building" or (category == "depreciation" and kind != "spares" and case is not by_production)
        use = found.line.carriers[item] if kind == "carriers" else found.line.tools[item] if held else None
        assert line.idle == near(line.cost * (1 - use.loading) if held else 0.0), address


def test_a_charge_for_the_peak_is_of_facilities_where_no_step_draws_it():
    lines = {name: line for name, line in evaluate(demo()).ledger.lines.items() if name.startswith("demand_charges.")}
    assert {line.step for line in lines.values()} > {"plant"}
    for line in lines.values():
        assert line.category == ("facilities" if line.step == "plant" else "utilities")


def test_a_service_is_counted_by_the_calendar_or_the_work_of_its_tool():
    assert evaluate(demo()).ledger.lines["services.laminator_pump.lamination"].driver == "calendar of tool laminator"


def test_a_service_by_the_work_of_its_tool_follows_the_output_and_one_by_the_calendar_does_not():
    """Saws every half year at work, 1,000 EUR; coaters every two years, 4,000 USD at 0.5 EUR."""
    inputs = Inputs()
    inputs.tables["services.csv"] = table("""
id,title,tool,interval [month],clock,price [currency],currency,price_year
blades,blades,saw,6,work,1000,EUR,2026
pumps,pumps,coater,24,calendar,4000,USD,2026
""")
    found = evaluate(inputs.load())
    work, calendar = (found.ledger.lines[name] for name in ("services.blades.cut", "services.pumps.coat"))
    busy = found.line.tools["saw"].busy_time / (8760 * 3600)  # years at work
    assert (work.cost, work.variable, work.idle) == (near(busy * 2 * 1000), near(busy * 2 * 1000), 0.0)
    assert (calendar.cost, calendar.variable, calendar.idle) == (near(found.line.tools["coater"].tools / 2 * 2000), 0.0, 0.0)
    assert (work.driver, calendar.driver) == ("work of tool saw", "calendar of tool coater")
    assert (work.category, work.item, work.group) == ("maintenance", "blades", "equipment")


def test_each_check_is_the_difference_of_what_it_names():
    """Views that do not agree, each by another amount."""
    steps = {"a": Some(lost=7.0), "b": Some(lost=2.0)}
    line = Some(output=Some(good_modules=2.0, plates_started=50.0, good_plates=30.0), steps=steps)
    views = Views(
        total=100.0, step_costs={"a": 60.0, "b": 41.0}, category_costs={"labour": 90.0, "materials": 12.0},
        route={"a": Some(lost=5.0), "b": Some(lost=6.0)}, module=Some(through_all_steps=20.0, lost_plates=10.0, no_step=7.0),
    )  # fmt: skip
    films = {"film": Some(silicon_fed=10.0, silicon_in_film=2.0, silicon_lost=7.5)}
    coatings = {"coating": Some(bought=9.0, on_plates=4.0, recovered=2.0, lost=0.25)}
    assert checks(line, {"x": Some(lost=3.0), "y": Some(lost=4.0)}, views, films, coatings) == Checks(
        by_step_less_total=1.0, by_category_less_total=2.0, loss_by_step_less_by_line=4.0, silicon_unaccounted=0.5,
        coating_unaccounted=2.75, plates_unaccounted=11.0, module_cost_unaccounted=13.0,
    )  # fmt: skip


def test_greenhouse_gas_is_use_times_factor_and_costs_what_its_price_says(ledger):
    # vent: 2 Nm3 a load; 20 USD/t at 0.5 EUR is 0.01 EUR/kg; power: tools and the gas store
    line = evaluate(tiny()).line
    gas = line.steps["coat"].loads * 2 * 3
    assert ledger.emissions["vent_gas"].mass == near(gas)
    assert cost(ledger, "emissions.vent_gas.coat") == near(gas * 0.01)
    drawn = sum(x.quantity for x in ledger.lines.values() if x.item == "electricity") / 3.6e6  # kWh
    assert ledger.emissions["power"].mass == near(drawn * 0.25)
    assert ledger.by_category["emissions"].cost == near(gas * 0.01)
    assert ledger.lines["emissions.vent_gas.coat"].lost > 0


def test_greenhouse_gas_follows_the_output_as_far_as_what_emits_it_does():
    """0.25 kg/kWh at 20 EUR/t are 0.005 EUR/kWh: a fortieth of the tariff of 0.2 EUR, of what follows the output and of all."""
    inputs = Inputs()
    inputs.tables |= {file: table(text) for file, text in TABLES.items()}
    lines = evaluate(with_values(inputs.load(), {"emissions.power.price": 0.02})).ledger.lines
    for step in ("coat", "plant"):
        drawn = [x for x in lines.values() if x.item == "electricity" and x.step == step]
        assert sum(x.variable for x in drawn) < sum(x.cost for x in drawn)
        assert lines[f"emissions.power.{step}"].cost == near(sum(x.cost for x in drawn) / 40)
        assert lines[f"emissions.power.{step}"].variable == near(sum(x.variable for x in drawn) / 40)
    assert lines["emissions.power.coat"].variable > 0


def test_what_no_step_causes_bears_no_yield_loss_and_counts_in_the_module(ledger):
    names = [name for name in ledger.lines if name.startswith(("facilit", "overheads", "levies"))]
    assert len(names) == 3 + 1 + 3 + 1
    assert all(ledger.lines[name].lost == 0.0 for name in names)
    bare = evaluate(tiny()).ledger
    more = sum(cost(ledger, name) for name in names) / 36_000
    assert ledger.module.no_step == near(bare.module.no_step + more)
    gas = ledger.by_category["emissions"].cost / 36_000
    assert ledger.total.cost_per_module == near(bare.total.cost_per_module + more + gas)


@pytest.mark.parametrize("case", [demo, tiny, terms])
def test_ownership_over_all_tools_is_what_the_ledger_spends_in_steps(case):
    ledger = evaluate(case()).ledger
    owned = sum(o.fixed + o.recurring for o in ledger.ownership.values())
    spent = sum(x.cost for x in ledger.lines.values() if x.step != "plant")
    assert owned - ledger.scrap_revenue == pytest.approx(spent, rel=1e-12)  # what lost plates fetch is part of the yield loss


@pytest.mark.parametrize("case", [demo, tiny])
def test_good_plates_are_year_times_throughput_yield_utilisation_and_tools(case):
    """The structure of SEMI E35 (C01, from memory): cost over life x throughput x yield x utilisation, for one year."""
    results = evaluate(case())
    for name, owned in results.ledger.ownership.items():
        by_formula = (case().constants.year * owned.throughput * owned.composite_yield * owned.utilisation
                      * results.line.tools[name].tools)  # fmt: skip
        assert by_formula == pytest.approx(owned.good_plates, rel=1e-12)
        assert owned.cost_per_good_plate * by_formula == pytest.approx(owned.fixed + owned.recurring + owned.yield_loss, rel=1e-12)


def test_ownership_of_the_last_tool_by_hand():
    # stamp: every second plate; 80 % good; 0 floor. What the plates lost there had cost before is known from the route.
    results = evaluate(tiny())
    owned, route = results.ledger.ownership["stamp"], results.ledger.route
    assert owned.fixed == near(50_000 / 10 * results.line.tools["stamp"].tools)
    assert owned.composite_yield == near(0.8)
    assert owned.yield_loss == near(results.line.steps["press"].lost * route["coat"].cost_so_far)


def test_what_a_tool_spent_in_an_earlier_step_is_counted_once():
    """The green laser scribes twice: of plates lost in its second step, its own shares are in fixed and recurring; less scrap."""
    results = evaluate(demo())
    route, steps = results.ledger.route, results.line.steps
    before = route["scribe_2"].cost_so_far - route["scribe_2"].cost_added
    by_hand = steps["scribe_2"].lost * before + steps["scribe_3"].lost * (before + route["sputter"].cost_added)
    by_hand -= route["scribe_2"].scrap_revenue + route["scribe_3"].scrap_revenue
    assert results.ledger.ownership["green_laser"].yield_loss == pytest.approx(by_hand, rel=1e-12)


def test_idle_capacity_is_the_unloaded_share_of_depreciation_and_floor():
    results = evaluate(demo())
    ledger, line = results.ledger, results.line
    by_hand = 0.0
    for name, use in line.tools.items():
        held = [x.cost for x in ledger.lines.values() if x.driver == f"tool {name}" and x.category in ("depreciation", "building")]
        by_hand += sum(held) * (1 - use.loading)
    for name, use in line.carriers.items():
        held = [x.cost for x in ledger.lines.values() if x.driver == f"carrier {name}" and x.category == "depreciation"]
        by_hand += sum(held) * (1 - use.loading)
    assert ledger.idle == pytest.approx(by_hand, rel=1e-12)


def test_a_plant_full_at_its_tightest_tool_has_less_idle_cost_for_a_watt():
    base, full = evaluate(demo()).ledger, evaluate(frozen(demo())).ledger
    assert full.idle_per_stabilised_watt < base.idle_per_stabilised_watt


@pytest.mark.slow
def test_each_size_of_the_curve_is_the_plant_sized_for_it():
    case = demo()
    curve = sizes(case, 0.5, 2.0, 9)
    assert next(size.output for size in curve if size.times == 1.0) == case.target.output
    for size in curve:
        alone = evaluate(with_values(case, {"target.output": size.output}))
        assert size.cost_per_stabilised_watt == pytest.approx(alone.ledger.total.cost_per_stabilised_watt, rel=1e-12)
        assert size.tools == sum(use.tools for use in alone.line.tools.values())


def test_a_size_may_be_stated_as_an_output_a_year():
    """The growing line makes 36,000 modules of 0.5 m2 and 30 W stabilised in a year: 18,000 m2 and 1.08 MW."""
    for written in ("0.54 MWp_stabilised", "0.54 MWp_stabilised/year", "0.54 MW", "540 kW", "9000 m2", "18000 module", "0.5"):
        assert parse_size(growing(), written, "--low") == pytest.approx(0.5, rel=1e-12)
    hints = {"9MW": "a space is missing: '9 MW'", "9 kg": "as '9 MW'", "-1": "a multiple", "9 MWx": "did you mean"}
    for wrong, hint in hints.items():
        with pytest.raises(InputFaults, match=hint):
            parse_size(growing(), wrong, "--low")


def test_sizes_that_are_asked_for_stand_in_a_table_of_their_own():
    said = " ".join(CliRunner().invoke(main, ["cost", str(DEMO), "size", "--at", "5 MW", "--at", "50 MW"]).output.split())
    for size in (5e6, 50e6):
        cost = evaluate_costs(with_values(demo(), {"target.output": size})).ledger.total.cost_per_stabilised_watt
        assert f"{money(cost, 'EUR')} at {size / 1e6:.3g}" in said
    assert "Cost by size, EUR" in said
    refused = CliRunner().invoke(main, ["cost", str(DEMO), "size", "--low", "20 MW", "--high", "9 MW"])
    assert "found 20 MW and 9 MW; allowed: low below high" in refused.output


def test_a_size_marked_cheapest_costs_less_than_its_neighbours_with_full_tools():
    full = [size for size in sizes(demo()) if size.full]
    costs = [size.cost for size in full]
    for k in range(1, len(full) - 1):
        assert full[k].cheapest == (costs[k] < costs[k - 1] and costs[k] < costs[k + 1])
    assert any(size.cheapest for size in full)


def test_sizes_with_full_tools_are_whole_tools_times_what_one_makes():
    # 36,000 modules need 3.4375 coaters (test_growth.py), so one makes 36,000 / 3.4375 and n of them n times that
    results = evaluate_costs(growing())
    assert results.line.tools["coater"].tools_needed == pytest.approx(3.4375, rel=1e-12)
    found = fill_sizes(growing(), 0.5, 1.2)
    coaters = [times for times, what in found.items() if "tools.coater" in what]
    assert coaters == pytest.approx([2 / 3.4375, 3 / 3.4375, 4 / 3.4375], rel=1e-12)
    permits = [times for times, what in found.items() if "overheads.permit" in what]  # one per 12,000 of 36,000 modules
    assert permits == pytest.approx([2 / 3, 1.0], rel=1e-12)


def test_a_full_size_holds_its_tools_and_a_little_more_adds_one_and_the_units_that_follow():
    curve = {round(size.times, 9): size for size in sizes(growing(), 0.5, 1.3)}
    four = curve[round(4 / 3.4375, 9)]
    assert four.full == ("tools.coater",)
    assert four.added["facilities.abatement"] == (2.0, 3.0)  # one unit per two coaters
    assert four.cost_after > four.cost
    alone = evaluate_costs(with_values(growing(), {"target.output": four.output}))
    assert alone.line.tools["coater"].tools == 4.0


def test_where_tools_are_full_hangs_neither_on_points_nor_on_the_range():
    wide, narrow, coarse = sizes(demo()), sizes(demo(), 0.2, 1.7), sizes(demo(), 0.2, 1.7, 20)
    marked = [[(size.times, size.cost) for size in each if size.cheapest and size.times <= 1.7] for each in (wide, narrow, coarse)]
    assert len(marked[0]) > 5
    for other in marked[1:]:
        assert np.array(other) == pytest.approx(np.array(marked[0]), rel=1e-12)


def test_choices_and_sizes_are_held_against_each_other_on_the_basis_of_the_target():
    # aluminium makes the cheaper watt; per m2 what counts is the cost of area, and both tables rank by it
    changes = {"target.basis": "m2", "target.output": "154000 m2"}
    found = outcomes(DEMO, "back_contact", changes=changes)
    totals = {outcome.title: outcome.results.ledger.total for outcome in found}
    first, second = sorted(totals, key=lambda title: totals[title].cost_per_m2)
    gap = totals[second].cost_per_m2 - totals[first].cost_per_m2
    assert choice_report.cheapest(found, "back_contact") == (
        f"Of back contact, “{first}” makes the cheapest m², at {money(totals[first].cost_per_m2, 'EUR')}. “{second}” costs "
        f"{money(gap, 'EUR')} more."
    )
    assert [row[0] for row in choice_report.choices_table(found, "back_contact").rows] == [first, second]
    (difference,) = differences(found, "silver")
    assert abs(difference.total) == pytest.approx(gap, rel=1e-9)
    assert sum(difference.by_kind.values()) == pytest.approx(difference.total, rel=1e-9)
    curve = sizes(found[0].case, points=9)
    alone = evaluate_costs(with_values(found[0].case, {"target.output": curve[0].output}))
    assert curve[0].cost == pytest.approx(alone.ledger.total.cost_per_m2, rel=1e-12)


def test_elasticities_are_those_of_small_steps_one_by_one():
    plant = as_bought(demo())
    found = {elasticity.address: elasticity.elasticity for elasticity in elasticities(demo())}
    for address in ("product.initial_efficiency", "prices.front_glass.price", "crew.operator.wage", "layers.i_2.thickness",
                    "tools.deposition.price", "site.scheduled_time", "steps.lamination.first_pass_yield"):  # fmt: skip
        value = value_at(plant, address)
        costs = [evaluate(with_values(plant, {address: value * (1 + h)})).ledger.total.cost_per_stabilised_watt
                 for h in (-1e-4, 0.0)]  # fmt: skip
        assert found[address] == pytest.approx((1 - costs[0] / costs[1]) / 1e-4, rel=1e-3, abs=1e-6), address


def test_a_price_s_elasticity_is_its_share_of_the_cost():
    """Cost is linear in a price: the elasticity is what is spent on it, with interest on what waits, over the total."""
    results = evaluate(as_bought(demo()))
    ledger = results.ledger
    glass = sum(x.cost for x in ledger.lines.values() if x.item == "back_glass")
    in_a_plate = glass / results.line.steps["lay_up"].starts
    spent = glass + ledger.soaking["rating"].stock.waiting * in_a_plate * demo().soaking["rating"].holding_rate * 31_536_000
    found = {elasticity.address: elasticity.elasticity for elasticity in elasticities(demo())}
    assert found["prices.back_glass.price"] == pytest.approx(spent / ledger.total.cost, rel=1e-6)


def test_evidence_is_weighed_by_kind():
    case = demo()
    quoted = dataclasses.replace(case.evidence["prices.front_glass"], kind="quote")
    shares = share_by_kind(elasticities(dataclasses.replace(case, evidence=case.evidence | {"prices.front_glass": quoted})))
    of_glass = [x for x in elasticities(case) if x.address.startswith("prices.front_glass.")]
    weight = sum(abs(x.elasticity) for x in of_glass) / sum(abs(x.elasticity) for x in elasticities(case))
    assert shares == {"quote": pytest.approx(weight, rel=1e-9), "invented": pytest.approx(1 - weight, rel=1e-9)}
    assert np.isfinite(list(shares.values())).all()


INDICES = """
id,covers,year,factor [1]
prices_2024,prices,2024,1.5
prices_2026,prices,2026,1
"""


def with_indices():
    inputs = Inputs()
    inputs.tables["indices.csv"] = table(INDICES)
    return inputs


def test_a_price_of_another_year_is_brought_to_money_of_the_case():
    # glass 8 USD of 2024 x 1.5 x 0.5 EUR x (1 + 10 % + 15 %)
    ledger = evaluate(with_indices().cell("prices.csv", "glass", "price_year", "2024").load()).ledger
    assert ledger.landed["glass"].price == near(8 * 1.5 * 0.5 * 1.25)
    bare = evaluate(tiny()).ledger
    assert cost(ledger, "materials.glass") == near(1.5 * cost(bare, "materials.glass"))
    assert cost(ledger, "materials.foil") == cost(bare, "materials.foil")


def test_an_index_moves_the_prices_of_its_year_and_no_others():
    case = with_indices().cell("prices.csv", "glass", "price_year", "2024").load()
    before, after = (evaluate(c).ledger for c in (case, with_values(case, {"indices.prices_2024.factor": 3.0})))
    for name, line in before.lines.items():
        assert after.lines[name].cost == near((2 if line.item == "glass" else 1) * line.cost), name


@pytest.mark.parametrize(("cell", "message"), [
    (("prices.csv", "glass", "price_year", "2019"),
     "prices.csv, row 2, column 'price_year': found 2019; allowed: a year that indices.csv has for prices: 2024, 2026"),
    (("indices.csv", "prices_2024", "year", "2026"),
     "indices.csv, row 3, column 'year': found 2026 twice for prices; allowed: each year once for each table"),
], ids=["year that is not covered", "year twice"])
def test_indices_that_do_not_fit_are_refused(cell, message):
    with pytest.raises(InputFaults) as refused:
        with_indices().cell(*cell).load()
    assert message in [str(fault) for fault in refused.value.faults]
