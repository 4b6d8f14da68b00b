"""Keeps optional packages out while another one is imported that would load them, where that takes longer than all of its own."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def left_out(*packages: str) -> Iterator[None]:
    """Within it these packages are as good as not installed, but for those that are loaded already.

    >>> with left_out("wave"):
    ...     try:
    ...         import wave
    ...     except ImportError:
    ...         print("not there")
    not there
    >>> import wave
    >>> with left_out("wave"):  # it is loaded now, and stays so
    ...     import wave
    >>> sys.modules["wave"] is wave
    True
    """
    hidden = [name for name in packages if name not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]  # None: not to be imported
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]
