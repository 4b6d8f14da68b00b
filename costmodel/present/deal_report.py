"""The deal in money: floor and alternatives, payments, taxes, exchange rates, what both sides have; sentences and tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ..case.whole_case import Case
from ..model.evaluate import Results
from ..model.ledger.landed_prices import in_reporting_currency
from ..model.plan.exchange_rates import moved
from ..studies.spread import Quantile, left_open
from .numbers import NOT_APPLICABLE, ROUNDING, adding, amount, people, percent, signed, stated
from .table import Table
from .texts import REVIEW

NO_DEAL = "The case has no deal.yaml, so no payment for the know-how is computed."
CAUTIONS = (
    "Nothing here is an offer, and nothing is advice on law or tax. Terms are for people with the authority to agree them, "
    "and for their advisers."
)
EACH_AT_ITS_RATE = "Present value at day one, at each party's discount rate."
FLOOR_PARTS = {
    "work": "working days at full cost",
    "travel": "travel, documents, expenses",
    "pilot_time": "time of the pilot line",
    "services": "yearly services",
    "materials": "materials, above the price of a second source",
    "upkeep": "upkeep of the rights",
    "damages": "expected damages",
    "territory": "forgone licences",
    "contribution": "contribution required",
}


# amounts


def in_money(case: Case, value: float) -> str:
    """An amount in the reporting currency."""
    return amount(value, case.currency)


def in_licence_money(case: Case, value: float) -> str:
    """An amount in the currency of the licence."""
    return amount(value, case.deal.licence.currency)


def own_rate(case: Case) -> float:
    """The exchange rate of the licensor's currency on day one."""
    return float(in_reporting_currency(1.0, case.deal.licensor.currency, case.money))


def ours(case: Case, value: float, column: float = 0.0) -> str:
    """An amount of the licensor, in its own currency too where that is another one, at the rate of a column of the plan."""
    own, shown = case.deal.licensor.currency, in_money(case, value)
    return shown if own == case.currency else f"{shown} ({amount(value / own_rate(case) / moved(case, own, column), own)})"


def in_own_money(case: Case, value: float) -> list[str]:
    """An amount of the licensor in its own currency, at the exchange rate of day one; nothing where that is the reporting one."""
    return [] if case.deal.licensor.currency == case.currency else [people(value / own_rate(case))]


def own_columns(case: Case, title: str) -> list[str]:
    """The head of a column of such amounts."""
    own = case.deal.licensor.currency
    return [] if own == case.currency else [f"{title}, {own}".removeprefix(", ")]


RISK_OF_EXCHANGE = (
    "Payments are due in the currency of their term, royalty at the rate of the time of sale. "
    "Each side carries the changes against its own money, unless agreed otherwise."
)


def money_of_terms(case: Case) -> str:
    """In which currencies the terms are, and at which rates they are converted; of what both sides know."""
    terms = (case.fees, case.minimum_royalties, case.buy_outs, case.deliveries, case.yearly_services,
             case.laboratory_tests, case.supplied_materials, case.guarantees, case.performance_guarantees, case.acceptance_dates,
             case.damages_caps)  # fmt: skip
    met = list(dict.fromkeys([case.deal.licence.currency, *(row.currency for table in terms for row in table.values())]))
    rates = _rates(case, [*met, *(row.currency for row in case.sales.values())])
    if not rates:
        return ""
    beside = ", as it stands beside each" if len(met) > 1 else ""
    return f"Terms are in {' and '.join(met)}{beside}. {rates} {RISK_OF_EXCHANGE}"


def rates_of_exchange(case: Case) -> str:
    """The exchange rates of all currencies that meet in the deal and the sales, on day one and year by year."""
    rows = (case.fees, case.minimum_royalties, case.buy_outs, case.deliveries, case.yearly_services,
            case.laboratory_tests, case.supplied_materials, case.guarantees, case.performance_guarantees, case.acceptance_dates,
            case.damages_caps, case.sublicences, case.prospects, case.other_ways, case.sales)  # fmt: skip
    return _rates(
        case, [case.deal.licence.currency, case.deal.licensor.currency, *(row.currency for table in rows for row in table.values())]
    )


