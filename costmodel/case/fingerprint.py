"""The fingerprint of a case: the same inputs give the same short text, whatever units or column order the tables have."""

from __future__ import annotations

import dataclasses
import hashlib
import json

from .uncertain import supposed
from .whole_case import Case, rows_of, tables


def fingerprint(case: Case) -> str:
    """Twelve hexadecimal digits of a SHA-256 over every input, text and evidence of the case.

    Numbers enter with 12 significant digits in base units, so that a column stated in another unit changes nothing.
    """
    return hashlib.sha256(exact_content(case).encode()).hexdigest()[:12]


def exact_content(case: Case) -> str:
    """What a fingerprint is over, as text: every input, text and evidence, in one order."""
    content: dict[str, object] = {
        "title": case.title,
        "story": case.story,
        "public": [case.public_title, case.public_story],
        "currency": case.currency,
        "constants": _plain(case.constants),
    }
    for name, table in tables().items():
        rows = [[key, _plain(record)] for key, record in rows_of(case, name).items()]
        content[name] = rows[0][1] if table.section and rows else rows
    content["evidence"] = {place: _plain(shown) for place, shown in sorted(case.evidence.items())}
    if supposed(case):
        content["supposed"] = sorted(supposed(case))
    if case.measurements:
        content["measurements"] = {row: [f"{value:.12g}" for value in values] for row, values in sorted(case.measurements.items())}
    return json.dumps(content, sort_keys=True)


def _plain(record: object) -> dict[str, object]:
    values = dataclasses.asdict(record)  # type: ignore[call-overload]
    return {name: f"{value:.12g}" if isinstance(value, float) else str(value) for name, value in values.items()}
