"""End of use, statements and measures of the plan in the second model."""

from types import SimpleNamespace

from .second_capital import in_years_of_use, resale_at, vat_owed
from .second_case import in_money
from .second_tax import tax_instead, taxes
from .second_time import added, less, nothing, part_after, quarterly, steps, sums, times, within


def at(count, column, value):
    """A row with one amount."""
    return [value if k == column else 0.0 for k in range(count)]


def before(row, end):
    """A row that ends before the column with which use ends."""
    return [value if k < end else 0.0 for k, value in enumerate(row)]


def fee_written_off(paid, shares, end):
    """Written off of what was paid for the licence, and what is left: evenly over what remains of the term."""
    rest = [sum(shares[k:]) for k in range(len(shares) + 1)]
    off, left, value = [], [], 0.0
    for k, amount in enumerate(paid):
        now = (value + amount) * shares[k] / rest[k] if rest[k] > 0 else 0.0
        off.append(now)
        value = 0.0 if k >= end else value + amount - now
        left.append(value)
    return off, left


def repaid_share(elapsed, term, rate, form):
    """The share of a loan that is repaid after so many quarters of its term."""
    elapsed = within(elapsed, 0.0, term)
    if form == "linear" or not rate:
        return elapsed / term
    return ((1 + rate) ** elapsed - 1) / ((1 + rate) ** term - 1)


def proceeds(base, q):
    """What closing at the end of each column would bring and cost."""
    case, row, count = base.case, base.case.closing, base.count
    price = in_money(case, row.dismantling, row.currency)
    pay = sum(cost for cost in vars(base.costs["labour"]).values())
    up = [(1 + case.returns.inflation) ** (k / 4) for k in range(count)]
    wages = base.rises("labour")
    unpaid = nothing(count)
    for kind, shares in base.paid.items():
        cost = sum(asset.cost for asset in base.assets.values() if asset.kind == kind)
        unpaid = added(unpaid, [cost * (1 - share) for share in shares])
    granted = sum(asset.price - asset.cost for asset in base.assets.values())
    bound = 4 * row.grant_time
    back = [granted * min(1.0, max(base.start + bound - k, 0.0) / bound) if bound else 0.0 for k in range(count)]
    severance = times(wages, q["fixed_share"], pay * row.severance_time)
    return SimpleNamespace(
        sale=[resale_at(base, k) for k in range(count)],
        dismantling=[price * rise for rise in up],
        cost=added(severance, times(q["stock"], 1 - row.stock_recovered), back),
        unpaid=unpaid,
        deducted=q["warranty_to_settle"] if base.deducted_when_used else nothing(count),
    )


