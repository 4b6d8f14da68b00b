"""Shows in a terminal that a command is at work, for how long and how far; nothing of it goes into files and pipes."""

from __future__ import annotations

import contextlib
import shutil
import sys
import threading
import time
from collections.abc import Iterator
from typing import Any

from ..core.at_work import NOW, at

FIRST, EVERY = 0.5, 0.5  # s
ERASE = "\r\x1b[K"


class _Shown:
    """A line at the foot of the terminal, renewed from time to time; it goes as soon as something is printed."""

    def __init__(self, screen: Any):
        self.screen, self.lock = screen, threading.Lock()
        self.begun = self.quiet_since = time.monotonic()
        self.there, self.line_ended, self.stopped = False, True, threading.Event()

    def run(self) -> None:
        """Renew the line until the work ends."""
        while not self.stopped.wait(EVERY):
            with self.lock:
                now = time.monotonic()
                if self.line_ended and not self.stopped.is_set() and now - self.quiet_since >= FIRST:
                    after = f": {NOW.words()}" if NOW.what else ""
                    words = f"Working, {now - self.begun:.0f} s{after}"
                    self.screen.write(ERASE + words[: shutil.get_terminal_size().columns - 1])
                    self.screen.flush()
                    self.there = True

    def erase(self) -> None:
        """Take the line away, if it is there."""
        if self.there:
            self.screen.write(ERASE)
            self.screen.flush()
            self.there = False


class _Printing:
    """An output before whose next words the line goes away."""

    def __init__(self, output: Any, shown: _Shown):
        self._output, self._shown = output, shown

    def write(self, text: str) -> int:
        """Write as the output itself does."""
        with self._shown.lock:
            self._shown.erase()
            self._shown.quiet_since = time.monotonic()
            self._shown.line_ended = text.endswith("\n") if text else self._shown.line_ended
            return int(self._output.write(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._output, name)


@contextlib.contextmanager
def working(shown: bool = True) -> Iterator[None]:
    """Show that work goes on where errors go to a terminal: within a second, and until something is printed."""
    if not shown or sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    line = _Shown(sys.stderr)
    kept = sys.stdout, sys.stderr
    at("")
    thread = threading.Thread(target=line.run, daemon=True)
    sys.stdout, sys.stderr = _Printing(kept[0], line), _Printing(kept[1], line)  # type: ignore[assignment]  # all that is asked of them
    thread.start()
    try:
        yield
    finally:
        line.stopped.set()
        thread.join()
        sys.stdout, sys.stderr = kept
        line.erase()
