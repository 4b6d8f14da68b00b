"""What a reader knows of numbers that an edition does not state: each from nothing to twice its value, a large share more closely.

Of a share above a half, what is missing to the whole is from nothing to twice: nobody takes a yield of 97 % for less than 94 % or
more than 100 %. So of the shares of the whole line, whatever makes them up: labels are set a little below power, not at half of it.
The range is ours.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ...case.addresses import input_at
from .disclosed_slopes import Ground
from .stated_numbers import Stated

LINE_SHARES = (
    "line.output.active_area_share", "line.output.uniformity", "line.output.line_yield", "line.power.paid_share_of_power",
    "line.power.paid_share_of_modules",
)  # fmt: skip


def reach(ground: Ground, point: Mapping[str, float]) -> np.ndarray:
    """How far each input of a ground may be from its value at a point, for all that a reader knows besides an edition.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.documents.editions.leak_check import ground_of
    >>> ground = ground_of(load_case("inputs_demo/facade"))
    >>> price, passed = "prices.silane.price", "steps.final_test.first_pass_yield"
    >>> far = dict(zip(ground.inputs, reach(ground, {**ground.values, price: 62.0, passed: 0.75})))
    >>> float(far[price]), float(far[passed])
    (62.0, 0.25)
    """
    return np.array([_far(abs(point[address]), _is_share(ground, address)) for address in ground.inputs])


def _far(value: float, is_share: bool) -> float:
    """How far a number may be from its value: by all of it, but a share by no more than what is missing to the whole.

    >>> _far(4.0, False), _far(0.75, True), _far(0.25, True)
    (4.0, 0.25, 0.25)
    """
    return min(value, 1.0 - value) if is_share and 0.5 < value < 1.0 else value


def _is_share(ground: Ground, address: str) -> bool:
    declared, _ = input_at(ground.view, address)
    return getattr(declared, "low", None) == 0.0 and getattr(declared, "high", None) == 1.0


def line_shares(ground: Ground, point: Mapping[str, float]) -> list[Stated]:
    """The shares of the whole line above a half at a point, as numbers that a reader knows to what is missing to the whole."""
    rows = ground.closed_rows([address for address in LINE_SHARES if address in ground.figures], point)
    return [Stated(name, "", row, _far(row.value, True)) for name, row in rows.items() if 0.5 < row.value < 1.0]
