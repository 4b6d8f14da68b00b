"""Control panels: values, messages, reset, saving, redrawing in place."""

import dataclasses
import json
import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from costmodel.case.addresses import value_at
from costmodel.case.changes import with_values
from costmodel.case.differences import same_inputs
from costmodel.case.load import load_case
from costmodel.case.whole_case import SECTIONS, Case, tables
from costmodel.core.faults import InputFaults
from costmodel.core.units import to_base
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.ledger.ledger import compute_ledger
from costmodel.model.line.line import compute_line
from costmodel.model.market.market import compute_market
from costmodel.model.scenarios import open_case, read_scenario
from costmodel.present import cost_report, deal_report, plan_report, terms_report
from costmodel.present.charts import stack_values
from costmodel.present.side_by_side import both_sides
from costmodel.studies.negotiation.concessions import concessions
from costmodel.studies.negotiation.outline import GRID, _crossing, quick_outline
from costmodel.studies.negotiation.sides import Sides, terms
from costmodel.studies.negotiation.zone import trace_zone
from costmodel.studies.sensitivities import tornado
from costmodel.workbench import views
from costmodel.workbench.panel import Panel

from .cases import DEMO, FIELD, demo

TERMS = ["licence.upfront", "licence.royalty"]
DEAL, PLAN, RETURN = "deal", "plan", "returns.required_return=4..20 %/year"
YIELD, SILVER, COST = "steps.deposition.first_pass_yield", "metals.silver.quote", "ledger.total.cost_per_stabilised_watt"


@pytest.fixture
def demo_copy(tmp_path):
    return Path(shutil.copytree(DEMO, tmp_path / "mine"))


def drawn(panel, name="cost_by_step"):
    return [trace["x"] for trace in json.loads(panel.pictures.drawn.value)[name]["data"]]


def test_moving_a_slider_gives_the_figures_of_the_package():
    case = demo()
    panel = Panel(case, views.cost)
    panel.controls[YIELD].slider.value = 95.0
    expected = evaluate(with_values(case, {YIELD: 95.0 * 0.01}))
    assert panel.results.ledger.total.cost == expected.ledger.total.cost
    for row, values in zip(drawn(panel), stack_values(expected).values()):
        assert row == list(values.values())
    assert cost_report.headline(case, expected) in panel.words.value
    assert panel.controls[YIELD].typed.value == "95.0"


@pytest.mark.slow
def test_there_is_a_slider_for_every_range_that_moves_what_is_shown_within_its_ends_and_on_whole_steps():
    case = demo()
    panel = Panel(case, views.cost)
    base = evaluate(case)
    rows = case.ranges.values()
    ends = {row.address: [evaluate(with_values(case, {row.address: end})) for end in (row.low, row.high)] for row in rows}
    moves_cost = {address for address, found in ends.items() if any(each.ledger.total != base.ledger.total for each in found)}
    moves_nothing = {address for address, found in ends.items() if all(each.ledger == base.ledger for each in found)}
    assert moves_cost <= set(panel.controls) == set(ends) - moves_nothing
    assert {"schedule.delay", "sales.facade.price"} <= moves_nothing
    for row in (row for row in rows if row.address in panel.controls):
        slider, ratio = panel.controls[row.address].slider, to_base(row.unit)
        assert slider.min <= value_at(case, row.address) / ratio <= slider.max
        assert slider.min == pytest.approx(min(row.low, value_at(case, row.address)) / ratio, abs=slider.step)
        assert slider.max == pytest.approx(max(row.high, value_at(case, row.address)) / ratio, abs=slider.step)
        assert row.unit == "1" or panel.controls[row.address].label.endswith(f"[{row.unit}]")


