"""Uncertainty budgets against the guides' own examples, another engine and hand work; pairs of inputs against exact shares."""

import json
import math

import GTC
import numpy as np
import pytest
from scipy.special import ndtri

from costmodel.present import budget_report
from costmodel.studies.budget import (
    AGREES,
    DIFFERS,
    ENDS,
    OPEN,
    _covariance,
    budget_of,
    checked,
    covariances_of,
    linear_budget,
    tolerance,
)
from costmodel.studies.distributions import LOW_SCORE, normal, uniform
from costmodel.studies.draws import Draws
from costmodel.studies.many import wanted_figures
from costmodel.studies.spread import spread
from costmodel.studies.variance import pair_shares, rank_pairs, variance_shares

from .cases import DEMO, Inputs, table
from .refusals import faults
from .running import run

MODULE = "ledger.total.cost_per_module"
FOIL = 1.1 * 0.5 * 0.5 / 0.9  # m2 for each good module of the tiny line
ROOT = math.sqrt(3.0)
NORMAL = normal(LOW_SCORE, -LOW_SCORE)


# the guides' examples


def summed(widths, quantile, count=2_000_000):
    """Budget and draws of a sum of quantities of mean 0 and these standard deviations."""
    random = np.random.Generator(np.random.PCG64(1))
    names = [f"x{number}" for number in range(len(widths))]
    found = linear_budget(lambda x: x.sum(axis=1), names, np.zeros(len(widths)), np.diag(np.square(widths)))
    return found, spread(sum(width * quantile(random.random(count)) for width in widths), ENDS)


@pytest.mark.parametrize(
    ("widths", "quantile", "uncertainty", "linear", "drawn", "verdict"),
    [
        ((1.0, 1.0, 1.0, 1.0), NORMAL, 2.00, 3.92, 3.92, AGREES),
        ((1.0, 1.0, 1.0, 1.0), uniform(-ROOT, ROOT), 2.00, 3.92, 3.88, AGREES),
        ((1.0, 1.0, 1.0, 10.0), uniform(-ROOT, ROOT), 10.1, 19.9, 17.0, DIFFERS),
    ],
    ids=["normal", "rectangular", "one rectangular much wider"],
)
def test_sums_are_validated_as_the_guide_has_it(widths, quantile, uncertainty, linear, drawn, verdict):
    # JCGM 101:2008, 9.2.2 to 9.2.4 with their tables, from memory; two significant digits matter there
    found, values = summed(widths, quantile)
    check = checked(found, values, digits=2)
    assert found.uncertainty == pytest.approx(uncertainty, abs=0.05 if uncertainty > 10 else 0.005)
    assert check.linear == pytest.approx((-linear, linear), abs=0.05 if linear > 10 else 0.005)
    assert check.drawn == pytest.approx((-drawn, drawn), abs=0.05 if drawn > 10 else 0.015)
    assert check.verdict == verdict


VOLTAGE = [5.007, 4.994, 5.005, 4.990, 4.999]  # V
CURRENT = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]  # A
PHASE = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]  # rad
READINGS = np.array([VOLTAGE, CURRENT, PHASE])
MEANS, COVARIANCES = READINGS.mean(axis=1), np.cov(READINGS) / 5
RESULTS = {
    "resistance": (lambda v, i, p, cos, sin: v / i * cos(p), "127.732", "0.071"),
    "reactance": (lambda v, i, p, cos, sin: v / i * sin(p), "219.847", "0.295"),
    "impedance": (lambda v, i, p, cos, sin: v / i, "254.260", "0.236"),
}


def by_the_budget(function):
    return linear_budget(lambda x: function(*x.T, np.cos, np.sin), ["v", "i", "p"], MEANS, COVARIANCES)


