"""Figures of the second model by address, as the package names them, in base units: shares as parts of 1, times in years."""

from .second_assets import straight
from .second_case import SIZES, in_money
from .second_deal import deal
from .second_laboratory import laboratory
from .second_plan import plan, set_up
from .second_tax import holiday_parts, taxes
from .second_time import added, less, mid, nothing, part_after, steps, sums, times, within, year_of
from .second_transfer import transfer
from .second_worth import worth

INNER = ("settled", "tied")


def by_quarter(prefix, rows):
    """Figures of rows by column."""
    return {f"{prefix}.q{k:03d}": value for row in [rows] for k, value in enumerate(row)}


def by_year_of_plan(prefix, values):
    """Figures by year."""
    return {f"{prefix}.y{k + 1:02d}": value for k, value in enumerate(values)}


def quarters(prefix, q):
    """All rows of quarters."""
    rows = {name: row for name, row in q.items() if name not in INNER}
    return {f"{prefix}.q{k:03d}.{name}": value for name, row in rows.items() for k, value in enumerate(row)}


def assets(base):
    """Assets and years of use."""
    found = {}
    for name, asset in base.assets.items():
        life, start = base.lives[name], f"plan.assets.{name}"
        found |= {f"{start}.cost": asset.cost, f"{start}.resale_new": life.new}
        rows = {"bought": life.bought, "replaced_later": life.later, "refurbished": life.overhauled}
        rows |= {"books": asset.books, "tax": asset.tax, "resale": life.resale}
        for key, row in rows.items():
            found |= by_year_of_plan(f"{start}.{key}", row or [])
    for key, row in vars(base.years).items():
        found |= {f"plan.use_years.y{k + 1:02d}.{key}": value for k, value in enumerate(row)}
    return found


def years_of_debt(base, q):
    """Cover of the loan by year."""
    found, covers, below = {}, [], 0.0
    for year in range(int(base.case.schedule.horizon)):
        columns = [k for k in range(base.count) if year_of(k) == year]

        def total(name, columns=columns):
            return sum(q[name][k] for k in columns)

        cash = total("free_cash") + total("capital") + total("licence_fee") + total("tax_without_loan") - total("tax")
        fell_due = total("repaid") + total("forgiven")
        service = total("interest") + fell_due
        cover = cash / service if fell_due > 0 else None
        low = 1.0 if cover is not None and cover < base.case.loan.minimum_dscr else 0.0
        row = {"cash_for_debt": cash, "debt_service": service, "dscr": cover, "dscr_status": float(cover is not None)}
        found |= {f"plan.years.y{year + 1:02d}.{name}": value for name, value in (row | {"below_minimum_dscr": low}).items()}
        covers += [] if cover is None else [cover]
        below += low
    found |= {"plan.minimum_dscr": min(covers, default=None), "plan.minimum_dscr_status": float(bool(covers))}
    return found | {"plan.years_below_minimum_dscr": below}


def other_line(base, name, row):
    """A line as large as the capital of the plant buys."""
    case, count = base.case, base.count
    money = sum(asset.cost for asset in base.assets.values())
    build, ramp = 4 * row.build_time, 4 * row.ramp_time
    use, full = part_after(count, build), part_after(count, build + ramp)
    watts = money / in_money(case, row.capital, row.currency)
    margin = in_money(case, row.price - row.cash_cost, row.currency) / 4
    working = added(times(less(use, full), 0.5), full)
    operating = [watts * part * margin * mid(row.change, k) for k, part in enumerate(working)]
    off = nothing(count)
    for year, share in enumerate(straight(row.life, int(case.schedule.horizon))):
        begun = [use[k - 4 * year] if k >= 4 * year else 0.0 for k in range(count)]
        over = [use[k - 4 * year - 4] if k >= 4 * year + 4 else 0.0 for k in range(count)]
        off = added(off, times(less(begun, over), money * share / 4))
    paid = taxes(case, less(operating, off), holiday_parts(case, count, build))
    built = [within(k / build, 0.0, 1.0) for k in range(count)]
    free = less(operating, paid.paid, times(steps(built), money))
    rows = {
        "free_cash": free,
        "losses_carried": paid.carried,
        "losses_made": paid.made,
        "losses_gone": paid.gone,
        "profits_taxed": paid.taxed,
        "profits_gone": paid.taken,
        "cumulative_free_cash": sums(free),
        "discounted_free_cash": sums([flow * (1 + base.rate) ** (-k / 4) for k, flow in enumerate(free)]),
    }
    found = {f"plan.others.{name}.stabilised_watts": watts} | quarters(f"plan.others.{name}.quarters", rows)
    measures = worth(free, base.rate)
    base.others[name] = measures["npv"]
    return found | {f"plan.others.{name}.worth.{key}": value for key, value in measures.items()}


