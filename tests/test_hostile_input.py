"""Inputs that were made to harm, and outputs that take nothing: a refusal in one message, that a terminal can show."""

from __future__ import annotations

import ctypes
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from costmodel.case.files import read_yaml
from costmodel.core.faults import LONGEST, InputFaults
from costmodel.documents.editions.record import read_release

from .cases import Inputs
from .plans import plan_inputs
from .refusals import faults
from .running import run

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def never(tmp_path_factory):
    """A plan whose revenue is next to nothing, so that it has no rate of return and no payback."""
    return plan_inputs().cell("sales.csv", "all", "price", "0.001").write(tmp_path_factory.mktemp("never"))


TAGGED = ["!!int ''", "!!float ''", "!!timestamp x", "!!bool x", "!!set {a}", "!!python/object:os.system x", "!own x", "!!str 3"]


@pytest.mark.parametrize("scalar", TAGGED)
def test_a_tag_is_refused_with_its_row(scalar, folder):
    path = folder / "case.yaml"
    path.write_text(path.read_text(encoding="utf-8") + f"more: {scalar}\n", encoding="utf-8")
    row = path.read_text(encoding="utf-8").count("\n")
    assert faults(lambda: read_yaml(path)) == [f"case.yaml, row {row}: found a tag; allowed: plain values"]
    result = run("check", folder)
    assert (result.exit_code, isinstance(result.exception, SystemExit)) == (2, True)


@pytest.mark.parametrize("scalar", ["0x1f", "1_000", "1:30", ".inf", "-.nan", "yes", "0b11", "1e400"])
def test_a_scalar_that_programs_read_in_different_ways_is_no_number(scalar):
    inputs = Inputs().yaml("crews: 2", f"crews: {scalar}")
    (message,) = faults(inputs.load)
    assert message.startswith("case.yaml, 'site.crews': found ")
    assert "allowed: a number" in message


def test_a_leading_nought_is_read_as_people_and_tables_read_it():
    assert Inputs().yaml("crews: 2", "crews: 010").load().site.crews == 10.0


def test_nothing_is_no_text():
    (message,) = faults(Inputs().yaml("crews: 2", "crews: ~").load)
    assert message.startswith("case.yaml, 'site.crews': found nothing")


def test_a_release_of_odd_scalars_is_refused(tmp_path):
    (tmp_path / "a.yaml").write_text("edition: !!int ''\n", encoding="utf-8")
    assert faults(lambda: read_release(tmp_path / "a.yaml")) == [
        "a.yaml: found no YAML; allowed: a release as `costmodel release` writes it"
    ]


NO_SHOW = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069]")
HOSTILE = ["\x1b[2J\x1b]0;owned\x07", "\u202egpj.exe", "\u2066a\u2069", "\x9b31m", "a\u200bb", "\x7f"]


@pytest.mark.parametrize("hostile", HOSTILE)
@pytest.mark.parametrize("column", ["title", "tool", "process_time", "source", "id"])
def test_what_does_not_show_is_refused_and_shown(hostile, column):
    inputs = Inputs()
    names = [cell.split(" [")[0] for cell in inputs.tables["steps.csv"][0]]
    inputs.tables["steps.csv"][1][names.index(column)] = f"cut{hostile}"
    with pytest.raises(InputFaults) as problem:
        inputs.load()
    assert any(fault.row == 2 and fault.column == column for fault in problem.value.faults)
    shown = str(problem.value)
    assert not NO_SHOW.search(shown)
    assert any(ascii(letter)[1:-1] in shown for letter in NO_SHOW.findall(hostile))


@pytest.mark.parametrize("hostile", HOSTILE)
def test_names_and_options_that_do_not_show_are_shown(hostile, folder):
    (folder / f"ste{hostile.replace('/', '')}ps.csv").write_text("id\n", encoding="utf-8")
    for words in (["check", folder], ["cost", folder, "--set", f"site.crews{hostile}=3"], ["cost", folder, f"st{hostile}eps"]):
        result = run(*words)
        assert result.exit_code == 2
        assert not NO_SHOW.search(result.output)
        assert "Traceback" not in result.output


@pytest.mark.parametrize("column", ["title", "tool", "process_time", "kind", "id"])
def test_a_cell_of_40_000_characters_is_refused_in_a_short_message(column):
    inputs = Inputs()
    names = [cell.split(" [")[0] for cell in inputs.tables["steps.csv"][0]]
    inputs.tables["steps.csv"][1][names.index(column)] = 40_000 * "x"
    messages = faults(inputs.load)
    assert any(message.startswith(f"steps.csv, row 2, column '{column}': found 'xxx") for message in messages)
    assert max(map(len, messages)) < 3 * LONGEST
    assert any("characters in all)" in message for message in messages)


COMMANDS = ["cost", "cost --json", "cost --csv", "explain", "line --all", "risk --draws 8 --csv", "check", "guide dictionary"]


def ended(words: str, folder: Path, output: str) -> subprocess.CompletedProcess:
    name, *rest = words.split()
    case = [] if name == "guide" else [str(folder)]
    command = [sys.executable, "-m", "costmodel", name, *case, *rest]
    shell = f'exec "$@" {output}'
    return subprocess.run(["bash", "-c", shell, "bash", *command], capture_output=True, text=True, cwd=folder.parent,
                          env=os.environ | {"PYTHONPATH": str(ROOT)})  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("words", COMMANDS)
