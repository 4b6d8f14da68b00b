"""Figures of the plan, in the reporting currency, with inflation (nominal) unless their name says otherwise."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.fields import figure, status, unit_text
from ...core.operations import Value
from ...core.rates_of_return import COST_OF_FINANCE, HALF_LOST, NONE, ONE, SEVERAL

Reasons = dict[float, str]  # what each number of a status stands for
PAID_BACK: tuple[Reasons, Reasons] = ({1: "paid back within the plan"}, {0: "not paid back within the plan"})


@dataclass(frozen=True, slots=True)
class Quarter:
    """One quarter: profit and loss, tax, cash, and the balance at its end."""

    open_share: Value = figure("1", "1 while the plant is in use, 0 after it has closed")
    lost_quarters: Value = figure("1", "quarters in a row that lose cash, replacements paid, if the plant never closes")
    running_share: Value = figure("%", "part of the quarter after the start of production")
    started_share: Value = figure("%", "plates started, over those of the case in full swing")
    planned_share: Value = figure("%", "good modules planned while the plant is in use, over the output of the case")
    taken_share: Value = figure("%", "what markets take of the output planned, all where none is; the rest is not made")
    good_share: Value = figure("%", "good modules, over those of the case in full swing")
    fixed_share: Value = figure("%", "part of the quarter in which fixed costs run, expansions added")
    stabilised_watts: Value = figure("Wp_stabilised", "made and sold")
    cumulative_watts: Value = figure("Wp_stabilised", "made so far")
    learning_factor: Value = figure("1", "variable cost over what it would be without learning")
    revenue: Value = figure("money", "net sales")
    variable_cost: Value = figure("money", "costs that follow the output")
    fixed_cost: Value = figure("money", "costs that stand with the plant, depreciation apart")
    start_up: Value = figure("money", "first fill, commissioning scrap, training and other expenses paid once")
    sublicences: Value = figure("money", "what sublicences may be expected to bring")
    royalty: Value = figure("money", "running royalty, topped up to its minimum")
    licence_services: Value = figure("money", "work and supplies of the licensor, and its part of sublicences")
    warranty_provided: Value = figure("money", "set aside for the warranty of the modules sold")
    warranty_paid: Value = figure("money", "claims paid; at the end of use, the provision that is left too")
    warranty_unwinding: Value = figure("money", "interest on the provision for warranty, no cash")
    warranty_to_settle: Value = figure("money", "provision for warranty before what the end of use settles")
    warranty_provision: Value = figure("money", "provision for warranty in the books")
    operating: Value = figure("money", "operating result before depreciation and the cost of closing")
    closing_cost: Value = figure("money", "severance, dismantling, grant paid back, loss on stock, when use of the plant ends")
    depreciation: Value = figure("money", "depreciation in the books, with that of the licence fee")
    tax_depreciation: Value = figure("money", "written off for tax; what is left of it at the end of use too")
    interest: Value = figure("money", "interest on the loan")
    disposal: Value = figure("money", "book value of what is replaced; at the end of use, book value less what assets sell for")
    taxable: Value = figure("money", "taxable income before losses carried forward")
    losses_carried: Value = figure("money", "losses that may be set against later profits")
    losses_made: Value = figure("money", "losses so far that came to be carried forward")
    losses_gone: Value = figure("money", "losses so far that were used or expired")
    profits_taxed: Value = figure("money", "profits taxed so far")
    profits_gone: Value = figure("money", "profits so far that no loss can be carried back to")
    tax: Value = figure("money", "tax on income")
    profit: Value = figure("money", "profit after tax")
    capital: Value = figure("money", "spent on the plant, grant taken off")
    licence_fee: Value = figure("money", "paid once for the licence: fees, milestones, margins on equipment")
    licence_value: Value = figure("money", "the same in the books, not yet written off; nothing after the end of use")
    replacement: Value = figure("money", "spent on replacement, refurbishment and expansion")
    vat: Value = figure("money", "value added tax paid at the border, less what comes back")
    working_capital: Value = figure("money", "tied up in receivables and stock, less what suppliers wait for")
    unwritten: Value = figure("money", "bought and not yet written off for tax, before what the end of use writes off")
    resale: Value = figure("money", "what all assets would sell for at the end of the quarter")
    available_if_closed: Value = figure("money", "what closing at the end of the quarter would leave for the bank and the licensor")
    end_value: Value = figure("money", "what equipment, land and other assets sell for at the end of use")
    taxable_without_loan: Value = figure("money", "taxable income if there were no loan")
    losses_carried_without_loan: Value = figure("money", "losses that may be set against later profits, if there were no loan")
    losses_made_without_loan: Value = figure("money", "losses so far that came to be carried forward, if there were no loan")
    losses_gone_without_loan: Value = figure("money", "losses so far that were used or expired, if there were no loan")
    profits_taxed_without_loan: Value = figure("money", "profits taxed so far, if there were no loan")
    profits_gone_without_loan: Value = figure("money", "profits so far that no loss can be carried back to, if there were no loan")
    tax_without_loan: Value = figure("money", "tax on income if there were no loan")
    free_cash: Value = figure("money", "cash of the project after tax, as if there were no loan")
    drawn: Value = figure("money", "drawn from the loan")
    repaid: Value = figure("money", "repaid of the loan; at an early closing, all that the bank gets")
    forgiven: Value = figure("money", "owed to the bank and lost to it by an early closing")
    owners_cash: Value = figure("money", "paid out to the owners; paid in where negative")
    cumulative_free_cash: Value = figure("money", "cash of the project so far")
    cumulative_owners_cash: Value = figure("money", "cash of the owners so far")
    discounted_free_cash: Value = figure("money", "cash of the project so far, discounted at its required return")
    discounted_owners_cash: Value = figure("money", "cash of the owners so far, discounted at the return that they ask")
    fixed_assets: Value = figure("money", "plant and licence in the books")
    receivables: Value = figure("money", "owed by customers")
    stock: Value = figure("money", "stock of bought items and finished modules")
    payables: Value = figure("money", "owed to suppliers")
    vat_receivable: Value = figure("money", "value added tax to come back")
    debt: Value = figure("money", "owed on the loan")
    equity: Value = figure("money", "paid in by the owners less paid out, and all profits")
    balance: Value = figure("money", "check, must be zero: assets less debts and equity")


@dataclass(frozen=True, slots=True)
class MarketSales:
    """What the plan would sell in a market, and what it sells there, in the unit of the market's volume."""

    per: str
    cap: Value = figure("{per}", "most that the plant can sell there in a year")
    planned: dict[str, Value] = figure("{per}", "planned sales, by quarter")
    sold: dict[str, Value] = figure("{per}", "sold, by quarter")
    sold_share: dict[str, Value] = figure("%", "share of the planned sales that the market takes, by quarter")
    planned_by_year: dict[str, Value] = figure("{per}", "planned sales, by year of the plan")
    sold_by_year: dict[str, Value] = figure("{per}", "sold, by year of the plan")
    cut_by_year: dict[str, Value] = figure("{per}", "planned sales that the market does not take, by year of the plan")
    market_share_by_year: dict[str, Value] = figure("%", "sold over the volume of the market, by year of the plan")


