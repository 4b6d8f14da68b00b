"""Running the plant: revenue, costs of the ledger as they follow the output or stand with the plant, working capital."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.plan_records import Sale
from ...case.whole_case import Case
from ...core.operations import Value, choose, sum_of
from ...core.series import Row
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


def cost_rises(case: Case, category: str, count: int) -> Row:
    """What a category of cost has risen to, column by column."""
    return Row(cost_rise(case, category, quarter) for quarter in range(count))


def costs(case: Case, found: Mapping[str, YearCost], volumes: Volumes, learnt: Row) -> tuple[Row, Row]:
    """Variable and fixed cost of each quarter, depreciation apart."""
    rise = {category: cost_rises(case, category, len(learnt)) / QUARTERS for category in found}
    following = [(x.for_started * volumes.started + x.for_good * volumes.good) * rise[name] for name, x in found.items()]
    standing = [x.standing * rise[name] for name, x in found.items()]
    return sum_of(following) * learnt, sum_of(standing) * volumes.fixed


def materials(case: Case, found: Mapping[str, YearCost], volumes: Volumes, learnt: Row) -> Row:
    """What materials cost in each quarter."""
    row = found["materials"]
    used = row.for_started * volumes.started + row.for_good * volumes.good
    return used * cost_rises(case, "materials", len(learnt)) / QUARTERS * learnt


def price_rises(case: Case, sale: Sale, count: int) -> Row:
    """What a price has become in the reporting currency, over that of the case."""
    change = sale.change * case.constants.year
    return Row(risen(change, quarter) * moved(case, sale.currency, quarter) for quarter in range(count))


def revenue(case: Case, line: Line, good: Row, sold: Mapping[str, Row]) -> Row:
    """Revenue of each quarter at the prices of that time; `good` is planned, `sold` the share of it that each row sells."""
    amounts = line.output.by_unit()
    full = {
        name: row.output_share * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money) / QUARTERS
        for name, row in case.sales.items()
    }
    return sum_of([full[name] * good * sold[name] * price_rises(case, row, len(good)) for name, row in case.sales.items()])


def start_up(case: Case, ledger: Ledger, count: int, start: Value) -> Row:
    """First fill and commissioning scrap, due as the plant starts."""
    year = case.constants.year
    materials = sum_of([x.variable for x in ledger.lines.values() if x.category == "materials" and x.loss != ALL_LOST])
    spent = materials * (case.plan.outlay.first_fill_time / year + case.plan.outlay.commissioning_scrap)
    return spent * cost_rises(case, "materials", count) * due(count, start)


def working_capital(case: Case, ledger: Ledger, trade: Mapping[str, Row], start: Value) -> dict[str, Row]:
    """Receivables, stock and payables at the end of each quarter, while the plant is in use.

    Bought items are in stock some time before production, as the first quarter of the ramp needs them. Finished modules and those
    that wait for their rating stand at what they cost in cash, so that there are none before production.
    """
    row, quarter = case.plan.working_capital, case.constants.year / QUARTERS
    started, variable, fixed, run = (trade[name] for name in ("started_share", "variable_cost", "fixed_cost", "running_share"))
    time = sum_of([row.finished_time, *[plan.stock.waiting_time for plan in ledger.soaking.values()]])
    finished = (variable + choose(started > 0, fixed * run, 0.0 * fixed)) * time / quarter
    ready = running(len(run), start - row.bought_before / quarter)
    needed = started + first_starts(case) * (ready - run)
    return {
        "receivables": trade["revenue"] * row.receivable_time / quarter,
        "stock": ledger.stock * needed * cost_rises(case, "materials", len(run)) + finished,
        "payables": variable * row.payable_time / quarter,
    }


def first_starts(case: Case) -> Value:
    """Plates started in the first quarter of production, over those in full swing."""
    rows = list(case.ramp.values())
    return case.plan.schedule.volume_share * (rows[0].starts_share if rows else 1.0)


def wages(case: Case, found: Mapping[str, YearCost], column: int) -> Value:
    """Labour cost of a year in full swing, at the wages of a quarter."""
    row = found["labour"]
    return (row.for_started + row.for_good + row.standing) * cost_rise(case, "labour", column)
