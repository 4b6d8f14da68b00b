"""When capital of the second model is paid, and what assets hold by quarter."""

from .second_time import added, fallen_due, less, nothing, times, within


def paid_by(case, count, kind, later):
    """The share of the capital of a kind that is paid by the end of each column, or so many years later."""
    rows = [times(fallen_due(count, 4 * (row.time + later)), row.part) for row in case.payments.values() if row.covers == kind]
    return added(nothing(count), *rows)


def in_years_of_use(base, amounts):
    """Amounts of years of use, spread evenly over their quarters."""
    found = nothing(base.count)
    for year, amount in enumerate(amounts):
        for k in range(base.count):
            begun = base.run[k - 4 * year] if k >= 4 * year else 0.0
            over = base.run[k - 4 * year - 4] if k >= 4 * year + 4 else 0.0
            found[k] += amount / 4 * (begun - over)
    return found


def resale_at(base, column):
    """What all assets would sell for at the end of a column, in proportion between ends of years of use."""
    price = before = sum(life.new for life in base.lives.values())
    for year, end in enumerate(base.years.resale):
        price += (end - before) * within((column - base.start) / 4 - year, 0.0, 1.0)
        before = end
    return price


def vat_owed(base):
    """Value added tax paid at the border and not yet paid back."""
    case, owed = base.case, nothing(base.count)
    for kind in ("equipment", "systems"):
        price = sum(asset.price for asset in base.assets.values() if asset.kind == kind) * case.outlay.import_vat
        back = paid_by(case, base.count, kind, case.outlay.vat_return_time)
        owed = added(owed, times(less(base.paid[kind], back), price))
    return owed
