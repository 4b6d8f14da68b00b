"""What a case refuses, in which words: file, row, column, the value found, what is allowed, the nearest valid name."""
from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from costmodel.case import files, load
from costmodel.case.changes import parse_changes
from costmodel.case.fingerprint import fingerprint
from costmodel.case.load import load_case
from costmodel.case.read_once import files_read_once
from costmodel.model.checking import folder_faults, numbers_without_unit
from costmodel.model.evaluate import evaluate, figures

from .batch import batch_inputs
from .cases import DEMO, DOCUMENT, EVIDENCE, Inputs, column_name, demo, tiny
from .refusals import IDENTITY, NUMBER, STEP_COLUMNS, TOOL_FIELDS, faults

CELLS = {
    "unknown tool": ("steps.csv", "coat", "tool", "coatr", [
        "steps.csv, row 3, column 'tool': found 'coatr'; allowed: an id of tools.csv; did you mean 'coater'?"]),
    "tool of no step": ("steps.csv", "press", "tool", "saw", [
        "tools.csv, row 4, column 'id': found 'stamp', which no step of steps.csv uses; allowed: a tool of the route: "
        "coater, saw"]),
    "share above one": ("steps.csv", "coat", "first_pass_yield", "120", [
        "steps.csv, row 3, column 'first_pass_yield': found 120 %; allowed: a number above 0 to 100 [%]"]),
    "share below zero": ("steps.csv", "coat", "rework_share", "-3", [
        "steps.csv, row 3, column 'rework_share': found -3 %; allowed: a number from 0 to 100 [%]"]),
    "life of zero": ("tools.csv", "saw", "life", "0", [
        "tools.csv, row 2, column 'life': found 0 year; allowed: a number above 0 [year]"]),
    "no tool installed": ("tools.csv", "saw", "installed", "0", [
        "tools.csv, row 2, column 'installed': found 0 tool; allowed: a number above 0 [tool]"]),
    "yield of zero": ("steps.csv", "coat", "first_pass_yield", "0", [
        "steps.csv, row 3, column 'first_pass_yield': found 0 %; allowed: a number above 0 to 100 [%]"]),
    "nothing processed": ("steps.csv", "press", "processed_share", "0", [
        "steps.csv, row 4, column 'processed_share': found 0 %; allowed: a number above 0 to 100 [%]"]),
    "cycle of zero": ("steps.csv", "cut", "process_time", "0", [
        "steps.csv, row 2, column 'process_time': found 0 s; allowed: a number above 0 [s]"]),
    "maintenance above the price": ("tools.csv", "coater", "maintenance", "101", [
        "tools.csv, row 3, column 'maintenance': found 101 %/year; allowed: a number from 0 to 100 [%/year]"]),
    "negative price": ("prices.csv", "glass", "price", "-8", [
        "prices.csv, row 2, column 'price': found -8 USD/m2; allowed: a number from 0 [USD/m2]"]),
    "the id of another row": ("steps.csv", "coat", "id", "cut", [
        "steps.csv, row 3, column 'id': found 'cut', which row 2 has too; allowed: an id that no other row has"]),
    "id in capitals": ("steps.csv", "coat", "id", "Cut", [
        f"steps.csv, row 3, column 'id': found 'Cut'; allowed: {IDENTITY}"]),
    "word of Python": ("steps.csv", "coat", "id", "class", [
        f"steps.csv, row 3, column 'id': found 'class'; allowed: {IDENTITY}"]),
    "no id": ("gases.csv", "absorber_hydrogen", "id", "", [
        f"gases.csv, row 2, column 'id': found ''; allowed: {IDENTITY}"]),
    "currency without a rate": ("prices.csv", "glass", "currency", "USX", [
        "prices.csv, row 2, column 'currency': found 'USX'; allowed: a code of money.csv; did you mean 'USD'?"]),
    "currency in small letters": ("prices.csv", "glass", "currency", "usd", [
        "prices.csv, row 2, column 'currency': found 'usd' (unit 'usd' is not known); allowed: currency of the price, as EUR"]),
    "unit as documents print it": ("prices.csv", "glass", "unit", "m²", [
        "prices.csv, row 2, column 'unit': found 'm²' (unit text 'm²' is typeset; in tables it is written 'm2'); allowed: "
        "what the price is for, as m2"]),
    "rate of the reporting currency": ("money.csv", "eur", "exchange_rate", "0.9", [
        "money.csv, row 2, column 'exchange_rate': found 0.9; allowed: 1 for the reporting currency"]),
    "currency under another id": ("money.csv", "eur", "id", "euro", [
        "money.csv, row 2, column 'code': found 'EUR'; allowed: three capitals whose small letters are the id 'euro'"]),
    "material in another unit than its price": ("materials.csv", "foil", "unit", "kg", [
        "materials.csv, row 6, column 'item': found 'foil', which is sold by m2; allowed: "
        "an item sold by a unit like kg"]),
    "gas that is sold by mass": ("gases.csv", "absorber_hydrogen", "item", "metal", [
        "gases.csv, row 2, column 'item': found 'metal', which is sold by kg; allowed: "
        "an item sold by a unit like mol"]),
    "silicon from what is sold by area": ("layers.csv", "absorber", "precursor", "foil", [
        "layers.csv, row 2, column 'precursor': found 'foil', which is sold by m2; allowed: "
        "an item sold by a unit like kg"]),
    "coating from what is sold by area": ("coatings.csv", "mirror", "item", "foil", [
        "coatings.csv, row 2, column 'item': found 'foil', which is sold by m2; allowed: "
        "an item sold by a unit like kg",
        "coatings.csv, row 2, column 'recovered_share': found 60 % of 'foil', which has no row in metals.csv; allowed: "
        "0 %, or a row of metals.csv with the item 'foil'"]),
    "metal in what is sold by area": ("metals.csv", "metal", "item", "foil", [
        "metals.csv, row 2, column 'item': found 'foil', which is sold by m2; allowed: an item sold by a unit like kg",
        "coatings.csv, row 2, column 'recovered_share': found 60 % of 'metal', which has no row in metals.csv; allowed: "
        "0 %, or a row of metals.csv with the item 'metal'"]),
    "film sputtered where nothing sputters": ("coatings.csv", "mirror", "step", "coat", [
        "coatings.csv, row 2, column 'step': found 'coat', which has no row in coaters.csv; allowed: "
        "a step with a row in coaters.csv: press"]),
    "settling longer than the purge it is in": ("layers.csv", "absorber", "settling_time", "121", [
        "layers.csv, row 2, column 'settling_time': found 121 s inside a purge of 120 s; allowed: "
        "no more than the purge_time, or settling 'added'"]),
    "no power left by the spread": ("layers.csv", "absorber", "thickness_spread", "80", [
        "layers.csv, row 2, column 'spread_loss_factor': found 128 % of the power lost, with the films before; allowed: "
        "together below 100 %"]),
    "utility drawn in another unit": ("tool_utilities.csv", "saw_electricity", "unit", "m3/h", [
        "tool_utilities.csv, row 2, column 'utility': found 'electricity', which is sold by kWh; allowed: "
        "an item sold by "
        "a unit like m3/h*s"]),
    "unknown unit in a row": ("prices.csv", "glass", "unit", "litr", [
        "prices.csv, row 2, column 'unit': found 'litr' (unit 'litr' is not known; did you mean 'litre'?); allowed: "
        "what the price is for, as m2"]),
    "downtime of all the time": ("tools.csv", "saw", "planned_downtime", "95", [
        "tools.csv, row 2, column 'planned_downtime': found 100 % with unplanned downtime and engineering time; "
        "allowed: together below 100 % of the scheduled time"]),
    "unknown option": ("materials.csv", "box", "per", "modul", [
        "materials.csv, row 7, column 'per': found 'modul'; allowed: one of plate_entering, plate, m2, load, tool_hour, module; "
        "did you mean 'module'?"]),
    "unknown kind of evidence": ("steps.csv", "cut", "kind", "guess", [
        "steps.csv, row 2, column 'kind': found 'guess'; allowed: "
        "one of measured, quote, handbook, estimate, invented"]),
    "no source": ("steps.csv", "cut", "source", "", [
        "steps.csv, row 2, column 'source': found nothing; allowed: where the figures come from"]),
    "range of an unknown row": ("ranges.csv", "saw_price", "address", "tools.sew.price", [
        "ranges.csv, row 2, column 'address': found 'tools.sew.price'; allowed: an id of tools.csv after 'tools.'; "
        "did you mean 'saw'?"]),
    "range of an unknown field": ("ranges.csv", "saw_price", "address", "tools.saw.prize", [
        f"ranges.csv, row 2, column 'address': found 'tools.saw.prize'; allowed: one field: {TOOL_FIELDS}; "
        "did you mean 'price'?"]),
    "range of a text": ("ranges.csv", "saw_price", "address", "tools.saw.title", [
        "ranges.csv, row 2, column 'address': found 'tools.saw.title', a text; allowed: the address of a number"]),
    "range in another unit": ("ranges.csv", "saw_price", "unit", "EUR/kg", [
        "ranges.csv, row 2, column 'unit': found 'EUR/kg'; allowed: a unit that converts to EUR"]),
    "range below its input": ("ranges.csv", "saw_price", "low", "-1", [
        "ranges.csv, row 2, column 'low': found -1 EUR; allowed: a number from 0 [EUR]"]),
    "group that is no name": ("prices.csv", "glass", "group", "Float glass", [
        "prices.csv, row 2, column 'group': found 'Float glass'; allowed: small letters, digits and _, and none of building, "
        "electricity, emissions, equipment, facilities, labour, overheads, scrap"]),
    "group with a name of its own meaning": ("prices.csv", "glass", "group", "labour", [
        "prices.csv, row 2, column 'group': found 'labour'; allowed: small letters, digits and _, and none of building, "
        "electricity, emissions, equipment, facilities, labour, overheads, scrap"]),
    "group with the name of a utility": ("prices.csv", "glass", "group", "electricity", [
        "prices.csv, row 2, column 'group': found 'electricity'; allowed: small letters, digits and _, and none of building, "
        "electricity, emissions, equipment, facilities, labour, overheads, scrap"]),
    "good modules before the last step": ("materials.csv", "box", "step", "coat", [
        "materials.csv, row 7, column 'per': found 'module' in step 'coat'; allowed: 'module' in the last step, 'press', only"]),
    "all loads lost": ("steps.csv", "coat", "load_loss", "100", [
        "steps.csv, row 3, column 'load_loss': found 100 %; allowed: a number from 0 to 99 [%]"]),
    "faster than ideal": ("steps.csv", "coat", "rate_efficiency", "101", [
        "steps.csv, row 3, column 'rate_efficiency': found 101 %; allowed: a number above 0 to 100 [%]"]),
    "unknown kind of floor": ("tools.csv", "saw", "area", "hal", [
        "tools.csv, row 2, column 'area': found 'hal'; allowed: an id of areas.csv; did you mean 'hall'?"]),
    "date of another form": ("tools.csv", "saw", "date", "11/02/2026", [
        "tools.csv, row 2, column 'date': found '11/02/2026'; allowed: a date as YYYY-MM-DD, YYYY-MM or YYYY, as 2026-11-01"]),
    "date of no calendar": ("tools.csv", "saw", "date", "2026-13", [
        "tools.csv, row 2, column 'date': found '2026-13'; allowed: a date as YYYY-MM-DD, YYYY-MM or YYYY, as 2026-11-01"]),
    "range out of order": ("ranges.csv", "saw_price", "low", "110000", [
        "ranges.csv, row 2, column 'mode': found low, mode and high out of order; allowed: low <= mode <= high"]),
}


