"""Laws of every plan, worked again piece by piece and row by row: what markets take, and what wears out."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from itertools import accumulate

from costmodel.case.changes import with_values
from costmodel.case.range_records import AFTER, Range
from costmodel.case.whole_case import Case
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import Results, evaluate
from costmodel.model.ledger.depreciation import book_method, book_shares, tax_shares
from costmodel.model.ledger.landed_prices import in_money_of_the_case, in_reporting_currency
from costmodel.studies.draws import Draws
from costmodel.studies.negotiation.probabilities import probabilities
from costmodel.studies.negotiation.sides import ROYALTY, UPFRONT, Sides
from costmodel.studies.negotiation.zone import trace_zone

from .scaling_laws import broken

Broken = Iterator[str]


def markets_take_no_more_than_their_share(case: Case, results: Results) -> Broken:
    """Quarter by quarter, every row of sales.csv by itself: its market's limit is shared in proportion; the rest is not made."""
    amounts = results.line.output.by_unit()
    for number, quarter in enumerate(results.plan.quarters.values()):
        money = watts = 0.0
        for row in case.sales.values():
            part = row.output_share * quarter.planned_share
            if row.market != "unlimited":
                market = case.markets[row.market]
                rows = [other for other in case.sales.values() if other.market == row.market]
                wanted = sum(other.output_share for other in rows) * quarter.planned_share * amounts[market.per]
                part *= min(1.0, market.volume * market.most_share * quarter.running_share / wanted) if wanted else 1.0
            price = in_reporting_currency(row.price, row.currency, case.money)
            money += part * amounts[row.per] / 4 * price * (1 + row.change * case.constants.year) ** ((number + 0.5) / 4)
            watts += part * amounts["Wp_stabilised"] / 4
        yield from broken(f"sales of quarter {number + 1}", quarter.revenue, money)
        yield from broken(f"watts of quarter {number + 1}", quarter.stabilised_watts, watts)
        yield from broken(f"rest of quarter {number + 1}", quarter.good_share, quarter.taken_share * quarter.planned_share)
    full = [q for q in results.plan.quarters.values() if q.running_share == 1.0][-1]  # beyond the ramp
    yield from broken("starts", full.started_share, full.good_share)


def equipment_wears_out_piece_by_piece(case: Case, results: Results) -> Broken:
    """Whole lives, followed year by year: overhaul, replacement, what is written off and lost, what the last piece sells for."""
    horizon = int(case.plan.schedule.horizon)
    start, year = results.plan.start / 4, case.constants.year
    end = horizon - start
    last = end - case.plan.schedule.last_replacement / year
    inflation, outlay = case.plan.returns.inflation * year, case.plan.outlay
    spent, books, lost, tax, sold = ([0.0] * horizon for _ in range(5))
    overhauls = {(row.covers, row.equipment): row for row in case.refurbishments.values()}
    for name, asset in results.plan.assets.items():
        covers, _, identity = name.partition("_")
        if covers == "capital":
            row = case.capital[identity]
            for age, share in enumerate(book_shares(book_method(case, covers), row.life / year, horizon)):
                books[age] += asset.cost * share
                tax[age] += asset.cost * share
            continue
        row, overhaul = getattr(case, covers)[identity], overhauls.get((covers, identity))
        life, price = row.technical_life / year, asset.cost / (1 - outlay.grant)
        added = overhaul.added_life / year if overhaul else 0.0
        shares = book_shares(book_method(case, covers), row.life / year, horizon)
        shares_for_tax = tax_shares(case, covers, row.life / year, horizon)
        bought, paid = 0, asset.cost
        while bought < horizon:
            gone = int(bought + life + added)
            stays = gone > last
            for begun in range(bought, horizon if stays else min(gone, horizon)):
                books[begun] += paid * shares[begun - bought]
                tax[begun] += paid * shares_for_tax[begun - bought]
            overhauled = int(bought + life)
            if overhaul and overhauled <= last:
                cost = price * overhaul.cost * (1 + inflation) ** (start + overhauled)
                spent[overhauled] += cost
                for later in range(overhauled, min(int(overhauled + added), horizon)):
                    books[later] += cost / added
                    tax[later] += cost / added
            if stays:
                new = _bare(case, results, covers, identity, price) * (1 + inflation) ** horizon * outlay.resale_share
                sold[-1] += new * (1 - outlay.resale_decline * year) ** (end - bought)
                break
            lost[gone] += paid * (1 - sum(shares[: gone - bought]))
            tax[gone] += paid * (1 - sum(shares_for_tax[: gone - bought]))
            bought, paid = gone, price * (1 + inflation) ** (start + gone)
            spent[gone] += paid
    found = list(results.plan.use_years.values())
    for what, wanted in (("replaced", spent), ("books", books), ("lost", lost), ("tax", tax)):
        for number, amount in enumerate(wanted):
            moved = results.plan.capital  # amounts that are nothing differ by rounding of it
            yield from broken(f"{what} in year {number + 1} of use", moved + getattr(found[number], what), moved + amount)
    quarters = list(results.plan.quarters.values())
    yield from broken("end value", quarters[-1].end_value, sold[-1])
    written = sum(q.depreciation + q.disposal + q.end_value for q in quarters)
    yield from broken("all that is bought", written, sum(q.capital + q.licence_fee + q.replacement for q in quarters))