def test_sliders_without_a_range_go_from_half_to_double_within_what_the_schema_allows():
    case = demo()
    addresses = ["tax.rate", "schedule.volume_share", "schedule.delay=0..12 month", "loan.form"]
    panel = Panel(case, views.plan_and_market(case), addresses)
    ends = {name: (c.slider.min, c.slider.max) for name, c in panel.controls.items() if name != "loan.form"}
    assert ends == {"tax.rate": (12, 48), "schedule.volume_share": (50, 100), "schedule.delay": (0, 12)}
    assert panel.controls["loan.form"].options.options == ("linear", "annuity")
    allowed = r"no ends for a slider, as the value is 0; allowed: 'licence\.royalty_per_watt=LOW\.\.HIGH EUR/Wp_stabilised'"
    with pytest.raises(InputFaults, match=allowed):
        Panel(case, views.cost, ["licence.royalty_per_watt"])
    with pytest.raises(InputFaults, match="did you mean 'silane'"):
        Panel(case, views.cost, ["prices.silan.price"])
    with pytest.raises(InputFaults, match="found a free text"):
        Panel(case, views.cost, ["steps.lamination.title"])


def test_a_value_may_be_typed_in_any_unit_that_fits_and_beyond_the_ends():
    case = demo()
    panel = Panel(case, views.cost)
    control = panel.controls[SILVER]
    control.typed.value = "3.5 EUR/g"
    assert panel.results.ledger.total.cost == evaluate(with_values(case, {SILVER: 3500.0})).ledger.total.cost
    assert (control.slider.value, control.slider.max) == (2700, 2700)  # at its end
    control.typed.value = "200"
    assert panel.values == {SILVER: 200.0}
    assert (control.slider.value, control.slider.min) == (control.slider.min, control.slider.min)
    assert control.slider.min > 200
    panel.reset.click()
    assert (control.slider.value, control.slider.max, control.typed.value) == (1500, 2700, "1500")


@pytest.mark.parametrize(("text", "words"), [
    ("much", "found &#x27;much&#x27;; allowed: a number, as 12.5"),
    ("", "found nothing; allowed: a number (a missing value is not zero)"),
    ("104", "found 104 %; allowed: a number above 0 to 100 [%]"),
    ("96 kg", "unit &#x27;kg&#x27; does not convert into"),
    ("96,5", "found &#x27;96,5&#x27;; allowed: a number, as 12.5"),
])  # fmt: skip
def test_a_bad_value_is_told_beside_its_control_and_the_last_good_picture_stays(text, words):
    panel = Panel(demo(), views.cost)
    panel.controls[SILVER].slider.value = 1600.0
    before, said, current = drawn(panel), panel.words.value, panel.current
    control = panel.controls[YIELD]
    control.typed.value = text
    assert words in control._said.value
    assert (drawn(panel), panel.words.value, panel.current) == (before, said, current)
    assert not any(other.complaint for other in panel.controls.values() if other is not control)
    control.typed.value = "96"
    assert control.complaint == ""
    assert drawn(panel) != before


def test_a_value_that_the_case_refuses_is_told_beside_its_control():
    panel = Panel(demo(), views.plan_and_market(demo()), ["sales.facade.output_share", "tax.rate"])
    before = panel.words.value
    panel.controls["sales.facade.output_share"].typed.value = "50"
    assert "100" in panel.controls["sales.facade.output_share"].complaint
    assert panel.words.value == before
    panel.controls["tax.rate"].typed.value = "30"
    assert panel.words.value != before
    assert panel.values == {"tax.rate": 0.3}


def test_what_a_browser_says_of_the_next_step_of_a_slider_is_no_move():
    case = with_values(demo(), {SILVER: 1233.3})
    panel = Panel(case, views.cost)
    control = panel.controls[SILVER]
    control.slider.value = 1230.0
    assert (panel.values, control.typed.value) == ({}, "1233.3")
    control.slider.value = 1240.0
    assert panel.values == {SILVER: 1240.0}


def test_back_to_the_tables_undoes_everything():
    panel = Panel(demo(), views.cost)
    before = panel.words.value, panel.tables.value, drawn(panel)
    for control in panel.controls.values():
        control.slider.value = control.slider.max
    panel.controls[YIELD].typed.value = "none"
    assert panel.words.value != before[0]
    panel.reset.click()
    assert (panel.words.value, panel.tables.value, drawn(panel)) == before
    assert panel.current is panel.case
    assert not any(control.complaint for control in panel.controls.values())


