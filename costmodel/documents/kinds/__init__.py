"""Kinds of documents: each a function from plain facts to blocks; it sees no case and computes no figure of the model.

A kind is a module with `TITLE` and `page(facts)`; an internal one names in `PARTS` what it needs of
`documents/facts.py`, an external one gets the facts of a release (`documents/editions/allowed.py`).
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

KINDS = ("investor", "proposal", "memo", "scenarios")
MODULES = {"scenarios": "scenarios_compared"}  # those that have another name than their kind


def kind(name: str) -> ModuleType:
    """The module of a kind."""
    if name not in KINDS:
        raise KeyError(name)
    return import_module(f".{MODULES.get(name, name)}", __package__)