def figures(case, given, ledger):
    """Every figure of plan and deal."""
    base = set_up(case, given, ledger)
    base.others = {}
    found = plan(base)
    q = found.found.q
    capital = sum(asset.cost for asset in base.assets.values())
    result = {
        "plan.start": base.start,
        "plan.required_return": base.rate,
        "plan.equity_return": base.owners_rate,
        "plan.capital": capital,
        "plan.capital_per_annual_watt": capital / base.watts,
        "plan.capital_per_annual_m2": capital / base.area,
    }
    for name, cost in base.costs.items():
        result |= {f"plan.costs.{name}.{key}": value for key, value in vars(cost).items()}
    result |= assets(base) | quarters("plan.quarters", q) | years_of_debt(base, q)
    if case.closing.rule == "by_loss":
        result |= quarters("plan.never_closed", found.never.q)
    for each in found.found.streams:
        result |= by_quarter(f"plan.payments.{each.name}.quarters", each.amounts)
    for name, rows in found.found.supplied.items():
        for key, row in rows.items():
            result |= by_quarter(f"plan.supplied.{name}.{key}", row)
    result |= markets(found.found)
    for key, value in found.ending.items():
        result |= by_quarter(f"plan.ending.{key}", value) if isinstance(value, list) else {f"plan.ending.{key}": value}
    for key, flows, rate in (("project", "free_cash", base.rate), ("owners", "owners_cash", base.owners_rate)):
        result |= {f"plan.{key}.{name}": value for name, value in worth(q[flows], rate).items()}
    for name, row in case.other_lines.items():
        result |= other_line(base, name, row)
    return result | deal_figures(case, deal(base, found))


def on_time(case, found):
    """The plan that does not wait for ours, where there is one."""
    if not found:
        return {}
    base, rows, prefix = found.base, found.plan.found, "deal.on_time"
    result = {f"{prefix}.{name.removeprefix('plan.')}": value for name, value in (assets(base) | markets(rows)).items()}
    result |= quarters(f"{prefix}.quarters", rows.q) | {f"{prefix}.start": base.start}
    if case.closing.rule == "by_loss":
        result |= quarters(f"{prefix}.never_closed", found.plan.never.q)
    result[f"{prefix}.npv"] = worth(rows.q["free_cash"], base.rate)["npv"]
    return result | {f"{prefix}.sales_now": worth(rows.q["revenue"], base.rate)["npv"]}


def markets(found):
    """What each market takes."""
    result = {}
    for name, rows in found.markets.items():
        result[f"plan.markets.{name}.cap"] = rows["cap"]
        for key, row in rows.items():
            if key != "cap":
                result |= (by_year_of_plan if "year" in key else by_quarter)(f"plan.markets.{name}.{key}", row)
    return result


def deal_figures(case, found):
    """Every figure of the deal."""
    result = found.years | {"deal.gain": found.gain, "deal.licensor_share": found.share}
    result["deal.licensor_share_status"] = float(found.share is not None)
    result |= by_quarter("deal.dividends", found.dividends) | quarters("deal.without_payments", found.free.found.q)
    if case.closing.rule == "by_loss":
        result |= quarters("deal.without_payments_never_closed", found.free.never.q)
    result |= on_time(case, found.on_time)
    groups = {"supplied": found.supplied, "by_kind": found.kinds, "by_heading": found.headings, "deliveries": found.deliveries}
    groups |= {"yearly_services": found.services, "prospects": found.prospects, "guarantees": found.guarantees.power,
               "performance_guarantees": found.guarantees.rates, "acceptance_dates": found.guarantees.dates}
    for group, rows in groups.items():
        result |= {f"deal.{group}.{name}.{key}": value for name, row in rows.items() for key, value in row.items()}
    for name, row in case.service_effects.items():
        whole = row.change * SIZES.get(row.unit, 1.0)
        factor = 1 + row.probability * (whole - 1)
        result[f"deal.service_effects.{name}.expected"] = factor if row.how == "multiplies" else row.probability * whole
    for name, row in found.chances.items():
        result |= by_quarter(f"deal.second_licensees.{name}.selling", row)
        result |= by_quarter(f"deal.second_licensees.{name}.selling_if_open", found.chances_open[name])
    for name, row in {"taken": found.lost, "taken_if_open": found.lost_open}.items():
        for key, value in row.items():
            result |= by_quarter(f"deal.{name}.{key}", value) if isinstance(value, list) else {f"deal.{name}.{key}": value}
    parts = {"exclusivity": found.exclusivity, "licensor": found.licensor, "own_money": found.own_money, "licensee": found.licensee}
    for name, row in (parts | {"yardsticks": found.yardsticks}).items():
        result |= {f"deal.{name}.{key}": value for key, value in row.items()}
    result |= {f"deal.transfer.{name}": value for name, value in transfer(case).items()}
    result |= {f"deal.laboratory.{name}": value for name, value in laboratory(case).items()}
    return result | {f"deal.alternatives.{name}.npv": value for name, value in found.ways.items()}
