"""Assets of the second model: what each costs, how it is written off, when it is replaced, what it sells for."""

import math
from types import SimpleNamespace

from .second_case import in_money
from .second_time import within


def straight(life, years, first=1.0, salvage=0.0):
    """Parts of a price written off year by year, evenly over a life; the first year counts in part."""
    ends = [within(first + k, 0.0, life) for k in range(years)]
    return [(1 - salvage) * (end - before) / life for before, end in zip([0.0, *ends], ends)]


def declining(life, years, factor, first=1.0, salvage=0.0):
    """By a declining balance, and straight line over what is left of the life from when that is more."""
    left, found = 1.0, []
    for k in range(years):
        age = 0.0 if k == 0 else first + k - 1
        part = within(life - age, 0.0, first if k == 0 else 1.0)
        if life - age <= 0:
            found.append(0.0)
            continue
        even = (left - salvage) * min(1.0, part / (life - age))
        off = min(max(even, left * factor / life * part), left - salvage)
        found.append(off)
        left -= off
    return found


def by_digits(life, years, first=1.0, salvage=0.0):
    """By the sum of the years' digits."""

    def off(age):
        rest = max(life - age, 0.0)
        return 1 - rest * (rest + 1) / (life * (life + 1))

    ends = [off(k + 1) - off(k) for k in range(years)]
    return [(1 - salvage) * (first * now + (1 - first) * last) for now, last in zip(ends, [0.0, *ends])]


def book_shares(case, covers, life, years):
    """How the books write equipment off; straight line to nothing where book_depreciation.csv has no row.

    What the ledger charges by production, the plan writes off in straight line, year by year.
    """
    row = next((row for row in case.book_depreciation.values() if row.covers == covers), None)
    if row is None or row.method in ("straight_line", "production"):
        return straight(life, years, salvage=row.salvage if row else 0.0)
    if row.method == "declining_balance":
        return declining(life, years, row.factor, salvage=row.salvage)
    return by_digits(life, years, salvage=row.salvage)


def tax_shares(case, covers, life, years):
    """How the tax office writes equipment off; as the books do where there is no row."""
    found = next(((name, row) for name, row in case.tax_depreciation.items() if row.covers == covers), None)
    if found is None:
        return book_shares(case, covers, life, years)
    name, row = found
    if row.method == "rates":
        rates = [each.rate for each in case.tax_rates.values() if each.schedule == name]
        return [*rates, *[0.0] * years][:years]
    if row.method == "declining_balance":
        return declining(row.life, years, row.factor, row.first_year)
    return (straight if row.method == "straight_line" else by_digits)(row.life, years, row.first_year)


def index_of(case, covers, year):
    """What turns a price of a year into money of the case; 1 where indices.csv names no such year."""
    return next((row.factor for row in case.indices.values() if row.covers == covers and row.year == year), 1.0)


def equipment(case, given):
    """All equipment: table, name, row, cost standing in the plant, bare price, kind of payment."""
    for name, row in case.tools.items():
        bare = in_money(case, row.price, row.currency) * index_of(case, "tools", row.price_year) * given[f"line.tools.{name}.tools"]
        yield "tools", name, row, bare * (1 + row.freight_and_duty + row.installation), bare, "equipment"
    for name, row in case.carriers.items():
        bare = in_money(case, row.price, row.currency) * index_of(case, "carriers", row.price_year)
        bare *= given[f"line.carriers.{name}.tools"]
        yield "carriers", name, row, bare * (1 + row.freight_and_duty), bare, "equipment"
    for name, row in case.spares.items():
        bare = in_money(case, row.price, row.currency) * index_of(case, "spares", row.price_year)
        bare *= given[f"line.tools.{row.tool}.tools"] if row.per == "tool" else 1.0
        bare *= given.get(f"line.growth.spares.{name}.units", 1.0)
        yield "spares", name, row, bare, bare, "equipment"
    for name, row in case.facilities.items():
        bare = in_money(case, row.price, row.currency) * index_of(case, "facilities", row.price_year)
        bare *= given.get(f"line.growth.facilities.{name}.units", 1.0)
        yield "facilities", name, row, bare, bare, "systems"


def assets_of(case, given):
    """All assets of the first plant. Reserve counts on all but land, the grant pays a part of all but land."""
    years, reserve, grant = int(case.schedule.horizon), 1 + case.outlay.contingency, 1 - case.outlay.grant
    found = {}
    for table, name, row, cost, bare, kind in equipment(case, given):
        overhaul = next((each for each in case.refurbishments.values() if (each.covers, each.equipment) == (table, name)), None)
        found[f"{table}_{name}"] = SimpleNamespace(
            price=cost * reserve, cost=cost * reserve * grant, bare=bare, kind=kind, table=table, worn=row.technical_life,
            overhaul=overhaul, books=book_shares(case, table, row.life, years), tax=tax_shares(case, table, row.life, years),
        )  # fmt: skip
    for name, row in case.capital.items():
        if row.treated == "asset":
            price, shares = in_money(case, row.amount, row.currency) * reserve, straight(row.life, years)
            found[f"capital_{name}"] = SimpleNamespace(
                price=price, cost=price * grant, kind="other", table="capital", worn=None, books=shares, tax=shares,
                end=price * row.end_share,
            )  # fmt: skip
    for name, row in case.land.items():
        price, shares = in_money(case, row.amount, row.currency), [0.0] * years
        found[f"land_{name}"] = SimpleNamespace(
            price=price, cost=price, kind="other", table="land", worn=None, books=shares, tax=shares, end=price * row.end_share,
        )  # fmt: skip
    return found


