"""Time in the second model: columns of quarters, the first day being column 0, quarter k ending with column k."""


def within(value, low, high):
    """A value held between two limits."""
    return min(max(value, low), high)


def part_after(count, time):
    """How much of each quarter lies after a time in quarters; nothing of the first day."""
    return [0.0] + [within(k - time, 0.0, 1.0) for k in range(1, count)]


def part_between(count, begin, end):
    """How much of each quarter lies between two times in years from the first day."""
    return less(part_after(count, 4 * begin), part_after(count, 4 * end))


def fallen_due(count, time):
    """What has fallen due by the end of each column of an amount due at a time in quarters.

    At the time of a column all of it falls due there; between two columns each has a part, the nearer one more.
    """
    return [within(k + 1 - time, 0.0, 1.0) for k in range(count)]


def due(count, time):
    """The parts of it by column."""
    return steps(fallen_due(count, time))


def evenly(count, begin, end):
    """Parts by column of what is done evenly between two times in years."""
    return steps([within((k - 4 * begin) / (4 * end - 4 * begin), 0.0, 1.0) for k in range(count)])


def steps(amounts):
    """What each is above the one before."""
    return [now - before for now, before in zip(amounts, [0.0, *amounts])]


def sums(amounts):
    """Running sums."""
    total, found = 0.0, []
    for amount in amounts:
        total += amount
        found.append(total)
    return found


def added(*rows):
    """Sums of rows, column by column."""
    return [sum(each) for each in zip(*rows)]


def less(first, *others):
    """The first row less all others."""
    return [each[0] - sum(each[1:]) for each in zip(first, *others)]


def times(*rows):
    """Products of rows, or of rows and one number, column by column."""
    count = max(len(row) for row in rows if isinstance(row, list))
    found = [1.0] * count
    for row in rows:
        found = [a * b for a, b in zip(found, row if isinstance(row, list) else [row] * count)]
    return found


def nothing(count):
    """Zeros."""
    return [0.0] * count


def mid(change, column):
    """What a price of day one has become in the middle of a quarter."""
    return (1 + change) ** (max(column - 0.5, 0.0) / 4)


def quarterly(rate):
    """The rate of a quarter that compounds to a yearly one."""
    return (1 + rate) ** 0.25 - 1


def present(flows, yearly):
    """Present value on the first day at a yearly rate, each flow at the end of its quarter."""
    return sum(flow * (1 + yearly) ** (-k / 4) for k, flow in enumerate(flows))


def year_of(column):
    """The year of the plan in which a column lies, the first being 0; the first day is in the first year."""
    return max(column - 1, 0) // 4


def by_year(flows):
    """Rows of the columns of each year."""
    years = [[] for _ in range(year_of(len(flows) - 1) + 1)]
    for column, flow in enumerate(flows):
        years[year_of(column)].append(flow)
    return years


def exchange(case, currency, column):
    """What an exchange rate into the reporting currency has become at the end of a quarter, over that of the first day."""
    return 1.0 if currency == case.currency else (1 + case.changes[currency]) ** (column / 4)


def reported(case, amounts, currency):
    """Amounts by column in the reporting currency, each at the exchange rate of its quarter."""
    return [amount * case.rates[currency] * exchange(case, currency, k) for k, amount in enumerate(amounts)]
