"""Published values of capacity, yield, films and statistics, through the functions by which a line and a ledger are computed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...case.line_records import Step
from ...case.load import CONSTANTS
from ...core.operations import normal_cdf, normal_quantile, student_t_quantile
from ...core.units import to_base
from ...model.ledger.films import film_mass, silane_for_silicon
from ...model.line.capacity import tools_needed
from ...model.line.yields import good_share
from .agreement import Published

SUBJECT = "factory"
HOUR = 3600.0
WORKED = "worked out from the source's inputs"


def _step(passed: float, reworked: float = 0.0) -> Step:
    """A step of which a share passes at first, and a share of the rejects is reworked with success."""
    return Step(
        title="step",
        stage="stage",
        tool="tool",
        process_time=60.0,
        rate_efficiency=1.0,
        first_pass_yield=passed,
        rework_share=reworked,
        rework_success=1.0,
        load_loss=0.0,
        processed_share=1.0,
    )


def _through(*yields: float) -> float:
    return math.prod(good_share(_step(each)) for each in yields)


def _needed(count: float, time: float, available: float) -> list[float]:
    return [float(each) for each in tools_needed(count, time, available)]


def _gram_of_a_micrometre(*densities: float) -> Iterator[float]:
    for density in densities:
        yield film_mass(to_base("um"), density * to_base("g/cm3"), 1.0) / to_base("g")


VALUES: tuple[Published, ...] = (
    Published(
        SUBJECT,
        "yield through steps of 95, 84 and 88 %",
        "Minitab support page",
        "0.70",
        lambda: [_through(0.95, 0.84, 0.88)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "yield of a step with rework: 90 of 100, 80 of 95 and 70 of 90 pass at first",
        "a worked example on quality",
        "0.95 0.9474 0.8889",
        lambda: [good_share(_step(90 / 100, 5 / 10)), good_share(_step(80 / 95, 10 / 15)), good_share(_step(70 / 90, 10 / 20))],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "the same without rework, and through all",
        "a worked example on quality",
        "0.90 0.8421 0.7778 0.5895",
        lambda: [*(good_share(_step(each)) for each in (0.9, 80 / 95, 70 / 90)), _through(0.9, 80 / 95, 70 / 90)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "good pieces of 150, 83 % good, 60 % of rejects made good",
        "a problem after Russell and Taylor",
        "139.8",
        lambda: [150 * good_share(_step(0.83, 0.60))],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "machines for 5,305 h in 1,700 h",
        "a problem after Krajewski",
        "3.12 4",
        lambda: _needed(1.0, 5305 * HOUR, 1700 * HOUR),
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "machines for 102,000 pieces of 105 s in 2,300 h at 80 %",
        "Sharma, Production Engineering, chapter 26",
        "1.617 2",
        lambda: _needed(102_000.0, 105.0, 2300 * HOUR * 0.80),
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "stations for 32 units of 97 min in 800 min",
        "an operations textbook problem",
        "3.88 4",
        lambda: _needed(32.0, 97.0 * 60, 800.0 * 60),
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "places for 100 an hour that stay 2 h (law of Little)",
        "a public worked example",
        "200 200",
        lambda: _needed(100.0, 2 * HOUR, HOUR),
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "a micrometre of aluminium, silicon, zinc oxide, tin oxide and glass, in g/m2",
        "element data pages that cite the CRC handbook",
        "2.70 2.33 5.606 6.95 2.50",
        lambda: list(_gram_of_a_micrometre(2.70, 2.33, 5.606, 6.95, 2.50)),
        digit=1e-6,
    ),
    Published(
        SUBJECT,
        "molar mass of silane in g/mol, and the share of silicon in it",
        "IUPAC standard atomic weights",
        "32.117 0.87446",
        lambda: [CONSTANTS.molar_mass_silane / to_base("g/mol"), 1 / silane_for_silicon(1.0, CONSTANTS)],
        note=f"sums of atomic weights, {WORKED}",
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "a litre of silane a minute at 0 C and 101,325 Pa, in g an hour",
        "definition of the standard state",
        "85.974",
        lambda: [to_base("slm") * HOUR * CONSTANTS.molar_mass_silane / to_base("g")],
        note=WORKED,
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "the normal distribution: below 1.96, and the 95 % quantile",
        "any table of the normal distribution",
        "0.9750 1.6449",
        lambda: [normal_cdf(1.96), normal_quantile(0.95)],
        digit=0.5,
    ),
    Published(
        SUBJECT,
        "Student's t at 97.5 %: 2, 9 and 19 degrees of freedom",
        "any table of Student's t",
        "4.303 2.262 2.093",
        lambda: [student_t_quantile(0.975, each) for each in (2.0, 9.0, 19.0)],
        note="from memory",
        digit=0.5,
    ),
)