@pytest.mark.parametrize(("view", "address", "value"), [
    (PLAN, "sales.facade.price", 1.5), (PLAN, "schedule.delay=0..12 month", 6.0), (PLAN, YIELD, 94.0),
    (DEAL, "licence.royalty", 3.0), (DEAL, RETURN, 19.0), (views.cost, YIELD, 94.0),
])  # fmt: skip
def test_a_picture_redrawn_in_place_is_the_picture_of_the_view(view, address, value):
    if view in (DEAL, PLAN):
        view = views.deal(demo(), [address]) if view == DEAL else views.plan_and_market(demo())
    panel = Panel(demo(), view, [address])
    control = next(iter(panel.controls.values()))
    for each in (value, control.slider.max, value):
        control.slider.value = each
        wanted = {name: chart.plain() for name, chart in view(panel.current).pictures.items()}
        assert json.loads(panel.pictures.drawn.value) == wanted


def looked_at(case):
    """The tables that line, ledger and market of a case look at."""
    found = set()

    class Watched(Case):
        """A case that notes what is looked at."""

        def __getattribute__(self, name):
            found.add(name)
            return super().__getattribute__(name)

    watched = object.__new__(Watched)
    for field in dataclasses.fields(case):
        object.__setattr__(watched, field.name, getattr(case, field.name))
    line = compute_line(watched)
    compute_market(watched, line, compute_ledger(watched, line))
    assert not found & {"plan", "deal", *SECTIONS}
    return found & set(tables())


@pytest.mark.parametrize("folder", [DEMO, FIELD])
def test_the_plant_looks_at_no_table_that_a_panel_takes_for_one_of_the_plan(folder):
    beside_the_model = {name for name, table in tables().items() if not table.in_model}
    case = load_case(folder)
    of_classes = set() if case.power_classes else {"power_spread", "measured_powers"}  # which only classes look at
    assert set(views.LATER) == set(tables()) - looked_at(case) - beside_the_model - of_classes


def test_a_panel_of_the_plan_follows_what_moves_the_plant_too():
    case, view = demo(), views.plan_and_market(demo())
    for moved in ({}, {"sales.facade.price": 80.0}, {YIELD: 0.94}, {YIELD: 0.94, "tax.rate": 0.1}, {"tax.rate": 0.1}, {}):
        changed = with_values(case, moved)
        plan = evaluate(changed).plan
        assert repr(view(changed).results.plan) == repr(dataclasses.replace(plan, others={}))  # NaN is not itself


def test_views_say_what_the_whole_model_says():
    case = demo()
    results = evaluate(case)
    assert views.cost(case).results.ledger == results.ledger
    shown = views.plan_and_market(case)(case)
    assert repr((shown.results.plan, shown.results.market)) == repr((dataclasses.replace(results.plan, others={}), results.market))
    assert shown.words[0] == plan_report.verdict(case, results)


def test_the_deal_follows_terms_and_what_else_is_named_as_the_package_reckons_it():
    case, withheld = demo(), "payment_kinds.licence.withholding"
    addresses = [*TERMS, withheld, RETURN, "licensor.contribution"]
    panel = Panel(case, views.deal(case, addresses), [*addresses, "licensor.damages"])
    wanted = RETURN.partition("=")[0]
    values = {"licence.royalty": 0.03, withheld: 0.15, wanted: 0.1 / to_base("year"), "licensor.contribution": 5e5}
    for address, text in zip(values, ("3 %", "15 %", "10 %/year", "500000")):
        panel.controls[address].typed.value = text
    moved = with_values(case, values)
    results = evaluate(moved)
    own, other = results.deal.licensor, results.deal.licensee
    assert panel.results.deal == results.deal
    assert panel.shown.words[0] == deal_report.sides(moved, results)
    sides, worth = panel.shown.tables
    assert sides == deal_report.sides_table(
        moved, (own.npv, own.contribution, own.gain), (other.npv, other.best_alternative, other.gain)
    )
    assert worth() == terms_report.concessions_table(moved, concessions(moved, Sides(moved, terms(moved))), most=10)
    before = panel.words.value
    panel.controls["licensor.damages"].typed.value = "1000000"
    assert "an input that this view does not follow" in panel.controls["licensor.damages"].complaint
    assert panel.words.value == before
    with pytest.raises(InputFaults, match="did you mean 'licence"):
        views.deal(case, ["licence.upfornt"])


