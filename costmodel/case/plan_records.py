"""The records of the plan, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import YEAR, choice, count_text, number, optional_text, reference, share, text, unit_text
from ..core.operations import Value

UNLIMITED = "unlimited"  # stands in sales.csv for a buyer whom no row of markets.csv limits


@dataclass(frozen=True, slots=True)
class Schedule:
    """When the plant is built, staffed and running; the plan counts quarters from the first day of spending."""

    horizon: str = count_text("years that the plan covers, building included", example="15")
    build_time: Value = number("s", "from the first day to the start of production", example="24 month", entry="month")
    staff_before: Value = number("s", "how long before that people and other fixed costs begin", example="4 month", entry="month")
    delay: Value = number("s", "how much later production starts, with fixed costs running", example="0 month", entry="month")
    ramp_stretch: Value = number("1", "times that a quarter of ramp.csv takes", example="1", above=0.0)
    volume_share: Value = share("share of the output of the case that is made and sold in full swing", example="100 %", above=0.0)
    last_replacement: Value = number(
        "s",
        "how long before the end of the plan equipment that wears out is no longer refurbished or replaced",
        example="2 year",
        entry="year",
    )
    first_month: str = optional_text("calendar month of the first day, year and month", example="2027-01")


@dataclass(frozen=True, slots=True)
class Returns:
    """What money must earn, and whether rates are stated with inflation or without."""

    required_return: Value = number(
        "1/s", "return that the project must earn, after tax", example="12 %/year", entry="1/year", high=1.0 / YEAR
    )
    equity_return: Value = number(
        "1/s", "return that the owners ask on their own money", example="18 %/year", entry="1/year", high=1.0 / YEAR
    )
    basis: str = choice("whether both returns are with inflation (nominal) or without (real)", "nominal", "real")
    inflation: Value = number(
        "1/s",
        "yearly rise of all costs that escalations.csv does not name",
        example="2 %/year",
        entry="1/year",
        low=-0.9 / YEAR,
        high=1.0 / YEAR,
    )


@dataclass(frozen=True, slots=True)
class WorkingCapital:
    """Money tied up in running the plant, besides the stock of bought items that buying.csv asks for."""

    receivable_time: Value = number("s", "time that customers take to pay", example="60 day", entry="day")
    finished_time: Value = number("s", "time that finished modules wait to be sold", example="30 day", entry="day")
    payable_time: Value = number(
        "s",
        "time that suppliers of what follows the output, as materials and power, wait for their money",
        example="30 day",
        entry="day",
    )
    bought_before: Value = number(
        "s", "time before the start of production at which the first stock of bought items comes", example="2 month", entry="month"
    )


@dataclass(frozen=True, slots=True)
class Outlay:
    """What comes on top of the prices of equipment, and what comes back."""

    contingency: Value = number("1", "reserve on all capital but land, on replacements and expansions too", example="8 %", high=2.0)
    grant: Value = share("part of the capital of the first plant, land apart, that a subsidy pays, as it is spent", example="0 %")
    import_vat: Value = share("value added tax at the border on equipment and systems, paid back later", example="15 %")
    vat_return_time: Value = number("s", "time until it is paid back", example="6 month", entry="month")
    first_fill_time: Value = number(
        "s", "materials used up before the first good module, as time of full use", example="10 day", entry="day"
    )
    commissioning_scrap: Value = share("materials wasted in commissioning, share of those of a year", example="5 %")
    resale_share: Value = share(
        "share of its price new (without freight, installation, reserve) that equipment of no age sells for", example="30 %"
    )
    resale_decline: Value = number(
        "1/s", "fall of that share with each year of age", example="15 %/year", entry="1/year", high=0.99 / YEAR
    )


@dataclass(frozen=True, slots=True)
class Tax:
    """Tax on income, settled each quarter.

    Losses carried back are refunded at once, oldest profit first; those carried forward are used oldest first. Common practice:
    local law decides which choice holds.
    """

    rate: Value = share("tax on profit", example="25 %")
    holiday: Value = number("s", "time from the start of production without tax on profit", example="0 year", entry="year")
    loss_use: Value = share("part of a profit that losses carried forward may make up for", example="100 %")
    loss_relief: str = choice(
        "what a loss does: it is carried forward, or carried back to the years before it and the rest forward, or set against "
        "other income of the owner at once",
        "carried_forward",
        "carried_back_one_year",
        "carried_back_two_years",
        "carried_back_three_years",
        "other_income",
    )
    loss_years: str = count_text("whole years after which a loss carried forward expires; 60 where it does not", example="60")
    holiday_losses: str = choice("whether profit in a tax holiday uses up losses carried forward, or leaves them", "used", "kept")


@dataclass(frozen=True, slots=True)
class Loan:
    """A loan on the capital; its rate is nominal."""

    part: Value = number("1", "part of the capital that the loan pays, as it is spent", example="50 %", high=1.0)
    interest: Value = number("1/s", "interest a year, paid each quarter", example="7 %/year", entry="1/year", high=1.0 / YEAR)
    grace: Value = number("s", "time from the first day until repayment begins", example="36 month", entry="month")
    term: Value = number("s", "time over which it is repaid", example="7 year", entry="year", above=0.0)
    form: str = choice("equal repayments (linear), or equal payments with interest (annuity)", "linear", "annuity")
    minimum_dscr: Value = number("1", "cash for each unit of interest and repayment that the bank asks for", example="1.3")


@dataclass(frozen=True, slots=True)
class Closing:
    """When a plant that loses cash closes, and what the end of use costs.

    The rule looks at operating cash after licence payments and due replacements, before finance and tax, of whole quarters of
    production. Common practice: a plant closes once it no longer earns its running cost. Local labour law decides on severance.
    """

    rule: str = choice("runs to the end of the plan, or closes after quarters of negative operating cash", "never", "by_loss")
    loss_quarters: Value = number(
        "1",
        "quarters in a row with negative operating cash, replacements paid, after which it closes",
        example="6",
        low=1.0,
    )
    not_before: Value = number(
        "s", "earliest time at which it closes, from the start of production; beyond the ramp", example="3 year", entry="year"
    )
    severance_time: Value = number(
        "s", "severance pay at an early closing, in time of labour cost", example="6 month", entry="month"
    )
    dismantling: Value = number(
        "{currency}", "dismantling and site clean-up at the end of use, in money of the case", example="400000"
    )
    currency: str = unit_text("currency of that amount", example="EUR")
    stock_recovered: Value = share("part of its cost that stock sells for at an early closing", example="50 %")
    grant_time: Value = number(
        "s",
        "time from the start of production within which an early closing pays the grant back, in proportion to the time left",
        example="5 year",
        entry="year",
    )
    shortfall: str = choice(
        "who bears what closing does not pay: the owners, or creditors, the bank ranking before the licensor", "owners", "creditors"
    )


@dataclass(frozen=True, slots=True)
class Learning:
    """How variable cost falls with all that the plant has made (Wright). Cost of the case holds up to a first volume."""

    rate: Value = number("1", "fall of cost for each doubling of all that was made", example="5 %", high=0.9)
    reference_volume: Value = number(
        "Wp_stabilised",
        "all made up to which the cost of the case holds",
        example="20 MWp_stabilised",
        entry="MWp_stabilised",
        above=0.0,
    )
    convention: str = choice("whether the cost of each next watt falls, or the average of all", "unit", "cumulative_average")


@dataclass(frozen=True, slots=True)
class Ramp:
    """A quarter of the ramp, in the order of the rows; after the last the plant is in full swing."""

    starts_share: Value = share("plates started, share of full swing", example="30 %")
    yield_share: Value = share("yield of the line, share of that of the case", example="75 %", above=0.0)


@dataclass(frozen=True, slots=True)
class Sale:
    """A part of the output, and the price it sells for."""

    title: str = text("who buys it", example="facade builders")
    market: str = reference("the market that limits what can be sold to it", "markets", example="building_skin", or_else=UNLIMITED)
    output_share: Value = share("share of the output that is planned for it", example="80 %")
    price: Value = number("{currency}/{per}", "price at the gate in money of the case", example="1.75", entry="{currency}/{per}")
    currency: str = unit_text("currency of the price", example="EUR")
    per: str = choice(
        "what the price is for; a watt is one on the label, where power_classes.csv has labels",
        "Wp_stabilised",
        "m2",
        "module",
        is_unit=True,
    )
    change: Value = number(
        "1/s",
        "yearly change of the price, inflation included",
        example="-2 %/year",
        entry="1/year",
        low=-0.9 / YEAR,
        high=1.0 / YEAR,
    )


@dataclass(frozen=True, slots=True)
class Payment:
    """When capital is paid; the shares of each kind add up to 100 %."""

    title: str = text("what the payment is", example="deposit")
    covers: str = choice("tools, carriers and spare parts; facility systems; or capital.csv", "equipment", "systems", "other")
    part: Value = share("share of the price", example="30 %")
    time: Value = number("s", "when it is paid, from the first day", example="3 month", entry="month")


@dataclass(frozen=True, slots=True)
class Capital:
    """Money spent once, besides equipment and systems: building, engineering, training."""

    title: str = text("what it is for", example="training of the team")
    amount: Value = number("{currency}", "amount", example="350000")
    currency: str = unit_text("currency of the amount", example="EUR")
    treated: str = choice("written off over its life (asset), or an expense when it is paid", "asset", "expense")
    life: Value = number("s", "years over which an asset is written off", example="25 year", entry="year", above=0.0)
    end_share: Value = number(
        "1",
        "what an asset sells for at the end of use, over its amount with the reserve; 0 for an expense",
        example="0 %",
        high=5.0,
    )


@dataclass(frozen=True, slots=True)
class Land:
    """Land and other assets that are not written off, and are sold at the end of use, with a gain or a loss."""

    title: str = text("what it is", example="plot of the plant")
    amount: Value = number("{currency}", "amount, paid as payments.csv says for `other`", example="900000")
    currency: str = unit_text("currency of the amount", example="EUR")
    end_share: Value = number("1", "what it sells for at the end of use, over the amount paid", example="100 %", high=5.0)


@dataclass(frozen=True, slots=True)
class Refurbishment:
    """An overhaul at the end of the technical life of equipment, in place of its replacement; each piece has one.

    The plan pays it as it pays a replacement, writes it off evenly over the years that it adds, and replaces after them. A major
    overhaul is carried as an asset by IAS 16, paragraph 14.
    """

    title: str = text("what is done", example="overhaul of the chamber")
    covers: str = choice("the table in which the equipment stands", "tools", "carriers", "spares", "facilities")
    equipment: str = text("the id of its row there", example="deposition")
    cost: Value = number("1", "cost over the price of new equipment, standing in the plant", example="25 %", high=2.0)
    added_life: Value = number("s", "years that it adds to the technical life", example="6 year", entry="year", low=YEAR)


@dataclass(frozen=True, slots=True)
class Escalation:
    """A kind of cost that does not rise with inflation."""

    covers: str = choice(
        "the category of the ledger",
        "materials",
        "utilities",
        "labour",
        "maintenance",
        "building",
        "facilities",
        "overheads",
        "emissions",
    )
    change: Value = number(
        "1/s", "its yearly change, inflation included", example="1 %/year", entry="1/year", low=-0.9 / YEAR, high=1.0 / YEAR
    )


@dataclass(frozen=True, slots=True)
class Expansion:
    """A later enlargement of the plant; it ramps up as the first plant did."""

    title: str = text("what it is", example="second half")
    time: Value = number("s", "when it starts, after the start of production", example="4 year", entry="year")
    size: Value = number("1", "its output over that of the case", example="50 %", high=20.0)
    capital_share: Value = number(
        "1", "its capital over that of the first plant, for the same size, paid in the year before", example="85 %", high=5.0
    )
    fixed_share: Value = number("1", "its fixed cost over that of the first plant, for the same size", example="70 %", high=5.0)
    life: Value = number("s", "years over which it is written off", example="10 year", entry="year", above=0.0)


@dataclass(frozen=True, slots=True)
class OtherLine:
    """Another line that the same money could buy, in a few figures, under the same taxes and required return."""

    title: str = text("what line it is", example="crystalline module line")
    capital: Value = number("{currency}/Wp_stabilised", "capital for each watt that it makes in a year", example="0.12", above=0.0)
    cash_cost: Value = number("{currency}/Wp_stabilised", "what a watt costs in cash", example="0.11")
    price: Value = number("{currency}/Wp_stabilised", "price of a watt at the gate in money of the case", example="0.12")
    change: Value = number(
        "1/s",
        "yearly change of price and cost, inflation included",
        example="-3 %/year",
        entry="1/year",
        low=-0.9 / YEAR,
        high=1.0 / YEAR,
    )
    currency: str = unit_text("currency of the figures", example="EUR")
    build_time: Value = number("s", "time over which it is paid and built", example="12 month", entry="month", above=0.0)
    ramp_time: Value = number(
        "s", "time from then to full output, half of which is made meanwhile", example="9 month", entry="month"
    )
    life: Value = number("s", "years over which it is written off", example="8 year", entry="year", above=0.0)
