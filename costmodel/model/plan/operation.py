"""Running the plant: revenue, costs of the ledger as they follow the output or stand with the plant, working capital."""

from __future__ import annotations

from collections.abc import Mapping

from ...case.plan_records import Sale
from ...case.whole_case import Case
from ...core.operations import Value, choose, sum_of
from ...core.series import Row
from ..ledger.landed_prices import in_reporting_currency
from ..ledger.ledger_figures import ALL_LOST, CATEGORIES, IMPUTED, NO_LOSS, TO_COME, WRITTEN_OFF, Ledger
from ..line.line_figures import Line
from .exchange_rates import moved
from .plan_figures import YearCost
from .timing import QUARTERS, due, risen, running
from .volume import Volumes

CASH_CATEGORIES = tuple(category for category in CATEGORIES if category != "depreciation")


def cost_rise(case: Case, category: str, quarter: int) -> Value:
    """What a category of cost has risen to by a quarter: as escalations.csv says, else with inflation.

        change = next((row.change for row in case.escalations.values() if row.covers == category),
            case.plan.returns.inflation)    [1/s]
        factor = risen(change * case.constants.year, quarter)    [1]

    Source: common practice.

    Wages rise by 44 % a year, all else by 21 %; to the middle of the third quarter:

    >>> from types import SimpleNamespace as Some
    >>> plan = Some(returns=Some(inflation=0.21))
    >>> case = Some(escalations={"w": Some(covers="labour", change=0.44)}, plan=plan, constants=Some(year=1.0))
    >>> abs(cost_rise(case, "labour", 3) - 1.44**0.625) < 1e-12, abs(cost_rise(case, "materials", 3) - 1.21**0.625) < 1e-12
    (True, True)
    """
    return risen(change_of(case, category) * case.constants.year, quarter)


def change_of(case: Case, category: str) -> Value:
    """By how much a category of cost rises: as escalations.csv says, else with inflation."""
    return next((row.change for row in case.escalations.values() if row.covers == category), case.plan.returns.inflation)


def year_costs(ledger: Ledger) -> dict[str, YearCost]:
    """Cash cost of a year by category: what follows plates started, what follows good modules, and what stands with the plant.

        lines = [x for x in ledger.lines.values() if not (x.category in ("facilities", "overheads") and x.driver in
            (WRITTEN_OFF, IMPUTED, TO_COME))]    [any]
        for_started = [sum_of([x.variable for x in lines if x.category == category and x.loss != NO_LOSS]) for category in
            CASH_CATEGORIES]
        for_good = [sum_of([x.variable for x in lines if x.category == category and x.loss == NO_LOSS]) for category in
            CASH_CATEGORIES]
        standing = [sum_of([x.cost for x in lines if x.category == category]) - sum_of([x.variable for x in lines if
            x.category == category]) for category in CASH_CATEGORIES]

    Source: common practice.

    Facility systems are written off in the plan, stock is in its working capital, and claims under warranty have columns of their
    own. So the depreciation of those systems, the interest imputed on waiting modules and the warranty are left out. Depreciation
    of other equipment is no category of cash.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(category="labour", driver="person", loss="", variable=30.0, cost=100.0)
    >>> year_costs(Some(lines={"a": line}, total=Some(cost=100.0)))["labour"]
    YearCost(for_started=30.0, for_good=0.0, standing=70.0)
    """
    no_cash = (WRITTEN_OFF, IMPUTED, TO_COME)
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
    """Variable and fixed cost of each quarter, depreciation apart.

        rise = {category: Row([cost_rise(case, category, k) for k in range(len(learnt))]) / QUARTERS for category in found}
            [1]
        moving = [(x.for_started * volumes.started + x.for_good * volumes.good) * rise[name] for name, x in found.items()]
            [money]
        standing = [x.standing * rise[name] for name, x in found.items()]    [money]
        variable, fixed = sum_of(moving) * learnt, sum_of(standing) * volumes.fixed    [money, money]

    Takes: learnt [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.0)), constants=Some(year=4.0))
    >>> full = Volumes(Row([0.0, 1.0]), Row([0.0, 0.5]), Row([1.0, 1.0]))
    >>> costs(case, {"labour": YearCost(40.0, 8.0, 100.0)}, full, Row([1.0, 0.5]))
    ([0.0, 5.5], [25.0, 25.0])
    """
    rise = {category: cost_rises(case, category, len(learnt)) / QUARTERS for category in found}
    following = [(x.for_started * volumes.started + x.for_good * volumes.good) * rise[name] for name, x in found.items()]
    standing = [x.standing * rise[name] for name, x in found.items()]
    return sum_of(following) * learnt, sum_of(standing) * volumes.fixed