@pytest.mark.parametrize("moved", [{}, {"licence.royalty_cap": 1.0}, {"returns.required_return": 0.16 / to_base("year")}])
def test_the_zone_that_follows_sliders_is_the_exact_one_within_its_grid(moved):
    case = with_values(demo(), moved)
    sides = Sides(case, TERMS)
    exact, quick = trace_zone(case, sides), quick_outline(case, sides, sides.present)
    fee, rate = quick.top / (GRID - 1), quick.royalty[-1] / (GRID - 1)
    seen = exact.royalty <= quick.royalty[-1]
    for line, trace in ((quick.floor, exact.floor), (quick.ceiling, exact.ceiling), (quick.alike, exact.shares[0.5])):
        there = np.interp(exact.royalty[seen], quick.royalty, line)
        known = ~np.isnan(there) & ~np.isnan(trace.upfront[seen])
        assert known.sum() >= 8 or line is not quick.floor
        assert there[known] == pytest.approx(trace.upfront[seen][known], abs=fee)
    assert quick.open.any() != exact.empty
    other = quick_outline(case, sides, sides.present | {"licence.upfront": 4e7})  # its axis goes farther
    assert other.top > quick.top
    again = quick_outline(case, sides, sides.present, before=other)
    assert all(np.array_equal(*pair, equal_nan=True) for pair in zip(dataclasses.astuple(again), dataclasses.astuple(quick)))
    for name, line in (("floor_royalty", quick.floor > 0), ("ceiling_royalty", quick.ceiling > 0)):
        if name in exact.corners:
            assert quick.royalty[np.flatnonzero(line)[-1]] == pytest.approx(exact.corners[name][1], abs=rate)
    for name, line in (("floor_fee", quick.floor), ("ceiling_fee", quick.ceiling)):
        if name in exact.corners:
            assert line[0] == pytest.approx(exact.corners[name][0], abs=fee)
            assert line[0] < quick.top


def test_the_zone_that_follows_sliders_goes_from_the_first_floor_to_the_last_ceiling():
    fees = np.linspace(0.0, 6e6, 25)  # steps of a quarter of a million

    def column(function):
        return np.array([[function(fee)] for fee in fees])

    # the licensor gains from 1 million on, from 2.5 to 3.5 million it loses; the licensee gains to 2 and from 3 to 5 million
    licensor = column(lambda fee: fee - 1e6 - (2.4e6 if 2.4e6 < fee < 3.5e6 else 0.0))
    licensee = column(lambda fee: 2e6 - fee if fee < 3e6 else 5e6 - fee)
    assert _crossing(licensor, fees) == pytest.approx([1e6])
    assert _crossing(-licensee, fees, last=True) == pytest.approx([5e6])


@pytest.mark.slow
def test_what_moves_a_figure_is_shown_from_where_the_sliders_stand():
    plant = as_bought(demo())
    panel = Panel(plant, views.what_moves(plant, COST))
    panel.controls[YIELD].slider.value = 94.0
    present, bars = tornado(with_values(plant, {YIELD: 0.94}), COST)
    low, high = drawn(panel, "what_moves_it")
    shown = [bar for bar in bars if bar.width > 0][:14]  # most first; those that move nothing are left out
    assert len(low) == len(shown) == 14
    assert low == pytest.approx([bar.at_low - present for bar in shown], abs=1e-12)
    assert high == pytest.approx([bar.at_high - present for bar in shown], abs=1e-12)
    other = Panel(plant, views.what_moves(plant, COST), ["site.crews"])
    other.controls["site.crews"].typed.value = "5"
    assert "no row for an input that is moved" in other.controls["site.crews"].complaint


def test_two_cases_side_by_side_are_in_the_money_of_the_first():
    first, second = demo(), load_case(FIELD)
    panel = Panel(second, views.beside("first", first, "second"), ["utilities.electricity.price"])
    one, two = (evaluate(case).ledger.total.cost_per_m2 for case in (first, second))
    rate = first.money["usd"].exchange_rate
    assert drawn(panel, "cost_by_kind")[-1] == pytest.approx([one, two * rate], rel=1e-12)
    sums = [sum(bars[side] for bars in drawn(panel, "cost_by_kind")[:-1]) for side in (0, 1)]
    assert sums == pytest.approx([one, two * rate], rel=1e-12)
    panel.controls["utilities.electricity.price"].slider.value = panel.controls["utilities.electricity.price"].slider.max
    assert drawn(panel, "cost_by_kind")[-1][0] == pytest.approx(one, rel=1e-12)
    assert drawn(panel, "cost_by_kind")[-1][1] > two * rate
    with pytest.raises(InputFaults, match="no exchange rate of EUR"):
        both_sides(("first", dataclasses.replace(second, money={}), None), ("second", first, None))


