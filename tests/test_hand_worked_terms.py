"""The tables of terms.py on the tiny line, worked by hand.

Plates (see test_hand_worked.py): 62,500 enter the saw, 50,000 the coater, 40,000 the press; 36,000 are good. 12,500, 10,000
and 4,000 are lost. 3 saws work 2,187.5 h of 2,625 together, 4 coaters 2,750 h of 3,200, 1 stamp 500 h of 800."""
from __future__ import annotations

import pytest

from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.depreciation import book_method, book_shares, tax_shares
from costmodel.present import buying_report
from costmodel.studies.factory.depreciation_years import years

from .cases import DEMO
from .refusals import faults
from .terms import terms, terms_inputs

NM3 = 44.615033  # mol, as core/units.txt states it
YEAR, DAY = 31_536_000.0, 86_400.0


def near(value: float):
    """Equal but for the rounding of floating-point numbers."""
    return pytest.approx(value, rel=1e-12)


@pytest.fixture(scope="module")
def ledger():
    return evaluate(terms()).ledger


def test_a_discount_holds_for_all_of_the_quantity_that_reaches_it(ledger):
    # 62,500 plates x 0.5 m2 x 1.2 = 37,500 m2, past 20,000 and 30,000; list price at the gate 8 x 0.5 x 1.25 = 5
    glass = ledger.landed["glass"]
    assert (glass.used, glass.paid_for, glass.discount) == (near(37_500), near(37_500), 0.10)
    assert glass.price == near(4.5)
    assert ledger.lines["materials.glass"].cost == near(37_500 * 4.5)
    assert glass.stock == near(37_500 * 4.5 / 10)  # 36.5 days
    assert ledger.landed["wipe"].discount == 0.0  # 40,000 of 1,000,000


def test_a_minimum_order_is_bought_in_each_shelf_life(ledger):
    # 20,000 pressed x 0.5 m2 x 1.1 = 11,000 m2; 12,000 m2 each half year
    foil = ledger.landed["foil"]
    assert (foil.used, foil.paid_for) == (near(11_000), near(24_000))
    extra = ledger.lines["buying.foil"]
    assert (extra.step, extra.cost, extra.lost) == ("plant", near(13_000 * 2), 0.0)
    assert foil.stock == near(24_000 * 2 / 5)  # 73 days


def test_a_quantity_contracted_is_paid_for_if_not_used(ledger):
    # 5,500 loads x 2 Nm3 = 11,000 Nm3 of 20,000 contracted, at 0.5
    assert ledger.landed["nitrogen"].paid_for == near(20_000 * NM3)
    assert ledger.lines["buying.nitrogen"].cost == near(9_000 * 0.5)


def test_rent_of_containers_follows_use_and_stay(ledger):
    # hydrogen: 5 slm x 10 min x 5,500 loads = 275 Nm3 in bundles of 20, 73 days at 0.8 USD
    assert ledger.lines["containers.bundle.coat"].cost == near(275 / 20 * 73 * 0.8 * 0.5)
    assert ledger.lines["containers.bundle.coat"].lost == near(275 / 20 * 73 * 0.4 * 0.28)  # 1 - 36,000 / 50,000
    assert ledger.lines["containers.bundle.coat"].driver == "use of hydrogen"
    # 36,000 boxes in folders of 50, 10 days; for good modules only, so none is lost
    folder = ledger.lines["containers.folder.press.modules"]
    assert (folder.cost, folder.lost) == (near(36_000 / 50 * 10 * 0.2), 0.0)


def test_the_peak_is_charged_for_tools_and_systems(ledger):
    # 80 % of (3 x 4, 4 x 20, 1 x 10, and 5 kW of the air plant) at 60 USD
    costs = {name: ledger.lines[f"demand_charges.peak.{name}"].cost for name in ("cut", "coat", "press", "plant")}
    assert costs == {"cut": near(288), "coat": near(1920), "press": near(240), "plant": near(120)}


def test_service_by_the_calendar_and_by_hours_at_work(ledger):
    assert ledger.lines["services.pumps.coat"].cost == near(4 * 2 * 900)  # 4 coaters, twice a year
    assert ledger.lines["services.blades.cut"].cost == near(2187.5 / 730 * 1500 * 0.5)  # a month is 730 h


def test_parts_in_store_are_equipment(ledger):
    assert ledger.lines["spares.source.coat"].cost == near(4 * 12_000 * 0.5 / 6)
    assert ledger.lines["spares.spindle.cut"].cost == near(5_000 / 5)
    # saws 3 x 120,000; coaters 4 x 400,000 x 0.5 x 1.25; stamp 50,000; air plant 30,000; parts 24,000 + 5,000
    assert ledger.equipment_value == near(360_000 + 1_000_000 + 50_000 + 30_000 + 29_000)


def test_scrap_costs_and_second_grade_earns(ledger):
    assert ledger.lines["scrap.cullet"].cost == near(12_500 * 0.5 * 0.4 * 0.5)
    assert ledger.lines["scrap.second"].cost == near(-4_000 * 0.6 * 8)
    assert ledger.scrap_revenue == near(19_200 - 1_250)
    assert ledger.route["press"].scrap_revenue == near(19_200)
    assert ledger.yield_loss == near(sum(x.lost for x in ledger.lines.values()))


def test_depreciation_by_production_bears_what_works(ledger):
    # to 10 % of the price over the life, as far as the tools are loaded
    costs = {name: ledger.lines[f"depreciation.{name}"] for name in ("cut", "coat", "press")}
    assert costs["cut"].cost == near(360_000 * 0.9 / 10 * 2187.5 / 2625)
    assert costs["coat"].cost == near(1_000_000 * 0.9 / 5 * 2750 / 3200)
    assert costs["press"].cost == near(50_000 * 0.9 / 10 * 500 / 800)
    assert [x.idle for x in costs.values()] == [0.0, 0.0, 0.0]
    assert ledger.lines["facilities.air.depreciation"].cost == near(3_000)  # the average year of a declining balance


