"""Where the demo case stands: inside an installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

DEMO = "facade"


def demo_folder() -> Path:
    """The folder of the demo case.

    >>> (demo_folder() / "case.yaml").is_file()
    True
    """
    package = Path(__file__).resolve().parents[1]
    installed = package / "inputs_demo" / DEMO
    return installed if installed.is_dir() else package.parent / "inputs_demo" / DEMO