def materials(case: Case, found: Mapping[str, YearCost], volumes: Volumes, learnt: Row) -> Row:
    """What materials cost in each quarter.

        used = found["materials"].for_started * volumes.started + found["materials"].for_good * volumes.good    [money]
        rise = Row([cost_rise(case, "materials", number) for number in range(len(learnt))])    [1]
        cost = used * rise / QUARTERS * learnt    [money]

    Takes: learnt [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.0)), constants=Some(year=4.0))
    >>> full = Volumes(Row([0.0, 1.0]), Row([0.0, 0.5]), Row([1.0, 1.0]))
    >>> materials(case, {"materials": YearCost(40.0, 8.0, 0.0)}, full, Row([1.0, 0.5]))
    [0.0, 5.5]
    """
    row = found["materials"]
    used = row.for_started * volumes.started + row.for_good * volumes.good
    return used * cost_rises(case, "materials", len(learnt)) / QUARTERS * learnt


def price_rises(case: Case, sale: Sale, count: int) -> Row:
    """What a price has become in the reporting currency, over that of the case.

        change = sale.change * case.constants.year    [1]
        factors = [risen(change, quarter) * moved(case, sale.currency, quarter) for quarter in range(count)]    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(currency="EUR", constants=Some(year=4.0))
    >>> price_rises(case, Some(change=0.0, currency="EUR"), 2)
    [1.0, 1.0]
    """
    change = sale.change * case.constants.year
    return Row(risen(change, quarter) * moved(case, sale.currency, quarter) for quarter in range(count))


def revenue(case: Case, line: Line, good: Row, sold: Mapping[str, Row]) -> Row:
    """Revenue of each quarter at the prices of that time; `good` is planned, `sold` the share of it that each row sells.

        full = {name: row.output_share * line.paid_by_unit()[row.per] * in_reporting_currency(row.price, row.currency,
            case.money) / QUARTERS for name, row in case.sales.items()}    [money]
        revenue = sum_of([full[name] * good * sold[name] * price_rises(case, row, len(good)) for name, row in
            case.sales.items()])    [money]

    Takes: good [1], sold [1].
    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> row = Some(output_share=1.0, per="m2", price=8.0, currency="EUR", change=0.0)
    >>> case = Some(sales={"all": row}, currency="EUR", money={"eur": Some(exchange_rate=1.0)}, constants=Some(year=4.0))
    >>> line = Some(paid_by_unit=lambda: {"m2": 100.0})
    >>> revenue(case, line, Row([0.0, 1.0]), {"all": Row([1.0, 0.5])})
    [0.0, 100.0]
    """
    amounts = line.paid_by_unit()
    full = {
        name: row.output_share * amounts[row.per] * in_reporting_currency(row.price, row.currency, case.money) / QUARTERS
        for name, row in case.sales.items()
    }
    return sum_of([full[name] * good * sold[name] * price_rises(case, row, len(good)) for name, row in case.sales.items()])


def start_up(case: Case, ledger: Ledger, count: int, start: Value) -> Row:
    """First fill and commissioning scrap, due as the plant starts.

        materials = sum_of([x.variable for x in ledger.lines.values() if x.category == "materials" and x.loss != ALL_LOST])
            [money]
        spent = materials * (case.plan.outlay.first_fill_time / case.constants.year + case.plan.outlay.commissioning_scrap)
            [money]
        cost = spent * Row([cost_rise(case, "materials", number) for number in range(count)]) * due(count, start)    [money]

    Takes: start [1].
    Source: common practice.

    Materials of 400 a year: a first fill for a quarter, and a tenth of a year lost as scrap:

    >>> from types import SimpleNamespace as Some
    >>> plan = Some(returns=Some(inflation=0.0), outlay=Some(first_fill_time=1.0, commissioning_scrap=0.1))
    >>> case = Some(escalations={}, plan=plan, constants=Some(year=4.0))
    >>> ledger = Some(lines={"a": Some(category="materials", loss="", variable=400.0)})
    >>> start_up(case, ledger, 3, 1.0)
    [0.0, 140.0, 0.0]
    """
    year = case.constants.year
    materials = sum_of([x.variable for x in ledger.lines.values() if x.category == "materials" and x.loss != ALL_LOST])
    spent = materials * (case.plan.outlay.first_fill_time / year + case.plan.outlay.commissioning_scrap)
    return spent * cost_rises(case, "materials", count) * due(count, start)


