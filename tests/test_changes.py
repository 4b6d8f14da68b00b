"""Changes to a case that was read: by scenarios, by single addresses, and by programs; and what they refuse."""
from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.scenarios import open_case, scenario_names

from .cases import DEMO, Inputs, demo, tiny
from .refusals import NUMBER, TOOL_FIELDS, faults


def test_a_change_is_applied_in_the_unit_it_states():
    case = open_case(DEMO, changes={"tools.laminator.life": "36 month",
                                    "steps.seam.process_time": "1.5 min",
                                    "prices.silane.price": "0.07 USD/g", "product.stabilisation_ratio": "80%"})
    assert case.tools["laminator"].life == pytest.approx(3 * 8760 * 3600, rel=1e-12)
    assert case.steps["seam"].process_time == pytest.approx(90, rel=1e-12)
    assert case.prices["silane"].price == pytest.approx(70, rel=1e-12)
    assert case.product.stabilisation_ratio == pytest.approx(0.8, rel=1e-12)
    assert case.tools["seamer"] == demo().tools["seamer"]


def test_a_bare_number_is_in_the_unit_of_the_table():
    case = open_case(DEMO, changes={"tools.laminator.life": "3", "steps.lamination.first_pass_yield": "98"})
    assert case.tools["laminator"].life == pytest.approx(3 * 8760 * 3600, rel=1e-12)
    assert case.steps["lamination"].first_pass_yield == pytest.approx(0.98, rel=1e-12)


def test_installed_tools_follow_from_a_change_of_mode():
    case = open_case(DEMO, changes={"target.mode": "frozen", "tools.deposition.installed": "2"})
    line = evaluate(case).line
    assert {name: use.tools for name, use in line.tools.items()} == {
        name: 2.0 if name == "deposition" else tool.installed for name, tool in demo().tools.items()}
    assert max(use.loading for use in (*line.tools.values(), *line.carriers.values())) == pytest.approx(1, rel=1e-12)


