"""What buyers could pay: worked by hand, published values, and what the words say."""
from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.load import CONSTANTS, load_case
from costmodel.case.market_records import Covering, Market
from costmodel.case.summary import oddities
from costmodel.case.whole_case import Case
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.fields import Number, declared
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate
from costmodel.model.market import market
from costmodel.model.market.efficiency_break_even import break_even_efficiency
from costmodel.model.market.limited_by_energy import levelised_cost
from costmodel.model.market.market_figures import ANY_EFFICIENCY, AT_LEAST, AT_MOST, NO_EFFICIENCY, InMarket
from costmodel.model.market.uses import discounted_years, module_use
from costmodel.present import charts, market_report
from costmodel.present.market_report import alternatives_table, energy_table, market_details_table, market_table
from costmodel.present.numbers import people
from costmodel.studies.factory.market_prices import price_curve

from .batch import COVERINGS, MARKETS
from .cases import DEMO, FIELD, Inputs, demo, table, tiny

YEAR = 8760 * 3600.0
KWH = 3.6e6
NONE = math.nan

# one market in round numbers: the tiny module has 10 % x 75 % on 80 % of its area, 6 % on the whole: 60 W/m2, 30 W
BY_HAND = {
    "currency": "USD", "reference_price": "2", "reference_duty": "50", "reference_efficiency": "20", "area_cost": "40",
    "power_cost": "0.5", "area_upkeep": "4", "power_upkeep": "0.03", "reference_yield": "1000", "yield_ratio": "120",
    "reference_temperature_coefficient": "-0.4", "temperature_coefficient": "-0.2", "temperature_excess": "25",
    "reference_degradation": "0", "degradation": "10", "lifetime": "2", "discount_rate": "25", "delivery": "6",
    "area_premium": "10", "power_premium": "0.1", "asked_price": "2.5", "volume": "5400000", "most_share": "20",
}
PLAIN = BY_HAND | {
    "currency": "EUR", "reference_duty": "0", "area_upkeep": "0", "power_upkeep": "0", "yield_ratio": "105",
    "reference_temperature_coefficient": "-0.3", "temperature_coefficient": "-0.3", "degradation": "0", "delivery": "0",
    "area_premium": "0", "power_premium": "0",
}


def near(value: float):
    return pytest.approx(value, rel=1e-12)


OF_COVERINGS = {"area_cost": "area_cost", "area_upkeep": "area_upkeep", "lifetime": "life"}  # what both modules have alike
OF_OURS = {"delivery": "delivery", "area_premium": "premium"}


def market_inputs(cells: dict[str, str]) -> Inputs:
    """The tiny case with one market limited by energy, each cell as given; what goes by area in the rows of both modules."""
    inputs = Inputs()
    for file, text, rows in (("markets.csv", MARKETS, ["shop,shop"]), ("coverings.csv", COVERINGS, ["ours,ours", "reference,it"])):
        header = text.strip().replace("\\\n", "").splitlines()[0]
        zeros = ",".join(["0"] * (len(header.split(",")) - 2))
        inputs.tables[file] = table("\n".join([header, *(f"{row},{zeros}" for row in rows)]))
    for row, kind in (("ours", "our_module"), ("reference", "reference")):
        for column, value in {"market": "shop", "covers_with": kind, "currency": cells["currency"], "life": "1"}.items():
            inputs.cell("coverings.csv", row, column, value)
    for column, value in ({"limited_by": "energy", "per": "Wp_stabilised", "energy_value": "0"} | cells).items():
        if column not in OF_COVERINGS | OF_OURS:
            inputs.cell("markets.csv", "shop", column, value)
        for row, columns in (("ours", OF_COVERINGS | OF_OURS), ("reference", OF_COVERINGS)):
            if column in columns:
                inputs.cell("coverings.csv", row, columns[column], value)
    return inputs


def shop(cells: dict[str, str]) -> tuple[Case, InMarket]:
    case = market_inputs(cells).load()
    return case, evaluate(case).market.by_market["shop"]


# worked by hand


