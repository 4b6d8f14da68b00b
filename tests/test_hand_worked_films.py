"""Spread of films, settling of gases, the pace of an in-line coater, metal at its quote, cells on the plate: worked by hand.

The line is the tiny one (see test_hand_worked.py): 55,000 passes of the coat step in 5,500 loads, plates of 1 m x 0.5 m."""
from __future__ import annotations

import dataclasses

import pytest

from costmodel.case.changes import with_values
from costmodel.case.load import CONSTANTS
from costmodel.case.summary import oddities
from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.films import film_balance

from .cases import Inputs, table, tiny
from .refusals import faults
from .terms import terms

NM3 = 44.615033  # mol, as core/units.txt states it
BASE = 40.0  # W initial, as in test_hand_worked.py: 1,000 W/m2 x 0.5 m2 x 80 % x 10 %
CELLS = "id,edge_width [mm],lines_along,cell_count [1],dead_width [mm],busbar_width [mm]"


def near(value: float):
    """Equal but for the rounding of floating-point numbers."""
    return pytest.approx(value, rel=1e-12)


def with_cells(row: str, share: str = "") -> Inputs:
    """The tiny line with its cells on the plate, in place of the share that it states unless this is stated too."""
    inputs = Inputs().yaml("  active_area_share: 80 %\n", share)
    inputs.tables["cells.csv"] = table(f"{CELLS}\n{row}")
    return inputs


# spread of films


def test_power_falls_by_a_factor_times_the_relative_variance():
    # 2 x 5 %^2 = 0.5 %, of initial and stabilised power
    output = evaluate(with_values(tiny(), {"layers.absorber.thickness_spread": 0.05})).line.output
    assert output.uniformity == near(0.995)
    assert output.initial_power == near(BASE * 0.995)
    assert output.stabilised_power == near(BASE * 0.995 * 0.75)


def test_no_spread_changes_no_bit():
    steep = evaluate(with_values(tiny(), {"layers.absorber.spread_loss_factor": 50.0}))
    assert steep.line.output.uniformity == 1.0
    assert steep == evaluate(tiny())


# settling of gases


def test_gases_and_silane_flow_in_the_settling_time_inside_the_purge():
    # growth 600 s, settling 90 s inside a purge of 120 s: the cycle stays 1,800 s; 5 slm x 11.5 min x 5,500 loads
    results = evaluate(with_values(tiny(), {"layers.absorber.settling_time": 90.0}))
    assert results.line.steps["coat"].cycle.time == near(1800)
    assert results.line.layers["absorber"].flow_time == near(690)
    assert results.ledger.lines["gases.absorber_hydrogen"].quantity == near(0.005 * 11.5 * 5_500 * NM3)
    # 18.15 kg of silicon in the film, 90.75 kg fed while it grows in 600 s; 90 s more: 13.6125 kg, lost with the other 72.6 kg
    film = results.ledger.films["absorber"]
    assert (film.silicon_in_film, film.silicon_settling) == (near(18.15), near(13.6125))
    assert (film.silicon_fed, film.silicon_lost) == (near(104.3625), near(86.2125))
    assert film.silane_fed == near(104.3625 * 32.117 / 28.085)


def test_settling_that_is_added_takes_its_time_too():
    results = evaluate(with_values(tiny(), {"layers.absorber.settling_time": 90.0, "layers.absorber.settling": "added"}))
    cycle = results.line.steps["coat"].cycle
    assert (cycle.purge_time, cycle.settling_time, cycle.time) == (near(120), near(90), near(1890))
    assert results.ledger.lines["gases.absorber_hydrogen"].quantity == near(0.005 * 11.5 * 5_500 * NM3)
    refused = faults(lambda: with_values(tiny(), {"layers.absorber.settling_time": 121.0}))
    assert "found 121 s inside a purge of 120 s" in str(refused)


# the in-line coater: pitch 1 m + 0.2 m; 100 nm from 2 cathodes of 60 nm m/min go at 1.2 m/min, a load in 60 s


def two_films(rate: str, thickness: str = "140") -> Inputs:
    """The stamp with a second zone: a film of some thickness from one cathode of a rate in nm m/min."""
    return Inputs().row("coatings.csv", f"cover,cover,press,metal,{thickness},{rate},1,10,50,80,60")