@pytest.mark.parametrize("name", CELLS)
def test_a_wrong_cell_is_refused_by_its_place(name):
    file, identity, column, value, messages = CELLS[name]
    assert faults(Inputs().cell(file, identity, column, value).load) == messages


# the tables that only some cases have

BATCH_CELLS = {
    "phase of an unknown step": ("phases.csv", "pump", "step", "coating", [
        "phases.csv, row 2, column 'step': found 'coating'; allowed: an id of steps.csv; did you mean 'coat'?"]),
    "phase with the load half inside": ("phases.csv", "clean", "load_inside", "partly", [
        "phases.csv, row 3, column 'load_inside': found 'partly'; allowed: one of yes, no"]),
    "phase in an unknown state": ("phases.csv", "clean", "state", "standby", [
        "phases.csv, row 3, column 'state': found 'standby'; allowed: one of productive, scheduled_downtime, engineering"]),
    "downtime with the load inside": ("phases.csv", "pump", "state", "scheduled_downtime", [
        "phases.csv, row 2, column 'state': found 'scheduled_downtime' with the load inside; allowed: 'productive', or "
        "load_inside 'no'"]),
    "heat of what is no energy": ("heatings.csv", "warming", "utility", "water", [
        "heatings.csv, row 2, column 'utility': found 'water'; allowed: an id of utilities.csv"]),
    "heat of a tool that draws none": ("heatings.csv", "warming", "step", "soak", [
        "heatings.csv, row 2, column 'utility': found 'electricity', which tool 'rack' does not draw; allowed: a utility of "
        "'rack' in tool_utilities.csv"]),
    "phase done in no load": ("phases.csv", "clean", "loads_between", "0", [
        "phases.csv, row 3, column 'loads_between': found 0 load; allowed: a number above 0 [load]"]),
    "material of an unknown phase": ("phase_materials.csv", "clean_gas", "phase", "cleaning", [
        "phase_materials.csv, row 2, column 'phase': found 'cleaning'; allowed: an id of phases.csv; did you mean 'clean'?"]),
    "material of a phase in another unit than its price": ("phase_materials.csv", "clean_gas", "unit", "kg", [
        "phase_materials.csv, row 2, column 'item': found 'nitrogen', which is sold by Nm3; allowed: "
        "an item sold by a unit like kg"]),
    "carrier to an unknown step": ("carriers.csv", "frame", "last_step", "pres", [
        "carriers.csv, row 2, column 'last_step': found 'pres'; allowed: an id of steps.csv; did you mean 'press'?"]),
    "carrier against the route": ("carriers.csv", "frame", "last_step", "cut", [
        "carriers.csv, row 2, column 'last_step': found 'cut', before 'coat'; allowed: a later step of the route"]),
    "carrier over loads of two sizes": ("tools.csv", "stamp", "load_size", "4", [
        "carriers.csv, row 2, column 'last_step': found 'press' with loads of another size than 'coat'; allowed: "
        "steps whose tools take loads of one size"]),
    "carrier through a step with rework": ("steps.csv", "coat", "rework_share", "40", [
        "carriers.csv, row 2, column 'last_step': found 'press' after 'coat', in which plates are reworked; "
        "allowed: steps without rework"]),
    "carrier through a step that plates pass by": ("steps.csv", "press", "processed_share", "50", [
        "carriers.csv, row 2, column 'last_step': found 'press', which some plates pass by; allowed: steps that all plates "
        "go through"]),
    "carrier out of service for more than all time": ("carriers.csv", "frame", "out_of_service", "101", [
        "carriers.csv, row 2, column 'out_of_service': found 101 %; allowed: a number from 0 to 100 [%]"]),
    "lots without a spread": ("soaking.csv", "rating", "spread", "0", [
        "soaking.csv, row 2, column 'spread': found 0 %; allowed: a number above 0 to 100 [%]"]),
    "claim in an unknown currency": ("soaking.csv", "rating", "currency", "USX", [
        "soaking.csv, row 2, column 'currency': found 'USX'; allowed: a code of money.csv; did you mean 'USD'?"]),
    "lamps for a part of the year": ("soaking_light.csv", "lamps", "part_of_year", "40", [
        "soaking_light.csv, row 3, column 'part_of_year': found light for 90 % of the year for 'rating'; allowed: rows of "
        "soaking_light.csv whose part_of_year add up to 100 %"]),
    "light of an unknown plan": ("soaking_light.csv", "old_lamps", "plan", "ratings", [
        "soaking_light.csv, row 3, column 'plan': found 'ratings'; allowed: an id of soaking.csv; did you mean 'rating'?",
        "soaking_light.csv, row 2, column 'part_of_year': found light for 50 % of the year for 'rating'; allowed: rows of "
        "soaking_light.csv whose part_of_year add up to 100 %"]),
    "rated again before it is soaked": ("soaking.csv", "rating", "retest", "press", [
        "soaking.csv, row 2, column 'retest': found 'press', before 'soak'; allowed: 'soak' or a later step"]),
    "a coverage probability as a factor": ("soaking.csv", "rating", "coverage_probability", "196", [
        "soaking.csv, row 2, column 'coverage_probability': found 196 %; allowed: a number above 50 to 99.9 [%]"]),
    "a mean of less than one lot": ("soaking.csv", "rating", "lots_averaged", "0.5", [
        "soaking.csv, row 2, column 'lots_averaged': found 0.5 1; allowed: a number from 1 [1]"]),
    "floor in an unknown currency": ("areas.csv", "hall", "currency", "EUX", [
        "areas.csv, row 2, column 'currency': found 'EUX'; allowed: a code of money.csv; did you mean 'EUR'?"]),
}