def test_an_output_that_takes_nothing_is_said_so(words, folder):
    full, closed = ended(words, folder, ">/dev/full"), ended(words, folder, ">&-")
    assert (full.returncode, full.stderr) == (
        2, "found an output or a file that takes nothing more ([Errno 28] No space left on device)\n")  # fmt: skip
    assert (closed.returncode, closed.stderr) == (2, "found a closed output; allowed: one that can be written to\n")


def without_privilege() -> None:
    """Give up what lets the superuser read and write everything; of anybody else it takes nothing."""
    if os.geteuid() == 0:
        for capability in (1, 2):  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH of capabilities(7)
            assert ctypes.CDLL(None).prctl(24, capability, 0, 0, 0) == 0  # PR_CAPBSET_DROP of prctl(2)


def as_anybody(words: list[str], home: Path) -> subprocess.CompletedProcess:
    """A command run by a user who may not do everything."""
    surroundings = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), "HOME": str(home), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run([sys.executable, "-m", "costmodel", *words], capture_output=True, text=True, cwd="/",
                          env=surroundings, preexec_fn=without_privilege)  # fmt: skip


@pytest.fixture
def locked(folder):
    """A case whose folder is opened again at the end."""
    yield folder
    os.chmod(folder, 0o755)


@pytest.mark.slow
@pytest.mark.parametrize("mode", [0o000, 0o444, 0o111])
@pytest.mark.parametrize("command", ["check", "cost", "compare"])
def test_a_folder_that_cannot_be_read_is_named_with_the_cause(mode, command, locked):
    os.chmod(locked, mode)
    result = as_anybody([command, str(locked), *(["--all-scenarios"] if command == "compare" else [])], locked.parent)
    assert result.returncode == 2, result.stderr
    assert "Traceback" not in result.stderr
    assert str(locked) in result.stderr
    assert "Permission denied" in result.stderr or "is not readable" in result.stderr


def test_a_home_and_a_folder_that_take_nothing_hinder_no_command_that_writes_nothing(locked):
    os.chmod(locked, 0o555)
    result = as_anybody(["cost", str(locked)], locked)
    assert (result.returncode, result.stderr) == (0, "")
    place = locked.parent / "shut" / "a.html"
    place.parent.mkdir(mode=0o555)
    refused = as_anybody(["explain", str(locked), "product.length", "--html", str(place)], Path("/nonexistent"))
    assert refused.returncode == 2
    cause = "which cannot be written or read (Permission denied); allowed: a file that can"
    assert refused.stderr == f"--html: found '{place}', {cause}\n"
    assert list(place.parent.iterdir()) == []


def strict(text: str) -> object:
    """JSON read by the standard, which knows no NaN and no Infinity."""

    def refused(word):
        raise ValueError(f"found {word}")

    return json.loads(text, parse_constant=refused)


RATE = "plan.project.irr"
AS_JSON = {
    "cost": "cost", "line": "line", "plan": "plan", "deal": "deal", "explain rate": f"explain {RATE}",
    "explain payback": "explain plan.project.payback", "find": "explain --find payback",
    "inputs": f"explain {RATE} --inputs", "tornado": f"rank tornado --figure {RATE}", "risk": f"risk --draws 8 --figure {RATE}",
    "sweep": f"sweep --vary site.crews=3..5 --points 2 --figure {RATE}", "rank": f"rank --points 8 --figure {RATE}",
    "waterfall": f"waterfall --set site.crews=3 --figure {RATE}", "compare": "compare --set site.crews=3",
}  # fmt: skip


def without_reason(data: object, at: str = "") -> list[str]:
    """Where a value is null and no reason stands beside it."""
    if isinstance(data, dict):
        bare = [at] if data.get("value", 0) is None and not any(each for key, each in data.items() if "reason" in key) else []
        return bare + [found for key, each in data.items() for found in without_reason(each, f"{at}.{key}")]
    if isinstance(data, list):
        return [found for number, each in enumerate(data) for found in without_reason(each, f"{at}.{number}")]
    return []


@pytest.mark.slow
@pytest.mark.parametrize("name", AS_JSON)
def test_json_is_valid_and_says_why_a_value_is_missing(name, never):
    command, *rest = AS_JSON[name].split()
    result = run(command, never, *rest, "--json")
    assert result.exit_code == 0, result.output
    found = strict(result.stdout)
    assert without_reason(found) == []


def test_a_figure_beyond_the_numbers_of_a_computer_is_null_with_its_reason(capsys):
    from costmodel.command.printing import NO_NUMBER, show_figures, show_records
    from costmodel.model.evaluate import evaluate

    results = evaluate(Inputs().load())  # a case of its own, since its results are kept and changed here
    object.__setattr__(results.ledger.total, "cost", float("inf"))
    show_figures(results, "EUR", "ledger", "json")
    found = strict(capsys.readouterr().out)
    assert found["ledger.total.cost"] == {"value": None, "unit": found["ledger.total.cost"]["unit"], "reason": NO_NUMBER}
    show_records([{"value": float("inf"), "reason": "too large"}], "json", {"also": [float("nan")]})
    assert strict(capsys.readouterr().out) == {"also": [None], "rows": [{"value": None, "reason": "too large"}]}
