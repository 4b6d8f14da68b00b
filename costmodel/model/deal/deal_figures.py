"""Figures of the deal, in the reporting currency, with inflation: present values at day one, each side at its own rate."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, status, unit_text
from ...core.operations import Value
from ..plan.plan_figures import AssetPlan, MarketSales, Quarter, UseYear
from ..plan.transfer_figures import Transfer
from .laboratory_figures import Laboratory
from .supplied_figures import SuppliedFigures

Reasons = dict[float, str]  # what each number of a status stands for
_PROFIT: tuple[Reasons, Reasons] = (
    {1: "payments and profit are above 0 together"},
    {0: "payments and profit are not above 0 together"},
)
_PAID: tuple[Reasons, Reasons] = ({1: "something is paid"}, {0: "nothing is paid"})


@dataclass(frozen=True, slots=True)
class Received:
    """Payments of one kind, as the licensor has them."""

    paid: Value = figure("money", "what the licensee pays in all, as it comes")
    paid_now: Value = figure("money", "the same at the licensor's rate")
    withheld: Value = figure("money", "withholding tax on it")
    inventors: Value = figure("money", "what goes to the inventors")
    net: Value = figure("money", "what is left to the licensor")


@dataclass(frozen=True, slots=True)
class Heading:
    """Payments under one heading, as both sides have them."""

    paid: Value = figure("money", "what the licensee pays in all, as it comes")
    licensor_net: Value = figure("money", "what is left to the licensor at its rate")
    licensee_paid: Value = figure("money", "what is paid at the licensee's rate, before tax")


@dataclass(frozen=True, slots=True)
class WorkCost:
    """What work of the licensor costs it, at its rate."""

    days: Value = figure("money", "working days at full cost, overrun counted")
    travel: Value = figure("money", "travel, documents, other expenses")
    pilot_time: Value = figure("money", "time of the pilot line that is lost")


@dataclass(frozen=True, slots=True)
class ServiceCost:
    """What a yearly service costs the licensor, at its rate."""

    cost: Value = figure("money", "full cost")


@dataclass(frozen=True, slots=True)
class EffectFigures:
    """What a service is expected to change."""

    unit: str = unit_text("unit of the input that it changes; of a factor 1 or %", example="%")
    expected: Value = figure("{unit}", "expected change of the input, or expected factor on it: success by its probability")


@dataclass(frozen=True, slots=True)
class ForgoneLicence:
    """What exclusivity costs the licensor with one other prospect."""

    value: Value = figure("money", "what a licence to it may be expected to be worth, were the licensor free")
    lost: Value = figure("money", "what of that is lost to exclusivity, at the licensor's rate")


@dataclass(frozen=True, slots=True)
class SecondLicensee:
    """The probability that another licensee of the territory sells beside the licensee, averaged over each quarter."""

    selling: dict[str, Value] = figure("%", "under the exclusivity of the offer, by quarter")
    selling_if_open: dict[str, Value] = figure("%", "without exclusivity, by quarter")


@dataclass(frozen=True, slots=True)
class Taken:
    """What other licensees of the territory may be expected to take from both sides."""

    licensee_cash: dict[str, Value] = figure("money", "margin that the licensee loses after tax, less royalty saved, by quarter")
    royalty: dict[str, Value] = figure("money", "royalty that is no longer paid, by quarter")
    licensee: Value = figure("money", "what the licensee loses, at its rate, after tax")
    licensee_free: Value = figure("money", "the same if nothing were paid")
    licensor_gross: Value = figure("money", "royalty that the licensor loses, at its rate")
    licensor: Value = figure("money", "what of that would be left to it, before its own tax")


@dataclass(frozen=True, slots=True)
class ExclusivityValuation:
    """What the exclusivity of the offer costs the licensor, and what it is worth to the licensee."""

    licences_lost: Value = figure("money", "value of other licences that is lost, at the licensor's rate")
    payments_kept: Value = figure("money", "royalty and dividends that other licensees do not take, left after own tax")
    licensor_cost: Value = figure("money", "what it costs the licensor, at its rate: the first less the second")
    licensee_value: Value = figure("money", "what it is worth to the licensee, after its tax and dividends, at its rate")


@dataclass(frozen=True, slots=True)
class OwnMoney:
    """What the licensor has in its own currency, at the exchange rate of the first day."""

    currency: str = unit_text("the licensor's currency", example="EUR")
    received: Value = figure("{currency}", "payments of the licensee")
    withheld: Value = figure("{currency}", "withholding tax on them")
    inventors: Value = figure("{currency}", "what goes to the inventors")
    net: Value = figure("{currency}", "what is left of the payments")
    rivals: Value = figure("{currency}", "royalty that other licensees of the territory may be expected to take")
    own_tax: Value = figure("{currency}", "its own tax, before the credit")
    credit: Value = figure("{currency}", "withholding tax that is credited")
    floor: Value = figure("{currency}", "floor: what must arrive, all parts together")
    floor_paid: Value = figure("{currency}", "payments in the mix of the offer that leave just the floor")
    npv: Value = figure("{currency}", "net present value of the licence")
    gain: Value = figure("{currency}", "what it has above its floor")


@dataclass(frozen=True, slots=True)
class Exposure:
    """What one guarantee exposes the licensor to."""

    measured_power: Value = figure("Wp_stabilised/module", "mean of what is held to the guaranteed power")
    spread: Value = figure("Wp_stabilised/module", "its standard deviation")
    miss_probability: Value = figure("%", "probability that the first test falls short, so that a retest follows")
    probability: Value = figure("%", "probability that damages are paid: the first test falls short, and no retest passes")
    cap_probability: Value = figure("%", "probability that they reach their cap")
    rejection_probability: Value = figure("%", "probability that the licensee may reject")
    damages: Value = figure("money", "damages to be expected, in money of the day they are paid")
    licensor_tests: Value = figure("money", "the licensor's part of the cost of the test")
    licensee_tests: Value = figure("money", "the licensee's part of the cost of the test")
    retests: Value = figure("money", "cost of retests to be expected: of one, after a miss; the licensor pays it")


@dataclass(frozen=True, slots=True)
class PromiseExposure:
    """What one guaranteed rate exposes the licensor to, taken alone."""

    unit: str
    planned: Value = figure("{unit}", "what the case makes of it")
    tested: Value = figure("{unit}", "mean of what is held to the level")
    spread: Value = figure("%", "its standard deviation, over the mean")
    miss_probability: Value = figure("%", "probability that the first tests fall short, so that a retest follows")
    probability: Value = figure("%", "probability that anything is paid: the first tests fall short, and no retest passes")
    rejection_probability: Value = figure("%", "probability that the licensee may reject")
    damages: Value = figure("money", "damages to be expected, in money of the day they are paid")
    licensor_tests: Value = figure("money", "the licensor's part of the cost of the first tests")
    licensee_tests: Value = figure("money", "the licensee's part of the cost of the first tests")
    retests: Value = figure("money", "cost of retests to be expected: of one, after a miss; the licensor pays it")


@dataclass(frozen=True, slots=True)
class DateExposure:
    """What a guaranteed date exposes the licensor to, taken alone."""

    expected: Value = figure("month", "date that is expected, from the first day; by a gate where one is named")
    spread: Value = figure("month", "standard deviation of that date")
    probability: Value = figure("%", "probability that anything is paid")
    rejection_probability: Value = figure("%", "probability that the licensee may withdraw")
    damages: Value = figure("money", "damages to be expected, in money of the day they are paid")


@dataclass(frozen=True, slots=True)
class Licensor:
    """The licensor: what it receives, its floor by parts, and what is left."""

    received: Value = figure("money", "payments of the licensee")
    withheld: Value = figure("money", "withholding tax on them")
    inventors: Value = figure("money", "what goes to the inventors")
    net: Value = figure("money", "what is left of the payments")
    rivals: Value = figure("money", "royalty that other licensees of the territory may be expected to take, as it is left")
    taxable: Value = figure("money", "net income from the deal: payments less inventors and costs; opportunities lost do not count")
    own_tax: Value = figure("money", "its own tax on that, before the credit; 0 where it is exempt")
    credit: Value = figure("money", "withholding tax that is credited against its own tax")
    work: Value = figure("money", "floor: working days at full cost, overrun counted")
    travel: Value = figure("money", "floor: travel, documents, other expenses")
    pilot_time: Value = figure("money", "floor: time of the pilot line that is lost")
    services: Value = figure("money", "floor: cost of yearly services")
    upkeep: Value = figure("money", "floor: upkeep of the rights")
    damages: Value = figure("money", "floor: damages to be expected, and its part of tests")
    materials: Value = figure(
        "money", "floor: own cost of supplied materials above the price of a second source; minus: they cost it less"
    )
    territory: Value = figure("money", "floor: value of other licences that are forgone through exclusivity")
    contribution: Value = figure("money", "contribution required: what must be left to it after all costs")
    floor: Value = figure("money", "floor: what must arrive, all parts together")
    floor_paid: Value = figure("money", "payments in the mix of the offer that leave just the floor, tax and inventors counted")
    policy: Value = figure("money", "past research that policy wants back; not in the floor")
    npv: Value = figure(
        "money", "net present value of the licence: what is left after own tax, less all costs, without the contribution"
    )
    gain: Value = figure("money", "what it has above its floor")


@dataclass(frozen=True, slots=True)
class Alternative:
    """Something that the licensee could do instead."""

    npv: Value = figure("money", "net present value")


@dataclass(frozen=True, slots=True)
class Licensee:
    """The licensee: its plant with the payments, without them, and its best alternative."""

    npv: Value = figure("money", "net present value of the plant with the payments, shares, damages and other licensees counted")
    npv_undisturbed: Value = figure(
        "money", "net present value of the plant before damages, and if no one else were licensed in the territory"
    )
    npv_free: Value = figure("money", "net present value of the plant if nothing were paid")
    best_alternative: Value = figure("money", "net present value of the best of the alternatives, doing nothing among them")
    ceiling: Value = figure("money", "most that payments may take from it, after its tax, at its rate")
    cost: Value = figure("money", "what the payments take from it, after its tax")
    gain: Value = figure("money", "what it has above its best alternative")
    sales_now: Value = figure("money", "net sales at its rate")
    dividends: Value = figure("money", "cash that goes to the licensor's shares, at the licensee's rate")
    damages: Value = figure(
        "money", "damages to be expected from the licensor, less its part of tests, after tax, at the licensee's rate"
    )


@dataclass(frozen=True, slots=True)
class Yardsticks:
    """How payments compare with what the plant earns."""

    profit: Value = figure("money", "profit of the licensee before tax over the plan, after payments")
    profit_share: Value = figure("%", "licensor's share of enterprise profit: payments over payments and profit")
    profit_share_status: Value = status(*_PROFIT)
    turnover_factor: Value = figure("1", "technology turnover factor: profit over payments")
    turnover_factor_status: Value = status(*_PAID)
    discounted_profit: Value = figure("money", "profit before tax at the licensee's rate")
    discounted_profit_share: Value = figure("%", "licensor's share of enterprise profit, both at the licensee's rate")
    discounted_profit_share_status: Value = status(*_PROFIT)
    discounted_turnover_factor: Value = figure("1", "technology turnover factor, both at the licensee's rate")
    discounted_turnover_factor_status: Value = status(*_PAID)
    royalty_equivalent: Value = figure("%", "all payments over net sales, both at the licensee's rate")
    royalty_equivalent_status: Value = status({1: "something is sold"}, {0: "nothing is sold"})


@dataclass(frozen=True, slots=True)
class DealYear:
    """The royalty of a year of the plan, and all payments."""

    earned: Value = figure("money", "royalty by sales and watts")
    minimum: Value = figure("money", "least royalty")
    missing: Value = figure("money", "paid on top for the minimum, before the part of the withholding tax that the licensee pays")
    due_at_closing: Value = figure("money", "least royalty of later years that falls due as the plant closes, as far as it is paid")
    minimum_binds: Value = figure("1", "1 where something is paid because of a minimum, else 0")
    paid: Value = figure("money", "all payments of the year")


@dataclass(frozen=True, slots=True)
class OnTime:
    """The plant if nothing were paid for the licence and our transfer were not late, which the licensee's other ways go by."""

    assets: dict[str, AssetPlan]
    use_years: dict[str, UseYear]
    markets: dict[str, MarketSales]
    quarters: dict[str, Quarter]
    never_closed: dict[str, Quarter]
    start: Value = figure("1", "quarters from the first day to the start of production, without our delay")
    npv: Value = figure("money", "net present value of that plant at the licensee's required return")
    sales_now: Value = figure("money", "present value of its net sales")


