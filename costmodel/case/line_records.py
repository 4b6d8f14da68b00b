"""The records of product, site and line, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..fields import YEAR, choice, number, reference, share, text, unit_text, year_text
from ..operations import Value


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
    life: Value = number(
        "s", "accounting life: years over which the tool is depreciated", example="8 year", entry="year", above=0.0
    )
    technical_life: Value = number(
        "s", "years until the tool is worn out and is refurbished or replaced", example="14 year", entry="year", low=YEAR
    )
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
    life: Value = number(
        "s", "accounting life: years over which a carrier is depreciated", example="5 year", entry="year", above=0.0
    )
    technical_life: Value = number(
        "s", "years until a carrier is worn out and is refurbished or replaced", example="6 year", entry="year", low=YEAR
    )
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