@dataclass(frozen=True, slots=True)
class Payments:
    """What the licensee pays under one heading of the licence."""

    paid_as: str
    quarters: dict[str, Value] = figure("money", "paid, with what it bears of the withholding tax")


@dataclass(frozen=True, slots=True)
class Year:
    """One year of the plan, with what the bank looks at."""

    cash_for_debt: Value = figure(
        "money", "cash before capital of the first plant, what is paid once for the licence, interest and repayment"
    )
    debt_service: Value = figure("money", "interest and repayment")
    dscr: Value = figure("1", "cash for debt over debt service")
    dscr_status: Value = status({1: "repayment"}, {0: "no repayment in the year"})
    below_minimum_dscr: Value = figure("1", "1 in a year with repayment whose cover is below what the bank asks for")


@dataclass(frozen=True, slots=True)
class Valuation:
    """What a row of cash flows is worth; present values are at the first day of the plan."""

    npv: Value = figure("money", "net present value at the required return, flows at quarter ends")
    irr: Value = figure("%", "internal rate of return a year, compounded from quarters")
    irr_status: Value = status(
        {ONE: "one rate of return from -90 to +1,000 % a year"},
        {
            NONE: "no rate from -90 to +1,000 % a year",
            SEVERAL: "several rates, none of which is the return",
            COST_OF_FINANCE: "a cost of finance, as the value rises through the rate",
            HALF_LOST: "less than half of the outlay is recovered",
        },
    )
    recovered: Value = figure("%", "what comes in over what is paid out, without interest")
    recovered_status: Value = status({1: "something is paid out"}, {0: "nothing is paid out"})
    quarters_below: Value = figure("1", "day one and quarters up to the last that ends with a negative running sum; 0 if none does")
    discounted_quarters_below: Value = figure("1", "the same of the discounted flows")
    mirr: Value = figure("%", "modified internal rate of return a year over the whole plan, both rates the required return")
    mirr_status: Value = status({1: "money goes out and comes in"}, {0: "nothing is paid out, or nothing comes in"})
    payback: Value = figure("year", "time from day one until the flows are paid back for good")
    payback_status: Value = status(*PAID_BACK)
    discounted_payback: Value = figure("year", "the same with flows discounted at the required return")
    discounted_payback_status: Value = status(*PAID_BACK)
    low_point: Value = figure("money", "the least of the running sum of the flows")
    low_point_time: Value = figure("year", "time from the first day at which it is reached")


@dataclass(frozen=True, slots=True)
class Ending:
    """The end of use: by the rule of the case, and at the best time, which only hindsight knows."""

    early: Value = figure("1", "1 if the plant closes before the end of the plan, else 0")
    time: Value = figure("year", "time from the first day to the end of use")
    npv_never: Value = figure("money", "net present value of the project if the plant never closes early")
    npv_best: Value = figure("money", "net present value if it closes at the best time: an upper bound, as it knows the future")
    best_time: Value = figure("year", "that time, from the first day; the end of the plan where closing early is never better")
    shortfall: Value = figure("money", "debt and licence payments due at an early closing that what it brings does not cover")
    npv_if_closed: dict[str, Value] = figure(
        "money",
        "net present value if the plant closes at the end of a quarter; before a whole quarter of production, if it never does",
    )
    taxable_if_closed: dict[str, Value] = figure(
        "money", "taxable income of a quarter if the plant closes at its end, as if no loan"
    )
    due_if_closed: dict[str, Value] = figure(
        "money", "licence payments that closing at the end of a quarter makes due, and that are paid"
    )