def test_a_case_without_plan_or_deal_is_refused_where_one_is_shown(demo_copy):
    for file, view in (("deal.yaml", views.deal), ("plan.yaml", views.plan_and_market)):
        lacking = {"deal.yaml": {"deal_sections": None}, "plan.yaml": {"plan_sections": None}}[file]
        with pytest.raises(InputFaults, match=f"{file}: found no such file"):
            view(dataclasses.replace(demo(), **lacking))


def test_a_panel_is_saved_as_a_scenario_with_exactly_its_values(demo_copy):
    panel = Panel(open_case(demo_copy, "first_year"), views.cost, folder=demo_copy, scenario="first_year")
    panel.controls[YIELD].slider.value = 96.3
    panel.controls[SILVER].typed.value = "1234.5"
    panel.name.value, panel.title.value, panel.story.value = "kept", "as moved", "Two inputs moved."
    panel.save.click()
    assert f"Saved: {demo_copy / 'scenarios' / 'kept.yaml'}" in panel.saved.value
    read = open_case(demo_copy, "kept")
    assert same_inputs(read, panel.current)
    assert evaluate(read).ledger.total.cost == panel.results.ledger.total.cost
    set_there = read_scenario(demo_copy, "kept").changes
    assert set(set_there) == set(read_scenario(demo_copy, "first_year").changes) | {YIELD, SILVER}
    assert (set_there[YIELD], set_there[SILVER]) == ("96.3 %", "1234.5 EUR/kg")
    panel.controls[SILVER].slider.value = 1300.0
    assert panel.saved.value == ""


def test_a_panel_says_beforehand_what_saving_needs(demo_copy):
    panel = Panel(open_case(demo_copy), views.cost, folder=demo_copy)
    said = re.sub(r"<[^>]*>", "", panel.needed.value)
    words = "a name in small letters, as dear_gases, a title, its assumptions."
    assert said == f"To save, still needed: a control that is moved, {words}"
    panel.controls[SILVER].typed.value = "1300"
    panel.title.value = "dear silver"
    assert "a control that is moved" not in panel.needed.value
    assert "a title" not in panel.needed.value
    panel.name.value, panel.story.value = "kept", "Silver is dearer."
    assert panel.needed.value == ""
    panel.reset.click()
    assert "a control that is moved" in panel.needed.value


def test_what_a_slider_and_a_field_are_called_is_heard_too():
    panel = Panel(demo(), views.cost)
    for control in (each for each in panel.controls.values() if hasattr(each, "slider")):
        assert control.slider.tooltip == control.typed.tooltip == control.label


@pytest.mark.parametrize(("name", "moved", "opened_with", "words"), [
    ("dear_silver", "1300", {}, "found a file of that name"),
    ("Kept", "1300", {}, "&#x27;Kept&#x27; as the name of a scenario"),
    ("kept", "1500", {}, "found no change"),
    ("kept", "1300", {"site.crews": "3"}, "found tables that have changed since, or another case"),
    ("kept", "a lot", {}, "is refused"),
])  # fmt: skip
def test_what_a_panel_cannot_save_is_said_beside_the_button(name, moved, opened_with, words, demo_copy):
    scenarios = sorted(path.name for path in (demo_copy / "scenarios").iterdir())
    panel = Panel(open_case(demo_copy, changes=opened_with), views.cost, folder=demo_copy)
    panel.controls[SILVER].typed.value = moved
    panel.name.value, panel.title.value, panel.story.value = name, "t", "s"
    panel.save.click()
    assert "Not saved: " in panel.saved.value
    assert words in panel.saved.value
    assert sorted(path.name for path in (demo_copy / "scenarios").iterdir()) == scenarios
