"""Laws about power classes: no watt is lost between labels, what is given away and what is not sold; prices and limits act once."""

from __future__ import annotations

from costmodel.case.changes import with_values
from costmodel.case.whole_case import Case
from costmodel.model.evaluate import Results, evaluate

from .scaling_laws import Broken, broken, times


def power_made_is_labelled_given_away_or_not_sold(case: Case, results: Results) -> Broken:
    """All power and all modules stand in a class or below the first."""
    mean, sold = results.line.output.stabilised_power, results.line.power
    uses = sold.classes.values()
    yield from broken("power made", sold.labelled_power + sold.give_away + sold.unsold_power, mean)
    if not uses:
        yield from broken("paid share", sold.paid_share_of_power, 1.0)
        return
    yield from broken("modules made", sum(use.module_share for use in uses) + sold.unsold_share, 1.0)
    yield from broken(
        "modules of the year", sum(use.modules for use in uses), results.line.output.good_modules * (1 - sold.unsold_share)
    )
    yield from broken("power of classes", sum(use.power for use in uses) + sold.unsold_power, mean)
    yield from broken("labels of classes", sum(use.labelled_power for use in uses), sold.labelled_power)
    yield from broken("given away in classes", sum(use.give_away for use in uses), sold.give_away)


def prices_of_classes_scale_what_is_paid_and_no_watt(case: Case) -> Broken:
    """Half the price of every class is half of what is paid for; labels stay."""
    before, after = (
        evaluate(each).line.power
        for each in (case, times(case, {f"power_classes.{n}.price_share": 0.5 for n in case.power_classes}))
    )
    if case.power_classes:
        yield from broken("paid power", after.paid_power, before.paid_power / 2)
        yield from broken("paid modules", after.paid_share_of_modules, before.paid_share_of_modules / 2)
        yield from broken("labels", after.labelled_power, before.labelled_power)


def classes_move_with_the_power_of_the_module(case: Case) -> Broken:
    """Limits, labels and mean power by one factor leave every share as it is; a first limit far below leaves no module unsold."""
    if not case.power_classes:
        return
    columns = [f"power_classes.{name}.{column}" for name in case.power_classes for column in ("least_power", "label")]
    before = evaluate(case).line.power
    after = evaluate(times(case, {**dict.fromkeys(columns, 1.1), "product.stabilisation_ratio": 1.1})).line.power
    for name, use in before.classes.items():
        yield from broken(f"share of {name}", after.classes[name].module_share, use.module_share)
    yield from broken("paid share", after.paid_share_of_power, before.paid_share_of_power)
    first = next(iter(case.power_classes))
    low = evaluate(with_values(case, {f"power_classes.{first}.least_power": case.power_classes[first].least_power / 4})).line.power
    if low.unsold_share > 1e-9:
        yield f"unsold with a low limit: {low.unsold_share}"
    last = list(case.power_classes)[-1]
    dearer = evaluate(times(case, {f"power_classes.{last}.least_power": 1.02})).line.power
    if not dearer.classes[last].module_share < before.classes[last].module_share:
        yield f"share of {last} above a higher limit: {dearer.classes[last].module_share}"


POWER_LAWS_OF_ONE_CASE = (power_made_is_labelled_given_away_or_not_sold,)
POWER_LAWS_OF_CHANGES = (prices_of_classes_scale_what_is_paid_and_no_watt, classes_move_with_the_power_of_the_module)
