"""What an edition can disclose of a case, and how each number moves with each input, at points near the case.

Points are drawn, so that what is found holds by structure and not for the values of one case. Studies that an edition shows
(bars, changes of terms, the least price, quantiles of draws) are taken as figures of a case with some inputs set otherwise, on a
plant that is sized for them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...case.addresses import numeric_inputs, replaced, value_at
from ...case.fingerprint import fingerprint
from ...case.uncertain import uncertain
from ...case.whole_case import Case
from ...model.as_bought import as_bought
from ...model.evaluate import Results, evaluate, known_figures
from ...model.readings.recording import Recording
from ...model.readings.slopes import Slopes
from ...studies.draws import Draws
from ...studies.negotiation.probabilities import NPV, SEED
from ..facts import PARTS
from ..plan_facts import LOW_POINT, deal_changes, plan_with
from .allowed import parts_of
from .build import process
from .record import flat
from .traced import Traced, plain, traced

POINTS, LEAST = 2, 0.9999  # points looked at, and the least part of an input at each of them
SCAN = np.geomspace(1e-3, 50.0, 400)  # multiples of prices among which the least price is looked for
LICENSEE = "deal.licensee.npv_undisturbed"
QUANTILES = ("p10", "p50", "p90")
AS_THEY_ARE = ("constants", "money", "tax_rates", "payments")  # tables whose rows must hold together, or that anyone knows
TOGETHER = (
    "output_share", "processed_share", "load_size", "carrier_size", "part_of_year", "lots_averaged", "probability", "least_share",
    "most_share",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Scene:
    """A figure of a case in which inputs are set otherwise: each to a multiple of its value, and something on top."""

    figure: str
    changes: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Row:
    """A number that can be disclosed: its value in the unit of the edition, and its slope in each input."""

    value: float
    slopes: np.ndarray


class Ground:
    """The formulas of a view of a case, and points near it, at which slopes are taken.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.documents.editions.closed_marks import external_view
    >>> ground = Ground(external_view(load_case("inputs_demo/facade")), points=1)
    >>> rows = ground.rows("licensee", ground.points[0])
    >>> [ground.inputs[k] for k in np.flatnonzero(rows["licence.royalty"].slopes)]
    ['licence.royalty']
    """

    def __init__(self, view: Case, points: int = POINTS, seed: int = 0):
        figures = list(known_figures(view))
        self.view = view
        self.values: dict[str, float] = {
            address: float(value) for address, value, *_ in numeric_inputs(view) if not address.startswith("constants.")
        }
        self.inputs = list(self.values)
        self.place = {address: k for k, address in enumerate(self.inputs)}
        self.slopes = Slopes(Recording(view, self.inputs, figures))
        self.figures = frozenset(figures)
        draws = np.random.default_rng(seed)
        self.points = [self._near(draws) for _ in range(points)]
        self._rows: dict[tuple[str, int, tuple], dict[str, Row]] = {}

    def _near(self, draws: np.random.Generator) -> dict[str, float]:
        """Inputs made smaller by random parts, but for what must hold together; what is 0 or 1 stays, as structure."""
        parts = draws.uniform(LEAST, 1.0, len(self.inputs))
        return {
            address: value if self._stays(address) else value * part for (address, value), part in zip(self.values.items(), parts)
        }

    def _stays(self, address: str) -> bool:
        return self.is_known(address) or address.partition(".")[0] in AS_THEY_ARE or address.endswith(TOGETHER)

    def is_known(self, address: str) -> bool:
        """Whether anyone can know an input: exchange rates, and what is 0 or 1, which says that something is not there."""
        return address.startswith("money.") or self.values[address] in (0.0, 1.0)

    def closed_rows(
        self, addresses: Sequence[str], point: Mapping[str, float], times: Mapping[str, float] | None = None
    ) -> dict[str, Row]:
        """Figures and inputs by their addresses, in base units; with `times`, of an earlier case of so many times its inputs."""
        known = [address for address in addresses if address in self.figures]
        at = {address: value * times.get(address, 1.0) for address, value in point.items()} if times else point
        scale = np.array([times.get(address, 1.0) for address in self.inputs]) if times else 1.0
        made = self.slopes.forward(at, known) if known else {}
        values = self.slopes.values(at, known) if known else {}
        found = {address: Row(float(values[address]), made[address] * scale) for address in known}
        return found | {a: Row(at[a], self._of_input(a) * scale) for a in addresses if a in self.place}

    def _of_input(self, address: str) -> np.ndarray:
        slopes = np.zeros(len(self.inputs))
        slopes[self.place[address]] = 1.0
        return slopes

    def rows(self, edition: str, point: Mapping[str, float], times: Mapping[str, float] | None = None) -> dict[str, Row]:
        """Every number that an edition can disclose at a point; with `times`, of an earlier case of so many times its inputs.

        Slopes are in the inputs of the point. Numbers of a bar bear the address of their input in place of their rank.
        """
        key = (edition, next((k for k, each in enumerate(self.points) if each is point), -1), tuple(sorted((times or {}).items())))
        if key not in self._rows or key[1] < 0:
            self._rows[key] = self._made(edition, point, times or {})
        return self._rows[key]

    def _made(self, edition: str, point: Mapping[str, float], times: Mapping[str, float]) -> dict[str, Row]:
        at = {address: value * times.get(address, 1.0) for address, value in point.items()}
        scenes = self._scenes(edition, at)
        numbers = dict(_numbers(self._facts(edition, at, scenes)))
        needed = {address for number in numbers.values() for address in number.slopes}
        made = self.slopes.forward(at, sorted(needed & self.figures)) | self._of_scenes(at, scenes)
        scale = np.array([times.get(address, 1.0) for address in self.inputs])
        found = {}
        for name, number in numbers.items():
            slopes = np.zeros(len(self.inputs))
            for address, slope in number.slopes.items():
                if address in self.place:
                    slopes[self.place[address]] += slope
                else:
                    slopes += slope * made[address]
            found[name] = Row(plain(number), slopes * scale)
        return found

    def _scenes(self, edition: str, at: Mapping[str, float]) -> dict[str, Scene]:
        """The cases besides that of the point of which an edition shows a figure; by a name of their own."""
        found: dict[str, Scene] = {}
        parts = set(parts_of(edition))
        if self.view.plan_sections is None:
            return found
        times = self._least_price(at) if "plan" in parts else None
        if times is not None:
            found["least price"] = Scene(NPV, {f"sales.{name}.price": (times, 0.0) for name in self.view.sales})
        if "licensee_moves" in parts and self.view.has_deal:
            terms = {address: value for address, value in at.items() if address.split(".")[0] in TERMS}
            near = {address: value * ASIDE for address, value in terms.items()}
            here, there = (deal_changes(replaced(self.view, each)).values() for each in (terms, near))
            for number, (change, other) in enumerate(zip(here, there)):
                changes = {a: _as_line(at[a], value, other[a]) for a, value in change.items()}
                found[f"move {number:02d}"] = Scene(LICENSEE, changes)
        ranges = uncertain(self.view) if "npv_moved_by" in parts else {}
        for row in ranges.values():
            now = value_at(self.view, row.address)
            for end, value in (("low", row.low), ("high", row.high)):
                shown = value * at[row.address] / now if now else value
                found[f"{end} {row.address}"] = Scene(NPV, {row.address: (0.0, shown)})
        if ranges:
            drawn = Draws(as_bought(self.view), SEED).values(0, len(QUANTILES))
            for number, name in enumerate(QUANTILES):
                changes = {a: (float(v[number]) / value_at(self.view, a), 0.0) for a, v in drawn.items() if at[a]}
                found[name], found[f"peak_{name}"] = Scene(NPV, changes), Scene(LOW_POINT, changes)
        return found

    def _least_price(self, at: Mapping[str, float]) -> float | None:
        """The multiple of all prices at which the net present value first reaches 0."""
        values: dict[str, Any] = dict(at)
        prices = [f"sales.{name}.price" for name in self.view.sales]
        scan = SCAN
        for _ in range(3):
            values |= {address: at[address] * scan for address in prices}
            npv = np.broadcast_to(self.slopes.values(values, [NPV])[NPV], len(scan))
            above = np.flatnonzero(npv >= 0)
            if len(above) == 0 or above[0] == 0:
                return None
            scan = np.linspace(scan[above[0] - 1], scan[above[0]], 100)
        return float(scan[above[0]]) if len(above) else None

    def _of_scenes(self, at: Mapping[str, float], scenes: Mapping[str, Scene]) -> dict[str, np.ndarray]:
        """The slopes of each scene in the inputs of the point."""
        found: dict[str, np.ndarray] = {}
        for figure in dict.fromkeys(scene.figure for scene in scenes.values()):
            names = [name for name, scene in scenes.items() if scene.figure == figure]
            values = {address: np.full(len(names), value) for address, value in at.items()}
            inner = np.ones((len(self.inputs), len(names)))
            for k, name in enumerate(names):
                for address, (times, more) in scenes[name].changes.items():
                    values[address][k] = times * at[address] + more
                    inner[self.place[address], k] = times
            slopes = self.slopes.backward(values, figure)[1]
            for k, name in enumerate(names):
                found[name] = slopes[:, k] * inner[:, k]
                if name == "least price":  # by the implicit function: the multiple moves so that the value stays 0
                    prices = [self.place[address] for address in scenes[name].changes]
                    found[name] = -found[name] / sum(slopes[p, k] * at[self.inputs[p]] for p in prices)
        return found

    def _facts(self, edition: str, at: Mapping[str, float], scenes: Mapping[str, Scene]) -> dict[str, Any]:
        """The facts of an edition at a point, of traced numbers."""
        results = evaluate(replaced(self.view, at))
        case = replaced(self.view, {address: Traced(value, {address: 1.0}) for address, value in at.items()})
        found = Results(
            *(traced(each, stage) for stage, each in zip(("line", "ledger", "market", "plan", "deal"),
                                                         (results.line, results.ledger, results.market, results.plan_figures,
                                                          results.deal_figures)))
        )  # fmt: skip
        least = Traced(scenes["least price"].changes[f"sales.{next(iter(case.sales))}.price"][0], {"least price": 1.0}) \
            if "least price" in scenes else None  # fmt: skip
        facts: dict[str, Any] = {}
        for part in parts_of(edition):
            if part == "process":
                facts[part] = process(case, found)
            elif part == "plan":
                facts[part] = plan_with(case, found, least) if found.has_plan else None
            elif part in ("product", "cost", "markets", "licence"):
                facts[part] = PARTS[part](case, found)
        if found.has_plan:
            npv = found.plan.project.npv
            facts["npv_moved_by"] = {"present": npv} | {
                f"bars.{name.split()[1]}.at_{name.split()[0]}": Traced(0.0, {name: 1.0}) - npv
                for name in scenes if name.startswith(("low ", "high "))
            }  # fmt: skip
            low = plain(found.plan.project.low_point)
            facts["npv_spread"] = {name: Traced(plain(npv), {name: 1.0}) for name in QUANTILES if name in scenes} | {
                f"peak_{name}": Traced(-low, {f"peak_{name}": -1.0}) for name in QUANTILES if name in scenes
            }
        if found.has_deal:
            now = found.deal.licensee.npv_undisturbed
            facts["licensee_moves"] = [
                {"licensee": Traced(0.0, {name: 1.0}) - now} for name in scenes if name.startswith("move ")
            ]  # fmt: skip
        return facts


TERMS = ("licence", "sales", "schedule")


ASIDE = 0.999  # of a term, where its change is looked at a second time


def _as_line(now: float, changed: float, changed_aside: float) -> tuple[float, float]:
    """A changed input as a multiple of what it was and something on top, from its changes here and a little aside.

    >>> [round(each, 9) for each in _as_line(0.02, 0.03, 0.02 * ASIDE + 0.01)], _as_line(0.0, 5.0, 5.0)
    ([1.0, 0.01], (1.0, 5.0))
    """
    if not now:
        return 1.0, changed
    times = (changed - changed_aside) / (now * (1 - ASIDE))
    return times, changed - times * now


def _numbers(facts: Mapping[str, Any]) -> Iterator[tuple[str, Traced]]:
    """The traced numbers of facts, by name and place in their list."""
    for flat_name, value in flat(dict(facts)).items():
        name = flat_name.replace(":", ".") if flat_name.startswith("npv_moved_by.bars") else flat_name  # addresses of bars
        each = {f"{name} [{k}]": v for k, v in enumerate(value)} if isinstance(value, list) else {name: value}
        yield from ((key, number) for key, number in each.items() if isinstance(number, Traced))


def shape_of(view: Case) -> str:
    """What a view is but for its numbers, words and evidence: cases of one shape give away the same."""
    changed = {
        address: value if value in (0.0, 1.0) else 0.5
        for address, value, *_ in numeric_inputs(view)
        if not address.startswith("constants.")
    }
    return fingerprint(dataclasses.replace(replaced(view, changed), title="", story="", evidence={}))
