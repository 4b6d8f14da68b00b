"""An old name is refused wherever it stands, and the message names the new one."""
from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from costmodel.case.deal_rounds import cases_by_round
from costmodel.case.load import load_case
from costmodel.command.main import main
from costmodel.core.faults import InputFaults, nearest
from costmodel.core.renamed import RENAMED, new_name
from costmodel.model.evaluate import evaluate, figures
from costmodel.model.scenarios import open_case
from costmodel.studies.many import wanted_figures

from .cases import DEMO, demo

COLUMNS = {
    "own_time": "steps.csv",
    "every": "phases.csv",
    "at_once": "demand_charges.csv",
    "landing_share": "coatings.csv",
    "target_use": "coatings.csv",
    "least_cover": "plan.yaml",
    "chance": "fees.csv",
}
ADDRESSES = {
    "steps.seam.own_time": "process_time",
    "phases.pump.every": "loads_between",
    "demand_charges.peak.at_once": "coincidence_factor",
    "coatings.oxide_film.landing_share": "deposition_efficiency",
    "coatings.oxide_film.target_use": "target_utilisation",
    "loan.least_cover": "minimum_dscr",
    "prospects.glazier.chance": "probability",
}
FIGURES = {
    "line.steps.seam.cycle.own_time": "line.steps.seam.cycle.process_time",
    "ledger.fetched": "ledger.scrap_revenue",
    "ledger.route.scribe_3.fetched": "ledger.route.scribe_3.scrap_revenue",
    "plan.least_debt_cover": "plan.minimum_dscr",
    "plan.least_debt_cover_status": "plan.minimum_dscr_status",
    "plan.years_below_cover": "plan.years_below_minimum_dscr",
}


def messages(problem: pytest.ExceptionInfo[InputFaults]) -> str:
    return "\n".join(map(str, problem.value.faults))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the demo."""
    shutil.copytree(DEMO, tmp_path / "case")
    return tmp_path / "case"


@pytest.mark.parametrize("old", COLUMNS)
def test_an_old_column_is_refused_with_the_new_one(old, folder):
    path = folder / COLUMNS[old]
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(rf"\b{RENAMED[old]}\b", old, text, count=1), encoding="utf-8")
    with pytest.raises(InputFaults) as problem:
        load_case(folder)
    assert f"'{old}' is now called '{RENAMED[old]}'" in messages(problem)


def test_an_old_column_in_the_rows_of_a_choice_is_refused_with_the_new_one(folder):
    path = folder / "alternatives" / "back_contact" / "silver" / "coatings.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("deposition_efficiency", "landing_share"), encoding="utf-8")
    with pytest.raises(InputFaults) as problem:
        load_case(folder)
    assert "'landing_share' is now called 'deposition_efficiency'" in messages(problem)


def test_an_old_address_in_ranges_is_refused_with_the_new_one(folder):
    path = folder / "ranges.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("glazier.probability", "glazier.chance"), encoding="utf-8")
    with pytest.raises(InputFaults) as problem:
        load_case(folder)
    assert "'chance' is now called 'probability'" in messages(problem)


def test_an_old_address_in_a_scenario_is_refused_with_the_new_one(folder):
    (folder / "scenarios" / "slow.yaml").write_text(
        "title: Slow\nstory: Seaming takes longer.\nplant: designed\nset:\n  steps.seam.own_time: 60 s\n", encoding="utf-8"
    )
    with pytest.raises(InputFaults) as problem:
        open_case(folder, "slow")
    assert "'own_time' is now called 'process_time'" in messages(problem)


def test_an_old_address_in_a_round_is_refused_with_the_new_one(folder):
    path = folder / "rounds" / "1_offer.yaml"
    text = path.read_text(encoding="utf-8").replace("set:\n", "set:\n  fees.acceptance.chance: 50 %\n", 1)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputFaults) as problem:
        list(cases_by_round(folder, load_case(folder)))
    assert "'chance' is now called 'probability'" in messages(problem)


@pytest.mark.parametrize("address", ADDRESSES)
def test_set_refuses_an_old_address_with_the_new_one(address):
    done = CliRunner().invoke(main, ["cost", str(DEMO), "--set", f"{address}=1"])
    old = address.rsplit(".", 1)[1]
    assert done.exit_code != 0
    assert f"'{old}' is now called '{ADDRESSES[address]}'" in " ".join(done.output.split())


@pytest.mark.parametrize("old", FIGURES)
def test_an_old_figure_is_refused_with_the_new_one(old):
    with pytest.raises(InputFaults, match=re.escape(f"'{old}' is now called '{FIGURES[old]}'")):
        wanted_figures(demo(), [old])


def test_figure_refuses_an_old_name_with_the_new_one():
    words = ["sweep", str(DEMO), "--vary", "product.stabilisation_ratio=75,85", "--figure", "plan.least_debt_cover"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code != 0
    assert "'plan.least_debt_cover' is now called 'plan.minimum_dscr'" in " ".join(done.output.split())


def test_every_new_name_is_there():
    names = {part for address, *_ in figures(evaluate(demo()), "EUR") for part in address.split(".")}
    names |= set(ADDRESSES.values())
    assert set(RENAMED.values()) <= names


def test_no_old_name_is_a_name_today():
    names = {address.rsplit(".", 1)[1] for address, *_ in figures(evaluate(demo()), "EUR")}
    assert not names & set(RENAMED)


def test_a_slip_of_the_pen_is_answered_by_the_nearest_as_before():
    assert nearest("proces_time", ["process_time"]) == "; did you mean 'process_time'?"
    assert new_name("proces_time", ["process_time"]) == ""
