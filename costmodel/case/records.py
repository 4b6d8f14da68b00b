"""The records of a case, which are also its schema: each field says its unit, range and meaning.

One record class is one table (or one section of case.yaml), one record one row. All numbers are in coherent base units;
an amount is for one year of steady operation unless its name says otherwise. Money is in the currency of its row.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cache
from typing import Any

from ..fields import YEAR, choice, number, reference, share, text, unit_text, year_text
from ..operations import Value
from .deal_records import (
    BuyOut,
    Delivery,
    Fee,
    Licence,
    Licensor,
    MinimumRoyalty,
    Negotiation,
    OtherWay,
    PaymentKind,
    Prospect,
    RoyaltyStep,
    Sublicence,
    Supply,
    YearlyService,
)
from .plan_records import (
    Capital,
    Escalation,
    Expansion,
    Learning,
    Loan,
    Market,
    OtherLine,
    Outlay,
    Payment,
    Ramp,
    Returns,
    Sale,
    Schedule,
    Tax,
    WorkingCapital,
)

KINDS = ("measured", "quote", "handbook", "estimate", "invented")


@dataclass(frozen=True, slots=True)
class Evidence:
    """Where the figures of a row come from."""

    kind: str = choice("how well the figures of the row are known", *KINDS)
    source: str = text("where the figures come from", example="supplier offer 12/2026")
    date: str = text("date of the figures, as 2026-11-01", example="2026-11-01")
    by: str = text("who entered the figures", example="analyst")


@dataclass(frozen=True, slots=True)
class Constants:
    """Conventions and constants of nature that the model reads like inputs; no table sets them.

    Year: 8,760 h, the year of this model. Rating irradiance: 1,000 W/m2, standard test conditions of IEC 60904-3.
    Molar masses: sums of the IUPAC standard atomic weights Si 28.085 and H 1.008 (check value M04).
    """

    year: Value = number("s", "the year that annual amounts are for", example="1", entry="year")
    rating_irradiance: Value = number("W/m2", "irradiance at which modules are rated", example="1000")
    molar_mass_silicon: Value = number("kg/mol", "molar mass of silicon", example="28.085 g/mol", entry="g/mol")
    molar_mass_silane: Value = number("kg/mol", "molar mass of silane", example="32.117 g/mol", entry="g/mol")
    loads_per_tool: Value = number("load/tool", "a tool holds one load at a time", example="1")
    modules_per_plate: Value = number("module/plate", "a module is made from one coated plate", example="1")


@dataclass(frozen=True, slots=True)
class Product:
    """What is made: one glass-glass module per coated plate."""

    length: Value = number("m", "length of the plate", example="1.2 m", above=0.0)
    width: Value = number("m/plate", "width of the plate", example="0.6 m", entry="m", above=0.0)
    active_area_share: Value = share("share of the plate area that generates power", example="94 %", above=0.0)
    initial_efficiency: Value = share(
        "efficiency of the active area before light soaking", example="8.4 %", unit="Wp_initial/W", above=0.0
    )
    stabilisation_ratio: Value = share(
        "stabilised power over initial power", example="80 %", unit="Wp_stabilised/Wp_initial", above=0.0
    )


@dataclass(frozen=True, slots=True)
class Site:
    """Where and when it is made."""

    scheduled_time: Value = number(
        "s", "time in the year for which production is scheduled", example="8000 h", entry="h", above=0.0, high=YEAR
    )
    crews: Value = number("crew", "shift crews that share the scheduled time", example="4", above=0.0, entry="1")


@dataclass(frozen=True, slots=True)
class Target:
    """How much is made: `sized` finds the tools for the output, `frozen` the output of the installed tools."""

    mode: str = choice("sized: tools follow from the output; frozen: output follows from the installed tools", "sized", "frozen")
    basis: str = choice("what the output is counted in", "Wp_stabilised", "m2", "module", is_unit=True)
    output: Value = number(
        "{basis}",
        "good output wanted in the year, in the unit of `basis`; not used when frozen",
        example="10 MWp_stabilised",
        above=0.0,
    )


@dataclass(frozen=True, slots=True)
class Currency:
    """An exchange rate into the reporting currency; the id is the code in small letters."""

    title: str = text("name of the currency", example="euro")
    exchange_rate: Value = number(
        "money/{code}", "units of the reporting currency for one unit of this currency", example="0.92", entry="1", above=0.0
    )
    code: str = unit_text("the three capitals of the currency", example="EUR")


@dataclass(frozen=True, slots=True)
class Tool:
    """A kind of tool; several may be installed, and one kind may serve several steps."""

    title: str = text("name of the tool", example="vacuum laminator")
    price: Value = number(
        "{currency}/tool", "price of one tool with all that it needs to run", example="450000", entry="{currency}"
    )
    currency: str = unit_text("currency of the price", example="EUR")
    price_year: str = year_text("year of the price")
    freight_and_duty: Value = number("1", "freight and import duty on the price", example="6 %", high=2.0)
    installation: Value = number("1", "installation and start-up on the price", example="8 %", high=2.0)
    life: Value = number("s", "years over which the tool is depreciated", example="8 year", entry="year", above=0.0)
    load_size: Value = number("plate/load", "plates that the tool takes at a time", example="6", entry="plate", above=0.0)
    planned_downtime: Value = share("planned maintenance, share of scheduled time", example="4 %")
    unplanned_downtime: Value = share("failures and repair, share of scheduled time", example="5 %")
    engineering_time: Value = share("trials and engineering, share of scheduled time", example="1 %")
    maintenance: Value = number(
        "1/s", "parts and service in a year, share of the installed price", example="4 %/year", entry="1/year", high=1.0 / YEAR
    )
    operators: Value = number("person/tool/crew", "operators of each crew at one tool", example="0.5", entry="person")
    role: str = reference("the role of these operators in crew.csv", "crew", example="operator")
    installed: Value = number("tool", "tools installed, when the target is frozen", example="2", above=0.0)
    footprint: Value = number("m2/tool", "floor that one tool takes, with service space", example="40 m2", entry="m2")
    area: str = reference("the kind of floor in areas.csv", "areas", example="clean")


@dataclass(frozen=True, slots=True)
class Area:
    """A kind of floor or land, and what it costs to hold."""

    title: str = text("name of the kind of floor", example="clean hall")
    charge: Value = number(
        "{currency}/m2/s", "rent, or building charge, with lighting and air", example="180", entry="{currency}/m2/year"
    )
    currency: str = unit_text("currency of the charge", example="EUR")


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the route; the order of the rows is the order of the route."""

    title: str = text("what the step does", example="Laminate")
    stage: str = text("the part of the route for summaries", example="module")
    tool: str = reference("the tool that does the step", "tools", example="laminator")
    own_time: Value = number(
        "s*tool/load",
        "time of one load on the tool, the phases of phases.csv and the films of layers.csv apart",
        example="14 s",
        entry="s",
        above=0.0,
    )
    rate_efficiency: Value = share("ideal time of a load over the time it takes", example="95 %", above=0.0)
    first_pass_yield: Value = share("share of passes that are good", example="99.2 %", above=0.0)
    rework_share: Value = share("share of the rejects that are reworked", example="0 %")
    rework_success: Value = share("share of the reworked that become good", example="0 %")
    load_loss: Value = number("1", "share of the loads lost whole, as by a dip in supply", example="0.2 %", high=0.99)
    processed_share: Value = share(
        "share of the plates that go through the step; the rest pass by it untouched", example="100 %", above=0.0
    )


