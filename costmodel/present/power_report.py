"""Power classes: under which labels modules are sold, and how many watts the labels leave unpaid; sentences and tables."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..studies.factory.class_limits import ClassLimits
from .numbers import money, people, percent, stated
from .table import Table, table_of

NO_CLASSES = "The case has no power_classes.csv: customers pay for every watt."


def classes(case: Case, results: Results) -> str:
    """How much power is given away above the labels, what is not sold, and what a watt costs on either basis."""
    if not case.power_classes:
        return NO_CLASSES
    output, sold = results.line.output, results.line.power
    mean, given = output.stabilised_power, sold.give_away
    said = [f"A module has {people(mean)} W on average after light soaking, and {people(sold.labelled_power)} W on its label."]
    if given >= 0:
        said.append(f"So {people(given)} W of a module, {percent(given / mean, 2)}, are given away above the labels.")
    else:
        said.append(f"So labels promise {people(-given)} W of a module more than it has.")
    if sold.unsold_share > 0.00005:
        said.append(f"{percent(sold.unsold_share, 2)} of the good modules stay below the first class, and are not sold.")
    if results.ledger.cost_per_labelled_watt_status:
        watt, label = results.ledger.total.cost_per_stabilised_watt, results.ledger.cost_per_labelled_watt
        said.append(f"A watt made costs {money(watt, case.currency)}, a watt on a label {money(label, case.currency)}.")
    return " ".join(said)


def classes_table(case: Case, results: Results) -> Table:
    """Each class: its limits, its part of the modules, their mean power, and what its label leaves unpaid."""
    found = results.line.power.classes
    columns = {
        "": lambda name, row, use: row.title,
        "rated from, W": lambda name, row, use: stated(row.least_power),
        "label, W": lambda name, row, use: stated(row.label),
        "price": lambda name, row, use: percent(row.price_share),
        "modules": lambda name, row, use: percent(use.module_share),
        "mean power, W": lambda name, row, use: people(use.mean_power) if use.mean_power_status else "–",
        "given away, W": lambda name, row, use: people(use.mean_power - row.label) if use.mean_power_status else "–",
    }
    things = ((name, row, found[name]) for name, row in case.power_classes.items())
    note = "The class follows the power rated after light soaking. Customers pay for the label, at the price of the class."
    return table_of("Power classes", things, columns, note=note)


def limits(case: Case, results: Results, found: ClassLimits) -> str:
    """What the best limits would sell a year's modules for, against the present ones."""
    unit = case.currency if case.sales else "watts paid for"
    modules = results.line.output.good_modules
    gain = (found.best - found.now) * modules
    if gain <= 0:
        return "No other limits that were tried sell the modules for more."
    share = percent(found.best / found.now - 1, 2)
    return (
        f"With all limits at their best, the modules of a year sell for {unit} {people(gain)} more, {share}. Then "
        f"{people(found.give_away)} W of a module are given away, and {percent(found.unsold_share, 2)} of the modules stay unsold."
    )


def limits_table(case: Case, results: Results, found: ClassLimits) -> Table:
    """Each limit now, at its best by itself, and where all are chosen."""
    modules, unit = results.line.output.good_modules, case.currency if case.sales else "W"
    columns = {
        "": lambda each: case.power_classes[each.name].title,
        "limit now, W": lambda each: stated(each.now),
        "best by itself, W": lambda each: people(each.alone),
        f"sells for more, {unit} a year": lambda each: people(each.gain * modules),
        "best with all chosen, W": lambda each: people(each.together),
    }
    note = (
        "Label and limit move together; prices of classes over that in sales.csv stay. Customers must accept other labels at "
        "these prices."
    )
    return table_of("Limits of classes tried", [(each,) for each in found.limits], columns, note=note)
