"""All guarantees together: probability and cost of each and of the set, what can be signed, which set suits both."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.whole_case import Case
from ..core.units import to_base
from ..studies.negotiation.guarantee_set import (
    QUANTILES,
    RISK,
    Promise,
    PromisedSet,
    PromiseSets,
    better_for_both,
    charge_from_which_better,
)
from .deal_report import EACH_AT_ITS_RATE, in_money, ours
from .numbers import NOT_APPLICABLE, amount, many, people, percent, signed, typeset
from .table import Table

LIKELY = 0.5  # from this probability of paying anything on, the guarantee that pays most often is named
LEVELS_IN_A_SENTENCE = 4  # more than these stand in the table alone
ABOUT_NONE = 1.0  # of money: what sampling leaves below it is shown as about 0


def together(case: Case, found: PromiseSets) -> list[str]:
    """What all guarantees together expose the licensor to, what can be signed, and whether another set suits both."""
    now, best = found.present, found.signable
    drawn = f"{many(len(found.drawn), 'input')} of ranges.csv" if found.drawn else "the results of the tests"
    return [
        f"All {len(found.promises)} guarantees together: the probability of paying anything is {percent(now.probability)} "
        f"(standard error {percent(now.error, 2)}). {_main_cause(found)}"
        f"Expected damages are {ours(case, now.expected)}.{_retests(case, now)}",
        f"{_signed_together(found)} Each then pays with {percent(found.share)}. Expected damages of that set are "
        f"{in_money(case, best.expected)}.",
        f"Over other draws that set pays with a probability of {percent(found.again)} "
        f"(standard error {percent(found.again_error, 2)}). {reserve(case, found)}",
        _which_set(case, found),
        " ".join([f"These are {found.draws:,} draws of {drawn}, seed {found.seed}.", *_capped(case, found)]),
    ]


def _signed_together(found: PromiseSets) -> str:
    """The levels that can be signed together, or where they stand."""
    risk = f"At a probability of {percent(RISK, 2)} of paying anything,"
    if len(found.promises) > LEVELS_IN_A_SENTENCE:
        return f"{risk} the levels in column “signable together” can be signed."
    levels = zip(found.promises, found.signable.promises)
    named = "; ".join(f"“{each.title}” {_bound(each)} {shown(each, at.level)}" for each, at in levels)
    return f"{risk} these can be signed together: {named}."


def _main_cause(found: PromiseSets) -> str:
    """The guarantee that pays most often, where it is more probable than not that any pays."""
    now = found.present
    if now.probability <= LIKELY:
        return ""
    worst, at = max(zip(found.promises, now.promises), key=lambda pair: pair[1].probability)
    return f"“{worst.title}” pays most often: {probability(at.probability)}. "


def reserve(case: Case, found: PromiseSets) -> str:
    """What reserve covers the damages under the present set, by the share of transfers."""
    reserves = ", ".join(
        f"{percent(each.share, 2)} of transfers {amount(each.value, case.currency)} "
        f"(± {_reach(each.reach, case.currency)} by sampling)"
        for each in found.present.quantiles
    )
    return f"A reserve under the present set covers: {reserves}."


def _reach(value: float, currency: str = "") -> str:
    """What sampling leaves of an amount; below what is printed, about 0."""
    if value < ABOUT_NONE:
        return "about 0"
    return amount(value, currency) if currency else people(value, 2)


def _retests(case: Case, found: PromisedSet) -> str:
    """What retests cost on top, where any is agreed."""
    return f" Retests after a miss cost {in_money(case, found.retests)} on top." if found.retests else ""


def _capped(case: Case, found: PromiseSets) -> Iterator[str]:
    """How probable it is that the common cap binds, where there is one."""
    for row in case.damages_caps.values():
        yield (
            f"The common cap of {amount(row.amount, row.currency)} is reached with a probability of "
            f"{probability(found.present.cap_probability)}."
        )


def _bound(each: Promise) -> str:
    """Whether a level is the least or the most."""
    return "by" if each.is_date else "at least" if each.sign > 0 else "at most"


def _which_set(case: Case, found: PromiseSets) -> str:
    """Which set leaves both better off with some change of a fee; or from which charge for risk one would."""
    better = sorted(better_for_both(found), key=lambda each: -each.together)
    if better:
        best = better[0]
        return (
            f"The set “{best.name}” leaves both together {in_money(case, best.together)} more than the present one. "
            "Some change of a fee leaves both better off."
        )
    charges = [(charge, each) for each in found.sets[1:] if (charge := charge_from_which_better(found, each)) is not None]
    none = "No set is better for both at their own rates and taxes."
    if not charges:
        return none
    charge, each = min(charges, key=lambda pair: pair[0])
    return f"{none} From a charge of {people(charge)} per unit of spread, “{each.name}” is."


def probability(value: float) -> str:
    """A probability, of which the last digits say nothing."""
    return percent(value) if value >= 0.001 else "below 0.1 %"


def shown(each: Promise, level: float) -> str:
    """A level in the unit of its row; of a date its month."""
    if each.is_date:
        return f"month {people(level / to_base(each.unit))}"
    value = people(level / to_base(each.unit), 4)
    unit = "W" if each.unit.startswith("Wp") else typeset(each.unit)
    return f"{value}\xa0{unit}"


def promises_table(case: Case, found: PromiseSets) -> Table:
    """Each promise and all together: probabilities, damages, what a point is worth, what can be signed."""
    now, then = found.present, found.signable
    money = case.currency
    columns = ["", "level", "as stated", "pays", f"expected, {money}", f"a point eased: licensor saves, {money}",
               f"licensee loses, {money}", "signable together", "pays there", f"expected there, {money}"]  # fmt: skip
    rows = [
        [each.title, f"{_bound(each)} {shown(each, at.level)}", probability(alone), probability(at.probability),
         people(at.expected), people(saves), people(loses), shown(each, best.level),
         probability(best.probability), people(best.expected)]
        for each, at, best, alone, (saves, loses) in zip(
            found.promises, now.promises, then.promises, found.alone, found.points
        )
    ]  # fmt: skip
    rows.append(
        ["all together", NOT_APPLICABLE, NOT_APPLICABLE, probability(now.probability), people(now.expected), NOT_APPLICABLE,
         NOT_APPLICABLE, NOT_APPLICABLE, probability(then.probability), people(then.expected)]
    )  # fmt: skip
    return Table(
        "All guarantees: probability and cost of each and together, and the set that can be signed",
        columns,
        rows,
        note="As stated: by formula, each guarantee alone, inputs as the case has them. Pays: over draws of ranges.csv, transfers "
        f"and tests; a shortfall pays once. {_of_gates(case)}{_of_retests(found)}A point is one percent of the level, of a date "
        f"one week. {EACH_AT_ITS_RATE} Set: equal probability for each promise, {percent(RISK, 2)} for all together.",
        total=True,
        texts=(0, 1, 7),
    )


def _of_retests(found: PromiseSets) -> str:
    """How retests are counted, where there are any."""
    return "A retest passes with one probability, whatever is missing. " if found.present.retests else ""


def _of_gates(case: Case) -> str:
    """How dates that are counted from a gate are drawn, where there are any."""
    if not any(row.counted_from in case.transfer_gates for row in case.acceptance_dates.values()):
        return ""
    return (
        "A date is that of its gate, by the draws of the transfer project over all paths. The formula is normal along the "
        "longest path and comes out too early. "
    )


def sets_table(case: Case, found: PromiseSets) -> Table:
    """Sets of levels side by side, and what each has of them."""
    columns = ["set", "pays anything", f"expected, {case.currency}", *(f"P{round(100 * part)}" for part in QUANTILES), "spread",
               "retests", "licensor", "licensee", "both", "charge"]  # fmt: skip

    def charge(each: PromisedSet) -> str:
        """The charge for spread from which a set is the better one."""
        value = None if each is found.present else charge_from_which_better(found, each)
        return NOT_APPLICABLE if value is None else people(value)

    of_all = [[each.quantiles[k] for each in found.sets] for k in range(len(QUANTILES))]
    sampled = [f"P{round(100 * one[0].share)} within ± {_reach(max(each.reach for each in one))}" for one in of_all]
    rows = [
        [each.name, probability(each.probability), people(each.expected), *(people(part.value) for part in each.quantiles),
         people(each.deviation), people(each.retests), signed(each.licensor), signed(each.licensee), signed(each.together),
         charge(each)]
        for each in found.sets
    ]  # fmt: skip
    return Table(
        "Sets of guarantees: damages, and what each side has more than under the present set",
        columns,
        rows,
        note=f"{EACH_AT_ITS_RATE} After tax. Damages without retests, which the licensor pays on top. "
        "Where both have more together, some change of a fee leaves both better off. "
        "Charge: of the licensor per unit of spread (standard deviation of damages), from which a set is better for both. "
        f"Sampling leaves {', '.join(sampled)} (95 %, of the set in which it is most).",
    )
