"""Mass balance of films: silicon from silane, and sputtered material from targets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...case.line_records import Coating, Constants, Layer
from ...case.whole_case import Case
from ...core.operations import Value
from ..line.line_figures import Line
from .buying import Use
from .ledger_figures import CoatingBalance, FilmBalance


def film_mass(thickness: Value, density: Value, area: Value) -> Value:
    """Mass of a film on an area.

    A silicon film of 300 nm at 2.2 g/cm3 weighs 0.66 g/m2 (check value M06):

    >>> round(film_mass(300e-9, 2200.0, 1.0), 9)
    0.00066
    """
    return thickness * density * area


def silane_for_silicon(silicon: Value, constants: Constants) -> Value:
    """Mass of silane that carries a mass of silicon, from the molar masses; hydrogen left in the film is not counted.

    >>> from costmodel.case.load import CONSTANTS
    >>> round(silane_for_silicon(0.66, CONSTANTS), 4)
    0.7548
    """
    return silicon / constants.molar_mass_silicon * constants.molar_mass_silane


def film_balance(layer: Layer, coated_area: Value, area_of_loads: Value, constants: Constants) -> FilmBalance:
    """Where the silicon of one film goes; all of it comes as silane.

    Silane flows for each load, full or not, as the other gases do: of what is fed during growth, `utilisation` ends on the plates
    of a full load, and what would grow on empty places of a carrier is lost. In the settling time silane flows at the same rate,
    for the film that would grow in it, and is lost. Common practice.
    """
    in_film = film_mass(layer.thickness, layer.density, coated_area)
    growing = film_mass(layer.thickness, layer.density, area_of_loads) / layer.utilisation
    settling = film_mass(layer.rate * layer.settling_time, layer.density, area_of_loads) / layer.utilisation
    fed = growing + settling
    return FilmBalance(
        silicon_in_film=in_film,
        silicon_fed=fed,
        silicon_settling=settling,
        silicon_lost=growing - in_film + settling,
        silane_fed=silane_for_silicon(fed, constants),
    )


def coating_balance(coating: Coating, coated_area: Value) -> CoatingBalance:
    """Where the target material of one sputtered film goes: bought = on plates / landing share / target use."""
    on_plates = film_mass(coating.thickness, coating.density, coated_area)
    bought = on_plates / coating.deposition_efficiency / coating.target_utilisation
    recovered = coating.recovered_share * (bought - on_plates)
    return CoatingBalance(
        on_plates=on_plates, bought=bought, recovered=recovered, lost=(1 - coating.recovered_share) * (bought - on_plates)
    )


def coated_area(line: Line, step: str) -> Value:
    """Area that passes a step in the year, reworked plates counted again."""
    return line.steps[step].passes * line.output.plate_area


def area_of_loads(case: Case, line: Line, step: str) -> Value:
    """Area of the places in the loads that pass a step in the year, empty ones among them."""
    return line.steps[step].loads * case.tools[case.steps[step].tool].load_size * line.output.plate_area


def silane_uses(case: Case, films: Mapping[str, FilmBalance]) -> Iterator[tuple[str, Use]]:
    """Silane by film."""
    for name, layer in case.layers.items():
        yield f"layers.{name}", Use(layer.step, layer.precursor, f"film {name}", films[name].silane_fed, "kg")


def gas_uses(case: Case, line: Line) -> Iterator[tuple[str, Use]]:
    """Gases that flow while they settle and while films grow: flow x (settling + growth) x loads."""
    for name, gas in case.gases.items():
        step = case.layers[gas.layer].step
        amount = gas.flow * line.layers[gas.layer].flow_time * line.steps[step].loads
        yield f"gases.{name}", Use(step, gas.item, f"film {gas.layer}", amount, case.prices[gas.item].unit)


def target_utilisations(case: Case, coatings: Mapping[str, CoatingBalance]) -> Iterator[tuple[str, Use]]:
    """Target material bought; of an item with a metal, the credit for what is recovered as a use of its own."""
    metals = {row.item for row in case.metals.values()}
    for name, row in case.coatings.items():
        balance, driver = coatings[name], f"film {name}"
        yield f"coatings.{name}.bought", Use(row.step, row.item, driver, balance.bought, "kg")
        if row.item in metals:
            yield f"coatings.{name}.credit", Use(row.step, row.item, driver, balance.recovered, "kg", credit=True)
