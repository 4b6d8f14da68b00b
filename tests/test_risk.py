"""Draws, distributions, risk and shares of the variance: against published values, and against themselves begun anew."""
from __future__ import annotations

import dataclasses
import json
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.special import betaincinv
from scipy.stats import kendalltau, spearmanr

from costmodel.case.addresses import replaced
from costmodel.case.changes import with_values
from costmodel.case.fingerprint import fingerprint
from costmodel.case.load import load_case
from costmodel.case.range_records import Correlation
from costmodel.case.uncertain import drivers
from costmodel.command.main import main
from costmodel.model.as_bought import as_bought
from costmodel.model.evaluate import evaluate, figures
from costmodel.present import risk_report
from costmodel.studies.distributions import LOW_SCORE, lognormal, normal, of_range, pert, triangular, uniform
from costmodel.studies.draws import Draws
from costmodel.studies.many import wanted_figures
from costmodel.studies.risk import Watch, run_long, run_risk
from costmodel.studies.spread import exceedance, parse_target, probability, spread
from costmodel.studies.variance import Share, Shares, rank, variance_shares

from .cases import DEMO, Inputs, demo, in_one_draw, table, tiny, write_table
from .refusals import faults

WATT, AREA_COST = "ledger.total.cost_per_stabilised_watt", "ledger.total.cost_per_m2"
SHARES = (np.arange(1_000_000) + 0.5) / 1_000_000  # midpoints, for moments of a quantile function


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def moments(quantile):
    values = quantile(SHARES)
    return float(values.mean()), float(values.var())


# distributions


def test_moments_of_the_triangular_distribution():
    assert moments(triangular(27.0, 30.0, 33.0)) == (pytest.approx(30, rel=1e-6), pytest.approx(1.5, rel=1e-5))  # X08, formula


def test_moments_of_pert():
    # X09: Beta(3.4, 2.6) on 0 to 10, documentation of phitter; X10: Beta(2, 4) on 10 to 90, by the formula
    assert moments(pert(0.0, 6.0, 10.0)) == (pytest.approx(5.6667, abs=5e-5), pytest.approx(3.5079, abs=5e-5))
    assert moments(pert(10.0, 30.0, 90.0)) == (pytest.approx(36.667, abs=5e-4), pytest.approx(203.175, abs=5e-4))


def test_pert_is_the_beta_distribution_of_its_shapes():
    shares = np.concatenate([np.random.default_rng(0).random(20_000), [2.0**-54, 1e-12, 1 - 1e-12, 1 - 2.0**-53]])
    for low, mode, high in ((0.0, 6.0, 10.0), (10.0, 30.0, 90.0), (2.0, 2.0, 3.0), (2.0, 3.0, 3.0), (5.0, 5.001, 6.0)):
        shapes = 1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low)
        wanted = low + (high - low) * betaincinv(*shapes, shares)
        assert np.max(np.abs(pert(low, mode, high)(shares) - wanted)) < 1e-12 * (high - low)


def test_pert_of_no_and_of_all_probability_is_an_end():
    """Of Beta(2, 4), 10 x^2 lie below a small x and 5 x^4 above 1 - x: the 1e-17 beyond 8.5 deviations, within a ten-thousandth."""
    assert pert(10.0, 30.0, 90.0)(np.array([0.0, 1.0])).tolist() == pytest.approx([10.0, 90.0], abs=80.0 / 10_000)


def of_logarithm(mu, sigma):
    """The lognormal distribution with this mean and deviation of the logarithm, stated by its 5 % ends."""
    return lognormal(math.exp(mu + LOW_SCORE * sigma), math.exp(mu - LOW_SCORE * sigma))


def test_quantile_of_a_lognormal_distribution():
    # X14: Microsoft support, example of the spreadsheet function: cdf(4) = 0.0390836, inverse of 0.039084 = 4.0000252
    assert of_logarithm(3.5, 1.2)(np.array([0.039084]))[0] == pytest.approx(4.0000252, abs=5e-8)
    assert of_logarithm(3.5, 1.2)(np.array([0.0390836]))[0] == pytest.approx(4.0, abs=2e-5)


def test_moments_of_a_lognormal_distribution():
    mu, sigma = 1.0, 0.25  # X17, from memory: exp(mu + s2/2), (exp(s2) - 1) exp(2 mu + s2)
    mean, variance = math.exp(mu + sigma**2 / 2), (math.exp(sigma**2) - 1) * math.exp(2 * mu + sigma**2)
    assert moments(of_logarithm(mu, sigma)) == (pytest.approx(mean, rel=1e-5), pytest.approx(variance, rel=1e-4))


