"""How likely claims are, and one plant under one headline: against counts of draws, single evaluations, values worked by hand."""

from __future__ import annotations

import json
import math
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.addresses import value_at
from costmodel.case.changes import apply_written, supposing, with_values
from costmodel.case.fingerprint import fingerprint
from costmodel.case.uncertain import supposed
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.roots import rising_zero
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case
from costmodel.present import deal_report, likely_report, study_report
from costmodel.present.numbers import amount
from costmodel.studies.draws import Draws
from costmodel.studies.negotiation import probabilities as probabilities_module
from costmodel.studies.negotiation.concessions import step_of
from costmodel.studies.negotiation.likely_terms import likely_terms
from costmodel.studies.negotiation.probabilities import MeanZone, Probabilities, _AlongFee, _mean_zone, _some_fee, probabilities
from costmodel.studies.negotiation.sides import LICENSEE, LICENSOR, ROYALTY, UPFRONT
from costmodel.studies.negotiation.zone import trace_zone
from costmodel.studies.risk import run_risk
from costmodel.studies.sensitivities import tornado
from costmodel.studies.spread import Probability, probability_of_more, quantiles_of

from .cases import DEMO, FIELD, Inputs, demo, in_one_draw, table, tiny
from .plans import plan_inputs

WATT, NPV = "ledger.total.cost_per_stabilised_watt", "plan.project.npv"
PRICE = "price,sales.all.price,{},1,2,4,EUR/Wp_stabilised,market,after_purchase"


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def priced(distribution: str, low: str = "1", high: str = "4") -> Inputs:
    """The tiny plan with an uncertain price of a watt."""
    inputs = plan_inputs().row("ranges.csv", PRICE.format(distribution))
    return inputs.cell("ranges.csv", "price", "low", low).cell("ranges.csv", "price", "high", high)


def three_prices():
    """A watt sells at 1, 2 or 4 EUR with 30, 40 and 30 %."""
    inputs = priced("discrete").drop_row("ranges.csv", "saw_price")
    inputs.tables["outcomes.csv"] = table(
        "id,range,value [unit],unit,probability [%]\n"
        "bad,price,1,EUR/Wp_stabilised,30\nmiddling,price,2,EUR/Wp_stabilised,40\ngood,price,4,EUR/Wp_stabilised,30"
    )
    return inputs


@pytest.mark.slow
def test_what_is_supposed_is_not_drawn():
    """At 4 EUR a watt the plant earns what is asked whatever else is drawn; at 1 EUR it never does. So for a choice."""
    for price, share in (("4", 1.0), ("1", 0.0)):
        case = priced("uniform").load()
        found = probabilities(supposing(case, {"sales.all.price": price}, "--set", "--set"), draws=50, seed=1)
        assert found.npv.share == share
    case = supposing(demo(), {"sales.facade.price": "1.75"}, "--set", "--set")
    assert "sales.facade.price" not in Draws(case, 0).values(0, 4)
    assert "sales.facade.price" not in {bar.address for bar in tornado(as_bought(case), NPV)[1]}
    drawn = run_risk(as_bought(case), [NPV], 64, 0).figures[NPV]
    assert drawn.max() < run_risk(as_bought(demo()), [NPV], 64, 0).figures[NPV].max()
    assert fingerprint(case) != fingerprint(apply_written(demo(), {"sales.facade.price": "1.75"}, "--set", "--set"))
    other = open_case(DEMO, use={"back_contact": "aluminium"})
    assert supposed(other) == ["product.initial_efficiency"]
    assert "supposed here of facade builders: price, not" in study_report.plant(as_bought(case))


def test_a_case_in_which_all_that_is_uncertain_is_supposed_has_nothing_to_draw():
    case = priced("uniform").drop_row("ranges.csv", "saw_price").load()
    held = supposing(case, {"sales.all.price": "2"}, "--set", "--set")
    assert probabilities(held) is None
    with pytest.raises(InputFaults, match="no rows but of inputs whose value is supposed"):
        Draws(held, 0)