@pytest.mark.parametrize("name", BATCH_CELLS)
def test_a_wrong_cell_of_a_batch_line_is_refused_by_its_place(name):
    file, identity, column, value, messages = BATCH_CELLS[name]
    assert faults(batch_inputs().cell(file, identity, column, value).load) == messages


def test_a_spread_from_a_sample_of_one_module_is_refused():
    inputs = batch_inputs().cell("soaking.csv", "rating", "spread_known", "from_sample")
    assert faults(inputs.cell("steps.csv", "soak", "processed_share", "3").load) == [
        "soaking.csv, row 2, column 'spread_known': found 'from_sample' with 1.44 modules of a lot soaked; allowed: "
        "'given', or 2 modules soaked at least"]


def test_a_plan_without_light_and_two_plans_of_one_step_are_refused():
    inputs = batch_inputs().row("soaking.csv", "other,soak,soak,48,1,4,given,3,6,1.5,4,95,2.5,4,USD,8,1,2,1.5")
    assert faults(inputs.load) == [
        "soaking.csv, row 3, column 'step': found 'soak', which 'rating' has too; allowed: each once",
        "soaking.csv, row 3, column 'id': found light for 0 % of the year for 'other'; allowed: rows of soaking_light.csv whose "
        "part_of_year add up to 100 %",
        "soaking.csv, row 2, column 'retest': found 'soak', a step of 'other' too; allowed: a step of one plan",
        "soaking.csv, row 3, column 'retest': found 'soak', a step of 'rating' too; allowed: a step of one plan"]


