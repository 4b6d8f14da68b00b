"""What services bring: an input with the effects of services, and without them."""

from __future__ import annotations

from collections.abc import Sequence

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


def without_effects(stated: Value, factor: Value, added: Sequence[Value]) -> Value:
    """An input without the effects that its stated value holds: what was added is taken off, then the factor is.

        input = stated - sum_of([0.0 * stated, *added])    [any]
        result = input / factor    [any]

    Takes: stated [any], factor [1], added [any].
    Source: common practice.

    >>> without_effects(5.0, 2.0, [1.0]), without_effects(5.0, 1.0, [])
    (2.0, 5.0)
    """
    return (stated - sum_of([0.0 * stated, *added])) / factor


def with_effects(bare: Value, factor: Value, added: Sequence[Value]) -> Value:
    """An input with effects, from its value without any: the factor comes first, then what is added.

    Of several factors it is their product.

        input = bare * factor    [any]
        result = input + sum_of([0.0 * bare, *added])    [any]

    Takes: bare [any], factor [1], added [any].
    Source: common practice.

    >>> with_effects(2.0, 2.0, [1.0]), round(with_effects(without_effects(0.9, 1.1, [0.1]), 1.1, [0.1]), 12)
    (5.0, 0.9)
    """
    return bare * factor + sum_of([0.0 * bare, *added])