def test_each_claim_holds_in_as_many_draws_as_have_a_price_that_makes_it_hold():
    """The plant earns what is asked at 2 EUR and at 4, the licensee gains at 4 only; the licensor, paid 50,000 EUR first, always.

    At 2 EUR the licensee is a million short, so that no fee from 0 on and no royalty helps: the zone is there at 4 only.
    """
    case = three_prices().load()
    prices = Draws(as_bought(case), 5).values(0, 400)["sales.all.price"]
    earns, good = float(np.mean(prices >= 2.0)), float(np.mean(prices == 4.0))
    found = probabilities(case, draws=400, seed=5)
    assert (found.npv.share, found.licensor.share) == (earns, 1.0)
    assert (found.licensee.share, found.both.share, found.zone.share) == (good, good, good)
    assert abs(earns - 0.7) < 4 * math.sqrt(0.7 * 0.3 / 400)
    assert found.npv.error == math.sqrt(earns * (1 - earns) / 400)
    of_plan = Probabilities(400, 5, found.npv, mean_npv=found.mean_npv, closes=found.closes, below_dscr=found.below_dscr)
    assert probabilities(case, draws=400, seed=5, deal=False) == of_plan


def test_floor_and_ceiling_spread_as_the_prices_do_that_move_them():
    """30 % at 1 EUR, 40 % at 2, 30 % at 4: P10, P50 and P90 of what the licensee can pay are its values at these prices."""
    case = three_prices().load()
    plant = as_bought(case)
    at = {price: evaluate(with_values(plant, {"sales.all.price": price})).deal for price in (1.0, 2.0, 4.0)}
    found = probabilities(case, draws=400, seed=5)
    assert [each.value for each in found.ceiling] == pytest.approx([at[price].licensee.ceiling for price in at], rel=1e-12)
    assert [each.value for each in found.floor] == pytest.approx([at[price].licensor.floor for price in at], rel=1e-12)
    assert at[1.0].licensee.ceiling < 0 < at[4.0].licensee.ceiling
    said = likely_report.of_ceiling(case, found)[0]
    assert said.startswith("Over 400 draws, seed 5, payments can be up to ")
    assert said.endswith("Where that is below 0, no payment is low enough.")
    assert likely_report.of_floor(case, "none drawn") == likely_report.of_ceiling(case, "none drawn") == []


@pytest.mark.slow
def test_documents_have_the_spread_of_the_floor_that_the_command_prints():
    case, floor = demo(), "deal.licensor.floor"
    own = likely_report.of_floor(case, probabilities(case))[0]
    assert own == deal_report.floor_spread(case, quantiles_of(case, [floor], 1000, 0)[floor], 1000, 0)
    assert own in " ".join(run("deal", DEMO, "floor", "--round", "draft").output.split())


def test_a_zone_is_found_in_the_draws_in_which_the_root_search_finds_one():
    case = priced("uniform", "2.0", "3.6").load()
    plant = as_bought(case)
    values = Draws(plant, 3).values(0, 12)
    zones = [trace_zone(in_one_draw(plant, {a: float(v[k]) for a, v in values.items()})) for k in range(12)]
    there = sum(not zone.empty for zone in zones)
    assert 0 < there < 12
    found = probabilities(case, draws=12, seed=3)
    assert found.zone.share == there / 12
    assert found.both.share == sum(zone.offer_is_inside for zone in zones) / 12


class Straight:
    """A recording of two sides between whom money moves: licensor fee + 100 x royalty - 10, licensee what it can bear less that."""

    def __init__(self, values=None):
        self.values = values

    def only(self, wanted):
        assert wanted == [LICENSOR, LICENSEE]
        return self

    def settled(self, values, moving):
        return type(self)({**(self.values or {}), **values})

    def spread(self, rows):
        return type(self)({address: value[rows] for address, value in self.values.items()})

    def run(self, values):
        values = {**self.values, **values}
        paid = values[UPFRONT] + 100 * values[ROYALTY]
        return {LICENSOR: paid - 10.0, LICENSEE: values["bears"] - paid}


def at(licensee, *royalties):
    """What the draws can bear, with an offer of 5 and 2 %, along the fee at some royalties."""
    count = len(licensee)
    return _AlongFee(
        Straight(), {"bears": np.array(licensee), UPFRONT: np.full(count, 5.0), ROYALTY: np.full(count, 0.02)}, royalties
    )


