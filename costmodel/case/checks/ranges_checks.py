"""Checks of what is uncertain: ranges, the values that some of them have in tables of their own, correlations."""

from __future__ import annotations

from typing import Any

from ...core.faults import nearest
from ...core.fields import Number, unit_of
from ...core.units import same_kind
from ..addresses import BadAddress, allowed_units, input_at
from ..uncertain import cannot_hold_together
from ..values import BadValue, check_number
from ..whole_case import Case
from .frame_checks import Found, Unread, where_read

HELD_IN = {"outcomes": "discrete", "samples": "empirical"}  # the tables of values, and which ranges have them


def ranges_point_at_inputs(case: Case, unread: Unread) -> Found:
    """Each range names a numeric input, in a unit it converts to, with low <= mode <= high."""
    seen: dict[str, str] = {}
    for identity, row in case.ranges.items():
        with where_read():
            if row.address in seen:
                yield "ranges", identity, "address", f"'{row.address}', which '{seen[row.address]}' has too", "each address once"
            seen[row.address] = identity
            yield from _range_fits(case, unread, identity, row)
        with where_read():
            if not row.low <= row.mode <= row.high:
                yield "ranges", identity, "mode", "low, mode and high out of order", "low <= mode <= high"
        with where_read():
            if row.distribution == "lognormal" and row.low <= 0.0:
                yield "ranges", identity, "low", f"{row.low:.6g} with the distribution lognormal", "a value above 0"
            if row.distribution in ("normal", "lognormal") and not row.low < row.high:
                yield "ranges", identity, "high", f"low and high alike with the distribution {row.distribution}", "low below high"


def _range_fits(case: Case, unread: Unread, identity: str, row: Any) -> Found:
    """The address of a range, and its ends held against the range of that input."""
    try:
        declaration, record = input_at(case, row.address)
    except BadAddress as problem:
        if problem.table not in unread:
            yield "ranges", identity, "address", f"'{row.address}'", problem.allowed
        return
    if not isinstance(declaration, Number):
        yield "ranges", identity, "address", f"'{row.address}', a text", "the address of a number"
        return
    if not case.currency:
        return  # case.yaml could not be read
    with where_read():
        if not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
            wanted = unit_of(record, declaration.entry, case.currency)
            yield "ranges", identity, "unit", f"'{row.unit}'", f"a unit that converts to {wanted}"
            return
    for column in ("low", "high"):
        with where_read():
            try:
                check_number(declaration, getattr(row, column), row.unit)
            except BadValue as problem:
                yield "ranges", identity, column, problem.found, problem.allowed


def values_belong_to_their_ranges(case: Case, unread: Unread) -> Found:
    """Outcomes are those of a discrete range, a sample that of an empirical one."""
    for table, wanted in HELD_IN.items():
        for identity, row in getattr(case, table).items():
            with where_read():
                if row.range in case.ranges and case.ranges[row.range].distribution != wanted:
                    found = f"'{row.range}', a range that is {case.ranges[row.range].distribution}"
                    yield table, identity, "range", found, f"a range that is {wanted}"


def ranges_have_their_values(case: Case, unread: Unread) -> Found:
    """A discrete range has outcomes, an empirical one a sample."""
    for table, wanted in HELD_IN.items():
        for identity, own in _rows_by_range(case, unread, table).items():
            if case.ranges[identity].distribution == wanted and not own:
                yield "ranges", identity, "distribution", f"'{wanted}' without a row in {table}.csv", f"'{wanted}' with one"


def one_sample_for_a_range(case: Case, unread: Unread) -> Found:
    """An empirical range has one column of measured values."""
    for identity, own in _rows_by_range(case, unread, "samples").items():
        if len(own) > 1:
            yield "samples", own[-1], "range", f"'{identity}', which '{own[0]}' has too", "each range once"


def probabilities_add_up(case: Case, unread: Unread) -> Found:
    """The outcomes of a range are all that can be: 100 %."""
    for identity, own in _rows_by_range(case, unread, "outcomes").items():
        with where_read():
            total = sum(case.outcomes[other].probability for other in own)
            if own and abs(total - 1.0) > 1e-9:
                yield "outcomes", own[-1], "probability", f"{100 * total:.9g} % in all for '{identity}'", "100 % in all"


def outcomes_suit_their_inputs(case: Case, unread: Unread) -> Found:
    """Each value of a discrete range is one that its input may take."""
    for identity, row in case.outcomes.items():
        with where_read():
            if row.range in case.ranges and case.currency:
                yield from _outcome_fits(case, identity, row)


def _rows_by_range(case: Case, unread: Unread, table: str) -> dict[str, list[str]]:
    """The rows of outcomes or samples by range; nothing where some could not be read, since they may belong to any range."""
    rows = getattr(case, table).items()
    if table in unread or any(not hasattr(row, "range") for _, row in rows):
        return {}
    found: dict[str, list[str]] = {name: [] for name, row in case.ranges.items() if hasattr(row, "distribution")}
    for identity, row in rows:
        if row.range in found:
            found[row.range].append(identity)
    return found


def _outcome_fits(case: Case, identity: str, row: Any) -> Found:
    """A value that an input may take is in a unit that converts to that of the input, and in its range."""
    try:
        declaration, record = input_at(case, case.ranges[row.range].address)
    except BadAddress:
        return  # told of in ranges.csv
    if not isinstance(declaration, Number):
        return
    if not any(same_kind(row.unit, wanted) for wanted in allowed_units(declaration, record, case.currency)):
        wanted = unit_of(record, declaration.entry, case.currency)
        yield "outcomes", identity, "unit", f"'{row.unit}'", f"a unit that converts to {wanted}"
        return
    try:
        check_number(declaration, row.value, row.unit)
    except BadValue as problem:
        yield "outcomes", identity, "value", problem.found, problem.allowed


def correlations_can_hold(case: Case, unread: Unread) -> Found:
    """Each pair of groups of ranges.csv stands once, and some draws have all the correlations."""
    groups = {getattr(row, "group", "") for row in case.ranges.values()}
    seen: dict[frozenset[str], str] = {}
    for identity, row in case.correlations.items():
        for column in ("group", "other") if "ranges" not in unread and "" not in groups else ():
            with where_read():
                name = getattr(row, column)
                if name not in groups:
                    yield "correlations", identity, column, f"'{name}'", f"a group of ranges.csv{nearest(name, groups)}"
        with where_read():
            pair = frozenset((row.group, row.other))
            if pair in seen:
                yield "correlations", identity, "other", f"'{row.other}', as '{seen[pair]}' has too", "each pair of groups once"
            seen[pair] = identity
    with where_read():
        reason = cannot_hold_together(case)
        if reason:
            yield "correlations", next(iter(case.correlations)), "rank_correlation", reason, "correlations nearer to 0"