def test_the_reference_by_hand():
    reference = shop(BY_HAND)[1].reference
    present = 1 / 1.25 + 1 / 1.25**2  # 1.44 times a year's upkeep
    assert reference.area_related == near(0.5 * (40 + 4 * present))  # a dollar is half a euro
    assert reference.power_related == near(0.5 * (0.5 + 0.03 * present))
    assert reference.besides_module == near(0.5 * (0.2 + 0.02 * present + 0.5 + 0.03 * present))
    assert reference.lifetime_energy / to_base("kWh/Wp_stabilised") == near(2.0)
    assert reference.discounted_energy / to_base("kWh/Wp_stabilised") == near(present)


def test_our_module_by_hand():
    ours = shop(BY_HAND)[1].ours
    first_year = 1.2 * 0.95 / 0.90  # kWh for a watt: 5 % less by temperature, where the reference has lost 10 %
    assert ours.efficiency == near(0.06)
    assert ours.area_related == near(0.5 * (40 + 6 - 10 + 4 * 1.44))
    assert ours.power_related == near(0.5 * (0.5 - 0.1 + 0.03 * 1.44))
    assert ours.besides_module == near(0.5 * ((36 + 5.76) / 60 + 0.4 + 0.0432))
    assert ours.energy_yield / to_base("kWh/kWp_stabilised/year") == near(1000 * first_year)
    assert ours.lifetime_energy / to_base("kWh/Wp_stabilised") == near(first_year * 1.9)
    assert ours.discounted_energy / to_base("kWh/Wp_stabilised") == near(first_year * (0.8 + 0.9 * 0.64))


def test_price_margin_and_cost_of_energy_by_hand():
    case, found = shop(BY_HAND)
    cost = evaluate(case).ledger.total
    reference, energy = 2 * 1.5 + 0.2 + 0.5 + 0.05 * 1.44, 1.2 * 0.95 / 0.90 * 1.376  # dollars, kWh
    highest = 0.5 * (energy / 1.44 * reference - (41.76 / 60 + 0.4432))
    assert found.reference_price == near(1.5)
    assert found.energy.reference_levelised_cost * KWH == near(0.5 * reference / 1.44)
    assert found.highest_price == near(highest)
    assert found.highest_price_per_m2 == near(60 * highest)
    assert found.highest_price_per_module == near(30 * highest)
    assert found.margin == near(highest - cost.cost_per_stabilised_watt)
    assert found.margin_per_m2 == near(60 * highest - cost.cost_per_m2)
    assert found.energy.levelised_at_asked_price * KWH == near(0.5 * (2.5 + 41.76 / 60 + 0.4432) / energy)
    assert found.energy.levelised_at_cost * KWH == near((cost.cost_per_stabilised_watt + found.ours.besides_module) / energy)
    assert found.plant_share == near(0.2)  # 1.08 MW of 5.4 MW


def test_break_even_efficiencies_by_hand():
    case, found = shop(BY_HAND)
    room = 1.2 * 0.95 / 0.90 * 1.376 / 1.44 * 3.772 - 0.4432  # dollars a watt for the module and all that goes by area
    cost_per_m2 = evaluate(case).ledger.total.cost_per_m2
    assert (found.efficiency_at_asked_price, found.efficiency_at_asked_price_status) == (near(0.04176 / (room - 2.5)), AT_LEAST)
    assert (found.efficiency_at_cost, found.efficiency_at_cost_status) == (
        near((41.76 * 0.5 + cost_per_m2) / 1000 / (0.5 * room)), AT_LEAST)


def test_a_market_at_cost_counts_as_one_above_it(monkeypatch):
    # what a market can pay is what a watt costs: all of its volume counts, and of its sales what it takes at most
    margins = {"near": 0.0, "far": -0.01, "dear": 0.2}
    markets = {name: SimpleNamespace(margin=margin, volume=100.0 * (k + 1)) for k, (name, margin) in enumerate(margins.items())}
    monkeypatch.setattr(market, "module_in_market", lambda case, line, ledger, name: markets[name])
    case = SimpleNamespace(markets={name: SimpleNamespace(most_share=0.5) for name in margins})
    found = market.compute_market(case, None, None)
    assert (found.volume_above_cost, found.sales_above_cost) == (100.0 + 300.0, 50.0 + 150.0)


