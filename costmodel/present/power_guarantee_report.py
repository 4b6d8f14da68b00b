"""Guarantees of power: how likely damages are, their cost, and what can be signed; sentences and a table."""

from __future__ import annotations

from collections.abc import Iterator

from ..case.deal_records import Guarantee
from ..case.whole_case import Case
from ..core.units import to_base
from ..model.plan.transfer import date_of
from ..studies.negotiation.overview import Overview
from ..studies.negotiation.power_guarantees import RISK, Guaranteed
from .deal_report import in_licence_money, in_own_money, ours, own_columns
from .numbers import NOT_APPLICABLE, ROUNDING, amount, people, percent, signed
from .table import Table

DRAWN = {"product.initial_efficiency": "efficiency", "product.stabilisation_ratio": "stabilisation"}


def guarantees(case: Case, found: Overview) -> list[str]:
    """What each guarantee exposes the licensor to, and what could be signed."""
    lines = []
    for each in found.guarantees:
        row, now, best = case.guarantees[each.row], each.present, each.signable
        due = f"{date_of(case, row) / to_base('month'):.3g}"
        parts = [
            *_how_sure(each, row.title),
            f"Expected damages are {ours(case, now.damages)}, due at the acceptance test in month {due}. {_cap(row)}",
            f"At a probability of {percent(RISK, 2)}, {people(best.power)} W can be signed{_signable(each)}.",
            f"Expected damages there are {ours(case, best.damages)}.",
            f"To the licensor the step is worth {in_licence_money(case, abs(best.fee))} of upfront fee, "
            f"{'gained' if best.fee > 0 else 'lost'}.",
        ]
        if each.drawn:
            counted = found.results.deal.guarantees[each.row].damages
            parts.append(f"The floor counts {ours(case, counted)} of damages, expected at the stated values.")
        lines.append(" ".join(parts))
    return lines


def alone(case: Case, found: Overview) -> list[str]:
    """The power that can be signed by itself, and what that step is worth in fee: is it the cheaper way, or a higher price."""
    return [
        f"“{case.guarantees[each.row].title}” by itself: {people(each.signable.power)} W can be signed at a probability of "
        f"{percent(RISK, 2)}, in place of {people(each.present.power)} W now. To the licensor that is worth "
        f"{in_licence_money(case, abs(each.signable.fee))} of upfront fee, {'gained' if each.signable.fee > 0 else 'lost'}."
        for each in found.guarantees
    ]


def _how_sure(each: Guaranteed, title: str) -> Iterator[str]:
    """The probability of damages, how it was found, and what others it has without draws."""
    now = each.present
    error = f" (standard error {percent(now.error, 2)})" if now.error >= ROUNDING else " (the same in every draw)"
    error = error if each.drawn else ""
    yield f"“{title}” of {people(now.power)} W: the probability of damages is {percent(now.probability)}{error}."
    if not each.drawn:
        yield "It is by the normal formula; ranges.csv has no row for efficiency or stabilisation."
        return
    drawn = " and ".join(DRAWN[address] for address in each.drawn)
    yield f"It is over {each.draws:,} draws of {drawn}, seed {each.seed}."
    yield f"By the normal formula it is {percent(now.formula)}; with {drawn} as stated, {percent(now.stated)}."


def _cap(row: Guarantee) -> str:
    """The most that damages can be, and what is due in their place where the licensee may reject."""
    instead = f"below {percent(row.minimum)} of the level a rejection costs {amount(row.rejection, row.currency)} instead"
    return f"The cap is {amount(row.cap, row.currency)}; {instead}."


def _signable(each: Guaranteed) -> str:
    """The power that can be signed by the formulas, beside that of the draws."""
    if not each.drawn:
        return ""
    return (
        f" (± {people(each.signable_reach, 2)} W by sampling; normal formula {people(each.signable_by_formula)} W; "
        f"as stated {people(each.signable_as_stated)} W)"
    )


def guarantees_table(case: Case, found: Overview) -> Table:
    """Lower and higher guarantees: probabilities, damages, what to keep in reserve, and the fee that does the same."""
    columns = ["guaranteed, W", "damages", "error", "normal", "as stated", "cap reached", f"expected, {case.currency}",
               *own_columns(case, "expected"), f"reserve, {case.currency}", *own_columns(case, "reserve"),
               f"worth in fee, {case.deal.licence.currency}"]  # fmt: skip

    def probability(value: float) -> str:
        """A probability, of which the last digits say nothing."""
        return percent(value) if value >= 0.001 else "below 0.1 %"

    rows = [
        [people(level.power), probability(level.probability),
         percent(level.error, 2) if level.error >= ROUNDING else NOT_APPLICABLE,
         *map(probability, (level.formula, level.stated, level.cap_probability)), people(level.damages),
         *in_own_money(case, level.damages), people(level.reserve), *in_own_money(case, level.reserve), signed(level.fee)]
        for each in found.guarantees
        for level in each.levels
    ]  # fmt: skip
    together = (
        " Together with the other guarantees all inputs of ranges.csv are drawn: other draws, so the same probability differs "
        "there by about its standard error."
        if case.performance_guarantees or case.acceptance_dates
        else ""
    )
    several = len(found.guarantees) > 1
    if several:
        titles = [case.guarantees[each.row].title for each in found.guarantees for _ in each.levels]
        columns, rows = ["", *columns], [[title, *row] for title, row in zip(titles, rows)]
    return Table(
        "Guaranteed power, lower and higher: probability of damages, and their cost",
        columns,
        rows,
        note="Damages: their probability over the draws of efficiency and stabilisation in ranges.csv, with its standard error. "
        "Normal: by formula, both taken for normal. As stated: by formula, both as the case has them. Transfer, sample "
        f"and measurement are independent and normal. The reserve covers the damages of {percent(1 - RISK, 2)} of such "
        f"transfers.{together}",
        texts=(0,) if several else (),
    )