def close(base, q, streams, claims, gap, end):
    """End the use of a plant at a column; then statements, taxes, loan and cash."""
    case, count, early = base.case, base.count, end < base.count - 1
    p = proceeds(base, q)
    spent = nothing(count)
    for kind, shares in base.paid.items():
        cost = sum(asset.cost for asset in base.assets.values() if asset.kind == kind)
        spent = added(spent, times(steps(shares), cost))
    open_ = q["open_share"]
    late = at(count, end, p.unpaid[end] if early else 0.0)
    q["capital"] = added(times(spent, open_), late)
    years = {name: times(in_years_of_use(base, getattr(base.years, name)), open_) for name in ("replaced", "books", "lost", "tax")}
    q["replacement"] = years["replaced"]
    q["tied"] = less(added(q["receivables"], q["stock"]), q["payables"])
    owed = vat_owed(base)
    p.set_free = added(q["tied"], owed)
    q["available_if_closed"] = less(added(p.sale, p.set_free), p.cost, p.dismantling, p.unpaid, q["warranty_to_settle"])
    q["resale"] = p.sale
    # what is drawn and owed if use never ended
    loan = case.loan
    drawn = times(spent, open_, loan.part)
    rate = loan.interest / 4
    back = [sum(drawn) * repaid_share(k - 4 * loan.grace, 4 * loan.term, rate, loan.form) for k in range(count)]
    debts = less(sums(drawn), back)
    # claims of the licensor at closing, as far as they are paid
    due = added(nothing(count), *[each.amounts for each in claims])
    rest = [max(free - debt, 0.0) for free, debt in zip(q["available_if_closed"], debts)]
    owners = case.closing.shortfall == "owners"
    part = [1.0 if owners or claim <= left else left / claim for claim, left in zip(due, rest)]
    due_now = added(times(due, part), gap)
    for each in claims:
        each.once, each.amounts = False, at(count, end, each.amounts[end] * part[end] if early else 0.0)
        name = "royalty" if each.name == "minimum_due" else "licence_services"
        q[name] = added(q[name], each.amounts)
    forgiven = [0.0 if owners else max(debt - max(free, 0.0), 0.0) for free, debt in zip(q["available_if_closed"], debts)]
    short = [max(debt + claim - max(free, 0.0), 0.0) for debt, claim, free in zip(debts, due, q["available_if_closed"])]
    q["forgiven"] = at(count, end, forgiven[end] if early else 0.0)
    q["closing_cost"] = at(count, end, p.dismantling[end] + (p.cost[end] if early else 0.0))
    q["end_value"] = at(count, end, p.sale[end])
    outgo = added(q["variable_cost"], q["fixed_cost"], q["start_up"], q["royalty"], q["licence_services"])
    q["operating"] = less(added(q["revenue"], q["sublicences"]), outgo, q["warranty_provided"])
    q["warranty_paid"] = added(times(q["warranty_paid"], open_), at(count, end, q["warranty_to_settle"][end]))
    q["warranty_unwinding"] = times(q["warranty_unwinding"], open_)
    q["warranty_provision"] = before(q["warranty_to_settle"], end)
    term = less(part_after(count, base.start), part_after(count, base.start + 4 * case.licence.term))
    off, q["licence_value"] = fee_written_off(q["licence_fee"], term, end)
    outlay = added(q["capital"], q["licence_fee"], q["replacement"])
    q["depreciation"] = added(years["books"], off)
    kept = less(outlay, q["depreciation"], years["lost"])
    q["disposal"] = added(years["lost"], at(count, end, sum(kept) - p.sale[end]))
    written = added(years["tax"], off)
    q["unwritten"] = sums(less(outlay, written, late))
    q["tax_depreciation"] = added(written, at(count, end, q["unwritten"][end] + late[end]))
    later = less(q["warranty_provided"], q["warranty_paid"])
    if not base.deducted_when_used:
        later = times(q["warranty_unwinding"], -1.0)
    q["taxable_without_loan"] = added(less(q["operating"], q["closing_cost"], q["tax_depreciation"]), q["end_value"], later)
    q["working_capital"], q["vat_receivable"] = before(q["tied"], end), before(owed, end)
    for name in ("receivables", "stock", "payables"):
        q[name] = before(q[name], end)
    q["vat"] = steps(q["vat_receivable"])
    with_loan(base, q, (drawn, steps(back), debts, rate), end)
    statements(base, q, outlay)
    return SimpleNamespace(q=q, streams=[*streams, *claims], proceeds=p, due=due_now, short=short, end=end, early=early)


def with_loan(base, q, loan, end):
    """The loan, repaid whole as use ends, and both taxes."""
    drawn, repaid, debts, rate = loan
    q["drawn"] = drawn
    q["debt"] = before(debts, end)
    q["repaid"] = [back + (debts[k] - q["forgiven"][k] if k == end else 0.0) if k <= end else 0.0 for k, back in enumerate(repaid)]
    q["interest"] = [rate * debt for debt in [0.0, *q["debt"]][: base.count]]
    q["taxable"] = less(q["taxable_without_loan"], q["interest"])
    for name, suffix in (("taxable", ""), ("taxable_without_loan", "_without_loan")):
        found = taxes(base.case, q[name], base.holidays)
        q[f"tax{suffix}"], q[f"losses_carried{suffix}"], q[f"losses_made{suffix}"] = found.paid, found.carried, found.made
        q[f"losses_gone{suffix}"], q[f"profits_taxed{suffix}"], q[f"profits_gone{suffix}"] = found.gone, found.taxed, found.taken
        if suffix:
            q["settled"] = found