def test_years_are_discounted_at_their_end_and_decline_after_the_first():
    # 1 + 0.9 + 0.81, and each of these over 1.25, 1.25^2, 1.25^3
    assert discounted_years(0.0, 0.1, 3.0) == near(2.71)
    assert discounted_years(0.25, 0.1, 3.0) == near(0.8 + 0.9 * 0.64 + 0.81 * 0.512)
    assert discounted_years(0.0, 0.0, 30.0) == 30.0
    # a rate so small that rounding could spoil the closed form: 30 less 465 times the rate
    assert discounted_years(1e-6, 0.0, 30.0) == pytest.approx(30 - 465e-6, rel=1e-8)
    assert list(discounted_years(np.array([0.0, 0.25]), 0.0, 2.0)) == [2.0, near(1.44)]


# trade notes (G.5), a formula of equal cost per kWh worked with round numbers: they test arithmetic and claim no truth

G5_2009 = PLAIN | {"reference_price": "2.5", "reference_efficiency": "14", "area_cost": "100", "power_cost": "0.8",
                   "asked_price": "1.6"}
G5_2025 = PLAIN | {"reference_price": "0.09", "reference_efficiency": "22.5", "area_cost": "60", "power_cost": "0.35",
                   "asked_price": "0.3"}


def module_of(efficiency: float) -> dict[str, float]:
    """The tiny module with another stabilised efficiency on its whole area."""
    return {"product.initial_efficiency": efficiency / 0.8 / 0.75}


def test_highest_price_and_break_even_of_2009():
    found = evaluate(with_values(shop(G5_2009)[0], module_of(0.07))).market.by_market["shop"]
    assert found.highest_price == pytest.approx(1.99, abs=0.005)  # G.5
    assert found.efficiency_at_asked_price == pytest.approx(0.055, abs=0.0005)  # G.5
    assert found.efficiency_at_asked_price_status == AT_LEAST
    assert found.highest_price == near(1.05 * (2.5 + 100 / 140 + 0.8) - 0.8 - 100 / 70)


def test_no_positive_price_and_no_efficiency_in_2025():
    case = with_values(shop(G5_2025)[0], module_of(0.08))
    found = evaluate(case).market.by_market["shop"]
    assert found.highest_price == pytest.approx(-0.36, abs=0.005)  # G.5
    assert found.efficiency_at_asked_price == pytest.approx(0.65, abs=0.005)  # G.5
    words = market_report.one_market(case, evaluate(case), "shop")
    assert "no positive price exists" in words
    assert "at the asking price: 65.2 % or more, which no module can reach" in words  # 60 / (1000 x 0.092)


# levelised cost of energy: check values of topic 3


def use_of(rate: float, years: float, energy: float, upkeep: float = 0.0):
    """A watt that yields `energy` kWh a year and takes `upkeep` a year, all of it by power."""
    zeros = {name: 0.0 for name, each in declared(Market).items() if isinstance(each, Number)}
    texts = {"title": "plant", "currency": "EUR", "limited_by": "energy", "per": "Wp_stabilised"}
    row = Market(**texts, **zeros | {"discount_rate": rate / YEAR, "power_upkeep": upkeep / YEAR})
    covering = Covering("plant", "plant", "our_module", "EUR", 0.0, 0.0, 0.0, 0.0, years * YEAR)
    return module_use(CONSTANTS, row, covering, 0.2, 0.0, energy * KWH / YEAR, 0.0)


def test_capital_recovery_factor():
    # L04, published test values of an energy-finance routine: 5 %, 20 years
    assert 1 / discounted_years(0.05, 0.0, 20.0) == pytest.approx(0.08024258719069129, rel=1e-14)


