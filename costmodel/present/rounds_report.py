"""Versions of a deal: which one the terms are of, what was offered round by round, and what each change is worth to whom."""

from __future__ import annotations

import re

from ..case.differences import Difference, Differences, same_inputs
from ..case.whole_case import Case
from ..core.operations import Value
from ..core.units import to_base
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.rounds_compared import Change, Compared
from .deal_report import EACH_AT_ITS_RATE, in_money, in_own_money, ours, own_columns
from .inputs_report import input_name, input_unit
from .numbers import amount, label, people, signed, spoken, stated, typeset
from .table import Table

LEAST, ABOUT_NONE = 1.0, "about 0"  # of money: a smaller change is shown in words
NO_ROUNDS = "The case has no rounds: its folder rounds/ holds no file."


OTHER_DRAFT = " The draft in deal.yaml has other terms: plan and studies take it unless --round names a round."


def version(case: Case, day: str = "") -> str:
    """Which version the terms are: of which round, day and validity, and whether it holds on a day.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.scenarios import open_case
    >>> version(load_case("inputs_demo/facade"))
    'Terms: the draft in deal.yaml of 2026-11-25, which is no offer.'
    >>> version(open_case("inputs_demo/facade", terms="3_offer"))
    'Terms: round 3 of 2026-11-02, “second offer” by the licensor, valid until 2026-12-31.'
    >>> version(open_case("inputs_demo/facade", terms="1_offer")).endswith(OTHER_DRAFT)
    True
    """
    if case.version is None:
        return f"Terms: the draft in deal.yaml of {case.evidence['licence'].date}, which is no offer."
    found = case.version.round
    stands = "" if not day or found.holds_on(day) else f" It {_state(found, day)} on {day}."
    other = "" if same_inputs(case.version.draft, case) else OTHER_DRAFT
    return (
        f"Terms: round {case.version.number} of {found.date}, “{found.title}” by the {found.by}, "
        f"valid until {found.valid_until}.{stands}{other}"
    )


def version_for_others(case: Case) -> str:
    """The same as an external document states it: number, day and validity, and nothing of its story."""
    if case.version is None:
        date = case.evidence["licence"].date
        of = f" of {date}" if re.fullmatch(r"\d{4}-\d{2}(-\d{2})?", date) else ""  # it may be any words, which stay inside
        return f"Version of the terms: draft{of}, not yet offered."
    found = case.version.round
    return f"Version of the terms: round {case.version.number} of {found.date}, valid until {found.valid_until}."


def _state(found, day: str) -> str:
    """What became of an offer on a day."""
    if found.status != "open":
        return f"is {found.status}"
    return "is not yet made" if day < found.date else "holds" if day <= found.valid_until else "no longer holds"


def rounds(case: Case, found: Overview, day: str) -> list[str]:
    """What each round left to either side, and whether it holds on a day; the newest first."""
    return [
        f"{turn.round.date}, {turn.round.title} ({turn.round.by}): gains of the licensor {ours(case, turn.gains.licensor)}, of the "
        f"licensee {in_money(case, turn.gains.licensee)}. It {_state(turn.round, day)} on {day} (until {turn.round.valid_until})."
        for turn in reversed(found.turns)
    ]


def moved(before: Case, after: Case, found: Differences) -> str:
    """What differs between two versions, term by term."""
    parts = [f"{input_name(before, each.address)} {_was(before, each)} → {_is(after, each)}" for each in found.inputs]
    parts += [f"{row_name(after, place)} added" for place in found.added]
    parts += [f"{row_name(before, place)} dropped" for place in found.dropped]
    return spoken("; ".join(parts))


def row_name(case: Case, place: str) -> str:
    """What a row is called: its title, or its id."""
    table, _, identity = place.partition(".")
    return getattr(getattr(case, table)[identity], "title", label(identity))


def _was(case: Case, each: Difference) -> str:
    return _term(case, each.address, each.before)


def _is(case: Case, each: Difference) -> str:
    return _term(case, each.address, each.after)


def _term(case: Case, address: str, value: Value) -> str:
    """A term in the unit of its row in that version of the deal."""
    if isinstance(value, str):
        return value
    unit = input_unit(case, address)
    return f"{stated(float(value) / to_base(unit))} {typeset(unit)}"