def _rates(case: Case, met: Iterable[str]) -> str:
    """The exchange rates of currencies that are met."""
    found = []
    for currency in dict.fromkeys(met):
        if currency != case.currency:
            row = case.money[currency.lower()]
            change = 100 * float(row.change) * case.constants.year
            moving = f", changing {signed(change)} % a year" if change else ", held constant"
            found.append(f"{currency} 1 is {case.currency} {stated(float(row.exchange_rate))} on day one{moving}")
    return f"Exchange rates: {'; '.join(found)}." if found else ""


def rates_used(case: Case) -> list[str]:
    """The exchange rates, and how they are used; nothing where all is in one currency."""
    rates = rates_of_exchange(case)
    if not rates:
        return []
    return [
        f"{rates} Sales and payments under the licence are at the rate of their time. The licensor's present values are of flows "
        f"in {case.deal.licensor.currency}. Both gains are added at the rate of day one."
    ]


# both sides


def sides(case: Case, results: Results) -> str:
    """What the terms leave to each side."""
    return gained(case, results.deal.licensor.gain, results.deal.licensee.gain)


def gained(case: Case, own: float, other: float) -> str:
    """The same from the gains of licensor and licensee."""
    return (
        f"By these terms the licensor is {ours(case, abs(own))} {'above' if own >= 0 else 'below'} its floor. The licensee is "
        f"{in_money(case, abs(other))} {'above' if other >= 0 else 'below'} its best alternative."
    )


def sides_table(case: Case, licensor: tuple[float, float, float], licensee: tuple[float, float, float]) -> Table:
    """Both sides' values: what each has by these terms, what it could or must have without, and the difference."""
    rows = [["licensor", *map(people, licensor)], ["licensee", *map(people, licensee)]]
    if case.deal.licensor.currency != case.currency:
        rows.insert(1, [f"licensor, {case.deal.licensor.currency}", *(people(value / own_rate(case)) for value in licensor)])
    return Table(
        f"Value to both sides, {case.currency}",
        ["", "by these terms", "required contribution, or best alternative", "above it"],
        rows,
        note=f"{EACH_AT_ITS_RATE} The licensor's value is after all costs; these and the "
        "required contribution are its floor. "
        f"{rates_of_exchange(case)}".strip(),
    )


# the licensor


def floor(case: Case, results: Results) -> str:
    """What the licensor must have, and what that takes in payments."""
    own = results.deal.licensor
    takes = (
        f"With the mix of the offer that takes payments of {ours(case, own.floor_paid)}, before withholding tax and inventors."
        if own.received
        else "The mix of the offer pays it nothing."
    )
    return (
        f"The licensor's floor is {ours(case, own.floor)} at the stated inputs: "
        f"all costs to come and the contribution that it requires. {takes} "
        f"Past research is not in it. Recovery target for sunk research: {ours(case, own.policy)}."
    )


def part_of(part: float, whole: float) -> str:
    """A part of a whole in %; of nothing, what does not apply."""
    return percent(part / whole) if whole else NOT_APPLICABLE


def floor_table(case: Case, results: Results, drawn: Mapping[str, Sequence[Quantile]] | None = None) -> Table:
    """The licensor's floor by parts, and what is received; with P10, P50 and P90 of each if drawn, by name."""
    own, drawn = results.deal.licensor, drawn or {}
    shown = {name: title for name, title in FLOOR_PARTS.items() if name != "materials" or case.supplied_materials}
    parts = [*shown.items(), ("floor", "floor")]
    values = {name: getattr(own, name) for name, _ in parts}
    spread = " P10, P50, P90 are of each row by itself, so they do not add up." if drawn else ""
    return Table(
        f"The licensor's floor, {case.currency}",
        ["", case.currency, *own_columns(case, ""), "share", *(("P10", "P50", "P90") if drawn else ())],
        [
            [title, people(values[name]), *in_own_money(case, values[name]), part_of(values[name], own.floor),
             *(people(each.value) for each in drawn.get(name, ()))]
            for name, title in parts
        ],
        note=f"{EACH_AT_ITS_RATE}{spread} Past research is not in it; "
        f"the recovery target for it is {people(own.policy)}. {rates_of_exchange(case)}".strip(),
        total=True,
    )