def test_levelised_cost_of_a_homework_plant():
    # L07, university homework (qammunity.org; it truncates): 1.50 a watt, capacity factor 22 %, 10 years, 8 %, 0.04 a kWh
    energy = 0.22 * 8.76
    assert 1 / discounted_years(0.08, 0.0, 10.0) == pytest.approx(0.14903, abs=1e-5)
    assert levelised_cost(1.50, use_of(0.08, 10, energy)) * KWH == pytest.approx(0.1160, abs=1e-4)
    assert levelised_cost(1.50, use_of(0.08, 10, energy, upkeep=0.04 * energy)) * KWH == pytest.approx(0.1560, abs=1e-4)


def test_cost_of_energy_without_discounting():
    # L08, a public worked example: (995,000 + 175,000 x 25) / 89.5e6 kWh = 0.06
    assert levelised_cost(995_000, use_of(0.0, 25, 89.5e6 / 25, upkeep=175_000)) * KWH == near(0.06)


def test_levelised_cost_of_a_plant_with_upkeep_by_power():
    # L09 (PART: inputs of a PV example, output worked for the list): 3 %, 20 years, 2,443.45 and 26.98 a year for a kW
    energy = 0.15357857 * 8.76
    assert energy == pytest.approx(1.345348, abs=1e-6)
    assert 1 / discounted_years(0.03, 0.0, 20.0) == pytest.approx(0.0672157, abs=1e-7)
    found = levelised_cost(2.44345, use_of(0.03, 20, energy, upkeep=0.02698))
    assert found * KWH == pytest.approx(0.142133, abs=1e-6)


# signs


@pytest.mark.parametrize(("area", "room", "wanted"), [
    (60.0, 0.5, (0.12, AT_LEAST)), (60.0, -0.5, (NONE, NO_EFFICIENCY)), (60.0, 0.0, (NONE, NO_EFFICIENCY)),
    (-60.0, -0.5, (0.12, AT_MOST)), (-60.0, 0.5, (NONE, ANY_EFFICIENCY)), (-60.0, 0.0, (NONE, ANY_EFFICIENCY)),
    (0.0, 0.5, (NONE, ANY_EFFICIENCY)), (0.0, 0.0, (NONE, ANY_EFFICIENCY)), (0.0, -0.5, (NONE, NO_EFFICIENCY)),
])
def test_a_break_even_efficiency_never_comes_without_what_it_stands_for(area, room, wanted):
    efficiency, status = break_even_efficiency(area, room, 1000.0)
    assert (efficiency, status) == (pytest.approx(wanted[0], nan_ok=True), wanted[1])
    drawn = break_even_efficiency(np.array([area, 60.0]), np.array([room, 0.5]), 1000.0)
    assert np.array_equal(drawn, [[efficiency, 0.12], [status, AT_LEAST]], equal_nan=True)


def test_every_efficiency_has_its_words():
    marks = [market_report.efficiency_mark(0.1, status) for status in (NO_EFFICIENCY, AT_LEAST, AT_MOST, ANY_EFFICIENCY)]
    assert marks == ["none", "from 10.0 %", "to 10.0 %", "any"]
    words = [market_report.efficiency_words(0.1, status, 0.2) for status in (NO_EFFICIENCY, AT_LEAST, AT_MOST, ANY_EFFICIENCY)]
    assert words == ["no efficiency would do", "10.0 % or more", "10.0 % or less", "any efficiency"]
    assert market_report.efficiency_words(0.3, AT_LEAST, 0.2) == "30.0 % or more, more than the reference itself has"


def faults_of(inputs: Inputs) -> list[str]:
    with pytest.raises(InputFaults) as problem:
        inputs.load()
    return [str(fault) for fault in problem.value.faults]


