"""Measures of an investment in the second model: from flows of quarters, the first on the first day."""

from .second_time import present, quarterly, sums


def roots(flows):
    """Rates of a quarter at which flows have no value, between -90 and 1,000 % a year, and whether the value falls there."""

    def value(rate):
        return sum(flow / (1 + rate) ** k for k, flow in enumerate(flows))

    low, high = quarterly(-0.9), quarterly(10.0)
    grid = [low + (high - low) * k / 2000 for k in range(2001)]
    values = [value(rate) for rate in grid]
    found = []
    for left, right, before, after in zip(grid, grid[1:], values, values[1:]):
        if before * after < 0:
            for _ in range(60):
                middle = (left + right) / 2
                left, right = (middle, right) if value(middle) * before > 0 else (left, middle)
            found.append(((left + right) / 2, before > 0))
    return found


def rate_of_return(flows):
    """Internal rate of return of a quarter with its status: the only rate, or why there is none."""
    out, back = sum(-flow for flow in flows if flow < 0), sum(flow for flow in flows if flow > 0)
    found = roots(flows)
    if out and back < 0.5 * out:
        return None, 4.0
    if len(found) != 1:
        return None, 2.0 if found else 0.0
    return (found[0][0], 1.0) if found[0][1] else (None, 3.0)


def paid_back(running):
    """Quarters below nothing; quarters until the sum is positive for good, in proportion within the last; and 1 if it is."""
    below = max([k + 1 for k, total in enumerate(running) if total < 0], default=0)
    if running[-1] < 0:
        return below, None, 0.0
    if below == 0:
        return below, 0.0, 1.0
    before, then = running[below - 1], running[below]
    return below, below - 1 - before / (then - before), 1.0


def worth(flows, yearly):
    """All measures by name, times in years."""
    rate, running = quarterly(yearly), sums(flows)
    discounted = sums([flow / (1 + yearly) ** (k / 4) for k, flow in enumerate(flows)])
    found = {"npv": present(flows, yearly)}
    irr, found["irr_status"] = rate_of_return(flows)
    found["irr"] = None if irr is None else (1 + irr) ** 4 - 1
    paid, got = sum(-flow for flow in flows if flow < 0), sum(flow for flow in flows if flow > 0)
    found["recovered"], found["recovered_status"] = (got / paid, 1.0) if paid else (None, 0.0)
    last = len(flows) - 1
    out = sum(-flow / (1 + rate) ** k for k, flow in enumerate(flows) if flow < 0)
    back = sum(flow * (1 + rate) ** (last - k) for k, flow in enumerate(flows) if flow > 0)
    whole = bool(out and back)
    found["mirr"], found["mirr_status"] = ((back / out) ** (4 / last) - 1, 1.0) if whole else (None, 0.0)
    for name, rows in (("", running), ("discounted_", discounted)):
        below, time, status = paid_back(rows)
        found |= {f"{name}quarters_below": below, f"{name}payback_status": status}
        found[f"{name}payback"] = None if time is None else time / 4
    low = min(0.0, *running)
    found |= {"low_point": low, "low_point_time": running.index(low) / 4 if low < 0 else 0.0}
    return found