@dataclass(frozen=True, slots=True)
class Phase:
    """A part of the cycle of a step: each load, as pumping, or once every so many loads, as cleaning and seasoning."""

    title: str = text("what is done", example="pump down")
    step: str = reference("the step it belongs to", "steps", example="deposition")
    time: Value = number("s*tool/occurrence", "how long it takes, each time", example="18 min", entry="s")
    load_inside: str = choice("whether the load is in the tool meanwhile", "yes", "no")
    every: Value = number("load/occurrence", "loads for which it is done once", example="1", entry="load", above=0.0)


@dataclass(frozen=True, slots=True)
class PhaseMaterial:
    """What a phase uses up each time it is done: the gas of a clean, the gases of a seasoning run."""

    phase: str = reference("the phase", "phases", example="chamber_clean")
    item: str = reference("the item of prices.csv", "prices", example="nitrogen")
    amount: Value = number("{unit}/occurrence", "amount used each time, losses apart", example="1.8", entry="{unit}")
    unit: str = unit_text("unit of the amount", example="kg")
    loss: Value = number("1", "lost in handling, on top of the amount", example="3 %", high=10.0)


@dataclass(frozen=True, slots=True)
class Carrier:
    """Carriers that go round with the loads over several steps, one to a load; each counts as a tool."""

    title: str = text("name of the carrier", example="batch carrier")
    first_step: str = reference("the step in which a load comes onto the carrier", "steps", example="load_carrier")
    last_step: str = reference("the step in which the load leaves it", "steps", example="unload_carrier")
    waiting_time: Value = number(
        "s*tool/load",
        "waiting for tools, queues and transport of a carrier in one round; the fuller the tools, the longer",
        example="60 min",
        entry="s",
    )
    out_of_service: Value = share("share of the time in which a carrier is cleaned or repaired", example="5 %")
    price: Value = number("{currency}/tool", "price of one carrier", example="38000", entry="{currency}")
    currency: str = unit_text("currency of the price", example="EUR")
    price_year: str = year_text("year of the price")
    freight_and_duty: Value = number("1", "freight and import duty on the price", example="4 %", high=2.0)
    life: Value = number("s", "years over which a carrier is depreciated", example="5 year", entry="year", above=0.0)
    maintenance: Value = number(
        "1/s", "parts and service in a year, share of the price", example="6 %/year", entry="1/year", high=1.0 / YEAR
    )
    installed: Value = number("tool", "carriers in circulation, when the target is frozen", example="8", above=0.0)


