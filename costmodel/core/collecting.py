"""How often Python looks for values that hold one another: each look goes over all that is there, and the model makes much."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

SELDOM = (200_000, 20, 20)  # new values before a look; Python's own are 700, 10, 10


@contextmanager
def no_collecting() -> Iterator[None]:
    """Without the garbage collector, which would look through all that is made again and again while more of it is made."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


@contextmanager
def seldom_collecting() -> Iterator[None]:
    """With few looks, for a program that makes much and soon ends.

    >>> with seldom_collecting():
    ...     gc.get_threshold()
    (200000, 20, 20)
    """
    was = gc.get_threshold()
    gc.set_threshold(*SELDOM)
    try:
        yield
    finally:
        gc.set_threshold(*was)
