"""Materials that the licensor supplies, in the second model: quarter by quarter, in plain loops."""

from .second_case import in_money
from .second_time import exchange, mid, part_between


def price_in(case, row, amount, k):
    """A price or cost of a row in a quarter, in the reporting currency."""
    return in_money(case, amount, row.currency) * mid(row.change, k) * exchange(case, row.currency, k)


def supplied(base, q):
    """By row: what is used, what is supplied, both prices, by quarter."""
    case, given, found = base.case, base.given, {}
    up = base.rises("materials")
    for name, row in case.supplied_materials.items():
        start = f"ledger.landed.{row.item}"
        of_year = given[f"{start}.used"]
        per_module = sum(
            x["quantity"] for x in base.ledger if (x["category"], x["item"], x["driver"]) == ("materials", row.item, "module")
        )
        bound = part_between(base.count, row.begin, row.free_from)
        free = part_between(base.count, row.free_from, row.end)
        rows = {"used": [], "quantity": [], "price": [], "second_price": []}
        for k in range(base.count):
            used = ((of_year - per_module) * q["started_share"][k] + per_module * q["good_share"][k]) / 4
            ours = price_in(case, row, row.price, k)
            theirs = given[f"{start}.price"] * up[k] * q["learning_factor"][k]
            part = bound[k] + (free[k] if ours <= theirs else 0.0)
            for key, value in (
                ("used", used),
                ("quantity", min(used, row.most / 4) * part),
                ("price", ours),
                ("second_price", theirs),
            ):
                rows[key].append(value)
        found[name] = rows
    return found


def paid_above(rows):
    """What is paid above the second source."""
    return [each * (a - b) for each, a, b in zip(rows["quantity"], rows["price"], rows["second_price"])]


def cost_above(case, row, rows):
    """What it costs the licensor above the price of the second source."""
    costs = [price_in(case, row, row.own_cost, k) for k in range(len(rows["quantity"]))]
    return [each * (a - b) for each, a, b in zip(rows["quantity"], costs, rows["second_price"])]
