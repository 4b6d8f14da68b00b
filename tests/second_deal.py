"""The deal in the second model: what the licence costs the licensor, what it leaves to both sides."""

from copy import copy
from math import erf, exp, pi, sqrt
from types import SimpleNamespace

from . import second_laboratory, second_licence, second_supplied
from .second_case import in_money
from .second_plan import labelled, set_up
from .second_plan import plan as plan_of
from .second_time import added, due, evenly, exchange, less, mid, nothing, part_after, present, times, within, year_of
from .second_transfer import expected_end

OWN_MONEY = ("received", "withheld", "inventors", "net", "rivals", "own_tax", "credit", "floor", "floor_paid", "npv", "gain")


def own_present(case, flows, currency=None):
    """Present value to the licensor of flows at first-day rates: each in its currency at the rate of its quarter."""
    own = case.licensor.currency
    moved = [exchange(case, currency or case.currency, k) / exchange(case, own, k) for k in range(len(flows))]
    if (currency or case.currency) == own:
        moved = [1.0] * len(flows)
    return present(times(flows, moved), case.licensor.discount_rate)


def tax_and_inventors(case, kind):
    """Of a unit paid: what is withheld, and what goes to the inventors."""
    row = case.payment_kinds[kind]
    return row.withholding, (1 - row.withholding) * row.inventors_share


def left_of(case, amounts, kind):
    """What is left to the licensor of payments before its own tax."""
    return own_present(case, amounts) * (1 - sum(tax_and_inventors(case, kind)))


def shortfall(error, spare):
    """The mean by which a normal variable falls short of a limit; its mean lies so much above it."""
    limit = spare / error
    return error * exp(-(limit**2) / 2) / sqrt(2 * pi) - spare * (1 - erf(limit / sqrt(2))) / 2


def falls_short(error, spare):
    """The probability of it."""
    return (1 - erf(spare / error / sqrt(2))) / 2


def guarantees(base):
    """Damages to be expected by each guarantee."""
    found = {}
    for name, row in base.case.guarantees.items():
        made = base.given["line.output.stabilised_power"] * (1 - row.transfer_loss)
        modules = next((each.module_spread for each in base.case.power_spread.values()), None) or row.module_spread
        spread = made * sqrt(row.transfer_spread**2 + modules**2 / row.sample + row.measurement**2)
        mean = made * (1 - row.coverage * row.measurement)
        error, spare, limit = spread / row.power, mean / row.power - 1, 1 - row.minimum
        capped = falls_short(error, spare + min(row.cap / row.damages, limit)) - falls_short(error, spare + limit)
        found[name] = {
            "measured_power": mean, "spread": spread, "cap_probability": (1 - row.retest_passed) * capped,
            **missed(base.case, row, error, spare, limit), **shared(base.case, row, row.test_cost),
        }  # fmt: skip
    return found


def missed(case, row, error, spare, limit):
    """A miss, what is left of it after a retest that passes with its probability, and what retests cost."""
    first, left = falls_short(error, spare), 1 - row.retest_passed
    return {
        "miss_probability": first, "probability": left * first, "rejection_probability": left * falls_short(error, spare + limit),
        "damages": left * in_money(case, paid_for(error, spare, row, limit), row.currency),
        "retests": first * in_money(case, row.retest_cost, row.currency),
    }  # fmt: skip


def shared(case, row, cost):
    """Tests as both sides pay for them."""
    tests = in_money(case, cost, row.currency)
    return {"licensor_tests": row.test_share * tests, "licensee_tests": (1 - row.test_share) * tests}


def paid_for(spread, spare, row, limit):
    """Damages of a normal shortfall: by its size up to the cap, and the sum for rejection from the limit on."""
    most = min(row.cap / row.damages, limit)
    grown = row.damages * (shortfall(spread, spare) - shortfall(spread, spare + most))
    return grown + (row.rejection - row.damages * most) * falls_short(spread, spare + limit)


