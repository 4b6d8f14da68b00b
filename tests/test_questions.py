"""The analyst's questions about the line, each one command; figures printed are those of the package."""

import itertools
import re
import shutil

import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.whole_case import tables
from costmodel.command.line_commands import line as line_command
from costmodel.command.main import main
from costmodel.command.plan_commands import market as market_command
from costmodel.model.evaluate import evaluate
from costmodel.present.numbers import amount, people
from costmodel.studies.factory.choices import break_even, outcomes
from costmodel.studies.factory.full_use import yield_points

from .cases import DEMO, FIELD, demo


def run(*words):
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


@pytest.mark.parametrize("case", [DEMO, FIELD], ids=["facade", "field"])
@pytest.mark.parametrize(("command", "subjects"), [
    ("check", [""]), ("line", ["", *line_command.names]), ("market", ["", *market_command.names]),
    ("cost", ["", "steps", "spending", "people", "ownership", "buying", "choices"]),
])  # fmt: skip
def test_every_command_answers_for_every_demo(command, subjects, case):
    for subject in subjects:
        assert run(command, case, *filter(None, [subject]))


def test_how_many_chambers_ovens_carriers_and_what_one_less_leaves():
    """Question 10."""
    text, line = run("line", DEMO), evaluate(demo()).line
    for title, use in (
        ("deposition chamber", line.tools["deposition"]),
        ("preheat oven position", line.tools["preheat_oven"]),
        ("cooling station", line.tools["cooling_station"]),
        ("batch carrier", line.carriers["batch_carrier"]),
    ):
        assert f"{title} {people(use.tools_needed)} {use.tools:.4g}" in text


def test_a_faster_layer_against_less_overhead():
    """Question 11."""
    less = run("line", DEMO, "cycle", "--step", "deposition", "--faster", 20, "--less", 20)
    assert "Worth more: 20 min less overhead" in less
    assert "Worth more: second absorber grown 80 % faster" in run("line", DEMO, "cycle", "--faster", 80, "--less", 5)


def test_the_next_bottleneck_when_chambers_are_doubled():
    """Question 12."""
    text = run("line", DEMO, "bottlenecks", "--set", "target.mode=frozen", "--set", "tools.deposition.installed=6")
    assert "It sets the output" in text
    assert "The cheapest relief is" in text


def test_a_point_of_yield_in_two_steps():
    """Question 14: what the plates lost had cost, by hand for the last step, in which every plate is a module but for packing."""
    results = evaluate(demo())
    found = {point.step: point for point in yield_points(demo())}
    pack, row = results.line.steps["pack"], demo().steps["pack"]
    rejects_kept = 1 - row.rework_share * row.rework_success
    by_hand = pack.starts * 0.01 * rejects_kept * results.ledger.route["pack"].cost_so_far
    assert found["pack"].plates == pytest.approx(by_hand, rel=1e-12)
    less = evaluate(with_values(demo(), {"steps.pack.first_pass_yield": row.first_pass_yield - 0.01}))
    assert found["pack"].resized == pytest.approx(less.ledger.total.cost - results.ledger.total.cost, rel=1e-9)
    again, soaked = results.line.steps["retest"], demo().steps["soak"]  # only what is soaked is rated again
    by_hand = again.starts * soaked.processed_share * 0.01 * results.ledger.route["retest"].cost_so_far
    assert found["retest"].plates == pytest.approx(by_hand, rel=1e-6)
    text = run("line", DEMO, "yield")
    for step in ("deposition", "lamination"):
        assert f"{demo().steps[step].title} {people(found[step].plates)}" in text


def test_soaking_all_or_a_sample_lamps_or_outdoors():
    """Question 15."""
    text = run("line", DEMO, "soaking", "--all")
    for title in ("a sample under lamps", "all under lamps", "all outdoors"):
        assert title in text
    cases = {outcome.choice: outcome.results.ledger.soaking["rating"] for outcome in outcomes(DEMO, "soaking")}
    sample, outdoors = cases["sample_lamps"], cases["all_outdoor"]
    assert f"“all outdoors” costs {amount(outdoors.cost_and_risk - sample.cost_and_risk, 'EUR')} a year more" in text
    assert f"with {amount(sample.claims, 'EUR')} of expected claims" in text
    first = run("line", DEMO, "soaking").split("With --all")[0]  # all plans side by side come first
    for plan in cases.values():
        assert people(plan.cost_and_risk) in first.split("Soaking plans, EUR a year")[1]
    assert "within the required" in text
    assert "53.7 to 145" in text  # 301 kWh/m2 at 5.6 kWh/m2 a day in summer and at 1.6 in winter


def test_cleaning_in_the_chamber_or_by_exchange_and_the_gas_price_between():
    """Question 16."""
    text = run("cost", DEMO, "choices", "--group", "cleaning", "--break-even", "prices.nitrogen_trifluoride.price")
    assert "wall plates exchanged" in text
    assert "cost the same per stabilised watt where “nitrogen trifluoride: price” is " in text


def test_at_the_break_even_both_choices_cost_the_same_and_on_either_side_not():
    """Question 17, the price side."""
    cases = {outcome.choice: outcome.case for outcome in outcomes(DEMO, "back_contact")}
    found = break_even(cases["silver"], cases["aluminium"], "metals.silver.quote")
    assert len(found.values) == 1

    def watt(choice, price):
        return evaluate(with_values(cases[choice], {found.address: price})).ledger.total.cost_per_stabilised_watt

    (price,) = found.values
    assert watt("silver", price) == pytest.approx(watt("aluminium", price), rel=1e-9)
    assert watt("silver", 0.9 * price) < watt("aluminium", price) < watt("silver", 1.1 * price)