def test_a_refused_row_names_the_column_and_a_negative_area_cost_is_refused():
    assert faults_of(market_inputs(BY_HAND | {"power_cost": "-1", "reference_efficiency": "0"})) == [
        "markets.csv, row 2, column 'reference_efficiency': found 0 %; allowed: a number above 0 to 100 [%]",
        "markets.csv, row 2, column 'power_cost': found -1 USD/Wp_stabilised; allowed: a number from 0 [USD/Wp_stabilised]",
    ]
    assert faults_of(market_inputs(BY_HAND | {"lifetime": "0"}).cell("coverings.csv", "ours", "area_cost", "-165")) == [
        "coverings.csv, row 2, column 'area_cost': found -165 USD/m2; allowed: a number from 0 [USD/m2]",
        "coverings.csv, row 2, column 'life': found 0 year; allowed: a number above 0 [year]",
        "coverings.csv, row 3, column 'life': found 0 year; allowed: a number above 0 [year]",
    ]
    with pytest.raises(InputFaults, match=r"markets.csv, row 2, column 'currency': found 'USB'; .* did you mean 'USD'"):
        market_inputs(BY_HAND | {"currency": "USB"}).load()


def test_what_a_market_counts_in_has_to_be_what_limits_it():
    assert faults_of(market_inputs(BY_HAND | {"limited_by": "area"})) == [
        "markets.csv, row 2, column 'per': found 'Wp_stabilised' in a market limited by area; allowed: m2, or another limit"]
    assert faults_of(market_inputs(BY_HAND | {"per": "m2"})) == [
        "markets.csv, row 2, column 'per': found 'm2' in a market limited by energy; allowed: Wp_stabilised, or another limit"]
    assert faults_of(market_inputs(BY_HAND | {"limited_by": "aera"})) == [
        "markets.csv, row 2, column 'limited_by': found 'aera'; allowed: one of energy, area; did you mean 'area'?"]


def test_a_market_has_each_module_once_and_other_coverings_only_where_area_limits_it():
    assert faults_of(market_inputs(BY_HAND).drop_row("coverings.csv", "reference")) == [
        "markets.csv, row 2, column 'id': found no row of coverings.csv with covers_with reference; "
        "allowed: one row there for the reference module"]
    assert faults_of(market_inputs(BY_HAND).row("coverings.csv", f"again,{STONE}".replace("plain", "our_module"))) == [
        "coverings.csv, row 4, column 'covers_with': found 'our_module', which 'ours' has for market 'shop' too; "
        "allowed: each module once in a market"]
    assert faults_of(market_inputs(BY_HAND).row("coverings.csv", f"stone,{STONE}")) == [
        "coverings.csv, row 4, column 'covers_with': found 'plain' in a market limited by energy; "
        "allowed: our_module, reference, or a market limited by area"]
    lost = market_inputs(BY_HAND).row("coverings.csv", f"stone,{STONE}".replace("shop", "shp"))
    assert faults_of(lost) == [
        "coverings.csv, row 4, column 'market': found 'shp'; allowed: an id of markets.csv; did you mean 'shop'?"]


def test_an_area_left_as_it_is_that_costs_something_looks_odd():
    assert list(oddities(skin(BARE).load())) == []
    assert list(oddities(skin(BARE.replace("nothing,USD,0", "nothing,USD,3")).load())) == [
        "coverings.other.area_cost is not 0, though nothing covers the area"]
    assert list(oddities(skin(STONE.replace("USD,250", "USD,0")).load())) == [
        "coverings.other.area_cost is 0, though it covers the area"]


# limited by area, worked by hand: our module and the reference for 2 years, of which 1.44 are left when discounted

SKIN = BY_HAND | {"limited_by": "area", "per": "m2", "energy_value": "0.5", "asked_price": "170", "volume": "90000"}
STONE = "stone,shop,plain,USD,250,2,10,20,3"  # for 3 years, of which 1.952 are left
BARE = "bare,shop,nothing,USD,0,0,0,0,1"
POWER = 0.5 - 0.1 + 0.03 * 1.44  # dollars a watt besides the module; ours has 60 W on a square metre
ENERGY = 1.2 * 0.95 / 0.90 * (0.8 + 0.9 * 0.64)  # kWh a watt, discounted
AREA = 40 + 6 - 10 + 4 * 1.44  # dollars a square metre
OF_STONE = (250 + 10 - 20 + 2 * 1.952) / 1.952 * 1.44  # what stone costs in 2 years, at what it costs a year


def skin(other: str, **cells: str) -> Inputs:
    """The market by area, with one covering besides the modules."""
    return market_inputs(SKIN | cells).row("coverings.csv", f"other,{other}")