def test_the_zone_of_a_draw_and_of_means_worked_by_hand():
    # the licensor's floor takes 10 in all; the draws can bear 6, 10, 11 and 25, on the mean 13
    draws = [6.0, 10.0, 11.0, 25.0]
    both = at(draws, 0.02, 0.12).at(np.array([5.0, 1.0, 1.0]), np.array([1, 4, 7]))  # 5 and 2 % are 7 in all, 1 and 12 % are 13
    assert both.licensee.tolist() == [3.0, -7.0, 12.0]  # of the second draw; at 12 %, of the first and the last
    assert at(draws, 0.02, 0.12).means(np.array([1.0]), np.array([1])).licensee.tolist() == [0.0]
    assert _some_fee(at(draws, 0.02), 5.0).tolist() == [False, True, True, True]
    found = _mean_zone(at(draws, 0.02), (5.0, 0.02))
    assert (found.floor, found.ceiling) == (pytest.approx(8.0), pytest.approx(11.0))  # 2 of 10, and of 13, are the royalty
    assert found.open
    # at 12 % the licensee pays 12 whatever the fee, which is more than 6, 10 and 11 but less than the mean
    assert _some_fee(at(draws, 0.12), 5.0).tolist() == [False, False, False, True]
    assert _mean_zone(at(draws, 0.12), (5.0, 0.12)).open
    # at any of several royalties: 2 % suits three of the draws, 12 % one of these
    assert _some_fee(at(draws, 0.02, 0.12), 5.0).tolist() == [False, True, True, True]
    assert _mean_zone(at(draws, 0.02, 0.12), (5.0, 0.12)).floor == 0.0  # 12 % are more than the floor takes
    # of 3, 7 and 8 the mean is 6: the royalty of 2 leaves it 4, but the floor takes 8
    assert not _some_fee(at([3.0, 7.0, 8.0], 0.02), 5.0).any()
    found = _mean_zone(at([3.0, 7.0, 8.0], 0.02), (5.0, 0.02))
    assert (found.floor, found.ceiling, found.open) == (pytest.approx(8.0), pytest.approx(4.0), False)
    assert math.isnan(_mean_zone(at([1.0], 0.02), (5.0, 0.02)).ceiling)  # the royalty alone is more than it can bear


class Short(Straight):
    """The same, but the licensor stays short of its floor by what a draw is `short`, whatever is paid."""

    def run(self, values):
        found = super().run(values)
        return {**found, LICENSOR: np.minimum(found[LICENSOR], -self.values["short"])}


@pytest.mark.parametrize(("short", "there"), [(2e-4, True), (2e-3, False)])
def test_of_an_offer_of_a_million_a_mean_short_by_less_than_a_billionth_of_it_is_at_the_floor(short, there):
    """A billionth of it is a thousandth. Two draws are short by as much and three times as much, on the mean by 0.0004 or 0.004."""
    drawn = {"bears": np.full(2, 3e6), "short": np.array([short, 3 * short]), UPFRONT: np.full(2, 1e6), ROYALTY: np.full(2, 0.02)}
    found = _mean_zone(_AlongFee(Short(), drawn, (0.02,)), (1e6, 0.02))
    assert (found.open, math.isnan(found.floor)) == (there, not there)


def test_a_limit_that_bends_is_found_and_one_that_is_never_reached_is_none():
    bent = rising_zero(lambda x, _: np.where(x < 2, 0.5 * x - 4, 2 * x - 7), np.zeros(1), 1.0)  # 3.5, on the steeper part
    assert bent.tolist() == [pytest.approx(3.5)]
    assert math.isnan(rising_zero(lambda x, _: -1.0 - x, np.zeros(1), 1.0)[0])
    assert math.isnan(rising_zero(lambda x, _: -1.0 + 0.0 * x, np.zeros(1), 1.0)[0])


def test_without_ranges_or_with_draws_that_are_refused_the_reason_stands_in_place_of_a_probability():
    case = three_prices().load()
    assert probabilities(tiny()) is None
    assert likely_report.found_or_why(case, 0, 0, deal=True) == likely_report.NOT_DRAWN
    bare = plan_inputs()
    del bare.tables["ranges.csv"]
    assert "no ranges.csv" in likely_report.found_or_why(bare.load(), 10, 0, deal=True)
    wide = plan_inputs().row("ranges.csv", "down,tools.saw.planned_downtime,uniform,10,50,99,%,down,after_purchase").load()
    why = likely_report.found_or_why(wide, 50, 0, deal=True)
    assert why.startswith("No probability is computed, as a draw is refused: tools.csv")


