"""Back-calculation: whether figures that are disclosed, as they are rounded, determine one that is closed."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np

from ...case.addresses import map_inputs, numeric_inputs
from ...case.fingerprint import fingerprint
from ...case.whole_case import Case, kept
from ...core.faults import Fault, InputFaults
from ...model.evaluate import evaluate, figures
from ...model.ledger.ledger_figures import PLANT
from .build import collect, disclosed_figures
from .closed_marks import FOLDED, LICENSOR, LICENSOR_FIGURES, RECIPE, external_view, is_closed, marks_of

TOLERANCE = 0.005  # half a step of three digits
VARIANTS = (3, 0.55)  # other cases in which a relation has to hold as well, or it is coincidence, and the least part of each input
NEAR = (4, 0.98)  # more of them, nearer to the case, for what holds in these: where plants close, what stands still is alike
SIGNS = ("less", "plus", "over", "times")


@dataclass(frozen=True, slots=True)
class Found:
    """A closed figure, and the one or two disclosed figures that give it away."""

    closed: str
    disclosed: tuple[str, ...]
    sign: str

    def __str__(self) -> str:
        return f"{f' {self.sign} '.join(self.disclosed)} gives {self.closed}"


def gives_away(case: Case, edition: str, seed: int = 0) -> list[Found]:
    """Closed figures that one disclosed figure equals, or that are the difference, sum, ratio or product of two, as rounded.

    A relation counts if it holds in other cases too, with every input changed at random; so coincidence is no cause. A figure
    that is 0, or has no value, in one of them is not looked at. The relations are those of formulas, not of numbers: for another
    case of the same rows and words, with the same inputs at 0 and 1, they are taken from the first.
    """
    sizes = map_inputs(case, lambda _address, value, _unit: value if value in (0.0, 1.0) else 0.5)
    bare = dataclasses.replace(sizes, title="", story="", evidence={})
    shape = f"{edition} {seed} {fingerprint(bare)}"
    if shape not in _FOUND:
        draws, marks = np.random.default_rng(seed), marks_of(case, edition)
        names, cases = _closed(case, marks), [case]
        disclosed_of, closed = list[Mapping[str, float]](), list[Mapping[str, float]]()
        found: list[Found] = []
        for count, least in (VARIANTS, NEAR):
            cases += [_changed(case, draws, least) for _ in range(count)]
            for each in cases[len(closed) :]:
                numbers = _numbers(each)
                disclosed_of.append(disclosed_numbers(each, edition, marks))
                closed.append({name: float(numbers[name]) for name in names})
            found = relations(disclosed_of, closed)
            names = [each.closed for each in found]
            closed = [{name: values[name] for name in names} for values in closed]
            if not found:
                break
        _FOUND[shape] = found
    return _FOUND[shape]


_FOUND: dict[str, list[Found]] = {}  # by edition and by what a case is but for its numbers


def relations(disclosed: Sequence[Mapping[str, float]], closed: Sequence[Mapping[str, float]]) -> list[Found]:
    """The relations between disclosed and closed figures that hold in every one of several cases.

    >>> shown = [{"all": 10.0, "others": 7.0}, {"all": 9.0, "others": 4.0}, {"all": 8.0, "others": 1.5}]
    >>> [str(each) for each in relations(shown, [{"ours": 3.0}, {"ours": 5.0}, {"ours": 6.5}])]
    ['all less others gives ours']
    """
    first = disclosed[0]
    names = [n for n in first if first[n] and all(n in other and np.isfinite(other[n]) for other in disclosed)]
    values = [np.array([each[name] for name in names]) for each in disclosed]
    found = []
    with np.errstate(all="ignore"):
        tables = [[v[:, None] - v, v[:, None] + v, v[:, None] / v, v[:, None] * v] for v in values]
        for name in closed[0]:
            wanted = [each.get(name, np.nan) for each in closed]
            if not all(wanted) or not np.all(np.isfinite(wanted)):
                continue  # what is 0 is the product of any two figures of which one is 0
            if len({round(value / wanted[0], 6) for value in wanted}) == 1 and len(wanted) > 1:
                continue  # it did not change, so no relation shows
            alone = np.flatnonzero(np.all([_near(v, w) for v, w in zip(values, wanted)], axis=0))
            places, sign = ((alone[0],), "") if alone.size else _pair(tables, wanted)
            found += [Found(name, tuple(names[k] for k in places), sign)] if places else []
    return found


def _pair(tables: Sequence[Sequence[np.ndarray]], wanted: Sequence[float]) -> tuple[tuple[int, ...], str]:
    """The first two figures of which the difference, sum, ratio or product is as wanted in every case, and which of these."""
    for k, sign in enumerate(SIGNS):
        hits = _near(tables[0][k], wanted[0])
        for made, value in zip(tables[1:], wanted[1:]):
            if not hits.any():
                break
            hits &= _near(made[k], value)
        pairs = np.argwhere(np.triu(hits) if sign in ("plus", "times") else hits)
        if len(pairs):
            return tuple(pairs[0]), sign
    return (), ""


def _near(values: np.ndarray, wanted: float) -> np.ndarray:
    return np.abs(values - wanted) <= TOLERANCE * abs(wanted)


def _changed(case: Case, draws: np.random.Generator, least: float) -> Case:
    """The case with every input and its range smaller by a random part; times of plan and deal stay, as they have an order."""
    ordered = (
        "schedule", "licence", "loan", "fees", "deliveries", "yearly_services", "sublicences", "minimum_royalties", "royalty_steps",
        "buy_outs", "ramp", "returns",
    )  # fmt: skip
    whole = ("constants", "money", "tax_rates", "payments", "correlations")
    together = (
        "output_share", "processed_share", "load_size", "carrier_size", "part_of_year", "lots_averaged", "probability",
        "least_share", "most_share",
    )  # fmt: skip
    units = {address: unit for address, _, unit, *_ in numeric_inputs(case)}
    parts: dict[str, float] = {}

    def part(address: str) -> float:
        """What is left of an input, drawn once; 1 for one that must hold together with others."""
        table = address.partition(".")[0]
        if table in whole or address.endswith(together) or (units[address] == "s" and table in ordered):
            return 1.0
        lowest = max(least, 0.95) if table == "steps" and units[address] == "1" else least
        return parts.setdefault(address, draws.uniform(lowest, 1.0))

    def change(address: str, value: Any, _unit: str) -> Any:
        """Another value of an input; of an end of a range, or of an outcome, in step with the input that it is about."""
        table, identity, *_ = address.split(".")
        if table == "outcomes" and not address.endswith(together):
            table, identity = "ranges", case.outcomes[identity].range
        return value * part(case.ranges[identity].address if table == "ranges" else address)

    return map_inputs(case, change)


def disclosed_numbers(case: Case, edition: str, marks: list[str]) -> dict[str, float]:
    """Every number that an edition discloses of a case, as rounded, by name and place in its list."""
    view = kept(case, "external view", lambda: external_view(case))
    found: dict[str, float] = {}
    for each in disclosed_figures(view, edition, collect(case, evaluate(view), edition, marks, {}), marks, {}):
        values = (
            {f"{each.name} [{k}]": v for k, v in enumerate(each.value)} if isinstance(each.value, list) else {each.name: each.value}
        )
        found |= {name: value for name, value in values.items() if isinstance(value, float)}
    return found


def _closed(case: Case, marks: list[str]) -> list[str]:
    """Closed figures and inputs, without what is widened and figures of the deal that nothing of the licensor moves."""
    openly = [row.address for row in case.widened.values()]
    closed = [*LICENSOR, *LICENSOR_FIGURES, *RECIPE, *FOLDED, *marks]
    inside, outside = _numbers(case), _numbers(external_view(case))
    alike = {address for address in inside if is_closed(address, LICENSOR_FIGURES) and inside[address] == outside.get(address)}
    openly += [f"ledger.by_step.{PLANT}"]  # no step
    found = [address for address in inside if is_closed(address, closed) and not is_closed(address, openly)]
    return [address for address in found if address not in alike or is_closed(address, marks)]


def _numbers(case: Case) -> dict[str, float]:
    """Every figure and every input that is a number, by address."""
    return {a: v for a, v, *_ in chain(figures(evaluate(case), case.currency), numeric_inputs(case))}


def refuse_leaks(case: Case, edition: str) -> list[Found]:
    """Refuse an edition of which one or two figures give away what is closed. Raises InputFaults naming all of them.

    The cost of a single step is let pass where nobody marked it, as the case itself states which steps go together: what gives one
    away, such as a group of one step, comes back as a warning.

    >>> from costmodel.case.load import load_case
    >>> refuse_leaks(load_case("inputs_demo/facade"), "licensee")
    []
    """
    found, marks = gives_away(case, edition), marks_of(case, edition)
    folded = [each for each in found if is_closed(each.closed, FOLDED) and not is_closed(each.closed, marks)]
    leaks = [each for each in found if each not in folded]
    if leaks:
        allowed = (
            "an edition without one of these (close it in confidential.csv), or what they give away disclosed openly (widened.csv)"
        )
        raise InputFaults([Fault(f"the {edition} edition", None, None, f"{each}", allowed) for each in leaks])
    return folded