@dataclass(frozen=True, slots=True)
class OtherQuarter:
    """A quarter of another line."""

    free_cash: Value = figure("money", "cash after tax")
    losses_carried: Value = figure("money", "losses that may be set against later profits")
    losses_made: Value = figure("money", "losses so far that came to be carried forward")
    losses_gone: Value = figure("money", "losses so far that were used or expired")
    profits_taxed: Value = figure("money", "profits taxed so far")
    profits_gone: Value = figure("money", "profits so far that no loss can be carried back to")
    cumulative_free_cash: Value = figure("money", "cash so far")
    discounted_free_cash: Value = figure("money", "cash so far, discounted at the required return")


@dataclass(frozen=True, slots=True)
class AssetPlan:
    """What an asset costs in the plan, and how it is written off."""

    cost: Value = figure("money", "cost with reserve, grant taken off")
    bought: dict[str, Value] = figure("money", "bought by year of use: the first purchase, then replacements at risen prices")
    replaced_later: dict[str, Value] = figure("money", "of what is bought in a year, the part that is replaced within the plan")
    refurbished: dict[str, Value] = figure("money", "spent on overhauls, by year of use, at risen prices")
    books: dict[str, Value] = figure("%", "share of the cost that the books write off, by year of age, if it stays in use")
    tax: dict[str, Value] = figure("%", "share of the cost written off for tax, by year of age, if it stays in use")
    resale: dict[str, Value] = figure("money", "what it would sell for at the end of each year of use, in money of that time")
    resale_new: Value = figure("money", "what it would sell for as production starts")


@dataclass(frozen=True, slots=True)
class UseYear:
    """Money of one year of use of the plant, the first beginning with production."""

    replaced: Value = figure("money", "spent on replacement, refurbishment and expansion")
    books: Value = figure("money", "written off in the books")
    lost: Value = figure("money", "book value of what is replaced, lost")
    tax: Value = figure("money", "written off for tax, with what is lost by replacement")
    resale: Value = figure("money", "what all assets would sell for at its end, in money of that time")


@dataclass(frozen=True, slots=True)
class YearCost:
    """Cash cost of a category in a year of full swing, in money of the case, as the ledger has it."""

    for_started: Value = figure("money", "follows the plates started")
    for_good: Value = figure("money", "follows the good modules")
    standing: Value = figure("money", "stands with the plant")


@dataclass(frozen=True, slots=True)
class Other:
    """Another line for the same money."""

    worth: Valuation
    quarters: dict[str, OtherQuarter]
    stabilised_watts: Value = figure("Wp_stabilised", "what the same capital would make in a year")


@dataclass(frozen=True, slots=True)
class SuppliedQuarters:
    """A material that the licensor supplies, by quarter."""

    unit: str = unit_text("unit of the item", example="kg")
    used: dict[str, Value] = figure("{unit}", "what the plant uses of it, by quarter")
    quantity: dict[str, Value] = figure("{unit}", "what the licensor supplies of that, by quarter")
    price: dict[str, Value] = figure("money/{unit}", "the licensor's price, by quarter")
    second_price: dict[str, Value] = figure("money/{unit}", "price of the second source, as the plan counts it, by quarter")


@dataclass(frozen=True, slots=True)
class Plan:
    """The plant as an investment. `never_closed` are the quarters on which a rule of closing stands; none without such a rule."""

    costs: dict[str, YearCost]
    assets: dict[str, AssetPlan]
    use_years: dict[str, UseYear]
    markets: dict[str, MarketSales]
    payments: dict[str, Payments]
    supplied: dict[str, SuppliedQuarters]
    quarters: dict[str, Quarter]
    never_closed: dict[str, Quarter]
    years: dict[str, Year]
    project: Valuation
    owners: Valuation
    others: dict[str, Other]
    ending: Ending
    start: Value = figure("1", "quarters from the first day to the start of production")
    required_return: Value = figure("%", "required return a year, with inflation")
    equity_return: Value = figure("%", "return that the owners ask, a year, with inflation")
    capital: Value = figure("money", "capital of the first plant, reserve on it and grant taken off")
    capital_per_annual_watt: Value = figure(
        "money/Wp_stabilised", "capital over the yearly output of the case in watts, whatever volume_share"
    )
    capital_per_annual_m2: Value = figure("money/m2", "capital over the yearly output of the case in area, whatever volume_share")
    minimum_dscr: Value = figure("1", "least cover of the years in which repayment falls due")
    minimum_dscr_status: Value = status({1: "years with repayment"}, {0: "no repayment within the plan"})
    years_below_minimum_dscr: Value = figure("1", "years whose cover is below what the bank asks for")
