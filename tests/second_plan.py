"""The plan in the second model: quarters of the plant with and without the payments for the licence."""

from math import log2
from types import SimpleNamespace

from . import second_assets, second_licence, second_supplied
from .second_capital import paid_by
from .second_case import in_money
from .second_closing import close, settle
from .second_tax import holiday_parts
from .second_time import added, by_year, due, exchange, less, mid, nothing, part_after, steps, sums, times
from .second_warranty import warranty

CATEGORIES = ("materials", "utilities", "labour", "maintenance", "building", "facilities", "overheads", "emissions")


def costs_of_year(ledger):
    """Cash cost of a year by category: what follows plates started, what follows good modules, what stands."""
    found = {}
    for category in CATEGORIES:
        rows = [row for row in ledger if row["category"] == category]
        if category == "facilities":
            rows = [row for row in rows if row["driver"] != "depreciation"]
        rows = [row for row in rows if row["driver"] not in ("stock that waits", "claims to come")]
        good = sum(row["variable"] for row in rows if row["loss"] == "none")
        started = sum(row["variable"] for row in rows if row["loss"] != "none")
        found[category] = SimpleNamespace(
            for_started=started, for_good=good, standing=sum(row["cost"] for row in rows) - sum(row["variable"] for row in rows)
        )
    return found


def rise(case, category, count):
    """What a category of cost has become by the middle of each quarter."""
    change = next((row.change for row in case.escalations.values() if row.covers == category), case.returns.inflation)
    return [mid(change, k) for k in range(count)]


def ramp(case, count, start):
    """Shares of full swing of plates started and of good modules."""
    rows = list(case.ramp.values())
    ends = [part_after(count, start + case.schedule.ramp_stretch * k) for k in range(len(rows) + 1)]
    started, good = ends[-1], ends[-1]
    for row, now, then in zip(rows, ends, ends[1:]):
        started = added(started, times(less(now, then), row.starts_share))
        good = added(good, times(less(now, then), row.starts_share * row.yield_share))
    return started, good


def planned(case, count, start):
    """Plates started, good modules and fixed cost as planned, expansions added."""
    full = case.schedule.volume_share
    started, good = (times(row, full) for row in ramp(case, count, start))
    fixed = part_after(count, 4 * (case.schedule.build_time - case.schedule.staff_before))
    for row in case.expansions.values():
        more = ramp(case, count, start + 4 * row.time)
        started, good = added(started, times(more[0], row.size * full)), added(good, times(more[1], row.size * full))
        fixed = added(fixed, times(part_after(count, start + 4 * row.time), row.size * row.fixed_share))
    return started, good, fixed


def learnt(case, made):
    """Variable cost over what it would be without learning, by all made so far."""
    row = case.learning
    power, first = log2(1 - row.rate), row.reference_volume

    def volume(total):
        if total <= first:
            return total
        beyond = first * (total / first) ** (1 + power)
        return beyond if row.convention == "cumulative_average" else first + (beyond - first) / (1 + power)

    costs = [volume(total) for total in sums(made)]
    return [cost / now if now > 0 else 1.0 for cost, now in zip(steps(costs), made)]


def outputs(given):
    """Output of a year by unit."""
    return {
        "Wp_stabilised": given["line.output.stabilised_watts"],
        "m2": given["line.output.good_area"],
        "module": given["line.output.good_modules"],
    }


def paid(given):
    """What customers pay for at the full price, by unit: labels of the power classes."""
    made = outputs(given)
    power, modules = given["line.power.paid_share_of_power"], given["line.power.paid_share_of_modules"]
    return {"Wp_stabilised": made["Wp_stabilised"] * power, "m2": made["m2"] * modules, "module": made["module"] * modules}


