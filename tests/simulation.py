"""A line as a discrete-event simulation in SimPy, written from the meanings of the inputs and not from the model.

It reads the records of a case with its installed tools and carriers, and runs scheduled time only. Its rules:

- Plates wait in unlimited buffers. A batch tool starts when its load is full; a tool for single plates takes what
  waits, up to LOT plates at a time, which saves events and no tool time. A tool of several steps serves the last first.
- A load on a carrier stays together from the first to the last step of the round; rejects leave gaps in it. A load
  lost whole is off the line at once, and its carrier free.
- Failures come at random in the time a tool is up, idle or not, and interrupt the load. Maintenance and trials fall due
  by the calendar and wait for the load to end. Phases done once in several loads follow a load that left the tool.
- A carrier is on its way for the waiting time of a round once it is emptied, and owes the workshop a share of all time.
- Plates are started as others leave, so that a fixed number is in the line: so many that the slowest tool always has
  work, which takes thousands where tools are nearly equal. With `takt` a plate is started in every so many seconds.
"""
from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, inf
from typing import Any

import numpy as np
import simpy

from costmodel.case.line_records import Carrier, Step, Tool
from costmodel.case.whole_case import Case

from .scaling_laws import share_of

HOUR = 3600.0
LOT = 10  # plates
REPAIR = 2 * HOUR  # mean of the exponential time of a repair
STOP = 4 * HOUR  # of a tool for maintenance or trials, and of a carrier in the workshop
SOON = 1e-6  # s, below which two times are the same
BATCHES = 10
T_95 = 2.262  # Student's t for 95 %, two-sided, 9 degrees of freedom: any table


@dataclass
class Load:
    """Plates in a tool: new to the step, or there again for rework; perhaps on a carrier."""

    fresh: int
    again: int = 0
    carrier: Wagon | None = None
    since: float = 0.0

    @property
    def plates(self) -> int:
        return self.fresh + self.again


@dataclass
class Wagon:
    """One carrier, up to when its time is counted, and what it owes the workshop."""

    pool: Pool
    known_until: float = 0.0
    owed: float = 0.0


class Pool:
    """The carriers of one kind, and their time: in rounds, in queues within rounds, in the workshop."""

    def __init__(self, line: Plant, row: Carrier):
        self.line, self.row = line, row
        self.free = deque(Wagon(self) for _ in range(round(row.installed)))
        self.out, self.in_round, self.queued, self.in_workshop, self.rounds = 0, 0.0, 0.0, 0.0, 0
        self.out_since = 0.0

    def count(self, change: int) -> None:
        """Add up carriers in rounds over time, to now, and change their number."""
        now = self.line.env.now
        self.in_round += self.out * (now - self.out_since)
        self.out, self.out_since = self.out + change, now

    def take(self) -> Wagon:
        """A carrier begins a round."""
        self.count(1)
        return self.free.popleft()

    def come_home(self, wagon: Wagon) -> Iterator[Any]:
        """The way back of an empty carrier, and the workshop when it owes a stop."""
        env, share = self.line.env, self.row.out_of_service
        yield env.timeout(self.row.waiting_time)
        self.count(-1)
        self.rounds += 1
        wagon.owed += (env.now - wagon.known_until) * share
        wagon.known_until = env.now
        while wagon.owed > STOP:
            self.in_workshop += STOP
            yield env.timeout(STOP)
            wagon.owed += STOP * share - STOP
            wagon.known_until = env.now
        self.free.append(wagon)
        self.line.wake(self.row.first_step)


def zones(case: Case, step: str) -> list[float]:
    """Times of a load in lock and zones of the in-line coater of a step: length of transport over speed, zone by zone."""
    found = []
    for coater in case.coaters.values():
        if coater.step == step:
            side = case.product.length if coater.transport_along == "length" else case.product.width
            speeds = [film.dynamic_rate * film.cathodes / film.thickness for film in case.coatings.values() if film.step == step]
            found += [coater.lock_time, *((side + coater.gap) / speed for speed in speeds)]
    return found


