"""All published values that the model's own functions are held against."""

from __future__ import annotations

from . import published_depreciation, published_factory, published_finance, published_project, whole_cases
from .agreement import Agreement, Published


def values() -> list[Published]:
    """Every published value, not yet computed."""
    sources = (published_factory, published_depreciation, published_finance, published_project, whole_cases)
    return [value for source in sources for value in source.VALUES]


def agreements() -> list[Agreement]:
    """Every published value, computed now.

    >>> {each.verdict for each in agreements()} == {"PASS", "NOTE"}
    True
    """
    return [value.agreement() for value in values()]