def what_there_is_not_has_no_value(case: Case, results: Results) -> Broken:
    """Payback, cover, returns and yardsticks from cash and payments, in plain Python; None stands for no value."""
    for changed in (case, *(with_values(case, changes) for changes in _poor_and_rich(case))):
        found = evaluate(changed)
        plan, yardsticks = found.plan, found.deal.yardsticks if found.has_deal else None
        columns = list(plan.quarters.values())
        wanted: dict[str, tuple[float | None, float]] = {}
        for name, worth, cash in (("project", plan.project, "free_cash"), ("owners", plan.owners, "owners_cash")):
            flows = [getattr(column, cash) for column in columns]
            wanted[f"payback of {name}"] = _payback(flows), worth.payback / case.constants.year
            spent, back = -sum(min(flow, 0.0) for flow in flows), sum(max(flow, 0.0) for flow in flows)
            wanted[f"recovered of {name}"] = back / spent if spent else None, worth.recovered
            if not spent or not back:
                wanted[f"modified return of {name}"] = None, worth.mirr
        covers = []
        for number, (name, year) in enumerate(plan.years.items()):
            repaid = sum(column.repaid + column.forgiven for column in columns[4 * number + bool(number) : 4 * number + 5])
            covers += [year.cash_for_debt / year.debt_service] if repaid > 0 else []
            wanted[f"cover of {name}"] = covers[-1] if repaid > 0 else None, year.dscr
        wanted["least cover"] = min(covers, default=None), plan.minimum_dscr
        if yardsticks:
            paid = sum(column.licence_fee + column.royalty + column.licence_services for column in columns)
            whole = paid + yardsticks.profit
            wanted["turnover factor"] = yardsticks.profit / paid if paid else None, yardsticks.turnover_factor
            wanted["share of profit"] = paid / whole if whole > 0 else None, yardsticks.profit_share
            gains = found.deal.licensor.gain, found.deal.licensee.gain
            wanted["licensor's share"] = gains[0] / sum(gains) if sum(gains) > 0 else None, found.deal.licensor_share
        for market, each in found.market.by_market.items():
            for end in ("asked_price", "cost"):
                if getattr(each, f"efficiency_at_{end}_status") in (0.0, 3.0):
                    wanted[f"efficiency in {market}"] = None, getattr(each, f"efficiency_at_{end}")
        for what, (should, value) in wanted.items():
            if should is None and value == value:
                yield f"{what} is {value}; there is none"
            elif should is not None:
                yield from broken(what, value, should)


def _poor_and_rich(case: Case) -> Iterator[dict[str, float]]:
    """Prices of nothing and of plenty, no loan, no payments."""
    for times in (0.001, 20.0):
        yield {f"sales.{name}.price": row.price * times for name, row in case.sales.items()}
    yield {"loan.part": 0.0}
    if case.has_deal:
        yield {f"licence.{name}": 0.0 for name in ("upfront", "royalty", "royalty_per_watt")}


def _payback(flows: list[float]) -> float | None:
    """Years until the running sum is above 0 for good, straight lines between the ends of quarters."""
    sums = list(accumulate(flows))
    below = [number for number, total in enumerate(sums) if total < 0]
    if sums[-1] < 0 or not below:
        return None if below else 0.0
    last = below[-1]
    return (last + sums[last] / (sums[last] - sums[last + 1])) / 4


def _bare(case: Case, results: Results, covers: str, identity: str, price: float) -> float:
    """What equipment costs without freight, installation and reserve."""
    counts = getattr(results.line, covers) if covers in ("tools", "carriers") else None
    if counts is None:
        return price / (1 + case.plan.outlay.contingency)
    return in_money_of_the_case(case, covers, getattr(case, covers)[identity]) * counts[identity].tools


def claims_hold_in_the_draws_in_which_single_plants_say_so(case: Case, results: Results) -> Broken:
    """Prices that follow one draw: each claim is as likely as plants with the price of a draw, taken one by one, have it."""
    name, row = next(iter(case.sales.items()))
    address, unit = f"sales.{name}.price", case.entry_units[f"sales.{name}.price"]
    low, high = 0.2 * row.price, 4.0 * row.price
    ranges = {"price": Range(address, "uniform", low, row.price, high, unit, "market", AFTER)}
    case = dataclasses.replace(case, ranges=ranges, correlations={}, outcomes={}, samples={})
    prices = Draws(as_bought(case), 1).values(0, 6)[address]
    found = probabilities(case, draws=6, seed=1)
    each = [evaluate(with_values(case, {address: float(price)})) for price in prices]
    gains = [(one.deal.licensor.gain >= 0, one.deal.licensee.gain >= 0) for one in each]
    yield from broken("net present value", found.npv.share, sum(one.plan.project.npv > 0 for one in each) / 6)
    yield from broken("licensor", found.licensor.share, sum(own for own, _ in gains) / 6)
    yield from broken("licensee", found.licensee.share, sum(other for _, other in gains) / 6)
    yield from broken("both", found.both.share, sum(own and other for own, other in gains) / 6)
    sides = Sides(case, (UPFRONT, ROYALTY, address))
    zones = [trace_zone(case, sides.settled({address: float(price)}, (UPFRONT, ROYALTY))) for price in prices]
    yield from broken("a zone", found.zone.share, sum(not zone.empty for zone in zones) / 6)


PLAN_LAWS = (
    markets_take_no_more_than_their_share, equipment_wears_out_piece_by_piece,
    claims_hold_in_the_draws_in_which_single_plants_say_so, what_there_is_not_has_no_value,
)  # fmt: skip


def violated_by_plan(case: Case) -> Iterator[str]:
    """What the laws find in a plan whose lives and start of production are whole years."""
    results = evaluate(case)
    yield from (f"{law.__name__}: {message}" for law in PLAN_LAWS for message in law(case, results))