def soaking_time(case: Case, plan: str) -> float:
    """Scheduled time in the light, measured interval by interval until three measurements in a row are alike."""
    row, ratio = case.soaking[plan], case.product.stabilisation_ratio
    powers = [1.0]
    while len(powers) < 3 or powers[-3] - powers[-1] > row.stability_limit * sum(powers[-3:]) / 3:
        powers.append(ratio + (powers[-1] - ratio) * exp(-row.interval_dose / row.dose_constant))
    dose = (len(powers) - 1) * row.interval_dose
    pace = {"scheduled": 1.0, "calendar": case.site.scheduled_time / case.constants.year}
    return sum(x.part_of_year * dose / x.irradiance * pace[x.clock] for x in case.soaking_light.values() if x.plan == plan)


class Place:
    """A step of the route: its buffer, the time of a load, its yields."""

    def __init__(self, case: Case, name: str, row: Step):
        self.name, self.row, self.tool = name, row, case.tools[row.tool]
        self.load_size = round(self.tool.load_size)
        phases = [phase for phase in case.phases.values() if phase.step == name]
        films = [layer for layer in case.layers.values() if layer.step == name]
        self.time = row.process_time + sum(phase.time for phase in phases if phase.loads_between == 1)
        self.time += sum(layer.purge_time + layer.thickness / layer.rate for layer in films)
        self.time += max(zones(case, name), default=0.0)
        self.time += sum(soaking_time(case, plan) for plan, soaked in case.soaking.items() if soaked.step == name)
        self.share = share_of(case, name)
        self.seldom = [phase for phase in phases if phase.loads_between != 1]
        self.fresh = self.again = 0
        self.loads: deque[Load] = deque()
        self.pool: Pool | None = None
        self.on_carrier = self.leaves_carrier = False

    def claim(self, now: float) -> Load | None:
        """The next load, if one is ready."""
        if self.on_carrier:
            return self._claim_on_carrier(now)
        waiting = self.fresh + self.again
        if waiting < self.load_size or (self.pool and not self.pool.free):
            return None
        size = min(waiting, LOT) if self.load_size == 1 else self.load_size
        again = min(self.again, size)
        self.again, self.fresh = self.again - again, self.fresh - (size - again)
        return Load(size - again, again, self.pool.take() if self.pool else None)

    def _claim_on_carrier(self, now: float) -> Load | None:
        if not self.loads:
            return None
        load = self.loads.popleft()
        load.carrier.pool.queued += now - load.since
        return load

    def duration(self, load: Load) -> float:
        """Working time of a load, or of a lot of loads of one plate."""
        return self.time * (load.plates if self.load_size == 1 else 1)

    def outcome(self, load: Load, random: np.random.Generator) -> tuple[int, int]:
        """Plates of a load that are good, and those to rework."""
        fresh, again, row = load.fresh, load.again, self.row
        if row.load_loss and self.load_size == 1:
            fresh, again = random.binomial(fresh, 1 - row.load_loss), random.binomial(again, 1 - row.load_loss)
        elif row.load_loss and random.random() < row.load_loss:
            return 0, 0
        passed = random.binomial(fresh, row.first_pass_yield)
        rework = random.binomial(fresh - passed, row.rework_share) if row.rework_share else 0
        saved = random.binomial(again, row.rework_success) if again else 0
        return int(passed + saved), int(rework)