def test_a_break_even_is_looked_for_from_a_value_below_nothing_too():
    text = run("cost", DEMO, "choices", "--group", "cleaning", "--break-even", "scrap.coated_cullet.value")
    assert "“bare glass, broken: value”" in text


def test_no_break_even_is_an_answer():
    text = run("cost", DEMO, "choices", "--group", "carriers", "--break-even", "metals.silver.quote")
    assert re.search(r"at no value\. Searched: \d+ values of “silver: quote” up to ", text)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("cost", DEMO, "choices", "--group", "clening"), "did you mean 'cleaning'"),
        (("cost", DEMO, "choices", "--break-even", "prices.silane.price"), "found no --group; allowed: with --group, one of"),
        (("cost", DEMO, "choices", "--group", "cleaning", "--break-even", "prices.silane.prise"), "did you mean 'price'"),
        (("line", DEMO, "cycle", "--step", "lamination"), "found 'lamination'; allowed: a step with phases or films: deposition"),
        (("line", DEMO, "cycle", "--less", "100"), "6000 s off the overhead of 'deposition'; allowed: less than the 4320 s"),
        (("cost", DEMO, "--use", "clening=exchange"), "did you mean 'cleaning'"),
        (("cost", DEMO, "--use", "cleaning=exchang"), "did you mean 'exchange'"),
        (("cost", DEMO, "--use", "cleaning"), "'cleaning'; allowed: GROUP=CHOICE"),
        (
            ("cost", DEMO, "--set", "product.length=1 m", "--set", "product.length=2 m"),
            "'product.length' twice; allowed: each once",
        ),
        (("line", DEMO, "--json", "--csv"), "--json and --csv: found together; allowed: one of them"),
        (("report", DEMO, "--out", "/proc/nowhere"), "where nothing can be written"),
        (("cost", DEMO, "--scenario", "../scenarios/dear_silver"), "no such scenario"),
    ],
    ids=itertools.count(),
)
def test_what_cannot_be_answered_ends_with_code_2_and_says_what_can(words, message):
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 2
    assert message in " ".join(result.output.split())
    assert "Traceback" not in result.output


def test_a_case_without_the_optional_tables_is_answered_in_words(tmp_path):
    folder = tmp_path / "bare"
    assert CliRunner().invoke(main, ["new", str(folder)]).exit_code == 0
    shutil.rmtree(folder / "alternatives")
    shutil.rmtree(folder / "rounds")
    for scenario in ("three_blows", "dear_silver"):  # they change plan, deal and metals, which go too
        (folder / "scenarios" / f"{scenario}.yaml").unlink()
    for table in tables().values():
        if table.optional:
            (folder / table.file).unlink(missing_ok=True)
    document = (folder / "case.yaml").read_text(encoding="utf-8")
    used = document.index("use:")
    rest = document[document.index("product:") :].replace("  width:", "  active_area_share: 92 %\n  width:")  # cells.csv goes
    (folder / "case.yaml").write_text(document[:used] + rest, encoding="utf-8")
    assert "No step has phases or films" in run("line", folder, "cycle")
    assert "The case has no soaking.csv" in run("line", folder, "soaking")
    assert "The case has no markets.csv" in run("market", folder)
    assert "The case has no alternatives" in run("cost", folder, "choices")
    left = "facility systems, warranty and administration, insurance and property tax, claims for lots rated too high."
    assert left in run("cost", folder)
    assert "The case has no heatings.csv" in run("line", folder, "heat")
    assert "The case has no growth_steps.csv and no growth_exponents.csv" in run("line", folder, "growth")
    for command in ("check", "line", "cost", "market", "plan", "deal"):
        assert run(command, folder, "--all")
    result = CliRunner().invoke(main, ["report", str(folder), "--out", str(tmp_path)])
    assert result.exit_code == 0
    assert "The case has nothing of this kind." in (tmp_path / "bare_full.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words",
    [
        ("line", DEMO, "yield", "--set", "steps.seam.first_pass_yield=0.5"),
        (
            "line",
            DEMO,
            "cycle",
            *itertools.chain(*(("--set", f"phases.{name}.loads_between=5") for name in ("pump", "heat", "vent"))),
        ),
    ],
    ids=["hardly any yield", "hardly any overhead"],
)
def test_extreme_inputs_are_answered(words):
    assert run(*words)


def test_in_a_frozen_plant_the_words_say_what_is_left_and_resizing_keeps_the_output():
    frozen_words = run("cost", DEMO, "choices", "--group", "back_contact", "--set", "target.mode=frozen")
    assert "the plant is as installed, and its output follows" in frozen_words
    assert "tools are sized anew" in run("cost", DEMO, "choices", "--group", "back_contact")
    case = with_values(demo(), {"target.mode": "frozen"})
    results = evaluate(case)
    point = next(p for p in yield_points(case) if p.step == "lamination")
    twin = {"target.mode": "sized", "target.output": results.line.output.stabilised_watts}
    less = {"steps.lamination.first_pass_yield": demo().steps["lamination"].first_pass_yield - 0.01}
    costs = [evaluate(with_values(demo(), changes)).ledger.total.cost for changes in (twin, twin | less)]
    assert point.resized == pytest.approx(costs[1] - costs[0], rel=1e-9)


def test_plates_may_not_pass_by_a_step_of_a_carrier_s_round():
    result = CliRunner().invoke(main, ["line", str(DEMO), "--set", "steps.load_carrier.processed_share=50 %"])
    assert result.exit_code == 2
    found = "found 'unload_carrier' after 'load_carrier', which some plates pass by"
    assert f"{found}; allowed: steps that all plates go through" in result.output
