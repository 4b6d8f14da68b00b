"""Everything that a deal page shows, found once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..case.records import Case
from ..model import Results
from ..readings.cells import read_as_cells
from .buy_out import BuyOutPrice, buy_out_price
from .concessions import Concession, Interval, concessions, interval
from .exclusivity import Exclusivity, Minimum, exclusivity, minimum_range
from .openings import Opening, openings
from .price_paths import PricePaths, price_paths
from .rounds import Turn, turns
from .sides import ROYALTY, UPFRONT, Sides, terms
from .zone import Zone, trace_zone

BUY_OUT_YEARS = 4.0


@dataclass(frozen=True, slots=True)
class Overview:
    """The zone, what moves it, what terms are worth, and what was said so far."""

    zone: Zone
    openings: list[Opening]
    concessions: list[Concession]
    royalty: Interval
    upfront: Interval
    price_paths: PricePaths
    exclusivity: Exclusivity
    minimums: list[Minimum]
    buy_out: BuyOutPrice
    turns: list[Turn]


def overview(case: Case, results: Results, folder: str | Path | None = None) -> Overview:
    """All of it for a case with a deal; rounds are read from the folder of the case. Raises InputFaults for a faulty round.

    >>> from costmodel.case.load import load_case
    >>> from costmodel.model import evaluate
    >>> case = load_case("inputs_demo/facade")
    >>> overview(case, evaluate(case)).openings
    []
    """
    sheet = read_as_cells(case)
    sides = Sides(case, terms(case), sheet)
    zone = trace_zone(case, sides)
    return Overview(
        zone=zone,
        openings=openings(case, sheet) if zone.empty else [],
        concessions=concessions(case, sides),
        royalty=interval(case, ROYALTY, sides),
        upfront=interval(case, UPFRONT, sides),
        price_paths=price_paths(case),
        exclusivity=exclusivity(case, sheet=sheet),
        minimums=[minimum_range(case, row, sheet) for row in case.minimum_royalties],
        buy_out=buy_out_price(case, results, BUY_OUT_YEARS),
        turns=turns(folder, case) if folder else [],
    )
