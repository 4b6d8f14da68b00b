"""Rounds of a deal: any currency, new and dropped rows, which one is the offer, two of them term by term."""

import json
import shutil

import pytest

import costmodel
from costmodel.case.deal_rounds import DRAFT, cases_by_round, offer_on, read_round
from costmodel.case.load import load_case
from costmodel.core.faults import InputFaults
from costmodel.model.checking import folder_faults
from costmodel.model.evaluate import evaluate
from costmodel.model.scenarios import open_case
from costmodel.present import rounds_report
from costmodel.studies.factory.choices import outcomes
from costmodel.studies.negotiation import rounds_compared
from costmodel.studies.negotiation.rounds_compared import compare_rounds

from .cases import DEMO
from .test_command import run

GAIN = "deal.licensor.gain"
HEAD = "title: in instalments\nby: {by}\ndate: {date}\nvalid_until: 2026-12-31\nstory: s\n"
INSTALMENT = (
    "add:\n  fees.second: {title: second instalment, amount: 600000 USD, currency: USD, time: 20 month, probability: 100 %, "
    "credited: 0 %, paid_as: licence}\n"
)


@pytest.fixture
def folder(tmp_path):
    """A copy of the demo that may be changed."""
    return shutil.copytree(DEMO, tmp_path / "case")


def write(folder, name, text, by="licensee", date="2026-11-20"):
    """Put a round into the folder of a case."""
    (folder / "rounds" / f"{name}.yaml").write_text(HEAD.format(by=by, date=date) + text, encoding="utf-8")


def test_a_round_answers_by_an_instalment_in_another_currency_and_drops_a_row(folder):
    write(folder, "4_answer", INSTALMENT + "drop: [minimum_royalties.exclusive]\n")
    assert folder_faults(folder) == []
    before, after = open_case(folder, terms="3_offer"), open_case(folder, terms="4_answer")
    assert set(after.fees) - set(before.fees) == {"second"}
    assert after.minimum_royalties == {}
    paid = evaluate(after).deal.by_heading["fee_second"].paid
    rate = float(after.money["usd"].exchange_rate)
    assert float(paid) == pytest.approx(600_000 * rate, rel=0.05)  # at the rate of its time, which moves by a few per cent
    assert after.evidence["fees.second"].by == "licensee"
    assert after.evidence["fees.second"].date == "2026-11-20"


def test_an_amount_in_another_currency_brings_its_row_along_but_for_amounts_that_are_not_stated(folder):
    write(folder, "4_answer", "set:\n  licence.upfront: 700000 USD\n")
    (fault,) = folder_faults(folder)
    assert (fault.column, fault.allowed) == ("licence.currency", "'USD' together with licence.expansion_fee, stated anew")
    write(folder, "4_answer", "set:\n  licence.upfront: 700000 USD\n  licence.expansion_fee: 0.05 USD/Wp_stabilised\n")
    row = open_case(folder, terms="4_answer").deal.licence
    assert (row.currency, row.upfront, row.royalty_per_watt, row.expansion_fee) == ("USD", 700_000, 0, 0.05)


def test_all_mistakes_of_rounds_come_in_one_pass_with_those_of_the_case(folder):
    write(folder, "4_answer", INSTALMENT + "drop: [minimum_royalties.exclusiv, tools.saw]\nset:\n  licence.royality: 1 %\n")
    write(folder, "5_answer", "set:\n  licence.royalty: 200 %\n" + INSTALMENT.replace("title:", "titel:"))
    (folder / "rounds" / "6_answer.yaml").write_text("title: t\nby: we\ndate: x\nvalid_until: y\nstory: s\n", encoding="utf-8")
    text = (folder / "deal.yaml").read_text(encoding="utf-8")
    (folder / "deal.yaml").write_text(text.replace("net_sales: 97 %", "net_sales: 197 %"), encoding="utf-8")
    told = "\n".join(map(str, folder_faults(folder)))
    for words in (
        "deal.yaml, 'licence.net_sales': found 197 %",
        "rounds/4_answer.yaml, 'drop.minimum_royalties.exclusiv'",
        "did you mean 'exclusive'",
        "rounds/4_answer.yaml, 'drop.tools.saw'",
        "rounds/4_answer.yaml, 'licence.royality'",
        "rounds/5_answer.yaml, 'licence.royalty': found 200 %",
        "rounds/5_answer.yaml, 'fees.second.titel'",
        "rounds/6_answer.yaml, 'by'",
        "rounds/6_answer.yaml, 'date': found 'x'",
        "rounds/6_answer.yaml, 'valid_until': found 'y'",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("day", "name"),
    [("2026-09-13", DRAFT), ("2026-10-30", "1_offer"), ("2026-10-31", DRAFT), ("2026-11-02", "3_offer"), ("2027-01-01", DRAFT)],
)
def test_the_offer_is_our_newest_round_that_holds_on_the_day(day, name):
    assert offer_on(DEMO, day) == name


