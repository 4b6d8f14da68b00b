"""Structural choices side by side, and the size of the plant: sentences and tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..case.whole_case import Case
from ..core.faults import InputFaults
from ..core.units import to_base
from ..model.ledger.ledger_figures import KINDS_OF_COST
from ..studies.factory.choices import (
    NAMES,
    SHORT,
    BreakEven,
    Difference,
    Higher,
    Outcome,
    cost_on_basis,
    probabilities_of_least,
    shared_ranges,
)
from ..studies.factory.full_use import title_of
from ..studies.factory.plant_size import Size
from ..studies.many import Wanted
from .inputs_report import input_name
from .likely_report import likely, refused
from .line_report import equipment, growing
from .numbers import MINUS, NOT_APPLICABLE, exact, fixed, in_unit, label, many, money, people, percent, signed, typeset
from .study_report import name_of
from .table import Table, table_of

PLACES = {"Wp_stabilised": 4, "m2": 2, "module": 2}  # decimals of a cost
PLANTS = {
    "sized": "tools are sized anew for each choice",
    "frozen": "the plant is as installed, and its output follows",
    "as_bought": "each choice has the plant bought for it, which then stays",
}


def choices_in_use(case: Case) -> str:
    """Which structural choices the case uses."""
    if not case.use:
        return "The case has no alternatives."
    return "In use: " + "; ".join(f"{label(group)}: {title}" for group, title in case.use.items()) + "."


def cheapest(outcomes: Sequence[Outcome], group: str) -> str:
    """Which choice of a group makes the cheapest watt, square metre or module, as the target counts, and by how much."""
    costs = sorted((cost_on_basis(outcome.case, outcome.results.ledger.total), outcome.title) for outcome in outcomes)
    (least, first), *others = costs
    currency, unit = outcomes[0].case.currency, typeset(NAMES[outcomes[0].case.target.basis])
    if not others:
        return f"There is one choice of {label(group)}: {first}, at {money(least, currency)} per {unit}."
    after, second = others[0]
    return (
        f"Of {label(group)}, “{first}” makes the cheapest {unit}, at {money(least, currency)}. “{second}” costs "
        f"{money(after - least, currency)} more."
    )


def likely_cheapest(outcomes: Sequence[Outcome], in_use: str, draws: int, seed: int) -> list[str]:
    """How likely each choice costs the least, the one in use first, and what was drawn; or why no probability is computed."""
    try:
        found = probabilities_of_least(outcomes, draws, seed)
    except InputFaults as problem:
        return [refused(problem)]
    if not found:
        return []
    unit = typeset(NAMES[outcomes[0].case.target.basis])
    order = sorted(outcomes, key=lambda outcome: outcome.title != in_use)
    words = [f"The probability that “{o.title}” makes the cheapest {unit} is {likely(found[o.choice])}." for o in order]
    drawn = shared_ranges(outcomes)
    case = outcomes[0].case
    apart = [input_name(case, row.address) for row in case.ranges.values() if row.address not in drawn]
    words.append(f"It is from {many(draws, 'draw')} of {many(len(drawn), 'input')}, begun from seed {seed}.")
    words.append("Each choice has the plant bought for it, which then stays.")
    return [*words, f"Not drawn, as a choice or change states it: {', '.join(apart)}."] if apart else words


def likely_higher(found: Sequence[Higher], figure: Wanted, in_use: str) -> list[str]:
    """How likely a figure is higher with the choice in use than with each other one, and in how many draws it has no value."""
    said = []
    for each in found:
        if each.one.title == in_use:
            with_both = f"higher with “{each.one.title}” than with “{each.other.title}”"
            if each.probability is None:
                said.append(f"No draw has a value of {name_of(figure)} with both “{each.one.title}” and “{each.other.title}”.")
                continue
            said.append(f"The probability that {name_of(figure)} is {with_both} is {likely(each.probability)}.")
            said += [f"{percent(each.without, 2)} of the draws are left out, as it has no value in them."] if each.without else []
    return said


def higher_table(found: Sequence[Higher], figure: Wanted) -> Table:
    """How likely a figure is higher with the choice of a row than with that of a column, on the same draws."""
    by_pair = {(each.one.title, each.other.title): each.probability for each in found}
    titles = list(dict.fromkeys(each.one.title for each in found))

    def cell(one: str, other: str) -> str:
        """A probability; nothing of a choice against itself."""
        known = by_pair.get((one, other))
        return NOT_APPLICABLE if known is None else percent(known.share, 2)

    return Table(
        f"Probability that {name_of(figure)} is higher, on the same draws",
        ["", *(f"than with {title}" for title in titles)],
        [[one, *(cell(one, other) for other in titles)] for one in titles],
        note="Each choice has the plant bought for it, which then stays. Whether higher is better depends on the figure.",
    )


def saving(by_group: Mapping[str, Sequence[Outcome]], in_use: Mapping[str, str]) -> str:
    """Which single change of a choice makes the cost lower, and which most."""
    unit = typeset(NAMES[next(iter(by_group.values()))[0].case.target.basis])
    less = []
    for group, found in by_group.items():
        cost = {each.title: cost_on_basis(each.case, each.results.ledger.total) for each in found}
        if in_use[group] in cost:
            less += [(cost[in_use[group]] - each, title, group) for title, each in cost.items() if each < cost[in_use[group]]]
    if not less:
        return f"No single change of a choice makes a {unit} cheaper than the choices in use."
    most, title, group = max(less)
    currency = next(iter(by_group.values()))[0].case.currency
    count = "1 single change makes" if len(less) == 1 else f"{len(less)} single changes make"
    return f"{count} a {unit} cheaper. The largest saving is “{title}” of {label(group)}: {money(most, currency)} per {unit}."


def all_choices_table(by_group: Mapping[str, Sequence[Outcome]], in_use: Mapping[str, str]) -> Table:
    """Every choice of every group, each with the other groups as in use: its cost, and the difference to the choice in use."""
    first = next(iter(by_group.values()))[0].case
    basis, rows = first.target.basis, []
    for group, found in by_group.items():
        costs = [cost_on_basis(each.case, each.results.ledger.total) for each in found]
        now = next((cost for each, cost in zip(found, costs) if each.title == in_use[group]), None)
        for each, cost in sorted(zip(found, costs), key=lambda pair: pair[1]):
            more = "in use" if each.title == in_use[group] else NOT_APPLICABLE if now is None else signed(cost - now)
            total, output = each.results.ledger.total, each.results.line.output
            rows.append([f"{label(group)}: {each.title}", people(cost, 4), more, people(total.cost_per_m2, 4),
                         people(output.stabilised_power), people(output.good_modules)])  # fmt: skip
    return Table(
        f"All choices side by side, {first.currency}",
        ["", f"per {typeset(SHORT[basis])}", "against in use", "per m²", "W per module", "modules a year"],
        rows,
        note=f"Each row changes one choice; {PLANTS[first.target.mode]}. One group in full: --group.",
    )


def choices_table(outcomes: list[Outcome], group: str) -> Table:
    """The choices of a group side by side, the cheapest first on the basis of the target."""
    columns = {
        "": lambda o, total, output: o.title,
        "per stabilised W": lambda o, total, output: people(total.cost_per_stabilised_watt, 4),
        "per m²": lambda o, total, output: people(total.cost_per_m2, 4),
        "per module": lambda o, total, output: people(total.cost_per_module, 4),
        "stabilised W per module": lambda o, total, output: people(output.stabilised_power),
        "modules a year": lambda o, total, output: people(output.good_modules),
        "bottleneck": lambda o, total, output: title_of(o.case, equipment(o.results)[0][0]),
    }
    order = sorted(outcomes, key=lambda o: cost_on_basis(o.case, o.results.ledger.total))
    return table_of(
        f"Choices of {label(group)} side by side, {outcomes[0].case.currency}",
        ((o, o.results.ledger.total, o.results.line.output) for o in order),
        columns,
        texts=(0, 6),
        note=f"All else is equal; {PLANTS[outcomes[0].case.target.mode]}.",
    )


def differences_table(found: Sequence[Difference], group: str, currency: str) -> Table:
    """What each choice costs more than the one in use, by kind of cost; the kinds add up to the total."""
    basis = found[0].in_use.case.target.basis

    def signed(value: float) -> str:
        """A difference, with the decimals of its basis."""
        shown = fixed(value, PLACES[basis])
        return shown if shown == "0" or shown.startswith(MINUS) else f"+{shown}"

    rows = [[label(kind), *(signed(each.by_kind[kind]) for each in found)] for kind in KINDS_OF_COST]
    return Table(
        f"Why: {currency} per {typeset(SHORT[basis])} more than {found[0].in_use.title}",
        ["", *(each.outcome.title for each in found)],
        [row for row in rows if set(row[1:]) != {"0"}] + [["total", *(signed(each.total) for each in found)]],
        total=True,
        note="Yield loss is shown apart: the other kinds hold what ends in good modules.",
    )


def equipment_words(found: Sequence[Difference]) -> list[str]:
    """What stands in the plant more or less than with the choice in use, choice by choice."""
    lines = []
    for each in found:
        changes = [f"{_title(each, place)} {before:g} → {after:g}" for place, (before, after) in each.equipment.items()]
        if changes:
            lines.append(f"Equipment with “{each.outcome.title}” instead of “{each.in_use.title}”: {', '.join(changes)}.")
    return lines or ["Each choice has the same equipment."]


def _title(difference: Difference, place: str) -> str:
    """The title of a row of equipment, in whichever of the two cases has it; where their titles differ, both."""
    table, _, name = place.partition(".")
    titles = [getattr(each.case, table)[name].title for each in (difference.in_use, difference.outcome)
              if name in getattr(each.case, table)]  # fmt: skip
    return " / ".join(dict.fromkeys(titles))


def left_out_words(left_out: Mapping[str, str]) -> list[str]:
    """Which choices cannot be combined with those in use, and why."""
    return [f"“{label(choice)}” is left out: {reason}." for choice, reason in left_out.items()]


def break_even(case: Case, titles: tuple[str, str], found: BreakEven) -> str:
    """At which value of an input two choices cost the same."""
    unit, per = case.entry_units[found.address], typeset(NAMES[case.target.basis])
    now, both = f"The case has {exact(found.present, unit)}.", f"“{titles[0]}” and “{titles[1]}” cost the same per {per}"
    if not found.values:
        looked = f"Searched: {found.tried} values of “{input_name(case, found.address)}” up to {in_unit(found.looked_to, unit)}."
        return f"{both} at no value. {looked} {now}"
    values, several = ", ".join(in_unit(value, unit) for value in found.values), len(found.values) > 1
    where = f"at {len(found.values)} values of “{input_name(case, found.address)}”:" if several else (
        f"where “{input_name(case, found.address)}” is"
    )  # fmt: skip
    residual = max(abs(left) for left in found.residuals)
    jump = "" if residual < 1e-9 else (
        f" The cost jumps there, as a tool is added: the two stay {money(residual, case.currency)} per {per} apart."
    )  # fmt: skip
    return f"{both} {where} {values}.{jump} {now}"


def size(case: Case, found: list[Size], marks: Sequence[float] = ()) -> str:
    """Where savings of scale stop; with `marks`, the cost at these sizes and at that of the case."""
    wanted = sorted({*marks, 1.0}) if marks else [1.0, 2.0, found[-1].times]
    shown = [
        f"{money(s.cost, case.currency)} at {people(s.stabilised_watts / to_base('MWp_stabilised'))} MW"
        for s in found
        if s.times in wanted
    ]
    return f"A {typeset(NAMES[case.target.basis])} costs {', '.join(shown)} a year."


def stated_sizes_table(case: Case, found: list[Size], marks: Sequence[float]) -> Table:
    """The cost at sizes that were asked for, beside that of the case."""
    columns = {
        "MW a year": _megawatts,
        "times the case": lambda s: people(s.times),
        "tools in all": lambda s: f"{s.tools:.4g}",
        f"per {typeset(SHORT[case.target.basis])}": lambda s: people(s.cost, 4),
        "per module": lambda s: people(s.cost_per_module, 4),
    }
    rows = ((s,) for s in found if s.times in {*marks, 1.0})
    return table_of(f"Cost by size, {case.currency}", rows, columns, note="Tools are sized anew for each size.")


def _megawatts(found: Size) -> str:
    return people(found.stabilised_watts / to_base("MWp_stabilised"))


def size_table(case: Case, found: list[Size]) -> Table:
    """The cheapest sizes of the plant, at each of which a tool, a carrier or a unit that grows is full."""
    columns = {
        "MW a year": _megawatts,
        "tools in all": lambda s: f"{s.tools:.4g}",
        "full": lambda s: ", ".join(_grown_title(case, place) for place in s.full),
        f"per {typeset(SHORT[case.target.basis])}": lambda s: people(s.cost, 4),
        "a little larger": lambda s: people(s.cost_after, 4),
    }
    title = f"Sizes cheaper than the next smaller and the next larger one with full tools, {case.currency}"
    return table_of(title, ((s,) for s in found if s.cheapest), columns, texts=(2,), note=_growth_note(case))


def added_units_table(case: Case, found: list[Size]) -> Table:
    """The sizes above which one more unit of facilities or people is needed."""
    columns = {
        "MW a year": lambda s, place, units: _megawatts(s),
        "added": lambda s, place, units: _grown_title(case, place),
        "units": lambda s, place, units: f"{units[0]:g} → {units[1]:g}",
        "cost": lambda s, place, units: people(s.cost, 4),
        "a little larger": lambda s, place, units: people(s.cost_after, 4),
    }
    return table_of(
        f"Sizes above which a unit is added, {case.currency} per {typeset(SHORT[case.target.basis])}",
        ((s, place, units) for s in found for place, units in s.added.items()),
        columns,
        texts=(1, 2),
        note="Rows of growth_steps.csv: facility systems and people in whole units.",
    )


def _growth_note(case: Case) -> str:
    """What grows with the plant besides tools and operators, and what is fixed."""
    grows = [row.grows.split(".")[0] for row in growing(case)]
    there = {
        "facilities": ("facility systems", len(case.facilities)),
        "crew": ("roles at no tool", len(case.crew)),
        "overheads": ("overheads per year", sum(row.per == "year" for row in case.overheads.values())),
        "spares": ("spare parts per plant", sum(row.per == "plant" for row in case.spares.values())),
    }
    parts = [f"{grows.count(table)} of {count} {what}" for table, (what, count) in there.items() if count]
    return f"Tools and operators at tools grow with the plant. So do {', '.join(parts)}. The rest is fixed at every size."


def _grown_title(case: Case, place: str) -> str:
    """The title of a tool, a carrier or a row that grows, by its address."""
    table, _, name = place.partition(".")
    return getattr(getattr(case, table)[name], "title", name)