def rounds_table(case: Case, found: Overview) -> Table:
    """What was moved from round to round, and what it cost."""
    rows, before = [], None
    for turn in found.turns:
        own, other = turn.gains.licensor, turn.gains.licensee
        change = ["", ""] if before is None else [_change(own - before.licensor), _change(other - before.licensee)]
        rows.append([f"{turn.round.date} {turn.round.by}", moved(turn.before, turn.case, turn.moved), people(own),
                     *in_own_money(case, own), change[0], people(other), change[1], turn.round.valid_until])  # fmt: skip
        before = turn.gains
    own_money = own_columns(case, "licensor")
    return Table(
        f"Rounds, {case.currency}",
        ["round", "moved", "licensor", *own_money, "licensor's change", "licensee", "licensee's change", "valid until"],
        rows,
        note="Gains above floor and best alternative, each side at its own rate.",
        texts=(0, 1),
    )


# two versions term by term


def _won(value: float, currency: str) -> str:
    """What a side has more or less, as a verb.

    >>> _won(-174000.0, "EUR"), _won(263000.0, "EUR"), _won(-0.15, "EUR")
    ('loses EUR 174,000', 'gains EUR 263,000', 'has about as much')
    """
    return f"{'loses' if value < 0 else 'gains'} {amount(abs(value), currency)}" if abs(value) >= LEAST else "has about as much"


def _change(value: float) -> str:
    """A change of a side's gain in a table; less than one unit of money is rounding of the search for it.

    >>> _change(-174000.0), _change(-0.15), _change(0.0)
    ('−174,000', 'about 0', '0')
    """
    return signed(value) if abs(value) >= LEAST or not value else ABOUT_NONE


def compared(found: Compared) -> list[str]:
    """What moved between two versions, in all."""
    first, second = found.names
    if not found.changes:
        return [f"{first} and {second} have the same terms."]
    own, other = sum(change.licensor for change in found.changes), sum(change.licensee for change in found.changes)
    currency = found.before.currency
    said = [
        f"From {first} to {second} {len(found.changes)} terms differ. The licensor {_won(own, currency)}, the licensee "
        f"{_won(other, currency)}."
    ]
    if any(change.error for change in found.changes):
        said.append(
            f"Orders of the changes were sampled, with a standard error of up to {max(c.error for c in found.changes):.3g}."
        )
    return said


def compared_table(found: Compared) -> Table:
    """Each term that differs, from and to, who requested it, and what it is worth to either side."""
    rows = [
        [*_sides_of(found, change), _asked(change), _change(change.licensor), _change(change.licensee)] for change in found.changes
    ]
    own, other = sum(change.licensor for change in found.changes), sum(change.licensee for change in found.changes)
    return Table(
        f"Terms from {found.names[0]} to {found.names[1]}, {found.before.currency}",
        ["term", "from", "to", "requested by", "licensor", "licensee"],
        [*rows, ["all", "", "", "", _change(own), _change(other)]],
        note=f"What each change is worth, on average over all orders of the changes. {EACH_AT_ITS_RATE}",
        texts=(0, 1, 2, 3),
        total=True,
    )


def _sides_of(found: Compared, change: Change) -> list[str]:
    """A change in words: the term, from and to."""
    before, after = found.before, found.after
    if not change.inputs:
        in_it = after if change.kind == "added" else before
        return [row_name(in_it, change.place), *(("", change.kind) if change.kind == "added" else ("in force", change.kind))]
    if len(change.inputs) == 1:
        (each,) = change.inputs
        return [input_name(before, each.address), spoken(_was(before, each)), spoken(_is(after, each))]
    shown = [each for each in change.inputs if not each.is_text]
    names = ", ".join(each.address.rsplit(".", 1)[1].replace("_", " ") for each in shown)
    title = input_name(before, change.inputs[0].address).partition(":")[0]
    return [
        f"{title}: {names}",
        spoken(", ".join(_was(before, each) for each in shown)),
        spoken(", ".join(_is(after, each) for each in shown)),
    ]


def _asked(change: Change) -> str:
    """Who moved a term, in which round."""
    return ", ".join(f"{side} ({name})" for name, side in change.asked)
