"""The installed package, without the checkout beside it."""

import os
import subprocess
import sys
import zipfile

import pytest

from .cases import ROOT


@pytest.mark.slow
def test_an_installed_wheel_begins_a_case_and_reports_on_it(tmp_path):
    subprocess.run([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(tmp_path), str(ROOT)], check=True)
    (wheel,) = tmp_path.glob("*.whl")
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    without = {"COSTMODEL_EVALUATOR": "numpy"}  # the other one would be compiled anew for this place
    environment = {**os.environ, **without, "PYTHONPATH": str(tmp_path / "site")}
    script = "import costmodel; print(costmodel.__file__); from costmodel.command.main import main; main()"

    def run(*words):
        return subprocess.run(
            [sys.executable, "-c", script, *words], cwd=tmp_path, env=environment, check=True, capture_output=True, text=True
        ).stdout

    assert str(tmp_path / "site") in run("new", "mine")
    assert "no faults found" in run("check", "mine")
    run("report", "mine", "--kind", "full", "--kind", "investor")
    assert (tmp_path / "reports" / "mine_full.html").stat().st_size > 1_000_000
    assert (tmp_path / "reports" / "mine_investor.html").stat().st_size > 20_000
