"""Kinds of documents: each a function from plain facts to blocks; it sees no case and computes no figure of the model.

A kind is a module with `TITLE` and `page(facts)`; what is for looking up, such as inputs with their sources, it may put into
`annex(facts)`, a document apart. An internal kind names in `PARTS` what it needs of `documents/facts.py`, an external one gets the
facts of a release (`documents/editions/allowed.py`).
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import Any

KINDS = ("investor", "proposal", "term_sheet", "memo", "scenarios")
ANNEX = "_annex"
MODULES = {"scenarios": "scenarios_compared"}  # those that have another name than their kind


def kind(name: str) -> ModuleType:
    """The module of a kind."""
    if name not in KINDS:
        raise KeyError(name)
    return import_module(f".{MODULES.get(name, name)}", __package__)


def has_annex(name: str) -> bool:
    """Whether a kind has an annex apart; the full report, which is of no kind, has none.

    >>> has_annex("memo"), has_annex("scenarios"), has_annex("full")
    (True, False, False)
    """
    return name in KINDS and hasattr(kind(name), "annex")


def documents_of(name: str, facts: dict[str, Any]) -> dict[str, tuple[str, list[dict[str, Any]]]]:
    """The documents of a kind: what is put behind the name of the file, with the title and the blocks of each.

    An annex comes first, so that the document itself is written last: where it is there, all of it is.
    """
    found = kind(name)
    title, made = f"{found.TITLE}: {facts['identity']['title']}", {}
    if has_annex(name):
        made[ANNEX] = (f"Annex of {title}", found.annex(facts))
    return made | {"": (title, found.page(facts))}