def test_plan_and_deal_say_the_probabilities_with_error_seed_and_the_zone_of_means(tmp_path):
    folder = three_prices().write(tmp_path)
    case = probabilities_module.probabilities(three_prices().load(), 400, 5)
    words = likely_report.likely(case.both)
    assert f"standard error {100 * case.both.error:.1f} %" in words
    drawn = ("--draws", "400", "--seed", "5")
    plan, deal = (" ".join(run(name, folder, "probability", *drawn, "--all").output.split()) for name in ("plan", "deal"))
    assert likely_report.likely(case.npv) in run("plan", folder, *drawn).output
    claim = f"The probability that both gain is {words}, that a zone exists {likely_report.likely(case.zone)}."
    assert claim in " ".join(run("deal", folder, *drawn).output.split())
    assert f"The probability of a net present value above zero is {likely_report.likely(case.npv)}." in plan
    assert f"The probability that both gain by these terms is {words}." in deal
    assert "the licensor gains is 100 % (every draw, so at least 99.2 %)" in deal  # 3/400 of draws may go unseen
    assert "On the mean of the draws, no fee does, at no royalty tried." in deal
    for printed in (plan, deal):
        assert "From 400 draws, seed 5. Ranges are independent except for their groups. The plant is as bought." in printed


def test_the_fees_of_the_mean_stand_beside_those_at_the_stated_values():
    fee = SimpleNamespace(both=((2e5, 9e5),))
    found = Probabilities(10, 0, Probability(0.5, 10), mean_zone=MeanZone(3e5, 7e5, True))
    assert likely_report.zone_of_means(demo(), found, fee) == (
        "At the royalty offered, a fee from EUR 200,000 to EUR 900,000 suits both at the stated values. On the mean of the "
        "draws, a fee from EUR 300,000 to EUR 700,000 does."
    )
    found = Probabilities(10, 0, Probability(0.5, 10), mean_zone=MeanZone(8e5, 7e5, True))
    assert likely_report.zone_of_means(demo(), found, fee).endswith("no fee does; another royalty would.")


# one plant under one headline


def figures_of(command, folder, figures):
    """Figures that a command prints for programs, in the units that it prints."""
    printed = json.loads(run(command, folder, "--json").output)
    return {figure: printed[figure]["value"] for figure in figures}


CASES = pytest.mark.parametrize("make", [
    pytest.param(lambda _: DEMO, id="facade", marks=pytest.mark.slow),
    pytest.param(lambda _: FIELD, id="field", marks=pytest.mark.slow),
    pytest.param(lambda path: priced("uniform").write(path), id="own"),
])  # fmt: skip


@CASES
def test_each_study_starts_from_the_figure_that_cost_plan_and_deal_print(make, tmp_path):
    folder = make(tmp_path)
    headline = figures_of("cost", folder, [WATT]) | figures_of("plan", folder, [NPV]) | figures_of("deal", folder, [LICENSEE])
    silane = "prices.silane.price"
    for figure, value in headline.items():
        near = pytest.approx(value, rel=1e-9)
        assert json.loads(run("rank", folder, "tornado", "--figure", figure, "--json").output)["present"] == near, figure
        risk = json.loads(run("risk", folder, "--figure", figure, "--draws", "4", "--json").output)["rows"]
        assert next(row["value"] for row in risk if row["what"] == "all inputs as they are") == near
        changed = run("waterfall", folder, "--figure", figure, "--set", f"{silane}=90", "--json")
        assert json.loads(changed.output)["before"] == near
        swept = run("sweep", folder, "--vary", f"{silane}=62, 100 {unit_of(folder)}", "--figure", figure, "--json").output
        assert json.loads(swept)["rows"][0 if unit_of(folder) == "USD/kg" else 1][figure] == near
        rows = json.loads(run("compare", folder, "--all-scenarios", "--figure", figure, "--json").output)["rows"]
        assert next(row["value"] for row in rows if row["scenario"] == "as it is" and row["figure"] == figure) == near


def unit_of(folder) -> str:
    """The unit of the price of silane: 62 USD/kg in the demos, 100 EUR/kg in the tiny line."""
    return "USD/kg" if folder in (DEMO, FIELD) else "EUR/kg"