@pytest.mark.parametrize("name", RESULTS)
def test_resistance_and_reactance_with_correlations(name):
    # JCGM 100:2008 (GUM), annex H.2: readings of table H.2, results of table H.3, from memory
    function, value, uncertainty = RESULTS[name]
    found = by_the_budget(function)
    assert f"{found.value:.3f}" == value
    assert found.uncertainty == pytest.approx(float(uncertainty), abs=0.001)  # a unit of the last digit: the guide cuts off 0.2956
    assert sum(row.share for row in found.rows) == pytest.approx(1.0)


@pytest.mark.parametrize("name", RESULTS)
def test_another_engine_has_the_same_budget(name):
    function, _, _ = RESULTS[name]
    steps = np.sqrt(np.diag(COVARIANCES))
    inputs = [GTC.ureal(mean, step, independent=False) for mean, step in zip(MEANS, steps)]
    for one, two in ((0, 1), (0, 2), (1, 2)):
        GTC.set_correlation(COVARIANCES[one, two] / (steps[one] * steps[two]), inputs[one], inputs[two])
    made, found = function(*inputs, GTC.cos, GTC.sin), by_the_budget(function)
    assert found.value == pytest.approx(GTC.value(made), rel=1e-12)
    assert found.uncertainty == pytest.approx(GTC.uncertainty(made), rel=1e-5)  # it takes derivatives, the budget a step
    theirs = {name: abs(GTC.component(made, x)) for name, x in zip("vip", inputs)}
    assert {row.name: abs(row.contribution) for row in found.rows} == pytest.approx(theirs, rel=1e-5)


# verdicts


def test_tolerance_is_half_a_unit_of_the_last_digit():
    assert [tolerance(x) for x in (0.94, 9.96, 0.0, math.nan)] == [0.05, 5.0, 0.0, 0.0]  # 9.96 is 1 x 10 by one digit


def test_few_draws_leave_it_open_and_draws_without_value_differ():
    found, values = summed((1.0, 1.0), NORMAL, 20_000)
    assert checked(found, values, digits=2).verdict == OPEN
    assert checked(*summed((1.0, 1.0), NORMAL, 999)).verdict == OPEN
    assert checked(found, spread(np.array([1.0, np.nan]), ENDS)).verdict == DIFFERS
    nothing = linear_budget(lambda x: np.full(len(x), np.nan), ["a"], np.zeros(1), np.eye(1))
    assert checked(nothing, values).verdict == DIFFERS


# of a case


def two_prices(*, together: bool = False) -> Inputs:
    """The tiny line with uncertain prices of box and foil."""
    inputs = Inputs().drop_row("ranges.csv", "saw_price")
    inputs.row("ranges.csv", "box_price,prices.box.price,uniform,1,1.5,2,EUR/piece,boxes,after_purchase")
    group = "boxes" if together else "foils"
    return inputs.row("ranges.csv", f"foil_price,prices.foil.price,uniform,1,2,3,EUR/m2,{group},after_purchase")


def test_budget_of_a_case_by_hand():
    # a rectangular width w has w / root 12; a box for each module; 1.1 m2 of foil for each m2 of half of the plates of 0.5 m2,
    # of which 0.5 + 0.5 x 0.8 are good
    case = two_prices().load()
    found, check = budget_of(case, MODULE, 20_000, 0)
    by = {row.name: row for row in found.rows}
    box, foil = by["prices.box.price"], by["prices.foil.price"]
    assert (box.mean, foil.mean) == (pytest.approx(1.5), pytest.approx(2.0))
    assert (box.contribution, foil.contribution) == (pytest.approx(1 / 12**0.5), pytest.approx(FOIL * 2 / 12**0.5))
    assert found.uncertainty**2 == pytest.approx((1 + (2 * FOIL) ** 2) / 12)
    assert box.share == pytest.approx(1 / (1 + (2 * FOIL) ** 2))
    assert check.verdict == AGREES


def test_prices_that_move_as_one_add_up():
    found, _ = budget_of(two_prices(together=True).load(), MODULE, 1_000, 0)
    assert found.uncertainty == pytest.approx((1 + 2 * FOIL) / 12**0.5)  # fully correlated: contributions add up


