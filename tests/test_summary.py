"""The data dictionary and the summary of a case."""

import dataclasses
from datetime import date

from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.dictionary import as_markdown, entries
from costmodel.case.files import read_table
from costmodel.case.summary import oddities, old_rows, without_range
from costmodel.command.main import main
from costmodel.core.units import unit

from .cases import DEMO, ROOT, demo

KEPT = ROOT / "inputs_demo" / "dictionary.md"


def test_the_dictionary_kept_with_the_demos_is_the_one_of_the_schema():
    assert KEPT.read_text(encoding="utf-8") == as_markdown() == CliRunner().invoke(main, ["guide", "dictionary"]).output


def test_the_dictionary_names_the_columns_of_the_demo_and_no_others():
    for path in DEMO.glob("*.csv"):
        table, faults = read_table(path)
        assert faults == []
        said = {entry.column for entry in entries() if entry.file == path.name}
        assert said - {"public_source"} == set(table.units) - {"public_source"}
        assert "public_source" in said or "public_source" not in table.units


def test_every_entry_says_what_it_means_what_is_allowed_and_an_example():
    for entry in entries():
        assert entry.meaning, entry
        assert entry.allowed, entry
        assert entry.example, entry
        if entry.unit and not {"currency", "unit", "per"} & set(entry.unit.split("/")):
            assert unit(entry.unit), entry


def test_figures_older_than_a_year_and_dates_that_are_none_are_named():
    case = demo()
    assert old_rows(case, date(2026, 11, 25)) == []
    assert "tools.coater" in old_rows(case, date(2027, 11, 3))  # the demo's figures are of 2 November 2026
    assert old_rows(case, date(2027, 11, 2)) == []
    spring = dataclasses.replace(case.evidence["tools.coater"], date="spring 2026")
    undated = dataclasses.replace(case, evidence=case.evidence | {"tools.coater": spring})
    assert old_rows(undated, date(2026, 11, 25)) == ["tools.coater"]


def test_numbers_without_a_range_are_those_that_no_range_names():
    bare = without_range(demo())
    assert "prices.silane.price" not in bare
    assert "prices.back_glass.price" in bare
    assert not any(address.endswith("price_year") for address in bare)


def test_what_is_allowed_but_seldom_meant_is_said():
    shares = {f"markets.{name}.most_share": 0.3 for name in demo().markets}
    assert list(oddities(with_values(demo(), shares))) == []
    slips = {"steps.pack.first_pass_yield": 1.0, "prices.label.price": 0.0, "prices.silane.price_year": "2011"}
    odd = with_values(demo(), shares | slips | {"markets.roof.most_share": 0.4})
    assert set(oddities(odd)) == {
        "steps.pack.first_pass_yield is exactly 100 %",
        "prices.label.price is 0",
        "prices.silane.price_year is 2011, most are near 2026",
        "markets.roof.most_share is 40 %, much for a newcomer",
    }
    text = CliRunner().invoke(main, ["check", str(DEMO), "--set", "prices.label.price=0"]).output
    assert "Looks odd: prices.label.price is 0" in text
