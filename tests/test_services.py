"""What services bring: the laws, what is refused, the command."""

from __future__ import annotations

import dataclasses
import json

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.addresses import replaced, value_at
from costmodel.case.load import load_case
from costmodel.case.whole_case import with_held
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate
from costmodel.studies.draws import Draws
from costmodel.studies.negotiation.services import Plans, _Asked, brought_by_services
from costmodel.studies.waterfall import coalitions

from .cases import DEMO, demo, table
from .plans import plan_inputs, planned
from .refusals import faults
from .service_laws import LAWS, PRICE, alike_services_bring_alike, effect, found, parts_add_up_to_all_services, serviced

HEADER = "id,title,service,address,how,change [unit],unit,probability [%],begin [month],end [month],in_plan"
GOOD = "shorter,a ramp,deliveries.work,schedule.ramp_stretch,multiplies,90,%,60,24,48,no"


def answered(*words: str) -> str:
    """What `deal` says of the demo; it must not fail."""
    result = CliRunner().invoke(main, ["deal", str(DEMO), *words])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_services_keep_the_law(law):
    assert list(law(planned())) == []


@pytest.mark.parametrize("law", [alike_services_bring_alike, parts_add_up_to_all_services], ids=lambda law: law.__name__)
def test_services_keep_the_law_where_the_licensor_has_shares(law):
    assert list(law(replaced(planned(), {"licence.equity_share": 0.2}))) == []


def test_the_plan_of_the_demo_as_stated_is_that_of_the_deal():
    deal, plan = evaluate(as_bought(demo())).deal, brought_by_services(demo(), draws=0).plans[0]
    assert plan.licensor == pytest.approx(float(deal.licensor.npv), abs=1e-3)
    assert plan.licensee == pytest.approx(float(deal.licensee.npv), abs=1e-3)
    assert plan.irr == pytest.approx(float(evaluate(as_bought(demo())).plan.project.irr), abs=1e-12)


def test_a_run_that_is_asked_up_to_a_quarter_gives_what_a_run_of_all_quarters_gives(monkeypatch):
    """Effects that begin and end in different quarters, some drawn: each run is then asked up to another quarter."""
    less = brought_by_services(demo(), draws=64)
    monkeypatch.setattr(_Asked, "until", lambda self, quarter, once, whole=_Asked.until: whole(self, len(self.names), True))
    assert brought_by_services(demo(), draws=64) == less


def test_services_of_the_demo_add_up_to_the_plan_with_all_less_the_plan_with_none():
    got = brought_by_services(demo(), draws=0)
    none, every = got.plans[1:3]
    assert sum(each.net[1] for each in got.services) == pytest.approx(every.licensee - none.licensee, abs=1e-3)
    assert sum(each.net[0] for each in got.services) == pytest.approx(every.licensor - none.licensor, abs=1e-3)


def test_a_case_without_effects_computes_what_it_computed_before():
    without = with_held(demo(), {"service_effects": {}})
    for side in ("licensor", "licensee"):
        ours, theirs = (getattr(evaluate(case).deal, side) for case in (demo(), without))
        assert (ours.npv, ours.gain) == (theirs.npv, theirs.gain)


def test_an_effect_that_begins_after_the_plan_brings_nothing():
    late = effect("sales.all.price", "multiplies", 2.0, begin=1e9, end=2e9)
    assert found(planned(), late).services[0].effects == (0.0, 0.0)


def test_a_star_changes_every_row_of_a_table():
    rows = [effect(f"tools.{name}.price", "multiplies", 0.9, in_plan="yes") for name in planned().tools]
    one = effect("tools.*.price", "multiplies", 0.9, in_plan="yes")
    each, all_of_them = (found(planned(), *effects).services[0].effects[1] for effects in (rows, [one]))
    assert each == pytest.approx(all_of_them, abs=1e-6)
    assert each > 0