def planned_of(base, row):
    """What the line makes of a rate, in the unit in which figures are shown."""
    given = base.given
    if row.measure == "throughput":  # good modules in an hour of scheduled time: takt is that time over plates started
        hours = given["line.output.takt"] * given["line.output.plates_started"] / 3600
        return given["line.output.capacity"] / hours
    if row.measure == "line_yield":
        return given["line.output.line_yield"]
    if row.measure == "uptime":
        states = {key: given[f"line.states.{row.of}.{key}"] for key in ("productive", "standby", "engineering")}
        down = sum(given[f"line.states.{row.of}.{key}"] for key in ("scheduled_down", "unscheduled_down"))
        return sum(states.values()) / (sum(states.values()) + down)
    if f"ledger.landed.{row.of}.used" in given:
        grams = 1000.0 if row.unit == "g/module" else 1.0  # what is used of a gas is shown in kg
        return grams * given[f"ledger.landed.{row.of}.used"] / given["line.output.good_modules"]
    drawn = sum(x["quantity"] for x in base.ledger if x["item"] == row.of and x["category"] in ("utilities", "facilities"))
    return drawn / given["line.output.good_modules"]


def rates_promised(base):
    """Guaranteed throughput, yield, uptime and consumption."""
    found, case = {}, base.case
    for name, row in case.performance_guarantees.items():
        planned = planned_of(base, row)
        spread = sqrt(row.transfer_spread**2 + row.day_spread**2 / row.days / row.tests + row.measurement**2)
        level = row.level * (0.01 if row.unit == "%" else 1.0)
        if row.measure == "consumption":
            tested = planned * (1 + row.transfer_loss)
            spare, limit = 1 - tested / level, 1 / row.minimum - 1
        else:
            tested = planned * (1 - row.transfer_loss)
            spare, limit = tested / level - 1, 1 - row.minimum
        wide = spread * tested / level
        found[name] = {
            "planned": planned, "tested": tested, "spread": spread,
            **missed(case, row, wide, spare, limit), **shared(case, row, row.test_cost * row.tests),
        }  # fmt: skip
    return found


def dates_promised(base):
    """Guaranteed dates; times are years here, and damages those of a year."""
    found = {}
    for name, row in base.case.acceptance_dates.items():
        gate = base.case.transfer_gates.get(getattr(row, "counted_from", "first_day"))
        begin, wide = expected_end(base.case.transfer_tasks, gate.task) if gate else (0.0, 0.0)
        date, spread = begin + row.expected, sqrt(wide + row.spread**2)
        spare = row.time + row.grace - date
        found[name] = {
            "expected": 12 * date, "spread": 12 * spread,
            "probability": falls_short(spread, spare),
            "rejection_probability": falls_short(spread, spare + row.latest),
            "damages": in_money(base.case, paid_for(spread, spare, row, row.latest), row.currency),
        }  # fmt: skip
    return found


def damages_due(base, found, tests_of):
    """Expected damages: amount, time, currency; the licensor pays its tests on top, the licensee out of them."""
    case = base.case
    yield in_money(case, case.licensor.damages, case.licensor.currency), case.licensor.damages_time, case.licensor.currency
    tested = [*((case.guarantees[name], each) for name, each in found.power.items())]
    tested += [(case.performance_guarantees[name], each) for name, each in found.rates.items()]
    for row, each in tested:
        tests = each["licensor_tests"] + each["retests"] if tests_of == "licensor" else -each["licensee_tests"]
        yield each["damages"] + tests, second_licence.date_and_chance(case, row)[0], row.currency
    for name, each in found.dates.items():
        yield each["damages"], case.acceptance_dates[name].time, case.acceptance_dates[name].currency


def materials_of(base, found):
    """What each supplied material leaves the licensor and costs the licensee."""
    case, result = base.case, {}
    for name, rows in found.supplied.items():
        row, above = case.supplied_materials[name], next(x.amounts for x in found.streams if x.name == f"supplied_{name}")
        price, own = (in_money(case, amount, row.currency) for amount in (row.price, row.own_cost))
        cost = own_present(case, second_supplied.cost_above(case, row, rows))
        result[name] = {
            "price": price, "own_cost": own, "second_price": base.given[f"ledger.landed.{row.item}.price"], "margin": price - own,
            "used": sum(rows["used"]), "quantity": sum(rows["quantity"]), "cost": cost,
            "licensor_margin": left_of(case, above, row.paid_as) - cost, "licensee_pays": present(above, base.rate),
        }  # fmt: skip
    return result


