"""Running the plant: revenue, costs of the ledger as they follow the output or stand with the plant, working capital."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..case.records import Case
from ..ledger.prices import in_reporting_currency
from ..ledger.records import ALL_LOST, CATEGORIES, IMPUTED, NO_LOSS, WRITTEN_OFF, Ledger
from ..line.records import Line
from ..operations import Value, sum_of
from .records import YearCost
from .timing import QUARTERS, due, risen
from .volume import Volumes

CASH_CATEGORIES = tuple(category for category in CATEGORIES if category != "depreciation")


def cost_rise(case: Case, category: str, quarter: int) -> Value:
    """What a category of cost has risen to by a quarter: as escalations.csv says, else with inflation."""
    change = next((row.change for row in case.escalations.values() if row.covers == category), case.returns.inflation)
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
    year = case.constants.year
    return [
        sum_of([full[name] * share * sold[name][quarter] * risen(row.change * year, quarter) for name, row in case.sales.items()])
        for quarter, share in enumerate(good)
    ]


def start_up(case: Case, ledger: Ledger, count: int, start: Value) -> list[Value]:
    """First fill and commissioning scrap, due as the plant starts."""
    year = case.constants.year
    materials = sum_of([x.variable for x in ledger.lines.values() if x.category == "materials" and x.loss != ALL_LOST])
    spent = materials * (case.outlay.first_fill_time / year + case.outlay.commissioning_scrap)
    return [spent * cost_rise(case, "materials", quarter) * share for quarter, share in enumerate(due(count, start))]


def held_to_the_end(amounts: list[Value]) -> list[Value]:
    """Balances, of which nothing is left at the end of the plan: what is tied up is set free."""
    return [*amounts[:-1], 0.0]


def working_capital(case: Case, ledger: Ledger, trade: Mapping[str, Sequence[Value]]) -> dict[str, list[Value]]:
    """Receivables, stock and payables at the end of each quarter; nothing is left at the end of the plan.

    Modules that wait for their rating are stock like finished ones, at what they cost in cash.
    """
    row, quarter = case.working_capital, case.constants.year / QUARTERS
    receivables = held_to_the_end([sold * row.receivable_time / quarter for sold in trade["revenue"]])
    payables = held_to_the_end([cost * row.payable_time / quarter for cost in trade["variable_cost"]])
    time = sum_of([row.finished_time, *[plan.stock.waiting_time for plan in ledger.soaking.values()]])
    finished = [(a + b) * time / quarter for a, b in zip(trade["variable_cost"], trade["fixed_cost"])]
    rise = [cost_rise(case, "materials", k) for k in range(len(finished))]
    stock = held_to_the_end([ledger.stock * share * r + f for share, r, f in zip(trade["started_share"], rise, finished)])
    return {
        "receivables": receivables,
        "stock": stock,
        "payables": payables,
        "working_capital": [a + b - c for a, b, c in zip(receivables, stock, payables)],
    }