def test_low_and_high_of_normal_are_what_5_percent_lie_beyond():
    assert normal(10.0, 20.0)(np.array([0.05, 0.5, 0.95])).tolist() == pytest.approx([10, 15, 20], rel=1e-12)


def test_a_normal_distribution_is_cut_off_at_what_the_input_allows():
    case = Inputs().row("ranges.csv", "yield_of_cut,steps.cut.first_pass_yield,normal,90,95,100,%,process,after_purchase").load()
    values = of_range(case, "yield_of_cut")(SHARES)
    assert 0.0 < values.min() < 0.9
    assert values.max() <= 1.0
    # of a normal distribution cut at its 95 % quantile, half lies below its quantile of 47.5 %, which is -0.0627068 deviations
    assert np.median(values) == pytest.approx(0.95 - 0.0627068 * 0.05 / -LOW_SCORE, abs=1e-6)


def test_sums_of_four_quantities_have_the_intervals_of_the_guide():
    # X18 and X19, from memory: JCGM 101:2008, 9.2.2 and 9.2.3; 2.00 and [-3.92, 3.92], [-3.88, 3.88]
    random, root = np.random.Generator(np.random.PCG64(1)), math.sqrt(3.0)
    for quantile, half in ((normal(LOW_SCORE, -LOW_SCORE), 3.92), (uniform(-root, root), 3.88)):
        found = spread(sum(quantile(random.random(400_000)) for _ in range(4)), (0.025, 0.975))
        assert found.deviation == pytest.approx(2.0, abs=0.01)
        for q, wanted in zip(found.quantiles, (-half, half)):
            assert q.value == pytest.approx(wanted, abs=0.03)
            assert q.low - 0.02 < wanted < q.high + 0.02


# what moves together


def two_prices(rank_correlation: str = "") -> Inputs:
    """The tiny line with uncertain prices of saw, box and foil in groups of their own."""
    inputs = Inputs().row("ranges.csv", "box_price,prices.box.price,uniform,1,1.5,2,EUR/piece,boxes,after_purchase")
    inputs.row("ranges.csv", "foil_price,prices.foil.price,lognormal,1,2,4,EUR/m2,foils,after_purchase")
    if rank_correlation:
        inputs.tables["correlations.csv"] = table(f"id,group,other,rank_correlation [1]\ntie,boxes,foils,{rank_correlation}")
    return inputs


@pytest.mark.parametrize(("spearman", "kendall"), [("0.48258", 0.33333), ("0.785939", 0.590334)], ids=["X11", "X13"])
def test_rank_correlations_of_draws(spearman, kendall):
    # X11, X13: (6/pi) asin(rho/2) and (2/pi) asin(rho) for rho 0.5 and 0.8; identities of the Gaussian copula
    draws = Draws(two_prices(spearman).load(), seed=3).values(0, 100_000)
    box, foil, saw = (draws[a] for a in ("prices.box.price", "prices.foil.price", "tools.saw.price"))
    assert spearmanr(box, foil).statistic == pytest.approx(float(spearman), abs=0.01)
    assert kendalltau(box, foil).statistic == pytest.approx(kendall, abs=0.01)
    assert spearmanr(box, saw).statistic == pytest.approx(0.0, abs=0.01)


def test_inputs_of_a_group_move_as_one():
    case = two_prices().cell("ranges.csv", "foil_price", "group", "boxes").load()
    draws = Draws(case, seed=3).values(0, 500)
    assert (np.argsort(draws["prices.box.price"]) == np.argsort(draws["prices.foil.price"])).all()
    assert len(drivers(case)) == 2


def test_inputs_of_a_looser_group_are_correlated_as_stated():
    inputs = two_prices().cell("ranges.csv", "foil_price", "group", "boxes")
    inputs.tables["correlations.csv"] = table("id,group,other,rank_correlation [1]\nwithin,boxes,boxes,-0.4")
    case = inputs.load()
    draws = Draws(case, seed=3).values(0, 50_000)
    assert spearmanr(draws["prices.box.price"], draws["prices.foil.price"]).statistic == pytest.approx(-0.4, abs=0.015)
    assert set(Draws(case, 0).blocks) == {"boxes", "equipment"}


CORRELATIONS = {
    "cannot hold": ("a,boxes,foils,0.9\nb,boxes,equipment,0.9\nc,foils,equipment,-0.9",
                    "correlations that cannot all hold together (the least eigenvalue of their matrix is "),
    "unknown group": ("a,boxes,foil,0.9", "found 'foil'; allowed: a group of ranges.csv; did you mean 'foils'?"),
    "pair twice": ("a,boxes,foils,0.9\nb,foils,boxes,0.5", "found 'boxes', as 'a' has too; allowed: each pair of groups once"),
    "out of range": ("a,boxes,foils,1.0", "found 1 1; allowed: a number from -0.999 to 0.999 [1]"),
}