CHANGES = {
    "unknown row": ({"tools.laminatr.price": "5"}, [
        "--set, 'tools.laminatr.price': found an unknown address; allowed: an id of tools.csv after 'tools.'; "
        "did you mean 'laminator'?"]),
    "unknown field": ({"tools.laminator.prize": "5"}, [
        f"--set, 'tools.laminator.prize': found an unknown address; allowed: one field: {TOOL_FIELDS}; "
        "did you mean 'price'?"]),
    "address of a figure": ({"plan.returns.required_return": "12"}, [
        "--set, 'plan.returns.required_return': found an unknown address; allowed: an address that begins with a table; "
        "did you mean 'returns.required_return'?"]),
    "space left out": ({"target.output": "2MWp_stabilised"}, [
        "--set, 'target.output': found '2MWp_stabilised'; allowed: a number, as 12.5; a space is missing: "
        "'2 MWp_stabilised'"]),
    "unknown table": ({"tool.laminator.price": "5"}, [
        "--set, 'tool.laminator.price': found an unknown address; allowed: an address that begins with a table or section, as "
        "`guide dictionary` lists them; did you mean 'tools'?"]),
    "nothing near": ({"a": "5"}, [
        "--set, 'a': found an unknown address; allowed: an address that begins with a table or section, as `guide dictionary` "
        "lists them: product, site, target, cells, money, indices, steps, tools, areas, carriers, phases, phase_materials, ..."]),
    "out of range": ({"steps.lamination.first_pass_yield": "150 %"}, [
        "--set, 'steps.lamination.first_pass_yield': found 150 %; allowed: a number above 0 to 100 [%]"]),
    "another unit": ({"tools.laminator.life": "5 kg"}, [
        "--set, 'tools.laminator.life': found '5 kg' (unit 'kg' does not convert into 'year'); allowed: "
        "a number in a unit such as year"]),
    "another currency": ({"tools.laminator.price": "5 USD"}, [
        "--set, 'tools.laminator.price': found '5 USD' (unit 'USD' does not convert into 'EUR'); allowed: "
        "a number in a unit such as EUR"]),
    "no number": ({"tools.laminator.life": "long"}, [
        f"--set, 'tools.laminator.life': found 'long'; allowed: {NUMBER}"]),
    "unknown option": ({"target.mode": "frosen"}, [
        "--set, 'target.mode': found 'frosen'; allowed: one of sized, frozen, as_bought; did you mean 'frozen'?"]),
    "basis without its output": ({"target.basis": "m2"}, [
        "--set, 'target.basis': found 'm2' without output; allowed: 'm2' together with target.output, stated anew"]),
    "currency without its price": ({"prices.silane.currency": "EUR"}, [
        "--set, 'prices.silane.currency': found 'EUR' without price; allowed: 'EUR' together with prices.silane.price, "
        "stated anew"]),
    "unit without its price": ({"prices.silane.unit": "t"}, [
        "--set, 'prices.silane.unit': found 't' without price; allowed: 't' together with prices.silane.price, stated anew"]),
    "heads for another number of people": ({"crew.operator.per": "plant"}, [
        "--set, 'crew.operator.per': found 'plant' without heads; allowed: 'plant' together with crew.operator.heads, "
        "stated anew"]),
    "unit of draws without the draws": ({"tool_utilities.seamer_electricity.unit": "MW"}, [
        "--set, 'tool_utilities.seamer_electricity.unit': found 'MW' without when_processing, when_idle; allowed: 'MW' "
        "together with tool_utilities.seamer_electricity.when_processing, tool_utilities.seamer_electricity.when_idle, "
        "stated anew"]),
    "price in the currency that was": ({"prices.silane.currency": "EUR", "prices.silane.price": "60 USD/kg"}, [
        "--set, 'prices.silane.price': found '60 USD/kg' (unit 'USD/kg' does not convert into 'EUR/kg'); allowed: "
        "a number in a unit such as EUR/kg"]),
    "price without the new currency": ({"prices.silane.currency": "EUR", "prices.silane.price": "60"}, [
        "--set, 'prices.silane.price': found '60' (no unit); allowed: a number in a unit such as EUR/kg"]),
    "tool that is not there": ({"steps.seam.tool": "seamr"}, [
        "steps.csv, column 'seam.tool': found 'seamr'; allowed: an id of tools.csv; did you mean 'seamer'?"]),
    "currency that is not there": ({"tools.seamer.currency": "USX", "tools.seamer.price": "5 USX"}, [
        "tools.csv, column 'seamer.currency': found 'USX'; allowed: a code of money.csv; did you mean 'USD'?"]),
    "loads of another size on a carrier": ({"tools.deposition.load_size": "48"}, [
        "carriers.csv, column 'batch_carrier.last_step': found 'unload_carrier' after 'deposition' with loads of another size "
        "than 'load_carrier'; allowed: steps whose tools take loads of one size"]),
    "material for good modules in an early step": ({"materials.packing.step": "seam"}, [
        "materials.csv, column 'packing.per': found 'module' in step 'seam'; allowed: 'module' in the last step, 'pack', only"]),
    "rate of the reporting currency": ({"money.eur.exchange_rate": "0.9"}, [
        "money.csv, column 'eur.exchange_rate': found 0.9; allowed: 1 for the reporting currency"]),
    "downtime of all the time": ({"tools.laminator.planned_downtime": "97 %"}, [
        "tools.csv, column 'laminator.planned_downtime': found 100 % with unplanned downtime and engineering time; "
        "allowed: together below 100 % of the scheduled time"]),
    "several": ({"tools.laminatr.life": "5", "tools.laminator.life": "0"}, [
        "--set, 'tools.laminatr.life': found an unknown address; allowed: an id of tools.csv after 'tools.'; "
        "did you mean 'laminator'?",
        "--set, 'tools.laminator.life': found 0 year; allowed: a number above 0 [year]"]),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_wrong_change_is_refused(name):
    changes, messages = CHANGES[name]
    assert faults(lambda: open_case(DEMO, changes=changes)) == messages


@pytest.mark.parametrize("name", scenario_names(DEMO))
def test_a_scenario_changes_figures_and_says_so(name):
    case = open_case(DEMO, name)
    assert case.title.startswith(demo().title + ": ")
    assert evaluate(case).ledger.total.cost != evaluate(demo()).ledger.total.cost
    changed = [place for place, shown in case.evidence.items() if shown.source.endswith(f" set by scenario {name}")]
    assert changed


def figures_of(case) -> dict[str, float]:
    return {address: value for address, value, _, _ in figures(evaluate(case), case.currency)}


def same_figures(case, other) -> bool:
    """Whether two cases give the same figures but for rounding; checks are differences and small against the total."""
    found, wanted = figures_of(case), figures_of(other)
    scale = {a: wanted["ledger.total.cost"] if a.startswith("ledger.checks.") else abs(v) for a, v in wanted.items()}
    return list(found) == list(wanted) and all(abs(found[a] - wanted[a]) <= 1e-12 * scale[a] for a in wanted)


# one US dollar is half a euro, and 18,000 m2 are 36,000 modules of 0.5 m2: the same case, restated
RESTATED = {
    "currency with its price": ({"tools.coater.currency": "EUR", "tools.coater.price": "200000 EUR"}, "tools.coater.price", "EUR"),
    "currency with its price and its range": ({
        "tools.saw.currency": "USD", "tools.saw.price": "200000 USD", "ranges.saw_price.unit": "USD", "ranges.saw_price.low":
        "160000 USD", "ranges.saw_price.mode": "200000 USD", "ranges.saw_price.high": "300000 USD"}, "ranges.saw_price.low", "USD"),
    "basis with its output": ({"target.basis": "m2", "target.output": "18000 m2"}, "target.output", "m2"),
    "unit with its price": ({"prices.silane.unit": "g", "prices.silane.price": "0.1 EUR/g"}, "prices.silane.price", "EUR/g"),
    "heads for the plant": ({"crew.operator.per": "plant", "crew.operator.heads": "2 person"}, "crew.operator.heads", "person"),
}


@pytest.mark.parametrize("name", RESTATED)
def test_a_text_may_change_together_with_the_numbers_that_stand_in_it(name, tmp_path):
    changes, address, unit = RESTATED[name]
    case = open_case(Inputs().write(tmp_path), changes=changes)
    assert case.entry_units[address] == unit
    assert same_figures(case, tiny())


def test_a_text_that_stays_as_it_is_needs_no_number():
    assert with_values(tiny(), {"tools.saw.currency": "EUR", "target.basis": "Wp_stabilised"}) == tiny()


PROGRAM = {
    "unknown address": ({"tools.sew.price": 5.0}, [
        "changes, 'tools.sew.price': found an unknown address; allowed: an id of tools.csv after 'tools.'; did you mean 'saw'?"]),
    "text for a number": ({"tools.saw.price": "5 EUR"}, [
        "changes, 'tools.saw.price': found '5 EUR'; allowed: a number in base units"]),
    "truth for a number": ({"tools.saw.price": True}, [
        "changes, 'tools.saw.price': found True; allowed: a number in base units"]),
    "nothing for a number": ({"tools.saw.price": None}, [
        "changes, 'tools.saw.price': found None; allowed: a number in base units"]),
    "list for a number": ({"tools.saw.price": [5.0, 6.0]}, [
        "changes, 'tools.saw.price': found [5.0, 6.0]; allowed: a number in base units"]),
    "number for a text": ({"tools.saw.title": 5.0}, ["changes, 'tools.saw.title': found 5.0; allowed: a text"]),
    "whole numbers for draws": ({"tools.saw.price": np.array([5, 6])}, [
        "changes, 'tools.saw.price': found an array of int64 with shape (2,); allowed: one row of floating-point numbers"]),
    "a table of draws": ({"tools.saw.price": np.ones((2, 3))}, [
        "changes, 'tools.saw.price': found an array of float64 with shape (2, 3); allowed: one row of floating-point numbers"]),
    "no draws": ({"tools.saw.price": np.array([])}, [
        "changes, 'tools.saw.price': found an array of float64 with shape (0,); allowed: one row of floating-point numbers"]),
    "draws for what the model does not read": ({"ranges.saw_price.low": np.array([1.0, 2.0])}, [
        "changes, 'ranges.saw_price.low': found an array; allowed: a number: the model reads no draws from this table"]),
    "draws of two lengths": ({
        "tools.saw.price": np.ones(2), "tools.saw.maintenance": np.zeros(3), "tools.saw.footprint": np.ones(2)}, [
        "changes, 'tools.saw.maintenance': found 3 values; allowed: 2 values, as 'tools.saw.price' has"]),
    "draws that leave no time": ({"tools.saw.planned_downtime": np.array([0.1, 0.95])}, [
        "tools.csv, column 'saw.planned_downtime': found 100 % with unplanned downtime and engineering time; allowed: "
        "together below 100 % of the scheduled time"]),
    "rate of the reporting currency": ({"money.eur.exchange_rate": np.array([1.0, 1.1])}, [
        "money.csv, column 'eur.exchange_rate': found [1.  1.1]; allowed: 1 for the reporting currency"]),
    "range below its input": ({"ranges.saw_price.low": -1.0}, [
        "ranges.csv, column 'saw_price.low': found -1 EUR; allowed: a number from 0 [EUR]"]),
    "range out of order": ({"ranges.saw_price.low": 110_000.0}, [
        "ranges.csv, column 'saw_price.mode': found low, mode and high out of order; allowed: low <= mode <= high"]),
    "currency without its range": ({"tools.saw.currency": "USD", "tools.saw.price": 200_000.0}, [
        "ranges.csv, column 'saw_price.unit': found 'EUR'; allowed: a unit that converts to USD"]),
    "group that is taken": ({"prices.glass.group": "equipment"}, [
        "prices.csv, column 'glass.group': found 'equipment'; allowed: small letters, digits and _, and none of building, "
        "electricity, emissions, equipment, facilities, labour, overheads, scrap"]),
    "kind of floor that is not there": ({"tools.saw.area": "hill"}, [
        "tools.csv, column 'saw.area': found 'hill'; allowed: an id of areas.csv; did you mean 'hall'?"]),
}


@pytest.mark.parametrize("name", PROGRAM)
def test_a_wrong_change_by_a_program_is_refused(name):
    values, messages = PROGRAM[name]
    assert faults(lambda: with_values(tiny(), values)) == messages


def with_scenario(folder: Path, content: str) -> Path:
    """The tiny case with a scenario named `dear`."""
    Inputs().write(folder)
    (folder / "scenarios").mkdir()
    (folder / "scenarios" / "dear.yaml").write_text(content, encoding="utf-8")
    return folder


def test_changes_come_after_the_scenario(tmp_path):
    content = "title: dear\nstory: s\nplant: designed\nset: {tools.saw.price: 150000, tools.saw.life: 5 year}\n"
    folder = with_scenario(tmp_path, content)
    case = open_case(folder, "dear", {"tools.saw.price": "120000"})
    assert (value_at(case, "tools.saw.price"), value_at(case, "tools.saw.life")) == (120_000, 5 * 8760 * 3600)
    assert case.evidence["tools.saw"].source.endswith("price set by scenario dear; life set by scenario dear; price set"
                                                      " by --set")


SCENARIOS = {
    "unknown name": ("deer", "title: d\nstory: s\nplant: designed\nset: {tools.saw.price: 5}\n", [
        "scenarios/deer.yaml: found no such scenario; allowed: one of dear; did you mean 'dear'?"]),
    "unknown key": ("dear", "title: d\nstory: s\nplant: designed\nsets: {}\nset: {}\n", [
        "scenarios/dear.yaml, 'sets': found an unknown name; allowed: title, story, plant, use, set; did you mean 'set'?"]),
    "missing key": ("dear", "title: d\nplant: designed\nset: {}\n", [
        "scenarios/dear.yaml, 'story': found nothing; allowed: a value for 'story'"]),
    "list of changes": ("dear", "title: d\nstory: s\nplant: designed\nset: [tools.saw.price]\n", [
        "scenarios/dear.yaml, 'set': found ['tools.saw.price']; allowed: a mapping"]),
    "unknown address": ("dear", "title: d\nstory: s\nplant: designed\nset: {tools.sow.price: 5}\n", [
        "scenarios/dear.yaml, 'tools.sow.price': found an unknown address; allowed: an id of tools.csv after 'tools.'; "
        "did you mean 'saw'?"]),
    "out of range": ("dear", "title: d\nstory: s\nplant: designed\nset: {tools.saw.life: 0 year}\n", [
        "scenarios/dear.yaml, 'tools.saw.life': found 0 year; allowed: a number above 0 [year]"]),
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_wrong_scenario_is_refused(name, tmp_path):
    scenario, content, messages = SCENARIOS[name]
    assert faults(lambda: open_case(with_scenario(tmp_path, content), scenario)) == messages
