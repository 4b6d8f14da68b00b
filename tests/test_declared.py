"""What is imported is declared, and what is declared works in its lowest version."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def name_of(requirement: str) -> str:
    """The name of a distribution as indexes compare it: small letters, one hyphen."""
    return re.sub(r"[-_.]+", "-", re.split(r"[<>=!~;\[ ]", requirement)[0]).lower()


RUN = {name_of(each) for each in PROJECT["dependencies"]}
EXTRA = PROJECT["optional-dependencies"]
FAST = {name_of(each) for each in [*EXTRA["fast"], *EXTRA["cluster"]]}  # used where it is there, and not needed
TEST = {name_of(each) for each in PROJECT["optional-dependencies"]["test"]}


def imported(code: str) -> Iterator[str]:
    """The first part of each module that a program imports, wherever in it."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module.partition(".")[0]


def cells(path: Path) -> str:
    """The code of a notebook."""
    import nbformat

    return "\n".join(cell.source for cell in nbformat.read(path, 4).cells if cell.cell_type == "code")


def undeclared(folder: str, declared: set[str]) -> dict[str, str]:
    """Modules that files of a folder import of a distribution that is not declared, each with a file that does."""
    owners = packages_distributions()
    found = {}
    for path in sorted([*(ROOT / folder).rglob("*.py"), *(ROOT / folder).rglob("*.ipynb")]):
        code = path.read_text(encoding="utf-8") if path.suffix == ".py" else cells(path)
        for module in imported(code):
            if module in sys.stdlib_module_names or module in ("costmodel", "tests", "__future__"):
                continue
            if not {name_of(owner) for owner in owners.get(module, [module])} & declared:
                found.setdefault(module, str(path.relative_to(ROOT)))
    return found


@pytest.mark.slow
@pytest.mark.parametrize(("folder", "declared"), [("costmodel", RUN | FAST), ("notebooks", RUN), ("tests", RUN | TEST)])
def test_all_that_is_imported_is_declared(folder, declared):
    assert undeclared(folder, declared) == {}


def test_every_dependency_has_a_lower_bound():
    assert [each for each in PROJECT["dependencies"] if not re.search(r">=\d", each)] == []


CORE = ("tests/test_hand_worked.py", "tests/test_hand_worked_terms.py", "tests/test_inputs.py", "tests/test_plan.py")


@pytest.mark.slow
def test_the_lowest_versions_that_are_declared_work(tmp_path):
    python, tests = tmp_path / "lowest" / "bin" / "python", ["pytest>=8.2", "pytest-xdist>=3.8", "hypothesis>=6.100"]
    surroundings = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "PYTEST_ADDOPTS", "VIRTUAL_ENV")}

    def done(*words: str) -> None:
        made = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, env=surroundings)
        assert made.returncode == 0, made.stdout[-3000:] + made.stderr[-3000:]

    uv = (sys.executable, "-m", "uv")
    done(*uv, "venv", "--python", sys.executable, str(tmp_path / "lowest"))
    done(*uv, "pip", "install", "--python", str(python), "--resolution", "lowest-direct", *PROJECT["dependencies"], *tests)
    done(str(python), "-m", "pytest", "-n", "0", "-p", "no:cacheprovider", *CORE)