@pytest.mark.parametrize("name", CORRELATIONS)
def test_wrong_correlations_are_refused(name):
    rows, words = CORRELATIONS[name]
    inputs = two_prices()
    inputs.tables["correlations.csv"] = table("id,group,other,rank_correlation [1]\n" + rows)
    messages = faults(inputs.load)
    assert len(messages) == 1
    assert words in messages[0]


# values that are a few, or that were measured


def with_sample(folder: Path, column: str = "box [EUR/piece]", cells=("1.2", "1.5", "1.9"), file: str = "pilot.csv") -> Path:
    """The tiny line with a box price that was measured."""
    inputs = Inputs().row("ranges.csv", "box_price,prices.box.price,empirical,1,1.5,2,EUR/piece,boxes,after_purchase")
    inputs.tables["samples.csv"] = table(f"id,range,file,column\nboxes,box_price,{file},box")
    inputs.write(folder)
    (folder / "measurements").mkdir()
    (folder / "measurements" / "pilot.csv").write_text("\n".join([f"id,{column}", *(f"{k},{c}" for k, c in enumerate(cells))]))
    return folder


def test_measured_values_are_drawn_alike(tmp_path):
    case = load_case(with_sample(tmp_path))
    assert case.measurements == {"box_price": (1.2, 1.5, 1.9)}
    values, counts = np.unique(Draws(case, seed=0).values(0, 30_000)["prices.box.price"], return_counts=True)
    assert values.tolist() == [1.2, 1.5, 1.9]
    assert counts == pytest.approx([10_000] * 3, rel=0.03)
    (tmp_path / "measurements" / "pilot.csv").write_text("id,box [EUR/piece]\n1,1.3\n")
    assert fingerprint(load_case(tmp_path)) != fingerprint(case)


SAMPLES = {
    "unit": ({"column": "box [EUR/kg]"}, "measurements/pilot.csv, row 1, column 'box': found the unit [EUR/kg]; allowed: a unit "
             "that converts to EUR/piece, in the header"),
    "no unit": ({"column": "box"}, "measurements/pilot.csv, row 1, column 'box': found the unit []"),
    "column": ({"column": "bx [EUR/piece]"}, "samples.csv, column 'boxes.column': found 'box'; allowed: a column of "
               "measurements/pilot.csv: id, bx"),
    "value": ({"cells": ("1.2", "-1")}, "measurements/pilot.csv, row 3, column 'box': found -1 EUR/piece; allowed: a number"),
    "no number": ({"cells": ("1.2", "x")}, "measurements/pilot.csv, row 3, column 'box': found 'x'; allowed: a number, as 12.5"),
    "file": ({"file": "pilots.csv"}, "measurements/pilots.csv: found no such file"),
    "file elsewhere": ({"file": "../prices.csv"},
                       "samples.csv, column 'boxes.file': found '../prices.csv'; allowed: the name of a CSV"),
}


@pytest.mark.parametrize("name", SAMPLES)
def test_wrong_measurements_are_refused(name, tmp_path):
    changes, words = SAMPLES[name]
    (message,) = faults(lambda: load_case(with_sample(tmp_path, **changes)))
    assert message.startswith(words)


def discrete(rows: str) -> Inputs:
    inputs = Inputs().row("ranges.csv", "box_price,prices.box.price,discrete,1,1.5,2,EUR/piece,boxes,after_purchase")
    inputs.tables["outcomes.csv"] = table("id,range,value [unit],unit,probability [%]\n" + rows)
    return inputs


def test_outcomes_are_drawn_by_their_probability():
    case = discrete("dear,box_price,2,EUR/piece,25\ncheap,box_price,1,EUR/piece,75").load()
    values = Draws(case, seed=0).values(0, 40_000)["prices.box.price"]
    assert set(values.tolist()) == {1.0, 2.0}
    assert float(np.mean(values == 2.0)) == pytest.approx(0.25, abs=0.01)