def test_covariances_of_a_copula():
    assert _covariance(normal(-1.0, 1.0), normal(-2.0, 2.0), 0.5) == pytest.approx(0.5 * 2.0 / LOW_SCORE**2, rel=1e-9)
    # X11: the correlation of two uniform numbers is Spearman's, 0.48258 for 0.5
    assert 12 * _covariance(uniform(0.0, 1.0), uniform(0.0, 1.0), 0.5) == pytest.approx(0.48258, abs=2e-5)
    inputs = two_prices()
    inputs.tables["correlations.csv"] = table("id,group,other,rank_correlation [1]\ntie,boxes,foils,0.48258")
    case = inputs.load()
    addresses, _, found = covariances_of(case, Draws(case, 0))
    assert sorted(addresses) == ["prices.box.price", "prices.foil.price"]
    assert found[0, 1] == pytest.approx(0.48258 * 2 / 12, rel=1e-4)


def test_the_command_states_the_verdict(tmp_path):
    folder = two_prices().write(tmp_path)
    shown = run("rank", folder, "budget", "--figure", MODULE)
    assert "The budget holds." in shown.output
    record = json.loads(run("rank", folder, "budget", "--figure", MODULE, "--json").stdout)
    assert record["verdict"] == AGREES
    assert sum(row["share"] for row in record["rows"]) == pytest.approx(100)
    assert faults(lambda: budget_of(two_prices().load(), MODULE, 0, 0)) == ["--draws: found 0; allowed: a whole number from 1"]


def test_sentences_of_each_verdict():
    case = two_prices().load()
    figure = wanted_figures(case, [MODULE])[MODULE]
    found, values = summed((1.0, 1.0), NORMAL, 20_000)
    open_check = checked(found, values, digits=2)
    assert budget_report.said(figure, found, open_check, 1_000, 0)[-1].endswith("Sampling leaves too much to tell: draw more.")
    found, values = summed((1.0, 1.0, 1.0, 1.0), NORMAL, 400_000)
    assert budget_report.said(figure, found, checked(found, values), 1, 0)[-1].endswith("The budget holds.")
    holed = checked(found, spread(np.array([1.0, np.nan]), ENDS))
    assert "no value in 50 % of the draws" in budget_report.said(figure, found, holed, 2, 0)[-1]
    nothing = linear_budget(lambda x: np.full(len(x), np.nan), ["a"], np.zeros(1), np.eye(1))
    assert "has no linear budget" in budget_report.said(figure, nothing, checked(nothing, values), 2, 0)[0]


# exact shares of functions


def alternating(x):
    """-x1 + x1 x2 - x1 x2 x3 (Bratley, Fox, Niederreiter 1992, the K function, from memory)."""
    return -x[:, 0] + x[:, 0] * x[:, 1] - x[:, 0] * x[:, 1] * x[:, 2]


K_VARIANCE = 11 / 54 - 9 / 64  # E x1^2 E g^2 - (E x1 E g)^2, g = -1 + x2 (1 - x3): E g = -3/4, E g^2 = 1 - 1/2 + 1/9
THREE = {"x1": [0], "x2": [1], "x3": [2]}


def test_indices_of_the_k_function():
    # alone: 3/4 x1, and x2 / 4, x3 / 4 but for a constant; total of x1: all but the variance of g / 2; of the others: 1/3 1/3 1/12
    first = {"x1": 9 / 16 / 12, "x2": 1 / 16 / 12, "x3": 1 / 16 / 12}
    total = {"x1": K_VARIANCE - (11 / 18 - 9 / 16) / 4, "x2": 1 / 108, "x3": 1 / 108}
    found = variance_shares(alternating, THREE, points=2**13, seed=2)
    assert found.variance == pytest.approx(K_VARIANCE, rel=0.01)
    for share in found.found:
        assert share.first == pytest.approx(first[share.name] / K_VARIANCE, abs=0.01)
        assert share.total == pytest.approx(total[share.name] / K_VARIANCE, abs=0.01)


