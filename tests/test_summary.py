"""The data dictionary and the summary of a case."""

import dataclasses
import json
import re
import shutil
from datetime import date

import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.dictionary import as_markdown, entries
from costmodel.case.files import read_table
from costmodel.case.summary import oddities, old_rows, without_range
from costmodel.case.usual_ranges import far_from_usual
from costmodel.case.whole_case import tables
from costmodel.command.main import main
from costmodel.core.units import to_base, unit
from costmodel.model.checking import numbers_without_unit
from costmodel.studies.factory.odd_causes import following, with_number

from .cases import DEMO, ROOT, demo

KEPT = ROOT / "inputs_demo" / "dictionary.md"


def test_the_dictionary_kept_with_the_demos_is_the_one_of_the_schema():
    assert "| horizon |  | a whole number from 1 to 60 |" in as_markdown()
    assert "| currency |  | a code of money.csv | currency of the price | EUR |" in as_markdown()
    assert "The loan. Absent only where all of plan.yaml is." in as_markdown()
    assert KEPT.read_text(encoding="utf-8") == as_markdown() == CliRunner().invoke(main, ["guide", "dictionary"]).output


def test_the_guide_says_what_each_table_holds():
    page = CliRunner().invoke(main, ["guide", "tables"]).output
    assert [table.file for table in tables().values() if f"`{table.file}`" not in page] == []


def test_the_dictionary_names_the_columns_of_the_demo_and_no_others():
    for path in DEMO.glob("*.csv"):
        table, faults = read_table(path)
        assert faults == []
        said = {entry.column for entry in entries() if entry.file == path.name}
        may_lack = {entry.column for entry in entries() if entry.file == path.name and entry.allowed.endswith("or left out")}
        assert said - may_lack <= set(table.units) <= said, path.name


def test_every_entry_says_what_it_means_what_is_allowed_and_an_example():
    for entry in entries():
        assert entry.meaning, entry
        assert entry.allowed, entry
        assert entry.example, entry
        if entry.unit and not {"currency", "unit", "per"} & set(entry.unit.split("/")):
            assert unit(entry.unit), entry


def sample_figures_older_than_a_year_and_dates_that_are_none_are_named():
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
    assert re.search(r"Looks odd: \d+\.", text)
    assert re.search(r"prices\.label\.price +is 0", text)


def test_a_value_outside_its_own_range_is_odd_on_either_side():
    row = next(row for row in demo().ranges.values() if row.address == "prices.silane.price")
    size, name = to_base("USD/kg"), next(name for name, each in demo().ranges.items() if each is row)
    held = f"{row.low / size:.6g} to {row.high / size:.6g}"
    for value in (row.low - size, row.high + size):
        says = f"prices.silane.price is {value / size:.6g} USD/kg, outside of its range in ranges.csv, row {name}: {held}"
        assert [each for each in oddities(with_values(demo(), {row.address: value})) if "outside" in each] == [says]
    for value in (row.low, row.high):
        assert [each for each in oddities(with_values(demo(), {row.address: value})) if "outside" in each] == []


def test_a_number_without_a_unit_in_a_file_of_changes_is_odd(tmp_path):
    copy = shutil.copytree(DEMO, tmp_path / "case")
    (copy / "scenarios" / "slip.yaml").write_text(
        "title: slip\nstory: A slip.\nplant: designed\nset:\n  prices.silane.price: 3000\n  site.crews: 4\n", encoding="utf-8"
    )
    says = "prices.silane.price is set to '3000' by scenarios/slip.yaml without a unit; it is read as '3000 USD/kg'"
    assert list(numbers_without_unit(copy, demo())) == [says]
    assert says in " ".join(CliRunner().invoke(main, ["check", str(copy), "--json"]).output.split())


@pytest.mark.parametrize(
    ("address", "value", "says"),
    [
        ("prices.silane.price", 1e9, "prices.silane.price is 1e+09 USD/kg, and usual is 0.001 to 1e+06"),
        ("prices.silane.price", 1e-5, "prices.silane.price is 1e-05 USD/kg, and usual is 0.001 to 1e+06"),
        ("product.length", 40.0, "product.length is 40 m, and usual is 0.05 to 10"),
    ],
)
def test_an_amount_far_outside_what_the_trade_knows_is_odd_and_allowed(address, value, says):
    assert list(far_from_usual(with_values(demo(), {address: value}))) == [says]
    assert list(far_from_usual(demo())) == []


def test_the_mark_of_an_odd_amount_stands_in_the_check():
    shown = CliRunner().invoke(main, ["check", str(DEMO), "--set", "prices.silane.price=1e9 USD/kg"])
    assert shown.exit_code == 0, shown.output
    assert "prices.silane.price is 1e+09 USD/kg, and usual is" in " ".join(shown.output.split())


def test_what_follows_from_an_odd_input_is_a_number_in_its_line():
    """A fraction typed for a percent: the line needs 100 times the tools before that step, each nearly full.

    Without the slip the demo has one odd figure, its carrier (`odd_figures.py`), which therefore stays a line of its own.
    """
    slip = ["check", str(DEMO), "--set", "steps.pack.first_pass_yield=0.998"]
    told = json.loads(CliRunner().invoke(main, [*slip, "--json"]).output)["rows"]
    odd = [row["found"] for row in told if row["what"] == "odd"]
    follow = [row["found"] for row in told if row["what"] == "odd, follows from steps.pack.first_pass_yield"]
    assert len(follow) > 5
    assert all("is loaded to" in each or "is missed" in each for each in follow)
    assert [each.split(" ")[0] for each in odd] == ["steps.pack.first_pass_yield", "carriers.batch_carrier"]
    assert odd[0] == f"steps.pack.first_pass_yield is 0.998 %, and usual is 50 to 100; {len(follow)} more follow from it"
    shown = CliRunner().invoke(main, slip).output
    assert "Looks odd: 2." in shown
    assert shown.count("is loaded to") == 1


def test_a_value_far_off_that_is_outside_of_its_range_too_is_one_line():
    odd = with_values(demo(), {"prices.silane.price": 1e9})
    far, outside = [each for each in oddities(odd) if each.startswith("prices.silane.price ")]
    assert "outside of its range" in outside
    follow = following(odd, [far, outside], [])
    assert follow == {"prices.silane.price": [outside]}
    assert with_number(far, follow) == f"{far}; 1 more follows from it"


def test_a_change_far_from_usual_is_marked_beside_the_answer_of_any_command():
    found = CliRunner().invoke(main, ["cost", str(DEMO), "--set", "prices.silane.price=1000000000"])
    assert found.exit_code == 0
    assert "Looks odd: prices.silane.price is 1e+09 USD/kg, and usual is 0.001 to 1e+06." in " ".join(found.stderr.split())
    assert CliRunner().invoke(main, ["cost", str(DEMO), "--set", "prices.silane.price=50"]).stderr == ""
