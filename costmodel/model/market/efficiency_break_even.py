"""The efficiency at which our module breaks even."""

from __future__ import annotations

from ...core.operations import Value, choose, safe_divide, valid_if
from .market_figures import ANY_EFFICIENCY, AT_LEAST, AT_MOST, NO_EFFICIENCY


def break_even_efficiency(area_related: Value, room: Value, irradiance: Value) -> tuple[Value, Value]:
    """The efficiency at which what goes by area takes just the room that is left for it in a watt, and what it stands for.

        small area = choose(room >= 0, ANY_EFFICIENCY, choose(area_related < 0, AT_MOST, NO_EFFICIENCY))    [1]
        status = choose(area_related > 0, choose(room > 0, AT_LEAST, NO_EFFICIENCY), small_area)    [1]
        efficiency = valid_if(area_related * room > 0, safe_divide(area_related, irradiance * room))    [any]
        efficiency and status = (efficiency, status)    [any]

    Takes: area_related [money/m2], room [money/Wp_stabilised], irradiance [W/m2].
    Source: common practice.

    The area costs `area_related` over irradiance times efficiency per watt, which must not exceed `room`. Where both
    are positive, the efficiency and any above will do; both negative, it and any below: there the owner values the area
    covered more than it costs, and a watt costs more than its energy is worth. Else none does or any, and the efficiency has no
    value.

    >>> break_even_efficiency(60.0, 0.5, 1000.0), break_even_efficiency(60.0, -0.5, 1000.0)
    ((0.12, 1.0), (nan, 0.0))
    >>> break_even_efficiency(-60.0, -0.5, 1000.0), break_even_efficiency(-60.0, 0.5, 1000.0)
    ((0.12, 2.0), (nan, 3.0))
    """
    status = choose(
        area_related > 0,
        choose(room > 0, AT_LEAST, NO_EFFICIENCY),
        choose(room >= 0, ANY_EFFICIENCY, choose(area_related < 0, AT_MOST, NO_EFFICIENCY)),
    )
    return valid_if(area_related * room > 0, safe_divide(area_related, irradiance * room)), status
