"""What the figures say, in plain words; every number in a sentence comes from the results."""
from __future__ import annotations

from ..case.records import Case
from ..ledger.records import PLANT
from ..model import Results
from .numbers import label, money, people, percent
from .tables import evidence_counts, step_title

CAUTIONS = (
    "This is a cost estimate from the inputs listed in this report. It is no offer and no advice on investment, tax or law; take "
    "decisions about money with licensed advisers.",
    "The process uses silane, which ignites in air, hydrogen, toxic dopant gases, fluorine compounds where chambers are "
    "cleaned with them, lasers, vacuum, hot glass and high voltage. Costs of such systems are entered as figures; nothing "
    "here sizes them or shows that they are safe.",
    "Siting, storage, detection, exhaust and abatement follow local codes and are the work of licensed engineers, the "
    "fire authority, the labour inspectorate, the environmental permit and the insurer.",
)

CONVENTIONS = (
    "All amounts are for one year of steady operation; a year is 8,760 hours. Ramp, taxes and finance are not in these figures.",
    "Prices are as stated in the tables, in the currency and price year of their row, converted at the exchange rates of "
    "money.csv; nothing is inflated to another year.",
    "A stabilised watt is a watt after light soaking under standard test conditions; an initial watt is one before.",
    "Yield loss is money spent on plates that do not end as good modules. Found line by line and step by step, it is the same.",
    "Tools are bought whole. A tool that serves several steps is counted once, with the time of all its steps.",
    "Depreciation is straight line without salvage value; interest is not in it.",
)


def headline(case: Case, results: Results) -> str:
    """The answer in one sentence."""
    total = results.ledger.total
    return (f"A module costs {money(total.cost_per_module, case.currency)} to make: "
            f"{money(total.cost_per_stabilised_watt, case.currency)} per stabilised watt, "
            f"{money(total.cost_per_m2, case.currency)} per m2.")


def volume(case: Case, results: Results) -> str:
    """What the plant makes, in one sentence."""
    output = results.line.output
    return (f"The plant makes {people(output.good_modules)} good modules of {people(output.stabilised_power)} W a year, "
            f"{people(output.stabilised_watts / 1e6)} MW stabilised, from {people(output.plates_started)} plates.")


def dearest(case: Case, results: Results) -> str:
    """Which steps and which category cost most."""
    total = results.ledger.total.cost
    steps = sorted(((c.cost, s) for s, c in results.ledger.by_step.items() if s != PLANT), reverse=True)[:3]
    share = sum(cost for cost, _ in steps) / total
    category, cost = max(results.ledger.by_category.items(), key=lambda item: item[1].cost)
    names = ", ".join(f"“{step_title(case, step)}”" for _, step in steps)
    return (f"The three dearest steps are {names}: together {percent(share)} of the cost. By kind, the largest part is "
            f"{label(category)}: {percent(cost.cost / total)}.")


def bottleneck(case: Case, results: Results) -> str:
    """The tool that is fullest, and what the plant could make."""
    name, use = max(results.line.tools.items(), key=lambda item: item[1].loading)
    output = results.line.output
    text = f"The bottleneck is “{case.tools[name].title}”, at work in {percent(use.loading)} of its available time."
    if case.target.mode == "frozen":
        return f"{text} It sets the output: {people(output.good_modules)} good modules a year."
    return (f"{text} With the tools bought whole, the plant could make {people(output.capacity)} modules a year, "
            f"{percent(output.capacity / output.good_modules - 1)} more than wanted.")


def losses(case: Case, results: Results) -> str:
    """What is lost to yield and where most of it."""
    ledger = results.ledger
    if not ledger.yield_loss:
        return "No plate is lost, so nothing is lost to yield."
    step, value = max(ledger.route.items(), key=lambda item: item[1].lost)
    return (f"{money(ledger.yield_loss, case.currency)} a year, {money(ledger.yield_loss_per_stabilised_watt, case.currency)} per "
            f"stabilised watt, go into plates that do not end as good modules. “{step_title(case, step)}” loses most: "
            f"{percent(value.lost / ledger.yield_loss)} of that.")


def evidence(case: Case) -> str:
    """How many rows of inputs are of each kind."""
    counts = evidence_counts(case)
    if len(counts) == 1:
        return f"All {sum(counts.values())} rows of inputs are of one kind: {next(iter(counts))}."
    parts = ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items(), key=lambda item: -item[1]))
    return f"Of {sum(counts.values())} rows of inputs: {parts}."
