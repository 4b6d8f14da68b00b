"""The records of power classes: how modules differ in power, and under which labels they are sold."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import number, share, text
from ..core.operations import Value


@dataclass(frozen=True, slots=True)
class PowerClass:
    """Modules that are sold under one label: those rated from its least power on, up to the next row.

    Rows stand in the order of their least power. The class follows the power rated after light soaking. What is rated below the
    first row is not sold: the least power of that row is the acceptance limit. A class with a low price is a second grade.
    """

    title: str = text("name of the class", example="40 W")
    least_power: Value = number("Wp_stabilised/module", "least power of a module of this class, as rated", example="40", above=0.0)
    label: Value = number("Wp_stabilised/module", "power on the label, which customers pay for", example="40", above=0.0)
    price_share: Value = number("1", "price of the class over the price in sales.csv", example="100 %", low=0.0, high=3.0)


@dataclass(frozen=True, slots=True)
class PowerSpread:
    """How the power of modules differs after light soaking, by a normal distribution; one row, where no powers were measured."""

    title: str = text("what the spread is of", example="modules of the pilot line")
    module_spread: Value = number(
        "1", "standard deviation of power from module to module, over the mean", example="3 %", above=0.0, high=0.5
    )
    repeatability: Value = share("standard deviation of the rating of one and the same module, over its power", example="0.5 %")


@dataclass(frozen=True, slots=True)
class MeasuredPower:
    """Measured modules that classes count; all move with the mean power of the case. They take the place of a spread."""

    title: str = text("which module it is", example="lot 12, module 3")
    power: Value = number("Wp_stabilised/module", "measured power after light soaking", example="41.3", above=0.0)
