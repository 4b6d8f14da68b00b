"""What services cost and bring: sentences and tables."""

from __future__ import annotations

from collections.abc import Sequence

from ..case.service_records import MULTIPLIES, ServiceEffect
from ..case.whole_case import Case, kept
from ..core.faults import InputFaults
from ..studies.negotiation.services import ALL, NONE, STATED, Brought, Service, brought_by_services
from ..studies.spread import Probability
from .deal_report import EACH_AT_ITS_RATE, in_money, ours, rates_of_exchange
from .numbers import NOT_APPLICABLE, exact, many, named, people, percent, short_return, signed
from .table import Table

NO_EFFECTS = "The case has no service_effects.csv, so no service brings anything in its figures."
EVEN = 0.5  # probability from which a service is said to pay for itself probably
TITLES = {STATED: "as the inputs state it", NONE: "without any of these services", ALL: "with all of them"}


def title_of(case: Case, address: str) -> str:
    """What a delivery or yearly service is called."""
    table, _, row = address.partition(".")
    return getattr(case, table)[row].title


def found_or_why(case: Case, draws: int, seed: int) -> Brought | str:
    """What services bring; or why it cannot be found where a draw is refused."""
    try:
        return kept(case, f"services, {draws} draws, seed {seed}", lambda: brought_by_services(case, draws, seed))
    except InputFaults as problem:
        faults = [f"{fault.file}: {fault.found}; allowed: {fault.allowed}" for fault in problem.faults]
        return f"What services bring is not computed: {'; '.join(faults)}."


def headline(case: Case, found: Brought) -> list[str]:
    """Which services pay for themselves, how probable that is, and what all bring together."""
    gaining = [each for each in found.services if each.net[1] > 0]
    probable = [each for each in gaining if each.licensee is None or each.licensee.share >= EVEN]
    count = many(len(found.services), "service")
    pays = "pays for itself" if len(probable) == 1 else "pay for themselves"
    how = "probably " if found.draws else "by expected value "
    said = [f"Of {count} with stated effects, {len(probable) or 'none'} {how}{pays} to the licensee"]
    said[0] += f": {_listed(case, probable)}." if probable else "."
    said += [
        f"“{title_of(case, each.address)}” does by expected value, but in {percent(each.licensee.share, 2)} of draws only."
        for each in gaining
        if each.licensee is not None and each.licensee.share < EVEN
    ]
    said += [f"Not so to it: {_listed(case, rest)}." for rest in [[each for each in found.services if each.net[1] <= 0]] if rest]
    brings, costs = (sum(getattr(each, part)[1] for each in found.services) for part in ("effects", "work"))
    licensor = sum(each.net[0] for each in found.services)
    said.append(f"Together they bring the licensee {in_money(case, brings)} and cost it {in_money(case, -costs)} after tax.")
    said.insert(-1, _to_the_licensor(case, found))
    said.append(f"To the licensor they {'leave' if licensor >= 0 else 'cost'} {ours(case, abs(licensor))}.")
    if found.draws:
        said.append(f"Probabilities are over {found.draws:,} draws, seed {found.seed}.")
    return said


def _to_the_licensor(case: Case, found: Brought) -> str:
    """Which services leave the licensor more than without them, by expected value."""
    leaving = [each for each in found.services if each.net[0] > 0]
    if not leaving:
        return "None of them pays for itself to the licensor by expected value."
    listed = ", ".join(f"“{title_of(case, each.address)}” ({ours(case, each.net[0])})" for each in leaving)
    return f"To the licensor {len(leaving)} {'pays' if len(leaving) == 1 else 'pay'} by expected value: {listed}."


def in_short(case: Case, found: Brought) -> list[str]:
    """Which services pay for themselves to the licensee."""
    return headline(case, found)[:1]


def _listed(case: Case, rows: Sequence[Service]) -> str:
    """Services with the probability that each pays for itself."""
    return ", ".join(f"“{title_of(case, each.address)}”{_probable(each.licensee)}" for each in rows)