class Unit:
    """One tool: it fails, is stopped, and works."""

    def __init__(self, line: Plant, row: Tool, places: list[Place], phase_shift: float):
        self.line, self.places = line, places
        self.known_until = self.busy = self.down = 0.0
        self.doing = (0.0, 0.0, 0.0)
        up_share = 1 - row.planned_downtime - row.unplanned_downtime - row.engineering_time
        self.mean_gap = REPAIR * up_share / row.unplanned_downtime if row.unplanned_downtime else inf
        self.up_left = self._gap()
        self.every = [STOP / share for share in (row.planned_downtime, row.engineering_time) if share]
        self.due = [phase_shift * every for every in self.every]
        self.loads_since = {phase.title: 0.0 for place in places for phase in place.seldom}
        line.env.process(self.run())

    def _gap(self) -> float:
        return self.line.random.exponential(self.mean_gap) if self.mean_gap < inf else inf

    def _repair(self) -> None:
        length = self.line.random.exponential(REPAIR)
        self.down += length
        self.known_until += length
        self.up_left = self._gap()

    def _stop(self, which: int) -> None:
        self.due[which] += self.every[which]
        self.down += STOP
        self.known_until += STOP

    def live_until(self, now: float) -> float:
        """Live through idle time up to now, its failures and stops included; the time at which the tool is ready."""
        while True:
            failure = self.known_until + self.up_left
            which = min(range(len(self.due)), key=self.due.__getitem__, default=None)
            stop = inf if which is None else max(self.due[which], self.known_until)
            if min(failure, stop) > now:
                break
            self.up_left -= min(failure, stop) - self.known_until
            self.known_until = min(failure, stop)
            if failure <= stop:
                self._repair()
            else:
                self._stop(which)
        if self.known_until < now:
            self.up_left -= now - self.known_until
            self.known_until = now
        return self.known_until

    def work(self, duration: float) -> simpy.Event:
        """Work for a time, longer by the repairs of failures that come in it."""
        began, left = self.known_until, duration
        while left > self.up_left:
            left -= self.up_left
            self.known_until += self.up_left
            self._repair()
        self.up_left -= left
        self.known_until += left
        self.busy += duration
        self.doing = (began, self.known_until, duration)
        return self.line.env.timeout(self.known_until - self.line.env.now)

    def busy_until(self, now: float) -> float:
        """Working time up to now; of the load in the tool, the part done."""
        began, end, duration = self.doing
        return self.busy - (duration * (end - now) / (end - began) if end > now else 0.0)

    def run(self) -> Iterator[Any]:
        """The life of the tool."""
        env = self.line.env
        while True:
            ready = self.live_until(env.now)
            if ready > env.now + SOON:
                yield env.timeout(ready - env.now)
                continue
            place, load = next(((p, load) for p in self.places if (load := p.claim(env.now))), (None, None))
            if place is None:
                yield self.line.work_for[self.places[0].row.tool]
                continue
            yield self.work(place.duration(load))
            self.line.deliver(place, load)
            for phase in place.seldom:
                self.loads_since[phase.title] += 1
                while self.loads_since[phase.title] >= phase.loads_between:
                    self.loads_since[phase.title] -= phase.loads_between
                    yield self.work(phase.time)


