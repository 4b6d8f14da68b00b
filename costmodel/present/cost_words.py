"""What the figures say, in plain words; every number in a sentence comes from the results."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.summary import invented_rows
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.ledger.ledger_figures import PLANT
from ..studies.factory.basis import NAMES, cost_on_basis
from ..studies.factory.bottlenecks import Rung, cheapest_relief, title_of
from ..studies.factory.choice_break_even import BreakEven
from ..studies.factory.choices import Outcome
from ..studies.factory.comparison import Comparison
from ..studies.factory.evidence import Elasticity, share_by_kind
from ..studies.factory.minutes import Gain
from ..studies.factory.plant_size import Size
from ..studies.factory.written_off import Year
from ..studies.factory.yield_points import Point
from .cost_tables import step_title
from .input_tables import evidence_counts
from .line_tables import equipment
from .numbers import exact, in_unit, label, money, people, percent, signed

ENOUGH = 0.0005  # of the output: what the plant could make beyond it and still be said to make just that


def not_in_it(case: Case) -> str:
    """What the figures leave out."""
    left = ["ramp and start-up", "taxes on income", "interest", "outbound freight", "licence fees"]
    left += [] if case.facilities else ["facility systems"]
    left += [] if case.overheads else ["warranty and administration"]
    left += [] if case.levies else ["insurance and property tax"]
    left += [] if case.soaking else ["claims for lots rated too high"]
    return f"Not in the cost of a module: {', '.join(left)}."


def closing(case: Case, results: Results) -> str:
    """Why a module costs more than a plate that went through all steps."""
    module = results.ledger.module
    return (
        f"A plate through all steps has cost {money(module.through_all_steps, case.currency)}. A good module costs "
        f"{money(results.ledger.total.cost_per_module, case.currency)}, since it also carries "
        f"{money(module.lost_plates, case.currency)} for the plates lost on the way and {money(module.no_step, case.currency)} "
        f"of costs that belong to no step."
    )


def idle(case: Case, results: Results) -> str:
    """What capacity costs that is not used."""
    ledger, what = results.ledger, "tools and carriers" if case.carriers else "tools"
    return (
        f"Of the cost, {money(ledger.idle, case.currency)} a year, {money(ledger.idle_per_stabilised_watt, case.currency)} per "
        f"stabilised watt, are depreciation and floor of {what} for time that they are not needed; "
        f"people, upkeep and facility systems of that time "
        f"are not in it."
    )


def owned(case: Case, results: Results) -> str:
    """Which tool costs most to own."""
    name, most = max(results.ledger.ownership.items(), key=lambda item: item[1].cost)
    return (
        f"With the materials of its steps, “{case.tools[name].title}” is the most expensive to own: "
        f"{money(most.cost, case.currency)} a year, {money(most.cost_per_plate_leaving, case.currency)} for each plate leaving it."
    )


def size(case: Case, found: list[Size]) -> str:
    """Where savings of scale stop."""
    marked = [next((s for s in found if s.times == times), None) for times in (1.0, 2.0)]
    shown = [
        f"{money(s.cost, case.currency)} at {people(s.stabilised_watts / to_base('MWp_stabilised'))} MW"
        for s in {s.times: s for s in (*filter(None, marked), found[-1])}.values()
    ]
    return f"A {NAMES[case.target.basis]} costs {', '.join(shown)} a year."


def elasticity(found: list[Elasticity], what: str = "the cost of a watt") -> str:
    """How much of a figure rests on inputs of each kind."""
    shares = share_by_kind(found)
    parts = ", ".join(f"{percent(share)} {kind}" for kind, share in sorted(shares.items(), key=lambda item: -item[1]))
    return f"By how strongly {what} depends on them, the inputs are: {parts}."


def headline(case: Case, results: Results) -> str:
    """The answer in one sentence."""
    total = results.ledger.total
    return (
        f"A module costs {money(total.cost_per_module, case.currency)} to make: "
        f"{money(total.cost_per_stabilised_watt, case.currency)} per stabilised watt, "
        f"{money(total.cost_per_m2, case.currency)} per m2."
    )


def volume(results: Results) -> str:
    """What the plant makes, in one sentence."""
    output = results.line.output
    return (
        f"The plant makes {people(output.good_modules, words=True)} good modules of {people(output.stabilised_power)} W a year, "
        f"{people(output.stabilised_watts / to_base('MWp_stabilised'))} MW stabilised, from "
        f"{people(output.plates_started, words=True)} plates."
    )


def dearest(case: Case, results: Results) -> str:
    """Which steps and which category cost most."""
    total = results.ledger.total.cost
    if not total:
        return "Nothing costs anything."
    steps = sorted(((c.cost, s) for s, c in results.ledger.by_step.items() if s != PLANT and c.cost > 0), reverse=True)[:3]
    category, cost = max(results.ledger.by_category.items(), key=lambda item: item[1].cost)
    kind = f"By kind, the largest part is {label(category)}: {percent(cost.cost / total)}."
    if not steps:
        return kind
    names = ", ".join(f"“{step_title(case, step)}”" for _, step in steps)
    count = {1: "most expensive step is", 2: "two most expensive steps are", 3: "three most expensive steps are"}[len(steps)]
    return f"The {count} {names}: {percent(sum(cost for cost, _ in steps) / total)} of the cost. {kind}"


def bottleneck(case: Case, results: Results) -> str:
    """What is fullest, and what the plant could make."""
    place, use = equipment(results)[0]
    output = results.line.output
    text = f"The bottleneck is “{title_of(case, place)}”, utilisation {percent(use.peak_loading)}."
    spare = output.capacity / output.good_modules - 1
    if case.target.mode == "frozen" or (case.target.mode == "as_bought" and spare < ENOUGH):
        return f"{text} It sets the output: {people(output.good_modules)} good modules a year."
    if spare < ENOUGH:
        return f"{text} The plant can make just what is wanted."
    return (
        f"{text} With the tools bought whole, the plant could make {people(output.capacity)} modules a year, "
        f"{percent(spare)} more than wanted."
    )


def relief(case: Case, results: Results, climbed: list[Rung]) -> str:
    """What it takes to make more, and the cheapest way."""
    best = cheapest_relief(climbed)
    if best is None:
        return "None of the steps listed makes the plant larger by itself."
    power = results.line.output.stabilised_power / to_base("MWp_stabilised")
    gained = (best.capacity_after - climbed[0].capacity) * power
    count = climbed.index(best) + 1
    what = f"one more “{best.title}”" if count == 1 else f"the first {count} of these, up to one more “{best.title}”,"
    return (
        f"The cheapest relief is {what} for {money(best.spent_so_far, case.currency)}: {people(gained)} MW a year more, "
        f"{money(best.spent_so_far / gained / to_base('MWp_stabilised'), case.currency)} for each watt a year."
    )


def minutes(case: Case, gains: list[Gain]) -> str:
    """Whether the film most worth growing faster, or less overhead, is worth more."""
    films = [gain for gain in gains if gain.film]
    overhead = [gain for gain in gains if not gain.film]
    if not films or not overhead:
        return f"Most worth: {gains[0].title}."
    first, second = sorted((films[0], max(overhead, key=lambda gain: gain.time)), key=lambda gain: -gain.worth)
    return (
        f"Worth more: {first.title}, which frees tool time for {money(first.worth, case.currency)} a year, against "
        f"{money(second.worth, case.currency)} for {second.title}."
    )


def points(case: Case, found: list[Point]) -> str:
    """Where a point of yield is worth most and least."""
    most, least = max(found, key=lambda p: p.plates), min(found, key=lambda p: p.plates)
    return (
        f"A point of yield is worth most in “{step_title(case, most.step)}”: {money(most.plates, case.currency)} a year in plates, "
        f"against {money(least.plates, case.currency)} in “{step_title(case, least.step)}”."
    )


def break_even(case: Case, titles: tuple[str, str], found: BreakEven) -> str:
    """At which value of an input two choices cost the same."""
    unit, per = case.entry_units[found.address], NAMES[case.target.basis]
    now = f"It is {exact(found.present, unit)} now."
    if not found.values:
        return (
            f"No value of {found.address}, of {found.tried} looked at up to {in_unit(found.looked_to, unit)}, makes "
            f"“{titles[0]}” and “{titles[1]}” cost the same per {per}. {now}"
        )
    values = " and at ".join(in_unit(value, unit) for value in found.values)
    residual = max(abs(left) for left in found.residuals)
    apart = f"{money(residual, case.currency)} per {per} apart"
    jump = "" if residual < 1e-9 else f" (the cost jumps there, as a tool is added: {apart})"
    several = "There are several such values. " if len(found.values) > 1 else ""
    same = f"“{titles[0]}” and “{titles[1]}” cost the same per {per}"
    return f"{same} with {found.address} at {values}{jump}. {several}{now}"


def losses(case: Case, results: Results) -> str:
    """What is lost to yield and where most of it."""
    ledger, output = results.ledger, results.line.output
    if output.line_yield >= 1.0:
        return "No plate is lost, so nothing is lost to yield."
    if not ledger.yield_loss:
        return f"{percent(1 - output.line_yield)} of the plates are lost, but nothing had been spent on them."
    step, value = max(ledger.route.items(), key=lambda item: item[1].lost)
    return (
        f"{money(ledger.yield_loss, case.currency)} a year, {money(ledger.yield_loss_per_stabilised_watt, case.currency)} per "
        f"stabilised watt, are spent on plates that do not end as good modules; this is an average share of the cost"
        f"{_scrap_revenue(case, results)}. "
        f"“{step_title(case, step)}” loses most: {percent(value.lost / ledger.yield_loss)} of that."
    )


def _scrap_revenue(case: Case, results: Results) -> str:
    """What lost plates fetch, where anything is known of it."""
    if not case.scrap:
        return ""
    scrap_revenue = results.ledger.scrap_revenue
    if scrap_revenue < 0:
        return f", with {money(-scrap_revenue, case.currency)} that it costs to be rid of them"
    return f", after {money(scrap_revenue, case.currency)} that they fetch as scrap or second grade"


def written_off(case: Case, years: list[Year]) -> str:
    """How books and tax differ."""
    books, tax = years[0].books, years[0].tax
    how = "as much" if abs(books - tax) < 1e-9 * books else "more" if tax > books else "less"
    return (
        f"In the first year of use the books write off {money(books, case.currency)} of the equipment, and for tax it is {how}: "
        f"{money(tax, case.currency)}."
    )


def stock(case: Case, results: Results) -> str:
    """What is in stock, and what is paid for and not used."""
    ledger = results.ledger
    unused = sum(x.cost for address, x in ledger.lines.items() if address.startswith("buying."))
    extra = f"{money(unused, case.currency)} a year is paid for what is not used" if unused else "nothing is paid for and not used"
    return f"Stock of bought items ties up {money(ledger.stock, case.currency)}; {extra}."


def evidence(case: Case) -> str:
    """How many rows of inputs are of each kind."""
    counts = evidence_counts(case)
    if len(counts) == 1:
        return f"All {sum(counts.values())} rows of inputs are of one kind: {next(iter(counts))}."
    parts = ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items(), key=lambda item: -item[1]))
    return f"Of {sum(counts.values())} rows of inputs: {parts}."


def still_invented(case: Case) -> str:
    """How many rows are invented still, table by table: how far a person has come with figures of their own."""
    counts = invented_rows(case)
    left = {file: (invented, rows) for file, (invented, rows) in counts.items() if invented}
    if not left:
        return "Still invented: no row."
    parts = ", ".join(f"{file} {invented} of {rows}" for file, (invented, rows) in left.items())
    done = [file for file in counts if file not in left]
    rest = f"; none in {', '.join(done)}" if done else ""
    return f"Still invented: {sum(n for n, _ in left.values())} of {len(case.evidence)} rows: {parts}{rest}."


def choices_in_use(case: Case) -> str:
    """Which structural choices the case uses."""
    if not case.use:
        return "The case has no alternatives."
    return "In use: " + "; ".join(f"{label(group)}: {title}" for group, title in case.use.items()) + "."


def cheapest(outcomes: Sequence[Outcome], group: str) -> str:
    """Which choice of a group makes the cheapest watt, square metre or module, as the target counts, and by how much."""
    costs = sorted((cost_on_basis(outcome.case, outcome.results.ledger.total), outcome.title) for outcome in outcomes)
    (least, first), *others = costs
    currency, unit = outcomes[0].case.currency, NAMES[outcomes[0].case.target.basis]
    if not others:
        return f"There is one choice of {label(group)}: {first}, at {money(least, currency)} per {unit}."
    after, second = others[0]
    return (
        f"Of {label(group)}, “{first}” makes the cheapest {unit}, at {money(least, currency)}; “{second}” costs "
        f"{money(after - least, currency)} more."
    )


def compared(shown: Comparison) -> str:
    """What differs between two cases, how the cost of a watt moved, and what moved it most by itself."""
    found, currency = shown.found, shown.before.currency
    was, now = (r.ledger.total.cost_per_stabilised_watt for r in (shown.results_before, shown.results_after))
    if found.none:
        said = f" {_many(len(found.evidence), 'row')} name another kind, source, date or person." if found.evidence else ""
        return f"No difference: both have the same inputs, and a stabilised watt costs {money(was, currency)} in both.{said}"
    count = len(found.inputs)
    differ = ["1 input differs" if count == 1 else f"{count or 'no'} inputs differ"]
    differ += [f"{_many(len(found.added), 'row')} came"] if found.added else []
    differ += [f"{_many(len(found.dropped), 'row')} went"] if found.dropped else []
    differ += ["the steps are in another order"] if found.reordered else []
    moved = f"{money(was, currency)} before and {money(now, currency)} after"
    share = f", {signed(100 * (now / was - 1))} %" if was and abs(now / was - 1) > 1e-12 else ""
    alone = [effect for effect in shown.effects if effect.cost]
    most = max(alone, key=lambda effect: abs(effect.cost or 0.0), default=None)
    largest = (
        f" By itself {most.addresses[0]} moves it most: by {currency} {signed(most.cost)}."
        if most and len(shown.effects) > 1
        else ""
    )
    return f"{', '.join(differ).capitalize()}. A stabilised watt costs {moved}{share}.{largest}"


def choices_that_differ(found: Comparison) -> str:
    """Which alternatives the two cases take in a group that they decide otherwise."""
    return "; ".join(
        f"{label(group)}: {old or 'no such group'} before, {new or 'no such group'} after"
        for group, (old, new) in found.found.choices.items()
    )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