RANGES = {
    "probabilities": (discrete("dear,box_price,2,EUR/piece,25"), "found 25 % in all for 'box_price'; allowed: 100 % in all"),
    "unit": (discrete("dear,box_price,2,EUR/kg,100"), "found 'EUR/kg'; allowed: a unit that converts to EUR/piece"),
    "out of range": (discrete("dear,box_price,-2,EUR/piece,100"), "found -2 EUR/piece; allowed: a number from 0 [EUR/piece]"),
    "outcomes of another": (discrete("dear,box_price,2,EUR/piece,100\nodd,saw_price,2,EUR/piece,100"),
                            "found 'saw_price', a range that is triangular; allowed: a range that is discrete"),
    "no outcomes": (Inputs().row("ranges.csv", "box_price,prices.box.price,discrete,1,1.5,2,EUR/piece,boxes,after_purchase"),
                    "found 'discrete' without a row in outcomes.csv; allowed: 'discrete' with one"),
    "no sample": (Inputs().row("ranges.csv", "box_price,prices.box.price,empirical,1,1.5,2,EUR/piece,boxes,after_purchase"),
                  "found 'empirical' without a row in samples.csv; allowed: 'empirical' with one"),
    "lognormal from 0": (Inputs().row("ranges.csv", "box_price,prices.box.price,lognormal,0,1.5,2,EUR/piece,boxes,after_purchase"),
                         "found 0 with the distribution lognormal; allowed: a value above 0"),
    "normal without width": (Inputs().row("ranges.csv", "box_price,prices.box.price,normal,2,2,2,EUR/piece,boxes,after_purchase"),
                             "found low and high alike with the distribution normal; allowed: low below high"),
}


@pytest.mark.parametrize("name", RANGES)
def test_wrong_ranges_are_refused(name):
    inputs, words = RANGES[name]
    messages = faults(inputs.load)
    assert any(words in message for message in messages), messages


# draws


@pytest.mark.parametrize("method", ["random", "sobol"])
def test_draws_do_not_depend_on_how_many_are_made_at_a_time(method):
    draws = Draws(demo(), 11, method)
    whole = draws.values(0, 256)
    for start, stop in ((0, 1), (1, 100), (100, 256)):
        for address, values in draws.values(start, stop).items():
            assert np.array_equal(values, whole[address][start:stop]), address


def test_draws_of_an_input_do_not_depend_on_what_else_is_uncertain():
    few, many = Draws(tiny(), 4).values(0, 50), Draws(two_prices().load(), 4).values(0, 50)
    assert np.array_equal(few["tools.saw.price"], many["tools.saw.price"])


def test_seed_0_is_a_seed_and_seeds_differ():
    first = Draws(tiny(), 0).values(0, 5)["tools.saw.price"]
    assert np.array_equal(first, Draws(tiny(), 0).values(0, 5)["tools.saw.price"])
    assert not np.array_equal(first, Draws(tiny(), 1).values(0, 5)["tools.saw.price"])


def test_a_draw_that_its_input_does_not_allow_is_refused_with_its_distribution():
    case = replaced(tiny(), {"ranges.saw_price.low": -1e6})
    (message,) = faults(lambda: Draws(case, 0).values(0, 1000))
    assert message.startswith("ranges.csv, column 'saw_price.distribution': found 'triangular', of which a draw is -")
    assert message.endswith("; allowed: a number from 0 [EUR]")


def test_draws_that_the_case_does_not_take_together_are_refused():
    case = Inputs().row("ranges.csv", "down,tools.saw.planned_downtime,uniform,10,50,99,%,down,after_purchase").load()
    (message,) = faults(lambda: run_risk(case, [WATT], 1000, 0))
    assert message.startswith("tools.csv, in a draw of ranges.csv, column 'saw.planned_downtime': found ")
    assert message.endswith("together below 100 % of the scheduled time, in every draw; ranges of this row: saw_price, down")


# risk


def test_each_draw_is_a_single_evaluation():
    case = as_bought(demo())
    found = run_risk(case, [WATT, AREA_COST], 4, 9)
    draws = Draws(case, 9).values(0, 4)
    for k in range(4):
        single = in_one_draw(case, {address: float(values[k]) for address, values in draws.items()})
        known = {address: value for address, value, *_ in figures(evaluate(single), case.currency)}
        for figure in (WATT, AREA_COST):
            assert found.figures[figure][k] == pytest.approx(known[figure], rel=1e-14)


def test_the_same_seed_gives_the_same_numbers_whatever_is_asked_for_and_whatever_the_chunk():
    case = as_bought(demo())
    whole = run_risk(case, [WATT], 3000, 2)
    for block, wanted in ((257, [WATT]), (1000, [AREA_COST, WATT]), (8, [WATT])):
        assert np.array_equal(run_risk(case, wanted, 3000 if block > 8 else 64, 2, block=block).figures[WATT],
                              whole.figures[WATT][: 3000 if block > 8 else 64])
    sobol = run_risk(case, [WATT], 512, 2, "sobol").figures[WATT]
    assert np.array_equal(run_risk(case, [WATT, AREA_COST], 512, 2, "sobol", block=100).figures[WATT], sobol)