def _probable(share: Probability | None) -> str:
    return "" if share is None else f" ({percent(share.share, 2)})"


def in_the_plan(case: Case, found: Brought) -> list[str]:
    """Which effects the stated inputs hold, what the plan is without, and which services have no effects stated."""
    stated, none, every = (_named(found, name) for name in (STATED, NONE, ALL))
    held = [title_of(case, each.address) for each in found.services if each.in_plan == "yes"]
    part = [title_of(case, each.address) for each in found.services if each.in_plan == "in part"]
    said = [f"The stated inputs hold the effects of {named(held) if held else 'none of them'}"]
    said[0] += f", and in part of {named(part)}." if part else "."
    said.append(
        f"The plan is worth {in_money(case, stated)} as stated. It is {in_money(case, none)} without any of these services, "
        f"their prices too, and {in_money(case, every)} with all."
    )
    if found.without_effects:
        titles = [title_of(case, address) for address in found.without_effects]
        said.append(f"Without a stated effect, and so left as they are: {named(titles)}.")
    return said


def _named(found: Brought, title: str) -> float:
    return next(each.npv for each in found.plans if each.title == title)


def services_table(case: Case, found: Brought) -> Table:
    """Each service: its cost and price, what it brings to both sides, what is left, and how probable that is."""
    columns = ["", "our cost", "price paid", "brings licensee", "brings us", "price after tax", "left to us", "left to licensee",
               "pays for licensee", "pays for both together", "in the plan"]  # fmt: skip

    def share(value: Probability | None) -> str:
        """A probability, where it was drawn."""
        return NOT_APPLICABLE if value is None else percent(value.share, 2)

    rows = [
        [title_of(case, each.address), *map(people, (each.cost, each.paid)), *map(signed, reversed(each.effects)),
         people(-each.work[1]), *map(signed, each.net), share(each.licensee), share(each.both), each.in_plan]
        for each in found.services
    ]  # fmt: skip
    return Table(
        f"What each service costs and brings, {case.currency}",
        columns,
        rows,
        note=f"{EACH_AT_ITS_RATE} What a service brings is its mean over all orders in which services could come. What is left to "
        "us is the price that arrives, less our cost and own tax, with what its effects bring. "
        "Pays: the probability that it leaves the licensee, or both sides together, more than without it. "
        f"{rates_of_exchange(case)}".strip(),
        texts=(0, 10),
    )


def plans_table(case: Case, found: Brought) -> Table:
    """The plan as stated, with none and all of the services, and without each."""
    rows = [
        [TITLES.get(each.title) or f"without {title_of(case, each.title)}", people(each.npv),
         short_return(each.irr, each.status, each.recovered), people(each.licensee), people(each.licensor)]
        for each in found.plans
    ]  # fmt: skip
    return Table(
        f"The plan with and without services, {case.currency}",
        ["", "plan, NPV", "plan, IRR", "licensee, NPV", "licensor, NPV"],
        rows,
        note="On the plant as bought. Without a service its price, its cost and its effects are all left out. The licensee's "
        "value counts damages, other licensees and shares.",
    )


def _change(row: ServiceEffect) -> str:
    """A change as its row states it."""
    shown = exact(float(row.change), row.unit)
    return f"times {shown}" if row.how == MULTIPLIES else f"{'+' if row.change > 0 else ''}{shown}"


def effects_table(case: Case) -> Table:
    """What each service is expected to change."""
    rows = [
        [title_of(case, row.service), row.title, row.address, _change(row),
         percent(float(row.probability)), row.in_plan]
        for row in case.service_effects.values()
    ]  # fmt: skip
    return Table(
        "What services change, as service_effects.csv states it",
        ["", "what it brings", "input", "change", "probability", "in the plan"],
        rows,
        note="Figures take the expected change: the probability times the change. To an input stated in % points are added.",
        texts=(0, 1, 2, 3, 5),
    )
