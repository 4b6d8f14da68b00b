"""What long work is at, for whoever waits for it: work states it, a command may show it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass
class Stage:
    """What is being done, how much of it is done, and of how much; 0 where that is not known."""

    what: str = ""
    done: int = 0
    of: int = 0

    def words(self) -> str:
        """The stage in words.

        >>> Stage("sheets", 3, 18).words(), Stage("probabilities").words()
        ('sheets, 3 of 18', 'probabilities')
        """
        return f"{self.what}, {self.done:,} of {self.of:,}" if self.of else self.what


NOW = Stage()


def at(what: str, done: int = 0, of: int = 0) -> None:
    """State what the work of this process is at.

    >>> at("sheets", 3, 18)
    >>> NOW.words()
    'sheets, 3 of 18'
    """
    NOW.what, NOW.done, NOW.of = what, done, of
