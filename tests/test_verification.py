"""The command that holds the model against the outside: what it says agrees, what it says where something does not."""

from __future__ import annotations

import dataclasses
import json

import pytest

from costmodel.case.changes import with_values
from costmodel.core.fields import YEAR
from costmodel.documents import case_blocks
from costmodel.model.evaluate import evaluate
from costmodel.present import verification_report
from costmodel.studies.verification import of_a_case, published, whole_cases
from costmodel.studies.verification.agreement import DIFF, NOTE, PASS, Agreement, Published

from .cases import DEMO, demo
from .plans import planned
from .running import run
from .terms import terms

OUTSIDE = published.values()


@pytest.mark.parametrize("value", OUTSIDE, ids=lambda value: f"{value.subject}: {value.what}")
def test_published_values(value):
    found = value.agreement()
    assert found.agrees, (found.expected, found.found)


def test_each_value_has_a_source_and_stands_once():
    assert all(value.source and value.what for value in OUTSIDE)
    named = [(value.subject, value.what, value.source) for value in OUTSIDE]
    assert len(set(named)) == len(named)


def value(printed, found, note=""):
    return Published("subject", "what", "source", printed, lambda: found, note, digit=0.5).agreement()


def test_a_value_agrees_within_half_a_unit_of_its_last_printed_digit():
    assert [value("1.25", [x]).verdict for x in (1.2549, 1.2551, 1.2451, 1.2449, float("nan"))] == [PASS, DIFF, PASS, DIFF, DIFF]
    assert value("26667 21333", [26_666.6, 21_333.4]).verdict == PASS
    assert value("26667 21333", [26_666.6]).verdict == DIFF  # a value is missing
    assert value("1.25", [1.25], "from memory").verdict == NOTE
    assert value("1.25", [1.3], "from memory").verdict == DIFF


@pytest.mark.parametrize(("found", "digits"), [(1000.0, 15), (1000.4, 3), (1001.0, 3), (1010.0, 2), (1900.0, 0), (float("nan"), 0)])
def test_digits_agreed(found, digits):
    assert Agreement("", "", "", (1000.0,), (found,), (1.0,)).digits == digits


@pytest.mark.parametrize("make", [planned, terms, demo], ids=lambda make: make.__name__)
def test_identities_and_the_library_agree(make):
    case = make()
    found = of_a_case.agreements(case, evaluate(case))
    assert [each.what for each in found if not each.agrees] == []
    assert {each.source for each in found} == {"identity", "numpy-financial"} if make is not terms else {"identity"}


def test_a_loan_of_equal_payments_is_checked_by_the_library():
    quarter = planned().constants.year / 4
    case = with_values(planned(), {"loan.form": "annuity", "loan.part": 0.5, "loan.grace": 6 * quarter, "loan.term": 5 * quarter})
    found = list(of_a_case.loan_by_library(case, evaluate(case)))
    assert [each.verdict for each in found] == [PASS] * 3
    dearer = with_values(case, {"loan.interest": 2 * case.plan.loan.interest})
    assert {each.verdict for each in of_a_case.loan_by_library(case, evaluate(dearer))} == {DIFF}
    part_of_a_quarter = with_values(case, {"loan.term": 5.5 * quarter})
    assert list(of_a_case.loan_by_library(part_of_a_quarter, evaluate(part_of_a_quarter))) == []


PUBLISHED = sorted(folder.name for folder in whole_cases.FOLDER.iterdir())


@pytest.mark.parametrize("name", PUBLISHED)
def test_identities_of_published_cases(name):
    case, results = whole_cases.ran(name)
    assert [each.what for each in of_a_case.agreements(case, results) if not each.agrees] == []
    assert case.evidence["target"].source.split(",")[0] in " ".join(each.source for each in whole_cases.VALUES)