def test_two_carriers_over_one_step_are_refused():
    inputs = batch_inputs().row("carriers.csv", "tray,tray,press,press,15,12.5,20000,USD,2026,4,4,4,5,4")
    assert faults(inputs.load) == [
        "carriers.csv, row 3, column 'first_step': found 'press', a step of carrier 'frame' too; allowed: steps of one carrier"]


def test_heat_comes_from_what_is_sold_as_energy():
    inputs = batch_inputs().row("utilities.csv", "steam,steam,30,EUR,t,2026")
    inputs.row("tool_utilities.csv", "coater_steam,coater,steam,40,0,kg/h").cell("heatings.csv", "warming", "utility", "steam")
    assert faults(inputs.load) == [
        "heatings.csv, row 2, column 'utility': found 'steam', which is sold by t; allowed: a utility sold as energy, as by kWh"]


def test_two_ranges_of_one_input_are_refused():
    inputs = Inputs().row("ranges.csv", "again,tools.saw.price,triangular,80000,100000,150000,EUR,equipment,after_purchase")
    assert faults(inputs.load) == [
        "ranges.csv, row 3, column 'address': found 'tools.saw.price', which 'saw_price' has too; allowed: each address once"]


@pytest.mark.parametrize("written", ["abc", "nan", "inf", "-inf", "1_000", "0x10", "1 00", "80 %%", "% 80", "１２"])
def test_what_is_no_plain_number_is_refused(written):
    inputs = Inputs().cell("steps.csv", "coat", "first_pass_yield", written)
    assert faults(inputs.load) == [f"steps.csv, row 3, column 'first_pass_yield': found '{written}'; allowed: {NUMBER}"]


