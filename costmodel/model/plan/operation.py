"""Running the plant: revenue, costs of the ledger as they follow the output or stand with the plant, working capital."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ...case.plan_records import Sale
from ...case.whole_case import Case
from ...core.operations import Value, choose, sum_of
from ..ledger.ledger_figures import ALL_LOST, CATEGORIES, IMPUTED, NO_LOSS, WRITTEN_OFF, Ledger
from ..ledger.prices import in_reporting_currency
from ..line.line_figures import Line
from .exchange import moved
from .plan_figures import YearCost
from .timing import QUARTERS, due, risen, running
from .volume import Volumes

CASH_CATEGORIES = tuple(category for category in CATEGORIES if category != "depreciation")


def cost_rise(case: Case, category: str, quarter: int) -> Value:
    """What a category of cost has risen to by a quarter: as escalations.csv says, else with inflation."""
    change = next((row.change for row in case.escalations.values() if row.covers == category), case.plan.returns.inflation)
    return risen(change * case.constants.year, quarter)


def year_costs(ledger: Ledger) -> dict[str, YearCost]:
    """Cash cost of a year by category: what follows plates started, what follows good modules, and what stands with the plant.

    Facility systems are written off in the plan, and stock is in its working capital. So the depreciation of those and the interest
    imputed on waiting modules are left out.
    """
    no_cash = (WRITTEN_OFF, IMPUTED)
    lines = [x for x in ledger.lines.values() if not (x.category in ("facilities", "overheads") and x.driver in no_cash)]
    nothing = 0.0 * ledger.total.cost  # in money, for a category without a line
    found = {}
    for category in CASH_CATEGORIES:
        own = [x for x in lines if x.category == category]
        found[category] = YearCost(
            for_started=sum_of([nothing, *[x.variable for x in own if x.loss != NO_LOSS]]),
            for_good=sum_of([nothing, *[x.variable for x in own if x.loss == NO_LOSS]]),
            standing=sum_of([nothing, *[x.cost for x in own]]) - sum_of([nothing, *[x.variable for x in own]]),
        )
    return found


def costs(case: Case, found: Mapping[str, YearCost], volumes: Volumes, learnt: Sequence[Value]) -> tuple[list[Value], list[Value]]:
    """Variable and fixed cost of each quarter, depreciation apart."""
    variable, fixed = [], []
    for quarter, (started, good, staffed) in enumerate(zip(volumes.started, volumes.good, volumes.fixed)):
        rise = {category: cost_rise(case, category, quarter) / QUARTERS for category in found}
        moving = sum_of([(x.for_started * started + x.for_good * good) * rise[category] for category, x in found.items()])
        variable.append(moving * learnt[quarter])
        fixed.append(sum_of([x.standing * rise[category] for category, x in found.items()]) * staffed)
    return variable, fixed


def materials(case: Case, found: Mapping[str, YearCost], volumes: Volumes, learnt: Sequence[Value]) -> list[Value]:
    """What materials cost in each quarter."""
    row = found["materials"]
    return [
        (row.for_started * started + row.for_good * good) * cost_rise(case, "materials", quarter) / QUARTERS * learnt[quarter]
        for quarter, (started, good) in enumerate(zip(volumes.started, volumes.good))
    ]


def revenue(case: Case, line: Line, good: Sequence[Value], sold: Mapping[str, Sequence[Value]]) -> list[Value]:
    """Revenue of each quarter at the prices of that time; `good` is planned, `sold` the share of it that each row sells."""
    amounts = line.output.by_unit()
    full = {
        name: row.output_share * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money) / QUARTERS
        for name, row in case.sales.items()
    }

    def rise(row: Sale, quarter: int) -> Value:
        """What a price has become in the reporting currency, over that of the case."""
        return risen(row.change * case.constants.year, quarter) * moved(case, row.currency, quarter)

    return [
        sum_of([full[name] * share * sold[name][quarter] * rise(row, quarter) for name, row in case.sales.items()])
        for quarter, share in enumerate(good)
    ]


def start_up(case: Case, ledger: Ledger, count: int, start: Value) -> list[Value]:
    """First fill and commissioning scrap, due as the plant starts."""
    year = case.constants.year
    materials = sum_of([x.variable for x in ledger.lines.values() if x.category == "materials" and x.loss != ALL_LOST])
    spent = materials * (case.plan.outlay.first_fill_time / year + case.plan.outlay.commissioning_scrap)
    return [spent * cost_rise(case, "materials", quarter) * share for quarter, share in enumerate(due(count, start))]


def working_capital(case: Case, ledger: Ledger, trade: Mapping[str, Sequence[Value]], start: Value) -> dict[str, list[Value]]:
    """Receivables, stock and payables at the end of each quarter, while the plant is in use.

    Bought items are in stock some time before production, as the first quarter of the ramp needs them. Finished modules and those
    that wait for their rating stand at what they cost in cash, so that there are none before production.
    """
    row, quarter = case.plan.working_capital, case.constants.year / QUARTERS
    receivables = [sold * row.receivable_time / quarter for sold in trade["revenue"]]
    payables = [cost * row.payable_time / quarter for cost in trade["variable_cost"]]
    time = sum_of([row.finished_time, *[plan.stock.waiting_time for plan in ledger.soaking.values()]])
    costs = zip(trade["started_share"], trade["variable_cost"], trade["fixed_cost"], trade["running_share"])
    finished = [(a + choose(started > 0, b * run, 0.0 * b)) * time / quarter for started, a, b, run in costs]
    rise = [cost_rise(case, "materials", k) for k in range(len(finished))]
    first = first_starts(case)
    ready = running(len(rise), start - row.bought_before / quarter)
    needed = [now + first * (early - run) for now, early, run in zip(trade["started_share"], ready, trade["running_share"])]
    return {
        "receivables": receivables,
        "stock": [ledger.stock * share * r + f for share, r, f in zip(needed, rise, finished)],
        "payables": payables,
    }


def first_starts(case: Case) -> Value:
    """Plates started in the first quarter of production, over those in full swing."""
    rows = list(case.ramp.values())
    return case.plan.schedule.volume_share * (rows[0].starts_share if rows else 1.0)


def wages(case: Case, found: Mapping[str, YearCost], column: int) -> Value:
    """Labour cost of a year in full swing, at the wages of a quarter."""
    row = found["labour"]
    return (row.for_started + row.for_good + row.standing) * cost_rise(case, "labour", column)
