"""Commands that are killed, cut off or crowded while they write: each file is whole or not there, and the same command ends it."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
import yaml

from costmodel.core.whole_files import PART, is_ours

from .plans import plan_inputs
from .test_output_files import ROOT
from .test_saving import hashes

WRITERS = {
    "report": ("report", "{case}", "--kind", "investor", "--out", "{out}"),
    "release": ("release", "{case}", "--edition", "investor", "--out", "{out}/release.yaml"),
    "workbook": ("workbook", "{case}", "--out", "{out}/book.xlsx"),
}
SMALL = 3_000  # bytes that a file may have, where a disk that fills is played


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    folder = plan_inputs().write(tmp_path_factory.mktemp("planned"))
    path = folder / "case.yaml"
    path.write_text(f"public_title: A plant\n{path.read_text(encoding='utf-8')}", encoding="utf-8")
    return folder


def begun(name, case, out, **more):
    """A command that writes, as a process of its own."""
    words = [word.format(case=case, out=out) for word in WRITERS[name]]
    surroundings = os.environ | {"PYTHONPATH": str(ROOT)} | more.pop("env", {})
    return subprocess.Popen([sys.executable, "-m", "costmodel", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True, env=surroundings, **more)  # fmt: skip


def ended(process):
    said, wrong = process.communicate(timeout=240)
    return process.returncode, said + wrong


def assert_whole(out: Path) -> int:
    """Each file under its name is whole; returns how many there are."""
    files = [path for path in out.iterdir() if not path.name.startswith(PART)] if out.exists() else []
    for path in files:
        if path.suffix == ".html":
            assert is_ours(path.read_bytes()), path
        elif path.suffix == ".xlsx":
            assert zipfile.ZipFile(path).testzip() is None
        else:
            assert yaml.safe_load(path.read_text(encoding="utf-8"))["fingerprint"]
    return len(files)


@pytest.mark.slow
@pytest.mark.parametrize("name", WRITERS)
def test_a_command_that_is_killed_leaves_whole_files_and_can_be_run_again(name, case, tmp_path):
    """Killed some hundredths of a second after the first sign of writing, at four moments, then run to its end."""
    before, out = hashes(case), tmp_path / "out"
    for moment in (0, 1, 3, 9):
        process = begun(name, case, out)
        while process.poll() is None and not (out.exists() and any(out.iterdir())) and moment < 9:
            time.sleep(0.002)
        time.sleep(0.01 * moment)
        process.send_signal(signal.SIGKILL)
        process.communicate(timeout=60)
        assert_whole(out)
    code, said = ended(begun(name, case, out))
    assert code == 0, said
    assert assert_whole(out) >= 1
    assert hashes(case) == before


@pytest.mark.slow
@pytest.mark.parametrize("name", WRITERS)
def test_a_disk_that_fills_leaves_nothing_half_written_and_is_named(name, case, tmp_path):
    """A file may have 3,000 bytes only, as the machine itself holds it to."""

    def limited():
        resource.setrlimit(resource.RLIMIT_FSIZE, (SMALL, SMALL))

    out = tmp_path / "out"
    out.mkdir()
    code, said = ended(
        begun(name, case, out, preexec_fn=limited, env={"COSTMODEL_EVALUATOR": "numpy", "PYTHONDONTWRITEBYTECODE": "1"})
    )
    assert code in (1, 2), said
    assert "Traceback" not in said
    assert "too large" in said.lower() or "nothing can be written" in said, said
    assert list(out.iterdir()) == []


@pytest.mark.slow
@pytest.mark.parametrize("name", WRITERS)
def test_a_home_that_takes_no_file_is_no_hindrance(name, case, tmp_path):
    """`/proc` is a folder in which not even its owner may make one."""
    out = tmp_path / "out"
    home = {"HOME": "/proc", "XDG_CACHE_HOME": "/proc/none", "XDG_CONFIG_HOME": "/proc/none"}
    code, said = ended(begun(name, case, out, env=home))
    assert code == 0, said
    assert assert_whole(out) >= 1


@pytest.mark.slow
@pytest.mark.parametrize("name", WRITERS)
def test_two_that_write_the_same_at_once_leave_it_whole(name, case, tmp_path):
    out = tmp_path / "out"
    found = [ended(process) for process in [begun(name, case, out), begun(name, case, out)]]
    assert all("Traceback" not in said for _, said in found), found
    assert 0 in [code for code, _ in found], found
    assert assert_whole(out) >= 1
    assert not [path for path in out.iterdir() if path.name.startswith(PART)]