@pytest.mark.parametrize("written", ["2026-11-02", "2026-11", "2026"])
def test_a_date_is_a_day_a_month_or_a_year(written):
    assert Inputs().cell("tools.csv", "saw", "date", written).load().evidence["tools.saw"].date == written


def test_half_a_cell_in_series_is_refused_wherever_it_is_stated(tmp_path):
    copy = shutil.copytree(DEMO, tmp_path / "case")
    stated = (copy / "cells.csv").read_text(encoding="utf-8")
    assert stated.count(",length,52,") == 1
    (copy / "cells.csv").write_text(stated.replace(",length,52,", ",length,44.5,"), encoding="utf-8")
    allowed = "found 44.5; allowed: a whole number from 1 [1]"
    assert faults(lambda: load_case(copy)) == [f"cells.csv, row 2, column 'cell_count': {allowed}"]
    address = "cells.pane.cell_count"
    assert faults(lambda: parse_changes(demo(), {address: "44.5"}, "--set")) == [f"--set, '{address}': {allowed}"]
    assert parse_changes(demo(), {address: "44"}, "--set") == {address: 44.0}


def test_an_empty_cell_is_not_zero():
    assert faults(Inputs().cell("steps.csv", "coat", "rework_share", "").load) == [
        "steps.csv, row 3, column 'rework_share': found nothing; allowed: a number (a missing value is not zero)"]


@pytest.mark.parametrize("table", ["steps.csv", "tools.csv"])
def test_plant_is_no_id_of_a_step_or_a_tool(table):
    if table == "steps.csv":
        inputs = Inputs().cell("steps.csv", "cut", "id", "plant")
        for material in ("glass", "blades"):
            inputs.cell("materials.csv", material, "step", "plant")
    else:
        inputs = Inputs().cell("tools.csv", "saw", "id", "plant").cell("steps.csv", "cut", "tool", "plant")
        inputs.cell("tool_utilities.csv", "saw_electricity", "tool", "plant").cell(
            "ranges.csv", "saw_price", "address", "tools.plant.price")
    assert faults(inputs.load) == [
        f"{table}, row 2, column 'id': found 'plant', which stands for costs of no step; allowed: any other id"]


