"""The warranty in the second model: every claim of every quarter's modules, one by one; the provision is what is still to come."""

from statistics import NormalDist

from .second_case import in_money
from .second_time import mid, nothing


def claims_of_ages(row):
    """Claims in each year of age, over modules sold."""
    left, worst, found = 1.0, 0.0, []
    for year in range(1, 41):
        fails = left * (row.early_failures if year == 1 else row.later_failures)
        covered, of_power = (min(1.0, max(0.0, term - (year - 1))) for term in (row.product_term, row.power_term))
        elapsed = min(1.0, year / row.power_term) if row.power_term else 0.0
        promise = row.start_power + (row.end_power - row.start_power) * elapsed
        mean = 1.0 - row.first_year_loss - (year - 1) * row.degradation
        deviation = (row.first_year_spread**2 + ((year - 1) * row.degradation_spread) ** 2) ** 0.5
        below = max(worst, NormalDist(mean, deviation).cdf(promise))
        replaced = fails * covered * row.claimed_share
        found.append(replaced + (below - worst) * left * of_power * row.claimed_share)
        left, worst = left - fails + replaced, below
    return found


def warranty(base, q):
    """What is set aside, the claims, the interest and the provision by column, as if use never ended."""
    case, count = base.case, base.count
    names = ("warranty_provided", "warranty_paid", "warranty_unwinding", "warranty_to_settle")
    base.deducted_when_used = True
    q |= {name: nothing(count) for name in names}
    for row in case.warranty.values():
        base.deducted_when_used = row.deducted == "when_used"
        ages = claims_of_ages(row)
        change = next((each.change for each in case.escalations.values() if each.covers == "overheads"), case.returns.inflation)
        each = in_money(case, row.module_cost + row.freight + row.labour, row.currency)
        share = (1 - base.given["line.power.unsold_share"]) / base.given["line.output.stabilised_power"]
        nominal = ((1 + row.discount_rate) * (1 + change)) ** 0.25
        sold = [watts * share for watts in q["stabilised_watts"]]
        owed = [[0.0] * (count + 161) for _ in range(count)]  # cost by column of sale and column of claim
        for j, modules in enumerate(sold):
            for age in range(160):
                owed[j][j + 1 + age] = modules * ages[age // 4] / 4 * each * mid(change, j) * (1 + change) ** ((age + 1) / 4)

        def to_come(end, sales, owed=owed, nominal=nominal):
            return sum(cost / nominal ** (k - end) for j in sales for k, cost in enumerate(owed[j]) if k > end and cost)

        q["warranty_provided"] = [to_come(j, [j]) for j in range(count)]
        q["warranty_paid"] = [sum(row[k] for row in owed) for k in range(count)]
        q["warranty_to_settle"] = [to_come(k, range(k + 1)) for k in range(count)]
        q["warranty_unwinding"] = [(nominal - 1) * before for before in [0.0, *q["warranty_to_settle"]][:count]]
    return q