def markets(case, given, good, run):
    """Planned and sold in each market, and the share of it that the market takes."""
    found = {}
    for name in dict.fromkeys(row.market for row in case.sales.values() if row.market != "unlimited"):
        row = case.markets[name]
        share = sum(sale.output_share for sale in case.sales.values() if sale.market == name)
        wanted = times(good, outputs(given)[row.per] * share / 4)
        most = times(run, row.volume * row.most_share / 4)
        sold = [min(a, b) for a, b in zip(wanted, most)]
        years = [(sum(a), sum(b)) for a, b in zip(by_year(wanted), by_year(sold))]
        found[name] = {
            "cap": row.volume * row.most_share,
            "planned": wanted,
            "sold": sold,
            "sold_share": [b / a if a > b else 1.0 for a, b in zip(wanted, most)],
            "planned_by_year": [a for a, _ in years],
            "sold_by_year": [b for _, b in years],
            "cut_by_year": [max(a - b, 0.0) for a, b in years],
            "market_share_by_year": [b / row.volume for _, b in years],
        }
    return found


def set_up(case, given, ledger):
    """All that does not depend on when use ends nor on what is paid for the licence."""
    count, start = case.columns, 4 * (case.schedule.build_time + case.schedule.delay)
    base = SimpleNamespace(case=case, given=given, count=count, start=start, costs=costs_of_year(ledger), ledger=ledger)
    base.bought = sum(row["variable"] for row in ledger if row["category"] == "materials" and row["loss"] != "all")
    base.assets = second_assets.assets_of(case, given)
    base.lives = {name: second_assets.life_of_asset(case, asset, start) for name, asset in base.assets.items()}
    base.years = second_assets.years_of_use(case, base.assets, base.lives, start)
    base.run = part_after(count, start)
    base.started, base.good, base.fixed = planned(case, count, start)
    base.watts, base.area = outputs(given)["Wp_stabilised"], outputs(given)["m2"]
    base.paid = {kind: paid_by(case, count, kind, 0.0) for kind in ("equipment", "systems", "other")}
    base.rises = lambda category: rise(case, category, count)
    base.holidays = holiday_parts(case, count, start)
    base.rate, base.owners_rate = (
        with_inflation(case, rate) for rate in (case.returns.required_return, case.returns.equity_return)
    )
    return base


def with_inflation(case, rate):
    """A required return with inflation."""
    return (1 + rate) * (1 + case.returns.inflation) - 1 if case.returns.basis == "real" else rate


def operation(base, open_):
    """Volumes, revenue and cost of the plant while it is in use."""
    case, count = base.case, base.count
    good = times(base.good, open_)
    base.markets = markets(case, base.given, good, base.run)
    whole = {"sold_share": [1.0] * count}
    shares = {name: base.markets.get(row.market, whole)["sold_share"] for name, row in case.sales.items()}
    taken = [1 - sum(row.output_share * (1 - shares[name][k]) for name, row in case.sales.items()) for k in range(count)]
    q = {"open_share": open_, "running_share": base.run, "planned_share": good, "taken_share": taken}
    q["started_share"], q["good_share"] = times(base.started, taken, open_), times(good, taken)
    q["fixed_share"] = times(base.fixed, open_)
    q["stabilised_watts"] = times(q["good_share"], base.given["line.output.stabilised_watts"] / 4)
    q["cumulative_watts"] = sums(q["stabilised_watts"])
    q["learning_factor"] = learnt(case, q["stabilised_watts"])
    q["revenue"] = nothing(count)
    for name, row in case.sales.items():
        full = row.output_share * paid(base.given)[row.per] * in_money(case, row.price, row.currency) / 4
        prices = [mid(row.change, k) * exchange(case, row.currency, k) for k in range(count)]
        q["revenue"] = added(q["revenue"], times(good, shares[name], prices, full))
    q["variable_cost"] = q["fixed_cost"] = nothing(count)
    for name, cost in base.costs.items():
        up = times(rise(case, name, count), 0.25)
        moving = added(times(q["started_share"], cost.for_started), times(q["good_share"], cost.for_good))
        q["variable_cost"] = added(q["variable_cost"], times(moving, up, q["learning_factor"]))
        q["fixed_cost"] = added(q["fixed_cost"], times(q["fixed_share"], up, cost.standing))
        if name == "materials":
            base.materials = times(moving, up, q["learning_factor"])
    fill = base.bought * (case.outlay.first_fill_time + case.outlay.commissioning_scrap)
    expense = sum(in_money(case, row.amount, row.currency) for row in case.capital.values() if row.treated == "expense")
    expense *= 1 + case.outlay.contingency
    once = times(due(count, base.start), rise(case, "materials", count), fill)
    q["start_up"] = times(added(once, times(steps(base.paid["other"]), expense)), open_)
    warranty(base, q)
    return q