class Plant:
    """The line of a case in motion."""

    def __init__(self, case: Case, seed: int, in_line: int, takt: float | None):
        self.env, self.random, self.case = simpy.Environment(), np.random.default_rng(seed), case
        self.places = [Place(case, name, row) for name, row in case.steps.items()]
        self.position = {place.name: n for n, place in enumerate(self.places)}
        self.pools = {name: self._pool(row) for name, row in case.carriers.items()}
        self.work_for = {name: self.env.event() for name in case.tools}
        self.units = {name: self._units(name, row) for name, row in case.tools.items()}
        self.started = self.good = self.lost = 0
        self.in_line, self.takt = in_line, takt
        if takt:
            self.env.process(self._start_by_takt(takt))
        else:
            self._start_as_others_leave()

    def _pool(self, carrier: Carrier) -> Pool:
        pool = Pool(self, carrier)
        first, last = self.position[carrier.first_step], self.position[carrier.last_step]
        for place in self.places[first:last + 1]:
            place.pool, place.on_carrier = pool, place.name != carrier.first_step
            row, size = place.row, self.places[first].load_size
            if row.rework_share or row.processed_share < 1 or place.load_size != size:
                raise ValueError(f"{place.name}: rework, sampling or another load size; on carriers: none simulated")
        self.places[last].leaves_carrier = True
        return pool

    def _units(self, name: str, row: Tool) -> list[Unit]:
        places = [place for place in reversed(self.places) if place.row.tool == name]
        number = round(row.installed)
        return [Unit(self, row, places, (n + 1) / number) for n in range(number)]

    def wake(self, step: str) -> None:
        """Tell idle tools that there may be work."""
        tool = self.case.steps[step].tool
        if self.work_for[tool].callbacks:
            self.work_for[tool].succeed()
            self.work_for[tool] = self.env.event()

    def put(self, number: int, plates: int) -> None:
        """Plates come to a step of the route, or out of the last one as good modules."""
        while plates and number < len(self.places):
            place = self.places[number]
            share = place.share
            taken = plates if share == 1 else int(self.random.binomial(plates, share))
            if taken:
                place.fresh += taken
                self.wake(place.name)
            plates, number = plates - taken, number + 1
        self.good += plates

    def deliver(self, place: Place, load: Load) -> None:
        """What comes out of a tool goes on, comes again, or is lost."""
        good, rework = place.outcome(load, self.random)
        self.lost += load.plates - good - rework
        if load.carrier and good and not place.leaves_carrier:
            following = self.places[self.position[place.name] + 1]
            following.loads.append(Load(good, carrier=load.carrier, since=self.env.now))
            self.wake(following.name)
        else:
            if load.carrier:
                self.env.process(load.carrier.pool.come_home(load.carrier))
            self.put(self.position[place.name] + 1, good)
        if rework:
            place.again += rework
            self.wake(place.name)
        if not self.takt:
            self._start_as_others_leave()

    def _start(self) -> None:
        self.started += LOT
        self.put(0, LOT)

    def _start_as_others_leave(self) -> None:
        while self.started - self.good - self.lost + LOT <= self.in_line:
            self._start()

    def _start_by_takt(self, takt: float) -> Iterator[Any]:
        while True:
            self._start()
            yield self.env.timeout(LOT * takt)


class Run:
    """What a plant did in each of BATCHES equal spans of time after its warm-up."""

    def __init__(self, case: Case, marks: list[dict[str, float]]):
        self.case, self.marks = case, marks

    def grown(self, name: str) -> np.ndarray:
        """The growth of a count in each span."""
        return np.diff([mark[name] for mark in self.marks])

    def per_second(self, name: str) -> np.ndarray:
        """The growth of a count per second; of a time in use, the mean number in use."""
        return self.grown(name) / self.grown("time")

    def loading(self, tool: str) -> np.ndarray:
        """Working time over the time in which the tools were not down."""
        up = self.grown("time") * self.case.tools[tool].installed - self.grown(f"down {tool}")
        return self.grown(f"busy {tool}") / up

    def line_yield(self) -> np.ndarray:
        """Good plates over all that left the line, good or lost."""
        return self.grown("good") / (self.grown("good") + self.grown("lost"))


def half_width(values: np.ndarray) -> float:
    """Half the width of the 95 % interval of the mean of the batches."""
    return T_95 * float(np.std(values, ddof=1)) / len(values) ** 0.5


def counts(plant: Plant) -> dict[str, float]:
    """All counts and times since the start."""
    now = plant.env.now
    found = {"time": now, "good": plant.good, "lost": plant.lost}
    for name, units in plant.units.items():
        found[f"busy {name}"] = sum(unit.busy_until(now) for unit in units)
        found[f"down {name}"] = sum(unit.down for unit in units)
    for name, pool in plant.pools.items():
        pool.count(0)
        found |= {f"in round {name}": pool.in_round, f"queued {name}": pool.queued,
                  f"in workshop {name}": pool.in_workshop, f"rounds {name}": pool.rounds}
    return found


def simulate(case: Case, hours: float, warm_up: float = 1000.0, seed: int = 1, in_line: int = 3000,
             takt: float | None = None) -> Run:
    """Run the plant for a warm-up and for the hours, cut into batches; all of it scheduled time."""
    plant, marks = Plant(case, seed, in_line, takt), []
    for n in range(BATCHES + 1):
        plant.env.run(until=(warm_up + hours * n / BATCHES) * HOUR)
        marks.append(counts(plant))
    return Run(case, marks)
