"""Units at the edge: a whitelist of unit texts, and conversion into the coherent base units of the model.

Inside the model every number is in s, m, kg, mol, J, W, plate, module, load, tool, person, each currency, or a product
of these; `units.txt` lists what people may write. A unit text is names joined by `*` and `/`, as in `kWh/m2` or
`EUR/person/year`. It is split and looked up, never evaluated.
"""

from __future__ import annotations

import re
from functools import lru_cache
from importlib import resources
from typing import Any

from .faults import nearest
from .left_out import left_out

CURRENCY = re.compile(r"[A-Z]{3}")
_LONGEST = 60
_ALIASES = {"%": "percent"}
_TYPESET = str.maketrans({"²": "2", "³": "3", "·": "*", "µ": "u", "μ": "u"})  # as documents print units, and tables do not


class UnitError(ValueError):
    """A unit text that is unknown, or that does not convert into the unit that is wanted."""


@lru_cache(maxsize=1)
def registry():
    """The pint registry that holds the trade's units and no others."""
    with left_out("dask"):  # of which nothing here gives pint a value; it takes longer to load than pint itself
        import pint
    lines = resources.files(__package__).joinpath("units.txt").read_text(encoding="utf-8").splitlines()
    made: Any = pint.UnitRegistry(None, cache_folder=None)
    made.load_definitions([line for line in lines if line and not line.startswith("#")])
    return made


@lru_cache(maxsize=1)
def known_names() -> frozenset[str]:
    """Every unit name that may be written, currencies apart."""
    return frozenset(name for name in registry()._units if name) | {"1", "%"}


def _one(name: str):
    """The pint unit of one name; a currency (three capitals) is defined when first met."""
    made = registry()
    if name == "1":
        return made.dimensionless
    if name in known_names():
        return getattr(made, _ALIASES.get(name, name))
    if CURRENCY.fullmatch(name):
        if name not in made._units:
            made.define(f"{name} = [currency_{name}]")
        return getattr(made, name)
    raise UnitError(f"unit '{name}' is not known{nearest(name, known_names())}")


@lru_cache(maxsize=1024)
def unit(text: str):
    """The pint unit of a unit text.

    Raises UnitError for an unknown name or anything that is not names joined by `*` and `/`.

    >>> str(unit("kWh/m2").dimensionality)
    '[mass] / [time] ** 2'
    >>> unit("9**9**9")
    Traceback (most recent call last):
    ...
    costmodel.core.units.UnitError: unit text '9**9**9' must be unit names joined by * and /, as in kWh/m2
    """
    parts = re.split(r"\s*([*/])\s*", text.strip())
    if (plain := text.translate(_TYPESET)) != text and len(text) <= _LONGEST:
        raise UnitError(f"unit text '{text}' is typeset; in tables it is written '{plain}'")
    if len(text) > _LONGEST or not all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*|%|1", name) for name in parts[::2]):
        raise UnitError(f"unit text '{text[:_LONGEST]}' must be unit names joined by * and /, as in kWh/m2")
    made = _one(parts[0])
    for sign, name in zip(parts[1::2], parts[2::2]):
        made = made * _one(name) if sign == "*" else made / _one(name)
    return made


@lru_cache(maxsize=1024)
def to_base(text: str, like: str | None = None) -> float:
    """What a number in the unit `text` is multiplied by to stand in coherent base units.

    Raises UnitError when `like` is given and does not measure the same thing.

    >>> to_base("nm"), to_base("%"), to_base("year")
    (1e-09, 0.01, 31536000.0)
    >>> to_base("min", like="kg")
    Traceback (most recent call last):
    ...
    costmodel.core.units.UnitError: unit 'min' does not convert into 'kg'
    """
    if like is not None and not same_kind(text, like):
        raise UnitError(f"unit '{text}' does not convert into '{like}'")
    ratio = registry().Quantity(1.0, unit(text)).to_base_units().magnitude
    return float(f"{ratio:.15g}")  # 0.01 * 0.01 is 1e-4, not 1.0000000000000002e-4


def same_kind(first: str, second: str) -> bool:
    """Whether two unit texts measure the same thing.

    >>> same_kind("Nm3", "mol"), same_kind("plate", "module")
    (True, False)
    """
    return unit(first).dimensionality == unit(second).dimensionality


def quantity(value, text: str):
    """A pint quantity in base units: `value` is in the coherent base unit of `text`.

    >>> quantity(2.0, "kWh").check("[mass] * [length]**2 / [time]**2")
    True
    """
    made = registry()
    return made.Quantity(value, made.Quantity(1.0, unit(text)).to_base_units().units)
