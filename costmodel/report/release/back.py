"""Back-calculation: whether figures that are told, as they are rounded, determine one that is closed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...case.addresses import map_inputs, numeric_inputs
from ...case.records import Case
from ...model import evaluate, figures
from .build import collect, told_figures
from .marks import FOLDED, LICENSOR, LICENSOR_FIGURES, RECIPE, is_closed, marks_of, outside_view

TOLERANCE = 0.005  # half a step of three digits
VARIANTS = 3  # other cases in which a relation has to hold as well, or it is chance
SIGNS = ("", "less", "plus", "over", "times")


@dataclass(frozen=True, slots=True)
class Found:
    """A closed figure, and the one or two told figures that give it away."""

    closed: str
    told: tuple[str, ...]
    sign: str

    def __str__(self) -> str:
        return f"{f' {self.sign} '.join(self.told)} gives {self.closed}"


def gives_away(case: Case, edition: str, seed: int = 0) -> list[Found]:
    """Closed figures that one told figure equals, or that are the difference, sum, ratio or product of two, at the rounding told.

    A relation counts if it holds in other cases too, with every input changed at random; so chance is told from cause.
    """
    draws = np.random.default_rng(seed)
    cases = [case, *(_changed(case, draws) for _ in range(VARIANTS))]
    marks = marks_of(case, edition)
    told = [told_numbers(each, edition, marks) for each in cases]
    closed = [_closed_numbers(each, marks) for each in cases]
    return relations(told, closed)


def relations(told: list[Mapping[str, float]], closed: list[Mapping[str, float]]) -> list[Found]:
    """The relations between told and closed figures that hold in every one of several cases.

    >>> told = [{"all": 10.0, "others": 7.0}, {"all": 9.0, "others": 4.0}, {"all": 8.0, "others": 1.5}]
    >>> [str(each) for each in relations(told, [{"ours": 3.0}, {"ours": 5.0}, {"ours": 6.5}])]
    ['all less others gives ours']
    """
    names = [n for n in told[0] if told[0][n] and all(n in other and np.isfinite(other[n]) for other in told)]
    values = [np.array([each[name] for name in names]) for each in told]
    found = []
    with np.errstate(all="ignore"):
        tables = [[v[:, None] - v, v[:, None] + v, v[:, None] / v, v[:, None] * v] for v in values]
        for name in closed[0]:
            wanted = [each.get(name, np.nan) for each in closed]
            if not wanted[0] or not np.all(np.isfinite(wanted)):
                continue
            if len({round(value / wanted[0], 6) for value in wanted}) == 1 and len(wanted) > 1:
                continue  # it did not change, so nothing can be told of it
            alone = np.all([_near(v, w) for v, w in zip(values, wanted)], axis=0)
            if alone.any():
                found += [Found(name, (names[k],), "") for k in np.flatnonzero(alone)[:1]]
                continue
            for k, sign in enumerate(SIGNS[1:]):
                hits = _near(tables[0][k], wanted[0])
                for made, w in zip(tables[1:], wanted[1:]):
                    if not hits.any():
                        break
                    hits &= _near(made[k], w)
                if sign in ("plus", "times"):
                    hits = np.triu(hits)
                pairs = np.argwhere(hits)
                if len(pairs):
                    first, second = pairs[0]
                    found.append(Found(name, (names[first], names[second]), sign))
                    break
    return found


def _near(values: np.ndarray, wanted: float) -> np.ndarray:
    return np.abs(values - wanted) <= TOLERANCE * abs(wanted)


def _changed(case: Case, draws: np.random.Generator) -> Case:
    """The case with every input and its range smaller by a random part; times of plan and deal stay, as they have an order."""
    ordered = (
        "schedule", "licence", "loan", "fees", "deliveries", "yearly_services", "sublicences", "minimum_royalties", "royalty_steps",
        "buy_outs", "ramp", "returns",
    )  # fmt: skip
    whole = ("constants", "money", "tax_rates", "payments", "correlations")
    together = ("output_share", "processed_share", "load_size", "carrier_size", "probability")
    units = {address: unit for address, _, unit, *_ in numeric_inputs(case)}
    parts: dict[str, float] = {}

    def part(address: str) -> float:
        """What is left of an input, drawn once; 1 for one that must hold together with others."""
        table = address.partition(".")[0]
        if table in whole or address.endswith(together) or (units[address] == "s" and table in ordered):
            return 1.0
        return parts.setdefault(address, draws.uniform(0.95 if table == "steps" and units[address] == "1" else 0.55, 1.0))

    def change(address: str, value: Any, _unit: str) -> Any:
        """Another value of an input; of an end of a range, or of an outcome, in step with the input that it is about."""
        table, identity, *_ = address.split(".")
        if table == "outcomes" and not address.endswith(together):
            table, identity = "ranges", case.outcomes[identity].range
        return value * part(case.ranges[identity].address if table == "ranges" else address)

    return map_inputs(case, change)


def told_numbers(case: Case, edition: str, marks: list[str]) -> dict[str, float]:
    """Every number that an edition tells of a case, rounded as it is told, by name and place in its list."""
    view = outside_view(case)
    facts = collect(view, evaluate(view), edition, marks, {})
    found = {}
    for each in told_figures(view, edition, facts, marks, {}):
        values = each.value if isinstance(each.value, list) else [each.value]
        for number, value in enumerate(values):
            if isinstance(value, float):
                found[f"{each.name}{f' [{number}]' if isinstance(each.value, list) else ''}"] = value
    return found


def _closed_numbers(case: Case, marks: list[str]) -> dict[str, float]:
    closed = [*LICENSOR, *LICENSOR_FIGURES, *RECIPE, *FOLDED, *marks]
    found = {a: float(v) for a, v, *_ in figures(evaluate(case), case.currency) if is_closed(a, closed)}
    return found | {a: float(v) for a, v, *_ in numeric_inputs(case) if is_closed(a, closed)}
