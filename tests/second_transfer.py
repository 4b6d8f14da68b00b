"""The transfer in the second model: every path through the tasks by itself, in place of passes forth and back."""

from math import sqrt

from .second_case import in_money

MONTHS, DAYS = 12.0, 365.0  # in a year


def before(row):
    """Names of the tasks that a task waits for."""
    names = [name.strip() for name in row.after.split(";")]
    return [] if names == ["start"] else [name for name in names if name]


def paths_to(rows, name):
    """Every path from the start that ends with a task."""
    waits = before(rows[name])
    return [[*path, name] for each in waits for path in paths_to(rows, each)] if waits else [[name]]


def paths_after(rows, name):
    """Every path of tasks that come after a task, the empty one among them."""
    found = [[]]
    for each, row in rows.items():
        if name in before(row):
            found += [[each, *path] for path in paths_after(rows, each)]
    return found


def longest(paths, length, width):
    """Length and variance of the longest path; of several, the largest variance."""
    return max((sum(length[name] for name in path), sum(width[name] for name in path)) for path in paths)


def planned_end(rows, name):
    """When a task ends at most likely durations, in years."""
    return max(sum(rows[each].most_likely for each in path) for path in paths_to(rows, name))


def expected_end(rows, name):
    """When it is expected to end, and the variance of that."""
    mean = {each: (row.optimistic + 4 * row.most_likely + row.pessimistic) / 6 for each, row in rows.items()}
    return longest(paths_to(rows, name), mean, {each: (row.pessimistic - row.optimistic) ** 2 / 36 for each, row in rows.items()})


def transfer(case):
    """Figures of the transfer by address, without their beginning; none without tasks."""
    rows = case.transfer_tasks
    if not rows:
        return {}
    likely = {name: row.most_likely for name, row in rows.items()}
    mean = {name: (row.optimistic + 4 * row.most_likely + row.pessimistic) / 6 for name, row in rows.items()}
    width = {name: (row.pessimistic - row.optimistic) ** 2 / 36 for name, row in rows.items()}
    nothing = dict.fromkeys(rows, 0.0)
    done = {name: longest(paths_to(rows, name), likely, nothing)[0] for name in rows}
    expected = {name: longest(paths_to(rows, name), mean, width) for name in rows}
    end, last = max(done.values()), max(expected.values())
    found = {"finish": MONTHS * end, "expected_finish": MONTHS * last[0], "deviation": MONTHS * sqrt(last[1])}
    found["variance"] = MONTHS**2 * last[1]
    for name in rows:
        latest = end - longest(paths_after(rows, name), likely, nothing)[0]
        times = {
            "earliest_begin": done[name] - likely[name], "earliest_finish": done[name],
            "latest_begin": latest - likely[name], "latest_finish": latest, "total_float": latest - done[name],
            "expected_duration": mean[name], "expected_begin": expected[name][0] - mean[name],
            "expected_finish": expected[name][0], "deviation": sqrt(expected[name][1]),
        }  # fmt: skip
        found[f"tasks.{name}.variance"] = MONTHS**2 * expected[name][1]
        found |= {f"tasks.{name}.{key}": MONTHS * value for key, value in times.items()}
    for name, row in case.transfer_gates.items():
        time, (middle, variance) = done[row.task], expected[row.task]
        times = {"time": time, "expected_time": middle, "deviation": sqrt(variance)}
        found |= {f"gates.{name}.{key}": MONTHS * value for key, value in times.items()}
        found[f"gates.{name}.variance"] = MONTHS**2 * variance
    return found | work(case, end)


def work(case, end):
    """Days and cost of each delivery by its tasks; days of each resource."""
    found, rows, of = {}, case.transfer_work.values(), case.transfer_resources
    for name, delivery in case.deliveries.items():
        own = [row for row in rows if case.transfer_tasks[row.task].delivery == name]
        people = [row for row in own if of[row.resource].resource_type == "staff"]
        staff, pilot = sum(row.days for row in people), sum(row.days for row in own if row not in people)
        days = {"staff_days": staff, "pilot_days": pilot, "staff_days_missing": delivery.days - staff,
                "pilot_days_missing": delivery.pilot_time - pilot}  # fmt: skip
        found |= {f"deliveries.{name}.{key}": DAYS * value for key, value in days.items()}
        found[f"deliveries.{name}.staff_cost"] = sum(
            in_money(case, row.days * of[row.resource].day_cost, of[row.resource].currency) for row in people
        )
    for name, row in of.items():
        days = {place: sum(x.days for x in rows if x.resource == name and x.place == place) for place in ("home", "site")}
        found |= {f"resources.{name}.{place}_days": DAYS * value for place, value in days.items()}
        found[f"resources.{name}.mean_load"] = sum(days.values()) / (row.available * end)
    return found
