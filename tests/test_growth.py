"""What grows with the plant: figures worked by hand, laws, refusals. In the tiny line 36,000 modules need 3.4375 coaters."""
from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from costmodel.case.changes import with_values
from costmodel.case.summary import oddities
from costmodel.case.whole_case import Case
from costmodel.core.faults import InputFaults
from costmodel.core.fields import Figure, walk
from costmodel.model.evaluate import evaluate_costs
from costmodel.model.ledger.equipment import equipment_value, pieces, systems_value
from costmodel.model.line.line import compute_line
from costmodel.studies.factory.full_use import frozen
from costmodel.studies.factory.odd_figures import one_tool_drives
from costmodel.studies.factory.plant_size import sizes

from .growing import growing, growing_inputs

MODULES = 36_000.0


def near(value: float):
    """Equal but for rounding."""
    return pytest.approx(value, rel=1e-9)


def at(factor: float) -> Case:
    """The case for so many times its output."""
    return with_values(growing(), {"target.output": growing().target.output * factor})


def cost(case: Case, line: str) -> float:
    return evaluate_costs(case).ledger.lines[line].cost


def test_three_chambers_with_one_unit_per_two_have_two_units():
    results = evaluate_costs(at(0.8))
    assert results.line.tools["coater"].tools == 3.0  # 0.8 x 3.4375 = 2.75
    grown = results.line.growth["facilities"]["abatement"]
    assert (grown.size, grown.units, grown.unit) == (3.0, 2.0, "tool")
    lines = results.ledger.lines
    assert lines["facilities.abatement.depreciation"].cost == near(2 * 120_000 / 10)
    assert lines["facilities.abatement.upkeep"].cost == near(2 * 120_000 * 0.05)
    assert lines["facilities.abatement.floor"].cost == near(2 * 25 * 120)
    assert lines["facility_utilities.abatement_power"].cost == near(2 * 3 * 8760 * 0.2)
    assert next(x.cost for x in pieces(at(0.8), results.line) if x.name == "abatement") == near(240_000)


@pytest.mark.parametrize(("factor", "coaters", "units"), [(0.5, 2, 1), (1.0, 4, 2), (1.16, 4, 2), (1.17, 5, 3)])
def test_one_more_unit_is_there_exactly_when_the_driver_passes(factor, coaters, units):
    line = compute_line(at(factor))  # 1.16 x 3.4375 = 3.9875, 1.17 x 3.4375 = 4.0219
    assert (line.tools["coater"].tools, line.growth["facilities"]["abatement"].units) == (coaters, units)


def test_people_in_steps_are_whole_in_each_crew():
    # 3 saws, 4 coaters, 1 stamp: 8 tools, 0.9 heads per 3 tools: 2.7, so 3 heads for each of 2 crews
    assert evaluate_costs(growing()).ledger.lines["crew.operator.plant"].quantity == near(6)
    half = evaluate_costs(with_values(growing(), {"crew.operator.heads": 0.5}))
    assert half.ledger.lines["crew.operator.plant"].quantity == near(4)  # 1.5 heads are 2 in each crew


def test_racks_that_count_in_no_driver_bring_no_people():
    # half the plates are pressed, at 80 %: 36,000 / 0.9 = 40,000 plates of 720 s on racks of 3.6 million s: 8; machines 3 + 4 + 1
    line = compute_line(growing())
    assert line.tools["rack"].tools == 8.0
    assert line.growth["crew"]["operator"].size == 8.0
    counted = growing_inputs().cell("tools.csv", "rack", "in_all_tools", "yes").load()
    assert compute_line(counted).growth["crew"]["operator"].size == 16.0


def test_a_tool_that_is_most_of_all_tools_looks_odd():
    inputs = growing_inputs().cell("tools.csv", "rack", "in_all_tools", "yes").cell("steps.csv", "shelve", "process_time", "801")
    case = inputs.load()  # 40,000 x 801 s / 3.6 million s are 8.9, so 9 racks of 17
    assert list(one_tool_drives(case, evaluate_costs(case))) == [
        "tools.rack is 9 of the 17 tools of all_tools, with which crew.operator grow; in_all_tools 'no' leaves racks out"
    ]
    assert list(one_tool_drives(growing(), evaluate_costs(growing()))) == []