def test_two_correlated_normal_prices_give_the_closed_form_whatever_the_chunk():
    """Cost is linear in both prices, so normal: variance a2 s2 + b2 t2 + 2 a b r s t, with s = 0.5/1.644854, t = 1/1.644854."""
    inputs = Inputs().row("ranges.csv", "box_price,prices.box.price,normal,2,2.5,3,EUR/piece,boxes,after_purchase")
    inputs.row("ranges.csv", "foil_price,prices.foil.price,normal,5,6,7,EUR/m2,foils,after_purchase")
    inputs.drop_row("ranges.csv", "saw_price")
    inputs.tables["correlations.csv"] = table("id,group,other,rank_correlation [1]\ntie,boxes,foils,0.48258")  # X11: r = 0.5
    case, cost = as_bought(inputs.load()), "ledger.total.cost"

    def at(box, foil):
        single = with_values(case, {"prices.box.price": box, "prices.foil.price": foil})
        return evaluate(single).ledger.total.cost

    middle, s, t = at(2.5, 6.0), 0.5 / 1.644854, 1.0 / 1.644854
    a, b = at(3.5, 6.0) - middle, at(2.5, 7.0) - middle
    deviation = math.sqrt(a * a * s * s + b * b * t * t + 2 * a * b * 0.5 * s * t)
    whole = run_risk(case, [cost], 1_000_003, 0, block=7_777).figures[cost]
    assert np.array_equal(run_risk(case, [cost], 1_000_003, 0, block=100_000).figures[cost], whole)
    assert np.array_equal(run_risk(case, [cost], 20_003, 0, block=1_000).figures[cost], whole[:20_003])
    assert whole.mean() == pytest.approx(middle, abs=5 * deviation / 1000)
    assert whole.std() == pytest.approx(deviation, rel=5 / math.sqrt(2_000_000))
    assert (whole > middle + 1.644854 * deviation).mean() == pytest.approx(0.05, abs=0.0012)


def stopping(after: int):
    """A progress that is stopped by Ctrl-C once so many draws are done."""
    def progress(done, _):
        if done >= after:
            raise KeyboardInterrupt
    return progress


def test_a_run_that_was_stopped_goes_on_to_the_same_numbers(tmp_path):
    case, keep = as_bought(demo()), tmp_path / "kept.draws"
    whole = run_risk(case, [WATT], 1000, 5)
    with pytest.raises(KeyboardInterrupt):  # a caller that does not say how much of the run it is gets nothing
        run_long(case, [WATT], 1000, 5, block=300, watch=Watch(keep, stopping(300)))
    begun = run_long(case, [WATT], 1000, 5, block=300, watch=Watch(keep, stopping(600), stoppable=True))
    assert (begun.done, begun.finished) == (600, False)
    assert np.array_equal(begun.figures[WATT], whole.figures[WATT][:600])
    seen = []
    ended = run_long(case, [WATT], 1000, 5, block=170, watch=Watch(keep, lambda done, _: seen.append(done)))
    assert seen[0] == 770
    assert ended.finished
    assert np.array_equal(ended.figures[WATT], whole.figures[WATT])
    more = run_long(case, [WATT], 1500, 5, watch=Watch(keep))
    assert np.array_equal(np.asarray(more.figures[WATT])[:1000], whole.figures[WATT])
    assert [path.name for path in tmp_path.iterdir()] == ["kept.draws"]


def test_kept_draws_of_another_run_are_refused(tmp_path):
    keep = tmp_path / "kept.draws"
    run_long(tiny(), [WATT], 10, 5, watch=Watch(keep))
    before = keep.read_bytes()
    for case, wanted, seed, name in ((tiny(), [WATT], 6, "seed"), (tiny(), [AREA_COST], 5, "figures"),
                                     (two_prices().load(), [WATT], 5, "fingerprint")):
        (message,) = faults(lambda c=case, w=wanted, s=seed: run_long(c, w, 20, s, watch=Watch(keep)))
        assert message.startswith(f"{keep}, '{name}': found ")
    assert keep.read_bytes() == before
    keep.write_text("no draws")
    (message,) = faults(lambda: run_long(tiny(), [WATT], 20, 5, watch=Watch(keep)))
    assert "found no file of kept draws" in message
    for length in (10, 40, 100):  # within what says which run it is
        keep.write_bytes(before[:length])
        (message,) = faults(lambda: run_long(tiny(), [WATT], 20, 5, watch=Watch(keep)))
        assert "found no file of kept draws" in message