def working_capital(base, q):
    """Receivables, stock and payables at the end of each quarter."""
    case, row, count = base.case, base.case.working_capital, base.count
    waits = [base.given[name] for name in base.given if name.startswith("ledger.soaking.") and name.endswith(".waiting_time")]
    wait = 4 * (row.finished_time + sum(waits) / 8760)
    first = case.schedule.volume_share * next((each.starts_share for each in case.ramp.values()), 1.0)
    early = part_after(count, base.start - 4 * row.bought_before)
    up = rise(case, "materials", count)
    q["receivables"] = times(q["revenue"], 4 * row.receivable_time)
    q["payables"] = times(q["variable_cost"], 4 * row.payable_time)
    q["stock"] = []
    for k in range(count):
        made = q["variable_cost"][k] + (q["fixed_cost"][k] * base.run[k] if q["started_share"][k] > 0 else 0.0)
        needed = q["started_share"][k] + first * (early[k] - base.run[k])
        q["stock"].append(base.given["ledger.stock"] * needed * up[k] + made * wait)
    return q


def labelled(base, q):
    """Watts on the labels of what is sold, on which a royalty per watt is paid."""
    given = base.given
    return times(q["stabilised_watts"], given["line.power.labelled_power"] / given["line.output.stabilised_power"])


def streams(base, q, open_, end):
    """All headings while the plant is in use, with the licensee's part of withholding tax; claims if it closes."""
    case, count = base.case, base.count
    found = [*second_licence.fees(case, base.start, count, base.watts)]
    earned = second_licence.royalty_earned(case, base.start, q["revenue"], labelled(base, q))
    owed = second_licence.minimum(case, base.start, count, open_)
    found.append(second_licence.stream("royalty", "licence", earned))
    found.append(second_licence.stream("minimum", "licence", second_licence.missing(owed, earned, end)))
    found += second_licence.works(case, count)
    found += second_licence.supplies(case, base.assets, steps(base.paid["equipment"]), base.materials)
    base.supplied = second_supplied.supplied(base, q)
    for name, rows in base.supplied.items():
        kind = case.supplied_materials[name].paid_as
        found.append(second_licence.stream(f"supplied_{name}", kind, second_supplied.paid_above(rows)))
    income = second_licence.sublicence_income(case, count)
    for name, amounts in income.items():
        found.append(second_licence.stream(f"sublicence_{name}", "licence", times(amounts, case.licence.sublicence_share)))
    for each in found:
        each.amounts = times(each.amounts, open_, second_licence.gross(case, each.kind))
    claims = list(second_licence.claims(case, base.start, count))
    for each in claims:
        each.amounts = times(each.amounts, second_licence.gross(case, each.kind))
    gap = times(second_licence.short_so_far(owed, earned), second_licence.gross(case, "licence"))
    q["sublicences"] = times(added(nothing(count), *income.values()), open_)
    return found, claims, gap


def quarters(base, open_, paying):
    """All rows of a plan whose use is open as given; `paying` for the licence, or not."""
    end = int(sum(open_)) - 1
    q = working_capital(base, operation(base, open_))
    found, claims, gap = streams(base, q, open_, end)
    if not paying:
        found, claims, gap = [], [], nothing(base.count)
    total = {"licence_fee": nothing(base.count), "royalty": nothing(base.count), "licence_services": nothing(base.count)}
    for each in found:
        name = "licence_fee" if each.once else "royalty" if each.name in ("royalty", "minimum") else "licence_services"
        total[name] = added(total[name], each.amounts)
    q |= total
    ended = close(base, q, found, claims, gap, end)
    ended.markets, ended.supplied = base.markets, base.supplied
    return ended


def plan(base, paying=True):
    """The plan that never closes and the plan by the rule of closing; `settle` finds when use ends."""
    return settle(base, lambda open_: quarters(base, open_, paying))
