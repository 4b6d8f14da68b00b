"""The package is clean to the type checker."""

import subprocess
import sys

import pytest

from .cases import ROOT


@pytest.mark.slow
def test_the_type_checker_finds_nothing(tmp_path):
    command = [sys.executable, "-m", "mypy", "--config-file", str(ROOT / "pyproject.toml"), "--cache-dir", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.stdout.startswith("Success: no issues found"), done.stdout + done.stderr