@pytest.mark.parametrize("status", ["withdrawn", "rejected"])
def test_an_offer_that_is_withdrawn_or_rejected_is_none(folder, status):
    path = folder / "rounds" / "3_offer.yaml"
    path.write_text(path.read_text(encoding="utf-8") + f"status: {status}\n", encoding="utf-8")
    assert offer_on(folder, "2026-11-25") == DRAFT
    assert offer_on(folder, "2026-10-20") == "1_offer"
    assert f"It is {status} on 2026-11-25" in rounds_report.version(open_case(folder, terms="3_offer"), "2026-11-25")


def test_what_each_change_is_worth_adds_up_and_turns_its_sign_with_the_order():
    draft = load_case(DEMO)
    cases = {name: case for name, _, case in cases_by_round(DEMO, draft)}
    there, back = (compare_rounds(DEMO, draft, *names) for names in (("1_offer", "3_offer"), ("3_offer", "1_offer")))
    first, second = (evaluate(cases[name]).deal for name in ("1_offer", "3_offer"))
    for side in ("licensor", "licensee"):
        whole = float(getattr(second, side).gain - getattr(first, side).gain)
        assert sum(getattr(change, side) for change in there.changes) == pytest.approx(whole, rel=1e-9)
    returned = {change.place: change for change in back.changes}
    for change in there.changes:
        assert returned[change.place].licensor == pytest.approx(-change.licensor, abs=1e-3)
    moved = [abs(change.licensor) + abs(change.licensee) for change in there.changes]
    assert moved == sorted(moved, reverse=True)
    assert {(change.kind, change.error, len(change.inputs)) for change in there.changes} == {("", 0.0, 1)}  # all orders, no sample
    assert (there.names, back.names) == (("1_offer", "3_offer"), ("3_offer", "1_offer"))
    assert {change.place: change.asked for change in back.changes} == {change.place: change.asked for change in there.changes}
    asked = {change.place: change.asked for change in there.changes}
    assert asked["licence.upfront"] == (("2_answer", "licensee"), ("3_offer", "licensor"))
    assert asked["licence.exclusive_time"] == (("3_offer", "licensor"),)


def test_rows_and_currencies_are_compared_too(folder, monkeypatch):
    monkeypatch.setattr(rounds_compared, "MOST", 3)  # just as many as there are
    text = "set:\n  licence.upfront: 700000 USD\n  licence.expansion_fee: 0.05 USD/Wp_stabilised\n"
    text += "drop: [minimum_royalties.exclusive]\n"
    write(folder, "4_answer", text + INSTALMENT)
    found = compare_rounds(folder, load_case(folder), "3_offer", "4_answer")
    assert {change.place for change in found.changes} == {"licence", "fees.second", "minimum_royalties.exclusive"}
    before, after = (evaluate(case).deal.licensor.gain for case in (found.before, found.after))
    assert sum(change.licensor for change in found.changes) == pytest.approx(float(after - before), rel=1e-9)
    (second,) = (change for change in found.changes if change.place == "fees.second")
    assert second.licensor > 0 > second.licensee
    table = rounds_report.compared_table(found)
    assert ["second instalment", "", "added"] in [row[:3] for row in table.rows]
    assert any(row[1] == "1,250,000 EUR, 0 EUR/W, 0.06 EUR/W" and row[2].startswith("700,000 USD") for row in table.rows)


def test_rounds_too_far_apart_and_unknown_ones_are_refused(folder, monkeypatch):
    text = "set:\n  licence.upfront: 700000 USD\n  licence.expansion_fee: 0.05 USD/Wp_stabilised\n"
    write(folder, "4_answer", text + "drop: [minimum_royalties.exclusive]\n" + INSTALMENT)
    monkeypatch.setattr(rounds_compared, "MOST", 2)
    with pytest.raises(InputFaults, match=r"3_offer and 4_answer: found 3 rows, .*; allowed: at most 2; compare rounds"):
        compare_rounds(folder, load_case(folder), "3_offer", "4_answer")
    draft = load_case(folder)
    for names, option in ((("3_ofer", "draft"), "--from"), (("draft", "3_ofer"), "--to")):
        with pytest.raises(InputFaults, match=rf"{option}: found '3_ofer'; allowed: one of draft, .*did you mean '3_offer'"):
            compare_rounds(folder, draft, *names)


def test_the_command_answers_about_the_offer_unless_another_round_is_named():
    assert "round 3 of 2026-11-02" in run("deal", DEMO, "rounds", "--on", "2026-11-25").output
    assert "the draft in deal.yaml" in run("deal", DEMO, "rounds", "--on", "2027-01-25").output
    named = run("deal", DEMO, "rounds", "--on", "2027-01-25", "--round", "3_offer").output
    assert "It no longer holds on 2027-01-25." in " ".join(named.split())
    assert "did you mean '3_offer'" in run("deal", DEMO, "--round", "3_ofer").output
    assert "--to: found without --from" in run("deal", DEMO, "rounds", "--to", "3_offer").output
    shown = run("deal", DEMO, "rounds", "--from", "2_answer", "--to", "3_offer").output
    assert "From 2_answer to 3_offer 3 terms differ." in shown