def test_costs_scale_exactly_with_the_exponent():
    system = [f"facilities.cooler.{what}" for what in ("depreciation", "upkeep", "floor")]
    exponents = {**dict.fromkeys([*system, "facility_utilities.cooler_power"], 0.6), "overheads.audit": 0.5}
    for line, exponent in exponents.items():
        assert cost(at(3.0), line) == near(cost(at(1.0), line) * 3**exponent)


def test_parts_and_peaks_grow_and_what_has_no_row_is_fixed():
    assert cost(growing(), "spares.spindle.cut") == near(2 * 5_000 / 5)  # 3 saws, one set per 2
    assert cost(growing(), "facilities.gate.depreciation") == near(700) == cost(at(9.0), "facilities.gate.depreciation")
    peak = evaluate_costs(growing()).ledger.lines["demand_charges.peak.plant"]
    assert peak.cost == near((2 * 3 + 6) * 0.8 * 60 * 0.5)  # two abatement units and the cooler, USD at 0.5


def test_lines_say_what_they_are_for():
    lines = evaluate_costs(growing()).ledger.lines
    assert lines["spares.spindle.cut"].driver == "parts for tool saw"
    power, system = lines["facility_utilities.abatement_power"], growing().facility_utilities["abatement_power"]
    assert (power.item, power.group, power.driver) == (system.utility, system.utility, "facility abatement")


def test_twice_the_plant_at_exponent_one_costs_twice():
    one = {"growth_exponents.cooler.exponent": 1.0}
    doubled = cost(with_values(at(2.0), one), "facilities.cooler.depreciation")
    assert doubled == near(2 * cost(with_values(at(1.0), one), "facilities.cooler.depreciation"))


def test_floor_under_tools_of_a_kind_drives():
    row = dataclasses.replace(growing().growth_exponents["cooler"], driver="hall", unit="m2", reference_size=40.0, exponent=1.0)
    case = dataclasses.replace(growing(), growth_exponents={"cooler": row})
    assert compute_line(case).growth["facilities"]["cooler"].units == near(2)  # 4 coaters of 20 m2, the rest takes no floor


def test_freezing_changes_nothing_that_grows():
    before, plant = evaluate_costs(at(1.3)), frozen(at(1.3))
    after = evaluate_costs(plant)
    assert units_of(after) == units_of(before)
    for name, line in before.ledger.lines.items():
        if name.startswith(("facilit", "overheads.audit", "spares", "demand_charges.peak.plant")) or name == "crew.operator.plant":
            assert after.ledger.lines[name].cost == line.cost, name
    assert equipment_value(plant, after.line) == equipment_value(at(1.3), before.line)
    faster = with_values(plant, {"tools.coater.installed": 9.0, "product.initial_efficiency": 0.2})
    assert units_of(evaluate_costs(faster)) == units_of(before)


@pytest.mark.parametrize("mode", ["sized", "frozen"])
def test_sizes_in_one_array_are_each_size_alone(mode):
    factors = np.array([0.4, 0.8, 1.0, 1.17, 2.5])
    start = with_values(growing(), {"target.mode": mode})
    addresses = {"sized": "target.output", "frozen": "growth_exponents.cooler.installed"}
    base = {"sized": growing().target.output, "frozen": MODULES}[mode]
    together = {a: v for a, v, _, _ in figures_of(with_values(start, {addresses[mode]: base * factors}))}
    for k, factor in enumerate(factors):
        for address, value, _, _ in figures_of(with_values(start, {addresses[mode]: float(base * factor)})):
            assert np.broadcast_to(together[address], factors.shape)[k] == pytest.approx(value, rel=1e-12, abs=1e-9), address


def units_of(results) -> dict[str, float]:
    """The units of all that grows."""
    return {f"{table}.{name}": x.units for table, rows in results.line.growth.items() for name, x in rows.items()}


def figures_of(case: Case):
    """Line and ledger."""
    results = evaluate_costs(case)
    for stage in ("line", "ledger"):
        yield from walk(getattr(results, stage), stage, Figure, case.currency)


def test_the_curve_of_sizes_goes_through_what_grows():
    curve = {round(size.times, 9): size.cost_per_stabilised_watt for size in sizes(growing())}
    for factor in (1.0, 2.0):
        assert curve[factor] == near(evaluate_costs(at(factor)).ledger.total.cost_per_stabilised_watt)
    fixed = dataclasses.replace(growing(), growth_steps={}, growth_exponents={})
    assert curve[2.0] > {round(s.times, 9): s.cost_per_stabilised_watt for s in sizes(fixed)}[2.0]