@dataclass(frozen=True, slots=True)
class Soaking:
    """How a step that rates modules by light soaking samples its lots, and what a rating that is too high costs."""

    step: str = reference("the step that soaks", "steps", example="soak_sample")
    lot: Value = number("1", "modules of a lot that get one rating", example="1000", above=0.0)
    spread: Value = share("standard deviation of the stabilisation ratio within a lot, over its mean", example="2.2 %", above=0.0)
    precision: Value = share("wanted half-width of the mean of a lot, over the mean", example="1 %", above=0.0)
    coverage: Value = number("1", "standard deviations in that half-width: 1.96 for 95 % of lots", example="1.96", above=0.0)
    tolerance: Value = share("shortfall of a lot that the buyer does not claim, over the mean", example="0.5 %")
    claim: Value = number("{currency}/Wp_stabilised", "cost of each watt claimed", example="2.5")
    currency: str = unit_text("currency of the claim", example="EUR")
    holding_rate: Value = number("1/s", "interest on modules that wait for their rating", example="8 %/year", entry="1/year")


@dataclass(frozen=True, slots=True)
class Layer:
    """A silicon film of the batch deposition, in the order of growth."""

    title: str = text("name of the film", example="first absorber")
    step: str = reference("the step that grows it", "steps", example="deposition")
    thickness: Value = number("m", "thickness of the film", example="70 nm", entry="m")
    rate: Value = number("m*load/s/tool", "rate of growth", example="0.15 nm/s", entry="m/s", above=0.0)
    purge_time: Value = number("s*tool/load", "purging and setting of gases before the film", example="4 min", entry="s")
    density: Value = number("kg/m3", "density of the film", example="2.2 g/cm3", above=0.0)
    precursor: str = reference("the item of prices.csv that carries the silicon: silane", "prices", example="silane")
    utilisation: Value = share("share of the silicon fed that ends in the film on the plates", example="14 %", above=0.0)


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas that flows while a film grows; silane itself follows from the mass of the film."""

    layer: str = reference("the film", "layers", example="first_absorber")
    item: str = reference("the gas in prices.csv, sold by amount (Nm3)", "prices", example="hydrogen")
    flow: Value = number("mol/s/tool", "flow into one tool", example="900 slm", entry="mol/s")


@dataclass(frozen=True, slots=True)
class Coating:
    """A sputtered film."""

    title: str = text("name of the film", example="silver mirror")
    step: str = reference("the step that sputters it", "steps", example="sputter_metal")
    item: str = reference("the target material in prices.csv, sold by mass", "prices", example="silver_target")
    thickness: Value = number("m", "thickness of the film", example="150 nm", entry="m")
    density: Value = number("kg/m3", "density of the film", example="10.5 g/cm3", above=0.0)
    landing_share: Value = share("share of the sputtered material that lands on the plate", example="60 %", above=0.0)
    target_use: Value = share("share of the target that is sputtered before it is changed", example="75 %", above=0.0)
    recovered_share: Value = share("share of the material not on the plate that goes back for credit", example="80 %")
    credit_share: Value = share("credit for recovered material, share of the landed price", example="60 %")


@dataclass(frozen=True, slots=True)
class Material:
    """What a step uses up, films apart."""

    step: str = reference("the step that uses it", "steps", example="lamination")
    item: str = reference("the item of prices.csv", "prices", example="encapsulant")
    amount: Value = number("{unit}/{per}", "amount used, losses apart", example="0.72")
    unit: str = unit_text("unit of the amount", example="m2")
    per: str = choice(
        "what the amount is for: a plate entering the step, a plate processed in it (reworked plates again), "
        "area processed, a load, an hour of a busy tool, or a good module",
        "plate_entering",
        "plate",
        "m2",
        "load",
        "tool_hour",
        "module",
        is_unit=True,
    )
    loss: Value = number("1", "cut off or lost in handling, on top of the amount", example="3 %", high=10.0)


@dataclass(frozen=True, slots=True)
class Price:
    """The price book of bought items."""

    title: str = text("name of the item", example="encapsulant foil")
    group: str = text("group for summaries", example="encapsulation")
    price: Value = number("{currency}/{unit}", "price before freight and duty", example="4.20")
    currency: str = unit_text("currency of the price", example="EUR")
    unit: str = unit_text("what the price is for", example="m2")
    price_year: str = year_text("year of the price")
    freight: Value = number("1", "freight and insurance on the price", example="4 %", high=5.0)
    duty: Value = number("1", "import duty on the price, freight left out", example="5 %", high=5.0)


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """A discount from a quantity on: the largest that the quantity of a year reaches holds for all of it."""

    item: str = reference("the item of prices.csv", "prices", example="silane")
    from_quantity: Value = number("{unit}", "quantity of a year from which the discount holds", example="800", entry="{unit}")
    unit: str = unit_text("unit of the quantity", example="kg")
    discount: Value = share("discount on the price, freight and duty included", example="6 %")


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
    at_once: Value = share("share of what is connected that draws at the peak", example="75 %")


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
    life: Value = number("s", "years over which they are depreciated", example="8 year", entry="year", above=0.0)


@dataclass(frozen=True, slots=True)
class Scrap:
    """What plates lost in a step fetch: glass and metal to recover, panes of second grade; negative where disposal costs."""

    title: str = text("what becomes of them", example="second grade, sold without rating")
    step: str = reference("the step that loses them", "steps", example="final_test")
    lost_share: Value = share("share of the plates lost in the step", example="40 %")
    value: Value = number(
        "{currency}/plate", "what one plate fetches, transport taken off", example="-0.4", entry="{currency}", low=None
    )
    currency: str = unit_text("currency of the value", example="EUR")


DEPRECIATION = ("straight_line", "declining_balance", "sum_of_years", "rates")


@dataclass(frozen=True, slots=True)
class BookDepreciation:
    """How the books write off equipment over its life; without a row, straight line to nothing.

    Declining balance changes to straight line when that writes off more; by production, a year bears as much of the price as
    the equipment is loaded.
    """

    covers: str = choice("the table whose equipment it covers", "tools", "carriers", "facilities", "spares")
    method: str = choice("method", "straight_line", "declining_balance", "sum_of_years", "production")
    factor: Value = number("1", "times the straight rate that a balance declines by; for that method", example="2", above=0.0)
    salvage: Value = share("what is left at the end of its life, share of the price", example="5 %")


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
    heads: Value = number("person/{per}", "people besides those at tools", example="2", entry="person")
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
    life: Value = number("s", "years over which it is depreciated", example="15 year", entry="year", above=0.0)
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


@dataclass(frozen=True, slots=True)
class Overhead:
    """A cost of the firm that no step and no tool causes, or its share of what the plant is worth or costs."""

    title: str = text("what it is for", example="certification")
    amount: Value = number("{currency}/{per}", "amount", example="60000")
    currency: str = unit_text("currency of the amount", example="EUR")
    per: str = choice("what the amount is for", "year", "module", "m2", "Wp_stabilised", is_unit=True)


@dataclass(frozen=True, slots=True)
class Levy:
    """A yearly share of what tools, carriers and facility systems have cost, as for insurance and property tax."""

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
    """Greenhouse gas set free by something that is bought or drawn, and a price on it where wished."""

    title: str = text("what sets it free", example="cleaning gas not broken down")
    emitter: str = text("the item of prices.csv, or the utility, whose use counts", example="nitrogen_trifluoride")
    factor: Value = number("kg/{unit}", "CO2 equivalent for one unit used, abatement taken off", example="260")
    unit: str = unit_text("the unit of the factor: one that the use is counted in", example="kg")
    price: Value = number("{currency}/kg", "price of CO2 equivalent; 0 for none", example="0.06")
    currency: str = unit_text("currency of the price", example="EUR")


@dataclass(frozen=True, slots=True)
class Index:
    """What prices of one year are multiplied by to be in money of the case; a table covered has a row for each price year."""

    covers: str = choice(
        "the table whose prices it covers", "tools", "carriers", "facilities", "prices", "utilities", "services", "spares"
    )
    year: str = year_text("price year")
    factor: Value = number("1", "money of the case for one unit of money of that year", example="1.06", above=0.0)


@dataclass(frozen=True, slots=True)
class Range:
    """How uncertain an input is, and the limits of its slider; the model itself does not read it."""

    address: str = text("the input, as tools.laminator.price", example="prices.silane.price")
    distribution: str = choice(
        "shape of the uncertainty, cut off at what the input allows; discrete has its values in outcomes.csv, empirical in a file "
        "of measurements/ that samples.csv names",
        "triangular",
        "pert",
        "uniform",
        "normal",
        "lognormal",
        "discrete",
        "empirical",
    )
    low: Value = number(
        "{unit}",
        "low end, in the unit of the row; of normal and lognormal the value that 5 % lie below; of discrete and empirical the end "
        "of the slider only",
        example="40",
        low=None,
    )
    mode: Value = number("{unit}", "most likely value; only triangular and pert take their shape from it", example="60", low=None)
    high: Value = number(
        "{unit}", "high end; of normal and lognormal the value that 5 % lie above; else as low", example="120", low=None
    )
    unit: str = unit_text("unit of low, mode and high: one that the input converts to", example="EUR/kg")
    group: str = text(
        "inputs of the same group move together, all up or all down, unless correlations.csv says how closely; a group of its own "
        "otherwise",
        example="gases",
    )


@dataclass(frozen=True, slots=True)
class Correlation:
    """How closely two groups of uncertain inputs move together, or the inputs of one group where both names are the same."""

    group: str = text("a group of ranges.csv", example="gases")
    other: str = text("another group, or the same one", example="glass")
    rank_correlation: Value = number(
        "1", "Spearman's rank correlation of any input of the one with any of the other", example="0.5", low=-0.999, high=0.999
    )


@dataclass(frozen=True, slots=True)
class Outcome:
    """A value that an input may take, for a range that is discrete."""

    range: str = reference("the row of ranges.csv, with the distribution discrete", "ranges", example="silane_price")
    value: Value = number("{unit}", "the value", example="62", low=None)
    unit: str = unit_text("unit of the value: one that the input converts to", example="EUR/kg")
    probability: Value = share("its probability; those of a range add up to 100 %", example="30 %")


@dataclass(frozen=True, slots=True)
class Sample:
    """Measured values that stand for an uncertain input, for a range that is empirical; each is as likely as the next."""

    range: str = reference("the row of ranges.csv, with the distribution empirical", "ranges", example="stabilisation")
    file: str = text("a CSV file in the folder measurements/ of the case", example="pilot_modules.csv")
    column: str = text("its column, which states a unit in its header", example="stabilisation_ratio")


@dataclass(frozen=True, slots=True)
class Confidential:
    """What must not go out, besides what is closed in any case: the licensor's own figures, the recipe, pilot measurements."""

    address: str = text("an input, a row, a table or a figure; what is below it is closed too", example="prices.silane")
    closed_to: str = choice("to whom it is closed; outside: to both", "licensee", "investor", "outside")
    why: str = text("why", example="price of a contract that binds to silence")