def rows_of(*words):
    """The records of a study, as programs get them."""
    return json.loads(run(*words, "--json").output)["rows"]


def test_every_study_that_opens_cases_of_its_own_takes_the_terms_of_the_round_that_is_named():
    offered = evaluate(open_case(DEMO, terms="1_offer"))
    gain, npv = float(offered.deal.licensor.gain), float(offered.plan.project.npv)
    assert gain != pytest.approx(float(evaluate(load_case(DEMO)).deal.licensor.gain), rel=0.01)
    swept = rows_of("sweep", DEMO, "--round", "1_offer", "--vary", "prices.silane.price=62, 63 USD/kg", "--figure", GAIN)
    assert swept[0][GAIN] == pytest.approx(gain, rel=1e-9)  # 62 is the price of the case
    several = rows_of("sweep", DEMO, "--round", "1_offer", "--over-choices", "back_contact", "--figure", GAIN)
    assert next(row for row in several if row["case"] == "silver")[GAIN] == pytest.approx(gain, rel=1e-9)
    beside = rows_of("compare", DEMO, "--all-scenarios", "--round", "1_offer")
    as_it_is = next(row for row in beside if (row["scenario"], row["figure"]) == ("as it is", "plan.project.npv"))
    assert as_it_is["value"] == pytest.approx(npv, rel=1e-9)
    silver = next(each for each in outcomes(DEMO, "back_contact", terms="1_offer") if each.choice == "silver")
    assert float(silver.results.deal.licensor.gain) == gain


def test_documents_of_two_rounds_stand_side_by_side_and_a_notebook_writes_those_of_its_round(tmp_path):
    for name in ("1_offer", "2_answer"):
        run("report", DEMO, "--kind", "term_sheet", "--round", name, "--out", tmp_path)
    first, second = (tmp_path / f"facade_round_{number}_term_sheet.html" for number in (1, 2))
    assert "round 1 of" in first.read_text(encoding="utf-8")
    assert "round 2 of" in second.read_text(encoding="utf-8")
    opened = costmodel.open_case(DEMO, round_name="1_offer").changed({"prices.silane.price": "62 USD/kg"})
    (made,) = opened.report(tmp_path / "noted", "term_sheet")
    assert "round 1 of" in made.read_text(encoding="utf-8")


@pytest.mark.slow
def test_a_workbook_of_a_round_is_called_after_it_and_the_command_that_reads_it_back_names_it(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("workbook", DEMO, "--round", "1_offer").output
    again = said.split("then: costmodel ")[1].split()
    assert again[-1] == "reports/facade_1_offer_workbook.xlsx"
    assert "No input was changed" in run(*again).output


NOTE = "our newest offer has others, which --round 4_offer takes."


@pytest.mark.parametrize("words", [
    ("plan",), ("risk", "--draws", 8, "--figure", GAIN), ("rank", "tornado", "--figure", GAIN), ("explain", GAIN),
    ("sweep", "--vary", "site.crews=4, 5", "--figure", GAIN),
    ("solve", "--input", "licence.royalty", "--value", 0, "--figure", GAIN),
])  # fmt: skip
def test_who_computes_with_the_draft_is_told_of_an_offer_with_other_terms(folder, words):
    command, *rest = words
    assert "Note" not in run(command, folder, *rest).stderr  # the offer of the demo has the terms of its draft
    write(folder, "4_offer", "set:\n  licence.royalty: 4 %\n", by="licensor")
    assert NOTE in run(command, folder, *rest).stderr
    assert "Note" not in run(command, folder, *rest, "--round", "4_offer").stderr
    assert "Note" not in run("cost", folder).stderr  # on which terms have no bearing


def test_a_scenario_holds_no_round(folder):
    words = ("save", folder, "dear", "--title", "t", "--story", "s", "--set", "site.crews=3", "--round", "1_offer")
    assert "--round: found '1_offer'" in run(*words).output
    assert not (folder / "scenarios" / "dear.yaml").exists()


def test_an_unknown_round_is_refused():
    with pytest.raises(InputFaults, match="allowed: one of draft, 1_offer, 2_answer, 3_offer"):
        open_case(DEMO, terms="4_offer")


def test_a_row_may_stand_below_the_name_of_its_table(folder):
    written = (folder / "rounds" / "3_offer.yaml").read_text(encoding="utf-8")
    row = "{title: second part, amount: 10 EUR, currency: EUR, time: 24 month, probability: 90 %, credited: 0 %, paid_as: licence}"
    both = f"add:\n  fees.second: {row}\n", f"add:\n  fees:\n    second: {row}\n"
    found = []
    for added in both:
        (folder / "rounds" / "4_offer.yaml").write_text(f"{written}{added}", encoding="utf-8")
        found.append(read_round(folder, "4_offer"))
    assert found[0] == found[1]
    assert found[0].add["fees.second"]["amount"] == "10 EUR"
