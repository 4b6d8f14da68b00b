"""Editions that were checked and give nothing away, kept across processes so that each is checked once.

Only a clean check is kept, as an empty file in the user's cache: nothing of a case stands there. Its name is a hash over every
number, row and word of the external view, what the edition closes and widens, earlier editions, and the code of the package. So a
change of any of these is checked anew, and so is all that was refused or warned of. Who can write into the cache can write the case
too. A cache that cannot be written or read is done without.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path

from ...case.fingerprint import exact_content
from ...case.whole_case import Case
from ...core.whole_files import user_cache
from .stated_numbers import Outside

PACKAGE = Path(__file__).parents[2]


def clean_before(view: Case, outside: Outside) -> bool:
    """Whether an edition of a view was checked before, by this version, and gave nothing away."""
    with suppress(OSError, RuntimeError):
        return _place(view, outside).is_file()
    return False


def keep_clean(view: Case, outside: Outside) -> None:
    """Keep that an edition of a view gives nothing away."""
    with suppress(OSError, RuntimeError):  # no home, or none that may be written
        place = _place(view, outside)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.touch()


def _place(view: Case, outside: Outside) -> Path:
    words = "\n".join([_code(), exact_content(view), repr(sorted(view.entry_units.items())), repr(outside)])
    return user_cache() / "checked" / hashlib.sha256(words.encode()).hexdigest()


@cache
def _code() -> str:
    """What the check is made of: every file of the package that is code or units, and the libraries that it computes with."""
    found = hashlib.sha256(f"{version('numpy')} {version('scipy')}".encode())
    for path in sorted([*PACKAGE.rglob("*.py"), *PACKAGE.rglob("*.txt")]):
        found.update(f"{path.relative_to(PACKAGE)}\0".encode() + path.read_bytes())
    return found.hexdigest()
