"""Many faults in one case at once: each is told at its place, and none besides, by `costmodel check` and by the loader."""
from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from costmodel.case.load import load_case
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.model.checking import folder_faults

from .cases import DEMO, Inputs, column_name
from .refusals import NUMBER, faults
from .saved_tables import cells_of, written

# file, id of the row, column, what is put there: cells that are wrong by themselves
CELLS = [
    ("steps.csv", "seam", "process_time", "34 s"),                      # a unit in the cell
    ("steps.csv", "wash_1", "first_pass_yield", "101"),             # above its range
    ("steps.csv", "mark", "rework_share", "-1"),                    # wrong sign
    ("steps.csv", "wash_2", "rate_efficiency", "nan"),
    ("steps.csv", "cool_down", "load_loss", "inf"),
    ("steps.csv", "scribe_2", "rework_success", ""),                # a missing value
    ("steps.csv", "tape", "title", ""),
    ("tools.csv", "marker", "life", "0"),
    ("tools.csv", "green_laser", "price_year", "26"),               # no year
    ("tools.csv", "laminator", "kind", "guess"),                    # none of the options
    ("tools.csv", "packing_bench", "price", "45.000,00"),
    ("tools.csv", "packing_bench", "footprint", "1e999"),           # twice in one row
    ("areas.csv", "land", "charge", "cheap"),
    ("coatings.csv", "mirror", "target_utilisation", "176"),                # in the row that the choice in use puts in
    ("crew.csv", "quality", "per", "crews"),
    ("facilities.csv", "cooling_plant", "maintenance", "-3"),
    ("gases.csv", "n_1_phosphine", "flow", "O.8"),                  # a letter for a nought
    ("layers.csv", "i_1", "rate", "0"),
    ("levies.csv", "property_tax", "source", ""),
    ("materials.csv", "oven_nitrogen", "amount", "3 Nm3"),
    ("materials.csv", "wipes", "loss", "-2"),
    ("money.csv", "usd", "exchange_rate", "-0.9"),
    ("overheads.csv", "waste", "amount", "lots"),
    ("phases.csv", "vent", "load_inside", "maybe"),
    ("prices.csv", "argon", "unit", "Nm33"),                        # an unknown unit
    ("prices.csv", "potting", "freight", "-4"),
    ("soaking.csv", "rating", "coverage_probability", "two"),
    ("tool_utilities.csv", "coater_cooling", "when_idle", "-26"),
    ("utilities.csv", "air", "price", "١"),                         # a figure of another script
    ("indices.csv", "tools_2026", "by", ""),
]
# what only other tables show to be wrong, some of it in rows with a wrong cell besides
BETWEEN = [
    ("steps.csv", "seam", "tool", "seamerr"),
    ("tools.csv", "second_washer", "role", "operater"),
    ("tools.csv", "marker", "area", "cleann"),
    ("tools.csv", "coater", "planned_downtime", "95"),
    ("gases.csv", "p_2_boron", "layer", "p_3"),
    ("layers.csv", "n_2", "precursor", "silan"),
    ("materials.csv", "wipes", "item", "wipe"),
    ("materials.csv", "grit", "unit", "m2"),                        # told at `item`, which is sold by mass
    ("materials.csv", "rails", "step", "box_and_frames"),
    ("materials.csv", "label", "per", "module"),                    # before the last step
    ("prices.csv", "membrane", "currency", "EUX"),
    ("prices.csv", "label", "group", "Finishing"),
    ("tool_utilities.csv", "soak_rack_electricity", "utility", "electric"),
    ("ranges.csv", "silver_quote", "address", "prices.silver.price"),
    ("ranges.csv", "absorber_rate", "unit", "nm"),
    ("ranges.csv", "efficiency", "mode", "8.9"),                    # low, mode and high out of order
    ("ranges.csv", "hours", "high", "8900"),                        # beyond the range of its input
    ("emissions.csv", "cleaning_gas", "emitter", "nitrogen_fluoride"),
    ("facility_utilities.csv", "clean_air_electricity", "facility", "clean_aire"),
]
TOLD_AT = {("materials.csv", "grit", "unit"): "item"}
CHOICE = {"mirror": "alternatives/back_contact/silver/"}


def changed(folder: Path, file: str, change) -> None:
    """Change the cells of a table in place."""
    rows = cells_of(folder / file)
    (folder / file).write_text(written(change(rows)), encoding="utf-8")


def plant(folder: Path, planted) -> list[tuple[str, int, str]]:
    """Put faults into a case; returns the place at which each should be told."""
    places = []
    for file, identity, column, value in planted:
        where = CHOICE.get(identity, "") + file
        rows = cells_of(folder / where)
        number = [row[0] for row in rows].index(identity)
        at = [column_name(name) for name in rows[0]].index(column)
        assert rows[number][at] != value
        rows[number][at] = value
        (folder / where).write_text(written(rows), encoding="utf-8")
        places.append((where, number + 1, TOLD_AT.get((file, identity, column), column)))
    return places


