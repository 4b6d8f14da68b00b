"""What services bring: how an input is with the effects of services and without them, and from when on the cash is another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...case.service_records import MULTIPLIES, ServiceEffect
from ...case.whole_case import Case
from ...core.operations import Value, sum_of
from .deal_figures import EffectFigures


def effect_figures(case: Case) -> dict[str, EffectFigures]:
    """The expected change of each effect."""
    return {name: EffectFigures(row.unit, expected_change(row)) for name, row in case.service_effects.items()}


def expected_change(row: ServiceEffect) -> Value:
    """The change of an input that is to be expected: without success nothing is added, and the factor is 1.

        neutral = 1.0 if row.how == "multiplies" else 0.0 * row.change    [any]
        change = neutral + row.probability * (row.change - neutral)    [any]

    Source: common practice.

    >>> from types import SimpleNamespace as Row
    >>> [expected_change(Row(how=how, change=0.5, probability=0.5)) for how in ("adds", "multiplies")]
    [0.25, 0.75]
    """
    neutral = 1.0 if row.how == MULTIPLIES else 0.0 * row.change
    return neutral + row.probability * (row.change - neutral)


def without_effects(stated: Value, factors: Sequence[Value], added: Sequence[Value]) -> Value:
    """An input without the effects that its stated value holds: what was added is taken off, then the factors are.

        input = stated - sum_of([0.0 * stated, *added])    [any]
        result = input / product_of(factors)    [any]

    Takes: stated [any], factors [1], added [any].
    Source: common practice.

    >>> without_effects(5.0, [2.0], [1.0]), without_effects(5.0, [], [])
    (2.0, 5.0)
    """
    return (stated - sum_of([0.0 * stated, *added])) / product_of(factors)


def with_effects(bare: Value, factors: Sequence[Value], added: Sequence[Value]) -> Value:
    """An input with effects, from its value without any: the factors come first, then what is added.

        input = bare * product_of(factors)    [any]
        result = input + sum_of([0.0 * bare, *added])    [any]

    Takes: bare [any], factors [1], added [any].
    Source: common practice.

    >>> with_effects(2.0, [2.0], [1.0]), with_effects(without_effects(0.9, [1.1], [0.1]), [1.1], [0.1])
    (5.0, 0.9)
    """
    return bare * product_of(factors) + sum_of([0.0 * bare, *added])


def product_of(factors: Sequence[Value]) -> Value:
    """All factors multiplied, 1 where there are none."""
    found: Value = 1.0
    for each in factors:
        found = found * each
    return found


def in_force(shares: Mapping[str, float]) -> list[tuple[float, frozenset[str]]]:
    """A quarter split by which effects are in force, from the share of it that lies within the time of each.

        steps = sorted({1.0, *[share for share in shares.values() if share > 0]})    [1]
        parts = [(high - low, frozenset(name for name, share in shares.items() if share >= high)) for low, high in zip([0.0,
            *steps], steps)]    [any]

    Takes: shares [1].
    Source: common practice.

    The cash of a quarter is that of plans with these effects from the first day on, each by its part of the quarter. Of two
    effects that begin within a quarter, one in force for half and one for a quarter of it, both are for a quarter:

    >>> [(part, sorted(names)) for part, names in in_force({"a": 0.5, "b": 0.25})]
    [(0.25, ['a', 'b']), (0.25, ['a']), (0.5, [])]
    """
    steps = sorted({1.0, *[share for share in shares.values() if share > 0]})
    return [
        (high - low, frozenset(name for name, share in shares.items() if share >= high))
        for low, high in zip([0.0, *steps], steps)
    ]