def test_pairs_of_the_k_function():
    # x1 and x2: 1/3 (1 - 1/2 + 1/12) - 9/64 less both alone, and so x1 and x3; x2 and x3: (11/18 - 9/16) / 4 less both alone
    with_first = (7 / 36 - 9 / 64 - 10 / 192) / K_VARIANCE
    others = ((11 / 18 - 9 / 16) / 4 - 2 / 192) / K_VARIANCE
    found = {(pair.one, pair.two): pair for pair in pair_shares(alternating, THREE, points=2**14, seed=2).found}
    for names, wanted in ((("x1", "x2"), with_first), (("x1", "x3"), with_first), (("x2", "x3"), others)):
        assert found[names].share == pytest.approx(wanted, abs=0.01)


def test_pairs_of_the_ishigami_function():
    # X02: RAVEN repository, analytic test: 0.2437 for x1 with x3, nothing else
    def ishigami(shares):
        x = (2 * shares - 1) * np.pi
        return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])

    found = pair_shares(ishigami, THREE, points=2**14, seed=0).found
    assert (found[0].one, found[0].two) == ("x1", "x3")
    assert found[0].share == pytest.approx(0.2437, abs=0.02)
    assert [pair.share for pair in found[1:]] == pytest.approx([0.0, 0.0], abs=0.02)


def test_indices_of_a_polynomial_with_a_product():
    # 2 w1 + 3 w2 + 4 w1 w2, w between -1/2 and 1/2: variances 4/12, 9/12, 16/144
    def function(x):
        w = x - 0.5
        return 2 * w[:, 0] + 3 * w[:, 1] + 4 * w[:, 0] * w[:, 1]

    parts = np.array([4 / 12, 9 / 12, 16 / 144])
    one, two, both = parts / parts.sum()
    found = {share.name: share for share in variance_shares(function, {"a": [0], "b": [1]}, points=2**13, seed=1).found}
    assert [found["a"].first, found["b"].first] == pytest.approx([one, two], abs=0.01)
    assert [found["a"].total, found["b"].total] == pytest.approx([one + both, two + both], abs=0.01)
    pair = pair_shares(function, {"a": [0], "b": [1]}, points=2**13, seed=1).found[0]
    assert pair.share == pytest.approx(both, abs=0.01)


def test_a_block_of_inputs_that_depend_on_each_other():
    # x1 + x2 + x3, standard normal, x1 and x2 correlated by 1/2: variances 1 + 1 + 2/2 = 3 of the block, and 1
    def function(x):
        z = ndtri(x)
        return z[:, 0] + (0.5 * z[:, 0] + 0.75**0.5 * z[:, 1]) + z[:, 2]

    found = variance_shares(function, {"tied": [0, 1], "free": [2]}, points=2**13, seed=1)
    assert [share.total for share in found.found] == pytest.approx([0.75, 0.25], abs=0.01)
    assert pair_shares(function, {"tied": [0, 1], "free": [2]}, points=2**13, seed=1).found[0].share == pytest.approx(0.0, abs=0.01)


def test_pairs_of_a_case(tmp_path):
    case = two_prices().load()
    assert abs(rank_pairs(case, MODULE, 2**10, 0).found[0].share) < 0.01  # prices add up in the cost of a module
    assert rank_pairs(case, "line.output.plate_area", 16, 0).variance == 0.0
    demo = run("rank", DEMO, "pairs", "--points", "16")
    assert demo.exit_code == 0
    assert "What pairs carry together" in demo.output
    folder = two_prices().write(tmp_path)
    rows = json.loads(run("rank", folder, "pairs", "--points", "64", "--json").stdout)["rows"]
    assert [(row["one"], row["two"]) for row in rows] == [("boxes", "foils")]
