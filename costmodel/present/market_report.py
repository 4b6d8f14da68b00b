"""What buyers could pay in each market: sentences and tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.market.market_figures import ANY_EFFICIENCY, AT_LEAST, AT_MOST, InMarket
from .numbers import money, named, people, percent
from .table import Table, table_of

TWO_JUNCTIONS = 0.42  # most that two junctions convert of unconcentrated sunlight: De Vos, J. Phys. D 13 (1980) 839, from memory
THOUSAND = 1000.0  # m2
CURVES = (
    "Highest price per m² in every market against the efficiency of the module, beside the cost of a m². A m² costs the same at "
    "every efficiency. Dots mark where the price equals the cost. A line rises where the energy of a watt is worth more than its "
    "cost besides the module."
)
NO_MARKETS = "The case has no markets.csv, so the price that buyers could pay is not computed."


def megawatts(watts: float) -> str:
    """Stabilised power in MW."""
    return f"{people(watts / to_base('MWp_stabilised'))} MW"


def per_kwh(value: float) -> str:
    """A levelised cost, in money per kWh."""
    return people(value * to_base("kWh"))


def price_words(value: float) -> str:
    """A highest price; one that is not positive is said to be none."""
    return people(value) if value > 0 else f"none ({people(value)})"


def efficiency_words(efficiency: float, status: float, reference: float) -> str:
    """What a break-even efficiency stands for, beside that of the reference.

    >>> efficiency_words(0.055, AT_LEAST, 0.14), efficiency_words(0.65, AT_LEAST, 0.225)
    ('5.50 % or more', '65.0 % or more, which no module can reach')
    """
    if status == AT_LEAST:
        beyond = ", more than the reference itself has" if efficiency > reference else ""
        return f"{percent(efficiency)} or more{', which no module can reach' if efficiency > TWO_JUNCTIONS else beyond}"
    if status == AT_MOST:
        return f"{percent(efficiency)} or less"
    return "any efficiency" if status == ANY_EFFICIENCY else "no efficiency would do"


def efficiency_mark(efficiency: float, status: float) -> str:
    """The same, short, for tables.

    >>> efficiency_mark(0.055, AT_LEAST), efficiency_mark(0.065, AT_MOST), efficiency_mark(0.0, ANY_EFFICIENCY)
    ('from 5.50 %', 'to 6.50 %', 'any')
    """
    if status in (AT_LEAST, AT_MOST):
        return f"{'from' if status == AT_LEAST else 'to'} {percent(efficiency)}"
    return "any" if status == ANY_EFFICIENCY else "none"


def _titles(case: Case, names: list[str]) -> str:
    return named(case.markets[name].title for name in names)


def binding(case: Case, results: Results, name: str) -> str:
    """The row of coverings.csv that sets the highest price of a market: the reference module, or the best use of the area.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> binding(case, evaluate(case), "open_field")
    'field_crystalline'
    """
    found = results.market.by_market[name]
    if found.area is None:
        return next(each for each, row in case.coverings.items() if row.market == name and row.covers_with == "reference")
    return next(each for each, alternative in found.area.alternatives.items() if alternative.binds)


def most(case: Case, found: InMarket) -> str:
    """A highest price in the unit in which the market counts, the other one behind it."""
    by_watt = f"{money(found.highest_price, case.currency)} per stabilised watt"
    by_area = f"{money(found.highest_price_per_m2, case.currency)} per m²"
    return f"{by_watt} ({by_area})" if found.area is None else f"{by_area} ({by_watt})"


def covered(results: Results) -> list[str]:
    """The markets whose highest price covers the cost of the module, the one with the largest margin first."""
    found = results.market.by_market
    return sorted((name for name, each in found.items() if each.margin >= 0), key=lambda name: -found[name].margin)


def _module_cost(case: Case, results: Results) -> str:
    total = results.ledger.total
    watt, area = money(total.cost_per_stabilised_watt, case.currency), money(total.cost_per_m2, case.currency)
    return f"A module costs {watt} per stabilised watt, {area} per m²."


def where_it_sells(case: Case, results: Results) -> str:
    """In which markets a buyer could pay what the module costs, and in which no positive price exists."""
    found = results.market.by_market
    if not found:
        return NO_MARKETS
    best, never = covered(results), [name for name, each in found.items() if each.highest_price <= 0]
    if best:
        count = "every market" if len(best) == len(found) else f"{len(best)} of {len(found)} markets"
        prices = ", ".join(f"{_titles(case, [name])} at most {most(case, found[name])}" for name in best)
        words = f"Buyers in {count} could pay what the module costs: {prices}."
    else:
        highest = max(found, key=lambda name: found[name].highest_price)
        nearest = f"{_titles(case, [highest])} is nearest with {most(case, found[highest])}"
        words = f"In no market could buyers pay what the module costs: {nearest}."
    none = f"No positive price exists in {_titles(case, never)}: even a free module costs the buyer more than the best alternative."
    return f"{words} {_module_cost(case, results)}{' ' + none if never else ''}"


def volume_above_cost(results: Results) -> str:
    """How much the markets take whose price covers the cost, and the most of it that our sales may take."""
    market, output = results.market, results.line.output.stabilised_watts
    if not market.by_market:
        return ""
    if not covered(results):
        return f"So no part of the {megawatts(output)} a year that the plant makes has a market."
    enough = "enough" if market.sales_above_cost >= output else "not enough"
    words = (
        f"Where the price covers the cost, buyers take {megawatts(market.volume_above_cost)} a year. Our sales are limited to "
        f"{megawatts(market.sales_above_cost)} of that: {enough} for the {megawatts(output)} that the plant makes."
    )
    if all(market.by_market[name].area is None for name in covered(results)):
        return words
    watts = next(iter(market.by_market.values())).ours.watts_per_m2
    return f"{words} Markets in m² are counted with the module's {people(watts)} W per m²."


def one_market(case: Case, results: Results, name: str) -> str:
    """The highest price in a market, what sets it, what the asking price means to the buyer, and which efficiency it takes."""
    found, currency = results.market.by_market[name], case.currency
    title = case.markets[name].title
    if found.area is None:
        parts = [_price(case, found), *_asked_by_energy(found, currency)]
    else:
        parts = [_price(case, found), _bound(case, results, name), _asked_by_area(found, currency)]
    return " ".join([f"{title[:1].upper()}{title[1:]}, limited by {case.markets[name].limited_by}:", *parts, _efficiency(found)])


def market_by_market(case: Case, results: Results) -> list[str]:
    """One paragraph for each market."""
    return [one_market(case, results, name) for name in results.market.by_market]


def _price(case: Case, found: InMarket) -> str:
    if found.highest_price <= 0:
        left = (
            "At the reference's cost of energy, the buyer's other costs leave nothing for the module."
            if found.area is None
            else f"A buyer would have to be paid {money(-found.highest_price_per_m2, case.currency)} per m² to take it."
        )
        return f"no positive price exists. {left}"
    margin, unit = (found.margin, "watt") if found.area is None else (found.margin_per_m2, "m²")
    beside = "above" if margin >= 0 else "below"
    return f"at most {most(case, found)}, {money(abs(margin), case.currency)} per {unit} {beside} its cost."


def _bound(case: Case, results: Results, name: str) -> str:
    """Which alternative sets the price per square metre, and what the others would allow; nothing where energy limits."""
    market = results.market.by_market[name]
    found = market.area.alternatives if market.area else {}
    worth = f"With a kWh worth {case.currency} {per_kwh(market.energy_value)} to the owner"
    words = f"{worth}, “{case.coverings[binding(case, results, name)].title}” sets that price."
    prices = [f"{money(x.price_per_m2, case.currency)} per m² against “{case.coverings[each].title}”"
              for each, x in found.items() if not x.binds]  # fmt: skip
    return f"{words} It would be {', '.join(prices)}." if prices else words


def _asked_by_energy(found: InMarket, currency: str) -> Iterator[str]:
    energy, left = found.energy, found.left_at_asked_price
    if energy is None:
        return
    better = "cheaper" if energy.levelised_at_asked_price <= energy.reference_levelised_cost else "more expensive"
    yield (
        f"At the asking price, {money(found.asked_price, currency)}, energy is {better} than with the reference: "
        f"{currency} {per_kwh(energy.levelised_at_asked_price)} against {per_kwh(energy.reference_levelised_cost)} per kWh."
    )
    yield f"The owner then {'gains' if left >= 0 else 'loses'} {money(abs(left), currency)} per watt over the module's life."


def _asked_by_area(found: InMarket, currency: str) -> str:
    gain = found.highest_price_per_m2 - found.asked_price_per_m2
    better = "better" if gain >= 0 else "worse"
    return (
        f"At the asking price, {money(found.asked_price_per_m2, currency)} per m², the owner is {money(abs(gain), currency)} per "
        f"m² {better} off than with that."
    )


def _efficiency(found: InMarket) -> str:
    asked = efficiency_words(found.efficiency_at_asked_price, found.efficiency_at_asked_price_status, found.reference.efficiency)
    cost = efficiency_words(found.efficiency_at_cost, found.efficiency_at_cost_status, found.reference.efficiency)
    return (
        f"Stabilised efficiency that breaks even at the asking price: {asked}. At the cost of a m²: {cost}. The module has "
        f"{percent(found.ours.efficiency)}."
    )


def market_table(case: Case, results: Results) -> Table:
    """Market by market: what limits it, the highest price on every basis, the margin, and the volume that exists."""
    columns = {
        "": lambda name, x: case.markets[name].title,
        "limited by": lambda name, x: case.markets[name].limited_by,
        "per W": lambda _, x: price_words(x.highest_price),
        "per m²": lambda _, x: people(x.highest_price_per_m2),
        "less cost, per m²": lambda _, x: people(x.margin_per_m2),
        "asking, per W": lambda _, x: people(x.asked_price),
        "asking, per m²": lambda _, x: people(x.asked_price_per_m2),
        "MW a year": lambda _, x: people(x.volume / to_base("MWp_stabilised")),
        "1,000 m² a year": lambda _, x: people(x.volume_by_area / THOUSAND),
        "plant share": lambda _, x: percent(x.plant_share),
    }
    return table_of(
        f"Highest price that buyers could pay at our gate, {case.currency}; watts are stabilised",
        results.market.by_market.items(),
        columns,
        note=f"{_module_cost(case, results)} At the highest price the buyer gains nothing by our module, so buyers will bid less. "
        "Watts and m² are converted with the power of our module. Money is that of the case, without inflation.",
        texts=(0, 1),
    )


Shown = Callable[[InMarket], str]
REFERENCE: tuple[tuple[str, Shown], ...] = (
    ("price with duty, per W", lambda found: people(found.reference_price)),
    ("price with duty, per m²", lambda found: people(found.reference_price_per_m2)),
    ("efficiency", lambda found: percent(found.reference.efficiency)),
    ("all besides the module, per W", lambda found: people(found.reference.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.reference.energy_yield)),
    ("energy over its life, kWh per W", lambda found: _energy(found.reference.lifetime_energy)),
)
OURS: tuple[tuple[str, Shown], ...] = (
    ("stabilised efficiency on the whole area", lambda found: percent(found.ours.efficiency)),
    ("all besides the module, per W", lambda found: people(found.ours.besides_module)),
    ("energy in the first year, kWh per kW", lambda found: _yield(found.ours.energy_yield)),
    ("energy over its life, kWh per W", lambda found: _energy(found.ours.lifetime_energy)),
    ("value of a kWh to the owner", lambda found: per_kwh(found.energy_value)),
    ("owner's net present value at the asking price, per m²", lambda found: people(found.left_at_asked_price_per_m2)),
    ("highest price, per W", lambda found: price_words(found.highest_price)),
    ("highest price, per module", lambda found: price_words(found.highest_price_per_module)),
    (
        "efficiency that breaks even at the asking price",
        lambda found: efficiency_mark(found.efficiency_at_asked_price, found.efficiency_at_asked_price_status),
    ),
    (
        "efficiency that breaks even at the cost of a m²",
        lambda found: efficiency_mark(found.efficiency_at_cost, found.efficiency_at_cost_status),
    ),
)


def _yield(value: float) -> str:
    return people(value / to_base("kWh/kWp_stabilised/year"), 4)


def _energy(value: float) -> str:
    return people(value / to_base("kWh/Wp_stabilised"))


def market_details_table(case: Case, results: Results) -> Table:
    """The reference module and ours side by side, market by market."""
    found = results.market.by_market.values()
    return Table(
        f"Reference module and ours in every market, {case.currency}",
        ["", *(case.markets[name].title for name in results.market.by_market)],
        [
            [f"{whose}: {title}", *(show(each) for each in found)]
            for whose, rows in (("Reference", REFERENCE), ("Ours", OURS))
            for title, show in rows
        ],
        note="All besides the module: balance of system, delivery, and upkeep of all years at present value, less the buyer's "
        "premium for looks or origin. Owner's net present value: value of the energy less all cost, over the life.",
    )


def energy_table(case: Case, results: Results) -> Table:
    """Levelised cost of energy in every market that energy limits."""
    columns = {
        "": lambda name, x: case.markets[name].title,
        "reference": lambda _, x: per_kwh(x.energy.reference_levelised_cost),
        "ours at its cost": lambda _, x: per_kwh(x.energy.levelised_at_cost),
        "ours at the asking price": lambda _, x: per_kwh(x.energy.levelised_at_asked_price),
        "highest price, per W": lambda _, x: price_words(x.highest_price),
    }
    rows = ((name, x) for name, x in results.market.by_market.items() if x.energy is not None)
    note = "At the highest price energy costs the buyer the same as with the reference module."
    return table_of(f"Markets limited by energy: levelised cost of energy, {case.currency} per kWh", rows, columns, note=note)


def what_binds(case: Case, results: Results) -> list[str]:
    """In each market that area limits, what else sets our highest price; that no market is of this kind, where none is."""
    said = []
    for name, found in results.market.by_market.items():
        if found.area is not None:
            binding = next((each for each, other in found.area.alternatives.items() if other.binds), None)
            against = f" against “{case.coverings[binding].title}”" if binding else ""
            price = f"our highest price{against} is {case.currency} {people(found.highest_price_per_m2)} per m²"
            none = "no price above 0 exists"
            if binding:
                none = f"no price above 0 leaves the owner as well off as “{case.coverings[binding].title}”"
            said.append(f"In “{case.markets[name].title}” {price if found.highest_price > 0 else none}.")
    return said or ["No market of the case is limited by area."]


def where_energy_sells(case: Case, results: Results) -> list[str]:
    """In each market that energy limits, the cost of a kWh with the reference module and with ours."""
    said = [
        f"In “{case.markets[name].title}” a kWh costs {case.currency} {per_kwh(found.energy.reference_levelised_cost)} with the "
        f"reference module, {case.currency} {per_kwh(found.energy.levelised_at_cost)} with ours at what it costs to make."
        for name, found in results.market.by_market.items()
        if found.energy is not None
    ]
    return said or ["No market of the case is limited by energy."]


def alternatives_table(case: Case, results: Results) -> Table:
    """What else could cover the area in every market that area limits, and our highest price against each."""
    columns = {
        "market": lambda name, row, other: case.markets[name].title,
        "alternative": lambda name, row, other: row.title,
        "life, years": lambda name, row, other: people(row.life / to_base("year")),
        "owner's net present value": lambda name, row, other: people(other.present_value),
        "the same a year": lambda name, row, other: people(other.annual_worth * to_base("year")),
        "our highest price against it": lambda name, row, other: people(other.price_per_m2),
        "binds": lambda name, row, other: "yes" if other.binds else "no",
    }
    rows = (
        (name, case.coverings[each], other)
        for name, found in results.market.by_market.items()
        if found.area is not None
        for each, other in found.area.alternatives.items()
    )
    return table_of(
        f"Markets limited by area: what else could cover it, {case.currency} per m²",
        rows,
        columns,
        note="Owner's net present value: value of the energy less all cost, with the premium, over one life. Lives differ, so "
        "equal yearly amounts are compared; each covering is put up again at the end of its life.",
        texts=(0, 1, 6),
    )

