"""Power classes: under which labels modules are sold, and how many watts the labels leave unpaid; sentences and tables."""

from __future__ import annotations

from ..case.whole_case import Case
from ..model.evaluate import Results
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
