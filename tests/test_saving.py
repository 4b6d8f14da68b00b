"""Changes kept as scenarios: what is saved is what is read, and what a person wrote is never written over."""

import errno
import hashlib
import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from costmodel.case.addresses import numeric_inputs, value_at
from costmodel.case.differences import same_inputs
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.units import to_base
from costmodel.model import scenario_saving
from costmodel.model.scenario_saving import Words, save_scenario
from costmodel.model.scenarios import open_case, read_scenario

from .cases import DEMO, Inputs, tiny
from .refusals import faults


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def hashes(folder: Path) -> dict[str, str]:
    """A hash of every file below a folder, hidden ones as well."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def demo_copy(tmp_path):
    return Path(shutil.copytree(DEMO, tmp_path / "mine"))


@pytest.fixture
def tiny_folder(tmp_path):
    folder = tmp_path / "tiny"
    folder.mkdir()
    return Inputs().write(folder)


SAVED = {
    "bare numbers, in the units of the tables": {"tools.saw.life": "9", "steps.cut.first_pass_yield": 61.5, "site.crews": "3"},
    "numbers with units of their own": {
        "product.length": "1003.7 mm", "steps.coat.process_time": "17.3 min", "tools.saw.price": "1e5 EUR",
    },
    "digits that no rounding survives": {
        "product.width": "0.1234567890123456", "prices.silane.price": "99.99999999999999 EUR/kg",
    },
    "texts, some that look like something else": {
        "tools.saw.title": "yes: 'no' #1", "steps.cut.stage": "2026", "prices.box.title": "~", "crew.operator.title": " Ä: {x}\n ",
    },
    "a currency with its price": {"prices.box.currency": "USD", "prices.box.price": "4 USD/piece"},
}  # fmt: skip


@pytest.mark.parametrize("name", SAVED)
def test_a_saved_scenario_reads_back_to_exactly_the_same_inputs(name, tiny_folder):
    changes = SAVED[name]
    wanted = open_case(tiny_folder, changes=changes)
    path = save_scenario(tiny_folder, Words("kept", "a title", "a story"), changes)
    read = open_case(tiny_folder, "kept")
    assert path == tiny_folder / "scenarios" / "kept.yaml"
    assert same_inputs(read, wanted)
    assert not same_inputs(read, tiny())
    assert [value_at(read, address) for address in changes] == [value_at(wanted, address) for address in changes]
    assert all(isinstance(value, str) for value in read_scenario(tiny_folder, "kept").changes.values())


def test_every_number_is_saved_with_its_unit_so_that_a_column_in_another_unit_changes_nothing(tiny_folder):
    changes = {"steps.cut.process_time": "80", "tools.saw.installation": "12", "site.crews": "3"}
    save_scenario(tiny_folder, Words("kept", "t", "s"), changes)
    assert read_scenario(tiny_folder, "kept").changes == {
        "steps.cut.process_time": "80 s", "tools.saw.installation": "12 %", "site.crews": "3 1",
    }  # fmt: skip
    before = open_case(tiny_folder, "kept")
    inputs = Inputs().header("steps.csv", "process_time", "process_time [min]")
    for step, minutes in (("cut", "1.5"), ("coat", "18"), ("press", "6")):
        inputs.cell("steps.csv", step, "process_time", minutes)
    inputs.write(tiny_folder)
    assert value_at(open_case(tiny_folder, "kept"), "steps.cut.process_time") == value_at(before, "steps.cut.process_time") == 80.0


def test_choices_are_saved_and_read_back(demo_copy):
    use = {"back_contact": "aluminium", "cleaning": "in_chamber"}
    save_scenario(demo_copy, Words("kept", "t", "s"), {"prices.silane.price": "70"}, use)
    read = read_scenario(demo_copy, "kept")
    assert (read.use, read.changes) == (use, {"prices.silane.price": "70 USD/kg"})
    assert same_inputs(open_case(demo_copy, "kept"), open_case(demo_copy, changes={"prices.silane.price": "70"}, use=use))


def test_the_changes_of_a_base_scenario_are_merged_and_a_later_change_wins(tiny_folder):
    base = {"prices.box.currency": "USD", "prices.box.price": "4 USD/piece", "tools.saw.life": "7 year", "site.crews": 3}
    save_scenario(tiny_folder, Words("base", "t", "s"), base)
    later = {"prices.box.price": "5", "tools.saw.life": "6 year"}  # the bare number is now in USD/piece
    save_scenario(tiny_folder, Words("both", "t", "s"), later, base="base")
    assert read_scenario(tiny_folder, "both").changes == {
        "prices.box.currency": "USD", "prices.box.price": "5 USD/piece", "tools.saw.life": "6 year", "site.crews": "3 1",
    }  # fmt: skip
    assert same_inputs(open_case(tiny_folder, "both"), open_case(tiny_folder, "base", later))


PRINTED = st.text(st.characters(codec="utf-8"), max_size=60)


@pytest.mark.slow
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(title=PRINTED, story=PRINTED, factor=st.floats(0.5, 0.999), number=st.integers(0, 10_000))
@example(title="0", story="a\x85b\u2028\nc\u2029", factor=0.5, number=0)
def test_any_text_and_any_digits_come_back(tiny_folder, title, story, factor, number):
    inputs = [a for a, value, *_ in numeric_inputs(tiny()) if value and not a.startswith(("money.", "constants."))]
    address = inputs[number % len(inputs)]
    unit = tiny().entry_units[address]
    changes = {address: f"{value_at(tiny(), address) / to_base(unit) * factor!r} {unit}"}
    path = tiny_folder / "scenarios" / "kept.yaml"
    path.unlink(missing_ok=True)
    if not title.strip() or not story.strip():
        words = Words("kept", title, story)
        assert all("found nothing" in text for text in faults(lambda: save_scenario(tiny_folder, words, changes)))
        assert not path.exists()
        return
    save_scenario(tiny_folder, Words("kept", title, story), changes)
    read = read_scenario(tiny_folder, "kept")
    assert (read.title, read.story) == (title, story)
    assert same_inputs(open_case(tiny_folder, "kept"), open_case(tiny_folder, changes=changes))


REFUSED = {
    "a name that is taken": (("dear_silver", "--set", "site.crews=3"), "scenarios/dear_silver.yaml: found a file of that name"),
    "a name with a slash": (("../kept", "--set", "site.crews=3"), "found '../kept' as the name of a scenario"),
    "a name with capitals": (("Kept", "--set", "site.crews=3"), "found 'Kept' as the name of a scenario"),
    "a name with an end of line": (("kept\n", "--set", "site.crews=3"), "as the name of a scenario; allowed: a name"),
    "no name": (("", "--set", "site.crews=3"), "found '' as the name of a scenario"),
    "no change": (("kept",), "found no change; allowed: at least one input or choice other than in the tables"),
    "a change to what is there": (("kept", "--set", "site.crews=4"), "found no change"),
    "a choice that is in use": (("kept", "--use", "back_contact=silver"), "found no change"),
    "a base and nothing more": (("kept", "--scenario", "dear_silver"), "input or choice other than in scenario dear_silver"),
    "no such base": (("kept", "--scenario", "dear_silvr", "--set", "site.crews=3"), "did you mean 'dear_silver'"),
    "a wrong address": (("kept", "--set", "site.crew=3"), "did you mean 'crews'"),
    "a wrong unit": (("kept", "--set", "prices.silane.price=60 USD/m2"), "does not convert"),
    "a value out of range": (("kept", "--set", "product.stabilisation_ratio=101 %"), "found 101 %"),
    "a value that other tables refuse": (("kept", "--set", "steps.lamination.tool=edge_seamer"), "allowed: an id of tools.csv"),
    "an empty value": (("kept", "--set", "tools.laminator.title="), "'tools.laminator.title': found nothing"),
    "an unknown choice": (("kept", "--use", "back_contact=gold"), "allowed: one of aluminium, silver"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_saved_is_refused_and_nothing_is_written(name, demo_copy):
    words, message = REFUSED[name]
    before = hashes(demo_copy.parent)
    result = run("save", demo_copy, *words, "--title", "t", "--story", "s")
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output
    assert hashes(demo_copy.parent) == before


@pytest.mark.parametrize(("title", "story", "message"), [
    (" ", "s", "scenarios/kept.yaml, 'title': found nothing; allowed: a value for 'title'"),
    ("t", "", "scenarios/kept.yaml, 'story': found nothing; allowed: a value for 'story'"),
    ("t", "a \udce4", "scenarios/kept.yaml, 'story': found a character that is no text; allowed: text in UTF-8"),
    ("t", "[" * 501, "scenarios/kept.yaml: found 501 brackets; allowed: at most 500"),
])  # fmt: skip
def test_a_missing_or_unreadable_text_is_refused_and_no_folder_is_left(title, story, message, tiny_folder):
    assert faults(lambda: save_scenario(tiny_folder, Words("kept", title, story), {"site.crews": "3"})) == [message]
    assert not (tiny_folder / "scenarios").exists()


def test_a_case_that_is_not_the_one_shown_is_not_saved(tiny_folder):
    shown = open_case(tiny_folder, changes={"site.crews": "3"})
    Inputs().cell("tools.csv", "saw", "life", "9").write(tiny_folder)
    (message,) = faults(lambda: save_scenario(tiny_folder, Words("kept", "t", "s"), {"site.crews": "3"}, shown=shown))
    assert message.startswith("scenarios/kept.yaml: found tables that have changed since, or another case; allowed: ")
    assert not (tiny_folder / "scenarios").exists()


def has_links(monkeypatch):
    """The file system of this machine."""


def has_none(monkeypatch):
    """A file system without links."""

    def refused(*_):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)


@pytest.mark.parametrize("file_system", [has_links, has_none])
def test_of_several_that_save_under_one_name_at_once_one_is_kept_whole_and_the_others_are_refused(
    file_system, tiny_folder, monkeypatch
):
    file_system(monkeypatch)

    def save(number):
        try:
            save_scenario(tiny_folder, Words("kept", f"title {number}", "s"), {"site.crews": str(number)})
        except InputFaults as problem:
            return str(problem)
        return number

    tiny(), open_case(tiny_folder)  # the unit registry is made before threads start
    with ThreadPoolExecutor(8) as pool:
        ends = list(pool.map(save, range(3, 11)))
    (saved,) = [end for end in ends if isinstance(end, int)]
    assert all("found a file of that name" in end for end in ends if end != saved)
    assert read_scenario(tiny_folder, "kept").title == f"title {saved}"
    assert os.listdir(tiny_folder / "scenarios") == ["kept.yaml"]


@pytest.mark.parametrize("file_system", [has_links, has_none])
def test_a_file_that_appears_while_saving_is_left_as_it_is(file_system, tiny_folder, monkeypatch):
    file_system(monkeypatch)
    put = scenario_saving._put_in_place

    def late(draft, place):
        place.write_text("mine", encoding="utf-8")
        put(draft, place)

    monkeypatch.setattr(scenario_saving, "_put_in_place", late)
    (message,) = faults(lambda: save_scenario(tiny_folder, Words("kept", "t", "s"), {"site.crews": "3"}))
    assert message == "scenarios/kept.yaml: found a file of that name; allowed: another name: files are never rewritten"
    assert [(p.name, p.read_text(encoding="utf-8")) for p in (tiny_folder / "scenarios").iterdir()] == [("kept.yaml", "mine")]


def test_where_nothing_can_be_written_that_is_said(tiny_folder):
    (tiny_folder / "scenarios").write_text("a file where the folder should be", encoding="utf-8")
    before = hashes(tiny_folder)
    (message,) = faults(lambda: save_scenario(tiny_folder, Words("kept", "t", "s"), {"site.crews": "3"}))
    assert message.startswith("scenarios/kept.yaml: found no place to write (")
    assert hashes(tiny_folder) == before


@pytest.mark.slow
def test_no_command_rewrites_what_is_in_the_folder_of_a_case(demo_copy, tmp_path):
    more = {
        "save": ["kept", "--title", "t", "--story", "s", "--set", "site.crews=3"],
        "compare": ["--scenario", "first_year"],
        "report": ["--out", tmp_path / "reports"],
        "release": ["--edition", "licensee"],
        "workbook": ["--out", tmp_path / "model.xlsx"],
        "sweep": ["--vary", "prices.silane.price", "--points", "2"],
        "solve": ["--input", "prices.silane.price", "--value", "1.59"],
        "waterfall": ["--scenario", "dear_silver"],
        "rank": ["--points", "16"],
        "risk": ["--draws", "100"],
    }
    before = hashes(demo_copy)
    for name in main.commands:
        result = run(name, demo_copy, *more.get(name, []))
        assert result.exit_code == (2 if name in ("new", "guide") else 0), (name, result.output)  # these take no case
    after = hashes(demo_copy)
    assert {file: after.get(file) for file in before} == before
    assert set(after) - set(before) == {"scenarios/kept.yaml"}


def test_the_command_says_where_it_saved_and_the_scenario_can_be_used(demo_copy):
    words = ("--set", "prices.silane.price=80 USD/kg", "--scenario", "first_year")
    result = run("save", demo_copy, "dear_silane", *words, "--title", "dear silane", "--story", "Silane is scarce.")
    assert result.exit_code == 0
    assert result.output.startswith(f"Saved: {demo_copy / 'scenarios' / 'dear_silane.yaml'}\n")
    assert run("cost", demo_copy, "--scenario", "dear_silane", "--json").output == run("cost", demo_copy, *words, "--json").output