def test_an_effect_that_takes_an_input_out_of_its_range_is_refused_by_name():
    with pytest.raises(InputFaults, match=r"row_0") as problem:
        found(planned(), effect("steps.cut.first_pass_yield", "adds", 0.9))
    assert "steps.cut.first_pass_yield" in str(problem.value)


@pytest.mark.parametrize(
    ("row", "word"),
    [
        (GOOD.replace("deliveries.work", "deliveries.wrok"), "did you mean 'deliveries.work'"),
        (GOOD.replace("schedule.ramp_stretch", "schedule.ramp_strech"), "did you mean 'ramp_stretch'"),
        (GOOD.replace("schedule.ramp_stretch", "deliveries.work.price"), "the address of a number that the model reads"),
        (GOOD.replace("schedule.ramp_stretch", "schedule.horizon"), "the address of a number that the model reads"),
        (GOOD.replace(",90,%", ",90,EUR"), "1 or %"),
        (GOOD.replace(",90,%", ",0,%"), "a factor above 0"),
        (GOOD.replace("multiplies,90,%", "adds,0.1,EUR"), "a unit that converts to 1"),
        (GOOD.replace(",24,48,", ",24,24,"), "a time after the beginning"),
        (GOOD.replace(",no", ",maybe"), "yes"),
    ],
)
def test_a_row_that_cannot_hold_is_refused(row, word, tmp_path):
    inputs = plan_inputs()
    inputs.tables["service_effects.csv"] = table(f"{HEADER}\n{row}\n")
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any(word in each and "service_effects.csv" in each for each in said), said


def test_a_range_is_on_the_change_of_an_effect_only(tmp_path):
    inputs = plan_inputs()
    inputs.tables["service_effects.csv"] = table(f"{HEADER}\n{GOOD}\n")
    inputs.tables["ranges.csv"] = table(
        "id,address,distribution,low [unit],mode [unit],high [unit],unit,group,known\n"
        "chance,service_effects.shorter.probability,uniform,10,20,30,%,services,after_purchase\n"
    )
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("of service_effects the change only" in each for each in said), said


def test_effects_without_a_deal_are_refused(tmp_path):
    inputs = plan_inputs()
    del inputs.documents["deal.yaml"]
    inputs.tables["service_effects.csv"] = table(f"{HEADER}\n{GOOD}\n")
    said = faults(lambda: load_case(inputs.write(tmp_path)))
    assert any("service_effects.csv without deal.yaml" in each for each in said), said


def two_services():
    """The tiny plan with a second delivery like the first, for which 8,000 are paid."""
    case = planned()
    units = {a.replace("deliveries.work", "deliveries.more"): unit for a, unit in case.entry_units.items()}
    both = case.deliveries | {"more": case.deliveries["work"]}
    case = dataclasses.replace(case, deliveries=both, entry_units=case.entry_units | units)
    return replaced(case, {"deliveries.more.price": 8_000.0})


WORK = ("days", "travel", "pilot_time", "price")


def test_plans_with_and_without_each_service_are_those_of_the_model():
    """The price a tenth or a fifth and a hundredth higher, and the work of a service that is not there nothing, evaluated whole."""
    case = two_services()
    rows = [effect(PRICE, "multiplies", 1.1, service=f"deliveries.{name}") for name in ("work", "more")]
    got = found(case, *rows)
    price = float(case.sales["all"].price)
    factors = {"stated": 1.0, "none": 1.0, "all": 1.21, "deliveries.work": 1.1, "deliveries.more": 1.1}
    away = {"none": ("work", "more"), "deliveries.work": ("work",), "deliveries.more": ("more",)}
    assert [each.title for each in got.plans] == list(factors)
    for each in got.plans:
        none = {f"deliveries.{name}.{field}": 0.0 for name in away.get(each.title, ()) for field in WORK}
        results = evaluate(replaced(as_bought(case), {PRICE: price * factors[each.title], **none}))
        project = results.plan.project
        assert each.npv == pytest.approx(float(project.npv), abs=1e-4)
        assert (each.irr, each.status) == (pytest.approx(float(project.irr), abs=1e-9, nan_ok=True), float(project.irr_status))
        assert each.licensor == pytest.approx(float(results.deal.licensor.npv), abs=1e-4)
        assert each.licensee == pytest.approx(float(results.deal.licensee.npv), abs=1e-4)
        cash = [float(quarter.free_cash) for quarter in results.plan.quarters.values()]
        assert each.recovered == pytest.approx(sum(x for x in cash if x > 0) / -sum(x for x in cash if x < 0), abs=1e-9)


