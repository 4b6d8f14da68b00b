"""Colours are told apart in grey and by people who see colours less well."""

import itertools
import re

import numpy as np
import pytest

from costmodel.model.ledger.ledger_figures import KINDS_OF_COST
from costmodel.present.palette import COLOURS, LINES, STATES

from .cases import ROOT

# sRGB to XYZ, and XYZ to CIELAB for the white of that matrix: IEC 61966-2-1 and CIE 15
TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
# what is seen without one kind of cone: Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, severity 1
SEEN = {
    "all colours": np.eye(3),
    "no red": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "no green": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "no blue": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}


def lab(colour, seen):
    """Lightness and the two colour axes of CIELAB, as somebody sees a colour."""
    coded = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    ratio = TO_XYZ @ np.clip(seen @ linear, 0, 1) / (TO_XYZ @ np.ones(3))
    f = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_white_and_black_have_the_lightness_that_cielab_gives_them():
    white, black = (lab(colour, SEEN["all colours"]) for colour in ("#ffffff", "#000000"))
    assert white == pytest.approx([100, 0, 0], abs=1e-6)
    assert black == pytest.approx([0, 0, 0], abs=1e-6)


@pytest.mark.parametrize("who", SEEN)
def test_kinds_of_cost_are_told_apart_by_everybody(who):
    """A difference of 2.3 is just noticed (Mahy and others, Color Res. Appl. 19 (1994) 105, from memory); six of it are asked."""
    seen = {kind: lab(COLOURS[kind], SEEN[who]) for kind in KINDS_OF_COST}
    near = {pair: np.linalg.norm(seen[pair[0]] - seen[pair[1]]) for pair in itertools.combinations(seen, 2)}
    assert min(near.values()) > 6 * 2.3, min(near, key=near.get)


def test_neighbours_in_a_stack_are_told_apart_in_grey():
    grey = [lab(COLOURS[kind], SEEN["all colours"])[0] for kind in KINDS_OF_COST]
    assert min(abs(a - b) for a, b in itertools.pairwise(grey)) > 20


@pytest.mark.parametrize("who", SEEN)
@pytest.mark.parametrize("names", [("low_end", "high_end"), ("project", "owners"), ("covers", "falls_short"), LINES[:4], STATES])
def test_what_is_drawn_together_is_told_apart(names, who):
    seen = [lab(COLOURS[name], SEEN[who]) for name in names]
    assert min(np.linalg.norm(a - b) for a, b in itertools.combinations(seen, 2)) > 6 * 2.3


def test_colours_stand_in_one_place():
    for path in (ROOT / "costmodel" / "report").glob("*.py"):
        if path.name != "palette.py":
            assert not re.findall(r"""["']#[0-9A-Fa-f]{3,6}["']""", path.read_text(encoding="utf-8")), path