HEADERS = {
    "unknown column": ("steps.csv", "rework_share", "rework_shares [%]", [
        f"steps.csv, row 1, column 'rework_shares': found an unknown column; allowed: columns {STEP_COLUMNS}; "
        "did you mean 'rework_share'?",
        "steps.csv, row 1, column 'rework_share': found no such column; allowed: a column 'rework_share [%]' "
        "(share of the rejects that are reworked)"]),
    "no unit": ("steps.csv", "rework_share", "rework_share", [
        "steps.csv, row 1, column 'rework_share': found a column without a unit; allowed: 'rework_share [%]'"]),
    "unit of a text": ("steps.csv", "title", "title [m]", [
        "steps.csv, row 1, column 'title': found the unit [m]; allowed: 'title' without a unit"]),
    "unit of another kind": ("steps.csv", "process_time", "process_time [m]", [
        "steps.csv, row 1, column 'process_time': found [m] (unit 'm' does not convert into 's'); allowed: "
        "a unit such as [s]"]),
    "unknown unit": ("layers.csv", "thickness", "thickness [nmm]", [
        "layers.csv, row 1, column 'thickness': found [nmm] (unit 'nmm' is not known; did you mean 'nm'?); allowed: "
        "a unit such as [nm]"]),
    "unit that is a calculation": ("layers.csv", "thickness", "thickness [9**9**9]", [
        "layers.csv, row 1, column 'thickness': found [9**9**9] (unit text '9**9**9' must be unit names "
        "joined by * and /, as in kWh/m2); allowed: a unit such as [nm]"]),
    "unit that is code": ("layers.csv", "thickness", "thickness [__import__('os')]", [
        "layers.csv, row 1, column 'thickness': found [__import__('os')] (unit text '__import__('os')' must be "
        "unit names joined by * and /, as in kWh/m2); allowed: a unit such as [nm]"]),
    "price in one currency only": ("tools.csv", "price", "price [EUR]", [
        "tools.csv, row 1, column 'price': found [EUR] (unit 'EUR' does not convert into 'USD'); allowed: "
        "a unit such as [currency]"]),
    "column twice": ("steps.csv", "title", "stage", [
        "steps.csv, row 1, column 'stage': found the column twice; allowed: each column once"]),
    "broken header": ("steps.csv", "title", "title [m", [
        "steps.csv, row 1: found header 'title [m'; allowed: a name, or a name and a unit as in `life [year]`; "
        "commas, semicolons or tabs between columns"]),
}


@pytest.mark.parametrize("name", HEADERS)
def test_a_wrong_header_is_refused_once(name):
    file, column, header, messages = HEADERS[name]
    assert faults(Inputs().header(file, column, header).load) == messages


def test_a_missing_column_is_named():
    assert faults(Inputs().drop_column("steps.csv", "rework_share").load) == [
        "steps.csv, row 1, column 'rework_share': found no such column; allowed: a column 'rework_share [%]' "
        "(share of the rejects that are reworked)"]


def test_a_reporting_currency_without_a_row_is_refused():
    messages = faults(Inputs().drop_row("money.csv", "eur").load)
    assert messages[0].startswith("money.csv, column 'eur.code': found no row for the reporting currency; allowed: ")
    assert "tools.csv, row 2, column 'currency': found 'EUR'; allowed: a code of money.csv" in messages


# files


def test_a_table_under_a_wrong_name_is_refused_with_the_nearest(tmp_path):
    Inputs().write(tmp_path)
    (tmp_path / "steps.csv").rename(tmp_path / "step.csv")
    missing, stray = faults(lambda: load_case(tmp_path))
    assert missing == f"steps.csv: found no such file; allowed: a table steps.csv in {tmp_path}"
    assert stray.startswith("step.csv: found an unknown file; allowed: acceptance_dates.csv, areas.csv, book_depreciation.csv, ")
    assert stray.endswith("; did you mean 'steps.csv'?")


def test_a_missing_folder_is_refused(tmp_path):
    assert faults(lambda: load_case(tmp_path / "none")) == [
        f"{tmp_path / 'none'}: found no such folder; allowed: a folder with case.yaml and the tables of a case"]


@pytest.mark.parametrize(("content", "message"), [
    (b"", "gases.csv: found no rows; allowed: at least one row; or delete the file"),
    (b"id,\x81", "gases.csv: found byte 3 is neither UTF-8 nor Windows-1252; allowed: text in UTF-8, in UTF-16 with its mark, or "
                 "in Windows-1252"),
    (f"id,layer,item,flow [slm],{','.join(EVIDENCE)}\na\n".encode(),
     "gases.csv, row 2: found 1 cells; allowed: 8 cells, as in the header"),
])
def test_an_unreadable_table_is_refused(tmp_path, content, message):
    Inputs().write(tmp_path)
    (tmp_path / "gases.csv").write_bytes(content)
    assert faults(lambda: load_case(tmp_path)) == [message]


def test_a_table_that_cannot_be_read_is_refused(tmp_path):
    Inputs().write(tmp_path)
    (tmp_path / "gases.csv").unlink()
    (tmp_path / "gases.csv").mkdir()
    assert faults(lambda: load_case(tmp_path)) == [
        "gases.csv: found unreadable: Is a directory; allowed: a readable file"]


def test_a_cell_too_large_for_a_table_is_refused(tmp_path):
    Inputs().write(tmp_path)
    (tmp_path / "gases.csv").write_text(f"id,{'x' * 200_000}\n", encoding="utf-8")
    assert faults(lambda: load_case(tmp_path)) == [
        "gases.csv: found unreadable CSV in line 1 (field larger than field limit (131072)); allowed: cells parted by commas"]


@pytest.mark.parametrize(("content", "begin"), [
    ("[" * 600, "case.yaml: found 600 brackets; allowed: at most 500"),
    (f"title: {'9' * 5000}", "case.yaml: found unreadable YAML (Exceeds the limit"),
], ids=["lists in lists", "digits without end"])
def test_a_document_that_cannot_be_read_is_refused(tmp_path, content, begin):
    Inputs().write(tmp_path)
    (tmp_path / "case.yaml").write_text(content, encoding="utf-8")
    (message,) = faults(lambda: load_case(tmp_path))
    assert message.startswith(begin)


