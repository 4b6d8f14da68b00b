"""Where the demo case stands, inside an installed package or beside it in a checkout; and the case, read once."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .whole_case import Case

DEMO = "facade"


def demo_folder() -> Path:
    """The folder of the demo case.

    >>> (demo_folder() / "case.yaml").is_file()
    True
    """
    package = Path(__file__).resolve().parents[1]
    installed = package / "inputs_demo" / DEMO
    return installed if installed.is_dir() else package.parent / "inputs_demo" / DEMO


@cache
def demo_case() -> Case:
    """The demo case, read once for all examples that start from it.

    >>> demo_case() is demo_case()
    True
    """
    from .load import load_case  # late: reading takes more imports than naming the folder

    return load_case(demo_folder())