def test_tools_that_can_make_more_than_planned_sell_no_more_in_a_study(tmp_path):
    """The demo's chambers could make 4 % more than is planned; nothing of that is sold, so a better yield earns no revenue."""
    output = evaluate(demo()).line.output
    assert output.capacity > 1.02 * output.good_modules
    figures = ("--figure", "line.output.good_modules", "--vary", "steps.deposition.first_pass_yield=97.4, 98.8 %", "--json")
    rows = json.loads(run("sweep", DEMO, *figures).output)["rows"]
    assert [row["line.output.good_modules"] for row in rows] == pytest.approx([output.good_modules] * 2, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("words", [
    ("sweep", "--vary", "prices.silane.price"), ("rank", "tornado"), ("risk", "--draws", "4"), ("rank", "--points", "4"),
    ("solve", "--input", "prices.silane.price", "--value", "1.6"), ("waterfall", "--set", "prices.silane.price=80"),
])  # fmt: skip
def test_each_study_names_its_plant_in_the_first_line(words):
    name, *rest = words
    assert run(name, DEMO, *rest).output.splitlines()[0].endswith("(plant as bought)")
    assert run(name, DEMO, *rest, "--resize").output.splitlines()[0].endswith("(tools sized for every value)")


# scenarios that state their plant


@pytest.mark.slow
def test_an_event_meets_the_plant_bought_without_knowing_of_it():
    """Three chambers were bought for 97.4 %; with 75 % they make 75/97.4 of what they can, and no fourth one is there."""
    output = evaluate(demo()).line.output
    printed = json.loads(run("line", DEMO, "--scenario", "three_blows", "--json").output)
    assert printed["line.tools.deposition.tools"]["value"] == 3.0
    assert printed["line.output.good_modules"]["value"] == pytest.approx(output.capacity * 75 / 97.4, rel=1e-9)
    frozen = ("--all-scenarios", "--frozen", "--figure", "line.output.good_modules")
    rows = json.loads(run("compare", DEMO, *frozen, "--json").output)["rows"]
    assert {row["scenario"]: row["value"] for row in rows}["three_blows"] == printed["line.output.good_modules"]["value"]


def with_scenario(folder, text):
    """The tiny line with a scenario `slow`: the saw takes half as long again."""
    Inputs().write(folder)
    (folder / "scenarios").mkdir()
    (folder / "scenarios" / "slow.yaml").write_text(f"title: slow\nstory: s\n{text}")
    return folder


SLOW = "set: {steps.cut.process_time: 135 s}\n"


def test_the_same_change_as_a_design_and_as_an_event(tmp_path):
    """87,500 passes of the saw x 135 s = 3,281.25 h are 3.75 saws of 875 h: four are bought; three make 3/3.75 of the output."""
    design = with_scenario(tmp_path, f"plant: designed\n{SLOW}")
    saws, watts = "line.tools.saw.tools", "line.output.stabilised_watts"
    figures = figures_of("line", design, [saws, watts])
    assert (figures[saws], figures[watts]) == (3.0, 1.08e6)

    def scenario(*more):
        printed = json.loads(run("line", design, "--scenario", "slow", *more, "--json").output)
        return printed[saws]["value"], printed[watts]["value"]

    assert scenario() == (4.0, pytest.approx(1.08e6))
    (design / "scenarios" / "slow.yaml").write_text(f"title: slow\nstory: s\nplant: as_bought\n{SLOW}")
    assert scenario() == (3.0, pytest.approx(1.08e6 * 3 / 3.75))


REFUSED = {
    "no plant": (SLOW, "scenarios/slow.yaml, 'plant': found nothing; allowed: designed (tools are sized for the scenario) or "
                       "as_bought (an event"),
    "another plant": (f"plant: as_bougt\n{SLOW}", "found 'as_bougt'"),
    "nearest": (f"plant: as_bougt\n{SLOW}", "did you mean 'as_bought'?"),
    "a text in an event": ("plant: as_bought\nset: {steps.cut.tool: stamp}\n",
                           "scenarios/slow.yaml, 'steps.cut.tool': found a text with plant: as_bought; allowed: numbers only"),
    "a choice in an event": ("plant: as_bought\nuse: {finish: special}\n",
                             "scenarios/slow.yaml, 'use.finish': found 'special' with plant: as_bought; allowed: no use in an "
                             "event"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_a_scenario_without_its_plant_or_an_event_that_changes_structure_is_refused(name, tmp_path):
    text, message = REFUSED[name]
    folder = with_scenario(tmp_path, text)
    for command in (("check",), ("cost", "--scenario", "slow"), ("compare", "--all-scenarios")):
        result = run(command[0], folder, *command[1:])
        assert result.exit_code == 2
        assert message in result.output


def test_an_event_cannot_be_resized():
    result = run("risk", DEMO, "--scenario", "three_blows", "--resize")
    assert result.exit_code == 2
    assert "an event that hits the plant as bought" in result.output


def test_saving_states_the_plant_and_says_the_default(tmp_path):
    folder = Inputs().write(tmp_path)
    words = ("--title", "t", "--story", "s", "--set", "steps.cut.process_time=135 s")
    one = run("save", folder, "one", *words).output
    assert "Plant: designed (tools are sized for the scenario), as --plant was not given." in one
    assert "Plant: as_bought (an event: " in run("save", folder, "two", *words, "--plant", "as_bought").output
    on_top = run("save", folder, "three", "--title", "t", "--story", "s", "--scenario", "two", "--set", "site.crews=3").output
    assert "Plant: as_bought" in on_top
    texts = [(folder / "scenarios" / f"{name}.yaml").read_text() for name in ("one", "two", "three")]
    assert [text.split("plant: ")[1].splitlines()[0] for text in texts] == ["designed", "as_bought", "as_bought"]
    refused = run("save", folder, "four", "--title", "t", "--story", "s", "--set", "steps.cut.stage=x", "--plant", "as_bought")
    assert refused.exit_code == 2
    assert "'steps.cut.stage': found a text with plant: as_bought" in refused.output
    assert not (folder / "scenarios" / "four.yaml").exists()


def test_a_waterfall_to_an_event_holds_the_tools(tmp_path):
    """The move is that of the two headlines, and no tool that was bought is among what moved it."""
    shown = json.loads(run("waterfall", DEMO, "--scenario", "three_blows", "--figure", NPV, "--json").output)
    ends = [json.loads(run("plan", DEMO, *more, "--json").output)[NPV]["value"] for more in ((), ("--scenario", "three_blows"))]
    assert [shown["before"], shown["after"]] == pytest.approx(ends, rel=1e-9)
    assert {row["changed"] for row in shown["rows"]} == {"steps.deposition", "schedule", "sales.facade", "sales.glaziers"}
    assert sum(row["part"] for row in shown["rows"]) == pytest.approx(ends[1] - ends[0], rel=1e-6)


@pytest.mark.slow
def test_a_term_moved_by_one_unit_is_as_probable_as_in_a_case_with_that_term():
    case = demo()
    moved = likely_terms(case, 200, 0)
    now = probabilities(case, 200, 0).both.share
    assert moved
    assert all(each.both.share != now for each in moved)
    for each in (moved[0], moved[-1]):
        step = step_of(case, each.address)[0] * (1 if each.up else -1)
        whole = probabilities(with_values(case, {each.address: float(value_at(case, each.address)) + step}), 200, 0)
        assert (each.licensor, each.licensee, each.both) == (whole.licensor, whole.licensee, whole.both)
    assert likely_terms(case, 0, 0) == likely_terms(tiny(), 10, 0) == []


def test_quantiles_and_the_probability_of_more_are_counted_over_the_draws_of_risk():
    case = as_bought(demo())
    drawn = run_risk(case, [WATT, NPV], 300, 3).figures
    found = quantiles_of(demo(), [WATT, NPV], 300, 3)
    assert [each.value for each in found[NPV]] == np.quantile(drawn[NPV], (0.1, 0.5, 0.9)).tolist()
    assert probability_of_more(demo(), NPV, WATT, 300, 3) == Probability(float(np.mean(drawn[NPV] > drawn[WATT])), 300)
    assert quantiles_of(demo(), [WATT], 0, 3) == {}
    assert probability_of_more(demo(), NPV, WATT, 0, 3) is None


def test_the_floor_and_the_lowest_cash_are_shown_with_their_quantiles():
    deal, cash = (run(*words, "--draws", 100, "--seed", 1).output for words in (("deal", DEMO, "floor"), ("plan", DEMO, "cash")))
    low, middle, high = quantiles_of(demo(), ["deal.licensor.floor"], 100, 1)["deal.licensor.floor"]
    shown = [amount(each.value, "EUR") for each in (low, middle, high)]
    assert f"the floor is {shown[0]} (P10), {shown[1]} (P50), {shown[2]} (P90)" in deal
    deep, *_ = quantiles_of(demo(), ["plan.project.low_point"], 100, 1)["plan.project.low_point"]
    assert f"the lowest cash is {amount(deep.value, 'EUR')} (P10)" in cash
