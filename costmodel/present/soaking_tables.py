"""Tables of light soaking: the rating of a lot, days in the light, cost and risk, the running mean over lots."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..studies.factory.averaging import Averaged
from ..studies.factory.choices import Outcome
from .numbers import exact, in_unit, money, people, percent, stated
from .soaking_words import in_days, outdoors
from .table import Table

NO_SAMPLE = "no sample reaches it"


def _sample(size: float, possible: float) -> str:
    return f"{size:.4g} of a lot" if possible else NO_SAMPLE


def rating_table(case: Case, results: Results) -> Table:
    """The sample of each plan, the parts of the uncertainty of its rating, and whether the wanted precision is reached."""
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
            [f"Half-width of a rating, {wanted} wanted", f"± {percent(error.half_width)}, {met}"],
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
    """What the plans cost in a year and for each stabilised watt, risk included."""
    watts, rows = results.line.output.stabilised_watts, []
    for name, plan in results.ledger.soaking.items():
        waiting = f"{people(plan.stock.waiting)} modules, {money(plan.stock.money_tied_up, case.currency)}"
        tolerance = percent(case.soaking[name].tolerance)
        parts = [
            ("Soaking and rating again", plan.step_cost),
            (f"Interest on the stock that waits ({waiting})", plan.holding),
            (f"Expected claims for lots rated more than {tolerance} too high", plan.claims),
            ("Together", plan.cost_and_risk),
        ]
        rows += [[title, people(cost), people(cost / watts)] for title, cost in parts]
    return Table(
        f"Light soaking: cost and risk, {case.currency}",
        ["", "a year", "per stabilised W"],
        rows,
        note="All of it is in the cost of a module. The plan holds the stock as working capital and leaves the interest out.",
        total=len(results.ledger.soaking) == 1,
    )


def averages_table(case: Case, averaged: dict[str, list[Averaged]]) -> Table:
    """What the mean of the last lots does to the error of a rating, and to the sample of each lot."""
    rows = []
    for found in averaged.values():
        for each in found:
            rating = each.plan.rating
            rows.append(
                [
                    f"{each.lots:.4g}",
                    f"± {percent(rating.error.half_width)}",
                    _sample(rating.sample_for_random, rating.sample_for_random_status),
                    _sample(rating.sample_needed, rating.sample_needed_status),
                    people(each.plan.claims),
                ]
            )
    return Table(
        "Light soaking: the mean of the last lots as the rating",
        ["lots", "half-width", "sample without the systematic part", "sample needed", f"claims, {case.currency} a year"],
        rows,
        note="As on a control chart. More lots average out the sample and the random part; the rating then lags behind the lots.",
    )


def plans_table(outcomes: list[Outcome]) -> Table:
    """What soaking costs and risks under each choice of a plan, the cheapest first."""
    currency, rows = outcomes[0].case.currency, []
    for outcome in outcomes:
        for name, plan in outcome.results.ledger.soaking.items():
            watts = outcome.results.line.output.stabilised_watts
            found, sun = outcome.results.line.soaking[name], outdoors(outcome.case, name)
            span = f"{in_days(found.shortest)} to {in_days(found.longest)}" if sun else in_days(found.calendar_time)
            costs = (plan.step_cost, plan.holding, plan.claims, plan.cost_and_risk)
            rows.append((plan.cost_and_risk, [outcome.title, span, *map(people, costs), people(plan.cost_and_risk / watts)]))
    return Table(
        f"Soaking plans, {currency} a year",
        ["", "exposure time, calendar days", "soak and rate", "interest", "claims", "together", "per stabilised W"],
        [row for _, row in sorted(rows)],
    )
