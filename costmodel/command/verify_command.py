"""The command that holds the model against the outside."""

from __future__ import annotations

import click

from .answering import View, answers, records
from .opening import Asked, for_a_case_or_none


@click.command()
@for_a_case_or_none
@answers
def verify(asked: Asked | None) -> View:
    """What agrees with published values, worked examples and a reference library; with CASE, its own identities too.

    All is computed anew on this machine. The exit code is 1 where something does not agree.
    """
    from ..present import verification_report
    from ..studies.verification import of_a_case, published

    outside = published.agreements()
    own = of_a_case.agreements(asked.case, asked.results) if asked else []
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
