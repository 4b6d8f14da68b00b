"""Sentences about light soaking: whether the wanted precision is reached, and what soaking all modules costs against a sample."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..studies.factory.choices import Outcome
from .numbers import in_unit, money, people, percent, stated


def in_days(time: float) -> str:
    """A time in days, without the word.

    >>> in_days(1080000.0)
    '12.5'
    """
    return people(time / to_base("day"))


def precision(case: Case, results: Results) -> str:
    """Whether each plan reaches the wanted precision, and what keeps it from that."""
    said = [] if results.ledger.soaking else ["The case has no soaking.csv, so that the rating of lots is not computed."]
    for name, plan in results.ledger.soaking.items():
        row, found = case.soaking[name], plan.rating
        wanted, half = f"± {percent(row.precision)}", f"± {percent(found.error.half_width)}"
        rated = f"{stated(found.soaked)} of {stated(row.lot)} modules rate a lot to {half}"
        if found.precision_met:
            said.append(f"{rated}, within the wanted {wanted}.")
        elif found.sample_needed_status:
            said.append(f"{rated}; the wanted {wanted} needs {found.sample_needed:.4g}.")
        else:
            least = f"± {percent(found.least_half_width)}"
            said += [f"{rated}.", f"No sample reaches the wanted {wanted}: lots soaked whole are rated to {least}."]
            largest = max(("systematic uncertainty of the measurement", found.error.measurement_common),
                          ("random uncertainty of the measurement", found.error.measurement_random),
                          ("difference between the lots averaged", found.error.between_lots), key=lambda part: part[1])  # fmt: skip
            said.append(f"The largest part is the {largest[0]}, {percent(largest[1])}.")
    return " ".join(said)


def outdoors(case: Case, plan: str) -> bool:
    """Whether a plan soaks in the sun, through the seasons."""
    return all(row.clock == "calendar" for row in case.soaking_light.values() if row.plan == plan)


def days(case: Case, results: Results) -> str:
    """How long the plans soak by the calendar, from the shortest stay to the longest; of lamps in the time they are on, too."""
    said = []
    for name, found in results.line.soaking.items():
        dose = f"{in_unit(found.dose, 'kWh/m2')} in {found.intervals:.4g} intervals"
        least, most, mean = (in_days(time) for time in (found.shortest, found.longest, found.calendar_time))
        if least != most and outdoors(case, name):
            span = f"{least} to {most} calendar days by season, {mean} on average"
        else:
            lamps = "" if outdoors(case, name) else f" ({in_days(found.time)} days with the lamps on)"
            span = f"{mean} calendar days{lamps}"
        said.append(f"Modules are stable after {dose}; that takes {span}.")
    return " ".join(said)


def plans(outcomes: Sequence[Outcome]) -> str:
    """Which soaking plan costs least with its risk, what the others cost more, and what claims each brings."""
    currency = outcomes[0].case.currency
    soaked = [(outcome.title, outcome.results.ledger.soaking.values()) for outcome in outcomes if outcome.results.ledger.soaking]
    found = sorted((sum(p.cost_and_risk for p in plans), title, sum(p.claims for p in plans)) for title, plans in soaked)
    if not found:
        return "No choice of soaking has a soaking.csv."
    (least, first, risk), *others = found
    whole = f"{money(least, currency)} a year, of which {money(risk, currency)} are expected claims"
    said = [f"“{first}” costs least with its risk: {whole}."]
    for cost, title, claims in others:
        gap = money(abs(risk - claims), currency)
        moved = f"{gap} {'lower' if claims <= risk else 'higher'}" if gap != money(0.0, currency) else "the same"
        said.append(f"“{title}” costs {money(cost - least, currency)} a year more; its expected claims are {moved}.")
    return " ".join(said)
