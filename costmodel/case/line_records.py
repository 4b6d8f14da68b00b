"""The records of product, site and line, which are also their schema; see records.py, where the case holds them."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fields import YEAR, choice, number, reference, share, text, unit_text, whole_number, year_text
from ..core.operations import Value


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
    plate: Value = number("plate", "one plate, whose sizes the product states", example="1")
    loads_per_tool: Value = number("load/tool", "a tool holds one load at a time", example="1")
    modules_per_plate: Value = number("module/plate", "a module is made from one coated plate", example="1")
    watts_alike: Value = number("Wp_initial/Wp_stabilised", "a watt is a watt, before light soaking and after", example="1")
    person: Value = number("person", "one person, whose working days a project counts", example="1")


@dataclass(frozen=True, slots=True)
class Product:
    """What is made: one glass-glass module per coated plate."""

    length: Value = number("m", "length of the plate", example="1.2 m", above=0.0)
    width: Value = number("m/plate", "width of the plate", example="0.6 m", entry="m", above=0.0)
    active_area_share: Value | None = share(
        "share of the plate area that generates power; left out where cells.csv states the geometry, which counts",
        example="94 %",
        above=0.0,
        optional=True,
    )
    initial_efficiency: Value = share(
        "efficiency of the active area before light soaking, at uniform thickness of all films",
        example="8.4 %",
        unit="Wp_initial/W",
        above=0.0,
    )
    stabilisation_ratio: Value = share(
        "stabilised power over initial power", example="80 %", unit="Wp_stabilised/Wp_initial", above=0.0
    )


@dataclass(frozen=True, slots=True)
class Cells:
    """How cells in series divide the plate; the area that generates power follows."""

    edge_width: Value = number("m", "width of the edge deletion, on all four sides", example="12 mm")
    lines_along: str = choice("the side of the plate that the scribe lines run along", "length", "width")
    cell_count: Value = whole_number("number of cells in series", example="52", low=1.0)
    dead_width: Value = number("m", "width of one scribe set that generates no power: three lines and the gaps", example="0.3 mm")
    busbar_width: Value = number("m", "width that one of the two busbars covers", example="3 mm")


@dataclass(frozen=True, slots=True)
class Site:
    """Where and when it is made."""

    scheduled_time: Value = number(
        "s", "time in the year for which production is scheduled", example="8000 h", entry="h", above=0.0, high=YEAR
    )
    crews: Value = number("crew", "shift crews that share the scheduled time", example="4", above=0.0, entry="1")


@dataclass(frozen=True, slots=True)
class Target:
    """How much is made: `sized` finds the tools for the output, the others the output of the installed tools."""

    mode: str = choice(
        "sized: tools follow from the output; frozen: the installed tools make all they can; as_bought: they make the output, as "
        "far as they can",
        "sized",
        "frozen",
        "as_bought",
    )
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
    in_all_tools: str = choice(
        "whether it counts in all_tools, the driver of people, utilities and facilities in the growth tables: yes for a machine, "
        "no for racks and shelves that need none of them",
        "yes",
        "no",
    )


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the route; the order of the rows is the order of the route."""

    title: str = text("what the step does", example="Laminate")
    stage: str = text("the part of the route for summaries", example="module")
    tool: str = reference("the tool that does the step", "tools", example="laminator")
    process_time: Value = number(
        "s*tool/load",
        "time of one load on the tool, the phases of phases.csv and the films of layers.csv apart",
        example="14 s",
        entry="s",
        above=0.0,
    )
    rate_efficiency: Value = share(
        "ideal time of a load over the time that it is in the tool; it lengthens no time", example="95 %", above=0.0
    )
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
    loads_between: Value = number("load/occurrence", "loads for which it is done once", example="1", entry="load", above=0.0)
    state: str = choice(
        "the state of SEMI E10 in which its time counts: productive as a part of the recipe; scheduled_downtime as an exchange "
        "of parts, with all that brings the tool back into specification; engineering as a trial",
        "productive",
        "scheduled_downtime",
        "engineering",
    )