OPTIONAL = ["layers.csv", "gases.csv", "coaters.csv", "coatings.csv", "metals.csv", "tool_utilities.csv", "ranges.csv"]


def test_tables_that_may_be_left_out_have_no_rows():
    inputs = Inputs()
    for file in (*OPTIONAL, "materials.csv"):
        del inputs.tables[file]
    case = inputs.load()
    assert [getattr(case, file.removesuffix(".csv")) for file in OPTIONAL] == [{}] * len(OPTIONAL)
    assert evaluate(case).ledger.by_category["materials"].cost == 0.0
    assert evaluate(case).line.steps["coat"].cycle.time == evaluate(tiny()).line.steps["coat"].cycle.process_time


@pytest.mark.parametrize("file", sorted(set(Inputs().tables) - {*OPTIONAL, "materials.csv"}))
def test_tables_that_every_case_has_are_wanted(file, tmp_path):
    Inputs().write(tmp_path)
    (tmp_path / file).unlink()
    assert f"{file}: found no such file; allowed: a table {file} in {tmp_path}" in faults(lambda: load_case(tmp_path))


def test_dates_of_a_document_stay_as_they_are_written():
    assert tiny().evidence["product"].date == "2026-11-02"
    assert Inputs().yaml("story: Three steps with rework, in round numbers.", "story: 2026-11-02").load().story == "2026-11-02"


def test_faults_of_several_files_are_told_at_once():
    inputs = Inputs().cell("steps.csv", "coat", "first_pass_yield", "120").cell("prices.csv", "glass", "price", "x")
    assert faults(inputs.yaml("length: 1 m", "length: 1 kg").load) == [
        "case.yaml, 'product.length': found '1 kg' (unit 'kg' does not convert into 'm'); allowed: "
        "a number in a unit such as m",
        "steps.csv, row 3, column 'first_pass_yield': found 120 %; allowed: a number above 0 to 100 [%]",
        f"prices.csv, row 2, column 'price': found 'x'; allowed: {NUMBER}"]


PRODUCT = DOCUMENT[DOCUMENT.index("product:"):DOCUMENT.index("site:")]
YAML = {
    "missing key": ("  length: 1 m\n", "", "case.yaml, 'product.length': found nothing; allowed: length of the plate"),
    "missing name": ("currency: EUR\n", "", "case.yaml, 'currency': found nothing; allowed: a value for 'currency'"),
    "unknown key": ("  length: 1 m\n", "  length: 1 m\n  lenght: 1 m\n",
                    "case.yaml, 'product.lenght': found an unknown name; allowed: length, width, active_area_share, "
                    "initial_efficiency, stabilisation_ratio, kind, source, date, by, public_source; did you mean 'length'?"),
    "unknown name": ("currency: EUR\n", "currency: EUR\ncurency: EUR\n",
                     "case.yaml, 'curency': found an unknown name; allowed: "
                     "title, story, public_title, public_story, currency, use, product, site, target; "
                     "did you mean 'currency'?"),
    "key twice": ("  length: 1 m\n", "  length: 1 m\n  length: 2 m\n",
                  "case.yaml, row 7: found key 'length' twice; allowed: a YAML mapping"),
    "alias": ("  length: 1 m\n", "  length: &long 1 m\n  height: *long\n",
              "case.yaml, row 6: found an anchor or alias; allowed: plain values"),
    "tag": ("length: 1 m", "length: !!python/object/apply:os.getcwd []",
            "case.yaml, row 6: found a tag; allowed: plain values"),
    "list as a key": ("  length: 1 m\n", "  ? [a]\n  : 1 m\n",
                      "case.yaml, row 6: found found unhashable key; allowed: a YAML mapping"),
    "text for a mapping": (PRODUCT, "product: pane\n", "case.yaml, 'product': found 'pane'; allowed: a mapping"),
    "list for the document": (DOCUMENT, "- a\n", "case.yaml, 'the document': found ['a']; allowed: a mapping"),
    "number for a text": ("title: Tiny line", "title: 5", "case.yaml, 'title': found 5; allowed: a text"),
    "number without a unit": ("length: 1 m", "length: 1",
                              "case.yaml, 'product.length': found '1' (no unit); allowed: a number in a unit such as m"),
    "share above one": ("active_area_share: 80 %", "active_area_share: 120 %",
                        "case.yaml, 'product.active_area_share': found 120 %; allowed: a number above 0 to 100 [%]"),
    "unknown option": ("mode: sized", "mode: size",
                       "case.yaml, 'target.mode': found 'size'; allowed: one of sized, frozen, as_bought; did you mean 'sized'?"),
    "more hours than a year": ("scheduled_time: 1000 h", "scheduled_time: 8761 h",
                               "case.yaml, 'site.scheduled_time': found 8761 h; allowed: a number above 0 to 8760 [h]"),
}


