"""The records of the deal, which are also their schema: terms, what the licensor delivers, what either side could do instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..core.fields import YEAR, choice, number, optional_reference, reference, share, text, unit_text, whole_number
from ..core.operations import Value
from .transfer_records import COUNTED_FROM

_RATE: dict[str, Any] = {"entry": "1/year", "high": 1.0 / YEAR}
OUTSIDE = "outside"  # stands in prospects.csv for a territory that the licence does not name
_CHANGE: dict[str, Any] = {"entry": "1/year", "low": -0.9 / YEAR, "high": 1.0 / YEAR}


@dataclass(frozen=True, slots=True)
class Licence:
    """The main terms: fee and running royalty, paid as the row `licence` of payment_kinds.csv says."""

    currency: str = unit_text("currency of the fees and of the royalty for a watt", example="EUR")
    upfront: Value = number("{currency}", "fee paid once for the know-how", example="2000000")
    upfront_time: Value = number("s", "when it is paid, from the first day", example="0 month", entry="month")
    royalty: Value = share("running royalty, share of net sales", example="3 %")
    royalty_per_watt: Value = number(
        "{currency}/Wp_stabilised", "running royalty for each watt on the labels of modules sold", example="0"
    )
    per_watt_change: Value = number("1/s", "yearly change of the royalty for a watt", example="0 %/year", **_CHANGE)
    net_sales: Value = share("part of the sales on which royalty is paid: less freight, returns, taxes", example="97 %")
    royalty_cap: Value = share("most that royalties of a quarter may take, share of net sales, a minimum apart", example="6 %")
    term: Value = number("s", "time from the start of production for which royalty is paid", example="10 year", entry="year")
    exclusive_time: Value = number(
        "s", "time from the first day for which no one else is licensed in the territory", example="5 year", entry="year"
    )
    territories: str = text("territories that it is granted for, separated by semicolons", example="home country; next country")
    expansion_fee: Value = number(
        "{currency}/Wp_stabilised",
        "fee per watt of the yearly output of the case that an expansion adds, paid as it starts",
        example="0.05",
    )
    sublicence_share: Value = share("part of what sublicences bring that goes to the licensor", example="30 %")
    equity_share: Value = share(
        "shares given to the licensor instead of money: its part of the cash paid out, any loan apart", example="0 %"
    )


def territories(licence: Licence) -> tuple[str, ...]:
    """The territories that a licence names."""
    return tuple(name.strip() for name in licence.territories.split(";") if name.strip())


@dataclass(frozen=True, slots=True)
class Licensor:
    """What the licensor must have besides the cost of what it delivers."""

    currency: str = unit_text("currency of the amounts", example="EUR")
    discount_rate: Value = number("1/s", "rate of the licensor, nominal", example="6 %/year", **_RATE)
    upkeep: Value = number("{currency}/s", "upkeep of the rights", example="60000", entry="{currency}/year")
    upkeep_time: Value = number("s", "time from the first day for which it is paid", example="15 year", entry="year")
    damages: Value = number("{currency}", "damages to be expected besides those of guarantees.csv", example="90000")
    damages_time: Value = number("s", "when they would be paid, from the first day", example="36 month", entry="month")
    contribution: Value = number("{currency}", "what must be left to it, present value at day one", example="400000")
    tax_rate: Value = share("its own tax on its net income from the deal, unless it is exempt", example="15 %")
    tax_relief: str = choice(
        "exempt from own tax; or taxed, with credit of withholding tax up to that tax; or taxed without a credit (none)",
        "exempt", "credit", "none",
    )  # fmt: skip
    sunk_research: Value = number("{currency}", "past research, which is spent whatever is agreed", example="9000000")
    recovered_share: Value = share("part of it that policy wants back; a line apart from the floor", example="10 %")


@dataclass(frozen=True, slots=True)
class Negotiation:
    """How the two sides share what the deal brings."""

    licensor_weight: Value = share("part of the gain that the licensor's bargaining position earns it (Nash)", example="50 %")


@dataclass(frozen=True, slots=True)
class PaymentKind:
    """How payments of a kind are taxed at source, and who of the licensor's side has a part of them."""

    title: str = text("kind of payment", example="royalties and fees for know-how")
    withholding: Value = number("1", "withholding tax on the gross amount", example="10 %", high=0.9)
    gross_up: Value = share("part of that tax which the licensee pays on top", example="0 %")
    inventors_share: Value = share("part of what arrives that goes to the inventors", example="25 %")
    least_share: Value = share("least share of all payments that payments of this kind can justify", example="5 %")
    most_share: Value = share("most share of all payments that payments of this kind can justify", example="30 %")