@dataclass(frozen=True, slots=True)
class Deal:
    """What the licence is worth to each side, with the payments and without."""

    without_payments: dict[str, Quarter]
    without_payments_never_closed: dict[str, Quarter]
    on_time: OnTime | None
    by_kind: dict[str, Received]
    by_heading: dict[str, Heading]
    deliveries: dict[str, WorkCost]
    yearly_services: dict[str, ServiceCost]
    service_effects: dict[str, EffectFigures]
    prospects: dict[str, ForgoneLicence]
    second_licensees: dict[str, SecondLicensee]
    taken: Taken
    taken_if_open: Taken
    exclusivity: ExclusivityValuation
    guarantees: dict[str, Exposure]
    performance_guarantees: dict[str, PromiseExposure]
    acceptance_dates: dict[str, DateExposure]
    licensor: Licensor
    own_money: OwnMoney
    alternatives: dict[str, Alternative]
    licensee: Licensee
    yardsticks: Yardsticks
    years: dict[str, DealYear]
    transfer: Transfer | None
    laboratory: Laboratory | None
    supplied: dict[str, SuppliedFigures]
    dividends: dict[str, Value] = figure("money", "cash that goes to the licensor's shares, by quarter")
    gain: Value = figure(
        "money", "what both have above floor and best alternative, each at its own rate; added at day-one exchange rates"
    )
    licensor_share: Value = figure("%", "licensor's share of that")
    licensor_share_status: Value = status({1: "both gain something together"}, {0: "both gain nothing together"})