def test_a_published_case_of_other_inputs_does_not_agree(monkeypatch):
    changes = {
        "chemical_plant": {"tax.rate": 0.44},
        "machine": {"sales.all.price": 35.01},
        "three_years": {"overheads.fixed.amount": 5001.0},
        "placement_machine": {"outlay.resale_share": 0.26},
        "equipment_bond": {"loan.interest": 0.16 / YEAR},
        "loan": {"loan.interest": 0.03 / YEAR},
        "lump_sum": {"licence.royalty": 0.051},
        "fifteen_years": {"licence.royalty": 0.36},
        "thin_film": {"prices.glass.price": 5.5},
        "truck": {"tools.truck.price": 90_100.0},
    }
    assert sorted(changes) == PUBLISHED
    cases = {name: with_values(whole_cases.ran(name)[0], values) for name, values in changes.items()}
    monkeypatch.setattr(whole_cases, "ran", lambda name: (cases[name], evaluate(cases[name])))
    wrong = [each.agreement().verdict == DIFF for each in whole_cases.VALUES]
    begins = [each.what.split(":")[0] for each, differs in zip(whole_cases.VALUES, wrong) if differs]
    assert set(begins) == {each.what.split(":")[0] for each in whole_cases.VALUES}


def spoiled(results, part, **changes):
    field = "plan_figures" if part == "plan" else part
    return dataclasses.replace(results, **{field: dataclasses.replace(getattr(results, part), **changes)})


def test_what_does_not_add_up_is_found():
    case = planned()
    results = evaluate(case)
    quarters = dict(results.plan.quarters)
    name = list(quarters)[3]
    quarters[name] = dataclasses.replace(quarters[name], free_cash=quarters[name].free_cash * 1.001 + 1.0, balance=10.0)
    wrong = {each.what for each in of_a_case.agreements(case, spoiled(results, "plan", quarters=quarters)) if not each.agrees}
    assert {"assets less debts and equity, in each quarter", "sum of free cash", "project: net present value"} <= wrong
    first = next(iter(results.ledger.by_category.values()))
    fewer = {key: part for key, part in results.ledger.by_category.items() if part is not first}
    wrong = [x.what for x in of_a_case.agreements(case, spoiled(results, "ledger", by_category=fewer)) if not x.agrees]
    assert wrong == ["cost of the year as a sum over categories"]


def test_the_report_says_how_many_checks_of_its_case_agree():
    case = planned()
    results = evaluate(case)
    count = len(of_a_case.agreements(case, results))
    rest = "`costmodel verify` lists each with its source."
    assert case_blocks.blocks_of(case)["checked"]() == f"{count} of {count} checks of this case agree. {rest}"
    first = next(iter(results.ledger.by_category))
    fewer = {key: part for key, part in results.ledger.by_category.items() if key != first}
    said = case_blocks._checked(case, spoiled(results, "ledger", by_category=fewer))
    assert said == f"{count - 1} of {count} checks of this case agree; one does not. {rest}"


def test_the_command_tells_agreement_by_subject_and_ends_with_1_where_there_is_none(monkeypatch):
    shown = run("verify", DEMO)
    assert shown.exit_code == 0
    assert "checks of this case agree" in shown.output
    rows = json.loads(run("verify", "--json").stdout)["rows"]
    assert {row["verdict"] for row in rows} == {PASS, NOTE}
    assert {"subject", "what", "source", "expected", "found", "within", "digits", "verdict", "note"} == set(rows[0])
    monkeypatch.setattr(published, "agreements", lambda: [value("1.25", [1.3])])
    refused = run("verify")
    assert refused.exit_code == 1
    assert "0 of 1 checks against published values agree; one does not." in refused.output
    assert "found it without CASE" in run("verify", "--set", "target.output=1").output


def test_every_check_is_shown_with_what_is_expected_and_found():
    table = verification_report.each_check([value("1.25", [1.3]), value("26667 21333", [26_666.6, 21_333.4], "from memory")])
    assert table.rows == [
        ["what", "source", "1.25", "1.3", "1", "DIFF", ""],
        ["what", "source", "26,667, 21,333", "26,666.6, 21,333.4", "4", "NOTE", "from memory"],
    ]
