"""What the licensee pays for the licence, heading by heading, in the second model."""

from types import SimpleNamespace

from .second_case import in_money
from .second_time import added, by_year, due, evenly, exchange, less, mid, nothing, part_after, part_between, reported, sums, times
from .second_transfer import planned_end


def gross(case, kind):
    """What is paid for each unit agreed, where the licensee bears a part of the withholding tax."""
    row = case.payment_kinds[kind]
    return 1 / (1 - row.gross_up * row.withholding)


def stream(name, kind, amounts, once=False):
    """A heading, the kind of payment, and the amounts by column before the licensee's part of withholding tax."""
    return SimpleNamespace(name=name, kind=kind, once=once, amounts=amounts)


def royalty_time(case):
    """Time from the start of production for which royalty is paid."""
    return min([case.licence.term, *[row.time for row in case.buy_outs.values()]])


def royalty_earned(case, start, sales, watts):
    """Running royalty by net sales and watts, changed by steps, not above the cap."""
    row, count = case.licence, len(sales)
    ran, ended = part_after(count, start), part_after(count, start + 4 * royalty_time(case))
    begun = [part_after(count, start + 4 * step.time) for step in case.royalty_steps.values()]
    found = []
    for k in range(count):
        if not ran[k]:
            found.append(0.0)
            continue
        factor, before = 1.0, 1.0
        for step, part in zip(case.royalty_steps.values(), begun):
            factor += (step.factor - before) * part[k] / ran[k]
            before = step.factor
        base = row.net_sales * sales[k]
        watt = in_money(case, row.royalty_per_watt, row.currency) * mid(row.per_watt_change, k) * exchange(case, row.currency, k)
        full = min(factor * (row.royalty * base + watt * watts[k]), row.royalty_cap * base)
        found.append(full * (ran[k] - ended[k]) / ran[k])
    return found


def minimum_of(case, row, start, count):
    """The least royalty of a row by column in its own currency, ended by a buy-out."""
    owed = times(part_between(count, row.begin, row.end), row.amount / 4)
    for buy_out in case.buy_outs.values():
        owed = [amount * (1 - part) for amount, part in zip(owed, part_after(count, start + 4 * buy_out.time))]
    return owed


def minimum(case, start, count, open_):
    """The least royalty by column while the plant is in use, in the reporting currency."""
    rows = [reported(case, minimum_of(case, row, start, count), row.currency) for row in case.minimum_royalties.values()]
    return times(added(nothing(count), *rows), open_)


def missing(owed, earned, end):
    """What is missing to the least royalty of a year, paid in its last column or in the one in which use ends early."""
    found, begin = nothing(len(owed)), 0
    for year in by_year(owed):
        last = begin + len(year) - 1
        pay = min(max(end, begin), last)
        found[pay] = max(sum(owed[begin : last + 1]) - sum(earned[begin : last + 1]), 0.0) if begin <= end else 0.0
        begin = last + 1
    return found


def short_so_far(owed, earned):
    """What is missing to the least royalty of the year so far; nothing in its last column, which pays it anyhow."""
    found = []
    for least, got in zip(by_year(owed), by_year(earned)):
        gap = [max(a - b, 0.0) for a, b in zip(sums(least), sums(got))]
        found += [*gap[:-1], 0.0]
    return found


def upfront(case):
    """The upfront fee less what of other fees is credited against it, in its currency at the rates of the first day."""
    row = case.licence
    credited = sum(in_money(case, fee.amount * fee.probability * fee.credited, fee.currency) for fee in case.fees.values())
    return max(row.upfront - credited / case.rates[row.currency], 0.0)


def date_and_chance(case, row):
    """When a fee or test is due, and the probability that its gate is passed at all."""
    gate = case.transfer_gates.get(getattr(row, "counted_from", "first_day"))
    return (row.time, 1.0) if gate is None else (planned_end(case.transfer_tasks, gate.task) + row.time, gate.probability)


def fees(case, start, count, watts_of_year):
    """What is paid once: upfront fee, milestones, fees for expansions, buy-outs."""
    row = case.licence
    yield stream("upfront", "licence", reported(case, times(due(count, 4 * row.upfront_time), upfront(case)), row.currency), True)
    for name, fee in case.fees.items():
        date, passed = date_and_chance(case, fee)
        amounts = times(due(count, 4 * date), fee.amount * passed * fee.probability)
        yield stream(f"fee_{name}", fee.paid_as, reported(case, amounts, fee.currency), True)
    for name, each in case.expansions.items():
        amounts = times(due(count, start + 4 * each.time), row.expansion_fee * each.size * watts_of_year)
        yield stream(f"expansion_{name}", "licence", reported(case, amounts, row.currency), True)
    for name, each in case.buy_outs.items():
        amounts = times(due(count, start + 4 * each.time), each.amount)
        yield stream(f"buy_out_{name}", "licence", reported(case, amounts, each.currency), True)


def yearly(row, amount, count):
    """An amount a year between two times, with its yearly change, in its own currency."""
    return [amount / 4 * part * mid(row.change, k) for k, part in enumerate(part_between(count, row.begin, row.end))]


def prices_of_service(case, name):
    """What a yearly service is paid a year, with the currency: its price, and the samples of each of its tests."""
    row = case.yearly_services[name]
    tests = [test for test in case.laboratory_tests.values() if test.service == name]
    return [(row.price, row.currency), *[(test.price * test.samples, test.currency) for test in tests]]


def works(case, count):
    """Work of the licensor for the transfer, then year by year."""
    for name, row in case.deliveries.items():
        amounts = times(evenly(count, row.begin, row.end), row.price)
        yield stream(f"delivery_{name}", row.paid_as, reported(case, amounts, row.currency))
    for name, row in case.yearly_services.items():
        amounts = [reported(case, yearly(row, amount, count), currency) for amount, currency in prices_of_service(case, name)]
        yield stream(f"service_{name}", row.paid_as, added(*amounts))


def supplies(case, assets, paid, materials):
    """Margins: on the first equipment as it is paid, on materials as they are used."""
    for name, row in case.supplies.items():
        if row.covers == "materials":
            yield stream(f"supply_{name}", row.paid_as, times(materials, row.part * row.margin))
        else:
            price = sum(asset.price for asset in assets.values() if asset.table == row.covers)
            yield stream(f"supply_{name}", row.paid_as, times(paid, price * row.part * row.margin), True)


def sublicence_income(case, count):
    """What sublicences may be expected to bring the licensee."""
    return {
        name: reported(case, times(part_between(count, row.begin, row.end), row.income * row.probability / 4), row.currency)
        for name, row in case.sublicences.items()
    }


def claims(case, start, count):
    """What would fall due as the plant closes: minimums and yearly services still to come, at the exchange rate of that day."""
    rows = [row for row in case.minimum_royalties.values() if row.after_closing == "due"]
    if rows:
        each = [reported(case, still_to_come(minimum_of(case, row, start, count)), row.currency) for row in rows]
        yield stream("minimum_due", "licence", added(*each))
    for name, row in case.yearly_services.items():
        if row.after_closing == "due":
            left = [(still_to_come(yearly(row, amount, count)), currency) for amount, currency in prices_of_service(case, name)]
            yield stream(f"service_{name}_due", row.paid_as, added(*[reported(case, amounts, own) for amounts, own in left]))


def still_to_come(amounts):
    """What comes after each column in all."""
    total = sum(amounts)
    return less([total] * len(amounts), sums(amounts))
