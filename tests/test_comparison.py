"""Two cases side by side: what differs, and what moved the cost. Values are worked by hand for the tiny line.

A good module of the tiny line has 0.5 m2 x 80 % x 1,000 W/m2 x 10 % x 75 % = 30 W stabilised. Each is packed in one box of
1.50 EUR, which is bought for good modules only and has no loss: a box dearer by 0.60 EUR adds 0.60/30 = 0.02 EUR to each watt.
"""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from costmodel.case.differences import differences, same_inputs
from costmodel.case.fingerprint import fingerprint
from costmodel.command.main import main
from costmodel.model.scenarios import open_case
from costmodel.present import comparison_report
from costmodel.studies.factory.comparison import compare

from .cases import DEMO, FIELD, Inputs, demo, pooled_inputs, tiny


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def dearer_box() -> Inputs:
    """A box of 2.10 EUR, by an offer."""
    inputs = Inputs().cell("prices.csv", "box", "price", "2.1").cell("prices.csv", "box", "kind", "quote")
    return inputs.cell("prices.csv", "box", "source", "offer 4").cell("prices.csv", "box", "by", "buyer")


def folders(tmp_path, *written: Inputs) -> list[Path]:
    made = [tmp_path / f"case_{number}" for number in range(len(written))]
    for folder, inputs in zip(made, written):
        folder.mkdir()
        inputs.write(folder)
    return made


def test_one_figure_moves_the_cost_of_a_watt_by_what_is_worked_by_hand():
    shown = compare(tiny(), dearer_box().load())
    (difference,) = shown.found.inputs
    assert (difference.address, difference.before, difference.after, difference.unit) == ("prices.box.price", 1.5, 2.1, "EUR/piece")
    assert difference.change == pytest.approx(0.4)
    assert shown.effects[0].moved == pytest.approx(0.02, rel=1e-9)
    assert shown.moved == pytest.approx(0.02, rel=1e-9)
    assert shown.together == pytest.approx(0.0, abs=1e-12)
    assert shown.elsewhere == 0.0
    old, new = shown.found.evidence["prices.box"]
    assert (old.kind, old.by, new.kind, new.source, new.by) == ("invented", "test author", "quote", "offer 4", "buyer")


def test_what_changes_do_together_stands_apart_from_what_each_does_alone():
    after = dearer_box().cell("prices.csv", "box", "freight", "10").load()
    shown = compare(tiny(), after)
    alone = {effect.addresses: effect.moved for effect in shown.effects}
    assert alone == {
        ("prices.box.price",): pytest.approx(0.60 / 30, rel=1e-9),
        ("prices.box.freight",): pytest.approx(0.10 * 1.50 / 30, rel=1e-9),
    }
    assert shown.together == pytest.approx(0.10 * 0.60 / 30, rel=1e-9)
    assert shown.moved == pytest.approx((2.10 * 1.10 - 1.50) / 30, rel=1e-9)


def test_rows_that_come_and_go_move_the_rest():
    after = dearer_box().row("materials.csv", "second_box,press,box,2,piece,module,0").load()
    shown = compare(tiny(), after)
    assert (shown.found.added, shown.found.dropped) == (["materials.second_box"], [])
    assert shown.effects[0].moved == pytest.approx(0.02, rel=1e-9)
    assert shown.together == pytest.approx(0.0, abs=1e-12)
    assert shown.elsewhere == pytest.approx(2 * 2.10 / 30, rel=1e-9)
    back = compare(after, tiny())
    assert (back.found.added, back.found.dropped) == ([], ["materials.second_box"])
    assert back.effects[0].moved == pytest.approx(-3 * 0.02, rel=1e-9)
    assert back.elsewhere == pytest.approx(-2 * 1.50 / 30, rel=1e-9)


def test_a_currency_moves_the_cost_together_with_the_prices_stated_in_it():
    after = Inputs().cell("prices.csv", "box", "currency", "USD").cell("prices.csv", "box", "price", "4").load()  # 2 EUR
    shown = compare(tiny(), after)
    (effect,) = shown.effects
    assert set(effect.addresses) == {"prices.box.currency", "prices.box.price"}
    assert effect.moved == pytest.approx(0.5 / 30, rel=1e-9)
    price = next(d for d in shown.found.inputs if d.address == "prices.box.price")
    assert (price.unit, price.unit_after, price.change) == ("EUR/piece", "USD/piece", None)


def test_the_same_number_in_another_currency_is_a_difference():
    found = differences(tiny(), Inputs().cell("prices.csv", "box", "currency", "USD").load())
    assert [d.address for d in found.inputs] == ["prices.box.price", "prices.box.currency"]


def test_a_change_that_cannot_be_made_alone_is_said_to_be_so():
    shown = compare(tiny(), pooled_inputs().load())
    assert [(effect.addresses, effect.moved) for effect in shown.effects] == [(("steps.press.tool",), None)]
    assert shown.found.dropped == ["tools.stamp", "tool_utilities.stamp_electricity"]
    assert (shown.together, shown.elsewhere) == (None, shown.moved)