def in_skin(other: str, **cells: str) -> tuple[Case, InMarket]:
    case = skin(other, **cells).load()
    return case, evaluate(case).market.by_market["shop"]


def test_plain_cladding_with_a_longer_life_binds():
    case, found = in_skin(STONE)
    ours = 60 * (0.5 * ENERGY - POWER) - AREA
    reference = 200 * (0.5 * 1.44 - 0.5 - 0.03 * 1.44 - 3) - (40 + 4 * 1.44)
    by_name = found.area.alternatives
    assert found.area.present_value_before_price == near(0.5 * ours)  # a dollar is half a euro
    assert by_name["reference"].present_value == near(0.5 * reference)
    assert by_name["reference"].price_per_m2 == near(0.5 * (ours - reference))
    assert by_name["other"].present_value == near(-0.5 * (240 + 2 * 1.952))
    assert by_name["other"].discounted_life / YEAR == near(1.952)
    assert by_name["other"].annual_worth * YEAR == near(-0.5 * (240 + 2 * 1.952) / 1.952)
    assert (by_name["reference"].binds, by_name["other"].binds) == (0.0, 1.0)
    assert found.highest_price_per_m2 == near(0.5 * (ours + OF_STONE))
    assert found.highest_price == near(0.5 * (ours + OF_STONE) / 60)
    assert found.reference_price_per_m2 == near(0.5 * 3 * 200)
    assert (found.asked_price_per_m2, found.asked_price) == (near(85.0), near(85.0 / 60))
    assert found.left_at_asked_price_per_m2 == near(0.5 * (ours - 170))
    assert found.left_at_asked_price * found.ours.watts_per_m2 == near(0.5 * (ours - 170))
    assert (found.volume, found.volume_by_area, found.plant_share) == (near(5.4e6), near(9e4), near(0.2))
    assert found.efficiency_at_asked_price == near((AREA - OF_STONE + 170) / 1000 / (0.5 * ENERGY - POWER))
    assert found.efficiency_at_asked_price_status == AT_LEAST
    assert found.efficiency_at_cost_status == ANY_EFFICIENCY  # stone is dearer than our module without any power
    words = market_report.one_market(case, evaluate(case), "shop")
    assert "With a kWh worth EUR 0.250 to the owner, “stone” sets that price." in words
    assert f"It would be EUR {people(0.5 * (ours - reference))} per m² against “it”." in words


def test_the_reference_binds():
    found = in_skin(STONE, reference_price="0.4", reference_duty="0")[1]
    ours = 60 * (0.5 * ENERGY - POWER) - AREA
    reference = 200 * (0.5 * 1.44 - 0.5 - 0.03 * 1.44 - 0.4) - (40 + 4 * 1.44)
    assert found.highest_price_per_m2 == near(0.5 * (ours - reference))
    assert {name: each.binds for name, each in found.area.alternatives.items()} == {"reference": 1.0, "other": 0.0}


def test_nothing_binds_and_is_worth_nothing():
    case, found = in_skin(BARE, energy_value="1")
    assert found.highest_price_per_m2 == near(0.5 * (60 * (ENERGY - POWER) - AREA))
    assert found.area.alternatives["other"].present_value == 0.0
    assert found.area.alternatives["other"].binds == 1.0
    poor, without = in_skin(BARE, energy_value="0.5")
    assert without.highest_price < 0
    assert "no positive price exists. A buyer would have to be paid" in market_report.one_market(poor, evaluate(poor), "shop")
    assert "EUR 18.1 per m²" in market_report.one_market(case, evaluate(case), "shop")  # 0.5 (60 x 1.2997 - 41.76) = 18.11


def test_a_pane_that_generates_nothing_is_worth_the_cladding_it_saves():
    found = in_skin(STONE, energy_value="0", power_cost="0", power_upkeep="0", power_premium="0")[1]
    assert found.highest_price_per_m2 == near(0.5 * (OF_STONE - 40 - 6 - 4 * 1.44 + 10))


