"""Structural choices: what a choice does to the tables, what it refuses and in which words, and all choices of the demos."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from costmodel.case.alternatives import groups
from costmodel.case.fingerprint import fingerprint
from costmodel.case.load import load_case
from costmodel.model.evaluate import evaluate
from costmodel.model.readings.quantities import wrong_units
from costmodel.model.scenarios import open_case

from .cases import DEMO, TABLES, Inputs, table, tiny, without_plan, write_table
from .identities import checks_of_the_ledger_are_zero
from .refusals import NUMBER, faults

DEMOS = sorted(path.parent for path in DEMO.parent.glob("*/case.yaml"))
SPECIAL = "alternatives/finish/special"
TITLE = "title: special\nstory: As wanted.\n"
HEADERS = {file: text.strip().splitlines()[0] for file, text in TABLES.items()}


def tiny_with(folder: Path, rows: Mapping[str, str], choice: str = "") -> Path:
    """The tiny case with a group `finish`: `usual` does nothing and is used; `special` has these rows, and more in choice.yaml."""
    Inputs().yaml("currency: EUR\n", "currency: EUR\nuse: {finish: usual}\n").write(folder)
    for name, text in (("usual", "title: usual\nstory: Nothing else.\n"), ("special", TITLE + choice)):
        (folder / "alternatives" / "finish" / name).mkdir(parents=True)
        (folder / "alternatives" / "finish" / name / "choice.yaml").write_text(text, encoding="utf-8")
    for file, each in rows.items():
        write_table(folder / SPECIAL / file, table(f"{HEADERS[file]}\n{each}"))
    return folder


def special(folder: Path, rows: Mapping[str, str], choice: str = ""):
    """The tiny case with the special finish."""
    return load_case(tiny_with(folder, rows, choice), {"finish": "special"})


POLISH = {"steps.csv": "polish,Polish,front,saw,45,100,100,0,0,0,100"}


def test_a_choice_that_does_nothing_changes_nothing(tmp_path):
    case = load_case(tiny_with(tmp_path, {}))
    assert fingerprint(case) == fingerprint(tiny())
    assert case.use == {"finish": "usual"}


def test_a_row_with_an_id_of_the_table_replaces_that_row(tmp_path):
    case = special(tmp_path, {"coatings.csv": "mirror,mirror,press,metal,200,60,2,10,50,80,60"})
    usual = load_case(tmp_path)
    assert case.coatings["mirror"].thickness == pytest.approx(200e-9, rel=1e-12)
    assert list(case.coatings) == list(tiny().coatings)
    # the film is twice as thick: 50 kg bought at 1,000 EUR instead of 25
    costs = [evaluate(each).ledger.lines["coatings.mirror.bought"].cost for each in (usual, case)]
    assert costs == [pytest.approx(25_000, rel=1e-12), pytest.approx(50_000, rel=1e-12)]


def test_a_row_with_another_id_is_added_in_the_units_of_its_own_header(tmp_path):
    folder = tiny_with(tmp_path, {})
    write_table(folder / SPECIAL / "materials.csv", table("""
