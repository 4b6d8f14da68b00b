"""What services bring to either side: the model run with and without each, on the plant as bought.

A service has two parts: its work, which costs one side and is paid by the other, and its effects on inputs. Each part of each
service is a player; what it is worth is its mean over all orders in which the parts could come (Shapley), so that the parts
add up to what all bring together. Capacity and markets limit that, since it is the model itself that is run.

When. An effect is in force from its begin to its end; before and after, the stated inputs stand. The cash of a quarter is that of
the plan which has the effects of that quarter from the first day on: what a change does in the quarters around it, to stock or to
a loss carried forward, is left out. The licensor's costs and damages are those with the effects in force when damages are due.

How likely. Figures take the expected change. In draws each effect succeeds or fails by its probability, and its change is drawn
where ranges.csv has a row for it. Common practice. Alternatives of the licensee stand as they are.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from ...case.addresses import input_at, replaced, value_at
from ...case.changes import with_values
from ...case.effects import changed_by, services
from ...case.laboratory_records import tests_of
from ...case.service_records import DELIVERIES, MULTIPLIES, YEARLY, ServiceEffect
from ...case.uncertain import uncertain
from ...case.values import BadValue, check_number
from ...case.whole_case import Case, kept
from ...core import at_work
from ...core.faults import Fault, InputFaults
from ...core.fields import Number
from ...core.operations import Value
from ...core.rates_of_return import rates_of_return
from ...core.series import Row
from ...model.as_bought import as_bought
from ...model.deal.deal_figures import Taken
from ...model.deal.licensor import licensor, received
from ...model.deal.licensor_costs import Floor
from ...model.deal.licensor_value import left_of, own_npv
from ...model.deal.service_effects import expected_change, with_effects, without_effects
from ...model.evaluate import evaluate
from ...model.plan.plan_figures import Payments
from ...model.plan.timing import QUARTERS, between, in_quarters, quarter_names
from ...model.plan.worth import each_quarter, npv, recovered_share
from ...model.readings.programs import is_array
from ...model.readings.recording import Recording
from ..draws import Draws, check_together
from ..many import bought_in, recording_name
from ..spread import Probability
from ..waterfall import brought, coalitions, shapley

DRAWS, SEED = 1_000, 0
AT_A_TIME = 256  # draws, each with and without every service
ROUND = 12  # decimals of the share of a quarter: rounding must make no parts
STATED, NONE, ALL = "stated", "none", "all"
MOST = 8  # services with effects: each doubles the runs
WORK = {DELIVERIES: ("days", "travel", "pilot_time", "price"), YEARLY: ("cost", "price")}
CASH = {
    "plan.quarters.{}.free_cash": "free_cash",
    "deal.dividends.{}": "dividends",
    "deal.taken.licensee_cash.{}": "lost",
    "deal.taken.royalty.{}": "royalty",
}
FLOOR = ("work", "travel", "pilot_time", "services", "upkeep", "damages", "territory", "materials")


@dataclass(frozen=True, slots=True)
class Service:
    """What one service is worth: `work` is what its price and its cost leave to each side, `effects` what it brings them.

    `licensee` and `both` are the probabilities that it leaves the licensee, and both sides together, more than without it; none
    without draws. `in_plan` says whether the stated inputs hold its effects: yes, no or in part.
    """

    address: str
    cost: float
    paid: float
    work: tuple[float, float]
    effects: tuple[float, float]
    in_plan: str
    licensee: Probability | None = None
    both: Probability | None = None

    @property
    def net(self) -> tuple[float, float]:
        """What it leaves to licensor and licensee, work and effects together."""
        return self.work[0] + self.effects[0], self.work[1] + self.effects[1]


@dataclass(frozen=True, slots=True)
class PlanWith:
    """The plan with some services: net present value and return of the project, and what both sides have.

    `irr` is NaN where there is no rate, as `status` says; `recovered` is what comes in over what is paid out.
    """

    title: str
    npv: float
    irr: float
    status: float
    recovered: float
    licensor: float
    licensee: float


@dataclass(frozen=True, slots=True)
class Brought:
    """What the services of a case bring, one by one, and the plans with and without them."""

    services: tuple[Service, ...]
    plans: tuple[PlanWith, ...]
    without_effects: tuple[str, ...]
    draws: int
    seed: int


@dataclass(frozen=True, slots=True)
class _Effect:
    """A row of service_effects.csv made ready: the place of its service, its inputs, its share of each quarter."""

    name: str
    row: ServiceEffect
    service: int
    addresses: tuple[str, ...]
    shares: tuple[float, ...]

    @property
    def held(self) -> bool:
        """Whether the stated inputs hold it."""
        return self.row.in_plan == "yes"


@dataclass(frozen=True)
class _Flows:
    """By quarter the cash of the licensee and what goes to the licensor by kind; what comes once; of each plan and draw in turn."""

    cash: dict[str, Row]
    paid: dict[str, Row]
    once: dict[str, np.ndarray]


class _Asked:
    """The figures that are asked of each run: rows of quarters, payments by kind, and what comes once."""

    def __init__(self, case: Case):
        plan = evaluate(case).plan
        self.names = quarter_names(len(plan.quarters))
        self.kind_of = {f"plan.payments.{name}.quarters.{{}}": row.paid_as for name, row in plan.payments.items()}
        self.once = ["plan.required_return", "deal.licensee.damages", *(f"deal.licensor.{name}" for name in FLOOR)]

    def until(self, quarter: int, once: bool) -> list[str]:
        """The figures of all quarters up to one, by number, and those that come once, if they are asked."""
        names = self.names[: quarter + 1]
        return [row.format(name) for row in (*CASH, *self.kind_of) for name in names] + (self.once if once else [])

    def of(self, found: Mapping[str, np.ndarray], places: Sequence[Sequence[tuple[float, np.ndarray]]]) -> _Flows:
        """The flows of plans, of which each quarter takes parts of some runs at their places in what was found."""

        def row(key: str) -> Row:
            """A row of figures by quarter."""
            columns = (found[key.format(name)] for name in self.names)
            return Row(sum(part * column[place] for part, place in parts) for column, parts in zip(columns, places))

        paid: dict[str, Row] = {}
        for key, kind in self.kind_of.items():
            paid[kind] = paid[kind] + row(key) if kind in paid else row(key)
        return _Flows({name: row(key) for key, name in CASH.items()}, paid, {})


def _work(case: Case, service: str) -> list[str]:
    """The inputs that are 0 without a service: its work and its price, or the samples of its tests."""
    table, _, name = service.partition(".")
    tests = tests_of(case.laboratory_tests, name) if table == YEARLY else {}
    return [*(f"laboratory_tests.{test}.samples" for test in tests), *(f"{service}.{each}" for each in WORK[table])]


class Plans:
    """The plans of a case with any of its services, each service's work and effects apart.

    >>> from costmodel.case.load import load_case
    >>> Plans(load_case("inputs_demo/facade")).services[:2]
    ('deliveries.training', 'deliveries.start_up')
    """

    def __init__(self, case: Case):
        self.plant, rows = as_bought(case), case.service_effects
        named = {row.service for row in rows.values()}
        self.services = tuple(address for address in services(case) if address in named)
        if len(self.services) > MOST:
            raise InputFaults([Fault("service_effects.csv", None, "service", f"{len(self.services)} services", f"at most {MOST}")])
        self._asked = _Asked(case)
        count = len(self._asked.names)
        self.effects = tuple(
            _Effect(
                name,
                row,
                self.services.index(row.service),
                tuple(changed_by(case, row)),
                tuple(round(float(share), ROUND) for share in between(case, count, row.begin, row.end)),
            )
            for name, row in rows.items()
        )
        self.held = np.array([effect.held for effect in self.effects])
        self._quarters = [in_force({each.name: each.shares[q] for each in self.effects}) for q in range(count)]
        self._last = {names: quarter for quarter, parts in enumerate(self._quarters) for _, names in parts}
        self._damages_at = min(count - 1, math.ceil(in_quarters(case, float(case.deal.licensor.damages_time))))

    def own_effects(self, services_there: np.ndarray) -> np.ndarray:
        """Which effects are there with which services, a row for each set of services."""
        return services_there[:, [effect.service for effect in self.effects]]

    def worth(self, work: np.ndarray, effects: np.ndarray, drawn: Mapping[str, np.ndarray] | None = None) -> Worth:
        """What both sides have of plans: for each a row of truths, by service in `work` and by effect in `effects`.

        `drawn` are values of uncertain inputs, and under the names of effects whether each succeeds.
        """
        drawn = drawn or {}
        size = len(next(iter(drawn.values()))) if drawn else 1
        sets = list(self._last)
        rows = [np.hstack([work, np.where([e.name in names for e in self.effects], effects, self.held)]) for names in sets]
        patterns, found = np.unique(np.vstack(rows), axis=0, return_inverse=True)  # runs that several plans and quarters share
        last = np.zeros(len(patterns), dtype=int)  # the quarter up to which each is asked
        np.maximum.at(last, found.ravel(), np.repeat(list(self._last.values()), len(work)))
        figures, runs = self._run(patterns, last, drawn, size)
        at = {names: runs[_spread(own, size)] for names, own in zip(sets, found.reshape(len(sets), len(work)))}
        places = [[(part, at[names]) for part, names in parts] for parts in self._quarters]
        flows = self._asked.of(figures, places)
        due = places[self._damages_at][-1][1]
        once = {address: figures[address][due] for address in self._asked.once}
        inputs = {address: np.tile(value, len(work)) for address, value in drawn.items() if "." in address}
        return Worth(replaced(self.plant, inputs), _Flows(flows.cash, flows.paid, once), self._asked.names, size)

    def _run(
        self, patterns: np.ndarray, last: np.ndarray, drawn: Mapping[str, np.ndarray], size: int
    ) -> tuple[dict[str, np.ndarray], np.ndarray]:
        """The figures that are asked of all patterns and draws that differ, and which of these each pattern has in each draw.

        An effect that fails in a draw is as good as none. What work and price move is done for each work and price; the rest once.
        Of each run come the quarters up to the last that is asked of it; those that are asked the furthest stand first.
        """
        values = self._values(patterns, drawn, size)
        name = recording_name(list(values), ["services"])
        everything = self._asked.until(len(self._asked.names), once=True)
        recording = kept(self.plant, name, lambda: Recording(self.plant, list(values), everything))
        count = len(self.services)
        succeeds = np.array([np.broadcast_to(drawn.get(each.name, 1.0), size) > 0 for each in self.effects]).T
        in_force = (patterns[:, None, count:] & succeeds).reshape(-1, len(self.effects))
        draw = np.tile(np.arange(size), len(patterns))
        ours, with_effects = _alike(np.unique(in_force, axis=0, return_inverse=True)[1].ravel() * size + draw)
        work = np.unique(patterns[:, :count], axis=0, return_inverse=True)[1].ravel()
        own, runs = _alike(with_effects * len(patterns) + np.repeat(work, size))  # what shares effects stands together
        moving = [address for service in self.services for address in _work(self.plant, service)]
        settled = recording.settled({address: value[ours] for address, value in values.items()}, moving)
        until = np.zeros(len(own), dtype=int)
        np.maximum.at(until, runs, np.repeat(last, size))
        order = np.argsort(-until, kind="stable")
        own, until, places = own[order], until[order], np.argsort(order)
        found: dict[str, list[np.ndarray]] = {}
        for quarter in dict.fromkeys(until.tolist()):
            these = own[until == quarter]
            part = settled.only(self._asked.until(quarter, once=quarter >= self._damages_at)).spread(with_effects[these])
            for address, value in part.run({address: values[address][these] for address in moving}).items():
                found.setdefault(address, []).append(value if is_array(value) else np.full(len(these), value))
        return {address: np.concatenate(parts) for address, parts in found.items()}, places[runs]

    def _values(self, patterns: np.ndarray, drawn: Mapping[str, np.ndarray], size: int) -> dict[str, np.ndarray]:
        """All inputs that differ between patterns or draws, pattern by pattern; checked."""
        own = {address: value for address, value in drawn.items() if "." in address}
        own |= bought_in(self.plant, own) if own else {}
        values = {address: np.tile(value, len(patterns)) for address, value in own.items()}
        for number, service in enumerate(self.services):
            for address in _work(self.plant, service):
                stated = own.get(address, np.full(size, float(value_at(self.plant, address))))
                values[address] = np.concatenate([stated * there for there in patterns[:, number]])
        for address in dict.fromkeys(address for effect in self.effects for address in effect.addresses):
            stated = own.get(address, np.full(size, float(value_at(self.plant, address))))
            rows = patterns[:, len(self.services) :]
            values[address] = np.concatenate([self._input(address, stated, on, drawn) for on in rows])
            self._check(address, values[address])
        if not drawn:
            with_values(self.plant, values, "service_effects.csv")
        return values

    def _input(self, address: str, stated: np.ndarray, on: np.ndarray, drawn: Mapping[str, np.ndarray]) -> np.ndarray:
        """An input with the effects that are on, from its stated value, which holds those that are in the plan."""
        here = [(effect, is_on) for effect, is_on in zip(self.effects, on) if address in effect.addresses]
        if not drawn and all(effect.held == is_on for effect, is_on in here):
            return stated  # to the bit
        held = [(effect.row, float(expected_change(effect.row))) for effect, _ in here if effect.held]
        got = [(effect.row, _change(effect, drawn)) for effect, is_on in here if is_on]
        return with_effects(without_effects(stated, *_apart(held)), *_apart(got))

    def _check(self, address: str, values: np.ndarray) -> None:
        """Refuse an input that effects take out of its range."""
        declaration = input_at(self.plant, address)[0]
        assert isinstance(declaration, Number)  # as the case was checked
        try:
            check_number(declaration, values, self.plant.entry_units[address])
        except BadValue as problem:
            rows = ", ".join(effect.name for effect in self.effects if address in effect.addresses)
            found = f"{problem.found} for {address}, with or without {rows}"
            raise InputFaults([Fault("service_effects.csv", None, "change", found, problem.allowed)]) from None


def in_force(shares: Mapping[str, float]) -> list[tuple[float, frozenset[str]]]:
    """A quarter split by which effects are in force, from the share of it that lies within the time of each.

    Its cash is that of plans with these effects from the first day on, each by its part of the quarter. Of two effects that begin
    within a quarter, one in force for half and one for a quarter of it, both are for a quarter:

    >>> [(part, sorted(names)) for part, names in in_force({"a": 0.5, "b": 0.25})]
    [(0.25, ['a', 'b']), (0.25, ['a']), (0.5, [])]
    """
    steps = sorted({1.0, *(share for share in shares.values() if share > 0)})
    return [
        (high - low, frozenset(name for name, share in shares.items() if share >= high))
        for low, high in zip([0.0, *steps], steps)
    ]


def _spread(places: np.ndarray, size: int) -> np.ndarray:
    """The places of runs, draw by draw."""
    return (places[:, None] * size + np.arange(size)).ravel()


def _alike(keys: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of values that are alike, where the first stands; and for each value the number of its like.

    >>> [each.tolist() for each in _alike(np.array([7, 3, 7]))]
    [[1, 0], [1, 0, 1]]
    """
    _, first, number = np.unique(keys, return_index=True, return_inverse=True)
    return first, number