def test_no_price_of_an_area_rises_as_our_module_generates_less():
    """Where a watt's energy is worth more than its power costs; where it is worth less, none falls."""
    case = in_skin(STONE)[0]
    efficiency = {"product.initial_efficiency": np.array([0.001, 0.082, 0.2]) / 0.8 / 0.75}
    dear, cheap = (evaluate(with_values(case, efficiency | {"markets.shop.energy_value": value / KWH})).market.by_market["shop"]
                   for value in (0.5, 0.2))
    assert np.all(np.diff(dear.highest_price_per_m2) > 0)
    assert 0.2 * ENERGY < POWER
    assert np.all(np.diff(cheap.highest_price_per_m2) < 0)
    slope = 0.5 * 1000 * (0.5 * ENERGY - POWER)  # euros per unit of efficiency
    assert np.diff(dear.highest_price_per_m2) == pytest.approx(slope * np.diff([0.001, 0.082, 0.2]), rel=1e-9)


def test_no_price_of_an_area_rises_as_the_reference_gets_better():
    """At a fixed price per watt that is worth its cost; where it is not, a better reference is dearer by area, and none falls."""
    case = in_skin(STONE, reference_price="0.1", reference_duty="0")[0]
    better = {"markets.shop.reference_efficiency": np.array([0.08, 0.15, 0.22])}
    good = evaluate(with_values(case, better)).market.by_market["shop"]
    assert 0.5 * 1.44 > 0.5 + 0.03 * 1.44 + 0.1
    assert np.all(np.diff(good.highest_price_per_m2) < 0)
    poor = evaluate(with_values(case, better | {"markets.shop.reference_price": 0.3})).market.by_market["shop"]
    assert np.all(np.diff(poor.area.alternatives["reference"].price_per_m2) > 0)


def test_equal_lives_need_no_annual_worth_and_the_horizon_cancels():
    """Stone for 2 years as well: the present values themselves are compared; by both roads the same price."""
    found = in_skin(STONE[:-1] + "2")[1]
    stone = found.area.alternatives["other"]
    assert stone.price_per_m2 == near(found.area.present_value_before_price - stone.present_value)
    assert stone.present_value == near(-0.5 * (250 + 10 - 20 + 2 * 1.44))


# the demos, questions 20 and 21


def run(*words) -> str:
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


@pytest.mark.parametrize("folder", [DEMO, FIELD], ids=["facade", "field"])
def test_the_building_skin_covers_the_cost_and_open_ground_has_no_positive_price(folder):
    case = load_case(folder)
    results = evaluate(case)
    assert results.market.by_market["building_skin"].margin > 0
    assert results.market.by_market["open_field"].highest_price < 0
    assert 0 < results.market.by_market["home_market"].highest_price < results.ledger.total.cost_per_stabilised_watt
    words = market_report.where_it_sells(case, results)
    assert words.startswith("Buyers in 1 of 4 markets could pay what the module costs: “building skin” at most")
    watts_per_m2 = results.line.output.stabilised_watts / results.line.output.good_area
    assert results.market.volume_above_cost == near(case.markets["building_skin"].volume * watts_per_m2)
    assert "“open field”" in words.split("No positive price exists in")[1]


def test_the_answer_changes_with_the_market():
    """Question 21: the highest price and the volume of every market stand in the table."""
    text, case, results = run("market", DEMO, "--all"), demo(), evaluate(demo())
    assert market_report.where_it_sells(case, results) in text
    # 650,000 m2 of 58.26 W per m2 are 37.9 MW; 30 % of that 11.4 MW, 20 % of it 7.6 MW
    assert "buyers take 37.9 MW a year. Our sales are limited to 11.4 MW of that: enough for the 9.00 MW that the plant" in text
    less = run("market", DEMO, "--set", "markets.building_skin.most_share=20 %")
    assert "limited to 7.57 MW of that: not enough for the 9.00 MW that the plant makes" in less
    for table_of in (market_table, alternatives_table, energy_table):
        for row in table_of(case, results).rows:
            assert " ".join(row) in text
    assert "not enough for the 32.0 MW" in run("market", FIELD)