def floor_spread(case: Case, drawn: Sequence[Quantile], draws: int, seed: int) -> str:
    """How the floor is spread over draws."""
    return _spread(case, "the floor is", drawn, draws, seed)


def ceiling_spread(case: Case, drawn: Sequence[Quantile], draws: int, seed: int) -> str:
    """How the most that the licensee can pay is spread over draws."""
    words = _spread(case, "payments can be up to", drawn, draws, seed)
    return f"{words} Where that is below 0, no payment is low enough." if drawn[0].value < 0 else words


def _spread(case: Case, what: str, drawn: Sequence[Quantile], draws: int, seed: int) -> str:
    """P10, P50 and P90 of an amount, with what sampling leaves open."""
    low, middle, high = (in_money(case, each.value) for each in drawn)
    if max(abs(each - drawn[1].value) for found in drawn for each in (found.low, found.high)) <= ROUNDING * abs(drawn[1].value):
        return f"Over {draws:,} draws, seed {seed}, {what} {middle} at P10, P50 and P90 alike."
    return (
        f"Over {draws:,} draws, seed {seed}, {what} {low} (P10), {middle} (P50), {high} (P90). "
        f"Sampling leaves these open by at most {in_money(case, left_open(drawn))} either way (95 %)."
    )


# the licensee


def ceiling(case: Case, results: Results) -> str:
    """How much the licensee can pay, against what."""
    other = results.deal.licensee
    best = max(results.deal.alternatives, key=lambda name: results.deal.alternatives[name].npv)
    free, instead, most = adding(other.npv_free, other.best_alternative, case.currency)
    words = (
        f"With nothing paid the plant is worth {free} to the licensee. Its best alternative is "
        f"{alternative_name(case, best)}, worth {instead}."
    )
    if other.ceiling < 0:
        return f"{words} That is more than the plant with nothing paid, so no payment is low enough."
    return f"{words} So payments can be up to {most} after tax. The offer's are {in_money(case, other.cost)}."


def alternative_name(case: Case, name: str) -> str:
    """What an alternative is called."""
    kind, _, row = name.partition("_")
    if kind == "line":
        return f"“{case.other_lines[row].title}” for the same money"
    return f"“{case.other_ways[row].title}”" if kind == "way" else "doing nothing"


def alternatives_table(case: Case, results: Results) -> Table:
    """What the licensee could do instead."""
    other = results.deal.licensee
    rows = [["the plant with nothing paid for the licence", people(other.npv_free)], ["the plant by this offer", people(other.npv)]]
    rows += [[alternative_name(case, name), people(x.npv)] for name, x in results.deal.alternatives.items()]
    return Table(f"The licensee's alternatives, {case.currency}", ["", "net present value"], rows, note="At its required return.")


def licensee_table(case: Case, results: Results) -> Table:
    """From the plant of the plan to what the licensee has above its best alternative: dividends, second licensees, damages."""
    other, plant = results.deal.licensee, results.plan.project.npv
    rows = [
        ("the plant of the plan, with what is paid for the licence", plant),
        ("dividends on the shares given to the licensor", -other.dividends),
        ("taken by second licensees", other.npv - other.npv_undisturbed - other.damages),
        ("expected damages, after tax", other.damages),
        ("by these terms", other.npv),
        ("best alternative", -other.best_alternative),
        ("above it", other.gain),
    ]
    return Table(
        f"From the plan to the licensee's gain, {case.currency}",
        ["", "net present value"],
        [[title, people(value)] for title, value in rows if value or title in ("by these terms", "above it")],
        note="At its required return. The plan counts all shares of the plant, those given to the licensor too.",
        total=True,
    )


def cautions() -> list[str]:
    """What people must look at before anything is signed."""
    return [CAUTIONS, *(f"For review: {point}." for point in REVIEW)]
