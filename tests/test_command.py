"""The command line, as a person types it."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from costmodel.case.fingerprint import fingerprint
from costmodel.case.load import load_case
from costmodel.command.main import main
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate, figures
from costmodel.present.numbers import years

from .cases import DEMO, FIELD, demo

ROOT = Path(__file__).resolve().parents[1]


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_check_counts_the_rows_and_names_scenarios():
    result = run("check", DEMO, "--all")
    assert result.exit_code == 0
    assert f"{len(demo().steps)} steps" in result.output
    assert "no faults found" in result.output
    assert "dear_silver" in result.output


@pytest.mark.parametrize(("command", "stage"), [("line", "line"), ("cost", "ledger"), ("market", "market")])
def test_json_holds_every_figure_of_the_stage_with_value_and_unit(command, stage):
    result = run(command, DEMO, "--json")
    assert result.exit_code == 0
    case = demo()
    shown = {a: (v, u) for a, v, u, _ in figures(evaluate(case), case.currency) if a.startswith(stage + ".")}
    printed = json.loads(result.output)
    assert set(printed) == set(shown)
    for address, (value, unit) in shown.items():
        assert printed[address]["unit"] == unit
        if math.isnan(value):
            assert printed[address]["value"] is None
            assert len(printed[address]["reason"]) > 5
            continue
        assert printed[address]["value"] * to_base(unit) == pytest.approx(value, rel=1e-12)
        assert "reason" not in printed[address]


def sample_figures_are_printed_in_the_unit_that_stands_beside_them():
    printed = json.loads(run("cost", DEMO, "--json").output)
    tariff = demo().utilities["electricity"]
    price = printed["ledger.lines.tool_utilities.deposition_electricity.deposition.price"]
    assert (price["value"], price["unit"]) == (pytest.approx(0.42 * 0.25, rel=1e-12), "EUR/kWh")  # 0.42 TWM at 0.25 EUR
    assert tariff.unit == "kWh"


def test_csv_has_a_row_for_every_figure_of_the_ledger():
    result = run("cost", DEMO, "--csv")
    case = demo()
    count = sum(a.startswith("ledger.") for a, *_ in figures(evaluate(case), case.currency))
    lines = result.output.splitlines()
    assert lines[0] == "address,value,unit,meaning,reason"
    assert len(lines) == count + 1


def test_people_read_the_same_headline_figure_as_programs():
    headline = run("cost", DEMO).output
    value = json.loads(run("cost", DEMO, "--json").output)["ledger.total.cost_per_m2"]["value"]
    assert f"EUR {value:.1f} per m²" in headline


def test_a_scenario_and_a_change_reach_the_result():
    base = json.loads(run("cost", DEMO, "--json").output)
    dear = json.loads(run("cost", DEMO, "--json", "--scenario", "dear_silver").output)
    both = json.loads(
        run("cost", DEMO, "--json", "--scenario", "dear_silver", "--set", "metals.silver.quote=1500 EUR/kg").output
    )
    bought = "ledger.lines.coatings.mirror.bought.cost"
    # quote and fee for the target
    assert dear[bought]["value"] == pytest.approx(base[bought]["value"] * (3000 + 210) / (1500 + 210), rel=1e-12)
    assert both[bought]["value"] == pytest.approx(base[bought]["value"], rel=1e-12)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("tools.laminator.prise=3", ["tools.laminator.prise", "did you mean 'price'"]),
        ("tools.laminatr.price=3", ["tools.laminatr.price", "did you mean 'laminator'"]),
        ("steps.lamination.first_pass_yield=101 %", ["101 %", "above 0 to 100 [%]"]),
        ("product.length=1.2 kg", ["1.2 kg", "'kg' does not convert into 'm'"]),
        ("product.length", ["'product.length'", "ADDRESS=VALUE"]),
    ],
)
def test_a_wrong_change_ends_with_code_2_and_says_what_is_allowed(change, words):
    result = run("cost", DEMO, "--set", change)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    for word in words:
        assert word in result.output


def test_an_unknown_folder_and_an_unknown_scenario_end_with_code_2(tmp_path):
    missing = run("cost", tmp_path / "nowhere")
    assert missing.exit_code == 2
    assert "no such folder" in missing.output
    unknown = run("line", DEMO, "--scenario", "dear_silvr")
    assert unknown.exit_code == 2
    assert "did you mean 'dear_silver'" in unknown.output


def test_new_copies_the_demo_and_never_writes_over_a_folder(tmp_path):
    made = run("new", tmp_path / "mine")
    assert made.exit_code == 0
    assert run("check", tmp_path / "mine").exit_code == 0
    again = run("new", tmp_path / "mine")
    assert again.exit_code == 2
    assert "is there already" in again.output


def test_the_help_of_every_command_says_what_it_is_for():
    for name, command in main.commands.items():
        result = run(name, "--help")
        assert result.exit_code == 0
        assert command.help.splitlines()[0] in " ".join(result.output.split())


def test_help_imports_nothing_slow():
    script = (
        "import sys; from costmodel.command.main import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('numpy', 'pandas', 'pint', 'plotly', 'papermill', 'nbconvert') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("module", ["costmodel", "costmodel.command.main"])
def test_the_package_and_the_file_of_the_commands_run(module):
    done = subprocess.run([sys.executable, "-m", module, "cost", "--help"], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.startswith("Usage: costmodel cost ")


def test_a_plant_that_closes_says_so_in_the_answer_and_beside_falling_prices():
    """The first words of `plan`, and why a royalty per watt does not move in `deal prices`: the plant is gone by then."""
    case = load_case(FIELD)
    end = evaluate(case).plan.ending
    assert end.early == 1
    closes = f"The plant closes after {years(end.time)}"
    assert f"{closes}: operating cash" in run("plan", FIELD, "--draws", 0).output
    assert f"{closes}: what prices do later changes no royalty." in run("deal", FIELD, "prices").output
    assert "The plant closes" not in run("plan", DEMO, "--draws", 0).output


def test_check_prints_what_it_found_for_programs_too():
    data = json.loads(run("check", DEMO, "--json").output)
    counted = {row["what"]: row["found"] for row in data["rows"]}
    assert counted["rows of steps"] == str(len(demo().steps))
    assert data["fingerprint"] == fingerprint(demo())
    without = [row["found"] for row in data["rows"] if row["what"] == "without a range"]
    assert f"Numbers without a range in ranges.csv: {len(without)}." in run("check", DEMO, "--all").output
    assert run("check", DEMO, "--csv").output.splitlines()[0] == "what,found"