def test_the_efficiency_that_breaks_even():
    """Question 20: an efficiency, or that none would do; the highest price at the efficiency of the module."""
    found = evaluate(demo()).market.by_market["home_market"]
    text = run("market", DEMO, "--all")
    assert f"At the cost of a m²: {people(100 * found.efficiency_at_cost)} % or more" in text
    assert "at the asking price: no efficiency would do" in text
    assert f"at most EUR {people(found.highest_price)} per stabilised watt (EUR {people(found.highest_price_per_m2)}" in text
    for row in market_details_table(demo(), evaluate(demo())).rows:
        assert " ".join(row) in text


def test_a_dearer_reference_makes_open_ground_a_market():
    dear = run("market", DEMO, "--set", "markets.open_field.reference_price=3 USD/Wp_stabilised")
    assert "Buyers in 2 of 4 markets could pay what the module costs: " in dear
    assert "“open field” at most EUR " in dear
    assert "No positive price exists in “roofs”: " in dear
    cheap = run("market", DEMO, "--set", "coverings.skin_glass.area_cost=120 EUR/m2")
    assert "In no market could buyers pay what the module costs: “building skin” is nearest with EUR " in cheap
    assert "So no part of the 9.00 MW a year that the plant makes has a market." in cheap
    dear = [f"--set=markets.{name}.reference_price=9" for name in demo().markets]
    everywhere = [*dear, "--set=coverings.roof_bare.area_cost=300 EUR/m2"]
    assert "Buyers in every market could pay what the module costs" in run("market", DEMO, *everywhere)


def test_a_case_without_markets_says_so():
    case = tiny()
    assert evaluate(case).market.volume_above_cost == 0.0
    assert market_report.where_it_sells(case, evaluate(case)) == market_report.NO_MARKETS


# curves and charts


def test_the_curve_goes_through_the_price_and_the_cost_of_the_case_and_they_meet_at_the_efficiency_found():
    results = evaluate(demo())
    curve = price_curve(demo())
    own = results.market.by_market["roof"].ours.efficiency
    assert curve.cost_per_m2 == results.ledger.total.cost_per_m2
    for name, found in results.market.by_market.items():  # straight lines, so that what lies between two points is exact
        at_own = np.interp(own, curve.efficiency, curve.highest_price_per_m2[name])
        assert at_own == pytest.approx(found.highest_price_per_m2, rel=1e-9)
    found = results.market.by_market["home_market"]
    price = np.interp(found.efficiency_at_cost, curve.efficiency, curve.highest_price_per_m2["home_market"])
    assert price == pytest.approx(curve.cost_per_m2, rel=1e-9)
    assert curve.efficiency[-1] == near(0.225)  # the best reference


def test_no_curve_goes_beyond_what_the_module_could_convert():
    case = with_values(shop(BY_HAND | {"reference_efficiency": "90"})[0], {"product.active_area_share": 0.5})
    curve = price_curve(case)
    assert curve.efficiency[-1] == near(0.5 * 0.75)
    assert all(math.isfinite(value) for value in curve.highest_price_per_m2["shop"])


def test_charts_show_the_highest_prices_the_cost_and_where_they_meet():
    case, results = demo(), evaluate(demo())
    found = results.market.by_market
    covers, does_not, asked, cost = charts.market_bars(case, results)["data"]
    assert [price for price in covers["x"] if price is not None] == [found["building_skin"].highest_price]
    assert [price for price in does_not["x"] if price is not None] == [
        found[name].highest_price for name in ("roof", "open_field", "home_market")]
    assert asked["x"] == [each.asked_price for each in found.values()]
    assert people(results.ledger.total.cost_per_stabilised_watt) in cost["name"]
    curves = charts.efficiency_curves(case, results, price_curve(case))
    marks = [trace for trace in curves["data"] if trace["mode"] == "markers+text"]
    assert [(trace["x"][0], trace["y"][0]) for trace in marks] == [
        (near(100 * found["home_market"].efficiency_at_cost),
         results.ledger.total.cost_per_m2)]
