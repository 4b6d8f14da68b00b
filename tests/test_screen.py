"""What commands print on screens of any width: rows keep their names, no cell is cut, no number is broken."""

import fcntl
import json
import os
import pty
import re
import struct
import subprocess
import sys
import termios

import pytest

from costmodel.command import screen
from costmodel.command.answering import SENTENCES
from costmodel.command.line_commands import line
from costmodel.command.main import GROUPS, main
from costmodel.command.old_names import RENAMED
from costmodel.command.screen import lay_out, sentences, wrapped
from costmodel.command.subjects import SubjectCommand
from costmodel.command.transfers import transfer
from costmodel.present.table import Table

from .cases import DEMO, ROOT
from .printed import WIDTHS, WITH_SUBJECTS, views_of
from .test_command import run


def joined(text):
    """A text without the blanks at which it may be wrapped."""
    return re.sub(r"\s", "", text)


def test_what_is_too_wide_becomes_one_block_per_row():
    wide = Table("Wide", ["step", *(f"heading number {k}" for k in range(6))], [["wash", *("1,234,567,890" for _ in range(6))]])
    assert lay_out(wide, 100)[-1].startswith("wash  1,234,567,890  1,234,567,890")
    narrow = lay_out(wide, 40)
    assert narrow[0] == "step: wash"
    assert narrow[1:] == [f"  heading number {k}  1,234,567,890" for k in range(6)]


def test_a_table_over_time_is_continued_below_itself_with_the_names_of_its_rows():
    years = Table("Cash", ["", *map(str, range(1, 16))], [["Tax", *(f"-{k}.00" for k in range(1, 16))]])
    lines = lay_out(years, 60)
    assert len([each for each in lines if each.startswith("Tax ")]) > 1
    assert [cell for each in lines if each.startswith("Tax ") for cell in each.split()[1:]] == years.rows[0][1:]
    assert max(map(len, lines)) <= 60


def test_a_word_that_is_longer_than_the_screen_is_folded_and_not_cut():
    address = "ledger.lines.tool_utilities.deposition_electricity.deposition.price_per_kilowatt_hour"
    lines = lay_out(Table("One", ["figure", "value"], [[address, "0.105"]]), 60)
    assert joined("".join(lines)).startswith(f"figure:{address}")
    assert "0.105" in lines[-1]


def test_a_number_keeps_its_unit_where_a_sentence_is_wrapped():
    for width in range(12, 60):
        lines = wrapped("The plant earns EUR 3.42 million, 12.9 % a year, rated to ± 2.61 % of a watt.", width)
        assert all(len(each) <= max(width, 16) for each in lines)
        for whole in ("EUR 3.42 million", "12.9 %", "± 2.61 %"):
            if width >= len(whole) + 1:
                assert any(whole in each for each in lines), (width, whole)


@pytest.mark.parametrize("name", [command.name for command in WITH_SUBJECTS if command is not transfer])
def test_an_answer_is_at_most_five_sentences_and_one_table(name, monkeypatch):
    monkeypatch.setattr(screen, "screen_width", lambda err=False: None)
    shown = run(name, DEMO, *(["--points", "4"] if name == "rank" else ["--draws", "16"] if name in ("plan", "deal") else []))
    assert shown.exit_code == 0, shown.output
    said, _, table = shown.output.partition("\n\n")
    assert 1 <= len([each for text in said.splitlines()[1:] for each in sentences(text)]) <= SENTENCES
    assert len(re.findall(r"^─+$", table, re.MULTILINE)) == 1
    assert f"By subject: {', '.join(main.commands[name].names)}." in shown.output


@pytest.mark.slow
def test_all_prints_what_the_answer_leaves_out_and_each_table_once():
    shown, distinct = run("line", DEMO, "--all").output, []
    for view in (view for subject in line.subjects for view in views_of(DEMO, line, subject)):
        for text in view.sentences:
            assert text in shown
        for table in view.tables:
            assert f"\n{table.title}\n" in shown
            distinct += [table] if table not in distinct else []
    assert len(re.findall(r"^─+$", shown, re.MULTILINE)) == len(distinct)


def test_each_command_is_in_one_group_of_the_help():
    shown = run("--help").output
    assert len(main.commands) == sum(map(len, GROUPS.values())) == 21
    for title, commands in GROUPS.items():
        section = shown.partition(f"\n{title}:\n")[2].partition("\n\n")[0]
        assert [each.split()[0] for each in section.splitlines() if each[2] != " "] == [each.name for each in commands]
        for command in commands:
            if isinstance(command, SubjectCommand):
                assert joined(f"Subjects: {', '.join(command.names)}.") in joined(section)


@pytest.mark.parametrize("name", RENAMED)
def test_an_old_command_is_refused_with_the_new_one_which_is_there(name):
    refused = run(name, DEMO)
    assert refused.exit_code == 2
    assert f"allowed: costmodel {RENAMED[name]}" in refused.output
    command, *rest = RENAMED[name].replace("CASE ", "").split()
    assert name not in main.commands
    assert rest[0] in run(command, "--help").output


