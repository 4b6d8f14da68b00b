"""Values expected and found, and how far they agree."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

PASS, NOTE, DIFF = "PASS", "NOTE", "DIFF"
MOST_DIGITS = 15  # that a number of 64 bits holds for sure


@dataclass(frozen=True, slots=True)
class Agreement:
    """What was held against what: values expected and found, how far each may be off, and what is to be said about the source."""

    subject: str
    what: str
    source: str
    expected: tuple[float, ...]
    found: tuple[float, ...]
    within: tuple[float, ...]
    note: str = ""  # why it says less than a value from outside: worked out from its inputs, recalled, or a slip of the source

    @property
    def agrees(self) -> bool:
        """Whether every value lies as near as it must; one that is no number does not."""
        return len(self.found) == len(self.expected) and all(
            abs(found - wanted) <= within for found, wanted, within in zip(self.found, self.expected, self.within)
        )

    @property
    def verdict(self) -> str:
        """PASS, NOTE or DIFF."""
        return DIFF if not self.agrees else NOTE if self.note else PASS

    @property
    def digits(self) -> int:
        """The digits in which all values agree; where one is zero, counted from the size of the bound.

        >>> Agreement("", "", "", (200.58,), (200.5792,), (0.005,)).digits
        5
        """
        return min(_digits(*each) for each in zip(self.expected, self.found, self.within))


def _digits(wanted: float, found: float, within: float) -> int:
    """The digits before the first difference: the size of a value over how far the other is off, as a power of ten."""
    off = abs(found - wanted)
    if not off <= math.inf:
        return 0
    size = abs(wanted) if wanted else max(1e9 * within, off)  # what must vanish, against the size of its parts
    return MOST_DIGITS if not off else max(0, min(MOST_DIGITS, math.floor(math.log10(size / off))))


@dataclass(frozen=True, slots=True)
class Published:
    """Values as their source prints them, and what computes the same by the model's own functions."""

    subject: str
    what: str
    source: str
    printed: str  # the values as they stand there, with spaces between
    compute: Callable[[], Sequence[float]]
    note: str = ""
    digit: float = 1.0  # how far a value may be off, in units of its last printed digit; a half, where a source does not truncate

    def agreement(self) -> Agreement:
        """Compute the values and hold them against those that are printed."""
        texts = self.printed.split()
        within = tuple(self.digit * _unit(text) * (1 + 1e-9) for text in texts)
        return Agreement(
            self.subject, self.what, self.source, tuple(map(float, texts)), tuple(map(float, self.compute())), within, self.note
        )


def _unit(printed: str) -> float:
    """One unit of the last printed digit.

    >>> _unit("0.0955"), _unit("26667")
    (0.0001, 1.0)
    """
    return float(f"1e-{len(printed.partition('.')[2])}")
