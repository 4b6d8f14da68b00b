"""Two versions of a deal term by term: what each change is worth to either side, whatever the order, and who asked for it."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ...case.addresses import input_at
from ...case.changes import stated_in
from ...case.deal_rounds import DRAFT, cases_by_round
from ...case.differences import Difference, Differences, differences
from ...case.whole_case import Case, held_at, tables, with_held
from ...core.faults import Fault, InputFaults, nearest
from ...model.readings.recording import Recording
from ..waterfall import shapley
from .sides import LICENSEE, LICENSOR

ADDED, DROPPED = "added", "dropped"
MOST = 6  # changes of rows, currencies and texts that are taken apart: each doubles the runs


@dataclass(frozen=True, slots=True)
class Change:
    """A term that differs between two versions, by its address, or its row where the row comes, goes or changes its currency.

    `inputs` are the inputs of it that differ, none of a row that is added or dropped; `asked` are the rounds in between that
    moved it, each with its side. `licensor` and `licensee` are what it is worth to either, in the reporting currency, on average
    over all orders of the changes; `error` is the greater standard error of the two where orders were sampled.
    """

    place: str
    kind: str
    inputs: tuple[Difference, ...]
    asked: tuple[tuple[str, str], ...]
    licensor: float
    licensee: float
    error: float


@dataclass(frozen=True, slots=True)
class Compared:
    """Two versions of a deal by name and as cases, and what differs; the parts of each side add up to the whole move."""

    names: tuple[str, str]
    before: Case
    after: Case
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class _Player:
    """One change: its place, what comes with it, and whether it can vary as a number."""

    place: str
    kind: str
    inputs: tuple[Difference, ...]
    is_number: bool


def compare_rounds(folder: str | Path, draft: Case, first: str, second: str) -> Compared:
    """Two rounds of a negotiation, or a round and the draft, in whichever order. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> found = compare_rounds("inputs_demo/facade", load_case("inputs_demo/facade"), "2_answer", "3_offer")
    >>> sorted(change.place for change in found.changes)
    ['licence.exclusive_time', 'licence.royalty', 'licence.upfront']
    """
    cases, sides = {DRAFT: draft}, dict[str, str]()
    for name, each, after in cases_by_round(folder, draft):
        cases[name], sides[name] = after, each.by
    for option, name in (("--from", first), ("--to", second)):
        if name not in cases:
            allowed = f"one of {', '.join(cases)}{nearest(name, cases)}"
            raise InputFaults([Fault(option, None, None, f"'{name}'", allowed)])
    before, after = cases[first], cases[second]
    players = _players(before, differences(before, after))
    if sum(not player.is_number for player in players) > MOST:
        allowed = f"at most {MOST}; compare rounds that are closer to each other"
        rows = sum(not player.is_number for player in players)
        raise InputFaults([Fault(f"{first} and {second}", None, None, f"{rows} rows, currencies and texts that differ", allowed)])
    low, high = sorted(list(cases).index(name) for name in (first, second))
    steps = list(cases)[low : high + 1]
    moved = {b: _places(differences(cases[a], cases[b])) for a, b in itertools.pairwise(steps)}
    values = _values(before, after, players)
    own, other = (shapley([player.place for player in players], values(side)) if players else [] for side in (LICENSOR, LICENSEE))
    changes = [
        Change(
            player.place,
            player.kind,
            player.inputs,
            tuple((name, sides[name]) for name, places in moved.items() if _touches(player, places)),
            licensor.value,
            licensee.value,
            max(licensor.error, licensee.error),
        )
        for player, licensor, licensee in zip(players, own, other)
    ]
    changes.sort(key=lambda change: -abs(change.licensor) - abs(change.licensee))
    return Compared((first, second), before, after, tuple(changes))


def _places(found: Differences) -> set[str]:
    """All that differs, input by input, and rows that came or went."""
    return {d.address for d in found.inputs} | {*found.added, *found.dropped}


def _touches(player: _Player, places: set[str]) -> bool:
    """Whether a round moved something of a change."""
    return player.place in places or any(place.startswith(f"{player.place}.") for place in places)


def _players(before: Case, found: Differences) -> list[_Player]:
    """The changes: each number by itself, but one for a row in another currency, a row that comes or goes, and a text."""
    read = [d for d in found.inputs if tables()[d.address.split(".")[0]].in_model]
    units = [d for d in read if d.is_text and stated_in(type(input_at(before, d.address)[1]), d.address.rsplit(".", 1)[1])]
    bound: dict[str, list[Difference]] = {d.place: [] for d in units}
    for each in read:
        money = [n for d in units if d.place == each.place for n in stated_in(type(input_at(before, d.address)[1]), "currency")]
        if each in units or each.address.rsplit(".", 1)[1] in money:
            bound[each.place].append(each)
    in_bound = [d for rows in bound.values() for d in rows]
    players = [_Player(place, "", tuple(rows), False) for place, rows in bound.items()]
    players += [_Player(d.address, "", (d,), not d.is_text) for d in read if d not in in_bound]
    players += [_Player(place, ADDED, (), False) for place in found.added]
    return players + [_Player(place, DROPPED, (), False) for place in found.dropped]


def _values(before: Case, after: Case, players: Sequence[_Player]) -> Callable[[str], Callable[[np.ndarray], np.ndarray]]:
    """What each side gains for combinations of changes: one recording for each combination of rows, currencies and texts."""
    kept: dict[bytes, dict[str, np.ndarray]] = {}
    firm = [number for number, player in enumerate(players) if not player.is_number]
    free = [number for number, player in enumerate(players) if player.is_number]

    def run(there: np.ndarray) -> dict[str, np.ndarray]:
        """The gains of both sides, a row for each combination."""
        found = {side: np.empty(len(there)) for side in (LICENSOR, LICENSEE)}
        for pattern in np.unique(there[:, firm], axis=0):
            rows = np.flatnonzero((there[:, firm] == pattern).all(axis=1))
            case = _partly(before, after, [players[number] for number, taken in zip(firm, pattern) if taken])
            columns = {
                players[n].place: np.where(there[rows, n], float(players[n].inputs[0].after), float(players[n].inputs[0].before))
                for n in free
            }
            for side, values in Recording(case, list(columns), list(found)).run(columns).items():
                found[side][rows] = values
        return found

    def of(side: str) -> Callable[[np.ndarray], np.ndarray]:
        """The gain of one side; both are found together, once."""

        def gain(there: np.ndarray) -> np.ndarray:
            """The gain for each combination."""
            key = there.tobytes()
            if key not in kept:
                kept[key] = run(there)
            return kept[key][side]

        return gain

    return of


def _partly(before: Case, after: Case, taken: Sequence[_Player]) -> Case:
    """The case before with some rows, currencies and texts as they are after; unchecked, as each version is checked itself."""
    held: dict[str, object] = {}
    units: dict[str, str] = dict(before.entry_units)
    for player in taken:
        table, _, identity = player.place.partition(".")
        if tables()[table].section:
            now = held.get(table, held_at(before, table))
            held[table] = dataclasses.replace(now, **_after_of(player))  # type: ignore[type-var]  # a record
            continue
        rows = held.setdefault(table, dict(held_at(before, table)))
        assert isinstance(rows, dict)
        row = identity.split(".")[0]
        if player.kind == DROPPED:
            del rows[row]
        elif player.kind == ADDED:
            rows[row] = held_at(after, table)[row]
        else:
            rows[row] = dataclasses.replace(rows[row], **_after_of(player))
        units |= {a: unit for a, unit in after.entry_units.items() if a.startswith(f"{table}.{row}.")}
    return dataclasses.replace(with_held(before, held), entry_units=units)


def _after_of(player: _Player) -> Mapping[str, object]:
    """The fields of a row as they are after."""
    return {d.address.rsplit(".", 1)[1]: d.after for d in player.inputs}