def test_what_a_service_costs_is_paid_and_holds_by_hand():
    """20 days of 500 and a fifth more, 6,000 and 2,000 over four quarters at 5 % a year; 8,000 are paid, at 8 %."""
    case = two_services()
    rows = [effect(PRICE, "multiplies", 1.1, in_plan="yes"), effect(PRICE, "multiplies", 1.2, in_plan="no"),
            effect(PRICE, "multiplies", 1.1, service="deliveries.more", in_plan="yes")]  # fmt: skip
    work, more = found(case, *rows).services
    cost, paid = (each * sum(rate ** (-k / 4) for k in range(1, 5)) for each, rate in ((5_000, 1.05), (2_000, 1.08)))
    assert (work.address, work.cost, work.paid, work.in_plan) == ("deliveries.work", pytest.approx(cost), 0.0, "in part")
    assert (more.address, more.cost, more.paid) == ("deliveries.more", pytest.approx(cost), pytest.approx(paid))
    assert more.in_plan == "yes"
    assert work.work[0] == pytest.approx(-cost, abs=1e-4)  # nothing is paid for it
    got = found(case, effect(PRICE, "multiplies", 1.1))
    assert (got.services[0].in_plan, got.without_effects) == ("no", ("deliveries.more",))
    assert (got.services[0].licensee, got.services[0].both, got.draws) == (None, None, 0)
    net = dataclasses.replace(work, work=(1.0, 20.0), effects=(300.0, 4_000.0)).net
    assert net == (301.0, 4_020.0)


def test_who_gains_by_a_service_over_the_draws():
    """Claims of 400,000 after a year halve where it succeeds. The licensee loses by that, both together gain more than its work."""
    case = dataclasses.replace(planned(), ranges={})
    row = effect("licensor.damages", "multiplies", 0.5, probability=0.3)
    got = found(case, row, draws=1_000, licensor__damages=400_000.0)
    assert (got.draws, got.seed, got.services[0].licensee.share) == (1_000, 0, 0.0)
    assert got.services[0].both.share == pytest.approx(0.3, abs=4 * (0.3 * 0.7 / 1_000) ** 0.5)
    assert got.services[0].both.draws == 1_000
    sure = effect(PRICE, "multiplies", 1.0)
    assert found(case, row, sure, draws=100, licensor__damages=400_000.0).draws == 100  # one of two may fail
    certain = found(case, dataclasses.replace(row, probability=1.0), draws=1_000, licensor__damages=400_000.0)
    assert (certain.draws, certain.services[0].both) == (0, None)  # there is nothing to draw
    impossible = found(case, dataclasses.replace(row, probability=0.0), draws=1_000, licensor__damages=400_000.0)
    assert (impossible.draws, impossible.services[0].both) == (0, None)


def test_effects_of_one_service_succeed_each_by_itself():
    """Two that are alike in all, each at even odds: in three of four draws the price is higher by at least one of them."""
    case = dataclasses.replace(planned(), ranges={})
    row = effect(PRICE, "multiplies", 1.1, probability=0.5)
    got = found(case, row, row, draws=400)
    assert got.services[0].licensee.share == pytest.approx(0.75, abs=4 * (0.75 * 0.25 / 400) ** 0.5)


