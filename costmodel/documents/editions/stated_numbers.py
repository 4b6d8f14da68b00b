"""The numbers that an edition states, each with its slopes, its rounding and what closes it; and the closed ones beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ...case.whole_case import Case, kept
from ...core.units import to_base
from ...model.evaluate import evaluate, known_figures
from ...model.ledger.ledger_figures import PLANT
from .allowed import is_stated, may_show_input, unit_for
from .build import DIGITS, MILLION, STEP, Facts, collect, shown_by, shown_inputs
from .closed_marks import FOLDED, MARGINS, RECIPE, is_closed
from .disclosed_slopes import Ground, Row

BARS = "npv_moved_by.bars."
EXACT = 1e-9  # half a step of what is stated in nine digits, as a part of it


@dataclass(frozen=True, slots=True)
class Earlier:
    """An edition that its reader has already: what a message calls it, what it stated, and where the case has moved since.

    `times` holds how many times an input of today each of its inputs was, by address; an input that is not there is as it was.
    """

    name: str
    edition: str
    marks: tuple[str, ...] = ()
    widened: tuple[str, ...] = ()
    times: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Outside:
    """What an outsider has: the edition, what is left out of it, what of that is secret, what is widened, and earlier editions."""

    edition: str
    marks: tuple[str, ...]
    secrets: tuple[str, ...]
    widened: tuple[str, ...] = ()
    earlier: tuple[Earlier, ...] = ()

    def editions(self) -> tuple[Earlier, ...]:
        """The edition itself, under no name, and those before it."""
        return (Earlier("", self.edition, self.marks, self.widened), *self.earlier)


@dataclass(frozen=True, slots=True)
class Stated:
    """A number that is stated: what closes it (no text: it has gone out already), its row, and half a step of its rounding."""

    name: str
    closed_by: str
    row: Row
    half: float


def facts_without_marks(view: Case, edition: str) -> Facts:
    """The facts of a view as they are when nothing is marked: they say which row of a table a name of a release shows."""
    return kept(view, f"facts without marks: {edition}", lambda: collect(view, evaluate(view), edition, [], {}))


def half_step(value: float, unit: str, stated: bool) -> float:
    """Half a step of a value as it is rounded for an edition.

    >>> half_step(6_770_907.2, "{currency}", False), half_step(1.59, "1", False), half_step(0.0, "1", False)
    (5000.0, 0.005, 0.0)
    """
    if stated or value == 0 or not math.isfinite(value):
        return EXACT * abs(value)
    if unit.startswith("{currency}") and abs(value) >= MILLION:
        return 0.5 * 10.0**-STEP
    return 0.5 * 10.0 ** (math.floor(math.log10(abs(value))) - DIGITS + 1)


def stated_numbers(ground: Ground, editions: Sequence[Earlier], point: Mapping[str, float]) -> Iterator[Stated]:
    """Every number that an outsider has of some editions, but for inputs that are shown."""
    for edition in editions:
        after = f" in {edition.name}" if edition.name else ""
        for name, closed_by, row, half in (*_of_edition(ground, edition, point), *_widened(ground, edition, point)):
            yield Stated(name + after, "" if edition.name else closed_by, row, half)


def _widened(ground: Ground, edition: Earlier, point: Mapping[str, float]) -> Iterator[tuple[str, str, Row, float]]:
    """Figures that an edition states beyond the allow-list."""
    units = {address: known.unit for address, known in known_figures(ground.view).items()} if edition.widened else {}
    for address, row in ground.closed_rows([a for a in edition.widened if a in units], point, dict(edition.times)).items():
        size = to_base(units[address])
        yield address, address, row, half_step(row.value / size, units[address], False) * size


def _of_edition(ground: Ground, edition: Earlier, point: Mapping[str, float]) -> Iterator[tuple[str, str, Row, float]]:
    """Figures that an edition states of the allow-list: name, what closes it, row, half a step."""
    kind, marks = edition.edition, edition.marks
    facts = facts_without_marks(ground.view, kind)
    folded_one = _widest_folded(facts, kind, marks)
    for name, row in ground.rows(kind, point, dict(edition.times)).items():
        base = name.partition(" [")[0]
        if name.startswith(BARS):
            address = name.removeprefix(BARS).rpartition(".")[0]
            shown = may_show_input(kind, address) and not is_closed(address, marks)
            if is_closed(name, marks) or not (shown or address == folded_one):
                continue
            unit, closed_by = "{currency}", address if shown else "npv_moved_by"
        else:
            allowed, addresses = unit_for(kind, base), shown_by(facts, base)
            if allowed is None or any(is_closed(each, marks) for each in addresses):
                continue
            unit, closed_by = allowed, addresses[-1]
        yield name, closed_by, row, half_step(row.value, unit, is_stated(base))


def _widest_folded(facts: Facts, edition: str, marks: Sequence[str]) -> str:
    """The input whose bar stands for all that may not be shown; no text where all may."""
    bars = (facts.get("npv_moved_by") or {}).get("bars", [])
    return next((bar["row"] for bar in bars if not may_show_input(edition, bar["row"]) or is_closed(bar["row"], marks)), "")


def shown_exactly(ground: Ground, editions: Sequence[Earlier]) -> set[str]:
    """The inputs that an outsider knows: those that editions and bars show, those widened, and what anyone knows."""
    found: set[str] = set()
    for each in editions:
        edition, marks = each.edition, each.marks
        found |= {address for address in ground.inputs if ground.is_known(address) and not is_closed(address, marks)}
        bars = (facts_without_marks(ground.view, edition).get("npv_moved_by") or {}).get("bars", [])
        shown = [
            *each.widened,
            *shown_inputs(ground.view, edition, marks),
            *(bar["row"] for bar in bars if may_show_input(edition, bar["row"]) and not is_closed(bar["row"], marks)),
        ]
        found |= {address for address in shown if address in ground.place}
    return found


def closed_addresses(ground: Ground, secrets: Sequence[str]) -> list[str]:
    """Figures and inputs of the view that are closed: the recipe, the cost of single steps, margins, and what is secret."""
    closed = [*RECIPE, *FOLDED, *MARGINS, *secrets]
    return [
        address
        for address in (*ground.figures, *ground.inputs)
        if is_closed(address, closed)
        and not is_closed(address, [f"ledger.by_step.{PLANT}"])  # no step
        and not (address in ground.place and ground.is_known(address))  # 0 or 1: structure, not a value
    ]


def closed_names(ground: Ground, outside: Outside, point: Mapping[str, float]) -> dict[str, Row]:
    """Numbers that a mark holds back by their name in a release: they must not follow from the rest."""
    facts = facts_without_marks(ground.view, outside.edition)
    return {
        name: row
        for name, row in ground.rows(outside.edition, point).items()
        if not name.startswith(BARS)
        and unit_for(outside.edition, name.partition(" [")[0]) is not None
        and any(is_closed(each, outside.secrets) for each in shown_by(facts, name.partition(" [")[0]))
    }