def statements(base, q, outlay):
    """Profit, cash and balance sheet."""
    losses = added(q["closing_cost"], q["depreciation"], q["interest"], q["warranty_unwinding"], q["disposal"], q["tax"])
    q["profit"] = less(added(q["operating"], q["forgiven"]), losses)
    earned = added(q["operating"], q["warranty_provided"], q["end_value"])
    cash = less(earned, q["warranty_paid"], q["closing_cost"], outlay, q["vat"], steps(q["working_capital"]))
    q["free_cash"] = less(cash, q["tax_without_loan"])
    q["owners_cash"] = less(added(cash, q["drawn"]), q["tax"], q["repaid"], q["interest"])
    for name, rate in (("free", base.rate), ("owners", base.owners_rate)):
        flows, each = q[f"{name}_cash"], 1 + quarterly(rate)
        q[f"cumulative_{name}_cash"] = sums(flows)
        q[f"discounted_{name}_cash"] = sums([flow / each**k for k, flow in enumerate(flows)])
    q["fixed_assets"] = sums(less(outlay, q["depreciation"], q["disposal"], q["end_value"]))
    q["equity"] = sums(less(q["profit"], q["owners_cash"]))
    owned = added(q["fixed_assets"], q["working_capital"], q["vat_receivable"])
    q["balance"] = less(owned, q["debt"], q["warranty_provision"], q["equity"])


def lost_quarters(cash, run):
    """Quarters in a row in which operation, replacement paid, lost cash; of whole quarters of production."""
    found, so_far = [], 0.0
    for amount, part in zip(cash, run):
        so_far = so_far + 1 if amount < 0 and part >= 1 else 0.0
        found.append(so_far)
    return found


def settle(base, run_plan):
    """The plan that never closes, the end by the rule, and the plan that ends then."""
    row, count = base.case.closing, base.count
    never = run_plan([1.0] * count)
    lost = lost_quarters(less(never.q["operating"], never.q["replacement"]), base.run)
    end = count - 1
    if row.rule == "by_loss":
        late = [k for k in range(count) if k >= base.start + 4 * row.not_before and lost[k] >= row.loss_quarters]
        end = min([end, *late])
    found = never if end == count - 1 else run_plan([1.0 if k <= end else 0.0 for k in range(count)])
    for each in (never, found):
        each.q["lost_quarters"] = lost
    return SimpleNamespace(never=never, found=found, ending=ending(base, never, found))


def ending(base, never, found):
    """When use ends by the rule, and when it would best."""
    q, p, count = never.q, never.proceeds, base.count
    values, incomes = [], []
    stays = q["discounted_free_cash"][-1]
    each = 1 + quarterly(base.rate)
    for k in range(count):
        expenses = p.cost[k] + p.dismantling[k] + never.due[k] + p.deducted[k]
        incomes.append(q["taxable_without_loan"][k] + p.sale[k] - q["unwritten"][k] - p.unpaid[k] - expenses)
        tax = tax_instead(base.case, q["settled"], k, incomes[k]) - q["settled"].paid[k]
        value = q["discounted_free_cash"][k] + (q["available_if_closed"][k] - never.due[k] - tax) / each**k
        values.append(value if base.run[k] >= 1 and k < count - 1 else stays)
    best = max(values)
    when = [k for k in range(count) if base.run[k] >= 1 and values[k] >= best]
    return {
        "early": 1.0 if found.early else 0.0,
        "time": found.end / 4,
        "npv_never": stays,
        "npv_best": best,
        "best_time": min([count - 1, *when]) / 4,
        "shortfall": found.short[found.end] if found.early else 0.0,
        "npv_if_closed": values,
        "taxable_if_closed": incomes,
        "due_if_closed": never.due,
    }