def _change(effect: _Effect, drawn: Mapping[str, np.ndarray]) -> Value:
    """The change by an effect: the expected one, or where it is drawn its own if it succeeds."""
    if effect.name not in drawn:
        return float(expected_change(effect.row))
    change = drawn.get(f"service_effects.{effect.name}.change", float(effect.row.change))
    return np.where(drawn[effect.name] > 0, change, 1.0 if effect.row.how == MULTIPLIES else 0.0)


def _apart(changes: Sequence[tuple[ServiceEffect, Value]]) -> tuple[Value, list[Value]]:
    """Changes as one factor, and as what is added."""
    factor = math.prod(change for row, change in changes if row.how == MULTIPLIES)
    return factor, [change for row, change in changes if row.how != MULTIPLIES]


class Worth:
    """What both sides have of plans: arrays with a row for each plan and a column for each draw, in the reporting currency.

    `npv` is that of the project; `licensor` and `licensee` are net present values at the rate of each.
    """

    def __init__(self, case: Case, flows: _Flows, names: Sequence[str], size: int):
        cash, once = flows.cash, flows.once
        theirs = each_quarter(once["plan.required_return"])
        own = each_quarter(case.deal.licensor.discount_rate * case.constants.year)
        kinds = {kind: Payments(kind, dict(zip(names, row))) for kind, row in flows.paid.items()}
        lost = cash["royalty"]
        rivals = Taken({}, {}, 0.0, 0.0, own_npv(case, lost, own), left_of(case, lost, "licence", own))
        floor = Floor(**{name: once[f"deal.licensor.{name}"] for name in FLOOR})
        seller = licensor(case, received(case, kinds, cash["dividends"], own), floor, rivals)
        buyer = npv(cash["free_cash"] - cash["dividends"] - cash["lost"], theirs) + once["deal.licensee.damages"]
        found = (npv(cash["free_cash"], theirs), seller.npv, buyer)
        self.npv, self.licensor, self.licensee = (np.asarray(each).reshape(-1, size) for each in found)
        self._free = cash["free_cash"]

    def returns(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The internal rate of return a year of each plan's project, its status, the share recovered; of plans without draws."""
        rate, status = rates_of_return(np.array(list(self._free)))
        return (1 + rate) ** QUARTERS - 1, status, np.asarray(recovered_share(self._free)[0])


def brought_by_services(case: Case, draws: int = DRAWS, seed: int = SEED) -> Brought:
    """What each service with a row in service_effects.csv brings, and the plans with and without them. Raises InputFaults.

    >>> from costmodel.case.load import load_case
    >>> found = brought_by_services(load_case("inputs_demo/facade"), draws=0)
    >>> stated, none, every = found.plans[:3]
    >>> brought = sum(each.net[1] for each in found.services)
    >>> abs(every.licensee - none.licensee - brought) < 1e-3
    True
    """
    plans = Plans(case)
    count = len(plans.services)
    parts: dict[bytes, Worth] = {}

    def of(side: str) -> Callable[[np.ndarray], np.ndarray]:
        """The value to one side for coalitions of work and effects; both sides are found together, once."""

        def value(there: np.ndarray) -> np.ndarray:
            """A value for each coalition."""
            if there.tobytes() not in parts:
                parts[there.tobytes()] = plans.worth(there[:, :count], plans.own_effects(there[:, count:]))
            return getattr(parts[there.tobytes()], side)[:, 0]

        return value

    players = [f"{part} {address}" for part in ("work", "effects") for address in plans.services]
    own, other = ([each.value for each in shapley(players, of(side))] for side in ("licensor", "licensee"))
    chances = _chances(case, plans, draws, seed)
    deal = evaluate(case).deal
    found = []
    for k, address in enumerate(plans.services):
        held = {effect.held for effect in plans.effects if effect.service == k}
        table, _, name = address.partition(".")
        heading = deal.by_heading[f"{'delivery' if table == DELIVERIES else 'service'}_{name}"]
        spent = deal.deliveries[name] if table == DELIVERIES else deal.yearly_services[name]
        found.append(
            Service(
                address,
                float(sum(getattr(spent, each.name) for each in fields(spent))),
                float(heading.licensee_paid),
                (own[k], other[k]),
                (own[count + k], other[count + k]),
                "in part" if len(held) > 1 else "yes" if held == {True} else "no",
                *chances[k],
            )
        )
    rest = tuple(address for address in services(case) if address not in plans.services)
    return Brought(tuple(found), _plans(case, plans), rest, draws if chances[0][0] else 0, seed)


def _plans(case: Case, plans: Plans) -> tuple[PlanWith, ...]:
    """The plan as stated, with none and with all services, and without each."""
    count = len(plans.services)
    every = np.ones(count, dtype=bool)
    without = {address: np.arange(count) != k for k, address in enumerate(plans.services)}
    there = np.array([every, ~every, every, *without.values()])
    effects = plans.own_effects(there)
    effects[0] = plans.held
    worth = plans.worth(there, effects)
    titles = [STATED, NONE, ALL, *without]
    return tuple(
        PlanWith(title, *(float(each) for each in row))
        for title, *row in zip(titles, worth.npv[:, 0], *worth.returns(), worth.licensor[:, 0], worth.licensee[:, 0])
    )


def _chances(case: Case, plans: Plans, draws: int, seed: int) -> list[tuple[Probability | None, Probability | None]]:
    """For each service the probability that it leaves the licensee, and both together, more than without it; none undrawn."""
    if not draws or not (uncertain(case) or any(0 < effect.row.probability < 1 for effect in plans.effects)):
        return [(None, None)] * len(plans.services)
    drawn = Draws(plans.plant, seed).values(0, draws) if uncertain(case) else {}
    if drawn:
        check_together(plans.plant, drawn)
    for effect in plans.effects:
        stream = np.random.SeedSequence([seed, *hashlib.sha256(f"success {effect.name}".encode()).digest()])
        drawn[effect.name] = (np.random.Generator(np.random.PCG64(stream)).random(draws) < effect.row.probability) + 0.0
    there = coalitions(len(plans.services))
    more: list[list[np.ndarray]] = [[] for _ in plans.services]
    for start in range(0, draws, AT_A_TIME):
        at_work.at("draws with and without services", start, draws)
        part = {address: values[start : start + AT_A_TIME] for address, values in drawn.items()}
        worth = plans.worth(there, plans.own_effects(there), part)
        sides = (brought(worth.licensee), brought(worth.licensor))
        for found, (weights, theirs), (_, ours) in zip(more, *sides):
            left = weights @ theirs
            found.append(np.array([left > 0, left + weights @ ours > 0]))
    held = [np.concatenate(each, axis=1).mean(axis=1) for each in more]
    return [(Probability(float(other), draws), Probability(float(both), draws)) for other, both in held]
