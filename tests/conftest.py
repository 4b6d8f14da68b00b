"""What the test command runs: everything this machine has the tools for, and a plain word on what it left out."""

import ctypes.util
import functools
import importlib.util
import shutil
from pathlib import Path

import hypothesis
import pytest

from costmodel.case import load

from .cases import Inputs

hypothesis.settings.register_profile("no deadline", deadline=None)  # no test asserts a time
hypothesis.settings.load_profile("no deadline")

# files that take longest, which begin first
LONGEST = ("seeded_faults", "workbook_recalculated", "editions", "words", "documents", "notebooks", "deal", "edition_attacks")

TOOLS = {
    "chromium": ("chromium", "chromium-browser", "google-chrome"),
    "soffice": ("soffice", "libreoffice"),
    "pdftotext": ("pdftotext",),
}


DEMOS = Path(__file__).resolve().parents[1] / "inputs_demo"


def demos_read_once(read):
    """Reads a folder; a demo whose files stay the same is read once in a process, so that all tests share what is made of it."""

    @functools.lru_cache(maxsize=16)
    def read_again(folder, _files, use):
        return read(folder, dict(use))

    def read_once(folder, use=None):
        if not Path(folder).resolve().is_relative_to(DEMOS):
            return read(folder, use)
        files = tuple((str(path), path.stat().st_mtime_ns) for path in sorted(Path(folder).resolve().rglob("*")))
        return read_again(str(folder), files, tuple(sorted((use or {}).items())))

    return read_once


load.read_case = demos_read_once(load.read_case)


def tool_path(tool):
    """The path of a tool on this machine, or None; of a library its name."""
    if tool == "pango":
        return ctypes.util.find_library("pangoft2-1.0")
    if tool == "numba":  # the extra `fast`, without which there is no second evaluator to test
        return importlib.util.find_spec("numba") and tool
    return next((found for name in TOOLS[tool] if (found := shutil.which(name))), None)


def pytest_addoption(parser):
    parser.addoption("--full", action="store_true", help="run every test; a missing tool is an error")
    parser.addoption("--fuzz", type=int, default=300, metavar="N", help="so many wild cases in full mode; each names its seed")


def pytest_collection_modifyitems(config, items):
    left_out = {}
    for item in items:
        for mark in item.iter_markers("needs"):
            if tool_path(mark.args[0]) is None:
                left_out.setdefault(f"{mark.args[0]} is not on this machine", []).append(item)
        if item.get_closest_marker("slow") and not config.getoption("--full"):
            left_out.setdefault("slow; run with --full", []).append(item)
    if config.getoption("--full") and left_out:
        raise pytest.UsageError(f"--full, but {'; '.join(left_out)}")
    gone = {id(item) for some in left_out.values() for item in some}
    config.hook.pytest_deselected(items=[item for item in items if id(item) in gone])
    order = {f"test_{name}": place for place, name in enumerate(LONGEST)}  # so that no process waits for another at the end
    items[:] = sorted((item for item in items if id(item) not in gone), key=lambda item: order.get(item.path.stem, len(order)))
    config.stash[_LEFT_OUT] = {why: sorted({item.nodeid.partition("[")[0] for item in some}) for why, some in left_out.items()}
    if hasattr(config, "workeroutput"):  # one of several processes, each of which has collected all tests
        config.workeroutput["left out"] = config.stash[_LEFT_OUT]


_LEFT_OUT = pytest.StashKey()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node):
    node.config.stash[_LEFT_OUT] = getattr(node, "workeroutput", {}).get("left out", {})


def pytest_terminal_summary(terminalreporter, config):
    for why, names in config.stash.get(_LEFT_OUT, {}).items():
        terminalreporter.write_line(f"NOT RUN ({why}):")
        for name in names:
            terminalreporter.write_line(f"  {name}")


@pytest.fixture
def folder(tmp_path):
    """A small case in a folder of its own."""
    made = tmp_path / "tiny"
    made.mkdir()
    return Inputs().write(made)


@pytest.fixture(scope="session")
def browser():
    """A headless Chromium with the network off."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        opened = started.chromium.launch(
            executable_path=tool_path("chromium"), args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        yield opened
        opened.close()