@dataclass(frozen=True, slots=True)
class Widened:
    """A figure or input told beyond the allow-list of an edition; who said so and when stand in `by` and `date`."""

    address: str = text("a figure or an input", example="line.output.takt")
    edition: str = choice("in which edition it is told", "licensee", "investor")
    why: str = text("why it may be told", example="asked for in the talks")


@dataclass(frozen=True, slots=True)
class Table:
    """Where the records of one field of a case stand: a CSV file of rows, or a section of case.yaml."""

    file: str
    record: type
    meaning: str
    section: str = ""
    in_model: bool = True
    optional: bool = False  # a section is there with its file


def _table(file: str, record: type, meaning: str, in_model: bool = True, optional: bool = False) -> Any:
    return dataclasses.field(metadata={"table": Table(file, record, meaning, in_model=in_model, optional=optional)})


def _section(name: str, record: type, meaning: str, file: str = "case.yaml") -> Any:
    """A section; those of case.yaml are always there, those of another file when the file is there, and None otherwise."""
    return dataclasses.field(metadata={"table": Table(file, record, meaning, section=name, optional=file != "case.yaml")})


@dataclass(frozen=True, slots=True)
class Case:
    """All inputs of one calculation."""

    name: str
    title: str
    story: str
    currency: str
    use: dict[str, str]
    constants: Constants
    product: Product = _section("product", Product, "the module")
    site: Site = _section("site", Site, "the plant and its hours")
    target: Target = _section("target", Target, "how much is made")
    money: dict[str, Currency] = _table("money.csv", Currency, "exchange rates into the reporting currency")
    indices: dict[str, Index] = _table("indices.csv", Index, "cost indices by price year", optional=True)
    steps: dict[str, Step] = _table("steps.csv", Step, "the route, in order")
    tools: dict[str, Tool] = _table("tools.csv", Tool, "the tools")
    areas: dict[str, Area] = _table("areas.csv", Area, "kinds of floor and land")
    carriers: dict[str, Carrier] = _table("carriers.csv", Carrier, "carriers that go round", optional=True)
    phases: dict[str, Phase] = _table("phases.csv", Phase, "parts of a cycle, each load or every so many", optional=True)
    phase_materials: dict[str, PhaseMaterial] = _table("phase_materials.csv", PhaseMaterial, "what phases use up", optional=True)
    layers: dict[str, Layer] = _table("layers.csv", Layer, "silicon films of the batch deposition", optional=True)
    gases: dict[str, Gas] = _table("gases.csv", Gas, "gases besides silane, film by film", optional=True)
    coatings: dict[str, Coating] = _table("coatings.csv", Coating, "sputtered films", optional=True)
    materials: dict[str, Material] = _table("materials.csv", Material, "what each step uses up", optional=True)
    soaking: dict[str, Soaking] = _table("soaking.csv", Soaking, "sampling of lots by light soaking", optional=True)
    prices: dict[str, Price] = _table("prices.csv", Price, "the price book")
    price_breaks: dict[str, PriceBreak] = _table("price_breaks.csv", PriceBreak, "discounts from a quantity on", optional=True)
    buying: dict[str, Buying] = _table("buying.csv", Buying, "terms of purchase: minimum order, take-or-pay, stock", optional=True)
    containers: dict[str, Container] = _table("containers.csv", Container, "rented cylinders and trailers", optional=True)
    scrap: dict[str, Scrap] = _table("scrap.csv", Scrap, "what lost plates fetch", optional=True)
    utilities: dict[str, Utility] = _table("utilities.csv", Utility, "tariffs")
    tool_utilities: dict[str, ToolUtility] = _table("tool_utilities.csv", ToolUtility, "what tools draw", optional=True)
    demand_charges: dict[str, DemandCharge] = _table("demand_charges.csv", DemandCharge, "charges for peaks", optional=True)
    services: dict[str, Service] = _table("services.csv", Service, "service that comes due again and again", optional=True)
    spares: dict[str, SparePart] = _table("spares.csv", SparePart, "parts kept in store", optional=True)
    book_depreciation: dict[str, BookDepreciation] = _table(
        "book_depreciation.csv", BookDepreciation, "how the books write off equipment", optional=True
    )
    tax_depreciation: dict[str, TaxDepreciation] = _table(
        "tax_depreciation.csv", TaxDepreciation, "how the tax office lets equipment be written off", optional=True
    )
    tax_rates: dict[str, TaxRate] = _table("tax_rates.csv", TaxRate, "tables of depreciation, year by year", optional=True)
    crew: dict[str, Role] = _table("crew.csv", Role, "roles and pay")
    facilities: dict[str, Facility] = _table("facilities.csv", Facility, "facility systems", optional=True)
    facility_utilities: dict[str, FacilityUtility] = _table(
        "facility_utilities.csv", FacilityUtility, "what facility systems draw", optional=True
    )
    overheads: dict[str, Overhead] = _table("overheads.csv", Overhead, "costs of the firm", optional=True)
    levies: dict[str, Levy] = _table("levies.csv", Levy, "shares of the value of equipment", optional=True)
    emissions: dict[str, EmissionSource] = _table("emissions.csv", EmissionSource, "greenhouse gas of what is used", optional=True)
    markets: dict[str, Market] = _table("markets.csv", Market, "markets and their reference modules", optional=True)
    schedule: Schedule | None = _section("schedule", Schedule, "when the plant is built and runs", "plan.yaml")
    returns: Returns | None = _section("returns", Returns, "what money must earn", "plan.yaml")
    working_capital: WorkingCapital | None = _section("working_capital", WorkingCapital, "money tied up", "plan.yaml")
    outlay: Outlay | None = _section("outlay", Outlay, "what comes on top of prices of equipment", "plan.yaml")
    tax: Tax | None = _section("tax", Tax, "tax on income", "plan.yaml")
    loan: Loan | None = _section("loan", Loan, "the loan", "plan.yaml")
    learning: Learning | None = _section("learning", Learning, "how cost falls with all that was made", "plan.yaml")
    licence: Licence | None = _section("licence", Licence, "what the licensee pays for the know-how", "deal.yaml")
    licensor: Licensor | None = _section("licensor", Licensor, "what the transfer costs the licensor", "deal.yaml")
    negotiation: Negotiation | None = _section("negotiation", Negotiation, "how gains are shared", "deal.yaml")
    payment_kinds: dict[str, PaymentKind] = _table(
        "payment_kinds.csv", PaymentKind, "tax at source by kind of payment", optional=True
    )
    fees: dict[str, Fee] = _table("fees.csv", Fee, "disclosure fee and milestones", optional=True)
    royalty_steps: dict[str, RoyaltyStep] = _table("royalty_steps.csv", RoyaltyStep, "changes of the royalty", optional=True)
    minimum_royalties: dict[str, MinimumRoyalty] = _table(
        "minimum_royalties.csv", MinimumRoyalty, "least royalty of a year", optional=True
    )
    buy_outs: dict[str, BuyOut] = _table("buy_outs.csv", BuyOut, "a price that ends the royalty", optional=True)
    deliveries: dict[str, Delivery] = _table("deliveries.csv", Delivery, "work of the licensor for the transfer", optional=True)
    yearly_services: dict[str, YearlyService] = _table(
        "yearly_services.csv", YearlyService, "work of the licensor year by year", optional=True
    )
    supplies: dict[str, Supply] = _table("supplies.csv", Supply, "what comes through the licensor", optional=True)
    sublicences: dict[str, Sublicence] = _table("sublicences.csv", Sublicence, "what sublicences bring", optional=True)
    prospects: dict[str, Prospect] = _table("prospects.csv", Prospect, "other firms in the territory", optional=True)
    other_ways: dict[str, OtherWay] = _table("other_ways.csv", OtherWay, "what the licensee could do instead", optional=True)
    ramp: dict[str, Ramp] = _table("ramp.csv", Ramp, "the ramp, quarter by quarter", optional=True)
    sales: dict[str, Sale] = _table("sales.csv", Sale, "what the output fetches", optional=True)
    payments: dict[str, Payment] = _table("payments.csv", Payment, "when capital is paid", optional=True)
    capital: dict[str, Capital] = _table("capital.csv", Capital, "money spent once besides equipment", optional=True)
    escalations: dict[str, Escalation] = _table("escalations.csv", Escalation, "costs that rise otherwise", optional=True)
    expansions: dict[str, Expansion] = _table("expansions.csv", Expansion, "later enlargements", optional=True)
    other_lines: dict[str, OtherLine] = _table("other_lines.csv", OtherLine, "lines that the same money could buy", optional=True)
    ranges: dict[str, Range] = _table("ranges.csv", Range, "what is uncertain, and slider limits", in_model=False, optional=True)
    correlations: dict[str, Correlation] = _table(
        "correlations.csv", Correlation, "groups of uncertain inputs that move together", in_model=False, optional=True
    )
    outcomes: dict[str, Outcome] = _table(
        "outcomes.csv", Outcome, "values of uncertain inputs that take a few only", in_model=False, optional=True
    )
    samples: dict[str, Sample] = _table(
        "samples.csv", Sample, "measured values that stand for uncertain inputs", in_model=False, optional=True
    )
    confidential: dict[str, Confidential] = _table(
        "confidential.csv", Confidential, "what must not go out, and to whom", in_model=False, optional=True
    )
    widened: dict[str, Widened] = _table(
        "widened.csv", Widened, "what goes out beyond the allow-list", in_model=False, optional=True
    )
    evidence: dict[str, Evidence]
    entry_units: dict[str, str]
    measurements: dict[str, tuple[float, ...]] = dataclasses.field(default_factory=dict)


@cache
def tables() -> dict[str, Table]:
    """The tables and sections of a case by the name that addresses begin with."""
    return {f.name: f.metadata["table"] for f in dataclasses.fields(Case) if "table" in f.metadata}


def rows_of(case: Case, name: str) -> dict[str, Any]:
    """The records of a table by id; of a section, the one it has under no id, or none where its file is not there."""
    held = getattr(case, name)
    if tables()[name].section:
        return {} if held is None else {"": held}
    return held