def test_eight_services_with_effects_at_most():
    names = [f"more_{k}" for k in range(9)]
    case = planned()
    for count in (8, 9):
        work = dict.fromkeys(names[:count], case.deliveries["work"])
        many = dataclasses.replace(case, deliveries=case.deliveries | work)
        rows = [effect(PRICE, "multiplies", 1.1, service=f"deliveries.{name}") for name in work]
        if count == 8:
            assert len(Plans(serviced(many, *rows)).services) == 8
            continue
        with pytest.raises(InputFaults) as problem:
            Plans(serviced(many, *rows))
        (fault,) = problem.value.faults
        assert (fault.file, fault.row, fault.column, fault.found, fault.allowed) == (
            "service_effects.csv", None, "service", "9 services", "at most 8",
        )  # fmt: skip


def test_a_change_that_is_drawn_pays_in_the_draws_in_which_it_raises_the_price(tmp_path):
    """A factor of 0.8 to 1.8, in force all along: above 1 the licensee gains, below it loses."""
    inputs = plan_inputs()
    row = "dearer,a price,deliveries.work,sales.all.price,multiplies,110,%,100,0,480,no"
    inputs.tables["service_effects.csv"] = table(f"{HEADER}\n{row}\n")
    inputs.row("ranges.csv", "factor,service_effects.dearer.change,uniform,80,110,180,%,services,after_purchase")
    case = inputs.load()
    changes = Draws(as_bought(case), 4).values(0, 300)["service_effects.dearer.change"]
    got = brought_by_services(case, draws=300, seed=4)
    assert got.services[0].licensee.share == float(np.mean(changes > 1))
    assert 0.7 < got.services[0].licensee.share < 0.9
    assert (got.draws, got.seed) == (300, 4)


@pytest.mark.slow
def test_the_command_says_which_services_pay_with_their_probability():
    said = " ".join(answered("services", "--draws", "200", "--all").split())
    got = brought_by_services(demo(), draws=200)
    paying = [each for each in got.services if each.net[1] > 0]
    probable = [each for each in paying if each.licensee.share >= 0.5]
    assert f"Of {len(got.services)} services with stated effects, {len(probable)} probably pay" in said
    leaving = [each for each in got.services if each.net[0] > 0]
    pay = f"To the licensor {len(leaving)} pay"
    assert (pay if leaving else "None of them pays for itself to the licensor") in said
    assert len(probable) < len(paying)  # one gains by expected value, but in most draws it does not
    for each in got.services:
        doubtful = each in paying and each not in probable
        share = f"{100 * each.licensee.share:.2g} %"
        assert (f"but in {share} of draws only" if doubtful else f"({share})") in said


def test_the_tables_of_services_are_there_for_programs():
    found_tables = json.loads(answered("services", "--draws", "0", "--json"))
    assert "What each service costs and brings, EUR" in json.dumps(found_tables)


def test_a_case_without_effects_is_told_so(tmp_path):
    folder = plan_inputs().write(tmp_path)
    result = CliRunner().invoke(main, ["deal", str(folder), "services"])
    assert "no service_effects.csv" in result.output
    assert serviced(planned()).service_effects == {}


def test_draws_run_together_give_what_each_gives_by_itself() -> None:
    """Of draws run together, pairs that are alike run once: each must find its own figures again."""
    plans = Plans(demo())
    there = coalitions(len(plans.services))[[0, 3, 5, 15]]
    effects = plans.own_effects(there)
    price = value_at(plans.plant, "prices.silane.price")
    drawn = {"prices.silane.price": price * np.array([1.0, 1.2, 0.9])}
    drawn |= {each.name: np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]][k % 2]) for k, each in enumerate(plans.effects)}
    found = plans.worth(there, effects, drawn)
    for k in range(3):
        alone = plans.worth(there, effects, {name: values[k : k + 1] for name, values in drawn.items()})
        for side in ("npv", "licensor", "licensee"):
            assert getattr(found, side)[:, k].tolist() == pytest.approx(getattr(alone, side)[:, 0].tolist(), rel=1e-9)
    assert len(np.unique(found.npv)) > 3