def costs_of_licensor(base, open_, damages, materials):
    """Deliveries and services one by one, and the parts of the floor."""
    case, count, row = base.case, base.count, base.case.licensor
    deliveries, services = {}, {}
    for name, each in case.deliveries.items():
        part = own_present(case, times(evenly(count, each.begin, each.end), open_), each.currency)
        deliveries[name] = {
            "days": part * in_money(case, each.days * (1 + each.overrun) * each.day_cost, each.currency),
            "travel": part * in_money(case, each.travel, each.currency),
            "pilot_time": part * in_money(case, each.pilot_time * each.pilot_cost, each.currency),
        }
    for name, each in case.yearly_services.items():
        spent = [(each.cost, each.currency), *second_laboratory.costs_of_service(case, name)]
        yearly = [(second_licence.yearly(each, amount, count), currency) for amount, currency in spent]
        services[name] = {
            "cost": sum(own_present(case, times(row, open_, case.rates[own]), own) for row, own in yearly)
        }
    kept = less([0.0] + [1.0] * (count - 1), part_after(count, 4 * row.upkeep_time))
    upkeep = [part * mid(case.returns.inflation, k) * in_money(case, row.upkeep, row.currency) / 4 for k, part in enumerate(kept)]
    claims = [
        own_present(case, times(due(count, 4 * time), open_, amount), currency)
        for amount, time, currency in damages_due(base, damages, "licensor")
    ]
    floor = {
        "work": sum(each["days"] for each in deliveries.values()),
        "travel": sum(each["travel"] for each in deliveries.values()),
        "pilot_time": sum(each["pilot_time"] for each in deliveries.values()),
        "services": sum(each["cost"] for each in services.values()),
        "upkeep": present(upkeep, row.discount_rate),
        "damages": sum(claims),
        "materials": sum(each["cost"] for each in materials.values()),
    }
    return deliveries, services, floor


def forgone(case):
    """What exclusivity costs with each prospect, inside the territory."""
    found = {}
    for name, row in case.prospects.items():
        value = in_money(case, row.value * row.probability, row.currency)
        time = 0.0 if row.territory == "outside" else min(case.licence.exclusive_time, row.window)
        lost = value * row.lost * time / row.window / (1 + case.licensor.discount_rate) ** (time / 2)
        found[name] = {"value": value, "lost": lost}
    return found


def rivals(case):
    """Prospects in the territory."""
    return {name: row for name, row in case.prospects.items() if row.territory != "outside"}


def selling(row, exclusive, count):
    """The probability that a prospect sells, averaged over each quarter."""
    window, entry, closed = 4 * row.window, 4 * row.entry_time, 4 * exclusive

    def signed(time):
        inside = within(time, 0.0, window)
        return inside**2 / (2 * window) + max(time - window, 0.0)

    found = []
    for end in range(count):
        begin = max(end - 1.0, min(1.0 * end, entry + closed))
        elsewhere = row.lost * min(closed, window) / window
        found.append(row.probability * (signed(end - entry) - signed(begin - entry) - elsewhere * (end - begin)))
    return found


def taken(base, plan, chances):
    """What second licensees take from both sides."""
    case, q, count = base.case, plan.q, base.count
    price, volume = [1.0] * count, [1.0] * count
    for name, row in rivals(case).items():
        both = row.price_effect + row.volume_effect - row.price_effect * row.volume_effect
        price = times(price, [1 - chance * both for chance in chances[name]])
        volume = times(volume, [1 - chance * row.volume_effect for chance in chances[name]])

    def royalty(sales, watts):
        earned = second_licence.royalty_earned(case, base.start, sales, watts)
        owed = second_licence.minimum(case, base.start, count, q["open_share"])
        return times(added(earned, second_licence.missing(owed, earned, plan.end)), second_licence.gross(case, "licence"))

    watts = labelled(base, q)
    lost = less(royalty(q["revenue"], watts), royalty(times(q["revenue"], price), times(watts, volume)))
    margin = [sales * (1 - a) - cost * (1 - b) for sales, cost, a, b in zip(q["revenue"], q["variable_cost"], price, volume)]
    kept = 1 - case.tax.rate
    cash = times(less(margin, lost), kept)
    return {
        "licensee_cash": cash,
        "royalty": lost,
        "licensee": present(cash, base.rate),
        "licensee_free": present(times(margin, kept), base.rate),
        "licensor_gross": own_present(case, lost),
        "licensor": left_of(case, lost, "licence"),
    }


def by_kind(base, streams, dividends):
    """Payments by kind."""
    found = {}
    for kind in base.case.payment_kinds:
        rows = [each.amounts for each in streams if each.kind == kind] + ([dividends] if kind == "dividends" else [])
        amounts = added(nothing(base.count), *rows)
        now = own_present(base.case, amounts)
        withheld, inventors = (now * part for part in tax_and_inventors(base.case, kind))
        found[kind] = {"paid": sum(amounts), "paid_now": now, "withheld": withheld, "inventors": inventors}
        found[kind]["net"] = now - withheld - inventors
    return found


