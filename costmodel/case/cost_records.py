"""The records of prices, tariffs, pay and other costs, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import YEAR, choice, number, reference, share, text, unit_text, year_text
from ..core.operations import Value


@dataclass(frozen=True, slots=True)
class Currency:
    """An exchange rate into the reporting currency; the id is the code in small letters."""

    title: str = text("name of the currency", example="euro")
    exchange_rate: Value = number(
        "money/{code}", "units of the reporting currency for one unit of this currency", example="0.92", entry="1", above=0.0
    )
    code: str = unit_text("the three capitals of the currency", example="EUR")
    change: Value = number(
        "1/s",
        "yearly change of the exchange rate, for sales and for payments under the licence",
        example="-2 %/year",
        entry="1/year",
        low=-0.9 / YEAR,
        high=1.0 / YEAR,
    )


@dataclass(frozen=True, slots=True)
class Index:
    """What prices of one year are multiplied by to be in money of the case; a table covered has a row for each price year."""

    covers: str = choice(
        "the table whose prices it covers", "tools", "carriers", "facilities", "prices", "utilities", "services", "spares"
    )
    year: str = year_text("price year")
    factor: Value = number("1", "money of the case for one unit of money of that year", example="1.06", above=0.0)


@dataclass(frozen=True, slots=True)
class Area:
    """A kind of floor or land, and what it costs to hold."""

    title: str = text("name of the kind of floor", example="clean hall")
    charge: Value = number(
        "{currency}/m2/s", "rent, or building charge, with lighting and air", example="180", entry="{currency}/m2/year"
    )
    currency: str = unit_text("currency of the charge", example="EUR")


@dataclass(frozen=True, slots=True)
class Price:
    """The price book of bought items."""

    title: str = text("name of the item", example="encapsulant foil")
    group: str = text("group for summaries", example="encapsulation")
    price: Value = number(
        "{currency}/{unit}",
        "price before freight and duty; of an item with a row in metals.csv, the conversion fee on top of the quote",
        example="4.20",
    )
    currency: str = unit_text("currency of the price", example="EUR")
    unit: str = unit_text("what the price is for", example="m2")
    price_year: str = year_text("year of the price")
    freight: Value = number("1", "freight and insurance on the price", example="4 %", high=5.0)
    duty: Value = number("1", "import duty on the price, freight left out", example="5 %", high=5.0)


@dataclass(frozen=True, slots=True)
class Metal:
    """The metal in a bought item: its quote comes on top of the price of the item, and recovered metal is credited at it.

    Freight and duty of the item are on quote and conversion fee together, as both are in the value that is shipped and declared.
    """

    title: str = text("name of the metal", example="silver")
    item: str = reference("the item of prices.csv that holds the metal", "prices", example="silver_target")
    quote: Value = number("{currency}/{unit}", "quote of the metal, in money of the case", example="1500")
    currency: str = unit_text("currency of the quote", example="EUR")
    unit: str = unit_text("what the quote is for", example="kg")
    refining_share: Value = share("share of the quote that the refiner keeps of recovered metal", example="8 %")


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """A discount from a quantity on: the largest that the quantity of a year reaches holds for all of it."""

    item: str = reference("the item of prices.csv", "prices", example="silane")
    from_quantity: Value = number("{unit}", "quantity of a year from which the discount holds", example="800", entry="{unit}")
    unit: str = unit_text("unit of the quantity", example="kg")
    discount: Value = share("discount on the price, freight and duty included; no quote of a metal falls", example="6 %")


@dataclass(frozen=True, slots=True)
class Buying:
    """On what terms an item is bought; an item without a row is bought as it is used, and held for no time."""

    item: str = reference("the item of prices.csv", "prices", example="silane")
    minimum_order: Value = number("{unit}", "least quantity of one order; 0 for none", example="120", entry="{unit}")
    shelf_life: Value = number("s", "time in which an order is used up or thrown away", example="1 year", entry="month", above=0.0)
    take_or_pay: Value = number("{unit}", "quantity of a year that is paid for, used or not; 0 for none", example="500")
    unit: str = unit_text("unit of both quantities", example="kg")
    stock_time: Value = number("s", "time that the stock on hand lasts", example="30 day", entry="day")


@dataclass(frozen=True, slots=True)
class Container:
    """Cylinders, bundles or trailers that an item comes in, and the rent for them."""

    title: str = text("name of the container", example="cylinder of dopant gas")
    item: str = reference("the item of prices.csv", "prices", example="phosphine_mix")
    content: Value = number("{unit}/container", "what one holds", example="8", entry="{unit}", above=0.0)
    unit: str = unit_text("unit of the content", example="Nm3")
    stay: Value = number("s", "time from its filling to its return", example="45 day", entry="day")
    rent: Value = number("{currency}/container/s", "rent and demurrage", example="0.6", entry="{currency}/day")
    currency: str = unit_text("currency of the rent", example="EUR")


@dataclass(frozen=True, slots=True)
class Utility:
    """A tariff."""

    title: str = text("name of the utility", example="electricity")
    price: Value = number("{currency}/{unit}", "tariff", example="0.11")
    currency: str = unit_text("currency of the tariff", example="EUR")
    unit: str = unit_text("what the tariff is for", example="kWh")
    price_year: str = year_text("year of the tariff")


@dataclass(frozen=True, slots=True)
class ToolUtility:
    """What one tool draws from a utility."""

    tool: str = reference("the tool", "tools", example="laminator")
    utility: str = reference("the utility", "utilities", example="electricity")
    when_processing: Value = number("{unit}/tool", "draw of one tool while it works", example="60", entry="{unit}")
    when_idle: Value = number(
        "{unit}/tool", "draw of one tool in scheduled time while it does not work", example="12", entry="{unit}"
    )
    unit: str = unit_text("unit of the draw: the unit of the tariff over a time", example="kW")


@dataclass(frozen=True, slots=True)
class DemandCharge:
    """What the grid asks for the peak of a draw, whatever is used."""

    title: str = text("what is charged", example="demand charge")
    utility: str = reference("the utility", "utilities", example="electricity")
    charge: Value = number("{currency}/{unit}/s", "charge for the peak of a year", example="95", entry="{currency}/{unit}/year")
    currency: str = unit_text("currency of the charge", example="EUR")
    unit: str = unit_text("unit of the draw", example="kW")
    coincidence_factor: Value = share("share of what is connected that draws at the peak", example="75 %")


@dataclass(frozen=True, slots=True)
class Service:
    """Service that comes due again and again, besides the yearly share in tools.csv: pump rebuilds, lamps, chillers."""

    title: str = text("what is done", example="rebuild of the dry pumps")
    tool: str = reference("the tool", "tools", example="deposition")
    interval: Value = number("s", "time from one to the next", example="18 month", entry="month", above=0.0)
    clock: str = choice("whether the interval is time of the calendar, or time at work", "calendar", "work")
    price: Value = number("{currency}/tool", "price of one, for one tool", example="24000", entry="{currency}")
    currency: str = unit_text("currency of the price", example="EUR")
    price_year: str = year_text("year of the price")


@dataclass(frozen=True, slots=True)
class SparePart:
    """Parts kept in store so that a tool that fails is soon repaired; they are equipment, and wear out in time."""

    title: str = text("what is kept", example="radio-frequency generator and pump")
    tool: str = reference("the tool", "tools", example="deposition")
    price: Value = number("{currency}/{per}", "price of the parts", example="60000", entry="{currency}")
    per: str = choice("whether they are kept for each tool, or once for all of its kind", "tool", "plant", is_unit=True)
    currency: str = unit_text("currency of the price", example="EUR")
    price_year: str = year_text("year of the price")
    life: Value = number("s", "accounting life: years over which they are depreciated", example="8 year", entry="year", above=0.0)
    technical_life: Value = number(
        "s", "years until they are worn out and is refurbished or replaced", example="10 year", entry="year", low=YEAR
    )


@dataclass(frozen=True, slots=True)
class Scrap:
    """What plates lost in a step sell for: glass and metal to recover, panes of second grade; negative where disposal costs."""

    title: str = text("what becomes of them", example="second grade, sold without rating")
    step: str = reference("the step that loses them", "steps", example="final_test")
    lost_share: Value = share("share of the plates lost in the step", example="40 %")
    value: Value = number(
        "{currency}/plate", "what one plate sells for, less transport", example="-0.4", entry="{currency}", low=None
    )
    currency: str = unit_text("currency of the value", example="EUR")


DEPRECIATION = ("straight_line", "declining_balance", "sum_of_years", "rates")


@dataclass(frozen=True, slots=True)
class BookDepreciation:
    """How the books write off equipment over its life; without a row, straight line to nothing.

    Declining balance changes to straight line when that writes off more. By production, a year of the ledger is charged as much
    of the price as the equipment is loaded; the plan writes off in straight line then.
    """

    covers: str = choice("the table whose equipment it covers", "tools", "carriers", "facilities", "spares")
    method: str = choice("method", "straight_line", "declining_balance", "sum_of_years", "production")
    factor: Value = number("1", "times the straight rate that a balance declines by; for that method", example="2", above=0.0)
    salvage: Value = share("what is left at the end of its life, share of its price, landed and installed", example="5 %")


@dataclass(frozen=True, slots=True)
class TaxDepreciation:
    """How the tax office lets equipment be written off; kept apart from the books. Without a row, as in the books."""

    covers: str = choice("the table whose equipment it covers", "tools", "carriers", "facilities", "spares")
    method: str = choice("method; `rates` takes those of tax_rates.csv, year by year", *DEPRECIATION)
    life: Value = number("s", "years over which it is written off; for all but `rates`", example="5 year", entry="year", above=0.0)
    factor: Value = number("1", "times the straight rate that a balance declines by; for that method", example="2", above=0.0)
    first_year: Value = share(
        "share of a full year that the first one counts: 50 % by the half-year convention; for all but `rates`",
        example="50 %",
        above=0.0,
    )


@dataclass(frozen=True, slots=True)
class TaxRate:
    """A rate of a table of depreciation; the order of the rows is that of the years, and a schedule adds up to 100 %."""

    schedule: str = reference("the row of tax_depreciation.csv that takes it", "tax_depreciation", example="systems")
    rate: Value = share("share of the price written off in that year", example="20 %")


@dataclass(frozen=True, slots=True)
class Role:
    """A role with its pay; operators at tools are counted in tools.csv."""

    title: str = text("name of the role", example="line operator")
    heads: Value = number(
        "person/{per}", "people besides those at tools, not rounded unless they grow in steps", example="2", entry="person"
    )
    per: str = choice("whether these heads are for each crew or for the plant", "crew", "plant", is_unit=True)
    wage: Value = number("{currency}/person/s", "yearly pay of one person", example="31000", entry="{currency}/year")
    currency: str = unit_text("currency of the wage", example="EUR")
    burden: Value = number("1", "social charges and absence cover on the wage", example="24 %", high=3.0)


@dataclass(frozen=True, slots=True)
class Facility:
    """A facility system: gas supply, abatement, chilled water, power. Its cost is entered; nothing here sizes it."""

    title: str = text("name of the system", example="silane supply")
    price: Value = number("{currency}", "price of the system, standing in the plant", example="420000")
    currency: str = unit_text("currency of the price", example="EUR")
    price_year: str = year_text("year of the price")
    life: Value = number("s", "accounting life: years over which it is depreciated", example="15 year", entry="year", above=0.0)
    technical_life: Value = number(
        "s", "years until it is worn out and is refurbished or replaced", example="20 year", entry="year", low=YEAR
    )
    maintenance: Value = number(
        "1/s", "parts and service in a year, share of the price", example="3 %/year", entry="1/year", high=1.0 / YEAR
    )
    footprint: Value = number("m2", "floor or land that it takes", example="60 m2")
    area: str = reference("the kind of floor in areas.csv", "areas", example="land")


@dataclass(frozen=True, slots=True)
class FacilityUtility:
    """What a facility system draws from a utility, all year round."""

    facility: str = reference("the system", "facilities", example="cooling_plant")
    utility: str = reference("the utility", "utilities", example="electricity")
    draw: Value = number("{unit}", "draw, on average over the year", example="35")
    unit: str = unit_text("unit of the draw: the unit of the tariff over a time", example="kW")


GROWING = ("facilities", "crew", "overheads", "spares")
DRIVERS = {"all_tools": "tool", "stabilised_watts": "Wp_stabilised", "good_area": "m2", "good_modules": "module"}


@dataclass(frozen=True, slots=True)
class GrowthStep:
    """What grows with the plant in whole units, as one abatement unit per two chambers; without a row, an amount is fixed."""

    grows: str = text("address of the row that grows: of facilities, crew, overheads or spares", example="facilities.abatement")
    driver: str = text(
        "what it grows with: a tool, a kind of floor, all_tools (with in_all_tools in tools.csv), stabilised_watts, "
        "good_area or good_modules",
        example="deposition",
    )
    size_per_unit: Value = number("{unit}", "size of the driver that one unit serves", example="2", above=0.0)
    unit: str = unit_text("unit of the driver", example="tool")
    installed: Value = number("1", "units in the plant, when the target is frozen", example="2")


@dataclass(frozen=True, slots=True)
class GrowthExponent:
    """What grows as a power of a size of the plant, as by the six-tenths rule; the row it names is for the reference size."""

    grows: str = text("address of the row that grows: of facilities, crew, overheads or spares", example="facilities.cooling_plant")
    driver: str = text(
        "what it grows with: a tool, a kind of floor, all_tools (with in_all_tools in tools.csv), stabilised_watts, "
        "good_area or good_modules",
        example="all_tools",
    )
    reference_size: Value = number("{unit}", "size of the driver that the row is stated for", example="36", above=0.0)
    unit: str = unit_text("unit of the driver", example="tool")
    exponent: Value = number("1", "exponent of the size: 0 fixed, 1 in proportion", example="0.6", high=2.0)
    installed: Value = number("{unit}", "size that the plant was built for, when the target is frozen", example="36", above=0.0)


@dataclass(frozen=True, slots=True)
class Overhead:
    """A cost of the firm that no step and no tool causes, or its share of what the plant is worth or costs."""

    title: str = text("what it is for", example="certification")
    amount: Value = number("{currency}/{per}", "amount", example="60000")
    currency: str = unit_text("currency of the amount", example="EUR")
    per: str = choice("what the amount is for", "year", "module", "m2", "Wp_stabilised", is_unit=True)


@dataclass(frozen=True, slots=True)
class Levy:
    """A yearly share of what tools, carriers, facility systems and parts in store have cost, as for insurance and property tax."""

    title: str = text("what it is for", example="insurance")
    rate: Value = number(
        "1/s",
        "share of the installed price of all equipment and systems, a year",
        example="0.4 %/year",
        entry="1/year",
        high=1.0 / YEAR,
    )


@dataclass(frozen=True, slots=True)
class EmissionSource:
    """Greenhouse gas set free by something that is bought or drawn, and a price on it where wanted."""

    title: str = text("what sets it free", example="cleaning gas not broken down")
    emitter: str = text("the item of prices.csv, or the utility, whose use counts", example="nitrogen_trifluoride")
    factor: Value = number("kg/{unit}", "CO2 equivalent for one unit used, abatement taken off", example="260")
    unit: str = unit_text("the unit of the factor: one that the use is counted in", example="kg")
    price: Value = number("{currency}/kg", "price of CO2 equivalent; 0 for none", example="0.06")
    currency: str = unit_text("currency of the price", example="EUR")