SPOILED = {
    "power that fails": lambda held: held[:-5],
    "a byte that turns": lambda held: held[:-1] + bytes([held[-1] ^ 1]),
    "another run that wrote there too": lambda held: held + held[-90:],
}


@pytest.mark.parametrize("spoil", SPOILED.values(), ids=list(SPOILED))
def test_a_block_that_is_not_whole_is_drawn_again(spoil, tmp_path):
    keep = tmp_path / "kept.draws"
    whole = np.asarray(run_long(tiny(), [WATT], 30, 5).figures[WATT])
    run_long(tiny(), [WATT], 20, 5, block=10, watch=Watch(keep))
    keep.write_bytes(spoil(keep.read_bytes()))
    seen = []
    again = run_long(tiny(), [WATT], 30, 5, block=10, watch=Watch(keep, lambda done, _: seen.append(done)))
    assert np.array_equal(again.figures[WATT], whole)
    assert seen in ([20, 30], [30])
    assert np.array_equal(run_long(tiny(), [WATT], 30, 5, watch=Watch(keep)).figures[WATT], whole)


def test_a_run_that_is_refused_leaves_no_file(tmp_path):
    faults(lambda: run_long(tiny(), [WATT], 0, 5, watch=Watch(tmp_path / "kept.draws")))
    assert not list(tmp_path.iterdir())


ASKED = {
    "no power of two": ({"draws": 1000, "method": "sobol"},
                        "--draws: found 1000 Sobol points; allowed: a power of two, as 512 or 1,024"),
    "negative seed": ({"seed": -1}, "--seed: found -1; allowed: a whole number from 0"),
    "no draws": ({"draws": 0}, "--draws: found 0; allowed: a whole number from 1 to 16,777,216"),
    "method": ({"method": "dice"}, "--method: found 'dice'; allowed: one of random, sobol"),
}


@pytest.mark.parametrize("name", ASKED)
def test_draws_that_cannot_be_made_are_refused(name):
    changes, wanted = ASKED[name]
    assert faults(lambda: run_risk(tiny(), [WATT], **{"draws": 10, "seed": 0, **changes})) == [wanted]


def test_a_case_without_ranges_says_that_it_has_none():
    (message,) = faults(lambda: run_risk(Inputs().drop_row("ranges.csv", "saw_price").load(), [WATT], 10, 0))
    assert "ranges.csv" in message


def test_draws_without_a_value_are_a_share_and_the_rest_is_over_those_with_one():
    values = np.array([1.0, 2.0, np.nan, 3.0, np.nan])
    found = spread(values)
    assert (found.without, found.mean, found.quantiles[2].value) == (pytest.approx(0.4), 2.0, 2.0)
    assert probability(values, ">=", 2.0).share == pytest.approx(0.4)
    assert probability(values, "<=", 2.0).share == pytest.approx(0.4)
    at, share = exceedance(values, 3)
    assert (at.tolist(), share.tolist()) == ([1.0, 2.0, 3.0], pytest.approx([0.4, 0.2, 0.0]))
    nothing = spread(np.array([np.nan]))
    assert nothing.without == 1.0
    assert math.isnan(nothing.mean)


def test_intervals_of_quantiles_and_probabilities_hold_as_often_as_they_say():
    random = np.random.default_rng(0)
    quantiles = probabilities = 0
    for _ in range(400):
        values = random.random(500)
        quantiles += (q := spread(values, (0.1,)).quantiles[0]).low <= 0.1 <= q.high
        probabilities += (c := probability(values, "<=", 0.1)).low <= 0.1 <= c.high
    assert quantiles >= 0.92 * 400  # 95 % wanted, less what 400 trials leave open
    assert probabilities >= 0.92 * 400


def test_the_mean_of_a_tenth_is_that_of_the_lowest_and_highest_draws():
    found = spread(np.arange(1.0, 101.0))
    assert (found.lowest_tenth, found.highest_tenth) == (5.5, 95.5)


def test_the_command_states_seed_targets_and_what_has_no_value():
    words = ("risk", DEMO, "--draws", "200", "--seed", "0", "--target", f"{AREA_COST}<=98 EUR/m2", "--json")
    shown = json.loads(run(*words).output)
    assert (shown["seed"], shown["method"], shown["draws"]) == (0, "random", 200)
    case = as_bought(demo())
    values = run_risk(case, [WATT, AREA_COST], 200, 0).figures[AREA_COST]
    assert shown["targets"][f"{AREA_COST}<=98 EUR/m2"]["share"] == pytest.approx(100 * float(np.mean(values <= 98.0)))
    by = {(row["figure"], row["what"]): row["value"] for row in shown["rows"]}
    assert by[AREA_COST, "P50"] == pytest.approx(float(np.median(values)))
    assert by[AREA_COST, "share of draws without value"] == 0.0
    assert "seed 0" in run("risk", DEMO, "--draws", "20").output