@pytest.mark.parametrize(("table", "identity", "column", "value", "message"), [
    ("growth_steps", "abatement", "grows", "facilities.abatment", "found 'facilities.abatment'; allowed: the address of a row of "
     "facilities, crew, overheads, spares; did you mean 'facilities.abatement'?"),
    ("growth_steps", "abatement", "driver", "coatr", "found 'coatr'; allowed: a tool, a kind of floor, or all_tools, "
     "stabilised_watts, good_area, good_modules; did you mean 'coater'?"),
    ("growth_steps", "abatement", "unit", "m2", "found 'm2'; allowed: a unit like tool, by which"),
    ("growth_steps", "abatement", "grows", "facilities.cooler", "by growth_steps.abatement too; allowed: each row once"),
    ("growth_steps", "spindle", "grows", "spares.source", "which is per tool; allowed: spare parts per plant"),
    ("growth_exponents", "audit", "grows", "overheads.mark", "which is per module; allowed: an overhead per year"),
])  # fmt: skip
def test_what_cannot_grow_is_refused(table, identity, column, value, message):
    with pytest.raises(InputFaults) as refused:
        growing_inputs().cell(f"{table}.csv", identity, column, value).load()
    assert message in str(refused.value)


def test_an_exponent_over_one_looks_odd():
    assert not [x for x in oddities(growing()) if "exponent" in x]
    case = with_values(growing(), {"growth_exponents.cooler.exponent": 1.2})
    assert "growth_exponents.cooler.exponent is over 1" in " ".join(oddities(case))


# published values, through what the curve of sizes uses: systems_value and equipment_value


def system(price: float, size_to_reference: float, exponent: float, index: float = 1.0) -> float:
    """Cost of a system stated in EUR at a reference size; the rate carries the cost index."""
    case = with_values(growing(), {
        "facilities.cooler.price": price, "growth_exponents.cooler.reference_size": MODULES / size_to_reference,
        "growth_exponents.cooler.exponent": exponent, "money.usd.exchange_rate": index})  # fmt: skip
    return systems_value(case, compute_line(case), "cooler")


def test_six_tenths_rule_and_scale_exponents():
    # W10, W11: Turton et al., Analysis, Synthesis and Design of Chemical Processes, Example 7.3 and page 195
    assert system(1.0, 2.0, 0.6) == pytest.approx(1.52, abs=0.005)
    assert system(23e6, 5 / 3, 0.6, 1.397) == pytest.approx(43.66e6, rel=1e-3)
    # W12, a handbook of techno-economic analysis: 2.0 million, from 5 to 8 with an exponent of 0.62
    assert system(2.0, 8 / 5, 0.62) == pytest.approx(2.68, abs=0.005)
    # W14, Ulrich and Vasudevan, Chemical Engineering, 2009: 300 million, from 2 to 0.635 with 0.8, about 120 million
    assert system(300.0, 0.635 / 2, 0.8, 400 / 390) == pytest.approx(120.0, abs=5.0)


@pytest.mark.parametrize(("plant", "factor"), [("fluid", 4.74), ("mixed", 3.63), ("solid", 3.10)])
def test_lang_factors_on_bought_equipment(plant, factor):
    # W15: Turton et al.; that of mixed plants from memory. What is added to the price stands in freight and installation
    added = {"freight_and_duty": factor - 3.0, "installation": 2.0}
    no_others = {f"{table}.{name}.price": 0.0 for table in ("facilities", "spares") for name in getattr(growing(), table)}
    for size in (1.0, 2.0):
        prices, values, charges = [], [], []
        for parts in (dict.fromkeys(added, 0.0), added):
            case = with_values(at(size), no_others | {f"tools.{n}.{c}": v for n in growing().tools for c, v in parts.items()})
            results = evaluate_costs(case)
            prices.append(sum(row.price * (0.5 if row.currency == "USD" else 1.0) * results.line.tools[n].tools
                              for n, row in case.tools.items()))
            values.append(results.ledger.equipment_value)
            charges.append(sum(x.cost for x in results.ledger.lines.values() if x.category == "depreciation"))
        assert values == [near(prices[0]), near(factor * prices[0])]
        assert charges[1] == near(factor * charges[0])
