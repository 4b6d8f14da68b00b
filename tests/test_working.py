"""What a terminal shows while a command is at work: a line that goes before anything is printed, and never reaches a pipe."""

import contextlib
import io
import os
import pty
import re
import select
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner

from costmodel.command import working as at_terminal
from costmodel.command.main import main
from costmodel.core.at_work import NOW, at

from .cases import ROOT

SLOW = (  # a program that waits, then prints, as a command does
    "import sys, time, click\n"
    "from costmodel.command.working import working\n"
    "from costmodel.core.at_work import at\n"
    "with working():\n"
    "    at('sheets', 3, 18)\n"
    "    time.sleep(1.6)\n"
    "    click.echo('answer')\n"
)


class Terminal(io.StringIO):
    """An output that says it is a terminal."""

    def isatty(self):
        return True


def environment():
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def test_a_terminal_shows_the_work_and_how_far_it_is_and_then_the_answer_alone():
    shown, behind = pty.openpty()
    process = subprocess.Popen([sys.executable, "-c", SLOW], stdout=behind, stderr=behind, env=environment())
    os.close(behind)
    text = b""
    while select.select([shown], [], [], 60)[0]:
        try:
            part = os.read(shown, 4096)
        except OSError:  # the end of a pseudo-terminal
            break
        if not part:
            break
        text += part
    os.close(shown)
    assert process.wait() == 0
    screen = text.decode()
    assert re.search(r"\r\x1b\[KWorking, \d+ s: sheets, 3 of 18", screen)
    assert re.split(r"\r\x1b\[K", screen)[-1].strip() == "answer"  # the line is gone before the answer


@pytest.mark.parametrize("words", [["--json"], ["--csv"], ["--plain"], []])
def test_what_is_for_programs_has_nothing_of_it(words, monkeypatch):
    asked = []
    monkeypatch.setattr("costmodel.command.main.working", lambda shown: asked.append(shown) or at_terminal.working(shown))
    assert CliRunner().invoke(main, ["guide", *words]).exit_code in (0, 2)
    assert CliRunner().invoke(main, ["line", str(ROOT / "inputs_demo" / "facade"), *words]).exit_code == 0
    assert asked == [not words, not words]


def test_nothing_of_it_reaches_pipes():
    done = subprocess.run([sys.executable, "-c", SLOW], capture_output=True, text=True, env=environment(), check=True)
    assert (done.stdout, done.stderr) == ("answer\n", "")


def test_the_line_stays_away_while_another_is_being_written(monkeypatch):
    screen = Terminal()
    monkeypatch.setattr(at_terminal, "EVERY", 0.01)
    monkeypatch.setattr(at_terminal, "FIRST", 0.01)
    monkeypatch.setattr(sys, "stderr", screen)
    with at_terminal.working():
        sys.stderr.write("Draws  40 %")  # a bar that has a line of its own
        time.sleep(0.2)
        assert screen.getvalue().endswith("Draws  40 %")
        sys.stderr.write("\n")
        deadline = time.monotonic() + 30
        while "Working" not in screen.getvalue() and time.monotonic() < deadline:
            time.sleep(0.01)
    assert "Working" in screen.getvalue().split("Draws  40 %\n")[1]
    assert screen.getvalue().endswith(at_terminal.ERASE)
    assert sys.stderr is screen


def test_an_error_takes_the_line_away_too(monkeypatch):
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    with pytest.raises(ValueError, match="stopped"), at_terminal.working():
        raise ValueError("stopped")
    assert sys.stderr is screen


@pytest.mark.slow
def test_documents_state_how_many_are_done_and_what_each_worker_is_at(tmp_path):
    """Within a second of the start of the work, in a terminal: the worker states its document, and which part of it it is at."""
    command = ["report", str(ROOT / "inputs_demo" / "facade"), "--kind", "term_sheet", "--kind", "memo", "--workers", "1"]
    shown, behind = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "costmodel", *command, "--out", str(tmp_path)], stdout=behind, stderr=behind, env=environment()
    )
    os.close(behind)
    text = b""
    with contextlib.suppress(OSError):  # the end of a pseudo-terminal
        while part := os.read(shown, 4096):
            text += part
    os.close(shown)
    assert process.wait() == 0
    lines = re.split(r"\r\x1b\[K|\r\n", text.decode())
    assert any(re.match(r"Working, \d+ s: documents, 0 of 2: term_sheet", line) for line in lines)
    assert any(re.match(r"Working, \d+ s: documents, 1 of 2: memo, parts of the document, \d+ of \d+", line) for line in lines)


def test_long_work_states_what_it_is_at():
    from costmodel.studies.negotiation.probabilities import probabilities
    from costmodel.studies.solve import solve

    from .cases import demo, tiny

    at("")
    probabilities(demo(), draws=19)  # a number of draws of which no other test keeps the probabilities
    assert NOW.words() == "probabilities over 19 draws"
    solve(tiny(), "prices.box.price", "ledger.total.cost_per_module", 40.0, 0.0, 10.0, points=11)
    assert NOW.words() == "values of the input"
