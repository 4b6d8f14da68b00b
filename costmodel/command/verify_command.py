"""The command that holds the model against the outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from .answering import View, answers, records
from .opening import Asked, for_a_case_or_none, refuse, refusing

if TYPE_CHECKING:
    from ..studies.verification.agreement import Agreement


def check_workbook(asked: Asked | None) -> None:
    """Refuse --workbook without a case or without LibreOffice, before anything is computed."""
    from ..documents.workbook.second_engine import program_of_this_machine

    if not asked:
        refuse("--workbook: found it without CASE; allowed: with a case, whose workbook is recalculated")
    with refusing():
        program_of_this_machine()


def by_another_spreadsheet(asked: Asked) -> list[Agreement]:
    """The figures of the workbook as another spreadsheet program computes them from spoiled values."""
    from ..documents.workbook import second_engine

    with refusing():
        return second_engine.agreements(asked.case)


@click.command()
@for_a_case_or_none
@click.option("--workbook", is_flag=True, help="With CASE: LibreOffice, if it is installed, recalculates the workbook too.")
@answers
def verify(asked: Asked | None, workbook: bool) -> View:
    """What agrees with published values, worked examples and a reference library; with CASE, its own identities too.

    All is computed anew on this machine. The exit code is 1 where something does not agree.
    """
    from ..present import verification_report
    from ..studies.verification import of_a_case, published

    if workbook:
        check_workbook(asked)
    outside = published.agreements()
    own = of_a_case.agreements(asked.case, asked.results) if asked else []
    if workbook and asked:
        own += by_another_spreadsheet(asked)
    said = [verification_report.summary(outside, "against published values")]
    if asked:
        said = [verification_report.summary(own, "of this case"), *said]
    found = [*own, *outside]
    return View(
        asked.case.title if asked else "The model against the outside",
        said,
        [verification_report.by_subject(found), verification_report.each_check(found)],
        records(verification_report.records(found)),
        exit_code=0 if all(each.agrees for each in found) else 1,
    )