@pytest.mark.parametrize(("words", "message"), [
    (("line", "cycle", "--rungs", "3"), "--rungs: found with the subject 'cycle'; allowed: with bottlenecks"),
    (("line", "--rungs", "3"), "--rungs: found without a subject; allowed: with bottlenecks"),
    (("cost", "size", "--group", "cleaning"), "--group: found with the subject 'size'; allowed: with choices"),
    (("plan", "capital", "--draws", "10"), "--draws: found with the subject 'capital'; allowed: with the answer, probability"),
    (("deal", "--term", "licence.royalty"), "--term: found without a subject; allowed: with terms"),
    (("rank", "tornado", "--points", "4"), "--points: found with the subject 'tornado'; allowed: with the answer"),
    (("line", "botlenecks"), "line: found the subject 'botlenecks'; allowed: flow, "),
    (("line", "botlenecks"), "did you mean 'bottlenecks'?"),
    (("line", "--json", "--plain"), "--json and --plain: found together; allowed: one of them"),
    (("plan", "--json", "--draws", "5"), "--draws: found with --json; allowed: without it"),
    (("compare", "--frozen"), "--frozen: found without --all-scenarios; allowed: with it"),
    (("compare", "--all-scenarios", "--from-scenario", "first_year"), "--all-scenarios: found OTHER or --from-scenario beside it"),
])  # fmt: skip
def test_what_belongs_to_another_subject_is_refused_by_name(words, message):
    command, *rest = words
    refused = run(command, DEMO, *rest)
    assert refused.exit_code == 2
    assert message in refused.output
    assert "Traceback" not in refused.output


def test_an_unknown_command_is_refused_with_the_nearest():
    refused = run("lin", DEMO)
    assert refused.exit_code == 2
    assert "found 'lin'; allowed: new, guide, check" in refused.output
    assert "did you mean 'line'?" in refused.output


def on_a_terminal(width, *words, ends=0):
    """What a command prints on a pseudo-terminal of this width, as lines without colours."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, width, 0, 0))
    surroundings = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")} | {"TERM": "xterm"}
    command = [sys.executable, "-m", "costmodel", *map(str, words)]
    started = subprocess.Popen(command, cwd=ROOT, stdout=theirs, stderr=theirs, stdin=theirs, env=surroundings)
    os.close(theirs)
    read = b""
    while True:
        try:
            read += (part := os.read(ours, 65536))
        except OSError:  # the other end is closed
            break
        if not part:
            break
    os.close(ours)
    assert started.wait() in ((ends,) if ends is not None else (0, 2))
    plain = re.sub(r"\x1b\[[0-9;]*m", "", read.decode())
    return re.sub(r"\r\x1b\[K(Working, [^\r\n]*)?", "", plain).splitlines()  # what goes again before the answer


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_on_a_terminal_no_line_is_wider_than_it_and_the_table_is_laid_out_for_it(width):
    lines = on_a_terminal(width, "line", DEMO)
    assert max(map(len, lines)) <= width
    (table,) = (table for view in views_of(DEMO, line, "") for table in view.tables)
    laid_out = lay_out(table, width)
    start = lines.index(table.title) + 1
    assert lines[start : start + len(laid_out)] == laid_out


@pytest.mark.slow
def test_a_subject_prints_its_tables_as_json_csv_and_plain_lines():
    (view,) = views_of(DEMO, line, "power")
    (table,) = view.tables
    shown = json.loads(run("line", DEMO, "power", "--json").output)
    assert list(shown) == ["title", "sentences", "tables"]
    assert [row["row"] for row in shown["tables"][0]["rows"]] == [row[0] for row in table.rows]
    number, unit = table.rows[0][1].split()
    assert shown["tables"][0]["rows"][0]["value"] == {"value": float(number), "unit": unit}
    lines = run("line", DEMO, "power", "--csv").output.splitlines()
    assert lines[0] == "table,row,column,value,unit"
    assert len(lines) == 1 + len(table.rows)
    plain = run("line", DEMO, "power", "--plain").output.splitlines()
    assert plain[0] == view.title
    assert plain[-len(table.rows) :] == ["\t".join(row) for row in table.rows]


def test_plain_lines_are_the_same_on_any_terminal():
    narrow, wide = (on_a_terminal(width, "line", DEMO, "--plain") for width in (60, 160))
    assert narrow == wide == run("line", DEMO, "--plain").output.splitlines()


@pytest.mark.slow
@pytest.mark.parametrize("words", [("check", DEMO), ("guide",), ("explain", DEMO, "product.length"), ("line", DEMO, "botlenecks")])
def test_sentences_lists_and_refusals_are_wrapped_at_the_terminal(words):
    assert max(map(len, on_a_terminal(60, *words, ends=None))) <= 60
