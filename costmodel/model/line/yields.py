"""Yield and rework of a route."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.line_records import Step
from ...core.operations import Value


def processed_yield(step: Step) -> Value:
    """Share of the plates processed in a step that become good, rework included.

    y pass at first, the share r of the rejects is reworked and the share q of those becomes good: y + (1 - y) r q. Of the
    loads, the share l is lost whole: (1 - l) (y + (1 - y) r q). Common practice.

    >>> from costmodel.case.line_records import Step
    >>> round(processed_yield(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 1.0)), 12)
    0.85
    """
    rejects = 1 - step.first_pass_yield
    return (1 - step.load_loss) * (1 - rejects * (1 - step.rework_share * step.rework_success))


def good_share(step: Step) -> Value:
    """Share of the plates entering a step that leave it good; what passes by it untouched is good.

    >>> from costmodel.case.line_records import Step
    >>> round(good_share(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 0.1)), 12)
    0.985
    """
    return 1 - step.processed_share * (1 - processed_yield(step))


def passes_per_processed(step: Step) -> Value:
    """Times that the tool of a step works for each plate processed: 1 + (1 - l) (1 - y) r. Common practice.

    >>> from costmodel.case.line_records import Step
    >>> round(passes_per_processed(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 1.0)), 12)
    1.1
    """
    return 1 + (1 - step.load_loss) * (1 - step.first_pass_yield) * step.rework_share


def good_per_pass(step: Step) -> Value:
    """Good plates for each time that the tool of a step works on one, rework included."""
    return processed_yield(step) / passes_per_processed(step)


def passes_per_start(step: Step) -> Value:
    """Times that the tool of a step works for each plate entering it."""
    return step.processed_share * passes_per_processed(step)


def starts_per_good(steps: Sequence[Step]) -> list[Value]:
    """Plates entering each step for one good plate at the end of the route, found backwards from the last step.

    >>> from costmodel.case.line_records import Step
    >>> halves = Step("a", "front", "saw", 30.0, 1.0, 0.5, 0.0, 0.0, 0.0, 1.0)
    >>> starts_per_good([halves, halves])
    [4.0, 2.0]
    """
    needed: list[Value] = []
    wanted: Value = 1.0
    for step in reversed(steps):
        wanted = wanted / good_share(step)
        needed.append(wanted)
    return needed[::-1]
