"""Yield and rework of a route."""

from __future__ import annotations

from collections.abc import Sequence

from ...case.line_records import Step
from ...core.operations import Value


def processed_yield(step: Step) -> Value:
    """Share of the plates processed in a step that become good, rework included.

        rejects = 1 - step.first_pass_yield    [1]
        processed yield = (1 - step.load_loss) * (1 - rejects + rejects * step.rework_share * step.rework_success)    [1]

    Source: common practice.

    Of the rejects a share is reworked, and a share of that becomes good. A share of the loads is lost whole.

    >>> from costmodel.case.line_records import Step
    >>> round(processed_yield(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 1.0)), 12)
    0.85
    """
    rejects = 1 - step.first_pass_yield
    return (1 - step.load_loss) * (1 - rejects * (1 - step.rework_share * step.rework_success))


def good_share(step: Step) -> Value:
    """Share of the plates entering a step that leave it good; what passes by it untouched is good.

        good share = 1 - step.processed_share * (1 - processed_yield(step))    [1]

    Source: common practice.

    >>> from costmodel.case.line_records import Step
    >>> round(good_share(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 0.1)), 12)
    0.985
    """
    return 1 - step.processed_share * (1 - processed_yield(step))


def passes_per_processed(step: Step) -> Value:
    """Passes of the tool of a step per plate processed: rejects of loads that are not lost come again, as far as they are reworked.

        passes = 1 + (1 - step.load_loss) * (1 - step.first_pass_yield) * step.rework_share    [1]

    Source: common practice.

    >>> from costmodel.case.line_records import Step
    >>> round(passes_per_processed(Step("cut", "front", "saw", 30.0, 1.0, 0.8, 0.5, 0.5, 0.0, 1.0)), 12)
    1.1
    """
    return 1 + (1 - step.load_loss) * (1 - step.first_pass_yield) * step.rework_share


def good_per_pass(step: Step) -> Value:
    """Good plates per pass of the tool of a step, rework included.

        good per pass = processed_yield(step) / passes_per_processed(step)    [1]

    Source: common practice.

    >>> good_per_pass(Step("cut", "front", "saw", 30.0, 1.0, 0.5, 1.0, 0.5, 0.0, 1.0))
    0.5
    """
    return processed_yield(step) / passes_per_processed(step)


def passes_per_start(step: Step) -> Value:
    """Passes of the tool of a step per plate entering it.

        passes per start = step.processed_share * passes_per_processed(step)    [1]

    Source: common practice.

    >>> passes_per_start(Step("cut", "front", "saw", 30.0, 1.0, 0.5, 1.0, 0.5, 0.0, 0.5))
    0.75
    """
    return step.processed_share * passes_per_processed(step)


def starts_per_good(steps: Sequence[Step]) -> list[Value]:
    """Plates entering each step per good plate at the end of the route, found backwards from the last step.

        starts = [after / good_share(step) for step, after in zip(steps, [*starts[1:], 1.0])]    [1]

    Source: common practice.

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