def working_capital(case: Case, ledger: Ledger, trade: Mapping[str, Row], start: Value) -> dict[str, Row]:
    """Receivables, stock and payables at the end of each quarter, while the plant is in use.

        row = case.plan.working_capital    [any]
        quarter = case.constants.year / QUARTERS    [s]
        run = trade["running_share"]    [1]
        rows = len(run)    [1]
        time = sum_of([row.finished_time, *[plan.stock.waiting_time for plan in ledger.soaking.values()]])    [s]
        finished = (trade["variable_cost"] + choose(trade["started_share"] > 0, trade["fixed_cost"] * run, 0.0 *
            trade["fixed_cost"])) * time / quarter    [money]
        needed = trade["started_share"] + first_starts(case) * (running(rows, start - row.bought_before / quarter) - run)
            [1]
        receivables = trade["revenue"] * row.receivable_time / quarter    [money]
        stock = ledger.stock * needed * Row([cost_rise(case, "materials", number) for number in range(rows)]) + finished
            [money]
        payables = trade["variable_cost"] * row.payable_time / quarter    [money]
        result = dict(receivables=receivables, stock=stock, payables=payables)    [money]

    Takes: trade [any], start [1].
    Source: common practice.

    Bought items are in stock some time before production, as the first quarter of the ramp needs them. Finished modules and those
    that wait for their rating stand at what they cost in cash, so that there are none before production.

    Customers pay after one quarter, suppliers wait for half of one, modules stay for half of one:

    >>> from types import SimpleNamespace as Some
    >>> row = Some(receivable_time=1.0, payable_time=0.5, finished_time=0.5, bought_before=0.0)
    >>> plan = Some(working_capital=row, returns=Some(inflation=0.0), schedule=Some(volume_share=1.0))
    >>> case = Some(plan=plan, constants=Some(year=4.0), escalations={}, ramp={})
    >>> names = ("revenue", "variable_cost", "fixed_cost", "started_share", "running_share")
    >>> trade = dict(zip(names, (Row([x]) for x in (100.0, 40.0, 20.0, 1.0, 1.0))))
    >>> working_capital(case, Some(stock=7.0, soaking={}), trade, -1.0)
    {'receivables': [100.0], 'stock': [30.0], 'payables': [20.0]}
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
    """Plates started in the first quarter of production, over those in full swing.

        share = case.plan.schedule.volume_share * next((row.starts_share for row in case.ramp.values()), 1.0)    [1]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> plan = Some(schedule=Some(volume_share=0.5))
    >>> first_starts(Some(plan=plan, ramp={})), first_starts(Some(plan=plan, ramp={"a": Some(starts_share=0.25)}))
    (0.5, 0.125)
    """
    rows = list(case.ramp.values())
    return case.plan.schedule.volume_share * (rows[0].starts_share if rows else 1.0)


def wages(case: Case, found: Mapping[str, YearCost], column: int) -> Value:
    """Labour cost of a year in full swing, at the wages of a quarter.

        row = found["labour"]    [any]
        wages = (row.for_started + row.for_good + row.standing) * cost_rise(case, "labour", column)    [money]

    Source: common practice.

    >>> from types import SimpleNamespace as Some
    >>> case = Some(escalations={}, plan=Some(returns=Some(inflation=0.0)), constants=Some(year=4.0))
    >>> wages(case, {"labour": YearCost(40.0, 8.0, 100.0)}, 5)
    148.0
    """
    row = found["labour"]
    return (row.for_started + row.for_good + row.standing) * cost_rise(case, "labour", column)
