"""Which figures look odd only because an input does: so one slip is one line, with the number of what follows from it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ...case.changes import with_values
from ...case.usual_ranges import as_usual
from ...case.whole_case import Case
from ...core.faults import InputFaults
from ...model.evaluate import Results, evaluate
from .market_prices import large_plans, odd_prices
from .odd_figures import odd_figures


def all_odd_figures(case: Case, results: Results) -> Iterator[str]:
    """What looks odd in the figures of a case: of line and transfer, of plans larger than their markets, of prices."""
    yield from odd_figures(case, results)
    yield from large_plans(case, results)
    yield from odd_prices(case, results)


def following(case: Case, inputs: Sequence[str], figures: Sequence[str]) -> dict[str, list[str]]:
    """What else looks odd by the odd input from which it follows: without it, put to what is usual, it looks odd no longer.

    `inputs` and `figures` are lines about either. Inputs are mended one after the other, so what follows from several stands by the
    last of them.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.case.summary import oddities
    >>> case = with_values(load_case("inputs_demo/facade"), {"steps.pack.first_pass_yield": 0.00998})
    >>> figures = list(all_odd_figures(case, evaluate(case)))
    >>> found = following(case, list(oddities(case)), figures)
    >>> list(found), len(figures) - len(found["steps.pack.first_pass_yield"])
    (['steps.pack.first_pass_yield'], 1)
    """
    found: dict[str, list[str]] = {}
    left = list(figures)
    for address, value in as_usual(case).items():
        found[address] = [each for each in inputs if subject(each) == address][1:]
        try:
            case = with_values(case, {address: value})
            still = {subject(each) for each in all_odd_figures(case, evaluate(case))}
        except (InputFaults, ZeroDivisionError):  # with what is usual there, the case is none: nothing can be said of it
            continue
        found[address] += [each for each in left if subject(each) not in still]
        left = [each for each in left if subject(each) in still]
    return found


def with_number(line: str, found: Mapping[str, list[str]]) -> str:
    """A line on an odd input with the number of lines that follow from it; any other line as it is.

    >>> with_number("a.b is 3 m, and usual is 1 to 2", {"a.b": ["c is odd"]}), with_number("c is odd", {"a.b": ["d is odd"]})
    ('a.b is 3 m, and usual is 1 to 2; 1 more follows from it', 'c is odd')
    """
    count = len(found.get(subject(line), ()))
    return f"{line}; {count} more {'follows' if count == 1 else 'follow'} from it" if count else line


def subject(line: str) -> str:
    """What a line is about, whatever figure it has there."""
    return line.split(" ", 1)[0].removesuffix(":")