@dataclass(frozen=True, slots=True)
class PhaseMaterial:
    """What a phase uses up each time it is done: the gas of a clean, the gases of a seasoning run."""

    phase: str = reference("the phase", "phases", example="chamber_clean")
    item: str = reference("the item of prices.csv", "prices", example="nitrogen")
    amount: Value = number("{unit}/occurrence", "amount used each time, losses apart", example="1.8", entry="{unit}")
    unit: str = unit_text("unit of the amount", example="kg")
    loss: Value = number("1", "lost in handling, on top of the amount", example="3 %", high=10.0)


@dataclass(frozen=True, slots=True)
class Heating:
    """What a step heats: the glass of a load and its carrier; a lower bound on the energy that the tool draws.

    Typical values: float glass 2500 kg/m3 (check value M01); heat capacity near room temperature 0.84 to 0.88 kJ/kg/K for
    soda-lime glass and about 0.5 for steel (handbook values, from memory).
    """

    step: str = reference("the step that heats", "steps", example="preheat")
    utility: str = reference("the utility that heats, sold as energy", "utilities", example="electricity")
    glass_thickness: Value = number("m", "thickness of the glass", example="4 mm", entry="m", above=0.0)
    glass_density: Value = number("kg/m3", "density of the glass", example="2500", above=0.0)
    glass_heat_capacity: Value = number("J/kg/K", "specific heat capacity of the glass", example="860", above=0.0)
    glass_rise: Value = number("K", "temperature of the glass at exit less that at entry", example="150")
    carrier_mass: Value = number(
        "kg/load", "mass of the carrier and its frames; 0 where plates go alone", example="300", entry="kg"
    )
    carrier_heat_capacity: Value = number("J/kg/K", "specific heat capacity of the carrier", example="500", above=0.0)
    carrier_rise: Value = number(
        "K", "temperature of the carrier at exit less that at entry; less than the glass's where it comes back hot", example="110"
    )


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
    """How lots are rated by light soaking: sample, measurement, dose until modules are stable, and what a wrong rating costs."""

    step: str = reference("the step that soaks", "steps", example="soak")
    retest: str = reference(
        "the step that rates soaked modules again, the soaking step or a later one; its processed_share counts of the soaked",
        "steps",
        example="retest",
    )
    lot: Value = number("1", "modules of a lot that get one rating", example="1000", above=0.0)
    lots_averaged: Value = number(
        "1", "lots whose mean is the rating, the last ones as on a control chart; 1 rates each lot by itself", example="1", low=1.0
    )
    spread: Value = share(
        "standard deviation of stabilised power within a lot, measurement apart, over the mean", example="2.2 %", above=0.0
    )
    spread_known: str = choice(
        "how the spread is known: given by long experience, or estimated from the sample itself", "given", "from_sample"
    )
    lot_to_lot: Value = share("standard deviation of the true means of lots, over the mean", example="0.4 %")
    measurement_random: Value = share("standard uncertainty that differs from measurement to measurement", example="0.5 %")
    measurement_common: Value = share(
        "standard uncertainty that all measurements share: reference module, spectral mismatch", example="1.2 %"
    )
    precision: Value = share("wanted half-width of the rating of a lot, over the mean", example="1 %", above=0.0)
    coverage_probability: Value = number(
        "1", "share of lots within the half-width", example="95 %", entry="1", above=0.5, high=0.999
    )
    tolerance: Value = share("shortfall of a lot that the buyer does not claim, over the mean", example="0.5 %")
    claim: Value = number("{currency}/Wp_stabilised", "cost of each watt claimed", example="2.5")
    currency: str = unit_text("currency of the claim", example="EUR")
    holding_rate: Value = number("1/s", "interest on modules that wait for their rating", example="8 %/year", entry="1/year")
    interval_dose: Value = number("J/m2", "dose of light between two measurements", example="43 kWh/m2", entry="kWh/m2", above=0.0)
    stability_limit: Value = share(
        "greatest power less smallest, over the mean, of three measurements in a row that are stable", example="2 %", above=0.0
    )
    dose_constant: Value = number(
        "J/m2", "dose in which the loss still to come falls to 1/e", example="90 kWh/m2", entry="kWh/m2", above=0.0
    )