@pytest.fixture
def broken(tmp_path):
    """A copy of the demo with all these faults, faults of headers, files, documents, choices and scenarios; and their places."""
    folder = tmp_path / "case"
    shutil.copytree(DEMO, folder)
    places: list[tuple] = plant(folder, CELLS + BETWEEN)

    changed(folder, "alternatives/carriers/bought/carriers.csv", lambda rows: [
        ["life [yaer]" if name == "life [year]" else name for name in rows[0]], *rows[1:]])
    places.append(("alternatives/carriers/bought/carriers.csv", 1, "life"))
    changed(folder, "overheads.csv", lambda rows: [*rows, rows[1]])
    places.append(("overheads.csv", 7, "id"))
    changed(folder, "facility_utilities.csv", lambda rows: [*rows[:-1], rows[-1][:-1]])
    places.append(("facility_utilities.csv", 9, None))
    (folder / "step.csv").write_text("id\n")
    places.append(("step.csv", None, None))

    document = (folder / "case.yaml").read_text(encoding="utf-8")
    document = document.replace("crews: 4", "crews: four").replace("width: 0.6 m", "width: 0.6 kg")
    (folder / "case.yaml").write_text(document.replace("  back_contact: silver", "  back_contact: silver\n  colour: grey"))
    places += [("case.yaml", None, "site.crews"), ("case.yaml", None, "product.width"), ("case.yaml", None, "use.colour")]

    other = "alternatives/second_junction/microcrystalline/"
    changed(folder, other + "layers.csv", lambda rows: [rows[0], *[[*row[:3], "thick", *row[4:]] for row in rows[1:2]], *rows[2:]])
    places.append((other + "layers.csv", 2, "thickness"))
    (folder / "alternatives/soaking/all_lamps/choice.yaml").write_text(
        "title: t\nstory: s\nset: {steps.sock.processed_share: 100 %, steps.soak.process_time: -1 s}\ndrop: [materials.lamps]\n")
    places += [("alternatives/soaking/all_lamps/choice.yaml", None, column)
               for column in ("steps.sock.processed_share", "steps.soak.process_time", "drop")]
    (folder / "alternatives/soaking/all_outdoor/choice.yaml").write_text("title: t\nstories: s\n")
    places += [("alternatives/soaking/all_outdoor/choice.yaml", None, "story"),
               ("alternatives/soaking/all_outdoor/choice.yaml", None, "stories")]

    (folder / "scenarios/dear_silver.yaml").write_text(
        "title: t\nstory: s\nplant: designed\nuse: {back_contact: copper}\n"
        "set: {metals.silver.quoti: 5, prices.silane.price: 5 EUR/kg}\n")
    places += [("scenarios/dear_silver.yaml", None, column)
               for column in ("use.back_contact", "metals.silver.quoti", "prices.silane.price")]
    (folder / "scenarios/torn.yaml").write_text("title: [\n")
    (folder / "scenarios/other.yml").write_text("title: t\n")
    places += [("scenarios/torn.yaml", 2, None), ("scenarios/other.yml", None, None)]
    return folder, places


def by_place(faults) -> list[tuple]:
    """The places of faults in order."""
    return sorted(((f.file, f.row, f.column) for f in faults), key=str)


def test_all_faults_of_a_folder_are_told_at_once_each_at_its_place_and_none_besides(broken, capsys):
    folder, places = broken
    found = folder_faults(folder)
    missed, besides = set(places) - set(by_place(found)), set(by_place(found)) - set(places)
    assert (missed, besides) == (set(), set())
    assert len(found) == len(places) == len(set(places))
    assert len(places) >= 60
    with capsys.disabled():
        print(f"\n{len(places)} faults planted at once, {len(found)} told")


def test_the_loader_tells_all_of_them_but_those_of_choices_and_scenarios_that_are_not_in_use(broken):
    folder, places = broken
    with pytest.raises(InputFaults) as problem:
        load_case(folder)
    unused = ("scenarios/", "alternatives/soaking", "alternatives/second_junction")
    assert by_place(problem.value.faults) == sorted((place for place in places if not place[0].startswith(unused)), key=str)


def test_the_command_ends_with_code_2_and_writes_nothing(broken, tmp_path):
    folder, places = broken
    before = sorted(tmp_path.rglob("*"))
    result = CliRunner().invoke(main, ["check", str(folder)])
    assert (result.exit_code, type(result.exception)) == (2, SystemExit)
    assert f"{len(places)} faults in the inputs" in result.output
    assert "Traceback" not in result.output
    result = CliRunner().invoke(main, ["report", str(folder), "--out", str(tmp_path / "reports")])
    assert result.exit_code == 2
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("seed", CELLS + BETWEEN, ids=lambda seed: f"{seed[0]}-{seed[1]}-{seed[2]}")
def test_each_planted_fault_alone_is_told_alone(seed, tmp_path):
    shutil.copytree(DEMO, tmp_path / "case")
    (place,) = plant(tmp_path / "case", [seed])
    with pytest.raises(InputFaults) as problem:
        load_case(tmp_path / "case")
    assert by_place(problem.value.faults) == [place]


# faults that must not be told twice