def licensor_of(base, kinds, floor, territory, lost):
    """The licensor: payments, floor, own tax, what is left."""
    case, row = base.case, base.case.licensor
    received, withheld, inventors = (sum(each[key] for each in kinds.values()) for key in ("paid_now", "withheld", "inventors"))
    contribution = in_money(case, row.contribution, row.currency)
    tax_part, inventors_part = tax_and_inventors(case, "licence")
    gross = received - lost["licensor_gross"]
    tax_there = withheld - lost["licensor_gross"] * tax_part
    theirs = inventors - lost["licensor_gross"] * inventors_part
    costs = sum(floor.values())
    taxable = gross - theirs - costs
    own_tax = 0.0 if row.tax_relief == "exempt" else row.tax_rate * max(taxable, 0.0)
    credit = min(tax_there, own_tax) if row.tax_relief == "credit" else 0.0
    wanted = costs + territory + contribution
    arrives = gross - theirs - tax_there
    needed = wanted * gross / arrives if arrives else 0.0
    if row.tax_relief != "exempt":
        kept = (gross - theirs) * (1 - row.tax_rate) - (tax_there if row.tax_relief == "none" else 0.0)
        needed = max(needed, (wanted - row.tax_rate * costs) * gross / kept if kept else 0.0)
    net = received - withheld - inventors
    npv = net - lost["licensor"] - own_tax + credit - costs - territory
    return floor | {
        "received": received, "withheld": withheld, "inventors": inventors, "net": net, "rivals": lost["licensor"],
        "taxable": taxable, "own_tax": own_tax, "credit": credit, "territory": territory, "contribution": contribution,
        "floor": wanted,
        "floor_paid": needed * received / gross if gross else 0.0,
        "policy": in_money(case, row.sunk_research, row.currency) * row.recovered_share, "npv": npv, "gain": npv - contribution,
    }  # fmt: skip


def on_time(base):
    """The plant that pays nothing for the licence and does not wait for ours: set up and plan; None where there is no delay."""
    if not base.case.schedule.delay or not base.case.other_ways:
        return None
    case = copy(base.case)
    case.schedule = copy(case.schedule)
    case.schedule.delay = 0.0
    prompt = set_up(case, base.given, base.ledger)
    return SimpleNamespace(base=prompt, plan=plan_of(prompt, paying=False))


def alternatives(base, unpaid, prompt):
    """What the licensee could do instead is worth, by our plant unpaid for; another process is not late because ours is."""
    case, rate = base.case, base.rate
    q = prompt.plan.found.q if prompt else unpaid
    free, sales = present(q["free_cash"], rate), present(q["revenue"], rate)
    found = {"nothing": 0.0} | {f"line_{name}": value for name, value in base.others.items()}
    for name, row in case.other_ways.items():
        cost = in_money(case, row.cost, row.currency) / (1 + rate) ** (row.delay / 2)
        brings = row.value_share * free - row.royalty * sales * (1 - case.tax.rate)
        found[f"way_{name}"] = row.probability * brings / (1 + rate) ** row.delay - cost
    return found


def licensee_of(base, q, unpaid, lost, dividends, damages, prompt):
    """The licensee: with the payments, and if nothing were paid."""
    case, free = base.case, present(unpaid["free_cash"], base.rate)
    sales, shares = present(q["revenue"], base.rate), present(dividends, base.rate)
    back = 0.0
    for amount, time, currency in damages_due(base, damages, "licensee"):
        rates = [exchange(case, currency, k) for k in range(base.count)]
        back += present(times(due(base.count, 4 * time), q["open_share"], rates, amount), base.rate) * (1 - case.tax.rate)
    ways = alternatives(base, unpaid, prompt)
    best, undisturbed = max(ways.values()), present(q["free_cash"], base.rate) - shares
    npv, npv_free = undisturbed - lost["licensee"] + back, free - lost["licensee_free"]
    return ways, {
        "npv": npv, "npv_undisturbed": undisturbed, "npv_free": npv_free, "best_alternative": best, "ceiling": npv_free - best,
        "cost": npv_free - npv, "gain": npv - best, "sales_now": sales, "dividends": shares, "damages": back,
    }  # fmt: skip