def test_times_of_the_plan_are_shown_in_years_and_those_of_a_plate_in_seconds():
    figures = ("--figure", "plan.project.payback", "--figure", "line.output.takt")
    rows = json.loads(run("compare", DEMO, "--all-scenarios", "--json", *figures).output)["rows"]
    assert {(row["figure"], row["unit"]) for row in rows} == {
        ("plan.project.payback", "year"), ("plan.project.payback_status", "1"), ("line.output.takt", "s/plate")
    }  # fmt: skip
    assert 1 < rows[0]["value"] < 50


def test_resizing_is_another_risk():
    words = ("risk", DEMO, "--draws", "50", "--json", "--figure", "line.output.stabilised_watts")
    kept, sized = (json.loads(run(*words, *more).output) for more in ((), ("--resize",)))
    deviations = [row["value"] for shown in (kept, sized) for row in shown["rows"] if row["what"] == "standard deviation"]
    assert deviations[0] > 1e4
    assert deviations[1] == pytest.approx(0.0, abs=1.0)


def test_ctrl_c_keeps_what_is_finished_and_says_how_to_go_on(tmp_path, monkeypatch):
    from costmodel.studies import risk

    whole = run("risk", DEMO, "--draws", "100", "--json")
    make = Draws.values

    def stopped(self, start, stop):
        if start >= 60:
            raise KeyboardInterrupt
        return make(self, start, stop)

    real = risk.run_long
    monkeypatch.setattr(risk, "run_long", lambda *words, **more: real(*words, block=30, **more))
    monkeypatch.setattr(Draws, "values", stopped)
    monkeypatch.chdir(tmp_path)
    result = run("risk", DEMO, "--draws", "100")
    assert result.exit_code == 130
    name = f"facade_{fingerprint(as_bought(demo()))}_seed_0"
    assert f"Stopped after 60 of 100 draws, kept in {name}.draws. To resume: the same command with --keep {name}" in result.output
    run("risk", DEMO, "--draws", "100")
    assert sorted(path.name for path in tmp_path.iterdir()) == [f"{name}.draws", f"{name}_2.draws"]
    monkeypatch.setattr(Draws, "values", make)
    assert run("risk", DEMO, "--draws", "100", "--json", "--keep", f"{name}.draws").output == whole.output


TARGETS = {"no sign": "ledger.total.cost_per_m2 98", "no value": "ledger.total.cost_per_m2<=", "equal": "a=1"}


@pytest.mark.parametrize("name", TARGETS)
def test_a_wrong_target_is_refused(name):
    (message,) = faults(lambda: parse_target(TARGETS[name]))
    assert message.endswith("allowed: FIGURE>=VALUE UNIT or FIGURE<=VALUE UNIT")


def test_a_target_in_another_unit_is_refused():
    result = run("risk", DEMO, "--draws", "10", "--target", f"{AREA_COST}<=98 kg")
    assert result.exit_code == 2
    assert "unit 'kg' does not convert into 'EUR/m2'" in result.output


# shares of the variance


def ishigami(shares):
    x = (2 * shares - 1) * np.pi
    return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_indices_of_the_ishigami_function():
    # X01, X02: RAVEN repository, analytic test: variance 13.8446; first order 0.3139, 0.4424, 0; total 0.5576, 0.4424, 0.2437
    found = variance_shares(ishigami, {"x1": [0], "x2": [1], "x3": [2]}, points=2**14, seed=0)
    assert found.variance == pytest.approx(13.8446, rel=0.01)
    by = {share.name: share for share in found.found}
    for name, first, total in (("x1", 0.3139, 0.5576), ("x2", 0.4424, 0.4424), ("x3", 0.0, 0.2437)):
        assert by[name].first == pytest.approx(first, abs=0.01)
        assert by[name].total == pytest.approx(total, abs=0.01)
        assert abs(by[name].total - total) < 2 * by[name].total_error
    # a block of x1 and x3 has all that is not x2's
    blocks = variance_shares(ishigami, {"x1, x3": [0, 2], "x2": [1]}, points=2**12, seed=0)
    assert {share.name: share.total for share in blocks.found}["x1, x3"] == pytest.approx(1 - 0.4424, abs=0.03)


def g_function(a):
    return lambda x: np.prod((np.abs(4 * x - 2) + np.array(a)) / (1 + np.array(a)), axis=1)