id,step,item,amount [unit/per],unit,per,loss [1]
rinse,coat,nitrogen,500,Nl,load,0.5
"""))
    case = load_case(folder, {"finish": "special"})
    # 5,500 loads x 0.5 Nm3 x 1.5 at 0.5 EUR
    assert evaluate(case).ledger.lines["materials.rinse"].cost == pytest.approx(5_500 * 0.75 * 0.5, rel=1e-12)
    assert case.entry_units["materials.rinse.loss"] == "1"
    assert case.evidence["materials.rinse"].kind == "invented"


def test_a_new_step_comes_behind_the_step_that_the_choice_names(tmp_path):
    case = special(tmp_path, POLISH, "after: {polish: cut}\n")
    assert list(case.steps) == ["cut", "polish", "coat", "press"]
    # 50,000 plates leave the cut and pass the polish, 45 s each, on the same saws: 87,500 x 90 s + 50,000 x 45 s
    line = evaluate(case).line
    assert line.steps["polish"].starts == pytest.approx(50_000, rel=1e-12)
    assert line.tools["saw"].busy_time == pytest.approx(87_500 * 90 + 50_000 * 45, rel=1e-12)


def test_new_steps_may_come_behind_each_other_and_at_the_end(tmp_path):
    more = ("rinse,Rinse,front,saw,5,100,100,0,0,0,100", "wipe,Wipe,back,saw,5,100,100,0,0,0,100")
    case = special(tmp_path, {"steps.csv": "\n".join((POLISH["steps.csv"], *more))},
                   "after: {polish: cut, rinse: polish, wipe: press}\ndrop: [materials.box]\n")
    assert list(case.steps) == ["cut", "polish", "rinse", "coat", "press", "wipe"]


def test_a_replaced_step_stays_in_its_place(tmp_path):
    case = special(tmp_path, {"steps.csv": "coat,Coat well,front,coater,1080,100,90,0,0,0,100"})
    assert list(case.steps) == ["cut", "coat", "press"]
    assert case.steps["coat"].title == "Coat well"


def test_dropped_rows_are_gone_with_their_evidence_and_units(tmp_path):
    case = special(tmp_path, {}, "drop: [materials.foil, coatings.mirror]\n")
    assert list(case.materials) == ["glass", "blades", "vent", "wipes", "box"]
    assert (case.coatings, "coatings.mirror" in case.evidence) == ({}, False)
    assert [address for address in case.entry_units if address.startswith(("coatings.", "materials.foil."))] == []
    dropped = evaluate(tiny()).ledger.total.cost - evaluate(case).ledger.total.cost
    # foil 22,000; metal 25,000 less a credit of 4,500; the lock of 30 s sets the pace in place of a zone of 60 s, which saves
    # 5,000 x 30 s of the 9 kW that the stamp draws more at work than idle, at 0.2 EUR/kWh: 75
    assert dropped == pytest.approx(42_575, rel=1e-9)


def test_a_dropped_step_leaves_the_route(tmp_path):
    case = special(tmp_path, {}, "drop: [steps.press, tools.stamp, tool_utilities.stamp_electricity, coatings.mirror,"
                                 " coaters.stamp, materials.wipes, materials.foil, materials.box]\n")
    assert list(case.steps) == ["cut", "coat"]


def test_a_route_without_steps_is_refused(tmp_path):
    messages = faults(lambda: special(tmp_path, {}, "drop: [steps.cut, steps.coat, steps.press]\n"))
    assert "materials.csv, row 2, column 'step': found 'cut'; allowed: an id of steps.csv" in messages


def test_folders_that_programs_hide_are_no_choices(tmp_path):
    folder = tiny_with(tmp_path, {})
    for hidden in ("alternatives/.ipynb_checkpoints", "alternatives/finish/.ipynb_checkpoints"):
        (folder / hidden).mkdir()
    assert groups(folder) == {"finish": ["special", "usual"]}
    assert fingerprint(load_case(folder)) == fingerprint(tiny())


def sample_figures_set_by_a_choice_say_so_in_their_evidence(tmp_path):
    case = special(tmp_path, {}, "set: {tools.saw.life: 5 year, product.width: 600 mm}\n")
    assert case.tools["saw"].life == 5 * 8760 * 3600
    assert case.product.width == pytest.approx(0.6, rel=1e-12)
    assert case.evidence["tools.saw"].source.endswith("; life set by choice finish: special")


def test_a_scenario_may_use_another_choice_and_words_on_the_command_line_a_third(tmp_path):
    folder = tiny_with(tmp_path, {}, "set: {tools.saw.life: 5 year}\n")
    (folder / "scenarios").mkdir()
    (folder / "scenarios" / "new.yaml").write_text(
        "title: n\nstory: s\nplant: designed\nuse: {finish: special}\nset: {tools.saw.price: 5}\n")
    opened = [open_case(folder), open_case(folder, "new"), open_case(folder, "new", use={"finish": "usual"}),
              open_case(folder, use={"finish": "special"})]
    assert [case.tools["saw"].life / (8760 * 3600) for case in opened] == [10, 5, 10, 5]
    assert [case.use["finish"] for case in opened] == ["usual", "special", "usual", "special"]
    assert [case.tools["saw"].price for case in opened] == [100_000, 5, 5, 100_000]


# what is refused

CHOICES = {
    "unknown key": ("sets: {}\n", [
        f"{SPECIAL}/choice.yaml, 'sets': found an unknown name; allowed: title, story, set, drop, after, excludes; "
        "did you mean 'set'?"]),
    "drop of an unknown row": ("drop: [materials.foils]\n", [
        f"{SPECIAL}/choice.yaml, 'drop': found 'materials.foils'; allowed: a row as table.id; did you mean 'foil'?"]),
    "drop of an unknown table": ("drop: [stuff.foil]\n", [
        f"{SPECIAL}/choice.yaml, 'drop': found 'stuff.foil'; allowed: a row as table.id"]),
    "drop of a section": ("drop: [product]\n", [
        f"{SPECIAL}/choice.yaml, 'drop': found 'product'; allowed: a row as table.id"]),
    "drop of what others need": ("drop: [prices.glass]\n", [
        "materials.csv, row 2, column 'item': found 'glass'; allowed: an id of prices.csv"]),
    "exclusion of an unknown choice": ("excludes: {cooling.forced: no station}\n", [
        f"{SPECIAL}/choice.yaml, 'excludes': found 'cooling.forced'; allowed: a choice of another group as group.choice"]),
    "exclusion within its own group": ("excludes: {finish.usual: one of them}\n", [
        f"{SPECIAL}/choice.yaml, 'excludes': found 'finish.usual'; allowed: a choice of another group as group.choice"]),
    "place of no new step": ("after: {press: cut}\n", [
        f"{SPECIAL}/choice.yaml, 'after.press': found 'press'; allowed: a step that the choice adds"]),
    "unknown address": ("set: {tools.sew.life: 5 year}\n", [
        f"{SPECIAL}/choice.yaml, 'tools.sew.life': found an unknown address; allowed: an id of tools.csv after 'tools.'; "
        "did you mean 'saw'?"]),
    "figure out of range": ("set: {tools.saw.life: 0 year}\n", [
        f"{SPECIAL}/choice.yaml, 'tools.saw.life': found 0 year; allowed: a number above 0 [year]"]),
    "figure that leaves no time": ("set: {tools.saw.planned_downtime: 96 %}\n", [
        "tools.csv, column 'saw.planned_downtime': found 101 % with unplanned downtime and engineering time; allowed: "
        "together below 100 % of the scheduled time"]),
}


@pytest.mark.parametrize("name", CHOICES)
def test_a_wrong_choice_is_refused(name, tmp_path):
    content, messages = CHOICES[name]
    assert faults(lambda: special(tmp_path, {}, content)) == messages


ROWS = {
    "new step without a place": (POLISH, "", [
        f"{SPECIAL}/choice.yaml, 'after.polish': found nothing; allowed: the step behind which 'polish' comes"]),
    "new step behind an unknown one": (POLISH, "after: {polish: coats}\n", [
        f"{SPECIAL}/choice.yaml, 'after.polish': found 'coats'; allowed: the step behind which 'polish' comes; "
        "did you mean 'coat'?"]),
    "new step behind itself": (POLISH, "after: {polish: polish}\n", [
        f"{SPECIAL}/choice.yaml, 'after.polish': found 'polish'; allowed: the step behind which 'polish' comes"]),
    "place of a step that is replaced": ({"steps.csv": "cut,Cut,front,saw,90,100,60,0,0,0,100"}, "after: {cut: press}\n", [
        f"{SPECIAL}/choice.yaml, 'after.cut': found 'cut'; allowed: a step that the choice adds"]),
    "faulty cell": ({"materials.csv": "foil,press,foil,much,m2,m2,0"}, "", [
        f"{SPECIAL}/materials.csv, row 2, column 'amount': found 'much'; allowed: {NUMBER}"]),
    "reference to nothing": ({"materials.csv": "foil,press,foils,1,m2,m2,0"}, "", [
        f"{SPECIAL}/materials.csv, row 2, column 'item': found 'foils'; allowed: an id of prices.csv; did you mean 'foil'?"]),
    "id twice in a fragment": ({"materials.csv": "rim,press,foil,1,m2,m2,0\nrim,press,foil,1,m2,m2,0"}, "", [
        f"{SPECIAL}/materials.csv, row 3, column 'id': found 'rim', which row 2 has too; allowed: an id that no other row has"]),
}


@pytest.mark.parametrize("name", ROWS)
def test_a_wrong_row_of_a_choice_is_refused_by_its_place(name, tmp_path):
    rows, content, messages = ROWS[name]
    assert faults(lambda: special(tmp_path, rows, content)) == messages


def test_an_unknown_file_in_a_choice_is_refused(tmp_path):
    folder = tiny_with(tmp_path, {})
    (folder / SPECIAL / "material.csv").write_text("id\n", encoding="utf-8")
    (message,) = faults(lambda: load_case(folder, {"finish": "special"}))
    assert message.startswith(f"{SPECIAL}/material.csv: found an unknown file; "
        "allowed: choice.yaml, cells.csv, money.csv, indices.csv, steps.csv, ")
    assert message.endswith("; did you mean 'materials.csv'?")


def test_a_choice_without_its_document_is_refused(tmp_path):
    folder = tiny_with(tmp_path, {})
    (folder / SPECIAL / "choice.yaml").unlink()
    assert faults(lambda: load_case(folder, {"finish": "special"})) == [
        f"{SPECIAL}/choice.yaml: found no such file; allowed: a file {SPECIAL}/choice.yaml in {folder / SPECIAL}"]


@pytest.mark.parametrize(("content", "message"), [
    ("story: s\n", "'title': found nothing; allowed: a value for 'title'"),
    ("title: t\nstory: s\ndrop: steps.cut\n", "'drop': found 'steps.cut'; allowed: a list"),
    ("title: t\nstory: s\nset: [a]\n", "'set': found ['a']; allowed: a mapping"),
])
def test_a_document_of_another_shape_is_refused(content, message, tmp_path):
    folder = tiny_with(tmp_path, {})
    (folder / SPECIAL / "choice.yaml").write_text(content, encoding="utf-8")
    assert faults(lambda: load_case(folder, {"finish": "special"})) == [f"{SPECIAL}/choice.yaml, {message}"]


USES = {
    "unknown group": ({"finsh": "special"}, "use, 'finsh': found an unknown group; allowed: a group of alternatives: finish; "
                                            "did you mean 'finish'?"),
    "unknown choice": ({"finish": "specal"}, "use, 'finish': found 'specal'; allowed: one of special, usual; "
                                             "did you mean 'special'?"),
}


@pytest.mark.parametrize("name", USES)
def test_a_choice_that_is_not_there_is_refused(name, tmp_path):
    use, message = USES[name]
    folder = tiny_with(tmp_path, {})
    assert faults(lambda: load_case(folder, use)) == [message]
    (folder / "scenarios").mkdir()
    (folder / "scenarios" / "new.yaml").write_text(f"title: n\nstory: s\nplant: designed\nuse: {use}\n", encoding="utf-8")
    assert faults(lambda: open_case(folder, "new")) == [message.replace("use, '", "scenarios/new.yaml, 'use.")]


def test_a_group_without_a_choice_is_refused(tmp_path):
    folder = tiny_with(tmp_path, {})
    (folder / "case.yaml").write_text((folder / "case.yaml").read_text().replace("use: {finish: usual}\n", ""), encoding="utf-8")
    assert faults(lambda: load_case(folder)) == ["case.yaml, 'use.finish': found nothing; allowed: one of special, usual"]
    assert load_case(folder, {"finish": "usual"}).use == {"finish": "usual"}


def test_a_case_without_alternatives_has_no_groups(tmp_path):
    Inputs().write(tmp_path)
    assert groups(tmp_path) == {}
    assert faults(lambda: load_case(tmp_path, {"finish": "usual"})) == [
        "use, 'finish': found an unknown group; allowed: a group of alternatives: there is none"]


# the choices of the demos

EVERY_CHOICE = [(folder, {group: name}) for folder in DEMOS for group, names in groups(folder).items() for name in names]
TOGETHER = [(folder, {group: names[at] for group, names in groups(folder).items()}) for folder in DEMOS for at in (0, -1)]
for _, together in TOGETHER:  # which goes with every other choice
    together |= {"deposition_line": "batch"} if "deposition_line" in together else {}


@pytest.mark.slow
@pytest.mark.parametrize(("folder", "use"), EVERY_CHOICE + TOGETHER,
                         ids=lambda value: value.name if isinstance(value, Path) else "_".join(value.values()))
def test_every_choice_of_a_demo_gives_a_whole_case(folder, use):
    case = load_case(folder, use)
    assert wrong_units(without_plan(case)) == []
    assert list(checks_of_the_ledger_are_zero(case, evaluate(case))) == []


@pytest.mark.parametrize("folder", DEMOS, ids=lambda folder: folder.name)
def test_the_choices_already_in_use_change_nothing_and_the_others_do(folder):
    base = load_case(folder)
    titles = {group: {load_case(folder, {group: name}).use[group]: name for name in names}
              for group, names in groups(folder).items()}
    used = {group: titles[group][title] for group, title in base.use.items()}
    assert load_case(folder, used) == base
    costs = {(group, name): evaluate(load_case(folder, {group: name})).ledger.total.cost
             for group, names in groups(folder).items() for name in names if name != used[group]}
    assert [choice for choice, cost in costs.items() if cost == evaluate(base).ledger.total.cost] == []


@pytest.mark.parametrize("how", ["replaced", "dropped"])
def test_a_row_that_a_choice_replaces_or_drops_is_checked_by_itself(how, tmp_path):
    row = TABLES["materials.csv"].strip().splitlines()[-1]  # box,press,box,...
    replaces = {"materials.csv": row} if how == "replaced" else {}
    folder = tiny_with(tmp_path, replaces, "" if replaces else "drop: [materials.box]\n")
    load_case(folder, {"finish": "special"})
    text = (folder / "materials.csv").read_text(encoding="utf-8")
    (folder / "materials.csv").write_text(text.replace("box,press,box,", "box,press,bax,"), encoding="utf-8")
    number = next(k for k, line in enumerate(text.splitlines(), start=1) if line.startswith("box,press,"))
    assert faults(lambda: load_case(folder, {"finish": "special"})) == [
        f"materials.csv, row {number}, column 'item': found 'bax'; allowed: an id of prices.csv; did you mean 'box'?"
    ]