def yardsticks(base, q, paid, sales):
    """Shares of profit in the licence."""
    profit = added(q["profit"], q["tax"])
    found = {}
    now, later = (sum(paid), sum(profit)), (present(paid, base.rate), present(profit, base.rate))
    for name, (payments, kept) in {"": now, "discounted_": later}.items():
        found[f"{name}profit"] = kept
        share = payments / (payments + kept) if payments + kept > 0 else None
        factor = kept / payments if payments > 0 else None
        found |= {f"{name}profit_share": share, f"{name}profit_share_status": float(share is not None)}
        found |= {f"{name}turnover_factor": factor, f"{name}turnover_factor_status": float(factor is not None)}
    rate = present(paid, base.rate) / sales if sales > 0 else None
    return found | {"royalty_equivalent": rate, "royalty_equivalent_status": float(rate is not None)}


def years_of_payments(base, plan, paid):
    """Royalty, its minimum and all payments by year."""
    case, q, found = base.case, plan.q, {}
    earned = second_licence.royalty_earned(case, base.start, q["revenue"], labelled(base, q))
    owed = second_licence.minimum(case, base.start, base.count, q["open_share"])
    missing = second_licence.missing(owed, earned, plan.end)
    closing = added(nothing(base.count), *[each.amounts for each in plan.streams if each.name == "minimum_due"])
    rows = {"earned": earned, "minimum": owed, "missing": missing, "due_at_closing": closing, "paid": paid}
    for year in range(int(case.schedule.horizon)):
        for name, row in rows.items():
            found[f"deal.years.y{year + 1:02d}.{name}"] = sum(row[k] for k in range(base.count) if year_of(k) == year)
        binds = found[f"deal.years.y{year + 1:02d}.missing"] + found[f"deal.years.y{year + 1:02d}.due_at_closing"] > 0
        found[f"deal.years.y{year + 1:02d}.minimum_binds"] = float(binds)
    return found


def deal(base, plan):
    """Every part of the deal by name."""
    case, q, open_ = base.case, plan.found.q, plan.found.q["open_share"]
    free = plan_of(base, paying=False)
    chances = {name: selling(row, case.licence.exclusive_time, base.count) for name, row in rivals(case).items()}
    chances_open = {name: selling(row, 0.0, base.count) for name, row in rivals(case).items()}
    lost, lost_open = taken(base, plan.found, chances), taken(base, plan.found, chances_open)
    dividends = [case.licence.equity_share * max(a - b, 0.0) for a, b in zip(q["free_cash"], lost["licensee_cash"])]
    promised = SimpleNamespace(power=guarantees(base), rates=rates_promised(base), dates=dates_promised(base))
    materials = materials_of(base, plan.found)
    deliveries, services, floor = costs_of_licensor(base, open_, promised, materials)
    prospects = forgone(case)
    territory = sum(each["lost"] for each in prospects.values())
    kinds = by_kind(base, plan.found.streams, dividends)
    licensor = licensor_of(base, kinds, floor, territory, lost)
    prompt = on_time(base)
    ways, licensee = licensee_of(base, q, free.found.q, lost, dividends, promised, prompt)
    shares_open = [case.licence.equity_share * max(a - b, 0.0) for a, b in zip(q["free_cash"], lost_open["licensee_cash"])]
    licensor_open = licensor_of(base, by_kind(base, plan.found.streams, shares_open), floor, 0.0, lost_open)
    licensee_open = licensee_of(base, q, free.found.q, lost_open, shares_open, promised, prompt)[1]
    paid = added(q["licence_fee"], q["royalty"], q["licence_services"])
    headings = {
        each.name: {
            "paid": sum(each.amounts),
            "licensor_net": left_of(case, each.amounts, each.kind),
            "licensee_paid": present(each.amounts, base.rate),
        }
        for each in plan.found.streams
    }
    gain, cost = licensor["gain"] + licensee["gain"], licensor_open["npv"] - licensor["npv"]
    return SimpleNamespace(
        dividends=dividends, free=free, on_time=prompt, kinds=kinds, headings=headings, deliveries=deliveries, services=services,
        prospects=prospects, chances=chances, chances_open=chances_open, lost=lost, lost_open=lost_open, guarantees=promised,
        licensor=licensor, supplied=materials,
        own_money={key: licensor[key] / case.rates[case.licensor.currency] for key in OWN_MONEY}, ways=ways, licensee=licensee,
        exclusivity={"licences_lost": territory, "payments_kept": territory - cost, "licensor_cost": cost,
                     "licensee_value": licensee["npv"] - licensee_open["npv"]},
        yardsticks=yardsticks(base, q, paid, licensee["sales_now"]), years=years_of_payments(base, plan.found, paid),
        gain=gain, share=licensor["gain"] / gain if gain > 0 else None,
    )  # fmt: skip