@dataclass(frozen=True, slots=True)
class Fee:
    """A fee paid once besides the upfront fee: for disclosure or an option, at a milestone, or an instalment due at a gate.

    One that is counted from a gate of the transfer follows its planned date, and is due if the gate is passed at all. Whether
    that is in time is another question, which the draws of the durations answer.
    """

    title: str = text("what it is paid for", example="first module on the licensee's line")
    amount: Value = number("{currency}", "amount", example="250000")
    currency: str = unit_text("currency of the amount", example="EUR")
    time: Value = number("s", "when it is paid, from the first day or from its gate", example="24 month", entry="month")
    probability: Value = share(
        "probability that it falls due, of an instalment at a gate once the gate is passed; the plan takes the expected amount",
        example="95 %",
    )
    credited: Value = share("part of it that is taken off the upfront fee", example="0 %")
    paid_as: str = reference("kind of payment", "payment_kinds", example="licence")
    counted_from: str = optional_reference(**COUNTED_FROM)


@dataclass(frozen=True, slots=True)
class RoyaltyStep:
    """A change of the royalty after some time of production."""

    time: Value = number("s", "from when on, after the start of production", example="5 year", entry="year")
    factor: Value = number("1", "royalty from then on, over that of deal.yaml", example="80 %", high=10.0)


@dataclass(frozen=True, slots=True)
class MinimumRoyalty:
    """The least royalty of a year; what is missing is paid at the end of each year of the plan."""

    title: str = text("what it is for", example="least royalty of the early years")
    amount: Value = number("{currency}/s", "least royalty", example="150000", entry="{currency}/year")
    currency: str = unit_text("currency of the amount", example="EUR")
    begin: Value = number("s", "from when on, after the first day", example="3 year", entry="year")
    end: Value = number("s", "until when, after the first day", example="8 year", entry="year")
    after_closing: str = choice("whether it stops when the plant closes, or what remains of it falls due then", "stops", "due")


@dataclass(frozen=True, slots=True)
class BuyOut:
    """Royalties and minimums end when a price is paid."""

    title: str = text("what it is", example="buy-out of the royalty")
    amount: Value = number("{currency}", "price", example="1500000")
    currency: str = unit_text("currency of the price", example="EUR")
    time: Value = number("s", "when, after the start of production", example="4 year", entry="year")


@dataclass(frozen=True, slots=True)
class Delivery:
    """Work that the licensor does for the transfer, and what is paid for it besides the fees."""

    title: str = text("what is delivered", example="design package")
    days: Value = number("person*s", "working days", example="600", entry="person*day")
    day_cost: Value = number("{currency}/person/s", "full cost of a day", example="720", entry="{currency}/person/day")
    overrun: Value = number("1", "days above the plan, share of it", example="15 %", high=5.0)
    travel: Value = number("{currency}", "travel, documents, other expenses", example="30000")
    pilot_time: Value = number("s", "time of the pilot line that is lost", example="20", entry="day")
    pilot_cost: Value = number("{currency}/s", "what a day of it is worth", example="6000", entry="{currency}/day")
    price: Value = number("{currency}", "what the licensee pays for it; nothing where fees cover it", example="0")
    currency: str = unit_text("currency of the row", example="EUR")
    begin: Value = number("s", "when it begins, from the first day", example="2 month", entry="month")
    end: Value = number("s", "when it ends", example="10 month", entry="month")
    paid_as: str = reference("kind of payment", "payment_kinds", example="training")


@dataclass(frozen=True, slots=True)
class YearlyService:
    """Work for the licensee year by year: analysis and testing, joint research, audits."""

    title: str = text("what is done", example="analysis and testing")
    price: Value = number("{currency}/s", "what the licensee pays", example="180000", entry="{currency}/year")
    cost: Value = number("{currency}/s", "full cost to the licensor", example="140000", entry="{currency}/year")
    currency: str = unit_text("currency of the row", example="EUR")
    begin: Value = number("s", "when it begins, from the first day", example="2 year", entry="year")
    end: Value = number("s", "when it ends", example="9 year", entry="year")
    change: Value = number("1/s", "yearly change of price and cost", example="2 %/year", **_CHANGE)
    paid_as: str = reference("kind of payment", "payment_kinds", example="services")
    after_closing: str = choice("whether it stops when the plant closes, or what remains of it falls due then", "stops", "due")


@dataclass(frozen=True, slots=True)
class Supply:
    """Equipment or materials that come through the licensor, with a margin on top of what they cost the plant.

    That is with freight, duty, installation and the reserve on capital, for the first plant: replacements have no margin. Of
    materials it is less what is sold of scrap and recovered.
    """

    title: str = text("what is supplied", example="deposition equipment")
    covers: str = choice("tools, carriers or spare parts as they are paid, or materials as they are used",
                         "tools", "carriers", "spares", "materials")  # fmt: skip
    part: Value = share("part of them, by value, that comes through the licensor", example="40 %")
    margin: Value = number("1", "margin on what they cost the plant", example="12 %", high=2.0)
    paid_as: str = reference("kind of payment", "payment_kinds", example="equipment")