def test_other_units_in_headers_are_no_difference(tmp_path):
    inputs = Inputs().header("steps.csv", "process_time", "process_time [min]").header("tools.csv", "life", "life [h]")
    for step, minutes in (("cut", "1.5"), ("coat", "18"), ("press", "5")):
        inputs.cell("steps.csv", step, "process_time", minutes)
    for tool, hours in (("saw", 10), ("coater", 5), ("stamp", 10)):
        inputs.cell("tools.csv", tool, "life", str(hours * 8760))
    assert differences(tiny(), inputs.load()).none
    inputs.cell("steps.csv", "cut", "process_time", "2")
    (difference,) = differences(tiny(), inputs.load()).inputs
    assert (difference.before, difference.after, difference.unit) == (90.0, 120.0, "s")


def test_limits_of_sliders_differ_without_moving_the_cost():
    shown = compare(tiny(), Inputs().cell("ranges.csv", "saw_price", "high", "160000").load())
    assert [(effect.addresses, effect.moved) for effect in shown.effects] == [(("ranges.saw_price.high",), 0.0)]


def test_another_order_of_steps_is_a_difference():
    inputs = Inputs()
    header, cut, coat, press = inputs.tables["steps.csv"]
    inputs.tables["steps.csv"] = [header, coat, cut, press]
    shown = compare(tiny(), inputs.load())
    assert shown.found.reordered
    assert not shown.found.none
    assert shown.found.inputs == []
    assert shown.elsewhere == shown.moved != 0.0
    assert "the steps are in another order" in comparison_report.compared(shown)[0].lower()
    assert not same_inputs(tiny(), inputs.load())


def test_choices_that_differ_are_named():
    after = open_case(DEMO, use={"back_contact": "aluminium"})
    shown = compare(demo(), after)
    assert shown.found.choices == {"back_contact": ("silver", "aluminium")}
    assert comparison_report.choices_that_differ(shown) == "back contact: silver before, aluminium after"


def test_the_parts_of_a_movement_add_up_whatever_differs():
    use = {"cleaning": "in_chamber", "second_junction": "microcrystalline"}
    for after in (open_case(DEMO, "first_year"), open_case(DEMO, use=use)):
        shown = compare(demo(), after)
        parts = [effect.moved or 0.0 for effect in shown.effects] + [shown.together or 0.0, shown.elsewhere]
        assert sum(parts) == pytest.approx(shown.moved, rel=1e-9)


@pytest.mark.parametrize("evidence", [False, True])
def test_no_difference_is_said_plainly(evidence, tmp_path):
    after = Inputs().cell("prices.csv", "box", "kind", "quote") if evidence else Inputs()
    first, second = folders(tmp_path, Inputs(), after)
    output = " ".join(run("compare", first, second, "--all").output.split())
    assert output.startswith("Tiny line No difference: both have the same inputs, and the cost of a stabilised watt is EUR ")
    assert "Inputs that differ" not in output
    assert ("1 row name" in output) == ("prices.box" in output) == evidence


def test_people_read_what_differs_who_says_so_and_what_it_moves(tmp_path):
    first, second = folders(tmp_path, Inputs(), dearer_box().row("materials.csv", "second_box,press,box,2,piece,module,0"))
    output = run("compare", first, second, "--all").output
    lines = [" ".join(line.split()) for line in output.splitlines()]
    assert lines[1] == "1 input differs, 1 row added."
    assert lines[2].startswith("The cost of a stabilised watt is EUR ")
    assert f"Before: Tiny line (case_0, {fingerprint(tiny())})" in lines
    assert "prices.box.price 1.5 EUR/piece 2.1 EUR/piece +40.0 % +0.0200" in lines
    assert "rows added or dropped, order of steps +0.140" in lines
    assert "prices.box before invented invented for this test 2026-11-02 test author" in lines
    assert "prices.box after quote offer 4 2026-11-02 buyer" in lines
    assert "materials.second_box added invented invented for this test 2026-11-02 test author" in lines
    assert "Good modules a year 36,000 36,000 0 0 %" in lines  # 1.08 MW of 30 W


def test_programs_read_the_same(tmp_path):
    first, second = folders(tmp_path, Inputs(), dearer_box())
    data = json.loads(run("compare", first, second, "--json").output)
    assert data["inputs"] == {"prices.box.price": {
        "before": 1.5, "unit": "EUR/piece", "after": 2.1, "unit_after": "EUR/piece", "change": pytest.approx(0.4),
        "moved_alone": pytest.approx(0.02),
    }}  # fmt: skip
    assert data["moved"]["unit"] == "EUR/Wp_stabilised"
    assert data["moved"]["all"] == pytest.approx(0.02)
    assert data["results"]["ledger.total.cost_per_module"]["unit"] == "EUR/module"
    before, after = (data["results"]["ledger.total.cost_per_module"][side] for side in ("before", "after"))
    assert after - before == pytest.approx(0.60)
    assert [(row["row"], row["in"], row["by"]) for row in data["rows"]] == [
        ("prices.box", "before", "test author"), ("prices.box", "after", "buyer"),
    ]  # fmt: skip