def test_first_order_indices_of_the_g_function():
    # X03: documentation of UQpy after Glen and Isaacs (2012)
    wanted = [0.586781190, 0.260791640, 0.0366738244, 0.00586781190, 5.8678e-5, 5.8678e-5]
    found = variance_shares(g_function([0, 0.5, 3, 9, 99, 99]), {f"x{k}": [k] for k in range(6)}, points=2**14, seed=1)
    by = {share.name: share for share in found.found}
    assert [by[f"x{k}"].first for k in range(6)] == pytest.approx(wanted, abs=0.01)
    assert found.variance == pytest.approx(0.56807, rel=0.02)


def test_total_effects_of_the_g_function():
    # X06: Saltelli et al., from memory; total effects computed from the formula
    wanted = [0.787144, 0.242198, 0.034317, 0.010460, *[1.0495e-4] * 4]
    found = variance_shares(g_function([0, 1, 4.5, 9, 99, 99, 99, 99]), {f"x{k}": [k] for k in range(8)}, points=2**14, seed=1)
    by = {share.name: share for share in found.found}
    assert [by[f"x{k}"].total for k in range(8)] == pytest.approx(wanted, abs=0.01)
    assert [share.name for share in found.carrying(0.8)] == ["x0", "x1"]


def test_points_without_a_value_are_left_out_and_counted():
    def holed(x):
        return np.where(x[:, 0] > 0.9, np.nan, x[:, 0] + x[:, 1])

    found = variance_shares(holed, {"a": [0], "b": [1]}, points=2**10, seed=0)
    assert 0.1 < found.without < 0.25  # 0.9 x 0.9 of the points have all their values
    assert all(math.isfinite(share.total) for share in found.found)


def test_a_figure_that_nothing_moves_has_no_shares():
    found, _ = rank(tiny(), "line.output.plate_area", 16, 0)
    assert found.variance == 0.0
    assert found.carrying(0.8) == []


@pytest.mark.parametrize("seed", [0, 1])
def test_the_same_seed_gives_the_same_shares_and_errors(seed):
    one, other = (variance_shares(ishigami, {"x1": [0], "x2": [1], "x3": [2]}, points=2**8, seed=seed) for _ in range(2))
    assert one == other


def test_a_rank_says_what_to_measure_next():
    result = run("rank", DEMO, "--points", "64", "--seed", "3")
    assert "carry 80 % of the uncertainty" in result.output
    assert "Measure next, by their part of the variance: " in result.output
    assert "seed 3" in result.output
    assert run("rank", DEMO, "--points", "100").exit_code == 2


def test_new_tables_read_back_as_written(tmp_path):
    inputs = two_prices("0.3")
    inputs.write(tmp_path)
    write_table(tmp_path / "correlations.csv", table("id,group,other,rank_correlation [%]\ntie,boxes,foils,30"))
    assert load_case(tmp_path).correlations == {"tie": Correlation("boxes", "foils", 0.3)}


@pytest.mark.slow
def test_bad_things_together_are_shown_with_what_the_plan_comes_to():
    """Question 19: a late start, a slow ramp, a poor yield and falling prices; that it is not paid back is stated."""
    result = run("compare", DEMO, "--all-scenarios")
    row = next(line for line in result.output.splitlines() if line.lstrip().startswith("payback (project)"))
    assert row.rstrip().endswith("not paid back within the plan")
    assert not any("status" in line for line in result.output.splitlines())
    rows = json.loads(run("compare", DEMO, "--all-scenarios", "--json").output)["rows"]
    found = {(row["scenario"], row["figure"]): row["value"] for row in rows}
    assert found["three_blows", "plan.project.payback_status"] == 0
    assert found["three_blows", "plan.project.npv"] < found["as it is", "plan.project.npv"]
    assert found["three_blows", "plan.years_below_minimum_dscr"] > found["as it is", "plan.years_below_minimum_dscr"] == 0


def test_shares_that_only_rounding_leaves_are_none():
    # a market sold by area: the price of a module does not depend on its efficiency, and floating point leaves 1e-31 of it
    case = demo()
    row = next(iter(case.ranges))
    noise = Share("noise", -7.7e-18, 5.0e-17, 2.87e-31, 2.8e-32)
    table_of_shares = risk_report.rank_table(case, Shares((noise,), 1.0, 0.0, 1), {"noise": (row,)})
    assert table_of_shares.rows[0][1:3] == ["0 % ± 0", "0 % ± 0"]
    alone = Shares((dataclasses.replace(noise, total=1.0),), 1.0, 0.0, 1)
    words = risk_report.carried(case, alone, wanted_figures(case, [WATT])[WATT], {"noise": (row,)}, 0)
    assert words[0].startswith("1 of 1 groups of inputs carries 80 %")
