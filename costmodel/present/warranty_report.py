"""The warranty: what it costs, how many claims come when, what other promises would cost; sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.whole_case import Case
from ..core.fields import YEAR
from ..model.evaluate import Costs, Results
from ..model.line.line_figures import YearOfAge
from ..studies.factory.warranty_terms import CostSpread, DearerTerm
from .cash_report import by_year
from .likely_report import likely
from .numbers import MILLION, amount, fixed, money, people, percent, signed, stated
from .table import Table, table_of

NO_WARRANTY = "The case has no warranty.csv: a flat reserve in overheads.csv, if any, stands for the warranty."
CAUTION = (
    "What a warranty may exclude, and what customers may claim beyond it, follows from local law; counsel advises on it. "
    "Work at the building is for licensed people."
)
THOUSAND = 1000
LEAST = 0.0005  # of a thousand modules: fewer are shown as none


def _of_a_thousand(share: float) -> str:
    """How many of a thousand modules a share is.

    >>> _of_a_thousand(0.0028), _of_a_thousand(1e-9)
    ('2.80', '0')
    """
    return people(THOUSAND * share) if THOUSAND * share >= LEAST else "0"


def cost(case: Case, results: Costs | Results) -> str:
    """What the warranty costs per watt and per module sold."""
    found = next(iter(results.ledger.warranty.values()))
    return (
        f"The warranty costs {money(found.cost_per_stabilised_watt, case.currency)} per stabilised watt and "
        f"{money(found.cost_per_module_sold, case.currency)} per module sold, discounted to the sale."
    )


def claim(case: Case, results: Costs | Results) -> str:
    """What one claim costs."""
    found = next(iter(results.ledger.warranty.values()))
    return f"One claim costs {money(found.cost_per_claim, case.currency)}: module, freight and work at the building."


def claims(case: Case, results: Costs | Results) -> str:
    """How many modules are claimed, for what, and at which age most."""
    found, ages = next(iter(results.ledger.warranty.values())), results.line.ageing
    if THOUSAND * found.claims < LEAST:
        return "No module is claimed."
    most = max(ages, key=lambda year: ages[year].claims)
    return (
        f"Of {THOUSAND:,} modules sold, {_of_a_thousand(found.product_claims)} are claimed because they fail, and "
        f"{_of_a_thousand(found.power_claims)} because their power falls below the promise. Most claims come in year "
        f"{int(most[1:])} after the sale: {_of_a_thousand(ages[most].claims)} of {THOUSAND:,}."
    )


def claims_a_year(case: Case, results: Costs | Results) -> str:
    """How many claims the sales of one year of steady operation bring, over their whole warranty."""
    found = next(iter(results.ledger.warranty.values()))
    claimed = float(found.modules_sold * found.claims)
    return (
        f"Of the {people(float(found.modules_sold))} modules sold in a year of steady operation, "
        f"{people(claimed) if claimed >= LEAST else 'none'} are claimed in the years of the warranty."
    )


def in_the_plan(case: Case, results: Results) -> str:
    """When most is paid, and what the provision has then become."""
    years = by_year(results)
    paid = [sum(q.warranty_paid for q in year) for year in years]
    if max(paid) <= 0:
        return "The plan pays no claims."
    most = max(range(len(years)), key=lambda k: paid[k])
    words = f"Most is paid in year {most + 1} of the plan: {amount(paid[most], case.currency)}."
    last = max(k for k in range(len(years)) if sum(q.stabilised_watts for q in years[k]) > 0)
    if most != last:
        return words
    return (
        f"{words} That includes the provision, which is settled at its book value as use of the plant ends. "
        "Whoever takes the obligation over may require more."
    )


def dearer(case: Case, results: Costs | Results, found: Sequence[DearerTerm]) -> str:
    """What the two dearest of the other promises would cost more per watt."""
    now = next(iter(results.ledger.warranty.values())).cost_per_stabilised_watt
    dearest = sorted(found, key=lambda each: -each.cost_per_watt)[:2]
    parts = [f"a {each.title} costs {money(each.cost_per_watt - now, case.currency)} more" for each in dearest]
    return f"Per watt, {', '.join(parts)}." if parts else ""


def spread_words(case: Case, found: CostSpread | None) -> str:
    """How probable a higher cost is, over draws of all uncertain inputs."""
    if found is None:
        return ""
    low, _, high = found.quantiles
    return (
        f"The probability that it costs more than stated is {likely(found.above)}. In 8 of 10 draws it costs "
        f"{people(low.value)} to {money(high.value, case.currency)} per watt. "
        f"Sampling leaves these at {people(low.low)} to {people(low.high)} and {people(high.low)} to {people(high.high)} (95 %)."
    )


def promise(case: Case) -> str:
    """What is promised, as a contract states it."""
    row = next(iter(case.warranty.values()))
    return (
        f"A module that fails within {stated(row.product_term / YEAR)} years is replaced. So is one below the promised power: "
        f"{stated(100 * row.start_power)} % of its label at the sale, falling evenly to {stated(100 * row.end_power)} % after "
        f"{stated(row.power_term / YEAR)} years."
    )


def dearer_table(case: Case, results: Costs | Results, found: Sequence[DearerTerm]) -> Table:
    """Cost per watt with each other promise, and what it does to the net present value."""
    now = next(iter(results.ledger.warranty.values())).cost_per_stabilised_watt
    rows = [DearerTerm("as promised", now, 0.0 if case.has_plan else None), *found]
    columns = {
        "": lambda each: each.title,
        f"cost, {case.currency} per W": lambda each: people(each.cost_per_watt),
        f"net present value, million {case.currency}": lambda each: (
            "–" if each.npv_change is None else signed(each.npv_change / MILLION)
        ),
    }
    note = "Each by itself. A longer power term ends at the promise of the present one. Value: change of that of the project."
    return table_of("Other promises", [(each,) for each in rows], columns, note=note)


def ages_table(case: Case, results: Costs | Results) -> Table:
    """Claims by year of age, as long as there are any, and one year more."""
    columns = {
        "year after the sale": lambda year, each: str(int(year[1:])),
        "promised power": lambda year, each: percent(each.promised_power) if each.power_covered > 0 else "–",
        "below it": lambda year, each: percent(each.below_share, 2),
        "in service": lambda year, each: percent(each.in_service, 4),
        "claimed, failed": lambda year, each: _of_a_thousand(each.product_claims),
        "claimed, power": lambda year, each: _of_a_thousand(each.power_claims),
        "energy": lambda year, each: percent(each.energy),
    }
    note = (
        f"Claims of {THOUSAND:,} modules sold. Promise and share below it at the end of the year. Energy over a year of all "
        "modules at their power at the sale."
    )
    return table_of("The modules sold, year by year after the sale", shown_ages(results).items(), columns, note=note)


def shown_ages(results: Costs | Results) -> dict[str, YearOfAge]:
    """The years of age with claims, and one year more."""
    ages = results.line.ageing
    last = max((number for number, each in enumerate(ages.values()) if each.claims > 0), default=0)
    return dict(list(ages.items())[: last + 2])


def provision_table(case: Case, results: Results) -> Table:
    """What is set aside, paid and kept in each year of the plan."""
    years = by_year(results)
    rows = {
        "Set aside": [sum(q.warranty_provided for q in year) for year in years],
        "Interest on the provision": [sum(q.warranty_unwinding for q in year) for year in years],
        "Paid": [-sum(q.warranty_paid for q in year) for year in years],
        "Provision at the end": [year[-1].warranty_provision for year in years],
    }
    shown = [[name, *(fixed(value / MILLION, 3) for value in values)] for name, values in rows.items()]
    deducted = next(iter(case.warranty.values())).deducted.replace("_", " ")
    return Table(
        f"Provision for warranty by year of the plan, million {case.currency}",
        ["", *(str(k + 1) for k in range(len(years)))],
        shown,
        note=f"With inflation. What is left as use of the plant ends is paid then, at its book value: the claims still to come, "
        f"discounted. An insurer or buyer of the obligation may require more. Tax deducts claims {deducted}.",
    )
