"""How likely the claims of a plan and of a deal are, in sentences, each with its sampling error."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.faults import InputFaults
from ..studies.spread import Probability
from .deal_report import ceiling_spread, floor_spread, in_licence_money, in_money
from .inputs_report import input_name
from .numbers import MINUS, NOT_APPLICABLE, percent, signed
from .plain_plan import likely_share
from .study_report import NO_RANGES, held
from .table import Table

if TYPE_CHECKING:
    from ..studies.negotiation.likely_terms import LikelyTerm
    from ..studies.negotiation.limits import Interval
    from ..studies.negotiation.probabilities import Probabilities

NOT_DRAWN = "No draws are requested, so no probability is computed."


def found_or_why(case: Case, draws: int, seed: int, deal: bool) -> Probabilities | str:
    """The probabilities of a case, or why they are not computed."""
    if not draws:
        return NOT_DRAWN
    if not uncertain(case):
        return NO_RANGES
    from ..studies.negotiation.probabilities import probabilities

    try:
        return probabilities(case, draws, seed, deal) or NO_RANGES
    except InputFaults as problem:
        return refused(problem)


def refused(problem: InputFaults) -> str:
    """Why there is no probability where the case refuses a draw."""
    return f"No probability is computed, as a draw is refused: {problem.faults[0]}."


def likely(found: Probability | None) -> str:
    """A probability with its sampling error; that of a claim of a deal, where there is none, does not apply.

    >>> likely(Probability(0.2, 400)), likely(Probability(1.0, 1000))
    ('20 % (standard error 2.0 %)', '100 % (every draw, so at least 99.7 %)')
    """
    if found is None:
        return NOT_APPLICABLE
    return likely_share(found.share, found.draws)


def of_plan(case: Case, found: Probabilities | str) -> list[str]:
    """How likely the plan earns the required return."""
    if isinstance(found, str):
        return [found]
    words = [f"The probability of a net present value above zero is {likely(found.npv)}."]
    if found.mean_npv is not None:
        words.append(f"Its mean over the draws is {in_money(case, found.mean_npv)}.")
    if found.closes is not None and case.plan.closing.rule != "never":
        words.append(f"The probability that the plant closes before the end of the plan is {likely(found.closes)}.")
    if found.below_dscr is not None:
        words.append(f"The probability of a year below the DSCR that the bank requires is {likely(found.below_dscr)}.")
    return [*words, *held(case), drawn(case, found)]


def of_deal(case: Case, found: Probabilities | str, fee: Interval) -> list[str]:
    """How likely each side gains, both do, and a zone exists; and the zone of means beside that at the stated values."""
    if isinstance(found, str):
        return [found]
    return [
        f"The probability that the licensor gains is {likely(found.licensor)}.",
        f"The probability that the licensee gains is {likely(found.licensee)}.",
        f"The probability that both gain by these terms is {likely(found.both)}.",
        f"The probability that some fee and royalty suit both is {likely(found.zone)}. It is a lower bound, from "
        f"{len(found.royalties)} royalties from 0 to {percent(found.royalties[-1])}.",
        zone_of_means(case, found, fee),
        *held(case),
        drawn(case, found),
    ]


def of_floor(case: Case, found: Probabilities | str) -> list[str]:
    """How the floor of the licensor spreads over the draws, beside its value at the stated inputs."""
    return [] if isinstance(found, str) or not found.floor else [floor_spread(case, found.floor, found.draws, found.seed)]


def of_ceiling(case: Case, found: Probabilities | str) -> list[str]:
    """How the most that the licensee can pay spreads over the draws, beside its value at the stated inputs."""
    return [] if isinstance(found, str) or not found.ceiling else [ceiling_spread(case, found.ceiling, found.draws, found.seed)]


def both_gain(case: Case, found: Probabilities, moved: Sequence[LikelyTerm]) -> str:
    """How likely both gain by these terms, the most that fee and royalty can do, and which single term helps most."""
    both, zone = found.both, found.zone
    assert both is not None
    assert zone is not None
    words = (
        f"The probability that both gain by these terms is {likely(both)}. In at least {percent(zone.share, 2)} of the draws some "
        "fee and royalty suit both."
    )
    best = next((each for each in moved if each.both.share > both.share), None)
    if best is None:
        return f"{words} No single term, moved by one unit, makes it more probable."
    step = f"{best.words} {'more' if best.up else 'less'}"
    return f"{words} Of single terms “{input_name(case, best.address)}” helps most: {step} makes it {percent(best.both.share, 2)}."


def likely_terms_table(case: Case, now: Probability, moved: Sequence[LikelyTerm], most: int = 12) -> Table:
    """How likely each side gains, and both, with one term moved; the most helpful first."""
    rows = [
        [input_name(case, each.address), f"{'+' if each.up else MINUS} {each.words}",
         *(percent(x.share, 2) for x in (each.licensor, each.licensee, each.both)),
         signed(100 * (each.both.share - now.share), 2)]
        for each in moved[:most]
    ]  # fmt: skip
    return Table(
        "Probability of a gain with one term moved",
        ["term", "moved by", "licensor", "licensee", "both", "both: points more"],
        rows,
        note="On the same draws, all other terms as they are. A term moves up or down, whichever helps both more. Terms whose unit "
        "changes nothing are left out.",
        texts=(0, 1),
    )


def of_the_claim(found: Probabilities | str) -> str:
    """How likely both gain and a zone exists, in one sentence, beside the claim that the sides can meet.

    >>> from costmodel.studies.negotiation.probabilities import Probabilities
    >>> half = Probability(0.5, 100)
    >>> of_the_claim(Probabilities(100, 0, half, both=Probability(0.2, 100), zone=half))
    'The probability that both gain is 20 % (standard error 4.0 %), that a zone exists 50 % (standard error 5.0 %).'
    """
    if isinstance(found, str):
        return found
    return f"The probability that both gain is {likely(found.both)}, that a zone exists {likely(found.zone)}."


def zone_of_means(case: Case, found: Probabilities, fee: Interval) -> str:
    """The fees that suit both on the mean of the draws, beside those at the stated values; both at the royalty offered."""
    at_values = " or ".join(_fees(case, low, high) for low, high in fee.both) or "no fee"
    words, zone = f"At the royalty offered, {at_values} suits both at the stated values.", found.mean_zone
    if zone is None:
        return words
    elsewhere = "" if _open(zone.floor, zone.ceiling) else "; another royalty would" if zone.open else ", at no royalty tried"
    return f"{words} On the mean of the draws, {_fees(case, zone.floor, zone.ceiling)} does{elsewhere}."


def _open(low: float, high: float) -> bool:
    return low <= high  # never of a NaN


def _fees(case: Case, low: float, high: float) -> str:
    if not _open(low, high):
        return "no fee"
    return f"a fee from {in_licence_money(case, low)} to {in_licence_money(case, high)}"


def drawn(case: Case, found: Probabilities) -> str:
    """How the draws were made."""
    tied = " and correlations.csv" if case.correlations else ""
    how = f"Ranges are independent except for their groups{tied}. The plant is as bought."
    return f"From {found.draws:,} draws, seed {found.seed}. {how}"
