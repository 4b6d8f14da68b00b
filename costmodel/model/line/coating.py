"""The pace of an in-line coater: plates pass its zones one behind the other, and the slowest of them sets the speed."""

from __future__ import annotations

from ...case.line_records import Coater, Coating
from ...case.whole_case import Case
from ...core.operations import Value, larger, safe_divide
from .line_figures import CoatingPace


def time_in_zone(coating: Coating, pitch: Value) -> Value:
    """Time that the zone of a film takes per load: pitch over speed, which is dynamic rate times cathodes over thickness.

        time in zone = pitch * coating.thickness / (coating.dynamic_rate * coating.cathodes)    [s*tool/load]

    Takes: pitch [m].
    Source: common practice.

    A thickness of 90 nm from two cathodes of 60 nm m/min takes a load each 1.2 m in 54 s:

    >>> zinc_oxide = Coating("zinc oxide", "sputter", "target", 90e-9, 60e-9 / 60, 2.0, 5500.0, 0.6, 0.75, 0.0)
    >>> round(time_in_zone(zinc_oxide, 1.2), 9)
    54.0
    """
    return pitch * coating.thickness / (coating.dynamic_rate * coating.cathodes)


def pitch_of_loads(case: Case, coater: Coater) -> Value:
    """Length of the transport that one load takes: the side of the plate along it, and the gap; loads lie one plate long.

        side = case.product.length if coater.transport_along == "length" else case.product.width * case.constants.plate    [m]
        pitch = side + coater.gap    [m]

    Source: geometry.

    >>> from costmodel.case.demo import demo_case
    >>> case = demo_case()
    >>> pitch_of_loads(case, Coater("sputter", "length", 0.5, 40.0)) == case.product.length + 0.5
    True
    """
    width = case.product.width * case.constants.plate
    return (case.product.length if coater.transport_along == "length" else width) + coater.gap


def coating_paces(case: Case) -> tuple[dict[str, Value], dict[str, CoatingPace]]:
    """The pace of each step that sputters in line, its slowest lock or zone; and each film in it.

        zones = {name: time_in_zone(row, pitch_of_loads(case, coater)) for coater in case.coaters.values() for name, row in
            case.coatings.items() if row.step == coater.step}    [s*tool/load]
        paces = {coater.step: largest_of([coater.lock_time, *[zones[name] for name, row in case.coatings.items() if row.step ==
            coater.step]]) for coater in case.coaters.values()}    [s*tool/load]
        result = (paces, {name: CoatingPace(time, safe_divide(time, paces[case.coatings[name].step])) for name, time in
            zones.items()})

    Source: common practice, the slowest stage sets the pace of a line.

    >>> from costmodel.case.load import load_case
    >>> paces, films = coating_paces(load_case("inputs_demo/facade"))
    >>> paces["sputter"] == films["oxide_film"].time, films["mirror"].share_of_pace < 1
    (True, True)
    """
    paces: dict[str, Value] = {}
    times: dict[str, Value] = {}
    for coater in case.coaters.values():
        pitch, slowest = pitch_of_loads(case, coater), coater.lock_time
        for name, row in case.coatings.items():
            if row.step == coater.step:
                times[name] = time_in_zone(row, pitch)
                slowest = larger(slowest, times[name])
        paces[coater.step] = slowest
    films = {
        name: CoatingPace(time=time, share_of_pace=safe_divide(time, paces[case.coatings[name].step]))
        for name, time in times.items()
    }
    return paces, films
