"""What the figures of the markets say, in plain words."""

from __future__ import annotations

from ..case.whole_case import Case
from ..core.units import to_base
from ..model.evaluate import Results
from ..model.market.market_figures import ANY_EFFICIENCY, AT_LEAST, AT_MOST, InMarket
from .numbers import money, people, percent

TWO_JUNCTIONS = 0.42  # most that two junctions convert of unconcentrated sunlight: De Vos, J. Phys. D 13 (1980) 839, from memory
CURVES = (
    "Highest price per m2 in every market against the efficiency of the module, beside what a m2 costs to make. A square metre "
    "costs at every efficiency what it costs now. Dots mark where the price is the cost. A line rises where a watt's energy is "
    "worth more than what a watt costs besides the module."
)
NO_MARKETS = "The case has no markets.csv, so what buyers could pay is not computed."


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


def _named(case: Case, names: list[str]) -> str:
    return ", ".join(f"“{case.markets[name].title}”" for name in names)


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
    by_area = f"{money(found.highest_price_per_m2, case.currency)} per m2"
    return f"{by_watt} ({by_area})" if found.area is None else f"{by_area} ({by_watt})"


def covered(results: Results) -> list[str]:
    """The markets whose highest price covers the cost of the module, the one with the largest margin first."""
    found = results.market.by_market
    return sorted((name for name, each in found.items() if each.margin >= 0), key=lambda name: -found[name].margin)


def where_it_sells(case: Case, results: Results) -> str:
    """In which markets a buyer could pay what the module costs, and in which no positive price exists."""
    found, total = results.market.by_market, results.ledger.total
    if not found:
        return NO_MARKETS
    best, never = covered(results), [name for name, each in found.items() if each.highest_price <= 0]
    against = (
        f"A module costs {money(total.cost_per_stabilised_watt, case.currency)} per stabilised watt, "
        f"{money(total.cost_per_m2, case.currency)} per m2."
    )
    if best:
        count = "every market" if len(best) == len(found) else f"{len(best)} of {len(found)} markets"
        prices = ", ".join(f"{_named(case, [name])} at most {most(case, found[name])}" for name in best)
        words = f"Buyers in {count} could pay what the module costs: {prices}. {against}"
    else:
        highest = max(found, key=lambda name: found[name].highest_price)
        nearest = f"{_named(case, [highest])} comes nearest with {most(case, found[highest])}"
        words = f"In no market could buyers pay what the module costs: {nearest}. {against}"
    if never:
        words += (
            f" No positive price exists in {_named(case, never)}: there, even as a gift, it would leave a buyer worse off than the "
            "best alternative."
        )
    return words


def volume_above_cost(results: Results) -> str:
    """How much the markets take whose price covers the cost, and the most of it that our sales may take."""
    market, output = results.market, results.line.output.stabilised_watts
    if not market.by_market:
        return ""
    if not covered(results):
        return f"So no part of the {megawatts(output)} a year that the plant makes has a market."
    enough = "enough" if market.sales_above_cost >= output else "not enough"
    words = (
        f"Where the price covers the cost, buyers take {megawatts(market.volume_above_cost)} a year. Our sales may take at most "
        f"{megawatts(market.sales_above_cost)} of that: {enough} for the {megawatts(output)} that the plant makes."
    )
    if all(market.by_market[name].area is None for name in covered(results)):
        return words
    watts = next(iter(market.by_market.values())).ours.watts_per_m2
    return f"{words} Markets in m2 are counted with the module's {people(watts)} W per m2."


def one_market(case: Case, results: Results, name: str) -> str:
    """The highest price in a market, what sets it, what the price asked means to the buyer, and which efficiency it takes."""
    found, currency = results.market.by_market[name], case.currency
    title = case.markets[name].title
    if found.area is None:
        parts = [_price(case, found), _asked_by_energy(found, currency)]
    else:
        parts = [_price(case, found), _bound(case, results, name), _asked_by_area(found, currency)]
    return " ".join([f"{title[:1].upper()}{title[1:]}, limited by {case.markets[name].limited_by}:", *parts, _efficiency(found)])


def market_by_market(case: Case, results: Results) -> list[str]:
    """What there is to say of each market."""
    return [one_market(case, results, name) for name in results.market.by_market]


def _price(case: Case, found: InMarket) -> str:
    if found.highest_price <= 0:
        left = (
            "What a watt costs the buyer besides the module leaves nothing for the module itself, if energy is to cost what it "
            "does with the reference."
            if found.area is None
            else f"A buyer would have to be paid {money(-found.highest_price_per_m2, case.currency)} per m2 to take it."
        )
        return f"no positive price exists. {left}"
    margin, unit = (found.margin, "watt") if found.area is None else (found.margin_per_m2, "m2")
    more = "more" if margin >= 0 else "less"
    return f"at most {most(case, found)}; {money(abs(margin), case.currency)} a {unit} {more} than it costs."


def _bound(case: Case, results: Results, name: str) -> str:
    """Which alternative sets the price per square metre, and what the others would allow."""
    market = results.market.by_market[name]
    found = market.area.alternatives
    others = [each for each in found if not found[each].binds]
    worth = f"With a kWh worth {case.currency} {per_kwh(market.energy_value)} to the owner"
    words = f"{worth}, “{case.coverings[binding(case, results, name)].title}” sets that price."
    if not others:
        return words
    prices = ", ".join(
        f"{money(found[each].price_per_m2, case.currency)} per m2 against “{case.coverings[each].title}”" for each in others
    )
    return f"{words} It would be {prices}."


def _asked_by_energy(found: InMarket, currency: str) -> str:
    energy = found.energy
    better = "cheaper" if energy.levelised_at_asked_price <= energy.reference_levelised_cost else "more expensive"
    return (
        f"At the price asked, {money(found.asked_price, currency)}, energy is {better} than with the reference: "
        f"{currency} {per_kwh(energy.levelised_at_asked_price)} against {per_kwh(energy.reference_levelised_cost)} a kWh. "
        f"{_left(found.left_at_asked_price, currency, 'watt')}"
    )


def _left(value: float, currency: str, unit: str) -> str:
    """What the owner has left at the price asked, over the life of the module."""
    word = "gains" if value >= 0 else "loses"
    return f"Its owner then {word} {money(abs(value), currency)} per {unit} over its life."


def _asked_by_area(found: InMarket, currency: str) -> str:
    gain = found.highest_price_per_m2 - found.asked_price_per_m2
    better = "better" if gain >= 0 else "worse"
    return (
        f"At the price asked, {money(found.asked_price_per_m2, currency)} per m2, the owner is {money(abs(gain), currency)} per m2 "
        f"{better} off than with that."
    )


def _efficiency(found: InMarket) -> str:
    asked = efficiency_words(found.efficiency_at_asked_price, found.efficiency_at_asked_price_status, found.reference.efficiency)
    cost = efficiency_words(found.efficiency_at_cost, found.efficiency_at_cost_status, found.reference.efficiency)
    return (
        f"Stabilised efficiency that breaks even (the module has {percent(found.ours.efficiency)}): at the price asked, {asked}; "
        f"at what a square metre costs to make, {cost}."
    )