def test_the_slowest_zone_sets_the_pace_and_not_the_sum_of_its_films():
    # 140 nm at 420 nm m/min: 3 m/min, 24 s; the mirror takes 60 s, and the step 300 s of its own
    line = evaluate(two_films("420").load()).line
    assert (line.coatings["cover"].time, line.coatings["mirror"].time) == (near(24), near(60))
    assert (line.coatings["cover"].share_of_pace, line.coatings["mirror"].share_of_pace) == (near(0.4), near(1))
    cycle = line.steps["press"].cycle
    assert (cycle.process_time, cycle.coating_time, cycle.time) == (near(300), near(60), near(360))
    assert line.steps["press"].busy_time == near(5_000 * 360)


def test_a_thicker_film_in_a_quicker_zone_costs_no_time():
    # 280 nm: 48 s, less than 60 s
    before, after = (evaluate(two_films("420", thickness).load()) for thickness in ("140", "280"))
    assert after.line.tools == before.line.tools
    assert after.ledger.lines["coatings.cover.bought"].cost == near(2 * before.ledger.lines["coatings.cover.bought"].cost)


def test_half_the_rate_of_the_slowest_zone_doubles_the_pace():
    slow = evaluate(Inputs().cell("coatings.csv", "mirror", "dynamic_rate", "30").load()).line
    assert slow.steps["press"].cycle.coating_time == near(120)
    # across: 0.5 m + 0.2 m at 1.2 m/min, 35 s; then a lock of 45 s sets the pace
    across = Inputs().cell("coaters.csv", "stamp", "transport_along", "width")
    assert evaluate(across.load()).line.steps["press"].cycle.coating_time == near(35)
    across.cell("coaters.csv", "stamp", "lock_time", "45")
    assert evaluate(across.load()).line.steps["press"].cycle.coating_time == near(45)
    assert evaluate(across.load()).line.coatings["mirror"].share_of_pace == near(35 / 45)


# metal at its quote: 25 kg bought and 9 kg recovered, as in test_hand_worked.py


def test_an_item_costs_quote_and_fee_landed_and_metal_is_credited_at_the_quote_less_refining():
    # (1,600 USD/kg x 0.5 + 200 EUR/kg) x (1 + 4 % + 6 %) = 1,100 EUR/kg; credit 800 x (1 - 5 %) = 760 EUR/kg
    inputs = Inputs().cell("metals.csv", "metal", "quote", "1600").cell("metals.csv", "metal", "currency", "USD")
    inputs.cell("metals.csv", "metal", "refining_share", "5")
    inputs.cell("prices.csv", "metal", "freight", "4").cell("prices.csv", "metal", "duty", "6")
    ledger = evaluate(inputs.load()).ledger
    item = ledger.landed["metal"]
    assert (item.price, item.metal, item.credit) == (near(1100), near(800), near(760))
    assert ledger.lines["coatings.mirror.bought"].cost == near(25 * 1100)
    assert ledger.lines["coatings.mirror.credit"].cost == near(-9 * 760)


def test_a_discount_is_on_the_fee_and_stock_and_contracts_hold_the_metal():
    # 25 kg used, 100 kg contracted: 75 kg at the landed price are paid for; 10 % off the fee of 200: 800 + 180 = 980 EUR/kg
    inputs = Inputs()
    inputs.tables["price_breaks.csv"] = table("id,item,from_quantity [unit],unit,discount [%]\nmuch,metal,50,kg,10")
    inputs.tables["buying.csv"] = table(
        "id,item,minimum_order [unit],shelf_life [month],take_or_pay [unit],unit,stock_time [day]\nmetal,metal,0,12,100,kg,36.5")
    ledger = evaluate(inputs.load()).ledger
    assert (ledger.landed["metal"].paid_for, ledger.landed["metal"].price) == (near(100), near(980))
    assert ledger.lines["buying.metal"].cost == near(75 * 980)
    assert ledger.landed["metal"].stock == near(100 * 980 / 10)
    assert ledger.lines["coatings.mirror.credit"].cost == near(-9 * 800 * 0.625)


