"""What agrees with the outside, as sentences, tables and records."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..studies.verification.agreement import DIFF, MOST_DIGITS, NOTE, PASS, Agreement
from .numbers import MINUS, stated
from .table import Table, table_of

MEANING = (
    "PASS: as near as the source's last printed digit, or as rounding allows. NOTE: the same, and the source needs a word. "
    "DIFF: not so near."
)


def summary(found: Sequence[Agreement], whose: str) -> str:
    """How many agree, in a sentence."""
    counts = {verdict: sum(each.verdict == verdict for each in found) for verdict in (PASS, NOTE, DIFF)}
    kept = counts[PASS] + counts[NOTE]
    rest = f"; {counts[DIFF]} do not" if counts[DIFF] > 1 else "; one does not" if counts[DIFF] else ""
    noted = f", {counts[NOTE]} of them with a note" if counts[NOTE] else ""
    return f"{kept} of {len(found)} checks {whose} agree{noted}{rest}."


def by_subject(found: Sequence[Agreement]) -> Table:
    """How many checks of each subject agree, and in how many digits at least."""
    subjects = dict.fromkeys((each.subject, _kind(each)) for each in found)
    rows = [(subject, kind, [x for x in found if (x.subject, _kind(x)) == (subject, kind)]) for subject, kind in subjects]
    columns = {
        "subject": lambda subject, kind, own: subject,
        "against": lambda subject, kind, own: kind,
        PASS: lambda subject, kind, own: _count(own, PASS),
        NOTE: lambda subject, kind, own: _count(own, NOTE),
        DIFF: lambda subject, kind, own: _count(own, DIFF),
        "digits agreed, least": lambda subject, kind, own: _digits(min(x.digits for x in own)),
    }
    return table_of("What agrees with the outside", rows, columns, texts=(0, 1), note=MEANING)


def _count(found: Sequence[Agreement], verdict: str) -> str:
    return str(sum(each.verdict == verdict for each in found))


def _kind(found: Agreement) -> str:
    """What a subject is held against: a library, an identity, or published values."""
    return found.source if found.source in ("identity", "numpy-financial", "another spreadsheet") else "published values"


def each_check(found: Sequence[Agreement]) -> Table:
    """Every check, with its source, what is expected and what is found."""
    columns = {
        "what": lambda x: x.what,
        "source": lambda x: x.source,
        "expected": lambda x: _values(x.expected, x),
        "found": lambda x: _values(x.found, x),
        "digits": lambda x: _digits(x.digits),
        "verdict": lambda x: x.verdict,
        "note": lambda x: x.note,
    }
    return table_of("Each check", [(x,) for x in found], columns, texts=(0, 1, 5, 6))


def _digits(digits: int) -> str:
    return f"{digits} or more" if digits >= MOST_DIGITS else str(digits)


def _values(values: Sequence[float], found: Agreement) -> str:
    """A few values, or the first and last of many."""
    shown = [_number(value, found.within[0]) for value in values]
    return ", ".join(shown) if len(shown) <= 3 else f"{shown[0]} ... {shown[-1]} ({len(shown)} values)"


def _number(value: float, within: float) -> str:
    """A value with the digits that are compared."""
    text = f"{value:.10g}" if within < 1e-9 * max(1.0, abs(value)) * 2 else stated(round(value, 10))
    return text.replace("-", MINUS)


def records(found: Sequence[Agreement]) -> list[dict[str, Any]]:
    """A record for each value that is compared."""
    return [
        {"subject": x.subject, "what": x.what, "source": x.source, "expected": wanted, "found": value, "within": within,
         "digits": x.digits, "verdict": x.verdict, "note": x.note}
        for x in found for wanted, value, within in zip(x.expected, x.found, x.within)
    ]  # fmt: skip
