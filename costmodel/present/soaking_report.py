"""Light soaking: the rating of a lot, days in the light, cost and risk, the running mean over lots; sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..studies.factory.averaging import Averaged
from ..studies.factory.choices import Outcome
from .numbers import amount, exact, in_unit, money, people, percent, stated
from .table import Table, table_of


def in_days(time: float) -> str:
    """A time in days, without the word.

    >>> in_days(1080000.0)
    '12.5'
    """
    return people(time / to_base("day"))


def outdoors(case: Case, plan: str) -> bool:
    """Whether a plan soaks in the sun, through the seasons."""
    return all(row.clock == "calendar" for row in case.soaking_light.values() if row.plan == plan)


def precision(case: Case, results: Results) -> str:
    """Whether each plan reaches the precision required, and what keeps it from that."""
    lines = [] if results.ledger.soaking else ["The case has no soaking.csv, so the rating of lots is not computed."]
    for name, plan in results.ledger.soaking.items():
        row, found = case.soaking[name], plan.rating
        wanted, half = f"± {percent(row.precision)}", f"± {percent(found.error.half_width)}"
        rated = f"{stated(found.soaked)} of {stated(row.lot)} modules rate a lot to {half}"
        if found.precision_met:
            lines.append(f"{rated}, within the required {wanted}.")
        elif found.sample_needed_status:
            lines.append(f"{rated}. The required {wanted} needs {found.sample_needed:.4g}.")
        else:
            least = f"± {percent(found.least_half_width)}"
            lines += [f"{rated}.", f"No sample reaches the required {wanted}: lots soaked whole are rated to {least}."]
            largest = max(("systematic uncertainty of the measurement", found.error.measurement_common),
                          ("random uncertainty of the measurement", found.error.measurement_random),
                          ("difference between the lots averaged", found.error.between_lots), key=lambda part: part[1])  # fmt: skip
            lines.append(f"The largest part is the {largest[0]}, {percent(largest[1])}.")
    return " ".join(lines)


def days(case: Case, results: Results) -> str:
    """How long the plans soak by the calendar, from the shortest stay to the longest; of lamps in the time they are on, too."""
    lines = []
    for name, found in results.line.soaking.items():
        dose = f"{in_unit(found.dose, 'kWh/m2')} in {found.intervals:.4g} intervals"
        least, most, mean = (in_days(time) for time in (found.shortest, found.longest, found.calendar_time))
        if least != most and outdoors(case, name):
            span = f"{least} to {most} calendar days by season, {mean} on average"
        else:
            lamps = "" if outdoors(case, name) else f" ({in_days(found.time)} days with the lamps on)"
            span = f"{mean} calendar days{lamps}"
        lines.append(f"Modules are stable after {dose}. That takes {span}.")
    return " ".join(lines)


def plans(outcomes: Sequence[Outcome]) -> str:
    """Which soaking plan costs least with its risk, what the others cost more, and the claims of each."""
    currency = outcomes[0].case.currency
    soaked = [(outcome.title, outcome.results.ledger.soaking.values()) for outcome in outcomes if outcome.results.ledger.soaking]
    found = sorted((sum(p.cost_and_risk for p in plans), title, sum(p.claims for p in plans)) for title, plans in soaked)
    if not found:
        return "No choice of soaking has a soaking.csv."
    (least, first, risk), *others = found
    whole = f"{amount(least, currency)} a year, with {amount(risk, currency)} of expected claims"
    lines = [f"“{first}” costs least with its risk: {whole}."]
    for cost, title, claims in others:
        gap = amount(abs(risk - claims), currency)
        moved = f"{gap} {'lower' if claims <= risk else 'higher'}" if gap != amount(0.0, currency) else "the same"
        lines.append(f"“{title}” costs {amount(cost - least, currency)} a year more. Its expected claims are {moved}.")
    return " ".join(lines)


def _sample(size: float, possible: float) -> str:
    return f"{size:.4g} of a lot" if possible else "no sample reaches it"


def rating_table(case: Case, results: Results) -> Table:
    """The sample of each plan, the parts of the uncertainty of its rating, and whether the required precision is reached."""
    rows = []
    for name, plan in results.ledger.soaking.items():
        row, found, error = case.soaking[name], plan.rating, plan.rating.error
        wanted, known = f"± {percent(row.precision)}", "given" if row.spread_known == "given" else "from the sample"
        met = "reached" if found.precision_met else "not reached"
        rows += [
            ["Modules of a lot soaked", f"{stated(found.soaked)} of {stated(row.lot)}"],
            [f"Sample needed for {wanted}", _sample(found.sample_needed, found.sample_needed_status)],
            ["The same without the systematic uncertainty", _sample(found.sample_for_random, found.sample_for_random_status)],
            [f"Uncertainty: spread within a lot ({known})", percent(error.within_lot)],
            ["Random uncertainty of the measurement", percent(error.measurement_random)],
            [f"Uncertainty: between lots, mean of {row.lots_averaged:.4g}", percent(error.between_lots)],
            ["Systematic uncertainty of the measurement", percent(error.measurement_common)],
            ["Standard uncertainty of a rating, root of the sum of squares", percent(error.standard)],
            [f"Coverage factor for {exact(row.coverage_probability, '%')} of lots", people(error.coverage_factor)],
            [f"Half-width of a rating, {wanted} required", f"± {percent(error.half_width)}, {met}"],
            ["Half-width with every module soaked", f"± {percent(found.least_half_width)}"],
        ]
    return Table("Light soaking: the rating of a lot", ["", ""], rows, texts=(0, 1))


def days_table(case: Case, results: Results) -> Table:
    """The dose until modules are stable, the days that it takes in each light, and the wait of a lot."""
    rows = []
    for name, plan in results.ledger.soaking.items():
        row, found = case.soaking[name], results.line.soaking[name]
        dose = f"{in_unit(found.dose, 'kWh/m2')} in {found.intervals:.4g} intervals of {exact(row.interval_dose, 'kWh/m2')}"
        rows += [["Dose until stable", dose], ["Residual degradation", percent(found.residual)]]
        clock = "Exposure time, put out on the first day" if outdoors(case, name) else "Exposure time, lamps on"
        rows += [[f"{clock}: {case.soaking_light[key].title}", f"{in_days(x)} days"] for key, x in found.times.items()]
        if len(found.times) > 1:
            span = f"{in_days(found.shortest)} to {in_days(found.longest)}, {in_days(found.time)} days"
            rows.append(["Shortest to longest, and mean over the year", span])
        rows.append(["A lot waits for its rating, by the calendar", f"{in_days(plan.stock.waiting_time)} days"])
    note = "A stay takes the light of each season in it. Racks outdoors follow from the longest stay, stock from the mean."
    return Table("Light soaking: dose and days", ["", ""], rows, note=note, texts=(0, 1))


def soaking_cost_table(case: Case, results: Results) -> Table:
    """What the plans cost in a year and per stabilised watt, risk included."""
    watts, parts = results.line.output.stabilised_watts, []
    for name, plan in results.ledger.soaking.items():
        waiting = f"{people(plan.stock.waiting)} modules, {money(plan.stock.money_tied_up, case.currency)}"
        tolerance = percent(case.soaking[name].tolerance)
        parts += [
            ("Soaking and rating again", plan.step_cost),
            (f"Interest on the stock that waits ({waiting})", plan.holding),
            (f"Expected claims for lots rated more than {tolerance} too high", plan.claims),
            ("Together", plan.cost_and_risk),
        ]
    return Table(
        f"Light soaking: cost and risk, {case.currency}",
        ["", "a year", "per stabilised W"],
        [[title, people(cost), people(cost / watts)] for title, cost in parts],
        note="All of it is in the cost of a module. The plan holds the stock as working capital and leaves the interest out.",
        total=len(results.ledger.soaking) == 1,
    )


def averages_table(case: Case, averaged: dict[str, list[Averaged]]) -> Table:
    """What the mean of the last lots does to the error of a rating, and to the sample of each lot."""
    columns = {
        "lots": lambda x, rating: f"{x.lots:.4g}",
        "half-width": lambda x, rating: f"± {percent(rating.error.half_width)}",
        "sample without the systematic part": lambda x, rating: _sample(rating.sample_for_random, rating.sample_for_random_status),
        "sample needed": lambda x, rating: _sample(rating.sample_needed, rating.sample_needed_status),
        f"claims, {case.currency} a year": lambda x, rating: people(x.plan.claims),
    }
    note = "As on a control chart. More lots average out the sample and the random part; the rating then lags behind the lots."
    rows = ((x, x.plan.rating) for found in averaged.values() for x in found)
    return table_of("Light soaking: the mean of the last lots as the rating", rows, columns, note=note)


def plans_table(outcomes: list[Outcome]) -> Table:
    """What soaking costs and risks under each choice of a plan, the cheapest first."""
    currency, rows = outcomes[0].case.currency, []
    for outcome in outcomes:
        for name, plan in outcome.results.ledger.soaking.items():
            watts = outcome.results.line.output.stabilised_watts
            found, sun = outcome.results.line.soaking[name], outdoors(outcome.case, name)
            span = f"{in_days(found.shortest)} to {in_days(found.longest)}" if sun else in_days(found.calendar_time)
            costs = (plan.step_cost, plan.holding, plan.claims, plan.cost_and_risk, plan.cost_and_risk / watts)
            rows.append((plan.cost_and_risk, [outcome.title, span, *map(people, costs)]))
    return Table(
        f"Soaking plans, {currency} a year",
        ["", "calendar days", "soak and rate", "interest", "claims", "together", "per stabilised W"],
        [row for _, row in sorted(rows)],
        note="Interest is on modules that wait for their rating. Claims are those to be expected for lots rated too high.",
    )