def test_what_is_not_recovered_needs_no_metal():
    inputs = Inputs().cell("coatings.csv", "mirror", "recovered_share", "0")
    del inputs.tables["metals.csv"]
    ledger = evaluate(inputs.load()).ledger
    assert "coatings.mirror.credit" not in ledger.lines
    assert ledger.lines["coatings.mirror.bought"].cost == near(25 * 200)
    refused = faults(lambda: with_values(inputs.load(), {"coatings.mirror.recovered_share": 0.5}))
    assert "found 50 % of 'metal', which has no row in metals.csv" in str(refused)


def test_the_same_item_without_a_metal_has_none():
    assert (evaluate(terms()).ledger.landed["glass"].metal, evaluate(terms()).ledger.landed["glass"].credit) == (0.0, 0.0)


# cells on the plate of 1 m x 0.5 m


@pytest.mark.parametrize(("row", "share"), [
    # along the length: 980 mm x (500 - 20 - 39 x 0.25 - 2 x 5) mm = 980 x 460.25 mm2 of 500,000 mm2
    ("plate,10,length,40,0.25,5", 980 * 460.25 / 500_000),
    # along the width: 480 mm x (1,000 - 20 - 39 x 0.25 - 2 x 5) mm = 480 x 960.25 mm2
    ("plate,10,width,40,0.25,5", 480 * 960.25 / 500_000),
    # one cell has no scribe set
    ("plate,0,length,1,0.25,0", 1.0),
])  # fmt: skip
def test_the_active_area_is_what_edges_scribes_and_busbars_leave(row, share):
    output = evaluate(with_cells(row).load()).line.output
    assert output.active_area_share == near(share)
    assert output.initial_power == near(1000 * 0.5 * share * 0.1)


def test_an_edge_of_twelve_millimetres_leaves_94_per_cent_of_the_facade_pane():
    # (1,200 - 24) x (600 - 24) mm2 of 1,200 x 600 mm2
    inputs = with_cells("pane,12,length,1,0,0").yaml("length: 1 m", "length: 1.2 m").yaml("width: 0.5 m", "width: 0.6 m")
    assert evaluate(inputs.load()).line.output.active_area_share == near(1176 * 576 / 720_000)


def test_a_share_that_contradicts_the_cells_is_odd_and_the_cells_count():
    row = "plate,10,length,40,0.25,5"  # 90.209 %
    case = with_cells(row, "  active_area_share: 95 %\n").load()
    assert evaluate(case).line.output.active_area_share == near(0.90209)
    assert list(oddities(case)) == ["product.active_area_share is 95 %, cells.plate leave 90.21 %, which counts"]
    assert list(oddities(with_cells(row, "  active_area_share: 90.5 %\n").load())) == []
    assert list(oddities(with_cells(row).load())) == []


def test_without_cells_a_share_is_wanted_and_a_second_layout_or_no_area_is_refused():
    inputs = with_cells("plate,10,length,40,0.25,5")
    assert "cells.csv, row 3, column 'id': found a second row" in str(faults(inputs.row("cells.csv", "b,10,length,40,0.25,5").load))
    del inputs.tables["cells.csv"]
    assert "'product.active_area_share': found nothing; allowed: a share of the plate area, or a row of cells.csv" in str(
        faults(inputs.load))
    wide = with_cells("plate,10,length,40,12.5,5")
    assert "found 0.5175 m of edges, scribe sets and busbars across 0.5 m" in str(faults(wide.load))


def test_a_share_that_is_left_out_is_no_input():
    case = with_cells("plate,10,length,40,0.25,5").load()
    assert "it leaves this one out" in str(faults(lambda: with_values(case, {"product.active_area_share": 0.9})))


def test_empty_places_of_a_carrier_take_silane_too():
    # 100 m2 of plates in loads with places for 125 m2: 1 um at 2,000 kg/m3 is 0.2 kg in the film and 0.25 kg where all is full;
    # at 50 % 0.5 kg are fed, 0.3 kg of them lost; settling for a tenth of the growth adds 0.05 kg
    layer = dataclasses.replace(
        tiny().layers["absorber"], thickness=1e-6, density=2000.0, rate=1e-9, settling_time=100.0, utilisation=0.5
    )
    found = film_balance(layer, 100.0, 125.0, CONSTANTS)
    assert (found.silicon_in_film, found.silicon_fed) == (near(0.2), near(0.55))
    assert (found.silicon_settling, found.silicon_lost) == (near(0.05), near(0.35))