@pytest.mark.parametrize("name", YAML)
def test_a_wrong_case_document_is_refused(name):
    old, new, message = YAML[name]
    assert faults(Inputs().yaml(old, new).load) == [message]


# the same case written in another way

RESTATED = {
    "seconds as minutes": ("steps.csv", "process_time", "min", 1 / 60),
    "nanometres as micrometres": ("layers.csv", "thickness", "um", 1e-3),
    "rate in nm/s as nm/min": ("layers.csv", "rate", "nm/min", 60),
    "years as months": ("tools.csv", "life", "month", 12),
    "standard litres as standard cubic centimetres": ("gases.csv", "flow", "sccm", 1000),
    "per cent as shares": ("steps.csv", "first_pass_yield", "1", 0.01),
    "per cent a year as a share a month": ("tools.csv", "maintenance", "1/month", 0.01 / 12),
    "grams per cubic centimetre as kilograms per cubic metre": ("coatings.csv", "density", "kg/m3", 1000),
}


def restated(path: Path, column: str, unit: str, factor: float) -> None:
    """Write a column of a table in another unit."""
    lines = [line.split(",") for line in path.read_text(encoding="utf-8").splitlines()]
    number = [column_name(cell) for cell in lines[0]].index(column)
    lines[0][number] = f"{column} [{unit}]"
    for cells in lines[1:]:
        cells[number] = repr(float(cells[number]) * factor)
    path.write_text("\n".join(",".join(cells) for cells in lines) + "\n", encoding="utf-8")


@pytest.mark.parametrize("name", RESTATED)
def test_a_column_stated_in_another_unit_changes_no_figure(name, tmp_path):
    file, column, unit, factor = RESTATED[name]
    restated(Inputs().write(tmp_path) / file, column, unit, factor)
    case = load_case(tmp_path)
    assert fingerprint(case) == fingerprint(tiny())
    wanted = {address: value for address, value, _, _ in figures(evaluate(tiny()), "EUR")}
    found = {address: value for address, value, _, _ in figures(evaluate(case), "EUR")}
    assert list(found) == list(wanted)
    scale = {a: wanted["ledger.total.cost"] if a.startswith("ledger.checks.") else abs(v) for a, v in wanted.items()}
    assert [a for a in wanted if abs(found[a] - wanted[a]) > 1e-12 * scale[a]] == []


def test_another_value_changes_the_fingerprint():
    other = Inputs().cell("tools.csv", "saw", "price", "100000.001").load()
    assert fingerprint(other) != fingerprint(tiny())
    assert fingerprint(Inputs().cell("tools.csv", "saw", "source", "a quote").load()) != fingerprint(tiny())


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    Inputs().write(tmp_path)
    for name in ("steps.csv", "case.yaml"):
        content = (tmp_path / name).read_text(encoding="utf-8").replace("\n", "\r\n")
        (tmp_path / name).write_bytes(b"\xef\xbb\xbf" + content.encode())
    assert fingerprint(load_case(tmp_path)) == fingerprint(tiny())


def test_the_order_of_columns_and_blank_rows_do_not_matter(tmp_path):
    inputs = Inputs()
    inputs.tables = {file: [row[::-1] for row in rows] + [[""] * len(rows[0])] for file, rows in inputs.tables.items()}
    assert fingerprint(load_case(inputs.write(tmp_path))) == fingerprint(tiny())


def test_the_order_of_steps_is_the_route():
    inputs = Inputs().cell("materials.csv", "box", "step", "cut")  # the last step when the route is turned round
    header, *steps = inputs.tables["steps.csv"]
    inputs.tables["steps.csv"] = [header, *steps[::-1]]
    assert fingerprint(inputs.load()) != fingerprint(tiny())
    assert list(inputs.load().steps) == ["press", "coat", "cut"]


def test_a_folder_is_looked_through_with_one_reading_of_each_file_and_of_each_set_of_choices(tmp_path, monkeypatch):
    folder, read, cases = shutil.copytree(DEMO, tmp_path / "facade"), [], []
    whole, each_file = load._read_case, files.read_bytes
    monkeypatch.setattr(load, "_read_case", lambda folder, use: cases.append(sorted((use or {}).items())) or whole(folder, use))
    monkeypatch.setattr(files, "read_bytes", lambda path, most: read.append(path) or each_file(path, most))
    with files_read_once():
        assert folder_faults(folder) == []
        assert list(numbers_without_unit(folder, load_case(folder))) == []
    assert len(read) == len(set(read)) > 50
    assert len(cases) == len(set(map(tuple, cases))) > 3