@dataclass(frozen=True, slots=True)
class SoakingLight:
    """The light in which modules are soaked: lamps side by side, or the sun season by season in the order of the year."""

    title: str = text("lamps, or the season", example="summer")
    plan: str = reference("the row of soaking.csv", "soaking", example="rating")
    part_of_year: Value = share("part of the year of this season; of lamps, the part of the modules under them", example="25 %")
    irradiance: Value = number(
        "W/m2", "mean irradiance over the hours of `clock`; 1 kWh/m2/day is 41.67 W/m2", example="1 kW/m2", entry="kW/m2", above=0.0
    )
    clock: str = choice(
        "scheduled: the light is on in the scheduled time only, as lamps; calendar: day and night, all year, as the sun",
        "scheduled",
        "calendar",
    )


@dataclass(frozen=True, slots=True)
class Layer:
    """A silicon film of the batch deposition, in the order of growth."""

    title: str = text("name of the film", example="first absorber")
    step: str = reference("the step that grows it", "steps", example="deposition")
    thickness: Value = number("m", "thickness of the film", example="70 nm", entry="m")
    rate: Value = number("m*load/s/tool", "rate of growth", example="0.15 nm/s", entry="m/s", above=0.0)
    purge_time: Value = number("s*tool/load", "purging before the film", example="4 min", entry="s")
    settling_time: Value = number(
        "s*tool/load", "time that the gases of the film flow before it grows, until they are steady", example="90 s", entry="s"
    )
    settling: str = choice("whether the purge time holds the settling time, or it is added to it", "inside_purge", "added")
    density: Value = number("kg/m3", "density of the film", example="2.2 g/cm3", above=0.0)
    precursor: str = reference("the item of prices.csv that carries the silicon: silane", "prices", example="silane")
    utilisation: Value = share(
        "share of the silicon fed during growth that ends in the film on the plates", example="14 %", above=0.0
    )
    thickness_spread: Value = share("standard deviation of the thickness over a carrier, over its mean", example="4 %")
    spread_loss_factor: Value = number(
        "1", "share of the power lost, divided by the square of the thickness spread", example="1.5", high=100.0
    )


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas that flows while a film grows and in its settling time; silane itself follows from the mass of the film."""

    layer: str = reference("the film", "layers", example="first_absorber")
    item: str = reference("the gas in prices.csv, sold by amount (Nm3)", "prices", example="hydrogen")
    flow: Value = number("mol/s/tool", "flow into one tool", example="900 slm", entry="mol/s")


@dataclass(frozen=True, slots=True)
class Coater:
    """A step that sputters in line: plates pass its zones one behind the other, and the slowest zone sets the pace."""

    step: str = reference("the step", "steps", example="sputter")
    transport_along: str = choice("the side of the plate that lies along the transport", "length", "width")
    gap: Value = number("m", "gap between one load and the next", example="100 mm")
    lock_time: Value = number(
        "s*tool/load",
        "time of one load in the slowest lock; it sets the pace where no film takes longer",
        example="40 s",
        entry="s",
    )


@dataclass(frozen=True, slots=True)
class Coating:
    """A sputtered film, grown in a zone of the in-line coater of its step."""

    title: str = text("name of the film", example="silver mirror")
    step: str = reference("the step that sputters it, which has a row in coaters.csv", "steps", example="sputter")
    item: str = reference("the target material in prices.csv, sold by mass", "prices", example="silver_target")
    thickness: Value = number("m", "thickness of the film", example="150 nm", entry="m")
    dynamic_rate: Value = number(
        "m2*load/s/tool",
        "thickness from one cathode times the transport speed",
        example="60 nm*m/min",
        entry="m2/s",
        above=0.0,
    )
    cathodes: Value = number("1", "cathodes in the zone of this film", example="2", above=0.0)
    density: Value = number("kg/m3", "density of the film", example="10.5 g/cm3", above=0.0)
    deposition_efficiency: Value = share("share of the sputtered material that lands on the plate", example="60 %", above=0.0)
    target_utilisation: Value = share("share of the target that is sputtered before it is changed", example="75 %", above=0.0)
    recovered_share: Value = share(
        "share of the material not on the plate that is recovered, at the quote of metals.csv less refining", example="80 %"
    )


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
