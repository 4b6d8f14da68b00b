"""Figures whose definition differs from book to book: by our convention, and by others."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..case.whole_case import Case
from ..core.rates_of_return import rates_inside
from ..model.evaluate import Results, evaluate
from ..model.ledger.depreciation import declining_balance_shares
from ..model.plan.timing import QUARTERS
from ..model.plan.worth import each_quarter, mirr

TEXTBOOKS = "textbooks of engineering economy"
PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Convention:
    """A figure by our convention and by another one, in base units of `unit`, or a currency; `source` has the other one.

    A value is NaN where the figure has none.
    """

    figure: str
    unit: str
    ours: str
    value: float
    other: str
    other_value: float
    source: str


def conventions(case: Case, results: Results) -> list[Convention]:
    """Every figure of a case with a plan that another convention would state otherwise.

    >>> from costmodel.case.demo import demo_case
    >>> found = conventions(demo_case(), evaluate(demo_case()))
    >>> found[0].figure, found[0].other
    ('net present value, project', 'at year ends')
    """
    return [
        *_of_flows(case, results, "project"),
        *_of_flows(case, results, "owners"),
        *_of_payback(case, results),
        *_of_learning(case, results),
        *_of_declining_balance(case),
        _per_watt(case, results),
    ]


def _cash(results: Results, whose: str) -> list[float]:
    """Cash of the quarters, of the project or its owners."""
    name = {"project": "free_cash", "owners": "owners_cash"}[whose]
    return [float(getattr(each, name)) for each in results.plan.quarters.values()]


def _of_flows(case: Case, results: Results, whose: str) -> Iterator[Convention]:
    """Net present value and rates of return, which depend on when within a year flows count."""
    flows, plan, money = _cash(results, whose), results.plan, case.currency
    worth, rate = (plan.project, plan.required_return) if whose == "project" else (plan.owners, plan.equity_return)
    years = at_year_ends(flows)
    npv, irr, modified = f"net present value, {whose}", f"internal rate of return, {whose}", f"modified rate of return, {whose}"
    ends, middle = value_of(years, rate), value_of(years, rate, 0.5)
    yield Convention(npv, money, "flows at quarter ends", worth.npv, "at year ends", ends, TEXTBOOKS)
    yield Convention(npv, money, "flows at quarter ends", worth.npv, "in the middle of years", middle, PRACTICE)
    found = rates_inside(years, periods=1.0) if worth.irr_status == 1.0 else []
    yearly = found[0] if len(found) == 1 else math.nan
    quarterly = QUARTERS * ((1 + worth.irr) ** (1 / QUARTERS) - 1)
    yield Convention(irr, "%", "quarters, compounded to a year", worth.irr, "flows at year ends", yearly, TEXTBOOKS)
    yield Convention(irr, "%", "quarters, compounded to a year", worth.irr, "four times that of a quarter", quarterly, PRACTICE)
    used = flows[: 1 + max(number for number, flow in enumerate(flows) if flow)] if any(flows) else flows
    to_the_end = (1 + mirr(used, each_quarter(rate), each_quarter(rate))[0]) ** QUARTERS - 1
    yield Convention(modified, "%", "over the whole plan", worth.mirr, "to the last flow", float(to_the_end), PRACTICE)


def _of_payback(case: Case, results: Results) -> Iterator[Convention]:
    """Paybacks, from day one or from the start of production."""
    plan = results.plan
    for name in ("payback", "discounted_payback"):
        time = float(getattr(plan.project, name))
        begun = time - plan.start * case.constants.year / QUARTERS
        label = name.replace("_", " ") + ", project"
        yield Convention(label, "year", "from day one", time, "from the start of production", begun, TEXTBOOKS)


def _of_learning(case: Case, results: Results) -> Iterator[Convention]:
    """Net present value where the learning rate is that of each next watt, or of the average of all."""
    ours = case.plan.learning.convention
    names = {"unit": "of each next watt", "cumulative_average": "of the average of all"}
    other = next(name for name in names if name != ours)
    learning = dataclasses.replace(case.plan.learning, convention=other)
    found = evaluate(dataclasses.replace(case, plan_sections=dataclasses.replace(case.plan, learning=learning)))
    label = "net present value, project: learning rate"
    worth, changed = results.plan.project.npv, found.plan.project.npv
    yield Convention(label, case.currency, names[ours], worth, names[other], changed, "Wright 1936; Crawford 1944, from memory")


def _of_declining_balance(case: Case) -> Iterator[Convention]:
    """What declining balance writes off in its last year, with the change to straight line and without."""
    for row in case.book_depreciation.values():
        if row.method == "declining_balance":
            for name, equipment in getattr(case, row.covers).items():
                yield _last_year(f"{row.covers}.{name}", equipment.life / case.constants.year, row.factor, row.salvage)
    for tax in case.tax_depreciation.values():
        if tax.method == "declining_balance":
            yield _last_year(f"{tax.covers}, for tax", tax.life / case.constants.year, tax.factor, 0.0, tax.first_year)


def _last_year(what: str, life: float, factor: float, salvage: float, first_year: float = 1.0) -> Convention:
    """The charge of the last year in which something is written off, over the price."""
    years = math.ceil(round(life + 1 - first_year, 9))
    ours = declining_balance_shares(life, years, factor, first_year, salvage)
    other = declining_to_the_rest(life, years, factor, first_year, salvage)
    label = f"last year of declining balance, {what}"
    return Convention(
        label, "%", "straight line once that is more", float(ours[-1]), "all that is left", other[-1], "MathWorks, depgendb"
    )


def declining_to_the_rest(life: float, years: int, factor: float, first_year: float = 1.0, salvage: float = 0.0) -> list[float]:
    """Shares of the price by declining balance without a change to straight line; the last year takes what is left.

    Takes: life [1], factor [1], first_year [1], salvage [1].
    Source: MathWorks documentation, example of depgendb (check value D12).

    >>> [round(10_000 * share) for share in declining_to_the_rest(5.0, 5, 2.0, salvage=0.1)]
    [4000, 2400, 1440, 864, 296]
    """
    left, shares = 1.0, list[float]()
    for year in range(years):
        most = left * factor / life * (1.0 if year else first_year)
        shares.append(max(left - salvage, 0.0) if year == years - 1 else min(most, max(left - salvage, 0.0)))
        left -= shares[-1]
    return shares


def _per_watt(case: Case, results: Results) -> Convention:
    """The cost of a watt, counted after light soaking or before."""
    total = results.ledger.total
    ours, other = total.cost_per_stabilised_watt, total.cost_per_initial_watt
    return Convention(
        "cost of a watt", f"{case.currency}/W", "stabilised watts", ours, "watts before light soaking", other, PRACTICE
    )


def at_year_ends(flows: Sequence[float]) -> list[float]:
    """Flows of quarters as flows of the first day and of the ends of years.

    Takes: flows [any].
    Source: textbooks of engineering economy; Turton et al., Analysis, Synthesis and Design of Chemical Processes, ch. 9.

    >>> at_year_ends([-10.0, 1.0, 1.0, 1.0, 2.0, 0.0, 0.0, 0.0, 7.0])
    [-10.0, 5.0, 7.0]
    """
    return [flows[0], *(math.fsum(flows[end - QUARTERS + 1 : end + 1]) for end in range(QUARTERS, len(flows), QUARTERS))]


def value_of(flows: Sequence[float], rate: float, shift: float = 0.0) -> float:
    """Present value of the first flow today and the others after each period, `shift` periods earlier than its end.

    Takes: flows [any], rate [1], shift [1].
    Source: common practice.

    >>> value_of([-100.0, 121.0], 0.21), round(value_of([0.0, 121.0], 0.21, 0.5), 9)
    (0.0, 110.0)
    """
    later = (flow / (1 + rate) ** (number - shift) for number, flow in enumerate(flows[1:], 1))
    return math.fsum([flows[0], *later])


def time_to_recover(amount: float, flows: Sequence[float]) -> float:
    """Periods until flows of the periods, even within each, add up to an amount; NaN if they never do.

    Takes: amount [any], flows [any].
    Source: Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., section 10.2.

    >>> time_to_recover(150.0, [100.0, 100.0]), time_to_recover(150.0, [100.0])
    (1.5, nan)
    """
    left = amount
    for number, flow in enumerate(flows):
        if flow > 0 and flow >= left:
            return number + max(left, 0.0) / flow
        left -= flow
    return math.nan