def test_a_reference_to_a_row_that_cannot_be_read_is_not_called_unknown():
    inputs = Inputs().cell("prices.csv", "glass", "price", "dear").cell("prices.csv", "foil", "id", "Foil").cell(
        "tools.csv", "saw", "life", "long")
    assert faults(inputs.load) == [
        f"tools.csv, row 2, column 'life': found 'long'; allowed: {NUMBER}",
        f"prices.csv, row 2, column 'price': found 'dear'; allowed: {NUMBER}",
        "prices.csv, row 9, column 'id': found 'Foil'; allowed: "
        "a name of small letters, digits and _ that begins with a letter and is no word of Python"]


@pytest.mark.parametrize("file", ["prices.csv", "tools.csv", "steps.csv", "money.csv", "crew.csv", "utilities.csv"])
def test_a_table_that_is_missing_is_one_fault_beside_those_of_other_tables(file, tmp_path):
    folder = Inputs().cell("areas.csv", "hall", "charge", "-1").write(tmp_path)
    (folder / file).unlink()
    told = [f"{file}: found no such file; allowed: a table {file} in {tmp_path}",
            "areas.csv, row 2, column 'charge': found -1 EUR/m2/year; allowed: a number from 0 [EUR/m2/year]"]
    assert sorted(faults(lambda: load_case(folder))) == sorted(told)


def test_a_text_and_a_number_of_one_row_are_told_together():
    inputs = Inputs().cell("prices.csv", "glass", "unit", "litr").cell("prices.csv", "glass", "price", "x").cell(
        "prices.csv", "glass", "duty", "-1").cell("prices.csv", "glass", "kind", "")
    assert [message.partition(":")[0] for message in faults(inputs.load)] == [
        f"prices.csv, row 2, column '{column}'" for column in ("unit", "price", "duty", "kind")]


def test_a_missing_column_hides_no_cell():
    inputs = Inputs().drop_column("tools.csv", "maintenance").cell("tools.csv", "saw", "life", "0")
    assert [message.partition(":")[0] for message in faults(inputs.load)] == [
        "tools.csv, row 1, column 'maintenance'", "tools.csv, row 2, column 'life'"]


def test_a_document_with_a_fault_hides_no_table(tmp_path):
    inputs = Inputs().yaml("currency: EUR", "currency: euro").cell("materials.csv", "foil", "item", "foils")
    assert faults(inputs.load) == [
        "case.yaml, 'currency': found 'euro'; allowed: three capitals, as EUR",
        "materials.csv, row 6, column 'item': found 'foils'; allowed: an id of prices.csv; did you mean 'foil'?"]
    folder = Inputs().cell("materials.csv", "foil", "item", "foils").write(tmp_path)
    (folder / "case.yaml").write_text("title: [")
    assert [message.partition(":")[0] for message in faults(lambda: load_case(folder))] == [
        "case.yaml, row 1", "materials.csv, row 6, column 'item'"]


# what only another choice or a scenario brings about


def with_choices(folder: Path, special: str, scenario: str = "") -> Path:
    """The tiny case with a choice in use that does nothing, another one, and a scenario where wanted."""
    Inputs().yaml("currency: EUR\n", "currency: EUR\nuse: {finish: usual}\n").write(folder)
    for name, text in (("usual", ""), ("special", special)):
        (folder / "alternatives" / "finish" / name).mkdir(parents=True)
        (folder / "alternatives" / "finish" / name / "choice.yaml").write_text(f"title: {name}\nstory: s\n{text}")
    if scenario:
        (folder / "scenarios").mkdir()
        (folder / "scenarios" / "new.yaml").write_text(f"title: n\nstory: s\nplant: designed\n{scenario}")
    return folder


def told(folder: Path) -> list[str]:
    """The faults that `costmodel check` tells."""
    result = CliRunner().invoke(main, ["check", str(folder)])
    assert result.exit_code == (2 if "in the inputs" in result.output.splitlines()[0] else 0)
    return result.output.splitlines()[1:] if result.exit_code else []


def test_a_fault_that_another_choice_brings_about_says_so(tmp_path):
    folder = with_choices(tmp_path, "drop: [prices.glass]\n")
    assert load_case(folder).use == {"finish": "usual"}
    assert told(folder) == ["materials.csv, row 2, column 'item': found 'glass' (with alternatives/finish/special); allowed: "
                            "an id of prices.csv"]


def test_a_choice_and_a_scenario_that_set_figures_out_of_range_are_told(tmp_path):
    folder = with_choices(tmp_path, "set: {tools.saw.life: 0 year}\n", "set: {tools.saw.planned_downtime: 96 %}\n")
    assert told(folder) == [
        "alternatives/finish/special/choice.yaml, 'tools.saw.life': found 0 year; allowed: a number above 0 [year]",
        "tools.csv, column 'saw.planned_downtime': found 101 % with unplanned downtime and engineering time (with "
        "scenarios/new.yaml); allowed: together below 100 % of the scheduled time"]


def test_a_sound_folder_has_nothing_told(tmp_path):
    assert told(with_choices(tmp_path, "set: {tools.saw.life: 5 year}\n", "use: {finish: special}\n")) == []