def test_books_and_tax_are_apart():
    case = terms()
    assert book_shares(book_method(case, "tools"), 10.0, 3) == [near(0.09)] * 3
    assert tax_shares(case, "tools", 10.0, 3) == [near(0.2), near(0.32), near(0.192)]  # five years, twice, half a year first
    assert book_shares(book_method(case, "facilities"), 10.0, 2) == [near(0.2), near(0.16)]
    assert tax_shares(case, "facilities", 10.0, 4) == [0.5, 0.3, 0.2, 0.0]
    assert tax_shares(case, "spares", 6.0, 5) == [near(0.4), near(0.3), near(0.2), near(0.1), 0.0]
    assert tax_shares(case, "carriers", 4.0, 2) == [near(0.25)] * 2  # no row: as the books do


def test_all_equipment_is_written_off_year_by_year():
    case = terms()
    found = years(case)
    # books: tools 360,000 and 50,000 over 10 years, 1,000,000 over 5, to 10 %; system 30,000 at 20 % of the balance
    tools = 0.9 * (360_000 / 10 + 1_000_000 / 5 + 50_000 / 10)
    assert found[0].books == near(tools + 6_000 + 24_000 / 6 + 5_000 / 5)
    # tax: tools 1,410,000 x 20 %, system 50 %, parts 4/10
    assert found[0].tax == near(282_000 + 15_000 + 11_600)
    assert sum(year.books for year in found) == near(0.9 * 1_410_000 + 30_000 + 29_000)
    assert sum(year.tax for year in found) == near(1_469_000)
    assert found[-1].number == 10
    assert buying_report.written_off(case, found).endswith("Tax allows more: EUR 309,000.")


def test_what_is_paid_for_and_not_used_is_said():
    case = terms()
    assert buying_report.stock(case, evaluate(case)).endswith("EUR 30,500 a year is paid for unused quantities.")  # 26,000 + 4,500


REFUSED = {
    "discount that falls": ("price_breaks.csv", "glass_more", "discount", "3", [
        "price_breaks.csv, row 3, column 'discount': found less than 'glass_some' gives from no larger a quantity; allowed: "
        "discounts that rise with the quantity"]),
    "quantity of another kind": ("price_breaks.csv", "glass_some", "unit", "kg", [
        "price_breaks.csv, row 2, column 'item': found 'glass', which is sold by m2; allowed: an item sold by a unit like kg"]),
    "terms twice": ("buying.csv", "foil", "item", "glass", [
        "buying.csv, row 4, column 'item': found 'glass', which 'glass' has too; allowed: each once"]),
    "empty container": ("containers.csv", "bundle", "content", "0", [
        "containers.csv, row 2, column 'content': found 0 Nm3; allowed: a number above 0 [Nm3]"]),
    "plates sold twice": ("scrap.csv", "cullet", "step", "press", [
        "scrap.csv, row 3, column 'lost_share': found 110 % in step 'press'; allowed: together at most 100 %"]),
    "production of a system": ("book_depreciation.csv", "systems", "method", "production", [
        "book_depreciation.csv, row 3, column 'method': found 'production' for facilities, whose loading is not known; allowed: "
        "straight_line, declining_balance, sum_of_years"]),
    "rates that miss a part": ("tax_rates.csv", "third", "rate", "10", [
        "tax_depreciation.csv, row 4, column 'method': found rates that add up to 90 %; allowed: rates of 100 %"]),
    "rates of another method": ("tax_rates.csv", "third", "schedule", "spares", [
        "tax_rates.csv, row 4, column 'schedule': found 'spares', whose method is sum_of_years; allowed: a row with method rates",
        "tax_depreciation.csv, row 4, column 'method': found rates that add up to 80 %; allowed: rates of 100 %"]),
    "peak of heat": ("demand_charges.csv", "peak", "unit", "m3/h", [
        "demand_charges.csv, row 2, column 'utility': found 'electricity', which is sold by kWh; allowed: an item sold by a unit "
        "like m3/h*s"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_terms_that_cannot_be_are_refused_by_their_place(name):
    file, identity, column, value, messages = REFUSED[name]
    assert faults(terms_inputs().cell(file, identity, column, value).load) == messages


def test_commands_show_terms_and_depreciation():
    from click.testing import CliRunner

    from costmodel.command.main import main

    bought = CliRunner().invoke(main, ["cost", str(DEMO), "buying", "--set", "buying.foil_x.take_or_pay=1"])
    assert bought.exit_code == 2
    bought = CliRunner().invoke(main, ["cost", str(DEMO), "buying", "--set", "buying.silane.take_or_pay=2000"])
    assert (bought.exit_code, "is paid for unused quantities" in bought.output) == (0, True)
    written_off = CliRunner().invoke(main, ["cost", str(DEMO), "depreciation"])
    assert (written_off.exit_code, "Equipment written off, EUR" in written_off.output) == (0, True)
    elasticity = CliRunner().invoke(main, ["cost", str(DEMO), "evidence", "--figure", "ledger.by_step.lamination.cost_per_m2"])
    assert (elasticity.exit_code, "What ledger.by_step.lamination.cost_per_m2 depends on most" in elasticity.output) == (0, True)
    wrong = CliRunner().invoke(main, ["cost", str(DEMO), "evidence", "--figure", "ledger.totl.cost"])
    assert wrong.exit_code == 2
    assert wrong.output.strip() == ("--figure: found 'ledger.totl.cost', no such figure; allowed: the address of a figure that is "
                                    "not 0; did you mean 'ledger.total.cost'?")
