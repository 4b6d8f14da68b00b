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

        mass = thickness * density * area    [kg]

    Takes: thickness [m], density [kg/m3], area [m2].
    Source: physics (check value M06).

    A silicon film of 300 nm at 2.2 g/cm3 weighs 0.66 g/m2:

    >>> round(film_mass(300e-9, 2200.0, 1.0), 9)
    0.00066
    """
    return thickness * density * area


def silane_for_silicon(silicon: Value, constants: Constants) -> Value:
    """Mass of silane that carries a mass of silicon, from the molar masses; hydrogen left in the film is not counted.

        silane = silicon / constants.molar_mass_silicon * constants.molar_mass_silane    [kg]

    Takes: silicon [kg].
    Source: stoichiometry; IUPAC standard atomic weights.

    >>> from costmodel.case.load import CONSTANTS
    >>> round(silane_for_silicon(0.66, CONSTANTS), 4)
    0.7548
    """
    return silicon / constants.molar_mass_silicon * constants.molar_mass_silane


def film_balance(layer: Layer, coated_area: Value, area_of_loads: Value, constants: Constants) -> FilmBalance:
    """Mass balance of the silicon of one film; all of it comes as silane.

        silicon_in_film = film_mass(layer.thickness, layer.density, coated_area)
        growing = film_mass(layer.thickness, layer.density, area_of_loads) / layer.utilisation    [kg]
        silicon_settling = film_mass(layer.rate * layer.settling_time, layer.density, area_of_loads) / layer.utilisation
        silicon_fed = growing + silicon_settling
        silicon_lost = growing - silicon_in_film + silicon_settling
        silane_fed = silane_for_silicon(silicon_fed, constants)

    Takes: coated_area [m2], area_of_loads [m2].
    Source: common practice.

    Silane flows for each load, full or not, as the other gases do: of what is fed during growth, `utilisation` ends on the plates
    of a full load, and what would grow on empty places of a carrier is lost. In the settling time silane flows at the same rate,
    for the film that would grow in it, and is lost.

    >>> from costmodel.case.load import CONSTANTS
    >>> layer = Layer("i", "deposition", 0.5, 1.0, 0.0, 0.5, "added", 4.0, "silane", 0.25, 0.0, 0.0)
    >>> found = film_balance(layer, 1.0, 1.0, CONSTANTS)
    >>> found.silicon_in_film, found.silicon_fed, found.silicon_settling, found.silicon_lost
    (2.0, 16.0, 8.0, 14.0)
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
    """Mass balance of the target material of one sputtered film.

        on_plates = film_mass(coating.thickness, coating.density, coated_area)
        bought = on_plates / coating.deposition_efficiency / coating.target_utilisation
        recovered = coating.recovered_share * (bought - on_plates)
        lost = (1 - coating.recovered_share) * (bought - on_plates)

    Takes: coated_area [m2].
    Source: common practice.

    >>> coating_balance(Coating("silver", "sputter", "target", 0.5, 1.0, 1.0, 4.0, 0.5, 0.5, 0.75), 1.0)
    CoatingBalance(on_plates=2.0, bought=8.0, recovered=4.5, lost=1.5)
    """
    on_plates = film_mass(coating.thickness, coating.density, coated_area)
    bought = on_plates / coating.deposition_efficiency / coating.target_utilisation
    recovered = coating.recovered_share * (bought - on_plates)
    return CoatingBalance(
        on_plates=on_plates, bought=bought, recovered=recovered, lost=(1 - coating.recovered_share) * (bought - on_plates)
    )


def coated_area(line: Line, step: str) -> Value:
    """Area that passes a step in the year, reworked plates counted again.

        area = line.steps[step].passes * line.output.plate_area    [m2]

    Source: geometry.

    >>> from types import SimpleNamespace as Some
    >>> coated_area(Some(steps={"sputter": Some(passes=8.0)}, output=Some(plate_area=0.5)), "sputter")
    4.0
    """
    return line.steps[step].passes * line.output.plate_area


def area_of_loads(case: Case, line: Line, step: str) -> Value:
    """Area of the places in the loads that pass a step in the year, empty ones among them.

        area = line.steps[step].loads * case.tools[case.steps[step].tool].load_size * line.output.plate_area    [m2]

    Source: geometry.

    >>> from types import SimpleNamespace as Some
    >>> line = Some(steps={"deposition": Some(loads=3.0)}, output=Some(plate_area=0.5))
    >>> area_of_loads(Some(steps={"deposition": Some(tool="t")}, tools={"t": Some(load_size=4.0)}), line, "deposition")
    6.0
    """
    return line.steps[step].loads * case.tools[case.steps[step].tool].load_size * line.output.plate_area


def silane_uses(case: Case, films: Mapping[str, FilmBalance]) -> Iterator[tuple[str, Use]]:
    """Silane by film."""
    for name, layer in case.layers.items():
        yield f"layers.{name}", Use(layer.step, layer.precursor, f"film {name}", films[name].silane_fed, "kg")


def gas_uses(case: Case, line: Line) -> Iterator[tuple[str, Use]]:
    """Gases that flow while they settle and while films grow.

        quantity = [gas.flow * line.layers[gas.layer].flow_time * line.steps[case.layers[gas.layer].step].loads for gas in
            case.gases.values()]    [mol]

    Source: common practice.

    >>> from costmodel.case.demo import demo_case
    >>> from costmodel.model.evaluate import evaluate
    >>> case, line = demo_case(), evaluate(demo_case()).line
    >>> name, gas = next(iter(case.gases.items()))
    >>> use = dict(gas_uses(case, line))[f"gases.{name}"]
    >>> use.quantity == gas.flow * line.layers[gas.layer].flow_time * line.steps[use.step].loads
    True
    """
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
