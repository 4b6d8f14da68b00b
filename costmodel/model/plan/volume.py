"""What the plant makes in each quarter: ramp, delay, expansions, and what all that was made does to cost."""

from __future__ import annotations

from dataclasses import dataclass

from ...case.plan_records import Learning
from ...case.whole_case import Case
from ...core.operations import Value, choose, larger, log, safe_divide, smaller, sum_of
from ...core.series import Row
from .closing_time import Use
from .timing import in_quarters, running


@dataclass(frozen=True, slots=True)
class Volumes:
    """Shares of full swing of the plant of the case, quarter by quarter."""

    started: Row
    good: Row
    fixed: Row

    def while_in(self, use: Use) -> Volumes:
        """While the plant is in use."""
        return Volumes(use.while_open(self.started), use.while_open(self.good), use.while_open(self.fixed))

    def cut(self, taken: Row) -> Volumes:
        """As far as markets take the output: fewer plates are started, and the plant stands as before."""
        return Volumes(self.started * taken, self.good * taken, self.fixed)


def ramped(case: Case, quarters: int, start: Value) -> tuple[Row, Row]:
    """Shares of full swing of plates started and of good modules, from a start on; the rows of ramp.csv, then all of it.

        ends = [running(quarters, start + case.plan.schedule.ramp_stretch * number) for number in range(len(case.ramp) + 1)]
            [1]
        inside = [ends[number] - ends[number + 1] for number in range(len(case.ramp))]    [1]
        started, good = sum_of([row.starts_share * part for row, part in zip(case.ramp.values(), inside)]) + ends[-1],
            sum_of([row.starts_share * row.yield_share * part for row, part in zip(case.ramp.values(), inside)]) + ends[-1]
            [1, 1]

    Takes: start [1].
    Source: common practice.

    One quarter at half of the starts and 80 % of the yield, then full swing:

    >>> from types import SimpleNamespace as Some
    >>> schedule = Some(ramp_stretch=1.0)
    >>> case = Some(ramp={"first": Some(starts_share=0.5, yield_share=0.8)}, plan=Some(schedule=schedule))
    >>> ramped(case, 4, 1.0)
    ([0.0, 0.0, 0.5, 1.0], [0.0, 0.0, 0.4, 1.0])
    """
    rows = list(case.ramp.values())
    ends = [running(quarters, start + case.plan.schedule.ramp_stretch * number) for number in range(len(rows) + 1)]
    inside = [ends[number] - ends[number + 1] for number in range(len(rows))]
    started = sum_of([row.starts_share * part for row, part in zip(rows, inside)])
    good = sum_of([row.starts_share * row.yield_share * part for row, part in zip(rows, inside)])
    return started + ends[-1], good + ends[-1]


def volumes(case: Case, quarters: int, start: Value, staffed: Value) -> Volumes:
    """The first plant and its expansions together, as planned.

        full = case.plan.schedule.volume_share    [1]
        begin = [start + in_quarters(case, row.time) for row in case.expansions.values()]    [1]
        more = [ramped(case, quarters, when) for when in begin]    [1]
        sizes = [row.size for row in case.expansions.values()]    [1]
        started = sum_of([full * ramped(case, quarters, start)[0], *[size * full * each[0] for size, each in zip(sizes,
            more)]])    [1]
        good = sum_of([full * ramped(case, quarters, start)[1], *[size * full * each[1] for size, each in zip(sizes, more)]])
            [1]
        fixed = sum_of([running(quarters, staffed), *[row.size * row.fixed_share * running(quarters, when) for row, when in
            zip(case.expansions.values(), begin)]])    [1]

    Takes: start [1], staffed [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> schedule = Some(ramp_stretch=1.0, volume_share=0.5)
    >>> case = Some(ramp={}, expansions={}, plan=Some(schedule=schedule))
    >>> volumes(case, 4, 2.0, 1.0)
    Volumes(started=[0.0, 0.0, 0.0, 0.5], good=[0.0, 0.0, 0.0, 0.5], fixed=[0.0, 0.0, 1.0, 1.0])
    """
    full = case.plan.schedule.volume_share
    started, good = ramped(case, quarters, start)
    started, good = full * started, full * good
    fixed = running(quarters, staffed)
    for row in case.expansions.values():
        begin = start + in_quarters(case, row.time)
        more_started, more_good = ramped(case, quarters, begin)
        started = started + row.size * full * more_started
        good = good + row.size * full * more_good
        fixed = fixed + row.size * row.fixed_share * running(quarters, begin)
    return Volumes(started, good, fixed)


def learning_exponent(rate: Value) -> Value:
    """Exponent of a learning curve on which cost falls by `rate` with each doubling (Wright).

        exponent = log(1 - rate) / log(2.0)    [1]

    Takes: rate [1].
    Source: Wright, Factors affecting the cost of airplanes, 1936.

    >>> 2.0 ** learning_exponent(0.2)
    0.8
    """
    return log(1 - rate) / log(2.0)


def learnt_volume(made: Value, learning: Learning) -> Value:
    """The volume whose cost at the cost of the case equals that of all that was made: no fall up to a first volume.

        exponent = learning_exponent(learning.rate)    [1]
        first = learning.reference_volume    [Wp_stabilised]
        times = larger(made, first) / first    [1]
        beyond = first * times ** (1 + exponent) if learning.convention == "cumulative_average" else first + first * (times **
            (1 + exponent) - 1) / (1 + exponent)    [Wp_stabilised]
        volume = choose(made <= first, smaller(made, first), beyond)    [Wp_stabilised]

    Takes: made [Wp_stabilised].
    Source: Wright 1936 (by the average); by unit from memory.

    By the average of all, the average follows the curve; by unit, each next watt does, and the cost of all is the integral.
    80 %, twice and four times the first volume (W01): 160 and 256 where the first 100 cost 100:

    >>> curve = Learning(0.2, 100.0, "cumulative_average")
    >>> [round(learnt_volume(made, curve), 9) for made in (50.0, 100.0, 200.0, 400.0)]
    [50.0, 100.0, 160.0, 256.0]
    """
    exponent, first = learning_exponent(learning.rate), learning.reference_volume
    times = larger(made, first) / first
    if learning.convention == "cumulative_average":
        beyond = first * times ** (1 + exponent)
    else:
        beyond = first + first * (times ** (1 + exponent) - 1) / (1 + exponent)
    return choose(made <= first, smaller(made, first), beyond)


def learning_factors(so_far: Row, learning: Learning) -> Row:
    """Variable cost of each quarter over what it would be at the cost of the case, from all made by its end; 1 if nothing is.

        made = so_far.gains()    [Wp_stabilised]
        volume = Row([learnt_volume(now, learning) for now in so_far])    [Wp_stabilised]
        factors = choose(made > 0, safe_divide(volume.gains(), made), 1.0)    [1]

    Takes: so_far [Wp_stabilised].
    Source: common practice.

    80 % for each doubling beyond a first volume of 100: the second hundred costs 60:

    >>> learning_factors(Row([0.0, 100.0, 200.0]), Learning(0.2, 100.0, "cumulative_average"))
    [1.0, 1.0, 0.6]
    """
    factors = []
    for now, before in zip(so_far, so_far.earlier(0.0)):
        made = now - before
        cost = learnt_volume(now, learning) - learnt_volume(before, learning)
        factors.append(choose(made > 0, safe_divide(cost, made), 1.0))
    return Row(factors)