def test_scenarios_of_one_case_are_compared_and_changes_are_those_of_the_case_after():
    data = json.loads(
        run("compare", DEMO, "--from-scenario", "first_year", "--scenario", "dear_silver", "--set", "site.crews=3", "--json").output
    )
    shown = data["inputs"]["metals.silver.quote"], data["inputs"]["steps.deposition.first_pass_yield"]
    assert [(one["before"], one["after"]) for one in shown] == [(1500.0, 3000.0), (92.0, pytest.approx(97.4))]
    assert (data["inputs"]["site.crews"]["before"], data["inputs"]["site.crews"]["after"]) == (4.0, 3.0)


def test_any_figure_may_be_compared(tmp_path):
    shown = compare(tiny(), dearer_box().load(), "ledger.total.cost_per_module")
    assert (shown.moved, shown.effects[0].moved) == (pytest.approx(0.60), pytest.approx(0.60))  # one box a module
    first, second = folders(tmp_path, Inputs(), dearer_box())
    data = json.loads(run("compare", first, second, "--figure", "ledger.total.cost_per_module", "--json").output)
    assert data["moved"] | {"all": 0, "together": 0} == {
        "figure": "ledger.total.cost_per_module", "unit": "EUR/module", "all": 0, "together": 0, "rows_and_order": 0.0,
    }  # fmt: skip
    assert data["moved"]["all"] == data["inputs"]["prices.box.price"]["moved_alone"] == pytest.approx(0.60)
    refused = run("compare", first, second, "--figure", "ledger.total.cost_per_modul")
    assert refused.exit_code == 2
    assert "did you mean 'ledger.total.cost_per_module'" in " ".join(refused.output.split())
    assert run("compare", first, second, "--figure", "line.output.capacity", "--figure", "line.output.line_yield").exit_code == 2


def test_terms_move_the_deal_and_the_answer_begins_with_it():
    dearer = open_case(DEMO, changes={"licence.upfront": "1350000 EUR"})
    shown = compare(demo(), dearer)
    said = comparison_report.compared(shown)
    assert shown.was.address == "deal.licensor.gain"
    assert shown.moved > 0
    assert [was.address for was, _ in shown.others] == ["deal.licensee.gain", "plan.project.npv"]
    assert said[0] == "1 input differs."
    assert said[1].startswith("The licensor's gain above its floor is EUR ")
    titles = [row[0] for row in comparison_report.results_table(shown).rows]
    assert {"Licensor's gain above its floor", "Licensee's gain above its best alternative"} <= set(titles)
    back = compare(dearer, demo())
    assert back.moved == pytest.approx(-shown.moved, rel=1e-9)


@pytest.mark.slow
def test_a_round_of_the_negotiation_is_held_against_the_draft():
    lines = run("compare", DEMO, "--round", "2_answer").output.splitlines()
    assert lines[2].startswith("The licensor's gain above its floor is EUR ")


def test_a_rate_that_passes_zero_changes_sign_and_a_share_moves_by_points():
    changes = {"sales.facade.change": "-4", "steps.deposition.first_pass_yield": "95"}  # of +1 %/year and 97.4 %
    table = comparison_report.inputs_table(compare(demo(), open_case(DEMO, changes=changes), "plan.project.npv"))
    cells = {row[0]: row[1:4] for row in table.rows}
    assert cells["sales.facade.change"] == ["+1 %/year", "−4 %/year", "changes sign"]
    assert cells["steps.deposition.first_pass_yield"] == ["97.4 %", "95 %", "−2.40 points"]


def test_a_figure_without_a_value_says_why():
    shown = compare(demo(), open_case(DEMO, "three_blows"), "plan.owners.irr")
    went = comparison_report.compared(shown)[1]
    assert went.startswith("The return of the owners is ")
    assert "without a value (less than half of the outlay" in went
    table = comparison_report.inputs_table(shown)
    assert table.rows[-1][2] == table.rows[-1][-1] == "–"


def test_changed_values_whose_source_stayed_are_marked(tmp_path):
    stale = Inputs().cell("prices.csv", "box", "price", "2.1")
    first, second, sourced = folders(tmp_path, Inputs(), stale, dearer_box())
    said = "Values changed, but source, date and person stayed: prices.box."
    lines = [" ".join(line.split()) for line in run("compare", first, second, "--all").output.splitlines()]
    assert said in lines
    assert "prices.box unchanged invented invented for this test 2026-11-02 test author" in lines
    assert said not in run("compare", first, sourced, "--all").output
    assert said not in run("compare", first, "--set", "prices.box.price=2.1", "--all").output  # supposed, not stated


@pytest.mark.parametrize(("words", "message"), [
    ((DEMO,), "found one case only; allowed: another case folder, or a change by --scenario, --set, --use or --round"),
    ((DEMO, FIELD), "found reports in EUR and USD; allowed: two cases that report in one currency"),
    ((DEMO, DEMO / "nowhere"), "no such folder"),
    ((DEMO, "--from-scenario", "dear_silvr"), "did you mean 'dear_silver'"),
])  # fmt: skip
def test_what_cannot_be_compared_is_refused(words, message):
    result = run("compare", *words)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output