def times_done(time, first, cycle, spread):
    """How often what falls due at a time, then after each cycle, is done by a time, each time over a spread."""
    past = max(time - first, 0.0)
    whole = math.floor(past / cycle)
    return whole + min(1.0, (past - whole * cycle) / spread)


def done_by_year(years, last, first, cycle):
    """How often by the end of each year of use; nothing that falls due after the last time for it."""
    most = times_done(last, first, cycle, 0.25)
    return [min(times_done(k + 1.0, first, cycle, 1.0), most) for k in range(years)]


def changes(amounts):
    """What each is above the one before."""
    return [now - before for before, now in zip([0.0, *amounts], amounts)]


def life_of_asset(case, asset, start):
    """Bought, replaced and refurbished, and what it sells for, by year of use; `start` is in quarters."""
    years, inflation = int(case.schedule.horizon), case.returns.inflation
    if asset.worn is None:
        back = [asset.end] * years
        bought = [asset.cost, *[0.0] * (years - 1)]
        return SimpleNamespace(bought=bought, later=None, overhauled=None, resale=back, new=asset.end, age=0.0)
    end = years - start / 4
    last = end - case.schedule.last_replacement
    age = asset.worn + (asset.overhaul.added_life if asset.overhaul else 0.0)
    rise = [(1 + inflation) ** (start / 4 + k) for k in range(years)]
    so_far = done_by_year(years, last, age, age)
    each = changes(so_far)
    again = [asset.price * up * count for up, count in zip(rise, each)]
    in_plan = sum(count * within(end - k, 0.0, 1.0) for k, count in enumerate(each))
    gone = changes([min(count, max(in_plan - 1.0, 0.0)) for count in so_far])
    later = [asset.price * up * count for up, count in zip(rise, gone)]
    later[0] = asset.cost * (min(1.0, in_plan) + gone[0])
    overhauled = None
    if asset.overhaul:
        counts = changes(done_by_year(years, last, asset.worn, age))
        overhauled = [asset.price * up * asset.overhaul.cost * count for up, count in zip(rise, counts)]
    keep, new = 1 - case.outlay.resale_decline, case.outlay.resale_share
    resale = []
    for k, count in enumerate(so_far):
        whole = math.floor(count)
        older, newer = (keep ** max(k + 1 - number * age, 0.0) for number in (whole, whole + 1))
        part = count - whole
        resale.append(asset.bare * rise[k] * (1 + inflation) * new * ((1 - part) * older + part * newer))
    bought = [asset.cost + again[0], *again[1:]]
    return SimpleNamespace(
        bought=bought, later=later, overhauled=overhauled, resale=resale, new=asset.bare * rise[0] * new, age=age
    )  # fmt: skip


def written_off(bought, shares):
    """What purchases of each year write off in each year."""
    return [sum(bought[k] * shares[n - k] for k in range(n + 1)) for n in range(len(bought))]


def with_loss(stay, gone, shares, age):
    """Written off and lost, of pieces that stay and of those that are replaced at an age."""
    passed = [within(k + 1 - age, 0.0, 1.0) for k in range(len(shares))]
    used = [share * (1 - part) for share, part in zip(shares, passed)]
    left = [1 - sum(shares[:k]) for k in range(len(shares))]
    lost = [part * rest for part, rest in zip(changes(passed), left)]
    off = [a + b for a, b in zip(written_off(stay, shares), written_off(gone, used))]
    return off, written_off(gone, lost)


def years_of_asset(asset, life):
    """Spent on replacement and overhaul, written off in the books, lost by replacement, written off for tax."""
    none = [0.0] * len(life.bought)
    gone = life.later or none
    stay = [a - b for a, b in zip(life.bought, gone)]
    books, lost = with_loss(stay, gone, asset.books, life.age if life.later else 0.0)
    tax, tax_lost = with_loss(stay, gone, asset.tax, life.age if life.later else 0.0)
    overhauls = life.overhauled or none
    carried = written_off(overhauls, straight(asset.overhaul.added_life, len(none))) if life.overhauled else none
    spent = [a + b for a, b in zip([life.bought[0] - asset.cost, *life.bought[1:]], overhauls)]
    return (
        spent,
        [a + b for a, b in zip(books, carried)],
        lost,
        [a + b + c for a, b, c in zip(tax, tax_lost, carried)],
    )


def years_of_expansion(case, row, whole, start):
    """Spent on an expansion over the year before it starts, and written off from then on."""
    years = int(case.schedule.horizon)
    paid = changes([within(k + 2 - row.time, 0.0, 1.0) for k in range(years)])
    spent = [
        row.size * row.capital_share * whole * (1 + case.returns.inflation) ** (start / 4 + k) * part for k, part in enumerate(paid)
    ]
    off = written_off(spent, [0.0, *straight(row.life, years - 1)])
    return spent, off, [0.0] * years, off


def years_of_use(case, assets, lives, start):
    """All assets and expansions together, by year of use."""
    whole = sum(asset.price for asset in assets.values())
    rows = [years_of_asset(asset, lives[name]) for name, asset in assets.items()]
    rows += [years_of_expansion(case, row, whole, start) for row in case.expansions.values()]
    spent, books, lost, tax = ([sum(each) for each in zip(*(row[k] for row in rows))] for k in range(4))
    resale = [sum(each) for each in zip(*(life.resale for life in lives.values()))]
    return SimpleNamespace(replaced=spent, books=books, lost=lost, tax=tax, resale=resale)