@dataclass(frozen=True, slots=True)
class Guarantee:
    """A guaranteed stabilised power: the mean of a sample, the uncertainty asked for taken off, or damages by the shortfall.

    After a miss the licensor mends and tests again at its cost. Nothing is paid if the retest passes, else what the first test
    found. Below the minimum acceptance the licensee may reject; then the sum for rejection is paid in place of damages.
    """

    title: str = text("what is guaranteed", example="stabilised power of the acceptance lot")
    power: Value = number("Wp_stabilised/module", "guaranteed mean power of a module after light soaking", example="42", above=0.0)
    transfer_loss: Value = share("part of the power of the case that the transfer is expected to lose", example="1 %")
    transfer_spread: Value = number(
        "1", "standard deviation of the mean of a line, from one transfer to the next", example="2 %", above=0.0, high=0.5
    )
    module_spread: Value | None = share(
        "standard deviation from module to module of a line, over the mean; left out where power_spread.csv or "
        "measured_powers.csv says it", example="3 %", optional=True,
    )  # fmt: skip
    sample: Value = whole_number("modules that are measured", example="40", low=1.0)
    measurement: Value = share("standard uncertainty of the measurement, alike for all modules of the sample", example="1.5 %")
    coverage: Value = number("1", "times that uncertainty which is taken off the mean before it is held to the power", example="0")
    damages: Value = number("{currency}", "damages for each percent short", example="20000", entry="{currency}/%", above=0.0)
    cap: Value = number("{currency}", "most that is paid", example="150000")
    currency: str = unit_text("currency of the damages", example="EUR")
    time: Value = number(
        "s",
        "date of the acceptance test, when damages are due, from the first day or from its gate",
        example="33 month",
        entry="month",
    )
    measured_by: str = text("who measures", example="an accredited laboratory")
    test_cost: Value = number("{currency}", "cost of the test", example="6000")
    test_share: Value = share("part of the cost of the test that the licensor pays", example="50 %")
    minimum: Value = share("minimum acceptance, over the guaranteed power", example="90 %", above=0.0)
    rejection: Value = number("{currency}", "paid in place of damages below the minimum acceptance", example="300000")
    retest_cost: Value = number(
        "{currency}", "cost of mending and of a retest, which the licensor pays after a miss", example="15000"
    )
    retest_passed: Value = share("probability that the retest passes, whatever the shortfall; 0 % without retest", example="40 %")
    counted_from: str = optional_reference(**COUNTED_FROM)


@dataclass(frozen=True, slots=True)
class Sublicence:
    """What the licensee earns by sublicences."""

    title: str = text("to whom", example="maker of canopies")
    income: Value = number("{currency}/s", "what it brings the licensee", example="100000", entry="{currency}/year")
    currency: str = unit_text("currency of the row", example="EUR")
    begin: Value = number("s", "when it begins, from the first day", example="6 year", entry="year")
    end: Value = number("s", "when it ends", example="12 year", entry="year")
    probability: Value = share("probability that there is such a sublicence", example="30 %")


@dataclass(frozen=True, slots=True)
class Prospect:
    """Another firm that could take a licence; in a territory of the licence it would compete, unless exclusivity holds."""

    title: str = text("who it is, in general words", example="maker of glazing in the same country")
    territory: str = text("a territory that the licence names, or the word outside", example="home country")
    value: Value = number("{currency}", "what a licence to it would leave to the licensor when signed", example="900000")
    currency: str = unit_text("currency of the value", example="EUR")
    probability: Value = share("probability that it would sign, were it free to", example="25 %")
    window: Value = number("s", "time from the first day in which it would, evenly", example="6 year", entry="year", above=0.0)
    lost: Value = share("probability that it goes elsewhere, and its value is lost, where it must wait", example="80 %")
    entry_time: Value = number("s", "time from its licence to its first sales", example="2 year", entry="year")
    price_effect: Value = share("fall of the licensee's prices while it sells in the same territory", example="4 %")
    volume_effect: Value = share("fall of the licensee's volume while it sells in the same territory", example="6 %")


@dataclass(frozen=True, slots=True)
class OtherWay:
    """What the licensee could do instead with the same plant: develop the process alone, or take another licence."""

    title: str = text("what it is", example="develop the process alone")
    delay: Value = number("s", "how much later everything comes", example="4 year", entry="year")
    cost: Value = number("{currency}", "what it costs besides, after tax, spent evenly over the delay", example="5000000")
    currency: str = unit_text("currency of the cost", example="EUR")
    probability: Value = share("probability that it works", example="45 %")
    value_share: Value = number(
        "1", "net present value of that plant over ours with nothing paid and no delay", example="100 %", high=5.0
    )
    royalty: Value = share("royalty that is paid on net sales there", example="0 %")
