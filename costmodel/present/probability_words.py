"""How likely claims are, in plain words: beside each its sampling error, and how the draws were made."""

from __future__ import annotations

from ..case.uncertain import uncertain
from ..case.whole_case import Case
from ..core.faults import InputFaults
from ..studies.negotiation.concessions import Interval
from ..studies.negotiation.probabilities import Probabilities, Probability, probabilities
from .numbers import money, people, percent
from .study_words import NO_RANGES, held

NOT_DRAWN = "No draws were asked for, so no probability is given."
RULE_OF_THREE = 3.0  # over the draws: 95 % bound of a share that no draw has met (common practice)


def found_or_why(case: Case, draws: int, seed: int, deal: bool) -> Probabilities | str:
    """How likely the claims of a case are, or why that is not said."""
    if not draws:
        return NOT_DRAWN
    if not uncertain(case):
        return NO_RANGES
    try:
        return probabilities(case, draws, seed, deal)
    except InputFaults as problem:
        return refused(problem)


def refused(problem: InputFaults) -> str:
    """Why there is no probability where the case refuses a draw."""
    return f"No probability is given, as a draw is refused: {problem.faults[0]}."


def likely(found: Probability) -> str:
    """A probability with its sampling error.

    >>> likely(Probability(0.2, 400)), likely(Probability(1.0, 1000))
    ('20 % (standard error 2.0 %)', '100 % (every draw, so at least 99.7 %)')
    """
    bound = RULE_OF_THREE / found.draws
    if found.share in (0.0, 1.0):
        ends = f"every draw, so at least {percent(1 - bound)}" if found.share else f"no draw, so at most {percent(bound, 1)}"
        return f"{'100' if found.share else '0'} % ({ends})"
    return f"{percent(found.share, 2)} (standard error {percent(found.error, 2)})"


def of_plan(case: Case, found: Probabilities | str) -> list[str]:
    """How likely the plan earns what is asked."""
    if isinstance(found, str):
        return [found]
    return [f"The probability of a net present value above zero is {likely(found.npv)}.", *held(case), drawn(case, found)]


def of_deal(case: Case, found: Probabilities | str, fee: Interval) -> list[str]:
    """How likely each side gains, both do, and a zone exists; and the zone of means beside that at the stated values."""
    if isinstance(found, str):
        return [found]
    return [
        f"The probability that the licensor gains is {likely(found.licensor)}; that the licensee gains, {likely(found.licensee)}.",
        f"The probability that both gain by these terms is {likely(found.both)}.",
        f"The probability that some fee and royalty suit both is {likely(found.zone)}, at {len(found.royalties)} royalties tried "
        f"from 0 to {percent(found.royalties[-1])}.",
        zone_of_means(case, found, fee),
        *held(case),
        drawn(case, found),
    ]


def zone_of_means(case: Case, found: Probabilities, fee: Interval) -> str:
    """The fees that suit both on the mean of the draws, beside those at the stated values; both at the royalty offered."""
    stated = " or ".join(_fees(case, low, high) for low, high in fee.both) or "no fee"
    mean = _fees(case, found.mean_zone.floor, found.mean_zone.ceiling)
    elsewhere = ""
    if not _open(found.mean_zone.floor, found.mean_zone.ceiling):
        elsewhere = "; another royalty would do" if found.mean_zone.open else ", at none of the royalties tried"
    return f"At the royalty offered, {stated} suits both at the stated values. On the mean of the draws, {mean} does{elsewhere}."


def _open(low: float, high: float) -> bool:
    return low <= high  # never of a NaN


def _fees(case: Case, low: float, high: float) -> str:
    if not _open(low, high):
        return "no fee"
    return f"a fee from {people(low, words=True)} to {money(high, case.deal.licence.currency)}"


def drawn(case: Case, found: Probabilities) -> str:
    """How the draws were made."""
    tied = " and correlations.csv" if case.correlations else ""
    return f"Of {found.draws:,} draws, seed {found.seed}: ranges independent but for their groups{tied}, plant as bought."
